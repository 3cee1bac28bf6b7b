"""Messages as plain data for scripts: codes and values, nothing worded or rounded."""

from functools import singledispatch
from typing import Any

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

Plain = Any  # what JSON can hold: a text, an object or a list


def entry(message: Message, text: str) -> dict[str, Plain]:
    """Return a message with its text: `{"code": ..., "values": {...}, "text": ...}`."""
    return {"code": message.code, "values": _values(message), "text": text}


@singledispatch
def plain(value: Value) -> Plain:
    """Return a value as what JSON can hold.

    An object whose keys say what kind of value it is, a list of several.
    """
    raise TypeError(f"no plain data for a {type(value).__name__}")


@plain.register
def _(value: Amount) -> Plain:
    return {"value": value.value, "unit": value.unit}


@plain.register
def _(value: Span) -> Plain:
    return {"low": value.low, "high": value.high, "unit": value.unit}


@plain.register
def _(value: Share) -> Plain:
    return {"share": value.value}


@plain.register
def _(value: Count) -> Plain:
    return {"number": value.number, "of": value.noun}


@plain.register
def _(value: Day) -> Plain:
    return {"day": value.on}


@plain.register
def _(value: Term) -> Plain:
    return {"term": value.key}


@plain.register
def _(value: TreatmentName) -> Plain:
    return {"treatment": value.code}


@plain.register
def _(value: Quote) -> Plain:
    return {"quote": value.text}


@plain.register
def _(value: Several) -> Plain:
    return [plain(member) for member in value.members]


@plain.register
def _(value: OfTreatment) -> Plain:
    return {"treatment": value.treatment, "known": plain(value.value)}


@plain.register
def _(value: Message) -> Plain:
    return {"code": value.code, "values": _values(value)}


def _values(message: Message) -> dict[str, Plain]:
    return {name: plain(value) for name, value in message.values}
