"""The rows of a sheet: which is the header, which hold data, and which only look as if they did."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.language import say
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.cells import RawSheet, Value
from reportgen.workbook.declaration import Kind, Sheet
from reportgen.workbook.headers import Header, Matched, read_header
from reportgen.workbook.names import folded
from reportgen.workbook.unread import used_range
from reportgen.workbook.values import blank, shown
from reportgen.workbook.vocabulary import columns_by_name, help_said

NUMBERS: Final[frozenset[type]] = frozenset((int, float, date, datetime))
TOTALS: Final = re.compile(
    r"(?:grand )?total|sum|subtotal|average|avg\.?|mean|median|st\.?"
    r" ?dev\.?|std\.?|sd|se|min|max|count"
    r"|suma|promedio|summe|gesamt|mittelwert|durchschnitt|somme|moyenne|somma|totale|soma|totaal|som|gemiddelde",
    re.IGNORECASE,
)


def header_row(sheet: Sheet, raw: RawSheet) -> int:
    """Return the number of the row with most declared names, the first of equal ones.

    It may stand anywhere. Each text of a column is looked at once, since a logger's sheet has
    100,000 rows and few; those that begin with a digit, as dates do, are no names.
    """
    names = columns_by_name(sheet).keys()
    matches: dict[int, set[str]] = defaultdict(set)
    for column in raw.columns:
        texts = {value for value in column if isinstance(value, str)}
        known = {text: folded(text) for text in texts if _is_name(text, names)}
        rows = enumerate(column, 1) if known else ()
        for row, value in rows:
            if value in known:
                matches[row].add(known[value])
    return max(sorted(matches), key=lambda row: len(matches[row]), default=1)


def _is_name(text: str, names: Set[str]) -> bool:
    return not text[:1].isdigit() and read_header(text, 1, 1).folded in names


def headers_of(raw: RawSheet, row: int) -> list[Header]:
    """Return the headers that stand in a row."""
    headers: list[Header] = []
    if row > len(raw.rows):
        return headers
    for number, value in enumerate(raw.rows[row - 1], 1):
        if not blank(value):
            headers.append(read_header(value, row, number))
    return headers


@dataclass(frozen=True)
class _Layout:
    """Where the columns of a sheet are: all that are known, and those whose text names a row."""

    raw: RawSheet
    names: dict[int, str]
    labels: tuple[int, ...]

    def filled(self, row: int) -> dict[int, Value]:
        """Return the filled cells of a row, by column; a formula without a value is None."""
        values = self.raw.rows[row - 1]
        filled: dict[int, Value] = {}
        for number in self.names:
            if number > len(values):
                continue
            value = values[number - 1]
            if not blank(value) or (row, number) in self.raw.uncomputed:
                filled[number] = value
        return filled


def data_rows(
    sheet: Sheet, raw: RawSheet, top: int, known: Matched
) -> tuple[tuple[int, ...], list[Problem]]:
    """Return the numbers of the data rows below the header row `top`, and errors for strays."""
    layout = _layout(sheet, raw, known)
    rows: list[int] = []
    problems: list[Problem] = []
    for row, is_plain in enumerate(_plain_data(layout, top), top + 1):
        if is_plain:
            rows.append(row)
            continue
        filled = layout.filled(row)
        stray = _stray(layout, filled)
        if stray:
            problems.append(stray.problem(raw, row))
        elif filled:
            rows.append(row)
    return tuple(rows), problems


def _layout(sheet: Sheet, raw: RawSheet, known: Matched) -> _Layout:
    names: dict[int, str] = {}
    labels: list[int] = []
    for column, found in known:
        names[found.number] = found.folded
        if column.kind is Kind.CODE and column.name in sheet.key:
            labels.append(found.number)
    return _Layout(raw, names, tuple(labels) or (1,))


def _plain_data(layout: _Layout, top: int) -> list[bool]:
    """Return for each row below `top` whether it has a number and no doubtful text.

    Such a row is data beyond doubt. A logger's sheet has 100,000 rows and few texts, so columns are
    looked at as wholes and each text once.
    """
    columns = [layout.raw.columns[number - 1][top:] for number in layout.names]
    types = [set(map(type, column)) for column in columns]
    doubtful: set[str] = set()
    for column, types_of_column in zip(columns, types, strict=True):
        if str in types_of_column:
            doubtful |= _doubtful(layout, column)
    if not doubtful and any(types_of_column <= NUMBERS for types_of_column in types):
        return [True] * (len(layout.raw.rows) - top)
    rows = zip(*columns, strict=True)
    return [_is_plain(row, doubtful) for row in rows]


def _is_plain(row: tuple[Value, ...], doubtful: set[str]) -> bool:
    return doubtful.isdisjoint(row) and not NUMBERS.isdisjoint(map(type, row))


def _doubtful(layout: _Layout, column: Iterable[Value]) -> set[str]:
    """Return the texts of a column that may be no data: totals, and names of columns."""
    names = layout.names.values()
    doubtful: set[str] = set()
    for text in set(column):
        if not isinstance(text, str):
            continue
        if TOTALS.fullmatch(text.strip(" :")) or read_header(text, 1, 1).folded in names:
            doubtful.add(text)
    return doubtful


@dataclass(frozen=True)
class _Stray:
    """What shows that a row is no data: the column of the text, the finding and the advice."""

    number: int
    finding: str
    advice: str

    def problem(self, raw: RawSheet, row: int) -> Problem:
        """Return the error of the row."""
        return Problem(
            Severity.ERROR,
            raw.name,
            f"{get_column_letter(self.number)}{row}",
            self.finding,
            say("data rows only"),
            self.advice,
            code="not_data",
        )


def _stray(layout: _Layout, filled: dict[int, Value]) -> _Stray | None:
    """Return what shows that a row is no data; None for data."""
    texts = {number: value.strip() for number, value in filled.items() if isinstance(value, str)}
    for number in layout.labels:
        if TOTALS.fullmatch(texts.get(number, "").strip(" :")):
            return _total(number, texts[number])
    repeats = [number for number, text in texts.items() if _is_header(layout, number, text)]
    if len(repeats) > 1:
        return _Stray(repeats[0], say("the header stands here again"), say("Delete the row."))
    if len(layout.names) > 1 and len(filled) == 1:
        return _note_alone(texts)
    return None


def _is_header(layout: _Layout, number: int, text: str) -> bool:
    return read_header(text, 1, 1).folded == layout.names[number]


def _total(number: int, text: str) -> _Stray:
    finding = say('"{texts}" looks like a total or an average among the data', texts=shown(text))
    advice = say(
        "Delete the row, or move it to a sheet of its own; if it is data, give it another code."
    )
    return _Stray(number, finding, advice)


def _note_alone(texts: Mapping[int, str]) -> _Stray | None:
    """Return what shows that a row with one cell, if a text, is a note; None for a single word."""
    for number, text in texts.items():
        if " " in text:
            return _note(number, text)
    return None


def _note(number: int, text: str) -> _Stray:
    finding = say('"{texts}" stands alone in its row', texts=shown(text))
    return _Stray(number, finding, say("Fill in the row, or move the note to a sheet of its own."))


def without_rows(sheet: Sheet, raw: RawSheet, cells: str, found: str) -> Problem:
    """Return the error of a sheet that has no names or no rows, as `found` says."""
    names = ", ".join(column.header for column in sheet.columns if column.required)
    expected = f"{'fields' if sheet.vertical else 'columns'} {names}"
    return Problem(
        Severity.ERROR,
        raw.name,
        cells,
        found,
        expected,
        say("Fill it in. {help}", help=help_said(sheet)),
        code="empty_sheet",
    )


def without_names(sheet: Sheet, raw: RawSheet) -> Iterator[Problem]:
    """Yield the error of a sheet without a declared name; an optional sheet may be empty."""
    cells = used_range(raw)
    if cells:
        if sheet.vertical:
            found = say("no names of this sheet in column A, though it holds values")
        else:
            found = say("no names of this sheet in any row, though it holds values")
        yield without_rows(sheet, raw, cells, found)
    elif sheet.required:
        yield without_rows(sheet, raw, "", say("the sheet is empty"))
