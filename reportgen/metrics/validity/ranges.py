"""Whether figures lie in the usual range of their crop: a slipped decimal point or unit shows here."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from reportgen.metrics.harvests import picking_days
from reportgen.metrics.validity.verdicts import Finding, Values, finding, names
from reportgen.model.message import Amount, Message, Several, Span, Term, message
from reportgen.model.trial import Trial


@dataclass(frozen=True)
class UsualRange:
    """The usual figures of leafy crops harvested whole.

    `needs_lamps` where it holds under lamps alone.
    """

    span: Span
    needs_lamps: bool


# Common practice, gathered from published trials without one source; beyond them a figure may be
# right, but is rare.
RANGES: Mapping[str, UsualRange] = {
    "yield_per_litre": UsualRange(Span(10.0, 150.0, "g/L"), needs_lamps=False),
    "energy_per_kg": UsualRange(Span(3.0, 40.0, "kWh/kg"), needs_lamps=True),
    "yield_per_mol": UsualRange(Span(0.0, 44.0, "g/mol"), needs_lamps=True),
}
FEWEST_HOURS: Final = 8.0  # of lamps a day; lamps that shine for less support daylight; ours


def in_usual_ranges(trial: Trial, figures: Mapping[str, Values]) -> Finding | None:
    """Judge figures by those of `RANGES` that hold for the trial.

    None where there are no figures to judge.

    figures: the values of each of its measures, by treatment.
    """
    known = {key: figures[key] for key in RANGES if figures.get(key)}
    if not known:
        return None
    if len(picking_days(trial)) > 1:
        return finding("not recorded", message("no_range_for_picked_crop"))
    if is_support_light(trial):
        known = {key: values for key, values in known.items() if not RANGES[key].needs_lamps}
    if not known:
        return finding("not recorded", message("no_range_for_support_light"))
    return _judged(trial, known)


def is_support_light(trial: Trial) -> bool:
    """Return whether lamps are known to have shone for less than `FEWEST_HOURS` a day."""
    hours: dict[str, float] = {}
    for load in trial.loads:
        hours[load.treatment] = max(load.hours_per_day, hours.get(load.treatment, 0.0))
    for treatment in trial.treatments:
        if treatment.photoperiod is not None:
            hours[treatment.code] = treatment.photoperiod
    return any(each < FEWEST_HOURS for each in hours.values())


def _judged(trial: Trial, known: Mapping[str, Values]) -> Finding:
    beyond: list[Message] = []
    for key, values in known.items():
        if said := _beyond(trial, key, values):
            beyond.append(said)
    if beyond:
        outside = message("outside_published_ranges", beyond=Several(tuple(beyond)))
        return finding("caution", outside, message("check_units"))
    usual: list[Message] = []
    for key in known:
        usual.append(message("published_range", measure=Term(key), usual=RANGES[key].span))
    return finding("sound", message("in_published_ranges", usual=Several(tuple(usual))))


def _beyond(trial: Trial, key: str, values: Values) -> Message | None:
    usual = RANGES[key].span
    codes = []
    for code, value in values.items():
        if not usual.low <= value <= usual.high:
            codes.append(code)
    if not codes:
        return None
    amounts = Several(tuple(Amount(values[code], usual.unit) for code in codes))
    treatments = names(trial, codes)
    return message(
        "beyond_published_range",
        measure=Term(key),
        treatments=treatments,
        values=amounts,
        usual=usual,
    )
