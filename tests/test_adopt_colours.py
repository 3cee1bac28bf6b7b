"""Treatments that only the colour of cells tells."""

import openpyxl
import pytest
from openpyxl.styles import PatternFill

from reportgen import pipeline
from reportgen.importing.carriers.colours import hue_of
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, asked, book, means

YELLOW, GREEN, RED = "FFFF00", "92D050", "FF0000"
BEDS = [YELLOW, GREEN, YELLOW, GREEN, GREEN, YELLOW, GREEN, YELLOW]
HEADS = {YELLOW: (440.0, 401.0, 433.0), GREEN: (340.0, 371.0, 333.0)}
ROWS = [(bed, *(weight + bed for weight in HEADS[colour])) for bed, colour in enumerate(BEDS, 1)]
COMPOST, PLAIN = (4, pytest.approx(1274 / 3 + 4.5)), (4, pytest.approx(348.0 + 4.5))
HEAD = ("Row", "Head 1", "Head 2", "Head 3")


def coloured(log, fills):
    """Fill cells of the sheet Kale, by address, and save the log."""
    made = openpyxl.load_workbook(log)
    for address, colour in fills.items():
        made["Kale"][address].fill = PatternFill("solid", fgColor=colour)
    made.save(log)
    return log


def cells(columns="ABCD", first=2):
    """Return the colour of each cell of the beds in some columns."""
    return {
        f"{column}{row}": colour for row, colour in enumerate(BEDS, first) for column in columns
    }


def log_of(tmp_path, *below, columns="ABCD"):
    return coloured(book(tmp_path, Kale=[HEAD, *ROWS, (), *below]), cells(columns))


@pytest.mark.parametrize("columns", ["ABCD", "A", "BCD"])
def test_a_note_names_the_colours_of_rows(tmp_path, columns):
    log = log_of(tmp_path, ("yellow = compost, green = no compost",), columns=columns)
    adopt(log, talk=answering())
    assert means(log) == {"compost": COMPOST, "no compost": PLAIN}


@pytest.mark.parametrize("swatch", ["F", "G"])
def test_cells_of_a_legend_name_the_colours(tmp_path, swatch):
    log = book(tmp_path, Kale=[HEAD, *ROWS])
    made = openpyxl.load_workbook(log)
    made["Kale"]["G3"], made["Kale"]["G4"] = "compost", "no compost"
    made.save(log)
    coloured(log, {**cells(), f"{swatch}3": YELLOW, f"{swatch}4": GREEN})
    adopt(log, talk=answering(truth={"compost": COMPOST, "no compost": PLAIN}))
    assert means(log) == {"compost": COMPOST, "no compost": PLAIN}


def test_colours_without_a_legend_are_asked_for_their_names(tmp_path):
    log = log_of(tmp_path)
    names = {"Kale.treatment.yellow": "compost", "Kale.treatment.green": "no compost"}
    adopt(log, talk=answering(treatment="treatment: the colour of the cells", **names))
    assert means(log) == {"compost": COMPOST, "no compost": PLAIN}


def test_rows_without_a_colour_may_be_a_treatment(tmp_path):
    log = coloured(
        book(tmp_path, Kale=[HEAD, *ROWS]), {a: c for a, c in cells().items() if c == GREEN}
    )
    names = {"Kale.treatment.no colour": "compost", "Kale.treatment.green": "no compost"}
    adopt(log, talk=answering(treatment="treatment: the colour of the cells", **names))
    assert means(log) == {"compost": COMPOST, "no compost": PLAIN}


NAMES = {"Kale.treatment.yellow": "shade", "Kale.treatment.green": "sun"}


