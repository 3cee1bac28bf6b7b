"""Open the zip archive that a workbook is, with bounds that hold whatever the archive says of itself.

Parts are taken one by one, pictures and macros never. No bound is set on the ratio of compression: a million equal rows
are packed as tightly as an attack (deflate reaches 1032 to 1), and the bound on what is unpacked bounds the cost.
"""

import io
import re
import zipfile
from typing import Final

from reportgen.workbook.raw import RefusedError

MOST_UNPACKED: Final = 256 * 2**20  # bytes of XML; two million cells take 80 to 200 MB at 40 to 100 bytes each
MOST_PARTS: Final = 10_000  # a part is a sheet, picture or table; a workbook of 255 sheets has about a thousand

_XML_NAMES: Final = (".xml", ".rels")
_ENCODING: Final = re.compile(rb"""^\s*<\?xml[^>]*?encoding\s*=\s*["']([\w.-]+)""")
_DECLARATION: Final = re.compile(r"^\ufeff?\s*<\?xml[^>]*\?>")
_DAMAGED: Final = "Open it in your spreadsheet program and save it as .xlsx."


def unreadable() -> RefusedError:
    """Return the refusal of a file that is damaged or no workbook at all."""
    return RefusedError(
        "cannot be read as a workbook", "a workbook without a password", _DAMAGED, code="not_a_workbook"
    )


def with_password() -> RefusedError:
    """Return the refusal of an encrypted file."""
    return RefusedError(
        "has a password", "a workbook without a password", "Remove the password, and save it.", code="password"
    )


def opened(content: bytes) -> zipfile.ZipFile:
    """Return the archive of a file's bytes; raise RefusedError where it is far larger than any workbook."""
    archive = zipfile.ZipFile(io.BytesIO(content))
    members = archive.infolist()
    names = {member.filename for member in members}
    size = sum(member.file_size for member in members if member.filename.casefold().endswith(_XML_NAMES))
    if size > MOST_UNPACKED or len(members) > MOST_PARTS:
        raise RefusedError(
            f"unpacks to {size / 2**20:.0f} MB in {len(members)} parts",
            f"at most {MOST_UNPACKED // 2**20} MB in {MOST_PARTS} parts",
            "Copy the cells that hold data to a new workbook.",
            code="file_too_large",
        )
    if len(names) != len(members):  # two parts of one name: which one counts is anybody's guess
        raise unreadable()
    if any(member.flag_bits & 1 for member in members):  # APPNOTE.TXT 4.4.4: bit 0 is set where a member is encrypted
        raise with_password()
    return archive


def unpacked(archive: zipfile.ZipFile, name: str) -> bytes:
    """Return a part of no more bytes than `opened` has counted; one that is longer raises the zip library's error.

    Asked for no number, zipfile unpacks all there is before it looks at the number that was announced. Raises
    RefusedError for a part that is not named like XML, which was not counted.
    """
    if not name.casefold().endswith(_XML_NAMES):
        raise unreadable()
    with archive.open(name) as member:
        return member.read(archive.getinfo(name).file_size)


def part(archive: zipfile.ZipFile, name: str) -> bytes:
    """Return an XML part in UTF-8; raise RefusedError where it declares a document type, as no workbook does.

    Entities are the danger of document types; ISO/IEC 29500-2, 8.1.4 forbids them, and all encodings but two.
    """
    xml = _in_utf8(unpacked(archive, name))
    if b"<!DOCTYPE" in xml:
        raise RefusedError(
            f"holds a document type declaration in {name}",
            "a workbook as spreadsheet programs write it",
            "Do not open it if you do not know where it comes from. Otherwise save it anew as .xlsx.",
            code="document_type",
        )
    return xml


def _in_utf8(xml: bytes) -> bytes:
    wide = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16", b"<\x00": "utf-16-le", b"\x00<": "utf-16-be"}.get(xml[:2])
    if wide:
        return _DECLARATION.sub("", xml.decode(wide)).encode()
    declared = _ENCODING.match(xml.removeprefix(b"\xef\xbb\xbf")[:200])
    if declared and declared[1].lower() not in {b"utf-8", b"utf8", b"us-ascii", b"ascii"}:
        raise unreadable()
    return xml
