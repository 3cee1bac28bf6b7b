"""Amounts of one unit of measure in another.

An amount stays as it is where a unit is unknown; the checks say so.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.workbook.units import UnitError, conversion


def factors(unit: str, target: str) -> tuple[float, float]:
    """Return factor and offset from a unit to another, 1 and 0 where one is unknown."""
    if not unit or not target or unit == target:
        return 1.0, 0.0
    try:
        return conversion(unit, target)
    except UnitError:
        return 1.0, 0.0


def converted(
    values: NDArray[np.float64], units: "pd.Series[str]", target: str
) -> NDArray[np.float64]:
    """Return values in a target unit, (values,); `units` are those that they stand in."""
    result = values.copy()
    for unit in units.unique():
        factor, offset = factors(unit, target)
        if (factor, offset) != (1.0, 0.0):
            chosen = (units == unit).to_numpy()
            result[chosen] = np.round(values[chosen] * factor + offset, 9)
    return result
