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


def _ratio_factor(one: FactorOfRatio) -> FactorOfRatioEntry:
    name = terms.factor_in_full(one.factor)
    return FactorOfRatioEntry(one.of, one.treatment, one.factor, name, one.ratio, one.low, one.high)


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
        reasons=entries_of(trial, one.reasons),
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
        reasons=entries_of(trial, one.reasons),
        pairs=tuple(_level_effect(trial, key, pair) for pair in one.pairs),
    )


def _point(one: CurvePoint) -> CurvePointEntry:
    return CurvePointEntry(one.dose, one.value, one.low, one.high)
