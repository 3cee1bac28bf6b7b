"""Tables of at most five lines, for what a grower reads; the annex has every figure with its
interval.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from reportgen.language import say
from reportgen.model.document import Table
from reportgen.model.results import Comparison, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import numbers, tables, units, wording
from reportgen.report.answer_box import WORDS

MOST_LINES: Final = 5
MOST_MEASURES: Final = 3  # of several treatments, a column each


def short_table(
    trial: Trial, results: Results, keys: Sequence[str], key: str, caption: str
) -> tuple[Table, ...]:
    """Return the figures of the first measures that the trial has; none where it has none of them.

    With two treatments a line is a measure, with more a treatment.
    """
    known = [
        one for one in tables.measures_of(results, tuple(dict.fromkeys(keys))) if _is_known(one)
    ]
    found = units.displayed(known, units.current())
    if not found:
        return ()
    if len(trial.treatments) == 2:
        shown = found[:MOST_LINES]
        table = _of_measures(trial, results, shown, key, caption)
    else:
        shown = found[:MOST_MEASURES]
        table = _of_treatments(trial, results, shown, key, caption)
    if trial.interim:
        return (table,)
    return (
        replace(
            table, note=wording.doubted(trial, results, [result.measure.key for result in shown])
        ),
    )


def _is_known(result: MeasureResult) -> bool:
    return any(estimate.value is not None for _, estimate in result.estimates)


def _of_measures(
    trial: Trial, results: Results, found: Sequence[MeasureResult], key: str, caption: str
) -> Table:
    codes = _reference_first(trial)
    head = [say("Measure"), *(wording.name_of(trial, code) for code in codes)]
    head += [] if trial.interim else _change_head(trial)
    rows: list[list[str]] = []
    for result in found:
        row = [wording.label_of(result), *_values(result, codes)]
        row += [] if trial.interim else _change_cells(results, result, codes[1])
        rows.append(row)
    return _table(trial, key, caption, head, rows)


def _of_treatments(
    trial: Trial, results: Results, found: Sequence[MeasureResult], key: str, caption: str
) -> Table:
    """Return a line for each treatment: the first measure with its change, then the others."""
    first, *others = found
    codes = _reference_first(trial)
    head = [say("Treatment"), wording.label_of(first)]
    head += [] if trial.interim else _change_head(trial)
    head += [wording.label_of(result) for result in others]
    rows: list[list[str]] = []
    for code in codes:
        row = [wording.name_of(trial, code), *_values(first, (code,))]
        if not trial.interim and code == trial.reference:
            row += [say("reference"), "", ""]
        elif not trial.interim:
            row += _change_cells(results, first, code)
        row += [value for result in others for value in _values(result, (code,))]
        rows.append(row)
    return _table(trial, key, caption, head, rows)


def _reference_first(trial: Trial) -> tuple[str, ...]:
    others = tuple(one.code for one in trial.treatments if one.code != trial.reference)
    return (trial.reference, *others)


def _values(result: MeasureResult, codes: Sequence[str]) -> list[str]:
    estimates = dict(result.estimates)
    return [
        wording.value_text(result, estimates[code]) if code in estimates else numbers.not_known()
        for code in codes
    ]


def _change_head(trial: Trial) -> list[str]:
    level = numbers.percent_level(trial.confidence_level)
    return [say("Change"), say("{level} interval", level=level), say("Verdict")]


def _change_cells(results: Results, result: MeasureResult, code: str) -> list[str]:
    comparison = dict(result.comparisons).get(code, Comparison())
    change = wording.signed_change(result, comparison)
    verdicts = {(one.measure, one.treatment): one.code for one in results.conclusions}
    verdict = verdicts.get((result.measure.key, code))
    limits = wording.limits_of_change(result, wording.as_judged(comparison, verdict))
    return [change, limits, say(WORDS[verdict]) if verdict else ""]


def _table(
    trial: Trial, key: str, caption: str, head: Sequence[str], rows: Sequence[Sequence[str]]
) -> Table:
    texts = {say("Measure"), say("Treatment"), say("Verdict")}
    interval = say("{level} interval", level=numbers.percent_level(trial.confidence_level))
    numeric = tuple(title not in texts for title in head)
    limits = tuple(title == interval for title in head)
    return Table(key, caption, tuple(head), tuple(map(tuple, rows)), numeric, limits=limits)
