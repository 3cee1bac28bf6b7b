"""What several trials say together, as sentences."""

from reportgen.language import marked, percent, say, say_as
from reportgen.metrics.pooled import (
    PooledComparison,
    PooledMeasure,
)
from reportgen.model.results import Comparison
from reportgen.report import messages, numbers, ratios, wording
from reportgen.report.verbs import GIVEN
from reportgen.stats.pooling import PooledRatio

# Ratios beyond these two are said in words: as bare figures they would mislead.
SMALLEST = 0.005


LARGEST = ratios.FAR


METHOD_NAME = "random effects on log ratios, REML, Hartung-Knapp interval"


def against(treated: str, reference: str) -> str:
    """Return which treatment is compared with which."""
    return say("{treated} against {reference}", treated=treated, reference=reference)


def sentences(comparison: PooledComparison, measure: PooledMeasure) -> tuple[str, ...]:
    """Return what the trials say together of one measure: change, further trial, spread."""
    pooled = measure.pooled
    if pooled.ratio is None:
        return (_not_pooled(measure),)
    change = _change(comparison, measure)
    further = _further(comparison, pooled)
    spread = _spread(pooled)
    return tuple(filter(None, (change, further, spread)))


def _not_pooled(measure: PooledMeasure) -> str:
    found = {"number": len(measure.trials), "outcome": wording.outcome_of(measure.measure)}
    if measure.pooled.trials > 1:
        reason = "; ".join(notes_of(measure.pooled))
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
        return say(_by_chance(made), said=said, reason="; ".join(notes_of(pooled)), **found)
    found |= {
        "level": numbers.percent_level(comparison.level),
        "interval": _reach(pooled.low, pooled.high),
    }
    if wording.tells(Comparison(ratio_low=pooled.low, ratio_high=pooled.high)):
        return say(_told(made), said=said, **found)
    measured = ratios.in_words(_change_of(pooled.ratio or 1.0))
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


def notes_of(pooled: PooledRatio) -> tuple[str, ...]:
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


def _change_of(ratio: float) -> ratios.Change:
    """Return a ratio as a change; one near 0 never shows as 100% less."""
    if ratio < SMALLEST:
        return ratios.Change("less", say("more than {size}", size=percent("99")))
    if ratio > LARGEST:
        return ratios.Change("times", say("more than {size}", size=f"{LARGEST:.0f}"))
    return ratios.change_of(ratio)


def _reach(low: float, high: float) -> str:
    if low < SMALLEST or high > LARGEST:
        ends = (ratios.in_words(_change_of(end)) for end in (low, high))
        return say_as("change", "{low} to {high}", **dict(zip(("low", "high"), ends, strict=True)))
    return wording.interval(Comparison(ratio_low=low, ratio_high=high))
