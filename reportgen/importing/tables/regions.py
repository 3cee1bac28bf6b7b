"""Divide a sheet into regions: rectangles of cells with blank rows and columns around them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.tables import Area
from reportgen.importing.tables.pieces import pieces_of, runs_of
from reportgen.importing.tables.units import UNITS

MOST_REGIONS = 400  # a sheet in more pieces has no blank rows that part anything
FEWEST_ROWS = 3
FEWEST_RUNS = 1
MOST_BLANK_COLUMNS = 2
ALIGNED = 0.85  # share of rows that stand on both sides of a blank column
VALUE_KINDS = (Kind.NUMBER, Kind.MOMENT, Kind.MISSING, Kind.LOST)


@dataclass(frozen=True)
class Region:
    """A rectangle of a sheet: views of its arrays, of shape (rows, columns)."""

    sheet: int
    source: Sheet
    area: Area

    @property
    def kind(self) -> NDArray[np.uint8]:
        """Return the kinds of the cells."""
        return self.source.kind[self._slices()]

    @property
    def text(self) -> NDArray[np.object_]:
        """Return the texts of the cells."""
        return self.source.text[self._slices()]

    @property
    def number(self) -> NDArray[np.float64]:
        """Return the numbers of the cells, nan where none."""
        return self.source.number[self._slices()]

    @property
    def moment(self) -> NDArray[np.datetime64]:
        """Return the moments of the cells, NaT where none."""
        return self.source.moment[self._slices()]

    def rows(self, first: int, last: int) -> "Region":
        """Return the rows `first` to `last` (from 0, ends included) as a region."""
        top = self.area.first_row
        area = Area(top + first, self.area.first_column, top + last, self.area.last_column)
        return Region(self.sheet, self.source, area)

    def columns(self, first: int, last: int) -> "Region":
        """Return the columns `first` to `last` (from 0, ends included) as a region."""
        left = self.area.first_column
        area = Area(self.area.first_row, left + first, self.area.last_row, left + last)
        return Region(self.sheet, self.source, area)

    def trimmed(self) -> "Region | None":
        """Return the region without blank rows and columns at its edges, None where all is blank."""
        filled = self.kind != Kind.BLANK
        rows = np.flatnonzero(filled.any(axis=1))
        columns = np.flatnonzero(filled.any(axis=0))
        if rows.size == 0:
            return None
        return self.rows(int(rows[0]), int(rows[-1])).columns(int(columns[0]), int(columns[-1]))

    def merged(self) -> list[tuple[int, int, int, int]]:
        """Return the merged ranges that begin inside, rows and columns from 0."""
        area = self.area
        inside = []
        for first_row, first_column, last_row, last_column in self.source.merged:
            row_inside = area.first_row <= first_row <= area.last_row
            column_inside = area.first_column <= first_column <= area.last_column
            if row_inside and column_inside:
                top, left = area.first_row, area.first_column
                inside.append(
                    (first_row - top, first_column - left, last_row - top, last_column - left)
                )
        return inside

    def _slices(self) -> tuple[slice, slice]:
        area = self.area
        rows = slice(area.first_row - 1, area.last_row)
        columns = slice(area.first_column - 1, area.last_column)
        return rows, columns


def regions_of(index: int, sheet: Sheet) -> list[Region]:
    """Return the regions of a sheet from top to bottom, then from left to right."""
    filled = sheet.kind != Kind.BLANK
    if not filled.any():
        return []
    _bridge_blank_columns(filled, sheet)
    areas = pieces_of(filled)
    if len(areas) > MOST_REGIONS:
        whole = Region(index, sheet, Area(1, 1, *sheet.kind.shape)).trimmed()
        if whole:
            return [whole]
        return []
    merged = merge_overlaps(areas)
    merged.sort(key=lambda area: (area.first_row, area.first_column))
    return [Region(index, sheet, area) for area in merged]


def _bridge_blank_columns(filled: NDArray[np.bool_], sheet: Sheet) -> None:
    """Fill blank columns that part a table only for looks: the same rows on both sides, with other
    headers.

    A column may be blank in the whole sheet, or between two blank rows, as another table below uses
    it.
    """
    elsewhere = np.asarray(filled.any(axis=0))
    _bridge_in_rows(filled, sheet, 0, ~elsewhere)
    for rows in runs_of(np.asarray(filled.any(axis=1)))[:MOST_REGIONS]:
        if len(rows) >= FEWEST_ROWS:
            _bridge_in_rows(filled[rows[0] : rows[-1] + 1], sheet, int(rows[0]), elsewhere)


def _bridge_in_rows(
    filled: NDArray[np.bool_], sheet: Sheet, first_row: int, may_bridge: NDArray[np.bool_]
) -> None:
    """Fill those blank columns of some rows that may be bridged, in place.

    `filled` are the cells of the rows, `first_row` (from 0) is the first of them in the sheet.
    """
    used = np.asarray(filled.any(axis=0))
    for columns in runs_of(~used)[:MOST_REGIONS]:
        if len(columns) > MOST_BLANK_COLUMNS or not may_bridge[columns].all():
            continue
        first, after = int(columns[0]), int(columns[-1]) + 1
        left = slice(_start_of_run(used, first), first)
        right = slice(after, _end_of_run(used, after))
        if not used[left].any() or not used[right].any():
            continue
        rows = _rows_on_both_sides(filled, sheet, left, right, first_row)
        if rows:
            filled[np.ix_(np.array(rows), columns)] = True
            used[columns] = True


def _start_of_run(used: NDArray[np.bool_], end: int) -> int:
    """Return the first of the used columns that run up to `end`."""
    blank = np.flatnonzero(~used[:end])
    if blank.size:
        return int(blank[-1]) + 1
    return 0


def _end_of_run(used: NDArray[np.bool_], start: int) -> int:
    """Return the column after the used ones that run on from `start`."""
    blank = np.flatnonzero(~used[start:])
    if blank.size:
        return start + int(blank[0])
    return len(used)


def _rows_on_both_sides(
    filled: NDArray[np.bool_], sheet: Sheet, left: slice, right: slice, first_row: int
) -> list[int]:
    """Return the rows that stand on both sides, by pieces between blank rows.

    Labels may stand in the first row of a group only: a side with gaps counts as filled down to the
    end of its piece.
    """
    several = filled.sum(axis=1) > 1
    on_left = filled[:, left].any(axis=1) & several
    on_right = filled[:, right].any(axis=1) & several
    bridged: list[int] = []
    on_one_side = 0
    for piece in runs_of(on_left | on_right)[:MOST_REGIONS]:
        both = piece[_filled_down(on_left[piece]) & _filled_down(on_right[piece])]
        if both.size == 0:
            on_one_side += _headless_rows(sheet, first_row + piece)
            continue
        if _any_shares_header(sheet, first_row + both[:FEWEST_ROWS], left, right):
            return []
        rows = piece[piece >= both[0]]  # levels of a header stand above one side only
        if len(both) >= ALIGNED * len(rows):
            bridged += both.tolist()
        elif bridged:
            on_one_side += _headless_rows(sheet, first_row + rows)
        else:
            return []
    if len(bridged) >= max(FEWEST_ROWS, on_one_side):
        return bridged
    return []


def _headless_rows(sheet: Sheet, rows: NDArray[np.intp]) -> int:
    """Return how many rows go on below one side alone, without a header of their own."""
    if is_value(sheet.kind[rows[0]]).any():
        return len(rows)
    return 0


def _any_shares_header(sheet: Sheet, rows: NDArray[np.intp], left: slice, right: slice) -> bool:
    return any(_share_header(sheet, row, left, right) for row in rows.tolist())


def _filled_down(present: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return where a side holds labels: where it has several runs, from the first to the end.

    A small table whose last row stands far above the end is no such side.
    """
    starts = np.flatnonzero(np.diff(present.astype(np.int8), prepend=0) == 1)
    if len(starts) <= FEWEST_RUNS or starts[-1] < len(present) / 2:
        return present
    return np.logical_or.accumulate(present)


