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
        day_first = column.order
        if day_first is None:
            day_first = order
        if day_first is None:
            day_first = _closer_together(column)
            ambiguous += column.texts({day for day in column.days if day.is_ambiguous})
        yearless += column.texts({day for day in column.days if not day.year})
        _set_column(draft, column, day_first, year)
    draft.note_open(label, "day_first", ambiguous)
    if not year:
        draft.note_open(label, "year", yearless)


def _drop_ids(column: _Column, texts: Iterable[str]) -> None:
    """Leave out three numbers with a short year unless all are of one season.

    1.2.14 may be an id.
    """
    short = {day for day in column.days if day.is_short}
    years = {day.year for day in short}
    are_dates = len(years) <= 2 and years <= set(PLAUSIBLE_SHORT_YEARS)
    if are_dates and not any(map(ID.fullmatch, texts)):
        return
    for _, text in column.texts(short):
        del column.written[text]


def _drop_bare(columns: Sequence[_Column], draft: Draft) -> None:
    """Leave out two numbers such as 3/4 that nothing shows to be dates.

    Others in their row or column may show it.
    """
    bare = _bare_texts(columns)
    sure: set[tuple[int, str]] = set()
    for (along, number), line in _lines(bare, columns, draft).items():
        keys = [(index, text) for _, index, text in sorted(line)]
        is_said = along == "column" and _is_headed_date(draft, number)
        if _are_dates([columns[index].written[text] for index, text in keys], is_said):
            sure.update(keys)
    for index, text in bare:
        if (index, text) not in sure:
            del columns[index].written[text]


def _bare_texts(columns: Sequence[_Column]) -> Keys:
    """Return column and text of two numbers that may be a date."""
    bare: Keys = []
    for column in columns:
        bare += column.texts({day for day in column.days if day.is_bare})
    return bare


def _lines(
    keys: Keys, columns: Sequence[_Column], draft: Draft
) -> dict[tuple[str, int], list[tuple[int, int, str]]]:
    """Return the texts in each row and column, with their place along it."""
    lines: dict[tuple[str, int], list[tuple[int, int, str]]] = {}
    for index, text in keys:
        column = columns[index].index
        for row in draft.columns[column].rows(text):
            lines.setdefault(("row", row), []).append((column, index, text))
            lines.setdefault(("column", column), []).append((row, index, text))
    return lines


def _is_headed_date(draft: Draft, column: int) -> bool:
    """Tell whether a text that is left in a column says that it holds dates."""
    return any(says(text, "date") for text in draft.columns[column].left)


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
    """Return dates in two orders, or one beside real dates with day and month exchanged.

    A spreadsheet that expects the month first makes a real date of 5/3, as of the 3rd of May, and a
    text of 13/3.
    """
    shown = {column.written[text].day_first: (column.index, text) for text in column.written}
    signs = {day.sign for day in column.days}
    if not signs & set(SWAPPED) or True not in shown:
        return []
    if False in shown:
        return [shown[True], shown[False]]
    real = draft.moment[:, column.index]
    natives = [moment.date() for moment in real[~np.isnat(real)].tolist()]
    if _were_exchanged(natives, _days_written(column)):
        return [shown[True]]
    return []


def _days_written(column: _Column) -> list[date]:
    """Return the days of texts under an order that a spreadsheet may exchange, day first."""
    days = []
    for written in column.days:
        if written.sign in SWAPPED:
            day = written.day(True)
            if day:
                days.append(day)
    return days


def _were_exchanged(natives: Sequence[date], written: Sequence[date]) -> bool:
    """Tell whether real dates are nearer to written ones with day and month exchanged."""
    if not natives or max(day.day for day in natives) > MONTHS:
        return False
    exchanged = [date(day.year, day.day, day.month) for day in natives]
    return _span([*written, *exchanged]) < _span([*written, *natives])


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
    """Return the year of dates without one, 0 if none.

    As the owner said, else the only one that the sheet names.
    """
    year = conventions.year.get(label, conventions.year.get("", 0))
    if year:
        return year
    years = _years_of_dates(draft, columns) or _years_of_texts(draft, label)
    if len(years) == 1:
        return years.pop()
    return 0


def _years_of_dates(draft: Draft, columns: Sequence[_Column]) -> set[int]:
    """Return the years of real and written dates."""
    moments = draft.moment[~np.isnat(draft.moment)]
    years = {int(year) + 1970 for year in np.unique(moments.astype("datetime64[Y]").astype(int))}
    for column in columns:
        years.update(day.year for day in column.days if day.year)
    return years


def _years_of_texts(draft: Draft, label: str) -> set[int]:
    """Return the years in the sheet's name and in columns of few texts."""
    texts = [label]
    for column in draft.columns:
        if len(column.index) < FEW:
            texts += column.index
    years: set[int] = set()
    for text in texts:
        years.update(map(int, YEAR.findall(text)))
    return years


def _set_column(draft: Draft, column: _Column, day_first: bool, year: int) -> None:
    """Type the dates of a column; those without a year keep their text."""
    days = _calendar_days(column, day_first, year)
    texts = [text for text, written in column.written.items() if written in days]
    indexes = {written: index for index, written in enumerate(days)}
    midnights = np.array(list(days.values()), "datetime64[s]")
    day_of_text = [indexes[column.written[text]] for text in texts]
    seconds = np.array([column.seconds[text] for text in texts], "timedelta64[s]")
    moments = midnights[day_of_text] + seconds
    shown = moment_texts(moments)
    for index, text in enumerate(texts):
        if column.written[text].year == 0:
            shown[index] = text
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
