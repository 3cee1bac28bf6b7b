"""Small lists of units beside a table, such as `Tray | plants`: their numbers and days become
columns of the table.
"""

from collections import Counter
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
    lists = [table for table in found.tables if _told(table)]
    tables = []
    for table in found.tables:
        wider = table
        for other in lists:
            wider = _with_list(wider, other, sheets)
        tables.append(wider)
    joined = {key for table in tables for key in table.lists}
    return replace(
        found,
        tables=tuple(replace(each, is_key=each.is_key or each.key in joined) for each in tables),
    )


def _told(table: Table) -> list[int]:
    """Return the columns of a list of units that tell numbers of plants, days or levels, none of
    another table.
    """
    if (
        not 2 <= len(table.columns) <= MOST_COLUMNS
        or not 2 <= len(table.row) <= MOST_ROWS
        or table.is_fields
    ):
        return []
    ids = [code(tidy(text)) for text in table.text[:, 0].tolist()]
    if "" in ids or len(set(ids)) < len(ids):
        return []
    told = []
    for index, column in enumerate(table.columns[1:], 1):
        kinds = set(table.kind[:, index].tolist()) - {Kind.BLANK}
        if kinds <= {Kind.TEXT, Kind.MISSING}:
            continue
        numbers = table.number[table.kind[:, index] == Kind.NUMBER, index]
        is_count = (
            kinds == {Kind.NUMBER}
            and says(column.header, *COUNTS)
            and (numbers == np.floor(numbers)).all()
        )
        is_day = kinds == {Kind.MOMENT} and says(column.header, *DAYS)
        is_level = kinds == {Kind.NUMBER} and _are_set(numbers)
        if not is_count and not is_day and not is_level:
            return []
        told.append(index)
    return told


def _are_set(numbers: NDArray[np.float64]) -> bool:
    """Tell whether a few numbers stand equally often: levels of something that was varied, such as
    grams of seed.
    """
    levels, counts = np.unique(numbers, return_counts=True)
    return 1 < len(levels) <= MOST_LEVELS and counts[0] > 1 and bool((counts == counts[0]).all())


def _with_list(table: Table, other: Table, sheets: Sequence[Sheet]) -> Table:
    """Return a table with the columns of a list, the table itself where the list is none of its
    units.
    """
    at = _column_of_ids(table, other, sheets)
    headers = {_folded(column) for column in table.columns}
    taken = [index for index in _told(other) if _folded(other.columns[index]) not in headers]
    if at is None or not taken or table.is_key or table.is_fields or other.key == table.key:
        return table
    row_of = {code(tidy(text)): row for row, text in enumerate(other.text[:, 0].tolist())}
    labels = column_labels(table, at, sheets)[0].tolist()
    rows = np.array([row_of.get(code(label), -1) for label in labels], np.intp)
    levels = len(table.columns[0].over)
    columns = [
        replace(other.columns[index], over=_over(other.columns[index], levels)) for index in taken
    ]
    blocks = [
        replace(block, letters=(*block.letters, *(0 for _ in taken))) for block in table.blocks
    ]
    return replace(
        table,
        blocks=tuple(blocks),
        columns=(*table.columns, *columns),
        kind=np.hstack([table.kind, _picked(other.kind, rows, taken, Kind.BLANK)]),
        text=np.hstack([table.text, _picked(other.text, rows, taken, "")]),
        number=np.hstack([table.number, _picked(other.number, rows, taken, np.nan)]),
        moment=np.hstack([table.moment, _picked(other.moment, rows, taken, np.datetime64("NaT"))]),
        lists=(*table.lists, other.key),
    )


def _column_of_ids(table: Table, other: Table, sheets: Sequence[Sheet]) -> int | None:
    """Return the column of a table that holds the ids of a list, under the same header; None where
    none does.
    """
    ids = {code(tidy(text)) for text in other.text[:, 0].tolist()}
    for index, column in enumerate(table.columns):
        if _folded(column) != _folded(other.columns[0]) or not column.header:
            continue
        labels = Counter(
            code(label) for label in column_labels(table, index, sheets)[0].tolist() if label
        )
        known = sum(label in ids for label in labels)
        if known and known >= SHARE_KNOWN * len(labels):
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
