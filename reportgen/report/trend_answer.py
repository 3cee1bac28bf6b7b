"""How a measure went along the doses of a factor, as a sentence."""

from collections.abc import Mapping
from itertools import pairwise

from reportgen import language
from reportgen.language import say
from reportgen.metrics.factors import factor_named
from reportgen.model.factor_results import DoseTrend
from reportgen.model.message import Notes
from reportgen.model.results import Comparison, MeasureResult
from reportgen.model.trial import Factor, Trial
from reportgen.report import answer_sentence, numbers, ratios, units, wording
from reportgen.report.factor_texts import (
    AT_LEVEL,
    BEST_AT_END,
    BEST_NEAR,
    FELL,
    HIGHEST_AT,
    LIMITS,
    LOWEST_AT,
    NO_FURTHER_RISE,
    NO_RISE_SHOWN,
    NO_TREND,
    NOT_A_CURVE,
    NOT_ATTRIBUTED,
    ROSE,
    STEP,
)
from reportgen.report.levels import dose_text, level_text, other_factor


def doubted(trial: Trial, said: str, factor: Factor, reasons: Notes) -> str:
    """Return a sentence together with what else may explain it."""
    if not reasons:
        return said
    causes = answer_sentence.reasons_clause(trial, reasons)
    return f"{said} {say(NOT_ATTRIBUTED, factor=factor.name, reasons=causes)}"


def limits_text(trial: Trial, low: float, high: float) -> str:
    """Return the interval of a ratio with its level."""
    level = numbers.percent_level(trial.confidence_level)
    return say(
        LIMITS, level=level, interval=wording.interval(Comparison(ratio_low=low, ratio_high=high))
    )


def trend_sentence(trial: Trial, result: MeasureResult, trend: DoseTrend, outcome: str) -> str:
    """Return how a measure went along the doses of a factor."""
    factor = factor_named(trial, trend.factor)
    said = _trend(trial, result, trend, outcome)
    if trend.code != "flat":
        said = doubted(trial, said, factor, trend.reasons)
    if not trend.within:
        return said
    other = other_factor(trial, factor)
    return say(
        AT_LEVEL,
        other=other.name,
        level=level_text(other, trend.within),
        sentence=_after_colon(said),
    )


def _after_colon(sentence: str) -> str:
    """Return a sentence with a small letter at its beginning.

    A symbol such as pH or EC stays as it is.
    """
    is_word = sentence[1:2].islower() or sentence[1:2] == " "
    if is_word:
        return sentence[:1].lower() + sentence[1:]
    return sentence


def _trend(trial: Trial, result: MeasureResult, trend: DoseTrend, outcome: str) -> str:
    factor = factor_named(trial, trend.factor)
    words = {
        "factor": factor.name,
        "outcome": outcome,
        "Outcome": wording.capital(outcome),
        "lowest": dose_text(factor, factor.doses[0]),
        "highest": dose_text(factor, factor.doses[-1]),
        "change": ratios.change(trend.change),
    }
    if trend.code == "not_a_curve":
        steps = numbers.listed(_steps(trial, trend))
        said = say(NOT_A_CURVE, **words, steps=steps)
        return " ".join((said, *_plateau(trial, trend)))
    if trend.code in ("peak", "trough"):
        return _turning(trial, result, trend, words)
    limits = limits_text(trial, trend.change_low, trend.change_high)
    if trend.code == "bends":
        return _bending(trial, trend, words)
    text = {"rises": ROSE, "falls": FELL, "flat": NO_TREND}[trend.code]
    return say(text, **words, limits=limits)


def _steps(trial: Trial, trend: DoseTrend) -> tuple[str, ...]:
    """Return how each dose differs from the next lower one.

    The first names the level of the intervals.
    """
    factor = factor_named(trial, trend.factor)
    steps: list[str] = []
    for lower, higher in pairwise(factor.levels):
        step = next(pair for pair in trend.pairs if (pair.reference, pair.level) == (lower, higher))
        limits = wording.interval(Comparison(ratio_low=step.low, ratio_high=step.high))
        if not steps:
            limits = limits_text(trial, step.low, step.high)
        change, dose = ratios.change(step.ratio), level_text(factor, higher)
        steps.append(say(STEP, change=change, dose=dose, limits=limits))
    return tuple(steps)


def _plateau(trial: Trial, trend: DoseTrend) -> tuple[str, ...]:
    """Return above which dose no higher one gave more; empty where that is the highest dose."""
    factor = factor_named(trial, trend.factor)
    for level in factor.levels[:-1]:
        above = {pair.toward or pair.code for pair in trend.pairs if pair.reference == level}
        if "more" in above:
            continue
        if "unclear" in above:
            text = NO_RISE_SHOWN
        else:
            text = NO_FURTHER_RISE
        return (say(text, dose=level_text(factor, level)),)
    return ()


def _turning(
    trial: Trial, result: MeasureResult, trend: DoseTrend, words: Mapping[str, str]
) -> str:
    factor = factor_named(trial, trend.factor)
    assert trend.optimum is not None
    point = min(trend.curve, key=lambda one: abs(one.dose - (trend.optimum or 0.0)))
    if trend.code == "peak":
        text = HIGHEST_AT
    else:
        text = LOWEST_AT
    sizes = units.amounts(point.value, result.measure.unit)
    value = units.with_other(*(_with_unit(size, unit) for size, unit in sizes))
    return say(
        text,
        **words,
        dose=dose_text(factor, trend.optimum),
        limits=_dose_limits(trial, trend),
        value=value,
    )


def _with_unit(size: float, unit: str) -> str:
    return f"{numbers.plain(size)} {language.unit(unit)}".strip()


def _bending(trial: Trial, trend: DoseTrend, words: Mapping[str, str]) -> str:
    factor = factor_named(trial, trend.factor)
    assert trend.best is not None
    dose = dose_text(factor, trend.best.dose)
    if trend.best.dose in (factor.doses[0], factor.doses[-1]):
        return say(BEST_AT_END, **words, dose=dose)
    return say(BEST_NEAR, **words, dose=dose, limits=_dose_limits(trial, trend))


def _dose_limits(trial: Trial, trend: DoseTrend) -> str:
    """Return the interval of the dose at which a curve turns."""
    factor = factor_named(trial, trend.factor)
    ends = [
        None if end is None else numbers.plain(end)
        for end in (trend.optimum_low, trend.optimum_high)
    ]
    level = numbers.percent_level(trial.confidence_level)
    return say(LIMITS, level=level, interval=f"{numbers.span(*ends)} {factor.unit}".strip())
