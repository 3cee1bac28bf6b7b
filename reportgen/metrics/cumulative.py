"""What treatments had given by each day of picking."""

from dataclasses import replace
from datetime import date
from typing import Final

from reportgen.metrics.design import question_of
from reportgen.metrics.harvests import picking_days, up_to
from reportgen.metrics.instruments import errors_of
from reportgen.metrics.measures import Metric, metrics_of
from reportgen.metrics.pickings import is_weighed
from reportgen.metrics.totals import FloatArray, planted
from reportgen.model.results import CumulativeYield, Estimate, MeasureResult, YieldByDay
from reportgen.model.trial import Trial
from reportgen.stats.log_scale import estimate_ratios

BY_WEIGHT: Final = ("tray_yield", "marketable_yield")
BY_PIECES: Final = ("pieces",)  # where nothing was weighed


def cumulative(trial: Trial, measures: tuple[MeasureResult, ...]) -> tuple[CumulativeYield, ...]:
    """Return total and marketable yield by day of picking.

    Pieces count where nothing was weighed.

    A figure is the mean of the treatment's trays with the interval that the measure has at the end.
    None where there were no pickings, or all on one day.
    """
    if len(picking_days(trial)) < 2:
        return ()
    measured = {result.measure.key for result in measures}
    keys = BY_WEIGHT if is_weighed(trial) else BY_PIECES
    chosen: list[Metric] = []
    for metric in metrics_of(trial):
        if metric.key in keys and metric.key in measured:
            chosen.append(metric)
    return tuple(_of_metric(trial, metric) for metric in chosen)


def _of_metric(trial: Trial, metric: Metric) -> CumulativeYield:
    days = tuple(_on_day(trial, metric, day) for day in picking_days(trial))
    return CumulativeYield(metric.measure(trial), days)


def _on_day(trial: Trial, metric: Metric, day: date) -> YieldByDay:
    numerator = up_to(trial, metric.numerator, day)
    denominator = metric.denominator(trial)
    errors = errors_of(trial, metric)
    estimates = estimate_ratios(
        numerator, denominator, question_of(trial), metric.divides_by, errors
    )
    codes = trial.treatment_codes
    estimated = []
    for code, each in zip(codes, estimates, strict=True):
        estimated.append((code, _from_zero(each)))
    pairs = tuple(estimated)
    return YieldByDay(day, pairs, _at_zero(trial, numerator))


def _at_zero(trial: Trial, given: FloatArray) -> tuple[str, ...]:
    """Return the treatments of which a tray had given nothing.

    given: (n,), of each tray with plants.
    """
    empty = set()
    for tray, value in zip(planted(trial), given.tolist(), strict=True):
        if value == 0:
            empty.add(tray.treatment)
    return tuple(treatment.code for treatment in trial.treatments if treatment.code in empty)


def _from_zero(estimate: Estimate) -> Estimate:
    """Cut an interval at 0, of which the method for trays that had given nothing yet does not know."""
    if estimate.low is not None:
        return replace(estimate, low=max(estimate.low, 0.0))
    return estimate
