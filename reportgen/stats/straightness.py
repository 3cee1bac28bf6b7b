"""Whether a straight line fits what units did over time, each unit having a course of its own.

A polynomial is fitted to each unit, and its leading coefficient is that unit's value: Wishart
(1938), Biometrika 30:16-28. Values that follow each other in a unit are not independent; the
coefficients of different units are, so Student's t test of their mean holds however strongly
successive values hang together.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from reportgen.stats.scores import FloatArray, IntArray
from reportgen.stats.student import two_sided_p_value

ALPHA: Final = 0.05  # below it a line does not fit
DEGREES: Final = (2, 3)  # a bend, and an S
ROUNDING: Final = 1e-9  # of coefficients over the whole time: less is floating-point noise


@dataclass(frozen=True)
class Course:
    """What one unit did over time: `times` (m,), ascending, and `values` (m,)."""

    times: FloatArray
    values: FloatArray


@dataclass(frozen=True)
class Straightness:
    """The test of a straight line for one group of units.

    `p_value` is the smaller of those of bend and S, times the number of the two that could be
    tested (Bonferroni); None where neither could be. `degrees_of_freedom` are those of the test
    that gave it.
    """

    p_value: float | None = None
    degrees_of_freedom: float | None = None

    @property
    def is_straight(self) -> bool:
        """Return whether the test was made and found no departure from a line."""
        return self.p_value is not None and self.p_value >= ALPHA


def straightness(
    courses: Sequence[Course], group: IntArray, groups: int, *, pooled: bool
) -> tuple[Straightness, ...]:
    """Test in each group whether a line fits the courses of its units.

    group: (n,) integers from 0 to `groups` - 1, one for each course. `pooled` takes one variance
    for all groups.
    """
    span = (
        max((float(np.ptp(course.times)) for course in courses if course.times.size), default=0.0)
        or 1.0
    )
    tests: list[tuple[Straightness, ...]] = []
    for degree in DEGREES:
        leading = [
            leading_coefficient(course.times / span, course.values, degree) for course in courses
        ]
        tests.append(_of_degree(np.array(leading), group, groups, pooled))
    return tuple(_both(made) for made in zip(*tests, strict=True))


def leading_coefficient(times: FloatArray, values: FloatArray, degree: int) -> float:
    """Return the leading coefficient of the least-squares polynomial.

    NaN without `degree` + 1 times.
    """
    if times.size <= degree:
        return np.nan
    return float(np.polyfit(times - times.mean(), values, degree)[0])


def _of_degree(
    leading: FloatArray, group: IntArray, groups: int, pooled: bool
) -> tuple[Straightness, ...]:
    own = [leading[(group == number) & np.isfinite(leading)] for number in range(groups)]
    spreads = [_spread(values) for values in own]
    if pooled:
        squares = sum(spread[0] for spread in spreads)
        freedom = sum(spread[1] for spread in spreads)
        spreads = [(squares, freedom) for _ in own]
    return tuple(_tested(values, *spread) for values, spread in zip(own, spreads, strict=True))


def _spread(values: FloatArray) -> tuple[float, int]:
    """Return the sum of squares around the mean, and its degrees of freedom."""
    if values.size < 2:
        return 0.0, 0
    return float(((values - values.mean()) ** 2).sum()), int(values.size) - 1


def _tested(values: FloatArray, squares: float, freedom: int) -> Straightness:
    if not values.size:
        return Straightness()
    mean = float(values.mean())
    if np.abs(values).max() <= ROUNDING:
        return Straightness(1.0, float(freedom))
    if not freedom:
        return Straightness()
    error = sqrt(squares / freedom / values.size)
    if error <= ROUNDING:
        return Straightness(0.0, float(freedom))
    return Straightness(two_sided_p_value(mean / error, freedom), float(freedom))


def _both(made: Sequence[Straightness]) -> Straightness:
    tested = [(test.p_value, test.degrees_of_freedom) for test in made if test.p_value is not None]
    if not tested:
        return Straightness()
    smallest, freedom = min(tested)
    return Straightness(min(1.0, len(tested) * smallest), freedom)
