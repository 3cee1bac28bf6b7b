"""The answer: one to four sentences made from the verdicts, the main measure first."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf, log
from typing import Final, Literal

from reportgen import language
from reportgen.language import marked, marked_plural, plural, say
from reportgen.metrics.basis import on_each_basis, on_whole_crop
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.message import Message
from reportgen.model.results import (
    Comparison,
    Conclusion,
    Covariate,
    MeasureResult,
    Results,
    ScoreResult,
    TreatmentCount,
)
from reportgen.model.trial import Trial
from reportgen.report import (
    interim,
    messages,
    numbers,
    scores,
    terms,
    treatment_names,
    units,
    wording,
)
from reportgen.report.wording import UNITLESS, interval, name_within, outcome_of, result_of, than
from reportgen.stats.instruments import BOTH_TYPES

FOLLOWERS: Final = on_whole_crop(
    "energy_per_kg", "water_per_gram"
)  # what the sentences after the first are about
MOST_SENTENCES: Final = 2  # on single treatments, where there are several
MOST_REASONS: Final = 2
BY_WEIGHTS: Final = on_each_basis(
    "energy_per_kg"
)  # its energy is one figure for the treatment, without a spread


class Verb(StrEnum):
    """How a sentence speaks of a measure: what treatments gave, what they used, or what was higher
    with one.
    """

    GAVE = "gave"
    USED = "used"
    WAS = "was"


GIVEN: Final = frozenset(
    (
        "fresh_weight",
        "dry_weight",
        *on_whole_crop("yield_per_plant_started", "tray_yield"),
        "marketable_yield",
        "pieces",
        "yield_per_week",
    )
)
USED_PER_WEIGHT: Final = (
    "energy_per_kg",
    "water_per_gram",
    "electricity_cost_per_gram",
    "running_cost_per_gram",
)
USED: Final = frozenset(("energy_use", "water_use", *on_each_basis(*USED_PER_WEIGHT)))
DIFFERS: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked("{Treated} gave {said}: {figures} ({limits})."),
    Verb.USED: marked("{Treated} used {said}: {figures} ({limits})."),
    Verb.WAS: marked("With {treated}, {outcome} was {said}: {figures} ({limits})."),
}
CONFOUNDED: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked(
        "{Treated} gave {said}: {figures} ({limits}). But {reasons}, so this cannot be attributed"
        " to {treated}."
    ),
    Verb.USED: marked(
        "{Treated} used {said}: {figures} ({limits}). But {reasons}, so this cannot be attributed"
        " to {treated}."
    ),
    Verb.WAS: marked(
        "With {treated}, {outcome} was {said}: {figures} ({limits}). But {reasons}, so this cannot"
        " be attributed to {treated}."
    ),
}
ALIKE: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked(
        "{Treated} and {reference} gave about the same {outcome}: {figures}, {measured} ({limits})."
        " A difference matters to this grower from {margin} on."
    ),
    Verb.USED: marked(
        "{Treated} and {reference} used about the same {outcome}: {figures}, {measured} ({limits})."
        " A difference matters to this grower from {margin} on."
    ),
    Verb.WAS: marked(
        "With {treated} and {reference}, {outcome} was about the same: {figures}, {measured}"
        " ({limits}). A difference matters to this grower from {margin} on."
    ),
}
UNCLEAR: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked(
        "We cannot say whether {treated} gave more or less {outcome} than {reference}. Here it was"
        " {measured} ({figures}); the true difference could be {interval}."
    ),
    Verb.USED: marked(
        "We cannot say whether {treated} used more or less {outcome} than {reference}. Here it was"
        " {measured} ({figures}); the true difference could be {interval}."
    ),
    Verb.WAS: marked(
        "We cannot say whether {outcome} was higher or lower with {treated} than with {reference}."
        " Here it was {measured} ({figures}); the true difference could be {interval}."
    ),
}
UNTESTABLE: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked(
        "{Treated} gave {said}: {figures}. We cannot say how much of that is chance: {reason}."
    ),
    Verb.USED: marked(
        "{Treated} used {said}: {figures}. We cannot say how much of that is chance: {reason}."
    ),
    Verb.WAS: marked(
        "With {treated}, {outcome} was {said}: {figures}. We cannot say how much of that is chance:"
        " {reason}."
    ),
}
UNCLEAR_TOGETHER: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked(
        "We cannot say whether {names} gave more or less {outcome} than {reference}."
    ),
    Verb.USED: marked(
        "We cannot say whether {names} used more or less {outcome} than {reference}."
    ),
    Verb.WAS: marked(
        "We cannot say whether {outcome} was higher or lower with {names} than with {reference}."
    ),
}
LOSSES_UNCLEAR: Final = marked("Whether the treatment or chance did that we cannot say.")
AGAINST: Final = marked("{treated} against {reference} {unit}")
# What yields are called where nothing needs to be said of lost plants, and what those of several
# pickings are called.
WITHOUT_LOSSES: Final[Mapping[str, str]] = {
    "yield_per_plant_started": "yield_per_plant",
    "yield_per_plant_started_dry": "yield_per_plant_dry",
}
EXPLAINED_BEFORE: Final[Mapping[str, str]] = {
    "yield_per_plant_started": marked("weight per plant planted"),
    "yield_per_plant_started_dry": marked("dry weight per plant planted"),
}
PER_PLANT: Final[Mapping[str, str]] = {
    "yield_per_plant": marked("fresh weight per plant"),
    "yield_per_plant_dry": marked("dry weight per plant"),
}
OF_PICKINGS: Final[Mapping[str, str]] = {
    "yield_per_plant": marked("yield per plant"),
    "yield_per_plant_started": marked("yield per plant planted (dead plants counted as zero)"),
    "tray_yield": marked("yield per {unit}"),
}
LIMITS: Final = marked("{level} interval {interval}")
LIMITS_BY_WEIGHTS: Final = marked(
    "{level} interval {interval}, from the variation of weights alone"
)
LIMITS_BY_INSTRUMENTS: Final = marked(
    "{level} interval {interval}, from the variation of weights and the accuracy of instruments"
)
INTERVAL_BY_WEIGHTS: Final = marked("{interval}, from the variation of weights alone")
INTERVAL_BY_INSTRUMENTS: Final = marked(
    "{interval}, from the variation of weights and the accuracy of instruments"
)
# What may explain a difference, as part of a sentence, by the code of the finding: `EXPLAINING` of
# metrics.verdicts.
REASONS: Final[Mapping[str, str]] = {
    "one_unit_for_all": marked(
        "all {units} of a treatment shared one lamp, mat, tank or tent ({treatments})"
    ),
    "plants_share_pots": marked("plants that are compared one by one shared a pot"),
    "own_days_of_first_fill": marked("{treatments} shared no starting day with another treatment"),
    "own_days_of_harvest": marked("{treatments} shared no harvest day with another treatment"),
    "filled_from_to": marked("the treatments did not start on the same day"),
    "start_weights_apart": marked("plants began at different weights ({each})"),
    "harvested_from_to": marked("the treatments were not harvested on the same day"),
    "one_place_only": marked("{treatments} stood in one place only"),
    "own_blocks": marked("{treatments} shared no block with another treatment"),
    "own_positions": marked("{treatments} shared no position with another treatment"),
    "own_group": marked("the treatments stood in separate groups"),
    "quantity_apart": marked("another growing condition differed too ({quantity}: {each})"),
    "losses_differ": marked("one of the two treatments lost many more plants"),
    "emptied": marked("a {unit} ran out of solution"),
    "ran_out": marked("a {unit} ran out of solution"),
}
ADJUSTED: Final[Mapping[Covariate, str]] = {
    "start_weight": marked("Adjusted for start weight: {change} ({limits})."),
    "light_at_place": marked("Adjusted for the light at each place: {change} ({limits})."),
}
BEYOND_SEEN: Final = frozenset(
    ("covariate_differs", "slopes_differ")
)  # notes under which no adjusted figure is told
MORE_BELOW: Final = marked_plural(
    "{number} more treatment stands in the report's tables.",
    "{number} more treatments stand in the report's tables.",
)
BEST_KNOWN_FIRST: Final = (
    "more",
    "less",
    "alike",
    "confounded",
    "untestable",
)  # codes of conclusions


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
    plain = _unadjusted(trial, results, subject)
    if subject.result.measure.key != results.main_measure:
        return plain
    return " ".join((plain, *_adjusted(trial, results, subject.conclusion)))


def _adjusted(trial: Trial, results: Results, conclusion: Conclusion) -> Iterator[str]:
    """Yield the figure adjusted for each covariate, where the adjustment does not reach beyond what
    was seen.
    """
    for adjustment in results.adjusted:
        for measure in adjustment.measures:
            comparison = dict(measure.comparisons).get(conclusion.treatment)
            is_sound = not BEYOND_SEEN.intersection(note.code for note in measure.notes)
            if (
                measure.measure.key == conclusion.measure
                and is_sound
                and comparison
                and comparison.ratio is not None
            ):
                fine = numbers.is_fine(comparison.ratio_low, comparison.ratio_high)
                change = numbers.change(comparison.ratio, fine)
                level = numbers.percent_level(trial.confidence_level)
                limits = say(LIMITS, level=level, interval=interval(comparison))
                yield say(ADJUSTED[adjustment.covariate], change=change, limits=limits)


def _unadjusted(trial: Trial, results: Results, subject: Subject) -> str:
    comparison, conclusion, verb = subject.comparison, subject.conclusion, subject.verb
    treated = name_within(trial, conclusion.treatment)
    words = {
        "treated": treated,
        "Treated": wording.capital(treated),
        "reference": name_within(trial, trial.reference),
        "outcome": outcome(results, subject.result, is_explained=subject.is_explained),
        "figures": _figures(trial, subject),
    }
    if comparison.ratio is None and comparison.difference is None:
        message = marked("{Treated} and {reference} cannot be compared in {outcome}: {reason}.")
        return say(message, **words, reason=_first_note(trial, comparison))
    said = _said(subject, words)
    if conclusion.code == "untestable":
        return say(UNTESTABLE[verb], **words, said=said, reason=_first_note(trial, comparison))
    if conclusion.code == "alike":
        margin = numbers.margin(trial.margin or 0.0)
        limits = _limits_of_alike(comparison)
        return say(ALIKE[verb], **words, measured=_measured(subject), margin=margin, limits=limits)
    if conclusion.code == "unclear":
        return say(UNCLEAR[verb], **words, measured=_measured(subject), interval=_reach(subject))
    limits = _limits(trial, subject)
    if conclusion.code == "confounded":
        reasons = reasons_clause(trial, conclusion.reasons)
        return say(CONFOUNDED[verb], **words, said=said, limits=limits, reasons=reasons)
    return say(DIFFERS[verb], **words, said=said, limits=limits)


def _figures(trial: Trial, subject: Subject) -> str:
    """Return both treatments' figures, the reference's last: `134 against 110 g/plant`."""
    texts: list[str] = []
    for shown in units.versions(subject.result, units.current()):
        estimates = dict(shown.estimates)
        treated = wording.value_text(shown, estimates[subject.conclusion.treatment])
        reference = wording.value_text(shown, estimates[trial.reference])
        unit = language.unit(shown.measure.unit.removeprefix("%"))
        texts.append(say(AGAINST, treated=treated, reference=reference, unit=unit).strip())
    return units.within_brackets(*texts)


def outcome(results: Results, result: MeasureResult, *, is_explained: bool = False) -> str:
    """Return what a measure is called within a sentence; where no plant was lost, or where a
    sentence before explains it, nothing needs to be said of lost plants.
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


