"""How fair the test was, what made the difference, what was recorded."""

from collections.abc import Sequence

from reportgen.language import marked, marked_plural, percent, plural, say
from reportgen.model.document import Aside, Block, Bullets, Paragraph, Section, Table
from reportgen.model.message import Amount, Value, message
from reportgen.model.problem import Severity
from reportgen.model.results import FactorOfRatio, MeasureResult, ReportedItem, Results, Verdict
from reportgen.model.trial import Trial
from reportgen.report import figures, messages, numbers, ratios, robustness, terms, trust, wording
from reportgen.report.short_tables import MOST_LINES

CHAIN = marked("Why? Multiply the factors: above {whole} helped, below {whole} hurt.")
FAIRNESS = marked(
    "Each check rests on the figure that its finding names. Limits are our own where no published"
    " one was found; a caution is something to bear in mind, a problem is something that may"
    " explain the difference by itself."
)
VERDICTS = {
    "sound": marked("Sound"),
    "caution": marked("Caution"),
    "problem": marked("Problem"),
    "not recorded": marked("Not recorded"),
}
WORST_FIRST = ("problem", "caution", "not recorded")
WITH_PROBLEMS = marked_plural(
    "The test was not wholly fair: {number} problem",
    "The test was not wholly fair: {number} problems",
)
WITH_CAUTIONS = marked_plural(
    "The test was fair, with {number} caution", "The test was fair, with {number} cautions"
)
NO_CAUTION = marked("The test was fair as far as it was recorded")
CAUTIONS_AS_RECORDED = marked_plural(
    "The test was fair as far as it was recorded, with {number} caution",
    "The test was fair as far as it was recorded, with {number} cautions",
)
ALL_PASSED = marked("The test was fair: every check passed")
MORE_IN_ANNEX = marked("The annex has the other checks that did not pass.")
OPEN_CAUTIONS = marked_plural(
    "The check of the workbook left {number} caution open.",
    "The check of the workbook left {number} cautions open.",
)
REPORTING = marked(
    "Items of the published guidelines for reporting trials in controlled environments (Krizek,"
    " USDA-ARS 123064; Poorter et al. 2012, doi 10.1071/FP12028; Both et al. 2015, doi"
    " 10.1186/s13007-015-0083-5; ARRIVE 2.0, items 1 to 4)."
)


MOST_MISSING = 5  # trays or treatments that an item is missing for, named one by one; ours


def factors(trial: Trial, results: Results) -> Section | None:
    """Return the chain of factors of each ratio that can be taken apart."""
    if not results.factors:
        return None
    level = numbers.percent_level(trial.confidence_level)
    rows = tuple(_factor_row(trial, results, factor) for factor in results.factors)
    reference = wording.name_of(trial, trial.reference)
    head = (
        say("Ratio"),
        say("Treatment"),
        say("Factor"),
        say("% of {reference}", reference=reference),
    )
    note = say(
        "In brackets: {level} intervals, from the variation between {units} alone. The factors of a"
        " ratio multiply to it.",
        level=level,
        units=wording.unit_of(trial, 2),
    )
    table = Table(
        "factors", say("Factors of each ratio"), head, rows, (False, False, False, True), note
    )
    chain = Paragraph(say(CHAIN, whole=percent("100")))
    return Section(
        "factors", say("What made the difference"), (chain, *figures.chains(trial, results), table)
    )


def _factor_row(trial: Trial, results: Results, factor: FactorOfRatio) -> tuple[str, ...]:
    of = wording.result_of(results, factor.of)
    ratio = ratios.ratio(factor.ratio, factor.low, factor.high)
    return (
        terms.label(of.measure) if of else factor.of,
        wording.name_of(trial, factor.treatment),
        terms.factor_in_full(factor.factor),
        ratio,
    )


def fair(trial: Trial, results: Results) -> Section | None:
    """Return whether the test was fair.

    Where trays stood, what a single tray decides, the checks that did not pass.
    """
    if not results.fairness:
        return None
    blocks: list[Block] = [*figures.layout(trial)]
    if len(results.fragility) == 1 and not trial.interim:
        blocks.append(Paragraph(_fragile(trial, results)))
    blocks += _not_passed(trial, results)
    blocks += robustness.left_out(trial, results)
    passed = tuple(
        say(terms.CHECKS[verdict.check])
        for verdict in results.fairness
        if verdict.verdict == "sound"
    )
    if passed:
        blocks.append(Aside(say("Checks that passed"), passed))
    return Section("fair", _fair_title(results), tuple(blocks), say("Was the test fair?"))


def _fragile(trial: Trial, results: Results) -> str:
    """Return how far a change moves where any one tray is left out, and which trays decide the
    verdict.
    """
    said = trust.fragile(trial, results, results.fragility[0])
    if not results.fragility[0].turning:
        return said
    return " ".join((said, *robustness.turning(trial, results)))


