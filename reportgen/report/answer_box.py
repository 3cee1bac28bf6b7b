"""The answer box: a few measures with both figures, the change, its interval as a bar, and one
word.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.metrics.basis import on_each_basis
from reportgen.metrics.factors import factor_named
from reportgen.metrics.verdicts import YIELDS, conclusion_of
from reportgen.model.document import AnswerBox, AnswerRow, Change
from reportgen.model.factor_results import FactorAnalysis, LevelEffect
from reportgen.model.results import Comparison, Conclusion, MeasureResult, Results, ScoreResult
from reportgen.model.trial import Trial
from reportgen.report import (
    bar_scale,
    figure_texts,
    findings,
    numbers,
    ratios,
    scores,
    terms,
    units,
    wording,
)
from reportgen.report.levels import level_text, other_factor

MOST_ROWS: Final = 4
# What the rows after the main measure are of: the first of each group that the trial compares.
WATER: Final = (*on_each_basis("water_per_gram"), "water_use")
ELECTRICITY: Final = (*on_each_basis("energy_per_kg"), "energy_use")
COST: Final = on_each_basis("running_cost_per_gram", "electricity_cost_per_gram")
GROUPS: Final = (YIELDS, WATER, COST, ELECTRICITY)  # the last goes first where there is no room
SHOWN_IN_ORDER: Final = (YIELDS, WATER, ELECTRICITY, COST)
WORDS: Final[Mapping[str, str]] = {
    "more": marked("more"),
    "less": marked("less"),
    "alike": marked("alike"),
    "unclear": marked("unclear"),
    "untestable": marked("not tested"),
    "confounded": marked("not comparable"),
}
NOTE: Final = marked(
    "Dot: what was measured. Bar: where the true change probably lies ({level} interval). Upright"
    " line: no change."
)
FROM_CLASS: Final = marked("% of plants: {class_}")
REFERENCE_LEVEL: Final = marked("Reference level")
NOTE_ALIKE: Final = marked(
    "Alike: the bar, a {level} interval there, lies within the {margin} that the grower said"
    " matters."
)
IN_FULL: Final = marked("{reason}.")
LEVEL_FIGURE: Final = marked("{level}: {figure}")
AGAINST_FIGURE: Final = marked("{figure} against {own}")
WITHIN: Final = marked("{level} ({other} {at})")


@dataclass(frozen=True)
class _Ratio:
    """A change as a ratio with its limits, each None where it is not known."""

    value: float
    low: float | None
    high: float | None


@dataclass(frozen=True)
class _Cell:
    """A change without its bar, which waits for the scale of all rows.

    `ratio` is None where it has no place on it.
    """

    change: Change
    ratio: _Ratio | None = None


@dataclass(frozen=True)
class _Row:
    """A row of the box whose bars are not drawn yet."""

    measure: str
    unit: str
    reference: str
    cells: tuple[_Cell, ...]


def answer_box(trial: Trial, results: Results) -> AnswerBox:
    """Return the answer in at most four rows; without rows where nothing was compared."""
    reference = wording.name_of(trial, trial.reference)
    if trial.interim:
        return AnswerBox(reference, ())
    rows = _rows(trial, results)
    if not rows:
        return AnswerBox(reference, ())
    cells = list(chain.from_iterable(row.cells for row in rows))
    if not any(cell.change.figure for cell in cells):
        reference = say(REFERENCE_LEVEL)  # each factor has its own
    bounds: list[float | None] = []
    for cell in cells:
        if cell.ratio is not None:
            bounds += [cell.ratio.value, cell.ratio.low, cell.ratio.high]
    scale = bar_scale.covering(bounds)
    drawn = tuple(_drawn(row, scale) for row in rows)
    untested = _untested(trial, results, drawn)
    if not bounds:
        return AnswerBox(reference, drawn, note=" ".join(untested))
    notes = [*untested]
    if any(_has_limits(cell) for cell in cells):
        notes = [*_notes(trial, drawn), *untested]
    return AnswerBox(reference, drawn, scale.ticks(), " ".join(notes))


def _has_limits(cell: _Cell) -> bool:
    """Return whether the bar of a change has an end, so that there is a bar to explain."""
    if cell.ratio is None:
        return False
    return cell.ratio.low is not None or cell.ratio.high is not None


def _notes(trial: Trial, rows: Sequence[AnswerRow]) -> Iterator[str]:
    """Yield how to read the bars, and what alike means where a row says so."""
    yield say(NOTE, level=numbers.percent_level(trial.confidence_level))
    changes = chain.from_iterable(row.changes for row in rows)
    if any(change.verdict == "alike" for change in changes):
        margin = ratios.margin(trial.margin or 0.0)
        yield say(NOTE_ALIKE, level=figure_texts.level_of_alike(trial), margin=margin)


def _untested(trial: Trial, results: Results, rows: Sequence[AnswerRow]) -> tuple[str, ...]:
    """Return why what rows say is not tested was not, each reason once."""
    if not any(change.verdict == "untestable" for row in rows for change in row.changes):
        return ()
    keys = _keys(trial, results)
    reasons: dict[str, None] = {}
    for one in results.conclusions:
        if one.code == "untestable" and one.measure in keys:
            reasons[findings.why_untested(one.reasons)] = None
    return tuple(say(IN_FULL, reason=wording.capital(reason)) for reason in reasons)


def verdict_in_full(conclusion: Conclusion) -> str:
    """Return the word of a verdict; the reason with it where nothing can be tested."""
    if conclusion.code == "untestable":
        return findings.why_untested(conclusion.reasons)
    return say(WORDS[conclusion.code])


def _drawn(row: _Row, scale: bar_scale.BarScale) -> AnswerRow:
    changes: list[Change] = []
    for cell in row.cells:
        if cell.ratio:
            bar = scale.bar(cell.ratio.value, cell.ratio.low, cell.ratio.high)
        else:
            bar = None
        changes.append(replace(cell.change, bar=bar))
    return AnswerRow(row.measure, row.unit, row.reference, tuple(changes))


def _rows(trial: Trial, results: Results) -> tuple[_Row, ...]:
    score = scores.score_of(results, results.main_measure)
    if score is not None and score.comparisons:
        return (_score_row(trial, results, score),)
    analysis = results.effects.of(results.main_measure)
    if analysis is not None:
        rows = _effect_rows(trial, results, analysis)
        if rows:
            return rows
    measures = [_measure_row(trial, results, key) for key in _keys(trial, results)]
    return tuple(chain.from_iterable(measures))


def _keys(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return the measures of the rows: the main one, of two treatments also what follows it."""
    main = results.main_measure
    if len(trial.treatments) > 2:
        return (main,)
    others: list[str] = []
    for group in GROUPS:
        key = first_compared(results, group)
        is_second_yield = main in YIELDS and key in YIELDS
        if key and key != main and not is_second_yield:
            others.append(key)
    shown = others[: MOST_ROWS - 1]
    order = list(chain.from_iterable(SHOWN_IN_ORDER))
    return (main, *sorted(shown, key=order.index))


