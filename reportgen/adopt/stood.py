"""What stood in the rows, cells and columns that a settings file names by number or letter: later changes move them."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from openpyxl.utils import column_index_from_string

from reportgen.adopt.grid import LETTER, Grid, one_line
from reportgen.adopt.mapping import NOTHING, UNKNOWN, TableMapping
from reportgen.workbook.raw import RawSheet, bounds_of

LONGEST: Final = 100  # characters of a row that are noted: enough to tell it from others


def row_text(grid: Grid, row: int) -> str:
    """Return what stands in a row of a table on one line, empty where it is blank."""
    held = (one_line(grid.value(row, at)) for at in range(grid.left, grid.right + 1))
    return " | ".join(text for text in held if text)[:LONGEST]


def cell_text(grid: Grid, cell: str) -> str:
    """Return what stands in a cell such as I67 on one line, empty where it is blank."""
    column, row, *_ = bounds_of(cell)
    return one_line(grid.value(row or 0, column or 0))[:LONGEST]


def heading(grid: Grid, letter: str) -> str:
    """Return the header of a column such as D; where others have the same one, which of them it is."""
    at = column_index_from_string(letter)
    text = grid.headers.get(at, "")
    same = [column for column, other in grid.headers.items() if other == text]
    return f"{text} ({same.index(at) + 1} of {len(same)})" if len(same) > 1 else text


def letters_named(table: TableMapping, grid: Grid) -> Iterator[tuple[str, str]]:
    """Yield the letters of the columns that a mapping names so, each with the key that names it."""
    named = [(f"columns.{name}", source.header) for name, source in table.columns.items()]
    named += [("fill_down", text) for text in table.fill_down] + [("time", table.time)]
    named += [("wide.headers", text) for text in (table.wide.headers if table.wide else ())]
    for key, text in named if grid.header else ():
        for part in text.split(" + "):
            if (found := LETTER.fullmatch(one_line(part))) and part not in grid.headers.values():
                yield key, found[1].upper()


def with_stood(table: TableMapping, raw: RawSheet | None) -> TableMapping:
    """Return a mapping with what the rows and cells that it names hold, as far as it does not say so yet."""
    if not raw or table.gives == NOTHING or UNKNOWN in (table.gives, table.header_row):
        return table
    grid = Grid.of(raw, table)
    return replace(table, stood={**dict(_named(table, grid)), **table.stood})


def _named(table: TableMapping, grid: Grid) -> Iterator[tuple[str, str]]:
    """Yield the rows and cells that a mapping names with what stands there."""
    marked = table.marked_rows if isinstance(table.marked_rows, tuple) else ()
    yield from ((str(row), row_text(grid, row)) for row in (*table.exclude_rows, *marked))
    yield from ((cell.upper(), cell_text(grid, cell)) for cell in (*table.corrected, *table.confirmed))
    yield from ((letter, heading(grid, letter)) for _, letter in letters_named(table, grid))
