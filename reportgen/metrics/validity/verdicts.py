"""Verdicts and the messages behind them: what the checks of a fair test share."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from reportgen.metrics.totals import planted
from reportgen.model.message import (
    Amount,
    Count,
    Day,
    Message,
    OfTreatment,
    Quote,
    Several,
    TreatmentName,
    Value,
)
from reportgen.model.results import VerdictWord
from reportgen.model.trial import Trial

Finding = tuple[VerdictWord, tuple[Message, ...]]
Values = Mapping[str, float]  # by treatment's code

ROUNDING = 1e-9  # relative: a value this close to a limit is on it
GRAVEST_FIRST: tuple[VerdictWord, ...] = ("problem", "caution", "not recorded", "sound")


def worst(*verdicts: VerdictWord) -> VerdictWord:
    """Return the gravest of some verdicts.

    What was not recorded is graver than what is sound, no more.
    """
    return min(verdicts, key=GRAVEST_FIRST.index)


def gravity(finding: Finding) -> int:
    """Return a key that sorts the gravest findings first."""
    return GRAVEST_FIRST.index(finding[0])


def finding(verdict: VerdictWord, *messages: Message) -> Finding:
    """Return a verdict with its messages."""
    return verdict, messages


def together(*findings: Finding) -> Finding:
    """Return the gravest verdict of some findings, with all that they say."""
    messages: list[Message] = []
    for _, own in findings:
        messages += own
    verdict = worst(*(verdict for verdict, _ in findings))
    return verdict, tuple(messages)


def at_most(value: float, sound: float, caution: float) -> VerdictWord:
    """Return the verdict on a value that is sound up to one limit and a caution up to the next."""
    if value <= sound + ROUNDING * abs(sound):
        return "sound"
    if value <= caution + ROUNDING * abs(caution):
        return "caution"
    return "problem"


def at_least(value: float, sound: float, caution: float) -> VerdictWord:
    """Return the verdict on a value that is sound down to one limit and a caution down to the next."""
    return at_most(-value, -sound, -caution)


def number(value: float) -> Amount:
    """Return a bare number."""
    return Amount(float(value))


def day(value: date) -> Day:
    """Return a date."""
    return Day(value.isoformat())


def units(trial: Trial, count: int) -> Count:
    """Return a number of trays or pots, by the trial's word for its experimental unit."""
    return Count(count, trial.unit)


def quotes(texts: Iterable[str]) -> Several:
    """Return names and other words of the grower as a list."""
    return Several(tuple(Quote(text) for text in texts))


def names(trial: Trial, codes: Iterable[str]) -> Several:
    """Return the names of some treatments, in the order of the trial."""
    wanted = set(codes)
    in_order = [TreatmentName(code) for code in trial.treatment_codes if code in wanted]
    return Several(tuple(in_order))


def each(trial: Trial, values: Mapping[str, Value]) -> Several:
    """Return what is known of each treatment that something is known of, in the order of the trial."""
    return Several(tuple(of_each(trial, values)))


def of_each(trial: Trial, values: Mapping[str, Value]) -> Sequence[OfTreatment]:
    """Return each treatment's value with its treatment, in the order of the trial."""
    of_treatments: list[OfTreatment] = []
    for code in trial.treatment_codes:
        if code in values:
            of_treatments.append(OfTreatment(values[code], code))
    return of_treatments


def amounts(values: Values, unit: str) -> dict[str, Value]:
    """Return values by treatment as amounts in a unit."""
    return {code: Amount(value, unit) for code, value in values.items()}


def lacking(trial: Trial, known: Iterable[str]) -> list[str]:
    """Return the codes of the treatments that nothing is known of."""
    present = set(known)
    return [code for code in trial.treatment_codes if code not in present]


def means(trial: Trial, values: Mapping[str, float]) -> dict[str, float]:
    """Return each treatment's mean of its trays' values, trays without plants and without a value
    left out.
    """
    by_treatment: dict[str, list[float]] = {}
    for tray in planted(trial):
        if tray.code in values:
            by_treatment.setdefault(tray.treatment, []).append(values[tray.code])
    return {code: sum(own) / len(own) for code, own in by_treatment.items()}
