"""Several trials of the same comparison: what they say together."""

import json
from collections import Counter
from dataclasses import asdict

from reportgen.metrics.pooled import (
    PooledComparison,
    PooledMeasure,
    RatioOfTrial,
    TrialOfComparison,
)
from reportgen.model.document import Block, Bullets, Figure, Links, Notice, Paragraph, Section, Subheading, Table
from reportgen.model.results import Comparison
from reportgen.report import numbers, wording
from reportgen.stats.pooling import PooledRatio

SMALLEST, LARGEST = 0.005, 100.0  # ratios beyond are said in words: as bare figures they would mislead
METHOD = (
    "Each trial's ratio is taken as a log response ratio, whose variance comes from the spread between its trays, and "
    "the trials are pooled with random effects: every trial may have a true ratio of its own. The variance between "
    "trials is estimated by restricted maximum likelihood (REML), the interval is that of Hartung and Knapp, and the "
    "prediction interval says where the true ratio of a further trial like these may lie. I² is the share of the "
    "variation between trials that their own errors do not explain. What instruments leave uncertain is in a trial's "
    "own interval where its report has it there, not in the pooled figure."
)
REFERENCES = (
    "Log response ratios: Hedges, L. V., Gurevitch, J. and Curtis, P. S. (1999). The meta-analysis of response ratios "
    "in experimental ecology. Ecology 80, 1150-1156.",
    "Interval: Hartung, J. and Knapp, G. (2001). A refined method for the meta-analysis of controlled clinical trials "
    "with binary outcome. Statistics in Medicine 20, 3875-3889.",
    "REML: Viechtbauer, W. (2005). Bias and efficiency of meta-analytic variance estimators in the random-effects "
    "model. Journal of Educational and Behavioral Statistics 30, 261-293.",
    "Prediction interval: Higgins, J. P. T., Thompson, S. G. and Spiegelhalter, D. J. (2009). A re-evaluation of "
    "random-effects meta-analysis. Journal of the Royal Statistical Society A 172, 137-159.",
)


def sections(comparisons: tuple[PooledComparison, ...]) -> tuple[Section, ...]:
    """Return the section on trials of the same comparison; none where no trials share one."""
    if not comparisons:
        return ()
    blocks = [block for comparison in comparisons for block in _blocks(comparison)]
    blocks += [
        Subheading("How trials are pooled"),
        Paragraph(METHOD),
        Bullets(REFERENCES, "References:"),
        Links((("pooled.json", "pooled.json", "every number of the pooled comparisons, unrounded"),)),
    ]
    return (Section("same-comparison", "Trials of the same comparison", tuple(blocks)),)


