"""Living plants from day to day: how large they were, how fast they grew in each period, whether
one rate fits.
"""

from dataclasses import replace
from datetime import date

import numpy as np

from reportgen.metrics.design import question_of
from reportgen.metrics.figures import difference_only
from reportgen.metrics.growth_rate import means_by_day
from reportgen.metrics.growth_shape import GrowthRecord, growth_record, growth_shapes
from reportgen.metrics.instruments import errors_of, no_errors
from reportgen.metrics.measures import growth_rate_key, last_of, quantities
from reportgen.metrics.totals import by_tray
from reportgen.model.results import (
    Comparison,
    Estimate,
    GrowthOnDay,
    GrowthOverTime,
    GrowthPeriod,
    Measure,
)
from reportgen.model.trial import Trait, Trial
from reportgen.stats.log_scale import Denominator, analyse_differences, estimate_ratios


def growth_over_time(trial: Trial) -> tuple[GrowthOverTime, ...]:
    """Return the course of each growth trait that was measured on two days or more.

    Scores have none.
    """
    found: list[GrowthOverTime] = []
    for position, trait in quantities(trial.growth_traits):
        record = growth_record(trial, position)
        if len(record.days) > 1:
            found.append(_of_trait(trial, trait, position, record))
    return tuple(found)


def without_comparisons(found: GrowthOverTime) -> GrowthOverTime:
    """Return the course without what treatments differ by, for an unfinished trial."""
    return replace(
        found, periods=tuple(replace(period, comparisons=()) for period in found.periods)
    )


def _of_trait(trial: Trial, trait: Trait, position: int, record: GrowthRecord) -> GrowthOverTime:
    measure = Measure(f"growth_{trait.key}", trait.label, trait.unit)
    return GrowthOverTime(
        measure,
        growth_rate_key(trial, trait),
        _days(trial, trait, position, record),
        tuple(_period(trial, record, start, end) for start, end in record.periods),
        growth_shapes(trial, position),
    )


def _days(
    trial: Trial, trait: Trait, position: int, record: GrowthRecord
) -> tuple[GrowthOnDay, ...]:
    """Return each treatment's mean of trays on each day of measuring."""
    metric = last_of(trait, position)
    errors = errors_of(trial, metric)
    question = question_of(trial)
    means = means_by_day(trial, position)
    days: list[GrowthOnDay] = []
    for number in record.days:
        on = date.fromordinal(number)
        values = by_tray(trial, means[on])
        estimates = estimate_ratios(
            values, np.ones(values.shape), question, Denominator.FIXED, errors
        )
        days.append(GrowthOnDay(on, _by_code(trial, estimates)))
    return tuple(days)


def _period(trial: Trial, record: GrowthRecord, start: int, end: int) -> GrowthPeriod:
    """Return the rates of one period.

    Differences of logarithms may be below zero, so they have no ratio.
    """
    found = analyse_differences(
        record.rates(trial, start, end), question_of(trial), no_errors(trial)
    )
    codes = trial.treatment_codes
    comparisons: list[tuple[str, Comparison]] = []
    for code, comparison in zip(codes, found.comparisons, strict=True):
        if comparison is not None:
            comparisons.append((code, difference_only(comparison)))
    estimates = _by_code(trial, found.estimates)
    return GrowthPeriod(
        date.fromordinal(start), date.fromordinal(end), estimates, tuple(comparisons)
    )


def _by_code(trial: Trial, estimates: tuple[Estimate, ...]) -> tuple[tuple[str, Estimate], ...]:
    return tuple(zip(trial.treatment_codes, estimates, strict=True))
