"""The table of all comparisons.

Treatments as rows inside each measure, with figure, ratio, difference and p value.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from reportgen.language import figure, marked, say
from reportgen.metrics.factor_designs import has_doses
from reportgen.model.document import Block, Table
from reportgen.model.results import Comparison, Conclusion, Estimate, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import figure_texts, findings, numbers, ratios, tables, units, wording
from reportgen.report.answer_box import WORDS

ALIKE_BY: Final = marked("Alike by the {level} interval of the ratio: {limits}.")
NOT_TESTED: Final = marked("{reason}.")
BY_RATIO: Final = marked(
    "Judged by the interval of the ratio, which leaves out no change; that of the difference"
    " reaches over it."
)


@dataclass(frozen=True)
class _Column:
    """A column: its heading, whether it is a number, and whether it holds the limits of the one to
    its left.
    """

    head: str
    is_number: bool = True
    is_limits: bool = False


def blocks(trial: Trial, results: Results) -> tuple[Block, ...]:
    """Return every figure of every measure in one table, and the comparisons that others of it need
    beside them.
    """
    found = [
        result
        for result in results.measures
        if _is_known(result) and not wording.says_nothing(results, result)
    ]
    if not found:
        return ()
    return (
        _table(trial, results, found),
        *tables.pairs_of_doses(trial, found),
        *(() if trial.interim else tables.one_by_one(trial, found)),
    )


def _is_known(result: MeasureResult) -> bool:
    """Return whether a measure has any figure.

    What one without lacks is said where it would be used.
    """
    return any(estimate.value is not None for _, estimate in result.estimates)


def _table(trial: Trial, results: Results, measures: Sequence[MeasureResult]) -> Table:
    columns = _columns(trial)
    rows: list[tuple[str, ...]] = []
    groups: list[int] = []
    foot = tables.foot_notes(trial, measures)
    judged = _verdict_notes(trial, results, measures, len(foot.texts) + 1)
    for result in units.in_each_system(measures):
        groups.append(len(rows))
        label = foot.marked(wording.label_of(result), result.measure.key)
        rows.append((label, *("" for _ in columns[1:])))
        rows += _rows(trial, results, result, foot, judged)
    return Table(
        "comparisons",
        say("Every measure, treatment by treatment"),
        tuple(column.head for column in columns),
        tuple(rows),
        tuple(column.is_number for column in columns),
        tables.comparison_notes(trial, results, measures, (foot, judged)),
        tuple(column.is_limits for column in columns),
        tuple(groups),
    )


def _is_compared(trial: Trial) -> bool:
    """Return whether treatments stand beside the reference.

    Not in an unfinished trial, and not where doses do.
    """
    return not trial.interim and not has_doses(trial)


def _columns(trial: Trial) -> tuple[_Column, ...]:
    interval = _Column(
        say("{level} interval", level=numbers.percent_level(trial.confidence_level)), is_limits=True
    )
    figures = (
        _Column(say("Measure and treatment"), is_number=False),
        _Column(say("Figure")),
        interval,
    )
    if not _is_compared(trial):
        return figures
    reference = wording.name_of(trial, trial.reference)
    return (
        *figures,
        _Column(say("% of {reference}", reference=reference)),
        interval,
        _Column(say("Difference")),
        interval,
        _Column(say("p value")),
        _Column(say("Degrees of freedom")),
        _Column(say("Verdict"), is_number=False),
    )


def _rows(
    trial: Trial,
    results: Results,
    result: MeasureResult,
    foot: tables.FootNotes,
    judged: tables.FootNotes,
) -> Iterator[tuple[str, ...]]:
    if result.letters:
        letters = dict(result.letters.groups)
    else:
        letters = {}
    compared = dict(result.comparisons)
    for code, estimate in result.estimates:
        name = foot.marked(wording.name_of(trial, code), result.measure.key, code)
        value = f"{figure_texts.value_text(result, estimate)} {letters.get(code, '')}".strip()
        row = [name, value, _limits(result, estimate)]
        if _is_compared(trial):
            row += _comparison(compared[code]) if code in compared else ["", "", "", "", "", ""]
            row.append(_word(results, result.measure.key, code, judged))
        yield tuple(row)


def _word(results: Results, key: str, code: str, judged: tables.FootNotes) -> str:
    """Return the word of a verdict with the number of its note, empty where there is none."""
    conclusion = _conclusion(results, key, code)
    if conclusion is None:
        return ""
    return judged.marked(say(WORDS[conclusion.code]), key, code)


def _verdict_notes(
    trial: Trial, results: Results, measures: Sequence[MeasureResult], first: int
) -> tables.FootNotes:
    """Return what verdicts rest on where that is not the interval beside them; notes are numbered
    from `first`.
    """
    if not _is_compared(trial):
        return tables.FootNotes()
    texts: dict[tuple[str, str], str] = {}
    for result in measures:
        key = result.measure.key
        for code, compared in result.comparisons:
            text = _rests_on(trial, compared, _conclusion(results, key, code))
            if text:
                texts[key, code] = text
    return tables.numbered(texts, first)


def _conclusion(results: Results, key: str, code: str) -> Conclusion | None:
    """Return the verdict on a treatment in a measure, None where there is none."""
    for conclusion in results.conclusions:
        if (conclusion.measure, conclusion.treatment) == (key, code):
            return conclusion
    return None


def _rests_on(trial: Trial, compared: Comparison, conclusion: Conclusion | None) -> str:
    """Return what a verdict rests on, empty where the intervals beside it say the same."""
    if conclusion is None:
        return ""
    verdict = conclusion.code
    if verdict == "untestable":
        return say(NOT_TESTED, reason=wording.capital(findings.why_untested(conclusion.reasons)))
    if verdict == "alike" and compared.ratio is not None:
        limits = wording.interval(figure_texts.as_judged(compared, verdict))
        return say(ALIKE_BY, level=figure_texts.level_of_alike(trial), limits=limits)
    if verdict in ("more", "less") and wording.tells(compared) and _reaches_over(compared):
        return say(BY_RATIO)
    return ""


def _reaches_over(compared: Comparison) -> bool:
    """Return whether the interval of the difference holds no difference."""
    low, high = compared.difference_low, compared.difference_high
    if low is None or high is None:
        return False
    return low <= 0 <= high


def _limits(result: MeasureResult, estimate: Estimate) -> str:
    """Return the interval of a figure, empty where it has none."""
    if estimate.value is None or (estimate.low is None and estimate.high is None):
        return ""
    if result.measure.unit == "%":
        if estimate.low is None or estimate.high is None:
            return ""
        return numbers.span(numbers.share(estimate.low), numbers.share(estimate.high))
    return numbers.limits(estimate.low, estimate.high, figure_texts.decimals_in(result, estimate))


def _comparison(comparison: Comparison) -> list[str]:
    if comparison.p_adjusted is None:
        p_value = comparison.p_value
    else:
        p_value = comparison.p_adjusted
    freedom = comparison.degrees_of_freedom
    return [
        *_ratio(comparison),
        *_difference(comparison),
        "" if p_value is None else numbers.p_value(p_value),
        "" if freedom is None else figure(f"{freedom:.1f}"),
    ]


def _ratio(comparison: Comparison) -> tuple[str, str]:
    """Return a ratio in percent and its interval; a measure whose zero is a convention has none."""
    if comparison.ratio is None:
        return ("", "")
    value = ratios.ratio_value(comparison.ratio, comparison.ratio_low, comparison.ratio_high)
    if comparison.ratio_low is None and comparison.ratio_high is None:
        return (value, "")
    return (value, ratios.ratio_reach(comparison.ratio_low, comparison.ratio_high))


def _difference(comparison: Comparison) -> tuple[str, str]:
    if comparison.difference is None:
        return ("", "")
    low, high = comparison.difference_low, comparison.difference_high
    decimals = numbers.decimals_of(comparison.difference, low, high)
    value = numbers.fixed(comparison.difference, decimals)
    if low is None and high is None:
        return (value, "")
    return (value, numbers.limits(low, high, decimals))
