"""The headline: what a trial found, in one line made from its verdicts."""

from collections.abc import Mapping, Sequence
from typing import Final

from reportgen.language import marked, say
from reportgen.metrics.basis import on_each_basis
from reportgen.metrics.factor_designs import is_dose
from reportgen.metrics.factors import factor_named
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.factor_results import DoseTrend, FactorAnalysis, LevelEffect
from reportgen.model.results import Comparison, Results, ScoreResult, TreatmentCount
from reportgen.model.trial import Factor, Trial
from reportgen.report import (
    findings,
    interim,
    numbers,
    scores,
    treatment_names,
    units,
    wording,
)
from reportgen.report.answer import size_of
from reportgen.report.answer_box import ELECTRICITY, WATER, first_compared
from reportgen.report.factor_answer import dose_text, leading, level_text
from reportgen.report.findings import Finding

MOST_NAMES: Final = 2  # treatments of one verdict that are named one by one
LONGEST_NAME: Final = 32  # characters of a treatment's name beside others
MOST_GROUPS: Final = 2  # verdicts that a headline has room for
BEST_KNOWN_FIRST: Final = ("more", "less", "alike", "confounded", "untestable", "unclear")
NOTHING_COMPARED: Final = marked("Nothing was measured that compares the treatments")
SECOND: Final = marked("{finding}, {second}")
SECOND_WITH: Final = marked("{finding}; {second} with {name}")
PAYS: Final[Mapping[str, str]] = {
    "pays": marked("and it pays"),
    "loses": marked("but it does not pay"),
}
COSTS: Final = on_each_basis("running_cost_per_gram", "electricity_cost_per_gram")
DEARER: Final[
    Mapping[bool, Mapping[str, str]]
] = {  # by whether weights are shown in US units alone
    False: {"more": marked("dearer by the kilo"), "less": marked("cheaper by the kilo")},
    True: {"more": marked("dearer by the pound"), "less": marked("cheaper by the pound")},
}
LED_BY: Final = marked("{each}: {finding}")
# Losses in front of a finding, the treatment's before those of the reference.
LOST: Final = marked("{Name}: {number} of {started} plants lost ({reference}: {own} of {total})")
SURVIVED: Final = marked(
    "{Name}: {number} of {started} plants survived ({reference}: {own} of {total})"
)
LOST_AND: Final = marked("{losses}; {finding}")
# A finding whose treatment is named before.
UNNAMED: Final[Mapping[str, str]] = {
    "more": marked("{change}"),
    "less": marked("{change}"),
    "alike": marked("about the same {thing}"),
    "unclear": marked("no clear difference in {thing}"),
    "untestable": marked("{change}, which may be chance"),
    "confounded": marked("not a fair test of {thing}"),
}
UNEQUAL_LOSSES: Final = marked("Very unequal losses: {finding}")
# What is found of several treatments, in a headline: their names before the finding.
SEVERAL: Final[Mapping[str, str]] = {
    "more": marked("{Names}: more {thing} than with {reference}"),
    "less": marked("{Names}: less {thing} than with {reference}"),
    "alike": marked("{Names} and {reference}: about the same {thing}"),
    "confounded": marked("{Names}: no fair test against {reference}"),
    "untestable": marked("{Names}: too little to compare {thing} with {reference}"),
    "unclear": marked("{Names}: no clear difference in {thing} from {reference}"),
}
SEVERAL_LEVELS: Final[Mapping[str, str]] = {
    **SEVERAL,
    "more": marked("{Names}: {thing} higher than with {reference}"),
    "less": marked("{Names}: {thing} lower than with {reference}"),
    "alike": marked("{Names} and {reference}: {thing} about the same"),
}
CHANGED: Final = marked("{Names}: {change} than with {reference}")
CHANGED_ALONE: Final = marked("{Names}: {change}")  # where the reference's name has no room
FURTHER: Final[Mapping[str, str]] = {  # the measure is named already
    "more": marked("{names}: more"),
    "less": marked("{names}: less"),
    "alike": marked("{names}: about the same"),
    "confounded": marked("{names}: no fair test"),
    "untestable": marked("{names}: not tested"),
    "unclear": marked("{names}: unclear"),
}
FURTHER_ONE: Final = marked("{names}: {change}")
OF_ALL: Final = marked("{number} of {total} treatments")
THE_REFERENCE: Final = marked("the reference")
ALL_OTHERS: Final = marked("all other treatments")
TRENDS: Final[Mapping[str, str]] = {
    "peak": marked("Most {thing} at {dose} of {factor}"),
    "trough": marked("Least {thing} at {dose} of {factor}"),
    "rises": marked("The more {factor}, the more {thing}, up to {dose}"),
    "falls": marked("The more {factor}, the less {thing}, up to {dose}"),
    "bends": marked(
        "Most {thing} near {dose} of {factor}, though the trial cannot place the best dose"
    ),
    "flat": marked("No trend in {thing} from {lowest} to {dose} of {factor}"),
    "not_a_curve": marked("{Thing} changed with {factor}, but not along a curve"),
}
TRENDS_OF_LEVELS: Final[Mapping[str, str]] = {
    **TRENDS,
    "peak": marked("{Thing} highest at {dose} of {factor}"),
    "trough": marked("{Thing} lowest at {dose} of {factor}"),
    "rises": marked("The more {factor}, the higher {thing}, up to {dose}"),
    "falls": marked("The more {factor}, the lower {thing}, up to {dose}"),
    "bends": marked(
        "{Thing} best near {dose} of {factor}, though the trial cannot place the best dose"
    ),
}
ABOUT: Final = marked("about {dose}")
NOT_FAIR: Final = marked("{Reason}, so not a fair test: {finding}")
DEPENDS: Final = marked("What {factor} does to {thing} depends on {other}")
FURTHER_CHANGES: Final[Mapping[str, str]] = {
    "more": marked("{size} more"),
    "less": marked("{size} less"),
    "times": marked("{size} times as much"),
    "same": marked("as much"),
}
EFFECTS: Final[Mapping[str, str]] = {
    "more": marked("{factor} {level} against {reference}: {change}"),
    "less": marked("{factor} {level} against {reference}: {change}"),
    "alike": marked("{factor} {level} and {reference}: about the same {thing}"),
    "unclear": marked("no clear effect of {factor} on {thing}"),
}
HIGHER_SCORE: Final[Mapping[str, str]] = {
    "more": marked("{Outcome}: higher with {name} than with {reference}"),
    "less": marked("{Outcome}: lower with {name} than with {reference}"),
    "unclear": marked("No clear difference in {outcome} between {name} and {reference}"),
    "untestable": marked("{Outcome}: too few {units} to compare {name} with {reference}"),
}


