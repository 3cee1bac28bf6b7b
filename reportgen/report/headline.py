"""The headline: what a trial found, in one line made from its verdicts."""

from collections.abc import Sequence
from typing import Final

from reportgen.language import say
from reportgen.metrics.basis import on_each_basis
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.results import Results, ScoreResult, TreatmentCount
from reportgen.model.trial import Trial
from reportgen.report import (
    findings,
    interim,
    numbers,
    ratios,
    scores,
    treatment_names,
    units,
    wording,
)
from reportgen.report.answer import size_of
from reportgen.report.answer_box import ELECTRICITY, WATER, first_compared
from reportgen.report.findings import Finding
from reportgen.report.headline_factors import MOST_GROUPS, factors_headline
from reportgen.report.headline_texts import (
    ALL_OTHERS,
    CHANGED,
    CHANGED_ALONE,
    DEARER,
    FURTHER,
    FURTHER_ONE,
    HIGHER_SCORE,
    LED_BY,
    LOST,
    LOST_AND,
    NOT_FAIR,
    NOTHING_COMPARED,
    OF_ALL,
    PAYS,
    SECOND,
    SECOND_WITH,
    SEVERAL,
    SEVERAL_LEVELS,
    SURVIVED,
    THE_REFERENCE,
    UNEQUAL_LOSSES,
    UNNAMED,
)

MOST_NAMES: Final = 2  # treatments of one verdict that are named one by one
LONGEST_NAME: Final = 32  # characters of a treatment's name beside others
BEST_KNOWN_FIRST: Final = ("more", "less", "alike", "confounded", "untestable", "unclear")
COSTS: Final = on_each_basis("running_cost_per_gram", "electricity_cost_per_gram")


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
    """Return the finding on the main measure, without a capital.

    `behind` as in `findings.in_words`.
    """
    score = scores.score_of(results, results.main_measure)
    if score is not None and score.comparisons:
        return _of_score(trial, results, score)
    analysis = results.effects.of(results.main_measure)
    if analysis is not None:
        of_factors = factors_headline(trial, results, analysis)
        if of_factors:
            return of_factors
    return of_measure(trial, results, results.main_measure, behind=behind) or say(NOTHING_COMPARED)


def of_measure(trial: Trial, results: Results, key: str, *, behind: bool = False) -> str:
    """Return the finding on a measure by treatments, without a capital.

    Empty where the trial compares none in it.
    """
    found = _findings(trial, results, key)
    if not found:
        return ""
    if len(found) > 1:
        return several(trial, results, found)
    return findings.in_words(trial, results, found[0], behind=behind)


def _findings(trial: Trial, results: Results, key: str) -> list[Finding]:
    others = [treatment.code for treatment in trial.treatments if treatment.code != trial.reference]
    found = (findings.finding(results, key, code) for code in others)
    return [one for one in found if one is not None]


# ---- two treatments ------------------------------------------------------------------------------


def _with_second(trial: Trial, results: Results, finding: Finding, said: str) -> str:
    """Return a finding with what it cost, where the trial tells and nothing else explains it."""
    if finding.code == "confounded" or finding.key in (*COSTS, *ELECTRICITY, *WATER):
        return said
    second = _second(trial, results, finding.conclusion.treatment)
    if not second:
        return said
    if finding.code in ("more", "less"):
        return say(SECOND, finding=said, second=second)
    name = wording.name_within(trial, finding.conclusion.treatment)
    return say(SECOND_WITH, finding=said, second=second, name=name)


def _second(trial: Trial, results: Results, treatment: str) -> str:
    """Return what matters beside the main measure: whether it pays, else its cost or use."""
    for money in results.money:
        if money.treatment == treatment and money.pays in PAYS:
            return say(PAYS[money.pays])
    for key in COSTS:
        cost = _clear_finding(results, key, treatment)
        if cost is not None:
            return say(DEARER[units.is_us()][cost.code])
    for group in (ELECTRICITY, WATER):
        use = _clear_finding(results, first_compared(results, group), treatment)
        if use is not None:
            return findings.change(trial, results, use)
    return ""


def _clear_finding(results: Results, key: str, treatment: str) -> Finding | None:
    """Return the finding on a measure that is clearly more or less; None for all others."""
    finding = findings.finding(results, key, treatment)
    if finding is not None and finding.code in ("more", "less"):
        return finding
    return None


def _are_losses_first(results: Results) -> bool:
    """Return whether the lost plants of two treatments are the first thing to know."""
    counted = [count for count in results.counts if count.plants_started]
    is_survival = results.main_measure == "survival"
    return len(counted) == 2 and (is_survival or wording.losses_differ(results))


