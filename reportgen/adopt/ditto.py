"""Signs and words that repeat what stands above them."""

import re
from collections.abc import Sequence
from typing import Final

from reportgen.workbook.raw import Value
from reportgen.workbook.values import blank

SIGN: Final = re.compile(r"[-–—_ ]*(?:[\"”“„″〃»]|''|’’|´´|``|,,)[-–—_ ]*(?:[\"”“„″〃»]|''|,,)?[-–—_ ]*")
WORD: Final = re.compile(r"idem|id\.|ditto|dito|do\.|dto\.?|detto|wie oben|(?:as|same as) above", re.IGNORECASE)


def is_ditto(value: Value) -> bool:
    """Tell whether a cell holds a sign or a word for what stands above it."""
    text = value.strip() if isinstance(value, str) else ""
    return bool(text and (SIGN.fullmatch(text) or WORD.fullmatch(text)))


def repeated(values: Sequence[Value]) -> tuple[Value, ...]:
    """Return values with what each sign for the one above stands for; as it is where nothing stands above."""
    last: Value = None
    found: list[Value] = []
    for value in values:
        ditto = is_ditto(value) and last is not None
        found.append(last if ditto else value)
        last = last if ditto or blank(value) else value
    return tuple(found)
