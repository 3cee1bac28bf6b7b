"""Writes a log to files: xlsx (openpyxl, or xlsxwriter where formulas need their values), ods, xls,
csv.
"""

import csv
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import xlwt
from odf import style as odf_style
from odf import table, text
from odf.opendocument import OpenDocumentSpreadsheet
from openpyxl import Workbook
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import get_column_letter
from xlsxwriter import Workbook as Written

from .grid import Cell, File, Log, Row, Sheet, cells_of, width

FUNCTIONS = {"sum": "SUM", "mean": "AVERAGE"}


def write(log: Log, folder: Path) -> list[Path]:
    """Write all files of a log; return their paths, that of the first file first."""
    return [_write_file(log, file, folder) for file in log.files]


def _write_file(log: Log, file: File, folder: Path) -> Path:
    path = folder / f"{file.stem}.{log.suffix}"
    if log.suffix == "csv":
        _csv(log, file, path)
    elif log.suffix == "ods":
        _ods(file, path)
    elif log.suffix == "xls":
        _xls(file, path)
    elif any(cell.sums for cell in cells_of(log)):
        _with_formulas(file, path)
    else:
        _xlsx(file, path)
    return path


def spots(sheet: Sheet) -> Iterator[tuple[int, int, Cell]]:
    """Yield row, column (from 0) and cell of each cell of a sheet that holds something or is
    marked.
    """
    for at, one in enumerate(sheet.rows):
        for column, cell in enumerate(one.cells):
            if cell.value is not None or cell.fill or cell.span != (1, 1):
                yield at, column, cell


def formula(cell: Cell, at: int, column: int) -> str:
    """Return the formula of a sum or mean of the cells above or to the left."""
    name, number, gap = cell.sums
    if number > 0:
        letter = get_column_letter(column + 1)
        return f"={FUNCTIONS[name]}({letter}{at - gap - number + 1}:{letter}{at - gap})"
    first, last = get_column_letter(column + number + 1), get_column_letter(column)
    return f"={FUNCTIONS[name]}({first}{at + 1}:{last}{at + 1})"


def _xlsx(file: File, path: Path) -> None:
    book = Workbook()
    book.remove(book.active)
    for sheet in file.sheets:
        page = book.create_sheet(sheet.name)
        page.sheet_state = "hidden" if sheet.hidden else "visible"
        for at, column, cell in spots(sheet):
            there = page.cell(at + 1, column + 1, cell.value)
            if isinstance(cell.value, str) and cell.value.startswith("="):
                there.data_type = "s"
            if cell.strike:
                there.font = Font(strike=True)
            if cell.fill:
                there.fill = PatternFill("solid", fgColor=cell.fill)
            if cell.span != (1, 1):
                last_row, last_column = at + cell.span[0], column + cell.span[1]
                page.merge_cells(
                    start_row=at + 1,
                    start_column=column + 1,
                    end_row=last_row,
                    end_column=last_column,
                )
    book.save(path)


def _with_formulas(file: File, path: Path) -> None:
    with Written(str(path)) as book:
        for sheet in file.sheets:
            page = book.add_worksheet(sheet.name)
            if sheet.hidden:
                page.hide()
            for at, column, cell in spots(sheet):
                _written(book, page, at, column, cell)


def _written(book: Written, page: object, at: int, column: int, cell: Cell) -> None:
    looks = {"bg_color": f"#{cell.fill}"} if cell.fill else {}
    if cell.strike:
        looks["font_strikeout"] = True
    if isinstance(cell.value, date):
        looks["num_format"] = (
            "yyyy-mm-dd hh:mm" if isinstance(cell.value, datetime) else "yyyy-mm-dd"
        )
    look = book.add_format(looks)
    if cell.span != (1, 1):
        page.merge_range(at, column, at + cell.span[0] - 1, column + cell.span[1] - 1, "", look)
    if cell.sums:
        page.write_formula(at, column, formula(cell, at, column), look, cell.value)
    elif cell.value is None:
        page.write_blank(at, column, None, look)
    elif isinstance(cell.value, date):
        page.write_datetime(at, column, cell.value, look)
    elif isinstance(cell.value, str):
        page.write_string(at, column, cell.value, look)
    else:
        page.write_number(at, column, cell.value, look)


def _xls(file: File, path: Path) -> None:
    book = xlwt.Workbook()
    for sheet in file.sheets:
        page = book.add_sheet(
            sheet.name, cell_overwrite_ok=True
        )  # a row may be put into a merged label
        page.visibility = 1 if sheet.hidden else 0
        for at, column, cell in spots(sheet):
            look = _xls_look(cell)
            if cell.span != (1, 1):
                page.write_merge(
                    at, at + cell.span[0] - 1, column, column + cell.span[1] - 1, cell.value, look
                )
            else:
                page.write(at, column, cell.value, look)
    book.save(str(path))


