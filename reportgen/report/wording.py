"""What the numbers say, in sentences."""

import re
from collections.abc import Sequence

from reportgen import language
from reportgen.language import marked, percent, say, say_as
from reportgen.metrics.measures import DECLARED, PERCENT
from reportgen.model.results import Comparison, Measure, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import numbers, ratios, terms, treatment_names, units

OUTCOMES = {
    "fresh_weight": marked("fresh weight per plant"),
    "yield_per_plant_started": marked(
        "fresh weight per plant planted (dead plants counted as zero)"
    ),
    "tray_yield": marked("fresh weight per {unit}"),
    "dry_weight": marked("dry weight per plant"),
    "leaves": marked("the number of leaves"),
    "water_use": marked("water per {unit}"),
    "energy_use": marked("electricity per {unit}"),
    "yield_per_plant_started_dry": marked(
        "dry weight per plant planted (dead plants counted as zero)"
    ),
    "tray_yield_dry": marked("dry weight per {unit}"),
    "marketable_yield": marked("marketable yield per {unit}"),
    "pieces": marked("pieces per {unit}"),
    "days_to_first_harvest": marked("time to the first picking"),
    "yield_per_week": marked("yield per {unit} and week of picking"),
    "energy_per_kg": marked("electricity per kilogram of fresh weight"),
    "energy_per_kg_dry": marked("electricity per kilogram of dry weight"),
}
OUTCOMES_BY_POUND = {
    "energy_per_kg": marked("electricity per pound of fresh weight"),
    "energy_per_kg_dry": marked("electricity per pound of dry weight"),
}
DOUBTED = marked(
    "Something other than the treatment may explain the change in {measures}: see the checks of a"
    " fair test."
)
MONEY = re.compile(r"[A-Z]{3}/")  # the unit of a cost
UNITLESS = {"ph": marked("pH units")}  # what stands behind a difference of a measure without a unit


def name_of(trial: Trial, code: str) -> str:
    """Return a treatment's name as the grower typed it."""
    return treatment_names.name_of(trial, code)


def name_within(trial: Trial, code: str) -> str:
    """Return a treatment's name as it stands within a sentence."""
    return treatment_names.within(trial, code)


def unit_of(trial: Trial, number: int = 1) -> str:
    """Return what a row of the Trays sheet is called in this trial."""
    return terms.unit_word(trial.unit, number)


def units_counted(trial: Trial, number: int) -> str:
    """Return a number of trays or pots."""
    return terms.counted(trial.unit, number)


def plants_counted(number: int) -> str:
    """Return a number of plants."""
    return terms.counted("plant", number)


def days_counted(number: int) -> str:
    """Return a number of days."""
    return terms.counted("day", number)


def capital(text: str) -> str:
    """Return a text with a capital at its beginning; one such as `pH` stays as it is written."""
    if text[1:2].isupper():
        return text
    return text[:1].upper() + text[1:]


def result_of(results: Results, key: str) -> MeasureResult | None:
    """Return the result of a measure, None where the trial has none."""
    return next((result for result in results.measures if result.measure.key == key), None)


def says_nothing(results: Results, result: MeasureResult) -> bool:
    """Return whether a measure is survival where all plants lived, unless the trial was for that."""
    if result.measure.key != "survival" or results.main_measure == "survival":
        return False
    return all(estimate.value == PERCENT for _, estimate in result.estimates)


def outcome_of(measure: Measure) -> str:
    """Return what a measure is called within a sentence.

    The grower's own measures without a unit are often counts, such as `Flowers`; their mean takes
    the same verbs.
    """
    if units.is_us() and measure.key in OUTCOMES_BY_POUND:
        return say(OUTCOMES_BY_POUND[measure.key])
    if measure.key in OUTCOMES:
        return terms.of_container(OUTCOMES[measure.key])
    label = terms.label(measure)
    if measure.unit or measure.trait or measure.key in DECLARED:
        return inside(label)
    return say("the mean of {measure}", measure=label)


