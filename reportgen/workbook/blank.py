"""The blank workbook of a planned trial: every sheet and column of the declaration, ready to be filled in."""

import textwrap
from collections.abc import Mapping, Sequence
from math import ceil
from typing import Final

from openpyxl import Workbook
from openpyxl.cell.cell import Cell, MergedCell
from openpyxl.formatting.rule import Rule
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.header_footer import HeaderFooter, HeaderFooterItem
from openpyxl.worksheet.properties import PageSetupProperties, WorksheetProperties
from openpyxl.worksheet.worksheet import Worksheet

from reportgen.workbook.declaration import SHEETS, TRIAL, TRIAL_HEADINGS, TRIAL_NOTES, Column, Kind, Sheet
from reportgen.workbook.plan import Entry, Plan, entries
from reportgen.workbook.planned_factors import with_factors
from reportgen.workbook.written import A4, WRITTEN_AT, stable_bytes

LAST_ROW: Final = 1_048_576  # of a sheet; ECMA-376 part 1 leaves it open, spreadsheet programs stop here
LONGEST_PROMPT, LONGEST_TITLE = 255, 32  # ECMA-376 part 1, 18.3.1.32: prompt, error; promptTitle, errorTitle
FIRST_DATE: Final = "36526"  # 2000-01-01 as a serial number: a smaller one was hardly meant as a date

SPARE_ROWS: Final = 17  # ruled, for a log that goes on: as many as A4 across holds
ROW_HEIGHT: Final = 22.0  # points, 7.8 mm: room for handwriting; common practice, ruled paper has 7 to 9 mm
LINE_HEIGHT: Final = 15.0  # points, a line of 11 point type
PORTRAIT_WIDTH: Final = 112  # characters that A4 upright holds without type becoming too small

CODE_FORMAT: Final = "@"  # as text, so that a code 1.10 does not become 1.1
FORMATS: Final = {
    Kind.CODE: CODE_FORMAT,
    Kind.COUNT: "0",
    Kind.LEVEL: "0.0%",
    Kind.DATE: "yyyy-mm-dd",
    Kind.MOMENT: "yyyy-mm-dd hh:mm",
    Kind.CLOCK: "hh:mm",
}
DECIMALS: Final = {"g": 1, "kWh": 1, "°C": 1, "L": 2, "m2": 2, "mS/cm": 2, "1/kWh": 2, "1/L": 2}
WIDTHS: Final = {
    Kind.TEXT: 26,
    Kind.MARKDOWN: 40,
    Kind.LIST: 26,
    Kind.CODE: 10,
    Kind.DATE: 12,
    Kind.MOMENT: 17,
    Kind.CHOICE: 12,
}
NARROWEST, WIDEST = 10, 40
FIELD_WIDTHS: Final = (26, 34, 52)
FIELD_HEIGHT: Final = 18.0  # points: the Trial sheet is typed, and fits one page
TALL_FIELDS: Final = {Kind.MARKDOWN: 3 * LINE_HEIGHT}
TYPED: Final = {
    Kind.DATE: "Type it as 2026-03-31.",
    Kind.MOMENT: "Type it as 2026-03-31 or 2026-03-31 14:30.",
    Kind.CLOCK: "Type it as 06:30.",
    Kind.LIST: "Put commas between them.",
    Kind.MARKDOWN: "Markdown may be used.",
    Kind.CURRENCY: "Three letters of ISO 4217, such as EUR.",
    Kind.LANGUAGE: "A tag of BCP 47, such as en.",
    Kind.FLAG: "Choose yes or no.",
    Kind.AMOUNT: "A number, with its unit where it is another.",
}
NUMBERS: Final = {Kind.NUMBER: "a number", Kind.COUNT: "a whole number", Kind.LEVEL: "a percentage"}

DARK, PALE, RULE, INK = "1F5B48", "DCE8E2", "9AA59E", "1C221E"
FACE: Final = "Calibri"
NEEDED_FONT, OTHER_FONT = Font(FACE, bold=True, color="FFFFFF"), Font(FACE, bold=True, color=INK)
HINT_FONT: Final = Font(FACE, 10, italic=True, color="545D57")
NEEDED_FILL, OTHER_FILL = PatternFill("solid", fgColor=DARK), PatternFill("solid", fgColor=PALE)
THIN, THICK = Side(style="thin", color=RULE), Side(style="medium", color=DARK)
RULED: Final = Border(left=THIN, right=THIN, top=THIN, bottom=THIN)
FIRST_OF_GROUP: Final = Border(left=THIN, right=THIN, top=THICK, bottom=THIN)
HEAD: Final = Alignment(horizontal="center", vertical="center", wrap_text=True)
LEFT: Final = Alignment(horizontal="left", vertical="center", wrap_text=True, indent=1)
RIGHT: Final = Alignment(horizontal="right", vertical="center", indent=1)

