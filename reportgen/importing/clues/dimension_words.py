"""Which dimensions the words of a header or label name."""

from typing import Final

from reportgen.importing import words
from reportgen.importing.model.layouts import Dimension

_MEANINGS: Final = {
    Dimension.TREATMENT: {"treatment": 1.0, "varied": 0.5},
    Dimension.UNIT: {"unit": 1.0, "block": 0.4},
    Dimension.BLOCK: {"block": 1.0},
    Dimension.PLANT: {"plant": 1.0},
    Dimension.OCCASION: {"date": 1.0, "picking": 1.0, "sample": 0.5},
    Dimension.METER: {"meter": 1.0},
    Dimension.GRADE: {"grade": 1.0},
}
_OF_ANYTHING: Final = (("id",), ("no",), ("nr",), ("code",), ("label",))  # headers of any label
_QUANTITIES: Final = (
    "weight", "fresh", "dry", "gross", "tare", "net", "height", "leaves", "leaf_area", "pieces", "dose", "further",
    "price", "water", "added", "drained", "left", "energy", "reading", "temperature", "humidity", "ppfd", "lux", "dli",
    "sum", "mean", "count", "spread", "extreme", "difference",
)  # fmt: skip


def named_dimensions(text: str) -> dict[Dimension, float]:
    """Return the dimensions that words of a text name, 1 where plainly and less where they may."""
    if words.tokens(text) in _OF_ANYTHING:
        return {}
    meanings = words.meanings(text)
    if names_another_day(text):
        return {}
    named: dict[Dimension, float] = {}
    for dimension, shares in _MEANINGS.items():
        share = max((shares[meaning] for meaning in shares if meaning in meanings), default=0.0)
        if share:
            named[dimension] = share
    return named


def names_nobody(text: str) -> bool:
    """Tell whether a text names remarks, persons or states."""
    return words.says(text, "remark", "person", "status", "lost")


def names_another_day(text: str) -> bool:
    """Tell whether a text names days of something else than weighing, such as the sowing or the
    first flower.
    """
    return words.says(text, "sown", "other_day") and not words.says(
        text, "sample"
    )  # `days after sowing`


def names_quantity(text: str) -> bool:
    """Tell whether a text names something measured or computed, such as a weight, lux or a total."""
    return words.says(text, *_QUANTITIES)


def names_factor(text: str) -> bool:
    """Tell whether a text names a cultivar or a crop, which is a second factor or a second trial."""
    return words.says(text, "cultivar", "crop")
