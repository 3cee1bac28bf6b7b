"""Rows that somebody marked with a colour or a comment: what the mark means only its owner knows."""

import warnings
from collections import Counter
from collections.abc import Container, Iterator, Mapping
from pathlib import Path
from typing import Any, Final
from zipfile import ZipFile

from reportgen.adopt.grid import one_line

Marks = Mapping[str, Mapping[int, Mapping[int, str]]]  # by sheet, row and column: a colour, or a comment in quotes
SUFFIXES: Final = (".xlsx", ".xlsm")
MOST_ROWS: Final = 5_000  # of a sheet; nobody colours the rows of a logger
LARGEST: Final = 2**22  # bytes of a workbook that is loaded as a whole for its comments
LONGEST: Final = 60  # letters of a comment that are shown
RAREST: Final = 3  # marked rows are at most one in so many: more are a pattern of the table


def marks_of(path: Path, sheets: Container[str] | None = None) -> Marks:
    """Return the fills and comments of a workbook's cells, nothing of a file that has none or cannot be opened.

    With `sheets` only theirs are looked for.
    """
    if path.suffix.casefold() not in SUFFIXES:
        return {}
    try:
        found = _fills(path, sheets)
        for sheet, row, column, text in _comments_in(path, sheets):
            found.setdefault(sheet, {}).setdefault(row, {})[column] = f'"{text}"'
    except Exception:  # on a file that it does not know openpyxl raises errors of many kinds; its cells were read
        return {}
    return found


def _loaded(path: Path, *, read_only: bool) -> Any:
    from openpyxl import load_workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return load_workbook(path, read_only=read_only)


def _wanted(book: Any, sheets: Container[str] | None) -> list[Any]:
    return [sheet for sheet in book.worksheets if sheets is None or sheet.title in sheets]


def _fills(path: Path, sheets: Container[str] | None) -> dict[str, dict[int, dict[int, str]]]:
    book = _loaded(path, read_only=True)
    found: dict[str, dict[int, dict[int, str]]] = {}
    for sheet in _wanted(book, sheets):
        for row in sheet.iter_rows(max_row=MOST_ROWS):
            for cell in row:
                if colour := _colour(cell):
                    found.setdefault(sheet.title, {}).setdefault(cell.row, {})[cell.column] = colour
    book.close()
    return found


def _colour(cell: Any) -> str:
    fill = getattr(cell, "fill", None)  # an empty cell has none
    if fill is None or fill.fill_type != "solid":
        return ""
    return f"{fill.fgColor.type} {fill.fgColor.value} {fill.fgColor.tint:g}"


def _comments_in(path: Path, sheets: Container[str] | None) -> Iterator[tuple[str, int, int, str]]:
    """Yield sheet, row, column and text of each comment; openpyxl has them only where it loads the whole book."""
    with ZipFile(path) as archive:
        has_some = any("comments" in name for name in archive.namelist())
    if not has_some or path.stat().st_size > LARGEST:
        return
    for sheet in _wanted(_loaded(path, read_only=False), sheets):
        for row in sheet.iter_rows(max_row=MOST_ROWS):
            for cell in row:
                if cell.comment:
                    text = one_line(cell.comment.text)
                    yield sheet.title, cell.row, cell.column, text if len(text) <= LONGEST else f"{text[:LONGEST]}..."


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
