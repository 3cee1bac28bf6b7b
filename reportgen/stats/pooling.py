"""Several trials of the same comparison: random effects on the log response ratio."""

from dataclasses import dataclass, replace
from math import exp, hypot, log, sqrt
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq
from scipy.special import chdtrc

from reportgen.model.message import Message, message
from reportgen.stats.fieller import MeanPair
from reportgen.stats.scores import FloatArray
from reportgen.stats.student import t_quantile, two_sided_p_value

TOO_FEW = message("too_few_to_pool")
TWO_TRIALS = message("two_trials_only")
BEYOND_NUMBERS = message("interval_beyond_numbers")
FURTHER_BEYOND = message("prediction_beyond_numbers")


class LogRatio(NamedTuple):
    """The natural logarithm of a ratio of two means, and its variance."""

    value: float
    variance: float


@dataclass(frozen=True)
class PooledRatio:
    """The ratio over all trials with its interval, and the interval of a further trial.

    `log_ratio`, `standard_error` and `tau_squared` (variance between trials) are on the log scale;
    `weights`, in the order of the trials, add up to 1; `i_squared`, from 0 to 1, is the share of
    variance that lies between trials.
    """

    trials: int
    ratio: float | None = None
    low: float | None = None
    high: float | None = None
    prediction_low: float | None = None
    prediction_high: float | None = None
    p_value: float | None = None
    log_ratio: float | None = None
    standard_error: float | None = None
    degrees_of_freedom: int | None = None
    tau_squared: float | None = None
    q: float | None = None
    q_p_value: float | None = None
    i_squared: float | None = None
    weights: tuple[float, ...] = ()
    notes: tuple[Message, ...] = ()


def log_ratio(pair: MeanPair) -> LogRatio | None:
    """Return ln(m1 / m0) and v1 / m1^2 + v0 / m0^2 - 2 c / (m1 m0).

    None unless both means are above 0.

    Hedges, Gurevitch & Curtis (1999), Ecology 80:1150-1156, where the means are independent (c =
    0).
    """
    if min(pair.numerator, pair.denominator) <= 0:
        return None
    variance = (
        pair.numerator_variance / pair.numerator**2
        + pair.denominator_variance / pair.denominator**2
        - 2 * pair.covariance / (pair.numerator * pair.denominator)
    )
    return LogRatio(log(pair.numerator / pair.denominator), variance)


def pool(log_ratios: FloatArray, variances: FloatArray, level: float) -> PooledRatio:
    """Pool the log ratios of k trials, each with its variance. Shapes: (k,) each.

    Interval: Hartung & Knapp (2001), Stat. Med. 20:3875-3889, t with k - 1 degrees of freedom; the
    factor on the variance is 1 at least, so that trials which agree by chance get no interval
    narrower than their own errors allow (Röver, Knapp & Friede 2015, BMC Med. Res. Methodol.
    15:99). Prediction: Higgins, Thompson & Spiegelhalter (2009), J. R. Stat. Soc. A 172:137-159,
    here with k - 1 degrees of freedom and Hartung and Knapp's error. One trial does not pool. A
    bound that no floating-point number can hold is None, and a note says so; on the log scale
    everything is known all the same. Raises ValueError unless every variance is above 0.
    """
    if not (variances > 0).all():
        raise ValueError("a trial without a variance above 0 cannot be pooled")
    if log_ratios.size < 2:
        return PooledRatio(log_ratios.size, notes=(TOO_FEW,))
    fit = _fit(log_ratios, variances)
    return _with_intervals(_point(log_ratios, variances, fit), fit, level)


def restricted_tau_squared(log_ratios: FloatArray, variances: FloatArray) -> float:
    """Return the variance between trials, 0 or above, of greatest restricted likelihood.

    Shapes: (k,), k >= 2.

    Viechtbauer (2005), J. Educ. Behav. Stat. 30:261-293. Every peak is looked at, for there may be
    several.
    """
    # Beyond the squared range the likelihood falls: each trial's part of the slope is negative
    # there.
    highest = float(np.ptp(log_ratios)) ** 2
    grid = np.concatenate([[0.0], np.geomspace(1e-9, 1.0, 100)]) * highest
    slopes = np.array([_slope(tau_squared, log_ratios, variances) for tau_squared in grid])
    peaks = [
        float(
            brentq(_slope, grid[i], grid[i + 1], (log_ratios, variances), xtol=1e-15 * grid[i + 1])
        )
        for i in np.flatnonzero((slopes[:-1] > 0) & (slopes[1:] <= 0))
    ]
    return max(
        [0.0, *peaks],
        key=lambda tau_squared: _restricted_likelihood(tau_squared, log_ratios, variances),
    )


