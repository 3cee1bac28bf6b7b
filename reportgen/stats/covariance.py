"""Analysis of covariance: treatments compared at one value of what their units began with.

score = treatment + block + slope x covariate, one residual variance: Fisher (1932), Statistical
Methods for Research Workers, 4th ed.; Cochran (1957), Biometrics 13:261-281 (both from memory).
"""

from dataclasses import dataclass
from math import exp, sqrt
from typing import Final

import numpy as np
from scipy.special import fdtrc

from reportgen.model.message import joined, note
from reportgen.model.results import Comparison
from reportgen.stats.additive import rank_of
from reportgen.stats.comparisons import NO_FIGURE
from reportgen.stats.scores import FloatArray, IntArray
from reportgen.stats.simultaneous import family_levels, family_p_value, simultaneous_for
from reportgen.stats.student import t_quantile, two_sided_p_value

ROUNDING: Final = 1e-9  # relative
COVARIANCE: Final = note("covariance_model")


@dataclass(frozen=True)
class CovarianceFit:
    """Treatment means (k,) at the mean of the covariate, and their covariance (k, k).

    NaN for one without units.

    `slope` is what one unit of the covariate adds to the score, with its standard error and p
    value. `p_differs` tests that the covariate is alike in all treatments, `p_slopes` that one
    slope serves all; None where it cannot be tested.
    """

    means: FloatArray
    covariance: FloatArray
    units: IntArray
    degrees_of_freedom: int
    slope: float
    slope_error: float
    slope_p_value: float
    covariate_mean: float
    p_differs: float | None
    p_slopes: float | None


@dataclass(frozen=True)
class CovarianceDesign:
    """The treatment (n,) of each unit from 0 to `treatments` - 1, its covariate (n,), and its block
    or None.
    """

    treatment: IntArray
    treatments: int
    covariate: FloatArray
    block: IntArray | None = None


def fit_covariance(scores: FloatArray, design: CovarianceDesign) -> CovarianceFit | None:
    """Fit scores (n,) on treatment, block and covariate.

    None where the slope cannot be told or nothing is left.
    """
    middle = float(design.covariate.mean())
    deviations = design.covariate - middle
    base = _base(design)
    columns = np.column_stack([base, deviations])
    rank = rank_of(columns)
    freedom = scores.size - rank
    has_slope = rank > rank_of(base) and np.ptp(_residuals(base, deviations)) > ROUNDING
    present = np.bincount(design.treatment, minlength=design.treatments)
    is_connected = rank == int(columns.any(axis=0).sum())
    if not has_slope or not is_connected or freedom < 1:
        return None
    inverse = np.linalg.pinv(columns)
    coefficients = inverse @ scores
    residuals = scores - columns @ coefficients
    variance = float(residuals @ residuals) / freedom
    if variance <= 0:
        return None
    covariance = variance * (inverse @ inverse.T)
    means, of_means = (
        coefficients[: design.treatments],
        covariance[: design.treatments, : design.treatments],
    )
    absent = present == 0
    means[absent] = of_means[absent, :] = of_means[:, absent] = np.nan
    slope, error = float(coefficients[-1]), float(np.sqrt(covariance[-1, -1]))
    return CovarianceFit(
        means=means,
        covariance=of_means,
        units=present,
        degrees_of_freedom=freedom,
        slope=slope,
        slope_error=error,
        slope_p_value=two_sided_p_value(slope / error, freedom),
        covariate_mean=middle,
        p_differs=_p_of_more(deviations, _blocks(design), base),
        p_slopes=_p_of_more(scores, columns, _own_slopes(design, columns, deviations)),
    )


