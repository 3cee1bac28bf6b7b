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
        verdicts=tuple(_verdict(trial, one) for one in results.conclusions),
        fragility=tuple(_fragility(one) for one in results.fragility),
        money=tuple(_money(one) for one in results.money),
        letters=tuple(_letters(trial, results)),
        factors=tuple(_ratio_factor(one) for one in results.factors),
        effects=effects_entry(trial, results),
        fairness=tuple(_fairness(trial, one) for one in results.fairness),
        reporting=tuple(_item(trial, one) for one in results.reporting),
        problems=tuple(_problem(one) for one in trial.findings if one.severity in SEVERITIES),
        to_come=tuple(ToComeEntry(one.sheet, one.column, one.number) for one in trial.to_come),
        scores=tuple(score_entry(trial, one) for one in results.scores),
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
        factors=tuple(FactorEntry(one.name, one.unit, one.levels) for one in trial.factors),
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


def _verdict(trial: Trial, one: Conclusion) -> VerdictEntry:
    return VerdictEntry(
        one.measure, one.treatment, one.code, one.toward, entries_of(trial, one.reasons)
    )


def _fragility(one: Fragile) -> FragilityEntry:
    turns = bool(one.turning)
    return FragilityEntry(
        one.measure, one.treatment, one.ratio_lowest, one.ratio_highest, turns, one.turning
    )


def _money(one: MoneyResult) -> MoneyEntry:
    return MoneyEntry(
        treatment=one.treatment,
        added_cost=one.added_cost,
        added_yield=one.added_yield,
        yield_unit=one.yield_unit,
        yield_of=one.yield_of,
        price=one.price,
        margin=one.margin,
        margin_low=one.margin_low,
        margin_high=one.margin_high,
        pays=one.pays,
        break_even_price=one.break_even_price,
        break_even_low=one.break_even_low,
        break_even_high=one.break_even_high,
        break_even_set=one.prices,
        direction=one.direction,
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
    found: AdjustedMeasure,
    code: str,
    unadjusted: float | None,
) -> AdjustedEntry:
    estimate = dict(found.estimates).get(code, Estimate(None))
    comparison = dict(found.comparisons).get(code, Comparison())
    return AdjustedEntry(
        covariate=adjustment.covariate,
        covariate_unit=adjustment.unit,
        covariate_mean=dict(adjustment.averages).get(code),
        metric=found.measure.key,
        treatment=code,
        unit=found.measure.unit,
        value=estimate.value,
        low=estimate.low,
        high=estimate.high,
        ratio=comparison.ratio,
        ratio_low=comparison.ratio_low,
        ratio_high=comparison.ratio_high,
        p_value=comparison.p_value,
        p_adjusted=comparison.p_adjusted,
        unadjusted_ratio=unadjusted,
        exponent=found.exponent,
        exponent_low=found.exponent_low,
        exponent_high=found.exponent_high,
        exponent_p_value=found.exponent_p_value,
        p_slopes=found.p_slopes,
        p_differs=found.p_differs,
        degrees_of_freedom=found.degrees_of_freedom,
        notes=entries_of(trial, found.notes),
    )


def _letters(trial: Trial, results: Results) -> Iterable[LettersEntry]:
    for result in results.measures:
        if result.letters:
            method = messages.clauses(trial, result.letters.methods)
            yield LettersEntry(result.measure.key, method, dict(result.letters.groups))


def _fairness(trial: Trial, one: Verdict) -> FairnessEntry:
    finding = messages.texts(trial, one.findings)
    return FairnessEntry(one.check, one.verdict, finding, entries_of(trial, one.findings))


def _item(trial: Trial, one: ReportedItem) -> ReportingEntry:
    return ReportingEntry(
        item=one.item,
        reported=one.reported,
        value=messages.known_values(trial, one.values) if one.reported else None,
        values=tuple(message_data.plain(value) for value in one.values),
        missing=tuple(message_data.plain(value) for value in one.missing),
    )


def _problem(one: Problem) -> ProblemEntry:
    return ProblemEntry(
        SEVERITIES[one.severity], one.code, one.sheet, one.cell, one.found, one.expected, one.advice
    )
