"""The second pass: each cell of a column alone, against what the declaration says of the column."""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from math import isfinite
from typing import Final

from reportgen.model.problem import Problem, Severity
from reportgen.workbook.cells import Value
from reportgen.workbook.dates import TextDates, Undated
from reportgen.workbook.declaration import Column, Kind
from reportgen.workbook.table import INVALID
from reportgen.workbook.units import UnitError, conversion

EXCEL_ERRORS: Final = (
    "#DIV/0!",
    "#N/A",
    "#NAME?",
    "#NULL!",
    "#NUM!",
    "#REF!",
    "#VALUE!",
    "#SPILL!",
    "#CALC!",
)
NUMBER: Final = re.compile(r"([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*)", re.DOTALL)
YES: Final = ("yes", "y", "true", "x", "1")
NO: Final = ("no", "n", "false", "0")
LOOKALIKES: Final = str.maketrans("OoIl", "0011")


@dataclass(eq=False)
class Unreadable(Exception):
    """A cell does not hold what its column wants; `found` is said after the quoted cell."""

    found: str
    expected: str
    advice: str


@dataclass(frozen=True)
class ColumnCells:
    """The cells of one column: `values` and their number `formats` beside the `rows` they stand in.

    `unit` is the header's, empty where it has none; `uncomputed` holds the rows of formulas without a value.
    """

    column: Column
    sheet: str
    letter: str
    unit: str
    rows: tuple[int, ...]
    values: tuple[Value, ...]
    formats: tuple[str, ...]
    uncomputed: frozenset[int]
    header_row: int | None

    def problem(self, severity: Severity, row: int, found: str, expected: str, advice: str) -> Problem:
        """Return a problem at the cell of this column in `row`."""
        return Problem(severity, self.sheet, f"{self.letter}{row}", found, expected, advice)


def quoted(value: Value) -> str:
    """Return a cell's content as it is quoted in a message."""
    if isinstance(value, datetime):
        return f'"{value:%Y-%m-%d %H:%M}"'.replace(" 00:00", "")
    return f'"{shown(value)}"'


