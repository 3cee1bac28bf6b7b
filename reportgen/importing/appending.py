"""Append the rows of files beside a trial workbook to its sheets."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from math import isclose
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.conversions import factors
from reportgen.importing.model.given import Given, Origins, SheetOrigins
from reportgen.language import plural, say
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.declaration import SHEETS, Comparison, Kind, Sheet
from reportgen.workbook.headers import Header, matched, read_header
from reportgen.workbook.raw import RawSheet, Value, Workbook
from reportgen.workbook.recognise import read_table, sheets_named
from reportgen.workbook.rows import header_row, headers_of
from reportgen.workbook.table import Row, Table
from reportgen.workbook.vocabulary import Vocabulary, language_of, words_of

NOWHERE: Final = -1
PLACING: Final = (Kind.CODE, Kind.CHOICE, Kind.DATE, Kind.MOMENT)  # what tells rows apart
SAME: Final = 1e-6  # values that are the same but for the digits lost between units
Place = tuple[object, ...]  # what tells the rows of a sheet apart
Values = Mapping[str, object]  # the measured values of a row by column


@dataclass(frozen=True)
class _Added:
    """The rows that files add to one sheet, and where each of their cells stands."""

    sheet: Sheet
    raw: RawSheet
    origins: SheetOrigins

    def without(self, rows: Sequence[int]) -> "_Added":
        """Return it without some rows, counted from 1 with the header."""
        kept = np.ones(len(self.raw.rows), np.bool_)
        kept[[row - 1 for row in rows]] = False
        indexes = np.flatnonzero(kept).tolist()
        remaining = [self.raw.rows[index] for index in indexes]
        own = self.origins
        origins = SheetOrigins(own.sheet[kept], own.row[kept], own.column[kept])
        return replace(self, raw=replace(self.raw, rows=remaining), origins=origins)


def appended(book: Workbook, given: Given) -> tuple[Workbook, Origins, tuple[Problem, ...]]:
    """Return a trial workbook with the rows given, the places of its cells, and remarks.

    A row that stands in the workbook, too, is not appended; a remark says so. Values are in the
    unit of the workbook's own column.
    """
    words = language_of(raw.name for raw in book.sheets)
    places = (*(raw.name for raw in book.sheets), *given.origins.places)
    declared = {sheet.name: sheet for sheet in SHEETS}
    sheets = {raw.name: raw for raw in book.sheets}
    origins: dict[str, SheetOrigins] = {}
    problems: list[Problem] = []
    for raw in given.workbook.sheets:
        shifted = _shifted(given.origins.sheets[raw.name], len(book.sheets))
        own = sheets_named(book.sheets, raw.name)
        if not own:
            name = words.sheet_name(raw.name)
            sheets[name] = replace(raw, name=name)
            origins[name] = shifted
            continue
        added = _Added(declared[raw.name], raw, shifted)
        repeated = _repeated(added, own[0])
        problems.extend(_remarks(added, own[0].name, repeated, places))
        name = own[0].name
        index = list(sheets).index(name)
        sheets[name], origins[name] = _joined(own[0], index, added.without(repeated), words)
    whole = replace(book, sheets=tuple(sheets.values()))
    return whole, Origins(places, origins), tuple(problems)


def _shifted(origins: SheetOrigins, by: int) -> SheetOrigins:
    """Return origins whose sheets come behind some others."""
    return replace(origins, sheet=np.where(origins.sheet == NOWHERE, NOWHERE, origins.sheet + by))


@dataclass
class _Head:
    """The header row of a joined sheet: the workbook's own columns and those that files add."""

    sheet: Sheet
    row_number: int
    cells: list[Value]
    headers: dict[str, Header]

    def column_for(self, name: str, unit: str, words: Vocabulary) -> Header:
        """Return the header of a declared column, added behind the others where it is new."""
        if name not in self.headers:
            self.cells.append(_header(self.sheet, name, unit, words))
            self.headers[name] = read_header(self.cells[-1], self.row_number, len(self.cells))
        return self.headers[name]

    def unit_of(self, name: str) -> str:
        """Return the unit of a column: that of its header, else the declared one."""
        if self.headers[name].unit:
            return self.headers[name].unit
        units = {column.name: column.unit for column in self.sheet.columns}
        return units.get(name, "")


