"""The results file: every number of a report, unrounded, for scripts."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Final, Literal

from reportgen import language, schemas
from reportgen.model.problem import Problem, Severity
from reportgen.model.results import (
    AdjustedMeasure,
    Adjustment,
    Comparison,
    Conclusion,
    Estimate,
    Fragile,
    MeasureResult,
    MoneyResult,
    ReportedItem,
    Results,
    TreatmentCount,
    Verdict,
)
from reportgen.model.trial import Trial
from reportgen.report import message_data, messages
from reportgen.report.factor_entries import _ratio_factor, effects_entry
from reportgen.report.growth_entries import growth_entries, harvest_entries
from reportgen.report.message_entries import codes_of, entries_of
from reportgen.report.result_parts import (
    AdjustedEntry,
    ComparisonEntry,
    EstimateEntry,
    FragilityEntry,
    LettersEntry,
    MoneyEntry,
    VerdictEntry,
)
from reportgen.report.results_model import (
    FORMAT,
    FactorEntry,
    FairnessEntry,
    ProblemEntry,
    ReportingEntry,
    ResultsFile,
    ToComeEntry,
    TreatmentEntry,
    TrialEntry,
)
from reportgen.report.score_entries import score_entry

# Notes of what is still to come are no problems, and have a place of their own.
SEVERITIES: Final[Mapping[Severity, Literal["error", "caution", "remark"]]] = {
    Severity.ERROR: "error",
    Severity.CAUTION: "caution",
    Severity.REMARK: "remark",
}


def results_json(trial: Trial, results: Results) -> str:
    """Return the results file as JSON text, in English; null stands where there is no number."""
    content = asdict(in_english(trial, results))
    whole = {"$schema": f"../assets/{schemas.FILES['results']}", **content}
    return json.dumps(whole, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def in_english(trial: Trial, results: Results) -> ResultsFile:
    """Return what the results file of a trial holds, its texts in English."""
    with language.using(language.ENGLISH):
        return results_file(trial, results)


def results_file(trial: Trial, results: Results) -> ResultsFile:
    """Return what the results file of a trial holds."""
    return ResultsFile(
        format=FORMAT,
        trial=_trial(trial, results),
        treatments=tuple(_treatment(trial, count) for count in results.counts),
        estimates=tuple(_estimates(trial, results)),
        comparisons=tuple(_comparisons(trial, results)),
        verdicts=tuple(_verdict(trial, conclusion) for conclusion in results.conclusions),
        fragility=tuple(_fragility(fragility) for fragility in results.fragility),
        money=tuple(_money(budget) for budget in results.money),
        letters=tuple(_letters(trial, results)),
        factors=tuple(_ratio_factor(factor) for factor in results.factors),
        effects=effects_entry(trial, results),
        fairness=tuple(_fairness(trial, verdict) for verdict in results.fairness),
        reporting=tuple(_item(trial, item) for item in results.reporting),
        problems=tuple(
            _problem(problem) for problem in trial.findings if problem.severity in SEVERITIES
        ),
        to_come=tuple(
            ToComeEntry(column.sheet, column.column, column.number) for column in trial.to_come
        ),
        scores=tuple(score_entry(trial, score) for score in results.scores),
        harvests=tuple(harvest_entries(trial, results)),
        growth=tuple(growth_entries(trial, results)),
        adjusted=tuple(_adjusted(trial, results)),
    )


def _trial(trial: Trial, results: Results) -> TrialEntry:
    return TrialEntry(
        slug=trial.slug,
        title=trial.about.title,
        crop=trial.about.crop,
        started_on=trial.started_on.isoformat(),
        harvested_on=trial.harvested_on.isoformat(),
        days=(trial.harvested_on - trial.started_on).days,
        reference=trial.reference,
        experimental_unit=trial.experimental_unit,
        confidence_level=trial.confidence_level,
        currency=trial.currency,
        source_sha256=trial.source_sha256,
        main_measure=results.main_measure or None,
        margin=trial.margin,
        interim=trial.interim,
        as_of=trial.as_of.isoformat() if trial.as_of else None,
        varied=trial.varied,
        factors=tuple(
            FactorEntry(factor.name, factor.unit, factor.levels) for factor in trial.factors
        ),
    )


def _treatment(trial: Trial, count: TreatmentCount) -> TreatmentEntry:
    names = {treatment.code: treatment.name for treatment in trial.treatments}
    return TreatmentEntry(name=names[count.treatment], **asdict(count))


def _estimates(trial: Trial, results: Results) -> Iterable[EstimateEntry]:
    for result in results.measures:
        for code, estimate in result.estimates:
            yield _estimate(trial, result, code, estimate)


def _estimate(trial: Trial, result: MeasureResult, code: str, estimate: Estimate) -> EstimateEntry:
    return EstimateEntry(
        metric=result.measure.key,
        treatment=code,
        unit=result.measure.unit,
        value=estimate.value,
        low=estimate.low,
        high=estimate.high,
        standard_error=estimate.standard_error,
        degrees_of_freedom=estimate.degrees_of_freedom,
        n=estimate.n,
        method=messages.clauses(trial, estimate.methods),
        methods=codes_of(estimate.methods),
        note=messages.clauses(trial, estimate.notes),
        notes=entries_of(trial, estimate.notes),
    )


def _comparisons(trial: Trial, results: Results) -> Iterable[ComparisonEntry]:
    for result in results.measures:
        for code, comparison in result.comparisons:
            yield _comparison(trial, result, code, comparison)


def _comparison(
    trial: Trial, result: MeasureResult, code: str, comparison: Comparison
) -> ComparisonEntry:
    return ComparisonEntry(
        metric=result.measure.key,
        treatment=code,
        reference=trial.reference,
        ratio=comparison.ratio,
        ratio_low=comparison.ratio_low,
        ratio_high=comparison.ratio_high,
        single_low=comparison.single_low,
        single_high=comparison.single_high,
        alike_low=comparison.alike_low,
        alike_high=comparison.alike_high,
        difference=comparison.difference,
        difference_low=comparison.difference_low,
        difference_high=comparison.difference_high,
        p_value=comparison.p_value,
        p_adjusted=comparison.p_adjusted,
        degrees_of_freedom=comparison.degrees_of_freedom,
        method=messages.clauses(trial, comparison.methods),
        methods=codes_of(comparison.methods),
        note=messages.clauses(trial, comparison.notes),
        notes=entries_of(trial, comparison.notes),
    )


def _verdict(trial: Trial, conclusion: Conclusion) -> VerdictEntry:
    return VerdictEntry(
        conclusion.measure,
        conclusion.treatment,
        conclusion.code,
        conclusion.toward,
        entries_of(trial, conclusion.reasons),
    )


def _fragility(fragility: Fragile) -> FragilityEntry:
    turns = bool(fragility.turning)
    return FragilityEntry(
        fragility.measure,
        fragility.treatment,
        fragility.ratio_lowest,
        fragility.ratio_highest,
        turns,
        fragility.turning,
    )


def _money(budget: MoneyResult) -> MoneyEntry:
    return MoneyEntry(
        treatment=budget.treatment,
        added_cost=budget.added_cost,
        added_yield=budget.added_yield,
        yield_unit=budget.yield_unit,
        yield_of=budget.yield_of,
        price=budget.price,
        margin=budget.margin,
        margin_low=budget.margin_low,
        margin_high=budget.margin_high,
        pays=budget.pays,
        break_even_price=budget.break_even_price,
        break_even_low=budget.break_even_low,
        break_even_high=budget.break_even_high,
        break_even_set=budget.prices,
        direction=budget.direction,
    )


def _adjusted(trial: Trial, results: Results) -> Iterable[AdjustedEntry]:
    unadjusted = {result.measure.key: dict(result.comparisons) for result in results.measures}
    for adjustment in results.adjusted:
        for measure in adjustment.measures:
            for treatment in trial.treatments:
                plain = unadjusted[measure.measure.key].get(treatment.code, Comparison())
                yield _adjusted_figure(trial, adjustment, measure, treatment.code, plain.ratio)


def _adjusted_figure(
    trial: Trial,
    adjustment: Adjustment,
    adjusted: AdjustedMeasure,
    code: str,
    unadjusted: float | None,
) -> AdjustedEntry:
    estimate = dict(adjusted.estimates).get(code, Estimate(None))
    comparison = dict(adjusted.comparisons).get(code, Comparison())
    return AdjustedEntry(
        covariate=adjustment.covariate,
        covariate_unit=adjustment.unit,
        covariate_mean=dict(adjustment.averages).get(code),
        metric=adjusted.measure.key,
        treatment=code,
        unit=adjusted.measure.unit,
        value=estimate.value,
        low=estimate.low,
        high=estimate.high,
        ratio=comparison.ratio,
        ratio_low=comparison.ratio_low,
        ratio_high=comparison.ratio_high,
        p_value=comparison.p_value,
        p_adjusted=comparison.p_adjusted,
        unadjusted_ratio=unadjusted,
        exponent=adjusted.exponent,
        exponent_low=adjusted.exponent_low,
        exponent_high=adjusted.exponent_high,
        exponent_p_value=adjusted.exponent_p_value,
        p_slopes=adjusted.p_slopes,
        p_differs=adjusted.p_differs,
        degrees_of_freedom=adjusted.degrees_of_freedom,
        notes=entries_of(trial, adjusted.notes),
    )


def _letters(trial: Trial, results: Results) -> Iterable[LettersEntry]:
    for result in results.measures:
        if result.letters:
            method = messages.clauses(trial, result.letters.methods)
            yield LettersEntry(result.measure.key, method, dict(result.letters.groups))


def _fairness(trial: Trial, verdict: Verdict) -> FairnessEntry:
    finding = messages.texts(trial, verdict.findings)
    return FairnessEntry(
        verdict.check, verdict.verdict, finding, entries_of(trial, verdict.findings)
    )


def _item(trial: Trial, item: ReportedItem) -> ReportingEntry:
    return ReportingEntry(
        item=item.item,
        reported=item.reported,
        value=messages.known_values(trial, item.values) if item.reported else None,
        values=tuple(message_data.plain(value) for value in item.values),
        missing=tuple(message_data.plain(value) for value in item.missing),
    )


def _problem(problem: Problem) -> ProblemEntry:
    return ProblemEntry(
        SEVERITIES[problem.severity],
        problem.code,
        problem.sheet,
        problem.cell,
        problem.found,
        problem.expected,
        problem.advice,
    )
