"""Cells of a log: each once, typed, the same whether they stand in a text file or a spreadsheet."""

import csv
from datetime import datetime, time

import numpy as np
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill

from reportgen.importing.cells import read_log, typed
from reportgen.importing.cells.marks import NO_MARKS
from reportgen.importing.model.cells import Conventions, Kind
from reportgen.model.problem import WorkbookError
from reportgen.workbook.raw import RawSheet

NOTHING_SAID = Conventions()


def text_log(tmp_path, text, conventions=NOTHING_SAID, name="log.csv"):
    path = tmp_path / name
    path.write_text(text, "utf-8")
    return read_log([path], conventions)[0]


def book(tmp_path, rows, name="log.xlsx", change=None):
    path = tmp_path / name
    made = openpyxl.Workbook()
    for row in rows:
        made.active.append(row)
    if change:
        change(made.active)
    made.save(path)
    return read_log([path], NOTHING_SAID)[0]


def column(tmp_path, *texts, header="weight", conventions=NOTHING_SAID):
    """Return a sheet with one column of texts under a header."""
    return text_log(
        tmp_path,
        "\n".join([f"id\t{header}", *(f"k{text[:0]}\t{text}" for text in texts)]),
        conventions,
        "log.tsv",
    )


def numbers(sheet, index=1):
    return [None if np.isnan(number) else float(number) for number in sheet.number[1:, index]]


def kinds(sheet, index=1):
    return [Kind(kind).name for kind in sheet.kind[1:, index]]


def days(sheet, index=1):
    return [str(moment).replace("T00:00:00", "") for moment in sheet.moment[1:, index]]


@pytest.mark.parametrize(
    ("texts", "expected"),
    [
        (["12", "12.5", "+3", "-0.5", ".5"], [12, 12.5, 3, -0.5, 0.5]),
        (["2,5", "12", "0,75"], [2.5, 12, 0.75]),
        (["1.307,5", "1.307", "12,25"], [1307.5, 1307, 12.25]),
        (["1,307.5", "1,307", "12.25"], [1307.5, 1307, 12.25]),
        (["1 307,5", "1'204.5", "12 000"], [1307.5, 1204.5, 12000]),
        (["1.307.204", "1,5"], [1307204, 1.5]),
        (["１２,５", "３"], [12.5, 3]),
        (["1e3", "2.5E-1"], [1000, 0.25]),
        (["1½", "2 1/4"], [1.5, 2.25]),
    ],
)
def test_numbers_are_read_as_they_are_written(tmp_path, texts, expected):
    assert numbers(column(tmp_path, *texts)) == expected


@pytest.mark.parametrize(
    ("texts", "expected", "units"),
    [
        (["3.4 oz", "2oz"], [3.4, 2], ["oz", "oz"]),
        (["850 g", "1.2 kg"], [850, 1.2], ["g", "kg"]),
        (["1 lb 3 oz", "2 lbs 0.5 oz"], [19, 32.5], ["oz", "oz"]),
        (["1 kg 200 g", "2,5 kg"], [1200, 2.5], ["g", "kg"]),
        (["95 %", "7%"], [95, 7], ["%", "%"]),
        (["21.5 °C", "22 °C"], [21.5, 22], ["°C", "°C"]),
    ],
)
def test_units_stand_beside_their_numbers(tmp_path, texts, expected, units):
    sheet = column(tmp_path, *texts)
    assert numbers(sheet) == expected
    assert [sheet.units.get((row, 2)) for row in (2, 3)] == units
    assert [text.replace(",", ".") for text in texts] == list(sheet.text[1:, 1])


def test_words_and_signs_beside_numbers_are_kept_apart(tmp_path):
    sheet = column(tmp_path, "11", "12 (small)", "<0.1", "~3", "ca. 5", "14 mouldy", "9*")
    assert numbers(sheet) == [11, 12, 0.1, 3, 5, 14, 9]
    assert sheet.remarks == {(3, 2): "small", (7, 2): "mouldy", (8, 2): "*"}
    assert sheet.bounds == {(4, 2): "<", (5, 2): "~", (6, 2): "~"}


