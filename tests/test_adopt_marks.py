"""What an owner marks by hand in a log is asked about, or left out with a word: colours, lines
through, sheets.
"""

import pytest
import xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style, TableCellProperties, TextProperties
from odf.table import Table, TableCell, TableRow
from odf.text import P
from openpyxl.styles import Font, PatternFill

from reportgen import pipeline
from reportgen.importing import checking
from reportgen.importing.dialogue import first_screen
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, asked, book, means, understood
from tests.test_adopt_changes import HEAD, MEANS, ROWS, changed

RED = PatternFill("solid", fgColor="FFFF0000")
MARKED = (5, 9)  # rows of the sheet
EARLIER = [(f"Z{row[0]}", row[1], row[2], row[3] / 2) for row in ROWS]


def coloured(*rows):
    """Return a change of a log that colours the weights of some rows."""

    def change(made):
        for row in rows:
            made["Log"].cell(row, 4).fill = RED

    return change


def with_font(**look):
    def change(made):
        for row in MARKED:
            made["Log"].cell(row, 4).font = Font(**look)

    return change


def marks(log):
    """Return the cells of the questions about marks."""
    questions = [one for one in asked(log) if "colour" in one.ask]
    return [place.rpartition("!")[2] for one in questions for place in one.where]


def errors(log):
    try:
        found = checking.problems_in(checking.read_adopted(log))
    except WorkbookError as error:
        found = error.problems
    return [(one.code, one.cell) for one in found if one.severity == "error"]


def log_with(tmp_path, change):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    changed(log, change)
    return log


# --- colours


@pytest.mark.parametrize(("answer", "plants"), [("keep", 16), ("left out", 14)])
def test_weights_in_a_colour_are_left_out_only_where_their_owner_says_so(tmp_path, answer, plants):
    log = log_with(tmp_path, coloured(*MARKED))
    assert marks(log) == ["D5", "D9"]
    adopt(log, talk=answering(row=answer))
    assert errors(log) == []
    assert len(pipeline.checked(log).plants) == plants


def test_weights_that_are_coloured_after_a_log_was_taken_in_stop_the_report(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    adopt(log, talk=answering())
    changed(log, coloured(12))
    assert errors(log) == [("coloured_values", "D12")]


@pytest.mark.parametrize("looks", ["every other row", "the whole column"])
def test_colours_for_looks_are_not_asked_about(tmp_path, looks):
    rows = range(2, 18, 2) if looks == "every other row" else range(2, 18)
    log = log_with(tmp_path, coloured(*rows))
    assert marks(log) == []


@pytest.mark.parametrize(
    "look", [{"color": "FF000000"}, {"bold": True}, {"name": "Arial", "size": 14}]
)
def test_weights_in_another_font_are_not_asked_about(tmp_path, look):
    assert asked(log_with(tmp_path, with_font(**look))) == []


# --- lines through


def test_weights_that_are_crossed_out_are_left_out_with_a_word(tmp_path):
    log = log_with(tmp_path, with_font(strike=True))
    taken, _ = adopt(log, talk=answering())
    (entry,) = [one for one in taken.state.ledger.entries if one.because == "struck"]
    assert {row for _, row, _ in entry.cells} == set(MARKED)
    assert len(pipeline.checked(log).plants) == 14


def old_workbook(path, look):
    made = xlwt.Workbook()
    sheet = made.add_sheet("Log")
    plain, marked = xlwt.easyxf(""), xlwt.easyxf(look)
    for at, row in enumerate([HEAD, *ROWS], start=1):
        for column, value in enumerate(row, start=1):
            sheet.write(
                at - 1, column - 1, value, marked if at in MARKED and column == 4 else plain
            )
    made.save(str(path))


def open_document(path, cell, text):
    made = OpenDocumentSpreadsheet()
    style = Style(name="marked", family="table-cell")
    style.addElement(TableCellProperties(**cell))
    style.addElement(TextProperties(**text))
    made.automaticstyles.addElement(style)
    sheet = Table(name="Log")
    for at, line in enumerate([HEAD, *ROWS], start=1):
        row = TableRow()
        for column, value in enumerate(line, start=1):
            kind = (
                {"valuetype": "string"}
                if isinstance(value, str)
                else {"valuetype": "float", "value": value}
            )
            look = {"stylename": style} if at in MARKED and column == 4 else {}
            one = TableCell(**kind, **look)
            one.addElement(P(text=str(value)))
            row.addElement(one)
        sheet.addElement(row)
    made.spreadsheet.addElement(sheet)
    made.save(str(path))


@pytest.mark.parametrize(
    ("ending", "looks", "cells", "plants"),
    [
        ("xls", ("pattern: pattern solid, fore_colour red",), ["D5", "D9"], 16),
        ("xls", ("font: struck_out on",), [], 14),
        ("xls", ("",), [], 16),
        ("ods", ({"backgroundcolor": "#ff0000"}, {}), ["D5", "D9"], 16),
        ("ods", ({}, {"textlinethroughstyle": "solid"}), [], 14),
        ("ods", ({}, {}), [], 16),
    ],
)
def test_marks_of_other_kinds_of_workbooks_are_seen_too(tmp_path, ending, looks, cells, plants):
    log = tmp_path / f"log.{ending}"
    write = old_workbook if ending == "xls" else open_document
    write(log, *looks)
    assert marks(log) == cells
    adopt(log, talk=answering(row="keep"))
    assert len(pipeline.checked(log).plants) == plants


# --- sheets that are hidden, over, or examples


def test_a_hidden_sheet_is_left_out_with_a_word(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS], Early=[HEAD, *EARLIER])
    changed(log, lambda made: setattr(made["Early"], "sheet_state", "hidden"))
    _, shown = adopt(log, talk=answering())
    assert any("Early" in line and "no part of the trial" in line for line in shown.splitlines())
    assert means(log) == MEANS