def first_compared(results: Results, keys: Sequence[str]) -> str:
    """Return the first of some measures that the trial compares, empty where it compares none."""
    compared = {conclusion.measure for conclusion in results.conclusions}
    return next((key for key in keys if key in compared), "")


# ---- measures ------------------------------------------------------------------------------------


def _measure_row(trial: Trial, results: Results, key: str) -> tuple[_Row, ...]:
    result = wording.result_of(results, key)
    if result is None or not result.comparisons:
        return ()
    versions = units.versions(result, units.current())
    shown = versions[0]
    cells: list[_Cell] = []
    for code, comparison in shown.comparisons:
        conclusion = conclusion_of(results, key, code)
        judged = figure_texts.as_judged(comparison, conclusion.code)
        change = Change(
            wording.name_of(trial, code),
            figure_texts.figure_text(versions, code),
            figure_texts.signed_change(shown, comparison),
            figure_texts.limits_as_judged(trial, shown, comparison, conclusion.code),
            conclusion.code,
            say(WORDS[conclusion.code]),
        )
        cells.append(_Cell(change, _ratio(judged)))
    reference = figure_texts.figure_text(versions, trial.reference)
    unit = figure_texts.unit_text(versions)
    return (_Row(terms.label(shown.measure), unit, reference, tuple(cells)),)


