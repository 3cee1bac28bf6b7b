"""Yields adjusted for what trays began with: the start weight of their plants, the light at their
place.

A covariate must be settled before a treatment can change it, or the adjustment takes away what the
treatment did.
"""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import exp
from statistics import fmean
from typing import Final

import numpy as np

from reportgen.metrics.basis import on_whole_crop
from reportgen.metrics.design import question_of
from reportgen.metrics.measures import Metric, metrics_by_key
from reportgen.metrics.start_weights import DIFFERS_BELOW, start_weights
from reportgen.metrics.totals import FloatArray, by_tray, planted
from reportgen.model.message import Count, Notes, note
from reportgen.model.results import (
    AdjustedMeasure,
    Adjustment,
    Comparison,
    Covariate,
    Estimate,
    MeasureResult,
)
from reportgen.model.trial import Trial
from reportgen.stats.covariance import (
    COVARIANCE,
    CovarianceDesign,
    CovarianceFit,
    compare_adjusted,
    fit_covariance,
)
from reportgen.stats.student import t_quantile

YIELDS: Final = (
    *on_whole_crop("yield_per_plant_started"),
    "fresh_weight",
    *on_whole_crop("tray_yield"),
)
ALPHA: Final = 0.05  # below it slopes differ
FEW_FREEDOMS: Final = 4  # below it the interval rests on so little that a reader must know


@dataclass(frozen=True)
class _Source:
    """Where a covariate comes from: `values` gives each tray's own, `withheld` why it must not be
    adjusted for.
    """

    covariate: Covariate
    unit: str
    values: Callable[[Trial], FloatArray]
    withheld: Callable[[Trial], Notes]


def light_at_places(trial: Trial) -> FloatArray:
    """Return the mean of the readings at each tray's own place, µmol/m2/s."""
    readings: dict[str, list[float]] = defaultdict(list)
    for reading in trial.light:
        if reading.tray:
            readings[reading.tray].append(reading.ppfd)
    return by_tray(trial, {tray: fmean(found) for tray, found in readings.items()})


def _never(trial: Trial) -> Notes:
    return ()


def _light_may_be_treatment(trial: Trial) -> Notes:
    """Return why light is not adjusted for: it was varied, or what was varied is not recorded."""
    if trial.varied is None:
        return note("varied_not_recorded")
    if trial.varied == "light":
        return note("light_was_varied")
    return ()


SOURCES: Final = (
    _Source("start_weight", "g", start_weights, _never),
    _Source("light_at_place", "µmol/m2/s", light_at_places, _light_may_be_treatment),
)


def adjustments(
    trial: Trial, measures: tuple[MeasureResult, ...], main: str
) -> tuple[Adjustment, ...]:
    """Return the main measure and the yields adjusted for each covariate singly."""
    found: list[Adjustment] = []
    for source in SOURCES:
        values = source.values(trial)
        values = np.where(values > 0, values, np.nan)
        if np.isfinite(values).any():
            found.append(_adjustment(trial, source, values, _metrics(trial, measures, main)))
    return tuple(found)


def _metrics(trial: Trial, measures: tuple[MeasureResult, ...], main: str) -> list[Metric]:
    """Return the metrics to adjust that have figures: ratios on the log scale, not proportions."""
    known = {result.measure.key for result in measures if result.scores}
    by_key = metrics_by_key(trial)
    metrics: list[Metric] = []
    for key in dict.fromkeys((main, *YIELDS)):
        metric = by_key.get(key)
        if metric is None or key not in known:
            continue
        if metric.is_ratio_scale and not metric.is_proportion:
            metrics.append(metric)
    return metrics


def _adjustment(
    trial: Trial, source: _Source, values: FloatArray, metrics: list[Metric]
) -> Adjustment:
    averages: list[tuple[str, float]] = []
    for treatment in trial.treatments:
        own = np.array([tray.treatment == treatment.code for tray in planted(trial)])
        if np.isfinite(values[own]).any():
            averages.append((treatment.code, float(np.nanmean(values[own]))))
    withheld = source.withheld(trial)
    adjusted: list[AdjustedMeasure] = []
    if not withheld:
        adjusted = [_measure(trial, metric, values) for metric in metrics]
    return Adjustment(source.covariate, source.unit, tuple(averages), tuple(adjusted), withheld)


