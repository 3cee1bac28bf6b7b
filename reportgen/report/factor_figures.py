"""The few figures of a card for a trial of factors or doses: averaged effects, or where a curve turns and ends."""

from typing import Final

from reportgen.language import marked, say
from reportgen.metrics.factor_designs import is_dose
from reportgen.metrics.factors import factor_named
from reportgen.model.document import KeyFigures
from reportgen.model.factor_results import DoseTrend, FactorAnalysis, LevelEffect
from reportgen.model.results import MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import numbers, wording
from reportgen.report.factor_answer import dose_text, level_text

MOST: Final = 3
HIGHEST: Final = marked("{factor}, highest at")
LOWEST: Final = marked("{factor}, lowest at")
COMPARED: Final = marked("{factor}: {treated}, % of {reference}")


def factor_figures(trial: Trial, results: Results, main: MeasureResult) -> KeyFigures | None:
    """Return the figures of a trial that reads as factors or as a curve; None where its treatments say more.

    Nothing that something else may explain stands in large letters.
    """
    analysis = results.effects.of(main.measure.key)
    if analysis is None:
        return None
    is_cell_by_cell = analysis.interaction is not None and analysis.interaction.matters
    if is_cell_by_cell or any(trend.code == "not_a_curve" for trend in analysis.trends):
        return None
    figures = [_of_effect(trial, effect) for effect in _averaged(trial, analysis)]
    for trend in analysis.trends:
        figures += _of_trend(trial, trend)
    return KeyFigures(wording.label_of(main), tuple(figures[:MOST]))


def _averaged(trial: Trial, analysis: FactorAnalysis) -> list[LevelEffect]:
    doses = {factor.name for factor in trial.factors if is_dose(factor)}
    shown = [one for one in analysis.effects if not one.within and one.factor not in doses]
    return [one for one in shown if one.code != "confounded"]


def _of_effect(trial: Trial, effect: LevelEffect) -> tuple[str, str]:
    factor = factor_named(trial, effect.factor)
    levels = level_text(factor, effect.level), level_text(factor, effect.reference)
    label = say(COMPARED, factor=factor.name, treated=levels[0], reference=levels[1])
    return label, numbers.ratio(effect.ratio, effect.low, effect.high)


def _of_trend(trial: Trial, trend: DoseTrend) -> list[tuple[str, str]]:
    if trend.reasons:
        return []
    factor = factor_named(trial, trend.factor)
    ends = dose_text(factor, factor.doses[-1]), dose_text(factor, factor.doses[0])
    label = say(COMPARED, factor=factor.name, treated=ends[0], reference=ends[1])
    change = label, numbers.ratio(trend.change, trend.change_low, trend.change_high)
    if trend.code not in ("peak", "trough") or trend.optimum is None:
        return [change]
    text = {"peak": HIGHEST, "trough": LOWEST}[trend.code]
    limits = [None if end is None else numbers.plain(end) for end in (trend.optimum_low, trend.optimum_high)]
    return [(say(text, factor=factor.name), f"{dose_text(factor, trend.optimum)} ({numbers.span(*limits)})"), change]
