"""Limit what a workbook may hold: one table, counted in its parts while they are unpacked.

A small file can stand for millions of things, each of which costs a reading library far more memory
than it takes in the file. So they are counted before any library parses them, and unpacking ends
where a limit is passed.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Final

from reportgen.language import marked, say
from reportgen.workbook.raw import MOST_CELLS, RefusedError

# bytes; Microsoft, Excel specifications: 32,767 characters, each ten bytes as &#x10FFFF;
LONGEST_TEXT: Final = 400_000

_NEW_WORKBOOK: Final = marked("Copy the cells that hold data to a new workbook.")
_DELETE_EMPTY: Final = marked(
    "Delete the rows below and the columns beside the data, also those that look"
    " empty, and save it."
)


class Part(Enum):
    """What a part of a workbook is read as, whatever its name says."""

    SHEET = "sheet"
    TEXTS = "texts"
    STYLES = "styles"
    LIST = "list"  # of sheets, of parts, of comments
    DOCUMENT = "document"  # all sheets of an OpenDocument


@dataclass(frozen=True)
class Limit:
    """The most of one thing in all parts of a kind: `what` names it to the reader, `advice` says
    what to do.

    `marks` are stretches of XML and how much of the thing each stands for; one that stands for less
    than nothing is allowed for, as the values among cells are where empty cells are counted. XML is
    searched after it is made plain: see `plain`. The mark of no bytes stands for each byte of a
    part.
    """

    what: str
    marks: Mapping[bytes, float]
    most: int
    advice: str = _NEW_WORKBOOK


_TAG, _BYTE = b"<", b""
# two to an element: links, conditional formats, validations and whatever else is not data
_SPARE_TAGS: Final = 200_000
_SPARE_BYTES: Final = 30_000_000

LIMITS: Final[Mapping[Part, tuple[Limit, ...]]] = {
    Part.SHEET: (
        Limit(marked("cells"), {b"<c ": 1}, 2 * MOST_CELLS),
        Limit(
            marked("cells that are empty"),
            {b"<c ": 1, b"<v ": -1, b"<is ": -1, b"<f ": -1},
            500_000,
            _DELETE_EMPTY,
        ),
        Limit(marked("cells without a place or a value"), {b"<c  ": 1}, 100_000),
        Limit(
            marked("formulas"),
            {b"<f ": 1},
            1_000_000,
            marked("Paste the values over the formulas."),
        ),
        Limit(marked("rows that are empty"), {b"<row ": 1, b"<c ": -1}, 300_000, _DELETE_EMPTY),
        Limit(marked("merged ranges"), {b"<mergeCell ": 1}, 20_000),
        Limit(
            marked("elements that are no cells"), {_TAG: 1, b"<c ": -8, b"<row ": -2}, _SPARE_TAGS
        ),
        Limit(
            marked("bytes beside its cells"), {_BYTE: 1, b"<c ": -200, b"<row ": -200}, _SPARE_BYTES
        ),
    ),
    Part.TEXTS: (
        Limit(marked("different texts"), {b"<si ": 1}, 500_000),
        Limit(marked("pieces of texts"), {_TAG: 1, b"<si ": -4}, _SPARE_TAGS),
        Limit(marked("bytes of text"), {_BYTE: 1, b"<si ": -100}, _SPARE_BYTES),
    ),
    Part.STYLES: (
        Limit(
            marked("styles of cells"), {b"<xf ": 1}, 2 * 65_490
        ),  # Excel specifications: 65,490, here with those by name
        Limit(marked("elements of styles"), {_TAG: 1, b"<xf ": -6}, _SPARE_TAGS),
        Limit(marked("bytes of styles"), {_BYTE: 1, b"<xf ": -400}, _SPARE_BYTES),
    ),
    Part.LIST: (
        Limit(marked("sheets"), {b"<sheet ": 1}, 1_000),
        Limit(marked("names of ranges"), {b"<definedName ": 1}, 50_000),
        Limit(marked("comments"), {b"<comment ": 1}, 20_000),
        Limit(
            marked("elements in its lists of parts"),
            {_TAG: 1, b"<definedName ": -2, b"<comment ": -20},
            _SPARE_TAGS,
        ),
        Limit(marked("bytes in its lists of parts"), {_BYTE: 1, b"<comment ": -2000}, _SPARE_BYTES),
    ),
    Part.DOCUMENT: (
        Limit(marked("sheets"), {b"<table ": 1}, 1_000),
        Limit(marked("cells"), {b"<table-cell ": 1, b"<covered-table-cell ": 1}, MOST_CELLS),
        Limit(
            marked("cells that are empty"),
            {b"<table-cell ": 1, b"<p ": -1, b"office:value-type=": -1},
            250_000,
            _DELETE_EMPTY,
        ),
        Limit(
            marked("rows that are empty"),
            {b"<table-row ": 1, b"<table-cell ": -1},
            300_000,
            _DELETE_EMPTY,
        ),
        Limit(marked("spaces in a row"), {b"<s ": 1}, 50_000),
        Limit(
            marked("elements that are no cells"),
            {_TAG: 1, b"<table-cell ": -8, b"<table-row ": -2},
            _SPARE_TAGS,
        ),
        Limit(
            marked("bytes beside its cells"),
            {_BYTE: 1, b"<table-cell ": -500, b"<table-row ": -200},
            _SPARE_BYTES,
        ),
    ),
}

# Of an OpenDocument: how many cells with a value may stand for equal ones beside or below them.
MOST_REPEATED: Final = 250_000

_PREFIX: Final = re.compile(rb"""(</?)[^\s<>/:!?='"]+:""")
_SPACES: Final = bytes.maketrans(b"\t\r\n/>", b"     ")


def plain(xml: bytes) -> bytes:
    """Return XML in which each element `name` starts as `<name `, without prefixes."""
    if b":" in xml:
        bare = _PREFIX.sub(rb"\1", xml)
    else:
        bare = xml
    return bare.translate(_SPACES)


def refused(what: str, most: int, advice: str = "") -> RefusedError:
    """Return the refusal of a workbook that holds more of something than it may."""
    return RefusedError(
        say("holds more than {most} {what}", most=f"{most:,}", what=what),
        say("at most {most}", most=f"{most:,}"),
        advice or say(_NEW_WORKBOOK),
        code="file_too_large",
    )


class Tally:
    """What was counted in the parts of a workbook so far, by their kinds."""

    def __init__(self) -> None:
        self._counts: dict[Part, Counter[bytes]] = {kind: Counter() for kind in Part}

    def counted(self, kind: Part, pieces: Iterable[bytes]) -> Iterator[bytes]:
        """Yield the pieces of a part as they come; raise RefusedError once a limit is passed."""
        for piece, whole in _whole_tags(pieces):
            self._add(kind, piece, plain(whole))
            yield piece

    def _add(self, kind: Part, piece: bytes, tags: bytes) -> None:
        counts = self._counts[kind]
        for mark in _MARKS[kind]:
            counts[mark] += tags.count(mark) if mark else len(piece)
        for limit in LIMITS[kind]:
            if sum(counts[mark] * worth for mark, worth in limit.marks.items()) > limit.most:
                raise refused(say(limit.what), limit.most, say(limit.advice))


def _marks(limits: Iterable[Limit]) -> set[bytes]:
    """Return the marks that some limits count."""
    marks: set[bytes] = set()
    for limit in limits:
        marks.update(limit.marks)
    return marks


_MARKS: Final = {kind: _marks(limits) for kind, limits in LIMITS.items()}


def _whole_tags(pieces: Iterable[bytes]) -> Iterator[tuple[bytes, bytes]]:
    """Yield each piece of XML, and with it the bytes up to the last tag in it, which may go on in
    the next piece.

    Raises RefusedError where a text or a tag is longer than any in a workbook.
    """
    rest = b""
    for piece in pieces:
        held = rest + piece
        last = max(held.rfind(b"<"), 0)
        if max(held.find(b"<", 1), len(held) - last) > LONGEST_TEXT:
            raise refused(
                say("bytes in one text"),
                LONGEST_TEXT,
                say("Shorten it: a cell holds 32,767 characters."),
            )
        rest = held[last:]
        yield piece, held[:last]
    if rest:
        yield b"", rest
