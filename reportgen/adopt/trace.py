"""Where each quantity came from: file, sheet, column and rows, and which rows were left out and why."""

from collections.abc import Iterator, Sequence
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.adopt.columns import column_called, kind_of
from reportgen.adopt.taken import NUMBERS, Taken
from reportgen.model.data import Traced

REASONS: Final = {
    "excluded": "left out by its owner",
    "missing": "no value",
    "lost": "plants that were lost",
}


def traced(tables: Sequence[Taken]) -> tuple[Traced, ...]:
    """Return the way of each quantity of some tables, in their order."""
    return tuple(one for table in tables for one in _of_table(table))


def _of_table(table: Taken) -> Iterator[Traced]:
    for name, at in table.letters.items():
        if kind_of(table.mapping.gives, name) not in NUMBERS:
            continue
        column = column_called(table.mapping.gives, name)
        values = zip(table.lines.numbers, table.lines.columns[name], strict=True)
        cells = table.cells.get(name, ())
        left_out = {**table.left_out, "missing": tuple(sorted({*table.left_out.get("missing", ()), *cells}))}
        yield Traced(
            name,
            table.mapping.gives,
            table.file,
            table.raw.name,
            f"{get_column_letter(at)}: {table.grid.headers.get(at, '')}".rstrip(": "),
            table.units.get(name) or (column.unit_shown if column else ""),
            tuple(row for row, value in values if value is not None),
            tuple((REASONS[key], rows) for key, rows in left_out.items() if rows),
            tuple(_changed(table, get_column_letter(at))),
        )


def _changed(table: Taken, letter: str) -> Iterator[str]:
    for cell, value in table.mapping.corrected.items():
        if cell.upper().rstrip("0123456789") == letter:
            yield f"{cell.upper()} read as {value}"
    for cell in table.mapping.confirmed:
        if cell.rstrip("0123456789") == letter:
            yield f"{cell} confirmed"
