"""What the factors and doses of a trial did, as sentences: the effect or the interaction, the
optimum or the slope.
"""

from collections.abc import Mapping
from itertools import pairwise
from math import log
from typing import Final

from reportgen import language
from reportgen.language import marked, marked_plural, plural, say
from reportgen.metrics.factor_designs import is_dose
from reportgen.metrics.factors import factor_named
from reportgen.model.factor_results import DoseTrend, FactorAnalysis, Interaction, LevelEffect
from reportgen.model.message import Notes
from reportgen.model.results import Comparison, MeasureResult, Results
from reportgen.model.trial import Factor, Trial
from reportgen.report import answer, numbers, units, wording

MOST_EFFECTS: Final = 3
LIMITS: Final = marked("{level} interval {interval}")
AVERAGED: Final[Mapping[str, str]] = {
    "more": marked(
        "With {factor} {treated} instead of {reference}, {outcome} was {size} higher ({limits}),"
        " averaged over {other}."
    ),
    "less": marked(
        "With {factor} {treated} instead of {reference}, {outcome} was {size} lower ({limits}),"
        " averaged over {other}."
    ),
    "times": marked(
        "With {factor} {treated} instead of {reference}, {outcome} was {size} times as high"
        " ({limits}), averaged over {other}."
    ),
    "same": marked(
        "With {factor} {treated} instead of {reference}, {outcome} was the same ({limits}),"
        " averaged over {other}."
    ),
}
AVERAGED_UNCLEAR: Final = marked(
    "The trial does not tell whether {outcome} was higher or lower with {factor} {treated} than"
    " with {reference}: it measured {measured} ({limits}), averaged over {other}."
)
AVERAGED_ALIKE: Final = marked(
    "With {factor} {treated} and {reference}, {outcome} was about the same: the trial measured"
    " {measured} ({limits}), averaged over {other}, and only a difference of {margin} or more"
    " matters."
)
NOT_ATTRIBUTED: Final = marked("This cannot be attributed to {factor}: {reasons}.")
MORE_EFFECTS: Final = marked_plural(
    "{number} more effect stands in the report's table of effects.",
    "{number} more effects stand in the report's table of effects.",
)
DEPENDED: Final = marked(
    "The effect of {factor} on {outcome} depended on {other}: {treated} instead of {reference} gave"
    " {each}."
)
OF_THE_OTHER: Final = marked(
    "The table of effects has the effect of {other} at each level of {factor} too."
)
ONE_PLOT: Final = marked(
    "Each level of {main} had one main plot alone, so the trial cannot tell what {main} did to"
    " {outcome} from what the main plots did, nor whether it is {main} that changes what {sub}"
    " does."
)
FURTHER_LEVEL: Final = marked("{Treated} instead of {reference} gave {each}.")
WITHIN: Final = marked("{change} ({limits}) with {other} {level}")
ABOUT_THE_SAME: Final = marked(
    "The effect of {factor} was about the same at every level of {other}."
)
NOT_SHOWN: Final = marked("The trial does not show that the effect of {factor} depends on {other}.")
DEPENDED_ALONE: Final = marked("The effect of {factor} depended on {other}.")
MAY_DEPEND_ALONE: Final = marked(
    "The effect of {factor} may depend on {other} by as much as matters, though the trial does not"
    " tell this from chance."
)
ONE_RATIO: Final = marked(
    "Effect with {other} {at} divided by that with {base}: {ratio}, {level} interval {limits}."
)
TEST_ONLY: Final = marked("Test of the interaction: p {p_value}.")
HIGHEST_AT: Final = marked("{Outcome} was highest at {dose} of {factor} ({limits}), at {value}.")
LOWEST_AT: Final = marked("{Outcome} was lowest at {dose} of {factor} ({limits}), at {value}.")
ROSE: Final = marked(
    "{Outcome} rose with {factor} over all doses tested: {change} at {highest}, compared with"
    " {lowest} ({limits}), so no optimum lies within them."
)
FELL: Final = marked(
    "{Outcome} fell with {factor} over all doses tested: {change} at {highest}, compared with"
    " {lowest} ({limits}), so no optimum lies within them."
)
BEST_AT_END: Final = marked(
    "{Outcome} followed a curve along {factor} and was best at {dose}, an end of the doses tested,"
    " so no optimum is shown within them."
)
BEST_NEAR: Final = marked(
    "{Outcome} followed a curve along {factor} and was best near {dose}, but the trial cannot place"
    " the optimum within the doses tested ({limits})."
)
NO_TREND: Final = marked(
    "The trial shows no trend of {outcome} along {factor}: {change} at {highest}, compared with"
    " {lowest} ({limits})."
)
NOT_A_CURVE: Final = marked(
    "Neither a straight line nor a curve describes {outcome} along {factor}, so doses are compared"
    " with each other. Compared with the dose below it was {steps}."
)
STEP: Final = marked("{change} at {dose} ({limits})")
NO_FURTHER_RISE: Final = marked("Above {dose} it rose no further by as much as matters.")
NO_RISE_SHOWN: Final = marked("The trial does not show that it rises further above {dose}.")
AT_LEVEL: Final = marked("With {other} {level}: {sentence}")


