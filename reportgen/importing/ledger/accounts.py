"""Account for every number: read, label, header, key, statistic, left out, or not explained."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.ledger.marks import Marks, places_of_rows
from reportgen.importing.ledger.statistics import mark_means_of_totals, mark_statistics
from reportgen.importing.long_form import STATISTIC, amended, column_indexes
from reportgen.importing.model import long
from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.layouts import NOTHING, CarrierKind, Layout, Source
from reportgen.importing.model.questions import Fate, Ledger
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found, Table

READ: Final = (
    "value",
    "zero",
    "lost",
    "missing",
)  # a number that was lost is one that its owner corrected to a word
NO_PART: Final = "no part of the trial"
OTHER_LABEL: Final = "belongs to something else"
NOT_READ: Final = "column not read"
OF_CONDITIONS: Final = ("Solution", "Meter", "Light", "Climate")
BESIDE: Final = "beside the tables"
FEWEST_ALIKE: Final = 3  # equal numbers that tell nothing of single plants


@dataclass(frozen=True)
class LaidOut:
    """A layout, its table, and what was read of it."""

    layout: Layout
    table: Table
    frame: pd.DataFrame

    @property
    def is_read(self) -> bool:
        """Tell whether the table is part of the trial."""
        return self.layout.gives != NOTHING


def ledger(
    sheets: Sequence[Sheet], found: Found, settings: Settings, frame: pd.DataFrame
) -> Ledger:
    """Return the fate of each number of the sheets; every one stands in exactly one entry.

    frame: as `long_form.melt` gave it.
    """
    marks = Marks(sheets)
    laid_out = _laid_out(found, settings, frame)
    read = [part for part in laid_out if part.is_read]
    unread = [part for part in laid_out if not part.is_read]
    _mark_values(marks, frame)
    for part in read:
        _mark_row_companions(marks, part)
    for part in laid_out:
        _mark_left_out(marks, part, sheets, settings)
    for part in read:
        _mark_labels(marks, part)
    sheets_read: set[int] = set()
    for part in read:
        _mark_rest_of_table(marks, part, sheets)
        sheets_read.update(block.sheet for block in part.table.blocks)
    _mark_surroundings(marks, found, sheets)
    _mark_keys(marks, found, settings)
    for part in unread:
        _mark_whole(marks, part.table, Fate.LEFT_OUT, part.layout.because or NO_PART)
    _mark_loose(marks, found, sheets_read)
    return Ledger(marks.entries(range(len(sheets)), Fate.UNEXPLAINED))


def _laid_out(found: Found, settings: Settings, frame: pd.DataFrame) -> list[LaidOut]:
    tables = {table.key: table for table in found.tables}
    parts = []
    for index, layout in enumerate(settings.layouts):
        if layout.table in tables:
            parts.append(LaidOut(layout, tables[layout.table], frame[frame[long.LAYOUT] == index]))
    return parts


def _mark_rest_of_table(marks: Marks, part: LaidOut, sheets: Sequence[Sheet]) -> None:
    """Mark statistics, the labels beside them, and columns of conditions that are not read."""
    for computed in part.table.computed:
        mark_statistics(marks, computed, sheets)
    for values in part.layout.values:
        mark_means_of_totals(marks, part.table, values, sheets)
    _mark_labels_of_statistics(marks, part)
    if part.layout.gives in OF_CONDITIONS:
        _mark_other_columns(marks, part)


def _mark_values(marks: Marks, frame: pd.DataFrame) -> None:
    values = frame[
        frame[long.STATE] != "blank"
    ]  # a number that its owner corrected to a word is among them
    for sheet, rows in values.groupby(long.SHEET):
        places = rows[[long.ROW, long.COLUMN]].to_numpy(dtype=np.intp)
        marks.put(int(str(sheet)), places[:, 0], places[:, 1], Fate.READ)


def _mark_row_companions(marks: Marks, part: LaidOut) -> None:
    """Mark what goes into values from other columns: numbers of plants, tares, ounces beside
    pounds.
    """
    names = []
    for values in part.layout.values:
        names += [values.count, values.tare, values.area_column, *(name for name, _ in values.plus)]
    columns = column_indexes(part.table, [name for name in names if name])
    if columns:
        marks.put_cells(
            places_of_rows(part.table, _rows_in(part.table, part.frame), columns), Fate.READ
        )


def _mark_left_out(
    marks: Marks, part: LaidOut, sheets: Sequence[Sheet], settings: Settings
) -> None:
    reasons = amended(part.table, part.layout, sheets, settings.conventions).reasons
    for because in dict.fromkeys(reasons.values()):
        cells = [cell for cell, reason in reasons.items() if reason == because]
        marks.put_cells(cells, Fate.LEFT_OUT, because)


def _mark_labels(marks: Marks, part: LaidOut) -> None:
    """Mark columns of labels, and rows that the layout keeps out by their label."""
    layout, table, frame = part.layout, part.table, part.frame
    all_rows = np.ones(len(table.row), dtype=np.bool_)
    if layout.only:
        others = ~_rows_in(table, frame)
        cells = places_of_rows(table, others, range(len(table.columns)))
        marks.put_cells(cells, Fate.LEFT_OUT, OTHER_LABEL)
    names = [*columns_of_labels(layout), *layout.columns.values(), *layout.only]
    labels = column_indexes(table, names)
    if not frame.empty:
        labels += _further_labels(table, frame, {*labels, *_columns_of_values(part)})
    marks.put_cells(places_of_rows(table, all_rows, labels), Fate.LABEL)


def _mark_labels_of_statistics(marks: Marks, part: LaidOut) -> None:
    """Mark numbers that name the rows of the owner's statistics, such as a tray's; values are not
    among them.
    """
    of_values = _columns_of_values(part)
    for index, row, reason in part.table.left_out:
        if reason == STATISTIC:
            block = part.table.blocks[index]
            letters = [
                letter for column, letter in enumerate(block.letters) if column not in of_values
            ]
            marks.put_cells([(block.sheet, row, letter) for letter in letters], Fate.LABEL)


def _mark_other_columns(marks: Marks, part: LaidOut) -> None:
    """Mark columns of a log of conditions that are not read, unless they may belong to those that
    stand side by side.

    A meter that was added beside others is still to be explained; a column of nitrate beside pH is
    not.
    """
    table = part.table
    wide_units: set[str] = set()
    for values in part.layout.values:
        columns = column_indexes(table, values.columns)
        if len(columns) > 1:
            wide_units.update(table.columns[column].unit for column in columns)
    others = [index for index, column in enumerate(table.columns) if column.unit not in wide_units]
    all_rows = np.ones(len(table.row), dtype=np.bool_)
    marks.put_cells(places_of_rows(table, all_rows, others), Fate.LEFT_OUT, NOT_READ)


def columns_of_labels(layout: Layout) -> list[str]:
    """Return the columns that a layout takes labels from."""
    sources: list[Source] = [*layout.dimensions.values(), *layout.factors.values()]
    carriers = [carrier for source in sources for carrier in source.carriers]
    return [carrier.name for carrier in carriers if carrier.kind is CarrierKind.COLUMN]


def _columns_of_values(part: LaidOut) -> list[int]:
    names = [name for values in part.layout.values for name in values.columns]
    return column_indexes(part.table, names)


def _further_labels(table: Table, frame: pd.DataFrame, known: set[int]) -> list[int]:
    """Return the columns whose numbers count rows, or are the same all over or all over a
    treatment.
    """
    has_numbers = (table.kind == Kind.NUMBER).any(axis=0)
    others = [index for index in np.flatnonzero(has_numbers).tolist() if index not in known]
    if not others:
        return []
    treatments = _treatments_of_rows(table, frame)
    return [index for index in others if _is_further_label(table, index, treatments)]


def _is_further_label(table: Table, index: int, treatments: NDArray[np.object_]) -> bool:
    is_number = table.kind[:, index] == Kind.NUMBER
    numbers = table.number[is_number, index]
    distinct = np.unique(numbers)
    is_constant = len(distinct) == 1 and len(numbers) >= FEWEST_ALIKE
    if is_constant:
        return True
    if np.array_equal(distinct, np.arange(1, len(distinct) + 1)):
        return True
    of_rows = pd.DataFrame({"treatment": treatments[is_number], "number": numbers})
    of_rows = of_rows[of_rows["treatment"] != ""]
    by_treatment = of_rows.groupby("treatment")["number"]
    if len(by_treatment) < 2:
        return False
    return bool((by_treatment.nunique() == 1).all() and (by_treatment.size() >= FEWEST_ALIKE).all())


def _treatments_of_rows(table: Table, frame: pd.DataFrame) -> NDArray[np.object_]:
    treatment_of = dict(
        zip(
            zip(frame[long.SHEET], frame[long.ROW], strict=True), frame[long.TREATMENT], strict=True
        )
    )
    keys = _keys_of_rows(table)
    return np.array([treatment_of.get(key, "") for key in keys], dtype=object)


def _rows_in(table: Table, frame: pd.DataFrame) -> NDArray[np.bool_]:
    """Tell which rows of a table the frame has values of, (rows,)."""
    present = set(zip(frame[long.SHEET], frame[long.ROW], strict=True))
    return np.array([key in present for key in _keys_of_rows(table)], dtype=np.bool_)


def _keys_of_rows(table: Table) -> list[tuple[int, int]]:
    sheets = [table.blocks[block].sheet for block in table.block.tolist()]
    return list(zip(sheets, table.row.tolist(), strict=True))


def _mark_surroundings(marks: Marks, found: Found, sheets: Sequence[Sheet]) -> None:
    """Mark headers, rows of units, titles and fields above tables."""
    for table in found.tables:
        for block in table.blocks:
            letters = np.arange(block.area.first_column, block.area.last_column + 1)
            for row in block.header_rows:
                marks.put(block.sheet, np.full(len(letters), row), letters, Fate.HEADER)
            if block.unit_row:
                marks.put(block.sheet, np.full(len(letters), block.unit_row), letters, Fate.UNIT)
            marks.put_cells([(block.sheet, *place) for _, place in block.titles], Fate.HEADER)
        _mark_sections(marks, table, sheets)


def _mark_sections(marks: Marks, table: Table, sheets: Sequence[Sheet]) -> None:
    """Mark numbers that stand alone above their rows, such as the treatment 10."""
    sections = set(table.section.tolist()) - {""}
    if not sections:
        return
    body = set(_keys_of_rows(table))
    for block in table.blocks:
        texts = sheets[block.sheet].text
        for row in range(block.area.first_row, block.area.last_row + 1):
            if (block.sheet, row) in body:
                continue
            letters = range(block.area.first_column, block.area.last_column + 1)
            alone = [letter for letter in letters if texts[row - 1, letter - 1] in sections]
            marks.put_cells([(block.sheet, row, letter) for letter in alone], Fate.HEADER)


def _mark_keys(marks: Marks, found: Found, settings: Settings) -> None:
    """Mark tables that spell codes in use or hold fields."""
    looked_up = _looked_up(found, settings)
    for table in found.tables:
        if table.is_fields or table.key in looked_up:
            _mark_whole(marks, table, Fate.KEY)


def _looked_up(found: Found, settings: Settings) -> set[str]:
    """Return the keys of tables that spell labels, or were joined as lists of units."""
    keys = set()
    for layout in settings.layouts:
        for source in layout.dimensions.values():
            if source.lookup:
                keys.add(source.lookup.table)
    read = {layout.table for layout in settings.layouts if layout.gives != NOTHING}
    for table in found.tables:
        if table.key in read:
            keys.update(table.lists)
    return keys


def _mark_whole(marks: Marks, table: Table, fate: Fate, because: str = "") -> None:
    """Mark all cells within a table's blocks, its statistics too."""
    for block in table.blocks:
        area = block.area
        grid = np.mgrid[
            area.first_row : area.last_row + 1, area.first_column : area.last_column + 1
        ]
        marks.put(block.sheet, grid[0].ravel(), grid[1].ravel(), fate, because)


def _mark_loose(marks: Marks, found: Found, read: set[int]) -> None:
    """Mark numbers outside tables on sheets of which nothing is read."""
    for loose in found.loose:
        if loose.sheet not in read:
            marks.put_cells([(loose.sheet, *cell) for cell in loose.cells], Fate.LEFT_OUT, BESIDE)
