"""Take an .xlsx or .xlsm workbook apart, and put it together anew (ISO/IEC 29500).

The reading libraries never see the file itself, but a package of its cells, hidden columns, texts
and number formats. What programs differ in, and what could reach out of the file (fonts, drawings,
links, macros, names), is not in it.
"""

import io
import re
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from posixpath import join, normpath
from typing import Final
from xml.etree.ElementTree import Element, SubElement, tostring

from defusedxml.ElementTree import fromstring
from openpyxl.styles.numbers import BUILTIN_FORMATS
from openpyxl.utils.cell import column_index_from_string

from reportgen.workbook.files.archive import Archive, opened, unreadable
from reportgen.workbook.files.limits import Part
from reportgen.workbook.raw import MOST_CELLS, Place, bounds_of, too_large

_MAIN: Final = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_STRICT: Final = (
    b"http://purl.oclc.org/ooxml/spreadsheetml/main"  # the same under ISO/IEC 29500-1 Strict
)
_RELATION: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE: Final = "http://schemas.openxmlformats.org/package/2006"

_BARE_STYLES: Final = (  # what openpyxl wants to be there
    f'<styleSheet xmlns="{_MAIN}"><fonts><font/></fonts><fills><fill><patternFill/></fill></fills>'
    "<borders><border/></borders><cellStyleXfs><xf/></cellStyleXfs></styleSheet>"
)

_ROOT: Final = re.compile(rb"<(?:\w+:)?worksheet\b[^>]*>")
_COLUMNS: Final = re.compile(rb"<(?:\w+:)?cols\b.*?</(?:\w+:)?cols>", re.DOTALL)
_COLUMN: Final = re.compile(rb"<(?:\w+:)?col\b[^>]*>")
_DATA: Final = re.compile(rb"<(?:\w+:)?sheetData\b[^>]*>")
_DATA_END: Final = re.compile(rb"</(?:\w+:)?sheetData\s*>")
_MERGED: Final = re.compile(rb"""<(?:\w+:)?mergeCell\s[^>]*?ref\s*=\s*["'](\w+:\w+)["']""")
_FORMULA: Final = re.compile(rb"<(?:\w+:)?f[\s>/]")
_ADDRESS: Final = re.compile(rb"""<(?:\w+:)?c\s[^>]*?\br\s*=\s*["']([A-Z]{1,3})(\d+)["']""")
_ATTRIBUTE: Final = re.compile(r"""(\w+)\s*=\s*["']([^"']*)["']""")


@dataclass(frozen=True)
class SheetXml:
    """One sheet: its name, whether it is in view, its XML, and the part of the file that it is."""

    name: str
    in_view: bool
    xml: bytes
    part: str = ""

    @cached_property
    def data(self) -> tuple[int, int]:
        """Return where the element of the cells begins and ends; `<sheetData/>` without cells."""
        start = _DATA.search(self.xml)
        if start and start[0].endswith(b"/>"):
            return start.span()
        ends = list(
            _DATA_END.finditer(self.xml, self.xml.rfind(b"sheetData") - 20)
        )  # 20: room for a prefix
        if not start or not ends:
            raise unreadable()
        return start.start(), ends[-1].end()

    @cached_property
    def columns(self) -> bytes:
        """Return the element that tells which columns are hidden."""
        found = _COLUMNS.search(self.xml, 0, self.data[0])
        if found:
            return found[0]
        return b""

    @cached_property
    def merged(self) -> tuple[str, ...]:
        """Return the merged ranges; raise RefusedError where they span too many cells."""
        ranges = tuple(found.decode() for found in _MERGED.findall(self.xml, self.data[1]))
        bounds = [bounds_of(cells) for cells in ranges]
        if (
            sum((right - left + 1) * (last - first + 1) for left, first, right, last in bounds)
            > MOST_CELLS
        ):
            raise too_large(
                self.name, max(bound[3] for bound in bounds), max(bound[2] for bound in bounds)
            )
        return ranges

    @property
    def has_formulas(self) -> bool:
        """Tell whether a cell holds a formula."""
        return self.has(_FORMULA)

    @property
    def extent(self) -> Place:
        """Return the last row and column among the addresses of the cells."""
        places = set(_ADDRESS.findall(self.xml, *self.data))
        columns = {letters.decode() for letters, _ in places}
        return (
            max((int(row) for _, row in places), default=0),
            max(map(column_index_from_string, columns), default=0),
        )

    def has(self, pattern: re.Pattern[bytes]) -> bool:
        """Tell whether a pattern is among the cells."""
        return bool(pattern.search(self.xml, *self.data))

    def hidden_columns(self, width: int) -> set[int]:
        """Return the numbers of the hidden columns up to a sheet's width."""
        hidden: set[int] = set()
        for tag in _COLUMN.findall(self.columns):
            column = dict(_ATTRIBUTE.findall(tag.decode()))
            if is_set(column.get("hidden")):
                first, last = int(column["min"]), int(column["max"])
                hidden.update(range(first, min(last, width) + 1))
        return hidden

    def reduced(self) -> Iterator[bytes | memoryview]:
        """Yield the XML in pieces, without all that is not cells and hidden columns.

        Merged ranges are not for libraries either: openpyxl makes an object of each cell that they
        cover.
        """
        root = _ROOT.search(self.xml)
        if not root:
            raise unreadable()
        prefix = root[0][1:].partition(b"worksheet")[0]
        cells = memoryview(self.xml)[slice(*self.data)]  # a copy of a long sheet takes time
        yield from (root[0], self.columns, cells, b"</%bworksheet>" % prefix)


