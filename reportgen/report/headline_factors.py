"""The headline of a trial of factors or doses."""

from typing import Final

from reportgen.language import say
from reportgen.metrics.factor_designs import is_dose
from reportgen.metrics.factors import factor_named
from reportgen.model.factor_results import DoseTrend, FactorAnalysis, LevelEffect
from reportgen.model.results import Results
from reportgen.model.trial import Factor, Trial
from reportgen.report import (
    findings,
    numbers,
    ratios,
    treatment_names,
    wording,
)
from reportgen.report.factor_answer import in_order_asked, leading
from reportgen.report.headline_texts import (
    ABOUT,
    DEPENDS,
    EFFECTS,
    FURTHER_CHANGES,
    NOT_FAIR,
    TRENDS,
    TRENDS_OF_LEVELS,
)
from reportgen.report.levels import dose_text, level_text

MOST_GROUPS: Final = 2  # verdicts that a headline has room for


def factors_headline(trial: Trial, results: Results, analysis: FactorAnalysis) -> str:
    """Return what the factors of a trial did; empty where its treatments say more."""
    thing = findings.thing(trial, results, analysis.measure)
    if analysis.interaction is not None and analysis.interaction.matters:
        first, second = leading(trial, analysis)
        return say(DEPENDS, factor=first.name, other=second.name, thing=thing)
    parts: list[str] = []
    for effect in _averaged(trial, analysis):
        parts.append(_effect(trial, results, analysis, effect, leads=not parts))
    for trend in analysis.trends:
        if not trend.within:
            parts.append(_trend(trial, results, analysis.measure, trend))
    return "; ".join(parts[:MOST_GROUPS])


def _averaged(trial: Trial, analysis: FactorAnalysis) -> list[LevelEffect]:
    """Return the averaged effects of factors without doses, those asked for first."""
    averaged: list[LevelEffect] = []
    for effect in analysis.effects:
        if not effect.within and not is_dose(factor_named(trial, effect.factor)):
            averaged.append(effect)
    return in_order_asked(trial, averaged)


def _effect(
    trial: Trial, results: Results, analysis: FactorAnalysis, effect: LevelEffect, *, leads: bool
) -> str:
    """Return an effect averaged over the other factor; the first of several names the measure."""
    factor = factor_named(trial, effect.factor)
    changed = ratios.change_of(effect.ratio)
    thing = findings.thing(trial, results, analysis.measure)
    change = say(FURTHER_CHANGES[changed.way], size=changed.size)
    if leads:
        change = findings.sized(trial, results, analysis.measure, changed)
    words = {
        "factor": factor.name,
        "level": treatment_names.held_together(level_text(factor, effect.level)),
        "reference": treatment_names.held_together(level_text(factor, effect.reference)),
        "thing": thing,
        "change": change,
    }
    code = effect.toward or effect.code
    said = say(EFFECTS.get(code, EFFECTS["unclear"]), **words)
    if not effect.reasons:
        return said
    return say(NOT_FAIR, Reason=findings.reason(effect.reasons[0]), finding=said)


def _trend(trial: Trial, results: Results, key: str, trend: DoseTrend) -> str:
    """Return how a measure went along the doses of a factor."""
    factor = factor_named(trial, trend.factor)
    if key in findings.AMOUNTS:
        texts = TRENDS
    else:
        texts = TRENDS_OF_LEVELS
    thing = findings.thing(trial, results, key)
    sentence = say(
        texts[trend.code],
        thing=thing,
        Thing=wording.capital(thing),
        factor=factor.name,
        dose=_named_dose(factor, trend),
        lowest=dose_text(factor, factor.doses[0]),
    )
    if not trend.reasons or trend.code == "flat":
        return sentence
    reason = findings.reason(trend.reasons[0])
    return say(NOT_FAIR, Reason=reason, finding=wording.inside(sentence))


def _named_dose(factor: Factor, trend: DoseTrend) -> str:
    """Return the dose that a trend names: its optimum, its best dose, else the highest one."""
    dose = factor.doses[-1]
    if trend.code in ("peak", "trough"):
        dose = trend.optimum or 0.0
    if trend.code == "bends" and trend.best is not None:
        dose = trend.best.dose
    if dose in factor.doses:
        return dose_text(factor, dose)
    return _about(factor, dose)


def _about(factor: Factor, dose: float) -> str:
    """Return a dose that no unit got, as a curve has it."""
    return say(ABOUT, dose=f"{numbers.two_digits(dose)} {factor.unit}".strip())
