"""The first pass: which sheet and which column of the file is which of the declaration."""

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.model.problem import Problem, Severity
from reportgen.model.trial import Trait
from reportgen.workbook.cells import RawSheet, Value
from reportgen.workbook.declaration import TRIAL, Column, Kind, Sheet
from reportgen.workbook.table import Table
from reportgen.workbook.values import NUMBER, ColumnCells, read_column, shown

HEADER_ROWS_SEARCHED: Final = 20
UNIT: Final = re.compile(r"(.*?)\s*[(\[]([^()\[\]]*)[)\]]\s*")
TOTALS: Final = re.compile(
    r"(?:grand )?total|sum|subtotal|average|avg\.?|mean|median|st\.? ?dev\.?|std\.?|sd|se|min|max|count",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Header:
    """A header cell: `name` and `unit` apart; `number` is its column, counted from 1."""

    number: int
    text: str
    name: str
    unit: str

    @property
    def letter(self) -> str:
        """Return the column's letter."""
        return get_column_letter(self.number)


def folded(name: str) -> str:
    """Return a name as it is matched: without case, accents, spaces, underscores, hyphens."""
    bare = unicodedata.normalize("NFKD", name)
    return "".join(sign for sign in bare.casefold() if sign.isalnum())


def nearest(name: str, known: Sequence[str]) -> str:
    """Return the known name that `name` is probably a slip of, empty where none is near."""
    from rapidfuzz import fuzz, process

    by_folded = {folded(other): other for other in known}
    found = process.extractOne(folded(name), list(by_folded), scorer=fuzz.ratio, score_cutoff=75)
    return by_folded[found[0]] if found else ""


def header(number: int, value: Value) -> Header:
    """Return a header cell taken apart into name and unit."""
    text = shown(value)
    found = UNIT.fullmatch(text)
    return Header(number, text, found[1], found[2].strip()) if found else Header(number, text, text, "")


def sheet_named(sheets: Sequence[RawSheet], name: str) -> RawSheet | None:
    """Return the file's sheet that carries a declared sheet's name."""
    return next((sheet for sheet in sheets if folded(sheet.name) == folded(name)), None)


def missing_sheet(sheet: Sheet, unknown: Sequence[str]) -> Problem:
    """Return the error of a sheet that is not in the file, with the name that was probably meant."""
    near = nearest(sheet.name, unknown)
    found = f'no sheet named {sheet.name}, but one named "{near}"' if near else f"no sheet named {sheet.name}"
    advice = f"Rename it to {sheet.name}." if near else f"Add the sheet. {sheet.help}"
    return Problem(Severity.ERROR, sheet.name, "", found, f"a sheet named {sheet.name}", advice)


def hidden_cells(raw: RawSheet) -> Iterator[Problem]:
    """Yield a caution where rows or columns are hidden: they are read all the same."""
    if raw.hidden:
        said = ", ".join(raw.hidden[:6]) + (" and more" if len(raw.hidden) > 6 else "")
        yield Problem(
            Severity.CAUTION,
            raw.name,
            "",
            f"hidden: {said}",
            "every row and column in view",
            "They were read like the others. Show them, and delete what should not count.",
        )


def read_trial(raw: RawSheet) -> tuple[Table, tuple[Problem, ...]]:
    """Return the Trial sheet as a table of one row, its fields as columns whose cells stand one below the other."""
    fields = [header(row, values[0]) for row, values in enumerate(raw.rows, 1) if values and values[0] is not None]
    known, problems = _matched(TRIAL, raw, [field for field in fields if folded(field.name) != "field"], down=True)
    columns: dict[str, tuple[Value, ...]] = {}
    letters: dict[str, str] = {}
    for column, field in known:
        cells = _field_cells(raw, column, field)
        columns[column.name], found = read_column(cells)
        letters[column.name] = f"B{field.number}"
        problems.extend(found)
    return Table(TRIAL, raw.name, (1,), columns, letters), tuple(problems)


def _field_cells(raw: RawSheet, column: Column, field: Header) -> ColumnCells:
    row = field.number
    values = raw.rows[row - 1]
    uncomputed = frozenset({row} if (row, 2) in raw.uncomputed else ())
    return ColumnCells(
        column,
        raw.name,
        "B",
        field.unit,
        (row,),
        (values[1] if len(values) > 1 else None,),
        (raw.formats.get((row, 2), "General"),),
        uncomputed,
        row,
    )


def read_table(sheet: Sheet, raw: RawSheet) -> tuple[Table, tuple[Problem, ...]]:
    """Return a sheet's rows by declared column, and every problem of its headers and single cells."""
    top = _header_row(sheet, raw)
    headers = (
        [header(number, value) for number, value in enumerate(raw.rows[top - 1], 1) if value is not None]
        if raw.rows
        else []
    )
    known, problems = _matched(sheet, raw, headers, row=top)
    rows, totals = _data_rows(raw, top, [found.number for _, found in known], _label_columns(sheet, known))
    problems.extend(totals)
    known += tuple(_further(sheet, raw, headers, known, rows)) if sheet.further else ()
    problems.extend(_unused(raw, headers, known, top, problems))
    columns: dict[str, tuple[Value, ...]] = {}
    for column, found in known:
        columns[column.name], said = read_column(_column_cells(raw, column, found, rows, top))
        problems.extend(said)
    letters = {column.name: found.letter for column, found in known}
    traits = tuple(Trait(trait_key(column.name), column.name, column.unit) for column, _ in known if column.trait)
    return Table(sheet, raw.name, rows, columns, letters, traits), tuple(problems)


def trait_key(label: str) -> str:
    """Return a label as a key in snake_case."""
    bare = unicodedata.normalize("NFKD", label).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "_", bare.casefold()).strip("_") or "trait"


