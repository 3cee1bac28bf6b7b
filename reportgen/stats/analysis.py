"""From totals of experimental units to an estimate for each treatment and its comparisons."""

from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from reportgen.model.results import Comparison, Estimate
from reportgen.model.trial import Variances
from reportgen.stats.additive import AdditiveFit, fit_additive
from reportgen.stats.comparisons import (
    NO_FIGURE,
    ONE_UNIT_COMPARED,
    compare_in_model,
    compare_points,
    compare_separate,
    joined,
)
from reportgen.stats.intervals import point_estimate, ratio_interval
from reportgen.stats.scores import BoolArray, FloatArray, IntArray, is_measured, unit_scores
from reportgen.stats.student import t_quantile


@dataclass(frozen=True)
class Design:
    """The treatment of each of n experimental units, and the block where units are blocked.

    treatment: (n,) integers from 0 to `treatments` - 1; block: (n,) integers, or None; `reference` is the
    number of the treatment that the others are compared with.
    """

    treatment: IntArray
    block: IntArray | None
    reference: int
    treatments: int


@dataclass(frozen=True)
class Analysis:
    """An estimate and a comparison for each treatment (None for the reference), and the unit scores (n,).

    Scores are NaN for units that were left out and for treatments without a figure.
    """

    estimates: tuple[Estimate, ...]
    comparisons: tuple[Comparison | None, ...]
    scores: FloatArray


@dataclass(frozen=True)
class _Group:
    """The units of one treatment that carry a figure, and the number of those that do not."""

    numerator: FloatArray
    denominator: FloatArray
    scores: FloatArray
    left_out: int


def analyse(
    numerator: FloatArray, denominator: FloatArray, design: Design, level: float, variances: Variances
) -> Analysis:
    """Estimate the ratio of totals of each treatment and compare each with the reference.

    numerator, denominator: (n,), one of each for a unit. Units without a figure (not finite, or both 0) are
    left out and counted in the note. With "separate" variances each treatment stands on its own units
    and blocks are ignored; with "pooled" the scores go into the additive model treatment + block.
    """
    measured = is_measured(numerator, denominator)
    groups = [
        _group(numerator, denominator, measured, design.treatment == treatment)
        for treatment in range(design.treatments)
    ]
    scores = _all_scores(groups, measured, design)
    if variances == "pooled":
        estimates, comparisons = _pooled(groups, scores, design, level)
    else:
        estimates, comparisons = _separate(groups, design, level)
    counted = [_counting(estimate, group) for estimate, group in zip(estimates, groups, strict=True)]
    return Analysis(tuple(counted), tuple(comparisons), scores)


def _group(numerator: FloatArray, denominator: FloatArray, measured: BoolArray, member: BoolArray) -> _Group:
    kept = member & measured
    scores = unit_scores(numerator[kept], denominator[kept])
    return _Group(numerator[kept], denominator[kept], scores, int((member & ~measured).sum()))


def _all_scores(groups: list[_Group], measured: BoolArray, design: Design) -> FloatArray:
    scores = np.full(measured.shape, np.nan)
    for treatment, group in enumerate(groups):
        scores[measured & (design.treatment == treatment)] = group.scores
    scores.setflags(write=False)
    return scores


def _counting(estimate: Estimate, group: _Group) -> Estimate:
    """Count in the note the units that were left out."""
    if not group.left_out:
        return estimate
    units = "1 unit" if group.left_out == 1 else f"{group.left_out} units"
    return replace(estimate, note=joined(estimate.note, f"{units} without data left out"))


def _separate(groups: list[_Group], design: Design, level: float) -> tuple[list[Estimate], list[Comparison | None]]:
    """Let each treatment stand on its own units."""
    ignored = "" if design.block is None else "blocks ignored"
    estimates = [ratio_interval(group.numerator, group.denominator, level) for group in groups]
    finite = [group.scores[np.isfinite(group.scores)] for group in groups]
    comparisons = [
        None if k == design.reference else compare_separate(scores, finite[design.reference], level)
        for k, scores in enumerate(finite)
    ]
    return (
        [replace(estimate, method=joined(estimate.method, ignored)) for estimate in estimates],
        [None if each is None else replace(each, method=joined(each.method, ignored)) for each in comparisons],
    )


def _pooled(
    groups: list[_Group], scores: FloatArray, design: Design, level: float
) -> tuple[list[Estimate], list[Comparison | None]]:
    """Fit one model to the units of all treatments."""
    usable = np.isfinite(scores)
    block = None if design.block is None else design.block[usable]
    fit = fit_additive(scores[usable], design.treatment[usable], design.treatments, block)
    points = [point_estimate(group.numerator, group.denominator) for group in groups]
    comparisons = [
        None if k == design.reference else _model_comparison(points, fit, (k, design.reference), level)
        for k in range(design.treatments)
    ]
    return [_marginal_mean(point, fit, k, level) for k, point in enumerate(points)], comparisons


def _marginal_mean(point: Estimate, fit: AdditiveFit, treatment: int, level: float) -> Estimate:
    """Return the model's mean of a treatment; the plain ratio of totals where the model has none."""
    mean = float(fit.means[treatment])
    if np.isnan(mean):
        return replace(point, note=joined(point.note, fit.note))
    marginal = replace(point, value=mean, method=f"estimated marginal mean, {fit.model}")
    if point.n == 1:
        return marginal
    if fit.note:
        return replace(marginal, note=fit.note)
    error = sqrt(float(fit.covariance[treatment, treatment]))
    half = t_quantile(level, fit.degrees_of_freedom) * error
    return replace(
        marginal,
        low=mean - half,
        high=mean + half,
        standard_error=error,
        degrees_of_freedom=fit.degrees_of_freedom,
        note="",
    )


def _model_comparison(points: list[Estimate], fit: AdditiveFit, pair: tuple[int, int], level: float) -> Comparison:
    """Compare a pair (treated, reference), without interval where one of them has one unit only."""
    compared = [points[treatment] for treatment in pair]
    if any(point.value is None for point in compared):
        return Comparison(note=NO_FIGURE)
    means = [float(fit.means[treatment]) for treatment in pair]
    if any(point.n == 1 for point in compared) and not np.isnan(means).any():
        point = compare_points(*means)
        return replace(point, note=joined(point.note, ONE_UNIT_COMPARED))
    return compare_in_model(fit, *pair, level)
