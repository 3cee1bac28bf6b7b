"""Read .xls workbooks, as Excel wrote them from 1997 to 2003 and some data loggers still do:
[MS-XLS].
"""

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
    """Return the sheets of a workbook's bytes; a formula is its last value, and none is known to be
    without one.

    Raises RefusedError where it has a password; a damaged file raises whatever xlrd does.
    """
    import xlrd
    import xlrd.biffh

    try:
        book = xlrd.open_workbook(
            file_contents=content, formatting_info=True, ragged_rows=True, logfile=io.StringIO()
        )
    except xlrd.biffh.XLRDError as error:
        raise (with_password() if "encrypted" in str(error) else error) from error
    return tuple(_sheet(book, sheet) for sheet in book.sheets())


def _sheet(book: "Book", sheet: "Sheet") -> RawSheet:
    """Return a sheet; a single cell far out would make millions of cells of one that is said to be
    small.
    """
    if sheet.nrows * sheet.ncols > MOST_CELLS:
        raise too_large(sheet.name, sheet.nrows, sheet.ncols)
    cells = [sheet.row(row) for row in range(sheet.nrows)]
    blanks = [(None,) * (sheet.ncols - len(row)) for row in cells]
    rows = tuple(
        (*(_value(book, cell) for cell in row), *rest)
        for row, rest in zip(cells, blanks, strict=True)
    )
    formats: dict[Place, str] = {
        (row, column): text
        for row, held in enumerate(cells, 1)
        for column, cell in enumerate(held, 1)
        if rows[row - 1][column - 1] is not None and (text := _format(book, cell)) != "General"
    }
    ranges = [_range(*bounds) for bounds in sheet.merged_cells]
    return RawSheet(
        sheet.name, rows, formats, {}, _hidden(sheet, rows), merged_with_value(rows, ranges)
    )


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
    """Return a date, time or duration as it is read of an .xlsx; beyond the calendar it is an
    error's text.
    """
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
    return f"{get_column_letter(first_column + 1)}{first_row + 1}:{get_column_letter(beyond_column)}{beyond_row}"


def _hidden(sheet: "Sheet", rows: Rows) -> tuple[str, ...]:
    """Return the names of hidden rows and columns that hold values."""
    if sheet.visibility:
        if any(map(is_filled, rows)):
            return (WHOLE_SHEET,)
        return ()
    hidden_rows = {row + 1 for row, known in sheet.rowinfo_map.items() if known.hidden}
    return hidden_names(
        rows,
        hidden_rows,
        {column + 1 for column, known in sheet.colinfo_map.items() if known.hidden},
    )