def _ratio(comparison: Comparison) -> _Ratio | None:
    if comparison.ratio is None:
        return None
    return _Ratio(comparison.ratio, comparison.ratio_low, comparison.ratio_high)


# ---- scores --------------------------------------------------------------------------------------


def _score_row(trial: Trial, results: Results, score: ScoreResult) -> _Row:
    """Return the share of plants from one class on.

    Scores have an order and no distances, so there is no bar.
    """
    counted = {counts.treatment: counts for counts in score.treatments}
    shares = {code: scores.share_of(one.share_from(score.cut)) for code, one in counted.items()}
    cells: list[_Cell] = []
    for code, _ in score.comparisons:
        verdict = conclusion_of(results, score.measure.key, code).code
        cells.append(
            _Cell(
                Change(
                    wording.name_of(trial, code), shares[code], "", "", verdict, say(WORDS[verdict])
                )
            )
        )
    of_class = say(FROM_CLASS, class_=scores.from_class(score))
    return _Row(score.measure.label, of_class, shares[trial.reference], tuple(cells))


# ---- factors -------------------------------------------------------------------------------------


def _effect_rows(trial: Trial, results: Results, analysis: FactorAnalysis) -> tuple[_Row, ...]:
    """Return a row for each factor of two: its levels averaged over the other, or within it."""
    if analysis.interaction is None:
        return ()
    main = wording.result_of(results, analysis.measure)
    if main:
        label = terms.label(main.measure)
    else:
        label = analysis.measure
    effects: dict[str, list[LevelEffect]] = {}
    for effect in analysis.effects:
        if bool(effect.within) == analysis.interaction.matters:
            effects.setdefault(effect.factor, []).append(effect)
    rows: list[_Row] = []
    for factor in trial.factors:
        if factor.name in effects:
            own = effects[factor.name]
            cells = tuple(_effect_cell(trial, main, effect) for effect in own)
            reference = level_text(factor, own[0].reference)
            figure = level_figure(main, own[0].reference_figure)
            if figure and not own[0].within:
                reference = say(LEVEL_FIGURE, level=reference, figure=figure)
            rows.append(_Row(factor.name, label, reference, cells))
    return tuple(rows)


def level_figure(main: MeasureResult | None, figure: float | None) -> str:
    """Return the figure of a level with its unit, empty where there is none."""
    if main is None or figure is None:
        return ""
    sizes = units.amounts(figure, main.measure.unit)
    texts: list[str] = []
    for size, unit in sizes:
        shown = language.unit(unit.removesuffix("/plant"))
        texts.append(f"{numbers.plain(size)} {shown}".strip())
    return units.with_other(*texts)


def _effect_cell(trial: Trial, main: MeasureResult | None, effect: LevelEffect) -> _Cell:
    factor = factor_named(trial, effect.factor)
    level = level_text(factor, effect.level)
    figure = level_figure(main, effect.figure)
    if effect.within:
        other = other_factor(trial, factor)
        level = say(WITHIN, level=level, other=other.name, at=level_text(other, effect.within))
        own = level_figure(main, effect.reference_figure)
        if figure:
            figure = say(AGAINST_FIGURE, figure=figure, own=own)
    if figure:
        level = say(LEVEL_FIGURE, level=level, figure=figure)
    compared = Comparison(effect.ratio, effect.low, effect.high)
    change = Change(
        level,
        "",
        ratios.signed_change(effect.ratio, effect.low, effect.high),
        wording.interval(compared),
        effect.code,
        say(WORDS[effect.code]),
    )
    return _Cell(change, _ratio(compared))
