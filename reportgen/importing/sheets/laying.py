"""Lay columns out as a sheet of the declaration, each cell with the owner's cell behind it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.model import long
from reportgen.importing.model.given import SheetOrigins
from reportgen.importing.sheets.rows import LETTER
from reportgen.workbook.raw import RawSheet

Objects = NDArray[np.object_]
Numbers = NDArray[np.intp]
NOWHERE = -1


@dataclass(frozen=True)
class Cells:
    """The cells of one column: values, and for each the owner's sheet, row and column (see
    `SheetOrigins`).
    """

    values: Objects
    sheet: Numbers
    row: Numbers
    column: Numbers


@dataclass
class Draft:
    """A sheet in the making: its columns by header, all as long."""

    name: str
    columns: dict[str, Cells] = field(default_factory=dict)

    def label(
        self, header: str, values: Sequence[object], rows: pd.DataFrame, dimension: str = ""
    ) -> None:
        """Add a column of labels that stand in the owner's rows `rows`, in the column of a
        dimension.
        """
        if dimension:
            letters = rows[LETTER + dimension].to_numpy()
        else:
            letters = np.zeros(len(rows), np.intp)
        self.columns[header] = Cells(
            objects(values), _sheet(rows), _row(rows), letters.astype(np.intp)
        )

    def place(
        self, header: str, values: Sequence[object], rows: pd.DataFrame, letters: Numbers
    ) -> None:
        """Add a column whose cells stand in the owner's rows `rows` and columns `letters`."""
        self.columns[header] = Cells(objects(values), _sheet(rows), _row(rows), letters)

    def measured(self, header: str, wide: "Wide", name: str) -> None:
        """Add a column of measured values."""
        self.columns[header] = Cells(
            wide.values[name], wide.sheet[name], wide.row[name], wide.column[name]
        )

    def finished(self) -> tuple[RawSheet, SheetOrigins]:
        """Return the sheet with its header row, and the origins of its cells."""
        cells = list(self.columns.values())
        head = tuple(self.columns)
        body = list(zip(*(one.values.tolist() for one in cells), strict=True))
        raw = RawSheet(self.name, [head, *body], {}, {}, ())
        return raw, SheetOrigins(
            _stacked([one.sheet for one in cells], NOWHERE),
            _stacked([one.row for one in cells], 0),
            _stacked([one.column for one in cells], 0),
        )


@dataclass(frozen=True)
class Wide:
    """Values of several quantities, one column each, and where each stands, by quantity."""

    values: Mapping[str, Objects]
    sheet: Mapping[str, Numbers]
    row: Mapping[str, Numbers]
    column: Mapping[str, Numbers]


def widened(
    rows: pd.DataFrame, group: Numbers, groups: int, amounts: Mapping[str, Objects]
) -> Wide:
    """Return one column a quantity of rows whose derived row is `group`; of several values the
    first holds.

    `amounts` are what each row holds by quantity, as (rows,) arrays.
    """
    values, sheets, numbers, columns = {}, {}, {}, {}
    quantity = rows[long.QUANTITY].to_numpy()
    for name, amount in amounts.items():
        chosen = np.flatnonzero(quantity == name)[::-1]  # the first one is written last
        made = np.full(groups, None, object)
        at = np.full(groups, NOWHERE, np.intp)
        made[group[chosen]] = amount[chosen]
        at[group[chosen]] = chosen
        values[name] = made
        sheets[name] = _picked(rows[long.SHEET], at, NOWHERE)
        numbers[name] = _picked(rows[long.ROW], at, 0)
        columns[name] = _picked(rows[long.COLUMN], at, 0)
    return Wide(values, sheets, numbers, columns)


def _picked(column: "pd.Series[int]", at: Numbers, other: int) -> Numbers:
    return np.where(at >= 0, column.to_numpy()[at], other).astype(np.intp)


def objects(values: Sequence[object]) -> Objects:
    """Return values as an array of objects, one-dimensional whatever they are."""
    made = np.empty(len(values), object)
    made[:] = list(values)
    return made


def firsts(group: Numbers, groups: int) -> Numbers:
    """Return the place of the first row of each group."""
    places = np.zeros(groups, np.intp)
    places[group[::-1]] = np.arange(len(group))[::-1]
    return places


def _sheet(rows: pd.DataFrame) -> Numbers:
    made: Numbers = rows[long.SHEET].to_numpy(dtype=np.intp)
    return made


def _row(rows: pd.DataFrame) -> Numbers:
    made: Numbers = rows[long.ROW].to_numpy(dtype=np.intp)
    return made


def _stacked(columns: Sequence[Numbers], head: int) -> Numbers:
    body = np.column_stack(columns)
    return np.vstack([np.full((1, body.shape[1]), head, np.intp), body])
