"""Scores in ordered classes: shares, medians of trays, and the chance of the higher score.

Never a mean.
"""

from collections.abc import Mapping
from typing import Final

from reportgen.language import marked, say
from reportgen.metrics.blocks import is_blocked
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.results import Conclusion, RankComparison, Results, ScoreResult
from reportgen.model.trial import Trial
from reportgen.report import messages, numbers, wording

HIGHER: Final = marked("{Treated} scored higher in {outcome} than {reference}: {figures}. {pairs}")
LOWER: Final = marked("{Treated} scored lower in {outcome} than {reference}: {figures}. {pairs}")
HIGHER_CONFOUNDED: Final = marked(
    "{Treated} scored higher in {outcome} than {reference}, but {reasons}, so this cannot be"
    " attributed to {treated}: {figures}. {pairs}"
)
LOWER_CONFOUNDED: Final = marked(
    "{Treated} scored lower in {outcome} than {reference}, but {reasons}, so this cannot be"
    " attributed to {treated}: {figures}. {pairs}"
)
UNCLEAR: Final = marked(
    "We cannot say whether {treated} scored higher or lower in {outcome} than {reference}:"
    " {figures}. {pairs}"
)
UNTESTABLE: Final = marked(
    "{Treated} was scored in {outcome} as follows: {figures}. We cannot say how much of that is"
    " chance: {reason}."
)
NOT_SCORED: Final = marked("{Treated} and {reference} cannot be compared in {outcome}: {reason}.")
UNCLEAR_TOGETHER: Final = marked(
    "We cannot say whether {names} scored higher or lower in {outcome} than {reference}."
)
FIGURES: Final = marked(
    "{class_} on {share} of plants, with {reference} on {reference_share}; median of the {units}"
    " {median}, with {reference} {reference_median}"
)
PAIRS: Final = marked(
    "In {pairs} of all pairs of {units}, one of each, {treated} scored higher ({limits})."
)
PAIRS_IN_BLOCKS: Final = marked(
    "In {pairs} of all pairs of {units} in one block, one of each, {treated} scored higher"
    " ({limits})."
)


def score_of(results: Results, key: str) -> ScoreResult | None:
    """Return the score of a key, None where the trial has none."""
    return next((score for score in results.scores if score.measure.key == key), None)


def outcome(score: ScoreResult) -> str:
    """Return what a score is called within a sentence."""
    return wording.inside(score.measure.label)


def position(scale: tuple[str, ...], value: float | None) -> str:
    """Return the class at a position; one that lies between two classes is said to."""
    if value is None:
        return numbers.not_known()
    low = int(value)
    if value == low:
        return scale[low]
    return say("between {low} and {high}", low=scale[low], high=scale[low + 1])


def from_class(score: ScoreResult) -> str:
    """Return the class by which shares are told, with those above it."""
    name = score.scale[score.cut]
    is_highest = score.cut == len(score.scale) - 1
    if is_highest:
        return name
    return say("{class_} or higher", class_=name)


def sentence(trial: Trial, results: Results, score: ScoreResult, code: str, reasons: str) -> str:
    """Return what the trial says of one treatment in one score.

    `reasons` are what may explain a difference beside the treatment, as a part of a sentence.
    """
    conclusion = conclusion_of(results, score.measure.key, code)
    compared = dict(score.comparisons)[code]
    words = _words(trial, score, code)
    if compared.probability_higher is None:
        return say(NOT_SCORED, **words, reason=_why(trial, compared))
    figures = _figures(trial, score, code)
    if conclusion.code == "untestable":
        return say(UNTESTABLE, **words, figures=figures, reason=_why(trial, compared))
    pairs = _pairs(trial, compared, words)
    return say(_template(conclusion), **words, figures=figures, pairs=pairs, reasons=reasons)


def unclear_together(trial: Trial, score: ScoreResult, codes: tuple[str, ...]) -> str:
    """Return one sentence on several treatments of which the trial does not tell."""
    names = numbers.listed(tuple(wording.name_within(trial, code) for code in codes))
    reference = wording.name_within(trial, trial.reference)
    return say(UNCLEAR_TOGETHER, names=names, outcome=outcome(score), reference=reference)


def _template(conclusion: Conclusion) -> str:
    confounded = {"more": HIGHER_CONFOUNDED, "less": LOWER_CONFOUNDED}
    plain = {"more": HIGHER, "less": LOWER, "unclear": UNCLEAR}
    if conclusion.code == "confounded":
        return confounded[conclusion.toward or "more"]
    return plain[conclusion.code]


def _words(trial: Trial, score: ScoreResult, code: str) -> dict[str, str]:
    treated = wording.name_within(trial, code)
    return {
        "treated": treated,
        "Treated": wording.capital(treated),
        "reference": wording.name_within(trial, trial.reference),
        "outcome": outcome(score),
        "unit": wording.unit_of(trial),
        "units": wording.unit_of(trial, 2),
    }


def _figures(trial: Trial, score: ScoreResult, code: str) -> str:
    """Return the shares and the medians of a treatment and the reference."""
    counted = {counts.treatment: counts for counts in score.treatments}
    treated, reference = counted[code], counted[trial.reference]
    return say(
        FIGURES,
        **_words(trial, score, code),
        class_=from_class(score),
        share=share_of(treated.share_from(score.cut)),
        reference_share=share_of(reference.share_from(score.cut)),
        median=position(score.scale, treated.median),
        reference_median=position(score.scale, reference.median),
    )


def share_of(value: float | None) -> str:
    """Return a share of plants in whole percent; 0% and 100% only where exactly true."""
    if value is None:
        return numbers.not_known()
    return numbers.whole_percent(value)


def _pairs(trial: Trial, compared: RankComparison, words: Mapping[str, str]) -> str:
    """Return in how many pairs of units the treated one scored higher, with the limits of that
    chance.
    """
    return say(
        PAIRS_IN_BLOCKS if is_blocked(trial) else PAIRS,
        **words,
        pairs=share_of(compared.probability_higher),
        limits=_limits(trial, compared),
    )


def _limits(trial: Trial, compared: RankComparison) -> str:
    if compared.low is None or compared.high is None:
        return say("no interval: {reason}", reason=_why(trial, compared))
    level = numbers.percent_level(trial.confidence_level)
    limits = numbers.span(share_of(compared.low), share_of(compared.high))
    return say("{level} interval {interval}", level=level, interval=limits)


def _why(trial: Trial, compared: RankComparison) -> str:
    """Return why a comparison lacks something."""
    return messages.clauses(trial, compared.notes) or say("no interval can be had")
