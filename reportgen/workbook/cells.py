"""Read the cells of a spreadsheet file as they stand, with what a reader must know of each."""

import hashlib
from pathlib import Path
from typing import Final

from reportgen.language import either, say
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.workbook.files.archive import opened, unreadable, with_password
from reportgen.workbook.files.content import content_of
from reportgen.workbook.kinds import SUFFIXES
from reportgen.workbook.raw import RawSheet, RefusedError, Value, Workbook, refuse_endless_numbers

__all__ = ["RawSheet", "Value", "Workbook", "read"]

_ZIP: Final = b"PK\x03\x04"  # APPNOTE.TXT 4.3.7: a local file header
_COMPOUND: Final = bytes.fromhex(
    "d0cf11e0a1b11ae1"
)  # [MS-CFB] 2.2: the signature of a compound file
_ENCRYPTED: Final = "EncryptedPackage".encode(
    "utf-16-le"
)  # [MS-OFFCRYPTO] 1.3: the stream of an encrypted .xlsx


def read(path: Path) -> Workbook:
    """Return the cells of the workbook at `path`, whatever kind of workbook its content is.

    Raises WorkbookError where the file is missing, unreadable, no workbook, or far larger than its
    data.
    """
    try:
        content = _content(path)
        sheets, problems = _sheets(content)
        refuse_endless_numbers(sheets)
    except RefusedError as refused:
        raise WorkbookError((refused.problem(path.name),)) from refused
    return Workbook(path.stem, hashlib.sha256(content).hexdigest(), sheets, path.parent, problems)


def _content(path: Path) -> bytes:
    if path.suffix.casefold() not in SUFFIXES:
        raise RefusedError(
            say("is not an {suffixes} file", suffixes=either(SUFFIXES)),
            say("a workbook"),
            say("Save it as .xlsx and try again."),
            code="not_a_workbook",
        )
    return content_of(
        path,
        say("a workbook"),
        say("Take the pictures out, and keep them as files beside the workbook."),
    )


def _sheets(content: bytes) -> tuple[tuple[RawSheet, ...], tuple[Problem, ...]]:
    """Return the sheets by the kind of the content, and what cannot be seen in that kind."""
    try:
        if content.startswith(_COMPOUND):
            return _of_compound_file(content)
        if content.startswith(_ZIP):
            return _of_archive(content), ()
    except RefusedError:
        raise
    except (
        Exception
    ) as error:  # damage shows as errors of many kinds: zip, XML, index, type, memory, ...
        raise unreadable() from error
    raise unreadable()


def _of_archive(content: bytes) -> tuple[RawSheet, ...]:
    if "content.xml" in opened(content).names:
        from reportgen.workbook.files.open_document import read_open_document

        return read_open_document(content)
    from reportgen.workbook.files.office_open import read_office_open

    return read_office_open(content)


def _of_compound_file(content: bytes) -> tuple[tuple[RawSheet, ...], tuple[Problem, ...]]:
    if _ENCRYPTED in content:
        raise with_password()
    from reportgen.workbook.files.excel_97 import read_excel_97

    return read_excel_97(content), (
        Problem(
            Severity.REMARK,
            "",
            "",
            say(
                "in the older kind of Excel file a formula that was never computed cannot be told"
                " from a number"
            ),
            say("an .xlsx file"),
            say("Save it as .xlsx, so that all can be checked."),
            code="older_file_kind",
        ),
    )
