"""Sources of labels as text: `column:Shelf`, `over:1`, `section`, `part:ID:1`, `fixed:warm`."""

from typing import Final

from reportgen.importing.model.layouts import Carrier, CarrierKind, Dimension, Source
from reportgen.language import marked, say

ALONE: Final = (
    CarrierKind.SECTION,
    CarrierKind.SHEET,
    CarrierKind.FILE,
    CarrierKind.TITLE,
    CarrierKind.COLOUR,
    CarrierKind.ORDER,
)
NAMED: Final = (CarrierKind.COLUMN, CarrierKind.OVER, CarrierKind.TITLE, CarrierKind.FIXED)
DIMENSIONS: Final = tuple(dimension.value for dimension in Dimension)
EXPECTED: Final = marked(
    "column:NAME, over:1, section, sheet, file, title, title:LABEL, colour, part:NAME:1,"
    " fixed:TEXT, order or a dimension"
)
JOIN: Final = " + "


def source_text(carriers: tuple[Carrier, ...]) -> str | list[str]:
    """Return carriers as text, as a list where several are joined."""
    texts = [carrier_text(carrier) for carrier in carriers]
    if len(texts) == 1:
        return texts[0]
    return texts


def carrier_text(carrier: Carrier) -> str:
    """Return a carrier as text."""
    if carrier.part:
        return f"part:{_whole_text(carrier)}:{carrier.part}"
    if carrier.kind is CarrierKind.DIMENSION:
        return carrier.name
    if carrier.name:
        return f"{carrier.kind}:{carrier.name}"
    return carrier.kind.value


def _whole_text(carrier: Carrier) -> str:
    """Return what a part is of: a column by its bare name, unless that reads as another carrier."""
    if carrier.kind is CarrierKind.COLUMN and _whole(carrier.name) == Carrier(
        CarrierKind.COLUMN, carrier.name
    ):
        return carrier.name
    if carrier.name:
        return f"{carrier.kind} {carrier.name}"
    return carrier.kind.value


def source_in(texts: object) -> Source:
    """Return the source that a text, or a list of texts, names.

    Raises ValueError where it names none.
    """
    if isinstance(texts, list) and texts:
        return Source(tuple(_carrier(text) for text in texts))
    if isinstance(texts, str) and JOIN in texts:
        try:
            return Source(tuple(_carrier(text.strip()) for text in texts.split(JOIN)))
        except ValueError:
            return Source((_carrier(texts),))
    return Source((_carrier(texts),))


def _carrier(text: object) -> Carrier:
    if not isinstance(text, str):
        raise ValueError(say(EXPECTED))
    word, colon, name = text.partition(":")
    word = word.strip()
    if not colon:
        return _nameless(word)
    if word == "part":
        return _part(name)
    if word in NAMED and name.strip():
        return Carrier(CarrierKind(word), name.strip())
    raise ValueError(say(EXPECTED))


def _nameless(word: str) -> Carrier:
    """Return the carrier that a word alone names, such as `sheet` or a dimension."""
    if word in ALONE:
        return Carrier(CarrierKind(word))
    if word in DIMENSIONS:
        return Carrier(CarrierKind.DIMENSION, word)
    if word == "part":
        return _part("")
    raise ValueError(say(EXPECTED))


def _part(text: str) -> Carrier:
    name, _, number = text.rpartition(":")
    if not name.strip() or not number.strip().isdecimal() or int(number) < 1:
        raise ValueError(say("part:NAME:1, the first part of each label of NAME"))
    whole = _whole(name.strip())
    return Carrier(whole.kind, whole.name, int(number))


def _whole(name: str) -> Carrier:
    """Return the carrier that a name in `part:NAME:1` means.

    It is a column, unless it begins with the word of another.
    """
    if name in ALONE:
        return Carrier(CarrierKind(name))
    if name in DIMENSIONS:
        return Carrier(CarrierKind.COLUMN, name)
    word, _, rest = name.partition(" ")
    if word in (*NAMED, CarrierKind.DIMENSION) and rest:
        return Carrier(CarrierKind(word), rest)
    return Carrier(CarrierKind.COLUMN, name)
