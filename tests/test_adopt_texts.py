"""Texts beside the numbers: marks at a weight, and notes that tell a unit of something else."""

from datetime import datetime, time, timedelta

import pytest

from reportgen import pipeline
from reportgen.adopt.checking import problems_in, read_adopted
from reportgen.adopt.toml_file import settings_file
from reportgen.metrics import compute
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, book
from tests.test_adopt_habits import means, questions

HEAD = ("Tray", "Treatment", "Plant", "Fresh weight (g)")
TRAYS = {"Reference treatment": "plain", "independent": "Tray"}
WEIGHTS = {"F1": (24.0, 26.0), "F2": (25.0, 27.0), "P1": (20.0, 22.0), "P2": (21.0, 23.0)}


def rows(**instead):
    """Return two plants a tray and two trays a treatment; `instead` are texts in place of weights, as F1_1="24*"."""
    return [
        (tray, "fed" if tray[0] == "F" else "plain", number, instead.get(f"{tray}_{number}", weight))
        for tray, weights in WEIGHTS.items()
        for number, weight in enumerate(weights, 1)
    ]


def words(log):
    return [one for one in questions(log) if one.kind == "word"]


PLAIN = {"fed": (2, pytest.approx(25.5)), "plain": (2, pytest.approx(21.5))}


@pytest.mark.parametrize("text", ["24*", "24.0 (damaged)", "~24", "ca. 24", "24,0*", "24?", "(24)"])
def test_a_number_with_a_mark_counts_where_its_owner_says_so(tmp_path, text):
    log = book(tmp_path, Log=[HEAD, *rows(F1_1=text)])
    (asked,) = words(log)
    assert asked.choices[-1] == "the number in it counts"
    adopt(log, talk=answering(word="the number in it counts", **TRAYS))
    assert means(log) == PLAIN
    assert "corrected = { D2 = 24.0 }" in log.with_suffix(".adopt.toml").read_text()


def test_numbers_with_the_same_mark_are_asked_about_once(tmp_path):
    log = book(tmp_path, Log=[HEAD, *rows(F1_1="24*", P2_2="23 *", P1_1="20?")])
    first, second = words(log)
    assert '"24*" and "23 *"' in first.text
    assert "2 times" in first.why
    assert '"20?"' in second.text


def test_an_answer_on_marks_is_kept_where_the_owner_stops_and_comes_back(tmp_path):
    log = book(tmp_path, Log=[HEAD, *rows(F1_1="24*", P1_1="20?")])
    adopt(log, talk=answering(stop="crop", word="the number in it counts", **TRAYS))
    settings = log.with_suffix(".adopt.toml")
    assert 'Crop = "?"' in settings.read_text()
    adopt(log, talk=answering(**TRAYS))
    assert "D2 = 24.0, D6 = 20.0" in settings.read_text()
    assert means(log) == PLAIN


def test_a_number_with_a_mark_in_a_wide_table_counts_too(tmp_path):
    held = [("No", "fed", "plain"), (1, 24.0, "20*"), (2, 26.0, 22.0), (3, 25.0, 21.0), (4, 27.0, 23.0)]
    log = book(tmp_path, Weights=held)
    own = {"independent": "each row", "Reference treatment": "plain", "word": "the number in it counts"}
    adopt(log, talk=answering(**own))
    assert means(log) == {"fed": (4, pytest.approx(25.5)), "plain": (4, pytest.approx(21.5))}


@pytest.mark.parametrize("text", ["24.7+5.0", "<5", "3 of 4", "24 kg*", "0*"])
def test_a_text_with_no_single_number_offers_none(tmp_path, text):
    log = book(tmp_path, Log=[HEAD, *rows(F1_1=text)])
    (asked,) = words(log)
    assert "the number in it counts" not in asked.choices


def test_a_mark_that_is_not_answered_waits(tmp_path):
    log = book(tmp_path, Log=[HEAD, *rows(F1_1="24*")])
    adopt(log)
    with pytest.raises(WorkbookError, match="missing"):
        pipeline.checked(log)


@pytest.mark.parametrize("text", ["24g", "24 g", "24.0g", "24 gr"])
def test_a_unit_right_behind_a_number_is_no_question(tmp_path, text):
    log = book(tmp_path, Log=[HEAD, *rows(F1_1=text)])
    assert not words(log)
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == PLAIN


@pytest.mark.parametrize(
    "note",
    [
        "Nutrient salts: weight in kg",
        "Weight was first noted in oz",
        "Weight of perlite in kg",
        "Peso de la sal gruesa en kg",
        "Gewicht der Rolle in kg",
    ],
)
def test_a_note_with_words_that_are_not_of_the_column_is_shown_and_its_unit_asked(tmp_path, note):
    log = book(tmp_path, Log=[(*HEAD[:3], "Weight"), *rows()], Notes=[(note,)])
    (asked,) = [one for one in questions(log) if one.kind == "unit"]
    assert note in asked.why
    assert asked.default == ""


