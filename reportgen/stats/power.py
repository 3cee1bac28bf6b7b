"""Planning: how many units show a ratio, which ratio shows, and what subsamples can help.

All is on the logarithmic scale, on which a spread that grows with the mean is one spread, and the
analysis is a t test. A spread that was learnt from few units is not known: the power is averaged
over what it may be ("assurance": O'Hagan, Stevens & Campbell 2005, Pharm. Stat. 4:187-201), so that
what is promised is kept on average.
"""

from bisect import bisect_left
from dataclasses import dataclass
from functools import cache
from math import expm1, inf, log1p, sqrt

import numpy as np
from scipy.linalg import block_diag
from scipy.optimize import brentq
from scipy.special import chdtri, ncfdtr

from reportgen.stats.scores import FloatArray
from reportgen.stats.student import t_quantile
from reportgen.stats.studentized import critical_value

MOST_UNITS = 1000  # our own limit: whoever needs more a treatment needs another kind of trial
LARGEST_LOG_RATIO = 20.0  # beyond it no ratio is looked for
LEAST_VARIANCE = 1e-200  # stands for none
NODES = 80  # equally likely values that stand for an uncertain variance


@dataclass(frozen=True)
class Layout:
    """How many treatments stand side by side, and whether each block holds one unit of each.

    With `factors`, the numbers of their levels, treatments are all combinations, and what is to be
    shown is a level of the factor at the place `effect` against its reference, averaged over the
    other factor.
    """

    treatments: int = 2
    blocked: bool = False
    factors: tuple[int, ...] = ()
    effect: int = 0

    def freedom(self, units: int) -> int:
        """Return the degrees of freedom of the residual variance with `units` units a treatment."""
        if self.blocked:
            return (self.treatments - 1) * (units - 1)
        return self.treatments * (units - 1)

    def quantile(self, units: int, level: float) -> float:
        """Return what t must exceed: Student's, or that which holds for all levels against their
        reference.
        """
        return _quantile(self.factors or (self.treatments,), self.freedom(units), level)

    def units_averaged(self, units: int) -> float:
        """Return the units behind one of two compared figures.

        units: those of each treatment.
        """
        if not self.factors:
            return units
        return units * self.treatments / self.factors[self.effect]


TWO_TREATMENTS = Layout()


@cache
def _quantile(levels: tuple[int, ...], freedom: int, level: float) -> float:
    """Return the quantile for comparisons with a reference among the levels of each factor, all
    together.
    """
    compared = [number - 1 for number in levels]
    if sum(compared) == 1:
        return t_quantile(level, freedom)
    blocks = [(np.ones((number, number)) + np.eye(number)) / 2 for number in compared]
    return critical_value(level, np.ascontiguousarray(block_diag(*blocks)), freedom)


@dataclass(frozen=True)
class Spread:
    """How units vary, as variances of logarithms: close to squared coefficients of variation.

    variance: of the mean of a unit with `subsamples` subsamples (infinite: endless ones), learnt
    with `degrees` degrees of freedom; within: between the subsamples of a unit, with
    `degrees_within`. No degrees: known as typed.
    """

    variance: float
    subsamples: float
    within: float
    degrees: int = 0
    degrees_within: int = 0

    @property
    def between(self) -> float:
        """Return the variance that more subsamples cannot lessen, 0 or above."""
        return max(self.variance - self.within / self.subsamples, 0.0)

    def of_mean(self, subsamples: float) -> float:
        """Return the variance of the mean of a unit with another number of subsamples."""
        return self.between + self.within / subsamples

    def share_between(self, subsamples: int) -> float | None:
        """Return the share of a mean's variance that more subsamples cannot lessen.

        None without variance.
        """
        variance = self.of_mean(subsamples)
        if variance:
            return self.between / variance
        return None

    def likely(self, subsamples: float) -> FloatArray:
        """Return equally likely variances of the mean of a unit with `subsamples` subsamples.

        A learnt variance s^2 stands for s^2 f / chi^2 with its f degrees of freedom. Another number
        of subsamples changes all of them in the proportion in which it changes the estimate.
        """
        if not self.degrees:
            return np.array([self.of_mean(subsamples)])
        middles = (np.arange(NODES) + 0.5) / NODES
        likely = self.variance * self.degrees / np.asarray(chdtri(self.degrees, middles), float)
        changed: FloatArray = likely * (self.of_mean(subsamples) / self.of_mean(self.subsamples))
        return changed


