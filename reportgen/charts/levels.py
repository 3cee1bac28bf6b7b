"""Levels of factors: their names, and the axis of the measure that they are compared by."""

from collections.abc import Sequence
from math import log
from typing import Final

from reportgen.charts import theme
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
    return theme.one_line(f"{factor.name} ({factor.unit})" if factor.unit else factor.name)


def looks_of(factor: Factor) -> dict[str, theme.Look]:
    """Return the look of each level of a factor, named with the factor."""
    name = theme.one_line(factor.name)
    return {
        level: theme.look(place, f"{name} {level_text(factor, level)}")
        for place, level in enumerate(factor.levels)
    }


def measured(result: MeasureResult, more: Sequence[float] = (), *, is_log: bool = False) -> Axis:
    """Return the axis of a measure; on a logarithmic one, for figures above 0, equal ratios are
    equally long.
    """
    values = [*more, *(score for _, score in result.scores)]
    for _, estimate in result.estimates:
        values += [end for end in (estimate.low, estimate.value, estimate.high) if end is not None]
    low, high = min(values), max(values)
    title = theme.measure_title(result.measure)
    if is_log and low > 0:
        if log(high / low):
            margin = (high / low) ** ROOM
        else:
            margin = 1.5
        scale = say("logarithmic scale")
        heading = f"{title}; {scale}"
        return Axis(heading, (low / margin, high * margin), is_log=True)
    room = ROOM * (high - low) or abs(high) / 2 or 1.0
    return Axis(title, (low - room, high + room))
