"""What is seen in a figure, as its title: made from values and verdicts."""

from collections.abc import Mapping, Sequence
from math import inf, isfinite, log
from typing import TYPE_CHECKING, Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.factor_results import DoseTrend
from reportgen.model.results import ConclusionCode, FactorOfRatio, MeasureResult, Results, ScoreResult
from reportgen.model.trial import Trial
from reportgen.report import headline, numbers, terms, wording
from reportgen.report.factor_answer import dose_text
from reportgen.report.scores import position
from reportgen.stats.crossings import Line, crossings

if TYPE_CHECKING:
    from reportgen.charts.cost_parts import CostPart

MOST_NAMED: Final = 2  # treatments whose averages stand in a title; of more the highest and the lowest
LONGEST_NAME: Final = 32  # characters of a treatment's name beside its average
SAME: Final = 1e-9  # of a value: two averages that are one
OF_MEASURES: Final[Mapping[ConclusionCode, str]] = {
    "more": marked("{measures} higher"),
    "less": marked("{measures} lower"),
    "alike": marked("{measures} about the same"),
    "unclear": marked("{measures} unclear"),
    "untestable": marked("{measures} not to be tested"),
    "confounded": marked("{measures} not comparable"),
}
IN_BLOCKS: Final = {
    True: marked("{measure} higher with {name} in {number} of {of} blocks"),
    False: marked("{measure} lower with {name} in {number} of {of} blocks"),
}
IN_ALL_BLOCKS: Final = {
    True: marked("{measure} higher with {name} in all {of} blocks"),
    False: marked("{measure} lower with {name} in all {of} blocks"),
}
BESIDE_AVERAGE: Final = {
    True: marked("{number} of {of} {units} with {name} lie above the average with {reference}"),
    False: marked("{number} of {of} {units} with {name} lie below the average with {reference}"),
}


# ---- trays -----------------------------------------------------------------------------------------------


def of_trays(trial: Trial, result: MeasureResult) -> str:
    """Return how the trays of two treatments lie: block by block, or beside the reference's average.

    Of more treatments, of single trays and of a trial that is not finished, their averages.
    """
    others = [code for code, _ in result.estimates if code != trial.reference]
    if len(others) == 1 and not trial.interim:
        said = _by_blocks(trial, result, others[0]) or _beside_average(trial, result, others[0])
        if said:
            return said
    return of_averages(trial, result)


def _by_blocks(trial: Trial, result: MeasureResult, treated: str) -> str:
    """Return in how many blocks a treatment lies higher or lower; empty where blocks do not hold one tray of each."""
    values: dict[tuple[str, str], list[float]] = {}
    scores = dict(result.scores)
    for tray in trial.trays:
        if tray.code in scores:
            values.setdefault((tray.block, tray.treatment), []).append(scores[tray.code])
    blocks = sorted({block for block, _ in values})
    is_paired = set(values) == {(block, code) for block in blocks for code in (treated, trial.reference)}
    if len(blocks) < 2 or not all(blocks) or not is_paired or any(len(found) > 1 for found in values.values()):
        return ""
    steps = [values[block, treated][0] - values[block, trial.reference][0] for block in blocks]
    higher, lower = sum(step > 0 for step in steps), sum(step < 0 for step in steps)
    most = max(higher, lower)
    message = IN_ALL_BLOCKS if most == len(blocks) else IN_BLOCKS
    name = wording.name_within(trial, treated)
    label = terms.label(result.measure)
    return say(message[higher >= lower], measure=label, name=name, number=most, of=len(blocks))


def _beside_average(trial: Trial, result: MeasureResult, treated: str) -> str:
    """Return how many trays of a treatment lie on one side of the reference's average; empty for single trays."""
    average = dict(result.estimates)[trial.reference].value
    treatment_of = {tray.code: tray.treatment for tray in trial.trays}
    scores = [score for tray, score in result.scores if treatment_of[tray] == treated]
    if average is None or len(scores) < 2:
        return ""
    higher, lower = sum(score > average for score in scores), sum(score < average for score in scores)
    names = {"name": wording.name_within(trial, treated), "reference": wording.name_within(trial, trial.reference)}
    units = wording.unit_of(trial, len(scores))
    return say(BESIDE_AVERAGE[higher >= lower], number=max(higher, lower), of=len(scores), units=units, **names)


def of_averages(trial: Trial, result: MeasureResult) -> str:
    """Return the averages of two treatments, or the highest and the lowest of several; the label alone without any."""
    label = terms.label(result.measure)
    known = [(code, one.value) for code, one in result.estimates if one.value is not None]
    if not known:
        return label
    if len(known) > MOST_NAMED:
        ordered = sorted(known, key=lambda pair: pair[1])
        low, high = ordered[0], ordered[-1]
        if abs(high[1] - low[1]) > SAME * abs(high[1]):
            said = {"high": _average(trial, result, *high), "low": _average(trial, result, *low)}
            return say("{measure}: from {low} to {high}", measure=label, **said)
    averages = numbers.listed(tuple(_average(trial, result, *one) for one in known[:MOST_NAMED]))
    return say("{measure}: {averages}", measure=label, averages=averages)