def compare_adjusted(
    fit: CovarianceFit, reference: int, level: float
) -> tuple[Comparison | None, ...]:
    """Return the ratios of adjusted means of logarithms, limits holding for all together.

    None for the reference.
    """
    present = np.flatnonzero(fit.units > 0)
    members = [int(number) for number in present if number != reference]
    comparisons: list[Comparison | None] = [Comparison(notes=NO_FIGURE)] * fit.units.size
    comparisons[reference] = None
    if not members or fit.units[reference] == 0:
        return tuple(comparisons)
    rows = [*members, reference]
    freedom = float(fit.degrees_of_freedom)
    covariance = fit.covariance[np.ix_(rows, rows)]
    levels, correlation = family_levels(covariance, np.full(len(members), freedom), level)
    for place, number in enumerate(members):
        difference = float(fit.means[number] - fit.means[reference])
        variance = covariance[place, place] + covariance[-1, -1] - 2 * covariance[place, -1]
        error = sqrt(float(variance))
        half = t_quantile(float(levels[place]), freedom) * error
        alone = t_quantile(level, freedom) * error
        p_adjusted = None
        methods = COVARIANCE
        if len(members) > 1:
            p_adjusted = family_p_value(abs(difference) / error, correlation, freedom)
            methods = joined(COVARIANCE, simultaneous_for(len(members)))
        comparisons[number] = Comparison(
            ratio=exp(difference),
            ratio_low=exp(difference - half),
            ratio_high=exp(difference + half),
            single_low=exp(difference - alone),
            single_high=exp(difference + alone),
            p_value=two_sided_p_value(difference / error, freedom),
            p_adjusted=p_adjusted,
            degrees_of_freedom=freedom,
            methods=methods,
        )
    return tuple(comparisons)


def p_of_difference(design: CovarianceDesign) -> float | None:
    """Return the p value of the hypothesis that the covariate is alike in all treatments.

    None where none is left.

    0 where it differs between treatments and does not vary within them.
    """
    base, blocks = _base(design), _blocks(design)
    ranks = [rank_of(columns) for columns in (blocks, base)]
    if ranks[1] == ranks[0] or design.covariate.size == ranks[1]:
        return None
    deviations = design.covariate - float(design.covariate.mean())
    if np.ptp(_residuals(base, deviations)) > ROUNDING:
        return _p_of_more(deviations, blocks, base)
    if np.ptp(_residuals(blocks, deviations)) > ROUNDING:
        return 0.0
    return 1.0


def _treatments(design: CovarianceDesign) -> FloatArray:
    columns: FloatArray = (design.treatment[:, np.newaxis] == np.arange(design.treatments)).astype(
        float
    )
    return columns


def _blocks(design: CovarianceDesign) -> FloatArray:
    """Return the mean and the blocks, whose effects add up to 0.

    The treatments' coefficients are then means.
    """
    whole = np.ones((design.treatment.size, 1))
    if design.block is None:
        return whole
    columns = (design.block[:, np.newaxis] == np.unique(design.block)).astype(float)
    return np.hstack([whole, columns[:, :-1] - columns[:, -1:]])


def _base(design: CovarianceDesign) -> FloatArray:
    return np.hstack([_treatments(design), _blocks(design)[:, 1:]])


def _own_slopes(
    design: CovarianceDesign, columns: FloatArray, deviations: FloatArray
) -> FloatArray:
    return np.hstack([columns, _treatments(design) * deviations[:, np.newaxis]])


def _residuals(columns: FloatArray, values: FloatArray) -> FloatArray:
    residuals: FloatArray = values - columns @ np.linalg.lstsq(columns, values, rcond=None)[0]
    return residuals


def _p_of_more(values: FloatArray, fewer: FloatArray, more: FloatArray) -> float | None:
    """Return the p value of the F test of the columns that `more` adds to `fewer`.

    None where nothing is left over.
    """
    ranks = [rank_of(columns) for columns in (fewer, more)]
    added, freedom = ranks[1] - ranks[0], values.size - ranks[1]
    if added < 1 or freedom < 1:
        return None
    squares = [float((_residuals(columns, values) ** 2).sum()) for columns in (fewer, more)]
    if squares[1] <= ROUNDING**2 * max(float(values @ values), 1.0):
        return None
    ratio = (squares[0] - squares[1]) / added / (squares[1] / freedom)
    return float(fdtrc(added, freedom, ratio))
