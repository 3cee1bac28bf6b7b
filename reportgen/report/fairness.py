"""Sections 8 to 11: what made the difference, how fair the test was, what was recorded, what was seen."""

from reportgen.model.document import Block, Facts, Paragraph, Section, Table
from reportgen.model.results import FactorOfRatio, MeasureResult, Results
from reportgen.model.trial import Observation, Trial
from reportgen.report import figures, numbers, wording

CHAIN = (
    "A ratio is taken apart into factors that multiply to it, so that more light, light better used and cheaper "
    "light are told apart. A factor above 100\u00a0% made the whole larger."
)
FAIRNESS = (
    "Each check rests on the figure that its finding names. Limits are our own where no published one was found; a "
    "caution is something to bear in mind, a problem is something that may explain the difference by itself."
)
VERDICTS = {"sound": "Sound", "caution": "Caution", "problem": "Problem", "not recorded": "Not recorded"}
REPORTING = (
    "Items of the published guidelines for reporting trials in controlled environments (Krizek, USDA-ARS 123064; "
    "Poorter et al. 2012, doi 10.1071/FP12028; Both et al. 2015, doi 10.1186/s13007-015-0083-5; ARRIVE 2.0, items 1 "
    "to 4). What is missing has a place in the workbook, which is named."
)


def factors(trial: Trial, results: Results) -> Section | None:
    """Return the chain of factors of each ratio that can be taken apart."""
    if not results.factors:
        return None
    level = numbers.percent_level(trial.confidence_level)
    rows = tuple(_factor_row(trial, results, one) for one in results.factors)
    head = ("Ratio", "Treatment", "Factor", f"% of {wording.name_of(trial, trial.reference)}")
    note = f"In brackets: {level} intervals. The factors of a ratio multiply to it."
    table = Table("factors", "Factors of each ratio", head, rows, (False, False, False, True), note)
    return Section("factors", "What made the difference", (Paragraph(CHAIN), *figures.chains(trial, results), table))


def _factor_row(trial: Trial, results: Results, one: FactorOfRatio) -> tuple[str, ...]:
    of = wording.result_of(results, one.of)
    ratio = numbers.ratio(one.ratio, one.low, one.high)
    return of.measure.label if of else one.of, wording.name_of(trial, one.treatment), one.factor, ratio


def fair(trial: Trial, results: Results) -> Section | None:
    """Return each check of a fair test with its verdict and the figure behind it."""
    if not results.fairness:
        return None
    rows = tuple((one.label, VERDICTS[one.verdict], one.finding) for one in results.fairness)
    table = Table("fairness", "Checks of a fair test", ("Check", "Verdict", "Finding"), rows, (False, False, False))
    blocks: list[Block] = [Paragraph(_counted(results)), Paragraph(FAIRNESS), table]
    if results.without_outliers:
        blocks.append(Paragraph(_second_line(trial, results.without_outliers)))
    return Section("fair", "How fair was it", tuple(blocks))


def _counted(results: Results) -> str:
    found = [one.verdict for one in results.fairness]
    said = tuple(f"{found.count(verdict)} {word.casefold()}" for verdict, word in VERDICTS.items() if verdict in found)
    return f"Of {len(found)} checks: {numbers.listed(said)}."


def _second_line(trial: Trial, result: MeasureResult) -> str:
    said = tuple(
        f"{wording.name_of(trial, code)} {numbers.ratio(one.ratio, one.ratio_low, one.ratio_high)} of "
        f"{wording.name_of(trial, trial.reference)}"
        for code, one in result.comparisons
    )
    return f"Without the plants that stand out, which no other figure leaves out, fresh weight: {'; '.join(said)}."


def reported(results: Results) -> Section | None:
    """Return the reporting checklist: what was recorded, and where the rest would go."""
    if not results.reporting:
        return None
    rows = tuple(
        (one.label, "reported" if one.reported else "missing", one.value if one.reported else one.where)
        for one in results.reporting
    )
    head = ("Item", "Recorded", "Value, or where it would go in the workbook")
    table = Table("reporting", "Reporting checklist", head, rows, (False, False, False))
    done = sum(one.reported for one in results.reporting)
    lead = Paragraph(f"{done} of {len(rows)} items are reported. {REPORTING}")
    return Section("reporting", "What was recorded", (lead, table))


def observed(trial: Trial) -> Section | None:
    """Return what was seen, by date."""
    if not trial.observations:
        return None
    ordered = sorted(trial.observations, key=lambda one: one.on)
    facts = tuple((_when_and_where(trial, one), one.text) for one in ordered)
    return Section("observations", "Observations", (Facts(facts),))


def _when_and_where(trial: Trial, one: Observation) -> str:
    treatment = wording.name_of(trial, one.treatment) if one.treatment else ""
    tray = f"{trial.unit} {one.tray}" if one.tray else ""
    return ", ".join(part for part in (numbers.day(one.on), treatment, tray) if part)
