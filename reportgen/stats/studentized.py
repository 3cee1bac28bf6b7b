"""The largest of several correlated t values, and the range of several means, over one estimated
spread.

Both are integrals over the spread and over normal variables, done by the trapezoidal rule, which
gains digits exponentially on such smooth integrands (Trefethen & Weideman 2014, SIAM Rev.
56:385-458); nothing is random.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import pi, sqrt
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq
from scipy.special import gammainccinv, gammaincinv, log1p, ndtr

from reportgen.stats.scores import FloatArray
from reportgen.stats.student import t_quantile, two_sided_p_value

FARTHEST = 8.5  # standard deviations; a normal variable lies beyond with a probability of 2e-17
SEVERAL = 1024  # critical values that are kept
SMALLEST_TAIL = 1e-16
SMALLEST_LOADING = 1e-6  # changes a correlation by 1e-12
LARGEST_LOADING = 1 - 1e-7
STEEPEST = (
    200.0  # beyond this many standard deviations' steepness the integrand is as good as a step
)


class _Nodes(NamedTuple):
    """Where to evaluate an integrand (n,), and the weight of each place (n,)."""

    places: FloatArray
    weights: FloatArray


class _Factors(NamedTuple):
    """Independent normal variables that make up m correlated ones.

    Loadings (m,), (m, f), and what is left (m,).
    """

    main: FloatArray
    minor: FloatArray
    rest: FloatArray


def tail_of_largest(bound: float, correlation: FloatArray, degrees_of_freedom: float) -> float:
    """Return P(max |T_i| > bound) of a central multivariate t distribution. correlation: (m, m).

    Where the correlations are products b_i b_j (any one-way layout, balanced blocks, two
    comparisons) this is the double integral of Dunnett (1955), J. Am. Stat. Assoc. 50:1096-1121,
    good to 1e-10. What other correlations have besides is averaged by a rule of degree 5: good to
    1e-6 where blocks lost a few units, to 1e-4 in a chain of blocks of two.
    """
    if len(correlation) == 1:
        return two_sided_p_value(bound, degrees_of_freedom)
    return _integral(correlation, degrees_of_freedom).tail(bound)


def critical_value(level: float, correlation: FloatArray, degrees_of_freedom: float) -> float:
    """Return c with P(max |T_i| <= c) = level. correlation: (m, m)."""
    if len(correlation) == 1:
        return t_quantile(level, degrees_of_freedom)
    return _critical_value(level, correlation.tobytes(), len(correlation), degrees_of_freedom)


@lru_cache(maxsize=SEVERAL)
def _critical_value(
    level: float, correlation: bytes, comparisons: int, degrees_of_freedom: float
) -> float:
    """Return the critical value; measures of one design ask for the same one again and again."""
    matrix = np.frombuffer(correlation).reshape(comparisons, comparisons)
    integral = _integral(matrix, degrees_of_freedom)
    single = t_quantile(level, degrees_of_freedom)
    # Between one comparison alone and Bonferroni's, with room for rounding where the t values are
    # all but one
    bonferroni = t_quantile(1 - (1 - level) / comparisons, degrees_of_freedom)
    return float(
        brentq(
            lambda bound: integral.tail(bound) - (1 - level),
            0.99 * single,
            1.01 * bonferroni,
            xtol=1e-11,
        )
    )


@dataclass(frozen=True)
class _Integral:
    """The integral for the largest |T|.

    Nodes of the spread (s,), and of the main and the minor factors.

    `shifts` holds, for each of the minor points, the shift (main places, m) of the variables;
    `rest` is (m,).
    """

    spreads: _Nodes
    main: _Nodes
    minor_weights: FloatArray
    shifts: FloatArray
    rest: FloatArray

    def tail(self, bound: float) -> float:
        """Return the probability that the largest |T| lies beyond +-bound."""
        bounds = bound * self.spreads.places[:, np.newaxis, np.newaxis]
        beyond = [
            weight
            * (self.spreads.weights @ _exceeding(bounds, shift, self.rest) @ self.main.weights)
            for weight, shift in zip(self.minor_weights, self.shifts, strict=True)
        ]
        return float(sum(beyond))


def _integral(correlation: FloatArray, degrees_of_freedom: float) -> _Integral:
    factors = _factors(correlation)
    # The largest |T| stays the same where all T turn their signs, so half of the main factor is
    # enough.
    main = _half_normal(factors)
    places, weights = _minor_points(factors.minor.shape[1])
    shifts = main.places[:, np.newaxis] * factors.main + (places @ factors.minor.T)[:, np.newaxis]
    return _Integral(_spreads(degrees_of_freedom), main, weights, shifts, factors.rest)


def tail_of_range(bound: float, means: int, degrees_of_freedom: float) -> float:
    """Return P(Q > bound) of the studentized range Q of `means` independent means, good to 1e-10.

    Tukey's distribution: Harter (1960), Ann. Math. Stat. 31:1122-1147.
    """
    spreads = _spreads(degrees_of_freedom)
    step = 0.25
    largest = np.arange(-FARTHEST, FARTHEST + step, step)
    weights = means * step * _density(largest)
    within = ndtr(largest) - ndtr(largest - bound * spreads.places[:, np.newaxis])
    return float(np.clip(spreads.weights @ (1 - within ** (means - 1) @ weights), 0, 1))


def _density(places: FloatArray) -> FloatArray:
    density: FloatArray = np.exp(-(places**2) / 2) / sqrt(2 * pi)
    return density


def _spreads(degrees_of_freedom: float) -> _Nodes:
    """Return nodes for the estimated over the true standard deviation, on a log scale."""
    half = degrees_of_freedom / 2
    lowest, highest = (
        gammaincinv(half, SMALLEST_TAIL) / half,
        gammainccinv(half, SMALLEST_TAIL) / half,
    )
    step = min(0.125, 0.5 / sqrt(2 * degrees_of_freedom))
    logs = np.arange(np.log(lowest) / 2, np.log(highest) / 2 + step, step)
    weights = np.exp(degrees_of_freedom * (logs - np.expm1(2 * logs) / 2))
    return _Nodes(np.exp(logs), weights / weights.sum())


def _half_normal(factors: _Factors) -> _Nodes:
    """Return nodes for the size of the main factor.

    They are as dense as the steepest of the t values asks for.
    """
    steepest = float(np.abs(factors.main / factors.rest).max())
    step = 0.5 / min(max(steepest, 1.0), STEEPEST)
    places = np.arange(step / 2, FARTHEST, step)
    return _Nodes(places, 2 * step * _density(places))


def _minor_points(factors: int) -> tuple[FloatArray, FloatArray]:
    """Return 2 f^2 + 1 places (n, f) and weights (n,) that average polynomials of degree 5 exactly.

    For f independent standard normal variables: the fully symmetric rule of degree 5 on the axes
    and the diagonals between them (Stroud 1971, Approximate Calculation of Multiple Integrals, ch.
    8).
    """
    axes = np.eye(factors) * sqrt(factors + 2)
    first, second = np.triu_indices(factors, 1)
    diagonals = np.vstack([axes[first] + axes[second], axes[first] - axes[second]]) / sqrt(2)
    places = np.vstack([np.zeros((1, factors)), axes, -axes, diagonals, -diagonals])
    weights = np.full(len(places), 1 / (factors + 2) ** 2)
    weights[0] = 2 / (factors + 2)
    weights[1 : 2 * factors + 1] = (4 - factors) / (2 * (factors + 2) ** 2)
    return places, weights


def _exceeding(bounds: FloatArray, shift: FloatArray, rest: FloatArray) -> FloatArray:
    """Return the probability that any of m normal variables lies beyond +-bound.

    bounds: (s, 1, 1); shift: (p, m); rest: (m,). Returns (s, p).
    """
    one = ndtr((-bounds - shift) / rest) + ndtr((shift - bounds) / rest)
    # The logarithm keeps the digits of small probabilities.
    any_of_them: FloatArray = -np.expm1(log1p(-one).sum(axis=-1))
    return any_of_them


def _factors(correlation: FloatArray) -> _Factors:
    """Split correlated variables into common factors, the main one first, and independent rests.

    The rests are as large as positive definiteness lets them be, in the proportions of the
    one-factor fit, so that no minor factor is left where the correlations are products.
    """
    unique = 1 - _one_factor(correlation) ** 2
    scale = np.sqrt(unique)
    values, vectors = np.linalg.eigh(correlation / np.outer(scale, scale))
    common = vectors[:, 1:] * np.sqrt(values[1:] - values[0]) * scale[:, np.newaxis]
    minor = common[:, :-1]
    kept = np.abs(minor).max(axis=0) > SMALLEST_LOADING
    return _Factors(common[:, -1], minor[:, kept], np.sqrt(values[0] * unique))


def _one_factor(correlation: FloatArray) -> FloatArray:
    """Return b (m,) of the least-squares fit of log b_i + log b_j to the logarithms of the
    correlations.

    The weights are the squared correlations, as a correlation near 0 has a logarithm that says
    little.
    """
    sizes = np.maximum(np.abs(correlation), 1e-8)
    if len(correlation) == 2:
        return np.full(2, min(sqrt(sizes[0, 1]), LARGEST_LOADING))
    weights = sizes**2
    np.fill_diagonal(weights, 0)
    logs = np.linalg.solve(
        np.diag(weights.sum(axis=1)) + weights, (weights * np.log(sizes)).sum(axis=1)
    )
    return np.minimum(np.exp(logs), LARGEST_LOADING)
