"""From totals of experimental units to an estimate for each treatment and its comparisons."""

from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from reportgen.model.message import Amount, Count, Notes, joined, note
from reportgen.model.results import Comparison, Estimate
from reportgen.model.trial import Variances
from reportgen.stats.additive import AdditiveFit, fit_additive
from reportgen.stats.comparisons import (
    NO_FIGURE,
    ONE_UNIT_COMPARED,
    Spread,
    compare_in_model,
    compare_points,
    compare_separate,
    spread_in_model,
    spread_separate,
)
from reportgen.stats.intervals import point_estimate, ratio_interval
from reportgen.stats.letters import games_howell, letters_of_tests, tukey_kramer
from reportgen.stats.scores import (
    BoolArray,
    FloatArray,
    IntArray,
    is_measured,
    mean_of,
    unit_scores,
)
from reportgen.stats.simultaneous import Simultaneous, simultaneous_in_model, simultaneous_separate
from reportgen.stats.split_plot import SplitPlot
from reportgen.stats.student import t_quantile

BLOCKS_IGNORED = note("blocks_ignored")
MARGINAL_MEAN = note("marginal_mean")


@dataclass(frozen=True)
class Design:
    """The treatment of each of n experimental units, and the block where units are blocked.

    treatment: (n,) integers from 0 to `treatments` - 1; block: (n,) integers, or None; `reference`
    is the number of the treatment that the others are compared with. `split` says which units stood
    in one main plot.
    """

    treatment: IntArray
    block: IntArray | None
    reference: int
    treatments: int
    split: SplitPlot | None = None


@dataclass(frozen=True)
class Analysis:
    """An estimate and a comparison for each treatment (None for the reference), and the unit scores
    (n,).

    Scores are NaN for units that were left out and for treatments without a figure. `spreads` hold
    what each comparison rests on, None where it has no spread. `letters` show which of three
    treatments or more differ: empty for a treatment without a test, None where there are no
    letters. `log_errors` are the standard errors of the log ratios by the units alone, where ratios
    are on the log scale.
    """

    estimates: tuple[Estimate, ...]
    comparisons: tuple[Comparison | None, ...]
    scores: FloatArray
    spreads: tuple[Spread | None, ...] = ()
    letters: tuple[str, ...] | None = None
    letters_methods: Notes = ()
    letters_notes: Notes = ()
    log_errors: tuple[float | None, ...] = ()


@dataclass(frozen=True)
class _Group:
    """The units of one treatment that carry a figure, and the number of those that do not."""

    numerator: FloatArray
    denominator: FloatArray
    scores: FloatArray
    left_out: int


def analyse(
    numerator: FloatArray,
    denominator: FloatArray,
    design: Design,
    level: float,
    variances: Variances,
) -> Analysis:
    """Estimate the ratio of totals of each treatment and compare each with the reference.

    numerator, denominator: (n,), one of each for a unit. Units without a figure (not finite, or
    both 0) are left out and counted in the note. With "separate" variances each treatment stands on
    its own units and blocks are ignored; with "pooled" the scores go into the additive model
    treatment + block. With three treatments or more the ratios' limits hold for all comparisons
    together, and there are letters.
    """
    found = analyse_singly(numerator, denominator, design, level, variances)
    if design.treatments < 3:
        return found
    if variances == "separate":
        return _separate_family(found, design, level)
    return _pooled_family(found, design, level)


def analyse_singly(
    numerator: FloatArray,
    denominator: FloatArray,
    design: Design,
    level: float,
    variances: Variances,
) -> Analysis:
    """Return what `analyse` does with each comparison taken by itself, and without letters."""
    measured = is_measured(numerator, denominator)
    groups = _groups(numerator, denominator, measured, design)
    scores = _all_scores(groups, measured, design)
    if variances == "pooled":
        found = _pooled(groups, scores, design, level)
    else:
        found = _separate(groups, design, level)
    counted = [
        _counting(estimate, group) for estimate, group in zip(found.estimates, groups, strict=True)
    ]
    return replace(found, estimates=tuple(counted), scores=scores)


def spreads(
    numerator: FloatArray, denominator: FloatArray, design: Design, variances: Variances
) -> tuple[Spread | None, ...]:
    """Return what the comparison of each treatment rests on, as `analyse` does but faster."""
    measured = is_measured(numerator, denominator)
    groups = _groups(numerator, denominator, measured, design)
    if variances == "separate":
        return _own_spreads(_finite(groups), design)
    scores = _all_scores(groups, measured, design)
    return _model_spreads(_fit(scores, design), scores, design)


def _groups(
    numerator: FloatArray, denominator: FloatArray, measured: BoolArray, design: Design
) -> list[_Group]:
    members = (design.treatment == treatment for treatment in range(design.treatments))
    return [_group(numerator, denominator, measured, member) for member in members]


def _finite(groups: list[_Group]) -> list[FloatArray]:
    return [group.scores[np.isfinite(group.scores)] for group in groups]


def _own_spreads(finite: list[FloatArray], design: Design) -> tuple[Spread | None, ...]:
    reference = finite[design.reference]
    others = range(design.treatments)
    return tuple(
        None if k == design.reference else spread_separate(finite[k], reference) for k in others
    )


def _fit(scores: FloatArray, design: Design) -> AdditiveFit:
    usable = np.isfinite(scores)
    if design.block is None:
        block = None
    else:
        block = design.block[usable]
    return fit_additive(scores[usable], design.treatment[usable], design.treatments, block)


