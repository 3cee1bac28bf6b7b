"""The section on factors and doses.

What they did to the main measure, as a sentence, a figure and a table.
"""

from collections.abc import Sequence
from typing import Final

from reportgen.language import figure, marked, say
from reportgen.metrics.factor_designs import FactorDesign, factor_design
from reportgen.metrics.factors import factor_named
from reportgen.model.document import Block, Bullets, Paragraph, Section, Subheading, Table
from reportgen.model.factor_results import FactorAnalysis, LevelEffect
from reportgen.model.message import Notes
from reportgen.model.results import MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import (
    answer_sentence,
    figures,
    messages,
    numbers,
    ratios,
    terms,
    wording,
)
from reportgen.report.dose_tables import freedom_text, pairs_of_doses, trend_tests
from reportgen.report.factor_answer import (
    interaction_sentence,
    interaction_test,
    one_plot_sentence,
    sentences,
)
from reportgen.report.levels import level_text, other_factor
from reportgen.report.trend_answer import trend_sentence

AS_THEY_ARE: Final = marked(
    "The factors were not analysed; each treatment is compared with the reference as it is."
)
NOT_FOR_MAIN: Final = marked(
    "Effects of factors are ratios that rest on the variation between {units}. For {outcome} there"
    " are none, so its treatments are compared as they are."
)
NO_AVERAGES: Final = marked(
    "Averages over one factor would hide this, so effects are shown at each level of the other"
    " factor by itself."
)
TOGETHER: Final = marked(
    "These {level} intervals and p values hold for all rows of the table together."
)
PLOTS: Final = marked(
    "{main} was given to whole main plots and {sub} within them, so effects of {main} are judged by"
    " how main plots differ and those of {sub} by how {units} within a main plot differ."
)
FITTED: Final = marked(
    "The curve is fitted on the log scale, as all ratios of this report are; its error is how"
    " {units} of one dose differ. A parabola is taken where it fits better than a straight line (p"
    " below {alpha})."
)
NO_LETTERS: Final = marked(
    "Doses are points of one curve, so there are no letters; Methods and data compares each dose"
    " with the reference."
)


def section(trial: Trial, results: Results) -> Section | None:
    """Return what the factors did, or why that is not analysed; None for a trial without factors."""
    effects = results.effects
    if len(trial.factors) > 1:
        title = say("Factors")
    else:
        title = say("Dose")
    if effects.notes:
        return Section("effects", title, (Paragraph(_unanalysed(trial, effects.notes)),))
    main = wording.result_of(results, results.main_measure)
    if main is None or not effects.analyses:
        return None
    analysis = effects.of(results.main_measure)
    if analysis is None:
        said = Paragraph(_without_main(trial, results, main))
        return Section("effects", title, (said, *_other_measures(trial, results)))
    blocks: list[Block] = []
    told = frozenset(sentences(trial, results))
    if analysis.interaction is not None:
        blocks += _of_two(trial, main, analysis, answer_sentence.outcome(results, main), told)
    blocks += _along_doses(trial, results, main, analysis, told)
    blocks += _other_measures(trial, results)
    return Section("effects", title, tuple(blocks))


def _without_main(trial: Trial, results: Results, main: MeasureResult) -> str:
    """Return that the main measure has no analysis.

    A tray at zero, no spread, a share, one figure a treatment.
    """
    said = say(
        NOT_FOR_MAIN, outcome=wording.outcome_of(main.measure), units=wording.unit_of(trial, 2)
    )
    for analysis in results.effects.analyses:
        if analysis.measure == main.measure.key and analysis.notes:
            return f"{said} {wording.capital(messages.clauses(trial, analysis.notes))}."
    return said


def _unanalysed(trial: Trial, notes: Notes) -> str:
    reasons = wording.capital(messages.clauses(trial, notes)).rstrip(".")
    return f"{reasons}. {say(AS_THEY_ARE)}"


# ---- two factors ---------------------------------------------------------------------------------


def _of_two(
    trial: Trial, main: MeasureResult, analysis: FactorAnalysis, outcome: str, told: frozenset[str]
) -> list[Block]:
    """Return what two factors did; sentences that the answer `told` are not repeated."""
    assert analysis.interaction is not None
    limit = one_plot_sentence(trial, analysis, outcome)
    said = [text for text in (interaction_sentence(trial, analysis), *limit) if text not in told]
    said.append(interaction_test(trial, analysis.interaction))
    if analysis.interaction.matters:
        said.append(say(NO_AVERAGES))
    blocks: list[Block] = [Paragraph(" ".join(said))] if said else []
    blocks += figures.interaction(trial, main)
    blocks.append(_effects(trial, main, analysis))
    if any(method.code == "split_plot_model" for method in analysis.methods):
        blocks.append(Paragraph(_main_plots(trial)))
    return blocks


def _main_plots(trial: Trial) -> str:
    design = factor_design(trial)
    assert isinstance(design, FactorDesign)
    assert design.main is not None
    main, sub = trial.factors[design.main], trial.factors[1 - design.main]
    return say(PLOTS, main=main.name, sub=sub.name, units=wording.unit_of(trial, 2))