def _header_row(sheet: Sheet, raw: RawSheet) -> int:
    names = {folded(column.name) for column in sheet.columns}

    def matches(row: int) -> int:
        return sum(folded(header(1, value).name) in names for value in raw.rows[row - 1] if value is not None)

    candidates = range(1, min(len(raw.rows), HEADER_ROWS_SEARCHED) + 1)
    return max(candidates, key=lambda row: (matches(row), -row), default=1)


Matched = tuple[tuple[Column, Header], ...]


def _matched(
    sheet: Sheet, raw: RawSheet, headers: Sequence[Header], *, down: bool = False, row: int = 1
) -> tuple[Matched, list[Problem]]:
    known: dict[str, tuple[Column, Header]] = {}
    problems: list[Problem] = []
    by_name = {folded(column.name): column for column in sheet.columns}
    unknown = [found.name for found in headers if folded(found.name) not in by_name]
    for found in headers:
        column = by_name.get(folded(found.name))
        where = f"A{found.number}" if down else f"{found.letter}{row}"
        if column and column.name in known:
            first = known[column.name][1]
            other = f"A{first.number}" if down else f"{first.letter}{row}"
            problems.append(
                Problem(
                    Severity.ERROR,
                    raw.name,
                    where,
                    f'"{found.text}" stands here and in {other}',
                    "each name once",
                    "Rename or delete one of the two.",
                )
            )
        elif column:
            known[column.name] = column, found
        elif down:
            problems.extend(_unknown_field(sheet, raw, found, known))
    problems += [
        _missing_column(sheet, raw, column, unknown, down=down)
        for column in sheet.columns
        if (column.required or column.needed) and column.name not in known
    ]
    return tuple(known.values()), problems


def _unknown_field(
    sheet: Sheet, raw: RawSheet, found: Header, known: dict[str, tuple[Column, Header]]
) -> Iterator[Problem]:
    near = nearest(found.name, [column.name for column in sheet.columns if column.name not in known])
    if near and sheet.column(near).required:
        return  # said with the field that is missing
    yield Problem(
        Severity.REMARK,
        raw.name,
        f"A{found.number}",
        f'"{found.text}" is not a field of this sheet',
        "a field of the Trial sheet",
        f"Did you mean {near}? It was not used." if near else "It was not used.",
    )


