"""How far the result carries: one main measure, many others, and what rests on a single tray."""

from typing import Final

from reportgen.language import marked, plural, say
from reportgen.model.document import Block, Paragraph
from reportgen.model.results import Fragile, Results
from reportgen.model.trial import Trial
from reportgen.report import numbers, wording

ONE_IN: Final = 20  # comparisons stand out by chance at 95 %; said for that level alone
NAMED: Final = marked("The main measure, named in the workbook, is {outcome}.")
NOT_NAMED: Final = marked("The workbook names no main measure, so {outcome} leads.")


def secondary(trial: Trial, results: Results) -> str:
    """Return which measure leads, and how many others there are beside it."""
    main = wording.result_of(results, results.main_measure)
    if main is None:
        return ""
    is_named = trial.main_measure == results.main_measure
    lead = say(NAMED if is_named else NOT_NAMED, outcome=wording.outcome_of(main.measure))
    others = sum(one.measure != results.main_measure and one.code != "untestable" for one in results.conclusions)
    if not others:
        return lead
    chance = numbers.percent_level(1 - trial.confidence_level)
    more = plural(
        "The report has {number} other comparison; {chance} of such comparisons stand out by chance alone.",
        "The report has {number} other comparisons; {chance} of such comparisons stand out by chance alone.",
        others,
        chance=chance,
    )
    return f"{lead} {more}"


def fragility(trial: Trial, results: Results) -> tuple[Block, ...]:
    """Return how the main result changes where any one tray is left out."""
    return tuple(Paragraph(_fragile(trial, results, one)) for one in results.fragility)


def _fragile(trial: Trial, results: Results, one: Fragile) -> str:
    main = wording.result_of(results, one.measure)
    known = {
        "name": wording.name_of(trial, one.treatment),
        "reference": wording.name_of(trial, trial.reference),
        "outcome": wording.outcome_of(main.measure) if main else one.measure,
        "unit": wording.unit_of(trial),
        "lowest": numbers.ratio_alone(one.ratio_lowest),
        "highest": numbers.ratio_alone(one.ratio_highest),
    }
    message = marked(
        "With any one {unit} left out, {outcome} with {name} lies between {lowest} and {highest} of that with "
        "{reference}."
    )
    said = say(message, **known)
    if not one.turning:
        return f"{said} {say('What the trial says stays the same.')}"
    units = numbers.listed(one.turning)
    alone = marked("Without {units} the trial would say another thing.")
    any_of = marked("Without any one of {units} the trial would say another thing.")
    turning = say(alone if len(one.turning) == 1 else any_of, units=units)
    return f"{said} {turning}"
