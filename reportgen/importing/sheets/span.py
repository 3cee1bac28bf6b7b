"""Readings from before the start of a trial or after its harvest, which tell nothing of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Final

import numpy as np
import pandas as pd

from reportgen.importing.model import long
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.settings import Settings
from reportgen.importing.sheets import occasions
from reportgen.importing.sheets.energy import Series
from reportgen.importing.sheets.rows import GIVES, LETTER, MOMENT, TRAY
from reportgen.importing.sheets.water import FILL, REMAINING
from reportgen.language import figure, listed, plural, say
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.declaration import CLIMATE, SOLUTION
from reportgen.workbook.values import shown

# Our own limits for a reading that is interpolated, in parts of the trial: all days between the two
# readings around it, or the days of them outside the trial. Beyond both the use within the trial is
# not known well enough.
WIDEST: Final = 1 / 4
MOST_OUTSIDE: Final = 1 / 10


@dataclass(frozen=True)
class Span:
    """The first and last day of a trial."""

    start: date
    end: date

    def holds(self, moment: datetime) -> bool:
        """Tell whether a moment is on one of its days."""
        return self.start <= moment.date() <= self.end

    @property
    def ends(self) -> tuple[datetime, datetime]:
        """Return its first moment, and the first of its last day."""
        return datetime.combine(self.start, time()), datetime.combine(self.end, time())


def span_of(settings: Settings) -> Span | None:
    """Return the days from the start to the harvest, None where one is not known."""
    start, end = (occasions.field(settings, name) for name in ("Started on", "Harvested on"))
    if start and end and start < end:
        return Span(start.date(), end.date())
    return None


# --- climate


def climate_within(
    rows: pd.DataFrame, settings: Settings, sheets: Sequence[Sheet]
) -> tuple[pd.DataFrame, tuple[Problem, ...]]:
    """Return rows without readings of the air from outside the trial, and a caution where there are
    any.
    """
    span = span_of(settings)
    is_air = rows[GIVES] == CLIMATE.name
    if span is None or not is_air.any():
        return rows, ()
    first = np.datetime64(span.start)
    after = np.datetime64(span.end) + np.timedelta64(1, "D")
    is_outside = is_air & ((rows[MOMENT] < first) | (rows[MOMENT] >= after))
    if not is_outside.any() or is_outside.sum() == is_air.sum():
        return rows, ()
    outside = rows[is_outside].drop_duplicates([long.SHEET, long.ROW])
    every = len(rows[is_air].drop_duplicates([long.SHEET, long.ROW]))
    found = plural(
        "{number} row of {every} from before the trial or after it",
        "{number} rows of {every} from before the trial or after it",
        len(outside),
        every=every,
    )
    return rows[~is_outside], (_caution(outside, span, sheets, found, ""),)


# --- water


def water_within(
    rows: pd.DataFrame, settings: Settings, sheets: Sequence[Sheet]
) -> tuple[pd.DataFrame, tuple[Problem, ...]]:
    """Return rows without what was filled and left by the crops before and after, and a caution
    where there is any.

    A reservoir that was filled on the eve of the trial, or measured on the day after it, is of the
    trial.
    """
    span = span_of(settings)
    own = rows[(rows[GIVES] == SOLUTION.name) & rows[MOMENT].notna()]
    if span is None or own.empty:
        return rows, ()
    gone: list[int] = []
    for _, events in own.sort_values(MOMENT, kind="stable").groupby(
        [long.TREATMENT, TRAY], sort=False
    ):
        gone.extend(_of_other_crops(events, span))
    if not gone:
        return rows, ()
    outside = rows.loc[gone].drop_duplicates([long.SHEET, long.ROW])
    every = len(own.drop_duplicates([long.SHEET, long.ROW]))
    amount = _amount_of(float(outside[long.VALUE].sum()), outside)
    found = plural(
        "{number} row of {every} from before the trial or after it: {amount}",
        "{number} rows of {every} from before the trial or after it: {amount}",
        len(outside),
        every=every,
        amount=amount,
    )
    return rows.drop(index=gone), (_caution(outside, span, sheets, found, ""),)


def _of_other_crops(events: pd.DataFrame, span: Span) -> list[int]:
    """Return what was done in a tray for the crops before and after the trial.

    That is up to the last remainder before the trial, and after the one that ends it.
    """
    days = np.array([moment.date() for moment in events[MOMENT]], dtype=object)
    remainders = np.flatnonzero((events[long.EVENT] == REMAINING).to_numpy())
    before = remainders[days[remainders] < span.start]
    up_to_end = np.flatnonzero(days <= span.end)
    first = 0
    if before.size:
        first = int(before[-1]) + 1
    last = 0
    if up_to_end.size:
        last = int(up_to_end[-1])
    final = len(days)
    ending = remainders[remainders >= last]
    if ending.size:
        final = int(ending[0])
    is_of_trial = np.zeros(len(days), dtype=np.bool_)
    is_of_trial[first : final + 1] = True
    is_filled = (events[long.EVENT] == FILL).to_numpy()
    if not (is_filled & is_of_trial).any():
        return []
    return [int(index) for index in events.index[~is_of_trial]]


def _caution(
    outside: pd.DataFrame, span: Span, sheets: Sequence[Sheet], found: str, interpolated: str
) -> Problem:
    own = outside[outside[long.SHEET] == outside[long.SHEET].iloc[0]]
    sheet = sheets[int(own[long.SHEET].iloc[0])]
    letter = int(own[LETTER + long.OCCASION].iloc[0])
    first, last = int(own[long.ROW].min()), int(own[long.ROW].max())
    if letter:
        cells = sheet.range(first, letter, last, letter)
    else:
        cells = f"{first}:{last}"
    left = plural("It was left out.", "They were left out.", len(outside))
    return Problem(
        Severity.CAUTION,
        sheet.label,
        cells,
        found,
        say("readings from {start} to {end}", start=span.start, end=span.end),
        f"{left} {interpolated}".rstrip(),
        code="span_not_covered",
    )


# --- energy


def meters_within(
    meters: dict[str, Series], settings: Settings, sheets: Sequence[Sheet]
) -> tuple[dict[str, Series], tuple[Problem, ...]]:
    """Return meters with the readings of the trial, interpolated on its first and last day where
    they need it.
    """
    span = span_of(settings)
    if span is None:
        return meters, ()
    made, problems = {}, []
    for name, series in meters.items():
        made[name] = series
        if None in series.moments:
            continue  # the checks say what is wrong
        inside = [at for at, moment in enumerate(series.moments) if moment and span.holds(moment)]
        cut = _cut(series, inside, span)
        if cut is not None and len(inside) < len(series.moments):
            made[name] = cut
            problems.append(_left_out(name, series, cut, span, sheets))
    return made, tuple(problems)


def _cut(series: Series, inside: Sequence[int], span: Span) -> Series | None:
    """Return the readings of the trial in order of time, None where there are none."""
    own = series.at(inside)
    places, moments, values = list(inside), list(own.moments), own.values.tolist()
    for moment in span.ends:
        found = _interpolated(series, moment, span)
        if found:
            places.append(found[0])
            moments.append(moment)
            values.append(found[1])
    if not places:
        return None
    order = sorted(range(len(places)), key=lambda at: moments[at] or datetime.min)
    rows = series.rows.iloc[[places[at] for at in order]]
    return Series(rows, [moments[at] for at in order], np.array([values[at] for at in order]))


def _interpolated(series: Series, moment: datetime, span: Span) -> tuple[int, float] | None:
    """Return the place of the reading after a moment and what the meter showed at the moment.

    It follows a straight line. None on a day with a reading, outside the readings, in too wide a
    gap, or where the meter ran back.
    """
    moments = [reading for reading in series.moments if reading]
    first = _place_before(moments, moment)
    if first is None:
        return None
    last = first + 1
    if _is_too_wide(moments[first], moments[last], moment, span):
        return None
    used = float(series.values[last] - series.values[first])
    if used < 0:
        return None
    gap = moments[last] - moments[first]
    value = float(series.values[first]) + used * ((moment - moments[first]) / gap)
    return last, round(value, 9)


def _place_before(moments: Sequence[datetime], moment: datetime) -> int | None:
    """Return the last place before a moment, None on a day with a reading or outside them all."""
    days = {reading.date() for reading in moments}
    before = [place for place, reading in enumerate(moments) if reading < moment]
    if moment.date() in days or not before or len(before) == len(moments):
        return None
    return before[-1]


def _is_too_wide(first: datetime, last: datetime, moment: datetime, span: Span) -> bool:
    """Tell whether the gap around a moment is wide, and most of it lies outside the trial."""
    length = span.ends[1] - span.ends[0]
    outside = moment - first
    if moment == span.ends[1]:
        outside = last - moment
    return last - first > length * WIDEST and outside > length * MOST_OUTSIDE


def _rise(series: Series) -> float:
    """Return what a meter counted from its first reading to its last."""
    return float(series.values[-1] - series.values[0])


def _amount_of(amount: float, rows: pd.DataFrame) -> str:
    """Return an amount in the unit of some rows, such as `3.5 kWh`."""
    units = [unit for unit in rows[long.UNIT_OF_MEASURE].unique() if unit]
    if len(units) == 1:
        return f"{figure(f'{amount:.6g}')} {units[0]}"
    return figure(f"{amount:.6g}")


def _left_out(
    name: str, series: Series, cut: Series, span: Span, sheets: Sequence[Sheet]
) -> Problem:
    gone = [at for at, moment in enumerate(series.moments) if moment and not span.holds(moment)]
    added = [str(one.date()) for one in cut.moments if one and one not in series.moments]
    said = say(
        "What it showed on {days} was interpolated from the readings around it.",
        days=listed(added),
    )
    amount = _amount_of(_rise(series) - _rise(cut), series.rows)
    found = say(
        'meter "{name}": {number} of {every} readings are from before the trial or'
        " after it, with {amount}",
        name=shown(name),
        number=len(gone),
        every=len(series.moments),
        amount=amount,
    )
    return _caution(series.rows.iloc[gone], span, sheets, found, said if added else "")
