"""Colours, lines through and comments of cells in .xls [MS-XLS] and .ods (OpenDocument 1.3, part 3) workbooks."""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from reportgen.adopt.grid import one_line
from reportgen.workbook.files.archive import opened
from reportgen.workbook.files.limits import Part

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from xlrd.book import Book

Mark = tuple[str, int, int, str]  # sheet, row, column, what stands out there
STRUCK: Final = "struck through"
PLAIN_COLOURS: Final = (8, 32767)  # of an .xls: black, and what the system has for text
BLACK: Final = ("", "#000000", "transparent")
_NAMESPACE: Final = "{urn:oasis:names:tc:opendocument:xmlns:%s:1.0}"
_TABLE, _STYLE, _OFFICE = (_NAMESPACE % name for name in ("table", "style", "office"))
_FO: Final = _NAMESPACE % "xsl-fo-compatible"
_CELLS: Final = (f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell")


def marks_of_excel_97(path: Path, most_rows: int) -> Iterator[Mark]:
    """Yield what stands out in the cells of an .xls workbook."""
    import xlrd

    book = xlrd.open_workbook(str(path), formatting_info=True, logfile=io.StringIO())
    for sheet in book.sheets():
        for row in range(min(sheet.nrows, most_rows)):
            for column in range(sheet.row_len(row)):
                if said := _of_format(book, sheet.cell_xf_index(row, column)):
                    yield sheet.name, row + 1, column + 1, said
        for (row, column), note in sheet.cell_note_map.items():
            yield sheet.name, row + 1, column + 1, f'"{one_line(note.text)}"'


def _of_format(book: "Book", number: int) -> str:
    look = book.xf_list[number]
    font = book.font_list[look.font_index]
    back = look.background
    fill = f"fill {back.pattern_colour_index}" if back and back.fill_pattern else ""
    colour = "" if font.colour_index in PLAIN_COLOURS else f"text {font.colour_index}"
    return " ".join(filter(None, (fill, colour, STRUCK if font.struck_out else "")))


def marks_of_open_document(path: Path, most_rows: int) -> Iterator[Mark]:
    """Yield what stands out in the cells of an .ods workbook."""
    from defusedxml.ElementTree import fromstring

    document = fromstring(opened(path.read_bytes()).part("content.xml", Part.DOCUMENT), forbid_dtd=True)
    looks = {one.get(f"{_STYLE}name", ""): _look(one) for one in document.iter(f"{_STYLE}style")}
    for sheet in document.iter(f"{_TABLE}table"):
        number = 0
        for row in sheet.iter(f"{_TABLE}table-row"):
            times = int(row.get(f"{_TABLE}number-rows-repeated", "1"))
            held = list(_of_row(row, looks)) if number < most_rows else []
            for at in range(number + 1, min(number + times, most_rows) + 1):
                yield from ((sheet.get(f"{_TABLE}name", ""), at, column, said) for column, said in held)
            number += times


def _of_row(row: "Element", looks: dict[str, str]) -> Iterator[tuple[int, str]]:
    column = 0
    for cell in (one for one in row if one.tag in _CELLS):
        times = int(cell.get(f"{_TABLE}number-columns-repeated", "1"))
        note = cell.find(f"{_OFFICE}annotation")
        said = looks.get(cell.get(f"{_TABLE}style-name", ""), "")
        said = f'"{one_line(" ".join(note.itertext()))}"' if note is not None else said
        if said and len(cell):  # cells without a text, often a thousand at once, say nothing
            yield from ((at, said) for at in range(column + 1, column + times + 1))
        column += times


def _look(style: "Element") -> str:
    cell, text = style.find(f"{_STYLE}table-cell-properties"), style.find(f"{_STYLE}text-properties")
    fill = cell.get(f"{_FO}background-color", "") if cell is not None else ""
    colour = text.get(f"{_FO}color", "") if text is not None else ""
    line = text.get(f"{_STYLE}text-line-through-style", "none") if text is not None else "none"
    said = (f"fill {fill}" if fill not in BLACK else "", f"text {colour}" if colour not in BLACK else "")
    return " ".join(filter(None, (*said, STRUCK if line != "none" else "")))
