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
        """Return 1 where the interval lies above 1, -1 where it lies below.

        0 where it does not leave out 1.
        """
        if self.low is not None and self.low > 1:
            return 1
        if self.high is not None and self.high < 1:
            return -1
        return 0


@dataclass(frozen=True)
class Fragility:
    """The lowest and highest ratio with one unit left out, and the units that gave them.

    Units are numbers from 0. `changed_by` are those without which the verdict differs, `untestable`
    those without which there is no ratio.
    """

    lowest: float
    lowest_without: int
    highest: float
    highest_without: int
    changed_by: tuple[int, ...]
    untestable: tuple[int, ...]


def leave_one_out(
    units: int, whole: IntervalOfRatio, ratio_without: Callable[[int], IntervalOfRatio | None]
) -> Fragility | None:
    """Return how the ratio changes when each unit is left out; None where none can be left out.

    ratio_without: the ratio with its interval without a unit; None where there is none.
    """
    ratios: dict[int, float] = {}
    changed_by: list[int] = []
    untestable: list[int] = []
    for unit in range(units):
        result = ratio_without(unit)
        if result is None:
            untestable.append(unit)
            continue
        ratios[unit] = result.ratio
        if result.verdict != whole.verdict:
            changed_by.append(unit)
    if not ratios:
        return None
    lowest = min(ratios, key=ratios.__getitem__)
    highest = max(ratios, key=ratios.__getitem__)
    return Fragility(
        ratios[lowest], lowest, ratios[highest], highest, tuple(changed_by), tuple(untestable)
    )
