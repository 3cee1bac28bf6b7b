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
    """Return what a word in place of a number means, "" where it is not known; its owner's lists go
    first.
    """
    small = word.casefold()
    if small in conventions.lost:
        return Kind.LOST
    if small in conventions.missing:
        return Kind.MISSING
    if small in conventions.zero:
        return ZERO
    if len(word) > LONGEST or small in OPEN or any(letter.isdigit() for letter in word):
        return ""
    if is_word(word, "lost"):
        return Kind.LOST
    return Kind.MISSING if is_word(word, "missing") else ""
