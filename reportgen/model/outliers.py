"""Values that lie far from the rest of their group: what the report flags."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sqrt
from statistics import fmean, median
from typing import Final

NORMAL_QUARTILE: Final = 0.6745  # median absolute deviation of a standard normal distribution
MEAN_DEVIATION: Final = sqrt(
    pi / 2
)  # standard deviation of a normal one in mean absolute deviations
LIMIT: Final = 3.5  # Iglewicz & Hoaglin (1993)
ROUNDING: Final = (
    1e-12  # relative; floating-point noise of a few hundred additions stays well below it
)


@dataclass(frozen=True)
class Outliers:
    """The places of outlying values, and every value's modified z-score in order.

    There are no scores of fewer than three values, or where all are the same.
    """

    indices: tuple[int, ...] = ()
    scores: tuple[float, ...] = ()


def outliers(values: Sequence[float], limit: float = LIMIT) -> Outliers:
    """Return the values whose modified z-score lies beyond +-limit.

    values: (n,), one group, all finite.

    The score is 0.6745 (x - median) / MAD: Iglewicz & Hoaglin (1993), How to Detect and Handle
    Outliers; NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17. Where the MAD (median
    absolute deviation) is 0 it is (x - median) / (1.2533 mean absolute deviation), by which one
    value alone stands out of 5 or more.
    """
    numbers = list(map(float, values))
    if len(numbers) < 3:
        return Outliers()
    middle = median(numbers)
    deviations = [number - middle for number in numbers]
    rounding = ROUNDING * max(map(abs, numbers))
    unit = _unit_of_spread(list(map(abs, deviations)), rounding)
    if unit is None:
        return Outliers()
    scores = tuple(deviation / unit for deviation in deviations)
    far = (index for index, score in enumerate(scores) if abs(score) > limit)
    return Outliers(tuple(far), scores)


def _unit_of_spread(distances: Sequence[float], rounding: float) -> float | None:
    """Return the length that stands for one standard deviation, None where all values are the same."""
    if max(distances) <= rounding:
        return None
    middle = median(distances)
    if middle > rounding:
        return middle / NORMAL_QUARTILE
    return MEAN_DEVIATION * fmean(distances)
