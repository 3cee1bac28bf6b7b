"""Whether figures lie where published trials found theirs: a slipped decimal point or unit shows here."""

from collections.abc import Mapping

from reportgen.metrics.fairness.words import Finding, Values, figure, listed, names
from reportgen.model.trial import Trial

# Lowest and highest of published trials, with the unit as it is said; beyond them a figure may be right, but is rare.
RANGES: Mapping[str, tuple[str, float, float, str]] = {
    "yield_per_litre": ("yield per litre", 10.0, 150.0, "g/L"),
    "energy_per_kg": ("energy per kilogram", 3.0, 40.0, "kWh/kg"),
    "yield_per_mol": ("yield per mole of photons", 0.0, 44.0, "g/mol"),
}


def in_published_ranges(trial: Trial, found: Mapping[str, Values]) -> Finding | None:
    """Judge figures by the ranges of `RANGES`, None where there are none to judge.

    found: the values of each of its measures, by treatment.
    """
    known = {key: values for key in RANGES if (values := found.get(key, {}))}
    beyond = [said for key, values in known.items() if (said := _beyond(trial, key, values))]
    if beyond:
        return "caution", f"Outside the range of published trials: {'; '.join(beyond)}. Check units and decimal points."
    usual = [f"{label} ({_usual(key)})" for key in known if (label := RANGES[key][0])]
    return ("sound", f"All lie where published trials found theirs: {listed(usual)}.") if usual else None


def _usual(key: str) -> str:
    _, low, high, unit = RANGES[key]
    return f"{figure(low)} to {figure(high)} {unit}"


def _beyond(trial: Trial, key: str, values: Values) -> str:
    label, low, high, unit = RANGES[key]
    codes = [code for code, value in values.items() if not low <= value <= high]
    shown = listed([f"{figure(values[code])} {unit}" for code in codes])
    return f"{label} of {names(trial, codes)} ({shown}; usual {_usual(key)})" if codes else ""