def _head(sheet: Sheet, own: RawSheet) -> _Head:
    row_number = header_row(sheet, own)
    matches, _ = matched(sheet, own.name, headers_of(own, row_number))
    headers = {column.name: match for column, match in matches}
    cells: list[Value] = []
    if row_number <= len(own.rows):
        cells.extend(own.rows[row_number - 1])
    width = max(len(own.columns), 1)
    cells.extend([None] * (width - len(cells)))
    return _Head(sheet, row_number, cells, headers)


# ---- columns -------------------------------------------------------------------------------------


def _joined(
    own: RawSheet, index: int, added: _Added, words: Vocabulary
) -> tuple[RawSheet, SheetOrigins]:
    """Return a sheet with the rows that are added below its own."""
    head = _head(added.sheet, own)
    numbers: list[int] = []
    scales: list[tuple[float, float]] = []
    for column, text in enumerate(added.raw.rows[0], 1):
        name, unit = _declared(added.sheet, read_header(text, 1, column))
        numbers.append(head.column_for(name, unit, words).number)
        scales.append(factors(unit, head.unit_of(name)))
    above = [*own.rows[: head.row_number - 1], head.cells, *own.rows[head.row_number :]]
    width = len(head.cells)
    rows = [[*row, *[None] * (width - len(row))] for row in above]
    rows.extend(_rows_below(added.raw.rows[1:], width, numbers, scales))
    return replace(own, rows=rows), _origins(len(above), width, index, numbers, added)


def _rows_below(
    rows: Sequence[Sequence[Value]],
    width: int,
    numbers: Sequence[int],
    scales: Sequence[tuple[float, float]],
) -> list[list[Value]]:
    """Return added rows with their values in the columns and units of the joined sheet."""
    below = []
    for row in rows:
        cells: list[Value] = [None] * width
        for number, scale, value in zip(numbers, scales, row, strict=True):
            cells[number - 1] = _in_unit(value, scale)
        below.append(cells)
    return below


def _declared(sheet: Sheet, own: Header) -> tuple[str, str]:
    """Return the declared name and the unit of a header."""
    matches, _ = matched(sheet, sheet.name, [own])
    if matches:
        return matches[0][0].name, own.unit
    return own.name, own.unit


def _header(sheet: Sheet, name: str, unit: str, words: Vocabulary) -> str:
    shown = words.column_name(sheet.name, name)
    if unit:
        return f"{shown} ({unit})"
    return shown


def _in_unit(value: Value, scale: tuple[float, float]) -> Value:
    times, plus = scale
    if scale != (1.0, 0.0) and isinstance(value, int | float):
        return round(value * times + plus, 9)
    return value


def _origins(
    rows: int, width: int, index: int, numbers: Sequence[int], added: _Added
) -> SheetOrigins:
    """Return where the cells of a joined sheet stand.

    Its own rows stand where they are, those added in their files.
    """
    further = len(added.origins.row) - 1
    shape = (rows + further, width)
    sheet = np.full(shape, NOWHERE, np.intp)
    row = np.zeros(shape, np.intp)
    column = np.zeros(shape, np.intp)
    sheet[:rows] = index
    row[:rows] = np.arange(1, rows + 1)[:, None]
    column[:rows] = np.arange(1, width + 1)
    targets = [number - 1 for number in numbers]
    sheet[rows:, targets] = added.origins.sheet[1:]
    row[rows:, targets] = added.origins.row[1:]
    column[rows:, targets] = added.origins.column[1:]
    return SheetOrigins(sheet, row, column)


# ---- rows that stand in the workbook, too --------------------------------------------------------


