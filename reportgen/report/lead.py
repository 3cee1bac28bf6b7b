"""The lead: the finding in one or two sentences, both figures first, and whether it pays."""

from collections.abc import Mapping
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.metrics.factors import factor_named
from reportgen.model.results import MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import (
    answer,
    answer_sentence,
    figure_texts,
    findings,
    messages,
    money,
    numbers,
    ratios,
    treatment_names,
    units,
    wording,
)
from reportgen.report.findings import Finding

MOST_SENTENCES: Final = 2
MOST_OF_FACTORS: Final = 4  # each factor, the one asked for within the other, whether they depend
WEIGHED: Final = marked("Plants weighed {figures}")
WEIGHED_ALL: Final = marked("Yield per plant planted, lost plants counted as zero, was {figures}")
MEASURED: Final = marked("{Outcome} was {figures}")
FIGURES: Final = marked("{treated} ({name}) against {own} ({reference})")
SAID: Final[Mapping[str, str]] = {
    "more": marked("{measured}: {change} ({level} interval {interval})."),
    "less": marked("{measured}: {change} ({level} interval {interval})."),
    "alike": marked("{measured}: about the same, as only {margin} or more matters."),
    "unclear": marked(
        "{measured}. We cannot say which is higher: the true difference could be {interval}."
    ),
    "untestable": marked(
        "{measured}: {change}. We cannot say how much of that is chance: {reason}."
    ),
    "confounded": marked(
        "{measured}: {change}. But {reasons}, so this cannot be attributed to {name}."
    ),
}
FROM_CURVE: Final = marked(
    "This is read from a curve through {number} doses; no {unit} got that dose."
)


def lead(trial: Trial, results: Results, sentences: tuple[str, ...]) -> tuple[str, ...]:
    """Return the sentence on the main measure and, of two treatments, the price at which the crop
    pays.

    `sentences` answer the question, the main measure first.
    """
    if trial.interim:
        return sentences
    others = [treatment.code for treatment in trial.treatments if treatment.code != trial.reference]
    if len(others) == 1:
        found = findings.finding(results, results.main_measure, others[0])
    else:
        found = None
    if results.effects.of(results.main_measure) is not None:
        return _of_factors(trial, results, sentences)
    if found is None or found.comparison.ratio is None:
        return sentences[:MOST_SENTENCES]
    said = answer.with_losses(trial, results, (_main_sentence(trial, results, found),))[0]
    pays = money.break_even(trial, results)
    if pays:
        return (said, pays)
    return (said,)


def _of_factors(trial: Trial, results: Results, sentences: tuple[str, ...]) -> tuple[str, ...]:
    """Return what the factors did, and what a reader must know of it.

    An interaction, or a dose that nobody tested.
    """
    analysis = results.effects.of(results.main_measure)
    assert analysis is not None
    if analysis.interaction is not None:
        return sentences[:MOST_OF_FACTORS]
    for trend in analysis.trends:
        factor = factor_named(trial, trend.factor)
        if trend.optimum is not None and trend.optimum not in factor.doses:
            from_curve = say(FROM_CURVE, number=len(factor.doses), unit=wording.unit_of(trial))
            return (*sentences[:1], from_curve)
    return sentences[:MOST_SENTENCES]


def _main_sentence(trial: Trial, results: Results, finding: Finding) -> str:
    """Return the finding on the main measure with both figures first."""
    comparison, code = finding.comparison, finding.code
    fine = ratios.is_fine(comparison.ratio_low, comparison.ratio_high)
    if code == "confounded":
        reasons = answer_sentence.reasons_clause(trial, finding.conclusion.reasons)
    else:
        reasons = ""
    return say(
        SAID[code],
        measured=_measured(trial, results, finding),
        change=ratios.change(comparison.ratio or 1.0, fine),
        interval=wording.interval(comparison),
        level=numbers.percent_level(trial.confidence_level),
        margin=ratios.margin(trial.margin or 0.0),
        name=wording.name_within(trial, finding.conclusion.treatment),
        reason=(
            messages.text(trial, comparison.notes[0])
            if comparison.notes
            else say("no interval can be had")
        ),
        reasons=reasons,
    )


def _measured(trial: Trial, results: Results, finding: Finding) -> str:
    """Return both treatments' figures of the main measure."""
    code = finding.conclusion.treatment
    is_weight = findings.is_weight(trial, results, finding.key)
    values = {
        treatment: _figure(finding.result, treatment, is_weight)
        for treatment in (code, trial.reference)
    }
    figures = say(
        FIGURES,
        treated=values[code],
        own=values[trial.reference],
        name=treatment_names.label_within(trial, code),
        reference=treatment_names.label_within(trial, trial.reference),
    )
    if not is_weight:
        return say(
            MEASURED,
            Outcome=wording.capital(answer_sentence.outcome(results, finding.result)),
            figures=figures,
        )
    counts_losses = finding.key == "yield_per_plant_started" and any(
        count.lost_some for count in results.counts
    )
    return say(WEIGHED_ALL if counts_losses else WEIGHED, figures=figures)


def _figure(result: MeasureResult, code: str, is_weight: bool) -> str:
    """Return a treatment's figure with its unit, that of the other system in brackets."""
    texts: list[str] = []
    for version in units.versions(result, units.current()):
        unit = version.measure.unit
        if is_weight:
            unit = unit.removesuffix("/plant")
        value = figure_texts.value_text(version, dict(version.estimates)[code])
        texts.append(_with_unit(value, language.unit(unit)))
    return units.with_other(*texts)


def _with_unit(value: str, unit: str) -> str:
    if unit == "%":
        return value
    return f"{value} {unit}".strip()
