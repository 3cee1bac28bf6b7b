"""Scores in ordered classes: shares, medians of trays, and the chance of the higher score; never a mean."""

from collections.abc import Mapping
from typing import Final

from reportgen.language import marked, marked_plural, plural, say
from reportgen.metrics.design import is_blocked
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.document import Block, Figure, Paragraph, Section, Subheading, Table
from reportgen.model.results import ClassCounts, Conclusion, RankComparison, Results, ScoreResult
from reportgen.model.trial import Trial
from reportgen.report import messages, numbers, wording

HIGHER: Final = marked("{treated} scored higher in {outcome} than {reference}: {figures}. {pairs}")
LOWER: Final = marked("{treated} scored lower in {outcome} than {reference}: {figures}. {pairs}")
HIGHER_CONFOUNDED: Final = marked(
    "{treated} scored higher in {outcome} than {reference}, but {reasons}, so this cannot be attributed to {treated}: "
    "{figures}. {pairs}"
)
LOWER_CONFOUNDED: Final = marked(
    "{treated} scored lower in {outcome} than {reference}, but {reasons}, so this cannot be attributed to {treated}: "
    "{figures}. {pairs}"
)
UNCLEAR: Final = marked(
    "The trial does not tell whether {treated} scored higher or lower in {outcome} than {reference}: {figures}. {pairs}"
)
UNTESTABLE: Final = marked(
    "In {outcome}, {treated} and {reference} were scored as follows: {figures}. This trial cannot tell how much of "
    "that is chance: {reason}."
)
NOT_SCORED: Final = marked("{treated} and {reference} cannot be compared in {outcome}: {reason}.")
UNCLEAR_TOGETHER: Final = marked(
    "The trial does not tell whether {names} scored higher or lower in {outcome} than {reference}."
)
FIGURES: Final = marked(
    "{class_} on {share} of plants with {treated} and on {reference_share} with {reference}; the median of the {units} "
    "is {median} with {treated} and {reference_median} with {reference}"
)
PAIRS: Final = marked(
    "Of all pairs of {units}, one with {treated} and one with {reference}, the one with {treated} scored higher in "
    "{pairs} ({limits}; ties count half)."
)
PAIRS_IN_BLOCKS: Final = marked(
    "Of all pairs of {units} in one block, one with {treated} and one with {reference}, the one with {treated} scored "
    "higher in {pairs} ({limits}; ties count half)."
)
BY_DAY: Final = marked_plural(
    "The score {names} of the sheet Growth is not averaged either: each day's classes are in data/growth.csv.",
    "The scores {names} of the sheet Growth are not averaged either: each day's classes are in data/growth.csv.",
)
NO_DISTANCES: Final = marked(
    "A score says which class is higher, not by how much, so it has no mean here. What is compared is the median of "
    "each {unit}, by its rank."
)


def score_of(results: Results, key: str) -> ScoreResult | None:
    """Return the score of a key, None where the trial has none."""
    return next((one for one in results.scores if one.measure.key == key), None)


def outcome(score: ScoreResult) -> str:
    """Return what a score is called within a sentence."""
    return wording.inside(score.measure.label)


def position(scale: tuple[str, ...], value: float | None) -> str:
    """Return the class at a position; one that lies between two classes is said to."""
    if value is None:
        return numbers.not_known()
    low = int(value)
    if value == low:
        return scale[low]
    return say("between {low} and {high}", low=scale[low], high=scale[low + 1])


def from_class(score: ScoreResult) -> str:
    """Return the class by which shares are told, with those above it."""
    name = score.scale[score.cut]
    is_highest = score.cut == len(score.scale) - 1
    return name if is_highest else say("{class_} or higher", class_=name)


def sentence(trial: Trial, results: Results, score: ScoreResult, code: str, reasons: str) -> str:
    """Return what the trial says of one treatment in one score.

    `reasons` are what may explain a difference beside the treatment, as a part of a sentence.
    """
    conclusion = conclusion_of(results, score.measure.key, code)
    compared = dict(score.comparisons)[code]
    words = _words(trial, score, code)
    if compared.probability_higher is None:
        return say(NOT_SCORED, **words, reason=_why(trial, compared))
    figures = _figures(trial, score, code)
    if conclusion.code == "untestable":
        return say(UNTESTABLE, **words, figures=figures, reason=_why(trial, compared))
    pairs = _pairs(trial, compared, words)
    return say(_template(conclusion), **words, figures=figures, pairs=pairs, reasons=reasons)