def _missing_column(sheet: Sheet, raw: RawSheet, column: Column, unknown: Sequence[str], *, down: bool) -> Problem:
    what = "field" if down else "column"
    near = nearest(column.name, unknown)
    found = f"no {what} {column.name}" + (f', but one named "{near}"' if near else "")
    advice = f"Rename it to {column.header}." if near else f"Add it. {column.help}"
    return Problem(Severity.ERROR, raw.name, "", found, f"a {what} {column.header}", advice)


def _label_columns(sheet: Sheet, known: Matched) -> list[int]:
    return [found.number for column, found in known if column.kind is Kind.CODE and column.name in sheet.key] or [1]


def _data_rows(
    raw: RawSheet, top: int, numbers: Sequence[int], labels: Sequence[int]
) -> tuple[tuple[int, ...], list[Problem]]:
    rows: list[int] = []
    problems: list[Problem] = []
    for row in range(top + 1, len(raw.rows) + 1):
        values = raw.rows[row - 1]
        if all(_blank(values[number - 1]) and (row, number) not in raw.uncomputed for number in numbers):
            continue
        total = next(
            (n for n in labels if isinstance(values[n - 1], str) and TOTALS.fullmatch(str(values[n - 1]).strip(" :"))),
            None,
        )
        if total is None:
            rows.append(row)
        else:
            problems.append(_total_row(raw, row, total))
    return tuple(rows), problems


def _total_row(raw: RawSheet, row: int, number: int) -> Problem:
    return Problem(
        Severity.ERROR,
        raw.name,
        f"{get_column_letter(number)}{row}",
        f'"{shown(raw.rows[row - 1][number - 1])}" looks like a total or an average among the data',
        "data rows only",
        "Delete the row, or move it to a sheet of its own.",
    )


def _blank(value: Value) -> bool:
    return value is None or (isinstance(value, str) and not value.strip())


def _further(
    sheet: Sheet, raw: RawSheet, headers: Sequence[Header], known: Matched, rows: Sequence[int]
) -> Iterator[tuple[Column, Header]]:
    taken = {found.number for _, found in known}
    keys = {trait_key(column.name) for column in sheet.columns}
    for found in headers:
        if found.number in taken or folded(found.name) in {folded(column.name) for column in sheet.columns}:
            continue
        filled = [
            raw.rows[row - 1][found.number - 1] for row in rows if not _blank(raw.rows[row - 1][found.number - 1])
        ]
        numeric = sum(_numeric(value) for value in filled)
        if numeric and numeric * 2 >= len(filled) and trait_key(found.name) not in keys:
            keys.add(trait_key(found.name))
            yield Column(found.name, Kind.NUMBER, unit=found.unit, trait=True), found


def _numeric(value: Value) -> bool:
    if isinstance(value, str):
        return bool((found := NUMBER.fullmatch(value.strip())) and not found[2])
    return isinstance(value, int | float) and not isinstance(value, bool)


def _unused(
    raw: RawSheet, headers: Sequence[Header], known: Matched, top: int, problems: Sequence[Problem]
) -> Iterator[Problem]:
    taken = {found.number for _, found in known}
    said = " ".join(problem.found for problem in problems)
    for found in headers:
        if found.number not in taken and f'"{found.text}"' not in said and f'"{found.name}"' not in said:
            yield Problem(
                Severity.REMARK,
                raw.name,
                f"{found.letter}{top}",
                f'"{found.text}" is not a column that is used here',
                "a column of the data dictionary",
                "It was left alone.",
            )


def _column_cells(raw: RawSheet, column: Column, found: Header, rows: tuple[int, ...], top: int) -> ColumnCells:
    number = found.number
    return ColumnCells(
        column,
        raw.name,
        found.letter,
        found.unit,
        rows,
        tuple(raw.rows[row - 1][number - 1] for row in rows),
        tuple(raw.formats.get((row, number), "General") for row in rows),
        frozenset(row for row in rows if (row, number) in raw.uncomputed),
        top,
    )