def power_of(
    difference: float, units: int, alpha: float = 0.05, layout: Layout = TWO_TREATMENTS
) -> float:
    """Return the power of one comparison with the reference.

    `units` units each, equal variances.

    difference: in standard deviations between units. Both tails count: t^2 follows the noncentral F
    distribution. Cohen (1988), Statistical Power Analysis, 2nd ed., ch. 2. With several treatments
    the quantile is Dunnett's.
    """
    return float(_powers(np.array([difference]), units, alpha, layout)[0])


def _powers(differences: FloatArray, units: int, alpha: float, layout: Layout) -> FloatArray:
    critical = layout.quantile(units, 1 - alpha)
    noncentrality = differences**2 * layout.units_averaged(units) / 2
    missed = ncfdtr(1, layout.freedom(units), noncentrality, critical**2)
    powers: FloatArray = 1 - np.nan_to_num(
        np.asarray(missed, float)
    )  # SciPy gives NaN for some probabilities far below 1e-40
    return powers


@dataclass(frozen=True)
class Aim:
    """What a trial should show: with which chance, at which alpha, in which layout, with how many
    subsamples a unit.
    """

    power: float
    alpha: float
    layout: Layout
    subsamples: float


def assurance(log_ratio: float, units: int, spread: Spread, aim: Aim) -> float:
    """Return the chance that a trial shows a ratio, averaged over what the spread may be.

    units: those of each treatment.

    Raises ValueError where nothing varies, for then any number would do.
    """
    variances = spread.likely(aim.subsamples)
    if not variances.any():
        raise ValueError("nothing varies, so that any number would do")
    variances = np.maximum(variances, LEAST_VARIANCE)
    return float(_powers(log_ratio / np.sqrt(variances), units, aim.alpha, aim.layout).mean())


def units_needed(difference: float, spread: Spread, aim: Aim) -> int | None:
    """Return the fewest units a treatment that show a relative difference, such as 0.2.

    None above MOST_UNITS.

    A fifth more is harder to show than a fifth less, on the logarithmic scale: `difference` counts
    upwards. Raises ValueError where nothing varies.
    """
    log_ratio = log1p(difference)
    choices = range(2, MOST_UNITS + 1)
    index = bisect_left(
        choices, aim.power, key=lambda units: assurance(log_ratio, units, spread, aim)
    )
    if index < len(choices):
        return choices[index]
    return None


def smallest_difference(units: int, spread: Spread, aim: Aim) -> float | None:
    """Return the smallest relative difference upwards that `units` units a treatment show.

    None with fewer than 2 units, which show none, and where none does. Raises ValueError where
    nothing varies, and unless alpha < power < 1.
    """
    if not aim.alpha < aim.power < 1:
        raise ValueError(f"power {aim.power} is not between {aim.alpha} and 1")
    if units < 2:
        return None

    def lacking(log_ratio: float) -> float:
        return assurance(log_ratio, units, spread, aim) - aim.power

    if lacking(LARGEST_LOG_RATIO) < 0:
        return None
    return expm1(float(brentq(lacking, 0.0, LARGEST_LOG_RATIO)))


def typed_spread(between: float, within: float) -> Spread:
    """Return the spread of typed coefficients of variation, as fractions."""
    return Spread(log1p(between**2), inf, log1p(within**2))


def cv_of(variance: float) -> float:
    """Return the coefficient of variation of lognormal values whose logarithms have this variance."""
    return sqrt(expm1(variance))
