"""The section on scores: a sentence, a figure and a table of shares for each, and the comparisons;
never a mean.
"""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from typing import Final

from reportgen.language import marked, say
from reportgen.metrics.scores import classes_by_day
from reportgen.model.document import Block, Figure, Paragraph, Section, Subheading, Table
from reportgen.model.results import ClassCounts, RankComparison, Results, ScoreResult
from reportgen.model.trial import Trial
from reportgen.report import answer_sentence, figure_titles, messages, numbers, wording
from reportgen.report.figures.drawing import drawn
from reportgen.report.scores import position, share_of

NO_DISTANCES: Final = marked(
    "A score says which class is higher, not by how much, so it has no mean here. What is compared"
    " is the median of each {unit}, by its rank."
)


def section(trial: Trial, results: Results) -> Section | None:
    """Return each score: its sentence, a figure and a table of shares, and the comparisons."""
    blocks: list[Block] = []
    for score in results.scores:
        blocks += _score(trial, results, score)
    by_day = _by_day(trial)
    if not blocks and not by_day:
        return None
    lead = Paragraph(say(NO_DISTANCES, unit=wording.unit_of(trial)))
    return Section("scores", say("Scores"), (lead, *blocks, *by_day))


def _score(trial: Trial, results: Results, score: ScoreResult) -> tuple[Block, ...]:
    doubted = wording.doubted(trial, results, (score.measure.key,))
    is_main = score.measure.key == results.main_measure
    sentences = [
        answer_sentence.score_sentence(trial, results, score, code) for code, _ in score.comparisons
    ]
    return (
        Subheading(say(score.measure.label)),
        *(() if is_main else map(Paragraph, sentences)),
        *figure(trial, score),
        shares(trial, score),
        _comparisons(trial, score, doubted),
    )


def figure(trial: Trial, score: ScoreResult) -> tuple[Figure, ...]:
    """Return the chart of the shares of plants in each class."""
    from reportgen.charts.scores import shares_by_class

    message = marked(
        "{measure}: plants of each treatment by class, from the lowest ({lowest}) to the highest"
        " ({highest})."
    )
    caption = say(
        message, measure=score.measure.label, lowest=score.scale[0], highest=score.scale[-1]
    )
    return drawn(
        f"score-{_key(score)}",
        lambda width: shares_by_class(trial, score, width),
        caption,
        _figure_text(trial, score),
        figure_titles.of_score(trial, score),
    )


def _key(score: ScoreResult) -> str:
    return score.measure.key.replace("_", "-")


def _figure_text(trial: Trial, score: ScoreResult) -> str:
    sentences: list[str] = []
    for counts in score.treatments:
        shares: list[str] = []
        for name, share in zip(score.scale, counts.shares, strict=True):
            shares.append(f"{name} {share_of(share)}")
        treatment = wording.name_of(trial, counts.treatment)
        sentences.append(f"{treatment}: {numbers.listed(tuple(shares))}.")
    return " ".join(sentences)


def shares(trial: Trial, score: ScoreResult) -> Table:
    """Return the plants in each class, and the medians of the trays."""
    head = (say("Class"), *score.scale, *_last_rows_of_shares(trial))
    columns = [head]
    for counts in score.treatments:
        name = wording.name_of(trial, counts.treatment)
        medians = _medians(trial, score, counts.treatment)
        middle = position(score.scale, counts.median)
        columns.append((name, *_cells(counts), str(counts.plants), medians, middle))
    top, *rows = zip(*columns, strict=True)
    caption = say("{measure}: plants in each class, the lowest first", measure=score.measure.label)
    numeric = (False, *(True for _ in score.treatments))
    return Table(f"score-{_key(score)}-shares", caption, top, tuple(rows), numeric)


def _last_rows_of_shares(trial: Trial) -> tuple[str, str, str]:
    """Return the heads of the rows below the classes."""
    medians = say("Median of each {unit}", unit=wording.unit_of(trial))
    return say("All plants scored"), medians, say("Median of these medians")


