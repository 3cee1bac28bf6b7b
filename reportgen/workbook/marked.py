"""Mark a copy of a workbook: each problem as a comment and a fill, and a list in front."""

import io
import re
import textwrap
import warnings
from collections import defaultdict
from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import Any, Final, cast
from zipfile import BadZipFile, ZipFile

from openpyxl import Workbook, load_workbook
from openpyxl.cell.cell import Cell, MergedCell
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.styles.cell_style import StyleArray
from openpyxl.utils import get_column_letter, quote_sheetname, range_boundaries
from openpyxl.workbook.properties import CalcProperties
from openpyxl.worksheet.header_footer import HeaderFooter, HeaderFooterItem
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.properties import PageSetupProperties, WorksheetProperties
from openpyxl.worksheet.worksheet import Worksheet

from reportgen.language import in_every_language, marked, say
from reportgen.model.problem import Problem, Severity, WorkbookError, areas_of, shortened
from reportgen.workbook.files.archive import opened
from reportgen.workbook.raw import RefusedError
from reportgen.workbook.written import A4, WRITTEN_AT, stable_bytes

LONGEST_TEXT: Final = 32_767  # characters in a cell; Microsoft, Excel specifications and limits
NO_XML: Final = re.compile(
    "[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
)  # XML 1.0, 2.2: Char
LIKE_A_FORMULA: Final = tuple("=+-@")
SAVED_PICTURES: Final = {
    "bmp",
    "gif",
    "jpeg",
    "png",
    "tiff",
}  # openpyxl stops at a picture that it cannot save

AUTHOR: Final = "reportgen check"
DIVIDER: Final = "— reportgen check —"  # between a comment that was there and ours
LETTERS_A_LINE, LINE_PIXELS, COMMENT_PIXELS, TALLEST_PIXELS = 48, 18, 340, 480

TITLE: Final = marked("Problems found by reportgen check")
LIST_NAME: Final = "Problems"
NOTE: Final = marked(
    "This copy is for looking: mend the workbook that it was made from, and check"
    " that again. An error stops the report, a caution stands in it, a remark is for"
    " you only; what is still to come is no mistake, and its cells are not marked."
    " Formulas in this copy have no values until a spreadsheet program computes them:"
    " open and save it before you build from it."
)
NOTHING: Final = marked("No problems found.")
HEADS: Final = {
    marked("Severity"): 11,
    marked("Sheet"): 16,
    marked("Cell"): 12,
    marked("Found"): 44,
    marked("Expected"): 34,
    marked("What to do"): 46,
}
LINE_HEIGHT: Final = 15.0  # points, a line of 11 point type

INK, DARK, RULE, LINK = "1C221E", "1F5B48", "9AA59E", "0B4A8F"
# Apart in lightness, so that they stay apart in grey and for the colour-blind; ink is read on each.
FILLS: Final = {
    Severity.ERROR: PatternFill("solid", fgColor="EE9A8C"),
    Severity.CAUTION: PatternFill("solid", fgColor="F2CC72"),
    Severity.REMARK: PatternFill("solid", fgColor="EEF4FB"),
}
RANKS: Final = {severity: rank for rank, severity in enumerate(Severity)}
RULED: Final = Border(*(Side(style="thin", color=RULE),) * 4)
WRAPPED: Final = Alignment(vertical="top", wrap_text=True)

# What openpyxl leaves out when it saves, or writes again only in part: name, parts of the archive,
# what stands there.
NOT_KEPT: Final = (
    (marked("charts"), r"xl/charts/chart\w*\.xml", rb""),
    (
        marked("shapes and text boxes"),
        r"xl/drawings/drawing\d+\.xml",
        rb"<(\w+:)?(sp|cxnSp|grpSp)[ >]",
    ),
    (marked("diagrams"), r"xl/diagrams/", rb""),
    (marked("EMF and WMF pictures"), r"xl/media/.*\.[ew]mf", rb""),
    (
        marked("pictures in headers and footers"),
        r"xl/worksheets/sheet\d+\.xml",
        rb"<legacyDrawingHF ",
    ),
    (marked("pivot tables"), r"xl/pivotTables/", rb""),
    (marked("slicers and timelines"), r"xl/(slicers|timelines)/", rb""),
    (marked("form controls"), r"xl/(ctrlProps|activeX)/", rb""),
    (marked("embedded files"), r"xl/embeddings/", rb""),
    (marked("threads of comments"), r"xl/threadedComments/", rb""),
    (marked("sparklines"), r"xl/worksheets/sheet\d+\.xml", rb"<x14:sparklineGroup "),
    (marked("some dropdowns"), r"xl/worksheets/sheet\d+\.xml", rb"<x14:dataValidation "),
    (
        marked("some conditional formats"),
        r"xl/worksheets/sheet\d+\.xml",
        rb"<x14:conditionalFormatting ",
    ),
    (marked("formulas that spill"), r"xl/metadata\.xml", rb"XLDAPR"),
    (marked("signatures"), r"_xmlsignatures/", rb""),
)

