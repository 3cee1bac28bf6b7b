"""What the numbers say, in sentences."""

import re
from collections.abc import Sequence
from dataclasses import replace

from reportgen import language
from reportgen.language import marked, percent, say, say_as
from reportgen.metrics.measures import DECLARED, PERCENT
from reportgen.model.results import Comparison, Estimate, Measure, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import numbers, terms, treatment_names, units

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
    """Return a text with a capital at its beginning."""
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


def than(change: numbers.Change, outcome: str, reference: str) -> str:
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
    precise = numbers.is_fine(comparison.ratio_low, comparison.ratio_high)
    low, high = comparison.ratio_low, comparison.ratio_high
    if low is None or high is None:
        return _one_sided(low, high)
    ends = numbers.end_of(low, precise), numbers.end_of(high, precise)
    ways = {end.way for end in ends}
    if ways == {"less", "same"}:
        return say("{low} to {high} less", low=percent("0"), high=ends[0].size)
    if ways == {"more"}:
        return say("{low} to {high} more", low=ends[0].size, high=ends[1].size)
    if ways == {"less"}:
        return say("{low} to {high} less", low=ends[0].size, high=ends[1].size)
    return say_as(
        "change",
        "{low} to {high}",
        low=numbers.in_words(ends[0]),
        high=numbers.in_words(ends[1]),
    )


def _one_sided(low: float | None, high: float | None) -> str:
    if low is not None:
        return say_as("change", "{low} to no upper limit", low=numbers.change(low))
    if high is not None:
        return say_as("change", "no lower limit to {high}", high=numbers.change(high))
    return say_as("change", "no lower limit to no upper limit")


def estimate_text(result: MeasureResult, estimate: Estimate) -> str:
    """Return an estimate with its interval, as it stands in tables and figure texts."""
    if result.measure.unit == "%":
        return _share_text(estimate)
    value = value_text(result, estimate)
    if estimate.value is None:
        return value
    if estimate.low is None and estimate.high is None:
        return say("{value} (no interval)", value=value)
    return f"{value} ({numbers.limits(estimate.low, estimate.high, decimals_in(result, estimate))})"


def value_text(result: MeasureResult, estimate: Estimate) -> str:
    """Return an estimate alone, rounded as it is beside its interval and the other treatments."""
    if estimate.value is None:
        return numbers.not_known()
    if result.measure.unit == "%":
        return numbers.share(estimate.value, estimate.low, estimate.high)
    return numbers.fixed(estimate.value, decimals_in(result, estimate))


def figure_text(versions: Sequence[MeasureResult], code: str) -> str:
    """Return a treatment's figure without its unit, in each system of display: `4.6 (130)`."""
    values = [value_text(one, dict(one.estimates)[code]) for one in versions]
    return units.with_other(*values)


def unit_text(versions: Sequence[MeasureResult]) -> str:
    """Return the unit of a measure in each system of display: `oz/plant (g/plant)`."""
    return units.with_other(*(language.unit(one.measure.unit) for one in versions))


def decimals_in(result: MeasureResult, estimate: Estimate) -> int:
    """Return the decimals of an estimate: those that all treatments' intervals justify, two digits
    of its own at least and three at most; money has cents at most.

    Figures that stand side by side so have their decimal marks in one line.
    """
    known = [one for _, one in result.estimates if one.value is not None]
    justified = [_justified(one) for one in known]
    if MONEY.match(result.measure.unit):
        justified += [numbers.decimals_of_money(one.value or 0.0) for one in known]
    return max(min(justified), numbers.decimals_for(estimate.value or 0.0, 2))


def _justified(estimate: Estimate) -> int:
    value = estimate.value or 0.0
    decimals = numbers.decimals_of(value, estimate.low, estimate.high)
    if value:
        return min(decimals, numbers.decimals_for(value, 3))
    return decimals


def signed_change(result: MeasureResult, comparison: Comparison) -> str:
    """Return a change with its sign: in percent, in the unit where a ratio has no meaning, empty
    where not known.
    """
    if comparison.ratio is not None:
        return numbers.signed_change(comparison.ratio, comparison.ratio_low, comparison.ratio_high)
    if comparison.difference is None:
        return ""
    limits = comparison.difference_low, comparison.difference_high
    text = numbers.fixed(comparison.difference, numbers.decimals_of(comparison.difference, *limits))
    if comparison.difference > 0:
        sign = "+"
    else:
        sign = ""
    unit = language.unit(result.measure.unit or UNITLESS.get(result.measure.key, ""))
    return f"{sign}{text} {unit}".strip()


