"""A ratio of two totals, spelled out as one score for each experimental unit."""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int_]
BoolArray = npt.NDArray[np.bool_]

ROUNDING = 1e-12  # relative; floating-point noise of a few hundred additions stays well below it


def is_measured(numerator: FloatArray, denominator: FloatArray) -> BoolArray:
    """Tell which units carry a figure: both parts are finite and they are not both 0.

    Shapes: (n,) each.
    """
    finite = np.isfinite(numerator) & np.isfinite(denominator)
    measured: BoolArray = finite & ~((numerator == 0) & (denominator == 0))
    return measured


def ratio_of_sums(numerator: FloatArray, denominator: FloatArray) -> float | None:
    """Return sum(numerator) / sum(denominator), or None where the denominators add up to 0."""
    total = float(denominator.sum())
    if abs(total) <= ROUNDING * float(np.abs(denominator).sum()):
        return None
    return float(numerator.sum()) / total


def unit_scores(numerator: FloatArray, denominator: FloatArray) -> FloatArray:
    """Return the linearised ratio scores u = R + (a - R b) / mean(b), R = sum(a) / sum(b).

    Shape (n,).

    Their mean is R, and where all denominators b are equal they are a / b. They are NaN where the
    denominators add up to 0. Cochran (1977), Sampling Techniques, 3rd ed., ch. 6.
    """
    ratio = ratio_of_sums(numerator, denominator)
    if ratio is None:
        return np.full(numerator.shape, np.nan)
    scores: FloatArray = ratio + (numerator - ratio * denominator) / denominator.mean()
    return scores


def are_alike(scores: FloatArray) -> bool:
    """Tell whether all scores are the same figure up to rounding. scores: (n,), n >= 1."""
    return bool(np.ptp(scores) <= ROUNDING * np.abs(scores).max())


def variance_of_mean(scores: FloatArray) -> float:
    """Return s^2 / n, exactly 0 where all scores are alike. scores: (n,), n >= 2."""
    if are_alike(scores):
        return 0.0
    return float(scores.var(ddof=1)) / scores.size


def without_rounding(values: FloatArray, scores: FloatArray) -> FloatArray:
    """Set to 0 the values that differ from 0 by rounding alone, measured by the largest score."""
    return np.where(np.abs(values) <= ROUNDING * np.abs(scores).max(initial=0.0), 0.0, values)


def mean_of(scores: FloatArray) -> float:
    """Return the mean, exactly 0 where it differs from 0 by rounding alone. scores: (n,), n >= 1."""
    return float(without_rounding(scores.mean(keepdims=True), scores)[0])