def test_colours_of_headers_tell_the_treatments_of_columns(tmp_path):
    beds = [(week, *(10.5 + week + bed for bed in (0, 10, 1, 11))) for week in range(1, 5)]
    log = book(tmp_path, Kale=[("Week", "Bed 1", "Bed 2", "Bed 3", "Bed 4"), *beds])
    coloured(log, {f"{column}1": YELLOW if column in "BD" else GREEN for column in "BCDE"})
    adopt(log, talk=answering(**NAMES, treatment="colour", as_read="yes", occasions="pickings"))
    totals = {"shade": (2, pytest.approx(4 * 13.0 + 2)), "sun": (2, pytest.approx(4 * 23.0 + 2))}
    assert means(log, "tray_yield") == totals


def test_each_cell_may_have_the_colour_of_its_treatment(tmp_path):
    weights = [(f"Bed {row}", *(20.5 + row + column for column in range(4))) for row in range(4)]
    log = book(tmp_path, Kale=[("Bed", "a", "b", "c", "d"), *weights])
    shaded = [(0, 0), (0, 3), (1, 1), (1, 2), (2, 0), (2, 2), (3, 1), (3, 3)]
    fills = {f"{'BCDE'[column]}{row + 2}": GREEN for row in range(4) for column in range(4)}
    fills |= {f"{'BCDE'[column]}{row + 2}": YELLOW for row, column in shaded}
    coloured(log, fills)
    adopt(log, talk=answering(**NAMES, treatment="treatment: the colour of the cells; plant"))
    shade = [20.5 + row + column for row, column in shaded]
    found = means(log)
    assert {name: value for name, (_, value) in found.items()} == {
        "shade": pytest.approx(sum(shade) / 8),
        "sun": pytest.approx(23.5 * 2 - sum(shade) / 8),
    }


def test_a_row_in_a_new_colour_stops_the_report_and_is_asked_for(tmp_path):
    log = log_of(tmp_path, ("yellow = compost, green = no compost",))
    adopt(log, talk=answering())
    coloured(log, {f"{column}2": RED for column in "ABCD"})
    with pytest.raises(WorkbookError) as caught:
        pipeline.checked(log)
    assert ("treatment_not_told", "B2") in {(one.code, one.cell) for one in caught.value.problems}
    adopt(log, talk=answering(**{"Kale.treatment.red": "compost"}))
    assert means(log) == {"compost": COMPOST, "no compost": PLAIN}


def test_colours_beside_a_treatment_that_is_written_are_not_asked_about(tmp_path):
    beds = [
        (row[0], "compost" if colour == YELLOW else "none", *row[1:])
        for row, colour in zip(ROWS, BEDS, strict=True)
    ]
    log = book(tmp_path, Kale=[("Row", "Treatment", *HEAD[1:]), *beds])
    every_other = {f"{column}{row}": GREEN for row in range(2, 10, 2) for column in "ABCDE"}
    plain = [question.key for question in asked(log)]
    assert [question.key for question in asked(coloured(log, every_other))] == plain


def test_a_legend_of_a_few_damaged_rows_is_asked_about_no_more_than_without_it(tmp_path):
    beds = [
        (row[0], "compost" if colour == YELLOW else "none", *row[1:])
        for row, colour in zip(ROWS, BEDS, strict=True)
    ]
    log = book(tmp_path, Kale=[("Row", "Treatment", *HEAD[1:]), *beds, (), ("red = damaged",)])
    plain = [question.key for question in asked(log)]
    damaged = {f"{column}{row}": RED for row in (3, 6, 7) for column in "ABCDE"}
    assert [question.key for question in asked(coloured(log, damaged))] == plain


@pytest.mark.parametrize(
    ("fill", "hue"),  # names of the colours of CSS Color Module Level 4, section 6.1
    [("FF0000", "red"), ("FFA500", "orange"), ("FFFF00", "yellow"), ("008000", "green"), ("40E0D0", "turquoise"),
     ("0000FF", "blue"), ("800080", "purple"), ("808080", "grey"), ("000000", "black"), ("theme 9 tint 0.6", "green")],
)  # fmt: skip
def test_a_colour_has_its_everyday_name(fill, hue):
    assert hue_of(fill) == hue
