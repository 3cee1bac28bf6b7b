"""Every cell that holds something is read or named, once: whatever is written wherever in a
workbook.
"""

import random
from datetime import date

import pytest
from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import range_boundaries

from reportgen import workbook
from tests.grown import as_workbook
from tests.workbooks import findings, put, whole, write

VALUES = (77.5, "stray words", "x", "Volume", 0, True, date(2026, 4, 9), "=1+1", "3 g")
ROWS_BELOW, COLUMNS_BESIDE, FAR = 9, 8, 60
# what is said of a row that is read, in other cells of it, where something is missing
READ_IN_ITS_ROW = frozenset(
    (
        "blank_cell",
        "weight_missing",
        "life_missing",
        "hours_of_use_missing",
        "place_incomplete",
        "photo_not_described",
    )
)


def moved(sheets, down, right):
    """Return sheets whose tables begin some rows down and some columns to the right; the sheet
    Trial stays.
    """
    return {
        name: (
            rows
            if name == "Trial"
            else [*([] for _ in range(down)), *([None] * right + row for row in rows)]
        )
        for name, rows in sheets.items()
    }


def written(sheets, name, row, column, value):
    """Return sheets with a value in a cell, rows and columns counted from 1."""
    return put(sheets, **{f"{name}_{get_column_letter(column)}{row}": value})


def covering(problems, name, row, column):
    """Return the problems whose cells are or hold a cell."""
    found = []
    for problem in problems:
        if problem.sheet == name and any(_holds(part, row, column) for part in _parts(problem)):
            found.append(problem)
    return found


def _parts(problem):
    """Return the cells and ranges that a problem is about."""
    return problem.cell.split(", ") if problem.cell else []


def _holds(part, row, column):
    left, top, right, bottom = range_boundaries(part)
    return (left or 1) <= column <= (right or column) and top <= row <= bottom


def new_problems(sheets, before):
    return [
        problem for problem in workbook.problems_in(as_workbook(sheets)) if problem not in before
    ]


def spots(rows, down, right):
    """Yield the cells around the table of a sheet: above, beside, below and below a gap, and far
    away.
    """
    height, width = len(rows), max(map(len, rows))
    for row in (*range(1, down + 1), *range(height + 1, height + ROWS_BELOW)):
        for column in range(1, width + COLUMNS_BESIDE):
            yield row, column
    for row in range(down + 1, height + 1):
        for column in (*range(1, right + 1), *range(width + 1, width + COLUMNS_BESIDE), FAR):
            yield row, column


PLACES = [(name, 0, 0) for name, rows in whole().items() if len(rows) > 1]
MOVED = [(name, 3, 2) for name, _, _ in PLACES if name != "Trial"]


@pytest.mark.parametrize(("name", "down", "right"), PLACES + MOVED)
def test_a_value_anywhere_around_a_table_is_named_once_or_makes_a_row_that_is(name, down, right):
    chance = random.Random(f"{name} {down} {right}")
    clean = moved(whole(), down, right)
    before = workbook.problems_in(as_workbook(clean))
    for row, column in chance.sample(list(spots(clean[name], down, right)), 40):
        value = chance.choice(VALUES)
        problems = new_problems(
            written(moved(whole(), down, right), name, row, column, value), before
        )
        told = covering(problems, name, row, column)
        of_row = [
            problem
            for problem in problems
            if covering([problem], name, row, column) or _in_row(problem, row)
        ]
        place = f"{name}!{get_column_letter(column)}{row} = {value!r}"
        codes = {problem.code for problem in told}
        assert of_row, place
        assert len(told) == len(codes), (place, list(map(str, told)))
        assert told or READ_IN_ITS_ROW & {problem.code for problem in of_row}, (
            place,
            list(map(str, of_row)),
        )


def _in_row(problem, row):
    rows = [range_boundaries(part)[1::2] for part in _parts(problem)]
    return any(top <= row <= bottom for top, bottom in rows)


@pytest.mark.parametrize(
    "name", [name for name, rows in whole().items() if name != "Trial" and len(rows) > 1]
)
def test_values_below_an_empty_header_are_one_error_with_their_range(name):
    sheets = whole()
    width, height = len(sheets[name][0]), len(sheets[name])
    for row in range(2, height + 1):
        written(sheets, name, row, width + 1, 12.5 + row)
    letter = get_column_letter(width + 1)
    told = covering(workbook.problems_in(as_workbook(sheets)), name, 2, width + 1)
    cells = f"{letter}2:{letter}{height}" if height > 2 else f"{letter}2"
    assert [(problem.severity, problem.cell) for problem in told] == [("error", cells)]


@pytest.mark.parametrize("value", ["x", "Treatment"])
def test_a_row_of_one_word_above_a_table_is_no_header(value):
    sheets = whole()
    sheets["Light"].insert(0, [value] * 6)
    problems = workbook.problems_in(as_workbook(sheets))
    assert [(one.sheet, one.cell, one.code) for one in problems] == [
        ("Light", "A1:F1", "data_above_header")
    ]


def test_sheets_that_are_not_read_are_named_once_with_their_ranges():
    sheets = whole() | {
        "Diary": [[None, None], [None, "wet day"], [None, None, 7]],
        "Prices 2019": [[1, 2]],
    }
    (problem,) = workbook.problems_in(as_workbook(sheets))
    assert problem.found == 'sheets that are not used: "Diary" (B2:C3), "Prices 2019" (A1:B1)'


def test_a_second_sheet_of_a_name_is_named_with_its_range():
    sheets = whole() | {"plants": [["Tray", "Plant"], ["A1", 1]]}
    (problem,) = workbook.problems_in(as_workbook(sheets))
    assert (problem.severity, problem.sheet, problem.cell) == ("error", "plants", "A1:B2")


def test_values_in_a_hidden_column_are_read_or_named_as_others_are(tmp_path):
    def hide(book):
        book["Plants"].column_dimensions["F"].hidden = True

    sheets = put(whole(), Plants_F3=8.5, Plants_F4=7.25)
    problems = findings(write(sheets, tmp_path / "trial.xlsx", hide))
    assert [(one.code, one.cell) for one in problems if one.sheet == "Plants"] == [
        ("hidden_cells", ""),
        ("values_without_name", "F3:F4"),
    ]
