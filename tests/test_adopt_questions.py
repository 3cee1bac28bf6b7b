"""What a log leaves open and would change a figure: it is asked, or stops the report; what changes
none is not.
"""

from datetime import datetime, timedelta

import openpyxl
import pytest

from reportgen import pipeline
from reportgen.metrics import compute
from reportgen.model.problem import WorkbookError
from tests.adopting import (
    PLANTS,
    TRIAL,
    adopt,
    answering,
    asked,
    book,
    means,
    rows,
    said,
    taken_in,
    trial,
)
from tests.test_adopt_which_column import HEAD, ROWS, TRAYS, TRUE

DAYS = [datetime(2026, 1, 5) + timedelta(7 * week) for week in range(3)]
COUNTER = {"counts": "the numbers are: counter"}
EACH = {"counts": "the numbers are: each"}
WATER = [(f"T{tray}", day, "fill", 20.0 + tray) for tray in range(1, 5) for day in DAYS]


def climate(values, header="Temp"):
    """Return a logger's table, a reading each hour."""
    begin = datetime(2026, 1, 5)
    return [
        ("Time", header, "RH (%)"),
        *((begin + timedelta(hours=at), one, 55.5 + at) for at, one in enumerate(values)),
    ]


def keys(log, **own):
    return [one.key for one in asked(log, **own)]


def units(log, **own):
    return {
        one.key: [choice.answer for choice in one.choices]
        for one in asked(log, **own)
        if ".measure." in one.key
    }


# --- units


def test_a_volume_without_a_unit_is_asked_and_takes_no_weight(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS], Water=[("Tray", "Date", "Event", "Volume"), *WATER])
    assert {"L", "mL", "US gal"} <= set(units(log, **EACH)["Water.measure.Volume"])
    adopt(log)
    with pytest.raises(WorkbookError, match=r"Volume|Water|settle"):
        pipeline.checked(log)
    with pytest.raises(AssertionError, match="does not fit"):
        adopt(log, talk=answering(Volume="kg", **EACH, **TRAYS))
    adopt(log, talk=answering(Volume="mL", **EACH, **TRAYS))
    assert pipeline.checked(log).solution[0].volume == pytest.approx(0.021)


@pytest.mark.parametrize("header", ["Volume (L)", "Litres", "mL added", "Water L"])
def test_a_volume_that_names_its_unit_is_not_asked(tmp_path, header):
    log = book(tmp_path, Log=[HEAD, *ROWS], Water=[("Tray", "Date", "Event", header), *WATER])
    assert units(log) == {}


@pytest.mark.parametrize("values", [(18.5, 24.0, 29.5, 21.0), (64.0, 75.5, 88.0, 70.0)])
def test_a_temperature_without_a_unit_is_asked(tmp_path, values):
    log = book(tmp_path, Log=[HEAD, *ROWS], Logger=climate(values))
    assert units(log) == {"Logger.measure.Temp": ["°C", "°F"]}


@pytest.mark.parametrize("header", ["Temp (°C)", "Temperature Celsius"])
def test_a_temperature_that_names_its_unit_is_not_asked(tmp_path, header):
    log = book(tmp_path, Log=[HEAD, *ROWS], Logger=climate((18.5, 24.0, 29.5, 21.0), header))
    assert units(log) == {}


def test_a_settings_file_without_the_unit_of_a_volume_stops_the_report(tmp_path):
    water = [("Shelf", "Date", "Event", "Water"), ("A", DAYS[1], "fill", 20.0)]
    log = book(tmp_path, Log=rows(), Water=water)
    table = (
        '[[table]]\nsheets = ["Water"]\nheader_rows = [1]\ngives = "Solution"\nunit ='
        ' "column:Shelf"\n'
    )
    table += (
        'occasion = "column:Date"\nevent = "column:Event"\nvalues = { Volume = { columns ='
        ' ["Water"]UNIT } }\n'
    )
    silent = PLANTS + table.replace("UNIT", "") + TRIAL
    assert any(one.startswith("error") and "unit of Volume" in one for one in said(log, silent))
    told = PLANTS + table.replace("UNIT", ', unit = "mL"') + TRIAL
    assert not any("unit of Volume" in one for one in said(log, told))