@pytest.mark.parametrize(
    "note",
    [
        "All weights in kg",
        "Weight of each plant in kg",
        "Gewicht der Pflanzen in kg",
        "Le poids des plantes est en kg",
        "Los pesos de las plantas están en kg",
        "Tutti i pesi sono in kg",
    ],
)
def test_a_note_of_all_plants_tells_the_unit(tmp_path, note):
    log = book(tmp_path, Log=[(*HEAD[:3], "Weight"), *rows()], Notes=[(note,)])
    assert not [one for one in questions(log) if one.kind == "unit"]


@pytest.mark.parametrize(
    "header",
    ["Vaschetta", "Cajón", "Caja", "Kasten", "Caisse", "Barquette", "Cassetta", "Caixa", "Kist", "Plot", "Parzelle"],
)
def test_what_plants_stood_in_is_known_in_every_language(tmp_path, header):
    log = book(tmp_path, Log=[(header, *HEAD[1:]), *rows()])
    (asked,) = [one for one in questions(log) if one.kind == "independent"]
    assert header in asked.choices
    adopt(log, talk=answering(independent=header, **{"Reference treatment": "plain"}))
    assert means(log) == PLAIN


@pytest.mark.parametrize(("unit", "grams"), [("dag", 10), ("dkg", 10), ("hg", 100)])
def test_decagrams_and_hectograms_are_units(tmp_path, unit, grams):
    """The prefixes deca and hecto of the SI, ten and a hundred times."""
    held = [(*row[:3], row[3] / grams) for row in rows()]
    log = book(tmp_path, Log=[(*HEAD[:3], f"Fresh weight ({unit})"), *held])
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == PLAIN


def test_a_day_that_stands_in_its_first_row_of_a_logger_holds_for_the_rows_below(tmp_path):
    held = [("Date", "Time", "Temp (°C)", "RH (%)")]
    for day in range(5, 12):
        for at, hour in enumerate((0, 6, 12, 18)):
            held.append((None if at else datetime(2026, 1, day), time(hour), 20.0 + at / 2 + day / 10, 60.0 + at))
    log = book(tmp_path, Log=[HEAD, *rows()], Climate=held)
    adopt(log, talk=answering(whose="all", **TRAYS))
    climate = pipeline.checked(log).climate
    assert len(climate.at) == 28
    assert climate.at[1] == datetime(2026, 1, 5, 6)


@pytest.mark.parametrize(
    "headers",
    [
        ("fed (kWh/day)", "plain (kWh/day)"),
        ("fed kWh/Tag", "plain kWh/Tag"),
        ("kWh fed", "kWh plain"),
        ("fed (kWh per day)", "plain (kWh per day)"),
    ],
)
def test_kilowatt_hours_of_a_day_are_amounts_of_energy(tmp_path, headers):
    held = [("Date", *headers), *((datetime(2026, 1, 5) + timedelta(day), 1.5, 2.0) for day in range(43))]
    log = book(tmp_path, Log=[HEAD, *rows()], Power=held)
    assert {one.kind for one in questions(log)} & {"unit", "mass"} == set()
    adopt(log, talk=answering(cumulative="what was used since the reading before", **TRAYS))
    used = {}
    for one in pipeline.checked(log).meter:
        used[one.treatment] = max(used.get(one.treatment, 0), one.reading)
    assert used == {"fed": pytest.approx(43 * 1.5), "plain": pytest.approx(43 * 2.0)}


@pytest.mark.parametrize("title", ["Power", "Strom", "Températures", "Water added (mL)"])
def test_readings_by_day_without_a_unit_are_no_weights(tmp_path, title):
    held = [("Date", "fed", "plain"), *((datetime(2026, 1, 5) + timedelta(day), 1.5 + day, 2.0) for day in range(43))]
    log = book(tmp_path, **{"Log": [HEAD, *rows()], title: held})
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert f"not taken: {title}" in shown
    assert "readings by day" in shown
    assert means(log) == PLAIN


def test_two_columns_of_volumes_with_units_are_not_asked_about(tmp_path):
    held = [("Date", "Tray", "Added (mL)", "Drained (mL)")]
    held += [(day, tray, 800.0, 150.0) for day in ("2026-01-05", "2026-02-16") for tray in ("F1", "F2", "P1", "P2")]
    log = book(tmp_path, Log=[HEAD, *rows()], Water=held)
    assert not [one for one in questions(log) if one.kind == "unit"]


def test_equal_readings_are_not_offered_as_those_of_a_counter(tmp_path):
    held = [("Date", "fed (kWh)", "plain (kWh)"), *((datetime(2026, 1, 5) + timedelta(n), 1.5, 2.0) for n in range(43))]
    log = book(tmp_path, Log=[HEAD, *rows()], Power=held)
    (asked,) = [one for one in questions(log) if one.kind == "cumulative"]
    assert asked.default == ""


def test_kilowatt_hours_of_a_day_that_rise_are_still_offered_as_amounts(tmp_path):
    days = [(datetime(2026, 1, 5) + timedelta(n), 1.5 + n / 50, 2.0 + n / 50) for n in range(43)]
    log = book(tmp_path, Log=[HEAD, *rows()], Power=[("Date", "fed (kWh/day)", "plain (kWh/day)"), *days])
    (asked,) = [one for one in questions(log) if one.kind == "cumulative"]
    assert asked.default == "what was used since the reading before"


