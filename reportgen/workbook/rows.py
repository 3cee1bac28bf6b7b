"""The rows of a sheet: which is the header, which hold data, and which only look as if they did."""

import re
from collections import defaultdict
from collections.abc import Iterator, Set
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
    """Return the number of the row that holds most names of the declaration, the first where
    several do.

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
    if row <= len(raw.rows):
        values = raw.rows[row - 1]
    else:
        values = ()
    return [
        read_header(value, row, number)
        for number, value in enumerate(values, 1)
        if not blank(value)
    ]


@dataclass(frozen=True)
class _Layout:
    """Where the columns of a sheet are: all that are known, and those whose text names a row."""

    raw: RawSheet
    names: dict[int, str]
    labels: tuple[int, ...]

    def filled(self, row: int) -> dict[int, Value]:
        """Return the cells of a row that hold something, by column; a formula without a value is
        None.
        """
        values = self.raw.rows[row - 1]
        return {
            number: values[number - 1]
            for number in self.names
            if number <= len(values)
            and (not blank(values[number - 1]) or (row, number) in self.raw.uncomputed)
        }


def data_rows(
    sheet: Sheet, raw: RawSheet, top: int, known: Matched
) -> tuple[tuple[int, ...], list[Problem]]:
    """Return the numbers of the rows with data below the header row `top`, and an error for each
    that is no data.
    """
    labels = tuple(
        found.number
        for column, found in known
        if column.kind is Kind.CODE and column.name in sheet.key
    )
    layout = _Layout(raw, {found.number: found.folded for _, found in known}, labels or (1,))
    rows: list[int] = []
    problems: list[Problem] = []
    plainly = _plain_data(layout, top)
    for row in range(top + 1, len(raw.rows) + 1):
        if plainly[row - top - 1]:
            rows.append(row)
            continue
        filled = layout.filled(row)
        stray = _stray(layout, filled)
        if stray:
            number, found, advice = stray
            where = f"{get_column_letter(number)}{row}"
            problems.append(
                Problem(
                    Severity.ERROR,
                    raw.name,
                    where,
                    found,
                    say("data rows only"),
                    advice,
                    code="not_data",
                )
            )
        elif filled:
            rows.append(row)
    return tuple(rows), problems


def _plain_data(layout: _Layout, top: int) -> list[bool]:
    """Return for each row below `top` whether it is data beyond doubt: a number stands in it, and
    no doubtful text.

    A logger's sheet has 100,000 rows and few texts, so columns are looked at as wholes and each
    text once.
    """
    columns = [layout.raw.columns[number - 1][top:] for number in layout.names]
    kinds = [set(map(type, column)) for column in columns]
    texts = set().union(
        *(column for column, kind in zip(columns, kinds, strict=True) if str in kind)
    )
    doubtful = {text for text in texts if isinstance(text, str) and _is_doubtful(layout, text)}
    if not doubtful and any(kind <= NUMBERS for kind in kinds):
        return [True] * (len(layout.raw.rows) - top)
    return [
        doubtful.isdisjoint(row) and not NUMBERS.isdisjoint(map(type, row))
        for row in zip(*columns, strict=True)
    ]


def _is_doubtful(layout: _Layout, text: str) -> bool:
    return (
        bool(TOTALS.fullmatch(text.strip(" :")))
        or read_header(text, 1, 1).folded in layout.names.values()
    )


def _stray(layout: _Layout, filled: dict[int, Value]) -> tuple[int, str, str] | None:
    """Return the column, finding and advice of a row that is no data."""
    texts = {number: value.strip() for number, value in filled.items() if isinstance(value, str)}
    for number in layout.labels:
        if TOTALS.fullmatch(texts.get(number, "").strip(" :")):
            advice = say(
                "Delete the row, or move it to a sheet of its own; if it is data, give it another"
                " code."
            )
            return (
                number,
                say(
                    '"{texts}" looks like a total or an average among the data',
                    texts=shown(texts[number]),
                ),
                advice,
            )
    repeats = [
        number
        for number, text in texts.items()
        if read_header(text, 1, 1).folded == layout.names[number]
    ]
    if len(repeats) > 1:
        return repeats[0], say("the header stands here again"), say("Delete the row.")
    if (
        len(layout.names) > 1
        and list(filled) == list(texts)
        and len(texts) == 1
        and _is_note(texts)
    ):
        number = next(iter(texts))
        found = say('"{texts}" stands alone in its row', texts=shown(texts[number]))
        return number, found, say("Fill in the row, or move the note to a sheet of its own.")
    return None


def _is_note(texts: dict[int, str]) -> bool:
    return any(" " in text for text in texts.values())


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
    """Yield the error of a sheet none of whose names is one of the declaration; an optional sheet
    may be empty.
    """
    cells = used_range(raw)
    if cells:
        if sheet.vertical:
            found = say("no names of this sheet in column A, though it holds values")
        else:
            found = say("no names of this sheet in any row, though it holds values")
        yield without_rows(sheet, raw, cells, found)
    elif sheet.required:
        yield without_rows(sheet, raw, "", say("the sheet is empty"))