def test_a_number_with_words_among_labels_is_a_label(tmp_path):
    sheet = column(tmp_path, "1 fan", "2 still", "1 fan")
    assert kinds(sheet) == ["TEXT"] * 3


def test_labels_of_an_amount_keep_their_text(tmp_path):
    sheet = column(tmp_path, "10 h", "14 h")
    assert list(sheet.text[1:, 1]) == ["10 h", "14 h"]


def test_ids_keep_their_zeros(tmp_path):
    assert list(column(tmp_path, "1.1", "1.10", "007").text[1:, 1]) == ["1.1", "1.10", "007"]
    formats = {"A2": "0.00", "A3": "000"}

    def change(sheet):
        for cell, number_format in formats.items():
            sheet[cell].number_format = number_format

    assert list(book(tmp_path, [["id"], [1.1], [7]], change=change).text[1:, 0]) == ["1.10", "007"]


def test_words_for_missing_and_lost_count_among_numbers_alone(tmp_path):
    texts = ["12", "-", "dead", "n/a", "#DIV/0!", "tot", "13"]
    assert kinds(column(tmp_path, *texts)) == [
        "NUMBER",
        "MISSING",
        "LOST",
        "MISSING",
        "MISSING",
        "LOST",
        "NUMBER",
    ]
    assert kinds(column(tmp_path, "-", "dead", "mulch")) == ["TEXT", "TEXT", "TEXT"]


def test_a_word_that_may_mean_nothing_there_or_lost_stays_a_word(tmp_path):
    assert kinds(column(tmp_path, "12", "x", "none", "13")) == ["NUMBER", "TEXT", "TEXT", "NUMBER"]


def test_the_owner_says_what_words_mean(tmp_path):
    said = Conventions(missing=("x",), lost=("slugs",), zero=("none",))
    sheet = column(tmp_path, "12", "X", "slugs", "None", conventions=said)
    assert kinds(sheet) == ["NUMBER", "MISSING", "LOST", "NUMBER"]
    assert numbers(sheet)[3] == 0


# --- the decimal sign


@pytest.mark.parametrize(("said", "expected"), [(True, 1.307), (False, 1307.0)])
def test_a_comma_that_may_part_thousands_is_open_until_the_owner_says(tmp_path, said, expected):
    texts = ["1,307", "1,402", "980"]
    assert [each.what for each in column(tmp_path, *texts).open] == ["decimal_comma"]
    settled = column(tmp_path, *texts, conventions=Conventions(decimal_comma={"log": said}))
    assert numbers(settled)[0] == expected
    assert settled.open == ()


def test_a_point_that_may_part_thousands_is_open(tmp_path):
    found = column(tmp_path, "1.307", "850", "1.402").open
    assert [(each.what, each.cells, each.texts) for each in found] == [
        ("decimal_comma", ("B2", "B4"), ("1.307", "1.402"))
    ]


def test_the_decimal_sign_of_another_column_decides(tmp_path):
    sheet = text_log(tmp_path, "wt;dry\n1,307;0,25\n1,402;0,31\n")
    assert numbers(sheet, 0) == [1.307, 1.402]
    assert sheet.open == ()


def test_numbers_with_three_decimals_are_not_asked_about(tmp_path):
    assert column(tmp_path, "1.307", "0.982", "2.411").open == ()


# --- dates