def test_the_unit_of_a_height_and_of_a_meter_is_asked_where_none_is_written(tmp_path):
    weekly = [
        (row[0], datetime(2026, 1, day), day / 2 + row[2])
        for day in (12, 19, 26)
        for row in ROWS[::4]
    ]
    readings = [(datetime(2026, 1, 5) + timedelta(7 * n), "M1", 4000.0 * n) for n in range(6)]
    log = book(
        tmp_path,
        Log=[HEAD, *ROWS],
        Heights=[("Tray", "Date", "Height"), *weekly],
        Power=[("Date", "Meter", "Reading"), *readings],
    )
    own = {**COUNTER, "occasions": "the same plants measured again", "gives": "Meter"}
    found = units(log) | units(log, Height="in", **own)
    assert found["Heights.measure.Height"][:2] == ["cm", "mm"]
    assert found["Power.measure.Reading"][:2] == ["kWh", "Wh"]
    adopt(log, talk=answering(Height="in", Reading="Wh", **own, **TRAYS))
    made = pipeline.checked(log)
    assert made.growth[0].values == (
        pytest.approx(7 * 2.54),
    )  # an inch is 2.54 cm: international yard, 1959
    assert max(one.reading for one in made.meter) == pytest.approx(20)


def test_a_weight_that_is_neither_said_to_be_fresh_nor_dry_nor_in_which_unit_is_asked(tmp_path):
    log = book(tmp_path, Log=[(*HEAD[:3], "Weight"), *ROWS])
    assert {"Log.quantity.Weight", "Log.measure.Weight"} <= set(
        keys(log, measure="Fresh weight")
    ) | set(keys(log))
    adopt(log, talk=answering(measure="Dry weight", unit="g", **TRAYS))
    assert {one.measure.key for one in compute(pipeline.checked(log)).measures} >= {"dry_weight"}


# --- words, blanks and zeros


def test_words_blanks_and_zeros_are_asked_for_each(tmp_path):
    texts = {1: "x", 2: None, 6: "died", 9: "n/a"}
    lines = [(*row[:3], texts.get(at, row[3])) for at, row in enumerate(ROWS)]
    log = book(tmp_path, Log=[HEAD, *lines])
    found = keys(log)
    assert "word.x" in found
    assert "word.died" not in found
    assert "Log.blank.Fresh weight" in found
    adopt(log, talk=answering(word="plant lost", blank="not measured", **TRAYS))
    statuses = [str(plant.status) for plant in pipeline.checked(log).plants]
    assert statuses.count("dead") == 2


@pytest.mark.parametrize("word", ["dead", "tot", "mort", "muerta", "morto", "dood"])
def test_words_for_a_lost_plant_are_known(tmp_path, word):
    lines = [(*row[:3], word if at == 3 else row[3]) for at, row in enumerate(ROWS)]
    assert not [key for key in keys(book(tmp_path, Log=[HEAD, *lines])) if key.startswith("word.")]


def test_a_zero_that_stands_for_no_weight_stays_the_first_reading_of_a_meter(tmp_path):
    power = [
        ("Meter", "Date", "Reading (kWh)"),
        *(("A", day, at * 7.5) for at, day in enumerate(DAYS)),
    ]
    log = book(tmp_path, Log=[HEAD, *ROWS[:5], (*ROWS[5][:3], 0), *ROWS[6:]], Power=power)
    adopt(log, talk=answering(row="dead", **COUNTER, **TRAYS))
    checked = pipeline.checked(log)
    assert [one.reading for one in checked.meter] == [0, 7.5, 15]
    assert [str(plant.status) for plant in checked.plants].count("dead") == 1


def test_a_zero_of_a_word_list_stays_a_temperature(tmp_path):
    log = book(tmp_path, Log=rows(0), Air=[("At", "Temp (°C)"), (DAYS[0], 0), (DAYS[1], 4.5)])
    air = """
[[table]]
sheets = ["Air"]
header_rows = [1]
gives = "Climate"
occasion = "column:At"
values = { "Air temperature" = { columns = ["Temp"], unit = "°C", covers = "whole trial" } }
"""
    made = taken_in(log, f"{PLANTS}{air}{TRIAL}")
    climate_sheet = next(sheet for sheet in made.workbook.sheets if sheet.name == "Climate")
    assert [row[-1] for row in climate_sheet.rows[1:]] == [0, 4.5]


# --- dates


