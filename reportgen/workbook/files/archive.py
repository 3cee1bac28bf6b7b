"""Open the zip archive of a workbook, within bounds whatever the archive says of itself.

Parts are taken one by one, pictures and macros never; what is in them is counted (`limits.py`). No
bound is set on the ratio of compression: a million equal rows are packed as tightly as an attack
(deflate reaches 1032 to 1), and the bound on what is unpacked bounds the cost.
"""

import codecs
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain
from typing import Final

from reportgen.language import marked, say
from reportgen.workbook.files.limits import Part, Tally
from reportgen.workbook.raw import RefusedError

MOST_UNPACKED: Final = (
    256 * 2**20
)  # bytes of XML; two million cells take 80 to 200 MB at 40 to 100 bytes each
MOST_PARTS: Final = (
    10_000  # a part is a sheet, picture or table; a workbook of 255 sheets has about a thousand
)

_PIECE: Final = 2**16  # bytes that are unpacked at a time
_XML_NAMES: Final = (".xml", ".rels")
_ENCODING: Final = re.compile(rb"""^\s*<\?xml[^>]*?encoding\s*=\s*["']([\w.-]+)""")
_DECLARATION: Final = re.compile(r"^\ufeff?\s*<\?xml[^>]*\?>")
_DAMAGED: Final = marked("Open it in your spreadsheet program and save it as .xlsx.")


def unreadable() -> RefusedError:
    """Return the refusal of a file that is damaged or no workbook at all."""
    return RefusedError(
        say("cannot be read as a workbook"),
        say("a workbook without a password"),
        say(_DAMAGED),
        code="not_a_workbook",
    )


def with_password() -> RefusedError:
    """Return the refusal of an encrypted file."""
    return RefusedError(
        say("has a password"),
        say("a workbook without a password"),
        say("Remove the password, and save it."),
        code="password",
    )


@dataclass(frozen=True)
class Archive:
    """The parts of a workbook, and what was counted in those that were unpacked."""

    file: zipfile.ZipFile
    tally: Tally = field(default_factory=Tally)

    @property
    def names(self) -> list[str]:
        """Return the names of the parts."""
        return self.file.namelist()

    def part(self, name: str, kind: Part) -> bytes:
        """Return an XML part in UTF-8 that is read as one of some kind.

        Raises RefusedError where a limit of that kind is passed, or where it declares a document
        type, as no workbook does. Entities are the danger of document types; ISO/IEC 29500-2, 8.1.4
        forbids them, and all encodings but two.
        """
        whole = io.BytesIO()
        whole.writelines(self.tally.counted(kind, _in_utf8(self._unpacked(name))))
        xml = whole.getvalue()
        if b"<!DOCTYPE" in xml:
            raise RefusedError(
                say("holds a document type declaration in {name}", name=name),
                say("a workbook as spreadsheet programs write it"),
                say(
                    "Do not open it if you do not know where it comes from. Otherwise save it anew as"
                    " .xlsx."
                ),
                code="document_type",
            )
        return xml

    def count_all(self) -> None:
        """Count what is in all XML parts, for a library that reads a file whole; raise RefusedError
        as `part` does.
        """
        for name in self.names:
            if name.casefold().endswith(_XML_NAMES):
                for _ in self.tally.counted(_kind_by(name), self._unpacked(name)):
                    pass

    def _unpacked(self, name: str) -> Iterator[bytes]:
        """Yield a part of no more bytes than `opened` has counted; one that is longer raises the
        zip library's error.

        Raises RefusedError for a part that is not named like XML, which was not counted.
        """
        if not name.casefold().endswith(_XML_NAMES):
            raise unreadable()
        left = self.file.getinfo(name).file_size
        with self.file.open(name) as member:
            while piece := member.read(min(left, _PIECE)):
                left -= len(piece)
                yield piece


def opened(content: bytes) -> Archive:
    """Return the archive of a file's bytes.

    Raises RefusedError where it is far larger than any workbook.
    """
    archive = zipfile.ZipFile(io.BytesIO(content))
    members = archive.infolist()
    names = {member.filename for member in members}
    xml_parts = [member for member in members if member.filename.casefold().endswith(_XML_NAMES)]
    size = sum(member.file_size for member in xml_parts)
    if size > MOST_UNPACKED or len(members) > MOST_PARTS:
        raise RefusedError(
            say(
                "unpacks to {size} MB in {number} parts",
                size=f"{size / 2**20:.0f}",
                number=len(members),
            ),
            say(
                "at most {most_unpacked} MB in {most_parts} parts",
                most_unpacked=MOST_UNPACKED // 2**20,
                most_parts=MOST_PARTS,
            ),
            say("Copy the cells that hold data to a new workbook."),
            code="file_too_large",
        )
    if len(names) != len(members):  # two parts of one name: which one counts is anybody's guess
        raise unreadable()
    # APPNOTE.TXT 4.4.4: bit 0 is set where a member is encrypted
    if any(member.flag_bits & 1 for member in members):
        raise with_password()
    return Archive(archive)


def _kind_by(name: str) -> Part:
    """Return what a part is by its usual name; any other is a list, of which little is allowed."""
    usual = {
        "xl/worksheets/sheet": Part.SHEET,
        "xl/sharedstrings": Part.TEXTS,
        "xl/styles": Part.STYLES,
    }
    return next(
        (kind for start, kind in usual.items() if name.casefold().startswith(start)), Part.LIST
    )


def _in_utf8(pieces: Iterator[bytes]) -> Iterator[bytes]:
    """Yield a part in UTF-8; raise RefusedError for an encoding that no workbook has."""
    first = next(pieces, b"")
    wide = {
        b"\xff\xfe": "utf-16",
        b"\xfe\xff": "utf-16",
        b"<\x00": "utf-16-le",
        b"\x00<": "utf-16-be",
    }.get(first[:2])
    if wide:
        text = codecs.iterdecode(chain([first], pieces), wide)
        yield _DECLARATION.sub("", next(text, "")).encode()
        yield from (piece.encode() for piece in text)
        return
    declared = _ENCODING.match(first.removeprefix(codecs.BOM_UTF8)[:200])
    if declared and declared[1].lower() not in {b"utf-8", b"utf8", b"us-ascii", b"ascii"}:
        raise unreadable()
    yield first
    yield from pieces
