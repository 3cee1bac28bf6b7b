"""Every number of a report out of a trial."""

from dataclasses import replace
from math import hypot, inf

import numpy as np

from reportgen.metrics.adjusted import adjustments
from reportgen.metrics.blocks import is_blocked
from reportgen.metrics.chains import factors_of
from reportgen.metrics.cumulative import cumulative
from reportgen.metrics.design import counts
from reportgen.metrics.energy_notes import energy_noted
from reportgen.metrics.factor_designs import has_doses
from reportgen.metrics.factors import factor_effects
from reportgen.metrics.figures import noted, treatment_results
from reportgen.metrics.growth_over_time import growth_over_time, without_comparisons
from reportgen.metrics.instruments import errors_of, gains_of
from reportgen.metrics.measures import (
    PERCENT,
    TREATMENT_METRICS,
    Metric,
    metrics_by_key,
    metrics_of,
)
from reportgen.metrics.money import money
from reportgen.metrics.plant_measure import plant_measure
from reportgen.metrics.reporting import reporting
from reportgen.metrics.robustness import fragility
from reportgen.metrics.scores import scores
from reportgen.metrics.spread import plants_own_spread
from reportgen.metrics.totals import planted
from reportgen.metrics.tray_analysis import TrayTotals, analysis_of, tray_totals
from reportgen.metrics.validity import validity, without_outliers
from reportgen.metrics.verdicts import conclusions, main_measure, problems_of
from reportgen.model.factor_results import Factors
from reportgen.model.message import joined, note
from reportgen.model.results import Comparison, Estimate, Fragile, Letters, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.stats.analysis import Analysis
from reportgen.stats.comparisons import Spread
from reportgen.stats.fieller import MeanPair
from reportgen.stats.instruments import Gains, widened_comparison, widened_estimate

# metrics whose zero is a convention, such as °C and pH
INTERVAL_SCALE = frozenset(metric.key for metric in TREATMENT_METRICS if not metric.is_ratio_scale)
CUT_AT_POSSIBLE = note("cut_at_possible")
RATIO_CUT_AT_ZERO = note("ratio_cut_at_zero")


def compute(trial: Trial) -> Results:
    """Return everything that a report says in numbers, in full precision.

    A metric for which no tray and no treatment has data is left out.
    """
    if trial.interim:
        return so_far(trial)
    measures = measured(trial)
    other = without_outliers(trial)
    in_classes = scores(trial)
    main = main_measure(trial, measures, in_classes)
    checks = validity(trial, measures)
    problems = problems_of(trial, measures, checks)
    effects = factor_effects(trial, measures, problems)
    return Results(
        counts(trial),
        measures,
        factors_of(trial, {result.measure.key: result for result in measures}),
        checks,
        reporting(trial),
        _headline(other) if other else None,
        main,
        conclusions(trial, measures, problems, in_classes),
        _fragility(trial, main, effects),
        money(trial),
        in_classes,
        cumulative(trial, measures),
        effects,
        growth_over_time(trial),
        adjustments(trial, measures, main),
    )


def _fragility(trial: Trial, main: str, effects: Factors) -> tuple[Fragile, ...]:
    """Return what rests on single trays; nothing where the answer is an effect of factors or doses."""
    if effects.of(main) is not None:
        return ()
    return fragility(trial, main)


def so_far(trial: Trial) -> Results:
    """Return the figures of an unfinished trial.

    What each treatment gave so far, compared and judged in nothing.

    A comparison that is looked at while data come in finds differences by chance more often than
    its level says (Armitage, McPherson and Rowe 1969, J. R. Stat. Soc. A 132:235-244).
    """
    plain = _unadjusted(trial)
    estimated: list[MeasureResult] = []
    for result in measured(plain):
        estimated.append(replace(result, comparisons=(), letters=None, letters_notes=()))
    measures = tuple(estimated)
    return Results(
        counts(trial),
        measures,
        reporting=reporting(trial),
        main_measure=main_measure(trial, measures),
        harvests=cumulative(plain, measures),
        growth=tuple(map(without_comparisons, growth_over_time(trial))),
    )


def _unadjusted(trial: Trial) -> Trial:
    """Return a trial whose figures are means of its trays as they are.

    Blocks serve comparisons, and there are none.

    Treatments that stood in the same blocks then share no variance, since they share what the
    blocks did to it.
    """
    if not is_blocked(trial):
        return trial
    trays = tuple(replace(tray, block="", main_plot="") for tray in trial.trays)
    return replace(trial, trays=trays, variances="separate")


def measured(trial: Trial) -> tuple[MeasureResult, ...]:
    """Return the estimates and comparisons of every metric that the trial has data for."""
    measures: list[MeasureResult] = []
    totals = tray_totals(trial)
    for metric in metrics_of(trial):
        result = _result(trial, metric, totals)
        if result.scores or metric.withheld(trial):
            measures.append(_noted(trial, metric, result))
    for result in treatment_results(trial):
        widened = _by_instruments(trial, result)
        if result.measure.key not in INTERVAL_SCALE:
            widened = _within_possible(widened)
        measures.append(widened)
    return tuple(measures)


