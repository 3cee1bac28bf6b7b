"""What the numbers say, in sentences."""

from reportgen.model.results import Comparison, Estimate, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import numbers

OUTCOMES = {
    "fresh_weight": "fresh weight per plant",
    "yield_per_plant_started": "fresh weight per plant started (losses included)",
    "energy_per_kg": "electricity per kilogram",
    "water_per_gram": "water per gram",
}
MADE = ("fresh_weight", "yield_per_plant_started")


def name_of(trial: Trial, code: str) -> str:
    """Return a treatment's name."""
    return next(treatment.name for treatment in trial.treatments if treatment.code == code)


def unit_of(trial: Trial, number: int = 1) -> str:
    """Return what a row of the Trays sheet is called in this trial."""
    return trial.unit if number == 1 else f"{trial.unit}s"


def result_of(results: Results, key: str) -> MeasureResult | None:
    """Return the result of a measure, None where the trial has none."""
    return next((result for result in results.measures if result.measure.key == key), None)


def answer(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return one to three sentences that answer the trial's question with their intervals."""
    headline = result_of(results, "fresh_weight")
    if headline is None:
        return ("This trial has no fresh weights, so it does not tell which treatment gave more.",)
    if len(trial.treatments) > 2:
        return _for_each_treatment(trial, headline)
    followers = [result_of(results, key) for key in _followers(results)]
    kept = [headline, *(result for result in followers if result is not None)][:3]
    return tuple(sentence(trial, result, *result.comparisons[0]) for result in kept)


def _for_each_treatment(trial: Trial, headline: MeasureResult) -> tuple[str, ...]:
    said = tuple(sentence(trial, headline, code, comparison) for code, comparison in headline.comparisons[:3])
    more = len(headline.comparisons) - len(said)
    if more:
        said = (
            *said[:2],
            f"{numbers.count(len(headline.comparisons) - 2, 'more treatment')} stand in the table below.",
        )
    return said


def _followers(results: Results) -> tuple[str, ...]:
    lost = any(count.plants_harvested < count.plants_started for count in results.counts)
    return (*(("yield_per_plant_started",) if lost else ()), "energy_per_kg", "water_per_gram")


def sentence(trial: Trial, result: MeasureResult, code: str, comparison: Comparison) -> str:
    """Return what a comparison says: the change with its interval, or that the trial does not tell."""
    key = result.measure.key
    outcome = OUTCOMES.get(key, inside(result.measure.label))
    treated, reference = name_of(trial, code), name_of(trial, trial.reference)
    if comparison.ratio is None:
        return f"How much {outcome} {treated} had beside {reference} is not known: {_reason(trial, comparison)}."
    measured = numbers.change(comparison.ratio, numbers.is_fine(comparison.ratio_low, comparison.ratio_high))
    gave = "gave" if key in MADE else "used"
    if comparison.p_value is None or (comparison.ratio_low is None and comparison.ratio_high is None):
        return (
            f"{treated} {gave} {_than(measured, outcome, reference)}, but this trial does not tell how much of that "
            f"is chance: {_reason(trial, comparison)}."
        )
    level = numbers.percent_level(trial.confidence_level)
    source = ", from the spread of weights alone" if key == "energy_per_kg" else ""
    if tells(comparison):
        said = _than(measured, outcome, reference)
        return f"{treated} {gave} {said} ({level} interval {interval(comparison)}{source})."
    return (
        f"The trial does not tell whether {treated} {gave} more or less {outcome} than {reference}: it measured "
        f"{measured}, and the {level} interval{source and f' ({source[2:]})'} reaches from {interval(comparison)}."
    )


def _than(measured: str, outcome: str, reference: str) -> str:
    if measured == "the same":
        return f"as much {outcome} as {reference}"
    if measured.endswith("as much"):
        return f"{measured} {outcome} as {reference}"
    return f"{measured} {outcome} than {reference}"


def _reason(trial: Trial, comparison: Comparison) -> str:
    note = in_words(trial, comparison.note.split(";")[0].strip().rstrip("."))
    return note or "no interval can be had"


def tells(comparison: Comparison) -> bool:
    """Return whether the ratio's interval leaves out no difference."""
    above = comparison.ratio_low is not None and comparison.ratio_low > 1
    below = comparison.ratio_high is not None and comparison.ratio_high < 1
    return above or below


def interval(comparison: Comparison) -> str:
    """Return a ratio's interval as changes: `3 % more to 41 % more`, `12 % less to no upper limit`."""
    precise = numbers.is_fine(comparison.ratio_low, comparison.ratio_high)
    low = "no lower limit" if comparison.ratio_low is None else numbers.change(comparison.ratio_low, precise)
    high = "no upper limit" if comparison.ratio_high is None else numbers.change(comparison.ratio_high, precise)
    if (low.endswith(" more") and high.endswith(" more")) or (low.endswith(" less") and high.endswith(" less")):
        return f"{low.rsplit(' ', 1)[0]} to {high}"
    return f"{low} to {high}"


def estimate_text(result: MeasureResult, estimate: Estimate) -> str:
    """Return an estimate with its interval, as it stands in tables and figure texts."""
    if result.measure.unit == "%":
        return _share_text(estimate)
    return numbers.with_interval(estimate.value, estimate.low, estimate.high)


def beside_reference(result: MeasureResult, comparison: Comparison) -> str:
    """Return a comparison as a ratio in percent; as a difference where a ratio has no meaning, as for °C and pH."""
    if comparison.ratio is not None or comparison.difference is None:
        return numbers.ratio(comparison.ratio, comparison.ratio_low, comparison.ratio_high)
    unit = result.measure.unit or result.measure.label.split()[0]
    text = numbers.with_interval(comparison.difference, comparison.difference_low, comparison.difference_high)
    value, _, interval = text.partition(" (")
    return f"{'+' if comparison.difference > 0 else ''}{value} {unit}{f' ({interval}' if interval else ''}"


def _share_text(estimate: Estimate) -> str:
    if estimate.value is None:
        return numbers.NOT_KNOWN
    value = numbers.share(estimate.value, estimate.low, estimate.high)
    if estimate.low is None or estimate.high is None:
        return f"{value} (no interval)"
    return f"{value} ({numbers.span(numbers.share(estimate.low), numbers.share(estimate.high))})"


def label_of(result: MeasureResult) -> str:
    """Return a measure's label with its unit, as a row heading."""
    return f"{result.measure.label} ({result.measure.unit})" if result.measure.unit else result.measure.label


def inside(label: str) -> str:
    """Return a label as it stands within a sentence: in small letters, but for symbols such as PPFD, EC or pH."""
    first, space, rest = label.partition(" ")
    return (first.casefold() if first.istitle() else first) + space + rest


def in_words(trial: Trial, note: str) -> str:
    """Return a note of the calculation with the trial's own word for an experimental unit."""
    word = unit_of(trial)
    return note.replace("units", f"{word}s").replace("unit", word)


def values_text(trial: Trial, result: MeasureResult) -> str:
    """Return every treatment's figure in one sentence, for a figure's text alternative."""
    parts = tuple(f"{name_of(trial, code)} {estimate_text(result, estimate)}" for code, estimate in result.estimates)
    return f"{label_of(result)}: {'; '.join(parts)}."


def relative_text(trial: Trial, results: Results, keys: tuple[str, ...]) -> str:
    """Return each key measure relative to the reference, for a figure's text alternative."""
    found = [result_of(results, key) for key in keys]
    return " ".join(
        f"{result.measure.label}, {name_of(trial, code)}: "
        f"{numbers.ratio(comparison.ratio, comparison.ratio_low, comparison.ratio_high)}."
        for result in found
        if result is not None
        for code, comparison in result.comparisons
        if comparison.ratio is not None
    )
