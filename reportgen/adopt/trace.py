"""Where each quantity came from: file, sheet, column and rows, and which rows were left out and why."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.adopt.columns import NUMBERS, column_called, kind_of
from reportgen.adopt.grid import one_line
from reportgen.adopt.taken import Taken
from reportgen.adopt.totals import label_of
from reportgen.model.data import Traced
from reportgen.workbook.raw import bounds_of
from reportgen.workbook.scales import scale_of

REASONS: Final = {
    "excluded": "excluded in the settings file",
    "totals": "totals and means",
    "missing": "no value",
    "lost": "plants that were lost",
    "earlier": "earlier days",
    "outside": "from before the trial or after it",
}


def traced(tables: Sequence[Taken]) -> tuple[Traced, ...]:
    """Return the way of each quantity of some tables, in their order."""
    return tuple(one for table in tables for one in _of_table(table))


def _of_table(table: Taken) -> Iterator[Traced]:
    for name, at in table.letters.items():
        if kind_of(table.mapping.gives, name) not in NUMBERS:
            continue
        values = zip(table.lines.numbers, table.lines.columns[name], strict=True)
        letter = get_column_letter(at)
        outside = set(table.left_out.get("outside", ()))
        yield Traced(
            name,
            table.mapping.gives,
            table.file,
            table.raw.name,
            f"{letter}: {table.grid.headers.get(at, '')}".rstrip(": "),
            _unit(table, name),
            tuple(row for row, value in values if value is not None and row not in outside),
            tuple((REASONS[key], rows) for key, rows in _left_out(table, name).items() if rows),
            tuple(_corrected(table, letter)),
            tuple(cell for cell in table.mapping.confirmed if _is_in(cell, letter)),
        )


def _unit(table: Taken, name: str) -> str:
    """Return the unit that a column was read in; a score has none."""
    column = column_called(table.mapping.gives, name)
    unit = table.units.get(name) or (column.unit_shown if column else "")
    return "" if scale_of(unit) else unit


def _corrected(table: Taken, letter: str) -> Iterator[tuple[str, str, str]]:
    """Yield the cells of a column that were corrected, with what was read and what stands there."""
    for cell, value in table.mapping.corrected.items():
        if _is_in(cell, letter):
            column, row = bounds_of(cell)[:2]
            yield cell.upper(), str(value), one_line(table.grid.value(row or 0, column or 0)) or "-"


def _left_out(table: Taken, name: str) -> Mapping[str, tuple[int, ...]]:
    """Return the rows that say nothing of a column by the reason, rows of totals apart from other excluded ones."""
    excluded = table.left_out.get("excluded", ())
    sums = tuple(row for row in excluded if label_of(table, row))
    missing = {*table.left_out.get("missing", ()), *table.cells.get(name, ())}
    values = dict(zip(table.lines.numbers, table.lines.columns[name], strict=True))
    others = tuple(row for row in excluded if row not in sums)
    return {
        "excluded": others,
        "totals": sums,
        "missing": tuple(sorted(missing)),
        "earlier": table.left_out.get("earlier", ()),
        "lost": tuple(row for row in table.left_out.get("lost", ()) if values.get(row) is None),
        "outside": table.left_out.get("outside", ()),
    }


def _is_in(cell: str, letter: str) -> bool:
    return cell.upper().rstrip("0123456789") == letter
