"""Words in place of a number."""

from typing import Final

from reportgen.importing.model.cells import Conventions, Kind
from reportgen.importing.words import is_word

LONGEST: Final = 30  # letters of a word for no value; more are a remark
OPEN: Final = frozenset(
    ("x", "xx", "*", "/", "+", "none", "not", "void", "failed")
)  # nothing there, lost, or not measured
ZERO: Final = "zero"


def meaning_of(word: str, conventions: Conventions) -> Kind | str:
    """Return what a word in place of a number means, "" where it is not known.

    Its owner's lists go first.
    """
    small = word.casefold()
    if small in conventions.lost:
        return Kind.LOST
    if small in conventions.missing:
        return Kind.MISSING
    if small in conventions.zero:
        return ZERO
    return _usual_meaning(word)


def _usual_meaning(word: str) -> Kind | str:
    """Return what a word means by itself; long texts and texts with digits mean nothing."""
    has_digit = any(letter.isdigit() for letter in word)
    if has_digit or len(word) > LONGEST or word.casefold() in OPEN:
        return ""
    if is_word(word, "lost"):
        return Kind.LOST
    if is_word(word, "missing"):
        return Kind.MISSING
    return ""
