"""Dates that are written as text, in the order of day and month that their column shows."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from typing import Final

import numpy as np

from reportgen.importing.cells.dates import Written, date_in, time_in
from reportgen.importing.cells.draft import Draft, TextColumn, moment_texts
from reportgen.importing.cells.numbers import PLAIN
from reportgen.importing.model.cells import Conventions
from reportgen.importing.words import says

PLAUSIBLE_SHORT_YEARS: Final = range(2010, 2050)
YEAR: Final = re.compile(r"(?<!\d)(20[0-4]\d)(?!\d)")
FEWEST_BARE: Final = 3  # dates such as 3/1 in a row or column that make a regular run
SWAPPED: Final = ("/", "-")  # signs of dates that a spreadsheet makes real ones of
HALF_A_YEAR: Final = 6
HOURS: Final = 24  # of a day
MONTHS: Final = 12
ID: Final = re.compile(
    r"\d+([./-])\d+\1\d"
)  # three numbers that are no date, so that others like it are none, too
FEW: Final = 200  # distinct texts of a column that may name a year; more are a log
Keys = list[tuple[int, str]]  # texts, each with the index of its column


@dataclass
class _Column:
    """Dates that are written in one column, by text: the day, and the seconds since it began."""

    index: int
    written: dict[str, Written] = field(default_factory=dict)
    seconds: dict[str, int] = field(default_factory=dict)

    @property
    def days(self) -> set[Written]:
        """Return the different days."""
        return set(self.written.values())

    @property
    def order(self) -> bool | None:
        """Return whether the day stands first, where some date tells it and none tells the
        contrary.
        """
        shown = {day.day_first for day in self.days if day.sign} - {None}
        if len(shown) == 1:
            return shown.pop()
        return None

    def texts(self, days: set[Written]) -> Keys:
        """Return column and text of some days."""
        return [(self.index, text) for text, day in self.written.items() if day in days]


def read_dates(draft: Draft, label: str, conventions: Conventions) -> None:
    """Type texts that are dates; note where nothing tells the order of day and month, or the year."""
    columns = [_read_column(draft, index) for index in range(len(draft.columns))]
    for column in columns:
        _drop_ids(column, draft.columns[column.index].left)
    _drop_bare(columns, draft)
    columns = [column for column in columns if column.written]
    if columns:
        _type_dates(draft, columns, label, conventions)


def _read_column(draft: Draft, index: int) -> _Column:
    column = _Column(index)
    _read_times(draft.columns[index])
    for text in draft.columns[index].left:
        if PLAIN.fullmatch(text):
            continue
        moment = date_in(text)
        if moment:
            column.written[text], column.seconds[text] = moment
    return column


def _read_times(texts: TextColumn) -> None:
    """Write times of day as 16:05, also where they are written as 4:05 PM.

    Hours of light and dark, such as 10:14, add up to 24.
    """
    times = {text: shown for text in texts.left if (shown := time_in(text))}
    pairs = [text.split(":") for text in times]
    if all(
        len(pair) == 2 and pair[1].isdecimal() and int(pair[0]) + int(pair[1]) == HOURS
        for pair in pairs
    ):
        return
    texts.set_texts(list(times), shown=list(times.values()))


def _type_dates(
    draft: Draft, columns: Sequence[_Column], label: str, conventions: Conventions
) -> None:
    order = _order(columns, label, conventions)
    year = _year(draft, columns, label, conventions)
    ambiguous: Keys = []
    yearless: Keys = []
    for column in columns:
        draft.note_open(label, "mixed_dates", _mixed(draft, column))
        own = column.order
        if own is None:
            chosen = order
        else:
            chosen = own
        if chosen is None:
            chosen = _closer_together(column)
            ambiguous += column.texts({day for day in column.days if day.is_ambiguous})
        yearless += column.texts({day for day in column.days if not day.year})
        _set_column(draft, column, chosen, year)
    draft.note_open(label, "day_first", ambiguous)
    if not year:
        draft.note_open(label, "year", yearless)


def _drop_ids(column: _Column, texts: Iterable[str]) -> None:
    """Leave out three numbers with a short year unless all of the column are of one season: 1.2.14
    may be an id.
    """
    short = {day for day in column.days if day.is_short}
    years = {day.year for day in short}
    are_dates = len(years) <= 2 and years <= set(PLAUSIBLE_SHORT_YEARS)
    if short and (not are_dates or any(ID.fullmatch(text) for text in texts)):
        for _, text in column.texts(short):
            del column.written[text]


def _drop_bare(columns: Sequence[_Column], draft: Draft) -> None:
    """Leave out two numbers such as 3/4 unless others in their row or column show that they are
    dates.
    """
    lines: dict[tuple[str, int], list[tuple[int, int, str]]] = {}
    bare: Keys = []
    for column in columns:
        for key in column.texts({day for day in column.days if day.is_bare}):
            bare.append(key)
            for row in draft.columns[column.index].rows(key[1]):
                lines.setdefault(("row", row), []).append((column.index, *key))
                lines.setdefault(("column", column.index), []).append((row, *key))
    sure: set[tuple[int, str]] = set()
    for (along, number), line in lines.items():
        keys = [(index, text) for _, index, text in sorted(line)]
        is_said = along == "column" and any(
            says(text, "date") for text in draft.columns[number].left
        )
        if _are_dates([columns[index].written[text] for index, text in keys], is_said):
            sure.update(keys)
    for index, text in bare:
        if (index, text) not in sure:
            del columns[index].written[text]


def _are_dates(days: Sequence[Written], is_said: bool) -> bool:
    """Tell whether pairs of numbers are dates.

    They are where a header says so, or where some show the only order that is shown, or all are
    evenly apart. Hours of light and dark, such as 10/14 and 12/12, add up to 24.
    """
    orders = {day.day_first for day in days} - {None}
    if len(orders) > 1 or {day.first + day.second for day in days} == {HOURS}:
        return False
    if is_said:
        return True
    if len(set(days)) < FEWEST_BARE:
        return False
    return bool(orders) or any(_are_even(days, day_first) for day_first in (True, False))


def _are_even(days: Sequence[Written], day_first: bool) -> bool:
    ordinals = [
        day.toordinal() for written in dict.fromkeys(days) if (day := written.day(day_first))
    ]
    steps = {second - first for first, second in pairwise(ordinals)}
    return len(ordinals) == len(set(days)) and len(steps) == 1 and min(steps) > 1


def _order(columns: Sequence[_Column], label: str, conventions: Conventions) -> bool | None:
    """Return the order of day and month: as the owner said, else as the other columns of the sheet
    show.
    """
    told = conventions.day_first.get(label, conventions.day_first.get(""))
    if told is not None:
        return told
    shown = {column.order for column in columns} - {None}
    if len(shown) == 1:
        return shown.pop()
    return None


def _mixed(draft: Draft, column: _Column) -> Keys:
    """Return dates in two orders, or one beside real dates whose day and month were exchanged.

    A spreadsheet that expects the month first makes a real date of 5/3, as of the 3rd of May, and a
    text of 13/3.
    """
    shown = {column.written[text].day_first: (column.index, text) for text in column.written}
    signs = {day.sign for day in column.days}
    if not signs & set(SWAPPED):
        return []
    if True in shown and False in shown:
        return [shown[True], shown[False]]
    real = draft.moment[:, column.index]
    natives = [moment.date() for moment in real[~np.isnat(real)].tolist()]
    sure = [
        day for written in column.days if written.sign in SWAPPED and (day := written.day(True))
    ]
    if not natives or not shown.get(True) or max(day.day for day in natives) > MONTHS:
        return []
    exchanged = [date(day.year, day.day, day.month) for day in natives]
    if _span([*sure, *exchanged]) < _span([*sure, *natives]):
        return [shown[True]]
    return []


def _span(days: Sequence[date]) -> int:
    return (max(days) - min(days)).days


def _closer_together(column: _Column) -> bool:
    """Return the order in which the dates of a column span fewer days; it is only for now, until
    the owner says.
    """
    spans: list[int] = []
    for day_first in (True, False):
        days = [day for written in column.days if (day := written.day(day_first))]
        spans.append(_span(days))
    return spans[0] <= spans[1]


def _year(draft: Draft, columns: Sequence[_Column], label: str, conventions: Conventions) -> int:
    """Return the year of dates without one: as the owner said, else the only one that the sheet
    names; 0 if none.
    """
    told = conventions.year.get(label, conventions.year.get("", 0))
    if told:
        return told
    moments = draft.moment[~np.isnat(draft.moment)]
    years = {int(year) + 1970 for year in np.unique(moments.astype("datetime64[Y]").astype(int))}
    years |= {day.year for column in columns for day in column.days if day.year}
    if not years:
        texts = [
            label,
            *(text for column in draft.columns if len(column.index) < FEW for text in column.index),
        ]
        years = {int(year) for text in texts for year in YEAR.findall(text)}
    if len(years) == 1:
        return years.pop()
    return 0


def _set_column(draft: Draft, column: _Column, day_first: bool, year: int) -> None:
    """Type the dates of a column; those without a year keep their text."""
    days = _calendar_days(column, day_first, year)
    texts = [text for text, written in column.written.items() if written in days]
    indexes = {written: index for index, written in enumerate(days)}
    midnights = np.array(list(days.values()), "datetime64[s]")[
        [indexes[column.written[text]] for text in texts]
    ]
    moments = midnights + np.array([column.seconds[text] for text in texts], "timedelta64[s]")
    is_whole = [column.written[text].year > 0 for text in texts]
    shown = [
        iso if whole else text
        for iso, text, whole in zip(moment_texts(moments), texts, is_whole, strict=True)
    ]
    draft.columns[column.index].set_moments(texts, moments, shown)


def _calendar_days(column: _Column, day_first: bool, year: int) -> Mapping[Written, date]:
    """Return the days of a column; those without a year go on into the next one where December is
    passed.
    """
    days: dict[Written, date] = {}
    previous = 0
    for written in dict.fromkeys(column.written.values()):
        day = written.day(day_first, year)
        if day and not written.year:
            if day.month + HALF_A_YEAR < previous and year:
                year += 1
                day = written.day(day_first, year)
            previous = day.month if day else previous
        if day:
            days[written] = day
    return days