def results_json(comparisons: tuple[PooledComparison, ...]) -> str:
    """Return every number of the pooled comparisons as JSON text, null where there is none; empty without any."""
    if not comparisons:
        return ""
    found = {"format": "pooled-trials/1", "comparisons": [_entry(comparison) for comparison in comparisons]}
    return json.dumps(found, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _entry(comparison: PooledComparison) -> dict[str, object]:
    return {
        "comparison": comparison.label,
        "treated": comparison.treated,
        "reference": comparison.reference,
        "confidence_level": comparison.level,
        "measures": [
            {
                "metric": one.measure.key,
                "pooled": {key: value for key, value in asdict(one.pooled).items() if key != "weights"},
                "trials": [_trial_entry(ratio) for ratio in one.trials],
            }
            for one in comparison.measures
        ],
        "left_out": [asdict(one) for one in comparison.left_out],
    }


def _trial_entry(ratio: RatioOfTrial) -> dict[str, object]:
    numbers_of = {key: value for key, value in asdict(ratio).items() if key != "trial"}
    return {"slug": ratio.trial.slug, "turned": ratio.trial.turned} | numbers_of


def _blocks(comparison: PooledComparison) -> list[Block]:
    said = (Paragraph(" ".join(sentences(comparison, measure))) for measure in comparison.measures)
    blocks: list[Block] = [Subheading(comparison.label), *said]
    cautions = _cautions(comparison)
    if cautions:
        blocks.append(Notice("Caution", cautions))
    for measure in comparison.measures:
        blocks += [*_figure(comparison, measure), _table(comparison, measure)]
    left_out = _left_out(comparison)
    if left_out:
        blocks.append(Bullets(left_out, "Not in the pooled figures:"))
    links = Links(tuple(_link(comparison, trial) for trial in comparison.trials))
    return [*blocks, Paragraph("The reports of these trials:"), links]


def sentences(comparison: PooledComparison, measure: PooledMeasure) -> tuple[str, ...]:
    """Return what the trials say together of one measure: the change, a further trial, how much they differ."""
    pooled = measure.pooled
    if pooled.ratio is None:
        return (_not_pooled(measure),)
    return tuple(
        sentence
        for sentence in (_change(comparison, measure), _further(comparison, pooled), _spread(pooled))
        if sentence
    )


def _outcome(measure: PooledMeasure) -> str:
    return wording.OUTCOMES.get(measure.measure.key, measure.measure.label.casefold())


def _not_pooled(measure: PooledMeasure) -> str:
    trials = len(measure.trials)
    if measure.pooled.trials > 1:
        return f"The {trials} trials are not pooled for {_outcome(measure)}: {measure.pooled.note}."
    known = "only one of them has" if measure.pooled.trials else "none of them has"
    return (
        f"The {trials} trials are not pooled for {_outcome(measure)}: {known} a spread between trays to weigh it by, "
        "and pooling takes two."
    )


def _change(comparison: PooledComparison, measure: PooledMeasure) -> str:
    pooled, outcome = measure.pooled, _outcome(measure)
    gave = "gave" if measure.measure.key in wording.MADE else "used"
    treated, reference = comparison.treated, comparison.reference
    change = _in_words(pooled.ratio or 1.0)
    if pooled.low is None or pooled.high is None:
        return (
            f"Over {pooled.trials} trials, {treated} {gave}, beside {reference}, {change} {outcome}, but how much of "
            f"that is chance is not known: {pooled.note}."
        )
    level = numbers.percent_level(comparison.level)
    reach = _reach(pooled.low, pooled.high)
    if wording.tells(Comparison(ratio_low=pooled.low, ratio_high=pooled.high)):
        return (
            f"Over {pooled.trials} trials, {treated} {gave}, beside {reference}, {change} {outcome} "
            f"({level} interval {reach})."
        )
    return (
        f"Together, {pooled.trials} trials do not tell whether {treated} {gave} more or less {outcome} than "
        f"{reference}: pooled, they measured {change}, and the {level} interval reaches from {reach}."
    )


def _further(comparison: PooledComparison, pooled: PooledRatio) -> str:
    if pooled.prediction_low is None or pooled.prediction_high is None:
        return ""
    if pooled.trials == 2:
        return "Two trials hardly tell what to expect of a further one."
    level = numbers.percent_level(comparison.level)
    reach = _reach(pooled.prediction_low, pooled.prediction_high)
    return f"In a further trial like these the true change may lie anywhere from {reach} ({level} prediction interval)."


def _spread(pooled: PooledRatio) -> str:
    if pooled.i_squared is None or pooled.low is None:
        return ""
    if not pooled.tau_squared:
        return "The trials differ no more than their own errors explain (I² = 0\u00a0%, a rough figure for few trials)."
    share = numbers.share(100 * pooled.i_squared, 0.0, 100.0)  # never known to a decimal
    return (
        f"Of the variation between the trials, about {share} is more than their own errors explain (I², a rough "
        "figure for few trials)."
    )


def _in_words(ratio: float) -> str:
    """Return a ratio as a change; one near 0 never shows as 100 % less."""
    if ratio < SMALLEST:
        return f"more than 99{numbers.PER_CENT} less"
    return f"more than {LARGEST:.0f} times as much" if ratio > LARGEST else numbers.change(ratio)


def _reach(low: float, high: float) -> str:
    if low < SMALLEST or high > LARGEST:
        return f"{_in_words(low)} to {_in_words(high)}"
    return wording.interval(Comparison(ratio_low=low, ratio_high=high))


def _cautions(comparison: PooledComparison) -> tuple[str, ...]:
    """Return what a reader must not miss: the notes of the pooling, and crops or levels that are not all the same."""
    noted: dict[str, list[str]] = {}
    for measure in comparison.measures:
        for note in measure.pooled.note.split("; ") if measure.pooled.low is not None else ():
            noted.setdefault(note, []).append(_outcome(measure))
    found = [f"{_capital(numbers.listed(tuple(labels)))}: {note}." for note, labels in noted.items() if note]
    crops = tuple(dict.fromkeys(trial.crop for trial in comparison.trials))
    if len({crop.casefold() for crop in crops}) > 1:
        found.append(f"The trials did not all grow the same crop: {numbers.listed(crops)}.")
    return tuple(found)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _names(comparison: PooledComparison) -> dict[str, str]:
    """Return how each trial is called by its slug: its title, with the harvest where another has the same."""
    times = Counter(trial.title for trial in comparison.trials)
    return {
        trial.slug: f"{trial.title}, {numbers.day(trial.harvested_on)}" if times[trial.title] > 1 else trial.title
        for trial in comparison.trials
    }


def _figure(comparison: PooledComparison, measure: PooledMeasure) -> tuple[Figure, ...]:
    from reportgen.charts.forest import TrialRatio, forest
    from reportgen.charts.theme import spec

    names = _names(comparison)
    rows = [TrialRatio(names[one.trial.slug], one.ratio, one.low, one.high, one.weight) for one in measure.trials]
    title = f"{measure.measure.label}: {comparison.treated} against {comparison.reference}"
    pooled = measure.pooled if measure.pooled.ratio is not None else None
    chart = forest(title, comparison.level, rows, pooled)
    if chart is None:
        return ()
    return (
        Figure(_key(comparison, measure), _caption(comparison, measure), _alternative(measure, names), spec(chart)),
    )


def _key(comparison: PooledComparison, measure: PooledMeasure) -> str:
    return f"{comparison.key}-{measure.measure.key}"


def _caption(comparison: PooledComparison, measure: PooledMeasure) -> str:
    level = numbers.percent_level(comparison.level)
    together = (
        " The diamond is the pooled ratio with its interval; the dashed line is the prediction interval."
        if measure.pooled.low is not None
        else ""
    )
    return (
        f"{measure.measure.label} of {comparison.treated} relative to {comparison.reference} = 100{numbers.PER_CENT} "
        f"in each trial, with {level} intervals. The larger a square, the more its trial weighs.{together}"
    )


def _alternative(measure: PooledMeasure, names: dict[str, str]) -> str:
    parts = [f"{names[one.trial.slug]}: {_ratio(one.ratio, one.low, one.high)}." for one in measure.trials]
    return " ".join((*parts, *(f"{name}: {ratio}." for name, ratio, _ in _pooled_rows(measure.pooled))))


def _ratio(ratio: float | None, low: float | None, high: float | None) -> str:
    return numbers.ratio(ratio, low, high)


def _pooled_rows(pooled: PooledRatio) -> list[tuple[str, str, str]]:
    """Return the rows beneath the trials: name, ratio, weight."""
    if pooled.ratio is None:
        return []
    rows = [("All trials together", _ratio(pooled.ratio, pooled.low, pooled.high), numbers.share(100.0))]
    if pooled.prediction_low is not None and pooled.prediction_high is not None:
        _, _, reach = _ratio(1.0, pooled.prediction_low, pooled.prediction_high).partition("(")
        rows.append(("Range for another trial like these", reach.rstrip(")"), ""))
    return rows


def _table(comparison: PooledComparison, measure: PooledMeasure) -> Table:
    names = _names(comparison)
    rows = [(names[one.trial.slug], _ratio(one.ratio, one.low, one.high), _weight(one)) for one in measure.trials]
    head = ("Trial", f"{comparison.treated} relative to {comparison.reference} (interval)", "Weight")
    return Table(
        _key(comparison, measure),
        f"{measure.measure.label} in each trial",
        head,
        (*rows, *_pooled_rows(measure.pooled)),
        (False, True, True),
        f"Intervals: {numbers.percent_level(comparison.level)}. Weight: the trial's share of the pooled ratio.",
    )


def _weight(one: RatioOfTrial) -> str:
    return "none" if one.weight is None else numbers.share(100 * one.weight)


def _left_out(comparison: PooledComparison) -> tuple[str, ...]:
    """Return each trial that has no part in a pooled figure, with the reason."""
    names, total = _names(comparison), len(comparison.measures)
    reasons: dict[tuple[str, str], list[str]] = {}
    for measure in comparison.measures:
        for one in measure.trials:
            if one.note and one.weight is None:
                key = names[one.trial.slug], _trays(one)
                reasons.setdefault(key, []).append(measure.measure.label.casefold())
    found = [
        f"{name}{'' if len(labels) == total else f' ({numbers.listed(tuple(labels))})'}: {reason}."
        for (name, reason), labels in reasons.items()
    ]
    return (*found, *(f"{one.title} ({one.slug}): {one.reason}." for one in comparison.left_out))


def _trays(one: RatioOfTrial) -> str:
    """Return a note of the calculation with the trial's own word for an experimental unit."""
    first = one.note.split("; ")[0]
    return first.replace("units", f"{one.trial.unit}s").replace("unit", one.trial.unit)


def _link(comparison: PooledComparison, trial: TrialOfComparison) -> tuple[str, str, str]:
    about = f"{trial.crop}, harvested {numbers.day(trial.harvested_on)}"
    if {trial.treated, trial.reference} != {comparison.treated, comparison.reference}:
        about += f"; {trial.treated} against {trial.reference}"
    if trial.turned:
        about += f"; turned round, since its own report has {trial.reference} as reference"
    return trial.title, f"{trial.slug}/index.html", about
