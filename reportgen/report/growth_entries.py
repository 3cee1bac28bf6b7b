"""Harvests and growth over time as entries of the results file."""

from collections.abc import Iterable
from typing import Any

from reportgen.model.results import (
    Comparison,
    GrowthOnDay,
    GrowthOverTime,
    GrowthPeriod,
    GrowthShape,
    Results,
    YieldByDay,
)
from reportgen.model.trial import Trial
from reportgen.report.growth_parts import (
    GrowthEntry,
    GrowthOnDayEntry,
    GrowthPeriodEntry,
    HarvestsEntry,
    YieldByDayEntry,
)
from reportgen.report.message_entries import codes_of


def harvest_entries(trial: Trial, results: Results) -> Iterable[HarvestsEntry]:
    """Yield the yields of each treatment by day of picking."""
    for harvest in results.harvests:
        for treatment in trial.treatments:
            days = tuple(_yield_by_day(trial, day, treatment.code) for day in harvest.days)
            yield HarvestsEntry(harvest.measure.key, treatment.code, harvest.measure.unit, days)


def _yield_by_day(trial: Trial, day: YieldByDay, code: str) -> YieldByDayEntry:
    estimate = dict(day.estimates)[code]
    since = (day.on - trial.started_on).days
    return YieldByDayEntry(
        day.on.isoformat(), since, estimate.value, estimate.low, estimate.high, estimate.n
    )


def growth_entries(trial: Trial, results: Results) -> Iterable[GrowthEntry]:
    """Yield the growth of each treatment over time."""
    for growth in results.growth:
        shapes = {shape.treatment: shape for shape in growth.shapes}
        for treatment in trial.treatments:
            yield _growth_of(trial, growth, treatment.code, shapes.get(treatment.code))


def _growth_of(
    trial: Trial, growth: GrowthOverTime, code: str, shape: GrowthShape | None
) -> GrowthEntry:
    return GrowthEntry(
        trait=growth.measure.label,
        metric=growth.rate_key,
        treatment=code,
        unit=growth.measure.unit,
        **_shape_values(shape),
        days=tuple(_growth_on_day(trial, day, code) for day in growth.days),
        periods=tuple(_growth_period(period, code) for period in growth.periods),
    )


def _shape_values(shape: GrowthShape | None) -> dict[str, Any]:
    """Return whether one rate holds and where growth turned; null where that was not tested."""
    if shape is None:
        return dict.fromkeys(("shape", "p_value", "turn_on", "rate_before", "rate_after"))
    turn_on = None
    if shape.turn_on:
        turn_on = shape.turn_on.isoformat()
    return {
        "shape": shape.code,
        "p_value": shape.p_value,
        "turn_on": turn_on,
        "rate_before": shape.rate_before,
        "rate_after": shape.rate_after,
    }


def _growth_on_day(trial: Trial, day: GrowthOnDay, code: str) -> GrowthOnDayEntry:
    estimate = dict(day.estimates)[code]
    since = (day.on - trial.started_on).days
    return GrowthOnDayEntry(
        day.on.isoformat(), since, estimate.value, estimate.low, estimate.high, estimate.n
    )


def _growth_period(period: GrowthPeriod, code: str) -> GrowthPeriodEntry:
    estimate = dict(period.estimates)[code]
    comparison = dict(period.comparisons).get(code, Comparison())
    return GrowthPeriodEntry(
        start=period.start.isoformat(),
        end=period.end.isoformat(),
        rate=estimate.value,
        low=estimate.low,
        high=estimate.high,
        n=estimate.n,
        difference=comparison.difference,
        difference_low=comparison.difference_low,
        difference_high=comparison.difference_high,
        p_value=comparison.p_value,
        p_adjusted=comparison.p_adjusted,
        methods=codes_of(comparison.methods),
    )