def _xls_look(cell: Cell) -> xlwt.XFStyle:
    words = "font: struck_out on" if cell.strike else ""
    if cell.fill:
        words = f"{words}; pattern: pattern solid, fore_colour light_yellow".lstrip("; ")
    kind = "YYYY-MM-DD HH:MM" if isinstance(cell.value, datetime) else "YYYY-MM-DD"
    return xlwt.easyxf(words, num_format_str=kind if isinstance(cell.value, date) else "General")


def _ods(file: File, path: Path) -> None:
    book = OpenDocumentSpreadsheet()
    hidden = odf_style.Style(name="hidden", family="table")
    hidden.addElement(odf_style.TableProperties(display="false"))
    struck = odf_style.Style(name="struck", family="table-cell")
    struck.addElement(odf_style.TextProperties(textlinethroughstyle="solid"))
    yellow = odf_style.Style(name="yellow", family="table-cell")
    yellow.addElement(odf_style.TableCellProperties(backgroundcolor="#FFFF99"))
    for one in (hidden, struck, yellow):
        book.automaticstyles.addElement(one)
    for sheet in file.sheets:
        looks = {"stylename": hidden} if sheet.hidden else {}
        page = table.Table(name=sheet.name, **looks)
        covered: set[tuple[int, int]] = set()
        for at, one in enumerate(sheet.rows):
            page.addElement(_ods_row(one, at, width(sheet.rows), covered, (struck, yellow)))
        book.spreadsheet.addElement(page)
    book.save(str(path))


def _ods_row(one: Row, at: int, columns: int, covered: set, looks: tuple) -> table.TableRow:
    made = table.TableRow()
    for column in range(columns):
        cell = one.cells[column] if column < len(one.cells) else Cell()
        if (at, column) in covered:
            made.addElement(table.CoveredTableCell())
            continue
        covered |= {
            (at + down, column + right)
            for down in range(cell.span[0])
            for right in range(cell.span[1])
        }
        made.addElement(_ods_cell(cell, looks))
    return made


def _ods_cell(cell: Cell, looks: tuple) -> table.TableCell:
    told: dict[str, object] = {}
    if cell.strike:
        told["stylename"] = looks[0]
    elif cell.fill:
        told["stylename"] = looks[1]
    if cell.span != (1, 1):
        told |= {"numberrowsspanned": cell.span[0], "numbercolumnsspanned": cell.span[1]}
    value = cell.value
    if value is None:
        return table.TableCell(**told)
    if isinstance(value, date):
        made = table.TableCell(valuetype="date", datevalue=value.isoformat(), **told)
    elif isinstance(value, str):
        made = table.TableCell(valuetype="string", **told)
    else:
        made = table.TableCell(valuetype="float", value=repr(value), **told)
    made.addElement(text.P(text=str(value)))
    return made


def _csv(log: Log, file: File, path: Path) -> None:
    with path.open("w", newline="", encoding=log.csv_encoding, errors="replace") as stream:
        writer = csv.writer(stream, delimiter=log.csv_separator)
        for sheet in file.sheets:
            columns = width(sheet.rows)
            for one in sheet.rows:
                cells = [*one.cells, *([Cell()] * (columns - len(one.cells)))]
                writer.writerow([_csv_text(cell.value, log.decimal) for cell in cells])


def _csv_text(value: object, decimal: str) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return str(value).replace(".", decimal)
    return value.isoformat(sep=" ") if isinstance(value, datetime) else str(value)


def text_grid(log: Log) -> str:
    """Return a log as text, for a person to look at."""
    lines: list[str] = []
    for file in log.files:
        for sheet in file.sheets:
            hidden = " (hidden)" if sheet.hidden else ""
            lines.append(f"== {file.stem}.{log.suffix} / {sheet.name}{hidden}")
            for at, one in enumerate(sheet.rows, 1):
                cells = " | ".join(_shown(cell) for cell in one.cells)
                lines.append(f"{at:>3} {cells}")
    return "\n".join(lines)


def _shown(cell: Cell) -> str:
    if cell.value is None:
        return ""
    shown = (
        f"'{cell.value}"
        if isinstance(cell.value, str) and cell.value[:1].isdigit()
        else str(cell.value)
    )
    return f"~{shown}~" if cell.strike else shown
