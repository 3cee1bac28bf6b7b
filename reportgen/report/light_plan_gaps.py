"""Which readings of light are missing for a height."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from reportgen.language import say
from reportgen.metrics.light_matching import (
    Interval,
    LightMatch,
    MeasuredLevel,
    TreatmentLight,
)
from reportgen.report import numbers
from reportgen.report.light_plan_texts import PPFD_UNIT, WITHOUT_CURVE

if TYPE_CHECKING:
    pass


def missing_lines(match: LightMatch, names: Mapping[str, str]) -> list[str]:
    """Return what is missing for a height, a line for each treatment that has none, or an interval
    that is open.
    """
    lines = []
    for light in match.treatments:
        name = names[light.code]
        if light.why_none:
            lines.append(_why_none(light, name))
        elif light.matched:
            lines += _open_ends(light, light.matched.between, name)
    if lines:
        return [*lines, ""]
    return []


def _open_ends(light: TreatmentLight, interval: Interval, name: str) -> list[str]:
    """Return where to read more, for an interval that does not end within the heights that were
    read.
    """
    if interval.low is None and interval.high is None:
        return [
            say(
                "Under {name} any height from {heights} may have the wanted light: read"
                " beyond them.",
                name=name,
                heights=_read_from_to(light),
            )
        ]
    if interval.low is None:
        return [
            say(
                "The interval of {name} reaches below the heights that were read, {heights}:"
                " read there.",
                name=name,
                heights=_read_from_to(light),
            )
        ]
    if interval.high is None:
        return [
            say(
                "The interval of {name} reaches above the heights that were read, {heights}:"
                " read there.",
                name=name,
                heights=_read_from_to(light),
            )
        ]
    return []


def _why_none(light: TreatmentLight, name: str) -> str:
    """Return why a treatment has no height, and the readings that are missing."""
    if light.why_none in WITHOUT_CURVE:
        return say(WITHOUT_CURVE[light.why_none], name=name)
    wanted = numbers.amount(light.wanted or 0.0, PPFD_UNIT)
    if light.why_none == "several_heights":
        return say(
            "Mean light under {name} is {wanted} at more than one height, so none is given."
            " Missing: new readings from {heights}.",
            name=name,
            wanted=wanted,
            heights=_read_from_to(light),
        )
    means = [level.light_map.mean for level in light.levels]
    if light.why_none == "one_height":
        return _one_height(light, light.levels[0], name)
    advised = light.advised or Interval(None, None)
    return say(
        "{wanted} lies beyond what was read under {name}: {reach} from {heights}."
        " Missing: readings at {advised} cm, a guess by the fall of light so far.",
        wanted=wanted,
        name=name,
        reach=numbers.reach(min(means), max(means), PPFD_UNIT),
        heights=_read_from_to(light),
        advised=_whole(advised),
    )


def _one_height(light: TreatmentLight, level: MeasuredLevel, name: str) -> str:
    wanted, mean = light.wanted or 0.0, level.light_map.mean
    said = say(
        "Light under {name} was read at one height only, {heights}, with a mean of"
        " {mean}; wanted: {wanted}",
        name=name,
        heights=_read_from_to(light),
        mean=numbers.amount(mean, PPFD_UNIT),
        wanted=numbers.amount(wanted, PPFD_UNIT),
    )
    if level.low is not None and level.high is not None and level.low <= wanted <= level.high:
        return say(
            "{said}, which the spread of its points cannot tell from that mean. Keep it"
            " there, or read more heights.",
            said=said,
        )
    if wanted < mean:
        where = say("where there is less light")
    else:
        where = say("where there is more light")
    return say("{said}. Missing: readings at a second height, {where}.", said=said, where=where)


def _read_from_to(light: TreatmentLight) -> str:
    heights = [level.light_map.height or 0.0 for level in light.levels]
    low, high = numbers.typed(min(heights)), numbers.typed(max(heights))
    if low == high:
        return say("{low} cm", low=low)
    return say("{low} to {high} cm", low=low, high=high)


def _whole(interval: Interval) -> str:
    """Return an interval of heights in whole centimetres."""
    return say(
        "{low} to {high}",
        low=f"{interval.low or 0.0:.0f}",
        high=f"{interval.high or 0.0:.0f}",
    )
