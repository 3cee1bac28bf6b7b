"""Measure and break lines of text for pictures, by the font that the converter draws with."""

import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING, Final

from reportgen.render import templates
from reportgen.render.figures import NOT_IN_XML

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

ELLIPSIS: Final = "…"
SPACES: Final = re.compile(r"[^\S\u00a0\u202f]+")  # all but those that do not break
SAFETY: Final = 1.03  # the converter kerns, Pillow's plain layout does not
LEADING: Final = 1.25  # line heights


def plain(text: str) -> str:
    """Return a text in one line that XML can hold; spaces that do not break stay."""
    return SPACES.sub(" ", text.translate(NOT_IN_XML)).strip()


def width(text: str, size: int, *, bold: bool = False) -> float:
    """Return the width of a line in px, with some to spare."""
    return SAFETY * float(_font(size, bold).getlength(text))


def wrapped(text: str, size: int, room: float, *, bold: bool = False) -> list[str]:
    """Return the lines of a text that fills `room` px; a word longer than a line is broken."""
    lines = [""]
    for word in _words(plain(text), size, room, bold):
        longer = f"{lines[-1]} {word}".strip(" ")
        if width(longer, size, bold=bold) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return [line for line in lines if line]


def cut(text: str, size: int, room: float, most: int, *, bold: bool = False) -> list[str]:
    """Return a text in at most `most` lines, the last with an ellipsis after a whole word where
    more followed.
    """
    lines = wrapped(text, size, room, bold=bold)
    if len(lines) <= most:
        return lines
    last = lines[most - 1]
    while " " in last and width(last + ELLIPSIS, size, bold=bold) > room:
        last = last.rpartition(" ")[0]
    return [*lines[: most - 1], fitted(last.rstrip(" ,;:.") + ELLIPSIS, size, room, bold=bold)]


def fitted(text: str, size: int, room: float, *, bold: bool = False) -> str:
    """Return a text that fits a room in one line, cut with an ellipsis where it does not."""
    line = plain(text)
    if width(line, size, bold=bold) <= room:
        return line
    left = room - width(ELLIPSIS, size, bold=bold)
    return _longest(line, size, left, bold).rstrip() + ELLIPSIS


def size_for(
    text: str, sizes: Sequence[int], room: float, height: float, *, bold: bool = False
) -> int:
    """Return the largest of `sizes`, largest first, at which a text fits `room` x `height` px; else
    the smallest.
    """
    for size in sizes:
        if len(wrapped(text, size, room, bold=bold)) * size * LEADING <= height:
            return size
    return sizes[-1]


def _words(text: str, size: int, room: float, bold: bool) -> Iterator[str]:
    for word in text.split(" "):
        rest = word
        while width(rest, size, bold=bold) > room:
            head = _longest(rest, size, room, bold)
            yield head
            rest = rest[len(head) :]
        yield rest


def _longest(text: str, size: int, room: float, bold: bool) -> str:
    """Return the longest beginning of a text that fits a room, at least one character of it."""
    from bisect import bisect_right

    fits = bisect_right(
        range(1, len(text) + 1), room, key=lambda length: width(text[:length], size, bold=bold)
    )
    return text[: max(1, fits)]


@cache
def _font(size: int, bold: bool) -> "FreeTypeFont":
    from PIL import ImageFont

    if bold:
        name = "Inter-Bold.ttf"
    else:
        name = "Inter-Regular.ttf"
    path = templates.folder() / "assets" / "fonts" / name
    return ImageFont.truetype(str(path), size, layout_engine=ImageFont.Layout.BASIC)
