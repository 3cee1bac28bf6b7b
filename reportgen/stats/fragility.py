"""How much a result rests on single units: each is left out in turn."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class IntervalOfRatio:
    """A ratio with its interval; an end that the units do not bound is None."""

    ratio: float
    low: float | None
    high: float | None

    @property
    def verdict(self) -> int:
        """Return 1 where the interval lies above 1, -1 where it lies below, 0 where it does not
        leave out 1.
        """
        if self.low is not None and self.low > 1:
            return 1
        if self.high is not None and self.high < 1:
            return -1
        return 0


@dataclass(frozen=True)
class Fragility:
    """The lowest and highest ratio with one unit left out, the units that gave them, and those that
    turn the verdict.

    Units are numbers from 0. `untestable` are those without which there is no ratio.
    """

    lowest: float
    lowest_without: int
    highest: float
    highest_without: int
    turned_by: tuple[int, ...]
    untestable: tuple[int, ...]


def leave_one_out(
    units: int, whole: IntervalOfRatio, ratio_without: Callable[[int], IntervalOfRatio | None]
) -> Fragility | None:
    """Return how the ratio of all units changes when each is left out in turn; None where none can
    be left out.

    ratio_without: the ratio with its interval without a unit; None where there is none.
    """
    results = {unit: ratio_without(unit) for unit in range(units)}
    found = {unit: result for unit, result in results.items() if result is not None}
    if not found:
        return None
    lowest = min(found, key=lambda unit: found[unit].ratio)
    highest = max(found, key=lambda unit: found[unit].ratio)
    return Fragility(
        found[lowest].ratio,
        lowest,
        found[highest].ratio,
        highest,
        tuple(unit for unit, result in found.items() if result.verdict != whole.verdict),
        tuple(unit for unit in results if unit not in found),
    )
