"""Texts of cells in one spelling: what cannot be seen makes no difference."""

import re
import unicodedata
from typing import Final

INVISIBLE: Final = re.compile("[\u00ad\u200b-\u200f\u2060-\u2064\ufeff]")
SPACES: Final = re.compile(r"\s+")
VULGAR_FRACTION: Final = re.compile("(\\d)(?=[\u00bc-\u00be\u2150-\u215e])")
MINUS_SIGNS: Final = str.maketrans({"\u2212": "-", "\u2010": "-", "\u2011": "-", "\u2044": "/"})


def plain(text: str) -> str:
    """Return a cell's text without invisible signs, each run of spaces and line breaks as one
    space.
    """
    if text.isascii():
        if "  " in text or not text.isprintable():
            return SPACES.sub(" ", text.strip())
        return text.strip()
    seen = INVISIBLE.sub("", unicodedata.normalize("NFC", text))
    return SPACES.sub(" ", seen).strip()


def narrow(text: str) -> str:
    """Return a text with full-width digits, raised signs and fractions such as ½ in plain ones, to
    read a number.
    """
    if text.isascii():
        return text
    parted = VULGAR_FRACTION.sub(r"\1 ", text)
    return unicodedata.normalize("NFKC", parted).translate(MINUS_SIGNS)
