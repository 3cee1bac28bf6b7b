"""The owner's statistics, checked against what was read."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.ledger.cells import Finding, by_sheet
from reportgen.importing.ledger.marks import Cell, Marks, places_of_rows
from reportgen.importing.long_form import column_indexes
from reportgen.importing.model import long
from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.layouts import Covers, Values
from reportgen.importing.model.questions import Fate, Ledger
from reportgen.importing.model.tables import Computed, Found, Statistic, Table
from reportgen.importing.words import says
from reportgen.language import figure, marked, say
from reportgen.model.problem import Problem
from reportgen.workbook.units import UnitError, conversion

READ: Final = ("value", "zero")
ACCOUNTED: Final = (Fate.READ, Fate.LEFT_OUT, Fate.AGREES)
ROUNDING: Final = 0.5000001  # of the last digit that a statistic is written with
RELATIVE: Final = 1e-6  # of what formulas computed
MEND: Final = marked(
    "Mend the number or the values, or name its cell under left_out of the table in the settings"
    " file."
)
STATISTICS: Final = {
    Statistic.SUM: marked("sum"),
    Statistic.MEAN: marked("mean"),
    Statistic.COUNT: marked("count"),
    Statistic.SPREAD: marked("spread"),
    Statistic.DIFFERENCE: marked("difference"),
    Statistic.OTHER: marked("other"),
}
CELL_COLUMNS: Final = [long.SHEET, long.ROW, long.COLUMN]
PLACED_BY: Final = [
    long.QUANTITY, long.TREATMENT, long.BLOCK, long.UNIT, long.PLANT, long.OCCASION, long.EVENT, long.METER, long.GRADE,
]  # fmt: skip
REPEATED: Final = ("Volume",)  # poured again on the same day
CELL_TWICE: Final = Finding(
    "read_twice",
    marked("is read as two values"),
    marked("each number to be read once"),
    marked("In the settings file, let one table or one quantity hold it."),
)
PLANT_TWICE: Final = Finding(
    "value_twice",
    marked("is of a plant or unit that another table has a value of, too"),
    marked("one table for each value"),
    marked("Run reportgen adopt on the log again and say which table is no part of the trial."),
)


@dataclass(frozen=True)
class Stated:
    """One number of the owner's, and the cells that it is a statistic of."""

    computed: Computed
    index: int
    of: tuple[Cell, ...]

    @property
    def cell(self) -> Cell:
        """Return where it stands."""
        return self.computed.cells[self.index]


def mark_statistics(marks: Marks, computed: Computed, sheets: Sequence[Sheet]) -> None:
    """Mark the statistics that agree with what was read, and those that do not."""
    for stated in _each(computed):
        if _agrees(stated, marks, sheets):
            fate = Fate.AGREES
        else:
            fate = Fate.DISAGREES
        marks.put_cells([stated.cell], fate, computed.label)


def mark_means_of_totals(
    marks: Marks, table: Table, values: Values, sheets: Sequence[Sheet]
) -> None:
    """Mark the owner's means of plants that a total and its number of plants, both read, give on
    their row.

    A mean that differs keeps no mark, so that its owner is asked about it.
    """
    if values.covers is not Covers.UNIT or not values.count or len(values.columns) != 1:
        return
    columns = column_indexes(table, (*values.columns, values.count))
    if len(columns) < 2:  # a column that vanished: drift tells
        return
    total, count = columns
    for column, head in enumerate(table.columns):
        if column != total and says(head.header, "mean", "per_plant"):
            _mark_means(marks, table, (total, count, column), sheets)


def _mark_means(
    marks: Marks, table: Table, columns: tuple[int, int, int], sheets: Sequence[Sheet]
) -> None:
    """Mark the means of one column that fit; `columns` are the indexes of the total, its count and
    the mean.
    """
    head_of_total, _, head_of_mean = (table.columns[column] for column in columns)
    try:
        factor, _ = conversion(head_of_total.unit, head_of_mean.unit)
    except UnitError:
        return
    rows = (table.kind[:, columns] == Kind.NUMBER).all(axis=1)
    cells_by_column = [places_of_rows(table, rows, [column]).tolist() for column in columns]
    for total_cell, count_cell, mean_cell in zip(*cells_by_column, strict=True):
        total, of_total = _with_tolerance(total_cell, sheets)
        mean, of_mean = _with_tolerance(mean_cell, sheets)
        plants = _number(count_cell, sheets)
        allowed = of_mean * plants + of_total * factor
        if plants > 0 and abs(mean * plants - total * factor) <= allowed:
            marks.put_cells([mean_cell], Fate.AGREES, head_of_mean.name)


def disagreements(
    sheets: Sequence[Sheet], found: Found, frame: pd.DataFrame, accounts: Ledger
) -> tuple[Problem, ...]:
    """Return an error for each statistic of the owner's that is not that of what was read, and for
    cells read twice.
    """
    read = _cells_with(accounts, Fate.READ)
    disagreeing = _cells_with(accounts, Fate.DISAGREES)
    problems = []
    for table in found.tables:
        for computed in table.computed:
            for stated in _each(computed):
                if stated.cell in disagreeing:
                    disagreeing.discard(stated.cell)
                    problems.append(_disagrees(stated, read, sheets))
    return (*problems, *_read_twice(frame, sheets))


