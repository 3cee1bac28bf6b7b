"""Rows that somebody marked with a colour, a line through or a comment: what the mark means only its owner knows."""

import warnings
from collections import Counter
from collections.abc import Container, Iterator, Mapping
from pathlib import Path
from typing import Any, Final
from zipfile import ZipFile

from reportgen.adopt.grid import one_line
from reportgen.adopt.marks_of_others import STRUCK, marks_of_excel_97, marks_of_open_document
from reportgen.workbook.files.archive import opened

Marks = Mapping[str, Mapping[int, Mapping[int, str]]]  # by sheet, row, column: a look, or a comment in quotes
SUFFIXES: Final = (".xlsx", ".xlsm")
OTHERS: Final = {".xls": marks_of_excel_97, ".ods": marks_of_open_document}
MOST_ROWS: Final = 5_000  # of a sheet; nobody colours the rows of a logger
LARGEST: Final = 2**22  # bytes of a workbook that is loaded as a whole for its comments
LONGEST: Final = 60  # letters of a comment that are shown
PLAIN: Final = ("theme 1 0", "rgb FF000000 0", "rgb 00000000 0", "indexed 8 0", "indexed 64 0")  # the usual black
RAREST: Final = 3  # marked rows are at most one in so many: more are a pattern of the table


def marks_of(path: Path, sheets: Container[str] | None = None) -> Marks:
    """Return the colours, lines through and comments of a workbook's cells, with `sheets` those of these sheets.

    Nothing of a file that has none or cannot be opened.
    """
    suffix = path.suffix.casefold()
    if suffix not in (*SUFFIXES, *OTHERS):
        return {}
    try:
        if suffix in OTHERS:
            return _of_other(path, sheets)
        found = _fills(path, sheets)
        for sheet, row, column, text in _comments_in(path, sheets):
            found.setdefault(sheet, {}).setdefault(row, {})[column] = f'"{text}"'
    except Exception:  # on a file that it does not know openpyxl raises errors of many kinds; its cells were read
        return {}
    return found


def _of_other(path: Path, sheets: Container[str] | None) -> Marks:
    found: dict[str, dict[int, dict[int, str]]] = {}
    for sheet, row, column, said in OTHERS[path.suffix.casefold()](path, MOST_ROWS):
        if sheets is None or sheet in sheets:
            found.setdefault(sheet, {}).setdefault(row, {})[column] = said
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
                if getattr(cell, "has_style", False) and (look := _look(cell)):
                    found.setdefault(sheet.title, {}).setdefault(cell.row, {})[cell.column] = look
    book.close()
    return found


def _look(cell: Any) -> str:
    """Return what makes a cell stand out: its fill, the colour of its text, a line through it."""
    fill, font = cell.fill, cell.font
    filled = f"fill {_colour(fill.fgColor)}" if fill.fill_type == "solid" else ""
    text = _colour(font.color) if font.color else ""
    coloured = f"text {text}" if text and text not in PLAIN else ""
    return " ".join(filter(None, (filled, coloured, STRUCK if font.strike else "")))


def _colour(colour: Any) -> str:
    return f"{colour.type} {colour.value} {colour.tint:g}"


def is_crossed_out(marks: Mapping[int, Mapping[int, str]], rows: tuple[int, ...]) -> bool:
    """Tell whether each of some rows has a line through a cell."""
    return all(any(STRUCK in mark for mark in marks[row].values()) for row in rows)


def _comments_in(path: Path, sheets: Container[str] | None) -> Iterator[tuple[str, int, int, str]]:
    """Yield sheet, row, column and text of each comment; openpyxl has them only where it loads the whole book."""
    with ZipFile(path) as archive:
        has_some = any("comments" in name for name in archive.namelist())
    if not has_some or path.stat().st_size > LARGEST:
        return
    opened(path.read_bytes()).count_all()
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
