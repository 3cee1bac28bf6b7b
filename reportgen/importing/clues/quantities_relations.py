"""What columns of numbers are to each other, by their values: needs no language."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.clues.quantities_model import Profile
from reportgen.importing.clues.quantities_units import without_unit

Floats = NDArray[np.float64]
FEWEST_ROWS: Final = 3
NEARLY_ALL: Final = 0.85
WITHIN_LARGER: Final = {("lb", "oz"): 16.0, ("kg", "g"): 1000.0}


def two_units(profiles: Sequence[Profile]) -> list[tuple[Profile, Profile]]:
    """Return neighbours that are one weight in two units: lb and oz, kg and g.

    Their headers are the same but for the unit.
    """
    pairs = []
    for large, small in pairwise(profiles):
        most = WITHIN_LARGER.get((large.unit, small.unit))
        if most is None or not _have_one_header(large, small):
            continue
        if len(small.values) and small.values.max() < most:
            pairs.append((large, small))
    return pairs


def _have_one_header(large: Profile, small: Profile) -> bool:
    """Tell whether neighbours, each with a unit, have the same header but for the unit."""
    if small.index != large.index + 1 or large.above != small.above:
        return False
    if not large.has_near_unit or not small.has_near_unit:
        return False
    return without_unit(large.header) == without_unit(small.header)


def rises(numbers: Floats, groups: NDArray[np.intp], fewest: int = FEWEST_ROWS) -> bool:
    """Tell whether numbers never fall from one row to the next of their group, and rise at least
    some times.
    """
    rising = 0
    for group in np.unique(groups):
        values = numbers[(groups == group) & ~np.isnan(numbers)]
        steps = np.diff(values)
        if (steps < 0).any():
            return False
        rising += int((steps > 0).sum())
    return rising >= fewest


def begins_again_daily(
    numbers: Floats, days: NDArray[np.datetime64], groups: NDArray[np.intp]
) -> bool:
    """Tell whether numbers fall from one day to the next, on nearly each day, and at no other time."""
    follows = (groups[1:] == groups[:-1]) & ~np.isnan(numbers[1:]) & ~np.isnan(numbers[:-1])
    falls = (np.diff(numbers) < 0)[follows]
    rising = (np.diff(numbers) > 0)[follows]
    turns = (days[1:] != days[:-1])[follows]
    if turns.sum() < FEWEST_ROWS or (falls & ~turns).any() or (rising & ~turns).sum() < FEWEST_ROWS:
        return False
    return bool(falls[turns].mean() >= NEARLY_ALL)


def goes_with_count(weight: Profile, count: Profile) -> bool:
    """Tell whether weights divided by a count of plants are more alike than the weights: then it
    covers them all.
    """
    both = ~np.isnan(weight.numbers) & ~np.isnan(count.numbers) & (count.numbers > 0)
    if both.sum() < FEWEST_ROWS or len(np.unique(count.numbers[both])) < 2:
        return False
    each = weight.numbers[both] / count.numbers[both]
    return _variation(each) < _variation(weight.numbers[both])


def _variation(values: Floats) -> float:
    mean = float(np.mean(values))
    if mean > 0:
        return float(np.std(values)) / mean
    return np.inf
