"""Whether figures lie where published trials found theirs: a slipped decimal point or unit shows here."""

from collections.abc import Mapping

from reportgen.metrics.fairness.verdicts import Finding, Values, finding, names
from reportgen.model.message import Amount, Message, Several, Span, Term, message
from reportgen.model.trial import Trial

# Lowest and highest of published trials; beyond them a figure may be right, but is rare.
RANGES: Mapping[str, Span] = {
    "yield_per_litre": Span(10.0, 150.0, "g/L"),
    "energy_per_kg": Span(3.0, 40.0, "kWh/kg"),
    "yield_per_mol": Span(0.0, 44.0, "g/mol"),
}


def in_published_ranges(trial: Trial, figures: Mapping[str, Values]) -> Finding | None:
    """Judge figures by the ranges of `RANGES`, None where there are none to judge.

    figures: the values of each of its measures, by treatment.
    """
    known = {key: figures[key] for key in RANGES if figures.get(key)}
    beyond = [said for key, values in known.items() if (said := _beyond(trial, key, values))]
    if beyond:
        outside = message("outside_published_ranges", beyond=Several(tuple(beyond)))
        return finding("caution", outside, message("check_units"))
    if not known:
        return None
    usual = tuple(message("published_range", measure=Term(key), usual=RANGES[key]) for key in known)
    return finding("sound", message("in_published_ranges", usual=Several(usual)))


def _beyond(trial: Trial, key: str, values: Values) -> Message | None:
    usual = RANGES[key]
    codes = [code for code, value in values.items() if not usual.low <= value <= usual.high]
    if not codes:
        return None
    amounts = Several(tuple(Amount(values[code], usual.unit) for code in codes))
    treatments = names(trial, codes)
    return message("beyond_published_range", measure=Term(key), treatments=treatments, values=amounts, usual=usual)
