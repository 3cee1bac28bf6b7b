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
        for noted in (self.formats, self.uncomputed):
            if count > 1:
                first = {place: text for place, text in noted.items() if place[0] == number}
            else:
                first = {}
            noted |= {
                (row, at): text
                for row in range(number + 1, number + count)
                for (_, at), text in first.items()
            }

    def _values(self, element: Element, number: int) -> Iterator[Value]:
        """Yield the values of a row, and note what is to be known of its cells; blank cells at its
        end are left out.
        """
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
        if value is None and cell.get(f"{_TABLE}formula") and not _has_value(cell):
            self.uncomputed[place] = cell.get(f"{_TABLE}formula", "")
        if shown := _shown_format(cell, value):
            self.formats |= {
                (row, column + more): shown for more in range(min(_times(cell, "columns"), 16_384))
            }
        down, right = (
            int(cell.get(f"{_TABLE}number-{name}-spanned", "1")) for name in ("rows", "columns")
        )
        if down * right > 1 and value is not None:
            last = f"{get_column_letter(column + right - 1)}{row + down - 1}"
            self.merged.append(f"{get_column_letter(column)}{row}:{last}")

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
    """Yield the sheets; rows are forgotten once they are read, and tables within tables passed
    over.
    """
    out_of_view: set[str] = set()
    above: list[Element] = []
    sheet: _Sheet | None = None
    for event, element in iterparse(io.BytesIO(xml), ("start", "end"), forbid_dtd=True):
        if event == "start":
            if (
                element.tag == f"{_TABLE}table"
                and above
                and above[-1].tag == f"{_OFFICE}spreadsheet"
            ):
                name, style = element.get(f"{_TABLE}name", ""), element.get(f"{_TABLE}style-name")
                sheet = _Sheet(name, style not in out_of_view)
            above.append(element)
            continue
        above.pop()
        if element.tag == f"{_STYLE}style" and _is_out_of_view(element):
            out_of_view.add(element.get(f"{_STYLE}name", ""))
        elif sheet and element.tag == f"{_TABLE}table-column":
            sheet.add_columns(element)
        elif sheet and element.tag == f"{_TABLE}table-row" and _is_of_sheet(above):
            sheet.add_row(element)
            above[-1].clear()
        elif sheet and element.tag == f"{_TABLE}table" and above[-1].tag == f"{_OFFICE}spreadsheet":
            yield sheet
            sheet = None


def _is_out_of_view(style: Element) -> bool:
    return any(
        of.get(f"{_TABLE}display") == "false" for of in style.iterfind(f"{_STYLE}table-properties")
    )


def _is_of_sheet(above: list[Element]) -> bool:
    """Tell whether an element stands in a sheet with nothing but groups of rows between."""
    tags = [element.tag for element in above]
    within = tags[tags.index(f"{_OFFICE}spreadsheet") + 1 :]
    return within.count(f"{_TABLE}table") == 1 and _ABOVE_ROWS.issuperset(within)


def _times(element: Element, what: str) -> int:
    return max(int(element.get(f"{_TABLE}number-{what}-repeated", "1")), 1)


# --- the value of a cell


def _has_value(cell: Element) -> bool:
    return cell.get(f"{_OFFICE}value-type") is not None


def _value(cell: Element) -> Value:
    kind = cell.get(f"{_OFFICE}value-type")
    if kind in {"float", "currency", "percentage"} and cell.get(_ERROR_TYPE) != "error":
        return _number(cell.get(f"{_OFFICE}value", ""))
    if kind == "boolean":
        return cell.get(f"{_OFFICE}boolean-value") == "true"
    if kind == "date":
        return _moment(cell.get(f"{_OFFICE}date-value", ""))
    if kind == "time":
        return _duration(cell.get(f"{_OFFICE}time-value", ""))
    if kind:
        return _shown(cell) or cell.get(f"{_OFFICE}string-value") or None
    return None


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
    """Return a time of day, or a duration where it is a day or longer: the format has one type for
    both.
    """
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
    """Return the number format that tells how a number is shown: 000 of 007, 0.00 of 1.10, 0% of
    5%.
    """
    if isinstance(value, int | float):
        found = _SHOWN_NUMBER.fullmatch(_shown(cell))
    else:
        found = None
    if not found or isinstance(value, bool) or found[0] == f"{value:.15g}":
        return None
    whole = "0" * (len(found[1]) if found[1].startswith("0") else 1)
    return whole + (f".{'0' * len(found[2])}" if found[2] else "") + found[3]
