"""Stage 2 gives tables: stacked blocks of cells with the same headers."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Area:
    """A rectangle of a sheet, rows and columns counted from 1, ends included."""

    first_row: int
    first_column: int
    last_row: int
    last_column: int


@dataclass(frozen=True)
class Block:
    """One place where a table's headers stand: a sheet, or a part of it.

    `sheet` is an index into the sheets read. `area` spans headers and body. `titles` are texts
    above the headers, nearest first, each with its place; `fields` are labelled cells above or
    beside (`Treatment: fan`), by label. `letters` are the sheet columns (from 1) of the table's
    columns, in their order.
    """

    sheet: int
    area: Area
    header_rows: tuple[int, ...]
    letters: tuple[int, ...]
    titles: tuple[tuple[str, tuple[int, int]], ...] = ()
    fields: Mapping[str, str] = field(default_factory=dict)
    unit_row: int = 0


@dataclass(frozen=True)
class Column:
    """A column of a table.

    `name` names it in settings: the lowest header text without its unit, made unique within the
    table (`wt (2 of 3)`; `column D` where there is no header). `header` is the lowest header text
    as it stands. `over` are the labels of the header levels above and of the lowest one, topmost
    first, merged or blank-right labels filled: always as many as header rows. `unit` is the unit in
    the header's brackets or in the unit row, "" where none.
    """

    name: str
    header: str
    over: tuple[str, ...]
    unit: str = ""


class Statistic(StrEnum):
    """What the owner computed of other cells."""

    SUM = "sum"
    MEAN = "mean"
    COUNT = "count"
    SPREAD = "spread"
    DIFFERENCE = "difference"
    OTHER = "other"


@dataclass(frozen=True)
class Computed:
    """Cells of the owner's that are a statistic of others, by values or by label.

    `cells` and `of` are places (sheet index, row, column). `agrees` says whether the values fit
    those of which they are. `column` is the index of a column of the table that holds it on each
    row and stays in the table, with `of_columns` the indexes of its sources: choose the one or the
    others, never both. It is -1 where whole rows were taken out.
    """

    statistic: Statistic
    cells: tuple[tuple[int, int, int], ...]
    of: tuple[tuple[int, int, int], ...]
    agrees: bool
    label: str = ""
    column: int = -1
    of_columns: tuple[int, ...] = ()


@dataclass(frozen=True)
class Table:
    """A table, its blocks stacked: arrays of shape (rows, columns) as in `Sheet`.

    Section rows, unit rows and the owner's statistics are taken out.

    `key` names it in settings and messages, stable from run to run: the label of its first sheet,
    with `!A3:F20` only where a sheet holds several; of stacked sheets that of the first. `block`
    (rows,) is an index into `blocks`, `row` (rows,) the number of the sheet's row. `section`
    (rows,) is the lone label above the row, "" where none. `computed` are the statistics that were
    taken out. `left_out` are body rows that are not read, as (block, row) with the reason:
    `struck`, `repeated header`, `note`, `below the statistics`, `statistic` (its numbers are then
    in `computed`, apart from those that are labels). `is_key` tells a small table that spells
    codes, `is_fields` a list of labelled cells. `lists` are the keys of tables whose columns were
    joined by id: their letter is 0.
    """

    key: str
    blocks: tuple[Block, ...]
    columns: tuple[Column, ...]
    block: NDArray[np.intp]
    row: NDArray[np.intp]
    kind: NDArray[np.uint8]
    text: NDArray[np.object_]
    number: NDArray[np.float64]
    moment: NDArray[np.datetime64]
    section: NDArray[np.object_]
    computed: tuple[Computed, ...] = ()
    left_out: tuple[tuple[int, int, str], ...] = ()
    is_key: bool = False
    is_fields: bool = False
    lists: tuple[str, ...] = ()


@dataclass(frozen=True)
class Loose:
    """Cells of numbers that stand in no table, by sheet index: notes, single figures, charts' data."""

    sheet: int
    cells: tuple[tuple[int, int], ...]
    label: str = ""


@dataclass(frozen=True)
class Found:
    """All tables of some sheets, and the numbers in none."""

    tables: tuple[Table, ...]
    loose: tuple[Loose, ...] = ()
