"""The amounts that the value columns of a table hold: numbers, states, units of measure, plants
covered.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind, Place, Sheet
from reportgen.importing.model.layouts import Blank, Covers, Layout, Values
from reportgen.importing.model.tables import Table
from reportgen.workbook.units import UnitError, conversion

Floats = NDArray[np.float64]
Texts = NDArray[np.object_]

VALUE: Final = "value"
BLANK: Final = "blank"
MISSING: Final = "missing"
LOST: Final = "lost"
ZERO: Final = "zero"

STATE_OF_BLANK: Final = {
    Blank.UNKNOWN: BLANK,
    Blank.MISSING: MISSING,
    Blank.ZERO: ZERO,
    Blank.LOST: LOST,
}
PER_AREA: Final = re.compile(r"(?P<mass>.+?)\s*(?:/|\bper\b)\s*(?P<area>[^/]+)")
TELLING_OF_LOSS: Final = (
    "Status",
    "Note",
)  # further columns, where a word tells that a plant was lost


@dataclass(frozen=True)
class Amounts:
    """What some value columns hold, (rows, columns) each; `count` is nan where the number of plants
    is not told.
    """

    value: Floats
    state: Texts
    unit: Texts
    count: Floats


def column_indexes(table: Table, names: Sequence[str]) -> list[int]:
    """Return the places of columns by name; those that the table does not have are left out."""
    place_of = {_plain(column.name): index for index, column in enumerate(table.columns)}
    return [place_of[_plain(name)] for name in names if _plain(name) in place_of]


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def amounts(table: Table, layout: Layout, values: Values, sheets: Sequence[Sheet]) -> Amounts:
    """Return what the columns of `values` hold."""
    columns = column_indexes(table, values.columns)
    kind = table.kind[:, columns]
    number = table.number[:, columns]
    unit = _units(table, values, columns, sheets)
    state = _states(kind, values.blank)
    state[(kind == Kind.BLANK) & _is_lost(table, layout)[:, None]] = LOST
    if values.plus:
        number, state = _with_parts(table, values, number, unit, state)
    if values.tare:
        tare = _in_unit(table, values.tare, unit)
        state[(state == VALUE) & np.isnan(tare)] = MISSING
        number = number - tare
    number = np.where(state == VALUE, number, np.nan)
    number[state == ZERO] = 0.0
    area = _areas(table, values)
    if area is not None:
        number, unit = _of_area(number, unit, np.broadcast_to(area, number.shape))
    return Amounts(number, state, unit, _counts(table, values, number.shape))


def factor_between(unit: str, target: str) -> float | None:
    """Return what a unit is times to give the target; None where that is not known."""
    try:
        factor, offset = conversion(unit, target)
    except UnitError:
        return None
    if offset == 0.0:
        return factor
    return None


def _states(kind: NDArray[np.uint8], blank: Blank) -> Texts:
    state = np.full(kind.shape, MISSING, dtype=object)
    state[kind == Kind.NUMBER] = VALUE
    state[kind == Kind.LOST] = LOST
    state[kind == Kind.BLANK] = STATE_OF_BLANK[blank]
    return state


def _is_lost(table: Table, layout: Layout) -> NDArray[np.bool_]:
    """Tell for each row whether a word beside its values says that the plant was lost. -> (rows,)
    of bool.
    """
    names = [layout.columns[name] for name in TELLING_OF_LOSS if name in layout.columns]
    columns = column_indexes(table, names)
    is_lost: NDArray[np.bool_] = (table.kind[:, columns] == Kind.LOST).any(axis=1)
    return is_lost


def _units(table: Table, values: Values, columns: list[int], sheets: Sequence[Sheet]) -> Texts:
    """Return the unit of each cell: its own, else that of the owner, else that of the header."""
    unit = np.full((len(table.row), len(columns)), "", dtype=object)
    for index, column in enumerate(columns):
        unit[:, index] = values.unit or table.columns[column].unit
    for block_index, block in enumerate(table.blocks):
        own = sheets[block.sheet].units
        if own:
            _put_own_units(unit, table, block_index, columns, own)
    return unit


def _put_own_units(
    unit: Texts, table: Table, block_index: int, columns: list[int], own: Mapping[Place, str]
) -> None:
    rows = np.flatnonzero(table.block == block_index)
    index_of_row = dict(zip(table.row[rows].tolist(), rows.tolist(), strict=True))
    letters = table.blocks[block_index].letters
    index_of_letter = {letters[column]: index for index, column in enumerate(columns)}
    for (row, letter), text in own.items():
        if row in index_of_row and letter in index_of_letter:
            unit[index_of_row[row], index_of_letter[letter]] = text


def _with_parts(
    table: Table, values: Values, number: Floats, unit: Texts, state: Texts
) -> tuple[Floats, Texts]:
    """Return numbers with further columns added, such as ounces to pounds; a part that is blank is
    none.
    """
    total = np.where(state == VALUE, number, 0.0)
    has_any = state == VALUE
    for name, part_unit in values.plus:
        part = _in_unit(table, name, unit, part_unit)
        has_any = has_any | ~np.isnan(part)
        total = total + np.nan_to_num(part)
    return total, np.where(has_any, VALUE, state).astype(object)


def _in_unit(table: Table, name: str, unit: Texts, own: str = "") -> Floats:
    """Return a further column of a table in the unit of each value, (rows, columns); nan where it
    has no number.
    """
    columns = column_indexes(table, [name])
    if not columns:
        return np.full(unit.shape, np.nan)
    own = own or table.columns[columns[0]].unit
    factors = np.ones(unit.shape)
    for target in set(unit.ravel().tolist()):
        if own and target:
            factor = factor_between(own, target)
        else:
            factor = 1.0
        factors[unit == target] = np.nan if factor is None else factor
    return table.number[:, columns] * factors


def _areas(table: Table, values: Values) -> Floats | None:
    """Return the area of the unit of each row, m2, (rows or 1, 1); None where none is told."""
    if values.area_column:
        columns = column_indexes(table, [values.area_column])
    else:
        columns = []
    if columns:
        own = table.columns[columns[0]].unit
        return table.number[:, columns] * ((factor_between(own, "m2") if own else 1.0) or np.nan)
    if values.per_area:
        return np.array([[values.per_area]])
    return None


def _of_area(number: Floats, unit: Texts, area: Floats) -> tuple[Floats, Texts]:
    """Return yields per area as masses of the units' areas, m2, of the shape of the numbers."""
    number, unit = number.copy(), unit.copy()
    for text in set(unit.ravel().tolist()):
        match = PER_AREA.fullmatch(text)
        if match:
            square_metres = factor_between(match["area"], "m2")
        else:
            square_metres = 1.0
        is_such = unit == text
        number[is_such] *= area[is_such] / (square_metres or np.nan)
        if match:
            unit[is_such] = match["mass"]
    return number, unit


def _counts(table: Table, values: Values, shape: tuple[int, ...]) -> Floats:
    if values.count:
        columns = column_indexes(table, [values.count])
    else:
        columns = []
    if columns:
        return np.broadcast_to(table.number[:, columns], shape)
    return np.full(shape, 1.0 if values.covers is Covers.PLANT else np.nan)