def headline(trial: Trial, results: Results) -> str:
    """Return what the trial found, in one line; how far it is where it is not finished."""
    if trial.interim:
        return interim.headline(trial)
    said = of_main(trial, results)
    found = _findings(trial, results, results.main_measure)
    if len(found) == 1 and _are_losses_first(results):
        return _losses_and(trial, results, found[0])
    if len(found) == 1:
        said = _with_second(trial, results, found[0], said)
    return _led_by_losses(trial, results, wording.capital(said))


def of_main(trial: Trial, results: Results, *, behind: bool = False) -> str:
    """Return the finding on the main measure, without a capital; `behind` as in
    `findings.in_words`.
    """
    score = scores.score_of(results, results.main_measure)
    if score is not None and score.comparisons:
        return _of_score(trial, results, score)
    analysis = results.effects.of(results.main_measure)
    if analysis is not None:
        of_factors = _of_factors(trial, results, analysis)
        if of_factors:
            return of_factors
    return of_measure(trial, results, results.main_measure, behind=behind) or say(NOTHING_COMPARED)


def of_measure(trial: Trial, results: Results, key: str, *, behind: bool = False) -> str:
    """Return the finding on a measure by treatments, without a capital; empty where the trial
    compares none in it.
    """
    found = _findings(trial, results, key)
    if not found:
        return ""
    if len(found) > 1:
        return several(trial, results, found)
    return findings.in_words(trial, results, found[0], behind=behind)


def _findings(trial: Trial, results: Results, key: str) -> list[Finding]:
    others = [one.code for one in trial.treatments if one.code != trial.reference]
    found = (findings.finding(results, key, code) for code in others)
    return [one for one in found if one is not None]


# ---- two treatments ------------------------------------------------------------------------------


def _with_second(trial: Trial, results: Results, found: Finding, said: str) -> str:
    """Return a finding with what it cost, where the trial tells and nothing else explains it."""
    if found.code == "confounded" or found.key in (*COSTS, *ELECTRICITY, *WATER):
        return said
    second = _second(trial, results, found.conclusion.treatment)
    if not second:
        return said
    if found.code in ("more", "less"):
        return say(SECOND, finding=said, second=second)
    name = wording.name_within(trial, found.conclusion.treatment)
    return say(SECOND_WITH, finding=said, second=second, name=name)