def unclear_together(trial: Trial, score: ScoreResult, codes: tuple[str, ...]) -> str:
    """Return one sentence on several treatments of which the trial does not tell."""
    names = numbers.listed(tuple(wording.name_of(trial, code) for code in codes))
    reference = wording.name_of(trial, trial.reference)
    return say(UNCLEAR_TOGETHER, names=names, outcome=outcome(score), reference=reference)


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


def _template(conclusion: Conclusion) -> str:
    confounded = {"more": HIGHER_CONFOUNDED, "less": LOWER_CONFOUNDED}
    plain = {"more": HIGHER, "less": LOWER, "unclear": UNCLEAR}
    if conclusion.code == "confounded":
        return confounded[conclusion.toward or "more"]
    return plain[conclusion.code]


def _words(trial: Trial, score: ScoreResult, code: str) -> dict[str, str]:
    return {
        "treated": wording.name_of(trial, code),
        "reference": wording.name_of(trial, trial.reference),
        "outcome": outcome(score),
        "unit": wording.unit_of(trial),
        "units": wording.unit_of(trial, 2),
    }


def _figures(trial: Trial, score: ScoreResult, code: str) -> str:
    """Return the shares and the medians of a treatment and the reference."""
    counted = {one.treatment: one for one in score.treatments}
    treated, reference = counted[code], counted[trial.reference]
    return say(
        FIGURES,
        **_words(trial, score, code),
        class_=from_class(score),
        share=share_of(treated.share_from(score.cut)),
        reference_share=share_of(reference.share_from(score.cut)),
        median=position(score.scale, treated.median),
        reference_median=position(score.scale, reference.median),
    )


def share_of(value: float | None) -> str:
    """Return a share of plants in whole percent; 0 % and 100 % only where exactly true."""
    return numbers.not_known() if value is None else numbers.whole_percent(value)


def _pairs(trial: Trial, compared: RankComparison, words: Mapping[str, str]) -> str:
    """Return in how many pairs of units the treated one scored higher, with the limits of that chance."""
    return say(
        PAIRS_IN_BLOCKS if is_blocked(trial) else PAIRS,
        **words,
        pairs=share_of(compared.probability_higher),
        limits=_limits(trial, compared),
    )


def _limits(trial: Trial, compared: RankComparison) -> str:
    if compared.low is None or compared.high is None:
        return say("no interval: {reason}", reason=_why(trial, compared))
    level = numbers.percent_level(trial.confidence_level)
    limits = numbers.span(share_of(compared.low), share_of(compared.high))
    return say("{level} interval {interval}", level=level, interval=limits)


def _why(trial: Trial, compared: RankComparison) -> str:
    """Return why a comparison lacks something."""
    return messages.clauses(trial, compared.notes) or say("no interval can be had")


# ---- figure and tables -----------------------------------------------------------------------------------


def _score(trial: Trial, results: Results, score: ScoreResult) -> tuple[Block, ...]:
    key = score.measure.key.replace("_", "-")
    doubted = wording.doubted(trial, results, (score.measure.key,))
    return (
        Subheading(say(score.measure.label)),
        *_figure(trial, score, key),
        _shares(trial, score, key),
        _comparisons(trial, score, key, doubted),
    )


def _figure(trial: Trial, score: ScoreResult, key: str) -> tuple[Figure, ...]:
    from reportgen.charts.scores import shares_by_class
    from reportgen.charts.theme import spec

    chart = shares_by_class(trial, score)
    if chart is None:
        return ()
    message = marked(
        "{measure}: plants of each treatment by class, from the lowest ({lowest}) to the highest ({highest})."
    )
    caption = say(message, measure=score.measure.label, lowest=score.scale[0], highest=score.scale[-1])
    return (Figure(f"score-{key}", caption, _figure_text(trial, score), spec(chart)),)


