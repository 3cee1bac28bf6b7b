"""Values that lie far from the rest of their group."""

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from reportgen.stats.scores import ROUNDING, FloatArray

NORMAL_QUARTILE = 0.6745  # the median absolute deviation of a standard normal distribution
MEAN_DEVIATION = sqrt(pi / 2)  # standard deviation of a normal distribution in mean absolute deviations
LIMIT = 3.5  # Iglewicz & Hoaglin (1993)
TOO_FEW = "fewer than 3 values, so none can be told to lie far from the rest"
NO_SPREAD = "all values are the same"
MOST_ALIKE = "half of the values or more are the same, so the mean absolute deviation is the measure"


@dataclass(frozen=True)
class Outliers:
    """The places of the values that lie far from the rest, and every value's modified z-score, in order.

    Without scores the note says why there are none.
    """

    indices: tuple[int, ...] = ()
    scores: tuple[float, ...] = ()
    note: str = ""


def outliers(values: FloatArray, limit: float = LIMIT) -> Outliers:
    """Return the values whose modified z-score lies beyond +-limit. values: (n,), one group, all finite.

    The score is 0.6745 (x - median) / MAD: Iglewicz & Hoaglin (1993), How to Detect and Handle Outliers;
    NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17. Where the MAD (median absolute deviation) is 0 it is
    (x - median) / (1.2533 mean absolute deviation), by which one value alone stands out of 5 or more.
    """
    if values.size < 3:
        return Outliers(note=TOO_FEW)
    deviations = values - np.median(values)
    unit, note = _unit_of_spread(np.abs(deviations), ROUNDING * float(np.abs(values).max()))
    if unit is None:
        return Outliers(note=note)
    scores = deviations / unit
    return Outliers(tuple(np.flatnonzero(np.abs(scores) > limit).tolist()), tuple(scores.tolist()), note)


def _unit_of_spread(distances: FloatArray, rounding: float) -> tuple[float | None, str]:
    """Return the length that stands for one standard deviation, and the note that goes with it."""
    if distances.max() <= rounding:
        return None, NO_SPREAD
    median = float(np.median(distances))
    if median > rounding:
        return median / NORMAL_QUARTILE, ""
    return MEAN_DEVIATION * float(distances.mean()), MOST_ALIKE
