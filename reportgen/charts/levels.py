"""Levels of factors: their names, and the axis of the measure that they are compared by."""

from collections.abc import Sequence
from math import log
from typing import Final

from reportgen.charts import theme
from reportgen.charts.estimates import numbers
from reportgen.charts.plane import Axis
from reportgen.language import say
from reportgen.model.results import MeasureResult
from reportgen.model.trial import Factor

ROOM: Final = 0.06  # of what is shown, above and below it


def level_text(factor: Factor, level: str) -> str:
    """Return a level with its unit."""
    return theme.one_line(f"{level} {factor.unit}".strip())


def factor_title(factor: Factor) -> str:
    """Return the title of a factor's axis."""
    if factor.unit:
        return theme.one_line(f"{factor.name} ({factor.unit})")
    return theme.one_line(factor.name)


def looks_of(factor: Factor) -> dict[str, theme.Look]:
    """Return the look of each level of a factor, named with the factor."""
    name = theme.one_line(factor.name)
    looks: dict[str, theme.Look] = {}
    for place, level in enumerate(factor.levels):
        looks[level] = theme.look(place, f"{name} {level_text(factor, level)}")
    return looks


def measured(result: MeasureResult, more: Sequence[float] = (), *, is_log: bool = False) -> Axis:
    """Return the axis of a measure, logarithmic if asked and all figures are above 0."""
    values = [*more, *dict(result.scores).values()]
    for _, estimate in result.estimates:
        values += numbers(estimate.low, estimate.value, estimate.high)
    low, high = min(values), max(values)
    title = theme.measure_title(result.measure)
    if is_log and low > 0:
        return _log_axis(title, low, high)
    room = ROOM * (high - low) or abs(high) / 2 or 1.0
    return Axis(title, (low - room, high + room))


def _log_axis(title: str, low: float, high: float) -> Axis:
    margin = 1.5
    if log(high / low):
        margin = (high / low) ** ROOM
    scale = say("logarithmic scale")
    return Axis(f"{title}; {scale}", (low / margin, high * margin), is_log=True)
