"""The section on harvests: what a crop that is picked more than once gave, when, and how much of it
can be sold.
"""

from collections.abc import Sequence
from typing import Final

from reportgen import language
from reportgen.language import marked, marked_plural, plural, say
from reportgen.metrics.harvests import picking_days
from reportgen.metrics.pickings import gave, is_graded
from reportgen.model.document import Block, Paragraph, Section, Table
from reportgen.model.results import CumulativeYield, MeasureResult, Results, YieldByDay
from reportgen.model.trial import Trial
from reportgen.report import figure_texts, numbers, terms, units, wording

OF_YIELD: Final = (
    "yield_per_week"  # the yield over a time that all trays share, so it compares as the yield does
)
COUNTED: Final = marked_plural(
    "There was one day of picking, {first}.",
    "There were {number} days of picking, from {first} to {last}.",
)
SOLD: Final = marked("Counted as marketable: {grades}. Counted as culls: {culls}.")
ALL_SOLD: Final = marked("Counted as marketable: {grades}. Nothing was graded as culls.")
ALL_CULLS: Final = marked(
    "Culls are what was graded {culls}; everything else counts as marketable."
)
UNGRADED: Final = marked_plural(
    "{number} picking without a grade counts as marketable.",
    "{number} pickings without a grade count as marketable.",
)
SEASON: Final = marked(
    "Yield per week of picking is the yield over the picking season, which is the same for all"
    " {units}: from the first day of picking to the last, and one mean interval for what the first"
    " picking had gathered."
)
DAY_BY_DAY: Final = marked("In brackets: {level} intervals, of each day by itself.")
NOT_PICKED: Final = marked(
    "A {unit} that was not picked by a day counts with what it had given before."
)

CUT_AT_0: Final = marked(
    "On {days} a {unit} of {names} still stood at 0, so the limits are those of the linear scale,"
    " cut at 0."
)


def section(trial: Trial, results: Results) -> Section | None:
    """Return what was picked, none where the workbook has no pickings."""
    if not trial.pickings:
        return None
    blocks: list[Block] = [Paragraph(_pickings_text(trial))]
    if wording.result_of(results, OF_YIELD):
        blocks.append(Paragraph(say(SEASON, units=wording.unit_of(trial, 2))))
    for harvest in results.harvests:
        blocks += _by_day(trial, harvest)
    return Section("harvests", say("Harvests"), tuple(blocks))


def _pickings_text(trial: Trial) -> str:
    """Return how often was picked, and which grades count as what."""
    days = picking_days(trial)
    said = [plural(*COUNTED, len(days), first=numbers.day(days[0]), last=numbers.day(days[-1]))]
    if is_graded(trial):
        said += _graded(trial)
    return " ".join(said)


def _graded(trial: Trial) -> list[str]:
    """Return which grades can be sold, and how many pickings have no grade."""
    sold: dict[str, None] = {}
    culls: dict[str, None] = {}
    ungraded = 0
    for picking in trial.pickings:
        if not picking.grade:
            ungraded += gave(picking)
        elif picking.is_cull:
            culls[picking.grade] = None
        else:
            sold[picking.grade] = None
    message = ALL_CULLS
    if sold:
        if culls:
            message = SOLD
        else:
            message = ALL_SOLD
    sold_grades = numbers.listed(tuple(sold))
    sentences = [say(message, grades=sold_grades, culls=numbers.listed(tuple(culls)))]
    if ungraded and sold:
        sentences.append(plural(*UNGRADED, ungraded))
    return sentences


def _by_day(trial: Trial, harvest: CumulativeYield) -> list[Table]:
    """Return a table of what treatments had given by each day, one for each unit of display."""
    by_day = [_on_day(harvest, at) for at in range(len(harvest.days))]
    versions = units.courses(by_day, units.current())
    return [_table(trial, harvest, version, at) for at, version in enumerate(versions)]


def _on_day(harvest: CumulativeYield, at: int) -> MeasureResult:
    return MeasureResult(harvest.measure, harvest.days[at].estimates, ())


def _table(
    trial: Trial, harvest: CumulativeYield, version: Sequence[MeasureResult], at: int
) -> Table:
    rows: list[tuple[str, ...]] = []
    for day, result in zip(harvest.days, version, strict=True):
        figures_of_day = (
            figure_texts.estimate_text(result, estimate) for _, estimate in result.estimates
        )
        rows.append((numbers.day(day.on), *figures_of_day))
    measure = version[0].measure
    caption = say(
        "{measure} up to each day of picking ({unit})",
        measure=terms.label(measure),
        unit=language.unit(measure.unit),
    )
    head = (say("Date"), *(treatment.name for treatment in trial.treatments))
    key = f"cumulative-{measure.key.replace('_', '-')}{'-other-units' * at}"
    level = numbers.percent_level(trial.confidence_level)
    unit = wording.unit_of(trial)
    notes = [say(DAY_BY_DAY, level=level), say(NOT_PICKED, unit=unit)]
    notes += _cut_limits(trial, harvest)
    return Table(
        key, caption, head, tuple(rows), (False, *(True for _ in head[1:])), " ".join(notes)
    )


def _cut_limits(trial: Trial, harvest: CumulativeYield) -> list[str]:
    """Return on which days limits were cut at 0, and the treatments with a tray that stood at 0 by
    then.
    """
    days: dict[tuple[str, ...], list[str]] = {}
    for day in harvest.days:
        if _has_cut_limits(day):
            days.setdefault(day.at_zero, []).append(numbers.day(day.on))
    unit = wording.unit_of(trial)
    said: list[str] = []
    for codes, dates in days.items():
        names = tuple(wording.name_of(trial, code) for code in codes)
        said.append(
            say(CUT_AT_0, days=numbers.listed(tuple(dates)), unit=unit, names=numbers.listed(names))
        )
    return said


def _has_cut_limits(day: YieldByDay) -> bool:
    """Return whether a limit is 0, which none is on the log scale."""
    return any(estimate.low == 0 and estimate.high for _, estimate in day.estimates)