LEGEND: Final = "Dark header: fill in every row. Pale header: if you know it."

Codes = Mapping[str, str]


def blank_workbook(plan: Plan, sheets: Sequence[Sheet] = SHEETS) -> bytes:
    """Return the blank workbook of a planned trial as the bytes of an .xlsx file, the same for the same plan."""
    book = Workbook()
    book.remove(book.worksheets[0])
    sheets = with_factors(sheets, plan.factors)
    codes = {sheet.name: _codes(sheet) for sheet in sheets if sheet.key}
    filled = entries(plan)
    for sheet in sheets:
        page = book.create_sheet(sheet.name)
        fill = _fill_fields if sheet.name == TRIAL.name else _fill_table
        fill(page, sheet, filled.get(sheet.name, ()), codes)
        _prepare_for_print(page, needed=sheet.required)
    book.properties.creator = "reportgen"
    book.properties.title = "Workbook of a growing trial"
    book.properties.created = book.properties.modified = WRITTEN_AT
    return stable_bytes(book)


# ---- tables: one row a treatment, tray, plant, reading ---------------------------------------------------


def _fill_table(page: Worksheet, sheet: Sheet, rows: Sequence[Mapping[str, Entry]], codes: Codes) -> None:
    names = [column.name for column in sheet.columns]
    for number, column in enumerate(sheet.columns, 1):
        _add_column(page, number, column, [row[column.name] for row in rows if column.name in row])
        _add_rule(page, column, f"{get_column_letter(number)}2:{get_column_letter(number)}{LAST_ROW}", codes)
    for number, row in enumerate(rows, 2):
        for name, value in row.items():
            _put(page.cell(number, names.index(name) + 1), value)
    _rule_rows(page, sheet, rows)
    page.row_dimensions[1].height = _height(page, 1)
    page.sheet_format.defaultRowHeight, page.sheet_format.customHeight = ROW_HEIGHT, True
    page.freeze_panes = page.cell(2, _key_columns(sheet) + 1).coordinate


def _add_column(page: Worksheet, number: int, column: Column, values: Sequence[Entry]) -> None:
    """Write a column's header, and give the whole column its width and format, rows still to come included."""
    head = page.cell(1, number, column.header)
    _mark(head, column.required or column.needed)
    head.alignment = HEAD
    whole = page.column_dimensions[get_column_letter(number)]
    longest = max((len(str(text)) + 2 for text in (*column.header.split(), *values)), default=0)
    whole.width = min(WIDEST, max(WIDTHS.get(column.kind, NARROWEST), longest))
    whole.number_format, whole.alignment = number_format(column), _alignment(column)


def _rule_rows(page: Worksheet, sheet: Sheet, rows: Sequence[Mapping[str, Entry]]) -> None:
    """Rule the filled rows and, where a log goes on, spare ones; a thick line parts the plants of two trays.

    Rows added later are ruled once something stands in them.
    """
    group = sheet.key[:-1]
    ruled = 2 + len(rows) + _spare_rows(sheet, rows)
    right = get_column_letter(len(sheet.columns))
    written = f"COUNTA($A{ruled}:${right}{ruled})>0"
    rule = Rule("expression", formula=[written], dxf=DifferentialStyle(border=RULED))
    page.conditional_formatting.add(f"A{ruled}:{right}{LAST_ROW}", rule)
    for number in range(2, ruled):
        index = number - 2
        parted = 0 < index < len(rows) and any(rows[index][name] != rows[index - 1][name] for name in group)
        page.row_dimensions[number].height = ROW_HEIGHT
        for place, column in enumerate(sheet.columns, 1):
            cell = page.cell(number, place)
            cell.border = FIRST_OF_GROUP if parted else RULED
            cell.number_format, cell.alignment = number_format(column), _alignment(column)


def _spare_rows(sheet: Sheet, rows: Sequence[Mapping[str, Entry]]) -> int:
    dated = any(column.required and column.kind in (Kind.DATE, Kind.MOMENT) for column in sheet.columns)
    return SPARE_ROWS if dated or not rows else 0


