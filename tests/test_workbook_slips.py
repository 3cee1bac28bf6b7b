"""Slips that a grower can still mend: points, units and codes; and the figures that the report
flags.
"""

# ruff: noqa: E501 - one planted slip a line reads best

import random
from datetime import date, datetime, time, timedelta
from math import log, sqrt

import pytest
from openpyxl import load_workbook

from reportgen import pipeline
from reportgen.metrics.validity.evidence import flagged
from reportgen.model.problem import Severity
from reportgen.workbook.declaration import SHEETS, Kind
from reportgen.workbook.slips import Likeness
from reportgen.workbook.slips import slips as slips_of
from tests.workbooks import HARVEST, START, findings, good, least, put, said, trial, whole, write

WEIGHTS = [21.5, 24.0, 19.8, 30.2, 26.1, 22.7, 17.9, 25.5]


def lognormal(chance, number, variation):
    """Return weights of a coefficient of variation, in g: spread of logarithms sqrt(log(1 + CV^2))."""
    return [
        round(chance.lognormvariate(3.1, sqrt(log(1 + variation**2))), 1) for _ in range(number)
    ]


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
    sheets = put(
        good(),
        Plants_F1="Plants weighed",
        Plants_F2=10,
        Plants_C2=220,
        Plants_F6=10,
        Plants_C6=2300,
    )
    sheets["Trays"][1][3] = sheets["Trays"][2][3] = 20
    (problem,) = [
        one for one in findings(write(sheets, tmp_path / "trial.xlsx")) if one.sheet == "Plants"
    ]
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
    if column.kind in (Kind.DATE, Kind.MOMENT)
    and column.name != "Started on"
    and sheet.name != "Trial"
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
    found = [
        one
        for one in findings(write(sheets, tmp_path / "trial.xlsx"))
        if one.severity is Severity.CAUTION
    ]
    place = f"{'ABCDEFGH'[at]}2"
    assert [
        one for one in found if one.sheet == sheet and one.cell == place and str(year) in one.found
    ]


@pytest.mark.parametrize("sheet", [sheet.name for sheet in SHEETS if sheet.name != "Trial"])
def test_a_header_that_is_cleared_is_told_wherever_values_stand_below(tmp_path, sheet):
    rows = whole()[sheet]
    for at in range(len(rows[0])):
        if any(at < len(row) and row[at] is not None for row in rows[1:]):
            sheets = whole()
            sheets[sheet][0][at] = None
            errors = [
                one
                for one in findings(write(sheets, tmp_path / "trial.xlsx"))
                if one.severity is Severity.ERROR
            ]
            assert [one.sheet for one in errors] == [sheet], rows[0][at]
            assert errors[0].cell[0] == "ABCDEFGH"[at]


# ---- on every sheet: what probably was meant -----------------------------------------------------


def slip_at(sheets, path, sheet, cell):
    """Return the one thing that is said of a cell."""
    (problem,) = [
        one for one in findings(write(sheets, path)) if one.sheet == sheet and one.cell == cell
    ]
    return problem


