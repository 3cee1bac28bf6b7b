"""Small files that would cost a reader much: each kind under a name, written in a moment and packed
tightly.
"""

import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.archives import FIRST_SHEET, MAIN, one_cell, parts_of, sheet_xml

SEVEN = '<row r="1"><c r="A1"><v>7</v></c></row>'
SPREADSHEET = (
    '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0">{styles}'
    '<office:body><office:spreadsheet><table:table table:name="Climate">{rows}</table:table>'
    "</office:spreadsheet></office:body></office:document-content>"
)
OPEN_CELL = (
    '<table:table-cell office:value-type="float"'
    ' office:value="7.25"{more}><text:p>7.250</text:p></table:table-cell>'
)
Pieces = Iterator[str]


def times(number: int, piece: str) -> Pieces:
    """Yield a piece over and over, some thousand at once."""
    thousand = piece * 1000
    for _ in range(number // 1000):
        yield thousand
    yield piece * (number % 1000)


def around(frame: str, pieces: Pieces) -> Pieces:
    """Yield pieces in the place of a frame's @."""
    before, after = frame.split("@")
    yield before
    yield from pieces
    yield after


def written(path: Path, parts: dict[str, Pieces | bytes | str]) -> Path:
    """Write an archive, no part of it ever whole in memory."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            with archive.open(name, "w", force_zip64=True) as member:
                for piece in [part] if isinstance(part, bytes | str) else part:
                    member.write(piece if isinstance(piece, bytes) else piece.encode())
    return path


def workbook(path: Path, parts: dict[str, Pieces | bytes | str]) -> Path:
    """Write an .xlsx of one cell, with some of its parts others."""
    return written(path, parts_of(one_cell(path)) | parts)


def sheet(rows: Pieces, after: str = "") -> Pieces:
    """Return the XML of a sheet with rows."""
    return around(sheet_xml("@", after=after), rows)


def behind(pieces: Pieces, element: str) -> Pieces:
    """Return the XML of a sheet of one cell with an element of many pieces behind the cells."""
    return around(sheet_xml(SEVEN, after=f"<{element}>@</{element}>"), pieces)


def cells(number: int, cell: str, width: int = 10) -> Pieces:
    """Yield rows of cells that are alike but for their place; `cell` has {at} for the place."""
    letters = [chr(65 + column) for column in range(width)]
    for row in range(1, number // width + 1):
        yield (
            "<row"
            f' r="{row}">{"".join(cell.format(at=f"{letter}{row}") for letter in letters)}</row>'
        )


def deep(name: str, levels: int) -> Pieces:
    """Yield elements one within the other."""
    yield from times(levels, f"<{name}>")
    yield from times(levels, f"</{name}>")


STRINGS = f'<sst xmlns="{MAIN}">@</sst>'
STYLES = f'<styleSheet xmlns="{MAIN}"><cellXfs>@</cellXfs></styleSheet>'
FORMATS = f'<styleSheet xmlns="{MAIN}"><numFmts>@</numFmts><cellXfs><xf/></cellXfs></styleSheet>'
RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
BOOK = (
    f'<workbook xmlns="{MAIN}" xmlns:r="{RELATIONS}"><sheets><sheet name="a" sheetId="1"'
    ' r:id="rId1"/></sheets><definedNames>@</definedNames></workbook>'
)
SHEETS = f'<workbook xmlns="{MAIN}" xmlns:r="{RELATIONS}"><sheets>@</sheets></workbook>'
HYPERLINK = '<hyperlink ref="A1" location="B1"/>'
VALIDATION = '<dataValidation type="whole" sqref="A1:XFD1048576"/>'
RULE = (
    '<conditionalFormatting sqref="A1:XFD1048576"><cfRule type="expression"'
    ' priority="1"/></conditionalFormatting>'
)

# By name: the part of an .xlsx, and what it holds.
OFFICE_OPEN: dict[str, Callable[[], dict[str, Pieces]]] = {
    "merged ranges": lambda: {
        FIRST_SHEET: behind(times(1_000_000, '<mergeCell ref="A1:B1"/>'), "mergeCells")
    },
    "merged ranges under a prefix": lambda: {
        FIRST_SHEET: behind(
            times(1_000_000, f'<x:mergeCell xmlns:x="{MAIN}" ref="A1:B1"/>'), "mergeCells"
        )
    },
    "shared texts": lambda: {
        "xl/sharedStrings.xml": around(STRINGS, times(5_000_000, "<si><t>a</t></si>"))
    },
    "blank shared texts": lambda: {
        "xl/sharedStrings.xml": around(STRINGS, times(1_000_000, "<si/>"))
    },
    "pieces of a text": lambda: {
        "xl/sharedStrings.xml": around(
            STRINGS, around("<si>@</si>", times(500_000, "<r><t>a</t></r>"))
        )
    },
    "styles": lambda: {"xl/styles.xml": around(STYLES, times(2_000_000, '<xf numFmtId="14"/>'))},
    "number formats": lambda: {
        "xl/styles.xml": around(
            FORMATS, times(1_000_000, '<numFmt numFmtId="200" formatCode="0"/>')
        )
    },
    "empty cells": lambda: {FIRST_SHEET: sheet(cells(1_900_000, '<c r="{at}" s="1"/>'))},
    "empty cells without a place": lambda: {
        FIRST_SHEET: sheet(times(190_000, f"<row>{'<c/>' * 10}</row>"))
    },
    "empty rows": lambda: {FIRST_SHEET: sheet(times(1_000_000, '<row ht="9"/>'))},
    "one long text": lambda: {
        "xl/sharedStrings.xml": around(
            STRINGS, around("<si><t>@</t></si>", times(200_000_000, "a"))
        )
    },
    "one long text in a cell": lambda: {
        FIRST_SHEET: sheet(
            around(
                '<row r="1"><c r="A1" t="inlineStr"><is><t>@</t></is></c></row>',
                times(20_000_000, "a"),
            )
        )
    },
    "one long attribute": lambda: {
        FIRST_SHEET: sheet(around('<row r="1" ht="@"/>', times(20_000_000, "1")))
    },
    "many long texts": lambda: {
        "xl/sharedStrings.xml": around(STRINGS, times(2000, f"<si><t>{'a' * 100_000}</t></si>"))
    },
    "formulas": lambda: {FIRST_SHEET: sheet(times(1_900_000, "<c><f>A1</f></c>"))},
    "cells": lambda: {FIRST_SHEET: sheet(times(4_100_000, "<c><v>1</v></c>"))},
    "elements within elements": lambda: {
        FIRST_SHEET: sheet(around('<row r="1">@</row>', deep("x", 1_000_000)))
    },
    "styles within styles": lambda: {"xl/styles.xml": around(STYLES, deep("xf", 1_000_000))},
    "elements of no known kind": lambda: {FIRST_SHEET: sheet(times(1_000_000, "<x/>"))},
    "names": lambda: {
        "xl/workbook.xml": around(BOOK, times(1_000_000, '<definedName name="a">A1</definedName>'))
    },
    "sheets": lambda: {
        "xl/workbook.xml": around(
            SHEETS, times(1_000_000, '<sheet name="a" sheetId="1" r:id="rId1"/>')
        )
    },
    "sheets that share a part": lambda: {
        "xl/workbook.xml": around(
            SHEETS, (f'<sheet name="a{n}" sheetId="{n}" r:id="rId1"/>' for n in range(1, 900))
        )
    },
    "relations": lambda: {
        "xl/_rels/workbook.xml.rels": around(
            "<Relationships"
            ' xmlns="http://schemas.openxmlformats.org/package/2006/relationships">@</Relationships>',
            times(1_000_000, '<Relationship Id="a" Type="x/y" Target="z"/>'),
        )
    },
    "columns": lambda: {
        FIRST_SHEET: around(
            sheet_xml(SEVEN, before="<cols>@</cols>"),
            times(2_000_000, '<col min="1" max="16384" hidden="1"/>'),
        )
    },
    "links": lambda: {FIRST_SHEET: behind(times(1_000_000, HYPERLINK), "hyperlinks")},
    "validations": lambda: {FIRST_SHEET: behind(times(1_000_000, VALIDATION), "dataValidations")},
    "conditional formats": lambda: {
        FIRST_SHEET: around(sheet_xml(SEVEN, after="@"), times(1_000_000, RULE))
    },
}

# What no reader opens unless it is asked for comments.
BESIDE: dict[str, Callable[[], dict[str, Pieces]]] = {
    "properties": lambda: {"docProps/core.xml": around("<x>@</x>", times(20_000_000, "a"))},
    "comments": lambda: {
        "xl/comments1.xml": around(
            f'<comments xmlns="{MAIN}"><commentList>@</commentList></comments>',
            times(1_000_000, '<comment ref="A1"><text><t>a</t></text></comment>'),
        )
    },
}


def open_rows(rows: Pieces, styles: str = "") -> dict[str, Pieces | str]:
    """Return the parts of an .ods of one sheet."""
    return {
        "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
        "content.xml": around(SPREADSHEET.format(rows="@", styles=styles), rows),
    }


def repeated(rows: int, columns: int) -> str:
    """Return a row that stands for many, its cell for many too."""
    cell = OPEN_CELL.format(more=f' table:number-columns-repeated="{columns}"')
    return f'<table:table-row table:number-rows-repeated="{rows}">{cell}</table:table-row>'


OPEN_DOCUMENT: dict[str, Callable[[], dict[str, Pieces | str]]] = {
    "rows that repeat": lambda: open_rows(iter([repeated(1_000_000, 2)])),
    "cells that repeat": lambda: open_rows(times(120, repeated(1, 16_000))),
    "empty cells": lambda: open_rows(
        times(1_900_000, "<table:table-row><table:table-cell/></table:table-row>")
    ),
    "one long text": lambda: open_rows(
        around(
            "<table:table-row><table:table-cell"
            " office:value-type='string'><text:p>@</text:p></table:table-cell></table:table-row>",
            times(20_000_000, "a"),
        )
    ),
    "paragraphs": lambda: open_rows(
        around(
            "<table:table-row><table:table-cell"
            " office:value-type='string'>@</table:table-cell></table:table-row>",
            times(500_000, "<text:p>a</text:p>"),
        )
    ),
    "spaces": lambda: open_rows(
        around(
            "<table:table-row><table:table-cell"
            " office:value-type='string'><text:p>@</text:p></table:table-cell></table:table-row>",
            times(1_000_000, '<text:s text:c="1000"/>'),
        )
    ),
    "elements within elements": lambda: open_rows(
        around("<table:table-row>@</table:table-row>", deep("table:table-cell", 1_000_000))
    ),
    "sheets": lambda: open_rows(
        around("</table:table>@<table:table>", times(1_000_000, '<table:table table:name="a"/>'))
    ),
    "styles": lambda: {
        "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
        "content.xml": around(
            SPREADSHEET.format(
                rows="", styles="<office:automatic-styles>@</office:automatic-styles>"
            ),
            times(1_000_000, "<text:s/>"),
        ),
    },
}


def picture(path: Path, width: int, height: int) -> Path:
    """Write a PNG of one colour, which takes a byte for some thousand pixels: W3C PNG, 5 and
    11.2.1.
    """
    row = zlib.compressobj(9)
    packed = b"".join(row.compress(bytes(1 + width * 3)) for _ in range(height)) + row.flush()

    def chunk(kind: bytes, content: bytes) -> bytes:
        return (
            struct.pack(">I", len(content))
            + kind
            + content
            + struct.pack(">I", zlib.crc32(kind + content))
        )

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    )
    return path
