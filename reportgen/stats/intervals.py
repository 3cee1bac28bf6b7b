"""Confidence intervals for the figure of one treatment."""

from dataclasses import replace
from math import sqrt

import numpy as np
from scipy.special import ndtri

from reportgen.model.message import joined, note
from reportgen.model.results import Estimate
from reportgen.stats.fieller import MeanPair, fieller_limits
from reportgen.stats.scores import ROUNDING, FloatArray, are_alike, ratio_of_sums, unit_scores
from reportgen.stats.student import t_quantile

NO_UNIT = note("no_unit")
ZERO_DENOMINATOR = note("zero_denominator")
# Hurlbert (1984), Ecol. Monogr. 54:187-211
ONE_UNIT = joined(note("one_unit"), note("measurements_are_no_replicates"))
ALIKE = note("alike")


def point_estimate(numerator: FloatArray, denominator: FloatArray) -> Estimate:
    """Return sum(numerator) / sum(denominator) without an interval. Shapes: (n,) each.

    The note tells why these units allow no interval; it is empty where they do.
    """
    n = numerator.size
    if n == 0:
        return Estimate(None, notes=NO_UNIT)
    value = ratio_of_sums(numerator, denominator)
    if value is None:
        return Estimate(None, n=n, notes=ZERO_DENOMINATOR)
    point = Estimate(value, n=n, methods=note("ratio_of_totals"))
    if n == 1:
        return replace(point, notes=ONE_UNIT)
    if are_alike(unit_scores(numerator, denominator)):
        return replace(point, notes=ALIKE)
    return point


def t_interval(scores: FloatArray, level: float) -> Estimate:
    """Return the mean of the scores with its t interval, n - 1 degrees of freedom. scores: (n,)."""
    point = replace(point_estimate(scores, np.ones(scores.size)), methods=note("mean_of_units"))
    if point.notes or point.value is None:
        return point
    error = _standard_error(scores)
    half = t_quantile(level, point.n - 1) * error
    return replace(
        point,
        low=point.value - half,
        high=point.value + half,
        standard_error=error,
        degrees_of_freedom=point.n - 1,
        methods=note("t_interval_of_scores"),
    )


def paired_fieller(numerator: FloatArray, denominator: FloatArray, level: float) -> Estimate:
    """Return sum(numerator) / sum(denominator) with Fieller's interval of paired units.

    Shapes: (n,) each.

    The interval is {R: (mean(a) - R mean(b))^2 <= t^2 (s_aa - 2 R s_ab + R^2 s_bb) / n}, n - 1
    degrees of freedom. Fieller (1954), J. R. Stat. Soc. B 16:175-185.
    """
    point = point_estimate(numerator, denominator)
    if point.notes:
        return point
    (s_aa, s_ab), (_, s_bb) = (np.cov(numerator, denominator) / point.n).tolist()
    pair = MeanPair(float(numerator.mean()), float(denominator.mean()), s_aa, s_bb, s_ab)
    limits = fieller_limits(pair, point.n - 1, level)
    return replace(
        point,
        low=limits.low,
        high=limits.high,
        standard_error=_standard_error(unit_scores(numerator, denominator)),
        degrees_of_freedom=point.n - 1,
        methods=note("paired_fieller"),
        notes=limits.notes,
    )


def ratio_interval(numerator: FloatArray, denominator: FloatArray, level: float) -> Estimate:
    """Return the ratio of totals.

    T interval where the denominators are equal, else paired Fieller's.
    """
    if (
        denominator.size
        and np.ptp(denominator) <= ROUNDING * abs(denominator[0])
        and denominator[0] != 0
    ):
        return t_interval(unit_scores(numerator, denominator), level)
    return paired_fieller(numerator, denominator, level)


def wilson(successes: int, trials: int, level: float) -> tuple[float, float]:
    """Return the score interval of a proportion. Wilson (1927), J. Am. Stat. Assoc. 22:209-212.

    Raises ValueError unless 0 <= successes <= trials and trials >= 1.
    """
    if not 0 <= successes <= trials or trials < 1:
        raise ValueError(f"{successes} successes of {trials} trials")
    z = float(ndtri((1 + level) / 2))
    centre = successes + z**2 / 2
    half = z * sqrt(successes * (trials - successes) / trials + z**2 / 4)
    if successes:
        low = (centre - half) / (trials + z**2)
    else:
        low = 0.0
    if successes < trials:
        high = (centre + half) / (trials + z**2)
    else:
        high = 1.0
    return low, high


def _standard_error(scores: FloatArray) -> float:
    return float(scores.std(ddof=1)) / sqrt(scores.size)