SLIPPED = {
    "millilitres typed for litres": ("Solution", "D3", 1500, '1500 L is about 1000 times what others of "top-up"', "Type 1.5 if the point slipped or the number is in mL"),
    "milligrams typed for grams": ("Plants", "C4", 24000, "24000 g is about 1000 times", "Type 24 if the point slipped or the number is in mg"),
    "kilograms typed for grams": ("Plants", "C4", 0.024, "0.024 g is about 1/1000 of", "Type 24 if the point slipped or the number is in kg"),
    "millimetres typed for centimetres": ("Plants", "D4", 185, "185 cm is about 10 times", "Type 18.5 if the point slipped or the number is in mm"),
    "square centimetres typed for square metres": ("Treatments", "C2", 1800, "1800 m2 is about 10000 times", "Type 0.18 if the point slipped or the number is in cm2"),
    "an EC in tenths": ("Solution", "E5", 16, "16 mS/cm is about 10 times", "Type 1.6 if the point slipped"),
    "a pH in tenths": ("Solution", "F5", 0.59, "0.59 is about 1/10 of", "Type 5.9 if the point slipped"),
    "a place of a light map": ("Light", "C3", 100, "100 cm is about 10 times", "Type 10 if the point slipped"),
    "a reading of light": ("Light", "F3", 24, "24 µmol/m2/s is about 1/10 of", "Type 240 if the point slipped"),
    "a number of plants": ("Trays", "D3", 40, "40 is about 10 times", "Type 4 if the point slipped"),
    "a height while it grew": ("Growth", "D5", 84, "84 cm is about 10 times", "Type 8.4 if the point slipped or the number is in mm"),
    "carbon dioxide": ("Climate", "E4", 4300, "4300 ppm is about 10 times", "Type 430 if the point slipped"),
}  # fmt: skip


def many():
    """Return a whole workbook with a third treatment, a light map of 24 points and a day of
    climate.
    """
    sheets = whole()
    sheets["Treatments"].append(["third", "Third", 0.18, 16, "05:00"])
    sheets["Trays"] += [[f"C{n}", "third", n, 4] for n in (1, 2, 3)]
    sheets["Plants"] += [
        [f"C{n}", plant, 21.0 + n + plant, 16.0 + plant] for n in (1, 2, 3) for plant in range(1, 5)
    ]
    sheets["Light"][1:] = [
        [code, date(2026, 4, 1), x, y, 30, 210 + x + y]
        for code in ("half", "full", "third")
        for x in (10, 40)
        for y in (10, 20, 30, 40)
    ]
    hours = [datetime(2026, 4, 3, hour) for hour in range(12)]
    sheets["Climate"][1:] = [["all", hour, 20.5 + hour.hour / 10, 61.0, 430] for hour in hours]
    return sheets


@pytest.mark.parametrize("mistake", SLIPPED)
def test_a_slip_is_named_with_what_was_probably_meant(tmp_path, mistake):
    sheet, cell, value, found, advice = SLIPPED[mistake]
    problem = slip_at(
        put(many(), **{f"{sheet}_{cell}": value}), tmp_path / "trial.xlsx", sheet, cell
    )
    assert (problem.severity, problem.code) == (Severity.CAUTION, "slipped_point")
    assert found in problem.found
    assert advice in problem.advice


def test_500_litres_for_500_millilitres_are_told_with_the_figure(tmp_path):
    sheets = put(
        good(),
        Solution_D3=500,
        Solution_D6=0.45,
        Solution_D9=0.6,
        Solution_D12=0.55,
        Solution_D15=0.5,
    )
    problem = slip_at(put(sheets, Solution_D18=0.52), tmp_path / "trial.xlsx", "Solution", "D3")
    assert (
        str(problem)
        == 'Solution!D3: 500 L is about 1000 times what others of "top-up" have at that time;'
        " expected a value near 0.52 L. Type 0.5 if the point slipped or the number is in mL; it"
        " was used as it stands."
    )


IMPOSSIBLE = {
    "microsiemens": ({"Solution_E3": 1600}, "Check 1600: 1.6 mS/cm may be meant"),
    "degrees in tenths": ({"Climate_C4": 205}, "Check 205: 20.5 °C may be meant"),
    "a pH in tenths": ({"Solution_F3": 59}, "Check 59: 5.9 may be meant"),
    "a damp sensor": ({"Climate_D4": 104}, "Check 104, or leave the cell blank."),
}


@pytest.mark.parametrize("mistake", IMPOSSIBLE)
def test_an_impossible_value_that_one_move_of_the_point_makes_usual_is_told_with_it(
    tmp_path, mistake
):
    cells, advice = IMPOSSIBLE[mistake]
    (problem,) = findings(write(put(whole(), **cells), tmp_path / "trial.xlsx"))
    assert problem.severity is Severity.ERROR
    assert problem.advice.startswith(advice)