def _cells(counts: ClassCounts) -> list[str]:
    """Return how many plants of a treatment are in each class, the lowest first."""
    return [_count_and_share(counts, place) for place in range(len(counts.counts))]


def _count_and_share(counts: ClassCounts, place: int) -> str:
    share = share_of(counts.shares[place])
    return say("{number} ({share})", number=counts.counts[place], share=share)


def _medians(trial: Trial, score: ScoreResult, code: str) -> str:
    """Return the medians of a treatment's trays, lowest first, equal ones together."""
    trays = {tray.code for tray in trial.trays if tray.treatment == code}
    medians = Counter(median for tray, median in score.medians if tray in trays)
    texts: list[str] = []
    for median in sorted(medians):
        name = position(score.scale, median)
        units = wording.units_counted(trial, medians[median])
        if medians[median] > 1:
            name = say("{class_} ({units})", class_=name, units=units)
        texts.append(name)
    return "; ".join(texts) or numbers.not_known()


def _comparisons(trial: Trial, score: ScoreResult, doubted: str) -> Table:
    level = numbers.percent_level(trial.confidence_level)
    reference = wording.name_of(trial, trial.reference)
    unit = wording.unit_of(trial)
    message = marked(
        "Pairs in which its {unit} scored higher than one with {reference} ({level} interval)"
    )
    pairs = say(message, unit=unit, reference=reference, level=level)
    head = (say("Treatment"), pairs, say("p value"))
    rows = tuple(_comparison_row(trial, code, one) for code, one in score.comparisons)
    notes = [messages.clauses(trial, one.notes) for _, one in score.comparisons if one.notes]
    parts = [say("Of a pair with the same median each counts half."), *_sentences(notes)]
    several = say("The intervals and p values hold for all comparisons of this score together.")
    parts += [several] if len(score.comparisons) > 1 else []
    parts += [doubted] if doubted else []
    caption = say(
        "{measure}: comparisons with {reference}", measure=score.measure.label, reference=reference
    )
    return Table(
        f"score-{_key(score)}-comparisons",
        caption,
        head,
        rows,
        (False, True, True),
        " ".join(parts),
    )


def _sentences(notes: Sequence[str]) -> list[str]:
    return [f"{wording.capital(note)}." for note in dict.fromkeys(notes)]


def _comparison_row(trial: Trial, code: str, comparison: RankComparison) -> tuple[str, ...]:
    pairs = share_of(comparison.probability_higher)
    if comparison.low is None or comparison.high is None:
        told = say("{value} (no interval)", value=pairs)
    else:
        told = f"{pairs} ({numbers.span(share_of(comparison.low), share_of(comparison.high))})"
    if comparison.p_adjusted is None:
        p_value = comparison.p_value
    else:
        p_value = comparison.p_adjusted
    return wording.name_of(trial, code), told, numbers.p_value(p_value)


def _by_day(trial: Trial) -> tuple[Block, ...]:
    """Return how many were in each class on each day, for each score of the sheet Growth."""
    tables: list[Block] = []
    note = say("From the sheet Growth. These classes are counted, not averaged and not compared.")
    for index, trait in enumerate(trial.growth_traits):
        if not trait.is_score:
            continue
        rows: list[tuple[str, ...]] = []
        for day, counts in classes_by_day(trial, index):
            rows.append(_day_row(trial, day, counts))
        if not rows:
            continue
        head = (say("Day"), say("Treatment"), *trait.scale)
        caption = say("{measure} by day: how many were in each class", measure=trait.label)
        key = trait.key.replace("_", "-")
        numeric = (False, False, *(True for _ in trait.scale))
        tables.append(Table(f"score-{key}-by-day", caption, head, tuple(rows), numeric, note))
    return tuple(tables)


def _day_row(trial: Trial, day: date, counts: ClassCounts) -> tuple[str, ...]:
    return (numbers.day(day), wording.name_of(trial, counts.treatment), *_cells(counts))