@pytest.mark.parametrize(
    ("texts", "expected"),
    [
        (["2026-03-05", "2026/3/6"], ["2026-03-05", "2026-03-06"]),
        (["5.3.2026", "06.03.26"], ["2026-03-05", "2026-03-06"]),
        (["5/3/2026", "25/3/2026"], ["2026-03-05", "2026-03-25"]),
        (["3/5/2026", "3/25/2026"], ["2026-03-05", "2026-03-25"]),
        (["3 May 2026", "May 4, 2026"], ["2026-05-03", "2026-05-04"]),
        (["3. März 2026", "4 mai 2026"], ["2026-03-03", "2026-05-04"]),
        (["3 de marzo de 2026", "5-Mar-2026"], ["2026-03-03", "2026-03-05"]),
        (["Mon 2 March 2026", "lundi 9 mars 2026"], ["2026-03-02", "2026-03-09"]),
    ],
)
def test_dates_are_read_in_many_forms(tmp_path, texts, expected):
    sheet = column(tmp_path, *texts, header="when")
    assert days(sheet) == expected
    assert list(sheet.text[1:, 1]) == expected
    assert sheet.open == ()


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-05T14:02:00Z",
        "2026-03-05 14:02:00.000+01:00",
        "3/5/2026 2:02 PM",
        "05.03.2026 14:02",
        "5 Mar 2026 14:02",
    ],
)
def test_moments_are_read_as_the_clock_showed_them(tmp_path, text):
    sheet = column(tmp_path, text, "3/25/2026 1:00 AM", header="time")
    assert str(sheet.moment[1, 1]) == "2026-03-05T14:02:00"
    assert sheet.text[1, 1] == "2026-03-05 14:02"


@pytest.mark.parametrize(("said", "expected"), [(True, "2026-02-01"), (False, "2026-01-02")])
def test_the_order_of_day_and_month_is_open_until_the_owner_says(tmp_path, said, expected):
    texts = ["1/2/2026", "8/2/2026"]
    found = column(tmp_path, *texts, header="when").open
    assert [(each.what, each.cells, each.texts) for each in found] == [
        ("day_first", ("B2", "B3"), tuple(texts))
    ]
    settled = column(tmp_path, *texts, header="when", conventions=Conventions(day_first={"": said}))
    assert days(settled)[0] == expected
    assert settled.open == ()


def test_another_column_of_the_sheet_decides_the_order(tmp_path):
    sheet = text_log(tmp_path, "sown;cut\n1/2/2026;3/25/2026\n")
    assert days(sheet, 0) == ["2026-01-02"]
    assert sheet.open == ()


def test_dates_in_two_orders_are_told(tmp_path):
    found = column(tmp_path, "13/5/2026", "5/14/2026", header="when").open
    assert [(each.what, each.texts) for each in found] == [
        ("mixed_dates", ("13/5/2026", "5/14/2026"))
    ]


def test_real_dates_that_were_exchanged_beside_texts_are_told(tmp_path):
    rows = [["when"], [datetime(2026, 5, 3)], [datetime(2026, 10, 3)], ["17/3/2026"], ["24/3/2026"]]
    assert [each.what for each in book(tmp_path, rows).open] == ["mixed_dates"]
    rows = [["when"], [datetime(2026, 3, 3)], [datetime(2026, 3, 20)], ["27/3/2026"]]
    assert book(tmp_path, rows).open == ()


def test_a_day_without_a_year_takes_the_only_year_that_the_sheet_names(tmp_path):
    sheet = text_log(tmp_path, "Harvest 2025;\nwhen;wt\nDec 28;1\nJan 4;2\n")
    assert [str(moment)[:10] for moment in sheet.moment[2:, 0]] == ["2025-12-28", "2026-01-04"]


def test_the_year_is_open_where_nothing_names_it(tmp_path):
    sheet = column(tmp_path, "May 3", "May 17", header="when")
    assert [each.what for each in sheet.open] == ["year"]
    assert list(sheet.text[1:, 1]) == ["May 3", "May 17"]
    assert days(
        column(tmp_path, "May 3", header="when", conventions=Conventions(year={"": 2025}))
    ) == ["2025-05-03"]


def test_days_over_columns_are_dates(tmp_path):
    sheet = text_log(tmp_path, "tray;10/14;10/21;10/28\nA;1;2;3\n")
    assert kinds_of_row(sheet, 0) == ["TEXT", "MOMENT", "MOMENT", "MOMENT"]


