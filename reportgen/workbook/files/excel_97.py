"""Read .xls workbooks ([MS-XLS]), which Excel wrote until 2003 and some data loggers still do."""

import io
from typing import TYPE_CHECKING

from openpyxl.styles.numbers import is_timedelta_format
from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel

from reportgen.workbook.files.archive import with_password
from reportgen.workbook.raw import (
    MOST_CELLS,
    WHOLE_SHEET,
    Place,
    RawSheet,
    Rows,
    Value,
    hidden_names,
    is_filled,
    merged_with_value,
    too_large,
)

if TYPE_CHECKING:
    from xlrd.book import Book
    from xlrd.sheet import Cell, Sheet


def read_excel_97(content: bytes) -> tuple[RawSheet, ...]:
    """Return the sheets of a workbook's bytes.

    A formula is its last value; none is known to be without one. Raises RefusedError where it has a
    password; a damaged file raises whatever xlrd does.
    """
    import xlrd
    import xlrd.biffh

    try:
        book = xlrd.open_workbook(
            file_contents=content, formatting_info=True, ragged_rows=True, logfile=io.StringIO()
        )
    except xlrd.biffh.XLRDError as error:
        if "encrypted" in str(error):
            raise with_password() from error
        raise
    return tuple(_sheet(book, sheet) for sheet in book.sheets())


def _sheet(book: "Book", sheet: "Sheet") -> RawSheet:
    """Return a sheet.

    A single cell far out would make millions of cells of one that is said to be small.
    """
    if sheet.nrows * sheet.ncols > MOST_CELLS:
        raise too_large(sheet.name, sheet.nrows, sheet.ncols)
    rows: list[tuple[Value, ...]] = []
    formats: dict[Place, str] = {}
    for number in range(1, sheet.nrows + 1):
        cells = sheet.row(number - 1)
        values = tuple(_value(book, cell) for cell in cells)
        blanks = (None,) * (sheet.ncols - len(cells))
        rows.append(values + blanks)
        for column, (cell, value) in enumerate(zip(cells, values, strict=True), 1):
            if value is None:
                continue
            shown_as = _format(book, cell)
            if shown_as != "General":
                formats[number, column] = shown_as
    whole_rows = tuple(rows)
    ranges = [_range(*bounds) for bounds in sheet.merged_cells]
    merged = merged_with_value(whole_rows, ranges)
    return RawSheet(sheet.name, whole_rows, formats, {}, _hidden(sheet, whole_rows), merged)


def _value(book: "Book", cell: "Cell") -> Value:
    import xlrd

    if cell.ctype in {xlrd.XL_CELL_EMPTY, xlrd.XL_CELL_BLANK} or cell.value == "":
        return None
    if cell.ctype == xlrd.XL_CELL_ERROR:
        return xlrd.error_text_from_code.get(int(cell.value), "#N/A")
    if cell.ctype == xlrd.XL_CELL_BOOLEAN:
        return bool(cell.value)
    if cell.ctype == xlrd.XL_CELL_DATE:
        return _moment(book, cell)
    return cell.value


def _moment(book: "Book", cell: "Cell") -> Value:
    """Return a date, time or duration as of an .xlsx; beyond the calendar it is an error's text."""
    if book.datemode:
        epoch = CALENDAR_MAC_1904
    else:
        epoch = CALENDAR_WINDOWS_1900
    try:
        return from_excel(cell.value, epoch, timedelta=is_timedelta_format(_format(book, cell)))
    except (OverflowError, ValueError):
        return "#VALUE!"


def _format(book: "Book", cell: "Cell") -> str:
    return str(book.format_map[book.xf_list[cell.xf_index or 0].format_key].format_str)


def _range(first_row: int, beyond_row: int, first_column: int, beyond_column: int) -> str:
    first = f"{get_column_letter(first_column + 1)}{first_row + 1}"
    last = f"{get_column_letter(beyond_column)}{beyond_row}"
    return f"{first}:{last}"


def _hidden(sheet: "Sheet", rows: Rows) -> tuple[str, ...]:
    """Return the names of hidden rows and columns that hold values."""
    if sheet.visibility:
        if any(map(is_filled, rows)):
            return (WHOLE_SHEET,)
        return ()
    hidden_rows = {row + 1 for row, layout in sheet.rowinfo_map.items() if layout.hidden}
    hidden_columns = {column + 1 for column, layout in sheet.colinfo_map.items() if layout.hidden}
    return hidden_names(rows, hidden_rows, hidden_columns)
