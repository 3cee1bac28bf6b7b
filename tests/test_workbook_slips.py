"""Slips that a grower can still mend: points, units and codes; and the figures that the report flags."""

import random
from datetime import date
from math import log, sqrt

import pytest

from reportgen.metrics.fairness.evidence import flagged
from reportgen.model.problem import Severity
from reportgen.workbook.declaration import SHEETS, Kind
from reportgen.workbook.slips import Likeness
from reportgen.workbook.slips import slips as slips_of
from tests.workbooks import findings, good, put, said, trial, whole, write

WEIGHTS = [21.5, 24.0, 19.8, 30.2, 26.1, 22.7, 17.9, 25.5]


def lognormal(chance, number, variation):
    """Return weights of a coefficient of variation, in g: spread of logarithms sqrt(log(1 + CV^2))."""
    return [round(chance.lognormvariate(3.1, sqrt(log(1 + variation**2))), 1) for _ in range(number)]


def slips(values, treatments):
    """Return the slips among values of treatments, without times, as index and power."""
    none = [None] * len(values)
    found = slips_of(values, Likeness([()] * len(values), treatments, none, none))
    return [(slip.index, slip.power) for slip in found]


@pytest.mark.parametrize("power", [-3, -2, -1, 1, 2, 3])
def test_a_value_that_fits_once_its_point_is_moved_back_has_slipped(power):
    values = [*WEIGHTS, 23.0 * 10**power]
    assert slips(values, "a" * 9) == [(8, power)]


def test_each_group_has_its_own_usual_size():
    small = [value / 10 for value in WEIGHTS]
    groups = ["large"] * 8 + ["small"] * 8
    assert slips([*WEIGHTS, *small], groups) == []
    assert slips([*WEIGHTS[:-1], 2.5, *small], groups) == [(7, -1)]


def test_groups_of_few_are_compared_with_all():
    assert slips([*WEIGHTS, 250.0], [*"ababcdef", "g"]) == [(8, 1)]
    assert slips([20.0, 60.0, 21.0], "aaa") == []


def test_what_growth_does_is_no_slip():
    assert slips([*WEIGHTS, 9.0, 55.0], "a" * 10) == []
    assert slips([0.0, -3.0, *WEIGHTS], "a" * 10) == []


@pytest.mark.parametrize("variation", [0.15, 0.20, 0.25, 0.30])
def test_19_of_20_slips_of_one_place_are_found_and_none_where_there_is_none(variation):
    chance = random.Random(5)
    found, alarms = 0, 0
    for _ in range(200):
        weights, groups = lognormal(chance, 24, variation), ["a"] * 12 + ["b"] * 12
        alarms += len(slips(weights, groups))
        index = chance.randrange(24)
        weights[index] *= chance.choice((10, 0.1))
        found += index in {place for place, _ in slips(weights, groups)}
    assert found >= 190
    assert alarms == 0


@pytest.mark.parametrize("seed", range(8))
def test_whatever_weight_the_report_flags_the_check_has_named(tmp_path, seed):
    chance = random.Random(seed)
    sheets = good()
    for row in sheets["Plants"][1:]:
        row[2] = round(lognormal(chance, 1, 0.3)[0] * chance.choice((1, 1, 1, 1, 2, 10)), 2)
    made = trial(write(sheets, tmp_path / "trial.xlsx"))
    places = {(plant.tray, plant.code): f"C{row}" for row, plant in enumerate(made.plants, 2)}
    named = {one.cell for one in made.findings if one.sheet == "Plants"}
    assert {places[plant.tray, plant.code] for plant, _ in flagged(made)} <= named


def test_plants_weighed_together_are_compared_by_their_mean(tmp_path):
    sheets = put(good(), Plants_F1="Plants weighed", Plants_F2=10, Plants_C2=220, Plants_F6=10, Plants_C6=2300)
    sheets["Trays"][1][3] = sheets["Trays"][2][3] = 20
    (problem,) = [one for one in findings(write(sheets, tmp_path / "trial.xlsx")) if one.sheet == "Plants"]
    assert (problem.cell, problem.advice[:15]) == ("C6", "Type 230 if the")


@pytest.mark.parametrize(
    "blocks",
    [
        "123123",
        ("A", "B", "C") * 2,
        ("shelf 1", "shelf 2", "shelf 3") * 2,
        ("shelf A", "shelf B", "shelf C") * 2,
        ("N1", "S1", "N2") * 2,
        ("left", "right", "middle") * 2,
        ("1-11", "11-1", "2-11") * 2,
    ],
)
def test_codes_in_a_series_are_no_slips(tmp_path, blocks):
    sheets = put(good(), **{f"Trays_C{row}": block for row, block in enumerate(blocks, 2)})
    assert findings(write(sheets, tmp_path / "trial.xlsx")) == ()


@pytest.mark.parametrize(
    "typed", ["shelf 2x", "shel 2", "shlef 2", "shelf2", "Shelf 2", "shelf", "shelff 2", "shelf 22"]
)
def test_a_block_typed_otherwise_once_is_asked_back(tmp_path, typed):
    sheets = put(good(), **{f"Trays_C{row}": f"shelf {(row - 2) % 3 + 1}" for row in range(2, 8)})
    places = said(write(put(sheets, Trays_C3=typed), tmp_path / "trial.xlsx"))
    assert places == [("caution", "Trays!C2:C7" if typed == "shelf 22" else "Trays!C3")]


DATES = [
    (sheet.name, column.name)
    for sheet in SHEETS
    for column in sheet.columns
    if column.kind in (Kind.DATE, Kind.MOMENT) and column.name != "Started on" and sheet.name != "Trial"
]


@pytest.mark.parametrize(("sheet", "name"), DATES)
@pytest.mark.parametrize("year", [2016, 2036])
def test_a_date_of_another_year_is_told_in_each_column_of_dates(tmp_path, sheet, name, year):
    sheets = whole()
    head = sheets[sheet][0]
    at = head.index(name) if name in head else len(head)
    head[at:] = [name, *head[at + 1 :]]
    row = sheets[sheet][1]
    row[at:] = [date(year, 4, 20), *row[at + 1 :]]
    found = [one for one in findings(write(sheets, tmp_path / "trial.xlsx")) if one.severity is Severity.CAUTION]
    place = f"{'ABCDEFGH'[at]}2"
    assert [one for one in found if one.sheet == sheet and one.cell == place and str(year) in one.found]


@pytest.mark.parametrize("sheet", [sheet.name for sheet in SHEETS if sheet.name != "Trial"])
def test_a_header_that_is_cleared_is_told_wherever_values_stand_below(tmp_path, sheet):
    rows = whole()[sheet]
    for at in range(len(rows[0])):
        if any(at < len(row) and row[at] is not None for row in rows[1:]):
            sheets = whole()
            sheets[sheet][0][at] = None
            errors = [one for one in findings(write(sheets, tmp_path / "trial.xlsx")) if one.severity is Severity.ERROR]
            assert [one.sheet for one in errors] == [sheet], rows[0][at]
            assert errors[0].cell[0] == "ABCDEFGH"[at]