def shown(value: Value) -> str:
    """Return a cell's content as text, whole numbers without a decimal point."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    text = str(value).strip()
    return text if len(text) <= 60 else text[:57] + "..."


def read_column(cells: ColumnCells) -> tuple[tuple[Value, ...], tuple[Problem, ...]]:
    """Return the values of a column in its declared unit, and every problem of its cells.

    A blank cell gives None, one with a problem INVALID.
    """
    problems = list(_unit_problems(cells))
    if any(problem.severity is Severity.ERROR for problem in problems):
        return (INVALID,) * len(cells.values), tuple(problems)
    read = reader(cells)
    values: list[Value] = []
    for row, value, number_format in zip(cells.rows, cells.values, cells.formats, strict=True):
        try:
            values.append(None if row in cells.uncomputed else _one(value, number_format, cells.column, read))
        except Unreadable as reason:
            problems.append(
                cells.problem(Severity.ERROR, row, f"{quoted(value)} {reason.found}", reason.expected, reason.advice)
            )
            values.append(INVALID)
    problems.extend(_uncomputed(cells))
    values = [INVALID if row in cells.uncomputed else value for row, value in zip(cells.rows, values, strict=True)]
    problems.extend(_missing(cells, values))
    problems.extend(_unusual(cells, values))
    problems.extend(_text_numbers(cells))
    return tuple(values), tuple(problems)


Reader = Callable[[Value, str], Value]


def _one(value: Value, number_format: str, column: Column, read: Reader) -> Value:
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    if isinstance(value, str) and value.strip() in EXCEL_ERRORS:
        raise Unreadable("is an error of the spreadsheet", _expected(column), "Mend the formula, or type the value.")
    return read(value, number_format)


def reader(cells: ColumnCells) -> Reader:
    """Return the function that reads one cell of the column: (value, number format) -> value."""
    column = cells.column
    if column.kind in (Kind.DATE, Kind.MOMENT):
        return _date_reader(cells)
    readers: dict[Kind, Reader] = {
        Kind.CODE: code,
        Kind.NUMBER: lambda value, _: _bounded(_number(value, column, cells.unit or column.unit), value, column),
        Kind.COUNT: lambda value, _: _bounded(_count(value, column), value, column),
        Kind.LEVEL: lambda value, _: _bounded(_level(value, column), value, column),
        Kind.CHOICE: lambda value, _: _choice(value, column),
        Kind.FLAG: lambda value, _: _flag(value),
        Kind.CURRENCY: lambda value, _: _currency(value),
        Kind.LANGUAGE: lambda value, _: _language(value),
    }
    return readers.get(column.kind, lambda value, _: shown_whole(value))


def shown_whole(value: Value) -> str:
    """Return a text cell as text, uncut."""
    return shown(value) if not isinstance(value, str) else value.strip()


def code(value: Value, number_format: str) -> str:
    """Return an identifier as the text that the sheet shows: 1.10 stays 1.10 where the cell is formatted so."""
    if isinstance(value, datetime | date | time):
        raise Unreadable(
            "is a date",
            "a code",
            "The spreadsheet took the code for a date: format the column as text, type it again.",
        )
    decimals = re.fullmatch(r"0\.(0+)", number_format)
    if isinstance(value, float | int) and not isinstance(value, bool) and decimals:
        return f"{value:.{len(decimals[1])}f}"
    return re.sub(r"\s+", " ", shown_whole(value))


def _expected(column: Column) -> str:
    unit = f" in {column.unit.replace('1/', 'currency per ')}" if column.unit else ""
    what = "one of " + ", ".join(column.choices) if column.choices else f"a {column.kind}"
    return what + unit


def _number(value: Value, column: Column, unit: str) -> float:
    if isinstance(value, bool):
        raise Unreadable("is not a number", _expected(column), "Type the number, or leave the cell blank.")
    if isinstance(value, int | float):
        return _converted(float(value), unit, column)
    if not isinstance(value, str):
        raise Unreadable(
            "is a date, not a number",
            _expected(column),
            "The spreadsheet took the number for a date: format the cell as a number, type it again.",
        )
    digits, own_unit = _split(value, column)
    return _converted(float(digits.replace(",", ".")), own_unit or unit, column)


def _split(text: str, column: Column) -> tuple[str, str]:
    found = NUMBER.fullmatch(text.strip())
    if not found or _mended(text) or (found[2] and not _is_unit(found[2], column)):
        raise Unreadable("is not a number", _expected(column), _number_advice(text))
    if re.fullmatch(r"[+-]?\d{1,3},\d{3}", found[1]):
        raise Unreadable(
            "could be a thousand or a decimal",
            _expected(column),
            f"Type {found[1].replace(',', '')} or {found[1].replace(',', '.')}.",
        )
    return found[1], found[2]


def _is_unit(text: str, column: Column) -> bool:
    if not column.unit or re.match(r"[\d.,]", text):
        return False
    try:
        conversion(text, column.unit)
    except UnitError as reason:
        raise Unreadable(
            f"is in {text}",
            str(reason),
            f"Type the value in {column.unit}, or with a unit that can be converted.",
        ) from reason
    return True


def _mended(text: str) -> str:
    """Return the number that a text was meant for where letters stand for digits, empty where none do."""
    mended = text.strip().translate(LOOKALIKES)
    return mended if mended != text.strip() and re.fullmatch(r"\d+(?:[.,]\d+)?", mended) else ""


def _number_advice(text: str) -> str:
    if mended := _mended(text):
        return f"Digits only: a letter here looks like a digit. Type {mended}."
    return "Type digits with one decimal point, or leave the cell blank."


def _converted(number: float, unit: str, column: Column) -> float:
    if not column.unit:
        return number
    factor, offset = conversion(unit, column.unit)
    return number * factor + offset


def _bounded(number: float, value: Value, column: Column) -> float:
    low = column.above if column.above is not None else column.at_least
    too_low = low is not None and (number <= low if column.above is not None else number < low)
    if not isfinite(number):
        raise Unreadable("is not a finite number", _expected(column), "Type the value again.")
    if too_low or (column.at_most is not None and number > column.at_most):
        raise Unreadable("is not possible here", bounds(column), f"Check {shown(value)}, or leave the cell blank.")
    return number


def bounds(column: Column) -> str:
    """Return the physically possible range of a column in words."""
    low = f"above {column.above:g}" if column.above is not None else ""
    if column.at_least is not None:
        low = f"at least {column.at_least:g}"
    high = f"at most {column.at_most:g}" if column.at_most is not None else ""
    unit = f" {column.unit}" if column.unit and not column.unit.startswith("1/") else ""
    return f"a number {' and '.join(part for part in (low, high) if part)}{unit}"


def _count(value: Value, column: Column) -> int:
    number = _number(value, column, "")
    if not number.is_integer():
        raise Unreadable("is not a whole number", _expected(column), "Type a whole number.")
    return int(number)


def _level(value: Value, column: Column) -> float:
    percent = isinstance(value, str) and value.strip().endswith("%")
    number = _number(value.strip().removesuffix("%") if isinstance(value, str) else value, column, "")
    return number / 100 if percent or number > 1 else number


def _choice(value: Value, column: Column) -> str:
    from rapidfuzz import fuzz, process, utils

    word = re.sub(r"[\s_-]+", "-", shown_whole(value).casefold())
    for choice in column.choices:
        if word in (choice, choice.replace("-", "")):
            return choice
    near = process.extractOne(
        shown_whole(value),
        column.choices,
        scorer=fuzz.ratio,
        processor=utils.default_process,
        score_cutoff=60,
    )
    advice = f"Did you mean {near[0]}?" if near else "Type one of these words."
    raise Unreadable("is not one of the words for this column", _expected(column), advice)


def _flag(value: Value) -> bool:
    word = shown_whole(value).casefold()
    if word in YES + NO:
        return word in YES
    raise Unreadable("is neither yes nor no", "yes or no", "Type yes or no.")


def _currency(value: Value) -> str:
    from babel.core import get_global

    currency = shown_whole(value).upper()
    if currency not in get_global("all_currencies"):
        raise Unreadable("is not a currency code", "a code of ISO 4217 such as EUR or USD", "Type the three letters.")
    return currency


def _language(value: Value) -> str:
    from babel import Locale, UnknownLocaleError

    tag = shown_whole(value)
    try:
        Locale.parse(tag.replace("_", "-"), sep="-")
    except (ValueError, UnknownLocaleError) as error:
        raise Unreadable("is not a language tag", "a tag of BCP 47 such as en or es", "Type the tag.") from error
    return tag


def _date_reader(cells: ColumnCells) -> Reader:
    texts = TextDates.of(value for value in cells.values if isinstance(value, str))
    moment = cells.column.kind is Kind.MOMENT

    def read(value: Value, _: str) -> Value:
        if isinstance(value, datetime):
            return value if moment else value.date()
        if isinstance(value, date):
            return datetime.combine(value, time()) if moment else value
        if not isinstance(value, str):
            raise Unreadable("is not a date", "a date", "Type it as year-month-day, for example 2026-03-31.")
        try:
            found = texts.read(value)
        except Undated as reason:
            raise Unreadable(reason.found, "a date", reason.advice) from reason
        return found if moment else found.date()

    return read


def _unit_problems(cells: ColumnCells) -> Iterator[Problem]:
    column = cells.column
    if not column.unit or cells.header_row is None:
        return
    try:
        conversion(cells.unit or column.unit, column.unit)
    except UnitError as reason:
        yield cells.problem(
            Severity.ERROR,
            cells.header_row,
            f'"{column.name} ({cells.unit})" is not in a unit that can be used here',
            str(reason),
            f"Write the unit that the column is in, for example {column.header}.",
        )
        return
    if not cells.unit and any(isinstance(value, int | float) for value in cells.values):
        said = column.header.removeprefix(column.name).strip(" ()")
        yield cells.problem(
            Severity.REMARK,
            cells.header_row,
            f'"{column.name}" has no unit',
            column.header,
            f"It was taken as {said}.",
        )


def _uncomputed(cells: ColumnCells) -> Iterator[Problem]:
    rows = sorted(row for row in cells.rows if row in cells.uncomputed)
    if not rows:
        return
    where = f"{cells.letter}{rows[0]}" if len(rows) == 1 else f"{cells.letter}{rows[0]}:{cells.letter}{rows[-1]}"
    yield Problem(
        Severity.ERROR,
        cells.sheet,
        where,
        f"{len(rows)} formula{'s' * (len(rows) > 1)} that no program has computed yet",
        _expected(cells.column),
        "Open the workbook in your spreadsheet program and save it, or type the values.",
    )


def _missing(cells: ColumnCells, values: Iterable[Value]) -> Iterator[Problem]:
    if not cells.column.required:
        return
    for row, value in zip(cells.rows, values, strict=True):
        if value is None:
            yield cells.problem(
                Severity.ERROR, row, f"{cells.column.name} is blank", _expected(cells.column), "Fill it in."
            )


def _unusual(cells: ColumnCells, values: Iterable[Value]) -> Iterator[Problem]:
    if cells.column.usual is None:
        return
    low, high = cells.column.usual
    for row, value in zip(cells.rows, values, strict=True):
        if isinstance(value, int | float) and not low <= value <= high:
            said = f"{value:g} {cells.column.unit}".strip()
            yield cells.problem(
                Severity.CAUTION,
                row,
                f"{said} is unusual for {cells.column.name}",
                f"{low:g} to {high:g} {cells.column.unit}".strip(),
                "Check the value and its unit; it was used as it stands.",
            )


def _text_numbers(cells: ColumnCells) -> Iterator[Problem]:
    if cells.column.kind not in (Kind.NUMBER, Kind.COUNT) or cells.header_row is None:
        return
    texts = [
        row
        for row, value in zip(cells.rows, cells.values, strict=True)
        if isinstance(value, str) and (found := NUMBER.fullmatch(value.strip())) and not found[2]
    ]
    if texts:
        yield cells.problem(
            Severity.REMARK,
            texts[0],
            f"{len(texts)} number{'s' * (len(texts) > 1)} of {cells.column.name} kept as text",
            "numbers",
            "They were read as numbers; format the column as a number so that the spreadsheet can add it up.",
        )
