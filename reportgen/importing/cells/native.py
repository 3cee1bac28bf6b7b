"""Cells that a spreadsheet has typed: numbers, dates, times, truth values, as their number formats
show them.
"""

import re
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from functools import cache
from typing import Final

import numpy as np

from reportgen.importing.cells.draft import Draft, moment_texts
from reportgen.importing.cells.numbers import is_unit
from reportgen.importing.cells.plain import plain
from reportgen.importing.model.cells import Kind
from reportgen.workbook.raw import RawSheet, Value

MOST_ROWS: Final = (
    20_000  # of a sheet whose number formats are looked at; a longer one is a logger's
)
_CODE_FORMAT: Final = re.compile(r"(0+)(?:\.(0+))?(%?)")
_UNIT_FORMAT: Final = re.compile(r'([#,0]*0(?:\.(0+))?)\s*(?:\\ )?"?\s*([^"\\]+?)\s*"')


def fill_native(draft: Draft, raw: RawSheet) -> None:
    """Type all cells but texts."""
    for column, values in enumerate(raw.columns):
        _fill_column(draft, column, values)
    if len(raw.rows) <= MOST_ROWS:
        _apply_formats(draft, raw)
    for (row, column), formula in raw.uncomputed.items():
        if row <= draft.kind.shape[0] and column <= draft.kind.shape[1]:
            draft.set_cell(row - 1, column - 1, Kind.MISSING, plain(formula))


def _fill_column(draft: Draft, column: int, values: Sequence[Value]) -> None:
    types = set(map(type, values))
    if types & {int, float}:
        _fill_numbers(draft, column, values)
    if types & {datetime, date}:
        _fill_moments(draft, column, values)
    if types & {bool, time, timedelta}:
        for row, value in enumerate(values):
            if isinstance(value, bool | time | timedelta):
                draft.set_cell(row, column, Kind.TEXT, _other_text(value))


def _fill_numbers(draft: Draft, column: int, values: Sequence[Value]) -> None:
    rows = [row for row, value in enumerate(values) if type(value) is float or type(value) is int]
    numbers = np.array([values[row] for row in rows], np.float64)
    different, index = np.unique(numbers, return_inverse=True)
    texts = np.array(list(map(number_text, different.tolist())), object)
    draft.kind[rows, column] = Kind.NUMBER
    draft.number[rows, column] = numbers
    draft.text[rows, column] = texts[index]


def number_text(number: float) -> str:
    """Return a number to the 15 digits of a spreadsheet, whole ones without a point."""
    if number.is_integer() and abs(number) < 1e15:
        return str(int(number))
    return f"{number:.15g}"


def _fill_moments(draft: Draft, column: int, values: Sequence[Value]) -> None:
    """Type dates and moments to the nearest second, as spreadsheets keep fractions of a day."""
    rows = [row for row, value in enumerate(values) if isinstance(value, date)]
    exact = np.array([values[row] for row in rows], "datetime64[us]")
    moments = (exact + np.timedelta64(500, "ms")).astype("datetime64[s]")
    draft.kind[rows, column] = Kind.MOMENT
    draft.moment[rows, column] = moments
    draft.text[rows, column] = moment_texts(moments)


def _other_text(value: bool | time | timedelta) -> str:
    if isinstance(value, bool):
        if value:
            return "TRUE"
        return "FALSE"
    if isinstance(value, time):
        return value.replace(microsecond=0).isoformat().removesuffix(":00")
    minutes, seconds = divmod(round(value.total_seconds()), 60)
    shown = f"{minutes // 60}:{minutes % 60:02d}"
    if seconds:
        return f"{shown}:{seconds:02d}"
    return shown


def _apply_formats(draft: Draft, raw: RawSheet) -> None:
    """Write numbers as their formats show them where that is a code, a percentage or a unit."""
    rows, columns = draft.kind.shape
    for (row, column), number_format in raw.formats.items():
        shown = _shown_by(number_format)
        if not shown or row > rows or column > columns:
            continue
        if draft.kind[row - 1, column - 1] == Kind.NUMBER:
            _apply_format(draft, row, column, shown)


def _apply_format(draft: Draft, row: int, column: int, shown: tuple[int, int, str, str]) -> None:
    """Write one number as its format shows it: width, decimals, percent sign and unit."""
    width, decimals, percent, unit = shown
    place = row - 1, column - 1
    number = float(draft.number[place])
    if percent:
        number *= 100
        draft.number[place] = float(f"{number:.12g}")
        unit = "%"
    if unit:
        draft.units[row, column] = unit
    text = f"{number:0{width}.{decimals}f}"
    if abs(float(text) - number) > 1e-9 * max(abs(number), 1):
        return
    if percent:
        draft.text[place] = f"{text}{percent}"
    else:
        draft.text[place] = f"{text} {unit}".rstrip()


@cache
def _shown_by(number_format: str) -> tuple[int, int, str, str] | None:
    """Return width, decimals, percent sign and unit of a number format; None where it changes
    nothing.
    """
    section = number_format.partition(";")[0]
    if code := _CODE_FORMAT.fullmatch(section):
        decimals = len(code[2] or "")
        width = len(code[1]) + (decimals + 1 if decimals else 0)
        return width, decimals, code[3], ""
    match = _UNIT_FORMAT.fullmatch(section)
    if match and is_unit(match[3]):
        return 1, len(match[2] or ""), "", match[3]
    return None
