"""Read .ods workbooks: OpenDocument 1.3, part 3 (OASIS), whose cells stand in content.xml."""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final
from xml.etree.ElementTree import Element

from defusedxml.ElementTree import iterparse
from openpyxl.utils import get_column_letter

from reportgen.workbook.files.archive import opened, with_password
from reportgen.workbook.files.limits import MOST_REPEATED, Part, refused
from reportgen.workbook.raw import (
    MOST_CELLS,
    WHOLE_SHEET,
    Place,
    RawSheet,
    Value,
    hidden_names,
    is_filled,
    merged_with_value,
    too_large,
)

_NAMESPACE: Final = "{urn:oasis:names:tc:opendocument:xmlns:%s:1.0}"
_OFFICE, _TABLE, _TEXT, _STYLE = (
    _NAMESPACE % name for name in ("office", "table", "text", "style")
)
_ERROR_TYPE: Final = (
    "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}value-type"
)
_CELLS: Final = frozenset({f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell"})
_ABOVE_ROWS: Final = frozenset(
    _TABLE + name for name in ("table", "table-rows", "table-row-group", "table-header-rows")
)
_DURATION: Final = re.compile(
    r"(-?)P(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+(?:\.\d+)?)S)?)?"
)  # XML Schema 1.1, 2
_SHOWN_NUMBER: Final = re.compile(r"(\d+)(?:\.(\d+))?(%?)")
_NUMBERS: Final = frozenset({"float", "currency", "percentage"})
_MANIFEST: Final = "META-INF/manifest.xml"
_DAY: Final = timedelta(days=1)


@dataclass
class _Sheet:
    """A sheet while it is read; `blank_rows` are kept back until a row with values follows."""

    name: str
    in_view: bool
    rows: list[tuple[Value, ...]] = field(default_factory=list)
    blank_rows: int = 0
    columns: int = 0
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    formats: dict[Place, str] = field(default_factory=dict)
    uncomputed: dict[Place, str] = field(default_factory=dict)
    merged: list[str] = field(default_factory=list)
    width: int = 0
    repeated: int = 0

    def add_columns(self, element: Element) -> None:
        """Count columns and note the hidden ones; the last are often a thousand at once."""
        count = _times(element, "columns")
        if element.get(f"{_TABLE}visibility", "visible") != "visible":
            self.hidden_columns |= set(
                range(self.columns + 1, min(self.columns + count, 16_384) + 1)
            )
        self.columns += count

    def add_row(self, element: Element) -> None:
        """Add a row as often as it is repeated; raise RefusedError where the sheet grows too large."""
        count = _times(element, "rows")
        number = len(self.rows) + self.blank_rows + 1
        values = tuple(self._values(element, number))
        if not values:
            self.blank_rows += count
            return
        self.width = max(self.width, len(values))
        if (number - 1 + count) * self.width > MOST_CELLS:
            raise too_large(self.name, number - 1 + count, self.width)
        self._count_repeated(sum(value is not None for value in values) * (count - 1))
        self.rows += [()] * self.blank_rows + [values] * count
        self.blank_rows = 0
        if element.get(f"{_TABLE}visibility", "visible") != "visible":
            self.hidden_rows |= set(range(number, number + count))
        self._repeat(number, count)

    def _count_repeated(self, cells: int) -> None:
        self.repeated += cells
        if self.repeated > MOST_REPEATED:
            raise refused("cells that repeat the one before", MOST_REPEATED)

    def _repeat(self, number: int, count: int) -> None:
        """Note for a repeated row what was noted of its first."""
        if count == 1:
            return
        for texts in (self.formats, self.uncomputed):
            first = {column: text for (row, column), text in texts.items() if row == number}
            for row in range(number + 1, number + count):
                for column, text in first.items():
                    texts[row, column] = text

    def _values(self, element: Element, number: int) -> Iterator[Value]:
        """Yield the values of a row but for blanks at its end, and note formats and formulas."""
        blanks = 0
        at = 1
        for cell in element:
            if cell.tag not in _CELLS:
                continue
            count = _times(cell, "columns")
            if cell.tag.endswith("covered-table-cell"):
                value = None
            else:
                value = _value(cell)
            self._note(cell, value, (number, at))
            at += count
            if value is None and (number, at - count) not in self.uncomputed:
                blanks += count
                continue
            if at - 1 > MOST_CELLS:
                raise too_large(self.name, number, at - 1)
            self._count_repeated(count - 1)
            yield from (None,) * blanks
            yield from (value,) * count
            blanks = 0

    def _note(self, cell: Element, value: Value, place: Place) -> None:
        row, column = place
        formula = cell.get(f"{_TABLE}formula", "")
        if value is None and formula and not _has_value(cell):
            self.uncomputed[place] = formula
        shown_as = _shown_format(cell, value)
        if shown_as:
            for further in range(min(_times(cell, "columns"), 16_384)):
                self.formats[row, column + further] = shown_as
        rows, columns = _spanned(cell, "rows"), _spanned(cell, "columns")
        if rows * columns > 1 and value is not None:
            first = f"{get_column_letter(column)}{row}"
            last = f"{get_column_letter(column + columns - 1)}{row + rows - 1}"
            self.merged.append(f"{first}:{last}")

    def finished(self) -> RawSheet:
        """Return the sheet with rows of one length."""
        rows = tuple(row + (None,) * (self.width - len(row)) for row in self.rows)
        hidden = hidden_names(rows, self.hidden_rows, self.hidden_columns)
        if not self.in_view:
            if any(map(is_filled, rows)):
                hidden = (WHOLE_SHEET,)
            else:
                hidden = ()
        merged = merged_with_value(rows, self.merged)
        return RawSheet(self.name, rows, self.formats, self.uncomputed, hidden, merged)


def read_open_document(content: bytes) -> tuple[RawSheet, ...]:
    """Return the sheets of a workbook's bytes, in order.

    Raises RefusedError for what can be named; a damaged file raises whatever the libraries for zip
    and XML do.
    """
    archive = opened(content)
    if _MANIFEST in archive.names:
        manifest = archive.part(_MANIFEST, Part.LIST)
    else:
        manifest = b""
    if b"encryption-data" in manifest:
        raise with_password()
    return tuple(sheet.finished() for sheet in _sheets(archive.part("content.xml", Part.DOCUMENT)))


def _sheets(xml: bytes) -> Iterator[_Sheet]:
    """Yield the sheets.

    Rows are forgotten once they are read, and tables within tables passed over.
    """
    out_of_view: set[str] = set()
    above: list[Element] = []
    sheet: _Sheet | None = None
    for event, element in iterparse(io.BytesIO(xml), ("start", "end"), forbid_dtd=True):
        if event == "start":
            if _is_sheet(element, above):
                style = element.get(f"{_TABLE}style-name")
                sheet = _Sheet(element.get(f"{_TABLE}name", ""), style not in out_of_view)
            above.append(element)
            continue
        above.pop()
        if _is_out_of_view(element):
            out_of_view.add(element.get(f"{_STYLE}name", ""))
        if sheet is None:
            continue
        _read_element(sheet, element, above)
        if _is_sheet(element, above):
            yield sheet
            sheet = None


def _is_sheet(element: Element, above: list[Element]) -> bool:
    """Tell whether an element is a table of the workbook itself."""
    if element.tag != f"{_TABLE}table" or not above:
        return False
    return bool(above[-1].tag == f"{_OFFICE}spreadsheet")


def _read_element(sheet: _Sheet, element: Element, above: list[Element]) -> None:
    """Add the columns or the row of an element to a sheet, and forget a row."""
    if element.tag == f"{_TABLE}table-column":
        sheet.add_columns(element)
    elif element.tag == f"{_TABLE}table-row" and _is_of_sheet(above):
        sheet.add_row(element)
        above[-1].clear()


def _is_out_of_view(element: Element) -> bool:
    """Tell whether an element is a style of tables that are not shown."""
    if element.tag != f"{_STYLE}style":
        return False
    properties = element.iterfind(f"{_STYLE}table-properties")
    return any(table.get(f"{_TABLE}display") == "false" for table in properties)


def _is_of_sheet(above: list[Element]) -> bool:
    """Tell whether an element stands in a sheet with nothing but groups of rows between."""
    tags = [element.tag for element in above]
    within = tags[tags.index(f"{_OFFICE}spreadsheet") + 1 :]
    return within.count(f"{_TABLE}table") == 1 and _ABOVE_ROWS.issuperset(within)


def _times(element: Element, what: str) -> int:
    return max(int(element.get(f"{_TABLE}number-{what}-repeated", "1")), 1)


def _spanned(cell: Element, what: str) -> int:
    """Return how many rows or columns a cell spans."""
    return int(cell.get(f"{_TABLE}number-{what}-spanned", "1"))


# --- the value of a cell


def _has_value(cell: Element) -> bool:
    return cell.get(f"{_OFFICE}value-type") is not None


def _value(cell: Element) -> Value:
    kind = cell.get(f"{_OFFICE}value-type")
    if kind in _NUMBERS and cell.get(_ERROR_TYPE) != "error":
        return _number(cell.get(f"{_OFFICE}value", ""))
    if kind == "boolean":
        return cell.get(f"{_OFFICE}boolean-value") == "true"
    if kind == "date":
        return _moment(cell.get(f"{_OFFICE}date-value", ""))
    if kind == "time":
        return _duration(cell.get(f"{_OFFICE}time-value", ""))
    if not kind:
        return None
    return _shown(cell) or cell.get(f"{_OFFICE}string-value") or None


def _number(text: str) -> float:
    if re.fullmatch(r"-?\d{1,15}", text):
        return int(text)
    return float(text)


def _moment(text: str) -> Value:
    """Return a date as the start of its day; one beyond the calendar of Python as it is written."""
    try:
        return datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        return text


def _duration(text: str) -> Value:
    """Return a time of day, or a duration of a day or longer, as both have one type."""
    found = _DURATION.fullmatch(text)
    if not found:
        return text
    days, hours, minutes, seconds = (float(number or 0) for number in found.groups()[1:])
    length = timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds) * (
        -1 if found[1] else 1
    )
    if timedelta() <= length < _DAY:
        return (datetime.min + length).time()
    return length


def _shown(cell: Element) -> str:
    return "\n".join(_text(paragraph) for paragraph in cell.iterfind(f"{_TEXT}p"))


def _text(element: Element) -> str:
    """Return the text of a paragraph: spaces, tabs and line breaks are elements there."""
    if element.tag == f"{_TEXT}s":
        return " " * min(int(element.get(f"{_TEXT}c", "1")), 1000)
    within = {f"{_TEXT}tab": "\t", f"{_TEXT}line-break": "\n"}.get(
        str(element.tag), element.text or ""
    )
    return within + "".join(_text(child) + (child.tail or "") for child in element)


def _shown_format(cell: Element, value: Value) -> str | None:
    """Return the number format that shows a number: 000 of 007, 0.00 of 1.10, 0% of 5%."""
    if isinstance(value, int | float):
        found = _SHOWN_NUMBER.fullmatch(_shown(cell))
    else:
        found = None
    if not found or isinstance(value, bool) or found[0] == f"{value:.15g}":
        return None
    whole = "0" * (len(found[1]) if found[1].startswith("0") else 1)
    return whole + (f".{'0' * len(found[2])}" if found[2] else "") + found[3]
