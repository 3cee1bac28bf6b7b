"""The factors of a trial as entries of the results file."""

from dataclasses import asdict

from reportgen.model.factor_results import (
    CurvePoint,
    DoseTrend,
    FactorTest,
    Interaction,
    LevelEffect,
)
from reportgen.model.results import (
    FactorOfRatio,
    Results,
)
from reportgen.model.trial import Trial
from reportgen.report import terms
from reportgen.report.factor_parts import (
    CurvePointEntry,
    DoseTrendEntry,
    EffectsEntry,
    FactorOfRatioEntry,
    FactorTestEntry,
    FTestEntry,
    InteractionEntry,
    LevelEffectEntry,
    RatioOfEffectsEntry,
)
from reportgen.report.message_entries import entries_of


def _ratio_factor(factor: FactorOfRatio) -> FactorOfRatioEntry:
    name = terms.factor_in_full(factor.factor)
    return FactorOfRatioEntry(
        factor.of, factor.treatment, factor.factor, name, factor.ratio, factor.low, factor.high
    )


def effects_entry(trial: Trial, results: Results) -> EffectsEntry:
    """Return what the factors of a trial did."""
    tests: list[FactorTestEntry] = []
    interactions: list[InteractionEntry] = []
    levels: list[LevelEffectEntry] = []
    trends: list[DoseTrendEntry] = []
    for analysis in results.effects.analyses:
        key = analysis.measure
        for factor, test in analysis.tests:
            tests.append(FactorTestEntry(key, factor, _test(test)))
        if analysis.interaction:
            interactions.append(_interaction(key, analysis.interaction))
        levels += [_level_effect(trial, key, effect) for effect in analysis.effects]
        trends += [_trend(trial, key, trend) for trend in analysis.trends]
    return EffectsEntry(
        tests=tuple(tests),
        interactions=tuple(interactions),
        levels=tuple(levels),
        trends=tuple(trends),
        notes=entries_of(trial, results.effects.notes),
    )


def _test(test: FactorTest) -> FTestEntry:
    return FTestEntry(**asdict(test))


def _interaction(key: str, interaction: Interaction) -> InteractionEntry:
    ratios = tuple(RatioOfEffectsEntry(**asdict(ratio)) for ratio in interaction.ratios)
    return InteractionEntry(key, interaction.code, _test(interaction.test), ratios)


def _level_effect(trial: Trial, key: str, effect: LevelEffect) -> LevelEffectEntry:
    return LevelEffectEntry(
        metric=key,
        factor=effect.factor,
        level=effect.level,
        reference=effect.reference,
        within=effect.within or None,
        ratio=effect.ratio,
        low=effect.low,
        high=effect.high,
        p_value=effect.p_value,
        p_adjusted=effect.p_adjusted,
        degrees_of_freedom=effect.degrees_of_freedom,
        code=effect.code,
        toward=effect.toward,
        reasons=entries_of(trial, effect.reasons),
    )


def _trend(trial: Trial, key: str, trend: DoseTrend) -> DoseTrendEntry:
    return DoseTrendEntry(
        metric=key,
        factor=trend.factor,
        within=trend.within or None,
        code=trend.code,
        degree=trend.degree,
        linear=_test(trend.linear),
        quadratic=_test(trend.quadratic),
        lack_of_fit=None if trend.lack_of_fit is None else _test(trend.lack_of_fit),
        change=trend.change,
        change_low=trend.change_low,
        change_high=trend.change_high,
        optimum=trend.optimum,
        optimum_low=trend.optimum_low,
        optimum_high=trend.optimum_high,
        best=None if trend.best is None else _point(trend.best),
        curve=tuple(map(_point, trend.curve)),
        reasons=entries_of(trial, trend.reasons),
        pairs=tuple(_level_effect(trial, key, pair) for pair in trend.pairs),
    )


def _point(point: CurvePoint) -> CurvePointEntry:
    return CurvePointEntry(point.dose, point.value, point.low, point.high)
