"""What a log of its owner's own layout leaves open and would change a figure: it is asked, or stops the report."""

from datetime import datetime, timedelta

import openpyxl
import pytest

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.numbers import TextNumbers
from reportgen.adopt.questions import BY_SHEET, NOT_WEIGHED, NOTHING_PICKED, answered, unanswered
from reportgen.adopt.unanswered import unanswered as still_open
from reportgen.model.problem import WorkbookError
from tests.adopting import HEAD as HEAD_OF_ROWS
from tests.adopting import PLANTS, TRIAL, adopt, answering, book, rows, said, taken_in
from tests.test_adopt_habits import HEAD, ROWS, TRAYS, settled, text_file

DAYS = [datetime(2026, 1, 5) + timedelta(7 * week) for week in range(3)]
WATER = [(f"T{tray}", day, "fill", 20.0 + tray) for tray in range(1, 5) for day in DAYS]


def unit_questions(log):
    return [question for question in unanswered(understood(log_of((log,)))) if question.kind == "unit"]


def climate(values, header="Temp"):
    """Return a logger's table, a reading each hour."""
    begin = datetime(2026, 1, 5)
    return [("Time", header, "RH (%)"), *((begin + timedelta(hours=at), one, 55 + at) for at, one in enumerate(values))]


# --- units


def test_a_volume_without_a_unit_is_asked(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS], Water=[("Tray", "Date", "Event", "Volume"), *WATER])
    (asked,) = unit_questions(log)
    assert asked.text == 'In which unit is "Volume"?'
    assert {"L", "mL", "US gal"} <= set(asked.choices)
    assert asked.default == ""
    adopt(log)
    (open_one,) = (one for one in still_open(settled(log)) if "the unit of" in one.found)
    assert '"Volume"' in open_one.found


def test_the_answer_for_a_volume_is_its_unit_and_a_weight_is_none(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS], Water=[("Tray", "Date", "Event", "Volume"), *WATER])
    found = understood(log_of((log,)))
    key = unit_questions(log)[0].key
    made = answered(found, key, "mL").adoption
    assert [one.columns["Volume"].unit for one in made.tables if one.gives == "Solution"] == ["mL"]
    with pytest.raises(ValueError, match="a unit such as L"):
        answered(found, key, "kg")


@pytest.mark.parametrize("header", ["Volume (L)", "Litres", "mL added", "Water L"])
def test_a_volume_that_names_its_unit_is_not_asked(tmp_path, header):
    log = book(tmp_path, Log=[HEAD, *ROWS], Water=[("Tray", "Date", "Event", header), *WATER])
    assert unit_questions(log) == []
    assert any("Volume" in one.columns for one in understood(log_of((log,))).adoption.tables)


def test_two_volumes_of_different_headers_are_asked_one_by_one(tmp_path):
    lines = [(f"T{tray}", day, 20.0 + tray, 300.0 + tray) for tray in range(1, 5) for day in DAYS]
    log = book(tmp_path, Log=[HEAD, *ROWS], Water=[("Tray", "Date", "Solution added", "Drained volume"), *lines])
    assert [one.text for one in unit_questions(log)] == [
        'In which unit is "Solution added"?',
        'In which unit is "Drained volume"?',
    ]


@pytest.mark.parametrize(
    ("values", "default"),
    [((18.5, 24.0, 29.5, 21.0), "°C"), ((64.0, 75.5, 88.0, 70.0), "°F"), ((2.0, 42.0, 40.0, 45.0), "")],
)
def test_a_temperature_without_a_unit_is_asked_with_the_unit_that_its_values_can_only_be_in(tmp_path, values, default):
    log = book(tmp_path, Log=[HEAD, *ROWS], Logger=climate(values))
    (asked,) = unit_questions(log)
    assert (asked.choices, asked.default) == (("°C", "°F"), default)
    adopt(log)
    assert [one.columns["Air temperature"].unit for one in settled(log).tables if one.gives == "Climate"] == ["?"]


