"""Every number of a report out of a trial."""

from dataclasses import replace
from math import hypot, inf

import numpy as np

from reportgen.metrics.chains import factors_of
from reportgen.metrics.design import counts, design_of, variances_of
from reportgen.metrics.energy_notes import energy_noted
from reportgen.metrics.fairness import fairness, without_outliers
from reportgen.metrics.figures import noted, treatment_results
from reportgen.metrics.instruments import gains_of
from reportgen.metrics.measures import PERCENT, TREATMENT_METRICS, Metric, metrics_of
from reportgen.metrics.reporting import reporting
from reportgen.metrics.spread import plants_own_spread
from reportgen.metrics.totals import planted
from reportgen.model.results import Comparison, Estimate, Letters, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.stats.analysis import Analysis, analyse
from reportgen.stats.comparisons import Spread, joined, reciprocal
from reportgen.stats.fieller import MeanPair
from reportgen.stats.instruments import Gains, widened_comparison, widened_estimate

ONE_FIGURE = frozenset({"energy_use"})  # its trays are alike because one figure was given out to them
CONVENTIONS = frozenset(metric.key for metric in TREATMENT_METRICS if not metric.has_ratio)  # whose zero is one
NOT_TOGETHER = "intervals that hold together are left out, as they would not hold the instruments' uncertainty"


def compute(trial: Trial) -> Results:
    """Return everything that a report says in numbers, in full precision.

    A metric for which no tray and no treatment has data is left out.
    """
    measures = measured(trial)
    other = without_outliers(trial)
    return Results(
        counts(trial),
        measures,
        factors_of(trial, {result.measure.key: result for result in measures}),
        fairness(trial, measures),
        reporting(trial),
        _headline(other) if other else None,
    )


def measured(trial: Trial) -> tuple[MeasureResult, ...]:
    """Return the estimates and comparisons of every metric that the trial has data for."""
    metrics = metrics_of(trial)
    found = {metric.key: _result(trial, metric) for metric in metrics}
    for metric in metrics:
        if metric.partner:
            found[metric.key] = _turned(found[metric.key], found[metric.partner])
    ratios = tuple(_said(trial, metric, found[metric.key]) for metric in metrics if found[metric.key].scores)
    single = (_by_instruments(trial, result) for result in treatment_results(trial))
    return ratios + tuple(_within_possible(one) if one.measure.key not in CONVENTIONS else one for one in single)


def _by_instruments(trial: Trial, result: MeasureResult) -> MeasureResult:
    """Give the figures of metrics without trays behind them the interval that their instruments leave.

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
            (code, widened_estimate(each, hypot(gains[code], shared), level) if each.low is None else each)
            for code, each in result.estimates
        ),
        comparisons=tuple(
            (
                code,
                widened_comparison(
                    each,
                    Spread(MeanPair(values[code] or 0.0, values[trial.reference] or 0.0, 0.0, 0.0), 0.0, 0.0),
                    Gains(gains[code], gains[trial.reference], shared),
                    level,
                )
                if each.ratio is not None
                else each,
            )
            for code, each in result.comparisons
        ),
    )


def _said(trial: Trial, metric: Metric, result: MeasureResult) -> MeasureResult:
    possible = result if metric.signed else _within_possible(result)
    return energy_noted(trial, noted(trial, metric, possible))


def _headline(trial: Trial) -> MeasureResult | None:
    """Return fresh weight again, of a trial without the plants that stand out."""
    metric = next(metric for metric in metrics_of(trial) if metric.key == "fresh_weight")
    result = _result(trial, metric)
    return _within_possible(result) if result.scores else None


def analysis_of(trial: Trial, metric: Metric) -> Analysis:
    """Return the analysis of a metric, by the trays' spread alone."""
    return analyse(
        metric.numerator(trial) * metric.factor,
        metric.denominator(trial),
        design_of(trial),
        trial.confidence_level,
        variances_of(trial),
    )


def _result(trial: Trial, metric: Metric) -> MeasureResult:
    analysis = _with_instruments(trial, metric, analysis_of(trial, metric))
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
    result = MeasureResult(metric.measure(trial), estimates, comparisons, scores, _letters(codes, analysis))
    return _spread_noted(trial, result)