def _fair_title(results: Results) -> str:
    """Return how many checks of a fair test found a problem or a caution, or that all passed."""
    verdicts = [verdict.verdict for verdict in results.fairness]
    problems, cautions = verdicts.count("problem"), verdicts.count("caution")
    if problems:
        return plural(*WITH_PROBLEMS, problems)
    if cautions and "not recorded" in verdicts:
        return plural(*CAUTIONS_AS_RECORDED, cautions)
    if cautions:
        return plural(*WITH_CAUTIONS, cautions)
    if "not recorded" in verdicts:
        return say(NO_CAUTION)
    return say(ALL_PASSED)


def _not_passed(trial: Trial, results: Results) -> tuple[Table, ...]:
    """Return the checks that did not pass, problems first.

    The annex has those that find no room here.
    """
    found = [verdict for verdict in results.fairness if verdict.verdict != "sound"]
    found.sort(key=lambda one: WORST_FIRST.index(one.verdict))
    if not found:
        return ()
    caption = say("Cautions and what was not recorded")
    if found[0].verdict == "problem":
        caption = say("Problems, cautions and what was not recorded")
    if len(found) > MOST_LINES:
        note = say(MORE_IN_ANNEX)
    else:
        note = ""
    return (_checks(trial, found[:MOST_LINES], "not-passed", caption, note),)


def checks(trial: Trial, results: Results) -> Section | None:
    """Return each check of a fair test with its verdict and the figure behind it."""
    if not results.fairness:
        return None
    blocks: list[Block] = [
        Paragraph(say(FAIRNESS)),
        _checks(trial, results.fairness, "fairness", say("Checks of a fair test"), ""),
    ]
    blocks += map(Paragraph, robustness.turning(trial, results))
    blocks += map(Paragraph, robustness.not_computed(trial, results))
    if results.without_outliers:
        blocks.append(Paragraph(_second_line(trial, results.without_outliers)))
    cautions = sum(problem.severity is Severity.CAUTION for problem in trial.findings)
    if cautions:
        blocks.append(Paragraph(plural(*OPEN_CAUTIONS, cautions)))
    return Section("checks", say("Checks of a fair test"), tuple(blocks))


def _checks(trial: Trial, checks: Sequence[Verdict], key: str, caption: str, note: str) -> Table:
    rows: list[tuple[str, ...]] = []
    for check in checks:
        name = say(terms.CHECKS[check.check])
        verdict = say(VERDICTS[check.verdict])
        rows.append((name, verdict, messages.published(trial, check.findings)))
    head = (say("Check"), say("Verdict"), say("Finding"))
    return Table(key, caption, head, tuple(rows), (False, False, False), note)


def _second_line(trial: Trial, result: MeasureResult) -> str:
    reference = wording.name_of(trial, trial.reference)
    compared = marked("{name} {ratio} of {reference}")
    texts: list[str] = []
    for code, comparison in result.comparisons:
        name = wording.name_of(trial, code)
        low, high = comparison.ratio_low, comparison.ratio_high
        ratio = ratios.ratio(comparison.ratio, low, high)
        texts.append(say(compared, name=name, ratio=ratio, reference=reference))
    message = marked(
        "Without the plants that stand out, which no other figure leaves out, {measure}: {ratios}."
    )
    measure = wording.inside(terms.label(result.measure))
    return say(message, measure=measure, ratios="; ".join(texts))


def reported(trial: Trial, results: Results) -> Section | None:
    """Return what the reporting checklist asks for and the trial did not record.

    The results file has all of it.
    """
    if not results.reporting:
        return None
    missing = tuple(_missing(trial, item) for item in results.reporting if not item.reported)
    done = sum(item.reported for item in results.reporting)
    counted = say(
        "{number} of {total} items are reported.", number=done, total=len(results.reporting)
    )
    blocks: list[Block] = [Paragraph(f"{counted} {say(REPORTING)}")]
    blocks += [Bullets(missing, say("Not recorded:"))] if missing else []
    return Section("reporting", say("What was not recorded"), tuple(blocks))


def _missing(trial: Trial, item: ReportedItem) -> str:
    """Return an item that was not recorded, and for which treatments where it was for others."""
    name = say(terms.ITEMS[item.item])
    if not item.values:
        return name
    missing = messages.speaker(trial).listed(_first(item.missing))
    return say("{item} (for {missing})", item=name, missing=missing)


def _first(missing: tuple[Value, ...]) -> tuple[Value, ...]:
    """Return the first of what is missing, as many as are named one by one, and how many more there
    are.
    """
    more = len(missing) - MOST_MISSING
    if more > 0:
        return (*missing[:MOST_MISSING], message("more", number=Amount(more)))
    return missing
