"""Stage 1 gives sheets of typed cells: no later stage sees a raw value."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray
from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import range_boundaries

Place = tuple[int, int]  # row and column of a sheet, counted from 1


class Kind(IntEnum):
    """What a cell holds.

    MISSING and LOST are words, such as `-` and `dead`, in place of a number.
    """

    BLANK = 0
    TEXT = 1
    NUMBER = 2
    MOMENT = 3
    MISSING = 4
    LOST = 5


@dataclass(frozen=True)
class Conventions:
    """How numbers, dates and words of a file are written, as far as its owner said.

    `day_first` and `decimal_comma` are by sheet label (see `Sheet.label`), under "" for all others;
    absent where the cells decide. `missing`, `lost` and `zero` are words in small letters that
    stand for no value, for a lost plant and for nothing there (then the cell is the number 0).
    `turned` are sheets whose rows are read as columns.
    """

    day_first: Mapping[str, bool] = field(default_factory=dict)
    decimal_comma: Mapping[str, bool] = field(default_factory=dict)
    year: Mapping[str, int] = field(default_factory=dict)
    turned: Mapping[str, bool] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    zero: tuple[str, ...] = ()


@dataclass(frozen=True)
class OpenConvention:
    """Cells that can be read in two ways: `what` is "day_first", "decimal_comma" or "year".

    "mixed_dates" are dates of one column in two orders, or beside real ones whose day and month
    were exchanged. `cells` are some of them, such as "B4"; `texts` what they hold.
    """

    sheet: str
    what: str
    cells: tuple[str, ...]
    texts: tuple[str, ...]


@dataclass(frozen=True)
class Sheet:
    """One sheet of one file; arrays are of shape (rows, columns), read-only, cell A1 at [0, 0].

    `file` is the name of a further file, "" for the log itself; `stem` the name of either without
    its ending.

    `kind` holds `Kind` as uint8. `text` holds each cell as it stands: "" where blank, whole numbers
    without a point, ids such as 007 or 1.10 as their number format shows them, numbers that are
    written with a decimal comma with a point, dates as 2026-03-31 (as they stand where they are
    written without a year); of merged cells only the first holds it. A formula that no program has
    computed is MISSING, its text begins with `=`. `number` is float64, nan where none; `moment`
    datetime64[s], NaT where none. `units` are units behind a number in its cell (`3.4 oz`),
    `remarks` other words behind or before it (`12 (small)`), `bounds` its sign in `<0.1`. `fills`
    are colours (RRGGBB), `comments` texts. `merged` are ranges (first row, first column, last row,
    last column). All places of a sheet that `is_turned` are those after its rows became columns;
    `address`, `range` and `places_in` speak of its owner's cells.
    """

    file: str
    name: str
    kind: NDArray[np.uint8]
    text: NDArray[np.object_]
    number: NDArray[np.float64]
    moment: NDArray[np.datetime64]
    units: Mapping[Place, str] = field(default_factory=dict)
    remarks: Mapping[Place, str] = field(default_factory=dict)
    bounds: Mapping[Place, str] = field(default_factory=dict)
    fills: Mapping[Place, str] = field(default_factory=dict)
    comments: Mapping[Place, str] = field(default_factory=dict)
    struck: frozenset[Place] = frozenset()
    formulas: frozenset[Place] = frozenset()
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    is_hidden: bool = False
    is_single: bool = False  # the only sheet of its file, as in a text file
    merged: tuple[tuple[int, int, int, int], ...] = ()
    open: tuple[OpenConvention, ...] = ()
    stem: str = ""
    is_turned: bool = False

    @property
    def label(self) -> str:
        """Return how messages name it: the sheet, with its file in brackets.

        The log itself is not named.
        """
        if self.file:
            return f"[{self.file}]{self.name}"
        return self.name

    def owners(self, row: int, column: int) -> Place:
        """Return where a cell stands in its owner's file."""
        if self.is_turned:
            return (column, row)
        return (row, column)

    def address(self, row: int, column: int) -> str:
        """Return the owner's address of a cell, such as `C7`.

        A whole row (column 0) is `7:7` or `C:C`.
        """
        return address_of(*self.owners(row, column))

    def range(self, first_row: int, first_column: int, last_row: int, last_column: int) -> str:
        """Return the owner's address of an area, such as `A1:C9`; of a single cell `A1`."""
        ends = (self.address(first_row, first_column), self.address(last_row, last_column))
        return ":".join(dict.fromkeys(ends))

    def area(self, address: str) -> tuple[int, int, int, int]:
        """Return first row, first column, last row and last column of an owner's address.

        0 where it names none.

        Raises ValueError where it is no address.
        """
        first_column, first_row, last_column, last_row = (
            each or 0 for each in range_boundaries(address)
        )
        return (*self.owners(first_row, first_column), *self.owners(last_row, last_column))


def address_of(row: int, column: int) -> str:
    """Return the address of a cell, such as `C7`.

    A whole row (column 0) is `7:7`, a whole column `C:C`.
    """
    if column:
        letter = get_column_letter(column)
    else:
        letter = ""
    if letter and row:
        return f"{letter}{row}"
    return f"{letter or row}:{letter or row}"
