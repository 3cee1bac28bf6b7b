"""Columns of the plan of light, as plain text."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from reportgen.language import say
from reportgen.metrics.light_matching import (
    Interval,
    LightMatch,
    MatchedHeight,
)
from reportgen.report import numbers

if TYPE_CHECKING:
    pass


def height_text(matched: MatchedHeight) -> str:
    """Return a height in cm, with one decimal at most."""
    decimals = numbers.decimals_of(matched.height, matched.between.low, matched.between.high)
    return numbers.fixed(matched.height, min(decimals, 1))


def interval_heads(match: LightMatch, level: str) -> list[str]:
    """Return the heads of the columns of intervals: one where both are the same."""
    heads = [say("{level} beside the others", level=level)]
    if match.accuracy_known and not match.own_meters:
        heads.append(say("against the target"))
    return heads


def interval_cells(
    match: LightMatch, between: Interval, absolute: Interval, is_paired: bool = False
) -> list[str]:
    """Return the cells of the columns that `interval_heads` names."""
    cells = [interval_text(between, is_paired)]
    if match.accuracy_known and not match.own_meters:
        cells.append(interval_text(absolute))
    return cells


def interval_text(interval: Interval, is_paired: bool = False) -> str:
    """Return an interval in words; an end that lies beyond what was read is said to be open.

    One without width is not known, but for pairs that all differ alike.
    """
    low, high = interval.low, interval.high
    if low is None and high is None:
        return say("open at both ends")
    if low is None:
        return say("open to {high}", high=numbers.fixed(high or 0.0, 1))
    if high is None:
        return say("{low} to open", low=numbers.fixed(low, 1))
    if low == high and not is_paired:
        return numbers.not_known()
    return say("{low} to {high}", low=numbers.fixed(low, 1), high=numbers.fixed(high, 1))


def evenness_text(evenness: float | None) -> str:
    """Return minimum / mean of a map of light."""
    if evenness is None:
        return numbers.not_known()
    return f"{evenness:.2f}"


def height_cell(height: float | None) -> str:
    """Return a height in cm as it was typed."""
    if height is None:
        return say("not recorded")
    return numbers.typed(height)


def table_lines(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows as lines, the first column to the left and the others to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [row[0].ljust(widths[0])]
        cells += [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        lines.append("  ".join(cells).rstrip())
    return lines