def _key_columns(sheet: Sheet) -> int:
    """Return how many columns at the left name the row, and stay in view."""
    return next((n for n, column in enumerate(sheet.columns) if column.name not in sheet.key), len(sheet.columns))


# ---- the Trial sheet: one field a row --------------------------------------------------------------------


def _fill_fields(page: Worksheet, sheet: Sheet, rows: Sequence[Mapping[str, Entry]], codes: Codes) -> None:
    values = rows[0] if rows else {}
    for number, (title, width) in enumerate(zip(TRIAL_HEADINGS, FIELD_WIDTHS, strict=True), 1):
        _mark(page.cell(1, number, title), needed=False)
        page.column_dimensions[get_column_letter(number)].width = width
    for row, column in enumerate(sheet.columns, 2):
        _add_field(page, row, column, values.get(column.name))
        _add_rule(page, column, f"B{row}", codes)
    _add_notes(page, len(sheet.columns) + 3)
    page.freeze_panes = "B2"


def _add_field(page: Worksheet, row: int, column: Column, value: Entry | None) -> None:
    field, cell, hint = page.cell(row, 1, column.header), page.cell(row, 2), page.cell(row, 3, hint_of(column))
    _mark(field, column.required)
    if value is not None:
        _put(cell, value)
    cell.number_format, cell.alignment, cell.border = number_format(column), LEFT, RULED
    hint.font, hint.alignment, hint.border = HINT_FONT, LEFT, RULED
    page.row_dimensions[row].height = max(_height(page, row, FIELD_HEIGHT), TALL_FIELDS.get(column.kind, 0))


def _add_notes(page: Worksheet, first: int) -> None:
    """Write the legend beside the fields' column, where it is no field."""
    for row, (word, needed, text) in enumerate(TRIAL_NOTES, first):
        _mark(page.cell(row, 2, word), needed)
        note = page.cell(row, 3, text)
        note.alignment, note.border = LEFT, RULED
        page.row_dimensions[row].height = _height(page, row)


# ---- cells -----------------------------------------------------------------------------------------------


def _put(cell: Cell | MergedCell, value: Entry) -> None:
    """Write a value; text stays text, even where it begins like a formula."""
    cell.value = value
    cell.data_type = "s" if isinstance(value, str) else "n"


def _mark(cell: Cell | MergedCell, needed: bool) -> None:
    """Give a header its look: dark where the column is needed, pale where it is not."""
    cell.font, cell.fill = (NEEDED_FONT, NEEDED_FILL) if needed else (OTHER_FONT, OTHER_FILL)
    cell.alignment, cell.border = LEFT, RULED


def number_format(column: Column) -> str:
    """Return a column's number format: decimals that line up, and never fewer than were typed."""
    decimals = DECIMALS.get(column.unit) if column.kind is Kind.NUMBER else None
    return f"0.{'0' * decimals}####" if decimals else FORMATS.get(column.kind, "General")


def _alignment(column: Column) -> Alignment:
    return RIGHT if column.kind in NUMBERS else LEFT


def _height(page: Worksheet, row: int, least: float = ROW_HEIGHT) -> float:
    """Return the height of a row's longest wrapped text, which not every spreadsheet program finds by itself."""
    lines = [
        len(textwrap.wrap(str(cell.value), ceil(page.column_dimensions[cell.column_letter].width) - 2))
        for cell in page[row]
        if cell.value is not None
    ]
    return max(least, LINE_HEIGHT * max(lines, default=1) + 3)


# ---- what a cell takes -----------------------------------------------------------------------------------


def _codes(sheet: Sheet) -> str:
    """Return the formula of the codes on a sheet, as many as there are."""
    letter = get_column_letter([column.name for column in sheet.columns].index(sheet.key[0]) + 1)
    name = sheet.name.replace("'", "''")
    filled = f"COUNTA('{name}'!${letter}$2:${letter}${LAST_ROW})"
    return f"OFFSET('{name}'!${letter}$2,0,0,MAX(1,{filled}),1)"


def _add_rule(page: Worksheet, column: Column, cells: str, codes: Codes) -> None:
    """Tell what to type where a cell of the column is chosen, and offer or ask back what it takes."""
    needed = "Needed." if page.title == TRIAL.name else "Needed on every row."
    rule = _rule(column, codes)
    rule.prompt = _cut(f"{hint_of(column)} {needed if column.required else ''}")
    rule.promptTitle = rule.errorTitle = textwrap.shorten(column.header, LONGEST_TITLE, placeholder="…")
    rule.allow_blank, rule.showInputMessage = True, bool(rule.prompt)
    if rule.prompt or rule.type:
        rule.add(cells)
        page.add_data_validation(rule)