def _led_by_losses(trial: Trial, results: Results, said: str) -> str:
    """Return a finding led by losses that differ so much that they are the first thing to know."""
    if _are_losses_first(results):
        losses = _losses_of_two(trial, results)
        return say(LED_BY, each=losses, finding=wording.inside(said))
    if results.main_measure == "survival" or not wording.losses_differ(results):
        return said
    return say(UNEQUAL_LOSSES, finding=wording.inside(said))


def _losses_and(trial: Trial, results: Results, found: Finding) -> str:
    """Return how many plants were lost, then the finding on the treatment that is named so."""
    thing = findings.thing(trial, results, found.key)
    comparison = found.comparison
    if comparison.ratio is None and comparison.difference is None:
        finding = findings.in_words(trial, results, found)
    else:
        changed = findings.change(trial, results, found)
        untested = findings.why_untested(found.conclusion.reasons)
        finding = say(UNNAMED[found.code], thing=thing, change=changed, untested=untested)
    return say(LOST_AND, losses=_losses_of_two(trial, results), finding=wording.inside(finding))


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
        number=_number_of_plants(counts[treated], lost=not is_survival),
        started=counts[treated].plants_started,
        own=_number_of_plants(counts[trial.reference], lost=not is_survival),
        total=counts[trial.reference].plants_started,
    )


def _number_of_plants(count: TreatmentCount, *, lost: bool) -> int:
    started, kept = count.plants_started or 0, count.plants_harvested or 0
    if lost:
        return started - kept
    return kept


# ---- several treatments --------------------------------------------------------------------------


def several(trial: Trial, results: Results, findings: Sequence[Finding]) -> str:
    """Return what is best known of several treatments, their names before each finding.

    What is more comes before what is less, and two verdicts at most are told.
    """
    ordered = sorted(findings, key=_best_known_and_largest)
    groups: dict[str, list[Finding]] = {}
    for one in ordered:
        groups.setdefault(one.code, []).append(one)
    first, *others = list(groups)[:MOST_GROUPS]
    said = [_first_group(trial, results, groups[first], len(findings))]
    said += [_further_group(trial, groups[code], len(findings)) for code in others]
    return "; ".join(said)


def _first_group(trial: Trial, results: Results, group: Sequence[Finding], total: int) -> str:
    """Return the finding on the treatments of the first verdict, with the name of the measure."""
    code = group[0].code
    if group[0].key in findings.AMOUNTS:
        texts = SEVERAL
    else:
        texts = SEVERAL_LEVELS
    names = _names_text(trial, group, total)
    words = {
        "Names": wording.capital(names),
        "thing": findings.thing(trial, results, group[0].key),
        "reference": _short_reference(trial),
        "untested": findings.why_untested(group[0].conclusion.reasons),
    }
    if len(group) > 1 or code not in ("more", "less"):
        return say(texts[code], **words)
    changed = findings.change(trial, results, group[0])
    if len(treatment_names.label(trial, trial.reference)) <= LONGEST_NAME:
        return say(CHANGED, **words, change=changed)
    return say(CHANGED_ALONE, **words, change=changed)


def _further_group(trial: Trial, group: Sequence[Finding], total: int) -> str:
    """Return the finding on treatments of another verdict; the size of a single one's change."""
    names = _names_text(trial, group, total)
    if len(group) == 1 and group[0].code in ("more", "less"):
        return say(FURTHER_ONE, names=names, change=ratios.in_words(findings.change_of(group[0])))
    return say(FURTHER[group[0].code], names=names)


def _names_text(trial: Trial, group: Sequence[Finding], total: int) -> str:
    """Return the names of at most two treatments, or how many they are of all others."""
    if len(group) <= MOST_NAMES:
        codes = [finding.conclusion.treatment for finding in group]
        return numbers.listed(tuple(treatment_names.label_within(trial, code) for code in codes))
    if len(group) < total:
        return say(OF_ALL, number=len(group), total=total)
    return say(ALL_OTHERS)


def _short_reference(trial: Trial) -> str:
    name = treatment_names.label_within(trial, trial.reference)
    if len(name) <= LONGEST_NAME:
        return name
    return say(THE_REFERENCE)


def _best_known_and_largest(finding: Finding) -> tuple[int, float]:
    """Return a key by which more comes before less, and larger differences before smaller ones."""
    return BEST_KNOWN_FIRST.index(finding.code), -size_of(finding.comparison)


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
    return say(NOT_FAIR, Reason=findings.reason(best.reasons[0]), finding=wording.inside(said))