Place = tuple[int, int]


@dataclass(frozen=True)
class _Spot:
    """The cells of a sheet that a problem is about, rows and columns counted from 1."""

    sheet: Worksheet
    left: int
    top: int
    right: int
    bottom: int
    others: tuple["_Spot", ...] = ()  # where a problem is about several cells that are apart

    @property
    def reference(self) -> str:
        """Return the cells in A1 notation."""
        first, last = (
            f"{get_column_letter(c)}{r}"
            for c, r in ((self.left, self.top), (self.right, self.bottom))
        )
        if first == last:
            return first
        return f"{first}:{last}"

    @property
    def first(self) -> Place:
        """Return row and column of the cell that takes the comment: a merged cell's is its top
        left.
        """
        for merged in self.sheet.merged_cells.ranges:
            if (
                merged.min_row <= self.top <= merged.max_row
                and merged.min_col <= self.left <= merged.max_col
            ):
                return merged.min_row, merged.min_col
        return self.top, self.left


Found = Sequence[tuple[Problem, _Spot | None]]


def marked_copy(content: bytes, suffix: str, problems: Sequence[Problem]) -> bytes:
    """Return a copy of a workbook with its problems marked and listed, in reproducible bytes.

    content: the workbook's bytes; suffix: its file name's ending, `.xlsm` where macros are to be
    kept. Raises WorkbookError where the workbook cannot be read or written again, or is a marked
    copy itself.
    """
    try:
        opened(content).count_all()
    except RefusedError as refused:
        raise WorkbookError((refused.problem(say("the workbook")),)) from refused
    except BadZipFile as error:
        raise WorkbookError((_not_copied(),)) from error
    if is_marked(content):
        raise WorkbookError((_already_marked(),))
    try:
        return _marked(content, suffix.casefold() == ".xlsm", problems)
    except (
        Exception
    ) as error:  # on a file that it does not know openpyxl raises errors of many kinds
        raise WorkbookError((_not_copied(),)) from error


def is_marked(content: bytes) -> bool:
    """Return whether a file is a marked copy: its first sheet is the list of problems."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = load_workbook(io.BytesIO(content), read_only=True)
        return bool(book.worksheets[0]["A1"].value in in_every_language(TITLE))
    except Exception:  # no workbook at all
        return False


def not_kept(content: bytes) -> str:
    """Return what a workbook holds that its copy has not, or only in part, as one line; empty where
    there is none.
    """
    with ZipFile(io.BytesIO(content)) as archive:
        lost = [
            say(name) for name, parts, mark in NOT_KEPT if any(_parts_with(archive, parts, mark))
        ]
    if lost:
        return say("Not in the marked copy, or only in part: {listed}.", listed=", ".join(lost))
    return ""


def _parts_with(archive: ZipFile, parts: str, mark: bytes) -> Iterator[bool]:
    for name in archive.namelist():
        if re.match(parts, name):
            yield not mark or re.search(mark, archive.read(name)) is not None


def _already_marked() -> Problem:
    expected = say("the workbook that it was made from")
    advice = say(
        'Mark that one. If you went on working in the copy, delete its sheet "{list_name}" first.',
        list_name=LIST_NAME,
    )
    return Problem(
        Severity.ERROR,
        "",
        "",
        say("the workbook is a marked copy itself"),
        expected,
        advice,
        code="marked_copy",
    )


def _not_copied() -> Problem:
    advice = say("Open it in your spreadsheet program and save it as .xlsx.")
    return Problem(
        Severity.ERROR,
        "",
        "",
        say("the workbook cannot be written again with its marks"),
        say("an Excel workbook"),
        advice,
        code="not_copied",
    )


def _marked(content: bytes, macros: bool, problems: Sequence[Problem]) -> bytes:
    book = _loaded(content, macros)
    found = [(problem, _spot(book, problem)) for problem in problems]
    wrong = [one for one in found if one[0].severity is not Severity.TO_COME]
    to_come = [one for one in found if one[0].severity is Severity.TO_COME]
    _fill(wrong)
    _comment(wrong)
    _add_list(book, [*wrong, *to_come], not_kept(content))
    book.calculation = book.calculation or CalcProperties()
    book.calculation.fullCalcOnLoad = True  # openpyxl writes formulas without their values
    return stable_bytes(book)


def _loaded(content: bytes, macros: bool) -> Workbook:
    with warnings.catch_warnings(), ZipFile(io.BytesIO(content)) as archive:
        warnings.simplefilter("ignore")
        book = load_workbook(io.BytesIO(content), keep_vba=macros, rich_text=True)
        dated = "docProps/core.xml" in archive.namelist()
    if not dated:  # openpyxl would take the time of day
        book.properties.created = book.properties.modified = WRITTEN_AT
    for sheet in book.worksheets:
        pictures = sheet._images  # type: ignore[attr-defined]  # openpyxl names them in no other way
        pictures[:] = [picture for picture in pictures if picture.format in SAVED_PICTURES]
        if "commentsDrawing" in (
            sheet.legacy_drawing or ""
        ):  # openpyxl's own name, which it gives again
            sheet.legacy_drawing = None
    return book


# ---- marks on the cells --------------------------------------------------------------------------


def _spot(book: Workbook, problem: Problem) -> _Spot | None:
    """Return the cells of a problem: A1 for a whole sheet, None for no sheet."""
    title, _, cell = problem.cell.rpartition("!")
    title = title.strip("'").replace("''", "'") or problem.sheet
    sheet = next((sheet for sheet in book.worksheets if sheet.title == title), None)
    if sheet is None:
        return None
    first, *others = (_Spot(sheet, *_bounds(sheet, area)) for area in areas_of(cell))
    return replace(first, others=tuple(others))


def _bounds(sheet: Worksheet, cell: str) -> tuple[int, int, int, int]:
    """Return left, top, right and bottom of a cell or range, a range as far as there is data."""
    try:
        left, top, right, bottom = range_boundaries(cell or "A1")
    except (TypeError, ValueError):
        return 1, 1, 1, 1
    left, top = left or 1, top or 1
    last_column, last_row = max(left, sheet.max_column), max(top, sheet.max_row)
    return left, top, min(right or last_column, last_column), min(bottom or last_row, last_row)


def _fill(found: Found) -> None:
    """Fill each problem's cells, those of the worst problems last."""
    painted: dict[tuple[Severity, StyleArray], StyleArray] = {}  # a long column has few styles
    for problem, spot in sorted(found, key=lambda one: RANKS[one[0].severity], reverse=True):
        for cell in _cells(spot) if spot else ():
            before = problem.severity, copy(cell._style)
            if before not in painted:
                _paint(cell, problem.severity)
                painted[before] = cell._style
            cell._style = copy(painted[before])


