"""What the numbers say, in sentences."""

from reportgen.language import marked, plural, say, say_as
from reportgen.model.results import Comparison, Estimate, Measure, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import calculated, numbers, terms
from reportgen.stats.instruments import BOTH_TYPES

OUTCOMES = {
    "fresh_weight": marked("fresh weight per plant"),
    "yield_per_plant_started": marked("fresh weight per plant started (losses included)"),
    "energy_per_kg": marked("electricity per kilogram"),
    "water_per_gram": marked("water per gram"),
}
UNITLESS = {"ph": terms.TERMS["pH"]}  # what stands behind a difference of a measure without a unit
MADE = ("fresh_weight", "yield_per_plant_started")
BY_WEIGHTS = "energy_per_kg"  # its energy is one figure for the treatment, without a spread


def name_of(trial: Trial, code: str) -> str:
    """Return a treatment's name."""
    return next(treatment.name for treatment in trial.treatments if treatment.code == code)


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


def answer(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return one to three sentences that answer the trial's question with their intervals."""
    headline = result_of(results, "fresh_weight")
    if headline is None:
        return (say("This trial has no fresh weights, so it does not tell which treatment gave more."),)
    if len(trial.treatments) > 2:
        return _for_each_treatment(trial, headline)
    followers = [result_of(results, key) for key in _followers(results)]
    kept = [headline, *(result for result in followers if result is not None)][:3]
    return tuple(sentence(trial, result, *result.comparisons[0]) for result in kept)


def _for_each_treatment(trial: Trial, headline: MeasureResult) -> tuple[str, ...]:
    said = tuple(sentence(trial, headline, code, comparison) for code, comparison in headline.comparisons[:3])
    more = len(headline.comparisons) - 2
    if more < 2:
        return said
    others = plural(
        "{number} more treatment stands in the table below.", "{number} more treatments stand in the table below.", more
    )
    return (*said[:2], others)


def _followers(results: Results) -> tuple[str, ...]:
    lost = any(count.lost_some for count in results.counts)
    return (*(("yield_per_plant_started",) if lost else ()), "energy_per_kg", "water_per_gram")


def sentence(trial: Trial, result: MeasureResult, code: str, comparison: Comparison) -> str:
    """Return what a comparison says: the change with its interval, or that the trial does not tell."""
    key = result.measure.key
    names = {"treated": name_of(trial, code), "reference": name_of(trial, trial.reference)}
    outcome = outcome_of(result.measure)
    if comparison.ratio is None:
        reason = _reason(trial, comparison)
        message = marked("How much {outcome} {treated} had beside {reference} is not known: {reason}.")
        return say(message, outcome=outcome, reason=reason, **names)
    fine = numbers.is_fine(comparison.ratio_low, comparison.ratio_high)
    if comparison.p_value is None or (comparison.ratio_low is None and comparison.ratio_high is None):
        said = than(numbers.change_of(comparison.ratio, fine), outcome, names["reference"])
        return say(_by_chance(key), said=said, reason=_reason(trial, comparison), **names)
    level = numbers.percent_level(trial.confidence_level)
    if tells(comparison):
        said = than(numbers.change_of(comparison.ratio, fine), outcome, names["reference"])
        return say(_told(key, comparison), said=said, level=level, interval=interval(comparison), **names)
    measured = numbers.change(comparison.ratio, fine)
    found = {"measured": measured, "level": level, "interval": interval(comparison)}
    return say(_not_told(key, comparison), outcome=outcome, **found, **names)


def outcome_of(measure: Measure) -> str:
    """Return what a measure is called within a sentence."""
    return say(OUTCOMES[measure.key]) if measure.key in OUTCOMES else inside(terms.label(measure))


def _by_chance(key: str) -> str:
    if key in MADE:
        return marked("{treated} gave {said}, but this trial does not tell how much of that is chance: {reason}.")
    return marked("{treated} used {said}, but this trial does not tell how much of that is chance: {reason}.")


def _told(key: str, comparison: Comparison) -> str:
    if key in MADE:
        return marked("{treated} gave {said} ({level} interval {interval}).")
    if key == BY_WEIGHTS and BOTH_TYPES in comparison.method:
        return marked(
            "{treated} used {said} ({level} interval {interval}, from the spread of weights and the accuracy of "
            "instruments)."
        )
    if key == BY_WEIGHTS:
        return marked("{treated} used {said} ({level} interval {interval}, from the spread of weights alone).")
    return marked("{treated} used {said} ({level} interval {interval}).")


def _not_told(key: str, comparison: Comparison) -> str:
    if key in MADE:
        return marked(
            "The trial does not tell whether {treated} gave more or less {outcome} than {reference}: it measured "
            "{measured}, and the {level} interval reaches from {interval}."
        )
    if key == BY_WEIGHTS and BOTH_TYPES in comparison.method:
        return marked(
            "The trial does not tell whether {treated} used more or less {outcome} than {reference}: it measured "
            "{measured}, and the {level} interval (from the spread of weights and the accuracy of instruments) reaches "
            "from {interval}."
        )
    if key == BY_WEIGHTS:
        return marked(
            "The trial does not tell whether {treated} used more or less {outcome} than {reference}: it measured "
            "{measured}, and the {level} interval (from the spread of weights alone) reaches from {interval}."
        )
    return marked(
        "The trial does not tell whether {treated} used more or less {outcome} than {reference}: it measured "
        "{measured}, and the {level} interval reaches from {interval}."
    )


def than(change: numbers.Change, outcome: str, reference: str) -> str:
    """Return a change as what was given or used, beside the reference."""
    message = {
        "more": marked("{size} more {outcome} than {reference}"),
        "less": marked("{size} less {outcome} than {reference}"),
        "times": marked("{size} times as much {outcome} as {reference}"),
        "same": marked("as much {outcome} as {reference}"),
    }[change.way]
    return say(message, size=change.size, outcome=outcome, reference=reference)


def _reason(trial: Trial, comparison: Comparison) -> str:
    note = in_words(trial, comparison.note.split(";")[0].strip().rstrip("."))
    return note or say("no interval can be had")


def tells(comparison: Comparison) -> bool:
    """Return whether the ratio's interval leaves out no difference."""
    above = comparison.ratio_low is not None and comparison.ratio_low > 1
    below = comparison.ratio_high is not None and comparison.ratio_high < 1
    return above or below


def interval(comparison: Comparison) -> str:
    """Return a ratio's interval as changes: `3 % to 41 % more`, `12 % less to no upper limit`."""
    precise = numbers.is_fine(comparison.ratio_low, comparison.ratio_high)
    low, high = comparison.ratio_low, comparison.ratio_high
    if low is None or high is None:
        return _one_sided(low, high)
    ends = numbers.change_of(low, precise), numbers.change_of(high, precise)
    if {end.way for end in ends} == {"more"}:
        return say("{low} to {high} more", low=ends[0].size, high=ends[1].size)
    if {end.way for end in ends} == {"less"}:
        return say("{low} to {high} less", low=ends[0].size, high=ends[1].size)
    return say_as("change", "{low} to {high}", low=numbers.change(low, precise), high=numbers.change(high, precise))


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
    return numbers.with_interval(estimate.value, estimate.low, estimate.high)


def beside_reference(result: MeasureResult, comparison: Comparison) -> str:
    """Return a comparison as a ratio in percent; as a difference where a ratio has no meaning, as for °C and pH."""
    if comparison.ratio is not None or comparison.difference is None:
        return numbers.ratio(comparison.ratio, comparison.ratio_low, comparison.ratio_high)
    unit = say(result.measure.unit or UNITLESS.get(result.measure.key, ""))
    limits = comparison.difference_low, comparison.difference_high
    return numbers.with_interval(comparison.difference, *limits, unit=unit, signed=True)


def _share_text(estimate: Estimate) -> str:
    if estimate.value is None:
        return numbers.not_known()
    value = numbers.share(estimate.value, estimate.low, estimate.high)
    if estimate.low is None or estimate.high is None:
        return say("{value} (no interval)", value=value)
    return f"{value} ({numbers.span(numbers.share(estimate.low), numbers.share(estimate.high))})"


def label_of(result: MeasureResult) -> str:
    """Return a measure's label with its unit, as a row heading."""
    return (
        f"{terms.label(result.measure)} ({say(result.measure.unit)})"
        if result.measure.unit
        else terms.label(result.measure)
    )


def inside(label: str) -> str:
    """Return a label as it stands within a sentence: in small letters, but for symbols such as PPFD, EC or pH."""
    first, space, rest = label.partition(" ")
    return (first.casefold() if first.istitle() else first) + space + rest


def in_words(trial: Trial, note: str) -> str:
    """Return one note of the calculation in the report's language, with the trial's own word for its units."""
    return calculated.note(trial, note)


def values_text(trial: Trial, result: MeasureResult) -> str:
    """Return every treatment's figure in one sentence, for a figure's text alternative."""
    parts = tuple(f"{name_of(trial, code)} {estimate_text(result, estimate)}" for code, estimate in result.estimates)
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
