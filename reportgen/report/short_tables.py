"""Tables of at most five lines, for what a grower reads.

The annex has every figure with its interval.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from reportgen.language import say
from reportgen.model.document import Table
from reportgen.model.results import Comparison, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import figure_texts, numbers, tables, units, wording
from reportgen.report.answer_box import verdict_in_full

Versions = Sequence[MeasureResult]  # a measure in each system of display
MOST_LINES: Final = 5
MOST_MEASURES: Final = 3  # of several treatments, a column each


def short_table(
    trial: Trial, results: Results, keys: Sequence[str], key: str, caption: str
) -> tuple[Table, ...]:
    """Return the figures of the first measures that the trial has; none where it has none of them.

    With two treatments a line is a measure, with more a treatment.
    """
    measures: list[Versions] = []
    for result in tables.measures_of(results, tuple(dict.fromkeys(keys))):
        if _is_known(result):
            measures.append(units.versions(result, units.current()))
    if not measures:
        return ()
    if len(trial.treatments) == 2:
        measures = measures[:MOST_LINES]
        table = _of_measures(trial, results, measures, key, caption)
    else:
        measures = measures[:MOST_MEASURES]
        table = _of_treatments(trial, results, measures, key, caption)
    if trial.interim:
        return (table,)
    shown = [versions[0].measure.key for versions in measures]
    return (replace(table, note=wording.doubted(trial, results, shown)),)


def _is_known(result: MeasureResult) -> bool:
    return any(estimate.value is not None for _, estimate in result.estimates)


def _of_measures(
    trial: Trial, results: Results, measures: Sequence[Versions], key: str, caption: str
) -> Table:
    codes = _reference_first(trial)
    head = [say("Measure"), *(wording.name_of(trial, code) for code in codes)]
    head += [] if trial.interim else _change_head(trial)
    rows: list[list[str]] = []
    for versions in measures:
        row = [figure_texts.label_in_units(versions), *_values(versions, codes)]
        row += [] if trial.interim else _change_cells(trial, results, versions[0], codes[1])
        rows.append(row)
    return _table(trial, key, caption, head, rows)


def _of_treatments(
    trial: Trial, results: Results, measures: Sequence[Versions], key: str, caption: str
) -> Table:
    """Return a line for each treatment: the first measure with its change, then the others."""
    first, *others = measures
    codes = _reference_first(trial)
    head = [say("Treatment"), figure_texts.label_in_units(first)]
    head += [] if trial.interim else _change_head(trial)
    head += [figure_texts.label_in_units(one) for one in others]
    rows: list[list[str]] = []
    for code in codes:
        row = [wording.name_of(trial, code), _value(first, code)]
        if not trial.interim and code == trial.reference:
            row += [say("reference"), "", ""]
        elif not trial.interim:
            row += _change_cells(trial, results, first[0], code)
        row += [_value(one, code) for one in others]
        rows.append(row)
    return _table(trial, key, caption, head, rows)


def _reference_first(trial: Trial) -> tuple[str, ...]:
    others = tuple(
        treatment.code for treatment in trial.treatments if treatment.code != trial.reference
    )
    return (trial.reference, *others)


def _values(versions: Versions, codes: Sequence[str]) -> list[str]:
    return [_value(versions, code) for code in codes]


def _value(versions: Versions, code: str) -> str:
    if code in dict(versions[0].estimates):
        return figure_texts.figure_text(versions, code)
    return numbers.not_known()


def _change_head(trial: Trial) -> list[str]:
    level = numbers.percent_level(trial.confidence_level)
    return [say("Change"), say("{level} interval", level=level), say("Verdict")]


def _change_cells(trial: Trial, results: Results, result: MeasureResult, code: str) -> list[str]:
    comparison = dict(result.comparisons).get(code, Comparison())
    change = figure_texts.signed_change(result, comparison)
    verdicts = {(verdict.measure, verdict.treatment): verdict for verdict in results.conclusions}
    verdict = verdicts.get((result.measure.key, code))
    if verdict is None:
        return [change, figure_texts.limits_of_change(result, comparison), ""]
    limits = figure_texts.limits_as_judged(trial, result, comparison, verdict.code)
    return [change, limits, verdict_in_full(verdict)]


def _table(
    trial: Trial, key: str, caption: str, head: Sequence[str], rows: Sequence[Sequence[str]]
) -> Table:
    texts = {say("Measure"), say("Treatment"), say("Verdict")}
    interval = say("{level} interval", level=numbers.percent_level(trial.confidence_level))
    numeric = tuple(title not in texts for title in head)
    limits = tuple(title == interval for title in head)
    return Table(key, caption, tuple(head), tuple(map(tuple, rows)), numeric, limits=limits)