@pytest.mark.parametrize("header", ["Temp (°C)", "Temp C", "Air_temp_F", "Temperature Celsius"])
def test_a_temperature_that_names_its_unit_is_not_asked(tmp_path, header):
    log = book(tmp_path, Log=[HEAD, *ROWS], Logger=climate((18.5, 24.0, 29.5, 21.0), header))
    assert unit_questions(log) == []
    (table,) = (one for one in understood(log_of((log,))).adoption.tables if one.gives == "Climate")
    assert table.columns["Air temperature"].header == header


def test_a_settings_file_without_the_unit_of_a_volume_stops_the_report(tmp_path):
    log = book(tmp_path, Log=rows(), Water=[("Shelf", "Date", "Event", "Water"), ("A", DAYS[1], "fill", 20.0)])
    table = '[[table]]\nsheet = "Water"\ngives = "Solution"\ncolumns = { Tray = "Shelf", Date = "Date", Event = "Event"'
    silent = f'{PLANTS}{table}, Volume = "Water" }}\n{TRIAL}'
    assert any('no unit is written for "Water"' in one for one in said(log, silent))
    told = silent.replace('Volume = "Water"', 'Volume = { from = "Water", unit = "mL" }')
    assert taken_in(log, told).tables[-1].units["Volume"] == "mL"


# --- pickings


def cut(number, trays=("W1", "W2", "P1", "P2")):
    """Return a sheet of one cut: the same trays each time, three plants a tray."""
    return [
        ("Tray", "Fresh weight (g)"),
        *((tray, 20.0 + at + number + plant / 4) for at, tray in enumerate(trays) for plant in (1, 2, 3)),
    ]


def treatments(log):
    """Return what the tables of plants say of their treatment, with the questions that ask for it."""
    found = understood(log_of((log,)))
    told = [one.constants.get("Treatment") for one in found.adoption.tables if one.gives == "Plants"]
    return told, [one for one in unanswered(found) if one.kind in ("treatment", "letters")]


@pytest.mark.parametrize(
    "names",
    [
        ("Coupe 1", "Coupe 2"),
        ("1st cut", "2nd cut"),
        ("Flush 1", "Flush 2"),
        ("1. Ernte", "2. Ernte"),
        ("Corte 12 mayo", "Corte 9 junio"),
        ("Oogst", "Oogst 2"),
        ("Raccolta 2026-03-02", "Raccolta 2026-04-06"),
        ("Harvest wk 5", "Harvest wk 9"),
        ("Welle_1", "Welle_2"),
        ("1", "2"),
    ],
)
def test_sheets_that_are_named_like_cuts_are_no_treatments(tmp_path, names):
    trays = ("1", "2", "3", "4")
    log = book(tmp_path, **{name: cut(at, trays) for at, name in enumerate(names)})
    told, (question,) = treatments(log)
    assert told == ["?", "?"]
    assert question.tables == (0, 1)


def test_the_question_for_the_treatment_of_cuts_says_that_they_must_be_added_up(tmp_path):
    log = book(tmp_path, **{"Cut 1": cut(1, ("1", "2")), "Cut 2": cut(2, ("1", "2"))})
    (question,) = treatments(log)[1]
    assert "add up the cuts of a plant first" in question.why


def test_the_treatment_in_the_names_of_cuts_is_taken_without_the_cut(tmp_path):
    names = ("Cut 1 warm", "Cut 2 warm", "Cut 1 plain", "Cut 2 plain")
    log = book(tmp_path, **{name: cut(at, (f"{name[-2]}1", f"{name[-2]}2")) for at, name in enumerate(names)})
    assert treatments(log)[0] == ["warm", "warm", "plain", "plain"]


@pytest.mark.parametrize("names", [("Harvest warm", "Harvest plain"), ("Cut tent 1", "Cut tent 2")])
def test_a_treatment_beside_the_word_harvest_is_one(tmp_path, names):
    log = book(tmp_path, **{name: cut(at, ("1", "2", "3")) for at, name in enumerate(names)})
    assert treatments(log) == ([name.removeprefix("Harvest ") for name in names], [])


def test_sheets_that_hold_the_same_trays_by_names_of_their_own_are_no_treatments(tmp_path):
    log = book(tmp_path, **{"Ann": cut(1), "Ben": cut(2)})
    told, questions = treatments(log)
    assert "Ann" not in told
    assert {one.kind for one in questions} == {"letters"}


