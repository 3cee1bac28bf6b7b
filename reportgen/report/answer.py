"""The answer: one to four sentences made from the verdicts, the main measure first."""

from collections.abc import Sequence
from dataclasses import replace
from math import inf, log
from typing import Final

from reportgen.language import plural, say
from reportgen.metrics.basis import on_whole_crop
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.results import (
    Comparison,
    MeasureResult,
    Results,
    ScoreResult,
    TreatmentCount,
)
from reportgen.model.trial import Trial
from reportgen.report import (
    interim,
    numbers,
    scores,
    treatment_names,
    wording,
)
from reportgen.report.answer_sentence import Subject, outcome, score_sentence, sentence
from reportgen.report.answer_texts import (
    LOSSES_UNCLEAR,
    MORE_BELOW,
    UNCLEAR_TOGETHER,
)
from reportgen.report.wording import name_within, result_of

FOLLOWERS: Final = on_whole_crop(
    "energy_per_kg", "water_per_gram"
)  # what the sentences after the first are about
MOST_SENTENCES: Final = 2  # on single treatments, where there are several


BEST_KNOWN_FIRST: Final = (
    "more",
    "less",
    "alike",
    "confounded",
    "untestable",
)  # codes of conclusions


def answer(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return the sentences that answer the trial's question: the main measure, then what follows.

    Losses that differ lead, together with the first sentence, so that no surface shows one without
    the other. An unfinished trial has no answer yet, and says so.
    """
    if trial.interim:
        return interim.answer(trial)
    return with_losses(trial, results, of_treatments(trial, results))


def with_losses(trial: Trial, results: Results, sentences: tuple[str, ...]) -> tuple[str, ...]:
    """Return sentences led by losses that differ so much that they are the first thing to know.

    Where survival is the main measure the lost plants are the answer's own numbers, and stand
    behind its sentence.
    """
    if results.main_measure == "survival":
        counted = say("Plants lost: {each}.", each=_losses_of_each(trial, results))
        return (f"{sentences[0]} {counted}", *sentences[1:])
    if not wording.losses_differ(results):
        return sentences
    losses = say("Plants lost: {each}.", each=_losses_of_each(trial, results))
    judged = [one.code for one in results.conclusions if one.measure == "survival"]
    if judged and set(judged) == {"unclear"}:
        losses = f"{losses} {say(LOSSES_UNCLEAR)}"
    return (f"{losses} {sentences[0]}", *sentences[1:])


def of_treatments(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return what the trial says of its treatments beside the reference."""
    score = scores.score_of(results, results.main_measure)
    if score is not None and score.comparisons:
        return _of_score(trial, results, score)
    main = result_of(results, results.main_measure)
    if main is None or not main.comparisons:
        return (say("This trial measured nothing that compares the treatments."),)
    subjects = [_subject(results, main, code) for code, _ in main.comparisons]
    if len(subjects) > 1:
        return _of_several(trial, results, subjects)
    first = sentence(trial, results, subjects[0])
    if subjects[0].conclusion.code == "confounded":
        return (first,)
    followers = [result_of(results, key) for key in FOLLOWERS if key != results.main_measure]
    treatment = subjects[0].conclusion.treatment
    others = [_subject(results, one, treatment) for one in followers if one is not None]
    judged = [
        sentence(trial, results, one) for one in others if one.conclusion.code != "confounded"
    ]
    return (first, *judged)


def _subject(results: Results, result: MeasureResult, code: str) -> Subject:
    return Subject(
        result, dict(result.comparisons)[code], conclusion_of(results, result.measure.key, code)
    )


def _of_several(trial: Trial, results: Results, subjects: Sequence[Subject]) -> tuple[str, ...]:
    """Return a sentence on each treatment that stands apart, the largest differences first, and one
    on the others.
    """
    known = [one for one in subjects if one.conclusion.code != "unclear"]
    apart = sorted(known, key=_best_known_and_largest)
    unclear = [one for one in subjects if one.conclusion.code == "unclear"]
    told = apart[:MOST_SENTENCES]
    more = len(apart) - MOST_SENTENCES
    if len(unclear) == 1 and len(told) < MOST_SENTENCES:
        told += unclear
        unclear = []
    told[1:] = [replace(one, is_explained=True) for one in told[1:]]
    said = [sentence(trial, results, one) for one in told]
    if more > 0:
        said.append(plural(*MORE_BELOW, more))
    if unclear:
        said.append(_unclear_together(trial, results, unclear, is_explained=bool(told)))
    return tuple(said)


def _best_known_and_largest(subject: Subject) -> tuple[int, float]:
    """Return a key by which more comes before less and both before what is alike or untested, and
    larger differences before smaller.
    """
    return BEST_KNOWN_FIRST.index(subject.conclusion.code), -size_of(subject.comparison)


def size_of(comparison: Comparison) -> float:
    """Return how large a difference is: of a ratio the size of its logarithm."""
    if comparison.ratio is None:
        return abs(comparison.difference or 0.0)
    if comparison.ratio > 0:
        return abs(log(comparison.ratio))
    return inf


def _unclear_together(
    trial: Trial, results: Results, subjects: Sequence[Subject], *, is_explained: bool
) -> str:
    names = tuple(name_within(trial, one.conclusion.treatment) for one in subjects)
    return say(
        UNCLEAR_TOGETHER[subjects[0].verb],
        names=numbers.listed(names),
        outcome=outcome(results, subjects[0].result, is_explained=is_explained),
        reference=name_within(trial, trial.reference),
    )


def _of_score(trial: Trial, results: Results, score: ScoreResult) -> tuple[str, ...]:
    """Return what the trial says where its main measure is a score: what is best known first."""
    key = score.measure.key
    judged = {code: conclusion_of(results, key, code) for code, _ in score.comparisons}
    known = [code for code, one in judged.items() if one.code != "unclear"]
    apart = sorted(known, key=lambda code: BEST_KNOWN_FIRST.index(judged[code].code))
    unclear = tuple(code for code, one in judged.items() if one.code == "unclear")
    said = [score_sentence(trial, results, score, code) for code in apart[:MOST_SENTENCES]]
    more = len(apart) - MOST_SENTENCES
    if more > 0:
        said.append(plural(*MORE_BELOW, more))
    if len(unclear) == 1:
        said.append(score_sentence(trial, results, score, unclear[0]))
    elif unclear:
        said.append(scores.unclear_together(trial, score, unclear))
    return tuple(said)


def _losses_of_each(trial: Trial, results: Results) -> str:
    return numbers.listed(
        tuple(_lost(trial, count) for count in results.counts if count.plants_started)
    )


def _lost(trial: Trial, count: TreatmentCount) -> str:
    started = count.plants_started or 0
    lost = started - (count.plants_harvested or 0)
    return say(
        "{lost} of {started} ({name})",
        lost=lost,
        started=started,
        name=treatment_names.label_within(trial, count.treatment),
    )
