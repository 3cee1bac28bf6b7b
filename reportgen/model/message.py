"""Meaning as data: what the calculation found, as a code and values; `report/messages.py` makes
sentences of it.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Amount:
    """A number with its unit: `unit` is empty for a bare number.

    Readers see three significant digits.
    """

    value: float
    unit: str = ""


@dataclass(frozen=True)
class Span:
    """The lowest and the highest of some values, in one unit.

    Readers see one number where both look alike.
    """

    low: float
    high: float
    unit: str = ""


@dataclass(frozen=True)
class Share:
    """A part of a whole from 0 to 1, or how far one value lies above another, relative to it.

    Readers see percent.
    """

    value: float


@dataclass(frozen=True)
class Count:
    """A number of things. `noun` is a key of the counted nouns, such as `tray`, `plant` or `day`."""

    number: int
    noun: str


@dataclass(frozen=True)
class Day:
    """A date, ISO 8601."""

    on: str


@dataclass(frozen=True)
class Term:
    """A word of a closed list, by its key in `report/terms.py`, such as `air temperature`."""

    key: str


@dataclass(frozen=True)
class TreatmentName:
    """A treatment by its code. Readers see its name."""

    code: str


@dataclass(frozen=True)
class Quote:
    """The grower's own words, which stay as they are in every language."""

    text: str


@dataclass(frozen=True)
class Several:
    """Several values, said as a list such as `a, b and c`."""

    members: tuple["Value", ...]


@dataclass(frozen=True)
class OfTreatment:
    """A value that belongs to one treatment, such as `21 °C for Warm`."""

    value: "Value"
    treatment: str


@dataclass(frozen=True)
class Message:
    """A finding, note or verdict by its `code`, with named `values`.

    The code is a key of the texts in `report/messages.py`. Nothing reads the text back: whoever
    wants to know what was found asks for the code.
    """

    code: str
    values: tuple[tuple[str, "Value"], ...] = ()

    def value(self, name: str) -> "Value":
        """Return a value by its name; raise KeyError where the message has none of that name."""
        return dict(self.values)[name]


Value = (
    Amount
    | Span
    | Share
    | Count
    | Day
    | Term
    | TreatmentName
    | Quote
    | Several
    | OfTreatment
    | Message
)


def message(code: str, **values: Value) -> Message:
    """Return a message with its values in the order given."""
    return Message(code, tuple(values.items()))


Notes = tuple[Message, ...]


def note(code: str, **values: Value) -> Notes:
    """Return one note, as a tuple of messages that others can be added to."""
    return (message(code, **values),)


def joined(*notes: Notes) -> Notes:
    """Return all notes, each once, in their order."""
    filled = [several for several in notes if several]
    if len(filled) < 2:
        if filled:
            return filled[0]
        return ()
    every: list[Message] = []
    for several in filled:
        every += several
    return tuple(dict.fromkeys(every))
