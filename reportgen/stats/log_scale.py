"""Ratios of two treatments' figures on the log scale, with limits exp(ln ratio ± t SE).

Growth multiplies: a better shelf and a stronger treatment both act in proportion, and spreads grow
with the means. On the log scale such effects add up, limits are never below zero, and the
reciprocal ratio has the reciprocal limits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import exp, hypot, isfinite, log, sqrt

import numpy as np

from reportgen.model.message import Amount, Notes, joined, note
from reportgen.model.results import Comparison, Estimate
from reportgen.model.trial import Variances
from reportgen.stats.additive import (
    ADDITIVE_MODEL,
    NO_RESIDUAL,
    NO_RESIDUAL_SPREAD,
    AdditiveFit,
    fit_additive,
)
from reportgen.stats.analysis import MARGINAL_MEAN, Analysis, Design, analyse, analyse_singly
from reportgen.stats.comparisons import (
    ONE_UNIT_COMPARED,
    SEPARATE_VARIANCES,
    Spread,
    compare_points,
    satterthwaite,
)
from reportgen.stats.fieller import NO_SPREAD_OF_RATIO, UNBOUNDED, UNBOUNDED_ABOVE, UNBOUNDED_BELOW
from reportgen.stats.fragility import IntervalOfRatio
from reportgen.stats.instruments import (
    BOTH_TYPES,
    INSTRUMENT,
    INSTRUMENT_ONLY,
    Gains,
    widened_comparison,
    widened_estimate,
)
from reportgen.stats.letters import games_howell, letters_of_tests, tukey_kramer
from reportgen.stats.main_plots import PlotMeans, of_main_plots, plot_means
from reportgen.stats.scores import (
    ROUNDING,
    BoolArray,
    FloatArray,
    IntArray,
    is_measured,
    unit_scores,
)
from reportgen.stats.simultaneous import family_levels, family_p_value, simultaneous_for
from reportgen.stats.student import t_quantile, two_sided_p_value

FEW_UNITS = 3  # up to here a treatment's own variance is too uncertain, by the simulated coverage
UNEQUAL_NUMBERS = UNEQUAL_SPREADS = 2.0  # where no method holds its level, by the same simulation

NOT_ALL_POSITIVE = note("not_all_positive")
ADJUSTED_FOR_BLOCKS = note("adjusted_for_blocks")
SPREADS_DIFFER = note("spreads_differ")
SPLIT_PLOT = note("split_plot_model")
MAIN_PLOTS_UNBALANCED = note("main_plots_unbalanced")
LETTERS_CONTRADICT = note("letters_contradict")

OF_FIELLER = frozenset((*UNBOUNDED, *UNBOUNDED_ABOVE, *UNBOUNDED_BELOW, *NO_SPREAD_OF_RATIO))
WITHOUT_INTERVAL = frozenset(
    (*NO_RESIDUAL, *NO_RESIDUAL_SPREAD)
)  # of the linear model; units have their own spread
OWN_SPREAD = note("own_spread")
OF_PLOTS = note("spread_of_main_plots")
OF_PLOTS_POOLED = note("pooled_spread_of_main_plots")
ONE_PLOT = note("one_main_plot")
POOLED_SPREAD = note("pooled_spread")
LOG_RATIO = note("log_ratio")


class Denominator(StrEnum):
    """What a metric divides by: a known number such as plants, or a measured quantity that varies
    by chance.
    """

    FIXED = "fixed"
    MEASURED = "measured"


@dataclass(frozen=True)
class InstrumentErrors:
    """Relative standard uncertainties of instruments.

    Each treatment's own (k,), and what all treatments share.

    Where they `stand_alone` they make the interval of a figure whose units show no spread: one
    meter's, say.
    """

    own: FloatArray
    shared: float = 0.0
    stand_alone: bool = False

    @property
    def is_known(self) -> bool:
        """Return whether any instrument leaves something uncertain."""
        return bool(self.own.any()) or self.shared > 0


@dataclass(frozen=True)
class Question:
    """What is asked of the units.

    Design, confidence level, how variances are taken (None: as the numbers allow).
    """

    design: Design
    level: float
    variances: Variances | None = None


@dataclass(frozen=True)
class LogScores:
    """The logarithms of all units (n,), NaN where a unit is left out.

    A treatment's scores average to the logarithm of its figure, which is the mean of its units or a
    ratio of totals.
    """

    values: FloatArray


_Point = tuple[Comparison | None, Spread | None]  # a comparison, and what its difference rests on


@dataclass(frozen=True)
class Residuals:
    """What the model of the logarithms leaves unexplained, unit by unit (n,).

    NaN where a unit is left out.

    `fitted` are on the scale of the figures, `residuals` natural logarithms of value / fitted.
    `spreads` (k,) are the standard deviations of each treatment's logarithms, blocks included; NaN
    below two units.
    """

    fitted: FloatArray
    residuals: FloatArray
    spreads: FloatArray


@dataclass(frozen=True)
class _Model:
    """Logarithms of the treatments' figures (k,), their covariance (k, k), and what the intervals
    rest on.

    `freedoms` are the degrees of freedom (k,) of each treatment against the reference, `units` the
    numbers (k,), `variances` each treatment's own sample variance (k,), NaN below two units.
    `untested` are the treatments that lie in other main plots than the reference, where main plots
    are not balanced. `plots` are what a treatment's own interval rests on where there are main
    plots.
    """

    logs: FloatArray
    covariance: FloatArray
    freedoms: FloatArray
    units: IntArray
    variances: FloatArray
    pooled: bool
    name: Notes
    fit: AdditiveFit | None = None
    untested: frozenset[int] = frozenset()
    plots: PlotMeans | None = None

    @property
    def replicates(self) -> IntArray:
        """Return on how many values each treatment's own interval rests (k,).

        Units, or means of main plots.
        """
        if self.plots is None:
            return self.units
        return self.plots.plots

    @property
    def own_variances(self) -> FloatArray:
        """Return the sample variances of those values (k,)."""
        if self.plots is None:
            return self.variances
        return self.plots.variances


def log_scores(
    numerator: FloatArray, denominator: FloatArray, design: Design, kind: Denominator
) -> LogScores | None:
    """Return the units' scores on the log scale; None where a unit is at or below zero.

    Shapes: (n,) each.

    With a fixed denominator a unit's score is the logarithm of its value a / b, moved so that the
    treatment's scores average to the logarithm of the mean value. With a measured denominator it is
    the linearised logarithm of the ratio of totals R, ln R + (a - R b) / (R mean(b)): Cochran
    (1977), Sampling Techniques, 3rd ed., ch. 6.
    """
    measured = is_measured(numerator, denominator)
    if not (numerator[measured] > 0).all() or not (denominator[measured] > 0).all():
        return None
    scores = np.full(numerator.shape, np.nan)
    for treatment in range(design.treatments):
        own = measured & (design.treatment == treatment)
        if own.any():
            scores[own] = _scores_of(numerator[own], denominator[own], kind)
    return LogScores(scores)


def _scores_of(numerator: FloatArray, denominator: FloatArray, kind: Denominator) -> FloatArray:
    if kind is Denominator.FIXED:
        values = numerator / denominator
        logs: FloatArray = np.log(values)
        moved: FloatArray = logs - logs.mean() + log(values.mean())
        return moved
    ratio = float(numerator.sum() / denominator.sum())
    relative: FloatArray = unit_scores(numerator, denominator) / ratio - 1
    scores: FloatArray = log(ratio) + relative
    return scores


def analyse_ratios(
    numerator: FloatArray,
    denominator: FloatArray,
    question: Question,
    kind: Denominator,
    errors: InstrumentErrors,
) -> Analysis:
    """Estimate each treatment's figure and its ratio to the reference.

    Numerator, denominator: (n,).

    With a fixed denominator the figure is the mean of the units' values, else the ratio of totals.
    Ratios are on the log scale; where a unit is not above zero they are Fieller's. Differences have
    the limits of the linear model.
    """
    if kind is Denominator.FIXED:
        numerator, denominator = _values_of_units(numerator, denominator)
    design, level = question.design, question.level
    measured = is_measured(numerator, denominator)
    units = np.bincount(design.treatment[measured], minlength=design.treatments)
    pooled = is_pooled(question, units)
    scores = log_scores(numerator, denominator, design, kind)
    variances: Variances = "pooled" if pooled else "separate"
    if scores is None:
        linear = analyse(numerator, denominator, design, level, variances)
        return _noted(widened(linear, question, errors), NOT_ALL_POSITIVE)
    linear = widened(
        analyse_singly(numerator, denominator, design, level, variances), question, errors
    )
    if not units.any():
        return linear
    if design.split is not None:
        linear = _with_main_plots(linear, question)
    return _on_log_scale(linear, _model(scores, question, pooled), scores, question, errors)


def estimate_ratios(
    numerator: FloatArray,
    denominator: FloatArray,
    question: Question,
    kind: Denominator,
    errors: InstrumentErrors,
) -> tuple[Estimate, ...]:
    """Return the estimates of `analyse_ratios` without its slow comparisons."""
    if kind is Denominator.FIXED:
        numerator, denominator = _values_of_units(numerator, denominator)
    design = question.design
    measured = is_measured(numerator, denominator)
    units = np.bincount(design.treatment[measured], minlength=design.treatments)
    pooled = is_pooled(question, units)
    scores = log_scores(numerator, denominator, design, kind)
    variances: Variances = "pooled" if pooled else "separate"
    linear = widened(
        analyse_singly(numerator, denominator, design, question.level, variances), question, errors
    ).estimates
    if scores is None or not units.any():
        return linear
    model = _model(scores, question, pooled)
    return tuple(
        _estimate(estimate, model, treatment, question, errors)
        for treatment, estimate in enumerate(linear)
    )


def _with_main_plots(linear: Analysis, question: Question) -> Analysis:
    """Give differences the limits that main plots leave.

    Those of unbalanced ones are left to the ratios.
    """
    split = of_main_plots(question.design, linear.scores)
    if split.cells is None:
        return linear
    comparisons: list[Comparison | None] = []
    spreads: list[Spread | None] = []
    for treatment, (comparison, spread) in enumerate(
        zip(linear.comparisons, linear.spreads, strict=True)
    ):
        if comparison is None or spread is None or comparison.difference is None:
            comparisons.append(comparison)
            spreads.append(spread)
            continue
        freedom = float(split.freedoms[treatment])
        half = t_quantile(question.level, freedom) * split.error(
            treatment, question.design.reference
        )
        middle = split.cells.means[treatment] - split.cells.means[question.design.reference]
        comparisons.append(
            replace(
                comparison,
                difference_low=float(middle - half),
                difference_high=float(middle + half),
            )
        )
        spreads.append(replace(spread, difference_freedom=freedom))
    return replace(linear, comparisons=tuple(comparisons), spreads=tuple(spreads))


def compare_ratios(
    numerator: FloatArray,
    denominator: FloatArray,
    question: Question,
    kind: Denominator,
    errors: InstrumentErrors,
) -> tuple[Comparison | None, ...]:
    """Return the ratios that `analyse_ratios` gives, without all else, None for the reference."""
    compared = _compared(numerator, denominator, question, kind)
    if compared is None:
        return analyse_ratios(numerator, denominator, question, kind, errors).comparisons
    points, model = compared
    return _comparisons(points, model, question, errors)


def sides_of_ratios(
    numerator: FloatArray,
    denominator: FloatArray,
    question: Question,
    kind: Denominator,
    errors: InstrumentErrors,
) -> tuple[IntervalOfRatio | None, ...]:
    """Return each ratio with limits on that side of 1 where those of `compare_ratios` lie.

    None where there is none.

    Limits that hold for all comparisons together lie between those of one by itself and
    Bonferroni's. Where both agree on the side, the double integral is not needed: with 14
    comparisons it takes most of the time.
    """
    compared = _compared(numerator, denominator, question, kind)
    if compared is None:
        found = analyse_ratios(numerator, denominator, question, kind, errors).comparisons
        return tuple(map(interval_of, found))
    points, model = compared
    family_of_one = _Family.at(model, question, question.level)
    members = max(family_of_one.size, 1)
    narrowest = _comparisons(points, model, question, errors, family_of_one)
    widest = _comparisons(
        points,
        model,
        question,
        errors,
        _Family.at(model, question, 1 - (1 - question.level) / members),
    )
    sides = [
        (interval_of(narrow), interval_of(wide))
        for narrow, wide in zip(narrowest, widest, strict=True)
    ]
    if all(
        narrow is None or wide is None or narrow.verdict == wide.verdict for narrow, wide in sides
    ):
        return tuple(narrow for narrow, _ in sides)
    return tuple(map(interval_of, _comparisons(points, model, question, errors)))


def interval_of(comparison: Comparison | None) -> IntervalOfRatio | None:
    """Return the ratio of a comparison with the limits that are shown.

    None where it cannot be tested.
    """
    if comparison is None or comparison.ratio is None:
        return None
    if comparison.ratio_low is None and comparison.ratio_high is None:
        return None
    return IntervalOfRatio(comparison.ratio, comparison.ratio_low, comparison.ratio_high)


def _compared(
    numerator: FloatArray, denominator: FloatArray, question: Question, kind: Denominator
) -> "tuple[list[_Point], _Model] | None":
    """Return what ratios are made of; None where they are not on the log scale."""
    scores = log_scores(numerator, denominator, question.design, kind)
    if scores is None:
        return None
    usable = np.isfinite(scores.values)
    units = np.bincount(question.design.treatment[usable], minlength=question.design.treatments)
    model = _model(scores, question, is_pooled(question, units))
    reference = question.design.reference
    points: list[_Point] = []
    for treatment in range(question.design.treatments):
        is_single = min(units[treatment], units[reference]) < 2
        known = np.isfinite(model.logs[[treatment, reference]]).all()
        blank = Comparison(1.0 if known else None, notes=ONE_UNIT_COMPARED if is_single else ())
        points.append((None if treatment == reference else blank, None))
    return points, model


def scores_of_units(
    numerator: FloatArray, denominator: FloatArray, design: Design, kind: Denominator
) -> LogScores | None:
    """Return the scores that `analyse_ratios` compares treatments by.

    None where a unit is not above zero.
    """
    if kind is Denominator.FIXED:
        numerator, denominator = _values_of_units(numerator, denominator)
    return log_scores(numerator, denominator, design, kind)


def residuals_of(
    numerator: FloatArray, denominator: FloatArray, question: Question, kind: Denominator
) -> Residuals | None:
    """Return the residuals of the model of `analyse_ratios`.

    None where a unit is not above zero, or nothing is left.

    numerator, denominator: (n,). Blocks are in the model unless variances are asked to be separate.
    """
    design = question.design
    scores = scores_of_units(numerator, denominator, design, kind)
    if scores is None:
        return None
    usable = np.isfinite(scores.values)
    kept = scores.values[usable]
    if design.block is None or question.variances == "separate":
        block = None
    else:
        block = design.block[usable]
    fit = fit_additive(kept, design.treatment[usable], design.treatments, block)
    if not fit.residuals.any():
        return None
    fitted, residuals = np.full(usable.shape, np.nan), np.full(usable.shape, np.nan)
    fitted[usable] = np.exp(kept - fit.residuals)
    residuals[usable] = fit.residuals
    groups = [scores.values[usable & (design.treatment == k)] for k in range(design.treatments)]
    return Residuals(fitted, residuals, np.sqrt([_variance(group) for group in groups]))


def analyse_differences(
    values: FloatArray, question: Question, errors: InstrumentErrors
) -> Analysis:
    """Estimate means of units' values (n,) and their differences on an interval scale."""
    units = np.bincount(
        question.design.treatment[np.isfinite(values)], minlength=question.design.treatments
    )
    variances: Variances = "pooled" if is_pooled(question, units) else "separate"
    found = analyse(values, np.ones(values.shape), question.design, question.level, variances)
    return widened(found, question, errors)


