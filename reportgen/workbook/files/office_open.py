"""Read .xlsx and .xlsm workbooks: short sheets cell by cell, long ones quickly."""

import io
import warnings
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any, Final

from reportgen.workbook.files.long_sheets import (
    clear_covered,
    formula_text,
    hidden_in,
    is_without_value,
    read_long_sheet,
)
from reportgen.workbook.files.package import SheetXml, Source, read_package
from reportgen.workbook.raw import MOST_CELLS, Place, RawSheet, merged_with_value, too_large

if TYPE_CHECKING:
    from openpyxl import Workbook as Spreadsheet
    from openpyxl.cell.cell import Cell, MergedCell
    from openpyxl.worksheet.worksheet import Worksheet

CELL_BY_CELL: Final = (
    8 * 2**20
)  # bytes of XML, some 150,000 cells: two seconds and 100 MB in openpyxl


def read_office_open(content: bytes) -> tuple[RawSheet, ...]:
    """Return the sheets of a workbook's bytes, in order; chart sheets are left out.

    Raises RefusedError for what can be named; a damaged file raises whatever the libraries for zip
    and XML do.
    """
    source = read_package(content)
    brief, long = _by_length(source.sheets)
    found = {sheet.name: sheet for sheet in _cell_by_cell(source, brief)}
    found |= {sheet.name: read_long_sheet(source, sheet, content) for sheet in long}
    return tuple(found[sheet.name] for sheet in source.sheets)


def _by_length(sheets: Iterable[SheetXml]) -> tuple[list[SheetXml], list[SheetXml]]:
    """Return the sheets that are read cell by cell, the shortest first, and those that would take
    too long.
    """
    brief: list[SheetXml] = []
    long: list[SheetXml] = []
    total = 0
    for sheet in sorted(sheets, key=lambda sheet: len(sheet.xml)):
        total += len(sheet.xml)
        (brief if total <= CELL_BY_CELL else long).append(sheet)
    return brief, long


def _cell_by_cell(source: Source, sheets: list[SheetXml]) -> Iterator[RawSheet]:
    if not sheets:
        return
    file = source.package(sheets)
    formulas = _loaded(file, data_only=False)
    has_formulas = any(sheet.has_formulas for sheet in sheets)
    if has_formulas:
        computed = _loaded(file, data_only=True)
    else:
        computed = formulas
    for sheet, written, shown in zip(sheets, formulas.worksheets, computed.worksheets, strict=True):
        if written.max_row * written.max_column > MOST_CELLS:
            raise too_large(sheet.name, written.max_row, written.max_column)
        yield _sheet(sheet, written, shown)


def _loaded(file: io.BytesIO, *, data_only: bool) -> "Spreadsheet":
    """Return the file with its formulas, or with the values that they had when it was saved."""
    from openpyxl import load_workbook

    file.seek(0)
    with (
        warnings.catch_warnings()
    ):  # of dates beyond the calendar, which the checks name by their cells
        warnings.simplefilter("ignore")
        return load_workbook(file, data_only=data_only)


def _sheet(sheet: SheetXml, formulas: "Worksheet", computed: "Worksheet") -> RawSheet:
    formats: dict[Place, str] = {}
    uncomputed: dict[Place, str] = {}
    written: list[list[Any]] = [list(row) for row in formulas.iter_rows(min_row=1, min_col=1)]
    clear_covered(written, sheet)
    for row in written:
        for cell in filter(None, row):
            _note_cell(cell, computed, formats, uncomputed)
    shown = [list(row) for row in computed.iter_rows(min_row=1, min_col=1, values_only=True)]
    clear_covered(shown, sheet)
    rows = tuple(map(tuple, shown))
    hidden_rows = {number for number, row in formulas.row_dimensions.items() if row.hidden}
    hidden = hidden_in(sheet, rows, hidden_rows)
    return RawSheet(
        sheet.name, rows, formats, uncomputed, hidden, merged_with_value(rows, sheet.merged)
    )


def _note_cell(
    cell: "Cell | MergedCell",
    computed: "Worksheet",
    formats: dict[Place, str],
    uncomputed: dict[Place, str],
) -> None:
    if cell.value is None:
        return
    place = cell.row, cell.column
    if cell.data_type == "f" and is_without_value(computed.cell(*place)):
        uncomputed[place] = formula_text(cell.value)
    if cell.number_format != "General":
        formats[place] = cell.number_format
