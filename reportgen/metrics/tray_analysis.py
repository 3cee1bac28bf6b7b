"""The analysis of a metric out of a trial's trays."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from reportgen.metrics.design import question_of
from reportgen.metrics.measures import Metric
from reportgen.metrics.survival import survival_analysis
from reportgen.metrics.totals import FloatArray, Quantity
from reportgen.model.trial import Trial
from reportgen.stats.analysis import Analysis
from reportgen.stats.log_scale import (
    InstrumentErrors,
    Question,
    analyse_differences,
    analyse_ratios,
)


@dataclass(frozen=True)
class TrayTotals:
    """What all metrics of a trial are made of.

    Its design, and `total`, which gives a quantity of each tray (n,).

    Many metrics share a quantity, so each is reckoned once.
    """

    question: Question
    total: Callable[[Quantity], FloatArray]


def tray_totals(trial: Trial) -> TrayTotals:
    """Return the design and the quantities of a trial's trays."""
    return TrayTotals(question_of(trial), cache(lambda quantity: quantity(trial)))


def analysis_of(totals: TrayTotals, metric: Metric, errors: InstrumentErrors) -> Analysis:
    """Return the analysis of a metric.

    Ratios on the log scale, differences alone where zero is a convention.
    """
    numerator, denominator = totals.total(metric.numerator), totals.total(metric.denominator)
    if metric.is_proportion:
        return survival_analysis(numerator, denominator, totals.question)
    scaled = numerator * metric.factor
    if not metric.is_ratio_scale:
        return analyse_differences(scaled / denominator, totals.question, errors)
    return analyse_ratios(scaled, denominator, totals.question, metric.divides_by, errors)