def test_a_unit_of_the_header_is_that_of_the_message(tmp_path):
    sheets = put(good(), Plants_C1="Fresh weight (oz)", Plants_C4=240)
    assert "expected a value near 25 oz. Type 24 if" in str(
        slip_at(sheets, tmp_path / "t.xlsx", "Plants", "C4")
    )


def test_a_slip_is_named_beside_a_date_that_cannot_be_read(tmp_path):
    sheets = put(
        many(),
        Solution_D3=1500,
        Solution_B6="soon",
        Solution_B9=None,
        Climate_E4=4300,
        Climate_B5="noon",
    )
    places = {(one.sheet, one.cell) for one in findings(write(sheets, tmp_path / "trial.xlsx"))}
    assert places >= {
        ("Solution", "D3"),
        ("Solution", "B6"),
        ("Solution", "B9"),
        ("Climate", "E4"),
        ("Climate", "B5"),
    }


def test_a_column_with_many_slips_is_one_message(tmp_path):
    sheets = many()
    for row in range(2, 8):
        put(sheets, **{f"Plants_D{row}": sheets["Plants"][row - 1][3] / 100})
    (problem,) = [
        one for one in findings(write(sheets, tmp_path / "trial.xlsx")) if one.sheet == "Plants"
    ]
    assert problem.cell == "D2:D7"
    assert problem.found.startswith("0.165 cm and 5 more are about 1/100 of")


def test_of_two_that_differ_a_thousand_times_both_are_named(tmp_path):
    sheets = put(whole(), Treatments_F1="Rated power (W)", Treatments_F2=0.12, Treatments_F3=140)
    problem = slip_at(sheets, tmp_path / "trial.xlsx", "Treatments", "F2:F3")
    assert problem.found == "0.12 and 140 W differ by about 1000 times"


@pytest.mark.parametrize(("power", "other"), [(32, 200), (0, 120), (60, 300)])
def test_lamps_of_unlike_power_are_no_slip(tmp_path, power, other):
    sheets = put(whole(), Treatments_F1="Rated power (W)", Treatments_F2=power, Treatments_F3=other)
    assert findings(write(sheets, tmp_path / "trial.xlsx")) == ()


def test_a_treatment_that_stays_small_and_a_plant_that_hardly_grows_are_no_slips(tmp_path):
    sheets = many()
    for row in sheets["Plants"][13:25]:
        row[2] = round(row[2] / 12, 2)
    for row in sheets["Growth"][1:]:
        if row[0] == "B2":
            row[3] = round(row[3] / 11, 2)
    assert [
        one
        for one in findings(write(sheets, tmp_path / "trial.xlsx"))
        if one.code == "slipped_point"
    ] == []


# ---- counters, growth and dates ------------------------------------------------------------------


def test_a_counter_that_leaps_and_comes_back_is_wrong_where_it_leaps(tmp_path):
    problem = slip_at(put(good(), Meter_D3=1065), tmp_path / "trial.xlsx", "Meter", "D3")
    assert problem.severity is Severity.ERROR
    assert problem.found == 'meter "m-half" stands at 1065 kWh here and falls to 112 kWh in row 4'
    assert problem.advice.startswith("Type 106.5 in row 3 if the point slipped.")


def test_a_last_reading_with_a_digit_too_many_is_a_caution(tmp_path):
    problem = slip_at(put(good(), Meter_D4=1120), tmp_path / "trial.xlsx", "Meter", "D4")
    assert (problem.severity, problem.code) == (Severity.CAUTION, "counter_jump")
    assert problem.expected == "a reading near 112 kWh"


