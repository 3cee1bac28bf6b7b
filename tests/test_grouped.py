"""Problems as they are shown: worst first, alike ones as one, and nothing that is said of one cell
said of others.
"""

from dataclasses import replace

import pytest

from reportgen.model.grouped import grouped
from reportgen.model.problem import Problem, Severity

BLANK = Problem(
    Severity.ERROR, "Plants", "C2", "a blank", "a weight", "Fill it in.", code="blank_cell"
)


def at(cell, **other):
    return replace(BLANK, cell=cell, **other)


def test_the_worst_comes_first_and_the_order_stays_within_a_severity():
    found = [
        at("A1", severity=Severity.TO_COME),
        at("A2", severity=Severity.REMARK),
        at("A3", severity=Severity.CAUTION),
        at("B9"),
        at("A1"),
    ]
    assert [one.cell for one in grouped(found)] == ["B9", "A1", "A3", "A2", "A1"]


def test_one_problem_of_many_cells_is_one_line_with_cells_and_number():
    (found,) = grouped(at(f"C{row}") for row in (5, 2, 9))
    assert str(found) == "Plants!C2, C5, C9: a blank (3 cells); expected a weight. Fill it in."
    assert found.count == 3


def test_a_range_stands_for_a_run_only_and_of_many_cells_the_first_are_named():
    (run,) = grouped(at(f"D{row}") for row in (3, 4, 5))
    (apart,) = grouped(at(f"D{row}") for row in (6, 30))
    (many,) = grouped(at(f"K{row}") for row in (5, 9, 12, 13, 20))
    assert (run.place, apart.place) == ("Plants!D3:D5", "Plants!D6, D30")
    assert (many.place, many.cell) == ("Plants!K5, K9 and 3 more", "K5, K9, K12:K13, K20")


def test_ranges_are_joined():
    (found,) = grouped([at("C2:C4", count=3), at("C5, C7", count=2)])
    assert (found.cell, found.count) == ("C2:C5, C7", 5)


def test_a_few_findings_are_said_in_full_and_many_by_examples():
    few = grouped(at(f"C{row}", found=f"value {row}") for row in (2, 3, 4))
    many = grouped(at(f"C{row}", found=f"value {row}") for row in (2, 3, 4, 5))
    assert few[0].found == "value 2; value 3; value 4"
    assert many[0].found == "value 2; value 3; and 2 more alike"


def test_advice_for_one_cell_is_not_given_for_all():
    (found,) = grouped(at(f"C{row}", advice=f"Digits only. Type {row}.") for row in (2, 3))
    assert found.advice == "Digits only."
    (bare,) = grouped(at(f"C{row}", advice=f"Type {row}.") for row in (2, 3))
    assert bare.advice == "Mend each of them."


@pytest.mark.parametrize(
    "other",
    [
        at("D2"),
        at("C3", sheet="Growth"),
        at("C3", code="not_a_number"),
        at("C3", expected="a height"),
        at("C3", severity=Severity.CAUTION),
        at(""),
        at("Log!C3"),
    ],
)
def test_problems_that_are_not_alike_stay_apart(other):
    assert len(grouped([BLANK, other])) == 2


def test_problems_of_a_file_stay_apart():
    assert len(grouped([at("", sheet=""), at("", sheet="")])) == 2