def test_climate_of_each_treatment_headed_by_its_unit_alone_is_read(tmp_path):
    head = ("Date", "fed °C", "fed %", "plain °C", "plain %")
    held = [(datetime(2026, 1, 5) + timedelta(hours=3 * at), 21.0, 55.0, 23.0, 65.0 + at % 3) for at in range(60)]
    log = book(tmp_path, Log=[HEAD, *rows()], Climate=[head, *held])
    adopt(log, talk=answering(**TRAYS))
    climate = pipeline.checked(log).climate
    of_plain = [at for at, code in enumerate(climate.treatments) if code == "plain"]
    assert len(of_plain) == 60
    assert {climate.air_temperature[at] for at in of_plain} == {23.0}
    assert {climate.relative_humidity[at] for at in of_plain} == {65.0, 66.0, 67.0}


def test_readings_of_a_solution_alone_need_no_unit_of_a_volume(tmp_path):
    held = [("Date", "Tray", "EC (mS/cm)", "pH")]
    held += [(day, tray, 1.8, 5.9) for day in ("2026-01-05", "2026-02-16") for tray in ("F1", "F2", "P1", "P2")]
    log = book(tmp_path, Log=[HEAD, *rows()], Solution=held)
    adopt(log, talk=answering(**TRAYS))
    assert not [one for one in problems_in(read_adopted(log)) if "Volume" in one.found]


def test_whole_degrees_of_two_probes_are_no_numbers_of_plants(tmp_path):
    held = [("Date", "Probe 1 (°C)", "Probe 2 (°C)")]
    held += [(datetime(2026, 1, 5) + timedelta(hours=6 * at), 20 + at % 4, 24 + at % 4) for at in range(160)]
    log = book(tmp_path, Log=[HEAD, *rows()], Climate=held)
    (asked,) = [one for one in questions(log) if one.kind == "rivals"]
    assert asked.choices == ("Probe 1 (°C)", "Probe 2 (°C)")


@pytest.mark.parametrize("headers", [("T1", "T2"), ("Sonde 1", "Sonde 2")])
def test_a_log_of_the_climate_without_units_is_no_table_of_weights(tmp_path, headers):
    held = [(datetime(2026, 1, 5) + timedelta(hours=6 * at), 20.1 + at % 4, 24.3 + at % 4) for at in range(160)]
    log = book(tmp_path, Log=[HEAD, *rows()], Climate=[("Date", *headers), *held])
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert "not taken: Climate" in shown
    assert means(log) == PLAIN


def test_many_plants_that_stand_in_two_rows_are_told_in_one_message(tmp_path):
    again = [(*row[:3], row[3] / 2) for row in rows()]
    log = book(tmp_path, **{"Cut 1": [HEAD, *rows()], "Cut 2": [HEAD, *again]})
    adopt(log, talk=answering(**TRAYS))
    with pytest.raises(WorkbookError) as stopped:
        pipeline.checked(log)
    (twice,) = [one for one in stopped.value.problems if "stands in row" in one.found]
    assert (twice.sheet, twice.cell) == ("Cut 2", "C2:C9")
    assert "and 7 rows more do so" in twice.found


def test_dead_plants_that_were_weighed_are_told_in_one_message(tmp_path):
    held = [(*row, "dead" if row[2] == 2 else "") for row in rows()]
    log = book(tmp_path, Log=[(*HEAD, "Status"), *held])
    adopt(log, talk=answering(**TRAYS))
    with pytest.raises(WorkbookError) as stopped:
        pipeline.checked(log)
    (dead,) = [one for one in stopped.value.problems if "a plant that is dead" in one.found]
    assert (dead.sheet, dead.cell) == ("Log", "D3:D9")
    assert "and 3 rows more do so" in dead.found
    settings, told = settings_file(log), '{ from = "Status", codes = { dead = "harvested" } }'
    settings.write_text(settings.read_text().replace('Status = "Status"', f"Status = {told}"))
    assert means(log) == PLAIN


def test_a_slipped_point_in_a_weight_on_a_sheet_of_its_own_waits(tmp_path):
    dry = [(row[0], row[2], row[3] / 10) for row in rows()]
    dry[4] = (*dry[4][:2], dry[4][2] * 10)
    log = book(tmp_path, Fresh=[HEAD, *rows()], Dry=[("Tray", "Plant", "Dry weight (g)"), *dry])
    adopt(log, talk=answering(**TRAYS))
    with pytest.raises(WorkbookError, match="is about 10 times what the table has otherwise"):
        pipeline.checked(log)
    settings = settings_file(log)
    settings.write_text(settings.read_text().replace('sheet = "Dry"', 'sheet = "Dry"\ncorrected = { C6 = 2.0 }'))
    found = next(one for one in compute(pipeline.checked(log)).measures if one.measure.key == "dry_weight")
    assert {code: one.value for code, one in found.estimates} == pytest.approx({"fed": 2.55, "plain": 2.15})
