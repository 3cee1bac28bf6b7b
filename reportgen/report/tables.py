"""Tables of estimates and comparisons."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from reportgen.language import figure, marked, say
from reportgen.metrics.factor_designs import has_doses
from reportgen.model.document import Table
from reportgen.model.message import Message
from reportgen.model.results import Comparison, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import messages, numbers, ratios, units, wording

TOGETHER = marked(
    "The intervals and p values of one measure hold for all its treatments together (Dunnett's"
    " comparisons with the reference). A table below takes each comparison by itself."
)
ONE_AT_A_TIME = marked(
    "Each interval and p value holds for one comparison by itself: with several comparisons, the "
    "chance that one of them misleads is larger. No sentence or figure of this report uses them."
)
OWN_SPREADS = frozenset({"plants_own_spread", "plants_own_survival"})
LETTERS = marked("This trial cannot tell apart treatments that share a letter ({method}).")


def measures_of(results: Results, keys: Sequence[str]) -> list[MeasureResult]:
    """Return the results of the measures named, in that order, without those that the trial lacks."""
    return [result for key in keys if (result := wording.result_of(results, key)) is not None]


def _letters_note(trial: Trial, measures: Sequence[MeasureResult]) -> str:
    methods: dict[str, None] = {}
    for result in measures:
        if result.letters:
            methods[messages.clauses(trial, result.letters.methods)] = None
    if methods:
        return say(LETTERS, method=numbers.listed(tuple(methods)))
    return ""


@dataclass(frozen=True)
class FootNotes:
    """Notes under a table, by the numbers that its rows show.

    `marks` holds the numbers of a row by its measure and treatment; the treatment is empty where
    they concern the whole measure. The first note has the number `first`.
    """

    texts: tuple[str, ...] = ()
    marks: Mapping[tuple[str, str], tuple[int, ...]] = field(default_factory=dict)
    first: int = 1

    def marked(self, label: str, measure: str, treatment: str = "") -> str:
        """Return the label of a row with the numbers of its notes."""
        found = self.marks.get((measure, treatment), ())
        if not found:
            return label
        return f"{label}\u00a0[{', '.join(map(str, found))}]"

    def printed(self) -> str:
        """Return the notes one after the other, each behind its number."""
        numbered = (f"[{number}]\u00a0{text}" for number, text in enumerate(self.texts, self.first))
        return " ".join(numbered)


def numbered(texts_by_row: Mapping[tuple[str, str], str], first: int) -> FootNotes:
    """Return notes by measure and treatment, each text once, numbered from `first`."""
    texts = tuple(dict.fromkeys(texts_by_row.values()))
    marks = {row: (first + texts.index(text),) for row, text in texts_by_row.items()}
    return FootNotes(texts, marks, first)


def foot_notes(trial: Trial, measures: Sequence[MeasureResult]) -> FootNotes:
    """Return what the reader must know of figures and their intervals, each reason once."""
    numbers_of: dict[Message, int] = {}
    marks: dict[tuple[str, str], tuple[int, ...]] = {}
    for result in measures:
        for note, codes in _reasons(result).items():
            number = numbers_of.setdefault(note, len(numbers_of) + 1)
            for row in _rows_of(result, codes):
                marks[row] = tuple(sorted((*marks.get(row, ()), number)))
    texts = [f"{wording.capital(messages.text(trial, note))}." for note in numbers_of]
    return FootNotes(tuple(texts), marks)


def _rows_of(result: MeasureResult, codes: Sequence[str]) -> list[tuple[str, str]]:
    """Return the rows that a note concerns: that of the measure where it concerns all treatments."""
    if len(codes) == len(result.estimates):
        return [(result.measure.key, "")]
    return [(result.measure.key, code) for code in codes]


def _reasons(result: MeasureResult) -> dict[Message, list[str]]:
    """Return each thing to know of a figure or its interval, with the treatments that it holds for."""
    reasons: dict[Message, list[str]] = {}
    for code, estimate in result.estimates:
        for note in estimate.notes:
            if note.code not in OWN_SPREADS:
                reasons.setdefault(note, []).append(code)
    for note in result.letters_notes:
        reasons[note] = [code for code, _ in result.estimates]
    return reasons


def comparison_notes(
    trial: Trial,
    results: Results,
    measures: Sequence[MeasureResult],
    foot_notes_of: Sequence[FootNotes],
) -> str:
    """Return what the reader of the table of all comparisons must know."""
    several = len(trial.treatments) > 2 and not trial.interim and not has_doses(trial)
    if trial.interim:
        doubted = ""
    else:
        doubted = wording.doubted(trial, results, [result.measure.key for result in measures])
    if several:
        together = say(TOGETHER)
    else:
        together = ""
    letters = _letters_note(trial, measures)
    printed = [foot.printed() for foot in foot_notes_of]
    parts = (together, doubted, letters, *printed)
    return " ".join(part for part in parts if part)


def pairs_of_doses(trial: Trial, measures: Sequence[MeasureResult]) -> tuple[Table, ...]:
    """Return the table of each dose against the reference, for the annex of a trial of doses.

    None for any other.
    """
    if not has_doses(trial):
        return ()
    known = [result for result in measures if result.scores]
    return (_comparisons(trial, known, "pairs-of-doses", say("Each dose against the reference")),)


def _comparisons(trial: Trial, measures: Sequence[MeasureResult], key: str, caption: str) -> Table:
    level = numbers.percent_level(trial.confidence_level)
    several = len(trial.treatments) > 2
    rows: list[tuple[str, ...]] = []
    for result in units.in_each_system(measures):
        rows += [_comparison_row(trial, result, *compared) for compared in result.comparisons]
    reference = wording.name_of(trial, trial.reference)
    head = (
        say("Measure"),
        say("Treatment"),
        say("% of {reference} ({level} interval)", reference=reference, level=level),
        say("Difference from {reference} ({level} interval)", reference=reference, level=level),
        say("p value"),
        say("Degrees of freedom of the ratio"),
    )
    return Table(
        key,
        caption,
        head,
        tuple(rows),
        (False, False, True, True, True, True),
        say(TOGETHER) if several else "",
    )


def _comparison_row(
    trial: Trial, result: MeasureResult, code: str, comparison: Comparison
) -> tuple[str, ...]:
    if comparison.p_adjusted is None:
        p_value = comparison.p_value
    else:
        p_value = comparison.p_adjusted
    difference = numbers.with_interval(
        comparison.difference, comparison.difference_low, comparison.difference_high
    )
    return (
        wording.label_of(result),
        wording.name_of(trial, code),
        _ratio(comparison),
        difference,
        numbers.p_value(p_value),
        _degrees_of_freedom(comparison.degrees_of_freedom),
    )


def _ratio(comparison: Comparison) -> str:
    """Return a ratio with its interval; a measure whose zero is a convention has none."""
    if comparison.ratio is None and comparison.difference is not None:
        return say("difference only")
    return ratios.ratio(comparison.ratio, comparison.ratio_low, comparison.ratio_high)


def _degrees_of_freedom(value: float | None) -> str:
    if value is None:
        return numbers.not_known()
    return figure(f"{value:.1f}")


def one_by_one(trial: Trial, measures: Sequence[MeasureResult]) -> tuple[Table, ...]:
    """Return the ratio's interval and p value of each comparison by itself, where others hold for
    several together: a row a measure, a column a treatment.
    """
    codes = [treatment.code for treatment in trial.treatments if treatment.code != trial.reference]
    rows: list[tuple[str, ...]] = []
    for result in units.in_each_system(measures):
        cells = [_by_itself(result, code) for code in codes]
        if any(cells):
            rows.append((wording.label_of(result), *cells))
    if not rows:
        return ()
    level = numbers.percent_level(trial.confidence_level)
    reference = wording.name_of(trial, trial.reference)
    head = (say("Measure"), *(wording.name_of(trial, code) for code in codes))
    caption = say(
        "Each comparison by itself: % of {reference} ({level} interval), p value",
        reference=reference,
        level=level,
    )
    is_number = tuple(False for _ in head)
    return (Table("one-by-one", caption, head, tuple(rows), is_number, say(ONE_AT_A_TIME)),)


def _by_itself(result: MeasureResult, code: str) -> str:
    """Return a comparison by itself, empty where there is none beside those that hold together."""
    each = dict(result.comparisons).get(code)
    if each is None or each.p_adjusted is None or each.ratio is None:
        return ""
    ratio = ratios.ratio(each.ratio, each.single_low, each.single_high)
    return f"{ratio}, {numbers.p_value(each.p_value)}"
