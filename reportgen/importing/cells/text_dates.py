"""Dates that are written as text, in the order of day and month that their column shows."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from typing import Final

import numpy as np
from openpyxl.utils import get_column_letter

from reportgen.importing.cells.dates import Written, date_in, iso_moment
from reportgen.importing.cells.draft import Draft, moment_text
from reportgen.importing.cells.numbers import PLAIN
from reportgen.importing.model.cells import Conventions, OpenConvention

MOST_SHOWN: Final = 3
PLAUSIBLE_SHORT_YEARS: Final = range(2010, 2050)
YEAR: Final = re.compile(r"(?<!\d)(20[0-4]\d)(?!\d)")
FEWEST_BARE: Final = 3  # dates such as 3/1 in a row or column that make a regular run
SWAPPED: Final = ("/", "-")  # signs of dates that a spreadsheet makes real ones of
HALF_A_YEAR: Final = 6
FEW: Final = 200  # distinct texts of a column that may name a year; more are a log


@dataclass
class _Column:
    """Dates that are written in one column, by text."""

    index: int
    written: dict[str, Written] = field(default_factory=dict)

    @property
    def order(self) -> bool | None:
        """Return whether the day stands first, where some date tells it and none tells the contrary."""
        shown = {written.day_first for written in self.written.values() if written.day_first is not None}
        return shown.pop() if len(shown) == 1 else None

    @property
    def is_open(self) -> bool:
        """Tell whether the order of day and month matters to a date and no date of the column tells it."""
        return self.order is None and bool(self.ambiguous)

    @property
    def ambiguous(self) -> list[tuple[int, str]]:
        """Return column and text of the dates that could be two."""
        return [(self.index, text) for text, date in self.written.items() if date.is_ambiguous]

    @property
    def yearless(self) -> list[tuple[int, str]]:
        """Return column and text of the dates without a year."""
        return [(self.index, text) for text, date in self.written.items() if not date.year]


def read_dates(draft: Draft, label: str, conventions: Conventions) -> None:
    """Type texts that are dates; note where nothing tells the order of day and month, or the year."""
    columns = [_read_column(draft, index) for index in range(len(draft.pending))]
    _drop_bare(columns, draft)
    numeric = [column for column in columns if column.written]
    if not numeric:
        return
    order = _order(numeric, label, conventions)
    year = _year(draft, numeric, label, conventions)
    undecided = [column for column in numeric if column.is_open and order is None]
    _note_open(draft, label, "day_first", [key for column in undecided for key in column.ambiguous])
    if not year:
        _note_open(draft, label, "year", [key for column in numeric for key in column.yearless])
    for column in numeric:
        _note_open(draft, label, "mixed_dates", _mixed(draft, column))
        own = column.order
        chosen = order if own is None else own
        if column in undecided:
            chosen = _closer_together(column)
        _set_column(draft, column, bool(chosen), year)


def _mixed(draft: Draft, column: _Column) -> list[tuple[int, str]]:
    """Return column and text of dates in two orders, or beside real dates whose day and month were exchanged.

    A spreadsheet that expects the month first makes a real date of 5/3, as of the 3rd of May, and a text of 13/3.
    """
    shown = {date.day_first: (column.index, text) for text, date in column.written.items() if date.sign in SWAPPED}
    if True in shown and False in shown:
        return [shown[True], shown[False]]
    moments = draft.moment[:, column.index]
    real = moments[~np.isnat(moments)]
    days = (real.astype("datetime64[D]") - real.astype("datetime64[M]")).astype(int) + 1
    sure = shown.get(True) or shown.get(False)
    are_swapped = len(real) > 1 and days.max() <= 12 and len(set(days)) > 1
    return [sure] if sure and are_swapped else []


def _note_open(draft: Draft, label: str, what: str, keys: Sequence[tuple[int, str]]) -> None:
    """Note that texts, by column and text, can be read in two ways."""
    if not keys:
        return
    cells: list[str] = []
    for column, text in keys[:MOST_SHOWN]:
        row = draft.pending[column][text][0]
        cells.append(f"{get_column_letter(column + 1)}{row + 1}")
    texts = tuple(text for _, text in keys[:MOST_SHOWN])
    draft.open.append(OpenConvention(label, what, tuple(cells), texts))


def _read_column(draft: Draft, index: int) -> _Column:
    """Set the dates of a column that begin with the year; return the others."""
    column = _Column(index)
    pending = draft.pending[index]
    iso: dict[str, datetime] = {}
    for text in pending:
        if PLAIN.fullmatch(text):
            continue
        if moment := iso_moment(text):
            iso[text] = moment
        elif written := date_in(text):
            column.written[text] = written
    _set_moments(draft, index, iso, {text: moment_text(moment) for text, moment in iso.items()})
    return column


def _set_moments(draft: Draft, column: int, moments: Mapping[str, datetime], shown: Mapping[str, str]) -> None:
    """Type the texts of a column that are moments."""
    rows: list[int] = []
    values: list[datetime] = []
    texts: list[str] = []
    for text, moment in moments.items():
        places = draft.finish(column, text)
        rows += places
        values += [moment] * len(places)
        texts += [shown[text]] * len(places)
    if rows:
        draft.set_moments(column, rows, values, texts)


def _drop_bare(columns: Sequence[_Column], draft: Draft) -> None:
    """Leave out what may be an id or a fraction: two numbers, or three with a short year, that make no dates together.

    Years of two digits count where all of a column are near each other; 10/14 counts where it is no month and others
    in its row or column are dates, too.
    """
    for column in columns:
        short = {text: written for text, written in column.written.items() if written.is_short}
        years = {written.year for written in short.values()}
        if short and (len(years) > 2 or not all(year in PLAUSIBLE_SHORT_YEARS for year in years)):
            for text in short:
                del column.written[text]
    bare = {(column.index, text) for column in columns for text, date in column.written.items() if date.is_bare}
    dates = _bare_dates(columns, draft, bare)
    for column in columns:
        for text in [text for text in column.written if (column.index, text) in bare]:
            if (column.index, text) not in dates:
                del column.written[text]


def _bare_dates(columns: Sequence[_Column], draft: Draft, bare: set[tuple[int, str]]) -> set[tuple[int, str]]:
    lines: dict[tuple[str, int], list[tuple[int, tuple[int, str]]]] = {}
    for index, text in bare:
        for row in draft.pending[index][text]:
            lines.setdefault(("row", row), []).append((index, (index, text)))
            lines.setdefault(("column", index), []).append((row, (index, text)))
    found: set[tuple[int, str]] = set()
    for line in lines.values():
        ordered = [key for _, key in sorted(line)]
        written = [columns[index].written[text] for index, text in ordered]
        if _are_dates(written):
            found.update(ordered)
    return found


def _are_dates(written: Sequence[Written]) -> bool:
    """Tell whether pairs of numbers are dates: some shows the only order that is shown, or all are evenly apart."""
    orders = {date.day_first for date in written} - {None}
    if len(written) > 1 and len(orders) == 1:
        return True
    if orders or len(set(written)) < FEWEST_BARE:
        return False
    return any(_is_even(written, day_first) for day_first in (True, False))


def _is_even(written: Sequence[Written], day_first: bool) -> bool:
    moments = [date.moment(day_first) for date in dict.fromkeys(written)]
    days = [moment.toordinal() for moment in moments if moment]
    steps = {second - first for first, second in pairwise(days)}
    return len(days) == len(moments) and len(steps) == 1 and min(steps) > 1


def _order(columns: Sequence[_Column], label: str, conventions: Conventions) -> bool | None:
    """Return the order of day and month: as the owner said, else as the other columns of the sheet show."""
    told = _told(conventions.day_first, label)
    if told is not None:
        return told
    shown = {column.order for column in columns} - {None}
    return shown.pop() if len(shown) == 1 else None


def _told(by_sheet: Mapping[str, bool], label: str) -> bool | None:
    return by_sheet.get(label, by_sheet.get(""))


def _closer_together(column: _Column) -> bool:
    """Return the order in which the dates of a column span fewer days; it is only for now, until the owner says."""
    spans: list[float] = []
    for day_first in (True, False):
        moments = [written.moment(day_first) for written in column.written.values()]
        days = [moment.toordinal() for moment in moments if moment]
        is_whole = len(days) == len(moments)
        spans.append(max(days) - min(days) if is_whole and days else float("inf"))
    return spans[0] <= spans[1]


def _year(draft: Draft, columns: Sequence[_Column], label: str, conventions: Conventions) -> int:
    """Return the year of dates without one: as the owner said, else the only one that the sheet names; 0 if none."""
    told = conventions.year.get(label, conventions.year.get("", 0))
    if told:
        return told
    moments = draft.moment[~np.isnat(draft.moment)]
    years = {int(year) + 1970 for year in np.unique(moments.astype("datetime64[Y]").astype(int))}
    years |= {date.year for column in columns for date in column.written.values() if date.year}
    if not years:
        texts = [label, *(text for pending in draft.pending if len(pending) < FEW for text in pending)]
        years = {int(year) for text in texts for year in YEAR.findall(text)}
    return years.pop() if len(years) == 1 else 0


def _set_column(draft: Draft, column: _Column, day_first: bool, year: int) -> None:
    """Type the dates of a column; those without a year go on into the next one where December is passed."""
    moments: dict[str, datetime] = {}
    shown: dict[str, str] = {}
    previous = 0
    for text, written in column.written.items():
        moment = written.moment(day_first, year)
        if not written.year and moment:
            if moment.month + HALF_A_YEAR < previous:
                year += bool(year)
                moment = written.moment(day_first, year)
            previous = moment.month if moment else previous
        if moment:
            moments[text] = moment
            shown[text] = moment_text(moment) if written.year or year else text
    _set_moments(draft, column.index, moments, shown)
