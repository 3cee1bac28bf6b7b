"""What the calculation found, in words: one text for each code, in the current language.

Nothing reads these texts back. A text names the values of its message as placeholders; `unit`,
`units`, `Unit` and `Units` are the trial's own word for its experimental unit.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import singledispatch
from typing import Final

from reportgen import language
from reportgen.language import say
from reportgen.model.message import (
    Amount,
    Count,
    Day,
    Message,
    OfTreatment,
    Quote,
    Several,
    Share,
    Span,
    Term,
    TreatmentName,
    Value,
)
from reportgen.model.trial import Trial
from reportgen.report import numbers, terms, units
from reportgen.report.message_texts import (
    FOR_THE_AUTHOR,
    OF_NO_TREATMENT,
    OWN_INSTRUMENTS,
    OWN_OF_SEVERAL,
    TEXTS,
)

IN_CLAUSES: Final = frozenset(("beyond", "lost"))  # lists whose members have commas of their own


@dataclass(frozen=True)
class Speaker:
    """What a text needs of a trial.

    The names of its treatments by code, its word for an experimental unit.
    """

    names: Mapping[str, str]
    unit: str

    def text(self, message: Message) -> str:
        """Return a message in the current language; raise KeyError for a code without a text."""
        if message.code in OF_NO_TREATMENT and self._names_all(message):
            return self.clause(OF_NO_TREATMENT[message.code], message)
        return self.clause(TEXTS[message.code], message)

    def _names_all(self, message: Message) -> bool:
        """Return whether a message names every treatment of the trial."""
        named = dict(message.values).get("treatments")
        if not isinstance(named, Several):
            return False
        codes = {member.code for member in named.members if isinstance(member, TreatmentName)}
        return codes == set(self.names)

    def clause(self, text: str, message: Message) -> str:
        """Return another text with the values of a message, such as a part of a sentence."""
        values = {name: self._value(name, value) for name, value in message.values}
        return say(text, **self._unit_words(), **values)

    def value(self, value: Value) -> str:
        """Return a value in the current language."""
        return _value_text(value, self)

    def listed(self, values: Iterable[Value]) -> str:
        """Return values as a list such as `a, b and c`."""
        return language.listed([self.value(value) for value in values])

    def _value(self, name: str, value: Value) -> str:
        if name in IN_CLAUSES and isinstance(value, Several):
            return "; ".join(self.value(member) for member in value.members)
        return self.value(value)

    def _unit_words(self) -> dict[str, str]:
        unit, units = terms.unit_word(self.unit), terms.unit_word(self.unit, 2)
        return {"unit": unit, "units": units, "Unit": _capital(unit), "Units": _capital(units)}


def speaker(trial: Trial) -> Speaker:
    """Return what says the messages of a trial."""
    return Speaker({treatment.code: treatment.name for treatment in trial.treatments}, trial.unit)


def text(trial: Trial, message: Message) -> str:
    """Return a message about a trial in the current language.

    Raise KeyError for a code without a text.
    """
    return speaker(trial).text(message)


def texts(trial: Trial, messages: Iterable[Message]) -> str:
    """Return messages about a trial, a sentence each, one after another."""
    return " ".join(text(trial, message) for message in messages)


def published(trial: Trial, messages: Iterable[Message]) -> str:
    """Return messages about a trial without advice that only its author can follow."""
    shown = [message for message in messages if message.code not in FOR_THE_AUTHOR]
    own = [message for message in shown if message.code in OWN_INSTRUMENTS]
    if len(own) < 2:
        return texts(trial, shown)
    voice = speaker(trial)
    instruments: list[str] = []
    for message in own:
        instruments.append(voice.clause(OWN_INSTRUMENTS[message.code], message))
    rest = texts(trial, (message for message in shown if message not in own))
    several = say(OWN_OF_SEVERAL, instruments=language.listed(instruments))
    return f"{several} {rest}".strip()


def clauses(trial: Trial, messages: Iterable[Message]) -> str:
    """Return messages about a trial as parts of one sentence."""
    return "; ".join(text(trial, message) for message in messages)


def of_several_trials(message: Message) -> str:
    """Return a message about several trials together."""
    return Speaker({}, "tray").text(message)


def known_values(trial: Trial, values: Iterable[Value]) -> str:
    """Return what is known of an item: of all treatments together, or of each by its name.

    What is the same for all treatments is said once.
    """
    voice = speaker(trial)
    whole: list[str] = []
    own: dict[str, list[str]] = {}
    for value in values:
        if isinstance(value, OfTreatment):
            own.setdefault(value.treatment, []).append(voice.value(value.value))
        else:
            whole.append(voice.value(value))
    by_treatment = {code: "; ".join(parts) for code, parts in own.items()}
    distinct = set(by_treatment.values())
    if len(distinct) == 1 and len(by_treatment) == len(trial.treatments):
        return "; ".join((*whole, *distinct))
    for code, text in by_treatment.items():
        whole.append(f"{voice.names[code]}: {text}")
    return "; ".join(whole)


@singledispatch
def _value_text(value: Value, by: Speaker) -> str:
    raise TypeError(f"no words for a {type(value).__name__}")


@_value_text.register
def _(value: Amount, by: Speaker) -> str:
    return units.with_other(
        *(numbers.amount(size, unit) for size, unit in units.amounts(value.value, value.unit))
    )


@_value_text.register
def _(value: Span, by: Speaker) -> str:
    lows, highs = (units.amounts(bound, value.unit) for bound in (value.low, value.high))
    return units.with_other(
        *(
            numbers.reach(low, high, unit)
            for (low, _), (high, unit) in zip(lows, highs, strict=True)
        )
    )


@_value_text.register
def _(value: Share, by: Speaker) -> str:
    return numbers.part(value.value)


@_value_text.register
def _(value: Count, by: Speaker) -> str:
    if value.noun == "unit":
        noun = by.unit
    else:
        noun = value.noun
    return terms.counted(noun, value.number)


@_value_text.register
def _(value: Day, by: Speaker) -> str:
    return numbers.day(date.fromisoformat(value.on))


@_value_text.register
def _(value: Term, by: Speaker) -> str:
    return terms.term(value.key)


@_value_text.register
def _(value: TreatmentName, by: Speaker) -> str:
    return by.names[value.code]


@_value_text.register
def _(value: Quote, by: Speaker) -> str:
    return value.text


@_value_text.register
def _(value: Several, by: Speaker) -> str:
    return by.listed(value.members)


@_value_text.register
def _(value: OfTreatment, by: Speaker) -> str:
    return say("{value} for {name}", value=by.value(value.value), name=by.names[value.treatment])


@_value_text.register
def _(value: Message, by: Speaker) -> str:
    return by.text(value)


def _capital(word: str) -> str:
    return word[:1].upper() + word[1:]
