"""Nutrient solution: how strong and how acid it was."""

from collections import defaultdict
from statistics import median
from typing import Final, Literal

import altair as alt

from reportgen.charts import banded, theme
from reportgen.charts.banded import Bands, Line, Row
from reportgen.charts.tooltips import reach
from reportgen.language import marked, say
from reportgen.model.trial import Trial

QUANTITIES: Final = {
    "ec": marked("Electrical conductivity of the solution (mS/cm)"),
    "ph": marked("Acidity of the solution (pH)"),
}


def solution_over_time(
    trial: Trial, quantity: Literal["ec", "ph"], width: float = theme.WIDTH
) -> alt.TopLevelMixin | None:
    """Draw EC (mS/cm) or pH over days: the median of each treatment's trays in their range.

    The upright axis need not start at zero. None for fewer than two days.
    """
    looks = theme.looks(trial)
    values = _values(trial, quantity)
    lines: list[Line] = []
    days: set[int] = set()
    for code, look in looks.items():
        rows = [_row(day, own) for day, own in sorted(values.get(code, {}).items())]
        if rows:
            lines.append(Line(look, rows))
            days.update(row["day"] for row in rows)
    if len(days) < 2:
        return None
    return banded.draw(trial, Bands(lines, say(QUANTITIES[quantity]), is_from_zero=False), width)


def _values(trial: Trial, quantity: str) -> dict[str, dict[int, list[float]]]:
    """Return the values of each treatment's trays by day."""
    treatment_of = {tray.code: tray.treatment for tray in trial.trays}
    values: dict[str, dict[int, list[float]]] = defaultdict(lambda: defaultdict(list))
    for event in trial.solution:
        if quantity == "ec":
            value = event.ec
        else:
            value = event.ph
        if value is not None and event.tray in treatment_of:
            values[treatment_of[event.tray]][theme.day(trial, event.on)].append(value)
    return values


def _row(day: int, values: list[float]) -> Row:
    low, high = min(values), max(values)
    if low < high:
        within = reach(low, high)
    else:
        within = ""
    return {
        "day": day,
        "is_point": True,
        "value": median(values),
        "low": low,
        "high": high,
        "reach": within,
    }