@pytest.mark.parametrize("again", [False, True])
def test_the_owner_may_say_that_such_sheets_are_treatments_with_trays_of_their_own(tmp_path, again):
    log = book(tmp_path, **{"Ann": cut(1), "Ben": cut(2)})
    if again:
        adopt(log)
    adopt(log, talk=answering(letters=BY_SHEET, independent="Tray", **{"Reference treatment": "Ann"}))
    trial = pipeline.checked(log)
    assert {(tray.code, tray.treatment) for tray in trial.trays} == {
        (f"{sheet}-{tray}", sheet) for sheet in ("Ann", "Ben") for tray in ("W1", "W2", "P1", "P2")
    }


@pytest.mark.parametrize("numbered", [False, True])
def test_plants_that_stand_on_several_sheets_are_said_to_be_cuts_that_must_be_added_up(tmp_path, numbered):
    head, lines = (HEAD, ROWS) if numbered else (HEAD[:2] + HEAD[3:], [(*row[:2], row[3]) for row in ROWS])
    again = [(*line[:-1], line[-1] + 1) for line in lines]
    log = book(tmp_path, **{"Cut 1": [head, *lines], "Cut 2": [head, *again]})
    adopt(log, talk=answering(**TRAYS))
    found = [one for one in all_said(log) if one.sheet == "Cut 2" and "stands on Cut 1 too" in one.found]
    assert ["add up their cuts" in one.advice for one in found] == [True]


def all_said(log):
    try:
        return pipeline.checked(log).findings
    except WorkbookError as error:
        return error.problems


# --- several weights side by side

FLUSHES = ("1st flush (g)", "2nd flush (g)", "3rd flush (g)")
SACKS = [(f"S{at}", ("straw", "wood")[at % 2], 300.0 + at, 220.0 + at, 90.0 + at) for at in range(1, 9)]
BAGS = {"mass": "Fresh weight", "per": "pot", "independent": "Sack", "Reference treatment": "straw"}


def sacks(tmp_path, lines=tuple(SACKS), headers=FLUSHES):
    return book(tmp_path, Log=[("Sack", "Substrate", *headers), *lines])


def yields(log):
    return {plant.tray: plant.fresh_weight for plant in pipeline.checked(log).plants}


@pytest.mark.parametrize(
    "headers",
    [
        FLUSHES,
        ("Cut 1", "Cut 2", "Cut 3"),
        ("Picking 1 (g)", "Picking 2 (g)", "Picking 3 (g)"),
        ("Coupe 1 (g)", "Coupe 2 (g)", "Coupe 3 (g)"),
        ("Fresh weight harvest 1 (g)", "Fresh weight harvest 2 (g)", "Fresh weight harvest 3 (g)"),
        ("1. Ernte [g]", "2. Ernte [g]", "3. Ernte [g]"),
        ("FW1 (g)", "FW2 (g)", "FW3 (g)"),
    ],
)
def test_which_of_several_weights_side_by_side_is_meant_is_asked(tmp_path, headers):
    log = sacks(tmp_path, headers=headers)
    (question,) = (one for one in unanswered(understood(log_of((log,)))) if one.kind == "pickings")
    assert question.choices == (" + ".join(headers), *headers)
    assert question.default == ""
    adopt(log)
    with pytest.raises(WorkbookError, match="the header that it stands under"):
        pipeline.checked(log)


def test_upper_headers_that_name_cuts_are_no_treatments(tmp_path):
    upper = (None, None, "Cut 1", None, "Cut 2", None)
    head = ("Sack", "Substrate", "Fresh weight (g)", "Dry weight (g)", "Fresh weight (g)", "Dry weight (g)")
    log = book(tmp_path, Log=[upper, head, *((*row[:3], row[2] / 10, row[3], row[3] / 10) for row in SACKS)])
    (table,) = understood(log_of((log,))).adoption.tables
    assert (table.columns["Treatment"].header, table.columns["Fresh weight"].header) == ("Substrate", "?")