def sentences(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return the answer of a trial of factors or doses; empty where it has none, or where
    treatments say more.
    """
    main = wording.result_of(results, results.main_measure)
    analysis = results.effects.of(results.main_measure)
    if main is None or analysis is None:
        return ()
    said = _said(trial, results, main, analysis)
    if said:
        return answer.with_losses(trial, results, said)
    return ()


def reads_as_curve(results: Results) -> bool:
    """Return whether a curve along doses says what the main measure did, so that pairs of doses
    need not.
    """
    analysis = results.effects.of(results.main_measure)
    if analysis is None or not analysis.trends:
        return False
    return all(trend.code != "not_a_curve" for trend in analysis.trends)


def _said(
    trial: Trial, results: Results, main: MeasureResult, analysis: FactorAnalysis
) -> tuple[str, ...]:
    outcome = answer.outcome(results, main)
    along = tuple(trend_sentence(trial, main, trend, outcome) for trend in analysis.trends)
    if analysis.interaction is None:
        return along
    depends = interaction_sentence(trial, analysis)
    limit = one_plot_sentence(trial, analysis, outcome)
    led = leading(trial, analysis)[0]
    if analysis.interaction.matters and is_dose(led):
        return (depends, *along, *limit)
    if analysis.interaction.matters:
        return (*_cell_by_cell(trial, analysis, outcome), *along, *limit)
    effects = _averaged(trial, analysis, outcome)
    return (*effects, *along, depends, *limit)


def leading(trial: Trial, analysis: FactorAnalysis) -> tuple[Factor, Factor]:
    """Return the factor that sentences lead with, the first whose own effects are judged, and the
    other one.
    """
    judged = factor_named(trial, analysis.tests[0][0])
    return judged, other_factor(trial, judged)


def one_plot_sentence(trial: Trial, analysis: FactorAnalysis, outcome: str) -> tuple[str, ...]:
    """Return that a factor cannot be told from the main plots that had it; empty where each level
    had several.
    """
    if len(analysis.tests) == len(trial.factors):
        return ()
    sub, main = leading(trial, analysis)
    return (say(ONE_PLOT, main=main.name, sub=sub.name, outcome=outcome),)


# ---- effects -------------------------------------------------------------------------------------


def _averaged(trial: Trial, analysis: FactorAnalysis, outcome: str) -> list[str]:
    """Return a sentence on each effect, what is known and largest first; doses are left to their
    curve.
    """
    doses = {factor.name for factor in trial.factors if is_dose(factor)}
    effects = [one for one in analysis.effects if not one.within and one.factor not in doses]
    ordered = sorted(effects, key=lambda one: (one.code == "unclear", -abs(log(one.ratio))))
    said = [_averaged_sentence(trial, one, outcome) for one in ordered[:MOST_EFFECTS]]
    more = len(ordered) - MOST_EFFECTS
    if more > 0:
        said.append(plural(*MORE_EFFECTS, more))
    return said


def _averaged_sentence(trial: Trial, effect: LevelEffect, outcome: str) -> str:
    factor = factor_named(trial, effect.factor)
    change = numbers.change_of(effect.ratio)
    words = {
        "factor": factor.name,
        "other": other_factor(trial, factor).name,
        "treated": level_text(factor, effect.level),
        "reference": level_text(factor, effect.reference),
        "outcome": outcome,
        "limits": _limits(trial, effect.low, effect.high),
    }
    if effect.code == "unclear":
        return say(AVERAGED_UNCLEAR, **words, measured=numbers.change(effect.ratio))
    if effect.code == "alike":
        margin = numbers.margin(trial.margin or 0.0)
        return say(AVERAGED_ALIKE, **words, measured=numbers.change(effect.ratio), margin=margin)
    said = say(AVERAGED[change.way], **words, size=change.size)
    return _doubted(trial, said, factor, effect.reasons)


def _doubted(trial: Trial, said: str, factor: Factor, reasons: Notes) -> str:
    """Return a sentence together with what else may explain it."""
    if not reasons:
        return said
    causes = answer.reasons_clause(trial, reasons)
    return f"{said} {say(NOT_ATTRIBUTED, factor=factor.name, reasons=causes)}"


def _cell_by_cell(trial: Trial, analysis: FactorAnalysis, outcome: str) -> list[str]:
    """Return what each level of the leading factor does within each level of the other, and where
    the rest stands.
    """
    first, second = leading(trial, analysis)
    effects = [one for one in analysis.effects if one.within and one.factor == first.name]
    said: list[str] = []
    for level in dict.fromkeys(one.level for one in effects):
        own = [one for one in effects if one.level == level]
        treated = level_text(first, level)
        sentence = say(
            FURTHER_LEVEL if said else DEPENDED,
            factor=first.name,
            other=second.name,
            outcome=outcome,
            treated=treated,
            Treated=wording.capital(treated),
            reference=level_text(first, own[0].reference),
            each=numbers.listed(
                tuple(_within(trial, one, second, is_first=one is own[0]) for one in own)
            ),
        )
        reasons = tuple(dict.fromkeys(reason for one in own for reason in one.reasons))
        said.append(_doubted(trial, sentence, first, reasons))
    if len(analysis.tests) == len(trial.factors):
        said.append(say(OF_THE_OTHER, factor=first.name, other=second.name))
    return said


def _within(trial: Trial, effect: LevelEffect, other: Factor, *, is_first: bool) -> str:
    """Return an effect at a level of the other factor; the first of several names the level of the
    intervals.
    """
    limits = wording.interval(Comparison(ratio_low=effect.low, ratio_high=effect.high))
    return say(
        WITHIN,
        change=numbers.change(effect.ratio),
        limits=_limits(trial, effect.low, effect.high) if is_first else limits,
        other=other.name,
        level=level_text(other, effect.within),
    )


def interaction_sentence(trial: Trial, analysis: FactorAnalysis) -> str:
    """Return whether the effect of the leading factor depends on the other."""
    assert analysis.interaction is not None
    first, second = leading(trial, analysis)
    interaction = analysis.interaction
    text = {
        "differs": DEPENDED_ALONE,
        "may_differ": MAY_DEPEND_ALONE,
        "alike": ABOUT_THE_SAME,
        "not_shown": NOT_SHOWN,
    }[interaction.code]
    return say(text, factor=first.name, other=second.name)


def interaction_test(trial: Trial, interaction: Interaction) -> str:
    """Return the ratio of the two effects where there are two, else the test alone."""
    if len(interaction.ratios) == 1:
        one = interaction.ratios[0]
        other = trial.factors[1]
        return say(
            ONE_RATIO,
            other=other.name,
            at=level_text(other, one.other),
            base=level_text(other, one.other_reference),
            ratio=numbers.ratio_alone(one.ratio),
            level=numbers.percent_level(trial.confidence_level),
            limits=numbers.ratio_reach(one.low, one.high),
        )
    return say(TEST_ONLY, p_value=p_text(interaction.test.p_value))


def p_text(value: float) -> str:
    """Return a p value as it stands behind the letter: `= 0.03`, `< 0.001`."""
    text = numbers.p_value(value)
    if text.startswith("<"):
        return text
    return f"= {text}"


def _limits(trial: Trial, low: float, high: float) -> str:
    level = numbers.percent_level(trial.confidence_level)
    return say(
        LIMITS, level=level, interval=wording.interval(Comparison(ratio_low=low, ratio_high=high))
    )


# ---- doses ---------------------------------------------------------------------------------------


def trend_sentence(trial: Trial, result: MeasureResult, trend: DoseTrend, outcome: str) -> str:
    """Return how a measure went along the doses of a factor."""
    factor = factor_named(trial, trend.factor)
    said = _trend(trial, result, trend, outcome)
    if trend.code != "flat":
        said = _doubted(trial, said, factor, trend.reasons)
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
    """Return a sentence with a small letter at its beginning; a symbol such as pH or EC stays as it
    is.
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
        "change": numbers.change(trend.change),
    }
    if trend.code == "not_a_curve":
        steps = numbers.listed(_steps(trial, trend))
        said = say(NOT_A_CURVE, **words, steps=steps)
        return " ".join((said, *_plateau(trial, trend)))
    if trend.code in ("peak", "trough"):
        return _turning(trial, result, trend, words)
    limits = _limits(trial, trend.change_low, trend.change_high)
    if trend.code == "bends":
        return _bending(trial, trend, words)
    text = {"rises": ROSE, "falls": FELL, "flat": NO_TREND}[trend.code]
    return say(text, **words, limits=limits)