def _units(scores: FloatArray, design: Design) -> IntArray:
    return np.bincount(design.treatment[np.isfinite(scores)], minlength=design.treatments)


def _pairs(design: Design) -> list[tuple[int, int] | None]:
    return [
        None if k == design.reference else (k, design.reference) for k in range(design.treatments)
    ]


def _model_spreads(
    fit: AdditiveFit, scores: FloatArray, design: Design
) -> tuple[Spread | None, ...]:
    units = _units(scores, design)
    return tuple(
        pair and (spread_in_model(fit, *pair) if min(units[list(pair)]) > 1 else None)
        for pair in _pairs(design)
    )


def _group(
    numerator: FloatArray, denominator: FloatArray, measured: BoolArray, member: BoolArray
) -> _Group:
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
    left_out = note("units_left_out", units_left_out=Count(group.left_out, "unit"))
    return replace(estimate, notes=joined(estimate.notes, left_out))


def _separate(groups: list[_Group], design: Design, level: float) -> Analysis:
    """Let each treatment stand on its own units."""
    ignored = () if design.block is None else BLOCKS_IGNORED
    finite = _finite(groups)
    reference = finite[design.reference]
    others = range(design.treatments)
    compared = [
        None if k == design.reference else compare_separate(finite[k], reference, level)
        for k in others
    ]
    estimates = [ratio_interval(group.numerator, group.denominator, level) for group in groups]
    return Analysis(
        tuple(
            replace(estimate, methods=joined(estimate.methods, ignored)) for estimate in estimates
        ),
        tuple(each and replace(each, methods=joined(each.methods, ignored)) for each in compared),
        np.empty(0),
        _own_spreads(finite, design),
    )


def _separate_family(found: Analysis, design: Design, level: float) -> Analysis:
    usable = np.isfinite(found.scores)
    groups = [found.scores[usable & (design.treatment == k)] for k in range(design.treatments)]
    together = _together(found, simultaneous_separate(groups, design.reference, level))
    means = np.array([mean_of(scores) if scores.size else np.nan for scores in groups])
    letters = letters_of_tests(means, games_howell(groups), level)
    return replace(
        together, letters=letters, letters_methods=note("games_howell", level=Amount(1 - level))
    )


def _pooled(groups: list[_Group], scores: FloatArray, design: Design, level: float) -> Analysis:
    """Fit one model to the units of all treatments."""
    fit = _fit(scores, design)
    points = [point_estimate(group.numerator, group.denominator) for group in groups]
    pairs = _pairs(design)
    return Analysis(
        tuple(_marginal_mean(point, fit, k, level) for k, point in enumerate(points)),
        tuple(pair and _model_comparison(points, fit, pair, level) for pair in pairs),
        np.empty(0),
        _model_spreads(fit, scores, design),
    )


def _pooled_family(found: Analysis, design: Design, level: float) -> Analysis:
    fit = _fit(found.scores, design)
    if fit.notes:
        return found
    units = _units(found.scores, design)
    together = _together(found, simultaneous_in_model(fit, units, design.reference, level))
    letters = letters_of_tests(fit.means, tukey_kramer(fit, units), level)
    return replace(
        together,
        letters=letters,
        letters_methods=joined(note("tukey_kramer", level=Amount(1 - level)), fit.model),
    )


def _together(found: Analysis, all_at_once: tuple[Simultaneous | None, ...]) -> Analysis:
    """Give each comparison the limits and the p value that hold for all comparisons together."""
    pairs = zip(found.comparisons, all_at_once, strict=True)
    return replace(found, comparisons=tuple(_with_all(one, together) for one, together in pairs))


def _with_all(one: Comparison | None, together: Simultaneous | None) -> Comparison | None:
    if one is None or together is None or together.p_adjusted is None:
        return one
    return replace(
        one,
        p_adjusted=together.p_adjusted,
        ratio_low=together.ratio_low,
        ratio_high=together.ratio_high,
        difference_low=together.low,
        difference_high=together.high,
        methods=together.methods,
    )


def _marginal_mean(point: Estimate, fit: AdditiveFit, treatment: int, level: float) -> Estimate:
    """Return the model's mean of a treatment; the plain ratio of totals where the model has none."""
    mean = float(fit.means[treatment])
    if np.isnan(mean):
        return replace(point, notes=joined(point.notes, fit.notes))
    marginal = replace(point, value=mean, methods=joined(MARGINAL_MEAN, fit.model))
    if point.n == 1:
        return marginal
    if fit.notes:
        return replace(marginal, notes=fit.notes)
    error = sqrt(float(fit.covariance[treatment, treatment]))
    half = t_quantile(level, fit.degrees_of_freedom) * error
    return replace(
        marginal,
        low=mean - half,
        high=mean + half,
        standard_error=error,
        degrees_of_freedom=fit.degrees_of_freedom,
        notes=(),
    )


def _model_comparison(
    points: list[Estimate], fit: AdditiveFit, pair: tuple[int, int], level: float
) -> Comparison:
    """Compare a pair (treated, reference), without interval where one of them has one unit only."""
    compared = [points[treatment] for treatment in pair]
    if any(point.value is None for point in compared):
        return Comparison(notes=NO_FIGURE)
    means = [float(fit.means[treatment]) for treatment in pair]
    if any(point.n == 1 for point in compared) and not np.isnan(means).any():
        point = compare_points(*means)
        return replace(point, notes=joined(point.notes, ONE_UNIT_COMPARED))
    return compare_in_model(fit, *pair, level)
