"""Results of metrics with one figure for a treatment, and what is said of every metric's figures."""

import re
from dataclasses import replace

from reportgen.metrics.measures import TREATMENT_METRICS, Metric, TreatmentMetric
from reportgen.model.results import Comparison, Estimate, MeasureResult
from reportgen.model.trial import Trial
from reportgen.stats.comparisons import NO_FIGURE, compare_points, joined

NO_RATIO = "its zero is a convention, so only the difference has a meaning"
RATIO_METHOD = re.compile(r"^Fieller ratio(?: and |.*?; )|^ratio and ")


def treatment_results(trial: Trial) -> tuple[MeasureResult, ...]:
    """Return the results of the metrics with one figure for a treatment, those that no treatment has left out."""
    results = (treatment_result(trial, metric) for metric in TREATMENT_METRICS)
    return tuple(result for result in results if any(each.value is not None for _, each in result.estimates))


def treatment_result(trial: Trial, metric: TreatmentMetric) -> MeasureResult:
    """Return a treatment's figures and what they are to the reference's, without intervals between treatments."""
    figures = metric.figures(trial)
    uncompared = metric.uncompared(trial)
    codes = [treatment.code for treatment in trial.treatments if treatment.code in figures]
    comparisons = tuple(
        (code, _compared(figures, uncompared, code, trial.reference)) for code in codes if code != trial.reference
    )
    result = MeasureResult(metric.measure(trial), tuple((code, figures[code]) for code in codes), comparisons)
    return result if metric.has_ratio else differences_only(result)


def _compared(figures: dict[str, Estimate], uncompared: dict[str, str], code: str, reference: str) -> Comparison:
    pair = figures[code], figures.get(reference, Estimate(None))
    reason = joined(uncompared.get(code, ""), uncompared.get(reference, ""))
    if reason:
        return Comparison(note=reason)
    treated, untreated = (each.value for each in pair)
    if treated is None or untreated is None:
        return Comparison(note=joined(NO_FIGURE, *(each.note for each in pair if each.value is None)))
    point = compare_points(treated, untreated)
    return replace(point, note=joined(point.note, *(each.note for each in pair)))


def noted(trial: Trial, metric: Metric, result: MeasureResult) -> MeasureResult:
    """Return the result with the metric's own notes on each figure, those of both treatments on a comparison.

    A metric whose zero is a convention keeps its differences only.
    """
    notes = metric.notes(trial)
    reference = notes.get(trial.reference, "")
    with_notes = replace(
        result,
        estimates=tuple(
            (code, replace(each, note=joined(each.note, notes.get(code, "")))) for code, each in result.estimates
        ),
        comparisons=tuple(
            (code, replace(each, note=joined(each.note, reference, notes.get(code, ""))))
            for code, each in result.comparisons
        ),
    )
    return with_notes if metric.has_ratio else differences_only(with_notes)


def differences_only(result: MeasureResult) -> MeasureResult:
    """Return the result without ratios, which have no meaning for a temperature in °C or for pH."""
    return replace(result, comparisons=tuple((code, _difference(each)) for code, each in result.comparisons))


def _difference(comparison: Comparison) -> Comparison:
    if comparison.difference is None:
        return comparison
    return replace(
        comparison,
        ratio=None,
        ratio_low=None,
        ratio_high=None,
        simultaneous_low=None,
        simultaneous_high=None,
        degrees_of_freedom=None,
        method=RATIO_METHOD.sub("", comparison.method),
        note=joined(NO_RATIO, comparison.note),
    )