def _second(trial: Trial, results: Results, treatment: str) -> str:
    """Return what matters beside the main measure: whether it pays, cost by weight, electricity,
    water.
    """
    for money in results.money:
        if money.treatment == treatment and money.pays in PAYS:
            return say(PAYS[money.pays])
    for key in COSTS:
        found = findings.finding(results, key, treatment)
        if found is not None and found.code in ("more", "less"):
            return say(DEARER[units.is_us()][found.code])
    for key in (first_compared(results, ELECTRICITY), first_compared(results, WATER)):
        found = findings.finding(results, key, treatment)
        if found is not None and found.code in ("more", "less"):
            return findings.change(trial, results, found)
    return ""


def _are_losses_first(results: Results) -> bool:
    """Return whether the lost plants of two treatments are the first thing to know."""
    counted = [count for count in results.counts if count.plants_started]
    is_survival = results.main_measure == "survival"
    return len(counted) == 2 and (is_survival or wording.losses_differ(results))


def _led_by_losses(trial: Trial, results: Results, said: str) -> str:
    """Return a finding led by losses that differ so much that they are the first thing to know."""
    if _are_losses_first(results):
        losses = _losses_of_two(trial, results)
        return say(LED_BY, each=losses, finding=_after_colon(said))
    if results.main_measure == "survival" or not wording.losses_differ(results):
        return said
    return say(UNEQUAL_LOSSES, finding=_after_colon(said))


def _losses_and(trial: Trial, results: Results, found: Finding) -> str:
    """Return how many plants were lost, then the finding on the treatment that is named so."""
    thing = findings.thing(trial, results, found.key)
    comparison = found.comparison
    if comparison.ratio is None and comparison.difference is None:
        finding = findings.in_words(trial, results, found)
    else:
        changed = findings.change(trial, results, found)
        finding = say(UNNAMED[found.code], thing=thing, change=changed)
    return say(LOST_AND, losses=_losses_of_two(trial, results), finding=_after_colon(finding))


def _losses_of_two(trial: Trial, results: Results) -> str:
    """Return how many plants of the treatment and of the reference were lost, or survived."""
    counts = {count.treatment: count for count in results.counts}
    (treated,) = (code for code in counts if code != trial.reference)
    is_survival = results.main_measure == "survival"
    if is_survival:
        text = SURVIVED
    else:
        text = LOST
    name = treatment_names.label_within(trial, treated)
    return say(
        text,
        Name=wording.capital(name),
        reference=treatment_names.label_within(trial, trial.reference),
        number=_counted(counts[treated], lost=not is_survival),
        started=counts[treated].plants_started,
        own=_counted(counts[trial.reference], lost=not is_survival),
        total=counts[trial.reference].plants_started,
    )


def _counted(count: TreatmentCount, *, lost: bool) -> int:
    started, kept = count.plants_started or 0, count.plants_harvested or 0
    if lost:
        return started - kept
    return kept


def _after_colon(said: str) -> str:
    """Return a finding as it stands behind a colon."""
    return wording.inside(said)


# ---- several treatments --------------------------------------------------------------------------


def several(trial: Trial, results: Results, found: Sequence[Finding]) -> str:
    """Return what is best known of several treatments, their names before each finding.

    What is more comes before what is less, and two verdicts at most are told.
    """
    ordered = sorted(found, key=_best_known_and_largest)
    groups: dict[str, list[Finding]] = {}
    for one in ordered:
        groups.setdefault(one.code, []).append(one)
    first, *others = list(groups)[:MOST_GROUPS]
    said = [_first_group(trial, results, groups[first], len(found))]
    said += [_further_group(trial, groups[code], len(found)) for code in others]
    return "; ".join(said)


def _first_group(trial: Trial, results: Results, group: Sequence[Finding], total: int) -> str:
    """Return the finding on the treatments of the first verdict, with the name of the measure."""
    code = group[0].code
    if group[0].key in findings.AMOUNTS:
        texts = SEVERAL
    else:
        texts = SEVERAL_LEVELS
    names = _named(trial, group, total)
    words = {
        "Names": wording.capital(names),
        "thing": findings.thing(trial, results, group[0].key),
        "reference": _short_reference(trial),
    }
    if len(group) > 1 or code not in ("more", "less"):
        return say(texts[code], **words)
    changed = findings.change(trial, results, group[0])
    if len(treatment_names.label(trial, trial.reference)) <= LONGEST_NAME:
        return say(CHANGED, **words, change=changed)
    return say(CHANGED_ALONE, **words, change=changed)


