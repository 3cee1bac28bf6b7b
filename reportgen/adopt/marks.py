"""Rows that somebody marked with a colour or a comment: what the mark means only its owner knows."""

import warnings
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from reportgen.adopt.grid import one_line

Marks = Mapping[str, Mapping[int, Mapping[int, str]]]  # by sheet, row and column: a colour, or a comment in quotes
SUFFIXES: Final = (".xlsx", ".xlsm")
MOST_ROWS: Final = 5_000  # of a sheet; nobody colours the rows of a logger
LONGEST: Final = 60  # letters of a comment that are shown
RAREST: Final = 3  # marked rows are at most one in so many: more are a pattern of the table


def marks_of(path: Path) -> Marks:
    """Return the fills and comments of a workbook's cells, nothing of a file that has none or cannot be opened."""
    from openpyxl import load_workbook

    if path.suffix.casefold() not in SUFFIXES:
        return {}
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = load_workbook(path)
    except Exception:  # on a file that it does not know openpyxl raises errors of many kinds; its cells were read
        return {}
    return {sheet.title: found for sheet in book.worksheets if (found := _of_sheet(sheet))}


def _of_sheet(sheet: Any) -> Mapping[int, Mapping[int, str]]:
    found: dict[int, dict[int, str]] = {}
    for row in sheet.iter_rows(max_row=min(sheet.max_row, MOST_ROWS)):
        for cell in row:
            if mark := _mark(cell):
                found.setdefault(cell.row, {})[cell.column] = mark
    return found


def _mark(cell: Any) -> str:
    if getattr(cell, "comment", None):
        text = one_line(cell.comment.text)
        return f'"{text if len(text) <= LONGEST else text[: LONGEST - 3] + "..."}"'
    if cell.fill is None or cell.fill.fill_type != "solid":
        return ""
    colour = cell.fill.fgColor
    return f"{colour.type} {colour.value} {colour.tint:g}"


def marked_rows(marks: Mapping[int, Mapping[int, str]], rows: tuple[int, ...]) -> tuple[tuple[int, ...], str]:
    """Return the rows of a table that stand out by a colour or a comment, and the first comment.

    A colour that most cells of a column have, or that many rows have, marks nothing.
    """
    usual = {column: _usual(marks, rows, column) for column in {at for row in rows for at in marks.get(row, {})}}
    found = tuple(row for row in rows if any(mark != usual[at] for at, mark in marks.get(row, {}).items()))
    if len(found) * RAREST > len(rows):
        return (), ""
    return found, next(_comments(marks, found), "")


def _usual(marks: Mapping[int, Mapping[int, str]], rows: tuple[int, ...], column: int) -> str:
    return Counter(marks.get(row, {}).get(column, "") for row in rows).most_common(1)[0][0]


def _comments(marks: Mapping[int, Mapping[int, str]], rows: tuple[int, ...]) -> Iterator[str]:
    for row in rows:
        yield from (mark for mark in marks[row].values() if mark.startswith('"'))
