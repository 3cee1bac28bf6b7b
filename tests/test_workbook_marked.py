"""The marked copy: each problem in its cells and on the list, all else as it was."""

import io
import os
import re
import shutil
import subprocess
import sys
import zipfile
from datetime import date
from itertools import pairwise

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment
from openpyxl.drawing.image import Image
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import Font, PatternFill
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula
from PIL import Image as Picture

from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.workbook.blank import blank_workbook
from reportgen.workbook.marked import (
    FILLS,
    INK,
    LIST_NAME,
    NOTHING,
    TITLE,
    is_marked,
    marked_copy,
    not_kept,
)
from reportgen.workbook.plan import planned
from tests.workbooks import findings, good, put, write

SOFFICE = shutil.which("soffice")
ERROR, CAUTION, REMARK = Severity.ERROR, Severity.CAUTION, Severity.REMARK


def problem(
    severity=ERROR, sheet="Plants", cell="C3", found='"3O" is not a number', advice="Type 30."
):
    return Problem(severity, sheet, cell, found, "a number in g", advice, code="not_a_number")


def saved(book):
    book.save(file := io.BytesIO())
    return file.getvalue()


def a_book(*names):
    """Return a workbook of small sheets."""
    book = Workbook()
    book.remove(book.active)
    for name in names or ("Plants", "Trial"):
        sheet = book.create_sheet(name)
        for row in range(1, 6):
            sheet.append([f"{name} {row}", row, row * 1.5])
    return book


def marked(book, *problems, suffix=".xlsx"):
    return load_workbook(io.BytesIO(marked_copy(saved(book), suffix, problems)), rich_text=True)


def listed(book):
    """Return the rows of the list below its header, and the number of its header row."""
    page = book.worksheets[0]
    head = next(row[0].row for row in page.iter_rows(max_col=1) if row[0].value == "Severity")
    return [
        [cell.value for cell in row] for row in page.iter_rows(min_row=head + 1, max_col=6)
    ], head


def fill_of(cell):
    return cell.fill.fgColor.rgb[-6:] if cell.fill.patternType else None


def colour(severity):
    return FILLS[severity].fgColor.rgb[-6:]


def filled(sheet):
    return {cell.coordinate for row in sheet.iter_rows() for cell in row if fill_of(cell)}


# ---- the marks -----------------------------------------------------------------------------------


@pytest.mark.parametrize("severity", list(FILLS))
def test_a_problem_is_a_fill_and_a_comment_that_begins_with_its_severity(severity):
    cell = marked(a_book(), problem(severity))["Plants"]["C3"]
    assert fill_of(cell) == colour(severity)
    said = '"3O" is not a number; expected a number in g. Type 30.'
    assert cell.comment.text == f"{severity.capitalize()}: {said}"


