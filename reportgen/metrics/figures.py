"""Results of metrics with one figure for a treatment, and what is said of every metric's figures."""

from dataclasses import replace

from reportgen.metrics.measures import TREATMENT_METRICS, Metric, TreatmentMetric
from reportgen.model.message import Message, Notes, joined, message, note
from reportgen.model.results import Comparison, Estimate, MeasureResult
from reportgen.model.trial import Trial
from reportgen.stats.comparisons import NO_FIGURE, compare_points

NO_RATIO = note("no_ratio")
FIGURES_COMPARED = frozenset({"ratio_and_difference_of_figures"})
OF_RATIO = frozenset({"fieller_ratio", "fieller_plug_in", "log_ratio"})


def treatment_results(trial: Trial) -> tuple[MeasureResult, ...]:
    """Return the results of metrics with one figure for each treatment."""
    results = (treatment_result(trial, metric) for metric in TREATMENT_METRICS)
    known: list[MeasureResult] = []
    for result in results:
        if any(estimate.value is not None for _, estimate in result.estimates):
            known.append(result)
    return tuple(known)


def treatment_result(trial: Trial, metric: TreatmentMetric) -> MeasureResult:
    """Return a treatment's figures and their ratios to the reference, without intervals."""
    figures = metric.figures(trial)
    uncompared = metric.uncompared(trial)
    codes = [treatment.code for treatment in trial.treatments if treatment.code in figures]
    compared = []
    for code in codes:
        if code != trial.reference:
            compared.append((code, _compared(figures, uncompared, code, trial.reference)))
    comparisons = tuple(compared)
    result = MeasureResult(
        metric.measure(trial), tuple((code, figures[code]) for code in codes), comparisons
    )
    if metric.is_ratio_scale:
        return result
    return differences_only(result)


def _compared(
    figures: dict[str, Estimate], uncompared: dict[str, Notes], code: str, reference: str
) -> Comparison:
    pair = figures[code], figures.get(reference, Estimate(None))
    reason = joined(uncompared.get(code, ()), uncompared.get(reference, ()))
    if reason:
        return Comparison(notes=reason)
    treated, untreated = (each.value for each in pair)
    if treated is None or untreated is None:
        return Comparison(
            notes=joined(NO_FIGURE, *(each.notes for each in pair if each.value is None))
        )
    point = compare_points(treated, untreated)
    return replace(point, notes=joined(point.notes, *(each.notes for each in pair)))


def noted(trial: Trial, metric: Metric, result: MeasureResult) -> MeasureResult:
    """Return the result with the metric's notes on figures and comparisons.

    A metric whose zero is a convention keeps its differences only.
    """
    result = _withheld(trial, metric.withheld(trial), result)
    notes = metric.notes(trial)
    if not notes:
        if metric.is_ratio_scale:
            return result
        return differences_only(result)
    reference = notes.get(trial.reference, ())
    estimates = []
    for code, estimate in result.estimates:
        own = joined(estimate.notes, notes.get(code, ()))
        estimates.append((code, replace(estimate, notes=own)))
    comparisons = []
    for code, comparison in result.comparisons:
        both = joined(comparison.notes, reference, notes.get(code, ()))
        comparisons.append((code, replace(comparison, notes=both)))
    with_notes = replace(
        result,
        estimates=tuple(estimates),
        comparisons=tuple(comparisons),
    )
    if metric.is_ratio_scale:
        return with_notes
    return differences_only(with_notes)


def _withheld(trial: Trial, reasons: dict[str, Notes], result: MeasureResult) -> MeasureResult:
    """Give treatments that were measured but have no figure the reason for it."""
    estimates: list[tuple[str, Estimate]] = []
    for code, estimate in result.estimates:
        own = reasons.get(code, estimate.notes)
        estimates.append((code, replace(estimate, notes=own)))
    reference = reasons.get(trial.reference, ())
    comparisons: list[tuple[str, Comparison]] = []
    for code, comparison in result.comparisons:
        reason = joined(reference, reasons.get(code, ()))
        comparisons.append((code, replace(comparison, notes=reason or comparison.notes)))
    return replace(result, estimates=tuple(estimates), comparisons=tuple(comparisons))


def differences_only(result: MeasureResult) -> MeasureResult:
    """Return the result without ratios, which have no meaning for a temperature in °C or for pH."""
    differences = []
    for code, comparison in result.comparisons:
        differences.append((code, difference_only(comparison)))
    return replace(
        result,
        comparisons=tuple(differences),
    )


def difference_only(comparison: Comparison) -> Comparison:
    """Return a comparison without its ratio."""
    if comparison.difference is None:
        return comparison
    return replace(
        comparison,
        ratio=None,
        ratio_low=None,
        ratio_high=None,
        single_low=None,
        single_high=None,
        alike_low=None,
        alike_high=None,
        degrees_of_freedom=None,
        methods=_of_difference(comparison.methods),
        notes=joined(NO_RATIO, comparison.notes),
    )


def _of_difference(methods: Notes) -> Notes:
    """Return the methods without those of the ratio."""
    kept: list[Message] = []
    for method in methods:
        if method.code in FIGURES_COMPARED:
            kept.append(message("difference_of_figures"))
        elif method.code not in OF_RATIO:
            kept.append(method)
    return tuple(kept)
