"""Read text files of separated values, as loggers, scales and spreadsheet programs write them."""

import codecs
import csv
import hashlib
import io
from collections import Counter
from collections.abc import Sequence
from itertools import islice, pairwise
from pathlib import Path
from typing import Final

from reportgen.language import say
from reportgen.model.problem import WorkbookError
from reportgen.workbook.files.content import content_of
from reportgen.workbook.raw import (
    MOST_CELLS,
    RawSheet,
    RefusedError,
    Workbook,
    refuse_endless_numbers,
    too_large,
)

SUFFIXES: Final = (".csv", ".tsv", ".txt")
SEPARATORS: Final = (
    ";",
    "\t",
    ",",
    "|",
)  # where two fit equally well the first: a comma may also be a decimal one
ROWS_TRIED: Final = 200
FEWEST_ROWS: Final = 3  # rows with more fields than headers that are no slip
BYTE_ORDER_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# Code pages of spreadsheet programs, for texts that are no Unicode; a guess among all there are is
# wrong more often.
CODE_PAGES: Final = [
    "cp1252",
    "cp1250",
    "cp1251",
    "cp1253",
    "cp1254",
    "cp932",
    "gb18030",
    "big5",
    "euc_kr",
]


def read_csv(path: Path) -> Workbook:
    """Return the cells of the file at `path` as a workbook of one sheet, named like the file; each
    value is text.

    Raises WorkbookError where the file is missing, no text, or far larger than any data.
    """
    try:
        content = content_of(
            path, "a file of comma-separated values", "Keep the part of it that the trial took."
        )
        sheet = RawSheet(path.stem, _rows(_text(content), path.stem), {}, {}, ())
        refuse_endless_numbers([sheet])
    except RefusedError as refused:
        raise WorkbookError((refused.problem(path.name),)) from refused
    return Workbook(path.stem, hashlib.sha256(content).hexdigest(), (sheet,), path.parent)


def _text(content: bytes) -> str:
    try:
        return content.decode(_encoding(content))
    except UnicodeDecodeError as error:
        advice = say("Save it as CSV in UTF-8, or as .xlsx.")
        raise RefusedError(
            say("is no text"), say("a file of comma-separated values"), advice, code="not_text"
        ) from error


def _encoding(content: bytes) -> str:
    for mark, encoding in BYTE_ORDER_MARKS:
        if content.startswith(mark):
            return encoding
    if b"\0" in content:
        return _wide(content)
    try:
        content.decode()
    except UnicodeDecodeError:
        return _code_page(content)
    return "utf-8"


def _wide(content: bytes) -> str:
    """Return which UTF-16 a text without a byte-order mark is in: its plain letters have a zero
    byte on one side.

    Where there is none on either it is no text, which ASCII refuses.
    """
    first, second = (content[side : 2**16 : 2].count(0) for side in (0, 1))
    if min(first, second) * 10 > max(first, second):
        if not content.isascii():
            return "ascii"
        return "utf-16"
    if first > second:
        return "utf-16-be"
    return "utf-16-le"


def _code_page(content: bytes) -> str:
    from charset_normalizer import from_bytes

    guesses = from_bytes(content[: 2**18], cp_isolation=CODE_PAGES)
    best = guesses.best()
    western = [guess for guess in guesses if "cp1252" in guess.could_be_from_charset]
    if not best or any(
        guess.chaos <= best.chaos for guess in western
    ):  # a short text fits several equally well
        return "cp1252"
    return best.encoding


def _rows(text: str, name: str) -> Sequence[Sequence[str | None]]:
    """Return the records of a text as rows of one length.

    A line such as sep=; stays as a row without values.
    """
    separator, text = _separator(text)
    rows = _records(text, name, separator)
    if separator == ",":
        _refuse_decimal_commas(rows)
    width = max(map(len, rows), default=0)
    padded = []
    for row in rows:
        values = [_value(value) for value in row]
        padded.append(values + [None] * (width - len(row)))
    return tuple(padded)


def _value(text: str) -> str | None:
    if text.strip():
        return text
    return None


def _separator(text: str) -> tuple[str, str]:
    """Return the sign between fields, and the text without the line that names it."""
    first, _, rest = text.partition("\n")
    if first.startswith("sep="):
        named = first.strip().removeprefix("sep=")
        if len(named) == 1:
            return named, f"\n{rest}"
    return max(SEPARATORS, key=lambda sign: _fit(text, sign)), text


def _records(text: str, name: str, separator: str) -> list[list[str]]:
    """Return the records of a text; raise RefusedError where it is too large or cannot be read."""
    lines = io.StringIO(text, newline="")
    rows: list[list[str]] = []
    width = 0
    try:
        for row in csv.reader(lines, delimiter=separator, skipinitialspace=True):
            rows.append(row)
            width = max(width, len(row))
            if len(rows) * width > MOST_CELLS:
                raise too_large(name, len(rows), width)
    except csv.Error as error:
        found = say("cannot be read from row {row} on ({error})", row=len(rows) + 1, error=error)
        advice = say("Look for a single quotation mark.")
        raise RefusedError(
            found, say("quotation marks in pairs"), advice, code="unpaired_quotes"
        ) from error
    return rows


def _refuse_decimal_commas(rows: Sequence[Sequence[str]]) -> None:
    """Raise RefusedError where commas part fields and numbers too.

    34,5 are two fields then, and a header lacks.
    """
    widths = Counter(len(row) for row in rows if row)
    width, count = max(widths.items(), key=lambda item: item[1], default=(0, 0))
    if count < FEWEST_ROWS:
        return
    records = [index for index, row in enumerate(rows) if len(row) == width]
    first = records[0]
    header: Sequence[str] = []
    if first:
        header = rows[first - 1]
    lacking = width - len(header)
    if lacking < 1 or not _are_headers(header):
        return
    if all(_pairs_of_digits(rows[index]) >= lacking for index in records):
        raise _more_fields_than_headers(width, first + 1, len(header))


def _are_headers(fields: Sequence[str]) -> bool:
    """Tell whether fields are two or more, none of them a number."""
    return len(fields) >= 2 and not any(field.strip().isdecimal() for field in fields)


def _more_fields_than_headers(fields: int, row: int, headers: int) -> RefusedError:
    found = say(
        "has {fields} fields in row {row}, and {headers} headers",
        fields=fields,
        row=row,
        headers=headers,
    )
    advice = say(
        "Are these decimal commas? Save it with semicolons between the fields, or as .xlsx."
    )
    return RefusedError(
        found, say("a header for each field"), advice, code="more_fields_than_headers"
    )


def _pairs_of_digits(row: Sequence[str]) -> int:
    """Return how many fields of digits follow another such field."""
    digits = [field.strip().lstrip("-").isdecimal() for field in row]
    return sum(one and other for one, other in pairwise(digits))


def _fit(text: str, separator: str) -> float:
    """Return how large a part of the rows a sign parts into one number of fields; the more fields
    the better.
    """
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
        widths = Counter(len(row) for row in islice(reader, ROWS_TRIED) if row)
    except csv.Error:
        return 0.0
    several = {width: rows for width, rows in widths.items() if width > 1}
    if not several:
        return 0.0
    width = max(several, key=lambda width: (several[width], width))
    return several[width] / widths.total() * (1 + width / 1000)
