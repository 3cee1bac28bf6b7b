"""Mark each number of the sheets with its fate; the first mark of a cell holds."""

from collections.abc import Iterable, Sequence
from itertools import repeat

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.questions import Fate, Fated
from reportgen.importing.model.tables import Table

Cell = tuple[int, int, int]  # index of the sheet, row, column
Places = NDArray[np.intp]
NONE = -1


class Marks:
    """The fates of the numbers of some sheets, as far as they are marked."""

    def __init__(self, sheets: Sequence[Sheet]) -> None:
        """Begin with no fate for any number."""
        self._entries: list[tuple[Fate, str]] = []
        self._is_number: list[NDArray[np.bool_]] = [
            np.isin(sheet.kind, Kind.NUMBER) for sheet in sheets
        ]
        self._marks: list[Places] = [
            np.full(sheet.kind.shape, NONE, dtype=np.intp) for sheet in sheets
        ]

    def put(self, sheet: int, rows: Places, columns: Places, fate: Fate, because: str = "") -> None:
        """Mark the cells at rows and columns (counted from 1, (n,) each) that hold numbers without
        a fate.
        """
        marks = self._marks[sheet]
        last_row, last_column = marks.shape
        is_within = (rows > 0) & (columns > 0) & (rows <= last_row) & (columns <= last_column)
        row, column = rows[is_within] - 1, columns[is_within] - 1
        is_open = self._is_number[sheet][row, column] & (marks[row, column] == NONE)
        marks[row[is_open], column[is_open]] = self._entry(fate, because)

    def put_cells(self, cells: Places | Sequence[Cell], fate: Fate, because: str = "") -> None:
        """Mark some cells that hold numbers without a fate. cells: (n, 3), as `places_of_rows`
        gives them.
        """
        places = np.asarray(cells, dtype=np.intp).reshape(-1, 3)
        for sheet in np.unique(places[:, 0]):
            chosen = places[places[:, 0] == sheet]
            self.put(int(sheet), chosen[:, 1], chosen[:, 2], fate, because)

    def fate_of(self, cell: Cell) -> Fate | None:
        """Return the fate of a number, None where it has none yet."""
        sheet, row, column = cell
        mark = int(self._marks[sheet][row - 1, column - 1])
        if mark == NONE:
            return None
        return self._entries[mark][0]

    def entries(self, sheets: Iterable[int], rest: Fate) -> tuple[Fated, ...]:
        """Return the fates with their cells; numbers without a mark on the sheets have that of the
        `rest`.
        """
        for sheet in sheets:
            rows, columns = np.nonzero(self._is_number[sheet])
            self.put(sheet, rows + 1, columns + 1, rest)
        cells: list[list[Cell]] = [[] for _ in self._entries]
        for sheet, marks in enumerate(self._marks):
            for index in np.unique(marks[marks != NONE]):
                rows, columns = np.nonzero(marks == index)
                cells[index].extend(zip(repeat(sheet), (rows + 1).tolist(), (columns + 1).tolist()))
        pairs = zip(self._entries, cells, strict=True)
        return tuple(
            Fated(fate, tuple(places), because) for (fate, because), places in pairs if places
        )

    def _entry(self, fate: Fate, because: str) -> int:
        entry = fate, because
        if entry not in self._entries:
            self._entries.append(entry)
        return self._entries.index(entry)


def places_of_rows(table: Table, rows: NDArray[np.bool_], columns: Sequence[int]) -> Places:
    """Return the cells (sheet, row, column) of some rows of a table, (rows,), in columns given by
    their index.
    """
    sheets = np.array([block.sheet for block in table.blocks], dtype=np.intp)
    letters = np.array([block.letters for block in table.blocks], dtype=np.intp)
    blocks = table.block[rows]
    parts = [np.empty((0, 3), dtype=np.intp)]
    for column in columns:
        parts.append(np.column_stack([sheets[blocks], table.row[rows], letters[blocks, column]]))
    return np.concatenate(parts)