@pytest.mark.parametrize(
    ("days", "is_asked"), [(("3/4/2026", "5/4/2026"), True), (("3/4/2026", "15/4/2026"), False)]
)
def test_day_and_month_are_asked_only_where_no_day_decides(tmp_path, days, is_asked):
    lines = [(f"T{at}", day, "fill", 20.0 + at) for at in (1, 2, 3, 4) for day in days]
    log = book(tmp_path, Log=[HEAD, *ROWS], Water=[("Tray", "Date", "Event", "Volume (L)"), *lines])
    assert any("day_first" in key for key in keys(log, **EACH)) is is_asked


# --- thousands

PLAIN_WHOLE = ("985", "1.050", "940", "1.120", "910", "1.010", "890", "1.075")


def pots(tmp_path, weights):
    """Return a text file of eight pots, with decimal signs as they may stand in it."""
    lines = [
        f"P{at};{('plain', 'warm')[at % 2]};{weight}" for at, weight in enumerate(weights, start=1)
    ]
    (tmp_path / "log.csv").write_text(
        "\n".join(["Pot;Treatment;Fresh weight per pot (g)", *lines]) + "\n"
    )
    return tmp_path / "log.csv"


def test_a_point_before_three_digits_among_whole_numbers_near_a_thousand_parts_thousands_or_waits(
    tmp_path,
):
    log = pots(tmp_path, PLAIN_WHOLE)
    adopt(log, talk=answering(decimal_comma="decimal comma", order="decimal comma", **TRAYS))
    found = pipeline.checked(log)
    assert sum(one.value for _, one in means_of(found)) == pytest.approx(
        (1050 + 1120 + 1010 + 1075 + 985 + 940 + 910 + 890) / 4
    )


def means_of(made):
    return next(
        one for one in compute(made).measures if one.measure.key == "fresh_weight"
    ).estimates


# --- pots that count anew


def groups(tmp_path, *, merged):
    """Return a log whose groups of eight pots have merged labels, or labels in each row, and count
    from 1.
    """
    kinds = ("bare", "fed")
    lines = [
        (kind if pot == 1 or not merged else None, pot, 20.3 + 5 * at + pot * 7 % 5 / 4)
        for at, kind in enumerate(kinds)
        for pot in range(1, 9)
    ]
    log = book(tmp_path, Log=[("Treatment", "Pot", "Fresh weight per pot (g)"), *lines])
    made = openpyxl.load_workbook(log)
    for at in range(len(kinds) if merged else 0):
        made["Log"].merge_cells(f"A{2 + 8 * at}:A{9 + 8 * at}")
    made.save(log)
    return log


@pytest.mark.parametrize("merged", [True, False])
def test_pots_that_count_anew_under_each_treatment_are_different_pots(tmp_path, merged):
    log = groups(tmp_path, merged=merged)
    adopt(log, talk=answering(**{**TRAYS, "trial.reference": "bare"}))
    assert {code: units for code, (units, _) in means(log).items()} == {"bare": 8, "fed": 8}


def test_a_single_pot_that_stands_under_two_treatments_is_a_mistake(tmp_path):
    lines = [
        (kind, pot, 20.3 + pot * 7 % 5)
        for kind, own in (("bare", range(1, 8)), ("fed", range(7, 14)))
        for pot in own
    ]
    log = book(tmp_path, Log=[("Treatment", "Pot", "Fresh weight per pot (g)"), *lines])
    waits = keys(log)
    adopt(log, talk=answering(stop="row", **{**TRAYS, "trial.reference": "bare"}))
    try:
        found = pipeline.checked(log).findings
    except WorkbookError as error:
        found = error.problems
    assert any(key.startswith("row.") for key in waits) or any("7" in one.found for one in found)


# --- the dialogue as a whole


def test_a_log_that_says_all_is_asked_for_nothing_but_the_fields_of_the_trial(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    assert keys(log) == []
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == TRUE


def test_letters_of_tray_codes_are_never_taken_for_treatments_without_a_word(tmp_path):
    lines = [
        (f"{kind}{tray}", 20.3 + at * 7 % 5)
        for at, (kind, tray) in enumerate([*[("W", 1), ("W", 2), ("P", 1), ("P", 2)] * 3])
    ]
    log = book(tmp_path, Log=[("Tray", "Fresh weight (g)"), *sorted(lines)])
    assert any("treatment" in key or ".unit" in key for key in keys(log)) or "part" in str(
        keys(log)
    )


def test_a_trial_is_made_by_hand_as_by_questions(tmp_path):
    log = book(tmp_path, Log=rows())
    assert {tray.code for tray in trial(log, PLANTS + TRIAL).trays} == {"A", "B", "C", "D"}
