"""Values with their units: a column keeps the owner's unit where all its cells have one, else the
declared one.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.conversions import converted
from reportgen.importing.model import long
from reportgen.importing.sheets.rows import NUMERIC
from reportgen.workbook.declaration import GROWTH, PLANTS, SHEETS, Column

MEAN = "mean per plant"


def declared(sheet: str, name: str) -> Column | None:
    """Return the declared column of a sheet, or of Plants for what was measured as plants grew.

    None for a measure of the owner's own.
    """
    for one in SHEETS:
        if one.name == sheet:
            for column in one.columns:
                if column.name == name:
                    return column
    if sheet == GROWTH.name:
        return declared(PLANTS.name, name)
    return None


def is_of_sheet(sheet: str, name: str) -> bool:
    """Tell whether a sheet of the declaration has a column: then its reader converts units."""
    return any(column.name == name for one in SHEETS if one.name == sheet for column in one.columns)


def headers(rows: pd.DataFrame, sheet: str) -> dict[str, str]:
    """Return the header of each quantity of some rows, with the unit that its values are given in."""
    found = {}
    for name, own in rows.groupby(long.QUANTITY, sort=False):
        unit = unit_of(own, sheet, str(name))
        found[str(name)] = f"{name} ({unit})" if unit else str(name)
    return found


def unit_of(own: pd.DataFrame, sheet: str, name: str) -> str:
    """Return the unit that the values of one quantity are given in."""
    column = declared(sheet, name)
    units = own[long.UNIT_OF_MEASURE].unique()
    if column and not column.unit:
        return ""
    if len(units) == 1 and (column is None or is_of_sheet(sheet, name)):
        return str(units[0])
    if column:
        return column.unit_shown
    return str(units[0])


def amounts(rows: pd.DataFrame, sheet: str) -> dict[str, NDArray[np.object_]]:
    """Return what each row of a quantity holds, by quantity: numbers in the unit of its header,
    else None.

    A mean of several plants is given as their total.
    """
    found = {}
    value = rows[long.VALUE].to_numpy(dtype=float).copy()
    several = (rows[long.COVERS] == MEAN).to_numpy() & rows[long.COUNT].notna().to_numpy()
    value[several] *= rows[long.COUNT].to_numpy(dtype=float)[several]
    value[~rows[long.STATE].isin(NUMERIC).to_numpy()] = np.nan
    quantity = rows[long.QUANTITY].to_numpy()
    for name, own in rows.groupby(long.QUANTITY, sort=False):
        target = unit_of(own, sheet, str(name))
        is_own = quantity == name
        numbers = converted(value[is_own], own[long.UNIT_OF_MEASURE], target)
        known = numbers.astype(object)
        known[np.isnan(numbers)] = None
        cells = np.full(len(rows), None, dtype=object)
        cells[is_own] = known
        found[str(name)] = cells
    return found