@pytest.mark.parametrize(
    "names", [("2025", "2026"), ("Trial 1", "Trial 2"), ("Essai (2)", "Essai")]
)
def test_of_sheets_that_name_the_same_treatments_it_is_asked_which_are_the_trial(tmp_path, names):
    log = book(tmp_path, **{names[0]: [HEAD, *EARLIER], names[1]: [HEAD, *ROWS]})
    questions = [one for one in asked(log) if one.key.endswith(".gives")]
    assert names[0] in {one.key.removesuffix(".gives") for one in questions}
    own = {f"{names[0]}.gives": "no part of the trial", f"{names[1]}.gives": "plants"}
    adopt(log, talk=answering(**own))
    assert means(log) == MEANS
    assert errors(log) == []


@pytest.mark.parametrize(
    "names",
    [
        ("Bench 1", "Bench 2"),
        ("Tray A", "Tray B"),
        ("Block 1", "Block 2"),
        ("left rack", "right rack"),
    ],
)
def test_sheets_that_are_named_like_places_are_not_taken_for_another_trial(tmp_path, names):
    log = book(tmp_path, **{names[0]: [HEAD, *EARLIER], names[1]: [HEAD, *ROWS]})
    assert not any(one.key.endswith(".gives") for one in asked(log))


@pytest.mark.parametrize(
    "name",
    [
        "Old",
        "Vorjahr",
        "Example",
        "TEMPLATE",
        "Muster",
        "ejemplo",
        "Modèle",
        "Esempio",
        "Voorbeeld 1",
        "Modelo",
    ],
)
def test_an_example_or_what_is_over_is_left_out_with_a_word(tmp_path, name):
    log = book(tmp_path, **{name: [HEAD, *EARLIER], "Log": [HEAD, *ROWS]})
    screen = first_screen(understood((log,), {}))
    assert any(name in line and "no part of the trial" in line for line in screen)
    assert len(screen) == 2


def test_a_sheet_that_is_named_like_an_example_and_is_a_treatment_counts(tmp_path):
    head = (HEAD[0], *HEAD[2:])
    sheets = {
        name: [head, *((f"{name[0]}{at % 2}", at, weight + at) for at in range(8))]
        for name, weight in (("Modelo", 30.0), ("Control", 25.0))
    }
    log = book(tmp_path, **sheets)
    truth = {"Modelo": (2, pytest.approx(33.5)), "Control": (2, pytest.approx(28.5))}
    adopt(log, talk=answering(truth=truth))
    assert means(log) == truth


@pytest.mark.parametrize("columns", [(0, 1, 2, 3), (1, 3)])
def test_a_sorted_copy_of_a_sheet_is_left_out_with_a_word(tmp_path, columns):
    ranked = sorted(ROWS, key=lambda row: -row[3])
    data, copy = (
        [tuple(row[at] for at in columns) for row in (HEAD, *rows)] for rows in (ROWS, ranked)
    )
    log = book(tmp_path, Data=data, Ranking=copy)
    _, shown = adopt(log, talk=answering(tray="tray: none", independent="plant"))
    assert any("Ranking" in line and "no part of the trial" in line for line in shown.splitlines())
    assert len(pipeline.checked(log).plants) == 16
