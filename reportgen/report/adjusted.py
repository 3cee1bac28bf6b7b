"""Yields adjusted for what trays began with, beside the unadjusted ones."""

from collections.abc import Sequence
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.model.document import Block, Notice, Paragraph, Subheading, Table
from reportgen.model.message import Message, Notes
from reportgen.model.results import AdjustedMeasure, Adjustment, Comparison, Covariate, Results
from reportgen.model.trial import Trial
from reportgen.report import messages, numbers, ratios, terms, units, wording

HEADINGS: Final[dict[Covariate, str]] = {
    "start_weight": marked("Adjusted for start weight"),
    "light_at_place": marked("Adjusted for the light at each place"),
}
AVERAGES: Final[dict[Covariate, str]] = {
    "start_weight": marked("When treatments began, plants weighed on average {averages}."),
    "light_at_place": marked("At the places of the {units} the light was on average {averages}."),
}
FOLLOWS: Final[dict[Covariate, str]] = {
    "start_weight": marked(
        "Within treatments, a {unit} whose plants began {tenth} heavier gave {change} ({outcome}; p"
        " value {p_value})."
    ),
    "light_at_place": marked(
        "Within treatments, a {unit} with {tenth} more light gave {change} ({outcome}; p value"
        " {p_value})."
    ),
}
OF: Final = marked("{figure} for {name}")
TABLE_NOTE: Final = marked(
    "Analysis of covariance of the {units}' logarithms: treatments compared at one value for all"
    " {units}. {counted} with both values; {freedom} degrees of freedom."
)
NOT_ADJUSTED: Final = marked("Nothing is adjusted for it: {reason}.")
CAUTIONS: Final = frozenset(("covariate_differs", "slopes_differ", "few_freedoms"))
STEP: Final = 1.1  # a tenth more of the covariate


def blocks(trial: Trial, results: Results) -> tuple[Block, ...]:
    """Return what is said and shown of each covariate."""
    found: list[Block] = []
    for adjustment in results.adjusted:
        found += [
            Subheading(say(HEADINGS[adjustment.covariate])),
            Paragraph(_introduction(trial, adjustment)),
        ]
        found += _cautions(trial, adjustment)
        fitted = [measure for measure in adjustment.measures if measure.comparisons]
        if fitted:
            found.append(_table(trial, results, adjustment, fitted))
    return tuple(found)


def _introduction(trial: Trial, adjustment: Adjustment) -> str:
    """Return the averages of the covariate, and how the first measure follows it or why nothing was
    adjusted.
    """
    named: list[str] = []
    for code, mean in adjustment.averages:
        size, unit = units.in_first(mean, adjustment.unit)
        figure = f"{numbers.plain(size)} {language.unit(unit)}"
        named.append(say(OF, figure=figure, name=wording.name_of(trial, code)))
    averages = say(
        AVERAGES[adjustment.covariate],
        averages=numbers.listed(tuple(named)),
        units=wording.unit_of(trial, 2),
    )
    reasons = adjustment.withheld or _reasons(adjustment)
    if reasons:
        return f"{averages} {say(NOT_ADJUSTED, reason=messages.clauses(trial, reasons))}"
    first = next((measure for measure in adjustment.measures if measure.exponent is not None), None)
    if first:
        return f"{averages} {_follows(trial, adjustment, first)}"
    return averages


def _reasons(adjustment: Adjustment) -> Notes:
    """Return why no measure could be adjusted; none where one could."""
    reasons: dict[Message, None] = {}
    for measure in adjustment.measures:
        if measure.comparisons:
            return ()
        reasons.update(dict.fromkeys(measure.notes))
    return tuple(reasons)


def _follows(trial: Trial, adjustment: Adjustment, first: AdjustedMeasure) -> str:
    change = ratios.change(STEP ** (first.exponent or 0.0), precise=True)
    outcome = wording.outcome_of(first.measure)
    return say(
        FOLLOWS[adjustment.covariate],
        unit=wording.unit_of(trial),
        tenth=language.percent("10"),
        change=change,
        outcome=outcome,
        p_value=numbers.p_value(first.exponent_p_value),
    )


def _cautions(trial: Trial, adjustment: Adjustment) -> list[Block]:
    """Return the cautions, each once."""
    cautions, _ = _cautions_and_notes(adjustment.measures)
    if cautions:
        items = tuple(_sentence(trial, caution) for caution in cautions)
        return [Notice(say("Read the adjusted figures with care"), items)]
    return []


def _cautions_and_notes(measures: Sequence[AdjustedMeasure]) -> tuple[Notes, Notes]:
    """Return the cautions and the other notes of some measures, each once."""
    cautions: dict[Message, None] = {}
    notes: dict[Message, None] = {}
    for measure in measures:
        for note in measure.notes:
            if note.code in CAUTIONS:
                cautions[note] = None
            else:
                notes[note] = None
    return tuple(cautions), tuple(notes)


def _sentence(trial: Trial, note: Message) -> str:
    return wording.capital(f"{messages.text(trial, note)}.")


def _table(
    trial: Trial, results: Results, adjustment: Adjustment, fitted: list[AdjustedMeasure]
) -> Table:
    rows: list[tuple[str, ...]] = []
    for measure in fitted:
        unadjusted = wording.result_of(results, measure.measure.key)
        if unadjusted:
            plain = dict(unadjusted.comparisons)
        else:
            plain = {}
        for code, each in measure.comparisons:
            rows.append(_row(trial, measure, code, plain.get(code, Comparison()), each))
    level = numbers.percent_level(trial.confidence_level)
    reference = wording.name_of(trial, trial.reference)
    head = (
        say("Measure"),
        say("Treatment"),
        say("Unadjusted, % of {reference} ({level} interval)", reference=reference, level=level),
        say("Adjusted, % of {reference} ({level} interval)", reference=reference, level=level),
        say("p value, adjusted"),
    )
    caption = say(HEADINGS[adjustment.covariate])
    key = f"adjusted-{adjustment.covariate.replace('_', '-')}"
    return Table(
        key, caption, head, tuple(rows), (False, False, True, True, True), _note(trial, fitted)
    )


def _row(
    trial: Trial, measure: AdjustedMeasure, code: str, plain: Comparison, adjusted: Comparison
) -> tuple[str, ...]:
    if adjusted.p_adjusted is None:
        p_value = adjusted.p_value
    else:
        p_value = adjusted.p_adjusted
    return (
        terms.label(measure.measure),
        wording.name_of(trial, code),
        ratios.ratio(plain.ratio, plain.ratio_low, plain.ratio_high),
        ratios.ratio(adjusted.ratio, adjusted.ratio_low, adjusted.ratio_high),
        numbers.p_value(p_value),
    )


def _note(trial: Trial, fitted: list[AdjustedMeasure]) -> str:
    first = fitted[0]
    lead = say(
        TABLE_NOTE,
        units=wording.unit_of(trial, 2),
        counted=wording.capital(wording.units_counted(trial, first.trays)),
        freedom=first.degrees_of_freedom,
    )
    _, notes = _cautions_and_notes(fitted)
    return " ".join((lead, *(_sentence(trial, note) for note in notes)))
