"""Estimates as rows of a chart."""

from typing import Any

from reportgen.charts.tooltips import reach
from reportgen.model.results import Estimate

Row = dict[str, Any]


def figures(estimate: Estimate) -> Row:
    """Return a figure with its limits; it stands alone where it has none."""
    return {**limits(estimate), "reach": reach(estimate.low, estimate.high)}


def limits(estimate: Estimate) -> Row:
    """Return a figure and its limits; a limit that it lacks is the figure itself."""
    row: Row = dict.fromkeys(("value", "low", "high"), estimate.value)
    if estimate.low is not None:
        row["low"] = estimate.low
    if estimate.high is not None:
        row["high"] = estimate.high
    return row


def numbers(*values: float | None) -> list[float]:
    """Return the values that are known."""
    return [value for value in values if value is not None]