def widened(found: Analysis, question: Question, errors: InstrumentErrors) -> Analysis:
    """Add what the instruments leave uncertain to intervals of the linear model.

    Limits for all treatments together would not hold the instruments' part, so each comparison then
    stands alone.
    """
    if not errors.is_known:
        return found
    level = question.level
    estimates: list[Estimate] = []
    for estimate, own in zip(found.estimates, errors.own.tolist(), strict=True):
        if estimate.standard_error is not None or errors.stand_alone:
            gain = hypot(own, errors.shared)
            estimates.append(widened_estimate(estimate, gain, level))
        else:
            estimates.append(estimate)
    comparisons = _widened_comparisons(found, question, errors)
    return replace(found, estimates=tuple(estimates), comparisons=comparisons)


def _widened_comparisons(
    found: Analysis, question: Question, errors: InstrumentErrors
) -> tuple[Comparison | None, ...]:
    own_gains = errors.own.tolist()
    reference = own_gains[question.design.reference]
    comparisons: list[Comparison | None] = []
    for comparison, spread, own in zip(found.comparisons, found.spreads, own_gains, strict=True):
        if (
            comparison is None
            or spread is None
            or (comparison.difference_low is None and not errors.stand_alone)
        ):
            comparisons.append(comparison)
        else:
            gains = Gains(own, reference, errors.shared)
            widened_one = widened_comparison(comparison, spread, gains, question.level)
            comparisons.append(widened_one)
    return tuple(comparisons)


