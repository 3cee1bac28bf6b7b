"""Several trials of the same comparison: what they say together."""

import json
from collections import Counter
from dataclasses import asdict

from reportgen import language
from reportgen.language import listed, marked, percent, say, say_as
from reportgen.metrics.pooled import (
    LeftOut,
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
from reportgen.model.results import Comparison
from reportgen.report import message_data, messages, numbers, terms, wording
from reportgen.report.answer import GIVEN
from reportgen.report.figures import trials
from reportgen.stats.pooling import PooledRatio

POOLED, PREDICTED = marked("All trials together"), marked("Range for another trial like these")
SMALLEST, LARGEST = (
    0.005,
    numbers.FAR,
)  # ratios beyond are said in words: as bare figures they would mislead
METHOD_NAME = "random effects on log ratios, REML, Hartung-Knapp interval"
METHOD = marked(
    "Each trial's ratio is taken as a log response ratio, whose variance comes from the spread"
    " between its trays, and the trials are pooled with random effects: every trial may have a true"
    " ratio of its own. The variance between trials is estimated by restricted maximum likelihood"
    " (REML), the interval is that of Hartung and Knapp, never narrower than the trials' own errors"
    " allow, and the prediction interval says where the true ratio of a further trial like these"
    " may lie. I² is the share of the variation between trials that their own errors do not"
    " explain. What instruments leave uncertain is in a trial's own interval where its report has"
    " it there, not in the pooled figure."
)
REFERENCES = (
    (
        marked("Log response ratios: {source}"),
        (
            "Hedges, L. V., Gurevitch, J. and Curtis, P. S. (1999). The meta-analysis of response"
            " ratios in experimental ecology. Ecology 80, 1150-1156."
        ),
    ),
    (
        marked("Interval: {source}"),
        (
            "Hartung, J. and Knapp, G. (2001). A refined method for the meta-analysis of controlled"
            " clinical trials with binary outcome. Statistics in Medicine 20, 3875-3889."
        ),
    ),
    (
        marked("Least factor of the interval: {source}"),
        (
            "Röver, C., Knapp, G. and Friede, T. (2015). Hartung-Knapp-Sidik-Jonkman approach and"
            " its modification for random-effects meta-analysis with few studies. BMC Medical"
            " Research Methodology 15, 99."
        ),
    ),
    (
        marked("REML: {source}"),
        (
            "Viechtbauer, W. (2005). Bias and efficiency of meta-analytic variance estimators in"
            " the random-effects model. Journal of Educational and Behavioral Statistics 30,"
            " 261-293."
        ),
    ),
    (
        marked("Prediction interval: {source}"),
        (
            "Higgins, J. P. T., Thompson, S. G. and Spiegelhalter, D. J. (2009). A re-evaluation of"
            " random-effects meta-analysis. Journal of the Royal Statistical Society A 172,"
            " 137-159."
        ),
    ),
)


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


def results_json(comparisons: tuple[PooledComparison, ...]) -> str:
    """Return every number of the pooled comparisons as JSON text, null where there is none; empty
    without any.

    It is in English whatever the language of the reports.
    """
    if not comparisons:
        return ""
    with language.using(language.ENGLISH):
        entries = [_entry(comparison) for comparison in comparisons]
    found = {"format": "pooled-trials/1", "comparisons": entries}
    return json.dumps(found, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _entry(comparison: PooledComparison) -> dict[str, object]:
    return {
        "comparison": comparison.name,
        "crop": comparison.crop,
        "treated": comparison.treated,
        "reference": comparison.reference,
        "confidence_level": comparison.level,
        "measures": [
            {
                "metric": one.measure.key,
                "pooled": _pooled_entry(one.pooled),
                "trials": [_trial_entry(ratio) for ratio in one.trials],
            }
            for one in comparison.measures
        ],
        "left_out": [_left_out_entry(one) for one in comparison.left_out],
    }


def _pooled_entry(pooled: PooledRatio) -> dict[str, object]:
    figures = {
        key: value for key, value in asdict(pooled).items() if key not in ("weights", "notes")
    }
    said = messages.of_several_trials
    return figures | {
        "method": METHOD_NAME if pooled.ratio is not None else "",
        "note": "; ".join(map(said, pooled.notes)),
        "notes": [message_data.entry(note, said(note)) for note in pooled.notes],
    }


def _trial_entry(ratio: RatioOfTrial) -> dict[str, object]:
    figures = {
        key: value for key, value in asdict(ratio).items() if key not in ("trial", "reasons")
    }
    said = messages.Speaker({}, ratio.trial.unit).text
    reasons = [message_data.entry(reason, said(reason)) for reason in ratio.reasons]
    note = "; ".join(map(said, ratio.reasons))
    return (
        {"slug": ratio.trial.slug, "turned": ratio.trial.inverted}
        | figures
        | {"note": note, "reasons": reasons}
    )


def _left_out_entry(one: LeftOut) -> dict[str, object]:
    said = messages.of_several_trials(one.reason)
    return {"slug": one.slug, "title": one.title, "reason": said, "code": one.reason.code}


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
        f"{comparison.name}, {comparison.crop}:"
        f" {_against(comparison.treated, comparison.reference)}"
    )


def _against(treated: str, reference: str) -> str:
    return say("{treated} against {reference}", treated=treated, reference=reference)


def sentences(comparison: PooledComparison, measure: PooledMeasure) -> tuple[str, ...]:
    """Return what the trials say together of one measure: the change, a further trial, how much
    they differ.
    """
    pooled = measure.pooled
    if pooled.ratio is None:
        return (_not_pooled(measure),)
    return tuple(
        sentence
        for sentence in (
            _change(comparison, measure),
            _further(comparison, pooled),
            _spread(pooled),
        )
        if sentence
    )


def _not_pooled(measure: PooledMeasure) -> str:
    found = {"number": len(measure.trials), "outcome": wording.outcome_of(measure.measure)}
    if measure.pooled.trials > 1:
        reason = "; ".join(_notes(measure.pooled))
        return say(
            "The {number} trials are not pooled for {outcome}: {reason}.", reason=reason, **found
        )
    if measure.pooled.trials:
        message = marked(
            "The {number} trials are not pooled for {outcome}: only one of them has a spread"
            " between trays to weigh it by, and pooling takes two."
        )
    else:
        message = marked(
            "The {number} trials are not pooled for {outcome}: none of them has a spread between"
            " trays to weigh it by, and pooling takes two."
        )
    return say(message, **found)


def _change(comparison: PooledComparison, measure: PooledMeasure) -> str:
    pooled, outcome = measure.pooled, wording.outcome_of(measure.measure)
    made = measure.measure.key in GIVEN
    found = {"number": pooled.trials, "treated": comparison.treated}
    said = wording.than(_change_of(pooled.ratio or 1.0), outcome, comparison.reference)
    if pooled.low is None or pooled.high is None:
        return say(_by_chance(made), said=said, reason="; ".join(_notes(pooled)), **found)
    found |= {
        "level": numbers.percent_level(comparison.level),
        "interval": _reach(pooled.low, pooled.high),
    }
    if wording.tells(Comparison(ratio_low=pooled.low, ratio_high=pooled.high)):
        return say(_told(made), said=said, **found)
    measured = numbers.in_words(_change_of(pooled.ratio or 1.0))
    return say(
        _not_told(made), outcome=outcome, reference=comparison.reference, measured=measured, **found
    )


def _by_chance(made: bool) -> str:
    if made:
        return marked(
            "Over {number} trials, {treated} gave {said}, but how much of that is chance is not"
            " known: {reason}."
        )
    return marked(
        "Over {number} trials, {treated} used {said}, but how much of that is chance is not known:"
        " {reason}."
    )


def _told(made: bool) -> str:
    if made:
        return marked("Over {number} trials, {treated} gave {said} ({level} interval {interval}).")
    return marked("Over {number} trials, {treated} used {said} ({level} interval {interval}).")


def _not_told(made: bool) -> str:
    if made:
        return marked(
            "Together, {number} trials do not tell whether {treated} gave more or less {outcome}"
            " than {reference}: pooled, they measured {measured}, and the {level} interval reaches"
            " from {interval}."
        )
    return marked(
        "Together, {number} trials do not tell whether {treated} used more or less {outcome} than"
        " {reference}: pooled, they measured {measured}, and the {level} interval reaches from"
        " {interval}."
    )


def _notes(pooled: PooledRatio) -> tuple[str, ...]:
    """Return the notes of a pooled ratio in the current language."""
    return tuple(messages.of_several_trials(note) for note in pooled.notes)


def _further(comparison: PooledComparison, pooled: PooledRatio) -> str:
    if pooled.prediction_low is None or pooled.prediction_high is None:
        return ""
    if pooled.trials == 2:
        return say("Two trials hardly tell what to expect of a further one.")
    return say(
        "In a further trial like these the true change may lie anywhere from {interval} ({level}"
        " prediction interval).",
        interval=_reach(pooled.prediction_low, pooled.prediction_high),
        level=numbers.percent_level(comparison.level),
    )


def _spread(pooled: PooledRatio) -> str:
    if pooled.i_squared is None or pooled.low is None:
        return ""
    if not pooled.tau_squared:
        message = marked(
            "The trials disagree no more than chance explains (I² = {share}, a rough figure for few"
            " trials)."
        )
        return say(message, share=percent("0"))
    share = numbers.share(100 * pooled.i_squared, 0.0, 100.0)  # never known to a decimal
    message = marked(
        "The trials disagree more than chance explains: about {share} of the variation between them"
        " (I², a rough figure for few trials)."
    )
    return say(message, share=share)


def _change_of(ratio: float) -> numbers.Change:
    """Return a ratio as a change; one near 0 never shows as 100% less."""
    if ratio < SMALLEST:
        return numbers.Change("less", say("more than {size}", size=percent("99")))
    if ratio > LARGEST:
        return numbers.Change("times", say("more than {size}", size=f"{LARGEST:.0f}"))
    return numbers.change_of(ratio)


def _reach(low: float, high: float) -> str:
    if low < SMALLEST or high > LARGEST:
        ends = (numbers.in_words(_change_of(end)) for end in (low, high))
        return say_as("change", "{low} to {high}", **dict(zip(("low", "high"), ends, strict=True)))
    return wording.interval(Comparison(ratio_low=low, ratio_high=high))


def _cautions(comparison: PooledComparison) -> tuple[str, ...]:
    """Return what a reader must not miss: trials that another cause may explain, and the notes of
    the pooling.
    """
    noted: dict[str, list[str]] = {}
    for measure in comparison.measures:
        for note in _notes(measure.pooled) if measure.pooled.low is not None else ():
            noted.setdefault(note, []).append(wording.outcome_of(measure.measure))
    notes = (f"{wording.capital(listed(outcomes))}: {note}." for note, outcomes in noted.items())
    return (*_doubted(comparison), *notes)


def _doubted(comparison: PooledComparison) -> tuple[str, ...]:
    """Return the pooled trials whose change may have another cause than the treatment."""
    pooled = [
        one for measure in comparison.measures for one in measure.trials if one.weight is not None
    ]
    slugs = dict.fromkeys(one.trial.slug for one in pooled if one.doubted)
    names = _names(comparison)
    if not slugs:
        return ()
    titles = listed([names[slug] for slug in slugs])
    return (
        say(
            "Something other than the treatment may explain the change in {trials}: see there.",
            trials=titles,
        ),
    )


def _names(comparison: PooledComparison) -> dict[str, str]:
    """Return how each trial is called by its slug: its title, with the harvest where another has
    the same.
    """
    times = Counter(trial.title for trial in comparison.trials)
    return {
        trial.slug: (
            f"{trial.title}, {numbers.day(trial.harvested_on)}"
            if times[trial.title] > 1
            else trial.title
        )
        for trial in comparison.trials
    }


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
    parts = [
        f"{names[one.trial.slug]}: {_ratio(one.ratio, one.low, one.high)}."
        for one in measure.trials
    ]
    return " ".join(
        (*parts, *(f"{name}: {ratio}." for name, ratio, _ in _pooled_rows(measure.pooled)))
    )


def _ratio(ratio: float | None, low: float | None, high: float | None) -> str:
    return numbers.ratio(ratio, low, high)


def _pooled_rows(pooled: PooledRatio) -> list[tuple[str, str, str]]:
    """Return the rows beneath the trials: name, ratio, weight."""
    if pooled.ratio is None:
        return []
    rows = [(say(POOLED), _ratio(pooled.ratio, pooled.low, pooled.high), numbers.share(100.0))]
    if pooled.prediction_low is not None and pooled.prediction_high is not None:
        rows.append(
            (say(PREDICTED), numbers.ratio_reach(pooled.prediction_low, pooled.prediction_high), "")
        )
    return rows


def _table(comparison: PooledComparison, measure: PooledMeasure) -> Table:
    names = _names(comparison)
    rows = [
        (names[one.trial.slug], _ratio(one.ratio, one.low, one.high), _weight(one))
        for one in measure.trials
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


def _weight(one: RatioOfTrial) -> str:
    if one.weight is None:
        return say_as("pooling", "none")
    return numbers.share(100 * one.weight)


def _left_out(comparison: PooledComparison) -> tuple[str, ...]:
    """Return each trial that has no part in a pooled figure, with the reason."""
    names, total = _names(comparison), len(comparison.measures)
    reasons: dict[tuple[str, str], list[str]] = {}
    for measure in comparison.measures:
        for one in measure.trials:
            if one.weight is None:
                reason = _reason(one)
            else:
                reason = ""
            if reason:
                key = names[one.trial.slug], reason
                reasons.setdefault(key, []).append(wording.inside(_label(measure)))
    found = [
        f"{name}{'' if len(labels) == total else f' ({listed(labels)})'}: {reason}."
        for (name, reason), labels in reasons.items()
    ]
    others = (
        f"{one.title} ({one.slug}): {messages.of_several_trials(one.reason)}."
        for one in comparison.left_out
    )
    return (*found, *others)


def _reason(one: RatioOfTrial) -> str:
    """Return why a trial has no part, with its own word for an experimental unit; empty without a
    reason.
    """
    if one.reasons:
        return messages.Speaker({}, one.trial.unit).text(one.reasons[0])
    return ""


def _link(comparison: PooledComparison, trial: TrialOfComparison) -> tuple[str, str, str]:
    about = [say("{crop}, harvested {day}", crop=trial.crop, day=numbers.day(trial.harvested_on))]
    if {trial.treated, trial.reference} != {comparison.treated, comparison.reference}:
        about.append(_against(trial.treated, trial.reference))
    if trial.inverted:
        message = marked("inverted, since its own report has {reference} as reference")
        about.append(say(message, reference=trial.reference))
    return trial.title, f"{trial.slug}/index.html", "; ".join(about)