def _letters(codes: list[str], analysis: Analysis) -> Letters | None:
    """Return the letters where some treatment has one."""
    if not analysis.letters or not any(analysis.letters):
        return None
    return Letters(analysis.letters_method, tuple(zip(codes, analysis.letters, strict=True)))


def _with_instruments(trial: Trial, metric: Metric, analysis: Analysis) -> Analysis:
    """Add what the instruments leave uncertain to intervals that the trays' spread gave."""
    own, shared = gains_of(trial, metric)
    if not any(own) and not shared:
        return analysis
    reference = own[[treatment.code for treatment in trial.treatments].index(trial.reference)]
    level = trial.confidence_level
    return replace(
        analysis,
        estimates=tuple(
            widened_estimate(each, hypot(gain, shared), level)
            if each.standard_error is not None or metric.key in ONE_FIGURE
            else each
            for each, gain in zip(analysis.estimates, own, strict=True)
        ),
        comparisons=_apart(
            analysis.comparisons,
            tuple(
                each
                if each is None or spread is None or not _has_spread(metric, each)
                else widened_comparison(each, spread, Gains(gain, reference, shared), level)
                for each, spread, gain in zip(analysis.comparisons, analysis.spreads, own, strict=True)
            ),
        ),
    )


def _has_spread(metric: Metric, comparison: Comparison) -> bool:
    return comparison.difference_low is not None or metric.key in ONE_FIGURE


Compared = tuple[Comparison | None, ...]


def _apart(before: Compared, after: Compared) -> Compared:
    """Return comparisons without the limits for all together, which were not widened, where one of them was."""
    pairs = [(old, new) for old, new in zip(before, after, strict=True) if old is not None and new is not None]
    if all((old.ratio_low, old.ratio_high) == (new.ratio_low, new.ratio_high) for old, new in pairs):
        return after
    return tuple(one if one is None or one.p_adjusted is None else _alone(one) for one in after)


def _alone(comparison: Comparison) -> Comparison:
    note = joined(comparison.note, NOT_TOGETHER)
    return replace(comparison, p_adjusted=None, simultaneous_low=None, simultaneous_high=None, note=note)


def _spread_noted(trial: Trial, result: MeasureResult) -> MeasureResult:
    spreads = plants_own_spread(trial, result.measure.key)
    estimates = tuple(
        (code, replace(estimate, note=joined(estimate.note, spreads[code]))) if code in spreads else (code, estimate)
        for code, estimate in result.estimates
    )
    return replace(result, estimates=estimates)


def _within_possible(result: MeasureResult) -> MeasureResult:
    """Cut intervals at 0, and those of a share at 100 %, which the methods for means do not know of."""
    highest = PERCENT if result.measure.unit == "%" else inf
    return replace(
        result,
        estimates=tuple((code, _cut(estimate, highest)) for code, estimate in result.estimates),
        comparisons=tuple((code, _cut_ratio(comparison)) for code, comparison in result.comparisons),
    )


def _cut(estimate: Estimate, highest: float) -> Estimate:
    if estimate.low is None or estimate.high is None or (estimate.low >= 0 and estimate.high <= highest):
        return estimate
    low, high = max(estimate.low, 0.0), min(estimate.high, highest)
    return replace(estimate, low=low, high=high, note=joined(estimate.note, "interval cut at what is possible"))


def _cut_ratio(comparison: Comparison) -> Comparison:
    if comparison.ratio_low is None or comparison.ratio_low >= 0:
        return comparison
    return replace(comparison, ratio_low=0.0, note=joined(comparison.note, "interval of the ratio cut at 0"))


def _turned(own: MeasureResult, partner: MeasureResult) -> MeasureResult:
    """Return a result whose ratios are those of its reciprocal partner turned round."""
    by_code = dict(partner.comparisons)
    return replace(
        own,
        comparisons=tuple((code, reciprocal(by_code[code], comparison)) for code, comparison in own.comparisons),
    )
