"""How much room a text takes, and its lines where there is less: about, by the widths of
`theme.FONT`.
"""

import unicodedata
from typing import Final

SIZE: Final = 12  # px, of every text in a figure
LINE: Final = 15  # px, from one line of a label to the next
SPACE: Final = 3.4  # px
# px, of bold letters, which are the wider ones.
NARROW, USUAL, CAPITAL, BROAD, FULL = 4.9, 7.6, 9.1, 12.4, 12.6
LEAST: Final = 8  # px by which lines become shorter, step by step
NARROW_LETTERS: Final = frozenset("ijltrfI1.,:;|!'()[]/\\-·")
BROAD_LETTERS: Final = frozenset("mwMW%@—…")


def width(text: str) -> float:
    """Return how wide a line of text is at most, px."""
    return sum(_width_of(letter) for letter in text)


def _width_of(letter: str) -> float:
    if letter.isspace():
        return SPACE
    if unicodedata.combining(letter):
        return 0.0
    if letter in NARROW_LETTERS:
        return NARROW
    if letter in BROAD_LETTERS:
        return BROAD
    if unicodedata.east_asian_width(letter) in "WF":
        return FULL
    return _plain_width(letter)


def _plain_width(letter: str) -> float:
    if letter.isupper():
        return CAPITAL
    return USUAL


def wrapped(text: str, room: float) -> list[str]:
    """Return a text in lines that take `room` px at most; a word that is longer by itself is
    parted.
    """
    lines: list[str] = []
    line = ""
    for word in _words(text, room):
        if line:
            longer = f"{line} {word}"
        else:
            longer = word
        if line and width(longer) > room:
            lines.append(line)
            longer = word
        line = longer
    return [*lines, line]


def balanced(text: str, room: float) -> list[str]:
    """Return a text in as few lines as `wrapped` gives, about equally long."""
    lines = wrapped(text, room)
    while len(closer := wrapped(text, room - LEAST)) == len(lines) > 1:
        lines, room = closer, room - LEAST
    return lines


def _words(text: str, room: float) -> list[str]:
    words: list[str] = []
    for word in text.split(" "):
        rest = word
        while width(rest) > room and len(rest) > 1:
            end = _fitting(rest, room)
            words.append(rest[:end])
            rest = rest[end:]
        words.append(rest)
    return [word for word in words if word]


def _fitting(word: str, room: float) -> int:
    """Return how many letters of a word fit, one at least."""
    end = 1
    while end < len(word) and width(word[: end + 1]) <= room:
        end += 1
    return end


def cut(text: str, room: float, lines: int) -> list[str]:
    """Return a text in `lines` lines at most, the last of them ending in an ellipsis where
    something was cut.
    """
    whole = wrapped(text, room)
    if len(whole) <= lines:
        return whole
    last = whole[lines - 1]
    while last and width(f"{last}…") > room:
        last = last[:-1]
    return [*whole[: lines - 1], f"{last.rstrip()}…"]