def test_lamps_of_unlike_use_and_a_lamp_that_was_off_are_no_leaps(tmp_path):
    sheets = put(good(), Meter_D2=0, Meter_D3=650, Meter_D4=1200, Meter_D6=100, Meter_D7=100.4)
    found = [
        one for one in findings(write(sheets, tmp_path / "trial.xlsx")) if one.sheet == "Meter"
    ]
    assert [one.code for one in found] == [
        "counter_pace"
    ]  # 3000 times the use of the other lamp is asked back


def measured(heights):
    """Return a workbook with the heights of four plants, week by week."""
    sheets = whole()
    rows = [
        [tray, 1, date(2026, 4, 2 + 7 * week), round(height * size, 1)]
        for week, height in enumerate((4, 7, 12, 18, 24))
        for tray, size in (("A1", 1.0), ("A2", 1.1), ("B1", 0.9), ("B2", 1.2))
    ]
    sheets["Growth"] = [["Tray", "Plant", "Date", "Height (cm)"], *rows]
    return put(sheets, **heights)


def test_a_plant_that_shrinks_is_named_and_one_that_rests_is_not(tmp_path):
    problem = slip_at(measured({"Growth_D18": 11}), tmp_path / "trial.xlsx", "Growth", "D18")
    assert (problem.severity, problem.code) == (Severity.CAUTION, "measure_shrinks")
    assert problem.found == "Height falls from 18 cm in row 14 to 11 cm"
    assert findings(write(measured({"Growth_D18": 17.6}), tmp_path / "rest.xlsx")) == ()