def _share_header(sheet: Sheet, row: int, left: slice, right: slice) -> bool:
    """Tell whether the first text on the left stands on the right, too: then each side has a header
    of its own.
    """
    is_text = sheet.kind[row] == Kind.TEXT
    texts = [str(text).strip().casefold() for text in sheet.text[row, left][is_text[left]]]
    others = {str(text).strip().casefold() for text in sheet.text[row, right][is_text[right]]}
    return bool(texts) and texts[0] in others and texts[0] not in UNITS


def merge_overlaps(areas: list[Area]) -> list[Area]:
    """Return rectangles of which no two overlap."""
    waiting = list(areas)
    merged: list[Area] = []
    while waiting:
        area = waiting.pop()
        overlapping = [other for other in merged if overlap(area, other)]
        if not overlapping:
            merged.append(area)
            continue
        for other in overlapping:
            merged.remove(other)
            area = union(area, other)
        waiting.append(area)
    return merged


def overlap(first: Area, second: Area) -> bool:
    """Tell whether two rectangles share a cell."""
    rows_apart = first.last_row < second.first_row or second.last_row < first.first_row
    columns_apart = (
        first.last_column < second.first_column or second.last_column < first.first_column
    )
    return not rows_apart and not columns_apart


def union(first: Area, second: Area) -> Area:
    """Return the smallest rectangle that holds both."""
    return Area(
        min(first.first_row, second.first_row),
        min(first.first_column, second.first_column),
        max(first.last_row, second.last_row),
        max(first.last_column, second.last_column),
    )


def is_value(kind: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Tell for each cell whether it holds a number, a moment, or a word in place of one."""
    return np.isin(kind, VALUE_KINDS)
