"""Read a sheet of some hundred thousand cells quickly, such as a data logger's export."""

import re
import warnings
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, time
from itertools import zip_longest
from typing import TYPE_CHECKING, Any, Final, cast
from xml.sax.saxutils import unescape

from openpyxl.utils.cell import column_index_from_string, coordinate_to_tuple

from reportgen.language import say
from reportgen.workbook.files.archive import unreadable
from reportgen.workbook.files.package import SheetXml, Source, read_package
from reportgen.workbook.raw import (
    MOST_CELLS,
    WHOLE_SHEET,
    Place,
    RawSheet,
    RefusedError,
    Rows,
    Value,
    bounds_of,
    hidden_names,
    is_filled,
    merged_with_value,
    too_large,
)

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell, MergedCell

_ROW: Final = re.compile(rb'<row r="(\d+)"')
_HIDDEN_ROW: Final = re.compile(
    rb"""<(?:\w+:)?row\b(?=[^>]*\bhidden\s*=\s*["'](?:1|true))[^>]*?\br\s*=\s*["'](\d+)"""
)
_STYLED: Final = re.compile(rb'<c r="([A-Z]+)(\d+)"[^>]*? s="(\d+)"')
_ERROR: Final = re.compile(
    rb'<c r="([A-Z]+\d+)"[^>]*? t="e"[^>]*>(?:<f[^>]*/>|<f[^>]*>[^<]*</f>)?<v>([^<]*)</v>'
)
_UNCOMPUTED: Final = re.compile(
    rb'<c r="([A-Z]+\d+)"([^>]*)><f(?:[^>]*/>|[^>]*>([^<]*)</f>)(?:<v/>|<v></v>)?</c>'
)
_PAIRS: Final = 26 + 26 * 26  # columns with one letter or two

Formulas = dict[Place, str]
Cells = Sequence["Cell | MergedCell"]


def read_long_sheet(source: Source, sheet: SheetXml, content: bytes) -> RawSheet:
    """Return a long sheet; formats of cells are read from `content` once one is asked for.

    A formula that shares its text with another is noted as `=`. Raises RefusedError where the sheet
    goes on far beyond any data or its rows are not in order.
    """
    rows, uncomputed = _at_once(source, sheet) if _is_plain(sheet) else _row_by_row(source, sheet)
    clear_covered(rows, sheet)
    if sheet.xml.find(b"hidden", *sheet.data) >= 0:
        marked = _HIDDEN_ROW.findall(sheet.xml, *sheet.data)
    else:
        marked = []
    hidden = hidden_in(sheet, rows, set(map(int, marked)))
    formats = LateFormats(content, sheet.name)
    return RawSheet(
        sheet.name, rows, formats, uncomputed, hidden, merged_with_value(rows, sheet.merged)
    )


def hidden_in(sheet: SheetXml, rows: Rows, hidden_rows: set[int]) -> tuple[str, ...]:
    """Return the names of a sheet's hidden rows and columns that hold values."""
    if not sheet.in_view:
        if any(map(is_filled, rows)):
            return (WHOLE_SHEET,)
        return ()
    return hidden_names(rows, hidden_rows, sheet.hidden_columns(max(map(len, rows), default=0)))


def formula_text(value: Value) -> str:
    """Return a formula as it was written; of one for a whole range openpyxl keeps the text aside."""
    return str(getattr(value, "text", value))


def is_without_value(cell: "Cell | MergedCell") -> bool:
    """Tell whether no program has computed the formula of a cell; one that gives an empty text has
    the type str.
    """
    return cell.value is None and cell.data_type != "str"


def clear_covered(rows: Sequence[list[Any]], sheet: SheetXml) -> None:
    """Set to None what merged cells cover: nobody sees it."""
    for cells in sheet.merged:
        left, top, right, bottom = bounds_of(cells)
        for number in range(top, min(bottom, len(rows)) + 1):
            row = rows[number - 1]
            if number == top:
                start = left
            else:
                start = left - 1
            row[start : min(right, len(row))] = [None] * max(min(right, len(row)) - start, 0)


# --- the quick way: python-calamine, values alone


