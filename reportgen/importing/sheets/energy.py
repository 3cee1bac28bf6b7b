"""The sheet Meter: readings of counters that rise, made of what each meter's numbers are."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.conversions import converted
from reportgen.importing.model import long
from reportgen.importing.model.layouts import Counts
from reportgen.importing.model.settings import Settings
from reportgen.importing.sheets import amounts, further, occasions
from reportgen.importing.sheets.laying import Draft
from reportgen.importing.sheets.rows import COUNTS, GIVES, LAYOUT, MOMENT, NUMERIC
from reportgen.workbook.declaration import ALL, METER

READING: Final = "Reading"
METER_NAME: Final = "name"
AMOUNTS: Final = (Counts.EACH.value, Counts.BETWEEN.value)
DAY: Final = timedelta(days=1)
MINUTE: Final = timedelta(minutes=1)


@dataclass(frozen=True)
class Series:
    """The readings of one meter in order of time: moments, what the counter shows, the owner's row
    of each.
    """

    rows: pd.DataFrame
    moments: Sequence[datetime | None]
    values: NDArray[np.float64]

    def at(self, places: Sequence[int]) -> "Series":
        """Return some of its readings."""
        moments = [self.moments[place] for place in places]
        return Series(self.rows.iloc[list(places)], moments, self.values[list(places)])


def meters(rows: pd.DataFrame, settings: Settings) -> dict[str, Series]:
    """Return the readings of each meter of which any are told."""
    own = rows[
        (rows[GIVES] == METER.name)
        & (rows[long.QUANTITY] == READING)
        & rows[long.STATE].isin(NUMERIC)
    ]
    treatment = own[long.TREATMENT].where(own[long.TREATMENT] != "", ALL)
    own = own.assign(**{METER_NAME: _meter_names(own[long.METER], treatment)})
    found = {}
    for name, of_meter in own.groupby(METER_NAME, sort=False):
        found[str(name)] = _counter(of_meter, settings)
    return found


def _meter_names(meter: pd.Series, treatment: pd.Series) -> pd.Series:
    """Return the names of meters: the treatment's where none is told, and before one that several
    treatments have.
    """
    is_shared = treatment.groupby(meter).transform("nunique") > 1
    name = meter.where(~is_shared, treatment + " " + meter)
    return name.where(meter != "", treatment)


def _counter(own: pd.DataFrame, settings: Settings) -> Series:
    counts = own[COUNTS].iloc[0]
    if own[MOMENT].isna().all() and counts in (*AMOUNTS, Counts.SEASON.value):
        return _season(own, settings)
    ordered = own.sort_values(MOMENT, kind="stable")
    moments = _moments(ordered, settings)
    values = ordered[long.VALUE].to_numpy(dtype=float)
    if counts in AMOUNTS:
        if _is_between_readings(ordered, settings):
            moments = _within_first_day(moments, settings)
        return _added_up(ordered, moments, values, settings)
    if counts == Counts.DAILY.value:
        return Series(ordered, moments, _through_the_days(moments, values))
    return Series(ordered, moments, values)


def _moments(own: pd.DataFrame, settings: Settings) -> list[datetime | None]:
    """Return when each reading was taken: without days the first was at the start, the last at the
    harvest.
    """
    moments = list(occasions.days(own, settings))
    if own[MOMENT].isna().all() and len(own) > 1:
        moments[0] = occasions.field(settings, "Started on")
        moments[-1] = occasions.field(settings, "Harvested on")
    return moments


def _season(own: pd.DataFrame, settings: Settings) -> Series:
    """Return two readings, at the start and at the harvest, of what was used in all."""
    ends = [occasions.field(settings, name) for name in ("Started on", "Harvested on")]
    used = float(own[long.VALUE].sum())
    return Series(own.iloc[[0, 0]], ends, np.array([0.0, used]))


def _added_up(
    own: pd.DataFrame,
    moments: list[datetime | None],
    values: NDArray[np.float64],
    settings: Settings,
) -> Series:
    """Return a counter of amounts, each used since the one before.

    It begins with 0 at the start of the trial. Amounts of days or hours that begin on that day are
    of the time that they head. Of others the first is of the time before, as it is where it stands
    before that day.
    """
    begins = occasions.field(settings, "Started on")
    readings = [moment for moment in moments if moment]
    if begins is None or len(readings) < len(moments):
        return Series(own, moments, np.cumsum(values))
    first_day = readings[0].date()
    if len(readings) > 1 and first_day <= begins.date():
        step = _usual_step(readings)
        if first_day < begins.date() or step > DAY:
            return Series(own, moments, np.cumsum([0.0, *values[1:]]))
        readings = [moment + step - MINUTE for moment in readings]
    start = readings[0] - MINUTE
    if begins < readings[0]:
        start = begins
    places = [0, *range(len(own))]
    return Series(own.iloc[places], [start, *readings], np.concatenate([[0.0], np.cumsum(values)]))


def _usual_step(moments: Sequence[datetime]) -> timedelta:
    """Return the median time from one moment to the next."""
    seconds = [(later - earlier).total_seconds() for earlier, later in pairwise(moments)]
    return timedelta(seconds=median(seconds))


def _is_between_readings(own: pd.DataFrame, settings: Settings) -> bool:
    """Tell whether each amount is what a counter rose from the reading at its row's start to that
    at its end.

    Settings files of before lack the word: there the reading at the start is subtracted.
    """
    if own[COUNTS].iloc[0] == Counts.BETWEEN.value:
        return True
    values = settings.layouts[int(own[LAYOUT].iloc[0])].values
    return bool(values[int(own[long.VALUES].iloc[0])].tare)


def _within_first_day(moments: list[datetime | None], settings: Settings) -> list[datetime | None]:
    """Return moments of amounts; that of the trial's first day ends on the next one, as its row
    begins on the first.

    Where rows follow one another within a day they stay: such amounts are of the time that they
    head anyway.
    """
    begins = occasions.field(settings, "Started on")
    first, second = [*moments, None, None][:2]
    if begins is None or first is None or second is None:
        return moments
    if first.date() != begins.date() or second - first <= DAY:
        return moments
    return [begins + DAY, *moments[1:]]


def _through_the_days(
    moments: list[datetime | None], values: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return a counter that rises all through of one that begins again each day."""
    day = np.array([moment.toordinal() if moment else 0 for moment in moments])
    steps = np.diff(values, prepend=0.0)
    is_new = np.diff(day, prepend=day[0] - 1 if len(day) else 0) != 0
    return np.cumsum(np.where(is_new, values, steps))


def meter(series: dict[str, Series], columns: "further.Further") -> Draft | None:
    """Return the sheet Meter: a row for each reading."""
    if not series:
        return None
    names: list[str] = []
    moments: list[datetime | None] = []
    for name, readings in series.items():
        names += [name] * len(readings.moments)
        moments += readings.moments
    rows = pd.concat([readings.rows for readings in series.values()])
    values = np.concatenate([readings.values for readings in series.values()])
    treatments = [treatment or ALL for treatment in rows[long.TREATMENT]]
    draft = Draft(METER.name)
    draft.label("Meter", names, rows)
    draft.label("Treatment", treatments, rows, long.TREATMENT)
    draft.label("Read at", moments, rows, long.OCCASION)
    header = READING
    unit = amounts.unit_of(rows, METER.name, READING)
    if unit:
        header = f"{READING} ({unit})"
    numbers = converted(values, rows[long.UNIT_OF_MEASURE], unit).tolist()
    letters = rows[long.COLUMN].to_numpy(dtype=np.intp)
    draft.place(header, numbers, rows, letters)
    further.add(draft, METER, rows, columns)
    return draft