def _measure(trial: Trial, metric: Metric, values: FloatArray) -> AdjustedMeasure:
    """Return a metric adjusted on the log scale for the covariate's logarithm."""
    question = question_of(trial)
    design = question.design
    logs = _logs(trial, metric)
    usable = np.isfinite(logs) & np.isfinite(values)
    plain = AdjustedMeasure(metric.measure(trial), int(usable.sum()), notes=note("cannot_adjust"))
    if not plain.trays:
        return plain
    if design.block is None:
        block = None
    else:
        block = design.block[usable]
    covariate = np.log(values[usable])
    fit = fit_covariance(
        logs[usable],
        CovarianceDesign(design.treatment[usable], design.treatments, covariate, block),
    )
    if fit is None:
        return plain
    left_out = int(np.isfinite(logs).sum()) - plain.trays
    half = t_quantile(question.level, fit.degrees_of_freedom) * fit.slope_error
    return replace(
        plain,
        estimates=_by_code(trial, _estimates(fit, question.level)),
        comparisons=_compared(trial, fit),
        exponent=fit.slope,
        exponent_low=fit.slope - half,
        exponent_high=fit.slope + half,
        exponent_p_value=fit.slope_p_value,
        p_slopes=fit.p_slopes,
        p_differs=fit.p_differs,
        degrees_of_freedom=fit.degrees_of_freedom,
        notes=_cautions(fit, left_out),
    )


def _logs(trial: Trial, metric: Metric) -> FloatArray:
    """Return the logarithm of each tray's own figure.

    NaN where it has none, and everywhere if one is not above zero.

    At one value of the covariate all treatments spread alike, so the ratio of geometric means is
    that of means.
    """
    numerator, denominator = metric.numerator(trial) * metric.factor, metric.denominator(trial)
    has_value = np.isfinite(numerator) & np.isfinite(denominator) & (denominator != 0)
    logs = np.full(numerator.shape, np.nan)
    values = numerator[has_value] / denominator[has_value]
    if (values > 0).all():
        logs[has_value] = np.log(values)
    return logs


def _compared(trial: Trial, fit: CovarianceFit) -> tuple[tuple[str, Comparison], ...]:
    question = question_of(trial)
    found = compare_adjusted(fit, question.design.reference, question.level)
    pairs = zip(trial.treatments, found, strict=True)
    comparisons: list[tuple[str, Comparison]] = []
    for treatment, comparison in pairs:
        if comparison is not None:
            comparisons.append((treatment.code, comparison))
    return tuple(comparisons)


def _by_code(trial: Trial, estimates: list[Estimate]) -> tuple[tuple[str, Estimate], ...]:
    by_code: list[tuple[str, Estimate]] = []
    for treatment, each in zip(trial.treatments, estimates, strict=True):
        by_code.append((treatment.code, each))
    return tuple(by_code)


def _estimates(fit: CovarianceFit, level: float) -> list[Estimate]:
    estimates: list[Estimate] = []
    for number, units in enumerate(fit.units.tolist()):
        if not units:
            estimates.append(Estimate(None, notes=note("no_unit")))
            continue
        mean, error = float(fit.means[number]), float(np.sqrt(fit.covariance[number, number]))
        half = t_quantile(level, fit.degrees_of_freedom) * error
        value = exp(mean)
        low, high = value * exp(-half), value * exp(half)
        freedom = float(fit.degrees_of_freedom)
        estimates.append(Estimate(value, low, high, value * error, freedom, units, COVARIANCE))
    return estimates


def _cautions(fit: CovarianceFit, left_out: int) -> Notes:
    """Return what a reader must know before the adjusted figures are believed."""
    notes: Notes = ()
    if fit.p_differs is not None and fit.p_differs < DIFFERS_BELOW:
        notes += note("covariate_differs")
    if fit.p_slopes is not None and fit.p_slopes < ALPHA:
        notes += note("slopes_differ")
    if fit.degrees_of_freedom < FEW_FREEDOMS:
        notes += note("few_freedoms")
    if left_out:
        notes += note("without_covariate", trays=Count(left_out, "tray"))
    return notes