def _slope(tau_squared: float, log_ratios: FloatArray, variances: FloatArray) -> float:
    """Return twice the derivative of the restricted log likelihood."""
    weights = 1 / (variances + tau_squared)
    deviations = log_ratios - np.average(log_ratios, weights=weights)
    return float(
        (weights * deviations) @ (weights * deviations)
        - weights.sum()
        + weights @ weights / weights.sum()
    )


def _restricted_likelihood(
    tau_squared: float, log_ratios: FloatArray, variances: FloatArray
) -> float:
    """Return twice the restricted log likelihood, up to a constant."""
    weights = 1 / (variances + tau_squared)
    return float(
        np.log(weights).sum() - np.log(weights.sum()) - _weighted_squares(log_ratios, weights)
    )


class _Fit(NamedTuple):
    """The pooled log ratio, the variance between trials, and the standard error by Hartung and
    Knapp and without.
    """

    log_ratio: float
    tau_squared: float
    error: float
    plain_error: float


def _fit(log_ratios: FloatArray, variances: FloatArray) -> _Fit:
    tau_squared = restricted_tau_squared(log_ratios, variances)
    weights = 1 / (variances + tau_squared)
    plain_error = 1 / sqrt(float(weights.sum()))
    factor = _weighted_squares(log_ratios, weights) / (log_ratios.size - 1)
    pooled = float(np.average(log_ratios, weights=weights))
    return _Fit(pooled, tau_squared, sqrt(max(1.0, factor)) * plain_error, plain_error)


def _point(log_ratios: FloatArray, variances: FloatArray, fit: _Fit) -> PooledRatio:
    """Return the pooled ratio without an interval, and how much the trials differ."""
    freedom = log_ratios.size - 1
    fixed = 1 / variances
    q = _weighted_squares(log_ratios, fixed)
    # Higgins & Thompson (2002), Stat. Med. 21:1539-1558: the variance of a typical trial
    typical = freedom * float(fixed.sum() / (fixed.sum() ** 2 - fixed @ fixed))
    weights = fit.plain_error**2 / (variances + fit.tau_squared)
    return PooledRatio(
        log_ratios.size,
        ratio=_ratio(fit.log_ratio),
        log_ratio=fit.log_ratio,
        tau_squared=fit.tau_squared,
        q=q,
        q_p_value=float(chdtrc(freedom, q)),
        i_squared=fit.tau_squared / (fit.tau_squared + typical),
        weights=tuple(weights.tolist()),
        notes=(TWO_TRIALS,) if freedom == 1 else (),
    )


def _with_intervals(point: PooledRatio, fit: _Fit, level: float) -> PooledRatio:
    freedom = point.trials - 1
    t = t_quantile(level, freedom)
    half, further = t * fit.error, t * hypot(fit.error, sqrt(fit.tau_squared))
    interval = _ratio(fit.log_ratio - half), _ratio(fit.log_ratio + half)
    prediction = _ratio(fit.log_ratio - further), _ratio(fit.log_ratio + further)
    notes = list(point.notes)
    if None in interval:
        notes.append(BEYOND_NUMBERS)
    elif None in prediction:
        notes.append(FURTHER_BEYOND)
    return replace(
        point,
        low=interval[0],
        high=interval[1],
        prediction_low=prediction[0],
        prediction_high=prediction[1],
        p_value=two_sided_p_value(fit.log_ratio / fit.error, freedom),
        standard_error=fit.error,
        degrees_of_freedom=freedom,
        notes=tuple(notes),
    )


def _ratio(logarithm: float) -> float | None:
    """Return a ratio by its logarithm.

    None where it is greater or, above 0, smaller than any number.
    """
    try:
        return exp(logarithm) or None
    except OverflowError:
        return None


def _weighted_squares(log_ratios: FloatArray, weights: FloatArray) -> float:
    deviations = log_ratios - np.average(log_ratios, weights=weights)
    return float(weights @ deviations**2)
