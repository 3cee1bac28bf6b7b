"""What a log of its owner's own layout leaves open and would change a figure: it is asked, or stops the report."""

from datetime import datetime, timedelta

import pytest

from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.questions import answered, unanswered
from reportgen.adopt.unanswered import unanswered as still_open
from tests.adopting import PLANTS, TRIAL, adopt, book, rows, said, taken_in
from tests.test_adopt_habits import HEAD, ROWS, settled

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