def _cells(spot: _Spot) -> Iterator[Any]:  # openpyxl's types do not know the style that cells share
    for row in range(spot.top, spot.bottom + 1):
        for column in range(spot.left, spot.right + 1):
            yield spot.sheet.cell(row, column)
    for other in spot.others:
        yield from _cells(other)


def _paint(cell: Cell | MergedCell, severity: Severity) -> None:
    cell.fill = FILLS[severity]
    font = cast(Font, copy(cell.font))
    font.color = INK  # white type of a dark header would not be seen on the fill
    cell.font = font


def _comment(found: Found) -> None:
    """Write one comment a cell, all that is to be said of it in one."""
    texts: dict[tuple[str, Place], list[str]] = defaultdict(list)
    sheets = {spot.sheet.title: spot.sheet for _, spot in found if spot}
    for problem, spot in found:
        if spot:
            texts[spot.sheet.title, spot.first].append(_said(problem, spot))
    for (title, place), said in texts.items():
        _append(sheets[title].cell(*place), "\n\n".join(said))


def _said(problem: Problem, spot: _Spot) -> str:
    if ":" in problem.cell:
        where = say(" in {cells}", cells=spot.reference)
    else:
        where = ""
    if spot.others:
        where = say(" in {cells}", cells=shortened(problem.cell))
    if not problem.cell:
        where = say(" about the whole sheet")
    severity = problem.severity.said().capitalize()
    return _clean(f"{severity}{where}: {problem.finding}")