def kinds_of_row(sheet, row):
    return [Kind(kind).name for kind in sheet.kind[row]]


def test_hours_of_light_and_dark_are_labels(tmp_path):
    sheet = text_log(tmp_path, "tray;10/14;12/12;16/8\nA;1;2;3\n")
    assert list(sheet.text[0]) == ["tray", "10/14", "12/12", "16/8"]
    assert kinds_of_row(sheet, 0) == ["TEXT"] * 4


def test_ids_of_numbers_and_signs_are_labels(tmp_path):
    ids = ["1/1", "1/2", "1/3", "2/1", "2/2", "2/3"]
    assert kinds(column(tmp_path, *ids, header="plant")) == ["TEXT"] * 6
    assert kinds(column(tmp_path, "1.2.1", "1.2.2", "1.2.13", header="plant")) == ["TEXT"] * 3
    assert kinds(column(tmp_path, "1-2-1", "1-2-14", header="plant")) == ["TEXT"] * 2


def test_a_number_among_dates_and_a_date_among_numbers_stay_what_they_are(tmp_path):
    sheet = book(
        tmp_path, [["when", "wt"], [datetime(2026, 3, 1), 4.2], [46083, datetime(2026, 4, 3)]]
    )
    assert kinds(sheet, 0) == ["MOMENT", "NUMBER"]
    assert kinds(sheet, 1) == ["NUMBER", "MOMENT"]


# --- files


