"""Small lists of units beside a table, such as `Tray | plants`: their numbers and days become
columns of the table.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.carriers.lookups import code
from reportgen.importing.carriers.texts import column_labels, tidy
from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.tables import Column, Found, Table
from reportgen.importing.words import says

T = TypeVar("T", bound=np.generic)
MOST_ROWS: Final = 500
MOST_COLUMNS: Final = 6
MOST_LEVELS: Final = 4
SHARE_KNOWN: Final = 0.9  # of a table's labels that a list of its units names
COUNTS: Final = ("plants_counted", "plant", "started")
DAYS: Final = ("started", "sown")


def with_lists(found: Found, sheets: Sequence[Sheet]) -> Found:
    """Return tables with the columns of lists of their units, joined by id, and the lists as keys."""
    lists = [table for table in found.tables if _list_columns(table)]
    wider_tables = []
    keys: set[str] = set()
    for table in found.tables:
        wider = table
        for other in lists:
            wider = _with_list(wider, other, sheets)
        wider_tables.append(wider)
        keys.update(wider.lists)
    tables = []
    for table in wider_tables:
        is_key = table.is_key or table.key in keys
        tables.append(replace(table, is_key=is_key))
    return replace(found, tables=tuple(tables))


def _list_columns(table: Table) -> list[int]:
    """Return the columns of a list of units: numbers of plants, days or levels.

    Another table has none.
    """
    if table.is_fields or not 2 <= len(table.columns) <= MOST_COLUMNS:
        return []
    if not 2 <= len(table.row) <= MOST_ROWS or not _has_unique_ids(table):
        return []
    columns = []
    for index in range(1, len(table.columns)):
        kinds = set(table.kind[:, index].tolist()) - {Kind.BLANK}
        if kinds <= {Kind.TEXT, Kind.MISSING}:
            continue
        if not _describes_units(table, index, kinds):
            return []
        columns.append(index)
    return columns


def _has_unique_ids(table: Table) -> bool:
    """Tell whether the first column has an id in each row, and none twice."""
    ids = [code(tidy(text)) for text in table.text[:, 0].tolist()]
    return "" not in ids and len(set(ids)) == len(ids)


def _describes_units(table: Table, index: int, kinds: set[int]) -> bool:
    """Tell whether a column holds numbers of plants, days or levels, and nothing else."""
    header = table.columns[index].header
    if kinds == {Kind.MOMENT}:
        return says(header, *DAYS)
    if kinds != {Kind.NUMBER}:
        return False
    numbers = table.number[table.kind[:, index] == Kind.NUMBER, index]
    is_whole = bool((numbers == np.floor(numbers)).all())
    return (is_whole and says(header, *COUNTS)) or _are_set(numbers)


def _are_set(numbers: NDArray[np.float64]) -> bool:
    """Tell whether a few numbers stand equally often: levels of something that was varied, such as
    grams of seed.
    """
    levels, counts = np.unique(numbers, return_counts=True)
    return 1 < len(levels) <= MOST_LEVELS and counts[0] > 1 and bool((counts == counts[0]).all())


def _with_list(table: Table, other: Table, sheets: Sequence[Sheet]) -> Table:
    """Return a table with the columns of a list.

    The table itself where the list is none of its units.
    """
    if table.is_key or table.is_fields or other.key == table.key:
        return table
    id_column = _column_of_ids(table, other, sheets)
    new = _new_columns(table, other)
    if id_column is None or not new:
        return table
    rows = _rows_of_ids(column_labels(table, id_column, sheets)[0].tolist(), other)
    levels = len(table.columns[0].over)
    columns = list(table.columns)
    for index in new:
        column = other.columns[index]
        columns.append(replace(column, over=_over(column, levels)))
    no_letters = (0,) * len(new)
    blocks = [replace(block, letters=block.letters + no_letters) for block in table.blocks]
    return replace(
        table,
        blocks=tuple(blocks),
        columns=tuple(columns),
        kind=np.hstack([table.kind, _picked(other.kind, rows, new, Kind.BLANK)]),
        text=np.hstack([table.text, _picked(other.text, rows, new, "")]),
        number=np.hstack([table.number, _picked(other.number, rows, new, np.nan)]),
        moment=np.hstack([table.moment, _picked(other.moment, rows, new, np.datetime64("NaT"))]),
        lists=(*table.lists, other.key),
    )


def _new_columns(table: Table, other: Table) -> list[int]:
    """Return the columns of a list whose headers a table lacks."""
    headers = {_folded(column) for column in table.columns}
    columns = _list_columns(other)
    return [index for index in columns if _folded(other.columns[index]) not in headers]


def _rows_of_ids(labels: Sequence[str], other: Table) -> NDArray[np.intp]:
    """Return the row of a list for each label, -1 where it has none."""
    row_of = {}
    for row, text in enumerate(other.text[:, 0].tolist()):
        row_of[code(tidy(text))] = row
    return np.array([row_of.get(code(label), -1) for label in labels], np.intp)


def _column_of_ids(table: Table, other: Table, sheets: Sequence[Sheet]) -> int | None:
    """Return the column of a table that holds the ids of a list, under the same header.

    None where there is none.
    """
    ids = {code(tidy(text)) for text in other.text[:, 0].tolist()}
    for index, column in enumerate(table.columns):
        if _folded(column) != _folded(other.columns[0]) or not column.header:
            continue
        labels = filter(None, column_labels(table, index, sheets)[0].tolist())
        codes = set(map(code, labels))
        matches = codes & ids
        if matches and len(matches) >= SHARE_KNOWN * len(codes):
            return index
    return None


def _folded(column: Column) -> str:
    return tidy(column.header).casefold()


def _over(column: Column, levels: int) -> tuple[str, ...]:
    return tuple(column.header if level == levels - 1 else "" for level in range(levels))


def _picked(
    cells: NDArray[T], rows: NDArray[np.intp], columns: Sequence[int], blank: object
) -> NDArray[T]:
    """Return the cells of some rows and columns of a list, blank where a row is -1."""
    chosen = np.array(cells[rows][:, columns])
    chosen[rows < 0] = np.array([blank]).astype(cells.dtype)
    return chosen
