"""The figure of light over height."""

from typing import TYPE_CHECKING

from reportgen.language import say
from reportgen.metrics.light_matching import (
    LightMatch,
    MeasuredLevel,
    Quantity,
    TreatmentLight,
    moles_a_day,
)
from reportgen.model.document import Figure
from reportgen.model.trial import LightSurvey, Treatment
from reportgen.report import numbers
from reportgen.report.figures.drawing import drawn
from reportgen.report.light_plan_texts import CALLED, UNITS

if TYPE_CHECKING:
    from reportgen.charts.light_heights import LightAt, LightLine


def names_by_code(survey: LightSurvey) -> dict[str, str]:
    """Return the name of each treatment by its code, with the code where two have one name."""
    given = [treatment.name for treatment in survey.treatments]
    names: dict[str, str] = {}
    for treatment in survey.treatments:
        is_single = given.count(treatment.name) == 1
        names[treatment.code] = (
            treatment.name if is_single else f"{treatment.name} ({treatment.code})"
        )
    return names


def target_text(match: LightMatch) -> str:
    """Return the light that all treatments should have, and where it comes from."""
    called, unit = say(CALLED[match.quantity]), UNITS[match.quantity]
    if match.level is None:
        return say(
            "No {called} was typed, and fewer than two treatments have one that is known, so"
            " there is no target.",
            called=called,
        )
    level = numbers.amount(match.level, unit)
    if match.is_given:
        return say("Target: {called} of {level}, as typed.", called=called, level=level)
    if match.reached is None:
        return say(
            "The treatments have no {called} in common within what was read. The readings"
            " that are missing are named for the middle of the gap, {level}.",
            called=called,
            level=level,
        )
    reach = numbers.reach(match.reached.low or 0.0, match.reached.high or 0.0, unit)
    return say(
        "No target was typed. Within what was read all treatments reach a {called} of"
        " {reach}; target: the middle of that on the logarithmic scale, {level}.",
        called=called,
        reach=reach,
        level=level,
    )


def figure(survey: LightSurvey, match: LightMatch) -> Figure | None:
    """Return mean light, or the light of a day, against height.

    None where no treatment has readings with heights.
    """
    from reportgen.charts.light_heights import LightLine, light_over_height

    names = names_by_code(survey)
    treatments = {treatment.code: treatment for treatment in survey.treatments}
    lines: list[LightLine] = []
    for light in sorted(match.treatments, key=lambda light: light.code != survey.reference):
        factor = _factor(match.quantity, treatments[light.code])
        if light.course and factor:
            lines.append(_line(names[light.code], light, factor))
    if not lines:
        return None
    unit = UNITS[match.quantity]
    called = CALLED[match.quantity]
    if match.level is None:
        target = ""
    else:
        target = say("Target: {level}", level=numbers.amount(match.level, unit))
    title = f"{called[:1].upper()}{called[1:]} ({unit})"
    caption = say(
        "Light over height: points measured, lines interpolated, bands intervals beside"
        " the other treatments."
    )
    found = drawn(
        "light",
        lambda width: light_over_height(lines, title, match.level, target, width),
        caption,
        target_text(match),
    )
    if found:
        return found[0]
    return None


def _factor(quantity: Quantity, treatment: Treatment) -> float:
    if quantity == "ppfd":
        return 1.0
    return moles_a_day(1.0, treatment.photoperiod or 0.0)


def _line(name: str, light: TreatmentLight, factor: float) -> "LightLine":
    from reportgen.charts.light_heights import LightAt, LightLine

    course = [
        LightAt(point.height, point.ppfd * factor, point.low * factor, point.high * factor)
        for point in light.course
    ]
    measured = [
        _measured(level, factor) for level in light.levels if level.light_map.height is not None
    ]
    matched = None
    if light.matched and light.wanted:
        matched = LightAt(light.matched.height, light.wanted * factor)
    return LightLine(name, tuple(course), tuple(measured), matched)


def _measured(level: MeasuredLevel, factor: float) -> "LightAt":
    from reportgen.charts.light_heights import LightAt

    height, mean = level.light_map.height or 0.0, level.light_map.mean * factor
    if level.low is None or level.high is None:
        return LightAt(height, mean)
    return LightAt(height, mean, level.low * factor, level.high * factor)