def than(change: ratios.Change, outcome: str, reference: str) -> str:
    """Return a change as what was given or used, beside the reference."""
    message = {
        "more": marked("{size} more {outcome} than {reference}"),
        "less": marked("{size} less {outcome} than {reference}"),
        "times": marked("{size} times as much {outcome} as {reference}"),
        "same": marked("as much {outcome} as {reference}"),
    }[change.way]
    return say(message, size=change.size, outcome=outcome, reference=reference)


def tells(comparison: Comparison) -> bool:
    """Return whether the ratio's interval leaves out no difference."""
    above = comparison.ratio_low is not None and comparison.ratio_low > 1
    below = comparison.ratio_high is not None and comparison.ratio_high < 1
    return above or below


def interval(comparison: Comparison) -> str:
    """Return a ratio's interval as changes: `3% to 41% more`, `12% less to no upper limit`."""
    precise = ratios.is_fine(comparison.ratio_low, comparison.ratio_high)
    low, high = comparison.ratio_low, comparison.ratio_high
    if low is None or high is None:
        return _one_sided(low, high)
    ends = ratios.end_of(low, precise), ratios.end_of(high, precise)
    ways = {end.way for end in ends}
    if ways == {"less", "same"}:
        return say("{low} to {high} less", low=percent("0"), high=ends[0].size)
    if ways == {"more"}:
        return say("{low} to {high} more", low=ends[0].size, high=ends[1].size)
    if ways == {"less"}:
        return say("{low} to {high} less", low=ends[1].size, high=ends[0].size)
    return say_as(
        "change",
        "{low} to {high}",
        low=ratios.in_words(ends[0]),
        high=ratios.in_words(ends[1]),
    )


def _one_sided(low: float | None, high: float | None) -> str:
    if low is not None:
        return say_as("change", "{low} to no upper limit", low=ratios.change(low))
    if high is not None:
        return say_as("change", "no lower limit to {high}", high=ratios.change(high))
    return say_as("change", "no lower limit to no upper limit")


def label_of(result: MeasureResult) -> str:
    """Return a measure's label with its unit, as a row heading."""
    if result.measure.unit:
        return f"{terms.label(result.measure)} ({language.unit(result.measure.unit)})"
    return terms.label(result.measure)


def inside(label: str) -> str:
    """Return a label as it stands within a sentence."""
    return treatment_names.inside(label)


def doubted(trial: Trial, results: Results, keys: Sequence[str]) -> str:
    """Return which changes may have another cause than the treatment.

    Empty where none of these measures' does.
    """
    causes: dict[str, list[str]] = {}
    for conclusion in results.conclusions:
        if conclusion.code == "confounded" and conclusion.measure in keys:
            causes.setdefault(conclusion.measure, []).append(name_of(trial, conclusion.treatment))
    if not causes:
        return ""
    measures = tuple(_with_names(trial, results, key, causes[key]) for key in keys if key in causes)
    return say(DOUBTED, measures=numbers.listed(measures))


def _with_names(trial: Trial, results: Results, key: str, names: Sequence[str]) -> str:
    measures = {result.measure.key: result.measure for result in results.measures}
    measures |= {score.measure.key: score.measure for score in results.scores}
    if key in measures:
        label = inside(terms.label(measures[key]))
    else:
        label = key
    if len(trial.treatments) == 2:
        return label
    return f"{label} ({numbers.listed(tuple(names))})"


def losses_differ(results: Results) -> bool:
    """Return whether losses differ so much that they are the first thing to know."""
    for verdict in results.fairness:
        if verdict.check == "losses":
            return any(finding.code == "losses_differ" for finding in verdict.findings)
    return False


def relative_text(trial: Trial, results: Results, keys: tuple[str, ...]) -> str:
    """Return each key measure relative to the reference, for a figure's text alternative."""
    sentences: list[str] = []
    for key in keys:
        result = result_of(results, key)
        if result is None:
            continue
        label = terms.label(result.measure)
        for code, comparison in result.comparisons:
            low, high = comparison.ratio_low, comparison.ratio_high
            ratio = ratios.ratio(comparison.ratio, low, high)
            if comparison.ratio is not None:
                sentences.append(f"{label}, {name_of(trial, code)}: {ratio}.")
    return " ".join(sentences)
