"""Several trials of the same comparison: what they say together."""

from collections import Counter

from reportgen import language
from reportgen.language import listed, marked, say, say_as
from reportgen.metrics.pooled import (
    PooledComparison,
    PooledMeasure,
    RatioOfTrial,
    TrialOfComparison,
)
from reportgen.model.document import (
    Block,
    Bullets,
    Figure,
    Links,
    Notice,
    Paragraph,
    Section,
    Subheading,
    Table,
)
from reportgen.report import messages, numbers, ratios, terms, wording
from reportgen.report.figures import trials
from reportgen.report.pooled_sentences import against, notes_of, sentences
from reportgen.report.pooled_texts import METHOD, REFERENCES
from reportgen.stats.pooling import PooledRatio

POOLED = marked("All trials together")
PREDICTED = marked("Range for another trial like these")


def sections(comparisons: tuple[PooledComparison, ...]) -> tuple[Section, ...]:
    """Return the section on trials of the same comparison; none where no trials share one."""
    if not comparisons:
        return ()
    blocks: list[Block] = []
    for comparison in comparisons:
        with language.calling_units(_container(comparison)):
            blocks += _blocks(comparison)
    blocks += [
        Subheading(say("How trials are pooled")),
        Paragraph(say(METHOD)),
        Bullets(
            tuple(say(message, source=source) for message, source in REFERENCES), say("References:")
        ),
        Links(
            (
                (
                    "pooled.json",
                    "pooled.json",
                    say("every number of the pooled comparisons, unrounded"),
                ),
            )
        ),
    ]
    return (Section("same-comparison", say("Trials of the same comparison"), tuple(blocks)),)


def _container(comparison: PooledComparison) -> str:
    """Return what the trials call their experimental units, `tray` where they differ."""
    called = {trial.unit for trial in comparison.trials}
    if len(called) == 1:
        return called.pop()
    return "tray"


def _blocks(comparison: PooledComparison) -> list[Block]:
    said = (Paragraph(" ".join(sentences(comparison, measure))) for measure in comparison.measures)
    blocks: list[Block] = [Subheading(_heading(comparison)), *said]
    cautions = _cautions(comparison)
    if cautions:
        blocks.append(Notice(say("Caution"), cautions))
    for measure in comparison.measures:
        blocks += [*_figure(comparison, measure), _table(comparison, measure)]
    left_out = _left_out(comparison)
    if left_out:
        blocks.append(Bullets(left_out, say("Not in the pooled figures:")))
    links = Links(tuple(_link(comparison, trial) for trial in comparison.trials))
    return [*blocks, Paragraph(say("The reports of these trials:")), links]


def _heading(comparison: PooledComparison) -> str:
    """Return the name of a comparison, with crop and treatments where another has the same name."""
    if not comparison.shares_name:
        return comparison.name
    return (
        f"{comparison.name}, {comparison.crop}: {against(comparison.treated, comparison.reference)}"
    )


def _cautions(comparison: PooledComparison) -> tuple[str, ...]:
    """Return trials that another cause may explain, and the notes of the pooling."""
    outcomes: dict[str, list[str]] = {}
    for measure in comparison.measures:
        if measure.pooled.low is None:
            continue
        for note in notes_of(measure.pooled):
            outcomes.setdefault(note, []).append(wording.outcome_of(measure.measure))
    cautions = list(_doubted(comparison))
    for note, names in outcomes.items():
        cautions.append(f"{wording.capital(listed(names))}: {note}.")
    return tuple(cautions)


def _doubted(comparison: PooledComparison) -> tuple[str, ...]:
    """Return the pooled trials whose change may have another cause than the treatment."""
    names = _names(comparison)
    titles: dict[str, str] = {}
    for measure in comparison.measures:
        for ratio in measure.trials:
            if ratio.doubted and ratio.weight is not None:
                titles[ratio.trial.slug] = names[ratio.trial.slug]
    if not titles:
        return ()
    return (
        say(
            "Something other than the treatment may explain the change in {trials}: see there.",
            trials=listed(list(titles.values())),
        ),
    )


def _names(comparison: PooledComparison) -> dict[str, str]:
    """Return the name of each trial by its slug: its title, where two share it with the harvest."""
    times = Counter(trial.title for trial in comparison.trials)
    names: dict[str, str] = {}
    for trial in comparison.trials:
        names[trial.slug] = trial.title
        if times[trial.title] > 1:
            names[trial.slug] = f"{trial.title}, {numbers.day(trial.harvested_on)}"
    return names


