"""Write the blank workbook of a planned trial: sheets and columns ready to be filled in."""

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
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

from reportgen.workbook.declaration import (
    SHEETS,
    TRAYS,
    TREATMENTS,
    TRIAL_HEADINGS,
    TRIAL_NOTES,
    Column,
    Kind,
    Sheet,
)
from reportgen.workbook.plan import Entry, Plan, entries
from reportgen.workbook.planned_factors import with_factors
from reportgen.workbook.units import with_unit
from reportgen.workbook.vocabulary import ENGLISH, Vocabulary
from reportgen.workbook.written import A4, WRITTEN_AT, stable_bytes

LAST_ROW: Final = (
    1_048_576  # of a sheet; ECMA-376 part 1 leaves it open, spreadsheet programs stop here
)
LONGEST_PROMPT, LONGEST_TITLE = (
    255,
    32,
)  # ECMA-376 part 1, 18.3.1.32: prompt, error; promptTitle, errorTitle
FIRST_DATE: Final = (
    "36526"  # 2000-01-01 as a serial number: a smaller one was hardly meant as a date
)

SPARE_ROWS: Final = 17  # ruled, for a log that goes on: as many as A4 across holds
ROW_HEIGHT: Final = (
    22.0  # points, 7.8 mm: room for handwriting; common practice, ruled paper has 7 to 9 mm
)
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
    Kind.FLAG: "Choose {yes} or {no}.",
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

Row = Mapping[str, Entry]


@dataclass(frozen=True)
class _Page:
    """A sheet that is being written: declared as `sheet`, in `words`; `codes` are the formulas of
    lists by sheet.
    """

    cells: Worksheet
    sheet: Sheet
    words: Vocabulary
    codes: Mapping[str, str]


def blank_workbook(
    plan: Plan, sheets: Sequence[Sheet] = SHEETS, words: Vocabulary = ENGLISH
) -> bytes:
    """Return the blank workbook of a planned trial as .xlsx bytes, the same for the same plan.

    sheets: those of the declaration that it has.
    words: the language of its names and help.
    """
    book = Workbook()
    book.remove(book.worksheets[0])
    sheets = with_factors(sheets, plan.factors)
    spoken = {sheet.name: words.spoken(sheet) for sheet in sheets}
    codes = {sheet.name: _codes(sheet) for sheet in spoken.values() if sheet.key}
    filled = entries(plan, words)
    for sheet in sheets:
        said = spoken[sheet.name]
        page = _Page(book.create_sheet(said.name), said, words, codes)
        rows = [_spoken_row(sheet, row, words) for row in filled.get(sheet.name, ())]
        if sheet.vertical:
            _fill_fields(page, rows)
        else:
            _fill_table(page, rows)
        _prepare_for_print(page)
    book.properties.creator = "reportgen"
    book.properties.title = words.text("Workbook of a growing trial")
    book.properties.created = book.properties.modified = WRITTEN_AT
    return stable_bytes(book)


def _spoken_row(sheet: Sheet, row: Row, words: Vocabulary) -> Row:
    """Return a row by the names of its columns in a language, its choices in that language too."""
    spoken: dict[str, Entry] = {}
    for name, value in row.items():
        said = words.column_name(sheet.name, name)
        spoken[said] = _spoken_entry(sheet.column(name), value, words)
    return spoken


def _spoken_entry(column: Column, value: Entry, words: Vocabulary) -> Entry:
    if column.kind is Kind.CHOICE:
        return words.word(str(value))
    if column.kind is Kind.FLAG:
        if value == "yes":
            return words.yes[0]
        return words.no[0]
    return value


# ---- tables: one row a treatment, tray, plant, reading -------------------------------------------


def _fill_table(page: _Page, rows: Sequence[Row]) -> None:
    cells, columns = page.cells, page.sheet.columns
    names = [column.name for column in columns]
    for number, column in enumerate(columns, 1):
        letter = get_column_letter(number)
        _add_column(cells, number, column, [row[column.name] for row in rows if column.name in row])
        _add_rule(page, column, f"{letter}2:{letter}{LAST_ROW}")
    for number, row in enumerate(rows, 2):
        for name, value in row.items():
            _put(cells.cell(number, names.index(name) + 1), value)
    _rule_rows(page, rows)
    cells.row_dimensions[1].height = _height(cells, 1)
    cells.sheet_format.defaultRowHeight, cells.sheet_format.customHeight = ROW_HEIGHT, True
    cells.freeze_panes = cells.cell(2, _key_columns(page.sheet) + 1).coordinate


