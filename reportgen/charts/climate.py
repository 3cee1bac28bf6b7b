"""The air over the trial."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from math import ceil
from statistics import fmean
from typing import TYPE_CHECKING, Final

import altair as alt
import numpy as np

from reportgen.charts import banded, theme
from reportgen.charts.banded import Bands, Line, Row
from reportgen.charts.tooltips import reach
from reportgen.language import marked, say
from reportgen.model.trial import ClimateLog, Trial

if TYPE_CHECKING:
    from numpy.typing import NDArray

EPOCH: Final = date(1970, 1, 1)  # of datetime64
FEW_DAYS: Final = 40  # of a line; more carry no marks
SHARED: Final = marked("All treatments (shared air)")


@dataclass(frozen=True)
class DailyBand:
    """Lowest, mean and highest of a quantity (label with unit) on a day; treatment None: all."""

    treatment: str | None
    quantity: str
    day: date
    low: float
    mean: float
    high: float


def by_day(log: ClimateLog, quantity: str, values: "NDArray[np.float64]") -> tuple[DailyBand, ...]:
    """Return the band of each treatment and day.

    values: (n,), in the order of the log, NaN where there is none. quantity: label with unit. The
    mean is the plain mean of the day's readings.
    """
    known = np.isfinite(values) & ~np.isnat(log.at)
    codes = list(dict.fromkeys(log.treatments))
    places = {code: place for place, code in enumerate(codes)}
    treatment = np.array([places[code] for code in log.treatments], dtype=np.int64)[known]
    day = log.at[known].astype("datetime64[D]").astype(np.int64)
    cells, inverse = np.unique(np.stack([treatment, day]), axis=1, return_inverse=True)
    low, mean, high = _summary(inverse.ravel(), cells.shape[1], values[known])
    bands_by_day: list[DailyBand] = []
    for n, (place, days) in enumerate(cells.T):
        on = EPOCH + timedelta(days=int(days))
        summary = float(low[n]), float(mean[n]), float(high[n])
        bands_by_day.append(DailyBand(codes[place], quantity, on, *summary))
    return tuple(bands_by_day)


def bands(
    trial: Trial, daily: Sequence[DailyBand], width: float = theme.WIDTH
) -> alt.TopLevelMixin | None:
    """Draw one quantity over days: the daily mean of each treatment in the band of the day's range.

    daily: the days of one quantity. The upright axis need not start at zero. Days without readings
    part the line; beyond `MOST_MARKS` days several days make one step. None without any day.
    """
    looks: dict[str | None, theme.Look] = {None: theme.look(len(trial.treatments), say(SHARED))}
    looks |= dict(theme.looks(trial).items())
    days = [row for row in daily if _is_finite(row) and row.treatment in looks]
    if not days:
        return None
    days.sort(key=lambda row: row.day)
    step = ceil(len(days) / theme.MOST_MARKS)
    lines: list[Line] = []
    for code, look in looks.items():
        own = [row for row in days if row.treatment == code]
        if own:
            lines.append(Line(look, list(_steps(trial, own, step))))
    title = theme.one_line(days[0].quantity)
    return banded.draw(trial, Bands(lines, title, is_from_zero=False), width)


def _summary(
    cell: "NDArray[np.int64]", count: int, values: "NDArray[np.float64]"
) -> "tuple[NDArray[np.float64], ...]":
    """Return lowest, mean and highest of the values of each of `count` cells. cell, values: (n,)."""
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, cell, values)
    np.maximum.at(high, cell, values)
    return low, np.bincount(cell, values, count) / np.bincount(cell, minlength=count), high


def _is_finite(row: DailyBand) -> bool:
    return bool(np.isfinite([row.low, row.mean, row.high]).all())


def _steps(trial: Trial, rows: Sequence[DailyBand], step: int) -> Iterator[Row]:
    """Yield what is drawn of a line: `step` days as one, parts of the line that hold no gap."""
    part, before = 0, None
    for number, group in groupby(rows, key=lambda row: theme.day(trial, row.day) // step):
        days = list(group)
        part += before is not None and number > before + 1
        before = number
        low, high = min(row.low for row in days), max(row.high for row in days)
        yield {
            "part": part,
            "day": (number + 0.5) * step,
            "is_point": len(rows) <= FEW_DAYS,
            "value": fmean(row.mean for row in days),
            "low": low,
            "high": high,
            "reach": reach(low, high),
        }