def _rule(column: Column, codes: Codes) -> DataValidation:
    if column.refers:
        return _listed(codes[column.refers], f"Choose a code of the sheet {column.refers}.", strict=not column.also)
    if column.choices or column.kind is Kind.FLAG:
        return _listed(f'"{",".join(column.choices or ("yes", "no"))}"', "Choose one from the list.", strict=True)
    if column.kind in (Kind.DATE, Kind.MOMENT):
        return DataValidation(
            type="date",
            operator="greaterThanOrEqual",
            formula1=FIRST_DATE,
            error=TYPED[column.kind],
            showErrorMessage=True,
        )
    return _bounded(column) if column.kind in NUMBERS and limits(column) else DataValidation()


def _listed(source: str, error: str, *, strict: bool) -> DataValidation:
    """Offer a list; where it is not strict, another word may be typed too."""
    return DataValidation(type="list", formula1=source, error=error, showErrorMessage=strict)


def _bounded(column: Column) -> DataValidation:
    low = column.above if column.above is not None else column.at_least
    rule = DataValidation(type="whole" if column.kind is Kind.COUNT else "decimal", showErrorMessage=True)
    rule.formula1 = f"{column.at_most if low is None else low:g}"
    rule.operator = "greaterThan" if column.above is not None else "greaterThanOrEqual"
    if column.at_most is not None:
        rule.operator = "lessThanOrEqual" if low is None else "between"
        rule.formula2 = None if low is None else f"{column.at_most:g}"
    rule.error = _cut(f"Type {NUMBERS[column.kind]}, {limits(column)}.")
    if column.unit:  # a number with another unit behind it is text, and may be kept
        rule.errorStyle = "warning"
        rule.error = _cut(f"{rule.error} With another unit behind it, it can stay.")
    return rule


def hint_of(column: Column) -> str:
    """Return what to type in a column: its help, its unit and bounds, what is usual, which word stands for all."""
    parts = [column.help, TYPED.get(column.kind, "")]
    if column.kind in NUMBERS and (column.unit or limits(column)):
        parts.append(f"Type {NUMBERS[column.kind]}, {limits(column) or f'in {column.unit}'}.")
    if column.usual:
        parts.append(f"Usual: {_shown(column.usual[0], column, '')} to {_shown(column.usual[1], column)}.")
    parts += [f"Or type {word}." for word in column.also]
    return " ".join(part for part in parts if part)


def limits(column: Column) -> str:
    """Return what is physically possible in words, with the unit; empty where there are no bounds."""
    low, high = column.at_least if column.above is None else column.above, column.at_most
    if low is not None and high is not None:
        return f"{_shown(low, column, '')} to {_shown(high, column)}"
    if low is not None:
        return f"{'at least' if column.above is None else 'above'} {_shown(low, column)}"
    return f"at most {_shown(high, column)}" if high is not None else ""


def _shown(number: float, column: Column, unit: str | None = None) -> str:
    if column.kind is Kind.LEVEL:
        return f"{number * 100:g} %"
    named = column.unit if unit is None and not column.unit.startswith("1/") else ""
    return f"{number:.10g} {named}".strip()


def _cut(text: str) -> str:
    return textwrap.shorten(text, LONGEST_PROMPT, placeholder="…")


# ---- paper -----------------------------------------------------------------------------------------------


def _prepare_for_print(page: Worksheet, *, needed: bool) -> None:
    """Print on A4, as wide as the page, ruled, the header on every page: a sheet for the clipboard."""
    width = sum(column.width for column in page.column_dimensions.values())
    page.page_setup.orientation = "portrait" if width <= PORTRAIT_WIDTH else "landscape"
    page.page_setup.paperSize = A4
    page.page_setup.fitToWidth, page.page_setup.fitToHeight = 1, 0
    page.sheet_properties = WorksheetProperties(
        pageSetUpPr=PageSetupProperties(fitToPage=True), tabColor=DARK if needed else PALE
    )
    page.print_title_rows = "1:1"
    page.print_options.horizontalCentered = True
    page.page_margins.left = page.page_margins.right = 0.5
    head, foot = HeaderFooterItem(), HeaderFooterItem()
    head.left.text, head.center.text, head.right.text = "&F", "&B&A", "Page &P of &N"
    foot.left.text = LEGEND
    page.HeaderFooter = HeaderFooter(oddHeader=head, oddFooter=foot)