def _by_instruments(trial: Trial, result: MeasureResult) -> MeasureResult:
    """Give metrics without trays behind them the intervals of their instruments.

    Interval scales such as °C and pH are skipped: an accuracy in percent means nothing for them.
    """
    metric = next(metric for metric in TREATMENT_METRICS if metric.key == result.measure.key)
    own, shared = gains_of(trial, metric)
    has_gains = any(own) or shared > 0
    if not metric.is_ratio_scale or not has_gains:
        return result
    level = trial.confidence_level
    gains = dict(zip(trial.treatment_codes, own, strict=True))
    estimates: list[tuple[str, Estimate]] = []
    for code, estimate in result.estimates:
        if estimate.low is None:
            gain = hypot(gains[code], shared)
            estimates.append((code, widened_estimate(estimate, gain, level)))
        else:
            estimates.append((code, estimate))
    values = {code: estimate.value or 0.0 for code, estimate in result.estimates}
    comparisons: list[tuple[str, Comparison]] = []
    for code, comparison in result.comparisons:
        if comparison.ratio is None:
            comparisons.append((code, comparison))
            continue
        means = MeanPair(values[code], values[trial.reference], 0.0, 0.0)
        of_pair = Gains(gains[code], gains[trial.reference], shared)
        widened = widened_comparison(comparison, Spread(means, 0.0, 0.0), of_pair, level)
        comparisons.append((code, widened))
    return replace(result, estimates=tuple(estimates), comparisons=tuple(comparisons))


def _noted(trial: Trial, metric: Metric, result: MeasureResult) -> MeasureResult:
    if metric.signed:
        possible = result
    else:
        possible = _within_possible(result)
    return energy_noted(trial, noted(trial, metric, possible))


def _headline(trial: Trial) -> MeasureResult | None:
    """Return what plants are compared by again, of a trial without the plants that stand out."""
    measure = plant_measure(trial)
    if measure is None:
        return None
    by_key = metrics_by_key(trial)
    metric = by_key.get(measure.key)
    if metric is None:
        return None
    result = _result(trial, metric, tray_totals(trial))
    if result.scores:
        return _within_possible(result)
    return None


def _result(trial: Trial, metric: Metric, totals: TrayTotals) -> MeasureResult:
    analysis = analysis_of(totals, metric, errors_of(trial, metric))
    codes = trial.treatment_codes
    compared = []
    for code, comparison in zip(codes, analysis.comparisons, strict=True):
        if comparison is not None:
            compared.append((code, comparison))
    comparisons = tuple(compared)
    finite_scores = []
    for tray, score in zip(planted(trial), analysis.scores, strict=True):
        if np.isfinite(score):
            finite_scores.append((tray.code, float(score)))
    scores = tuple(finite_scores)
    estimates = tuple(zip(codes, analysis.estimates, strict=True))
    if has_doses(trial):
        letters = None
    else:
        letters = _letters(codes, analysis)
    result = MeasureResult(
        metric.measure(trial),
        estimates,
        comparisons,
        scores,
        letters,
        letters_notes=analysis.letters_notes,
    )
    return _spread_noted(trial, result)


def _letters(codes: list[str], analysis: Analysis) -> Letters | None:
    """Return the letters where some treatment has one."""
    if not analysis.letters or not any(analysis.letters):
        return None
    return Letters(analysis.letters_methods, tuple(zip(codes, analysis.letters, strict=True)))


def _spread_noted(trial: Trial, result: MeasureResult) -> MeasureResult:
    spreads = plants_own_spread(trial, result.measure.key)
    if not spreads:
        return result
    estimates: list[tuple[str, Estimate]] = []
    for code, estimate in result.estimates:
        notes = joined(estimate.notes, spreads.get(code, ()))
        estimates.append((code, replace(estimate, notes=notes)))
    return replace(result, estimates=tuple(estimates))


def _within_possible(result: MeasureResult) -> MeasureResult:
    """Cut intervals at 0, and those of a share at 100%, which the methods for means do not know of."""
    if result.measure.unit == "%":
        highest = PERCENT
    else:
        highest = inf
    estimates: list[tuple[str, Estimate]] = []
    for code, estimate in result.estimates:
        estimates.append((code, _cut(estimate, highest)))
    comparisons: list[tuple[str, Comparison]] = []
    for code, comparison in result.comparisons:
        comparisons.append((code, _cut_ratio(comparison)))
    return replace(result, estimates=tuple(estimates), comparisons=tuple(comparisons))


def _cut(estimate: Estimate, highest: float) -> Estimate:
    if estimate.low is None or estimate.high is None:
        return estimate
    if estimate.low >= 0 and estimate.high <= highest:
        return estimate
    low, high = max(estimate.low, 0.0), min(estimate.high, highest)
    return replace(estimate, low=low, high=high, notes=joined(estimate.notes, CUT_AT_POSSIBLE))


def _cut_ratio(comparison: Comparison) -> Comparison:
    if comparison.ratio_low is None or comparison.ratio_low >= 0:
        return comparison
    return replace(comparison, ratio_low=0.0, notes=joined(comparison.notes, RATIO_CUT_AT_ZERO))