def test_weights_that_their_owner_adds_up_are_added_up(tmp_path):
    log = sacks(tmp_path)
    adopt(log, talk=answering(**BAGS))
    assert yields(log)["S1"] == pytest.approx(301 + 221 + 91)


def test_weights_without_a_unit_that_are_added_up_are_in_the_unit_that_is_asked(tmp_path):
    log = sacks(tmp_path, headers=("Cut 1", "Cut 2", "Cut 3"))
    adopt(log, talk=answering(unit="oz", **BAGS))
    assert yields(log)["S1"] == pytest.approx((301 + 221 + 91) * 28.349523125)  # the international avoirdupois ounce


def test_columns_in_two_units_are_not_added_up(tmp_path):
    log = book(tmp_path, Log=[(*HEAD_OF_ROWS[:3], "a (g)", "b (oz)"), *((*row, 1.5) for row in rows()[1:])])
    both = PLANTS.replace('from = "wt"', 'from = "a (g) + b (oz)"')
    assert any("adds up columns in different units" in one for one in said(log, both + TRIAL))


def test_one_of_several_weights_may_be_meant(tmp_path):
    log = sacks(tmp_path, [(*row[:4], None) for row in SACKS])
    adopt(log, talk=answering(pickings="2nd flush (g)", **BAGS))
    assert yields(log)["S1"] == pytest.approx(221)


@pytest.mark.parametrize(("meant", "expected"), [(NOTHING_PICKED, {"S1": 613, "S2": 524}), (NOT_WEIGHED, {"S1": 613})])
def test_a_blank_among_weights_that_are_added_up_is_asked(tmp_path, meant, expected):
    lines = [(*SACKS[1][:4], None) if row is SACKS[1] else row for row in SACKS]
    log = sacks(tmp_path, lines)
    asked = [one.text for one in unanswered(understood(log_of((log,)))) if one.kind == "unpicked"]
    assert asked == ["What does a blank cell mean among these weights?"]
    adopt(log, talk=answering(unpicked=meant, stop="day", **BAGS))
    adopt(log, talk=answering(**BAGS))
    assert {sack: weight for sack, weight in yields(log).items() if sack in ("S1", "S2")} == expected


@pytest.mark.parametrize("stop", ["unpicked", "mass", "per", "crop"])
def test_answers_on_several_weights_are_kept_where_their_owner_stops_between(tmp_path, stop):
    lines = [(*SACKS[1][:4], None) if row is SACKS[1] else row for row in SACKS]
    log = sacks(tmp_path, lines, ("Cut 1", "Cut 2", "Cut 3"))
    adopt(log)
    adopt(log, talk=answering(stop=stop, **BAGS))
    left = [one.kind for one in unanswered(understood(log_of((log,))))]
    assert left[0] == stop
    adopt(log, talk=answering(**BAGS))
    assert (yields(log)["S1"], yields(log)["S2"]) == (613, 524)


def test_a_plant_that_died_between_two_pickings_is_lost(tmp_path):
    lines = [(*SACKS[1][:3], "dead", None) if row is SACKS[1] else row for row in SACKS]
    log = sacks(tmp_path, lines)
    adopt(log, talk=answering(unpicked=NOTHING_PICKED, **BAGS))
    assert [plant.tray for plant in pipeline.checked(log).plants if str(plant.status) == "dead"] == ["S2"]


def test_a_total_among_the_columns_settles_it(tmp_path):
    log = sacks(tmp_path, [(*row, sum(row[2:])) for row in SACKS], (*FLUSHES, "Total (g)"))
    assert "pickings" not in {one.kind for one in unanswered(understood(log_of((log,))))}


def test_a_settings_file_written_by_hand_adds_up_columns(tmp_path):
    log = book(tmp_path, Log=[(*HEAD_OF_ROWS[:3], "a", "b"), *((*row, 1.5) for row in rows()[1:])])
    both = PLANTS.replace('from = "wt"', 'from = "a + b"')
    assert taken_in(log, both + TRIAL).tables[0].lines.columns["Fresh weight"][0] == pytest.approx(22.0)


# --- thousands


