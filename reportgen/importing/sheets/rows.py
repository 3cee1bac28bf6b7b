"""Rows of the long form, with what the layout says of them beside each."""

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.model import long
from reportgen.importing.model.cells import Kind
from reportgen.importing.model.layouts import CarrierKind, Dimension, Layout, Occasions
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Block, Found, Table
from reportgen.workbook.declaration import GROWTH, HARVESTS, PLANTS

AT: Final = "at"  # number of the row in the long form
GIVES: Final = "gives"  # sheet of the declaration
MOMENT: Final = "moment"  # of the occasion, NaT where its label is none
COUNTS: Final = "counts"  # of `Counts`
LAYOUT: Final = long.LAYOUT
INDEX: Final = "index"  # of the row in its table
VALUE_COLUMN: Final = "value_column"  # index of the column in its table
BLOCK_OF: Final = "block_of"  # index into the blocks of its table
TRAY: Final = "tray"  # code of the experimental unit
NUMBER: Final = "number"  # of the plant in its tray
LETTER: Final = (
    "letter of "  # and a dimension: the owner's column of the label, 0 where it stands in none
)
NUMERIC: Final = ("value", "zero")
DIMENSIONS: Final = {
    long.TREATMENT: Dimension.TREATMENT,
    long.BLOCK: Dimension.BLOCK,
    long.UNIT: Dimension.UNIT,
    long.PLANT: Dimension.PLANT,
    long.OCCASION: Dimension.OCCASION,
}


ADDED: Final = (
    AT,
    BLOCK_OF,
    COUNTS,
    MOMENT,
    GIVES,
    INDEX,
    VALUE_COLUMN,
    *(LETTER + name for name in ("", *DIMENSIONS)),
)


def prepared(frame: pd.DataFrame, settings: Settings, found: Found) -> pd.DataFrame:
    """Return the long form with the columns named above."""
    tables = {table.key: table for table in found.tables}
    parts = []
    for number, own in frame.groupby(long.LAYOUT, sort=False):
        layout = settings.layouts[int(str(number))]
        parts.append(_described(own, layout, tables[layout.table]))
    if parts:
        return pd.concat(parts).sort_index().astype({GIVES: "category"})
    return pd.DataFrame({name: pd.Series(dtype=object) for name in (*long.COLUMNS, *ADDED)})


def _described(own: pd.DataFrame, layout: Layout, table: Table) -> pd.DataFrame:
    counts = np.array([values.counts.value for values in layout.values], dtype=object)
    block = _blocks(own, table)
    described = own.assign(
        **{
            AT: own.index.to_numpy(),
            BLOCK_OF: block,
            COUNTS: counts[own[long.VALUES].to_numpy(dtype=np.intp)],
            MOMENT: moments(own[long.OCCASION]),
            GIVES: gives(layout),
            INDEX: _indexes(own, block, table),
            VALUE_COLUMN: _value_columns(own, block, table),
        }
    )
    for name, dimension in DIMENSIONS.items():
        described[LETTER + name] = _letters(layout, dimension, table, block)
    return described


def gives(layout: Layout) -> str:
    """Return the sheet that a layout gives: pickings are Harvests, plants measured again are
    Growth.
    """
    is_grown = layout.gives in (PLANTS.name, HARVESTS.name) and layout.occasions is Occasions.GROWTH
    if is_grown:
        return GROWTH.name
    return layout.gives


def moments(labels: "pd.Series[str]") -> NDArray[np.datetime64]:
    """Return the moments of ISO dates and moments among labels, NaT for all others."""
    codes, distinct = pd.factorize(labels)
    is_long = distinct.str.len() >= len("2026-01-05")
    told = pd.to_datetime(distinct.where(is_long), format="ISO8601", errors="coerce")
    made: NDArray[np.datetime64] = told.to_numpy(dtype="datetime64[s]")[codes]
    return made


def _blocks(own: pd.DataFrame, table: Table) -> NDArray[np.intp]:
    """Return which block of its table each row stands in."""
    sheet, row, column = (own[name].to_numpy() for name in (long.SHEET, long.ROW, long.COLUMN))
    block = np.zeros(len(own), np.intp)
    for number, one in enumerate(table.blocks):
        area = one.area
        down = (row >= area.first_row) & (row <= area.last_row)
        across = (column >= area.first_column) & (column <= area.last_column)
        block[(sheet == one.sheet) & down & across] = number
    return block


def _indexes(own: pd.DataFrame, block: NDArray[np.intp], table: Table) -> NDArray[np.intp]:
    """Return the row of its table for each row, -1 where it is none."""
    place = np.full((len(table.blocks), int(table.row.max(initial=0)) + 1), -1, np.intp)
    place[table.block, table.row] = np.arange(len(table.row))
    found: NDArray[np.intp] = place[block, own[long.ROW].to_numpy(dtype=np.intp)]
    return found


def _value_columns(own: pd.DataFrame, block: NDArray[np.intp], table: Table) -> NDArray[np.intp]:
    """Return the column of its table for each value."""
    letters = np.array([one.letters for one in table.blocks], np.intp)
    is_there = letters[block] == own[long.COLUMN].to_numpy()[:, None]
    found: NDArray[np.intp] = is_there.argmax(axis=1)
    return found


def _letters(
    layout: Layout, dimension: Dimension, table: Table, block: NDArray[np.intp]
) -> NDArray[np.intp]:
    """Return the owner's column in which the labels of a dimension stand, 0 where in none."""
    source = layout.dimensions.get(dimension)
    if source:
        carriers = source.carriers
    else:
        carriers = ()
    names = [carrier.name for carrier in carriers if carrier.kind is CarrierKind.COLUMN]
    if names:
        at = index_of(table, names[-1])
    else:
        at = -1
    if at < 0:
        return np.zeros(len(block), np.intp)
    letters = np.array([letter_in(one, at) for one in table.blocks], np.intp)
    return letters[block]


def index_of(table: Table, name: str) -> int:
    """Return the index of the column called `name`, -1 where there is none."""
    for index, column in enumerate(table.columns):
        if column.name == name:
            return index
    return -1


def letter_in(block: Block, index: int) -> int:
    """Return the owner's column of a column of the table, 0 where the block lacks it."""
    if index < len(block.letters):
        return block.letters[index]
    return 0


def cells_of_column(table: Table, index: int) -> NDArray[np.object_]:
    """Return what the cells of a column hold: numbers, moments, texts, None where blank or missing."""
    kind = table.kind[:, index]
    cells = np.empty(len(kind), object)
    for row, one in enumerate(kind):
        cells[row] = _cell(table, row, index, one)
    return cells


def _cell(table: Table, row: int, index: int, kind: int) -> object:
    if kind == Kind.NUMBER:
        return float(table.number[row, index])
    if kind == Kind.MOMENT:
        return table.moment[row, index].item()
    if kind in (Kind.TEXT, Kind.LOST):
        return str(table.text[row, index])
    return None
