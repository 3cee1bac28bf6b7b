"""Numbers that are kept as text: what a comma in them is, decided for a whole column."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from reportgen.workbook.raw import Value

GROUPED: Final = re.compile(r"[+-]?\d{1,3}(?:[ \u00a0\u202f'’]\d{3})+(?:[.,]\d+)?")
GROUPS: Final = re.compile(r"[ \u00a0\u202f'’]")
PLAIN: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
DECIMAL_COMMA: Final = re.compile(r"[+-]?\d*,(?:\d{1,2}|\d{4,})")
EITHER: Final = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")  # a thousand, or a decimal to three digits
SURE_COMMA: Final = re.compile(r"[+-]?(?:0|\d{4,})?,\d{3}")  # no thousand begins with 0 or has four digits in front
POINT: Final = re.compile(r"[+-]?[1-9]\d{0,2}\.\d{3}")  # a thousand, where a comma is the decimal sign
THOUSANDS_COMMA: Final = re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d*)|[+-]?[1-9]\d{0,2}(?:,\d{3}){2,}")
THOUSANDS_POINT: Final = re.compile(r"[+-]?[1-9]\d{0,2}(?:\.\d{3})+,\d*|[+-]?[1-9]\d{0,2}(?:\.\d{3}){2,}")


@dataclass(frozen=True)
class TextNumbers:
    """What commas and points are in the numbers of one column; where both hold, nothing is decided."""

    decimal_comma: bool
    thousands_comma: bool

    @classmethod
    def of(cls, values: Iterable[Value]) -> "TextNumbers":
        """Return what the texts of a column show together."""
        texts = [_bare(value) for value in values if isinstance(value, str)]
        decimal = any(
            pattern.fullmatch(text) for text in texts for pattern in (DECIMAL_COMMA, SURE_COMMA, THOUSANDS_POINT)
        )
        return cls(decimal, any(THOUSANDS_COMMA.fullmatch(text) for text in texts))

    def read(self, value: Value) -> Value:
        """Return a number that is kept as text as a number; what is no number, or could be two, as it stands."""
        text = _bare(value) if isinstance(value, str) else ""
        if not text:
            return value
        if THOUSANDS_POINT.fullmatch(text) or (self._is_decimal and POINT.fullmatch(text)):
            text = text.replace(".", "").replace(",", ".")
        elif THOUSANDS_COMMA.fullmatch(text) or (EITHER.fullmatch(text) and self._is_thousand):
            text = text.replace(",", "")
        elif not EITHER.fullmatch(text) or self._is_decimal:
            text = text.replace(",", ".")
        return float(text) if PLAIN.fullmatch(text) else value

    @property
    def _is_thousand(self) -> bool:
        return self.thousands_comma and not self.decimal_comma

    @property
    def _is_decimal(self) -> bool:
        return self.decimal_comma and not self.thousands_comma


def _bare(value: str) -> str:
    text = value.strip().replace("−", "-")
    return GROUPS.sub("", text) if GROUPED.fullmatch(text) else text
