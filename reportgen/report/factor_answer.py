"""What the factors and doses of a trial did, as sentences.

The effect or the interaction, the optimum or the slope.
"""

from collections.abc import Sequence
from math import log
from typing import Final

from reportgen.language import plural, say
from reportgen.metrics.factor_designs import is_dose
from reportgen.metrics.factors import factor_named
from reportgen.model.factor_results import FactorAnalysis, Interaction, LevelEffect
from reportgen.model.message import Message, Notes
from reportgen.model.results import Comparison, MeasureResult, Results
from reportgen.model.trial import Factor, Trial
from reportgen.report import answer, answer_sentence, numbers, ratios, wording
from reportgen.report.factor_texts import (
    ABOUT_THE_SAME,
    ASKED,
    AVERAGED,
    AVERAGED_ALIKE,
    AVERAGED_UNCLEAR,
    DEPENDED,
    DEPENDED_ALONE,
    FURTHER_LEVEL,
    MAY_DEPEND_ALONE,
    MORE_EFFECTS,
    NOT_SHOWN,
    OF_THE_OTHER,
    ONE_PLOT,
    ONE_RATIO,
    TEST_ONLY,
    WITHIN,
)
from reportgen.report.levels import level_text, other_factor, p_text
from reportgen.report.trend_answer import doubted, limits_text, trend_sentence

MOST_EFFECTS: Final = 3