def luminance(colour):
    # WCAG 2.2, definition of relative luminance
    parts = [int(colour[-6:][at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_the_fills_differ_in_grey_and_ink_is_read_on_each():
    grey = [luminance(colour(severity)) for severity in FILLS]
    assert all(
        (low + 0.05) / (luminance(INK) + 0.05) >= 7 for low in grey
    )  # WCAG 2.2, 1.4.6 contrast (enhanced)
    lightness = [116 * part ** (1 / 3) - 16 for part in grey]  # CIE 1976 L*, for Y above 0.0089
    assert all(high - low > 10 for low, high in pairwise(lightness))


def test_white_type_of_a_dark_header_becomes_ink_and_stays_bold():
    book = a_book()
    book["Plants"]["A1"].fill = PatternFill("solid", fgColor="1F5B48")
    book["Plants"]["A1"].font = Font("Arial", 13, bold=True, color="FFFFFF")
    font = marked(book, problem(cell="A1"))["Plants"]["A1"].font
    assert (font.color.rgb[-6:], font.bold, font.name, font.size) == (INK, True, "Arial", 13)


def test_a_range_is_filled_as_far_as_there_is_data_and_its_first_cell_has_the_comment():
    sheet = marked(a_book(), problem(CAUTION, cell="C2:C1048576"))["Plants"]
    assert filled(sheet) == {"C2", "C3", "C4", "C5"}
    assert sheet["C2"].comment.text.startswith("Caution in C2:C5: ")
    assert sheet["C3"].comment is None


def test_whole_rows_and_columns_are_marked():
    sheet = marked(a_book(), problem(cell="3:3"), problem(CAUTION, cell="B:B"))["Plants"]
    assert filled(sheet) == {"A3", "B3", "C3", "B1", "B2", "B4", "B5"}
    assert fill_of(sheet["B3"]) == colour(ERROR)


def test_a_cell_beyond_the_data_is_marked_all_the_same():
    assert filled(marked(a_book(), problem(cell="H20"))["Plants"]) == {"H20"}


def test_a_cell_named_with_its_sheet_is_found():
    book = marked(a_book("Plants", "Bob's log"), problem(sheet="", cell="'Bob''s log'!B2"))
    assert filled(book["Bob's log"]) == {"B2"}
    assert filled(book["Plants"]) == set()


def test_a_problem_of_a_whole_sheet_stands_on_its_first_cell():
    sheet = marked(a_book(), problem(CAUTION, cell="", found="hidden: row 3"))["Plants"]
    assert sheet["A1"].comment.text.startswith("Caution about the whole sheet: hidden: row 3; ")
    assert filled(sheet) == {"A1"}


@pytest.mark.parametrize("sheet", ["", "Trays"])
def test_a_problem_of_the_file_or_of_a_missing_sheet_stands_on_the_list_alone(sheet):
    book = marked(a_book(), problem(sheet=sheet, cell=""))
    assert all(filled(each) == set() for each in book.worksheets[1:])
    assert listed(book)[0] == [
        ["Error", sheet or None, None, '"3O" is not a number', "a number in g", "Type 30."]
    ]


def test_several_problems_of_one_cell_make_one_comment_and_the_worst_gives_the_fill():
    sheet = marked(
        a_book(),
        problem(REMARK, found="one"),
        problem(ERROR, found="two"),
        problem(CAUTION, found="three"),
    )
    text = sheet["Plants"]["C3"].comment.text
    assert [part.split(";")[0] for part in text.split("\n\n")] == [
        "Remark: one",
        "Error: two",
        "Caution: three",
    ]
    assert fill_of(sheet["Plants"]["C3"]) == colour(ERROR)


def test_a_comment_that_was_there_is_kept_and_ours_stands_beneath():
    book = a_book()
    book["Plants"]["C3"].comment = Comment("Weighed twice.", "Robin")
    book["Plants"]["B2"].comment = Comment("Seedling tray", "Robin")
    sheet = marked(book, problem())["Plants"]
    assert sheet["C3"].comment.text.startswith("Weighed twice.\n\n")
    assert "Error: " in sheet["C3"].comment.text
    assert (sheet["B2"].comment.text, sheet["B2"].comment.author) == ("Seedling tray", "Robin")
    assert sheet["C3"].comment.author == "Robin"


def test_a_merged_cell_takes_the_comment_at_its_top_left():
    book = a_book()
    book["Plants"].merge_cells("B2:C4")
    sheet = marked(book, problem(cell="C3"))["Plants"]
    assert sheet["B2"].comment.text.startswith("Error: ")
    assert [str(merged) for merged in sheet.merged_cells.ranges] == ["B2:C4"]


def test_texts_that_no_file_holds_are_made_fit():
    odd = (
        "\x00\x0b\ud800\uffff" + "z" * 40_000
    )  # outside XML 1.0, 2.2 (Char), and longer than a cell of Excel
    book = marked(a_book(), problem(found=odd))
    for text in (book["Plants"]["C3"].comment.text, listed(book)[0][0][3]):
        assert "\ufffd" * 4 + "zzz" in text
        assert len(text) == 32_767
        assert text.endswith("…")


# ---- the list ------------------------------------------------------------------------------------


def test_the_list_stands_first_in_the_order_of_the_problems_and_is_the_only_sheet_selected():
    book = a_book()
    book.active = 1
    book["Trial"].sheet_view.tabSelected = True
    copy = marked(book, problem(), problem(CAUTION, "Trial", "B2", "two"))
    assert copy.sheetnames == [LIST_NAME, "Plants", "Trial"]
    assert copy.active.title == LIST_NAME
    assert [sheet.sheet_view.tabSelected for sheet in copy.worksheets] == [True, False, False]
    assert [(row[0], row[1], row[2]) for row in listed(copy)[0]] == [
        ("Error", "Plants", "C3"),
        ("Caution", "Trial", "B2"),
    ]


def test_the_list_is_filtered_frozen_and_printed_with_its_header_on_every_page():
    copy = marked(a_book(), problem(), problem(REMARK))
    page, head = copy.worksheets[0], listed(copy)[1]
    assert page.auto_filter.ref == f"A{head}:F{head + 2}"
    assert page.freeze_panes == f"A{head + 1}"
    assert page.print_title_rows == f"${head}:${head}"
    assert (
        page.page_setup.orientation,
        page.page_setup.fitToWidth,
        page.page_setup.fitToHeight,
    ) == ("landscape", 1, 0)
    assert page.sheet_properties.pageSetUpPr.fitToPage


@pytest.mark.parametrize("name", ["Plants", "Bob's log", "Week 1", "2026", "A1", "it's 'odd'"])
def test_a_place_is_a_link_within_the_file_with_the_name_of_the_sheet_quoted(name):
    copy = marked(a_book(name), problem(sheet=name, cell="C2:C4"))
    link = copy.worksheets[0].cell(listed(copy)[1] + 1, 3).hyperlink
    # ECMA-376 part 1, 18.17.2.3: a sheet name in single quotes, each one in it doubled
    assert link.location == "'" + name.replace("'", "''") + "'!C2:C4"
    assert link.target is None


@pytest.mark.parametrize("text", ["=1+1", "+1", "-5", "@SUM(A1)", '=HYPERLINK("x")', "#N/A"])
def test_text_of_the_workbook_stays_text_on_the_list(text):
    book = a_book(text.replace("/", "") if len(text) < 9 else "Plants")
    copy = marked(book, problem(sheet=book.sheetnames[0], cell="A1", found=text, advice=text))
    for cell in copy.worksheets[0][listed(copy)[1] + 1]:
        assert cell.data_type == "s" or cell.value is None
    assert copy.worksheets[0].cell(listed(copy)[1] + 1, 4).value == text
    assert copy.worksheets[0].cell(listed(copy)[1] + 1, 4).quotePrefix == (text[0] in "=+-@")


def test_the_list_finds_a_name_that_is_free():
    copy = marked(a_book("problems", "PROBLEMS 2"), problem(sheet="problems"))
    assert copy.sheetnames == ["Problems 3", "problems", "PROBLEMS 2"]


def test_a_workbook_without_problems_gets_a_list_that_says_so():
    copy = marked(a_book())
    assert listed(copy)[0] == [[NOTHING, None, None, None, None, None]]
    assert all(filled(sheet) == set() for sheet in copy.worksheets[1:])


def test_the_list_tells_that_the_copy_is_for_looking_and_has_to_be_saved_before_a_build():
    texts = " ".join(
        str(cell.value) for row in marked(a_book()).worksheets[0]["A1:A3"] for cell in row
    )
    assert "mend the workbook that it was made from" in texts
    assert "open and save it before you build from it" in texts


# ---- what is kept --------------------------------------------------------------------------------


def full_book():
    """Return a workbook with a little of everything that openpyxl keeps."""
    book = a_book("Plants", "Trial", "Notes")
    plants = book["Plants"]
    plants["D2"] = "=SUM(B2:C2)"
    plants["E2"] = ArrayFormula("E2:E4", "=B2:B4*C2:C4")
    plants["F2"], plants["F2"].number_format = date(2026, 4, 1), "dd.mm.yyyy"
    plants["G2"] = CellRichText("dry ", TextBlock(InlineFont(b=True), "bold"))
    plants["B4"].font, plants["B4"].fill = (
        Font(italic=True),
        PatternFill("lightUp", fgColor="00FF00"),
    )
    plants.column_dimensions["B"].width, plants.row_dimensions[4].hidden = 31.5, True
    plants.conditional_formatting.add(
        "C2:C5", CellIsRule(operator="greaterThan", formula=["4"], font=Font(bold=True))
    )
    plants.add_data_validation(rule := DataValidation(type="list", formula1='"half,full"'))
    rule.add("A2:A5")
    plants.freeze_panes, plants.auto_filter.ref, plants.print_title_rows = "B2", "A1:C5", "1:1"
    Picture.new("RGB", (4, 4), "green").save(picture := io.BytesIO(), "PNG")
    plants.add_image(Image(picture), "H2")
    book.defined_names["Half"] = DefinedName("Half", attr_text="Plants!$A$2:$A$5")
    book["Notes"].sheet_state, book["Trial"].protection.sheet = "hidden", True
    return book


def test_formulas_formats_and_settings_are_kept():
    copy = marked(full_book(), problem(), problem(CAUTION, cell="D2:F2"))
    plants = copy["Plants"]
    assert plants["D2"].value == "=SUM(B2:C2)"
    assert (plants["E2"].value.ref, plants["E2"].value.text) == ("E2:E4", "=B2:B4*C2:C4")
    assert (plants["F2"].number_format, plants["F2"].value.date()) == (
        "dd.mm.yyyy",
        date(2026, 4, 1),
    )
    assert [str(part) for part in plants["G2"].value] == ["dry ", "bold"]
    assert plants["G2"].value[1].font.b
    assert (plants["B4"].font.italic, plants["B4"].fill.patternType) == (True, "lightUp")
    assert (plants.column_dimensions["B"].width, plants.row_dimensions[4].hidden) == (31.5, True)
    assert [str(each.sqref) for each in plants.conditional_formatting] == ["C2:C5"]
    assert [
        (str(each.sqref), each.formula1) for each in plants.data_validations.dataValidation
    ] == [("A2:A5", '"half,full"')]
    assert (plants.freeze_panes, plants.auto_filter.ref, plants.print_title_rows) == (
        "B2",
        "A1:C5",
        "$1:$1",
    )
    assert len(plants._images) == 1
    assert copy.defined_names["Half"].attr_text == "Plants!$A$2:$A$5"
    assert (copy["Notes"].sheet_state, copy["Trial"].protection.sheet) == ("hidden", True)


def test_every_value_is_kept(tmp_path):
    path = write(put(good(), Plants_C7="12O", Trays_B4="hlf"), tmp_path / "log.xlsx")
    problems = findings(path)
    copy = load_workbook(io.BytesIO(marked_copy(path.read_bytes(), ".xlsx", problems)))
    source = load_workbook(path)
    for sheet in source.worksheets:
        assert list(copy[sheet.title].iter_rows(values_only=True)) == list(
            sheet.iter_rows(values_only=True)
        )
    assert len(problems) == len(listed(copy)[0]) > 0


def test_spreadsheet_programs_compute_the_formulas_when_they_open_the_copy():
    assert marked(full_book()).calculation.fullCalcOnLoad
    bare = rezipped(
        saved(full_book()),
        edit={"xl/workbook.xml": lambda text: re.sub(rb"<calcPr[^>]*/>", b"", text)},
    )
    copy = load_workbook(io.BytesIO(marked_copy(bare, ".xlsx", ())))
    assert copy.calculation.fullCalcOnLoad


def rezipped(content, add=None, edit=None):
    """Return a workbook's bytes with parts added, and parts edited."""
    with (
        zipfile.ZipFile(io.BytesIO(content)) as source,
        zipfile.ZipFile(file := io.BytesIO(), "w") as target,
    ):
        for name in source.namelist():
            target.writestr(name, (edit or {}).get(name, bytes)(source.read(name)))
        for name, text in (add or {}).items():
            target.writestr(name, text)
    return file.getvalue()


def with_macros(content):
    """Return a workbook with a part of macros and its content type, as ECMA-376 part 2 joins them."""
    override = (
        (
            b'<Override PartName="/xl/vbaProject.bin"'
            b' ContentType="application/vnd.ms-office.vbaProject"/></Types>'
        ),
        b"application/vnd.ms-excel.sheet.macroEnabled.main+xml",
    )
    plain = b"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
    edit = {
        "[Content_Types].xml": (
            lambda text: text.replace(b"</Types>", override[0]).replace(plain, override[1])
        )
    }
    return rezipped(content, {"xl/vbaProject.bin": b"macros"}, edit)


def parts(content):
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        names = archive.namelist()
        return names, {name: archive.read(name) for name in names}


def test_macros_are_kept_in_an_xlsm_and_its_type_stays():
    book = a_book()
    book["Plants"]["B2"].comment = Comment("mine", "Robin")
    copy = marked_copy(with_macros(saved(book)), ".XLSM", [problem(), problem(sheet="Trial")])
    names, contents = parts(copy)
    assert contents["xl/vbaProject.bin"] == b"macros"
    assert b"macroEnabled" in contents["[Content_Types].xml"]
    assert len(names) == len(set(names))
    sheets = load_workbook(io.BytesIO(copy))
    assert [sheets[name]["C3"].comment.text[:5] for name in ("Plants", "Trial")] == [
        "Error",
        "Error",
    ]
    assert sheets["Plants"]["B2"].comment.text == "mine"


@pytest.mark.parametrize(
    ("part", "text", "said"),
    [
        (
            "xl/drawings/drawing7.xml",
            "<xdr:wsDr><xdr:sp macro=''/></xdr:wsDr>",
            "shapes and text boxes",
        ),
        ("xl/pivotTables/pivotTable1.xml", "<pivotTableDefinition/>", "pivot tables"),
        ("xl/ctrlProps/ctrlProp1.xml", "<formControlPr/>", "form controls"),
        ("xl/slicers/slicer1.xml", "<slicers/>", "slicers and timelines"),
        ("xl/threadedComments/threadedComment1.xml", "<ThreadedComments/>", "threads of comments"),
        ("xl/worksheets/sheet9.xml", "<x14:sparklineGroup type='line'>", "sparklines"),
        ("xl/media/image1.emf", "", "EMF and WMF pictures"),
    ],
)
def test_what_a_copy_cannot_keep_is_found_in_the_file_and_told_on_the_list(part, text, said):
    content = rezipped(saved(a_book()), {part: text})
    line = f"Not in the marked copy, or only in part: {said}."
    assert not_kept(content) == line
    page = load_workbook(io.BytesIO(marked_copy(content, ".xlsx", ()))).worksheets[0]
    assert page["A3"].value == line


def test_a_chart_is_told_and_a_workbook_of_cells_and_pictures_loses_nothing():
    assert not_kept(saved(full_book())) == ""
    book = a_book()
    book["Plants"].add_chart(chart := BarChart(), "E2")
    chart.add_data(Reference(book["Plants"], 2, 1, 2, 5))
    assert not_kept(saved(book)) == "Not in the marked copy, or only in part: charts."
    assert len(marked(book)["Plants"]._charts) == 1


# ---- the same again, and what is refused ---------------------------------------------------------


def test_the_copy_has_the_same_bytes_in_another_process_whatever_its_hash_seed(tmp_path):
    book = full_book()
    book["Trial"]["B2"].comment = Comment("mine", "Robin")
    source = with_macros(saved(book))
    (tmp_path / "log.xlsm").write_bytes(source)
    program = (
        "import sys; from reportgen.workbook.marked import marked_copy; from"
        " reportgen.model.problem import *;from pathlib import Path; log = Path(sys.argv[1]);said ="
        " [Problem(Severity.ERROR, name, 'C3', 'f', 'e', 'a', code='c') for name in ('Plants',"
        " 'Trial')];log.with_name(sys.argv[2]).write_bytes(marked_copy(log.read_bytes(), '.xlsm',"
        " said))"
    )
    for seed in "123":
        words = [sys.executable, "-c", program, str(tmp_path / "log.xlsm"), seed]
        subprocess.run(words, check=True, env={**os.environ, "PYTHONHASHSEED": seed})
    copies = {(tmp_path / seed).read_bytes() for seed in "123"}
    assert len(copies) == 1


def test_a_copy_of_a_file_without_a_date_tells_no_time_of_day():
    undated = rezipped(saved(a_book()))
    with (
        zipfile.ZipFile(io.BytesIO(undated)) as source,
        zipfile.ZipFile(file := io.BytesIO(), "w") as target,
    ):
        for name in source.namelist():
            if name != "docProps/core.xml":
                target.writestr(name, source.read(name))
    properties = load_workbook(io.BytesIO(marked_copy(file.getvalue(), ".xlsx", ()))).properties
    assert properties.created == properties.modified
    assert properties.created.year == 1980


def test_a_marked_copy_is_known_and_not_marked_again():
    source = saved(a_book())
    copy = marked_copy(source, ".xlsx", [problem()])
    assert [is_marked(content) for content in (copy, source, b"", b"PK\x03\x04")] == [
        True,
        False,
        False,
        False,
    ]
    with pytest.raises(WorkbookError, match=f'marked copy itself.*delete its sheet "{LIST_NAME}"'):
        marked_copy(copy, ".xlsx", [problem()])


@pytest.mark.parametrize("suffix", [".xlsx", ".xlsm"])
def test_a_copy_that_was_worked_on_without_its_list_is_marked_anew_and_comments_are_not_doubled(
    suffix,
):
    book = a_book()
    book["Plants"]["C4"].comment = Comment("Weighed twice.", "Robin")
    said = [problem(), problem(cell="C4")]
    again = load_workbook(
        io.BytesIO(marked_copy(saved(book), suffix, said)), keep_vba=suffix == ".xlsm"
    )
    first = [again["Plants"][cell].comment.text for cell in ("C3", "C4")]
    del again[LIST_NAME]
    twice = marked(again, *said, suffix=suffix)
    assert [twice["Plants"][cell].comment.text for cell in ("C3", "C4")] == first
    assert twice.sheetnames == [LIST_NAME, "Plants", "Trial"]


@pytest.mark.parametrize("content", [b"", b"Tray,Plant\n", b"PK\x03\x04 broken"])
def test_a_file_that_is_no_workbook_is_refused_with_one_message(content):
    with pytest.raises(
        WorkbookError, match=r"cannot be written again with its marks.*save it as .xlsx"
    ):
        marked_copy(content, ".xlsx", [problem()])


def test_what_is_still_to_come_is_listed_last_and_marks_no_cell(tmp_path):
    path = tmp_path / "blank.xlsx"
    path.write_bytes(blank_workbook(planned(("half", "full"), blocks=0, trays=2, plants=2, seed=1)))
    to_come = findings(path)
    wrong = problem(Severity.CAUTION, cell="A2")
    copy = load_workbook(io.BytesIO(marked_copy(path.read_bytes(), ".xlsx", (*to_come, wrong))))
    assert [row[0] for row in listed(copy)[0]] == ["Caution", "To come", "To come"]
    plants = load_workbook(path)["Plants"]
    assert not copy["Plants"]["C2"].comment
    assert fill_of(copy["Plants"]["C2"]) == fill_of(plants["C2"])
    assert copy["Plants"]["A2"].comment


# ---- another program reads it --------------------------------------------------------------------


@pytest.fixture(scope="module")
def in_libreoffice(tmp_path_factory):
    """Return a copy as LibreOffice reads and writes it again, and its PDF."""
    if not SOFFICE:
        pytest.skip("LibreOffice is not there")
    folder = tmp_path_factory.mktemp("office")
    book = full_book()
    book.create_sheet("Bob's log")["B2"] = 7
    said = [
        problem(),
        problem(CAUTION, "Bob's log", "B2", "=1+1"),
        problem(REMARK, "", "", "the file"),
    ]
    (folder / "log.xlsx").write_bytes(marked_copy(saved(book), ".xlsx", said))
    for kind in ("pdf", "xlsx"):
        words = [
            SOFFICE,
            f"-env:UserInstallation={folder.as_uri()}/profile",
            "--headless",
            "--convert-to",
            kind,
        ]
        subprocess.run(
            [*words, "--outdir", folder / "out", folder / "log.xlsx"],
            check=True,
            capture_output=True,
        )
    return (
        load_workbook(folder / "out/log.xlsx"),
        load_workbook(folder / "out/log.xlsx", data_only=True),
        folder / "out",
    )


def test_libreoffice_finds_the_comments_the_links_and_no_formula_on_the_list(in_libreoffice):
    book, _, _ = in_libreoffice
    assert book["Plants"]["C3"].comment.text.startswith('Error: "3O" is not a number')
    rows, head = listed(book)
    assert [row[0] for row in rows[:3]] == ["Error", "Caution", "Remark"]
    page = book.worksheets[0]
    assert (page.cell(head + 2, 4).value, page.cell(head + 2, 4).data_type) == ("=1+1", "s")
    links = [page.cell(head + row, 3).hyperlink for row in (1, 2)]
    assert [link.location.replace("$", "") for link in links] in (
        ["Plants!C3", "'Bob''s log'!B2"],
        ["'Plants'!C3", "'Bob''s log'!B2"],
    )
    assert page.auto_filter.ref == f"A{head}:F{head + 3}"


def test_libreoffice_computes_the_formulas_anew(in_libreoffice):
    _, computed, _ = in_libreoffice
    assert computed["Plants"]["D2"].value == 2 + 3.0  # B2 + C2
    assert [computed["Plants"][f"E{row}"].value for row in (2, 3, 4)] == [6.0, 13.5, 24.0]


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="pdftotext is not there")
def test_the_printed_list_holds_every_problem_on_one_page_across(in_libreoffice):
    _, _, folder = in_libreoffice
    words = ["pdftotext", "-layout", "-l", "1", str(folder / "log.pdf"), "-"]
    page = subprocess.run(words, check=True, capture_output=True, text=True).stdout
    for text in (TITLE, "What to do", "Bob's log", "=1+1", "the file", "Type 30."):
        assert text in page
