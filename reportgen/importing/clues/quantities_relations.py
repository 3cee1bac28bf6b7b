"""What columns of numbers are to each other, by their values: needs no language."""

from collections.abc import Sequence
from itertools import pairwise, permutations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.clues.quantities_model import Profile
from reportgen.importing.clues.quantities_units import without_unit
from reportgen.workbook.units import UnitError, conversion

Floats = NDArray[np.float64]
FEWEST_ROWS: Final = 3
NEARLY_ALL: Final = 0.85
WITHIN_LARGER: Final = {("lb", "oz"): 16.0, ("kg", "g"): 1000.0}


def totals(profiles: Sequence[Profile]) -> dict[int, tuple[int, ...]]:
    """Return the columns that are the sum of others on nearly each row, with those others.

    Others are neighbours of one kind: all the rest, or a run of columns right before or after.
    """
    found: dict[int, tuple[int, ...]] = {}
    for position, profile in enumerate(profiles):
        for parts in _possible_parts(profiles, position):
            if len(parts) > 1 and _is_sum(profile, parts):
                found[profile.index] = tuple(part.index for part in parts)
                break
    return found


def _possible_parts(profiles: Sequence[Profile], position: int) -> list[list[Profile]]:
    before, after = list(profiles[:position]), list(profiles[position + 1 :])
    runs = [before + after, before, after]
    runs += [before[start:] for start in range(1, len(before) - 1)]
    return runs


def _is_sum(total: Profile, parts: Sequence[Profile]) -> bool:
    """Tell whether numbers are the sum of others, each in its own unit: a total in kg of weights in g."""
    numbers = np.array([_in_unit(part, total.unit) for part in parts])
    summed = np.nansum(numbers, axis=0)
    some = np.asarray(~np.isnan(numbers).all(axis=0), dtype=np.bool_)
    terms = len(parts) if all(part.unit == total.unit for part in parts) else 1
    return _agree(total.numbers, summed, some, terms)


def _in_unit(profile: Profile, unit: str) -> Floats:
    """Return the numbers of a column in another unit; as they stand where one of the two is not told."""
    if not unit or not profile.unit or profile.unit == unit:
        return profile.numbers
    try:
        factor, offset = conversion(profile.unit, unit)
    except UnitError:
        return profile.numbers
    return np.asarray(profile.numbers * factor + offset)


def nets(profiles: Sequence[Profile]) -> tuple[int, int, int] | None:
    """Return (gross, tare, net) where one column is the difference of two others on nearly each row."""
    for gross, tare, net in permutations(profiles, 3):
        if tare.index > net.index and "net" not in net.words:
            continue
        difference = gross.numbers - tare.numbers
        if _agree(net.numbers, difference, ~np.isnan(difference), 2) and np.nanmedian(tare.numbers) > 0:
            return gross.index, tare.index, net.index
    return None


def _agree(values: Floats, expected: Floats, where: NDArray[np.bool_], terms: int) -> bool:
    """Tell whether values equal those expected, up to their rounding, on nearly all rows."""
    rows = where & ~np.isnan(values)
    if rows.sum() < FEWEST_ROWS:
        return False
    tolerance = 0.5 * terms * _step(values[rows]) + 1e-9 * np.abs(expected[rows])
    return bool((np.abs(values[rows] - expected[rows]) <= tolerance).mean() >= NEARLY_ALL)


def _step(values: Floats) -> float:
    """Return the last digit that numbers are written to: 0.01 for 1.37."""
    for digits in range(4):
        if np.allclose(values, np.round(values, digits), rtol=0, atol=1e-9):
            return float(10.0**-digits)
    return 1e-4


def two_units(profiles: Sequence[Profile]) -> list[tuple[Profile, Profile]]:
    """Return neighbours of one header but for the unit that are one weight in two: lb and oz, kg and g."""
    found = []
    for large, small in pairwise(profiles):
        most = WITHIN_LARGER.get((large.unit, small.unit))
        is_near = small.index == large.index + 1 and large.has_near_unit and small.has_near_unit
        is_alike = without_unit(large.header) == without_unit(small.header) and large.above == small.above
        if most is not None and is_near and is_alike and len(small.values) and small.values.max() < most:
            found.append((large, small))
    return found


def is_share_of(part: Profile, whole: Profile) -> bool:
    """Tell whether a column is between 2 and 35% of another on all rows, as dry matter is of fresh."""
    both = ~np.isnan(part.numbers) & ~np.isnan(whole.numbers) & (whole.numbers > 0)
    if both.sum() < FEWEST_ROWS:
        return False
    share = part.numbers[both] / whole.numbers[both]
    return bool((share > 0.02).all() and (share < 0.35).all())


def rises(numbers: Floats, groups: NDArray[np.intp], fewest: int = FEWEST_ROWS) -> bool:
    """Tell whether numbers never fall from one row to the next of their group, and rise at least some times."""
    rising = 0
    for group in np.unique(groups):
        values = numbers[(groups == group) & ~np.isnan(numbers)]
        steps = np.diff(values)
        if (steps < 0).any():
            return False
        rising += int((steps > 0).sum())
    return rising >= fewest


def begins_again_daily(numbers: Floats, days: NDArray[np.datetime64], groups: NDArray[np.intp]) -> bool:
    """Tell whether numbers fall from one day to the next, on nearly each day, and at no other time."""
    follows = (groups[1:] == groups[:-1]) & ~np.isnan(numbers[1:]) & ~np.isnan(numbers[:-1])
    falls = (np.diff(numbers) < 0)[follows]
    rising = (np.diff(numbers) > 0)[follows]
    turns = (days[1:] != days[:-1])[follows]
    if turns.sum() < FEWEST_ROWS or (falls & ~turns).any() or (rising & ~turns).sum() < FEWEST_ROWS:
        return False
    return bool(falls[turns].mean() >= NEARLY_ALL)


def goes_with_count(weight: Profile, count: Profile) -> bool:
    """Tell whether weights divided by a count of plants are more alike than the weights: then it covers them all."""
    both = ~np.isnan(weight.numbers) & ~np.isnan(count.numbers) & (count.numbers > 0)
    if both.sum() < FEWEST_ROWS or len(np.unique(count.numbers[both])) < 2:
        return False
    each = weight.numbers[both] / count.numbers[both]
    return _variation(each) < _variation(weight.numbers[both])


def _variation(values: Floats) -> float:
    mean = float(np.mean(values))
    return float(np.std(values)) / mean if mean > 0 else np.inf
