"""Numbers that are kept as text: what a comma or a point in them is, decided for a whole column."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf, isfinite, log10
from statistics import median
from typing import Final

from reportgen.workbook.raw import Value

GROUPED: Final = re.compile(r"[+-]?\d{1,3}(?:[ \u00a0\u202f'’]\d{3})+(?:[.,]\d+)?")
GROUPS: Final = re.compile(r"[ \u00a0\u202f'’]")
PLAIN: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
DECIMAL_COMMA: Final = re.compile(r"[+-]?\d*,(?:\d{1,2}|\d{4,})")
EITHER: Final = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")  # a thousand, or a decimal to three digits
SURE_COMMA: Final = re.compile(r"[+-]?(?:0|\d{4,})?,\d{3}")  # no thousand begins with 0 or has four digits in front
POINT: Final = re.compile(r"[+-]?[1-9]\d{0,2}\.\d{3}")  # a thousand, where a comma is the decimal sign
FEWEST_OF_THREE: Final = 100  # next to numbers of three digits a thousand is usual
THOUSANDS_COMMA: Final = re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d*)|[+-]?[1-9]\d{0,2}(?:,\d{3}){2,}")
THOUSANDS_POINT: Final = re.compile(r"[+-]?[1-9]\d{0,2}(?:\.\d{3})+,\d*|[+-]?[1-9]\d{0,2}(?:\.\d{3}){2,}")


@dataclass(frozen=True)
class TextNumbers:
    """What commas and points are in the numbers of one column; where both hold, nothing is decided."""

    decimal_comma: bool
    thousands_comma: bool
    thousands_point: bool = False

    @classmethod
    def of(cls, values: Iterable[Value]) -> "TextNumbers":
        """Return what the texts of a column show together."""
        values = tuple(values)
        texts = [_bare(value) for value in values if isinstance(value, str)]
        decimal = any(
            pattern.fullmatch(text) for text in texts for pattern in (DECIMAL_COMMA, SURE_COMMA, THOUSANDS_POINT)
        )
        return cls(decimal, any(THOUSANDS_COMMA.fullmatch(text) for text in texts), _has_thousands(values))

    def read(self, value: Value) -> Value:
        """Return a number that is kept as text as a number; what is no number, or could be two, as it stands."""
        text = _bare(value) if isinstance(value, str) else ""
        if not text:
            return value
        if THOUSANDS_POINT.fullmatch(text) or (self._is_point_thousand and POINT.fullmatch(text)):
            text = text.replace(".", "").replace(",", ".")
        elif THOUSANDS_COMMA.fullmatch(text) or (EITHER.fullmatch(text) and self._is_thousand):
            text = text.replace(",", "")
        elif not EITHER.fullmatch(text) or self._is_decimal:
            text = text.replace(",", ".")
        number = float(text) if PLAIN.fullmatch(text) else inf  # 1e400 is none either
        return number if isfinite(number) else value

    @property
    def _is_thousand(self) -> bool:
        return self.thousands_comma and not self.decimal_comma

    @property
    def _is_point_thousand(self) -> bool:
        return self._is_decimal or self.thousands_point

    @property
    def _is_decimal(self) -> bool:
        return self.decimal_comma and not self.thousands_comma


def _has_thousands(values: Sequence[Value]) -> bool:
    """Tell whether a point before three digits parts thousands: all else are whole numbers of about that size.

    As 1.050 beside 985; read with a decimal point it would be a thousandth of the others.
    """
    pointed = [float(text) for text in point_texts(values)]
    others = [float(value) for value in values if isinstance(value, int | float) and not isinstance(value, bool)]
    texts = [_bare(value) for value in values if isinstance(value, str)]
    others += [float(text) for text in texts if PLAIN.fullmatch(text) and not POINT.fullmatch(text)]
    if not pointed or not others or not all(one.is_integer() for one in others):
        return False
    usual = median(map(abs, others))
    return usual >= FEWEST_OF_THREE and all(abs(log10(abs(one) * 1000 / usual)) < 1 for one in pointed)


def point_texts(values: Iterable[Value]) -> list[str]:
    """Return the texts such as 1.050, which may be thousands."""
    texts = (_bare(value) for value in values if isinstance(value, str))
    return [text for text in texts if POINT.fullmatch(text)]


def are_thousands_or_decimals(values: Sequence[Value]) -> bool:
    """Tell whether a column's only points stand before three digits, and nothing in it says what they are."""
    texts = [_bare(value) for value in values if isinstance(value, str)]
    numbers = TextNumbers.of(values)
    decided = numbers.decimal_comma or numbers.thousands_comma or numbers.thousands_point
    pointed = [text for text in texts if "." in text and PLAIN.fullmatch(text)]
    fractions = any(isinstance(value, float) and not value.is_integer() for value in values)
    return bool(pointed) and all(map(POINT.fullmatch, pointed)) and not decided and not fractions


def _bare(value: str) -> str:
    text = value.strip().replace("−", "-")
    return GROUPS.sub("", text) if GROUPED.fullmatch(text) else text