def _figure_text(trial: Trial, score: ScoreResult) -> str:
    parts: list[str] = []
    for one in score.treatments:
        shares = [f"{name} {share_of(share)}" for name, share in zip(score.scale, one.shares, strict=True)]
        parts.append(f"{wording.name_of(trial, one.treatment)}: {numbers.listed(tuple(shares))}.")
    return " ".join(parts)


def _shares(trial: Trial, score: ScoreResult, key: str) -> Table:
    """Return the plants in each class, and the medians of the trays."""
    head = (say("Class"), *(wording.name_of(trial, one.treatment) for one in score.treatments))
    rows = [
        (name, *(_count_and_share(one, place) for one in score.treatments)) for place, name in enumerate(score.scale)
    ]
    rows.append((say("All plants scored"), *(str(one.plants) for one in score.treatments)))
    medians = say("Median of each {unit}", unit=wording.unit_of(trial))
    rows.append((medians, *(_medians(trial, score, one.treatment) for one in score.treatments)))
    middle = say("Median of these medians")
    rows.append((middle, *(position(score.scale, one.median) for one in score.treatments)))
    caption = say("{measure}: plants in each class, the lowest first", measure=score.measure.label)
    return Table(f"score-{key}-shares", caption, head, tuple(rows), (False, *(True for _ in score.treatments)))


def _count_and_share(counted: ClassCounts, place: int) -> str:
    share = share_of(counted.shares[place])
    return say("{number} ({share})", number=counted.counts[place], share=share)


def _medians(trial: Trial, score: ScoreResult, code: str) -> str:
    """Return the medians of a treatment's trays, lowest first, equal ones together."""
    trays = {tray.code for tray in trial.trays if tray.treatment == code}
    values = sorted(value for tray, value in score.medians if tray in trays)
    said = []
    for value in dict.fromkeys(values):
        number = values.count(value)
        name = position(score.scale, value)
        units = wording.units_counted(trial, number)
        said.append(say("{class_} ({units})", class_=name, units=units) if number > 1 else name)
    return "; ".join(said) or numbers.not_known()


def _comparisons(trial: Trial, score: ScoreResult, key: str, doubted: str) -> Table:
    level = numbers.percent_level(trial.confidence_level)
    reference = wording.name_of(trial, trial.reference)
    unit = wording.unit_of(trial)
    message = marked("Pairs in which its {unit} scored higher than one with {reference} ({level} interval)")
    pairs = say(message, unit=unit, reference=reference, level=level)
    head = (say("Treatment"), pairs, say("p value"))
    rows = tuple(_comparison_row(trial, code, one) for code, one in score.comparisons)
    notes = [messages.clauses(trial, one.notes) for _, one in score.comparisons if one.notes]
    parts = [f"{wording.capital(note)}." for note in dict.fromkeys(notes)]
    several = say("The intervals and p values hold for all comparisons of this score together.")
    parts += [several] if len(score.comparisons) > 1 else []
    parts += [doubted] if doubted else []
    caption = say("{measure}: comparisons with {reference}", measure=score.measure.label, reference=reference)
    return Table(f"score-{key}-comparisons", caption, head, rows, (False, True, True), " ".join(parts))


def _comparison_row(trial: Trial, code: str, one: RankComparison) -> tuple[str, ...]:
    pairs = share_of(one.probability_higher)
    if one.low is None or one.high is None:
        told = say("{value} (no interval)", value=pairs)
    else:
        told = f"{pairs} ({numbers.span(share_of(one.low), share_of(one.high))})"
    p_value = one.p_value if one.p_adjusted is None else one.p_adjusted
    return wording.name_of(trial, code), told, numbers.p_value(p_value)


def _by_day(trial: Trial) -> tuple[Block, ...]:
    """Return where the scores of living plants are, which are counted nowhere else in the report."""
    names = tuple(trait.label for trait in trial.growth_traits if trait.is_score)
    if not names:
        return ()
    return (Paragraph(plural(*BY_DAY, len(names), names=numbers.listed(names))),)