def _average(trial: Trial, result: MeasureResult, code: str, value: float) -> str:
    unit = language.unit(result.measure.unit) if result.measure.unit else ""
    amount = numbers.share(value) if unit == "%" else f"{numbers.plain(value)} {unit}".strip()
    if any(len(one.name) > LONGEST_NAME for one in trial.treatments):
        return amount
    return say("{amount} with {name}", amount=amount, name=wording.name_within(trial, code))


def of_score(trial: Trial, score: ScoreResult) -> str:
    """Return the middle class of two treatments, or those of the highest and the lowest of several."""
    known = [(one.median, one.treatment) for one in score.treatments if one.median is not None]
    if not known:
        return score.measure.label
    shown = known
    if len(known) > MOST_NAMED:
        shown = [min(known, key=lambda pair: pair[0]), max(known, key=lambda pair: pair[0])]
    parts: list[str] = []
    for median, code in shown:
        middle = position(score.scale, median)
        parts.append(say("{amount} with {name}", amount=middle, name=wording.name_within(trial, code)))
    return say(
        "{measure}, middle class: {averages}", measure=score.measure.label, averages=numbers.listed(tuple(parts))
    )


# ---- changes ---------------------------------------------------------------------------------------------


def of_changes(trial: Trial, results: Results, keys: Sequence[str]) -> str:
    """Return what the trial found in several measures; with several treatments, in the first of them."""
    found = [result for key in keys if (result := wording.result_of(results, key)) and result.comparisons]
    if not found:
        return ""
    if len(trial.treatments) > 2:
        return wording.capital(headline.of_measure(trial, results, found[0].measure.key))
    (treatment, _) = found[0].comparisons[0]
    judged = {(one.measure, one.treatment) for one in results.conclusions}
    labels: dict[ConclusionCode, list[str]] = {}
    for result in found:
        if (result.measure.key, treatment) in judged:
            code = conclusion_of(results, result.measure.key, treatment).code
            labels.setdefault(code, []).append(wording.inside(terms.label(result.measure)))
    parts: list[str] = []
    for code, message in OF_MEASURES.items():
        if code in labels:
            parts.append(say(message, measures=numbers.listed(tuple(labels[code]))))
    return say("{name}: {findings}", name=wording.name_of(trial, treatment), findings="; ".join(parts))


def of_factors(label: str, factors: Sequence[FactorOfRatio]) -> str:
    """Return which factor of a ratio differs most."""
    largest = max(factors, key=lambda one: abs(log(one.ratio)) if one.ratio and 0 < one.ratio < inf else 0.0)
    factor = wording.inside(terms.factor(largest.factor))
    return say("{measure}: what changed most is {factor}", measure=label, factor=factor)


# ---- costs -----------------------------------------------------------------------------------------------


def of_prices(trial: Trial, costs: Sequence[Line]) -> str:
    """Return at which price of electricity the cheapest treatment changes, or which one costs least at any price."""
    known = [one for one in costs if isfinite(one.start) and isfinite(one.slope)]
    if len(known) < 2:
        return ""
    for one in crossings(known):
        if one.y <= min(line.at(one.x) for line in known) * (1 + SAME):
            price = f"{numbers.three_digits(one.x)} {trial.currency}"
            names = {"one": _name(trial, one.below), "other": _name(trial, one.above)}
            return say("{one} and {other} cost the same where a kWh costs {price}", price=price, **names)
    cheapest = min(known, key=lambda line: (line.start, line.slope))
    return say("Cheapest at any price of electricity: {name}", name=_name(trial, cheapest.name))


def _name(trial: Trial, code: str) -> str:
    return wording.name_of(trial, code)


def of_cost_parts(parts: "Sequence[CostPart]") -> str:
    """Return which part of the cost is the largest of all treatments together."""
    sums: dict[str, float] = {}
    for part in parts:
        sums[part.component] = sums.get(part.component, 0.0) + (part.cost or 0.0)
    if len(sums) < 2:
        return next(iter(sums), "")
    return say(
        "The largest part of the cost: {component}", component=wording.inside(max(sums, key=lambda one: sums[one]))
    )


# ---- doses -----------------------------------------------------------------------------------------------


def of_trend(trial: Trial, result: MeasureResult, trends: Sequence[DoseTrend]) -> str:
    """Return where one curve turns; else the averages along the doses."""
    label = terms.label(result.measure)
    messages = {"peak": marked("{measure}: highest near {dose}"), "trough": marked("{measure}: lowest near {dose}")}
    (first, *others) = trends
    if not others and first.code in messages and first.optimum is not None:
        factor = next(one for one in trial.factors if one.name == first.factor)
        return say(messages[first.code], measure=label, dose=dose_text(factor, first.optimum))
    return of_averages(trial, result)