def _steps(trial: Trial, trend: DoseTrend) -> tuple[str, ...]:
    """Return how each dose differs from the next lower one; the first names the level of the
    intervals.
    """
    factor = factor_named(trial, trend.factor)
    steps: list[str] = []
    for lower, higher in pairwise(factor.levels):
        step = next(one for one in trend.pairs if (one.reference, one.level) == (lower, higher))
        limits = wording.interval(Comparison(ratio_low=step.low, ratio_high=step.high))
        if not steps:
            limits = _limits(trial, step.low, step.high)
        change, dose = numbers.change(step.ratio), level_text(factor, higher)
        steps.append(say(STEP, change=change, dose=dose, limits=limits))
    return tuple(steps)


def _plateau(trial: Trial, trend: DoseTrend) -> tuple[str, ...]:
    """Return above which dose no higher one gave more; empty where that is the highest dose."""
    factor = factor_named(trial, trend.factor)
    for level in factor.levels[:-1]:
        above = {one.toward or one.code for one in trend.pairs if one.reference == level}
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


def dose_text(factor: Factor, dose: float) -> str:
    """Return a dose with its unit: one that was tested as typed, any other to three digits."""
    if dose in factor.doses:
        number = numbers.typed(dose)
    else:
        number = numbers.three_digits(dose)
    return f"{number} {factor.unit}".strip()


def level_text(factor: Factor, level: str) -> str:
    """Return a level of a factor with its unit."""
    if factor.doses:
        return dose_text(factor, factor.doses[factor.levels.index(level)])
    return level


def other_factor(trial: Trial, factor: Factor) -> Factor:
    """Return the factor beside one of two."""
    return next(one for one in trial.factors if one.name != factor.name)


def levels_of(factor: Factor) -> str:
    """Return a factor with its levels, such as `light: low, high`."""
    return f"{factor.name}: {', '.join(level_text(factor, level) for level in factor.levels)}"