def _add_column(page: Worksheet, number: int, column: Column, values: Sequence[Entry]) -> None:
    """Write a column's header, and the width and format of all its rows."""
    head = page.cell(1, number, column.header)
    _mark(head, column.required)
    head.alignment = HEAD
    whole = page.column_dimensions[get_column_letter(number)]
    longest = max((len(str(text)) + 2 for text in (*column.header.split(), *values)), default=0)
    whole.width = min(WIDEST, max(WIDTHS.get(column.kind, NARROWEST), longest))
    whole.number_format, whole.alignment = number_format(column), _alignment(column)


def _rule_rows(page: _Page, rows: Sequence[Row]) -> None:
    """Rule the filled rows and spare ones of a log; a thick line parts the groups of rows.

    Rows added later are ruled once something stands in them.
    """
    cells, columns = page.cells, page.sheet.columns
    group = _group(page.sheet, rows)
    ruled = 2 + len(rows) + _spare_rows(page.sheet, rows)
    right = get_column_letter(len(columns))
    written = f"COUNTA($A{ruled}:${right}{ruled})>0"
    rule = Rule("expression", formula=[written], dxf=DifferentialStyle(border=RULED))
    cells.conditional_formatting.add(f"A{ruled}:{right}{LAST_ROW}", rule)
    for number in range(2, ruled):
        index = number - 2
        parted = (
            bool(group) and 0 < index < len(rows) and rows[index][group] != rows[index - 1][group]
        )
        cells.row_dimensions[number].height = ROW_HEIGHT
        for place, column in enumerate(columns, 1):
            cell = cells.cell(number, place)
            cell.border = FIRST_OF_GROUP if parted else RULED
            cell.number_format, cell.alignment = number_format(column), _alignment(column)


def _group(sheet: Sheet, rows: Sequence[Row]) -> str:
    """Return the part of the key whose rows belong together: the day of dated rows, else the tray;
    empty if none.

    A key of one column names each row, and groups none.
    """
    if len(sheet.key) < 2 or not rows:
        return ""
    keys = [sheet.column(name) for name in sheet.key if name in rows[0]]
    days = [column.name for column in keys if column.kind is Kind.DATE]
    return (days or [keys[0].name])[0]


def _spare_rows(sheet: Sheet, rows: Sequence[Row]) -> int:
    dated = any(
        column.required and column.kind in (Kind.DATE, Kind.MOMENT) for column in sheet.columns
    )
    if dated or not rows:
        return SPARE_ROWS
    return 0


def _key_columns(sheet: Sheet) -> int:
    """Return how many columns at the left name the row, and stay in view."""
    return next(
        (n for n, column in enumerate(sheet.columns) if column.name not in sheet.key),
        len(sheet.columns),
    )


# ---- the Trial sheet: one field a row ------------------------------------------------------------


def _fill_fields(page: _Page, rows: Sequence[Row]) -> None:
    cells = page.cells
    if rows:
        values = rows[0]
    else:
        values = {}
    for number, (title, width) in enumerate(zip(TRIAL_HEADINGS, FIELD_WIDTHS, strict=True), 1):
        _mark(cells.cell(1, number, page.words.text(title)), needed=False)
        cells.column_dimensions[get_column_letter(number)].width = width
    for row, column in enumerate(page.sheet.columns, 2):
        _add_field(page, row, column, values.get(column.name))
        _add_rule(page, column, f"B{row}")
    _add_notes(page, len(page.sheet.columns) + 3)
    cells.freeze_panes = "B2"


def _add_field(page: _Page, row: int, column: Column, value: Entry | None) -> None:
    cells = page.cells
    field, cell = cells.cell(row, 1, column.header), cells.cell(row, 2)
    hint = cells.cell(row, 3, hint_of(column, page.words))
    _mark(field, column.required)
    if value is not None:
        _put(cell, value)
    cell.number_format, cell.alignment, cell.border = number_format(column), LEFT, RULED
    hint.font, hint.alignment, hint.border = HINT_FONT, LEFT, RULED
    cells.row_dimensions[row].height = max(
        _height(cells, row, FIELD_HEIGHT), TALL_FIELDS.get(column.kind, 0)
    )


