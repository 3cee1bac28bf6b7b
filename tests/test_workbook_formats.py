"""Every kind of workbook is read alike, whatever program wrote it: .xlsx, .xlsm, .xls and .ods,
short or long.
"""

import re
import shutil
import subprocess
from datetime import datetime, time, timedelta

import odf.opendocument
import odf.style
import odf.table
import odf.text
import pytest
import xlsxwriter
import xlwt
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.worksheet.formula import ArrayFormula

from reportgen.model.problem import Severity, WorkbookError
from reportgen.workbook.cells import read
from reportgen.workbook.files import office_open
from tests.archives import FIRST_SHEET, MAIN, changed, one_cell, parts_of, sheet_xml
from tests.workbooks import good, trial, write

MIDNIGHT, MORNING = datetime(2026, 4, 1), datetime(2026, 4, 1, 9, 30)
VALUES = (
    MIDNIGHT,
    MORNING,
    time(9, 30),
    timedelta(hours=30, minutes=5),
    3,
    3.25,
    -5,
    " y  z ",
    "a\nb",
    True,
    False,
)


def one_sheet(path, rows, finish=None):
    """Write rows to a workbook of one sheet."""
    return write(
        {"Climate": rows}, path, lambda book: finish(book["Climate"], book) if finish else None
    )


def first(path):
    """Return the first sheet of a workbook file."""
    return read(path).sheets[0]


def column_a(path):
    """Return the values of the first column of the first sheet."""
    return [row[0] for row in first(path).rows]


@pytest.fixture
def all_long(monkeypatch):
    """Read every sheet as if it were long."""
    monkeypatch.setattr(office_open, "CELL_BY_CELL", 0)


# --- .xlsx of other programs


def test_values_of_every_type_are_read_as_they_were_written(tmp_path):
    assert column_a(one_sheet(tmp_path / "a.xlsx", [[value] for value in VALUES])) == list(VALUES)


def test_a_long_sheet_gives_the_same_values_as_a_short_one(tmp_path, all_long):
    path = one_sheet(
        tmp_path / "a.xlsx", [[value, "beside"] for value in VALUES] + [[], [None, "after a gap"]]
    )
    sheet = first(path)
    assert [row[0] for row in sheet.rows] == [*VALUES, None, None]
    assert [type(row[0]) for row in sheet.rows[:2]] == [datetime, datetime]
    assert sheet.rows[-1][1] == "after a gap"
    assert {len(row) for row in sheet.rows} == {2}