def _values_of_units(
    numerator: FloatArray, denominator: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return each unit's own value, with 1 to divide by; NaN where the unit has none."""
    has_value = np.isfinite(numerator) & np.isfinite(denominator) & (denominator != 0)
    values = np.full(numerator.shape, np.nan)
    values[has_value] = numerator[has_value] / denominator[has_value]
    return values, np.ones(values.shape)


def is_pooled(question: Question, units: IntArray) -> bool:
    """Tell whether one variance serves all treatments.

    As asked, with blocks, or where a treatment has few units.
    """
    if question.variances is not None:
        return question.variances == "pooled"
    if question.design.block is not None or question.design.split is not None:
        return True
    repeated = units[units > 1]
    return bool(repeated.size and repeated.min() <= FEW_UNITS)


def _model(scores: LogScores, question: Question, pooled: bool) -> _Model:
    design = question.design
    usable = np.isfinite(scores.values)
    groups = [scores.values[usable & (design.treatment == k)] for k in range(design.treatments)]
    units = np.array([group.size for group in groups])
    variances = np.array([_variance(group) for group in groups])
    if design.split is None and not pooled:
        return _separate_model(groups, units, variances, design.reference)
    if design.split is None:
        return _additive_model(scores, design, groups, variances)
    plots = plot_means(design, scores.values)
    split = of_main_plots(design, scores.values)
    if split.cells is None:
        model = _additive_model(scores, design, groups, variances)
        return replace(model, untested=split.in_other_main_plots, plots=plots)
    means, covariance = split.cells.means, split.cells.covariance
    return _Model(
        means, covariance, split.freedoms, units, variances, True, SPLIT_PLOT, plots=plots
    )


def _additive_model(
    scores: LogScores, design: Design, groups: list[FloatArray], variances: FloatArray
) -> _Model:
    """Return the model with one variance, of treatments and of blocks where there are blocks."""
    usable = np.isfinite(scores.values)
    if design.block is None:
        block = None
    else:
        block = design.block[usable]
    fit = fit_additive(scores.values[usable], design.treatment[usable], design.treatments, block)
    logs = np.where(np.isfinite(fit.means), fit.means, [_mean(group) for group in groups])
    units = np.array([group.size for group in groups])
    freedoms = np.full(units.shape, float(fit.degrees_of_freedom))
    return _Model(logs, fit.covariance, freedoms, units, variances, True, fit.model, fit)


def _separate_model(
    groups: list[FloatArray], units: IntArray, variances: FloatArray, reference: int
) -> _Model:
    logs = np.array([_mean(group) for group in groups])
    of_means = np.where(variances > 0, variances, np.nan) / np.maximum(units, 1)
    freedoms = np.full(units.shape, np.nan)
    for treatment in range(units.size):
        both = of_means[treatment], of_means[reference]
        if isfinite(both[0]) and isfinite(both[1]):
            own = int(units[treatment]) - 1, int(units[reference]) - 1
            freedoms[treatment] = satterthwaite(float(both[0]), float(both[1]), own)
    return _Model(logs, np.diag(of_means), freedoms, units, variances, False, SEPARATE_VARIANCES)


def _mean(group: FloatArray) -> float:
    if group.size:
        return float(group.mean())
    return np.nan


def _variance(group: FloatArray) -> float:
    """Return the sample variance, 0 where the units differ by rounding alone, NaN below two units."""
    if group.size < 2:
        return np.nan
    if np.ptp(group) <= ROUNDING:
        return 0.0
    return float(group.var(ddof=1))


def _on_log_scale(
    linear: Analysis, model: _Model, scores: LogScores, question: Question, errors: InstrumentErrors
) -> Analysis:
    estimates = tuple(
        _estimate(estimate, model, treatment, question, errors)
        for treatment, estimate in enumerate(linear.estimates)
    )
    points = list(zip(linear.comparisons, linear.spreads, strict=True))
    comparisons = _comparisons(points, model, question, errors)
    found = replace(
        linear,
        estimates=estimates,
        comparisons=comparisons,
        log_errors=tuple(_own_errors(model, question.design.reference)),
    )
    if question.design.treatments < 3:
        return found
    return _with_letters(found, model, scores, question)


def _estimate(
    linear: Estimate, model: _Model, treatment: int, question: Question, errors: InstrumentErrors
) -> Estimate:
    """Return a treatment's figure with the t interval of its units' logarithms."""
    if linear.value is None or not isfinite(model.logs[treatment]):
        return linear
    value = exp(float(model.logs[treatment]))
    plain = _without_interval(linear, value)
    pooled = _pools_own_intervals(model, question)
    error, freedom = _own_error(model, treatment, pooled)
    gain = sqrt(float(errors.own[treatment]) ** 2 + errors.shared**2)
    if error is None:
        if model.plots is not None and model.plots.plots[treatment] == 1:
            plain = replace(plain, notes=joined(plain.notes, ONE_PLOT))
        if not errors.stand_alone:
            gain = 0.0
        return _by_instruments(plain, gain, question.level)
    both = _both_types(error, freedom, gain)
    half = _half_width(error, freedom, gain, question.level)
    methods = _own_method(model, pooled)
    if _is_adjusted(linear, value):
        methods = joined(linear.methods, methods)
    if gain:
        methods = joined(methods, BOTH_TYPES)
    return replace(
        plain,
        notes=tuple(reason for reason in plain.notes if reason not in WITHOUT_INTERVAL),
        low=value * exp(-half),
        high=value * exp(half),
        standard_error=value * both[0],
        degrees_of_freedom=both[1],
        methods=methods,
    )


def _is_adjusted(linear: Estimate, value: float) -> bool:
    """Tell whether a model's figure differs from that of the units as they are."""
    if not linear.value:
        return False
    return abs(value / linear.value - 1) > 1e-9


def _without_interval(linear: Estimate, value: float) -> Estimate:
    """Return a treatment's figure on the log scale, its interval left blank."""
    adjusted = _is_adjusted(linear, value)
    notes = _lasting(linear.notes)
    if adjusted:
        notes = joined(notes, ADJUSTED_FOR_BLOCKS)
    return replace(
        linear,
        value=value,
        low=None,
        high=None,
        standard_error=None,
        degrees_of_freedom=None,
        methods=_methods_of_value(linear.methods, adjusted),
        notes=notes,
    )


def _methods_of_value(methods: Notes, adjusted: bool) -> Notes:
    """Return how a figure came about.

    A mean of the units as they are is no marginal mean of a model.
    """
    is_of_model = any(method in MARGINAL_MEAN for method in methods)
    if is_of_model and not adjusted:
        return ()
    return methods


def _own_method(model: _Model, pooled: bool) -> Notes:
    """Return the name of the method of a treatment's own interval."""
    if model.plots is not None:
        if pooled:
            return OF_PLOTS_POOLED
        return OF_PLOTS
    if pooled:
        return POOLED_SPREAD
    return OWN_SPREAD


def _lasting(notes: Notes) -> Notes:
    """Return the notes that hold on the log scale too: not those of Fieller's interval."""
    if notes:
        return tuple(one for one in notes if one not in OF_FIELLER)
    return ()


def _pools_own_intervals(model: _Model, question: Question) -> bool:
    """Tell whether the treatments' own intervals share a variance.

    With blocks that is for few units only.
    """
    repeated = model.replicates[model.replicates > 1]
    is_few = bool(repeated.size and repeated.min() <= FEW_UNITS)
    return model.pooled and (is_few or question.variances == "pooled")


def _own_error(model: _Model, treatment: int, pooled: bool) -> tuple[float | None, float]:
    """Return the standard error and degrees of freedom of a treatment's logarithm.

    Blocks stay in it: the interval holds for other shelves and benches too.
    """
    replicates, variances = model.replicates, model.own_variances
    units = float(replicates[treatment])
    if units < 2:
        return None, 0.0
    if not pooled:
        variance = float(variances[treatment])
        if variance > 0:
            return (sqrt(variance / units), units - 1)
        return (None, 0.0)
    repeated = replicates > 1
    freedoms = replicates[repeated] - 1
    variance = float(freedoms @ variances[repeated] / freedoms.sum())
    if variance <= 0:
        return None, 0.0
    return sqrt(variance / units), _own_freedom(
        model, variance, int(repeated.sum()), float(freedoms.sum())
    )


def _own_freedom(model: _Model, variance: float, treatments: int, spare: float) -> float:
    """Return the degrees of freedom of the pooled variance of units over all blocks.

    Treatments that stood in the same blocks share their spread, so they tell less of it than
    `spare`: by Satterthwaite from the mean squares of blocks and of the residuals, whose sum over
    the treatments is the variance of one. Those that stood in the same main plots tell no more than
    one of them would.
    """
    if model.plots is not None:
        return spare / model.plots.sharing
    if model.fit is None or model.fit.model != ADDITIVE_MODEL:
        return spare
    of_blocks_freedom = spare / treatments
    residual = (treatments - 1) * model.fit.residual_variance
    if not isfinite(residual):
        return of_blocks_freedom
    of_blocks = max(treatments * variance - residual, 0.0)
    spread = of_blocks**2 / of_blocks_freedom + residual**2 / model.fit.degrees_of_freedom
    return min(spare, (treatments * variance) ** 2 / spread)


def _by_instruments(plain: Estimate, gain: float, level: float) -> Estimate:
    """Return a figure whose units show no spread.

    What instruments leave uncertain is all its interval then.
    """
    is_repeated = plain.n > 1
    if not gain or plain.value is None or not is_repeated:
        return plain
    half = t_quantile(level, np.inf) * gain
    notes = joined(plain.notes, INSTRUMENT_ONLY)
    low, high = plain.value * exp(-half), plain.value * exp(half)
    return replace(plain, low=low, high=high, methods=INSTRUMENT, notes=notes)


def _both_types(error: float, freedom: float, gain: float) -> tuple[float, float]:
    """Return a standard error with the instrument's added, and its degrees of freedom.

    JCGM 100 G.4.
    """
    total = error**2 + gain**2
    return sqrt(total), freedom * (total / error**2) ** 2


def _half_width(error: float, freedom: float, gain: float, level: float) -> float:
    """Return half the interval on the log scale; an instrument never makes it narrower."""
    alone = t_quantile(level, freedom) * error
    if not gain:
        return alone
    total, effective = _both_types(error, freedom, gain)
    return max(alone, t_quantile(level, effective) * total)


def _own_errors(model: _Model, reference: int) -> list[float | None]:
    """Return the standard error of each treatment's log ratio to the reference by the units alone."""
    errors: list[float | None] = []
    for treatment in range(model.logs.size):
        error = _error(model, treatment, reference)
        errors.append(None if treatment == reference else error)
    return errors


def _error(model: _Model, treatment: int, reference: int) -> float | None:
    if treatment in model.untested or min(model.units[treatment], model.units[reference]) < 2:
        return None
    cov = model.covariance
    variance = float(
        cov[treatment, treatment] + cov[reference, reference] - 2 * cov[treatment, reference]
    )
    if isfinite(variance) and variance > 0:
        return sqrt(variance)
    return None


def _comparisons(
    points: Sequence[_Point],
    model: _Model,
    question: Question,
    errors: InstrumentErrors,
    family: "_Family | None" = None,
) -> tuple[Comparison | None, ...]:
    reference = question.design.reference
    family = family or _Family.of(model, question)
    found: list[Comparison | None] = []
    for treatment, (comparison, spread) in enumerate(points):
        if comparison is None:
            found.append(None)
            continue
        point = _point(family.widened(comparison, treatment, spread), model, treatment, reference)
        error = _error(model, treatment, reference)
        gain = sqrt(float(errors.own[treatment]) ** 2 + float(errors.own[reference]) ** 2)
        if point.ratio is None or error is None:
            if errors.stand_alone:
                alone = gain
            else:
                alone = 0.0
            if treatment in model.untested:
                notes = joined(point.notes, MAIN_PLOTS_UNBALANCED)
                point = replace(
                    point, difference_low=None, difference_high=None, methods=LOG_RATIO, notes=notes
                )
            found.append(_ratio_by_instruments(point, alone, question.level))
            continue
        found.append(
            _with_limits(point, model, _Contrast(treatment, reference, error, gain), family)
        )
    return tuple(found)


def _point(comparison: Comparison, model: _Model, treatment: int, reference: int) -> Comparison:
    """Return the quotient of the two figures, without limits."""
    both = model.logs[treatment], model.logs[reference]
    is_known = comparison.ratio is not None and isfinite(both[0]) and isfinite(both[1])
    ratio, difference = None, comparison.difference
    if is_known:
        ratio = exp(float(both[0] - both[1]))
        difference = compare_points(exp(float(both[0])), exp(float(both[1]))).difference
    return replace(
        comparison,
        ratio=ratio,
        ratio_low=None,
        ratio_high=None,
        single_low=None,
        single_high=None,
        difference=difference,
        p_value=None,
        p_adjusted=None,
        degrees_of_freedom=None,
    )


def _ratio_by_instruments(point: Comparison, gain: float, level: float) -> Comparison:
    """Return a ratio between units without spread.

    Where instruments are known, they alone make its interval.
    """
    if not gain or point.ratio is None:
        return point
    low, high = _limits(point.ratio, t_quantile(level, np.inf) * gain)
    alike_low, alike_high = _limits(point.ratio, t_quantile(1 - 2 * (1 - level), np.inf) * gain)
    return replace(
        point,
        ratio_low=low,
        ratio_high=high,
        single_low=low,
        single_high=high,
        alike_low=alike_low,
        alike_high=alike_high,
        methods=INSTRUMENT,
        notes=joined(point.notes, INSTRUMENT_ONLY),
    )


@dataclass(frozen=True)
class _Contrast:
    """One treatment against the reference.

    Standard error of the log ratio by units, and instruments' part of it.
    """

    treatment: int
    reference: int
    error: float
    gain: float


@dataclass(frozen=True)
class _Family:
    """All comparisons with the reference.

    For each treatment the single level that serves the wanted level for all.

    `levels` belong to the confidence level 1 - a, `narrow_levels` to 1 - 2 a, by which two figures
    are called alike.
    """

    size: int
    level: float
    levels: dict[int, float]
    narrow_levels: dict[int, float]
    correlation: FloatArray

    @classmethod
    def of(cls, model: _Model, question: Question) -> "_Family":
        reference = question.design.reference
        others = [k for k in range(model.logs.size) if k != reference]
        members = [k for k in others if _error(model, k, reference) is not None]
        level, narrow = question.level, 1 - 2 * (1 - question.level)
        if not members:
            return cls(0, level, {}, {}, np.empty((0, 0)))
        rows = [*members, reference]
        covariance = model.covariance[np.ix_(rows, rows)]
        freedoms = model.freedoms[members]
        levels, correlation = family_levels(covariance, freedoms, level)
        narrow_levels, _ = family_levels(covariance, freedoms, narrow)
        return cls(
            len(members),
            level,
            dict(zip(members, levels.tolist(), strict=True)),
            dict(zip(members, narrow_levels.tolist(), strict=True)),
            correlation,
        )

    @classmethod
    def at(cls, model: _Model, question: Question, level: float) -> "_Family":
        """Return the comparisons at the single level `level`, without adjusted p values."""
        reference = question.design.reference
        others = [k for k in range(model.logs.size) if k != reference]
        levels = {k: level for k in others if _error(model, k, reference) is not None}
        return cls(len(levels), question.level, levels, levels, np.empty((0, 0)))

    def widened(self, comparison: Comparison, treatment: int, spread: Spread | None) -> Comparison:
        """Return a comparison with simultaneous limits of the difference."""
        low, high = comparison.difference_low, comparison.difference_high
        is_alone = self.size < 2 or treatment not in self.levels
        if is_alone or spread is None or low is None or high is None:
            return comparison
        quantiles = [
            t_quantile(level, spread.difference_freedom)
            for level in (self.level, self.levels[treatment])
        ]
        middle, half = (low + high) / 2, (high - low) / 2 * quantiles[1] / quantiles[0]
        return replace(comparison, difference_low=middle - half, difference_high=middle + half)


def _with_limits(
    point: Comparison, model: _Model, contrast: _Contrast, family: _Family
) -> Comparison:
    assert point.ratio is not None
    freedom = float(model.freedoms[contrast.treatment])
    log_ratio = log(point.ratio)
    total, effective = _both_types(contrast.error, freedom, contrast.gain)
    single = _limits(point.ratio, _half_width(contrast.error, freedom, contrast.gain, family.level))
    level = family.levels[contrast.treatment]
    shown = _limits(point.ratio, _half_width(contrast.error, freedom, contrast.gain, level))
    narrow = _half_width(
        contrast.error, freedom, contrast.gain, family.narrow_levels[contrast.treatment]
    )
    by_units = two_sided_p_value(log_ratio / contrast.error, freedom)
    p_value = max(
        by_units, two_sided_p_value(log_ratio / total, effective)
    )  # as the interval: never surer
    adjusted = None
    if family.correlation.size > 1:
        adjusted = family_p_value(abs(log_ratio) / total, family.correlation, freedom)
    if _spreads_differ(model, contrast):
        warning = SPREADS_DIFFER
    else:
        warning = ()
    if family.size > 1:
        together = simultaneous_for(family.size)
    else:
        together = ()
    return replace(
        point,
        ratio_low=shown[0],
        ratio_high=shown[1],
        single_low=single[0],
        single_high=single[1],
        alike_low=point.ratio * exp(-narrow),
        alike_high=point.ratio * exp(narrow),
        p_value=p_value,
        p_adjusted=adjusted,
        degrees_of_freedom=effective,
        methods=joined(LOG_RATIO, model.name, together, BOTH_TYPES if contrast.gain else ()),
        notes=joined(point.notes, warning),
    )


def _limits(ratio: float, half: float) -> tuple[float, float]:
    return ratio * exp(-half), ratio * exp(half)


def _spreads_differ(model: _Model, contrast: _Contrast) -> bool:
    """Tell whether numbers differ by a factor of two and spreads too."""
    pair = [contrast.treatment, contrast.reference]
    units, variances = model.units[pair], model.variances[pair]
    if not (variances > 0).all():
        return False
    unequal = units.max() >= UNEQUAL_NUMBERS * units.min()
    spreads = np.sqrt(variances)
    return bool(unequal and spreads.max() >= UNEQUAL_SPREADS * spreads.min())


def _with_letters(
    found: Analysis, model: _Model, scores: LogScores, question: Question
) -> Analysis:
    """Add the letters of all pairs, unless they contradict the intervals against the reference.

    There are none where trays stood in main plots, since pairs then differ in what they rest on.
    """
    if question.design.split is not None:
        return replace(found, letters=None, letters_methods=())
    level = question.level
    if model.fit is not None:
        if model.fit.notes:
            return replace(found, letters=None, letters_methods=())
        p_values = tukey_kramer(model.fit, model.units)
        method = joined(note("tukey_kramer", level=Amount(1 - level)), model.name)
    else:
        if not (model.variances > 0).any():
            return replace(found, letters=None, letters_methods=())
        treatments = range(question.design.treatments)
        usable = np.isfinite(scores.values)
        groups = [scores.values[usable & (question.design.treatment == k)] for k in treatments]
        p_values = games_howell(groups)
        method = note("games_howell", level=Amount(1 - level))
    different = p_values < 1 - level
    if _contradicts(found, different[question.design.reference]):
        return replace(found, letters=None, letters_methods=(), letters_notes=LETTERS_CONTRADICT)
    return replace(
        found, letters=letters_of_tests(model.logs, p_values, level), letters_methods=method
    )


def _contradicts(found: Analysis, different: BoolArray) -> bool:
    """Tell whether a test against the reference says another thing than the interval shown."""
    for comparison, is_different in zip(found.comparisons, different.tolist(), strict=True):
        if comparison is None or comparison.ratio_low is None or comparison.ratio_high is None:
            continue
        stands_apart = comparison.ratio_low > 1 or comparison.ratio_high < 1
        if stands_apart != is_different:
            return True
    return False


def _noted(found: Analysis, notes: Notes) -> Analysis:
    comparisons = [
        comparison and replace(comparison, notes=joined(comparison.notes, notes))
        for comparison in found.comparisons
    ]
    return replace(found, comparisons=tuple(comparisons))