def _repeated(added: _Added, own: RawSheet) -> list[int]:
    """Return the rows that stand in the workbook, too, counted from 1 with the header."""
    table, _ = read_table(added.sheet, own)
    if not table.numbers:
        return []
    likely = _on_days(added.raw, _moments(table))
    if not likely:
        return []
    rows = [added.raw.rows[0], *(added.raw.rows[row - 1] for row in likely)]
    others, _ = read_table(added.sheet, replace(added.raw, rows=rows))
    placing, measured = _shared_columns(added.sheet, table, others)
    own_rows: dict[Place, list[Values]] = {}
    for row in table.rows():
        own_rows.setdefault(_place(row, placing), []).append(_values(row, measured))
    repeated = []
    for row in others.rows():
        alike = own_rows.get(_place(row, placing), ())
        values = _values(row, measured)
        if any(_are_same(values, each) for each in alike):
            repeated.append(likely[row.number - 2])
    return repeated


def _shared_columns(sheet: Sheet, table: Table, others: Table) -> tuple[list[str], list[str]]:
    """Return the columns that two tables share: those that place a row, and those measured."""
    placing: list[str] = []
    measured: list[str] = []
    for column in sheet.columns:
        if column.name not in table.columns or column.name not in others.columns:
            continue
        if _is_placing(sheet, column.name):
            placing.append(column.name)
        else:
            measured.append(column.name)
    return placing, measured


def _place(row: Row, names: Sequence[str]) -> Place:
    return tuple(_plain(row.get(name)) for name in names)


def _values(row: Row, names: Sequence[str]) -> Values:
    return {name: row.get(name) for name in names}


def _is_placing(sheet: Sheet, name: str) -> bool:
    column = sheet.column(name)
    return column.kind in PLACING or column.compared is Comparison.PLACE


def _moments(table: Table) -> frozenset[object]:
    """Return the days and moments that stand in a table, each as its day."""
    moments: set[object] = set()
    for column in table.sheet.columns:
        if column.kind in (Kind.DATE, Kind.MOMENT):
            moments.update(table.columns.get(column.name, ()))
    return frozenset(_day(value) for value in moments)


def _on_days(raw: RawSheet, days: frozenset[object]) -> list[int]:
    """Return the rows of a sheet with one of some days, counted from 1 with the header."""
    rows: list[int] = []
    for column in raw.columns:
        if len(column) < 2 or not isinstance(column[1], date):
            continue
        for number, value in enumerate(column[1:], 2):
            if _day(value) in days:
                rows.append(number)
    return rows


def _day(value: object) -> object:
    if isinstance(value, datetime):
        return value.date()
    return value


def _plain(value: object) -> object:
    """Return a value as it is compared.

    Codes are in small letters, words for all in English, moments to the minute.
    """
    if isinstance(value, str):
        return words_of(("all",)).get(value.casefold(), value.casefold())
    if isinstance(value, datetime):
        return value.replace(second=0, microsecond=0)
    return value


def _are_same(first: Values, second: Values) -> bool:
    """Tell whether two rows share numbers, and all those that both have are the same."""
    compared = 0
    for name, value in first.items():
        other = second[name]
        if not isinstance(value, int | float) or not isinstance(other, int | float):
            continue
        if not isclose(value, other, rel_tol=SAME, abs_tol=SAME):
            return False
        compared += 1
    return compared > 0


def _remarks(added: _Added, own: str, rows: Sequence[int], places: Sequence[str]) -> list[Problem]:
    """Return one remark for each file whose rows stand in the workbook, too."""
    if not rows:
        return []
    indexes = np.array(rows, np.intp) - 1
    sheet = added.origins.sheet[indexes].max(axis=1)
    number = added.origins.row[indexes].max(axis=1)
    remarks = []
    for index in np.unique(sheet).tolist():
        remarks.append(_remark(own, number[sheet == index], places[index]))
    return remarks


def _remark(own: str, rows: NDArray[np.intp], place: str) -> Problem:
    count = len(rows)
    first, last = rows.min(), rows.max()
    found = plural(
        "row {first} stands in the sheet {sheet}, too",
        "{number} rows from row {first} to row {last} stand in the sheet {sheet}, too",
        count,
        first=first,
        last=last,
        sheet=own,
    )
    return Problem(
        Severity.REMARK,
        place,
        f"{first}:{last}",
        found,
        say("each row once"),
        say("They count once."),
        code="rows_in_workbook_too",
    )