@pytest.mark.parametrize("length", [0, 10**9])
def test_a_workbook_that_counts_days_from_1904_gives_the_right_dates(tmp_path, monkeypatch, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    path = one_sheet(
        tmp_path / "a.xlsx",
        [[MIDNIGHT], [MORNING]],
        lambda _, book: setattr(book, "epoch", CALENDAR_MAC_1904),
    )
    assert b"date1904" in parts_of(path)["xl/workbook.xml"]
    assert column_a(path) == [MIDNIGHT, MORNING]


def text_inline(xml):
    return xml.replace('t="s"', 't="inlineStr"').replace("<v>0</v>", "<is><t>Treat</t></is>", 1)


def without_addresses(xml):
    return re.sub(r'(<(?:c|row)) r="\w+"', r"\1", xml)


def without_dimension(xml):
    return re.sub(r"<dimension[^>]*/>", "", xml)


def with_prefix(xml):
    named = re.sub(r"<(/?)(\w)", r"<\1x:\2", xml)
    return named.replace("xmlns=", "xmlns:x=")


def in_single_quotes(xml):
    return xml.replace('"', "'")


def with_many_blank_rows(xml):
    blank = "".join(
        f'<row r="{row}" s="1" customFormat="1"><c r="A{row}" s="0"/></row>'
        for row in range(9, 1009)
    )
    return xml.replace("</sheetData>", f"{blank}</sheetData>")


def with_extras(xml):
    extras = (
        '<autoFilter ref="A1:B1"/><conditionalFormatting sqref="nonsense"><cfRule'
        ' type="odd"/></conditionalFormatting><hyperlinks><hyperlink ref="A1:XFD1048576"'
        ' location="x"/></hyperlinks><drawing id="lost"/><tableParts count="1"><tablePart'
        ' id="lost"/></tableParts><extLst><ext/></extLst>'
    )
    return xml.replace("</worksheet>", f"{extras}</worksheet>")


WRITTEN = [["Treatment", "Read at", "CO2"], ["half", MORNING, 400], ["full", MIDNIGHT, 410.5]]


@pytest.mark.parametrize(
    "otherwise",
    [
        without_addresses,
        without_dimension,
        with_prefix,
        in_single_quotes,
        with_many_blank_rows,
        with_extras,
    ],
)
@pytest.mark.parametrize("length", [0, 10**9])
def test_a_sheet_that_is_written_otherwise_is_read_alike(tmp_path, monkeypatch, otherwise, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    path = changed(one_sheet(tmp_path / "a.xlsx", WRITTEN), {FIRST_SHEET: otherwise})
    assert [list(row) for row in first(path).rows[:3]] == WRITTEN
    assert all(value is None for row in first(path).rows[3:] for value in row)


@pytest.mark.parametrize("length", [0, 10**9])
def test_texts_in_runs_with_reading_aids_and_in_the_cell_itself_are_read(
    tmp_path, monkeypatch, length
):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    runs = (
        f'<sst xmlns="{MAIN}"><si><r><rPr><b/></rPr><t>Treat</t></r><r><t xml:space="preserve">ment'
        " </t></r></si></sst>"
    )
    rows = (
        '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>half &amp;'
        ' half</t></is></c><c r="C1" t="str"><v>shown</v></c><c r="D1"><v>1E2</v></c></row>'
    )
    path = changed(
        one_cell(tmp_path / "a.xlsx"), {FIRST_SHEET: sheet_xml(rows), "xl/sharedStrings.xml": runs}
    )
    assert list(first(path).rows[0]) == ["Treatment ", "half & half", "shown", 100]


def test_a_workbook_of_the_fewest_parts_is_read(tmp_path):
    # ISO/IEC 29500-1, 12.2: only the workbook part and its sheets are required.
    name = "Grower&#39;s &quot;own&quot; &amp; more"
    path = changed(
        one_sheet(tmp_path / "a.xlsx", [[1.5]]),
        {
            "docProps/core.xml": None,
            "docProps/app.xml": None,
            "xl/theme/theme1.xml": None,
            "xl/styles.xml": None,
            "_rels/.rels": lambda xml: xml.replace('Target="/xl', 'Target="xl'),
            "xl/workbook.xml": lambda xml: xml.replace('"Climate"', f'"{name}"'),
        },
    )
    assert first(path).name == 'Grower\'s "own" & more'
    assert first(path).rows == ((1.5,),)


def test_a_sheet_is_read_under_a_name_that_spreadsheet_programs_forbid(tmp_path):
    # Microsoft, Rename a worksheet: no / \\ ? * : [ ] and at most 31 characters; not all programs
    # keep to that.
    name = "Climate [1/2]: by hand? *" * 2
    path = changed(
        one_cell(tmp_path / "a.xlsx"), {"xl/workbook.xml": lambda xml: xml.replace("Climate", name)}
    )
    assert [(sheet.name, sheet.rows) for sheet in read(path).sheets] == [(name, (("half",),))]


def test_two_sheets_of_one_name_are_refused(tmp_path):
    path = write({"A": [[1]], "B": [[2]]}, tmp_path / "a.xlsx")
    with pytest.raises(WorkbookError, match="cannot be read as a workbook"):
        read(changed(path, {"xl/workbook.xml": lambda xml: xml.replace('"B"', '"A"')}))


def test_a_font_that_the_library_refuses_changes_nothing(tmp_path):
    # openpyxl takes families 0 to 14, as ISO/IEC 29500-1, 18.8.18 says; some programs write 15.
    def formatted(sheet, _):
        sheet["A2"].number_format = "000"

    path = one_sheet(tmp_path / "a.xlsx", [[MORNING], [7]], formatted)
    changed(
        path,
        {"xl/styles.xml": lambda xml: xml.replace('<family val="2"/>', '<family val="15"/><odd/>')},
    )
    assert '<family val="15"/>' in parts_of(path)["xl/styles.xml"].decode()
    assert first(path).rows == ((MORNING,), (7,))
    assert first(path).formats[2, 1] == "000"


def test_the_strict_variant_is_read(tmp_path):
    # ISO/IEC 29500-1 Strict has namespaces of its own.
    path = one_sheet(tmp_path / "a.xlsx", WRITTEN)
    strict = {
        "http://schemas.openxmlformats.org/spreadsheetml/2006/main": (
            "http://purl.oclc.org/ooxml/spreadsheetml/main"
        ),
        "http://schemas.openxmlformats.org/officeDocument/2006/relationships": (
            "http://purl.oclc.org/ooxml/officeDocument/relationships"
        ),
    }

    def renamed(xml):
        for usual, other in strict.items():
            xml = xml.replace(usual, other)
        return xml

    changed(path, dict.fromkeys(parts_of(path), renamed))
    assert [list(row) for row in first(path).rows] == WRITTEN


def test_parts_in_utf_16_are_read(tmp_path):
    path = one_sheet(tmp_path / "a.xlsx", [["½ µ"]])
    rows = '<?xml version="1.0" encoding="UTF-16"?>' + sheet_xml(
        '<row r="1"><c r="A1" t="inlineStr"><is><t>½ µ</t></is></c></row>'
    )
    assert column_a(changed(path, {FIRST_SHEET: rows.encode("utf-16")})) == ["½ µ"]


def test_a_chart_sheet_is_left_out_and_order_is_kept(tmp_path):
    book = Workbook()
    book.active.title = "B"
    book.create_chartsheet("Chart", 0)
    book.create_sheet("A")
    book.save(tmp_path / "a.xlsx")
    assert [sheet.name for sheet in read(tmp_path / "a.xlsx").sheets] == ["B", "A"]


def test_the_folder_of_the_file_is_told_for_its_photographs(tmp_path):
    assert read(one_sheet(tmp_path / "a.xlsx", [[1]])).folder == tmp_path


# --- what is hidden, merged, formatted or not computed


def marked(sheet, _):
    sheet.merge_cells("A5:B6")
    sheet.merge_cells("C5:D6")
    sheet.row_dimensions[2].hidden = True
    sheet.row_dimensions[4].hidden = True
    sheet.column_dimensions["B"].hidden = True
    sheet.column_dimensions["C"].hidden = True
    sheet["A1"].number_format = "000"


MARKED = [[7, 1], [8, 2], [9, 3], [], ["merged"]]


@pytest.mark.parametrize("length", [0, 10**9])
def test_hidden_and_merged_cells_are_told_where_they_hold_values(tmp_path, monkeypatch, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    sheet = first(one_sheet(tmp_path / "a.xlsx", MARKED, marked))
    assert (sheet.hidden, sheet.merged) == (("row 2", "column B"), ("A5:B6",))
    assert dict(sheet.formats) == {(1, 1): "000"}
    assert sheet.formats.get((2, 1), "General") == "General"


@pytest.mark.parametrize("otherwise", [without_addresses, with_prefix, in_single_quotes])
def test_formats_and_hidden_rows_are_told_of_a_long_sheet_that_is_written_otherwise(
    tmp_path, all_long, otherwise
):
    sheet = first(changed(one_sheet(tmp_path / "a.xlsx", MARKED, marked), {FIRST_SHEET: otherwise}))
    assert dict(sheet.formats) == {(1, 1): "000"}
    assert sheet.merged == ("A5:B6",)
    assert "column B" in sheet.hidden


@pytest.mark.parametrize("length", [0, 10**9])
def test_a_value_that_merged_cells_cover_is_not_read(tmp_path, monkeypatch, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    merged = '<mergeCells><mergeCell ref="A1:B2"/></mergeCells>'
    rows = "".join(
        f'<row r="{n}"><c r="A{n}"><v>{n}</v></c><c r="B{n}"><v>5</v></c></row>' for n in (1, 2, 3)
    )
    path = changed(
        one_sheet(tmp_path / "a.xlsx", [[1]]), {FIRST_SHEET: sheet_xml(rows, after=merged)}
    )
    assert [list(row) for row in first(path).rows] == [[1, None], [None, None], [3, 5]]


@pytest.mark.parametrize("length", [0, 10**9])
def test_a_hidden_sheet_is_told(tmp_path, monkeypatch, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)

    def hide(book):
        book["B"].sheet_state = "veryHidden"

    assert read(write({"A": [[1]], "B": [[2]]}, tmp_path / "a.xlsx", hide)).sheets[1].hidden == (
        "the whole sheet",
    )


COMPUTED = (
    '<row r="1"><c r="A1"><f>1+1</f><v>2</v></c><c r="B1"><f>A1*2</f></c><c r="C1"'
    ' t="e"><f>1/0</f><v>#DIV/0!</v></c><c r="D1" t="str"><f>""</f><v></v></c></row><row r="2"><c'
    ' r="A2"><f t="shared" ref="A2:A3" si="0">B2</f></c></row><row r="3"><c r="A3"><f t="shared"'
    ' si="0"/></c><c r="B3" t="e"><v>#N/A</v></c></row>'
)


@pytest.mark.parametrize("length", [0, 10**9])
def test_formulas_without_a_value_and_errors_are_told(tmp_path, monkeypatch, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    sheet = first(
        changed(one_sheet(tmp_path / "a.xlsx", [[1]]), {FIRST_SHEET: sheet_xml(COMPUTED)})
    )
    assert list(sheet.rows[0]) == [2, None, "#DIV/0!", None]
    assert sheet.rows[2][1] == "#N/A"
    assert list(sheet.uncomputed) == [(1, 2), (2, 1), (3, 1)]
    assert [sheet.uncomputed[place] for place in ((1, 2), (2, 1))] == ["=A1*2", "=B2"]


def test_an_error_without_a_formula_is_told_in_a_long_sheet(tmp_path, all_long):
    rows = '<row r="1"><c r="A1" t="e"><v>#REF!</v></c></row>'
    assert column_a(
        changed(one_sheet(tmp_path / "a.xlsx", [[1]]), {FIRST_SHEET: sheet_xml(rows)})
    ) == ["#REF!"]


@pytest.mark.parametrize("length", [0, 10**9])
def test_a_formula_for_a_range_is_told_by_its_text(tmp_path, monkeypatch, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    path = one_sheet(tmp_path / "a.xlsx", [[ArrayFormula("A1:A1", "=SUM(B1:B9)")]])
    assert first(path).uncomputed == {(1, 1): "=SUM(B1:B9)"}


def test_rows_out_of_order_in_a_long_sheet_are_refused_and_not_lost(tmp_path, all_long):
    rows = '<row r="2"><c r="A2"><v>2</v></c></row><row r="1"><c r="A1"><v>1</v></c></row>'
    path = changed(one_sheet(tmp_path / "a.xlsx", [[1]]), {FIRST_SHEET: sheet_xml(rows)})
    with pytest.raises(WorkbookError) as caught:
        read(path)
    assert [(one.sheet, one.found) for one in caught.value.problems] == [
        ("Climate", "the rows of the sheet are not in order")
    ]


def test_a_log_of_a_hundred_thousand_rows_is_read_whole(tmp_path):
    book = xlsxwriter.Workbook(path := tmp_path / "log.xlsx", {"constant_memory": True})
    day = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
    code = book.add_format({"num_format": "000"})
    sheet = book.add_worksheet("Climate")
    for row in range(100_000):
        sheet.write_number(row, 0, row % 2, code)
        sheet.write_datetime(row, 1, MIDNIGHT + timedelta(minutes=row), day)
        for column in range(2, 6):
            sheet.write_number(row, column, row + column / 4)
    book.add_worksheet("Trial").write_string(0, 0, "Title")
    book.close()
    log, head = read(path).sheets
    assert (head.name, head.rows) == ("Trial", (("Title",),))
    assert len(log.rows) == 100_000
    assert log.rows[99_999] == [
        1,
        MIDNIGHT + timedelta(minutes=99_999),
        99_999.5,
        99_999.75,
        100_000,
        100_000.25,
    ]
    assert log.formats[99_999, 1] == "000"
    assert len(log.formats) == 200_000


# --- .xls


def xls(path, finish=None):
    """Write a workbook of the older kind by the library xlwt."""
    book = xlwt.Workbook()
    sheet = book.add_sheet("Climate")
    shown = {datetime: "yyyy-mm-dd hh:mm", time: "h:mm", timedelta: "[h]:mm"}
    for row, value in enumerate(VALUES):
        days = value / timedelta(days=1) if isinstance(value, timedelta) else value
        sheet.write(row, 0, days, xlwt.easyxf(num_format_str=shown.get(type(value), "General")))
        sheet.write(row, 1, row)
    if finish:
        finish(sheet, book)
    book.save(str(path))
    return path


def test_an_older_excel_file_gives_the_same_values(tmp_path):
    path = xls(tmp_path / "a.xls")
    assert column_a(path) == list(VALUES)
    assert [type(value) for value in column_a(path)[-2:]] == [bool, bool]


def test_hidden_merged_and_formatted_cells_and_errors_of_an_older_file_are_told(tmp_path):
    def finish(sheet, _):
        sheet.row(1).hidden = True
        sheet.col(1).hidden = True
        sheet.row(20).set_cell_error(0, "#DIV/0!")
        sheet.write(21, 0, 7, xlwt.easyxf(num_format_str="000"))
        sheet.write_merge(22, 24, 0, 1, "merged")

    sheet = first(xls(tmp_path / "a.xls", finish))
    assert (sheet.hidden, sheet.merged) == (("row 2", "column B"), ("A23:B25",))
    assert (sheet.rows[20][0], sheet.formats[22, 1]) == ("#DIV/0!", "000")


def test_an_older_file_that_counts_days_from_1904_gives_the_right_dates(tmp_path):
    def finish(sheet, book):
        book.dates_1904 = True
        sheet.write(
            30, 0, 44_651.0, xlwt.easyxf(num_format_str="yyyy-mm-dd")
        )  # 46113 - 1462 days: 2026-04-01

    assert column_a(xls(tmp_path / "a.xls", finish))[30] == MIDNIGHT


def test_a_date_beyond_the_calendar_is_an_error_there_too(tmp_path):
    def finish(sheet, _):
        sheet.write(30, 0, 2958466.0, xlwt.easyxf(num_format_str="yyyy-mm-dd"))

    assert column_a(xls(tmp_path / "a.xls", finish))[30] == "#VALUE!"  # the day after 9999-12-31


def test_what_cannot_be_seen_in_an_older_file_is_remarked_once(tmp_path):
    (remark,) = read(xls(tmp_path / "a.xls")).problems
    assert (remark.severity, remark.sheet, remark.cell) == (Severity.REMARK, "", "")
    assert "formula that was never computed" in remark.found
    assert "Save it as .xlsx" in remark.advice
    assert read(one_sheet(tmp_path / "a.xlsx", [[1]])).problems == ()


# --- .ods

ODF_VALUES = [  # OpenDocument 1.3, part 3, 19.385: the value types and the attribute of each
    ({"valuetype": "date", "datevalue": "2026-04-01"}, "1 April", MIDNIGHT),
    ({"valuetype": "date", "datevalue": "2026-04-01T09:30:00"}, "1 April", MORNING),
    ({"valuetype": "date", "datevalue": "-12000-01-01"}, "long ago", "-12000-01-01"),
    ({"valuetype": "time", "timevalue": "PT09H30M00S"}, "9:30", time(9, 30)),
    ({"valuetype": "time", "timevalue": "PT30H05M00S"}, "30:05", timedelta(hours=30, minutes=5)),
    ({"valuetype": "time", "timevalue": "-PT1H"}, "-1:00", timedelta(hours=-1)),
    ({"valuetype": "time", "timevalue": "soon"}, "soon", "soon"),
    ({"valuetype": "float", "value": "3"}, "3", 3),
    ({"valuetype": "float", "value": "3.25"}, "3.3", 3.25),
    ({"valuetype": "float", "value": "1e-05"}, "0.00", 1e-05),
    ({"valuetype": "percentage", "value": "0.05"}, "5%", 0.05),
    ({"valuetype": "currency", "value": "2.5"}, "2.50 EUR", 2.5),
    ({"valuetype": "boolean", "booleanvalue": "true"}, "TRUE", True),
    ({"valuetype": "boolean", "booleanvalue": "false"}, "FALSE", False),
    ({"valuetype": "string"}, "half", "half"),
    ({"valuetype": "string", "stringvalue": "kept aside"}, "", "kept aside"),
    ({"valuetype": "string"}, "", None),
    ({}, "", None),
]


def ods(path, *rows, **sheet):
    """Write rows of cells to an .ods file by the library odfpy; a cell is its attributes and its
    text.
    """
    document = odf.opendocument.OpenDocumentSpreadsheet()
    table = odf.table.Table(name="Climate", **sheet)
    for attributes, cells in rows:
        table.addElement(row := odf.table.TableRow(**attributes))
        for given, text in cells:
            row.addElement(cell := odf.table.TableCell(**given))
            if text:
                cell.addElement(odf.text.P(text=text))
    document.spreadsheet.addElement(table)
    document.save(str(path))
    return path


def test_values_of_an_open_document_are_read_by_their_type_not_as_they_are_shown(tmp_path):
    path = ods(
        tmp_path / "a.ods",
        *(({}, [(given, text), ({"valuetype": "string"}, "x")]) for given, text, _ in ODF_VALUES),
    )
    found = column_a(path)
    assert found == [value for _, _, value in ODF_VALUES]
    assert [type(value) for value in found] == [type(value) for _, _, value in ODF_VALUES]


def test_how_numbers_of_an_open_document_are_shown_is_told_as_a_format(tmp_path):
    shown = [
        ("7", "007", "000"),
        ("1.1", "1.10", "0.00"),
        ("0.05", "5%", "0%"),
        ("5", "5", None),
        ("4", "four", None),
    ]
    rows = [({}, [({"valuetype": "float", "value": value}, text)]) for value, text, _ in shown]
    sheet = first(ods(tmp_path / "a.ods", *rows))
    assert [sheet.formats.get((row, 1)) for row in range(1, 6)] == [code for _, _, code in shown]


def test_repeated_rows_and_cells_of_an_open_document_count_as_often(tmp_path):
    seven = ({"valuetype": "float", "value": "7", "numbercolumnsrepeated": "2"}, "007")
    rows = [
        ({"numberrowsrepeated": "2"}, [({"numbercolumnsrepeated": "3"}, "")]),
        (
            {"numberrowsrepeated": "3", "visibility": "collapse"},
            [({}, ""), seven, ({"numbercolumnsrepeated": "9000"}, "")],
        ),
        ({"numberrowsrepeated": "1048571"}, [({"numbercolumnsrepeated": "16384"}, "")]),
    ]
    sheet = first(ods(tmp_path / "a.ods", *rows))
    assert sheet.rows == ((None,) * 3,) * 2 + ((None, 7, 7),) * 3
    assert sheet.hidden == ("row 3", "row 4", "row 5")
    assert set(sheet.formats) == {(row, column) for row in (3, 4, 5) for column in (2, 3)}


def test_formulas_merged_cells_and_errors_of_an_open_document_are_told(tmp_path):
    error = {"valuetype": "string", "stringvalue": "", "formula": "of:=1/0"}
    merged = {"valuetype": "string", "numberrowsspanned": "2", "numbercolumnsspanned": "2"}
    path = ods(
        tmp_path / "a.ods",
        (
            {},
            [
                ({"formula": "of:=[.B1]*2"}, ""),
                ({"valuetype": "float", "value": "2", "formula": "of:=1+1"}, "2"),
            ],
        ),
        ({}, [(error, "#DIV/0!")]),
        ({}, [(merged, "over four")]),
    )
    sheet = first(path)
    assert sheet.uncomputed == {(1, 1): "of:=[.B1]*2"}
    assert (sheet.rows[0][1], sheet.rows[1][0], sheet.merged) == (2, "#DIV/0!", ("A3:B4",))


def test_a_comment_in_an_open_document_is_not_part_of_its_cell(tmp_path):
    def commented(xml):
        note = (
            "<office:annotation><text:p>a note</text:p></office:annotation><text:p>half<text:s"
            ' text:c="2"/>'
        )
        return xml.replace("<text:p>half", note + "dose<text:tab/><text:line-break/>x")

    path = ods(tmp_path / "a.ods", ({}, [({"valuetype": "string"}, "half")]))
    assert column_a(changed(path, {"content.xml": commented})) == ["half  dose\t\nx"]


def test_only_the_sheets_of_an_open_document_are_read(tmp_path):
    def with_links(xml):
        return xml.replace(
            "</office:spreadsheet>",
            f"<table:dde-links>{table}</table:dde-links></office:spreadsheet>",
        )

    table = (
        "<table:table"
        ' table:name="DDE"><table:table-row><table:table-cell/></table:table-row></table:table>'
    )
    path = changed(
        ods(tmp_path / "a.ods", ({}, [({"valuetype": "string"}, "half")])),
        {"content.xml": with_links},
    )
    assert [sheet.name for sheet in read(path).sheets] == ["Climate"]


def test_no_remark_is_needed_for_an_open_document(tmp_path):
    assert read(ods(tmp_path / "a.ods", ({}, [({"valuetype": "string"}, "half")]))).problems == ()


# --- the content decides, not the ending


@pytest.mark.parametrize("ending", ["xlsx", "xlsm", "xls", "ods"])
def test_a_file_is_read_by_its_content_whatever_its_ending(tmp_path, ending):
    kinds = [
        one_sheet(tmp_path / "1.xlsx", [["half"]]),
        xls(tmp_path / "2.xls", lambda sheet, _: sheet.write(20, 0, "half")),
        ods(tmp_path / "3.ods", ({}, [({"valuetype": "string"}, "half")])),
    ]
    assert [
        "half"
        in column_a(shutil.copy(kind, tmp_path / f"copy.{ending}") and tmp_path / f"copy.{ending}")
        for kind in kinds
    ] == [True] * 3


# --- as LibreOffice writes them


@pytest.fixture(scope="module")
def converted(tmp_path_factory):
    """Return a folder of one good workbook as LibreOffice writes it in each kind."""
    if not (office := shutil.which("soffice")):
        pytest.skip("LibreOffice is not installed")
    folder = tmp_path_factory.mktemp("converted")

    def finish(book):
        marked(book.create_sheet("Marked"), book)
        for row, values in enumerate(MARKED, 1):
            for column, value in enumerate(values, 1):
                book["Marked"].cell(row, column, value)
        for row, value in enumerate(("=1/0", *VALUES), 10):
            book["Marked"].cell(row, 1, value)

    write(good(), folder / "good.xlsx", finish)
    for kind in ("ods", "xls", "xlsx"):
        profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
        command = [
            office,
            profile,
            "--headless",
            "--convert-to",
            kind,
            "--outdir",
            folder / kind,
            folder / "good.xlsx",
        ]
        subprocess.run(command, check=True, capture_output=True, timeout=120)
    return folder


@pytest.mark.parametrize("kind", ["ods", "xls", "xlsx"])
def test_a_workbook_that_libreoffice_wrote_gives_the_same_cells(converted, kind):
    *sheets, odd = read(converted / kind / f"good.{kind}").sheets
    expected = read(converted / "good.xlsx").sheets
    assert [(sheet.name, sheet.rows) for sheet in sheets] == [
        (sheet.name, sheet.rows) for sheet in expected[:-1]
    ]
    assert (odd.hidden, odd.merged) == (("row 2", "column B"), ("A5:B6",))
    assert odd.formats[1, 1] == "000"
    assert [row[0] for row in odd.rows[9:]] == ["#DIV/0!", *VALUES]


@pytest.mark.parametrize("kind", ["ods", "xls", "xlsx"])
def test_a_workbook_that_libreoffice_wrote_gives_the_same_trial(converted, kind):
    assert trial(converted / kind / f"good.{kind}").plants == trial(converted / "good.xlsx").plants
