"""One treatment against the reference: ratio by Fieller, difference by t."""

from dataclasses import dataclass, replace
from math import isclose, sqrt
from typing import TypeVar

import numpy as np

from reportgen.model.message import Amount, joined, note
from reportgen.model.results import Comparison
from reportgen.stats.additive import NO_RESIDUAL_SPREAD, AdditiveFit
from reportgen.stats.fieller import NO_SPREAD_OF_RATIO, MeanPair, fieller_limits
from reportgen.stats.scores import FloatArray, mean_of, variance_of_mean
from reportgen.stats.student import t_quantile, two_sided_p_value

Number = TypeVar("Number", float, FloatArray)

SEPARATE_VARIANCES = note("separate_variances")
NO_FIGURE = note("no_figure")
ONE_UNIT_COMPARED = note("one_unit_compared")
ONE_UNIT_EACH = note("one_unit_each")
BOTH_ALIKE = note("both_alike")
ONE_ALIKE = joined(note("one_alike"), note("spread_of_the_other"))
ZERO_REFERENCE = note("zero_reference")
ROUNDING = 1e-12  # relative: closer figures differ by floating-point rounding alone


@dataclass(frozen=True)
class Spread:
    """Two means with the degrees of freedom of their ratio and of their difference.

    Both variances are 0 where the units show no spread at all; a spread that only one of the two
    lacks because it has one unit must not be given as 0. Degrees of freedom are 0 where there is no
    variance.
    """

    pair: MeanPair
    ratio_freedom: float
    difference_freedom: float


def spread_separate(treated: FloatArray, reference: FloatArray) -> Spread | None:
    """Return two means with a variance each and Satterthwaite's degrees of freedom.

    None where one has one unit.

    treated: (n1,), reference: (n0,) scores.
    """
    if min(treated.size, reference.size) < 2:
        return None
    pair = MeanPair(
        mean_of(treated), mean_of(reference), variance_of_mean(treated), variance_of_mean(reference)
    )
    if pair.denominator:
        ratio = pair.numerator / pair.denominator
    else:
        ratio = 1.0
    freedoms = treated.size - 1, reference.size - 1
    variances = pair.numerator_variance, pair.denominator_variance
    scaled = variances[0], ratio**2 * variances[1]
    return Spread(
        pair,
        satterthwaite(*scaled, freedoms) if sum(scaled) else 0.0,
        satterthwaite(*variances, freedoms) if sum(variances) else 0.0,
    )


def spread_in_model(fit: AdditiveFit, treated: int, reference: int) -> Spread | None:
    """Return two marginal means with their covariance and the model's degrees of freedom.

    None where it has none.
    """
    if np.isnan(fit.means[[treated, reference]]).any() or fit.notes not in ((), NO_RESIDUAL_SPREAD):
        return None
    if fit.notes:  # units that are all alike within their blocks: a spread of nothing
        means = fit.means.tolist()
        return Spread(MeanPair(means[treated], means[reference], 0.0, 0.0), 0.0, 0.0)
    return Spread(_pair_of(fit, treated, reference), fit.degrees_of_freedom, fit.degrees_of_freedom)


def compare_points(treated: float, reference: float) -> Comparison:
    """Return ratio and difference of two figures, without interval or p value."""
    if isclose(treated, reference, rel_tol=ROUNDING):
        treated = reference
    if reference != 0:
        ratio = treated / reference
    else:
        ratio = None
    return Comparison(
        ratio,
        difference=treated - reference,
        methods=note("ratio_and_difference_of_figures"),
        notes=ZERO_REFERENCE if ratio is None else (),
    )


