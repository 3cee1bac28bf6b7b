"""The trend along a dose: a straight line or a parabola through the means of the doses, and whether
it fits.

The error is that of units of one dose ("pure error"), so that a curve that does not fit cannot
enlarge it: Box & Draper (1987), Empirical Model-Building and Response Surfaces, ch. 3.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Literal

import numpy as np
from scipy.special import fdtrc

from reportgen.stats.cell_means import CellMeans, FTest, f_test, freedoms
from reportgen.stats.fieller import Limits, MeanPair, fieller_limits
from reportgen.stats.scores import FloatArray
from reportgen.stats.student import t_quantile

Degree = Literal[0, 1, 2]
FEWEST_DOSES = 3  # two show no curve, and no lack of fit


@dataclass(frozen=True)
class Curve:
    """A polynomial of the dose: coefficients (p,) of powers of (dose - middle) / half, and their
    covariance (p, p).
    """

    coefficients: FloatArray
    covariance: FloatArray
    freedom: float
    middle: float
    half: float

    def at(self, dose: float, level: float) -> tuple[float, float, float]:
        """Return the curve's value at a dose with its t interval."""
        powers = ((dose - self.middle) / self.half) ** np.arange(self.coefficients.size)
        value = float(powers @ self.coefficients)
        reach = t_quantile(level, self.freedom) * sqrt(float(powers @ self.covariance @ powers))
        return value, value - reach, value + reach

    def change(self, start: float, end: float, level: float) -> tuple[float, float, float]:
        """Return how far the curve rises from one dose to another, with its t interval."""
        exponents = np.arange(self.coefficients.size)
        powers = ((end - self.middle) / self.half) ** exponents - (
            (start - self.middle) / self.half
        ) ** exponents
        value = float(powers @ self.coefficients)
        reach = t_quantile(level, self.freedom) * sqrt(float(powers @ self.covariance @ powers))
        return value, value - reach, value + reach

    @property
    def bends(self) -> Literal["up", "down", "no"]:
        """Return which way the curve bends: down where it has a highest point."""
        if self.coefficients.size < 3 or self.coefficients[2] == 0:
            return "no"
        if self.coefficients[2] < 0:
            return "down"
        return "up"

    def turning_point(self, level: float) -> tuple[float, Limits] | None:
        """Return the dose of the highest or lowest point, -b / 2c, with Fieller's limits.

        None for a straight line.
        """
        if self.bends == "no":
            return None
        slope, bend = float(self.coefficients[1]), float(self.coefficients[2])
        cov = self.covariance
        pair = MeanPair(
            -slope / 2, bend, float(cov[1, 1]) / 4, float(cov[2, 2]), -float(cov[1, 2]) / 2
        )
        limits = fieller_limits(pair, self.freedom, level)
        place = self.middle + self.half * -slope / (2 * bend)
        if limits.low is None or limits.high is None:
            return place, limits
        return place, Limits(
            self.middle + self.half * limits.low, self.middle + self.half * limits.high
        )


@dataclass(frozen=True)
class Trend:
    """The tests along a dose, and the curve of the `degree` that they call for.

    `linear` tests the slope of a straight line, `quadratic` what a parabola adds, `lack_of_fit`
    what is left beside the chosen curve; None where doses are too few for it.
    """

    degree: Degree
    linear: FTest
    quadratic: FTest
    lack_of_fit: FTest | None
    curve: Curve


def trend(cells: CellMeans, doses: FloatArray, level: float) -> Trend:
    """Fit the trend of means along their doses (k,).

    A parabola is taken where it adds to the line at 1 - level.

    Raises ValueError with fewer than three doses.
    """
    if doses.size < FEWEST_DOSES:
        raise ValueError(f"{doses.size} doses show no curve")
    line, parabola = curve_through(cells, doses, 1), curve_through(cells, doses, 2)
    linear, quadratic = _last_term(line), _last_term(parabola)
    degree = _degree(linear, quadratic, 1 - level)
    chosen = {0: curve_through(cells, doses, 0), 1: line, 2: parabola}[degree]
    return Trend(degree, linear, quadratic, lack_of_fit(cells, doses, degree), chosen)


def _degree(linear: FTest, quadratic: FTest, alpha: float) -> Degree:
    if quadratic.p_value < alpha:
        return 2
    if linear.p_value < alpha:
        return 1
    return 0


def curve_through(cells: CellMeans, doses: FloatArray, degree: Degree) -> Curve:
    """Return the polynomial of a degree by generalised least squares through the means.

    It is the one that least squares through all units give, blocks in the model where the means are
    adjusted for them.
    """
    middle, half = float(doses.max() + doses.min()) / 2, float(np.ptp(doses)) / 2
    powers = _powers((doses - middle) / half, degree)
    inverse = np.linalg.inv(cells.covariance)
    covariance = np.linalg.inv(powers.T @ inverse @ powers).astype(float)
    weights = covariance @ powers.T @ inverse
    values = cells.combined(weights)
    return Curve(values.means, covariance, float(freedoms(values)[-1]), middle, half)


def _powers(places: FloatArray, degree: int) -> FloatArray:
    powers: FloatArray = places[:, np.newaxis] ** np.arange(degree + 1)
    return powers


def _last_term(curve: Curve) -> FTest:
    """Return the F test of a curve's highest power."""
    statistic = float(curve.coefficients[-1] ** 2 / curve.covariance[-1, -1])
    return FTest(statistic, 1, curve.freedom, float(fdtrc(1, curve.freedom, statistic)))


def lack_of_fit(cells: CellMeans, doses: FloatArray, degree: Degree) -> FTest | None:
    """Test that the means lie on a polynomial of a degree.

    None where it passes through all of them.
    """
    powers = _powers((doses - doses.mean()) / np.ptp(doses), degree)
    spare = doses.size - degree - 1
    if spare < 1:
        return None
    complement = np.linalg.svd(powers.T)[2][degree + 1 :]
    return f_test(cells, complement)
