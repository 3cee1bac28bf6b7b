"""The answer: one to four sentences made from the verdicts, the main measure first."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import inf, log
from typing import Final

from reportgen.language import plural, say
from reportgen.metrics.basis import on_whole_crop
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.results import (
    Comparison,
    Conclusion,
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
    judged = [
        conclusion.code for conclusion in results.conclusions if conclusion.measure == "survival"
    ]
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
    return (first, *_following(trial, results, subjects[0].conclusion.treatment))


def _following(trial: Trial, results: Results, treatment: str) -> Iterator[str]:
    """Yield what the trial says of a treatment in the measures after the main one."""
    for key in FOLLOWERS:
        result = result_of(results, key)
        if result is None or key == results.main_measure:
            continue
        subject = _subject(results, result, treatment)
        if subject.conclusion.code != "confounded":
            yield sentence(trial, results, subject)


def _subject(results: Results, result: MeasureResult, code: str) -> Subject:
    return Subject(
        result, dict(result.comparisons)[code], conclusion_of(results, result.measure.key, code)
    )


def _of_several(trial: Trial, results: Results, subjects: Sequence[Subject]) -> tuple[str, ...]:
    """Return a sentence on each treatment that stands apart, largest first, one on the others."""
    apart: list[Subject] = []
    unclear: list[Subject] = []
    for subject in subjects:
        if subject.conclusion.code == "unclear":
            unclear.append(subject)
        else:
            apart.append(subject)
    apart.sort(key=_best_known_and_largest)
    shown = apart[:MOST_SENTENCES]
    more = len(apart) - MOST_SENTENCES
    if len(unclear) == 1 and len(shown) < MOST_SENTENCES:
        shown += unclear
        unclear = []
    shown[1:] = [replace(subject, is_explained=True) for subject in shown[1:]]
    sentences = [sentence(trial, results, subject) for subject in shown]
    if more > 0:
        sentences.append(plural(*MORE_BELOW, more))
    if unclear:
        sentences.append(_unclear_together(trial, results, unclear, is_explained=bool(shown)))
    return tuple(sentences)


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
    names = tuple(name_within(trial, subject.conclusion.treatment) for subject in subjects)
    return say(
        UNCLEAR_TOGETHER[subjects[0].verb],
        names=numbers.listed(names),
        outcome=outcome(results, subjects[0].result, is_explained=is_explained),
        reference=name_within(trial, trial.reference),
    )


def _of_score(trial: Trial, results: Results, score: ScoreResult) -> tuple[str, ...]:
    """Return what the trial says where its main measure is a score: what is best known first."""
    apart: list[Conclusion] = []
    unclear: list[str] = []
    for code, _ in score.comparisons:
        conclusion = conclusion_of(results, score.measure.key, code)
        if conclusion.code == "unclear":
            unclear.append(code)
        else:
            apart.append(conclusion)
    apart.sort(key=lambda conclusion: BEST_KNOWN_FIRST.index(conclusion.code))
    shown = [conclusion.treatment for conclusion in apart[:MOST_SENTENCES]]
    sentences = [score_sentence(trial, results, score, code) for code in shown]
    more = len(apart) - MOST_SENTENCES
    if more > 0:
        sentences.append(plural(*MORE_BELOW, more))
    if len(unclear) == 1:
        sentences.append(score_sentence(trial, results, score, unclear[0]))
    elif unclear:
        sentences.append(scores.unclear_together(trial, score, tuple(unclear)))
    return tuple(sentences)


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