def compare_separate(treated: FloatArray, reference: FloatArray, level: float) -> Comparison:
    """Compare the scores of two treatments, each with its own variance.

    treated: (n1,), reference: (n0,).

    Ratio: Fieller's interval, Satterthwaite degrees of freedom of m1 - R m0 at the estimated ratio
    R (Hasler, Vonk & Hothorn 2008, Stat. Med. 27). Difference and p value: Welch (1947), Biometrika
    34:28-35.
    """
    if not treated.size or not reference.size:
        return Comparison(notes=NO_FIGURE)
    point = compare_points(mean_of(treated), mean_of(reference))
    if max(treated.size, reference.size) == 1:
        return replace(point, notes=joined(point.notes, ONE_UNIT_EACH))
    if min(treated.size, reference.size) == 1:
        return replace(point, notes=joined(point.notes, ONE_UNIT_COMPARED))
    spread = spread_separate(treated, reference)
    if spread:
        variances = (spread.pair.numerator_variance, spread.pair.denominator_variance)
    else:
        variances = (0.0, 0.0)
    if spread is None or not any(variances):
        return replace(point, notes=joined(point.notes, BOTH_ALIKE))
    point = replace(point, notes=joined(point.notes, () if all(variances) else ONE_ALIKE))
    return _with_welch(point, spread, level)


def compare_in_model(fit: AdditiveFit, treated: int, reference: int, level: float) -> Comparison:
    """Compare the marginal means of two treatments of a fitted model.

    Standard error and degrees of freedom are the model's, for the ratio (Fieller) as for the
    difference (t).
    """
    if np.isnan(fit.means[[treated, reference]]).any():
        return Comparison(notes=fit.notes)
    pair = _pair_of(fit, treated, reference)
    point = compare_points(pair.numerator, pair.denominator)
    if fit.notes:
        return replace(point, notes=joined(point.notes, fit.notes))
    freedom = fit.degrees_of_freedom
    compared = _with_difference(point, pair, freedom, level)
    method = joined(note("t_difference", freedom=Amount(freedom)), fit.model)
    if point.ratio is None:
        return replace(compared, methods=method)
    return replace(
        _with_ratio_limits(compared, pair, freedom, level),
        methods=joined(note("fieller_ratio"), method),
    )


def _pair_of(fit: AdditiveFit, treated: int, reference: int) -> MeanPair:
    means, covariance = fit.means.tolist(), fit.covariance.tolist()
    return MeanPair(
        means[treated],
        means[reference],
        covariance[treated][treated],
        covariance[reference][reference],
        covariance[treated][reference],
    )


def _with_welch(point: Comparison, spread: Spread, level: float) -> Comparison:
    """Add Welch's difference, and the ratio's interval where there is a ratio with a spread."""
    compared = _with_difference(point, spread.pair, spread.difference_freedom, level)
    method = note("welch_difference", freedom=Amount(spread.difference_freedom))
    if point.ratio is None:
        return replace(compared, methods=method)
    if not spread.ratio_freedom:
        return replace(compared, methods=method, notes=joined(compared.notes, NO_SPREAD_OF_RATIO))
    return replace(
        _with_ratio_limits(compared, spread.pair, spread.ratio_freedom, level),
        methods=joined(note("fieller_ratio"), SEPARATE_VARIANCES, method),
    )


def _with_ratio_limits(
    point: Comparison, pair: MeanPair, freedom: float, level: float
) -> Comparison:
    limits = fieller_limits(pair, freedom, level)
    notes = joined(point.notes, limits.notes)
    return replace(
        point,
        ratio_low=limits.low,
        ratio_high=limits.high,
        single_low=limits.low,
        single_high=limits.high,
        degrees_of_freedom=freedom,
        notes=notes,
    )


def _with_difference(point: Comparison, pair: MeanPair, freedom: float, level: float) -> Comparison:
    """Add the t interval of numerator - denominator and the p value of no difference."""
    difference = pair.numerator - pair.denominator
    error = sqrt(pair.numerator_variance + pair.denominator_variance - 2 * pair.covariance)
    half = t_quantile(level, freedom) * error
    return replace(
        point,
        difference_low=difference - half,
        difference_high=difference + half,
        p_value=two_sided_p_value(difference / error, freedom),
    )


def satterthwaite(
    first: Number, second: Number, freedoms: tuple[Number | int, Number | int]
) -> Number:
    """Return the degrees of freedom of a sum of two variances, or of each of several sums (m,).

    Satterthwaite (1946), Biometrics Bull. 2:110-114.
    """
    total = first + second
    return 1 / ((first / total) ** 2 / freedoms[0] + (second / total) ** 2 / freedoms[1])