def test_a_measure_that_goes_up_and_down_on_all_plants_does_not_shrink(tmp_path):
    sheets = measured({"Growth_E1": "Leaf temperature (°C)"})
    for number, row in enumerate(sheets["Growth"][1:]):
        row.append(24 - 6 * (number // 4 % 2) + number % 4)
    assert findings(write(sheets, tmp_path / "trial.xlsx")) == ()


@pytest.mark.parametrize(
    ("sheet", "cell"),
    [("Solution", "B3"), ("Growth", "C3"), ("Light", "B2"), ("Observations", "A2")],
)
def test_a_date_of_last_year_is_told_with_the_year_that_was_meant(tmp_path, sheet, cell):
    sheets = put(whole(), Observations_A2=date(2026, 4, 20))
    problem = slip_at(
        put(sheets, **{f"{sheet}_{cell}": date(2025, 4, 20)}), tmp_path / "trial.xlsx", sheet, cell
    )
    assert (problem.severity, problem.code) == (Severity.CAUTION, "slipped_year")
    assert "Type 2026-04-20 if the year slipped" in problem.advice


def test_a_start_in_the_wrong_year_is_told_by_what_was_recorded(tmp_path):
    problem = slip_at(
        put(good(), Trial_B5=date(2025, 4, 1), Trial_B4=None),
        tmp_path / "trial.xlsx",
        "Trial",
        "B5",
    )
    assert (problem.code, problem.expected) == ("slipped_year", "a date of the year 2026")


def test_a_harvest_in_january_typed_with_the_old_year_is_asked_back(tmp_path):
    sheets = put(least(), Trial_B4=None, Trial_B5=date(2025, 12, 20), Trial_B6=date(2025, 1, 30))
    problem = slip_at(sheets, tmp_path / "trial.xlsx", "Trial", "B6")
    assert problem.advice.startswith("Is 2026-01-30 meant?")


def test_a_day_out_of_the_order_of_a_log_is_told(tmp_path):
    rows = [["A1", date(2026, 4, day), "top-up", 0.5, 1.6, 5.9, 21.0] for day in (3, 6, 9, 12)]
    sheets = whole()
    sheets["Solution"][2:2] = rows
    clean = write(sheets, tmp_path / "clean.xlsx")
    assert findings(clean) == ()
    problem = slip_at(
        put(sheets, Solution_B4=date(2026, 4, 26)), tmp_path / "trial.xlsx", "Solution", "B4"
    )
    assert (problem.severity, problem.code) == (Severity.CAUTION, "date_out_of_order")
    assert problem.found == "2026-04-26 stands between 2026-04-03 and 2026-04-09"


def test_a_row_that_was_added_later_at_the_end_is_no_slip(tmp_path):
    sheets = whole()
    sheets["Solution"].append(["A1", date(2026, 4, 9), "top-up", 1.2, 1.6, 5.9, 21.0])
    assert findings(write(sheets, tmp_path / "trial.xlsx")) == ()


def test_slips_stand_in_the_marked_copy(tmp_path):
    source = write(put(many(), Solution_D3=1500), tmp_path / "trial.xlsx")
    pipeline.check(source, tmp_path / "marked.xlsx")
    copy = load_workbook(tmp_path / "marked.xlsx")
    assert "Type 1.5 if the point slipped" in copy["Solution"]["D3"].comment.text


# ---- meters beside one another -------------------------------------------------------------------


def metered(*uses, start=1100.0):
    """Return a workbook whose meters, one a treatment, were read at the start and at the end only;
    uses in kWh.
    """
    sheets = good()
    sheets["Meter"] = sheets["Meter"][:1]
    for number, used in enumerate(uses):
        treatment = ("half", "full")[number % 2]
        for day, reading in ((START, start), (HARVEST, start + used)):
            moment = datetime.combine(day, time(9))
            sheets["Meter"].append([f"m{number}", treatment, moment, reading, None])
    return sheets


def paces(sheets, path):
    return [one for one in findings(write(sheets, path)) if one.code == "counter_pace"]


def test_a_last_reading_whose_point_slipped_is_told_by_the_other_meters(tmp_path):
    sheets = put(metered(129.1, 141.0, 118.0, 136.5), Meter_D3=12291)
    (problem,) = paces(sheets, tmp_path / "trial.xlsx")
    assert (problem.severity, problem.place) == (Severity.CAUTION, "Meter!D3")
    assert problem.advice == "Type 1229.1 if the point slipped; it was used as it stands."


def test_of_two_meters_that_are_far_apart_both_are_named(tmp_path):
    (problem,) = paces(put(metered(129.1, 141.0), Meter_D3=12291), tmp_path / "trial.xlsx")
    assert problem.place == "Meter!D3, D5"
    assert problem.found == 'meter "m0" counts 79 times as much a day as meter "m1"'


def test_a_meter_of_ten_times_the_use_is_told_where_it_is_like_the_others_once_its_point_is_moved(
    tmp_path,
):
    sheets = put(metered(129.1, 131.0, 128.0, start=0.0), Meter_D3=1291)
    (problem,) = paces(sheets, tmp_path / "trial.xlsx")
    assert (problem.place, problem.advice[:12]) == ("Meter!D3", "Type 129.1 i")


@pytest.mark.parametrize(
    "uses", [(130.0, 9.0), (130.0, 22.0, 128.0, 20.0), (150.0, 2.0, 140.0, 2.5)]
)
def test_meters_of_unlike_devices_are_no_slips(tmp_path, uses):
    assert paces(metered(*uses), tmp_path / "trial.xlsx") == []


def test_two_readings_in_a_row_whose_point_slipped_are_told(tmp_path):
    sheets = good()
    sheets["Meter"] = sheets["Meter"][:1]
    readings = (100.0, 103.1, 106.0, 109.2, 112.0, 115.1)
    for treatment in ("half", "full"):
        for week, reading in enumerate(readings):
            moment = datetime.combine(START + timedelta(7 * week), time(9))
            sheets["Meter"].append([f"m-{treatment}", treatment, moment, reading, None])
    assert findings(write(sheets, tmp_path / "clean.xlsx")) == ()
    found = findings(write(put(sheets, Meter_D6=1120.0, Meter_D7=1151.0), tmp_path / "trial.xlsx"))
    (problem,) = (one for one in found if one.sheet == "Meter")
    assert (problem.code, problem.place, problem.advice[:10]) == (
        "counter_jump",
        "Meter!D6",
        "Type 112 i",
    )


# ---- sizes and units of whole columns ------------------------------------------------------------


def graded(weight):
    """Return a workbook with pickings of about 30 g, one of another weight."""
    sheets = good()
    rows = [
        [tray, None, date(2026, 4, day), 26.0 + day % 4 + number, "small"]
        for number, tray in enumerate(("A1", "A2", "A3", "B1", "B2", "B3"))
        for day in (20, 24, 29)
    ]
    sheets["Harvests"] = [["Tray", "Plant", "Date", "Weight (g)", "Grade"], *rows]
    for row in sheets["Plants"]:
        row[2] = row[2] if isinstance(row[2], str) else None
    return put(sheets, Harvests_D5=weight)


def test_a_weight_of_37_times_the_like_ones_is_asked_back_though_no_power_of_ten_mends_it(tmp_path):
    assert not any(
        one.sheet == "Harvests" and one.cell
        for one in findings(write(graded(27), tmp_path / "a.xlsx"))
    )
    problem = slip_at(graded(1120), tmp_path / "trial.xlsx", "Harvests", "D5")
    assert (problem.severity, problem.code) == (Severity.CAUTION, "far_from_like_cells")
    assert "times the median of the like cells" in problem.found


def in_kilograms(trays):
    sheets = good()
    for row in sheets["Plants"][1:]:
        if row[0][0] in trays:
            row[2] = row[2] / 1000
    return sheets


def said_of_weights(sheets, path):
    return [one for one in findings(write(sheets, path)) if one.sheet == "Plants"]


def test_a_whole_column_in_kilograms_is_one_caution(tmp_path):
    (problem,) = said_of_weights(in_kilograms("AB"), tmp_path / "trial.xlsx")
    assert (problem.severity, problem.code, problem.cell) == (
        Severity.CAUTION,
        "weights_in_kilograms",
        "C2:C25",
    )
    assert problem.found == "all 24 weights are below 0.1 g"


def test_one_treatment_in_kilograms_is_said_to_be_a_thousandth_of_the_others(tmp_path):
    (problem,) = said_of_weights(in_kilograms("B"), tmp_path / "trial.xlsx")
    assert (problem.code, problem.cell) == ("weights_in_kilograms", "C14:C25")
    assert (
        problem.found
        == 'the 12 weights of "full" are about 1/1000 of those of the other treatments'
    )


# ---- the words of the cell -----------------------------------------------------------------------


def test_a_cell_with_a_unit_of_its_own_is_quoted_and_the_unit_meant_is_named(tmp_path):
    problem = slip_at(put(good(), Plants_C9="20.3 kg"), tmp_path / "trial.xlsx", "Plants", "C9")
    assert problem.found.startswith('"20.3 kg" is about 1000 times what others of ')
    assert problem.advice == "Type 20.3 g if that is the unit; it was used as it stands."


@pytest.mark.parametrize(
    ("cells", "sheet", "cell", "said"),
    [
        ({"Solution_C3": "relleno"}, "Solution", "C3", "Did you mean fill or top-up?"),
        ({"Solution_C3": "topp-up"}, "Solution", "C3", "Did you mean top-up?"),
        ({"Plants_E3": "vivo"}, "Plants", "E3", "Did you mean harvested?"),
    ],
)
def test_a_word_that_may_mean_two_choices_is_asked_back_with_both(
    tmp_path, cells, sheet, cell, said
):
    assert slip_at(put(good(), **cells), tmp_path / "trial.xlsx", sheet, cell).advice == said


def test_a_limit_is_said_in_digits(tmp_path):
    problem = slip_at(put(good(), Plants_C3=2e7), tmp_path / "trial.xlsx", "Plants", "C3")
    assert "at most 1,000,000 g" in problem.expected