def _add_notes(page: _Page, first: int) -> None:
    """Write the legend beside the fields' column, where it is no field."""
    words = page.words
    sheets = {
        "treatments": words.sheet_name(TREATMENTS.name),
        "trays": words.sheet_name(TRAYS.name),
    }
    for row, (word, needed, text) in enumerate(TRIAL_NOTES, first):
        _mark(page.cells.cell(row, 2, words.text(word)), needed)
        note = page.cells.cell(row, 3, words.text(text, **sheets))
        note.alignment, note.border = LEFT, RULED
        page.cells.row_dimensions[row].height = _height(page.cells, row)


# ---- cells ---------------------------------------------------------------------------------------


def _put(cell: Cell | MergedCell, value: Entry) -> None:
    """Write a value; text stays text, even where it begins like a formula."""
    cell.value = value
    if isinstance(value, str):
        cell.data_type = "s"


def _mark(cell: Cell | MergedCell, needed: bool) -> None:
    """Give a header its look: dark where the column is needed, pale where it is not."""
    cell.font, cell.fill = (NEEDED_FONT, NEEDED_FILL) if needed else (OTHER_FONT, OTHER_FILL)
    cell.alignment, cell.border = LEFT, RULED


def number_format(column: Column) -> str:
    """Return a column's number format: decimals that line up, and never fewer than were typed."""
    if column.kind is Kind.NUMBER:
        decimals = DECIMALS.get(column.unit)
    else:
        decimals = None
    if decimals:
        return f"0.{'0' * decimals}####"
    return FORMATS.get(column.kind, "General")


def _alignment(column: Column) -> Alignment:
    if column.kind in NUMBERS:
        return RIGHT
    return LEFT


def _height(page: Worksheet, row: int, least: float = ROW_HEIGHT) -> float:
    """Return the height of a row's longest wrapped text, as not every program finds it itself."""
    lines = [
        len(
            textwrap.wrap(
                str(cell.value), ceil(page.column_dimensions[cell.column_letter].width) - 2
            )
        )
        for cell in page[row]
        if cell.value is not None
    ]
    return max(least, LINE_HEIGHT * max(lines, default=1) + 3)


# ---- what a cell takes ---------------------------------------------------------------------------


def _codes(sheet: Sheet) -> str:
    """Return the formula of the codes on a sheet, as many as there are."""
    letter = get_column_letter([column.name for column in sheet.columns].index(sheet.key[0]) + 1)
    name = sheet.name.replace("'", "''")
    filled = f"COUNTA('{name}'!${letter}$2:${letter}${LAST_ROW})"
    return f"OFFSET('{name}'!${letter}$2,0,0,MAX(1,{filled}),1)"


def _add_rule(page: _Page, column: Column, cells: str) -> None:
    """Say what to type where a cell of the column is chosen, and offer or ask back what it takes."""
    words = page.words
    if page.sheet.vertical:
        needed = words.text("Needed.")
    else:
        needed = words.text("Needed on every row.")
    rule = _rule(page, column)
    rule.prompt = _cut(f"{hint_of(column, words)} {needed if column.required else ''}")
    rule.promptTitle = rule.errorTitle = textwrap.shorten(
        column.header, LONGEST_TITLE, placeholder="…"
    )
    rule.allow_blank, rule.showInputMessage = True, bool(rule.prompt)
    if rule.prompt or rule.type:
        rule.add(cells)
        page.cells.add_data_validation(rule)


def _rule(page: _Page, column: Column) -> DataValidation:
    words = page.words
    if column.refers:
        error = words.text("Choose a code of the sheet {sheet}.", sheet=column.refers)
        return _listed(page.codes[column.refers], error, strict=not column.also)
    if column.choices or column.kind is Kind.FLAG:
        listed = column.choices or (words.yes[0], words.no[0])
        return _listed(
            f'"{",".join(listed)}"', words.text("Choose one from the list."), strict=True
        )
    if column.kind in (Kind.DATE, Kind.MOMENT):
        return DataValidation(
            type="date",
            operator="greaterThanOrEqual",
            formula1=FIRST_DATE,
            error=words.text(TYPED[column.kind]),
            showErrorMessage=True,
        )
    if column.kind in NUMBERS and limits(column):
        return _bounded(column, words)
    return DataValidation()


def _listed(source: str, error: str, *, strict: bool) -> DataValidation:
    """Offer a list; where it is not strict, another word may be typed too."""
    return DataValidation(type="list", formula1=source, error=error, showErrorMessage=strict)