def thousands(tmp_path, weights, heights=("21", "22")):
    """Return a text file of eight pots, with decimal signs as they may stand in it."""
    lines = [
        f"P{at};{('plain', 'warm')[at % 2]};{weight};{heights[at % 2]}" for at, weight in enumerate(weights, start=1)
    ]
    return text_file(tmp_path, "Pot;Treatment;Fresh weight per pot (g);Height (cm)", *lines)


PLAIN_WHOLE = ("985", "1.050", "940", "1.120", "910", "1.010", "890", "1.075")
POTS_ALONE = {"independent": "each row", "Reference treatment": "plain"}


def test_a_point_before_three_digits_among_whole_numbers_near_a_thousand_parts_thousands(tmp_path):
    log = thousands(tmp_path, PLAIN_WHOLE)
    adopt(log, talk=answering(**POTS_ALONE))
    checked = pipeline.checked(log)
    assert sorted(plant.fresh_weight for plant in checked.plants) == [890, 910, 940, 985, 1010, 1050, 1075, 1120]
    (caution,) = (one for one in checked.findings if one.cell == "C3" and "1.050" in one.found)
    assert str(caution.severity) == "caution"


@pytest.mark.parametrize(
    ("texts", "read"),
    [
        (("1.050", "985"), [1050, 985]),
        (("1.050", 985), [1050, 985]),
        (("1.050", "2", "3"), [1.05, 2, 3]),
        (("99.875", "100", "101.250"), [99.875, 100, 101.25]),
        (("1.050", "985.5"), [1.05, 985.5]),
        (("1.050", 985.5), [1.05, 985.5]),
        (("1.050", "1.120"), [1.05, 1.12]),
        (("1.050", "0.985"), [1.05, 0.985]),
    ],
)
def test_a_point_is_decimal_but_among_whole_numbers_that_are_a_thousand_times_larger(texts, read):
    numbers = TextNumbers.of(texts)
    assert [numbers.read(text) for text in texts] == read


def test_three_digits_behind_each_point_wait_for_a_word_where_the_table_has_decimal_commas(tmp_path):
    log = thousands(
        tmp_path, ("1.150", "1.050", "1.240", "1.120", "1.310", "1.010", "1.290", "1.075"), ("21,5", "22,5")
    )
    adopt(log, talk=answering(**POTS_ALONE))
    with pytest.raises(WorkbookError, match="may be a thousand"):
        pipeline.checked(log)
    settings = log.with_name("log.adopt.toml")
    settings.write_text(settings.read_text("utf-8").replace("gives =", 'confirmed = ["C2"]\ngives ='), "utf-8")
    assert pipeline.checked(log).plants[0].fresh_weight == pytest.approx(1.15)


# --- what a 0 stands for


def test_a_zero_that_stands_for_no_weight_stays_the_first_reading_of_a_meter(tmp_path):
    power = [("Meter", "Date", "Reading (kWh)"), *(("A", day, at * 7.5) for at, day in enumerate(DAYS))]
    log = book(tmp_path, Log=[HEAD, *ROWS[:5], (*ROWS[5][:3], 0), *ROWS[6:]], Power=power)
    adopt(log, talk=answering(**{**TRAYS, "whose": "all"}))
    assert settled(log).missing == ("0",)
    checked = pipeline.checked(log)
    assert [one.reading for one in checked.meter] == [0, 7.5, 15]
    assert len(checked.plants) == len(ROWS) - 1


def test_a_zero_that_stands_for_no_weight_stays_a_temperature_and_a_volume(tmp_path):
    log = book(
        tmp_path,
        Log=rows(0),
        Water=[("Shelf", "Date", "Event", "Water (L)"), ("A", DAYS[1], "drain", 0)],
        Air=[("At", "Temp (°C)"), (DAYS[0], 0), (DAYS[1], 4.5)],
    )
    more = """
[[table]]
sheet = "Water"
gives = "Solution"
columns = { Tray = "Shelf", Date = "Date", Event = "Event", Volume = "Water (L)" }

[[table]]
sheet = "Air"
gives = "Climate"
columns = { "Read at" = "At", "Air temperature" = "Temp (°C)" }
constants = { Treatment = "all" }
"""
    weights, water, air = taken_in(log, f'missing = ["0"]\n{PLANTS}{more}{TRIAL}').tables
    assert water.lines.columns["Volume"] == (0,)
    assert air.lines.columns["Air temperature"] == (0, 4.5)
    assert len(weights.lines.numbers) == 11


