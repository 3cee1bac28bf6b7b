"""The owner's statistics, checked against what was read."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.ledger.cells import Finding
from reportgen.importing.ledger.marks import Cell
from reportgen.importing.model import long
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import NOTHING
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Computed, Found, Statistic
from reportgen.model.problem import Problem

READ: Final = ("value", "zero")
ROUNDING: Final = 0.5000001  # of the last digit that a statistic is written with
RELATIVE: Final = 1e-6  # of what formulas computed
LEAVE_OUT: Final = "Mend the number or the values, or leave its row out of the log."


def disagreements(
    sheets: Sequence[Sheet], found: Found, settings: Settings, frame: pd.DataFrame
) -> tuple[Problem, ...]:
    """Return an error for each statistic of the owner's that is not that of what was read, and for cells read twice."""
    problems = []
    for computed, agrees in checked_statistics(found, settings, frame, sheets):
        if not agrees:
            problems.append(_disagrees(computed, sheets, _values_by_cell(frame)))
    return (*problems, *_read_twice(frame, sheets))


def checked_statistics(
    found: Found, settings: Settings, frame: pd.DataFrame, sheets: Sequence[Sheet]
) -> Iterator[tuple[Computed, bool]]:
    """Yield each statistic of the tables that are read, and whether it is that of the values that were read."""
    keys = {layout.table for layout in settings.layouts if layout.gives != NOTHING}
    values = _values_by_cell(frame)
    for table in found.tables:
        if table.key not in keys:
            continue
        for computed in table.computed:
            yield computed, _agrees(computed, values, sheets)


def _agrees(computed: Computed, values: Mapping[Cell, float], sheets: Sequence[Sheet]) -> bool:
    """Tell whether a statistic holds, of the values that were read where some were."""
    read = [values[cell] for cell in computed.of if cell in values]
    if not read or len(computed.cells) != 1:
        return computed.agrees
    expected = _statistics_of(computed.statistic, np.array(read))
    if not expected:
        return computed.agrees
    stated, tolerance = _stated(computed.cells[0], sheets)
    return any(abs(stated - number) <= tolerance for number in expected)


def _stated(cell: Cell, sheets: Sequence[Sheet]) -> tuple[float, float]:
    """Return the number in a cell, and by how much it may differ from what it was computed as."""
    sheet, row, column = cell
    number = float(sheets[sheet].number[row - 1, column - 1])
    text = str(sheets[sheet].text[row - 1, column - 1]).replace(",", ".")
    decimals = len(text.rpartition(".")[2]) if "." in text else 0
    return number, max(ROUNDING * 10.0**-decimals, abs(number) * RELATIVE)


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


def _values_by_cell(frame: pd.DataFrame) -> dict[Cell, float]:
    """Return what was read in each cell, in the unit that stands there."""
    read = frame[frame[long.STATE].isin(READ)]
    cells = zip(read[long.SHEET], read[long.ROW], read[long.COLUMN], strict=True)
    return dict(zip(cells, read[long.VALUE], strict=True))


def _disagrees(computed: Computed, sheets: Sequence[Sheet], values: Mapping[Cell, float]) -> Problem:
    read = [values[cell] for cell in computed.of if cell in values]
    expected = _statistics_of(computed.statistic, np.array(read)) if read else computed.expected
    stated = ", ".join(f"{number:g}" for number in computed.values)
    label = computed.label or computed.statistic.value
    numbers = f"{len(read)} values that were read" if read else "the values beside it"
    known = f"{expected[0]:g}, the {computed.statistic.value} of {numbers}" if expected else f"that of {numbers}"
    return Finding(
        code="statistic_disagrees",
        found=f'"{label}" says {stated}',
        expected=known,
        advice=LEAVE_OUT,
    ).at(computed.cells, sheets)


def _read_twice(frame: pd.DataFrame, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    read = frame[frame[long.STATE].isin(READ)]
    places = read[[long.SHEET, long.ROW, long.COLUMN]]
    twice = places[places.duplicated()].drop_duplicates()
    for sheet, rows in twice.groupby(long.SHEET):
        cells = [(int(str(sheet)), int(row), int(column)) for _, row, column in rows.itertuples(index=False)]
        yield Finding(
            code="read_twice",
            found="is read as two values",
            expected="each number to be read once",
            advice="In the settings file, let one table or value hold it.",
        ).at(cells, sheets)
