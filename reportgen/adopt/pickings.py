"""Words for one of several harvests of the same plants: in the names of sheets, and over columns side by side."""

import re
from collections.abc import Sequence
from itertools import groupby
from typing import Final

from reportgen.adopt.matching import meanings, split_unit
from reportgen.adopt.words import DAYS, NUMBERING, PICKINGS
from reportgen.workbook.headers import folded

WORD: Final = re.compile(r"[^\W\d_]+|\d+[^\W\d_]*")
ORDINAL: Final = re.compile(r"\d+(?:st|nd|rd|th|e|er|re|[eè]re|[eè]me|o|a|º|ª|de|ste)?", re.IGNORECASE)


def without_pickings(names: Sequence[str]) -> tuple[str, ...]:
    """Return names without what says which harvest of the same plants they are of: "warm" of "Cut 2 warm".

    Empty ones where they say no more; as they are where not all of them say it.
    """
    bare = tuple(map(_without_picking, names))
    said = all(one != " ".join(WORD.findall(name)) for one, name in zip(bare, names, strict=True))
    return bare if said else tuple(names)


def _without_picking(name: str) -> str:
    """Return a name without a word for a picking and the numbers, ordinals and months around it."""
    runs = [(part, list(words)) for part, words in groupby(WORD.findall(name), _is_of_picking)]
    kept = [words for part, words in runs if not (part and _says_which(words, alone=len(runs) == 1))]
    return " ".join(word for words in kept for word in words)


def _says_which(words: Sequence[str], *, alone: bool) -> bool:
    """Tell whether words that stand together name one of several pickings; a number alone, as of a sheet, does too."""
    named = [word for word in words if _is_picking(word)]
    return alone or 0 < len(named) < len(words)


def _is_of_picking(word: str) -> bool:
    return _is_picking(word) or bool(ORDINAL.fullmatch(word)) or folded(word) in NUMBERING


def _is_picking(word: str) -> bool:
    return folded(word) in PICKINGS | DAYS or "week" in meanings(word)


def are_pickings(headers: Sequence[str]) -> bool:
    """Tell whether headers name pickings and nothing else, such as Cut 1 and Cut 2."""
    words = [WORD.findall(split_unit(header)[0]) for header in headers]
    return bool(words) and all(PICKINGS & set(map(folded, one)) and all(map(_is_of_picking, one)) for one in words)


def bare_measure(header: str) -> tuple[str, ...]:
    """Return the words of a header that say what was measured, without those that say in which picking."""
    return tuple(folded(word) for word in WORD.findall(split_unit(header)[0]) if not _is_of_picking(word))
