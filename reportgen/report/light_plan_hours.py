"""Hours of light a day that give the wanted light of a day."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from reportgen.language import listed, say
from reportgen.metrics.light_matching import (
    Interval,
    LightMatch,
    MatchedHours,
)
from reportgen.report import numbers
from reportgen.report.light_plan_columns import (
    height_cell,
    interval_heads,
    interval_text,
    table_lines,
)
from reportgen.report.light_plan_texts import HOURS_CHANGE_MORE, HOURS_HEADING

if TYPE_CHECKING:
    pass

HOURS_OF_A_DAY: Final = 24


def hours_lines(match: LightMatch, names: Mapping[str, str], level: str) -> list[str]:
    """Return the hours a day that give the wanted light of a day, a row for each height."""
    rows = [
        [say("treatment"), say("height (cm)"), say("hours a day"), *interval_heads(match, level)]
    ]
    impossible: list[str] = []
    for light in match.treatments:
        name = names[light.code]
        too_long: list[MatchedHours] = []
        for hours in light.hours:
            if hours.hours > HOURS_OF_A_DAY:
                too_long.append(hours)
            else:
                rows.append(_hours_row(match, name, hours))
        if too_long:
            impossible.append(_too_long(name, too_long))
    lines: list[str] = []
    if len(rows) > 1:
        lines += [say(HOURS_HEADING), "", *table_lines(rows), "", say(HOURS_CHANGE_MORE), ""]
    if impossible:
        return [*lines, *impossible, ""]
    return lines


def _hours_row(match: LightMatch, name: str, hours: MatchedHours) -> list[str]:
    ends = [_within_a_day(hours.between)]
    if len(interval_heads(match, "")) > 1:
        ends.append(_within_a_day(hours.absolute))
    return [name, height_cell(hours.height), numbers.fixed(hours.hours, 1), *ends]


def _within_a_day(interval: Interval) -> str:
    """Return an interval of hours in words; no day is longer than 24."""
    if interval.low is not None and interval.high is not None and interval.high > HOURS_OF_A_DAY:
        return say(
            "{low} to more than {high}",
            low=numbers.fixed(interval.low, 1),
            high=HOURS_OF_A_DAY,
        )
    return interval_text(interval)


def _too_long(name: str, hours: Sequence[MatchedHours]) -> str:
    """Return at which heights no day is long enough."""
    known = [numbers.typed(each.height) for each in hours if each.height is not None]
    if not known:
        return say("Under {name} no day is long enough for that light of a day.", name=name)
    return say(
        "Under {name} no day is long enough for that light of a day at {heights} cm.",
        name=name,
        heights=listed(known),
    )
