"""Sections 8 to 11: what made the difference, how fair the test was, what was recorded, what was seen."""

from itertools import groupby

from reportgen.language import marked, marked_plural, percent, plural, say
from reportgen.model.document import Block, Facts, Paragraph, Photo, Section, Table
from reportgen.model.message import Amount, Value, message
from reportgen.model.results import FactorOfRatio, MeasureResult, ReportedItem, Results
from reportgen.model.trial import Observation, PhotoFile, Trial
from reportgen.report import figures, messages, numbers, robustness, terms, wording

CHAIN = marked(
    "A ratio is taken apart into factors that multiply to it, so that more light, light better used and cheaper "
    "light are told apart. A factor above {whole} made the whole larger."
)
FAIRNESS = marked(
    "Each check rests on the figure that its finding names. Limits are our own where no published one was found; a "
    "caution is something to bear in mind, a problem is something that may explain the difference by itself."
)
VERDICTS = {
    "sound": marked("Sound"),
    "caution": marked("Caution"),
    "problem": marked("Problem"),
    "not recorded": marked("Not recorded"),
}
COUNTED = {
    "sound": marked_plural("{number} sound", "{number} sound"),
    "caution": marked_plural("{number} caution", "{number} caution"),
    "problem": marked_plural("{number} problem", "{number} problem"),
    "not recorded": marked_plural("{number} not recorded", "{number} not recorded"),
}
REPORTING = marked(
    "Items of the published guidelines for reporting trials in controlled environments (Krizek, USDA-ARS 123064; "
    "Poorter et al. 2012, doi 10.1071/FP12028; Both et al. 2015, doi 10.1186/s13007-015-0083-5; ARRIVE 2.0, items 1 "
    "to 4). What is missing has a place in the workbook, which is named."
)


MOST_MISSING = 5  # trays or treatments that an item is missing for, named one by one; ours


def factors(trial: Trial, results: Results) -> Section | None:
    """Return the chain of factors of each ratio that can be taken apart."""
    if not results.factors:
        return None
    level = numbers.percent_level(trial.confidence_level)
    rows = tuple(_factor_row(trial, results, one) for one in results.factors)
    reference = wording.name_of(trial, trial.reference)
    head = (say("Ratio"), say("Treatment"), say("Factor"), say("% of {reference}", reference=reference))
    note = say(
        "In brackets: {level} intervals, from the variation between {units} alone. The factors of a "
        "ratio multiply to it.",
        level=level,
        units=wording.unit_of(trial, 2),
    )
    table = Table("factors", say("Factors of each ratio"), head, rows, (False, False, False, True), note)
    chain = Paragraph(say(CHAIN, whole=percent("100")))
    return Section("factors", say("What made the difference"), (chain, *figures.chains(trial, results), table))


def _factor_row(trial: Trial, results: Results, one: FactorOfRatio) -> tuple[str, ...]:
    of = wording.result_of(results, one.of)
    ratio = numbers.ratio(one.ratio, one.low, one.high)
    return (
        terms.label(of.measure) if of else one.of,
        wording.name_of(trial, one.treatment),
        terms.factor(one.factor),
        ratio,
    )


def fair(trial: Trial, results: Results) -> Section | None:
    """Return each check of a fair test with its verdict and the figure behind it."""
    if not results.fairness:
        return None
    rows = tuple(
        (say(terms.CHECKS[one.check]), say(VERDICTS[one.verdict]), messages.texts(trial, one.findings))
        for one in results.fairness
    )
    head = (say("Check"), say("Verdict"), say("Finding"))
    table = Table("fairness", say("Checks of a fair test"), head, rows, (False, False, False))
    blocks: list[Block] = [Paragraph(_counted(results)), Paragraph(say(FAIRNESS)), table]
    blocks += robustness.fragility(trial, results)
    if results.without_outliers:
        blocks.append(Paragraph(_second_line(trial, results.without_outliers)))
    return Section("fair", say("How fair was it"), tuple(blocks))


def _counted(results: Results) -> str:
    found = [one.verdict for one in results.fairness]
    said = tuple(plural(*pair, found.count(verdict)) for verdict, pair in COUNTED.items() if verdict in found)
    return say("Of {number} checks: {verdicts}.", number=len(found), verdicts=numbers.listed(said))


def _second_line(trial: Trial, result: MeasureResult) -> str:
    said = tuple(
        say(
            "{name} {ratio} of {reference}",
            name=wording.name_of(trial, code),
            ratio=numbers.ratio(one.ratio, one.ratio_low, one.ratio_high),
            reference=wording.name_of(trial, trial.reference),
        )
        for code, one in result.comparisons
    )
    message = marked("Without the plants that stand out, which no other figure leaves out, {measure}: {ratios}.")
    measure = wording.inside(terms.label(result.measure))
    return say(message, measure=measure, ratios="; ".join(said))


def reported(trial: Trial, results: Results) -> Section | None:
    """Return the reporting checklist: what was recorded, and where the rest would go."""
    if not results.reporting:
        return None
    rows = tuple(
        (say(terms.ITEMS[one.item]), say("reported") if one.reported else say("missing"), _value_or_place(trial, one))
        for one in results.reporting
    )
    head = (say("Item"), say("Recorded"), say("Value, or where it would go in the workbook"))
    table = Table("reporting", say("Reporting checklist"), head, rows, (False, False, False))
    done = sum(one.reported for one in results.reporting)
    counted = say("{number} of {total} items are reported.", number=done, total=len(rows))
    lead = Paragraph(f"{counted} {say(REPORTING)}")
    return Section("reporting", say("What was recorded"), (lead, table))


def _value_or_place(trial: Trial, item: ReportedItem) -> str:
    """Return what is known of an item, or where it would go in the workbook."""
    if item.reported:
        return messages.known_values(trial, item.values)
    place = say(terms.PLACES[item.item])
    if not item.values:
        return place
    missing = messages.speaker(trial).listed(_first(item.missing))
    return say("{place} (missing for {missing})", place=place, missing=missing)


def _first(missing: tuple[Value, ...]) -> tuple[Value, ...]:
    """Return the first of what is missing, as many as are named one by one, and how many more there are."""
    more = len(missing) - MOST_MISSING
    return (*missing[:MOST_MISSING], message("more", number=Amount(more))) if more > 0 else missing


def observed(trial: Trial) -> Section | None:
    """Return what was seen, by date; what was photographed stands beneath its photo."""
    if not trial.observations:
        return None
    photos = {one.name: one for one in trial.photos if one.content}
    ordered = sorted(trial.observations, key=lambda one: one.on)
    blocks: list[Block] = []
    for name, seen in groupby(ordered, key=lambda one: one.photo if one.photo in photos else ""):
        if name:
            blocks += [_photo(trial, one, photos[name]) for one in seen]
        else:
            blocks.append(Facts(tuple((_when_and_where(trial, one), one.text) for one in seen)))
    return Section("observations", say("Observations"), tuple(blocks))


def _photo(trial: Trial, one: Observation, file: PhotoFile) -> Photo:
    caption = f"{_when_and_where(trial, one)}: {one.text}"
    alternative = one.photo_description or say("A photo that nobody has described in words.")
    return Photo(file.key, caption, alternative, file.content, file.width, file.height)


def _when_and_where(trial: Trial, one: Observation) -> str:
    treatment = wording.name_of(trial, one.treatment) if one.treatment else ""
    tray = f"{wording.unit_of(trial)} {one.tray}" if one.tray else ""
    return ", ".join(part for part in (numbers.day(one.on), treatment, tray) if part)
