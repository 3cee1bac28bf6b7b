"""One treatment against the reference: ratio by Fieller, difference by t."""

from dataclasses import dataclass, replace
from math import isclose, sqrt
from typing import TypeVar

import numpy as np

from reportgen.model.results import Comparison
from reportgen.stats.additive import NO_RESIDUAL_SPREAD, AdditiveFit
from reportgen.stats.fieller import NO_SPREAD_OF_RATIO, MeanPair, fieller_limits
from reportgen.stats.scores import FloatArray, mean_of, variance_of_mean
from reportgen.stats.student import t_quantile, two_sided_p_value

Number = TypeVar("Number", float, FloatArray)

NO_FIGURE = "one of the two has no figure, so there is nothing to compare"
ONE_UNIT_COMPARED = (
    "one of the two has one unit only, so its spread between units is not known "
    "and neither interval nor test is possible"
)
BOTH_ALIKE = "the units of each of the two all gave the same figure, so they say nothing of the spread"
ONE_ALIKE = "the units of one of the two all gave the same figure; the interval rests on the spread of the other"
ZERO_REFERENCE = "the reference is zero, so there is no ratio"
ROUNDING = 1e-12  # relative: closer figures differ by floating-point rounding alone


@dataclass(frozen=True)
class Spread:
    """Two means as the units show them, and the degrees of freedom of their ratio and of their difference.

    Both variances are 0 where the units show no spread at all; a spread that only one of the two lacks because
    it has one unit must not be given as 0. Degrees of freedom are 0 where there is no variance.
    """

    pair: MeanPair
    ratio_freedom: float
    difference_freedom: float


def spread_separate(treated: FloatArray, reference: FloatArray) -> Spread | None:
    """Return two means with a variance each and Satterthwaite's degrees of freedom, None where one has one unit.

    treated: (n1,), reference: (n0,) scores.
    """
    if min(treated.size, reference.size) < 2:
        return None
    pair = MeanPair(mean_of(treated), mean_of(reference), variance_of_mean(treated), variance_of_mean(reference))
    ratio = pair.numerator / pair.denominator if pair.denominator else 1.0
    freedoms = treated.size - 1, reference.size - 1
    variances = pair.numerator_variance, pair.denominator_variance
    scaled = variances[0], ratio**2 * variances[1]
    return Spread(
        pair,
        satterthwaite(*scaled, freedoms) if sum(scaled) else 0.0,
        satterthwaite(*variances, freedoms) if sum(variances) else 0.0,
    )


def spread_in_model(fit: AdditiveFit, treated: int, reference: int) -> Spread | None:
    """Return two marginal means with their covariance and the model's degrees of freedom, None where it has none."""
    if np.isnan(fit.means[[treated, reference]]).any() or fit.note not in ("", NO_RESIDUAL_SPREAD):
        return None
    if fit.note:  # units that are all alike within their blocks: a spread of nothing
        means = fit.means.tolist()
        return Spread(MeanPair(means[treated], means[reference], 0.0, 0.0), 0.0, 0.0)
    return Spread(_pair_of(fit, treated, reference), fit.degrees_of_freedom, fit.degrees_of_freedom)


def compare_points(treated: float, reference: float) -> Comparison:
    """Return ratio and difference of two figures, without interval or p value."""
    if isclose(treated, reference, rel_tol=ROUNDING):
        treated = reference
    ratio = treated / reference if reference != 0 else None
    return Comparison(
        ratio,
        difference=treated - reference,
        method="ratio and difference of the two figures",
        note=ZERO_REFERENCE if ratio is None else "",
    )


def compare_separate(treated: FloatArray, reference: FloatArray, level: float) -> Comparison:
    """Compare the scores of two treatments, each with its own variance. treated: (n1,), reference: (n0,).

    Ratio: Fieller's interval, Satterthwaite degrees of freedom of m1 - R m0 at the estimated ratio R (Hasler,
    Vonk & Hothorn 2008, Stat. Med. 27). Difference and p value: Welch (1947), Biometrika 34:28-35.
    """
    if not treated.size or not reference.size:
        return Comparison(note=NO_FIGURE)
    point = compare_points(mean_of(treated), mean_of(reference))
    if min(treated.size, reference.size) == 1:
        return replace(point, note=joined(point.note, ONE_UNIT_COMPARED))
    spread = spread_separate(treated, reference)
    variances = (spread.pair.numerator_variance, spread.pair.denominator_variance) if spread else (0.0, 0.0)
    if spread is None or not any(variances):
        return replace(point, note=joined(point.note, BOTH_ALIKE))
    point = replace(point, note=joined(point.note, "" if all(variances) else ONE_ALIKE))
    return _with_welch(point, spread, level)


def compare_in_model(fit: AdditiveFit, treated: int, reference: int, level: float) -> Comparison:
    """Compare the marginal means of two treatments of a fitted model.

    Standard error and degrees of freedom are the model's, for the ratio (Fieller) as for the difference (t).
    """
    if np.isnan(fit.means[[treated, reference]]).any():
        return Comparison(note=fit.note)
    pair = _pair_of(fit, treated, reference)
    point = compare_points(pair.numerator, pair.denominator)
    if fit.note:
        return replace(point, note=joined(point.note, fit.note))
    freedom = fit.degrees_of_freedom
    compared = _with_difference(point, pair, freedom, level)
    method = f"t difference, {fit.model}, {freedom} degrees of freedom"
    if point.ratio is None:
        return replace(compared, method=method)
    return replace(_with_ratio_limits(compared, pair, freedom, level), method=f"Fieller ratio and {method}")


def joined(*notes: str) -> str:
    """Return the notes that are not empty, each once, as one text."""
    return "; ".join(dict.fromkeys(note for note in notes if note))


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
    method = f"Welch difference with {spread.difference_freedom:.6g} degrees of freedom"
    if point.ratio is None:
        return replace(compared, method=method)
    if not spread.ratio_freedom:
        return replace(compared, method=method, note=joined(compared.note, NO_SPREAD_OF_RATIO))
    return replace(
        _with_ratio_limits(compared, spread.pair, spread.ratio_freedom, level),
        method=f"Fieller ratio, separate variances, Satterthwaite degrees of freedom; {method}",
    )


def _with_ratio_limits(point: Comparison, pair: MeanPair, freedom: float, level: float) -> Comparison:
    limits = fieller_limits(pair, freedom, level)
    note = joined(point.note, limits.note)
    return replace(
        point,
        ratio_low=limits.low,
        ratio_high=limits.high,
        single_low=limits.low,
        single_high=limits.high,
        degrees_of_freedom=freedom,
        note=note,
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


def satterthwaite(first: Number, second: Number, freedoms: tuple[Number | int, Number | int]) -> Number:
    """Return the degrees of freedom of a sum of two variances, or of each of several sums (m,).

    Satterthwaite (1946), Biometrics Bull. 2:110-114.
    """
    total = first + second
    return 1 / ((first / total) ** 2 / freedoms[0] + (second / total) ** 2 / freedoms[1])