def _said(subject: Subject, words: Mapping[str, str]) -> str:
    """Return the change of a measure beside the reference."""
    comparison = subject.comparison
    if comparison.ratio is None:
        change = _by_difference(subject)
    else:
        fine = numbers.is_fine(comparison.ratio_low, comparison.ratio_high)
        change = numbers.change_of(comparison.ratio, fine)
    if subject.verb is not Verb.WAS:
        return than(change, words["outcome"], words["reference"])
    message = {
        "more": marked("{size} higher than with {reference}"),
        "less": marked("{size} lower than with {reference}"),
        "times": marked("{size} times that with {reference}"),
        "same": marked("the same as with {reference}"),
    }[change.way]
    return say(message, size=change.size, reference=words["reference"])


def _by_difference(subject: Subject) -> numbers.Change:
    """Return the difference of a measure whose zero is a convention, as of days since the start."""
    difference = _in_units(subject)[1].difference or 0.0
    if difference == 0:
        return numbers.Change("same", "")
    way: Literal["more", "less"] = "more" if difference > 0 else "less"
    return numbers.Change(way, _in_unit(subject, numbers.plain(abs(difference))))


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
        return numbers.in_words(_by_difference(subject))
    fine = numbers.is_fine(comparison.ratio_low, comparison.ratio_high)
    return numbers.change(comparison.ratio or 1.0, fine)


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


def _limits_of_alike(comparison: Comparison) -> str:
    """Return the limits by which two figures are called alike."""
    return interval(wording.as_judged(comparison, "alike"))


def _first_note(trial: Trial, comparison: Comparison) -> str:
    if not comparison.notes:
        return say("no interval can be had")
    return messages.text(trial, comparison.notes[0])


def reasons_clause(trial: Trial, findings: Sequence[Message]) -> str:
    """Return what may explain a difference, as a part of a sentence."""
    speaker = messages.speaker(trial)
    clauses = [speaker.clause(REASONS[one.code], one) for one in findings]
    return numbers.listed(tuple(dict.fromkeys(clauses))[:MOST_REASONS])


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