@dataclass(frozen=True)
class Source:
    """What is read of a file: sheets, texts, number formats, and whether days are counted from
    1904.
    """

    sheets: tuple[SheetXml, ...]
    strings: bytes
    styles: bytes
    from_1904: bool

    def package(self, sheets: Iterable[SheetXml]) -> io.BytesIO:
        """Return a workbook of some of the sheets, nothing packed, for a library to read."""
        chosen = list(sheets)
        targets = [
            ("worksheet", f"worksheets/sheet{number}.xml") for number in range(1, len(chosen) + 1)
        ]
        targets += [("styles", "styles.xml"), ("sharedStrings", "sharedStrings.xml")]
        parts: dict[str, str | bytes] = {
            "[Content_Types].xml": _content_types(len(chosen)),
            "_rels/.rels": _relations([("officeDocument", "xl/workbook.xml")]),
            "xl/workbook.xml": self._workbook(len(chosen)),
            "xl/_rels/workbook.xml.rels": _relations(targets),
            "xl/styles.xml": self.styles,
            "xl/sharedStrings.xml": self.strings,
        }
        with zipfile.ZipFile(file := io.BytesIO(), "w", zipfile.ZIP_STORED) as archive:
            for name, content in parts.items():
                archive.writestr(name, content)
            for number, sheet in enumerate(chosen, 1):
                with archive.open(f"xl/worksheets/sheet{number}.xml", "w") as member:
                    member.writelines(sheet.reduced())
        file.seek(0)
        return file

    def number_formats(self) -> list[str]:
        """Return the number format of each style that cells refer to by its place."""
        root = fromstring(self.styles)
        own: dict[str, str] = {}
        for element in root.iter(f"{{{_MAIN}}}numFmt"):
            own[element.get("numFmtId", "")] = element.get("formatCode", "General")
        formats: list[str] = []
        for element in root.iterfind(f"{{{_MAIN}}}cellXfs/{{{_MAIN}}}xf"):
            style = element.get("numFmtId", "0")
            formats.append(own.get(style) or BUILTIN_FORMATS.get(int(style), "General"))
        return formats

    def _workbook(self, sheets: int) -> str:
        """Return the list of the sheets, under names that no library refuses."""
        listed = "".join(
            f'<sheet name="s{n}" sheetId="{n}" r:id="r{n}"/>' for n in range(1, sheets + 1)
        )
        if self.from_1904:
            date1904 = '<workbookPr date1904="1"/>'
        else:
            date1904 = ""
        return (
            f'<workbook xmlns="{_MAIN}"'
            f' xmlns:r="{_RELATION}">{date1904}<sheets>{listed}</sheets></workbook>'
        )