def _is_plain(sheet: SheetXml) -> bool:
    """Tell whether the quick way reads the sheet in little memory and as it stands.

    It takes memory for the whole span of the cells before it reads: so each cell must have its
    address, in a column that keeps the span within MOST_CELLS, and rows must be in order.
    """
    rows = [int(row) for row in _ROW.findall(sheet.xml, *sheet.data)]
    if not rows or not _in_order(rows):
        return False
    last = re.match(rb'<c r="[A-Z]+(\d+)"', sheet.xml[sheet.xml.rfind(b"<c ", *sheet.data) :][:40])
    return last is not None and not sheet.has(
        _cell_beyond(MOST_CELLS // max(rows[-1], int(last[1]), 1))
    )


def _in_order(rows: list[int]) -> bool:
    return all(map(int.__lt__, rows, rows[1:]))


def _cell_beyond(columns: int) -> re.Pattern[bytes]:
    """Return a pattern of cells that have no address, or one beyond some number of columns."""
    if columns < 26:
        if columns:
            letters = f"[A-{chr(64 + columns)}]"
        else:
            letters = "(?!)"
    else:
        first = chr(63 + min(columns, _PAIRS) // 26)
        if first >= "A":
            letters = f"(?:[A-Z]|[A-{first}][A-Z])"
        else:
            letters = "[A-Z]"
    return re.compile(rf'<c(?! r="{letters}\d{{1,7}}"[ />])'.encode())


def _at_once(source: Source, sheet: SheetXml) -> tuple[list[list[Value]], Formulas]:
    """Return values, errors among them, and formulas that have none."""
    rows = _values(source, sheet)
    for row in rows:
        for at, value in enumerate(row):
            if value == "":
                row[at] = None
            elif value.__class__ is date:
                row[at] = datetime.combine(value, time.min)
    return rows, _seen_in_xml(sheet, rows)


def _values(source: Source, sheet: SheetXml) -> list[list[Value]]:
    from python_calamine import CalamineWorkbook

    file = source.package([sheet])
    try:
        book = CalamineWorkbook.from_filelike(file)
        return cast(list[list[Value]], book.get_sheet_by_index(0).to_python(skip_empty_area=False))
    except (
        BaseException
    ) as error:  # a panic of the library, which is written in Rust, is no Exception
        if isinstance(error, Exception) or type(error).__name__ == "PanicException":
            raise unreadable() from error
        raise


def _seen_in_xml(sheet: SheetXml, rows: list[list[Value]]) -> Formulas:
    """Put the texts of errors, which the library leaves blank, into rows.

    Returns the formulas without a value.
    """
    if sheet.xml.find(b't="e"', *sheet.data) >= 0:
        for cell, text in _ERROR.findall(sheet.xml, *sheet.data):
            row, column = coordinate_to_tuple(cell.decode())
            rows[row - 1][column - 1] = unescape(text.decode())
    if sheet.xml.find(b"</f>", *sheet.data) < 0:
        return {}
    formulas: Formulas = {}
    for cell, attributes, text in _UNCOMPUTED.findall(sheet.xml, *sheet.data):
        if b't="str"' not in attributes:  # else a formula that gives an empty text
            formulas[coordinate_to_tuple(cell.decode())] = f"={unescape(text.decode())}"
    return formulas


# --- the thorough way: openpyxl, row by row


def _row_by_row(source: Source, sheet: SheetXml) -> tuple[list[list[Value]], Formulas]:
    """Return values, and formulas that have none, of a sheet that the quick way would read wrongly."""
    _check_span(sheet)
    rows: list[list[Value]] = []
    uncomputed: Formulas = {}
    width = 0
    if sheet.has_formulas:
        written = _streamed(source, sheet, data_only=False)
    else:
        written = iter(())
    for number, (shown, formulas) in enumerate(
        zip_longest(_streamed(source, sheet, data_only=True), written), 1
    ):
        width = max(width, len(shown))
        if number * width > MOST_CELLS:
            raise too_large(sheet.name, number, width)
        rows.append([cell.value for cell in shown])
        uncomputed |= _uncomputed(number, shown, formulas or ())
    for row in rows:
        row.extend([None] * (width - len(row)))
    return rows, uncomputed


def _uncomputed(number: int, shown: Cells, formulas: Cells) -> Formulas:
    uncomputed: Formulas = {}
    for column, (cell, formula) in enumerate(zip(shown, formulas, strict=False), 1):
        if formula.data_type == "f" and is_without_value(cell):
            uncomputed[number, column] = formula_text(formula.value)
    return uncomputed


def _check_span(sheet: SheetXml) -> None:
    rows, columns = sheet.extent
    if rows * columns > MOST_CELLS or sheet.xml.count(b"<c ", *sheet.data) > MOST_CELLS:
        raise too_large(sheet.name, rows, columns)
    if not _in_order([int(row) for row in _ROW.findall(sheet.xml, *sheet.data)]):
        raise RefusedError(
            say("the rows of the sheet are not in order"),
            say("rows as spreadsheet programs write them"),
            say("Open the workbook in your spreadsheet program and save it."),
            sheet.name,
            code="rows_not_in_order",
        )


def _streamed(source: Source, sheet: SheetXml, *, data_only: bool) -> Iterator[Cells]:
    from openpyxl import load_workbook

    with (
        warnings.catch_warnings()
    ):  # of dates beyond the calendar, which the checks name by their cells
        warnings.simplefilter("ignore")
        book = load_workbook(source.package([sheet]), data_only=data_only, read_only=True)
        yield from book.worksheets[0].iter_rows()


class LateFormats(Mapping[Place, str]):
    """The number formats of a long sheet's cells, read when the first is asked for."""

    def __init__(self, content: bytes, sheet: str) -> None:
        self._content, self._sheet = content, sheet
        self._formats: dict[Place, str] | None = None

    def _found(self) -> dict[Place, str]:
        if self._formats is None:
            source = read_package(self._content)
            (sheet,) = (found for found in source.sheets if found.name == self._sheet)
            self._formats = _formats(source, sheet)
        return self._formats

    def __getitem__(self, place: Place) -> str:
        return self._found()[place]

    def __iter__(self) -> Iterator[Place]:
        return iter(self._found())

    def __len__(self) -> int:
        return len(self._found())


def _formats(source: Source, sheet: SheetXml) -> dict[Place, str]:
    if not _is_plain(sheet):
        return _streamed_formats(source, sheet)
    formats = dict(enumerate(source.number_formats()))
    by_place: dict[Place, str] = {}
    for letters, row, style in _STYLED.findall(sheet.xml, *sheet.data):
        number_format = formats.get(int(style), "General")
        if number_format != "General":
            by_place[int(row), column_index_from_string(letters.decode())] = number_format
    return by_place


def _streamed_formats(source: Source, sheet: SheetXml) -> dict[Place, str]:
    """Return the number formats of a sheet that is read cell by cell."""
    by_place: dict[Place, str] = {}
    for row, cells in enumerate(_streamed(source, sheet, data_only=True), 1):
        for column, cell in enumerate(cells, 1):
            if cell.value is not None and cell.number_format != "General":
                by_place[row, column] = cell.number_format
    return by_place
