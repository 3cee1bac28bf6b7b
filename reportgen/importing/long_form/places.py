"""What an owner said of single rows and cells: left out, or corrected, as long as they still hold
what they held.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

import numpy as np

from reportgen.importing.model.cells import Conventions, Kind, Sheet
from reportgen.importing.model.layouts import Corrected, Layout, LeftOut
from reportgen.importing.model.tables import Table
from reportgen.importing.words import is_word

Cell = tuple[int, int, int]  # index of the sheet, row, column

STATISTIC: Final = "statistic"  # why a row of the owner's computed numbers is no row of the table
BETWEEN: Final = " | "  # between the cells of a row
NO_MOMENT: Final = np.datetime64("NaT", "s")


@dataclass(frozen=True)
class Amended:
    """A table with its corrections, the places (sheet, row, column) that are left out, and what no
    longer fits.

    `reasons` are by place. `stale` are what was said of cells that hold something else now.
    """

    table: Table
    reasons: Mapping[Cell, str]
    stale: tuple[LeftOut | Corrected, ...]


def cells_named(text: str, table: Table, sheets: Sequence[Sheet]) -> list[Cell]:
    """Return the cells of a table's sheets that a text such as `38`, `D17` or `Log!A38:F38` names.

    Whole rows are those of the table. Without a sheet it is the table's first one. A text that
    names none gives none.
    """
    label, _, area = text.strip().rpartition("!")
    sheet = _sheet_called(label, table, sheets)
    if sheet is None:
        return []
    if area.isdecimal():
        area = f"{area}:{area}"
    try:
        first_row, first_column, last_row, last_column = sheets[sheet].area(area)
    except ValueError:
        return []
    if not first_row or not last_row:
        return []
    columns: Iterable[int] = _columns_of(table, sheet)
    if first_column and last_column:
        columns = range(first_column, last_column + 1)
    rows = range(first_row, last_row + 1)
    return [(sheet, row, column) for row, column in product(rows, columns)]


def _sheet_called(label: str, table: Table, sheets: Sequence[Sheet]) -> int | None:
    """Return the index of a sheet, of the table's first one where the label is ""."""
    if not label:
        return table.blocks[0].sheet
    for index, sheet in enumerate(sheets):
        if sheet.label == label:
            return index
    return None


def text_of_cells(cells: Iterable[Cell], sheets: Sequence[Sheet]) -> str:
    """Return what cells hold, in one line: `Total | 412`. Blank ones are left out."""
    texts = [_text(cell, sheets) for cell in cells]
    return BETWEEN.join(text for text in texts if text)


def amended(
    table: Table, layout: Layout, sheets: Sequence[Sheet], conventions: Conventions
) -> Amended:
    """Return a table as its owner corrected it, with what he left out."""
    reasons = _reasons_of_rows(table)
    changes: dict[Cell, str] = {}
    stale: list[LeftOut | Corrected] = []
    for item in layout.left_out:
        cells = _same_cells(item.cells, item.holds, table, sheets)
        reasons.update(dict.fromkeys(cells, item.because))
        if not cells:
            stale.append(item)
    for change in layout.corrected:
        cells = _same_cells(change.cell, change.held, table, sheets)
        changes.update(dict.fromkeys(cells, change.value))
        now = text_of_cells(cells_named(change.cell, table, sheets), sheets)
        if not cells and now != change.value:
            stale.append(change)
    return Amended(_changed(table, changes, conventions), reasons, tuple(stale))


def _reasons_of_rows(table: Table) -> dict[Cell, str]:
    """Return why cells were left out as the table was found, other than statistics."""
    reasons: dict[Cell, str] = {}
    for index, row, reason in table.left_out:
        if reason != STATISTIC:
            block = table.blocks[index]
            for letter in block.letters:
                reasons[block.sheet, row, letter] = reason
    return reasons


def _columns_of(table: Table, sheet: int) -> list[int]:
    letters = {letter for block in table.blocks if block.sheet == sheet for letter in block.letters}
    return sorted(letters - {0})


def _text(cell: Cell, sheets: Sequence[Sheet]) -> str:
    index, row, column = cell
    texts = sheets[index].text
    is_within = 0 < row <= texts.shape[0] and 0 < column <= texts.shape[1]
    if is_within:
        return str(texts[row - 1, column - 1])
    return ""


def _same_cells(text: str, holds: str, table: Table, sheets: Sequence[Sheet]) -> list[Cell]:
    """Return the cells that are named, or those they moved to.

    They moved to the only other row that holds the same. Empty where they hold something else now.
    """
    cells = cells_named(text, table, sheets)
    if not cells or not holds or text_of_cells(cells, sheets) == holds:
        return cells
    if cells[0][1] != cells[-1][1]:
        return []
    columns = [column for _, _, column in cells]
    matches = []
    for block, row in zip(table.block.tolist(), table.row.tolist(), strict=True):
        sheet = table.blocks[block].sheet
        moved = [(sheet, row, column) for column in columns]
        if text_of_cells(moved, sheets) == holds:
            matches.append(moved)
    if len(matches) == 1:
        return matches[0]
    return []


def _changed(table: Table, changes: Mapping[Cell, str], conventions: Conventions) -> Table:
    if not changes:
        return table
    kind, text = table.kind.copy(), table.text.copy()
    number, moment = table.number.copy(), table.moment.copy()
    lines = zip(table.block.tolist(), table.row.tolist(), strict=True)
    index_of = {(table.blocks[block].sheet, row): index for index, (block, row) in enumerate(lines)}
    for (sheet, row, letter), value in changes.items():
        index = index_of.get((sheet, row), -1)
        letters = table.blocks[table.block[index]].letters
        if index < 0 or letter not in letters:
            continue
        cell = index, letters.index(letter)
        text[cell] = value
        kind[cell] = _kind(value, conventions)
        number[cell] = float(value) if kind[cell] == Kind.NUMBER else np.nan
        moment[cell] = np.datetime64(value, "s") if kind[cell] == Kind.MOMENT else NO_MOMENT
    return replace(table, kind=kind, text=text, number=number, moment=moment)


def _kind(value: str, conventions: Conventions) -> Kind:
    """Return what a corrected cell holds.

    Settings write numbers with a point and dates as ISO 8601.
    """
    word = value.casefold()
    if not value:
        return Kind.BLANK
    if word in conventions.lost or is_word(value, "lost"):
        return Kind.LOST
    if word in conventions.missing or is_word(value, "missing"):
        return Kind.MISSING
    for kind, read in ((Kind.NUMBER, float), (Kind.MOMENT, np.datetime64)):
        try:
            read(value)
        except ValueError:
            continue
        return kind
    return Kind.TEXT