def as_judged(comparison: Comparison, verdict: str | None) -> Comparison:
    """Return a comparison with the limits that its verdict went by.

    They are those of level 1 - 2a where it is alike, and none where nothing can be tested.
    """
    if verdict == "untestable":
        return replace(
            comparison, ratio_low=None, ratio_high=None, difference_low=None, difference_high=None
        )
    if verdict != "alike":
        return comparison
    return replace(comparison, ratio_low=comparison.alike_low, ratio_high=comparison.alike_high)


def limits_of_change(result: MeasureResult, comparison: Comparison) -> str:
    """Return the limits of a change in words: `5% to 41% more`; empty where there are none."""
    if comparison.ratio is not None:
        has_limits = comparison.ratio_low is not None or comparison.ratio_high is not None
        if has_limits:
            return interval(comparison)
        return ""
    low, high = comparison.difference_low, comparison.difference_high
    if low is None or high is None:
        return ""
    decimals = numbers.decimals_of(comparison.difference or 0.0, low, high)
    unit = language.unit(result.measure.unit or UNITLESS.get(result.measure.key, ""))
    return f"{numbers.span(numbers.fixed(low, decimals), numbers.fixed(high, decimals))} {unit}".strip()


def beside_reference(result: MeasureResult, comparison: Comparison) -> str:
    """Return a comparison as a ratio in percent; as a difference where a ratio has no meaning, as
    for °C and pH.
    """
    if comparison.ratio is not None or comparison.difference is None:
        return numbers.ratio(comparison.ratio, comparison.ratio_low, comparison.ratio_high)
    unit = language.unit(result.measure.unit or UNITLESS.get(result.measure.key, ""))
    limits = comparison.difference_low, comparison.difference_high
    return numbers.with_interval(comparison.difference, *limits, unit=unit, signed=True)


def _share_text(estimate: Estimate) -> str:
    if estimate.value is None:
        return numbers.not_known()
    value = numbers.share(estimate.value, estimate.low, estimate.high)
    if estimate.low is None or estimate.high is None:
        return say("{value} (no interval)", value=value)
    return f"{value} ({numbers.span(numbers.share(estimate.low), numbers.share(estimate.high))})"


def label_in_units(versions: Sequence[MeasureResult]) -> str:
    """Return a measure's label with its unit in each system of display, as heads `4.6 (130)`."""
    if len(versions) == 1:
        return label_of(versions[0])
    return f"{terms.label(versions[0].measure)}, {unit_text(versions)}"


def label_of(result: MeasureResult) -> str:
    """Return a measure's label with its unit, as a row heading."""
    if result.measure.unit:
        return f"{terms.label(result.measure)} ({language.unit(result.measure.unit)})"
    return terms.label(result.measure)


def inside(label: str) -> str:
    """Return a label as it stands within a sentence."""
    return treatment_names.inside(label)


def doubted(trial: Trial, results: Results, keys: Sequence[str]) -> str:
    """Return which changes may have another cause than the treatment; empty where none of these
    measures' does.
    """
    causes: dict[str, list[str]] = {}
    for one in results.conclusions:
        if one.code == "confounded" and one.measure in keys:
            causes.setdefault(one.measure, []).append(name_of(trial, one.treatment))
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
    """Return whether losses differ so much between treatments that they are the first thing to
    know.
    """
    judged = next((one for one in results.fairness if one.check == "losses"), None)
    return judged is not None and any(
        finding.code == "losses_differ" for finding in judged.findings
    )


def values_text(trial: Trial, result: MeasureResult) -> str:
    """Return every treatment's figure in one sentence, for a figure's text alternative."""
    parts = tuple(
        f"{name_of(trial, code)} {estimate_text(result, estimate)}"
        for code, estimate in result.estimates
    )
    return f"{label_of(result)}: {'; '.join(parts)}."


def relative_text(trial: Trial, results: Results, keys: tuple[str, ...]) -> str:
    """Return each key measure relative to the reference, for a figure's text alternative."""
    found = [result_of(results, key) for key in keys]
    return " ".join(
        f"{terms.label(result.measure)}, {name_of(trial, code)}: "
        f"{numbers.ratio(comparison.ratio, comparison.ratio_low, comparison.ratio_high)}."
        for result in found
        if result is not None
        for code, comparison in result.comparisons
        if comparison.ratio is not None
    )
