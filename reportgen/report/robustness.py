"""How far the result carries: one main measure, many others, and what rests on a single tray."""

from typing import Final

from reportgen.language import marked, plural, say
from reportgen.model.document import Table
from reportgen.model.results import Fragile, Results
from reportgen.model.trial import Trial
from reportgen.report import numbers, ratios, scores, terms, wording

NAMED: Final = marked("The main measure, named in the workbook, is {outcome}.")
NOT_NAMED: Final = marked("The workbook names no main measure; this report takes {outcome}.")

LEFT_OUT: Final = marked("Change of {measure}, any one {unit} left out")
NOT_OF_EFFECTS: Final = marked(
    "How much the result rests on any single {unit} was not computed; the figures show each of"
    " them."
)


def secondary(trial: Trial, results: Results) -> str:
    """Return which measure leads, and how many others there are beside it."""
    outcome = _main_outcome(results)
    if not outcome:
        return ""
    is_named = trial.main_measure == results.main_measure
    lead = say(NAMED if is_named else NOT_NAMED, outcome=outcome)
    others = sum(
        conclusion.measure != results.main_measure and conclusion.code != "untestable"
        for conclusion in results.conclusions
    )
    if not others:
        return lead
    chance = numbers.percent_level(1 - trial.confidence_level)
    more = plural(
        "The report has {number} other comparison; without any real difference, up to {chance} of "
        "comparisons stand out by chance.",
        "The report has {number} other comparisons; without any real difference, up to {chance} of "
        "comparisons stand out by chance.",
        others,
        chance=chance,
    )
    return f"{lead} {more}"


def _main_outcome(results: Results) -> str:
    """Return what the main measure is called within a sentence, empty where nothing was measured."""
    main = wording.result_of(results, results.main_measure)
    if main is not None:
        return wording.outcome_of(main.measure)
    score = scores.score_of(results, results.main_measure)
    if score:
        return scores.outcome(score)
    return ""


def left_out(trial: Trial, results: Results) -> tuple[Table, ...]:
    """Return between which changes the main result of each of several treatments stays where any
    one tray is left out.
    """
    if trial.interim or len(results.fragility) < 2:
        return ()
    main = wording.result_of(results, results.fragility[0].measure)
    if main is None:
        return ()
    words = {"unit": wording.unit_of(trial), "measure": wording.inside(terms.label(main.measure))}
    rows = tuple(
        (
            wording.name_of(trial, fragility.treatment),
            ratios.signed_change(fragility.ratio_lowest),
            ratios.signed_change(fragility.ratio_highest),
        )
        for fragility in results.fragility
    )
    head = (say("Treatment"), say("Lowest change"), say("Highest change"))
    return (Table("left-out", say(LEFT_OUT, **words), head, rows, (False, True, True)),)


def turning(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return which trays change a verdict where they are left out, or that none does, treatment by
    treatment.
    """
    said = (
        ()
        if trial.interim
        else tuple(_turning(trial, fragility) for fragility in results.fragility)
    )
    return tuple(dict.fromkeys(said))


def not_computed(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return that single trays were not left out, where effects of factors or doses are what is
    judged.
    """
    if trial.interim or results.effects.of(results.main_measure) is None:
        return ()
    return (say(NOT_OF_EFFECTS, unit=wording.unit_of(trial)),)


def _turning(trial: Trial, fragility: Fragile) -> str:
    """Return which units change the verdict where they are left out, one at a time."""
    name, unit = wording.name_within(trial, fragility.treatment), wording.unit_of(trial)
    if not fragility.turning:
        return say(
            "Whichever {unit} is left out, the verdict on {name} stays the same.",
            name=name,
            unit=unit,
        )
    units = numbers.listed(fragility.turning)
    if len(fragility.turning) == 1:
        return say("Without {units} the verdict on {name} would change.", units=units, name=name)
    return say(
        "Without any one of {units} the verdict on {name} would change.", units=units, name=name
    )
