"""How plants grew, measured while they stood."""

from collections.abc import Sequence

import altair as alt

from reportgen.charts import banded, estimates, theme
from reportgen.charts.banded import Bands, Line, Row
from reportgen.model.results import GrowthOnDay, GrowthOverTime
from reportgen.model.trial import Trial


def growth(
    trial: Trial, course: GrowthOverTime, width: float = theme.WIDTH
) -> alt.TopLevelMixin | None:
    """Draw a growth trait over days: the mean of each treatment's trays, zero included.

    The band is the interval of each day by itself. Each line ends in its treatment's name. Beyond
    `MOST_MARKS` points only some days are drawn, evenly, the last one among them. None where no
    treatment has a figure.
    """
    looks = theme.looks(trial)
    days = _thinned(course.days, len(looks))
    lines: list[Line] = []
    for code, look in looks.items():
        rows = _rows(trial, days, code)
        if rows:
            lines.append(Line(look, rows))
    return banded.draw(trial, Bands(lines, theme.labelled(course.measure)), width)


def _thinned(days: Sequence[GrowthOnDay], treatments: int) -> Sequence[GrowthOnDay]:
    every = -(-len(days) * treatments // theme.MOST_MARKS)
    if every > 1:
        return [*days[:-1:every], *days[-1:]]
    return days


def _rows(trial: Trial, days: Sequence[GrowthOnDay], code: str) -> list[Row]:
    rows: list[Row] = []
    for day in days:
        estimate = dict(day.estimates)[code]
        if estimate.value is not None:
            at = {"day": theme.day(trial, day.on), "is_point": True}
            rows.append({**at, **estimates.figures(estimate)})
    return rows
