"""What a crop that is picked more than once had given, day by day."""

from datetime import date
from typing import Final

import altair as alt

from reportgen.charts import banded, estimates, theme
from reportgen.charts.banded import Bands, Line, Row
from reportgen.language import say
from reportgen.model.results import CumulativeYield, Estimate
from reportgen.model.trial import Trial

LEAD: Final = 0.04  # of the season, drawn before the first picking


def cumulative_yield(
    trial: Trial, course: CumulativeYield, width: float = theme.WIDTH
) -> alt.TopLevelMixin | None:
    """Draw the cumulative yield of each treatment: a step a picking, from zero up.

    What was picked stays picked, so a line is level until the next picking. The band is the
    interval of each day by itself. Each line ends in its treatment's name. None where no treatment
    has a figure.
    """
    looks = theme.looks(trial)
    lines: list[Line] = []
    for code, look in looks.items():
        rows = _rows(trial, course, code)
        if rows:
            lines.append(Line(look, rows))
    title = say("{measure}, added up", measure=theme.labelled(course.measure))
    return banded.draw(trial, Bands(lines, title, "step-after"), width)


def _rows(trial: Trial, course: CumulativeYield, code: str) -> list[Row]:
    """Return the row of each day of a treatment, after one of nothing before them."""
    known: list[tuple[date, Estimate]] = []
    for day in course.days:
        estimate = dict(day.estimates)[code]
        if estimate.value is not None:
            known.append((day.on, estimate))
    if not known:
        return []
    first, last = (theme.day(trial, course.days[place].on) for place in (0, -1))
    margin = LEAD * (last - first)
    rows = [{"day": first - margin, "is_point": False, **estimates.figures(Estimate(0.0))}]
    for on, estimate in known:
        rows.append({"day": theme.day(trial, on), "is_point": True, **estimates.figures(estimate)})
    return rows
