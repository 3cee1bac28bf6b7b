"""What an owner said of single rows and cells: left out, or corrected, as long as they still hold what they held."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from openpyxl.utils.cell import column_index_from_string

from reportgen.importing.model.cells import Conventions, Kind, Sheet
from reportgen.importing.model.layouts import Corrected, Layout, LeftOut
from reportgen.importing.model.tables import Table

Cell = tuple[int, int, int]  # index of the sheet, row, column

RANGE: Final = re.compile(r"(?:(?P<sheet>.+)!)?(?P<first>[A-Z]{0,3}\d+)(?::(?P<last>[A-Z]{0,3}\d+))?")
ADDRESS: Final = re.compile(r"([A-Z]*)(\d+)")
STATISTIC: Final = "statistic"  # why a row of the owner's computed numbers is no row of the table
BETWEEN: Final = " | "  # between the cells of a row


@dataclass(frozen=True)
class Amended:
    """A table with its corrections, the places (sheet, row, column) that are left out, and what no longer fits.

    `reasons` are by place. `stale` are what was said of cells that hold something else now.
    """

    table: Table
    reasons: dict[Cell, str]
    stale: tuple[LeftOut | Corrected, ...]


@dataclass(frozen=True)
class _Range:
    """Rows and columns of a sheet; columns are 0 where whole rows are meant."""

    sheet: int
    first_row: int
    first_column: int
    last_row: int
    last_column: int


def cells_named(text: str, table: Table, sheets: Sequence[Sheet]) -> list[Cell]:
    """Return the cells of a table's sheets that a text such as `38`, `D17` or `Log!A38:F38` names.

    Whole rows are those of the table. Without a sheet it is the table's first one. A text that names none gives none.
    """
    area = _range(text, table, sheets)
    if area is None:
        return []
    rows = range(area.first_row, area.last_row + 1)
    columns = _columns(area, table)
    return [(area.sheet, row, column) for row in rows for column in columns]


def text_of_cells(cells: Iterable[Cell], sheets: Sequence[Sheet]) -> str:
    """Return what cells hold, in one line: `Total | 412`. Blank ones are left out."""
    texts = [_text(cell, sheets) for cell in cells]
    return BETWEEN.join(text for text in texts if text)


def amended(table: Table, layout: Layout, sheets: Sequence[Sheet], conventions: Conventions) -> Amended:
    """Return a table as its owner corrected it, with what he left out."""
    reasons: dict[Cell, str] = {}
    stale: list[LeftOut | Corrected] = []
    for index, row, reason in table.left_out:
        if reason == STATISTIC:
            continue
        block = table.blocks[index]
        reasons.update(((block.sheet, row, letter), reason) for letter in block.letters)
    for item in layout.left_out:
        cells = _same_cells(item.cells, item.holds, table, sheets)
        reasons.update((cell, item.because) for cell in cells)
        if not cells:
            stale.append(item)
    changes: dict[Cell, str] = {}
    for change in layout.corrected:
        cells = _same_cells(change.cell, change.held, table, sheets)
        changes.update((cell, change.value) for cell in cells)
        if not cells and not _holds(change.cell, change.value, table, sheets):
            stale.append(change)
    return Amended(_changed(table, changes, conventions), reasons, tuple(stale))


def _range(text: str, table: Table, sheets: Sequence[Sheet]) -> _Range | None:
    match = RANGE.fullmatch(text.strip())
    if match is None:
        return None
    sheet = _sheet_index(match["sheet"] or "", table, sheets)
    first_column, first_row = _address(match["first"])
    last_column, last_row = _address(match["last"] or match["first"])
    return None if sheet is None else _Range(sheet, first_row, first_column, last_row, last_column)


def _sheet_index(name: str, table: Table, sheets: Sequence[Sheet]) -> int | None:
    if not name:
        return table.blocks[0].sheet
    for index, sheet in enumerate(sheets):
        if sheet.label == name:
            return index
    return None


def _address(text: str) -> tuple[int, int]:
    match = ADDRESS.fullmatch(text)
    assert match is not None
    column = column_index_from_string(match[1]) if match[1] else 0
    return column, int(match[2])


def _columns(area: _Range, table: Table) -> Sequence[int]:
    if area.first_column:
        return range(area.first_column, area.last_column + 1)
    return _letters(area.sheet, area.first_row, table)


def _letters(sheet: int, row: int, table: Table) -> list[int]:
    """Return the columns of a table on the row of a sheet, those of all its blocks where the row is in none."""
    blocks = [block for block in table.blocks if block.sheet == sheet]
    around = [block for block in blocks if block.area.first_row <= row <= block.area.last_row]
    letters = {letter for block in around or blocks for letter in block.letters if letter}
    return sorted(letters)


def _text(cell: Cell, sheets: Sequence[Sheet]) -> str:
    index, row, column = cell
    texts = sheets[index].text
    is_within = 0 < row <= texts.shape[0] and 0 < column <= texts.shape[1]
    return str(texts[row - 1, column - 1]) if is_within else ""


def _holds(cells: str, holds: str, table: Table, sheets: Sequence[Sheet]) -> bool:
    return text_of_cells(cells_named(cells, table, sheets), sheets) == holds


def _same_cells(text: str, holds: str, table: Table, sheets: Sequence[Sheet]) -> list[Cell]:
    """Return the cells that are named, or those they moved to: the only ones below or above that hold the same.

    Empty where they hold something else now.
    """
    cells = cells_named(text, table, sheets)
    if not cells or not holds or text_of_cells(cells, sheets) == holds:
        return cells
    if cells[0][1] != cells[-1][1]:
        return []
    moved = _rows_with(holds, cells, table, sheets)
    return moved[0] if len(moved) == 1 else []


def _rows_with(holds: str, cells: list[Cell], table: Table, sheets: Sequence[Sheet]) -> list[list[Cell]]:
    columns = [column for _, _, column in cells]
    found: list[list[Cell]] = []
    for block, row in zip(table.block, table.row, strict=True):
        sheet = table.blocks[block].sheet
        moved = [(sheet, int(row), column) for column in columns]
        if text_of_cells(moved, sheets) == holds:
            found.append(moved)
    return found


def _changed(table: Table, changes: dict[Cell, str], conventions: Conventions) -> Table:
    if not changes:
        return table
    kind, text = table.kind.copy(), table.text.copy()
    number, moment = table.number.copy(), table.moment.copy()
    place_of = {(table.blocks[block].sheet, int(row)): (block, i) for i, (block, row) in enumerate(_lines(table))}
    for (sheet, row, column), value in changes.items():
        block, index = place_of.get((sheet, row), (0, -1))
        if index < 0 or column not in table.blocks[block].letters:
            continue
        at = index, table.blocks[block].letters.index(column)
        text[at] = value
        kind[at], number[at], moment[at] = _typed(value, conventions)
    return replace(table, kind=kind, text=text, number=number, moment=moment)


def _lines(table: Table) -> Iterable[tuple[int, int]]:
    return zip(table.block.tolist(), table.row.tolist(), strict=True)


def _typed(value: str, conventions: Conventions) -> tuple[Kind, float, np.datetime64]:
    """Return what a corrected cell holds: settings write numbers with a point and dates as ISO 8601."""
    nothing = np.datetime64("NaT", "s")
    if not value:
        return Kind.BLANK, np.nan, nothing
    if value.casefold() in conventions.lost:
        return Kind.LOST, np.nan, nothing
    if value.casefold() in conventions.missing:
        return Kind.MISSING, np.nan, nothing
    try:
        return Kind.NUMBER, float(value), nothing
    except ValueError:
        pass
    try:
        return Kind.MOMENT, np.nan, np.datetime64(value, "s")
    except ValueError:
        return Kind.TEXT, np.nan, nothing
