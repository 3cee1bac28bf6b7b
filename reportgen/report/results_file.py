"""The results file: every number of a report, unrounded, for scripts."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Final, Literal

from reportgen import language, schemas
from reportgen.model.factor_results import (
    CurvePoint,
    DoseTrend,
    FactorTest,
    Interaction,
    LevelEffect,
)
from reportgen.model.message import Message, Notes
from reportgen.model.problem import Problem, Severity
from reportgen.model.results import (
    AdjustedMeasure,
    Adjustment,
    ClassCounts,
    Comparison,
    Conclusion,
    Estimate,
    FactorOfRatio,
    Fragile,
    GrowthOnDay,
    GrowthOverTime,
    GrowthPeriod,
    GrowthShape,
    MeasureResult,
    MoneyResult,
    RankComparison,
    ReportedItem,
    Results,
    ScoreResult,
    TreatmentCount,
    Verdict,
    YieldByDay,
)
from reportgen.model.trial import Trial
from reportgen.report import message_data, messages, terms
from reportgen.report.results_model import (
    FORMAT,
    AdjustedEntry,
    ComparisonEntry,
    CurvePointEntry,
    DoseTrendEntry,
    EffectsEntry,
    EstimateEntry,
    FactorEntry,
    FactorOfRatioEntry,
    FactorTestEntry,
    FairnessEntry,
    FragilityEntry,
    FTestEntry,
    GrowthEntry,
    GrowthOnDayEntry,
    GrowthPeriodEntry,
    HarvestsEntry,
    InteractionEntry,
    LettersEntry,
    LevelEffectEntry,
    MessageEntry,
    MoneyEntry,
    ProblemEntry,
    RatioOfEffectsEntry,
    ReportingEntry,
    ResultsFile,
    ScoreComparisonEntry,
    ScoreEntry,
    ScoreTrayEntry,
    ScoreTreatmentEntry,
    ToComeEntry,
    TreatmentEntry,
    TrialEntry,
    VerdictEntry,
    YieldByDayEntry,
)

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
        factors=tuple(_factor(one) for one in results.factors),
        effects=_effects(trial, results),
        fairness=tuple(_fairness(trial, one) for one in results.fairness),
        reporting=tuple(_item(trial, one) for one in results.reporting),
        problems=tuple(_problem(one) for one in trial.findings if one.severity in SEVERITIES),
        to_come=tuple(ToComeEntry(one.sheet, one.column, one.number) for one in trial.to_come),
        scores=tuple(_score(trial, one) for one in results.scores),
        harvests=tuple(_harvests(trial, results)),
        growth=tuple(_growth(trial, results)),
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
        methods=_codes(estimate.methods),
        note=messages.clauses(trial, estimate.notes),
        notes=_messages(trial, estimate.notes),
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
        methods=_codes(comparison.methods),
        note=messages.clauses(trial, comparison.notes),
        notes=_messages(trial, comparison.notes),
    )


def _codes(methods: Notes) -> tuple[str, ...]:
    return tuple(method.code for method in methods)


def _messages(trial: Trial, found: Iterable[Message]) -> tuple[MessageEntry, ...]:
    return tuple(
        MessageEntry(**message_data.entry(one, messages.text(trial, one))) for one in found
    )


def _verdict(trial: Trial, one: Conclusion) -> VerdictEntry:
    return VerdictEntry(
        one.measure, one.treatment, one.code, one.toward, _messages(trial, one.reasons)
    )


def _score(trial: Trial, score: ScoreResult) -> ScoreEntry:
    return ScoreEntry(
        metric=score.measure.key,
        label=score.measure.label,
        classes=score.scale,
        cut=score.scale[score.cut],
        treatments=tuple(_score_of_treatment(one) for one in score.treatments),
        trays=tuple(ScoreTrayEntry(tray, median) for tray, median in score.medians),
        comparisons=tuple(_score_comparison(trial, code, one) for code, one in score.comparisons),
    )


def _score_of_treatment(one: ClassCounts) -> ScoreTreatmentEntry:
    return ScoreTreatmentEntry(
        one.treatment, one.trays, one.plants, one.counts, one.shares, one.median
    )


def _score_comparison(trial: Trial, code: str, one: RankComparison) -> ScoreComparisonEntry:
    return ScoreComparisonEntry(
        treatment=code,
        reference=trial.reference,
        probability_higher=one.probability_higher,
        low=one.low,
        high=one.high,
        p_value=one.p_value,
        p_adjusted=one.p_adjusted,
        smallest_p_value=one.smallest_p_value,
        methods=_codes(one.methods),
        notes=_messages(trial, one.notes),
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


def _harvests(trial: Trial, results: Results) -> Iterable[HarvestsEntry]:
    for found in results.harvests:
        for treatment in trial.treatments:
            days = tuple(_yield_by_day(trial, day, treatment.code) for day in found.days)
            yield HarvestsEntry(found.measure.key, treatment.code, found.measure.unit, days)


def _yield_by_day(trial: Trial, day: YieldByDay, code: str) -> YieldByDayEntry:
    estimate = dict(day.estimates)[code]
    since = (day.on - trial.started_on).days
    return YieldByDayEntry(
        day.on.isoformat(), since, estimate.value, estimate.low, estimate.high, estimate.n
    )


def _growth(trial: Trial, results: Results) -> Iterable[GrowthEntry]:
    for found in results.growth:
        shapes = {shape.treatment: shape for shape in found.shapes}
        for treatment in trial.treatments:
            yield _growth_of(trial, found, treatment.code, shapes.get(treatment.code))


def _growth_of(
    trial: Trial, found: GrowthOverTime, code: str, shape: GrowthShape | None
) -> GrowthEntry:
    if shape:
        turn_on = shape.turn_on
    else:
        turn_on = None
    return GrowthEntry(
        trait=found.measure.label,
        metric=found.rate_key,
        treatment=code,
        unit=found.measure.unit,
        shape=shape.code if shape else None,
        p_value=shape.p_value if shape else None,
        turn_on=turn_on.isoformat() if turn_on else None,
        rate_before=shape.rate_before if shape else None,
        rate_after=shape.rate_after if shape else None,
        days=tuple(_growth_on_day(trial, day, code) for day in found.days),
        periods=tuple(_growth_period(period, code) for period in found.periods),
    )


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
        methods=_codes(comparison.methods),
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
        notes=_messages(trial, found.notes),
    )


def _letters(trial: Trial, results: Results) -> Iterable[LettersEntry]:
    for result in results.measures:
        if result.letters:
            method = messages.clauses(trial, result.letters.methods)
            yield LettersEntry(result.measure.key, method, dict(result.letters.groups))


def _factor(one: FactorOfRatio) -> FactorOfRatioEntry:
    name = terms.factor_in_full(one.factor)
    return FactorOfRatioEntry(one.of, one.treatment, one.factor, name, one.ratio, one.low, one.high)


def _effects(trial: Trial, results: Results) -> EffectsEntry:
    analyses = results.effects.analyses
    return EffectsEntry(
        tests=tuple(
            FactorTestEntry(one.measure, factor, _test(test))
            for one in analyses
            for factor, test in one.tests
        ),
        interactions=tuple(
            _interaction(one.measure, one.interaction) for one in analyses if one.interaction
        ),
        levels=tuple(
            _level_effect(trial, one.measure, effect) for one in analyses for effect in one.effects
        ),
        trends=tuple(_trend(trial, one.measure, trend) for one in analyses for trend in one.trends),
        notes=_messages(trial, results.effects.notes),
    )


def _test(one: FactorTest) -> FTestEntry:
    return FTestEntry(**asdict(one))


def _interaction(key: str, one: Interaction) -> InteractionEntry:
    ratios = tuple(RatioOfEffectsEntry(**asdict(ratio)) for ratio in one.ratios)
    return InteractionEntry(key, one.code, _test(one.test), ratios)


def _level_effect(trial: Trial, key: str, one: LevelEffect) -> LevelEffectEntry:
    return LevelEffectEntry(
        metric=key,
        factor=one.factor,
        level=one.level,
        reference=one.reference,
        within=one.within or None,
        ratio=one.ratio,
        low=one.low,
        high=one.high,
        p_value=one.p_value,
        p_adjusted=one.p_adjusted,
        degrees_of_freedom=one.degrees_of_freedom,
        code=one.code,
        toward=one.toward,
        reasons=_messages(trial, one.reasons),
    )


def _trend(trial: Trial, key: str, one: DoseTrend) -> DoseTrendEntry:
    return DoseTrendEntry(
        metric=key,
        factor=one.factor,
        within=one.within or None,
        code=one.code,
        degree=one.degree,
        linear=_test(one.linear),
        quadratic=_test(one.quadratic),
        lack_of_fit=None if one.lack_of_fit is None else _test(one.lack_of_fit),
        change=one.change,
        change_low=one.change_low,
        change_high=one.change_high,
        optimum=one.optimum,
        optimum_low=one.optimum_low,
        optimum_high=one.optimum_high,
        best=None if one.best is None else _point(one.best),
        curve=tuple(map(_point, one.curve)),
        reasons=_messages(trial, one.reasons),
        pairs=tuple(_level_effect(trial, key, pair) for pair in one.pairs),
    )


def _point(one: CurvePoint) -> CurvePointEntry:
    return CurvePointEntry(one.dose, one.value, one.low, one.high)


def _fairness(trial: Trial, one: Verdict) -> FairnessEntry:
    finding = messages.texts(trial, one.findings)
    return FairnessEntry(one.check, one.verdict, finding, _messages(trial, one.findings))


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
