"""What is seen in a figure, as its title: made from values and verdicts."""

from collections.abc import Mapping, Sequence
from math import inf, isfinite, log
from typing import TYPE_CHECKING, Final

from reportgen.language import marked, say
from reportgen.model.factor_results import DoseTrend
from reportgen.model.results import (
    Conclusion,
    ConclusionCode,
    FactorOfRatio,
    MeasureResult,
    Results,
    ScoreResult,
)
from reportgen.model.trial import Trial
from reportgen.report import findings, numbers, terms, wording
from reportgen.report.levels import dose_text
from reportgen.report.scores import position
from reportgen.stats.intersections import Line, intersections

if TYPE_CHECKING:
    from reportgen.charts.cost_parts import CostPart

MOST_NAMED: Final = (
    2  # treatments whose averages stand in a title; of more the highest and the lowest
)
LONGEST_NAME: Final = 32  # characters of a treatment's name beside its average
MOST_MEASURES: Final = 4  # that a title tells one by one
SAME: Final = 1e-9  # of a value: two averages that are one
OF_MEASURES: Final[Mapping[ConclusionCode, str]] = {
    "more": marked("{measures} higher"),
    "less": marked("{measures} lower"),
    "alike": marked("{measures} about the same"),
    "unclear": marked("{measures} unclear"),
    "untestable": marked("{measures} not tested"),
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
DIFFERS: Final[Mapping[str, str]] = {
    "more": marked("higher with {names}"),
    "less": marked("lower with {names}"),
}
NOTHING_TOLD: Final[Mapping[ConclusionCode, str]] = {
    "confounded": marked("{measure}: not a fair comparison"),
    "untestable": marked("{measure} ({untested})"),
    "unclear": marked("{measure}: no clear difference"),
    "alike": marked("{measure}: about the same"),
}
OF_EACH: Final = marked("{measure}: {findings}")
BY_VERDICT: Final[Mapping[ConclusionCode, str]] = {
    "alike": marked("{names} about the same"),
    "confounded": marked("{names} not comparable"),
    "untestable": marked("{names} not tested"),
    "unclear": marked("{names} unclear"),
}


# ---- trays ---------------------------------------------------------------------------------------


def of_trays(trial: Trial, results: Results, result: MeasureResult) -> str:
    """Return what the trays of a measure show, as its verdicts have it.

    Where nothing is compared its label alone.
    """
    if trial.interim:
        return say("{measure} so far, not yet a comparison", measure=terms.label(result.measure))
    codes = [code for code, _ in result.comparisons]
    judged = {code: _code(results, result.measure.key, code) for code in codes}
    if len(codes) == 1 and judged[codes[0]] in ("more", "less"):
        said = _by_blocks(trial, result, codes[0], is_more=judged[codes[0]] == "more")
        if said:
            return said
    return of_verdicts(trial, results, result)


def of_verdicts(trial: Trial, results: Results, result: MeasureResult) -> str:
    """Return with which treatments a measure is higher or lower; else why nothing is."""
    label = terms.label(result.measure)
    names: dict[ConclusionCode, list[str]] = {}
    untested = ""
    for code, _ in result.comparisons:
        conclusion = _conclusion(results, result.measure.key, code)
        if conclusion is None:
            continue
        names.setdefault(conclusion.code, []).append(wording.name_within(trial, code))
        if conclusion.code == "untestable":
            untested = findings.why_untested(conclusion.reasons)
    known = [
        say(DIFFERS[way], names=_names_text(names[way], trial))
        for way in ("more", "less")
        if way in names
    ]
    if known:
        return say("{measure} {findings}", measure=label, findings=numbers.listed(tuple(known)))
    if len(names) > 1:
        return say(OF_EACH, measure=label, findings=_of_each_verdict(names, trial))
    for verdict, message in NOTHING_TOLD.items():
        if verdict in names:
            return say(message, measure=label, untested=untested)
    return label


def _of_each_verdict(names: Mapping[ConclusionCode, Sequence[str]], trial: Trial) -> str:
    """Return each verdict with the treatments that have it, in the words of a section's heading."""
    parts: list[str] = []
    for verdict, message in BY_VERDICT.items():
        if verdict in names:
            parts.append(say(message, names=_names_text(names[verdict], trial)))
    return "; ".join(parts)


def _conclusion(results: Results, key: str, treatment: str) -> Conclusion | None:
    for conclusion in results.conclusions:
        if conclusion.measure == key and conclusion.treatment == treatment:
            return conclusion
    return None


def _code(results: Results, key: str, treatment: str) -> ConclusionCode | None:
    conclusion = _conclusion(results, key, treatment)
    if conclusion is None:
        return None
    return conclusion.code


def _names_text(names: Sequence[str], trial: Trial) -> str:
    """Return names in a row; long or many ones are counted."""
    if len(names) <= MOST_NAMED and all(len(name) <= LONGEST_NAME for name in names):
        return numbers.listed(tuple(names))
    return say("{number} of {of} treatments", number=len(names), of=len(trial.treatments) - 1)


def over_time(measure: str) -> str:
    """Return that a measure is shown over time."""
    return say("{measure} over time", measure=measure)


def _by_blocks(trial: Trial, result: MeasureResult, treated: str, *, is_more: bool) -> str:
    """Return in how many blocks a treatment agrees with its verdict; empty without pairs."""
    steps = _steps_of_blocks(trial, result, treated)
    if len(steps) < 2:
        return ""
    if is_more:
        agreeing = [step for step in steps if step > 0]
    else:
        agreeing = [step for step in steps if step < 0]
    number = len(agreeing)
    if number == len(steps):
        message = IN_ALL_BLOCKS
    else:
        message = IN_BLOCKS
    measure = terms.label(result.measure)
    name = wording.name_within(trial, treated)
    return say(message[is_more], number=number, of=len(steps), measure=measure, name=name)


def _steps_of_blocks(trial: Trial, result: MeasureResult, treated: str) -> list[float]:
    """Return treatment less reference in each block; empty unless each block has one pair."""
    scores = dict(result.scores)
    values: dict[tuple[str, str], float] = {}
    for tray in trial.trays:
        if tray.code not in scores:
            continue
        place = tray.block, tray.treatment
        if place in values or not tray.block:
            return []
        values[place] = scores[tray.code]
    blocks = sorted({block for block, _ in values})
    treated_places = {(block, treated) for block in blocks}
    reference_places = {(block, trial.reference) for block in blocks}
    if set(values) != treated_places | reference_places:
        return []
    return [values[block, treated] - values[block, trial.reference] for block in blocks]


def of_score(trial: Trial, score: ScoreResult) -> str:
    """Return the middle class of two treatments, or those of the highest and the lowest of several."""
    known = [
        (counts.median, counts.treatment)
        for counts in score.treatments
        if counts.median is not None
    ]
    if not known:
        return score.measure.label
    shown = known
    if len(known) > MOST_NAMED:
        shown = [min(known, key=lambda pair: pair[0]), max(known, key=lambda pair: pair[0])]
    parts: list[str] = []
    for median, code in shown:
        middle = position(score.scale, median)
        parts.append(
            say("{amount} with {name}", amount=middle, name=wording.name_within(trial, code))
        )
    return say(
        "{measure}, middle class: {averages}",
        measure=score.measure.label,
        averages=numbers.listed(tuple(parts)),
    )


# ---- changes -------------------------------------------------------------------------------------


def of_changes(trial: Trial, results: Results, keys: Sequence[str]) -> str:
    """Return what the trial found in several measures; short where these or treatments are many."""
    compared = _compared(results, keys)
    if not compared:
        return ""
    if len(compared) > MOST_MEASURES or len(trial.treatments) > MOST_NAMED:
        reference = wording.name_within(trial, trial.reference)
        return say("Every measure beside {reference}", reference=reference)
    treatment, _ = compared[0].comparisons[0]
    labels: dict[ConclusionCode, list[str]] = {}
    for result in compared:
        code = _code(results, result.measure.key, treatment)
        if code is not None:
            labels.setdefault(code, []).append(wording.inside(terms.label(result.measure)))
    parts: list[str] = []
    for code, message in OF_MEASURES.items():
        if code in labels:
            parts.append(say(message, measures=numbers.listed(tuple(labels[code]))))
    name = wording.name_of(trial, treatment)
    return say("{name}: {findings}", name=name, findings="; ".join(parts))


def _compared(results: Results, keys: Sequence[str]) -> list[MeasureResult]:
    """Return those of some measures that the trial compares."""
    compared: list[MeasureResult] = []
    for key in keys:
        result = wording.result_of(results, key)
        if result is not None and result.comparisons:
            compared.append(result)
    return compared


def of_factors(label: str, factors: Sequence[FactorOfRatio], *, is_clear: bool) -> str:
    """Return which factor of a ratio differs most, where the ratio is clearly more or less."""
    if not is_clear:
        return say("{measure}: no clear difference to explain", measure=label)
    largest = max(
        factors, key=lambda one: abs(log(one.ratio)) if one.ratio and 0 < one.ratio < inf else 0.0
    )
    factor = wording.inside(terms.factor(largest.factor))
    return say("{measure}: what changed most is {factor}", measure=label, factor=factor)


# ---- costs ---------------------------------------------------------------------------------------


def of_prices(trial: Trial, costs: Sequence[Line], *, is_clear: bool) -> str:
    """Return at which price of electricity another treatment becomes the cheapest.

    Where there is no such price, the treatment that costs least at any price. Where no difference
    in cost is clear, that none is clearly cheapest.
    """
    if not is_clear:
        return say("Cost at other prices of electricity: none clearly the cheapest")
    lines = [line for line in costs if isfinite(line.start) and isfinite(line.slope)]
    if len(lines) < 2:
        return ""
    for crossing in intersections(lines):
        least = min(line.at(crossing.x) for line in lines)
        if crossing.y <= least * (1 + SAME):
            return say(
                "{one} and {other} cost the same where a kWh costs {price}",
                price=f"{numbers.three_digits(crossing.x)} {trial.currency}",
                one=_name(trial, crossing.below),
                other=_name(trial, crossing.above),
            )
    cheapest = min(lines, key=lambda line: (line.start, line.slope))
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
        "The largest part of the cost: {component}",
        component=wording.inside(max(sums, key=lambda one: sums[one])),
    )


# ---- doses ---------------------------------------------------------------------------------------


def of_trend(trial: Trial, result: MeasureResult, trends: Sequence[DoseTrend]) -> str:
    """Return where one curve turns; else what is shown along what."""
    label = terms.label(result.measure)
    messages = {
        "peak": marked("{measure}: highest near {dose}"),
        "trough": marked("{measure}: lowest near {dose}"),
    }
    first, *others = trends
    if not others and first.code in messages and first.optimum is not None:
        factor = next(one for one in trial.factors if one.name == first.factor)
        return say(messages[first.code], measure=label, dose=dose_text(factor, first.optimum))
    return say("{measure} along {factor}", measure=label, factor=first.factor)
