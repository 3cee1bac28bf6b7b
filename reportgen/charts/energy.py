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
    lines: list[Line] = []
    for code, look in looks.items():
        if meters[code]:
            lines.append(Line(look, _rows(trial, meters[code])))
    return lines


def _rows(trial: Trial, meters: Sequence[Sequence[Reading]]) -> list[Row]:
    if len(meters) > 1:
        return _together(trial, meters)
    return [_row(_day(trial, time_read), [energy]) for time_read, energy in meters[0]]


def _together(trial: Trial, meters: Sequence[Sequence[Reading]]) -> list[Row]:
    """Return the rows of several meters at the days of all their readings, interpolated."""
    days_read: set[float] = set()
    for readings in meters:
        days_read.update(_days(trial, readings))
    days = sorted(days_read)
    curves: list[list[float]] = []
    for readings in meters:
        energy = [kwh for _, kwh in readings]
        curves.append(np.interp(days, _days(trial, readings), energy).tolist())
    return [_row(day, values) for day, values in zip(days, zip(*curves, strict=True), strict=True)]


def _days(trial: Trial, readings: Sequence[Reading]) -> list[float]:
    return [_day(trial, time_read) for time_read, _ in readings]


def _row(day: float, values: Sequence[float]) -> Row:
    middle = {"day": day, "is_point": True, "value": median(values), "reach": ""}
    return {**middle, "low": min(values), "high": max(values)}


def _day(trial: Trial, time_read: datetime) -> float:
    since: timedelta = time_read.replace(tzinfo=None) - datetime.combine(trial.started_on, time())
    return since / timedelta(days=1)
