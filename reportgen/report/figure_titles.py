"""What is seen in a figure, as its title: made from verdicts and values."""

from collections.abc import Mapping, Sequence
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.results import (
    Comparison,
    Conclusion,
    ConclusionCode,
    Measure,
    MeasureResult,
    Results,
    ScoreResult,
)
from reportgen.model.trial import Trial
from reportgen.report import numbers, terms
from reportgen.report.wording import UNITLESS, inside, name_of, result_of

MOST_NAMES: Final = 3  # of treatments that share a verdict; more are counted
OF_ONE: Final[Mapping[ConclusionCode, str]] = {
    "more": marked("{measure}: {change} with {name}"),
    "less": marked("{measure}: {change} with {name}"),
    "alike": marked("{measure}: about the same with {name} and {reference}"),
    "unclear": marked("{measure}: we cannot say which is higher, {name} or {reference}"),
    "untestable": marked("{measure}: {change} with {name}, which may be chance"),
    "confounded": marked("{measure}: {change} with {name}, but something else may explain it"),
}
OF_SEVERAL: Final[Mapping[ConclusionCode, str]] = {
    "more": marked("higher with {names}"),
    "less": marked("lower with {names}"),
    "alike": marked("about the same with {names}"),
    "unclear": marked("unclear with {names}"),
    "untestable": marked("not to be tested with {names}"),
    "confounded": marked("not comparable with {names}"),
}
OF_MEASURES: Final[Mapping[ConclusionCode, str]] = {
    "more": marked("{measures} higher"),
    "less": marked("{measures} lower"),
    "alike": marked("{measures} about the same"),
    "unclear": marked("{measures} unclear"),
    "untestable": marked("{measures} not to be tested"),
    "confounded": marked("{measures} not comparable"),
}
HIGHER: Final = marked("{size} higher")
LOWER: Final = marked("{size} lower")
TIMES: Final = marked("{number} times as high")
THE_SAME: Final = marked("no difference")


def of_measure(trial: Trial, results: Results, result: MeasureResult) -> str:
    """Return what the trial found in one measure; its label alone where nothing was compared."""
    judged = _judged(results, result.measure, [code for code, _ in result.comparisons])
    label = terms.label(result.measure)
    if not judged:
        return say("{measure} so far", measure=label) if trial.interim else label
    if len(judged) > 1:
        return _of_several(trial, label, judged)
    comparison = dict(result.comparisons)[judged[0].treatment]
    return _of_one(trial, label, judged[0], _change(result.measure, comparison))


def of_score(trial: Trial, results: Results, score: ScoreResult) -> str:
    """Return what the trial found in a score: which way the classes lie."""
    judged = _judged(results, score.measure, [code for code, _ in score.comparisons])
    label = terms.label(score.measure)
    if not judged:
        return label
    return _of_several(trial, label, judged)


def of_changes(trial: Trial, results: Results, keys: Sequence[str]) -> str:
    """Return what the trial found in several measures; with several treatments, in the first of them."""
    found = [result for key in keys if (result := result_of(results, key)) and result.comparisons]
    if not found:
        return ""
    if len(trial.treatments) > 2:
        return of_measure(trial, results, found[0])
    (treatment, _) = found[0].comparisons[0]
    labels: dict[ConclusionCode, list[str]] = {}
    for result in found:
        for one in _judged(results, result.measure, [treatment]):
            labels.setdefault(one.code, []).append(inside(terms.label(result.measure)))
    parts: list[str] = []
    for code, message in OF_MEASURES.items():
        if code in labels:
            parts.append(say(message, measures=numbers.listed(tuple(labels[code]))))
    said = "; ".join(parts)
    return say("{name}: {findings}", name=name_of(trial, treatment), findings=said)


def _judged(results: Results, measure: Measure, codes: Sequence[str]) -> list[Conclusion]:
    known = {(one.measure, one.treatment) for one in results.conclusions}
    return [conclusion_of(results, measure.key, code) for code in codes if (measure.key, code) in known]


def _of_one(trial: Trial, label: str, conclusion: Conclusion, change: str) -> str:
    names = {"name": name_of(trial, conclusion.treatment), "reference": name_of(trial, trial.reference)}
    return say(OF_ONE[conclusion.code], measure=label, change=change, **names)


def _of_several(trial: Trial, label: str, judged: Sequence[Conclusion]) -> str:
    names: dict[ConclusionCode, list[str]] = {}
    for one in judged:
        names.setdefault(one.code, []).append(name_of(trial, one.treatment))
    parts: list[str] = []
    for code, message in OF_SEVERAL.items():
        if code in names:
            parts.append(say(message, names=_names(names[code], len(judged))))
    return say("{measure}: {findings}", measure=label, findings="; ".join(parts))


def _names(names: Sequence[str], of: int) -> str:
    if len(names) <= MOST_NAMES:
        return numbers.listed(tuple(names))
    return say("{number} of {of} treatments", number=len(names), of=of)


def _change(measure: Measure, comparison: Comparison) -> str:
    """Return how far a treatment lies from the reference: in percent, or in the unit where a ratio has no meaning."""
    if comparison.ratio is None:
        return _difference(measure, comparison.difference)
    found = numbers.change_of(comparison.ratio, numbers.is_fine(comparison.ratio_low, comparison.ratio_high))
    if found.way == "times":
        return say(TIMES, number=found.size)
    if found.way == "same":
        return say(THE_SAME)
    return say(HIGHER if found.way == "more" else LOWER, size=found.size)


def _difference(measure: Measure, difference: float | None) -> str:
    if not difference:
        return say(THE_SAME)
    unit = language.unit(measure.unit or UNITLESS.get(measure.key, ""))
    size = f"{numbers.plain(abs(difference))} {unit}".strip()
    return say(HIGHER if difference > 0 else LOWER, size=size)
