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
from reportgen.workbook.table import Table
from reportgen.workbook.vocabulary import Vocabulary, language_of, words_of

NOWHERE: Final = -1
PLACING: Final = (Kind.CODE, Kind.CHOICE, Kind.DATE, Kind.MOMENT)  # what tells rows apart
SAME: Final = 1e-6  # values that are the same but for the digits lost between units
Place = tuple[object, ...]


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
        held = [row for row, is_kept in zip(self.raw.rows, kept, strict=True) if is_kept]
        own = self.origins
        origins = SheetOrigins(own.sheet[kept], own.row[kept], own.column[kept])
        return replace(self, raw=replace(self.raw, rows=held), origins=origins)


def appended(book: Workbook, given: Given) -> tuple[Workbook, Origins, tuple[Problem, ...]]:
    """Return a trial workbook with the rows that were given, where all of them stand, and a remark
    on repeated ones.

    A row that stands in the workbook, too, is not appended. Values are in the unit of the
    workbook's own column.
    """
    words = language_of(raw.name for raw in book.sheets)
    places = (*(raw.name for raw in book.sheets), *given.origins.places)
    declared = {sheet.name: sheet for sheet in SHEETS}
    sheets = {raw.name: raw for raw in book.sheets}
    origins: dict[str, SheetOrigins] = {}
    problems: list[Problem] = []
    for raw in given.workbook.sheets:
        moved = _moved(given.origins.sheets[raw.name], len(book.sheets))
        added = _Added(declared[raw.name], raw, moved)
        own = sheets_named(book.sheets, raw.name)
        if not own:
            name = words.sheet_name(raw.name)
            sheets[name] = replace(raw, name=name)
            origins[name] = moved
            continue
        repeated = _repeated(added, own[0])
        problems.extend(_remarks(added, own[0].name, repeated, places))
        index = list(sheets).index(own[0].name)
        sheets[own[0].name], origins[own[0].name] = _joined(
            own[0], index, added.without(repeated), words
        )
    whole = replace(book, sheets=tuple(sheets.values()))
    return whole, Origins(places, origins), tuple(problems)


def _moved(origins: SheetOrigins, by: int) -> SheetOrigins:
    """Return origins whose sheets come behind some others."""
    return replace(origins, sheet=np.where(origins.sheet == NOWHERE, NOWHERE, origins.sheet + by))


# ---- columns -------------------------------------------------------------------------------------


def _joined(
    own: RawSheet, index: int, added: _Added, words: Vocabulary
) -> tuple[RawSheet, SheetOrigins]:
    """Return a sheet with the rows that are added below its own."""
    top = header_row(added.sheet, own)
    known, _ = matched(added.sheet, own.name, headers_of(own, top))
    headers = {column.name: found for column, found in known}
    width = max(len(own.columns), 1)
    if top <= len(own.rows):
        head = list(own.rows[top - 1])
    else:
        head = []
    head += [None] * (width - len(head))
    numbers: list[int] = []
    scales: list[tuple[float, float]] = []
    for column, text in enumerate(added.raw.rows[0], 1):
        name, unit = _declared(added.sheet, read_header(text, 1, column))
        if name not in headers:
            head.append(_header(added.sheet, name, unit, words))
            headers[name] = read_header(head[-1], top, len(head))
        numbers.append(headers[name].number)
        target = headers[name].unit or {each.name: each.unit for each in added.sheet.columns}.get(
            name, ""
        )
        scales.append(factors(unit, target))
    columns = list(zip(*added.raw.rows[1:], strict=True)) or [()] * len(numbers)
    below: list[Sequence[Value]] = [(None,) * (len(added.raw.rows) - 1)] * len(head)
    for number, scale, values in zip(numbers, scales, columns, strict=True):
        below[number - 1] = _in_unit(values, scale)
    above = [*own.rows[: top - 1], head, *own.rows[top:]]
    rows = [[*row, *[None] * (len(head) - len(row))] for row in above]
    rows.extend(list(row) for row in zip(*below, strict=True))
    return replace(own, rows=rows), _origins(len(above), len(head), index, numbers, added)


def _declared(sheet: Sheet, found: Header) -> tuple[str, str]:
    """Return the declared name and the unit of a header."""
    known, _ = matched(sheet, sheet.name, [found])
    if known:
        name = known[0][0].name
    else:
        name = found.name
    return name, found.unit