def _figure(comparison: PooledComparison, measure: PooledMeasure) -> tuple[Figure, ...]:
    names = _names(comparison)
    return trials.forest(
        _key(comparison, measure), comparison, measure, names, _alternative(measure, names)
    )


def _key(comparison: PooledComparison, measure: PooledMeasure) -> str:
    return f"{comparison.key}-{measure.measure.key}"


def _label(measure: PooledMeasure) -> str:
    return terms.label(measure.measure)


def _alternative(measure: PooledMeasure, names: dict[str, str]) -> str:
    parts: list[str] = []
    for own in measure.trials:
        parts.append(f"{names[own.trial.slug]}: {_ratio(own.ratio, own.low, own.high)}.")
    for name, ratio, _ in _pooled_rows(measure.pooled):
        parts.append(f"{name}: {ratio}.")
    return " ".join(parts)


def _ratio(ratio: float | None, low: float | None, high: float | None) -> str:
    return ratios.ratio(ratio, low, high)


def _pooled_rows(pooled: PooledRatio) -> list[tuple[str, str, str]]:
    """Return the rows beneath the trials: name, ratio, weight."""
    if pooled.ratio is None:
        return []
    rows = [(say(POOLED), _ratio(pooled.ratio, pooled.low, pooled.high), numbers.share(100.0))]
    if pooled.prediction_low is not None and pooled.prediction_high is not None:
        rows.append(
            (say(PREDICTED), ratios.ratio_reach(pooled.prediction_low, pooled.prediction_high), "")
        )
    return rows


def _table(comparison: PooledComparison, measure: PooledMeasure) -> Table:
    names = _names(comparison)
    rows = [
        (names[ratio.trial.slug], _ratio(ratio.ratio, ratio.low, ratio.high), _weight(ratio))
        for ratio in measure.trials
    ]
    relative = say(
        "{treated} relative to {reference} (interval)",
        treated=comparison.treated,
        reference=comparison.reference,
    )
    return Table(
        _key(comparison, measure),
        say("{label} in each trial", label=_label(measure)),
        (say_as("pooling", "Trial"), relative, say_as("pooling", "Weight")),
        (*rows, *_pooled_rows(measure.pooled)),
        (False, True, True),
        say(
            "Intervals: {level}. Weight: the trial's share of the pooled ratio.",
            level=numbers.percent_level(comparison.level),
        ),
    )


def _weight(ratio: RatioOfTrial) -> str:
    if ratio.weight is None:
        return say_as("pooling", "none")
    return numbers.share(100 * ratio.weight)


def _left_out(comparison: PooledComparison) -> tuple[str, ...]:
    """Return each trial that has no part in a pooled figure, with the reason."""
    names = _names(comparison)
    labels: dict[tuple[str, str], list[str]] = {}
    for measure in comparison.measures:
        for ratio in measure.trials:
            if ratio.weight is not None:
                continue
            reason = _reason(ratio)
            if reason:
                key = names[ratio.trial.slug], reason
                labels.setdefault(key, []).append(wording.inside(_label(measure)))
    sentences: list[str] = []
    for (title, reason), own in labels.items():
        name = title
        if len(own) < len(comparison.measures):
            name = f"{title} ({listed(own)})"
        sentences.append(f"{name}: {reason}.")
    for trial in comparison.left_out:
        reason = messages.of_several_trials(trial.reason)
        sentences.append(f"{trial.title} ({trial.slug}): {reason}.")
    return tuple(sentences)


def _reason(ratio: RatioOfTrial) -> str:
    """Return why a trial has no part, with its own word for an experimental unit.

    Empty without a reason.
    """
    if ratio.reasons:
        return messages.Speaker({}, ratio.trial.unit).text(ratio.reasons[0])
    return ""


def _link(comparison: PooledComparison, trial: TrialOfComparison) -> tuple[str, str, str]:
    about = [say("{crop}, harvested {day}", crop=trial.crop, day=numbers.day(trial.harvested_on))]
    if {trial.treated, trial.reference} != {comparison.treated, comparison.reference}:
        about.append(against(trial.treated, trial.reference))
    if trial.inverted:
        message = marked("inverted, since its own report has {reference} as reference")
        about.append(say(message, reference=trial.reference))
    return trial.title, f"{trial.slug}/index.html", "; ".join(about)