def _further_group(trial: Trial, group: Sequence[Finding], total: int) -> str:
    """Return the finding on treatments of another verdict; the size of a single one's change."""
    names = _named(trial, group, total)
    if len(group) == 1 and group[0].code in ("more", "less"):
        return say(FURTHER_ONE, names=names, change=numbers.in_words(findings.change_of(group[0])))
    return say(FURTHER[group[0].code], names=names)


def _named(trial: Trial, group: Sequence[Finding], total: int) -> str:
    """Return the names of at most two treatments, or how many they are of all others."""
    if len(group) <= MOST_NAMES:
        codes = [one.conclusion.treatment for one in group]
        return numbers.listed(tuple(treatment_names.label_within(trial, code) for code in codes))
    if len(group) < total:
        return say(OF_ALL, number=len(group), total=total)
    return say(ALL_OTHERS)


def _short_reference(trial: Trial) -> str:
    name = treatment_names.label_within(trial, trial.reference)
    if len(name) <= LONGEST_NAME:
        return name
    return say(THE_REFERENCE)


def _best_known_and_largest(found: Finding) -> tuple[int, float]:
    """Return a key by which more comes before less, and larger differences before smaller ones."""
    return BEST_KNOWN_FIRST.index(found.code), -size_of(found.comparison)


# ---- factors and doses ---------------------------------------------------------------------------


def _of_factors(trial: Trial, results: Results, analysis: FactorAnalysis) -> str:
    """Return what the factors of a trial did; empty where its treatments say more."""
    thing = findings.thing(trial, results, analysis.measure)
    if analysis.interaction is not None and analysis.interaction.matters:
        first, second = leading(trial, analysis)
        return say(DEPENDS, factor=first.name, other=second.name, thing=thing)
    averaged = [
        one
        for one in analysis.effects
        if not one.within and not is_dose(factor_named(trial, one.factor))
    ]
    averaged.sort(key=lambda one: (one.code == "unclear", -size_of(Comparison(one.ratio))))
    said = [_effect(trial, results, analysis, one, leads=one is averaged[0]) for one in averaged]
    said += [
        _trend(trial, results, analysis.measure, one) for one in analysis.trends if not one.within
    ]
    return "; ".join(said[:MOST_GROUPS])


def _effect(
    trial: Trial, results: Results, analysis: FactorAnalysis, effect: LevelEffect, *, leads: bool
) -> str:
    """Return an effect averaged over the other factor; the first of several names the measure."""
    factor = factor_named(trial, effect.factor)
    changed = numbers.change_of(effect.ratio)
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
    dose = factor.doses[-1]
    if trend.code in ("peak", "trough"):
        dose = trend.optimum or 0.0
    if trend.code == "bends" and trend.best is not None:
        dose = trend.best.dose
    said = say(
        texts[trend.code],
        thing=thing,
        Thing=wording.capital(thing),
        factor=factor.name,
        dose=dose_text(factor, dose) if dose in factor.doses else _about(factor, dose),
        lowest=dose_text(factor, factor.doses[0]),
    )
    if not trend.reasons or trend.code == "flat":
        return said
    return say(NOT_FAIR, Reason=findings.reason(trend.reasons[0]), finding=_after_colon(said))


def _about(factor: Factor, dose: float) -> str:
    """Return a dose that no unit got, as a curve has it."""
    return say(ABOUT, dose=f"{numbers.two_digits(dose)} {factor.unit}".strip())


# ---- scores --------------------------------------------------------------------------------------


def _of_score(trial: Trial, results: Results, score: ScoreResult) -> str:
    """Return what the trial says of a score: of the treatment that is best known."""
    judged = [conclusion_of(results, score.measure.key, code) for code, _ in score.comparisons]
    best = min(judged, key=lambda one: BEST_KNOWN_FIRST.index(one.code))
    outcome = scores.outcome(score)
    words = {
        "outcome": outcome,
        "Outcome": wording.capital(outcome),
        "name": wording.name_within(trial, best.treatment),
        "reference": wording.name_within(trial, trial.reference),
        "units": wording.unit_of(trial, 2),
    }
    said = say(HIGHER_SCORE[best.toward or best.code], **words)
    if best.code != "confounded":
        return said
    return say(NOT_FAIR, Reason=findings.reason(best.reasons[0]), finding=_after_colon(said))