def _header(sheet: Sheet, name: str, unit: str, words: Vocabulary) -> str:
    shown = words.column_name(sheet.name, name)
    if unit:
        return f"{shown} ({unit})"
    return shown


def _in_unit(values: Sequence[Value], scale: tuple[float, float]) -> Sequence[Value]:
    times, plus = scale
    if scale == (1.0, 0.0):
        return values
    return [
        round(value * times + plus, 9) if isinstance(value, int | float) else value
        for value in values
    ]


def _origins(
    rows: int, width: int, index: int, numbers: Sequence[int], added: _Added
) -> SheetOrigins:
    """Return where the cells of a joined sheet stand: its own rows where they are, those added in
    their files.
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
    """Return the rows that stand in the workbook's own sheet, too, counted from 1 with the header."""
    table, _ = read_table(added.sheet, own)
    if not table.numbers:
        return []
    likely = _on_days(added.raw, _moments(table))
    if not likely:
        return []
    rows = [added.raw.rows[0], *(added.raw.rows[row - 1] for row in likely)]
    others, _ = read_table(added.sheet, replace(added.raw, rows=rows))
    names = [column.name for column in added.sheet.columns if column.name in table.columns]
    shared = [name for name in names if name in others.columns]
    placing = [name for name in shared if _is_placing(added.sheet, name)]
    measured = [name for name in shared if name not in placing]
    own_rows: dict[Place, list[Mapping[str, object]]] = {}
    for row in table.rows():
        place = tuple(_plain(row.get(name)) for name in placing)
        own_rows.setdefault(place, []).append({name: row.get(name) for name in measured})
    found = []
    for row in others.rows():
        place = tuple(_plain(row.get(name)) for name in placing)
        values = {name: row.get(name) for name in measured}
        if any(_are_same(values, each) for each in own_rows.get(place, ())):
            found.append(likely[row.number - 2])
    return found


def _is_placing(sheet: Sheet, name: str) -> bool:
    column = sheet.column(name)
    return column.kind in PLACING or column.compared is Comparison.PLACE


def _moments(table: Table) -> frozenset[object]:
    """Return the days and moments that stand in a table."""
    held: set[object] = set()
    for column in table.sheet.columns:
        if column.kind in (Kind.DATE, Kind.MOMENT):
            held.update(table.columns.get(column.name, ()))
    return frozenset(_day(value) for value in held)


def _on_days(raw: RawSheet, days: frozenset[object]) -> list[int]:
    """Return the rows of a sheet with one of some days, counted from 1 with the header."""
    rows: list[int] = []
    for column in raw.columns:
        if any(isinstance(value, date) for value in column[1:2]):
            rows.extend(
                row for row, value in enumerate(column, 1) if row > 1 and _day(value) in days
            )
    return rows


def _day(value: object) -> object:
    if isinstance(value, datetime):
        return value.date()
    return value


def _plain(value: object) -> object:
    """Return a value as it is compared: codes in small letters, words for all in English, moments
    to the minute.
    """
    if isinstance(value, str):
        return words_of(("all",)).get(value.casefold(), value.casefold())
    if isinstance(value, datetime):
        return value.replace(second=0, microsecond=0)
    return value


def _are_same(first: Mapping[str, object], second: Mapping[str, object]) -> bool:
    """Tell whether all values that both rows have are the same, and there are some."""
    pairs = [(first[name], second[name]) for name in first]
    numbers = [
        (one, other)
        for one, other in pairs
        if isinstance(one, int | float) and isinstance(other, int | float)
    ]
    return bool(numbers) and all(
        isclose(one, other, rel_tol=SAME, abs_tol=SAME) for one, other in numbers
    )


def _remarks(added: _Added, own: str, rows: Sequence[int], places: Sequence[str]) -> list[Problem]:
    """Return one remark for each file whose rows stand in the workbook, too."""
    if not rows:
        return []
    indexes = np.array(rows, np.intp) - 1
    sheet = added.origins.sheet[indexes].max(axis=1)
    number = added.origins.row[indexes].max(axis=1)
    return [
        _remark(own, number[sheet == index], places[index]) for index in np.unique(sheet).tolist()
    ]


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
