"""What the trial says of one treatment in one measure, as a sentence."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from reportgen import language
from reportgen.language import marked, say
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.message import Message
from reportgen.model.results import (
    Comparison,
    Conclusion,
    MeasureResult,
    Results,
    ScoreResult,
)
from reportgen.model.trial import Trial
from reportgen.report import (
    figure_texts,
    messages,
    numbers,
    ratios,
    scores,
    terms,
    units,
    wording,
)
from reportgen.report.answer_texts import (
    ADJUSTED,
    AGAINST,
    ALIKE,
    CONFOUNDED,
    DIFFERS,
    EXPLAINED_BEFORE,
    INTERVAL_BY_INSTRUMENTS,
    INTERVAL_BY_WEIGHTS,
    LIMITS,
    LIMITS_BY_INSTRUMENTS,
    LIMITS_BY_WEIGHTS,
    OF_PICKINGS,
    PER_PLANT,
    REASONS,
    UNCLEAR,
    UNTESTABLE,
    WITHOUT_LOSSES,
    Verb,
)
from reportgen.report.verbs import BY_WEIGHTS, GIVEN, USED
from reportgen.report.wording import UNITLESS, interval, name_within, outcome_of, result_of, than
from reportgen.stats.instruments import BOTH_TYPES

MOST_REASONS: Final = 2


EXTRAPOLATING_NOTES: Final = frozenset(
    ("covariate_differs", "slopes_differ")
)  # notes under which no adjusted figure is told


@dataclass(frozen=True)
class Subject:
    """What a sentence is about: one treatment against the reference in one measure, and the verdict
    on it; `is_explained` where a sentence before says what the measure counts.
    """

    result: MeasureResult
    comparison: Comparison
    conclusion: Conclusion
    is_explained: bool = False

    @property
    def verb(self) -> Verb:
        """Return how the measure is spoken of."""
        if self.result.measure.key in GIVEN:
            return Verb.GAVE
        if self.result.measure.key in USED:
            return Verb.USED
        return Verb.WAS


def score_sentence(trial: Trial, results: Results, score: ScoreResult, code: str) -> str:
    """Return what the trial says of one treatment in a score."""
    conclusion = conclusion_of(results, score.measure.key, code)
    if conclusion.code == "confounded":
        reasons = reasons_clause(trial, conclusion.reasons)
    else:
        reasons = ""
    return scores.sentence(trial, results, score, code, reasons)


def sentence(trial: Trial, results: Results, subject: Subject) -> str:
    """Return what the trial says of one treatment in one measure, with the adjusted figures of the
    main measure.
    """
    plain = _unadjusted_sentence(trial, results, subject)
    if subject.result.measure.key != results.main_measure:
        return plain
    return " ".join((plain, *_adjusted_sentences(trial, results, subject.conclusion)))


def _adjusted_sentences(trial: Trial, results: Results, conclusion: Conclusion) -> Iterator[str]:
    """Yield the figure adjusted for each covariate, where the adjustment does not reach beyond what
    was seen.
    """
    for adjustment in results.adjusted:
        for measure in adjustment.measures:
            comparison = dict(measure.comparisons).get(conclusion.treatment)
            is_sound = not EXTRAPOLATING_NOTES.intersection(note.code for note in measure.notes)
            if (
                measure.measure.key == conclusion.measure
                and is_sound
                and comparison
                and comparison.ratio is not None
            ):
                fine = ratios.is_fine(comparison.ratio_low, comparison.ratio_high)
                change = ratios.change(comparison.ratio, fine)
                level = numbers.percent_level(trial.confidence_level)
                limits = say(LIMITS, level=level, interval=interval(comparison))
                yield say(ADJUSTED[adjustment.covariate], change=change, limits=limits)


def _unadjusted_sentence(trial: Trial, results: Results, subject: Subject) -> str:
    comparison, conclusion, verb = subject.comparison, subject.conclusion, subject.verb
    treated = name_within(trial, conclusion.treatment)
    words = {
        "treated": treated,
        "Treated": wording.capital(treated),
        "reference": name_within(trial, trial.reference),
        "outcome": outcome(results, subject.result, is_explained=subject.is_explained),
        "figures": _both_figures(trial, subject),
    }
    if comparison.ratio is None and comparison.difference is None:
        message = marked("{Treated} and {reference} cannot be compared in {outcome}: {reason}.")
        return say(message, **words, reason=_first_note(trial, comparison))
    said = _change_text(subject, words)
    if conclusion.code == "untestable":
        return say(UNTESTABLE[verb], **words, said=said, reason=_first_note(trial, comparison))
    if conclusion.code == "alike":
        margin = ratios.margin(trial.margin or 0.0)
        limits = _limits_of_alike(trial, comparison)
        return say(ALIKE[verb], **words, measured=_measured(subject), margin=margin, limits=limits)
    if conclusion.code == "unclear":
        return say(UNCLEAR[verb], **words, measured=_measured(subject), interval=_reach(subject))
    limits = _limits(trial, subject)
    if conclusion.code == "confounded":
        reasons = reasons_clause(trial, conclusion.reasons)
        return say(CONFOUNDED[verb], **words, said=said, limits=limits, reasons=reasons)
    return say(DIFFERS[verb], **words, said=said, limits=limits)


def _both_figures(trial: Trial, subject: Subject) -> str:
    """Return both treatments' figures, the reference's last: `134 against 110 g/plant`."""
    texts: list[str] = []
    for version in units.versions(subject.result, units.current()):
        estimates = dict(version.estimates)
        treated = figure_texts.value_text(version, estimates[subject.conclusion.treatment])
        reference = figure_texts.value_text(version, estimates[trial.reference])
        unit = language.unit(version.measure.unit.removeprefix("%"))
        texts.append(say(AGAINST, treated=treated, reference=reference, unit=unit).strip())
    return units.within_brackets(*texts)


def outcome(results: Results, result: MeasureResult, *, is_explained: bool = False) -> str:
    """Return what a measure is called within a sentence.

    Where no plant was lost, or where a sentence before explains it, nothing needs to be said of
    lost plants.
    """
    key = result.measure.key
    if not any(count.lost_some for count in results.counts):
        key = WITHOUT_LOSSES.get(key, key)
    if is_explained and key in EXPLAINED_BEFORE:
        return say(EXPLAINED_BEFORE[key])
    if result_of(results, "days_to_first_harvest") is not None and key in OF_PICKINGS:
        return terms.of_container(OF_PICKINGS[key])
    if key in PER_PLANT:
        return say(PER_PLANT[key])
    return outcome_of(result.measure)


def _change_text(subject: Subject, words: Mapping[str, str]) -> str:
    """Return the change of a measure beside the reference."""
    comparison = subject.comparison
    if comparison.ratio is None:
        change = _by_difference(subject)
    else:
        fine = ratios.is_fine(comparison.ratio_low, comparison.ratio_high)
        change = ratios.change_of(comparison.ratio, fine)
    if subject.verb is not Verb.WAS:
        return than(change, words["outcome"], words["reference"])
    message = {
        "more": marked("{size} higher than with {reference}"),
        "less": marked("{size} lower than with {reference}"),
        "times": marked("{size} times that with {reference}"),
        "same": marked("the same as with {reference}"),
    }[change.way]
    return say(message, size=change.size, reference=words["reference"])


def _by_difference(subject: Subject) -> ratios.Change:
    """Return the difference of a measure whose zero is a convention, as of days since the start."""
    difference = _in_units(subject)[1].difference or 0.0
    if difference == 0:
        return ratios.Change("same", "")
    way: Literal["more", "less"] = "more" if difference > 0 else "less"
    return ratios.Change(way, _in_unit(subject, numbers.plain(abs(difference))))


def _in_units(subject: Subject) -> tuple[MeasureResult, Comparison]:
    """Return a measure and its comparison in the first system of display."""
    of_subject = replace(
        subject.result, comparisons=((subject.conclusion.treatment, subject.comparison),)
    )
    shown = units.versions(of_subject, units.current())[0]
    return shown, shown.comparisons[0][1]


def _in_unit(subject: Subject, text: str) -> str:
    measure = _in_units(subject)[0].measure
    unit = measure.unit or UNITLESS.get(measure.key, "")
    if unit:
        return f"{text} {language.unit(unit)}"
    return text


def _measured(subject: Subject) -> str:
    comparison = subject.comparison
    if comparison.ratio is None:
        return ratios.in_words(_by_difference(subject))
    fine = ratios.is_fine(comparison.ratio_low, comparison.ratio_high)
    return ratios.change(comparison.ratio or 1.0, fine)


def _limits(trial: Trial, subject: Subject) -> str:
    level = numbers.percent_level(trial.confidence_level)
    known = {"level": level, "interval": _interval(subject)}
    if subject.result.measure.key not in BY_WEIGHTS:
        return say(LIMITS, **known)
    return say(
        LIMITS_BY_INSTRUMENTS if _counts_instruments(subject) else LIMITS_BY_WEIGHTS, **known
    )


def _reach(subject: Subject) -> str:
    """Return how far the true difference may lie, and from what that is known where not from all of
    it.
    """
    reach = _interval(subject)
    if subject.result.measure.key not in BY_WEIGHTS:
        return reach
    return say(
        INTERVAL_BY_INSTRUMENTS if _counts_instruments(subject) else INTERVAL_BY_WEIGHTS,
        interval=reach,
    )


def _counts_instruments(subject: Subject) -> bool:
    return bool({*BOTH_TYPES}.intersection(subject.comparison.methods))


def _interval(subject: Subject) -> str:
    """Return the limits of the ratio as changes; those of the difference where there is no ratio."""
    comparison = _in_units(subject)[1]
    low, high = comparison.difference_low, comparison.difference_high
    if comparison.ratio is not None or low is None or high is None:
        return interval(comparison)
    decimals = numbers.decimals_of(comparison.difference or 0.0, low, high)
    return _in_unit(
        subject, numbers.span(numbers.fixed(low, decimals), numbers.fixed(high, decimals))
    )


def _limits_of_alike(trial: Trial, comparison: Comparison) -> str:
    """Return the limits by which two figures are called alike, with their level."""
    limits = interval(figure_texts.as_judged(comparison, "alike"))
    return say(LIMITS, level=figure_texts.level_of_alike(trial), interval=limits)


def _first_note(trial: Trial, comparison: Comparison) -> str:
    if not comparison.notes:
        return say("no interval can be had")
    return messages.text(trial, comparison.notes[0])


def reasons_clause(trial: Trial, findings: Sequence[Message]) -> str:
    """Return what may explain a difference, as a part of a sentence."""
    speaker = messages.speaker(trial)
    clauses = [speaker.clause(REASONS[finding.code], finding) for finding in findings]
    return numbers.listed(tuple(dict.fromkeys(clauses))[:MOST_REASONS])
