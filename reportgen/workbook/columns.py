"""One column: its cells read in the declared unit, and what is said once for all of them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from reportgen.model.problem import Problem, Severity
from reportgen.workbook.cells import Value
from reportgen.workbook.dates import TextDates
from reportgen.workbook.declaration import Column, Kind
from reportgen.workbook.table import INVALID
from reportgen.workbook.units import UnitError, conversion
from reportgen.workbook.values import Unreadable, bare_number, expected, quoted, reader

CHANGED_AT: Final = 1e11  # Excel shows longer numbers in powers of ten unless told otherwise


@dataclass(frozen=True)
class ColumnCells:
    """The cells of one column: `values` and their number `formats` beside the `rows` they stand in.

    `heading` is the address of its name, `unit` the unit there, empty where it has none; `uncomputed` holds the
    rows of formulas without a value.
    """

    column: Column
    sheet: str
    letter: str
    heading: str
    unit: str
    rows: tuple[int, ...]
    values: tuple[Value, ...]
    formats: tuple[str, ...]
    uncomputed: frozenset[int]

    def problem(self, severity: Severity, rows: Sequence[int], found: str, expected: str, advice: str) -> Problem:
        """Return a problem at the cells of this column from the first of `rows` to the last."""
        ends = dict.fromkeys((rows[0], rows[-1]))
        return Problem(severity, self.sheet, ":".join(f"{self.letter}{row}" for row in ends), found, expected, advice)

    def remark(self, severity: Severity, found: str, expected: str, advice: str) -> Problem:
        """Return a problem at the name of this column."""
        return Problem(severity, self.sheet, self.heading, found, expected, advice)


def read_column(cells: ColumnCells) -> tuple[tuple[Value, ...], tuple[Problem, ...]]:
    """Return the values of a column in its declared unit, and every problem of its cells.

    A blank cell gives None, one with a problem INVALID.
    """
    wrong = tuple(_wrong_unit(cells))
    if wrong:
        return (INVALID,) * len(cells.values), wrong
    values, unreadable = _read_each(cells)
    problems = [*_unreadable(cells, unreadable), *_uncomputed(cells), *_unusual(cells, values)]
    return values, (*problems, *_no_unit(cells), *_text_numbers(cells, values), *_numbers_as_codes(cells))


Refused = list[tuple[int, Value, Unreadable]]


def _read_each(cells: ColumnCells) -> tuple[tuple[Value, ...], Refused]:
    texts = TextDates.of(value for value in cells.values if isinstance(value, str))
    read = reader(cells.column, cells.unit, texts)
    values: list[Value] = []
    refused: Refused = []
    for row, value, number_format in zip(cells.rows, cells.values, cells.formats, strict=True):
        try:
            values.append(INVALID if row in cells.uncomputed else read(value, number_format))
        except Unreadable as reason:
            refused.append((row, value, reason))
            values.append(INVALID)
    return tuple(values), refused


def _unreadable(cells: ColumnCells, refused: Refused) -> Iterator[Problem]:
    shared: dict[str, list[int]] = {}
    for row, _, reason in refused:
        shared.setdefault(reason.found if reason.shared else f"row {row}", []).append(row)
    for row, value, reason in refused:
        rows = shared.pop(reason.found if reason.shared else f"row {row}", None)
        if rows:
            more = f" and {len(rows) - 1} more" if len(rows) > 1 else ""
            said = f"{quoted(value)}{more} {reason.found}"
            yield cells.problem(Severity.ERROR, rows, said, reason.expected, reason.advice)


def _wrong_unit(cells: ColumnCells) -> Iterator[Problem]:
    column = cells.column
    if not column.unit:
        return
    try:
        conversion(cells.unit or column.unit, column.unit)
    except UnitError as reason:
        found = f'"{column.name} ({cells.unit})" is not in a unit that can be used here'
        advice = f"Write the unit that the column is in, for example {column.header}."
        yield cells.remark(Severity.ERROR, found, str(reason), advice)


def _no_unit(cells: ColumnCells) -> Iterator[Problem]:
    column = cells.column
    if column.unit and not cells.unit and any(map(bare_number, cells.values)):
        said = column.header.removeprefix(column.name).strip(" ()")
        yield cells.remark(Severity.REMARK, f'"{column.name}" has no unit', column.header, f"It was taken as {said}.")


def _uncomputed(cells: ColumnCells) -> Iterator[Problem]:
    rows = [row for row in cells.rows if row in cells.uncomputed]
    if rows:
        yield cells.problem(
            Severity.ERROR,
            rows,
            f"{len(rows)} formula{'s' * (len(rows) > 1)} that no program has computed yet",
            expected(cells.column),
            "Open the workbook in your spreadsheet program and save it, or type the values.",
        )


def _unusual(cells: ColumnCells, values: Sequence[Value]) -> Iterator[Problem]:
    if cells.column.usual is None:
        return
    low, high = cells.column.usual
    for row, value in zip(cells.rows, values, strict=True):
        if isinstance(value, int | float) and not low <= value <= high:
            said = f"{value:g} {cells.column.unit}".strip()
            yield cells.problem(
                Severity.CAUTION,
                [row],
                f"{said} is unusual for {cells.column.name}",
                f"{low:g} to {high:g} {cells.column.unit}".strip(),
                "Check the value and its unit; it was used as it stands.",
            )


def _text_numbers(cells: ColumnCells, values: Sequence[Value]) -> Iterator[Problem]:
    if cells.column.kind not in (Kind.NUMBER, Kind.COUNT):
        return
    rows = [
        row
        for row, text, value in zip(cells.rows, cells.values, values, strict=True)
        if isinstance(text, str) and bare_number(text) and value is not INVALID
    ]
    if rows:
        yield cells.problem(
            Severity.REMARK,
            rows[:1],
            f"{len(rows)} number{'s' * (len(rows) > 1)} of {cells.column.name} kept as text",
            "numbers",
            "They were read as numbers; format the column as a number so that the spreadsheet can add it up.",
        )


def _numbers_as_codes(cells: ColumnCells) -> Iterator[Problem]:
    """Yield a caution where a code is a number that the spreadsheet may have changed while it was typed."""
    if cells.column.kind is not Kind.CODE or not cells.column.required or cells.column.refers:
        return
    for row, value, number_format in zip(cells.rows, cells.values, cells.formats, strict=True):
        if isinstance(value, int | float) and _may_be_changed(value, number_format):
            yield cells.problem(
                Severity.CAUTION,
                [row],
                f"{quoted(value)} is kept as a number, and may not be what was typed",
                "a code kept as text",
                "A spreadsheet makes 1.1 of 1.10 and 100000 of 1E5: format the column as text, type it again.",
            )
            return


def _may_be_changed(value: float, number_format: str) -> bool:
    if number_format == "General":
        return value % 1 != 0 or abs(value) >= CHANGED_AT
    return "E" in number_format