def _bounded(column: Column, words: Vocabulary) -> DataValidation:
    rule = DataValidation(type="decimal", showErrorMessage=True)
    if column.kind is Kind.COUNT:
        rule.type = "whole"
    _set_bounds(rule, column)
    rule.error = _cut(_type_a_number(column, limits(column, words), words))
    if column.unit:  # a number with another unit behind it is text, and may be kept
        rule.errorStyle = "warning"
        rule.error = _cut(f"{rule.error} {words.text('With another unit behind it, it can stay.')}")
    return rule


def _set_bounds(rule: DataValidation, column: Column) -> None:
    """Write the least and the greatest number of a column into a rule."""
    rule.operator, low = "greaterThanOrEqual", column.at_least
    if column.above is not None:
        rule.operator, low = "greaterThan", column.above
    if low is None:
        rule.operator, rule.formula1 = "lessThanOrEqual", f"{column.at_most:g}"
        return
    rule.formula1 = f"{low:g}"
    if column.at_most is not None:
        rule.operator, rule.formula2 = "between", f"{column.at_most:g}"


def hint_of(column: Column, words: Vocabulary = ENGLISH) -> str:
    """Return what to type in a column: its help, unit, bounds, usual values and word for all."""
    parts = [column.help]
    if column.kind in TYPED:
        parts.append(words.text(TYPED[column.kind], yes=words.yes[0], no=words.no[0]))
    if column.kind in NUMBERS and (column.unit or limits(column)):
        bounds = limits(column, words) or words.text("in {unit}", unit=column.unit)
        parts.append(_type_a_number(column, bounds, words))
    if column.usual:
        low, high = _shown(column.usual[0], column, ""), _shown(column.usual[1], column)
        usual = words.text("{low} to {high}", low=low, high=high)
        parts.append(words.text("Usual: {range}.", range=usual))
    parts += [words.text("Or type {word}.", word=word) for word in column.also]
    return " ".join(part for part in parts if part)


def _type_a_number(column: Column, bounds: str, words: Vocabulary) -> str:
    return words.text(
        "Type {what}, {limits}.", what=words.text(NUMBERS[column.kind]), limits=bounds
    )


def limits(column: Column, words: Vocabulary = ENGLISH) -> str:
    """Return what is physically possible, with the unit; empty where there are no bounds."""
    low, high = column.at_least if column.above is None else column.above, column.at_most
    if low is not None and high is not None:
        return words.text("{low} to {high}", low=_shown(low, column, ""), high=_shown(high, column))
    if high is not None:
        return words.text("at most {high}", high=_shown(high, column))
    if low is None:
        return ""
    if column.above is None:
        message = "at least {low}"
    else:
        message = "above {low}"
    return words.text(message, low=_shown(low, column))


def _shown(number: float, column: Column, unit: str | None = None) -> str:
    if column.kind is Kind.LEVEL:
        return f"{number * 100:g}%"
    if unit is None and not column.unit.startswith("1/"):
        named = column.unit
    else:
        named = ""
    return with_unit(f"{number:.10g}", named)


def _cut(text: str) -> str:
    return textwrap.shorten(text, LONGEST_PROMPT, placeholder="…")


# ---- paper ---------------------------------------------------------------------------------------


def _prepare_for_print(page: _Page) -> None:
    """Print on A4, as wide as the page, ruled, the header on every page: a sheet for the clipboard."""
    cells, words = page.cells, page.words
    width = sum(column.width for column in cells.column_dimensions.values())
    cells.page_setup.orientation = "portrait" if width <= PORTRAIT_WIDTH else "landscape"
    cells.page_setup.paperSize = A4
    cells.page_setup.fitToWidth, cells.page_setup.fitToHeight = 1, 0
    cells.sheet_properties = WorksheetProperties(
        pageSetUpPr=PageSetupProperties(fitToPage=True),
        tabColor=DARK if page.sheet.required else PALE,
    )
    cells.print_title_rows = "1:1"
    cells.print_options.horizontalCentered = True
    cells.page_margins.left = cells.page_margins.right = 0.5
    head, foot = HeaderFooterItem(), HeaderFooterItem()
    pages = words.text("Page {page} of {pages}", page="&P", pages="&N")
    head.left.text, head.center.text, head.right.text = "&F", "&B&A", pages
    foot.left.text = words.text(LEGEND)
    cells.HeaderFooter = HeaderFooter(oddHeader=head, oddFooter=foot)
