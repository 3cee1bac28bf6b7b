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
from reportgen.metrics.fairness import fairness, without_outliers
from reportgen.metrics.figures import noted, treatment_results
from reportgen.metrics.growth_over_time import growth_over_time, without_comparisons
from reportgen.metrics.instruments import errors_of, gains_of
from reportgen.metrics.measures import PERCENT, TREATMENT_METRICS, Metric, metrics_of
from reportgen.metrics.money import money
from reportgen.metrics.plant_measure import plant_measure
from reportgen.metrics.reporting import reporting
from reportgen.metrics.robustness import fragility
from reportgen.metrics.scores import scores
from reportgen.metrics.spread import plants_own_spread
from reportgen.metrics.totals import planted
from reportgen.metrics.tray_analysis import TrayTotals, analysis_of, tray_totals
from reportgen.metrics.verdicts import conclusions, main_measure, problems_of
from reportgen.model.factor_results import Factors
from reportgen.model.message import joined, note
from reportgen.model.results import Comparison, Estimate, Fragile, Letters, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.stats.analysis import Analysis
from reportgen.stats.comparisons import Spread
from reportgen.stats.fieller import MeanPair
from reportgen.stats.instruments import Gains, widened_comparison, widened_estimate

INTERVAL_SCALE = frozenset(
    metric.key for metric in TREATMENT_METRICS if not metric.has_ratio
)  # zero is a convention
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
    checks = fairness(trial, measures)
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
    """Return the figures of an unfinished trial: what each treatment gave so far, compared and
    judged in nothing.

    A comparison that is looked at while data come in finds differences by chance more often than
    its level says (Armitage, McPherson and Rowe 1969, J. R. Stat. Soc. A 132:235-244).
    """
    plain = _unadjusted(trial)
    measures = tuple(
        replace(one, comparisons=(), letters=None, letters_notes=()) for one in measured(plain)
    )
    return Results(
        counts(trial),
        measures,
        reporting=reporting(trial),
        main_measure=main_measure(trial, measures),
        harvests=cumulative(plain, measures),
        growth=tuple(without_comparisons(each) for each in growth_over_time(trial)),
    )


def _unadjusted(trial: Trial) -> Trial:
    """Return a trial whose figures are means of its trays as they are: blocks serve comparisons,
    and there are none.

    Treatments that stood in the same blocks then share no variance, since they share what the
    blocks did to it.
    """
    if not is_blocked(trial):
        return trial
    trays = tuple(replace(tray, block="", main_plot="") for tray in trial.trays)
    return replace(trial, trays=trays, variances="separate")


def measured(trial: Trial) -> tuple[MeasureResult, ...]:
    """Return the estimates and comparisons of every metric that the trial has data for."""
    found: list[MeasureResult] = []
    totals = tray_totals(trial)
    for metric in metrics_of(trial):
        result = _result(trial, metric, totals)
        if result.scores or metric.withheld(trial):
            found.append(_noted(trial, metric, result))
    for result in treatment_results(trial):
        widened = _by_instruments(trial, result)
        is_interval_scale = result.measure.key in INTERVAL_SCALE
        found.append(widened if is_interval_scale else _within_possible(widened))
    return tuple(found)


def _by_instruments(trial: Trial, result: MeasureResult) -> MeasureResult:
    """Give the figures of metrics without trays behind them the interval that their instruments
    leave.

    Not those whose zero is a convention: an accuracy in percent means nothing for them.
    """
    metric = next(metric for metric in TREATMENT_METRICS if metric.key == result.measure.key)
    own, shared = gains_of(trial, metric)
    if not metric.has_ratio or (not any(own) and not shared):
        return result
    level = trial.confidence_level
    gains = dict(zip((treatment.code for treatment in trial.treatments), own, strict=True))
    values = {code: each.value for code, each in result.estimates}
    return replace(
        result,
        estimates=tuple(
            (
                code,
                (
                    widened_estimate(each, hypot(gains[code], shared), level)
                    if each.low is None
                    else each
                ),
            )
            for code, each in result.estimates
        ),
        comparisons=tuple(
            (
                code,
                (
                    widened_comparison(
                        each,
                        Spread(
                            MeanPair(values[code] or 0.0, values[trial.reference] or 0.0, 0.0, 0.0),
                            0.0,
                            0.0,
                        ),
                        Gains(gains[code], gains[trial.reference], shared),
                        level,
                    )
                    if each.ratio is not None
                    else each
                ),
            )
            for code, each in result.comparisons
        ),
    )


def _noted(trial: Trial, metric: Metric, result: MeasureResult) -> MeasureResult:
    if metric.signed:
        possible = result
    else:
        possible = _within_possible(result)
    return energy_noted(trial, noted(trial, metric, possible))


def _headline(trial: Trial) -> MeasureResult | None:
    """Return what plants are compared by again, of a trial without the plants that stand out."""
    measure = plant_measure(trial)
    metric = next((one for one in metrics_of(trial) if measure and one.key == measure.key), None)
    if metric is None:
        return None
    result = _result(trial, metric, tray_totals(trial))
    if result.scores:
        return _within_possible(result)
    return None


def _result(trial: Trial, metric: Metric, totals: TrayTotals) -> MeasureResult:
    analysis = analysis_of(totals, metric, errors_of(trial, metric))
    codes = [treatment.code for treatment in trial.treatments]
    comparisons = tuple(
        (code, comparison)
        for code, comparison in zip(codes, analysis.comparisons, strict=True)
        if comparison is not None
    )
    scores = tuple(
        (tray.code, float(score))
        for tray, score in zip(planted(trial), analysis.scores, strict=True)
        if np.isfinite(score)
    )
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
    estimates = tuple(
        (
            (code, replace(estimate, notes=joined(estimate.notes, spreads[code])))
            if code in spreads
            else (code, estimate)
        )
        for code, estimate in result.estimates
    )
    return replace(result, estimates=estimates)


def _within_possible(result: MeasureResult) -> MeasureResult:
    """Cut intervals at 0, and those of a share at 100%, which the methods for means do not know of."""
    if result.measure.unit == "%":
        highest = PERCENT
    else:
        highest = inf
    return replace(
        result,
        estimates=tuple((code, _cut(estimate, highest)) for code, estimate in result.estimates),
        comparisons=tuple(
            (code, _cut_ratio(comparison)) for code, comparison in result.comparisons
        ),
    )


def _cut(estimate: Estimate, highest: float) -> Estimate:
    if (
        estimate.low is None
        or estimate.high is None
        or (estimate.low >= 0 and estimate.high <= highest)
    ):
        return estimate
    low, high = max(estimate.low, 0.0), min(estimate.high, highest)
    return replace(estimate, low=low, high=high, notes=joined(estimate.notes, CUT_AT_POSSIBLE))


def _cut_ratio(comparison: Comparison) -> Comparison:
    if comparison.ratio_low is None or comparison.ratio_low >= 0:
        return comparison
    return replace(comparison, ratio_low=0.0, notes=joined(comparison.notes, RATIO_CUT_AT_ZERO))
