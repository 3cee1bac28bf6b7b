"""Electrical energy over the trial."""

from collections.abc import Mapping, Sequence
from datetime import datetime, time, timedelta
from statistics import median
from typing import Final

import altair as alt
import numpy as np

from reportgen.charts import banded, theme
from reportgen.charts.banded import Bands, Line, Row
from reportgen.language import marked, say
from reportgen.model.trial import Trial

SHARED: Final = marked("All treatments (shared meter)")
MOST_POINTS: Final = 60  # of a line; readings between are left out evenly, the last one stays

Reading = tuple[datetime, float]
Series = tuple[str, Sequence[Reading]]


def energy_over_time(
    trial: Trial, series: Sequence[Series], width: float = theme.WIDTH
) -> alt.TopLevelMixin | None:
    """Draw the energy of each treatment since the first reading (kWh) over days, from zero up.

    series: pairs of a treatment's code, or an empty text for a meter that all treatments share, and
    its readings: time, cumulative kWh. Several meters of a treatment are drawn as their median in
    the band of their range. Each line ends in its name. None where no series has two readings.
    """
    looks = theme.looks(trial)
    looks[""] = theme.look(len(looks), say(SHARED))
    meters: dict[str, list[Sequence[Reading]]] = {code: [] for code in looks}
    for code, readings in series:
        if len(readings) > 1:
            meters[code].append(thinned(readings))
    lines = _lines(trial, meters, looks)
    return banded.draw(trial, Bands(lines, say("Energy since the first reading (kWh)")), width)


def thinned(readings: Sequence[Reading]) -> list[Reading]:
    """Return at most `MOST_POINTS` + 1 of the readings, evenly, the first and the last among them."""
    step = -(-len(readings) // MOST_POINTS)
    return [*readings[:-1:step], readings[-1]]


def _lines(
    trial: Trial, meters: Mapping[str, Sequence[Sequence[Reading]]], looks: Mapping[str, theme.Look]
) -> list[Line]:
    found: list[Line] = []
    for code, look in looks.items():
        known = meters[code]
        if len(known) == 1:
            found.append(Line(look, [_row(_day(trial, at), [energy]) for at, energy in known[0]]))
        elif known:
            found.append(Line(look, _together(trial, known)))
    return found


def _together(trial: Trial, meters: Sequence[Sequence[Reading]]) -> list[Row]:
    """Return the rows of several meters at the days of any of their readings, read off straight
    lines between them.
    """
    curves = [
        ([_day(trial, at) for at, _ in readings], [energy for _, energy in readings])
        for readings in meters
    ]
    days = sorted({day for days, _ in curves for day in days})
    values = np.array([np.interp(days, *curve) for curve in curves])
    return [_row(day, values[:, place].tolist()) for place, day in enumerate(days)]


def _row(day: float, values: Sequence[float]) -> Row:
    middle = {"day": day, "is_point": True, "value": median(values), "reach": ""}
    return {**middle, "low": min(values), "high": max(values)}


def _day(trial: Trial, at: datetime) -> float:
    since: timedelta = at.replace(tzinfo=None) - datetime.combine(trial.started_on, time())
    return since / timedelta(days=1)