def _effects(trial: Trial, main: MeasureResult, analysis: FactorAnalysis) -> Table:
    """Return the table of effects on the main measure.

    Averaged ones, or those at each level of the other factor.
    """
    assert analysis.interaction is not None
    is_single = analysis.interaction.matters
    shown = [effect for effect in analysis.effects if bool(effect.within) == is_single]
    level = numbers.percent_level(trial.confidence_level)
    head = (
        say("Factor"),
        say("Compared"),
        say("At"),
        say("Ratio ({level} interval)", level=level),
        say("p value"),
        say("Degrees of freedom"),
    )
    rows = tuple(_effect_row(trial, one) for one in shown)
    caption = say(
        "Effects of the factors on {measure}", measure=wording.inside(terms.label(main.measure))
    )
    return Table(
        "effects",
        caption,
        head,
        rows,
        (False, False, False, True, True, True),
        say(TOGETHER, level=level),
    )


def _effect_row(trial: Trial, effect: LevelEffect) -> tuple[str, ...]:
    factor = factor_named(trial, effect.factor)
    other = other_factor(trial, factor)
    levels = level_text(factor, effect.level), level_text(factor, effect.reference)
    at = say("average over {other}", other=other.name)
    if effect.within:
        at = f"{other.name} {level_text(other, effect.within)}"
    return (
        factor.name,
        say("{treated} in percent of {reference}", treated=levels[0], reference=levels[1]),
        at,
        ratios.ratio(effect.ratio, effect.low, effect.high),
        numbers.p_value(effect.p_adjusted),
        freedom_text(effect.degrees_of_freedom),
    )


# ---- doses ---------------------------------------------------------------------------------------


def _along_doses(
    trial: Trial,
    results: Results,
    main: MeasureResult,
    analysis: FactorAnalysis,
    told: frozenset[str],
) -> list[Block]:
    blocks: list[Block] = []
    outcome = answer_sentence.outcome(results, main)
    for factor in trial.factors:
        trends = [trend for trend in analysis.trends if trend.factor == factor.name]
        if not trends:
            continue
        if len(trial.factors) > 1:
            blocks.append(Subheading(say("Along {factor}", factor=factor.name)))
        said = tuple(trend_sentence(trial, main, trend, outcome) for trend in trends)
        blocks += [Paragraph(text) for text in said if text not in told]
        blocks += figures.response(trial, main, trends)
        blocks.append(trend_tests(trial, main, factor, trends))
        blocks += pairs_of_doses(trial, main, factor, trends)
    if blocks:
        alpha = figure(f"{1 - trial.confidence_level:.3g}")
        fitted = say(FITTED, units=wording.unit_of(trial, 2), alpha=alpha)
        blocks.append(Paragraph(f"{fitted} {say(NO_LETTERS)}"))
    return blocks


# ---- all other measures --------------------------------------------------------------------------


def _other_measures(trial: Trial, results: Results) -> list[Block]:
    """Return a table of what the factors did to the measures beside the main one."""
    others = [
        analysis
        for analysis in results.effects.analyses
        if analysis.measure != results.main_measure and not analysis.notes
    ]
    if not others:
        return []
    if len(trial.factors) > 1:
        return [_tests_table(trial, results, others)]
    return [_doses_list(trial, results, others)]


def _tests_table(trial: Trial, results: Results, others: Sequence[FactorAnalysis]) -> Table:
    names = [factor.name for factor in trial.factors]
    head = (
        say("Measure"),
        *(say("{factor}: p value", factor=name) for name in names),
        say("Interaction: p value"),
    )
    rows: list[tuple[str, ...]] = []
    for analysis in others:
        p_values = dict.fromkeys(names, numbers.not_known())
        for name, test in analysis.tests:
            p_values[name] = numbers.p_value(test.p_value)
        assert analysis.interaction is not None
        interaction = numbers.p_value(analysis.interaction.test.p_value)
        rows.append((_label(results, analysis), *p_values.values(), interaction))
    note = say(
        "Each p value is for one test by itself. Where that of the interaction is small, compare"
        " single combinations."
    )
    caption = say("What the factors did to other measures")
    return Table("effects-on-others", caption, head, tuple(rows), (False, True, True, True), note)


def _label(results: Results, analysis: FactorAnalysis) -> str:
    result = wording.result_of(results, analysis.measure)
    if result:
        return wording.label_of(result)
    return analysis.measure


def _doses_list(trial: Trial, results: Results, others: Sequence[FactorAnalysis]) -> Bullets:
    said = []
    for one in others:
        result = wording.result_of(results, one.measure)
        if result is None:
            continue
        outcome = wording.outcome_of(result.measure)
        said += [trend_sentence(trial, result, trend, outcome) for trend in one.trends]
    return Bullets(tuple(said), say("Other measures along the doses, each by itself:"))