def _each(computed: Computed) -> Iterator[Stated]:
    """Yield each number: of a column of statistics that of its row, of a row of statistics that of
    its column.
    """
    along_row = computed.column >= 0
    sources: dict[tuple[int, int], list[Cell]] = {}
    for sheet, row, column in computed.of:
        sources.setdefault((sheet, row if along_row else column), []).append((sheet, row, column))
    for index, (sheet, row, column) in enumerate(computed.cells):
        of = sources.get((sheet, row if along_row else column), [])
        yield Stated(computed, index, tuple(of))


def _agrees(stated: Stated, marks: Marks, sheets: Sequence[Sheet]) -> bool:
    """Tell whether a statistic holds of its cells.

    All of them were read or left out, or it holds of those that were read.
    """
    numbers = [cell for cell in stated.of if not np.isnan(_number(cell, sheets))]
    fates = {cell: marks.fate_of(cell) for cell in numbers}
    if stated.computed.agrees and set(fates.values()) <= set(ACCOUNTED):
        return True
    read = [cell for cell in numbers if fates[cell] is Fate.READ]
    if not read:
        return stated.computed.agrees
    expected = _statistics_of(stated.computed.statistic, _numbers(read, sheets))
    number, tolerance = _with_tolerance(stated.cell, sheets)
    return any(abs(number - other) <= tolerance for other in expected)


def _with_tolerance(cell: Cell, sheets: Sequence[Sheet]) -> tuple[float, float]:
    """Return the number in a cell, and by how much it may differ from what it was computed as."""
    sheet, row, column = cell
    number = _number(cell, sheets)
    text = str(sheets[sheet].text[row - 1, column - 1]).replace(",", ".")
    if "." in text:
        decimals = len(text.rpartition(".")[2])
    else:
        decimals = 0
    return number, max(ROUNDING * 10.0**-decimals, abs(number) * RELATIVE)


def _number(cell: Cell, sheets: Sequence[Sheet]) -> float:
    sheet, row, column = cell
    return float(sheets[sheet].number[row - 1, column - 1])


def _numbers(cells: Sequence[Cell], sheets: Sequence[Sheet]) -> NDArray[np.float64]:
    return np.array([_number(cell, sheets) for cell in cells])


def _statistics_of(statistic: Statistic, values: NDArray[np.float64]) -> tuple[float, ...]:
    """Return what the statistic of values may be; empty where it depends on more than the values."""
    if statistic is Statistic.SUM:
        return (float(values.sum()),)
    if statistic is Statistic.MEAN:
        return (float(values.mean()),)
    if statistic is Statistic.COUNT:
        return (float(len(values)),)
    if statistic is Statistic.SPREAD and len(values) > 1:
        deviation = float(values.std(ddof=1))
        return deviation, float(values.std()), deviation / float(np.sqrt(len(values)))
    return ()


def _cells_with(accounts: Ledger, fate: Fate) -> set[Cell]:
    cells: set[Cell] = set()
    for entry in accounts.entries:
        if entry.fate is fate:
            cells.update(entry.cells)
    return cells


def _disagrees(stated: Stated, read: set[Cell], sheets: Sequence[Sheet]) -> Problem:
    cells = [cell for cell in stated.of if cell in read]
    statistic = stated.computed.statistic
    if cells:
        expected = _statistics_of(statistic, _numbers(cells, sheets))
    else:
        expected = ()
    text = say(
        "the {statistic} of the {number} values that were read",
        statistic=say(STATISTICS[statistic]),
        number=len(cells),
    )
    if expected:
        text = f"{figure(f'{expected[0]:g}')}, {text}"
    label = stated.computed.label or say(STATISTICS[statistic])
    says_now = figure(f"{_number(stated.cell, sheets):g}")
    found = say('says {number} as "{label}"', number=says_now, label=label)
    return Finding("statistic_disagrees", found, text, say(MEND)).at([stated.cell], sheets)


def _read_twice(frame: pd.DataFrame, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    """Yield an error for each sheet with numbers that are read as two values, or that stand for a
    value of another.
    """
    read = frame[frame[long.STATE].isin(READ)]
    cells = read[CELL_COLUMNS]
    yield from _twice(cells[cells.duplicated()].drop_duplicates(), CELL_TWICE, sheets)
    placed = read[(read[long.UNIT] != "") & ~read[long.QUANTITY].isin(REPEATED)]
    tables = placed.groupby(PLACED_BY, sort=False)[long.LAYOUT].transform("nunique")
    yield from _twice(placed.loc[tables > 1, CELL_COLUMNS], PLANT_TWICE, sheets)


def _twice(places: pd.DataFrame, finding: Finding, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    cells = [
        (int(sheet), int(row), int(column)) for sheet, row, column in places.itertuples(index=False)
    ]
    for of_sheet in by_sheet(cells).values():
        said = Finding(finding.code, say(finding.found), say(finding.expected), say(finding.advice))
        yield said.at(of_sheet, sheets)