def test_a_text_file_and_a_spreadsheet_of_one_log_give_equal_cells(tmp_path):
    rows = [
        ["Treatment", "Tray", "when", "at", "wt (g)", "share", "note"],
        ["fan", 1, datetime(2026, 3, 5), time(9, 30), 12.5, 0.05, "12 (small)"],
        ["fan", 2, datetime(2026, 3, 25, 14, 5), time(10, 0), "13,25", 0.07, "  two   words "],
        ["still", 10, None, None, "dead", None, None],
        ["still", "A7", "3 April 2026", "11:15", "3.4 oz", None, "x"],
    ]

    def change(sheet):
        for row in (2, 3):
            sheet.cell(row, 6).number_format = "0%"

    sheet = book(tmp_path, rows, change=change)
    shown = [["" if value is None else value for value in row] for row in rows]
    for row in shown[1:]:
        row[2] = row[2].strftime("%d/%m/%Y %H:%M") if isinstance(row[2], datetime) else row[2]
        row[3] = row[3].strftime("%H:%M") if isinstance(row[3], time) else row[3]
        row[4] = str(row[4]).replace(".5", ",5") if row[4] == 12.5 else row[4]
        row[5] = f"{row[5]:.0%}" if row[5] else ""
    with (tmp_path / "log.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter=";").writerows(shown)
    other = read_log([tmp_path / "log.csv"], NOTHING_SAID)[0]
    assert other.kind.tolist() == sheet.kind.tolist()
    assert other.text.tolist() == sheet.text.tolist()
    assert np.array_equal(other.number, sheet.number, equal_nan=True)
    assert np.array_equal(other.moment.astype(str), sheet.moment.astype(str))
    assert (other.units, other.remarks) == (sheet.units, sheet.remarks)


def test_marks_of_cells_are_read(tmp_path):
    def change(sheet):
        sheet["A2"].fill = PatternFill("solid", fgColor="FFFF9999")
        sheet["B3"].font = Font(strike=True)
        sheet["B2"].comment = Comment("dropped", "owner")
        sheet.row_dimensions[4].hidden = True
        sheet.column_dimensions["C"].hidden = True
        sheet.merge_cells("A5:A6")

    rows = [["tray", "wt", "old"], ["A", 1, 1], ["B", 2, 2], ["C", 3, 3], ["D", 4, 4], [None, 5, 5]]
    sheet = book(tmp_path, rows, change=change)
    assert sheet.fills == {(2, 1): "FF9999"}
    assert sheet.struck == {(3, 2)}
    assert list(sheet.comments) == [(2, 2)]
    assert "dropped" in sheet.comments[2, 2]
    assert (sheet.hidden_rows, sheet.hidden_columns) == ({4}, {3})
    assert sheet.merged == ((5, 1, 6, 1),)


def test_marks_of_an_open_document_and_of_an_old_workbook_are_read(tmp_path):
    xlwt = pytest.importorskip("xlwt")
    made = xlwt.Workbook()
    page = made.add_sheet("log")
    page.write(0, 0, "wt")
    page.write(1, 0, 2, xlwt.easyxf("pattern: pattern solid, fore_colour red; font: struck_out on"))
    made.save(str(tmp_path / "log.xls"))
    sheet = read_log([tmp_path / "log.xls"], NOTHING_SAID)[0]
    assert sheet.fills == {(2, 1): "FF0000"}
    assert sheet.struck == {(2, 1)}


def test_a_formula_that_no_program_computed_has_no_value(tmp_path):
    sheet = book(tmp_path, [["wt"], [3], ["=A2*2"]])
    assert kinds(sheet, 0) == ["NUMBER", "MISSING"]
    assert sheet.text[2, 0] == "=A2*2"
    assert sheet.formulas == {(3, 1)}


def test_a_hidden_sheet_says_so(tmp_path):
    made = openpyxl.Workbook()
    made.active.append(["wt"])
    made.create_sheet("2024").append(["wt"])
    made["2024"].sheet_state = "hidden"
    made.save(tmp_path / "log.xlsx")
    assert [sheet.is_hidden for sheet in read_log([tmp_path / "log.xlsx"], NOTHING_SAID)] == [
        False,
        True,
    ]


def test_further_files_are_named_and_the_log_is_not(tmp_path):
    for name in ("log", "key"):
        (tmp_path / f"{name}.csv").write_text("a,b\n1,2\n")
    sheets = read_log([tmp_path / "log.csv", tmp_path / "key.csv"], NOTHING_SAID)
    assert [(sheet.file, sheet.label, sheet.stem) for sheet in sheets] == [
        ("", "log", "log"),
        ("key.csv", "[key.csv]key", "key"),
    ]
    assert sheets[0].is_single


def test_blank_rows_and_columns_at_the_end_are_left_out(tmp_path):
    assert text_log(tmp_path, "a;b;;\n1;2;;\n;;;\n").kind.shape == (2, 2)


def test_a_unit_that_a_number_format_shows_is_read(tmp_path):
    def change(sheet):
        sheet["A2"].number_format = '0.0" kg"'

    sheet = book(tmp_path, [["wt"], [1.5]], change=change)
    assert (sheet.text[1, 0], sheet.units) == ("1.5 kg", {(2, 1): "kg"})


def test_a_file_that_is_not_there_is_said(tmp_path):
    with pytest.raises(WorkbookError, match="is not there"):
        read_log([tmp_path / "log.csv"], NOTHING_SAID)


ODD = st.text(
    st.sampled_from("0123456789.,/-:+<~()% '’eE½²٣３gkcmhlbozMay Jan x†−\u200b\u00a0"), max_size=12
)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(ODD, min_size=2, max_size=2), min_size=1, max_size=6))
def test_every_cell_that_holds_something_is_typed_and_keeps_its_place(rows):
    sheet = typed(RawSheet("log", tuple(map(tuple, rows)), {}, {}, ()), NO_MARKS, NOTHING_SAID)
    for row, values in enumerate(rows):
        for index, value in enumerate(values):
            is_inside = row < sheet.kind.shape[0] and index < sheet.kind.shape[1]
            is_blank = not value.replace("\u200b", "").strip()
            assert is_blank or is_inside
            if is_inside:
                kind = sheet.kind[row, index]
                assert (kind == Kind.BLANK) == is_blank
                assert (kind == Kind.NUMBER) == (not np.isnan(sheet.number[row, index]))
                assert (kind == Kind.MOMENT) == (not np.isnat(sheet.moment[row, index]))
                assert bool(sheet.text[row, index]) != is_blank