def _content_types(sheets: int) -> str:
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml."
    parts = {
        "workbook.xml": "sheet.main",
        "styles.xml": "styles",
        "sharedStrings.xml": "sharedStrings",
        **{f"worksheets/sheet{number}.xml": "worksheet" for number in range(1, sheets + 1)},
    }
    listed = "".join(
        f'<Override PartName="/xl/{name}" ContentType="{kind}{of}+xml"/>'
        for name, of in parts.items()
    )
    default = (
        '<Default Extension="rels"'
        ' ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    )
    return f'<Types xmlns="{_PACKAGE}/content-types">{default}{listed}</Types>'


def _relations(targets: list[tuple[str, str]]) -> str:
    listed = "".join(
        f'<Relationship Id="r{number}" Type="{_RELATION}/{kind}" Target="{target}"/>'
        for number, (kind, target) in enumerate(targets, 1)
    )
    return f'<Relationships xmlns="{_PACKAGE}/relationships">{listed}</Relationships>'


def read_package(content: bytes) -> Source:
    """Return what is read of a workbook's bytes; chart sheets are left out.

    Raises RefusedError for what can be named; a damaged file raises whatever the libraries for zip
    and XML do.
    """
    archive = opened(content)
    targets = _targets(archive, "", "_rels/.rels")
    (main,) = [target for kind, target in targets.values() if kind == "officeDocument"]
    folder, _, file = main.rpartition("/")
    related = _targets(archive, folder, f"{folder}/_rels/{file}.rels".lstrip("/"))
    book = fromstring(_part(archive, main, Part.LIST), forbid_dtd=True)
    sheets = tuple(_sheets(archive, book, related))
    if len({sheet.name for sheet in sheets}) < len(sheets):
        raise unreadable()
    return Source(
        sheets,
        _optional(archive, related, "sharedStrings", Part.TEXTS)
        or f'<sst xmlns="{_MAIN}"/>'.encode(),
        _number_formats(_optional(archive, related, "styles", Part.STYLES)),
        any(is_set(found.get("date1904")) for found in book.iter(f"{{{_MAIN}}}workbookPr")),
    )


def _part(archive: Archive, name: str, kind: Part) -> bytes:
    xml = archive.part(
        {held.casefold(): held for held in archive.names}.get(name.casefold(), name), kind
    )
    if _STRICT in xml[:4000]:
        return xml.replace(_STRICT, _MAIN.encode())
    return xml


def _targets(archive: Archive, folder: str, name: str) -> dict[str, tuple[str, str]]:
    """Return kind and part of each relation by its id; links to other files are left out."""
    targets: dict[str, tuple[str, str]] = {}
    for relation in fromstring(archive.part(name, Part.LIST), forbid_dtd=True):
        if relation.get("TargetMode") == "External":
            continue
        kind = relation.get("Type", "").rpartition("/")[2]
        target = _resolved(folder, relation.get("Target", ""))
        targets[relation.get("Id", "")] = (kind, target)
    return targets


def _resolved(folder: str, target: str) -> str:
    return normpath(join("/", folder, target.replace("\\", "/"))).lstrip("/")


def _optional(archive: Archive, related: dict[str, tuple[str, str]], kind: str, of: Part) -> bytes:
    names = {name.casefold() for name in archive.names}
    for kind_of_target, target in related.values():
        if kind_of_target == kind and target.casefold() in names:
            return _part(archive, target, of)
    return b""


def _sheets(
    archive: Archive, book: Element, related: dict[str, tuple[str, str]]
) -> Iterator[SheetXml]:
    parts: set[str] = set()
    for sheet in book.iterfind(f"{{{_MAIN}}}sheets/{{{_MAIN}}}sheet"):
        key = next(value for name, value in sheet.items() if name.endswith("}id"))
        kind, target = related[key]
        if target.casefold() in parts:  # sheets that are all one part cost as many parts
            raise unreadable()
        parts.add(target.casefold())
        if kind == "worksheet":
            in_view = sheet.get("state", "visible") == "visible"
            yield SheetXml(
                sheet.get("name", ""), in_view, _part(archive, target, Part.SHEET), target
            )


def is_set(value: str | None) -> bool:
    """Tell whether an attribute of the type xsd:boolean is true."""
    return value in {"1", "true", "on"}


def _number_formats(styles: bytes) -> bytes:
    """Return the styles with number formats alone, as readers stumble over fonts and fills."""
    root = Element(f"{{{_MAIN}}}styleSheet")
    if styles:
        given = fromstring(styles, forbid_dtd=True)
    else:
        given = root
    formats = given.find(f"{{{_MAIN}}}numFmts")
    if formats is not None:
        root.append(formats)
    root.extend(fromstring(_BARE_STYLES))
    group = SubElement(root, f"{{{_MAIN}}}cellXfs")
    for style in given.iterfind(f"{{{_MAIN}}}cellXfs/{{{_MAIN}}}xf"):
        SubElement(
            group, f"{{{_MAIN}}}xf", numFmtId=style.get("numFmtId", "0"), applyNumberFormat="1"
        )
    if not len(group):
        SubElement(group, f"{{{_MAIN}}}xf", numFmtId="0")
    return tostring(root)
