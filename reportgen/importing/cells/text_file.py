"""Read files of comma-separated values, as loggers, scales and spreadsheet programs write them."""

import codecs
import csv
import hashlib
import io
from collections import Counter
from collections.abc import Sequence
from itertools import islice
from pathlib import Path
from typing import Final

from reportgen.model.problem import WorkbookError
from reportgen.workbook.files.content import content_of
from reportgen.workbook.raw import (
    MOST_CELLS,
    RawSheet,
    RefusedError,
    Value,
    Workbook,
    refuse_endless_numbers,
    too_large,
)

SUFFIXES: Final = (".csv", ".tsv", ".txt")
DELIMITERS: Final = (";", "\t", ",", "|")  # where two fit equally well the first: a comma may also be a decimal one
ROWS_WEIGHED: Final = 200
MARKS: Final = (  # the longer first, since one begins like the other
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# Code pages of spreadsheet programs, for texts that are no Unicode; a guess among all there are is wrong more often.
CODE_PAGES: Final = ["cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp932", "gb18030", "big5", "euc_kr"]


def read_csv(path: Path) -> Workbook:
    """Return the cells of the file at `path` as a workbook of one sheet, named like the file; each value is text.

    Raises WorkbookError where the file is missing, no text, or far larger than any data.
    """
    try:
        content = content_of(path, "a file of comma-separated values", "Keep the part of it that the trial took.")
        sheet = RawSheet(path.stem, _rows(_text(content), path.stem), {}, {}, ())
        refuse_endless_numbers([sheet])
    except RefusedError as refused:
        raise WorkbookError((refused.problem(path.name),)) from refused
    return Workbook(path.stem, hashlib.sha256(content).hexdigest(), (sheet,), path.parent)


def _text(content: bytes) -> str:
    for mark, encoding in MARKS:
        if content.startswith(mark):
            return _decoded(content, encoding)
    if b"\0" in content:
        wide = _wide(content)
        if not wide:
            raise _no_text()
        return _decoded(content, wide)
    try:
        return content.decode()
    except UnicodeDecodeError:
        return _guessed(content)


def _decoded(content: bytes, encoding: str) -> str:
    try:
        return content.decode(encoding)
    except UnicodeDecodeError as error:
        raise _no_text() from error


def _wide(content: bytes) -> str:
    """Return which UTF-16 a text without a byte-order mark is in: its plain letters have a zero byte on one side."""
    zeros = [content[side : 2**16 : 2].count(0) for side in (0, 1)]
    if min(zeros) * 10 > max(zeros):
        return ""
    return "utf-16-be" if zeros[0] > zeros[1] else "utf-16-le"


def _guessed(content: bytes) -> str:
    from charset_normalizer import from_bytes

    found = from_bytes(content[: 2**18], cp_isolation=CODE_PAGES)
    best = found.best()
    western = [one for one in found if "cp1252" in one.could_be_from_charset]
    likely = not best or any(one.chaos <= best.chaos for one in western)  # a short text fits several equally well
    return _decoded(content, "cp1252" if likely or not best else best.encoding)


def _no_text() -> RefusedError:
    return RefusedError(
        "is no text", "a file of comma-separated values", "Save it as CSV in UTF-8, or as .xlsx.", code="not_text"
    )


def _rows(text: str, name: str) -> Sequence[Sequence[Value]]:
    """Return the records of a text as rows of one length; a line such as sep=; stays as a row without values."""
    first, _, rest = text.partition("\n")
    told = first.strip().removeprefix("sep=") if first.startswith("sep=") else ""
    if len(told) == 1:
        text = f"\n{rest}"
    delimiter = told if len(told) == 1 else _delimiter(text)
    rows: list[list[str]] = []
    width = 0
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True):
            rows.append(row)
            width = max(width, len(row))
            if len(rows) * max(width, 1) > MOST_CELLS:
                raise too_large(name, len(rows), width)
    except csv.Error as error:
        said = f"cannot be read from row {len(rows) + 1} on ({error})"
        raise RefusedError(
            said, "quotation marks in pairs", "Look for a single quotation mark.", code="unpaired_quotes"
        ) from error
    return tuple(_values(row, width) for row in rows)


def _values(row: Sequence[str], width: int) -> tuple[Value, ...]:
    return (*(value if value.strip() else None for value in row), *[None] * (width - len(row)))


def _delimiter(text: str) -> str:
    """Return the sign that parts most rows into one number of fields, the more fields the better."""
    return max(DELIMITERS, key=lambda sign: _fit(text, sign))


def _fit(text: str, delimiter: str) -> float:
    try:
        widths = Counter(map(len, islice(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), ROWS_WEIGHED)))
    except csv.Error:
        return 0.0
    del widths[0]
    width, rows = max(widths.items(), key=lambda one: (one[1] * (one[0] > 1), one[0]), default=(0, 0))
    return rows / widths.total() * (1 + width / 1000) if width > 1 else 0.0
