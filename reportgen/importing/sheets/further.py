"""Further columns of the owner's tables, by declared name: Note, Status, Position, X, Y ..."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.conversions import factors
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found
from reportgen.importing.sheets.amounts import declared
from reportgen.importing.sheets.laying import Draft
from reportgen.importing.sheets.rows import (
    BLOCK_OF,
    INDEX,
    LAYOUT,
    cells_of_column,
    index_of,
    letter_in,
)
from reportgen.workbook.declaration import HARVESTS, PLANTS, Column, Sheet

SCALE = " < "  # in the name of a score


@dataclass(frozen=True)
class Told:
    """A column of a table: what its rows hold, and its owner's column in each block."""

    cells: NDArray[np.object_]
    letters: NDArray[np.intp]


Further = Mapping[str, Mapping[int, Told]]  # declared name -> layout -> column


def further_columns(settings: Settings, found: Found) -> Further:
    """Return the further columns of all layouts."""
    tables = {table.key: table for table in found.tables}
    further: dict[str, dict[int, Told]] = {}
    for number, layout in enumerate(settings.layouts):
        table = tables.get(layout.table)
        if table is None:
            continue
        for name, column in layout.columns.items():
            index = index_of(table, column)
            if index < 0:
                continue
            letters = np.array([letter_in(block, index) for block in table.blocks], np.intp)
            cells = _spelled(cells_of_column(table, index), layout.words.get(name, {}))
            unit = declared(layout.gives, name)
            cells = _in_declared_unit(cells, table.columns[index].unit, unit)
            further.setdefault(name, {})[number] = Told(cells, letters)
    return further


def _in_declared_unit(
    cells: NDArray[np.object_], unit: str, column: Column | None
) -> NDArray[np.object_]:
    """Return cells with numbers in the unit of the declaration, where the owner's header names
    another.
    """
    if column is None or not column.unit or not unit:
        return cells
    factor, offset = factors(unit, column.unit)
    for at, cell in enumerate(cells):
        if isinstance(cell, float):
            cells[at] = round(cell * factor + offset, 9)
    return cells


def _spelled(cells: NDArray[np.object_], words: Mapping[str, str]) -> NDArray[np.object_]:
    for at, cell in enumerate(cells):
        if isinstance(cell, str) and cell in words:
            cells[at] = words[cell]
    return cells


def of_trays(columns: Further) -> Further:
    """Return the columns that are none of the plants' or pickings' own."""
    own = {column.name for sheet in (PLANTS, HARVESTS) for column in sheet.columns}
    return {name: by_layout for name, by_layout in columns.items() if name not in own}


def add(draft: Draft, sheet: Sheet, first: pd.DataFrame, columns: Further) -> None:
    """Add to a sheet the further columns that are its own.

    Each row takes them from the first of the owner's rows that it holds.
    """
    for column in sheet.columns:
        if column.name not in columns or column.name in draft.columns:
            continue
        values, letters = looked_up(columns[column.name], first)
        header = column.name
        if column.unit:
            header = column.header
        if _is_filled(values):
            draft.place(header, values, first, letters)
    if sheet is PLANTS:
        for name in columns:
            if SCALE in name:
                values, letters = looked_up(columns[name], first)
                draft.place(name, values, first, letters)


def _is_filled(values: Sequence[object]) -> bool:
    return any(value is not None for value in values)


def looked_up(
    by_layout: Mapping[int, Told], rows: pd.DataFrame
) -> tuple[list[object], NDArray[np.intp]]:
    """Return what a further column holds for some rows, and the owner's column of each."""
    values: list[object] = [None] * len(rows)
    letters = np.zeros(len(rows), np.intp)
    layouts, indexes, blocks = (rows[name].to_numpy() for name in (LAYOUT, INDEX, BLOCK_OF))
    for at, (layout, index, block) in enumerate(zip(layouts, indexes, blocks, strict=True)):
        told = by_layout.get(layout)
        if told is not None and index >= 0:
            values[at] = told.cells[index]
            letters[at] = told.letters[block]
    return values, letters
