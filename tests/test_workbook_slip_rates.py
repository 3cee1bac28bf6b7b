"""How many slips are found, and that clean workbooks raise no false alarm: on workbooks made afresh
of seeds.

The rates are printed by column.
"""

import random
import re
from collections import Counter

import pytest
from openpyxl.utils.cell import range_boundaries

from reportgen import workbook
from reportgen.model.problem import Severity, areas_of
from reportgen.workbook.echoes import SLIPS
from tests.grown import as_workbook, grown

CLEAN = 200
PLANTED = 12  # workbooks in which one slip after the other is planted
FACTORS = (10, 0.1, 1000)
LEAST_FOUND = 0.95
NAMES = ("Tray", "Plant")  # numbers that are codes


def alarms(sheets):
    """Return the slips, and all else that a clean workbook gives no cause for."""
    found = workbook.problems_in(as_workbook(sheets))
    return [
        problem
        for problem in found
        if problem.code in SLIPS or problem.severity is not Severity.REMARK
    ]


def numbers(sheets):
    """Yield the sheet, the column and the rows of each column that holds numbers."""
    for name, rows in sheets.items():
        for column, head in enumerate(rows[0] if name != "Trial" else ()):
            filled = [
                row for row in range(1, len(rows)) if isinstance(rows[row][column], int | float)
            ]
            filled = [row for row in filled if rows[row][column]]
            if filled and head not in NAMES:
                yield name, column, filled


def with_slip(sheets, name, row, column, factor):
    """Return sheets with a number times a factor in one cell, whole where it comes out whole."""
    spoilt = {other: [list(line) for line in lines] for other, lines in sheets.items()}
    value = round(spoilt[name][row][column] * factor, 9)
    spoilt[name][row][column] = int(value) if value == int(value) else value
    return spoilt


def covers(problem, name, row, column):
    if problem.sheet != name or not problem.cell:
        return False
    areas = [range_boundaries(area) for area in areas_of(problem.cell)]
    return any(
        left <= column + 1 <= right and top <= row + 1 <= bottom
        for left, top, right, bottom in areas
    )


def test_clean_workbooks_raise_no_false_alarm():
    found = {seed: alarms(grown(seed)) for seed in range(1000, 1000 + CLEAN)}
    assert {seed: list(map(str, problems)) for seed, problems in found.items() if problems} == {}


def test_95_of_100_slips_are_found_over_all_columns_and_sheets(capsys):
    chance = random.Random(2)
    planted, found = Counter(), Counter()
    for seed in range(2000, 2000 + PLANTED):
        clean = grown(seed)
        for name, column, rows in numbers(clean):
            label = f"{name}, {re.sub(r' [(].*', '', clean[name][0][column])}"
            for factor in FACTORS:
                row = chance.choice(rows)
                problems = workbook.problems_in(
                    as_workbook(with_slip(clean, name, row, column, factor))
                )
                planted[label] += 1
                found[label] += any(covers(problem, name, row, column) for problem in problems)
    with capsys.disabled():
        print("\nslips of ten times, a tenth and a thousand times that were named at their cell")
        for label, number in planted.items():
            print(f"{label:32} {found[label]:3} of {number}")
        print(
            f"{'all':32} {found.total():3} of {planted.total()}:"
            f" {found.total() / planted.total():.1%}"
        )
    assert found.total() >= LEAST_FOUND * planted.total()


@pytest.mark.slow
def test_hardly_any_of_many_clean_workbooks_raises_a_false_alarm():
    raised = [seed for seed in range(5000, 7000) if alarms(grown(seed))]
    assert len(raised) <= 20