# --- pots that count anew


def groups(tmp_path, kinds=("bare", "fed"), *, merged=True):
    """Return a log whose groups of eight pots have merged labels, or labels in their first rows, and count from 1."""
    rows_of = [
        (kind if pot == 1 or not merged else None, pot, 20.0 + 5 * at + pot / 4)
        for at, kind in enumerate(kinds)
        for pot in range(1, 9)
    ]
    log = book(tmp_path, Log=[("Treatment", "Pot", "Fresh weight per pot (g)"), *rows_of])
    made = openpyxl.load_workbook(log)
    for at in range(len(kinds) if merged else 0):
        made["Log"].merge_cells(f"A{2 + 8 * at}:A{9 + 8 * at}")
    made.save(log)
    return log


@pytest.mark.parametrize("independent", ["Pot", "each row"])
@pytest.mark.parametrize("merged", [True, False])
def test_pots_that_count_anew_under_each_treatment_are_different_pots_and_it_is_said(tmp_path, independent, merged):
    log = groups(tmp_path, merged=merged)
    adopt(log, talk=answering(**{"independent": independent, "Reference treatment": "bare"}))
    checked = pipeline.checked(log)
    assert {(tray.code, tray.treatment) for tray in checked.trays} == {
        (f"{kind}-{pot}", kind) for kind in ("bare", "fed") for pot in range(1, 9)
    }
    (caution,) = (one for one in checked.findings if "count anew" in one.found)
    assert (str(caution.severity), caution.cell) == ("caution", "B2")


def test_a_single_pot_that_stands_under_two_treatments_is_a_mistake(tmp_path):
    lines = [(kind, pot, 20.0 + pot) for kind, pots in (("bare", (1, 2, 3, 4)), ("fed", (4, 5, 6, 7))) for pot in pots]
    log = book(tmp_path, Log=[("Treatment", "Pot", "Fresh weight per pot (g)"), *lines])
    adopt(log, talk=answering(**{"independent": "Pot", "Reference treatment": "bare"}))
    with pytest.raises(WorkbookError, match="one treatment a tray"):
        pipeline.checked(log)


def test_pots_that_hold_each_treatment_in_turn_are_asked_whether_they_count_anew(tmp_path):
    lines = [(kind, pot, 20.0 + pot) for pot in range(1, 9) for kind in ("bare", "fed")]
    log = book(tmp_path, Log=[("Treatment", "Pot", "Fresh weight (g)"), *lines])
    adopt(log, talk=answering(stop="crossed", **{"independent": "Pot", "Reference treatment": "bare"}))
    with pytest.raises(WorkbookError, match='Tray is still "\\?"'):
        pipeline.checked(log)


def test_the_unit_of_a_height_and_of_a_meter_is_asked_where_none_is_written(tmp_path):
    weekly = [(row[0], datetime(2026, 1, day), day / 2 + row[2]) for day in (12, 19, 26) for row in ROWS[::4]]
    heights = [("Tray", "Date", "Height"), *weekly]
    readings = [
        ("Date", "Meter", "Reading"),
        *((datetime(2026, 1, 5) + timedelta(7 * n), "M1", 4000.0 * n) for n in range(6)),
    ]
    log = book(tmp_path, Log=[HEAD, *ROWS], Heights=heights, Power=readings)
    asked = {one.column: one.choices for one in unanswered(understood(log_of((log,)))) if one.kind == "unit"}
    assert asked["Height"] == ("cm", "mm", "in")
    assert asked["Reading"] == ("kWh", "Wh", "MWh")
    adopt(log, talk=answering(Height="in", Reading="Wh", whose="all", **TRAYS))
    made = pipeline.checked(log)
    assert made.growth[0].values == (pytest.approx(7 * 2.54),)  # an inch is 2.54 cm: international yard, 1959
    assert max(one.reading for one in made.meter) == pytest.approx(20)