def sentences(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return the answer of a trial of factors or doses.

    Empty where it has none, or where treatments say more.
    """
    main = wording.result_of(results, results.main_measure)
    analysis = results.effects.of(results.main_measure)
    if main is None or analysis is None:
        return ()
    said = _sentences_on_factors(trial, results, main, analysis)
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


def _sentences_on_factors(
    trial: Trial, results: Results, main: MeasureResult, analysis: FactorAnalysis
) -> tuple[str, ...]:
    outcome = answer_sentence.outcome(results, main)
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
    return (*effects, *_asked_within(trial, analysis), *along, depends, *limit)


def leading(trial: Trial, analysis: FactorAnalysis) -> tuple[Factor, Factor]:
    """Return the factor that sentences lead with, the first whose own effects are judged, and the
    other one.
    """
    judged = factor_named(trial, analysis.tests[0][0])
    return judged, other_factor(trial, judged)


def one_plot_sentence(trial: Trial, analysis: FactorAnalysis, outcome: str) -> tuple[str, ...]:
    """Return that a factor cannot be told from the main plots that had it.

    Empty where each level had several.
    """
    if len(analysis.tests) == len(trial.factors):
        return ()
    sub, main = leading(trial, analysis)
    return (say(ONE_PLOT, main=main.name, sub=sub.name, outcome=outcome),)


# ---- effects -------------------------------------------------------------------------------------


def _averaged(trial: Trial, analysis: FactorAnalysis, outcome: str) -> list[str]:
    """Return a sentence on each effect, what is known and largest first.

    Doses are left to their curve.
    """
    doses = {factor.name for factor in trial.factors if is_dose(factor)}
    effects = [
        effect for effect in analysis.effects if not effect.within and effect.factor not in doses
    ]
    ordered = in_order_asked(trial, effects)
    said = [_averaged_sentence(trial, effect, outcome) for effect in ordered[:MOST_EFFECTS]]
    more = len(ordered) - MOST_EFFECTS
    if more > 0:
        said.append(plural(*MORE_EFFECTS, more))
    return said


def in_order_asked(trial: Trial, effects: Sequence[LevelEffect]) -> list[LevelEffect]:
    """Return effects of the factors that the question names first, in its order.

    Of one factor, and of those that it does not name, what is known and largest comes first.
    """
    places = {factor.name: place for place, factor in enumerate(_asked(trial))}
    last = len(places)
    return sorted(
        effects,
        key=lambda one: (
            places.get(one.factor, last),
            one.code == "unclear",
            -abs(log(one.ratio)),
        ),
    )


def _asked(trial: Trial) -> list[Factor]:
    """Return the factors that the question names, in its order."""
    question = trial.about.question.casefold()
    named = [one for one in trial.factors if one.name.casefold() in question]
    return sorted(named, key=lambda one: question.index(one.name.casefold()))


def _asked_within(trial: Trial, analysis: FactorAnalysis) -> list[str]:
    """Return what each level of the factor asked for first does within each level of the other."""
    first = (*_asked(trial), *trial.factors)[0]
    if is_dose(first):
        return []
    other = other_factor(trial, first)
    effects = [one for one in analysis.effects if one.within and one.factor == first.name]
    said: list[str] = []
    for level in dict.fromkeys(one.level for one in effects):
        own = [one for one in effects if one.level == level]
        each = [_within(trial, one, other, is_first=one is own[0]) for one in own]
        sentence = say(
            ASKED,
            Factor=wording.capital(first.name),
            treated=level_text(first, level),
            reference=level_text(first, own[0].reference),
            each=numbers.listed(tuple(each)),
        )
        said.append(sentence)
    return said


def _averaged_sentence(trial: Trial, effect: LevelEffect, outcome: str) -> str:
    factor = factor_named(trial, effect.factor)
    change = ratios.change_of(effect.ratio)
    words = {
        "factor": factor.name,
        "other": other_factor(trial, factor).name,
        "treated": level_text(factor, effect.level),
        "reference": level_text(factor, effect.reference),
        "outcome": outcome,
        "limits": limits_text(trial, effect.low, effect.high),
    }
    if effect.code == "unclear":
        return say(AVERAGED_UNCLEAR, **words, measured=ratios.change(effect.ratio))
    if effect.code == "alike":
        margin = ratios.margin(trial.margin or 0.0)
        return say(AVERAGED_ALIKE, **words, measured=ratios.change(effect.ratio), margin=margin)
    said = say(AVERAGED[change.way], **words, size=change.size)
    return doubted(trial, said, factor, effect.reasons)


def _cell_by_cell(trial: Trial, analysis: FactorAnalysis, outcome: str) -> list[str]:
    """Return what each level of the leading factor does within each level of the other."""
    first, second = leading(trial, analysis)
    by_level: dict[str, list[LevelEffect]] = {}
    for effect in analysis.effects:
        if effect.within and effect.factor == first.name:
            by_level.setdefault(effect.level, []).append(effect)
    sentences: list[str] = []
    text = DEPENDED
    for level, effects in by_level.items():
        treated = level_text(first, level)
        sentence = say(
            text,
            factor=first.name,
            other=second.name,
            outcome=outcome,
            treated=treated,
            Treated=wording.capital(treated),
            reference=level_text(first, effects[0].reference),
            each=_within_each(trial, effects, second),
        )
        sentences.append(doubted(trial, sentence, first, _reasons(effects)))
        text = FURTHER_LEVEL
    if len(analysis.tests) == len(trial.factors):
        sentences.append(say(OF_THE_OTHER, factor=first.name, other=second.name))
    return sentences


def _reasons(effects: Sequence[LevelEffect]) -> Notes:
    """Return what else may explain some effects, each reason once."""
    reasons: dict[Message, None] = {}
    for effect in effects:
        reasons.update(dict.fromkeys(effect.reasons))
    return tuple(reasons)


def _within_each(trial: Trial, effects: Sequence[LevelEffect], other: Factor) -> str:
    """Return the effects at each level of the other factor."""
    texts: list[str] = []
    for effect in effects:
        texts.append(_within(trial, effect, other, is_first=not texts))
    return numbers.listed(tuple(texts))


def _within(trial: Trial, effect: LevelEffect, other: Factor, *, is_first: bool) -> str:
    """Return an effect at a level of the other factor; the first names the level of intervals."""
    limits = wording.interval(Comparison(ratio_low=effect.low, ratio_high=effect.high))
    if is_first:
        limits = limits_text(trial, effect.low, effect.high)
    return say(
        WITHIN,
        change=ratios.change(effect.ratio),
        limits=limits,
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
            ratio=ratios.ratio_alone(one.ratio),
            level=numbers.percent_level(trial.confidence_level),
            limits=ratios.ratio_reach(one.low, one.high),
        )
    return say(TEST_ONLY, p_value=p_text(interaction.test.p_value))
