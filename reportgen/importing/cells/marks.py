"""How cells stand out: fills, lines through, comments, formulas."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from posixpath import join, normpath
from typing import TYPE_CHECKING, Final, TypeVar
from xml.etree.ElementTree import Element

from defusedxml.ElementTree import fromstring
from openpyxl.utils.cell import coordinate_to_tuple

from reportgen.importing.cells.plain import plain
from reportgen.importing.model.cells import Place
from reportgen.workbook.files.archive import Archive, opened
from reportgen.workbook.files.limits import Part
from reportgen.workbook.files.package import SheetXml, read_package

if TYPE_CHECKING:
    from xlrd.book import Book

T = TypeVar("T")
WHITE: Final = ("FFFFFF", "")
_COMPOUND_FILE: Final = bytes.fromhex("d0cf11e0")
_MAIN: Final = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_CELL: Final = re.compile(rb"<(?:\w+:)?c ([^>]*?)(?:/>|>\s*(<(?:\w+:)?f[\s>/])?)")
_PLACE: Final = re.compile(rb'\br="([A-Z]{1,3}\d+)"')
_STYLE_NUMBER: Final = re.compile(rb'\bs="(\d+)"')
_ODF: Final = "{urn:oasis:names:tc:opendocument:xmlns:%s:1.0}"
_TABLE, _STYLE, _OFFICE = (_ODF % name for name in ("table", "style", "office"))
_FO: Final = _ODF % "xsl-fo-compatible"
_ODF_CELLS: Final = (f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell")
MOST_REPEATED: Final = (
    1000  # marked cells in one element; more are a whole row or column that was coloured
)


@dataclass(frozen=True)
class Marks:
    """The marks of one sheet, by row and column from 1; a fill is RRGGBB, or the name of a theme's
    colour.
    """

    fills: Mapping[Place, str] = field(default_factory=dict)
    comments: Mapping[Place, str] = field(default_factory=dict)
    struck: frozenset[Place] = frozenset()
    formulas: frozenset[Place] = frozenset()

    def turned(self) -> "Marks":
        """Return the marks of a sheet whose rows are its columns."""
        struck, formulas = (
            frozenset(places_turned(dict.fromkeys(cells))) for cells in (self.struck, self.formulas)
        )
        return Marks(places_turned(self.fills), places_turned(self.comments), struck, formulas)


def places_turned(places: Mapping[Place, T]) -> dict[Place, T]:
    """Return what stands at places, rows and columns exchanged."""
    return {(column, row): what for (row, column), what in places.items()}


NO_MARKS: Final = Marks()


def marks_in(content: bytes) -> Mapping[str, Marks]:
    """Return the marks of a spreadsheet's bytes by sheet name; none where they cannot be read, as
    its cells were.
    """
    try:
        if content.startswith(_COMPOUND_FILE):
            return _of_excel_97(content)
        archive = opened(content)
        if "content.xml" in archive.names:
            return _of_open_document(archive)
        return _of_office_open(content, archive)
    except (
        Exception
    ):  # damage shows as errors of many kinds; marks only add to cells that were read
        return {}


# --- .xlsx: ECMA-376


def _of_office_open(content: bytes, archive: Archive) -> dict[str, Marks]:
    styles = _fills_and_strikes(archive)
    return {sheet.name: _of_sheet(sheet, styles, archive) for sheet in read_package(content).sheets}


def _fills_and_strikes(archive: Archive) -> dict[int, tuple[str, bool]]:
    """Return fill and line through of each style that has one, by its number."""
    name = next((name for name in archive.names if name.casefold().endswith("/styles.xml")), "")
    if not name:
        return {}
    root = fromstring(archive.part(name, Part.STYLES))
    fills = [_colour(fill) for fill in root.iterfind(f"{_MAIN}fills/{_MAIN}fill")]
    strikes = [_is_struck(font) for font in root.iterfind(f"{_MAIN}fonts/{_MAIN}font")]
    styles: dict[int, tuple[str, bool]] = {}
    for number, style in enumerate(root.iterfind(f"{_MAIN}cellXfs/{_MAIN}xf")):
        if fills:
            fill = fills[int(style.get("fillId", "0"))]
        else:
            fill = ""
        if strikes:
            struck = strikes[int(style.get("fontId", "0"))]
        else:
            struck = False
        if fill or struck:
            styles[number] = fill, struck
    return styles


def _colour(fill: Element) -> str:
    pattern = fill.find(f"{_MAIN}patternFill")
    if pattern is None or pattern.get("patternType") != "solid":
        return ""
    colour = pattern.find(f"{_MAIN}fgColor")
    if colour is None:
        return ""
    rgb = colour.get("rgb", "")[-6:].upper()
    if rgb:
        if rgb in WHITE:
            return ""
        return rgb
    named = [
        f"{name} {colour.get(name)}" for name in ("theme", "indexed", "tint") if colour.get(name)
    ]
    if "tint" not in colour.attrib:
        return " ".join(named).replace("theme 0", "", 1)
    return " ".join(named)


def _is_struck(font: Element) -> bool:
    strike = font.find(f"{_MAIN}strike")
    return strike is not None and strike.get("val", "1") in {"1", "true"}


def _of_sheet(sheet: SheetXml, styles: Mapping[int, tuple[str, bool]], archive: Archive) -> Marks:
    fills: dict[Place, str] = {}
    struck: set[Place] = set()
    formulas: set[Place] = set()
    for place, fill, is_struck, formula in _marked_cells(sheet, styles):
        if fill:
            fills[place] = fill
        if is_struck:
            struck.add(place)
        if formula:
            formulas.add(place)
    return Marks(fills, _comments(sheet, archive), frozenset(struck), frozenset(formulas))


def _marked_cells(
    sheet: SheetXml, styles: Mapping[int, tuple[str, bool]]
) -> Iterator[tuple[Place, str, bool, bytes]]:
    """Yield place, fill, strike and formula of the cells that have one of them."""
    if not styles and not sheet.has_formulas:
        return
    for attributes, formula in _CELL.findall(sheet.xml, *sheet.data):
        fill, is_struck = _style_of(attributes, styles)
        if formula or fill or is_struck:
            address = _PLACE.search(attributes)
            if address:
                yield coordinate_to_tuple(address[1].decode()), fill, is_struck, formula


def _style_of(attributes: bytes, styles: Mapping[int, tuple[str, bool]]) -> tuple[str, bool]:
    """Return the fill of a cell and whether it is struck, by its attributes."""
    number = _STYLE_NUMBER.search(attributes)
    if number is None:
        return "", False
    return styles.get(int(number[1]), ("", False))


def _comments(sheet: SheetXml, archive: Archive) -> dict[Place, str]:
    folder, _, name = sheet.part.rpartition("/")
    relations = f"{folder}/_rels/{name}.rels"
    if relations not in archive.names:
        return {}
    found: dict[Place, str] = {}
    for relation in fromstring(archive.part(relations, Part.LIST)):
        target = normpath(join("/", folder, relation.get("Target", ""))).lstrip("/")
        if relation.get("Type", "").endswith("/comments") and target in archive.names:
            for comment in fromstring(archive.part(target, Part.LIST)).iter(f"{_MAIN}comment"):
                text = plain("".join(comment.itertext()))
                found[coordinate_to_tuple(comment.get("ref", "A1"))] = text
    return found


# --- .ods: OpenDocument 1.3, part 3


def _of_open_document(archive: Archive) -> dict[str, Marks]:
    document = fromstring(archive.part("content.xml", Part.DOCUMENT), forbid_dtd=True)
    styles = {
        style.get(f"{_STYLE}name", ""): _odf_look(style)
        for style in document.iter(f"{_STYLE}style")
    }
    tables = document.iter(f"{_TABLE}table")
    return {table.get(f"{_TABLE}name", ""): _of_odf_table(table, styles) for table in tables}


def _odf_look(style: Element) -> tuple[str, bool]:
    cell, text = (
        style.find(f"{_STYLE}table-cell-properties"),
        style.find(f"{_STYLE}text-properties"),
    )
    if cell is None:
        fill = ""
    else:
        fill = cell.get(f"{_FO}background-color", "")
    if text is None:
        line = "none"
    else:
        line = text.get(f"{_STYLE}text-line-through-style", "none")
    colour = fill.removeprefix("#").upper()
    return "" if colour in (*WHITE, "TRANSPARENT") else colour, line != "none"


def _of_odf_table(table: Element, styles: Mapping[str, tuple[str, bool]]) -> Marks:
    fills: dict[Place, str] = {}
    comments: dict[Place, str] = {}
    struck: set[Place] = set()
    formulas: set[Place] = set()
    for cell, places in _odf_cells(table):
        fill, is_struck = styles.get(cell.get(f"{_TABLE}style-name", ""), ("", False))
        note = cell.find(f"{_OFFICE}annotation")
        if fill:
            fills.update(dict.fromkeys(places, fill))
        if is_struck:
            struck.update(places)
        if cell.get(f"{_TABLE}formula"):
            formulas.update(places)
        if note is not None:
            comments[places[0]] = plain(" ".join(note.itertext()))
    return Marks(fills, comments, frozenset(struck), frozenset(formulas))


def _odf_cells(table: Element) -> Iterator[tuple[Element, list[Place]]]:
    """Yield the cells of a table that hold something, with the places where each is repeated."""
    row = 1
    for element in table.iter(f"{_TABLE}table-row"):
        column = 1
        for cell in element:
            if cell.tag not in _ODF_CELLS:
                continue
            times = int(cell.get(f"{_TABLE}number-columns-repeated", "1"))
            end = column + min(times, MOST_REPEATED)
            if len(cell) and end > column:
                yield cell, [(row, place) for place in range(column, end)]
            column += times
        row += int(element.get(f"{_TABLE}number-rows-repeated", "1"))


# --- .xls: [MS-XLS]


def _of_excel_97(content: bytes) -> dict[str, Marks]:
    import io

    import xlrd

    book = xlrd.open_workbook(
        file_contents=content, formatting_info=True, ragged_rows=True, logfile=io.StringIO()
    )
    looks = [_xls_look(book, number) for number in range(len(book.xf_list))]
    marks: dict[str, Marks] = {}
    for sheet in book.sheets():
        fills: dict[Place, str] = {}
        struck: set[Place] = set()
        for row in range(sheet.nrows):
            for column in range(sheet.row_len(row)):
                fill, line = looks[sheet.cell_xf_index(row, column)]
                if fill:
                    fills[row + 1, column + 1] = fill
                if line:
                    struck.add((row + 1, column + 1))
        notes = {
            (row + 1, column + 1): plain(note.text)
            for (row, column), note in sheet.cell_note_map.items()
        }
        marks[sheet.name] = Marks(fills, notes, frozenset(struck))
    return marks


def _xls_look(book: "Book", number: int) -> tuple[str, bool]:
    style = book.xf_list[number]
    back = style.background
    fill = ""
    if back and back.fill_pattern:
        colour = book.colour_map.get(back.pattern_colour_index)
        if colour:
            fill = "{:02X}{:02X}{:02X}".format(*colour)
        else:
            fill = f"indexed {back.pattern_colour_index}"
    return "" if fill in WHITE else fill, bool(book.font_list[style.font_index].struck_out)
