"""Copy a workbook to hand on: the cells in view, and nothing that names its owner."""

from collections.abc import Sequence

from openpyxl import Workbook as Book
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from reportgen.workbook.raw import WHOLE_SHEET, RawSheet, Workbook, is_filled
from reportgen.workbook.written import WRITTEN_AT, stable_bytes


def cleaned(workbook: Workbook) -> bytes | None:
    """Return a copy of a workbook as the bytes of an .xlsx file, the same for the same cells; None
    where none is seen.

    It has values and number formats of the cells in view. It has no comments, no formulas, defined
    names, links, pictures and macros, nothing hidden, no author and no other properties, since
    nothing but cells is written.
    """
    in_view = [sheet for sheet in workbook.sheets if _is_in_view(sheet)]
    if not in_view:
        return None
    book = Book()
    book.remove(book.worksheets[0])
    for sheet in in_view:
        _fill(book.create_sheet(sheet.name), sheet)
    book.properties.creator = ""
    book.properties.created = book.properties.modified = WRITTEN_AT
    return stable_bytes(book)


def _is_in_view(sheet: RawSheet) -> bool:
    """Tell whether a sheet shows anything; an empty one may be hidden, with a telling name."""
    return WHOLE_SHEET not in sheet.hidden and any(map(is_filled, sheet.rows))


def _fill(page: Worksheet, sheet: RawSheet) -> None:
    for number, row in enumerate(sheet.rows, 1):
        if f"row {number}" not in sheet.hidden:
            _fill_row(page, sheet, number, row)


def _fill_row(page: Worksheet, sheet: RawSheet, number: int, row: Sequence[object]) -> None:
    for column, value in enumerate(row, 1):
        if value is None or f"column {get_column_letter(column)}" in sheet.hidden:
            continue
        cell = page.cell(number, column)
        cell.value = value  # type: ignore[assignment]
        if isinstance(value, str):
            cell.data_type = "s"  # a text stays text, even where it begins like a formula
        if (number, column) in sheet.formats:
            cell.number_format = sheet.formats[number, column]
