"""Tables of estimates and comparisons."""

from collections.abc import Sequence

from reportgen.language import figure, marked, say
from reportgen.metrics.factor_designs import has_doses
from reportgen.model.document import Table
from reportgen.model.message import Message
from reportgen.model.results import Comparison, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import messages, numbers, terms, units, wording

TOGETHER = marked(
    "The intervals and p values of one measure hold for all its treatments together (Dunnett's"
    " comparisons with the reference). A table below takes each comparison by itself."
)
JUDGED_ALIKE = marked(
    "Beside the word alike stand the limits by which it was judged, those of the {level} interval."
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


def _letters_note(trial: Trial, found: Sequence[MeasureResult]) -> str:
    methods = tuple(dict.fromkeys(result.letters.methods for result in found if result.letters))
    if methods:
        return say(
            LETTERS,
            method=numbers.listed(tuple(messages.clauses(trial, method) for method in methods)),
        )
    return ""


def _notes(trial: Trial, found: Sequence[MeasureResult]) -> str:
    """Return what the reader must know of figures without an interval, each reason once, with whose
    it is.
    """
    told: dict[Message, list[str]] = {}
    for result in found:
        label = terms.label(result.measure)
        for note, codes in _reasons(result).items():
            names = numbers.listed(tuple(wording.name_of(trial, code) for code in codes))
            is_everywhere = len(codes) == len(result.estimates)
            told.setdefault(note, []).append(label if is_everywhere else f"{label} ({names})")
    parts = [
        f"{numbers.listed(tuple(labels))}: {messages.text(trial, note)}."
        for note, labels in told.items()
    ]
    return " ".join(parts)


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


def comparison_notes(trial: Trial, results: Results, found: Sequence[MeasureResult]) -> str:
    """Return what the reader of the table of all comparisons must know."""
    several = len(trial.treatments) > 2 and not trial.interim and not has_doses(trial)
    if trial.interim:
        doubted = ""
    else:
        doubted = wording.doubted(trial, results, [result.measure.key for result in found])
    if several:
        together = say(TOGETHER)
    else:
        together = ""
    own_level = _alike_note(trial, results)
    parts = (together, own_level, doubted, _letters_note(trial, found), _notes(trial, found))
    return " ".join(part for part in parts if part)


def _alike_note(trial: Trial, results: Results) -> str:
    """Return at which level what is called alike was judged, where anything is."""
    if trial.interim or not any(one.code == "alike" for one in results.conclusions):
        return ""
    level = numbers.percent_level(2 * trial.confidence_level - 1)
    return say(JUDGED_ALIKE, level=level)


def pairs_of_doses(trial: Trial, found: Sequence[MeasureResult]) -> tuple[Table, ...]:
    """Return the table of each dose against the reference, for the annex of a trial of doses; none
    for any other.
    """
    if not has_doses(trial):
        return ()
    known = [result for result in found if result.scores]
    return (_comparisons(trial, known, "pairs-of-doses", say("Each dose against the reference")),)


def _comparisons(trial: Trial, found: Sequence[MeasureResult], key: str, caption: str) -> Table:
    level = numbers.percent_level(trial.confidence_level)
    several = len(trial.treatments) > 2
    rows: list[tuple[str, ...]] = []
    for result in units.in_each_system(found):
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
    trial: Trial, result: MeasureResult, code: str, each: Comparison
) -> tuple[str, ...]:
    if each.p_adjusted is None:
        p_value = each.p_value
    else:
        p_value = each.p_adjusted
    difference = numbers.with_interval(each.difference, each.difference_low, each.difference_high)
    return (
        wording.label_of(result),
        wording.name_of(trial, code),
        _ratio(each),
        difference,
        numbers.p_value(p_value),
        _degrees_of_freedom(each.degrees_of_freedom),
    )


def _ratio(each: Comparison) -> str:
    """Return a ratio with its interval; a measure whose zero is a convention has none."""
    if each.ratio is None and each.difference is not None:
        return say("difference only")
    return numbers.ratio(each.ratio, each.ratio_low, each.ratio_high)


def _degrees_of_freedom(value: float | None) -> str:
    if value is None:
        return numbers.not_known()
    return figure(f"{value:.1f}")


def one_by_one(trial: Trial, found: Sequence[MeasureResult]) -> tuple[Table, ...]:
    """Return the ratio's interval and p value of each comparison by itself, where others hold for
    several together.
    """
    rows = tuple(
        (
            wording.label_of(result),
            wording.name_of(trial, code),
            numbers.ratio(each.ratio, each.single_low, each.single_high),
            numbers.p_value(each.p_value),
        )
        for result in units.in_each_system(found)
        for code, each in result.comparisons
        if each.p_adjusted is not None and each.ratio is not None
    )
    if not rows:
        return ()
    level = numbers.percent_level(trial.confidence_level)
    reference = wording.name_of(trial, trial.reference)
    head = (
        say("Measure"),
        say("Treatment"),
        say("% of {reference} ({level} for each by itself)", reference=reference, level=level),
        say("p value"),
    )
    caption = say("Each comparison by itself")
    return (
        Table("one-by-one", caption, head, rows, (False, False, True, True), say(ONE_AT_A_TIME)),
    )