def _append(cell: Cell | MergedCell, said: str) -> None:
    """Put a comment on a cell, beneath the one that is there; marks of an earlier copy make place."""
    old = cell.comment
    if old and old.author != AUTHOR:
        kept = old.text.partition(DIVIDER)[0].rstrip()
    else:
        kept = ""
    text = _clean(f"{kept}\n\n{DIVIDER}\n{said}" if kept else said)
    lines = sum(1 + len(line) // LETTERS_A_LINE for line in text.split("\n"))
    height = min(TALLEST_PIXELS, LINE_PIXELS * (lines + 1))
    cell.comment = Comment(text, old.author if old and kept else AUTHOR, height, COMMENT_PIXELS)


def _clean(text: str) -> str:
    """Return a text as a file of XML can hold it, and no longer than a cell takes."""
    bare = NO_XML.sub("\ufffd", text)
    if len(bare) <= LONGEST_TEXT:
        return bare
    return f"{bare[: LONGEST_TEXT - 1]}…"


# ---- the list ------------------------------------------------------------------------------------


def _add_list(book: Workbook, found: Found, lost: str) -> None:
    """Put the list of problems in front, and show it first."""
    page = book.create_sheet(_free_name(book), 0)
    for letter, width in zip("ABCDEF", HEADS.values(), strict=True):
        page.column_dimensions[letter].width = width
    head = _add_notes(page, [say(TITLE), say(NOTE), *([lost] if lost else [])])
    for column, title in enumerate(HEADS, 1):
        cell = page.cell(head, column, say(title))
        cell.font, cell.fill, cell.border = (
            Font(bold=True, color="FFFFFF"),
            PatternFill("solid", fgColor=DARK),
            RULED,
        )
    for row, (problem, spot) in enumerate(found, head + 1):
        _add_row(page, row, problem, spot)
    if not found:
        page.cell(head + 1, 1, say(NOTHING))
    page.freeze_panes = f"A{head + 1}"
    page.auto_filter.ref = f"A{head}:F{head + max(1, len(found))}"
    _prepare_for_print(page, head)
    _show_first(book)


def _free_name(book: Workbook) -> str:
    taken = {name.casefold() for name in book.sheetnames}
    names = (LIST_NAME, *(f"{LIST_NAME} {number}" for number in range(2, len(taken) + 3)))
    return next(name for name in names if name.casefold() not in taken)


def _add_notes(page: Worksheet, notes: Sequence[str]) -> int:
    """Write the lines above the list, each as wide as it; return the row below them."""
    width = sum(HEADS.values())
    for row, note in enumerate(notes, 1):
        page.merge_cells(start_row=row, end_row=row, start_column=1, end_column=len(HEADS))
        cell = page.cell(row, 1, note)
        cell.font, cell.alignment = (
            Font(bold=row == 1, size=14 if row == 1 else 11, color=INK),
            WRAPPED,
        )
        page.row_dimensions[row].height = 22 if row == 1 else _height(((note, width),))
    return len(notes) + 1


def _add_row(page: Worksheet, row: int, problem: Problem, spot: _Spot | None) -> None:
    place = problem.cell
    if spot is not None and not place:
        place = say("whole sheet")
    texts = (
        problem.severity.said().capitalize(),
        problem.sheet,
        place,
        problem.found,
        problem.expected,
        problem.advice,
    )
    for column, text in enumerate(texts, 1):
        _put(page.cell(row, column), text)
    if problem.severity in FILLS:
        page.cell(row, 1).fill = FILLS[problem.severity]
    page.row_dimensions[row].height = _height(zip(texts, HEADS.values(), strict=True))
    if spot:
        link = page.cell(row, 3)
        location = f"{quote_sheetname(spot.sheet.title)}!{spot.reference}"
        link.hyperlink = Hyperlink(ref=link.coordinate, location=location)
        link.font = Font(color=LINK, underline="single")


def _put(cell: Cell | MergedCell, text: str) -> None:
    """Write a text that stays text, even where it begins like a formula and is typed again."""
    cell.value = _clean(text)
    cell.data_type = "s"
    cell.alignment, cell.border, cell.font = WRAPPED, RULED, Font(color=INK)
    if text.startswith(LIKE_A_FORMULA):
        cell.quotePrefix = True


def _height(texts: "Iterator[tuple[str, int]] | Sequence[tuple[str, int]]") -> float:
    """Return the height of wrapped texts, as not every spreadsheet program finds it itself."""
    lines = (
        sum(len(textwrap.wrap(line, width - 2)) or 1 for line in text.split("\n"))
        for text, width in texts
    )
    return min(
        409.0, LINE_HEIGHT * max(lines) + 3
    )  # 409 points: the tallest row; Excel specifications and limits


def _show_first(book: Workbook) -> None:
    """Select the list alone: sheets selected together would be changed together."""
    book.active = 0
    for number, sheet in enumerate(book.worksheets):
        for view in sheet.views.sheetView:
            view.tabSelected = number == 0
    for view in book.views:
        view.firstSheet = 0


def _prepare_for_print(page: Worksheet, head: int) -> None:
    """Print on A4 across, as wide as the page, the header on every page."""
    page.page_setup.orientation, page.page_setup.paperSize = "landscape", A4
    page.page_setup.fitToWidth, page.page_setup.fitToHeight = 1, 0
    page.sheet_properties = WorksheetProperties(
        pageSetUpPr=PageSetupProperties(fitToPage=True), tabColor=DARK
    )
    page.print_title_rows = f"{head}:{head}"
    page.page_margins.left = page.page_margins.right = 0.5
    foot = HeaderFooterItem()
    foot.left.text, foot.right.text = "&F", say("Page {page} of {pages}", page="&P", pages="&N")
    page.HeaderFooter = HeaderFooter(oddFooter=foot)
