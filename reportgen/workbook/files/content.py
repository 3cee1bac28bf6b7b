"""Read the bytes of a file, or say why it is not read."""

import stat
from pathlib import Path
from typing import Final

from reportgen.language import say
from reportgen.workbook.raw import RefusedError, refuse_unwritable_name

MOST_BYTES: Final = (
    100 * 2**20
)  # two million cells take 10 to 40 MB; a workbook full of photographs is a mistake


def content_of(path: Path, expected: str, to_make_smaller: str) -> bytes:
    """Return the bytes of the file at `path`; a device or pipe, which may never end, is not read.

    `expected` says what kind of file belongs there, `to_make_smaller` what to do where it is too
    large. Raises RefusedError where the file is missing, unreadable or larger than MOST_BYTES.
    """
    refuse_unwritable_name(path)
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise RefusedError(
                say("is a folder"), expected, say("Name the file in it."), code="folder_not_file"
            )
        if not stat.S_ISREG(status.st_mode):
            raise RefusedError(
                say("is a device or a pipe"),
                expected,
                say("Save it as a file."),
                code="device_not_file",
            )
        if status.st_size > MOST_BYTES:
            size, most = _megabytes(status.st_size), _megabytes(MOST_BYTES)
            raise RefusedError(
                say("is {size} large", size=size),
                say("at most {most}", most=most),
                to_make_smaller,
                code="file_too_large",
            )
        return path.read_bytes()
    except FileNotFoundError as error:
        raise RefusedError(
            say("is not there"),
            expected,
            say("Check the name and the folder."),
            code="missing_file",
        ) from error
    except OSError as error:
        reason = error.strerror or say("unknown reason")
        advice = say("Close it elsewhere or allow reading.")
        raise RefusedError(
            say("cannot be opened ({reason})", reason=reason),
            say("a readable file"),
            advice,
            code="unreadable_file",
        ) from error


def _megabytes(size: int) -> str:
    return f"{size / 2**20:.0f} MB"
