"""Columns that may each be the same thing: words or values settle which of them it is, else their owner is asked."""

import re
from datetime import datetime, timedelta

import openpyxl
import pytest

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.questions import ON_DAYS, unanswered
from reportgen.adopt.toml_file import read_adoption, settings_file
from reportgen.metrics import compute
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, book, fresh_weight
from tests.test_adopt_habits import HEAD, ROWS, TRAYS

PLACE = ("Tray", "Treatment", "Plant no.")
MEAN = {"warm": pytest.approx(31.35), "plain": pytest.approx(26.275)}


def weighed(tmp_path, *headers, of=lambda weight: (weight / 2, weight)):
    """Return a log of plants with further columns of numbers, each made of what the plant weighed."""
    return book(tmp_path, Log=[(*PLACE, *headers), *((*row[:3], *of(row[3])) for row in ROWS)])


def logged(tmp_path, *headers, of=lambda day: (), name="Logger", labels=("warm", "plain")):
    """Return a log with a second sheet of readings: one row a label and second day from the first to the last."""
    days = [(day, label) for day in range(0, 43, 2) for label in labels]
    rows = [(datetime(2026, 1, 5) + timedelta(day), label, *of(day)) for day, label in days]
    return book(tmp_path, Log=[HEAD, *ROWS], **{name: [("Date", "Treatment", *headers), *rows]})


def questions(log, *of_kind):
    return [one for one in unanswered(understood(log_of((log,)))) if one.kind in of_kind]


def source(log, name):
    """Return the header that a declared column is understood to come from, None where it comes from none."""
    tables = understood(log_of((log,))).adoption.tables
    return next((table.columns[name].header for table in tables if name in table.columns), None)


def means(log):
    return {code: one.value for code, one in fresh_weight(pipeline.checked(log)).estimates}


# --- weights


@pytest.mark.parametrize(
    ("headers", "name"),
    [
        (("Fresh weight lab (g)", "Fresh weight corrected (g)"), "fresh weight"),
        (("Marketable weight (g)", "Total weight (g)"), "weight"),
        (("Poids parage (g)", "Poids vendu (g)"), "weight"),
        (("Gewicht geputzt (g)", "Gewicht ungeputzt (g)"), "weight"),
        (("Peso fresco comercial (g)", "Peso fresco completo (g)"), "fresh weight"),
    ],
)
def test_which_of_two_weights_is_that_at_harvest_is_asked(tmp_path, headers, name):
    log = weighed(tmp_path, *headers)
    (question,) = questions(log, "rivals")
    assert question.text.startswith(f"Which column is the {name} at harvest")
    assert (question.choices, question.default) == (headers, "")
    adopt(log, talk=answering(rivals=headers[1], **TRAYS))
    assert means(log) == MEAN


def test_a_further_weight_in_the_declared_layout_is_asked_about_too(tmp_path):
    head = (*HEAD, "Fresh weight corrected (g)")
    log = book(tmp_path, Log=[head, *((*row[:3], row[3] / 2, row[3]) for row in ROWS)])
    adopt(log, talk=answering(rivals=head[-1], **TRAYS))
    assert means(log) == MEAN


def test_two_weights_under_one_header_are_asked_about_by_their_letters(tmp_path):
    log = weighed(tmp_path, "Fresh weight (g)", "Fresh weight (g)")
    assert questions(log, "rivals", "pickings")[0].choices[-2:] == ("column D", "column E")


def test_weights_of_several_days_are_one_of_them_or_their_sum(tmp_path):
    log = weighed(
        tmp_path, "FW d14 (g)", "FW d28 (g)", "FW d42 (g)", of=lambda weight: (weight / 5, weight / 2, weight)
    )
    (question,) = questions(log, "rivals", "pickings")
    assert question.choices == ("FW d14 (g) + FW d28 (g) + FW d42 (g)", "FW d14 (g)", "FW d28 (g)", "FW d42 (g)")
    adopt(log, talk=answering(pickings="FW d42 (g)", **TRAYS))
    assert means(log) == MEAN


def test_dry_weights_of_several_days_are_asked_about_beside_the_fresh_ones(tmp_path):
    heads = ("FW d28 (g)", "DW d28 (g)", "FW d42 (g)", "DW d42 (g)")
    log = weighed(tmp_path, *heads, of=lambda weight: (weight / 2, weight / 20, weight, weight / 10))
    adopt(log, talk=answering(pickings=heads[2], rivals=heads[3], **TRAYS))
    assert means(log) == MEAN
    dry = next(one for one in compute(pipeline.checked(log)).measures if one.measure.key == "dry_weight")
    assert {code: one.value for code, one in dry.estimates} == {
        "warm": pytest.approx(3.135),
        "plain": pytest.approx(2.6275),
    }


def test_a_mean_beside_two_weighings_is_among_the_choices(tmp_path):
    log = weighed(tmp_path, "FW 1 (g)", "FW 2 (g)", "FW mean (g)", of=lambda weight: (weight - 1, weight + 1, weight))
    assert "FW mean (g)" in [choice for one in questions(log, "rivals", "pickings") for choice in one.choices]


@pytest.mark.parametrize(
    ("headers", "meant"),
    [
        (("Initial weight (g)", "Final weight (g)"), 1),
        (("Peso inicial (g)", "Peso final (g)"), 1),
        (("Poids initial (g)", "Poids final (g)"), 1),
        (("Anfangsgewicht (g)", "Endgewicht (g)"), 1),
        (("Bruttogewicht (g)", "Nettogewicht (g)"), 1),
        (("Peso netto (g)", "Peso lordo (g)"), 0),
        (("Fresh weight (g)", "Start weight (g)"), 0),
        (("Fresh weight (g)", "Weight of leaves (g)"), 0),
    ],
)
def test_a_weight_that_its_words_settle_is_not_asked_about(tmp_path, headers, meant):
    log = weighed(tmp_path, *headers)
    assert questions(log, "rivals", "pickings") == []
    found = source(log, "?") or source(log, "Fresh weight")
    assert found == headers[meant]


@pytest.mark.parametrize("header", ["Initial weight (g)", "Peso inicial (g)", "Startgewicht (g)"])
def test_a_lone_weight_of_the_seedling_is_no_weight_at_harvest(tmp_path, header):
    with pytest.raises(WorkbookError, match="a weight at the start"):
        adopt(weighed(tmp_path, header, of=lambda weight: (weight,)))


@pytest.mark.parametrize("name", ["Fresh weight", "Weight"])
def test_a_weight_that_is_the_sum_of_the_others_is_taken_unasked(tmp_path, name):
    heads = (f"{name} sold (g)", f"{name} trimmed (g)", f"{name} in all (g)")
    log = weighed(tmp_path, *heads, of=lambda weight: (weight * 0.75, weight * 0.25, weight))
    assert questions(log, "rivals", "pickings") == []
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEAN


def test_columns_that_hold_the_same_are_not_asked_about(tmp_path):
    log = weighed(tmp_path, "Fresh weight lab (g)", "Fresh weight copied (g)", of=lambda weight: (weight, weight))
    assert questions(log, "rivals", "pickings") == []


def test_heights_of_several_weeks_are_asked_about(tmp_path):
    heads = ("Weight (g)", "Height wk 2 (cm)", "Height wk 4 (cm)")
    log = weighed(tmp_path, *heads, of=lambda weight: (weight, weight / 4, weight / 2))
    assert [one.choices for one in questions(log, "rivals")] == [heads[1:]]


def test_a_blank_in_any_of_the_weights_is_asked_about(tmp_path):
    rows = [(*row[:3], row[3], None if at == 3 else row[3] + 1) for at, row in enumerate(ROWS)]
    log = book(tmp_path, Log=[(*PLACE, "Marketable weight (g)", "Total weight (g)"), *rows])
    assert [one.column for one in questions(log, "word")] == [""]


# --- the settings file


def test_without_an_answer_check_says_what_to_write(tmp_path):
    log = weighed(tmp_path, "Marketable weight (g)", "Total weight (g)")
    adopt(log)
    assert "Which column is the weight at harvest" in settings_file(log).read_text("utf-8")
    with pytest.raises(WorkbookError, match="the header that it stands under"):
        pipeline.checked(log)


@pytest.mark.parametrize("stop", ["rivals", "mass", "crop"])
def test_an_answer_is_kept_where_its_owner_stops_between(tmp_path, stop):
    log = weighed(tmp_path, "Marketable weight (g)", "Total weight (g)")
    adopt(log)
    adopt(log, talk=answering(stop=stop, rivals="Total weight (g)", **TRAYS))
    assert next(one.kind for one in unanswered(understood(log_of((log,))))) == stop
    adopt(log, talk=answering(rivals="Total weight (g)", **TRAYS))
    assert means(log) == MEAN


def test_what_the_owner_wrote_is_not_asked_again(tmp_path):
    log = weighed(tmp_path, "Marketable weight (g)", "Total weight (g)")
    adopt(log)
    settings = settings_file(log)
    text = settings.read_text("utf-8")
    settings.write_text(re.sub(r'"\?" = "\?"', '"Fresh weight" = "Total weight (g)"', text), "utf-8")
    assert settings.read_text("utf-8") != text
    assert questions(log, "rivals", "mass") == []
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEAN


# --- climate


@pytest.mark.parametrize(
    ("headers", "meant"),
    [
        (("Temp min (°C)", "Temp max (°C)", "Temp mean (°C)"), 2),
        (("Tmax (°C)", "Tmin (°C)", "Tavg (°C)"), 2),
        (("Outside temp (°C)", "Inside temp (°C)"), 1),
        (("Aussentemperatur (°C)", "Innentemperatur (°C)"), 1),
        (("Buitentemperatuur (°C)", "Kastemperatuur (°C)"), 1),
        (("Temp esterna (°C)", "Temp interna (°C)"), 1),
        (("Température consigne (°C)", "Température mesurée (°C)"), 1),
        (("Setpoint (°C)", "Actual (°C)"), 1),
        (("Dew point (°C)", "Temperature (°C)"), 1),
        (("Water temp (°C)", "Temp (°C)"), 1),
        (("Temperatura do substrato (°C)", "Temperatura (°C)"), 1),
        (("Leaf temperature (°C)", "Air temperature (°C)"), 1),
        (("Soil (°C)", "Air (°C)"), 1),
    ],
)
def test_a_temperature_that_is_not_of_the_air_is_not_taken_for_it(tmp_path, headers, meant):
    log = logged(tmp_path, *headers, of=lambda day: tuple(18.0 + at + day % 5 / 10 for at, _ in enumerate(headers)))
    assert questions(log, "rivals", "treatment") == []
    assert source(log, "Air temperature") == headers[meant]


@pytest.mark.parametrize("header", ["Dew point (°C)", "Taupunkt (°C)", "Outside temp (°C)", "Tmin (°C)", "Soil (°C)"])
def test_a_lone_temperature_that_is_not_of_the_air_is_left_out(tmp_path, header):
    log = logged(tmp_path, header, "RH (%)", of=lambda day: (12.0 + day % 5, 60.0 + day % 7))
    assert source(log, "Air temperature") is None
    assert source(log, "Relative humidity") == "RH (%)"
    assert any(header in text and "left alone" in text for text in understood(log_of((log,))).left_out)


def test_a_sensor_in_the_soil_is_no_treatment(tmp_path):
    days = [datetime(2026, 1, 5) + timedelta(day) for day in range(40)]
    rows = [(day, 12.0 + at % 8 / 10, 60.0 + at % 5) for at, day in enumerate(days)]
    log = book(tmp_path, Log=[HEAD, *ROWS], Air=[("Date", "Soil (°C)", "RH (%)"), *rows])
    tables = understood(log_of((log,))).adoption.tables
    assert "Treatment" not in tables[1].columns


@pytest.mark.parametrize("first", ["Outside RH (%)", "RH min (%)", "RH setpoint (%)", "Soil humidity (%)"])
def test_a_humidity_that_is_not_of_the_air_is_not_taken_for_it(tmp_path, first):
    log = logged(tmp_path, first, "RH inside (%)", of=lambda day: (50.0 + day % 7, 60.0 + day % 7))
    assert source(log, "Relative humidity") == "RH inside (%)"


@pytest.mark.parametrize(
    ("headers", "name"),
    [
        (("Temp top (°C)", "Temp bottom (°C)"), "air temperature"),
        (("Sonde 1 (°C)", "Sonde 2 (°C)"), "air temperature"),
        (("RH left (%)", "RH right (%)"), "relative humidity"),
        (("PPFD before (µmol/m2/s)", "PPFD after (µmol/m2/s)"), "PPFD"),
        (("PPFD vorher (µmol/m²s)", "PPFD nachher (µmol/m²s)"), "PPFD"),
    ],
)
def test_which_of_several_sensors_is_meant_is_asked(tmp_path, headers, name):
    log = logged(tmp_path, *headers, of=lambda day: (21.0 + day % 5, 22.0 + day % 5))
    (question,) = questions(log, "rivals")
    assert question.text.startswith(f"Which column is the {name}:")
    assert question.choices == headers
    adopt(log, talk=answering(**{"Air temperature": headers[1], "rivals": headers[1], **TRAYS}))
    assert headers[1] in [one.header for one in read_adoption(settings_file(log)).tables[1].columns.values()]


# --- meters


def test_two_registers_of_one_meter_may_be_added_up(tmp_path):
    heads = ("Stand hoog (kWh)", "Stand laag (kWh)")
    log = logged(tmp_path, *heads, of=lambda day: (100 + day, 50 + day / 2), labels=("warm",))
    (question,) = questions(log, "rivals")
    assert question.choices == (*heads, " + ".join(heads))
    adopt(log, talk=answering(rivals=question.choices[2], whose="all", **TRAYS))
    readings = [one.reading for one in pipeline.checked(log).meter]
    assert readings[-1] - readings[0] == pytest.approx(42 + 21)


def test_what_was_used_and_the_reading_that_counts_it_are_not_added_up(tmp_path):
    heads = ("Consumo (kWh)", "Leitura (kWh)")
    log = logged(tmp_path, *heads, of=lambda day: (2.0 + day % 3, 100.0 + 2 * day))
    (question,) = questions(log, "rivals")
    assert question.choices == heads
    (meter,) = questions(log, "cumulative")
    assert (meter.default, meter.why[:8]) == ("", "Some of ")


def test_a_counter_beside_its_own_differences_is_taken_unasked(tmp_path):
    log = logged(tmp_path, "Consumo (kWh)", "Leitura (kWh)", of=lambda day: (4.0, 100.0 + 2 * day))
    assert questions(log, "rivals") == []
    assert source(log, "Reading") == "Leitura (kWh)"


def test_a_total_of_two_registers_is_taken_unasked(tmp_path):
    heads = ("HT (kWh)", "NT (kWh)", "Gesamt (kWh)")
    log = logged(tmp_path, *heads, of=lambda day: (100.0 + day, 50.0 + day, 150.0 + 2 * day))
    assert questions(log, "rivals") == []
    assert source(log, "Reading") == "Gesamt (kWh)"


def test_two_registers_a_treatment_are_asked_about_for_each(tmp_path):
    heads = ("warm hoog (kWh)", "warm laag (kWh)", "plain hoog (kWh)", "plain laag (kWh)")
    days = [datetime(2026, 1, 5) + timedelta(day) for day in range(0, 43, 2)]
    rows = [(day, 10.0 + at, 20.0 + at, 30.0 + 2 * at, 40.0 + 2 * at) for at, day in enumerate(days)]
    log = book(tmp_path, Log=[HEAD, *ROWS], Power=[("Date", *heads), *rows])
    assert [one.choices for one in questions(log, "rivals")] == [
        (*pair, " + ".join(pair)) for pair in (heads[:2], heads[2:])
    ]


def test_a_counter_beside_its_differences_is_taken_unasked_for_each_treatment(tmp_path):
    heads = ("Used warm (kWh)", "Used plain (kWh)", "Reading warm (kWh)", "Reading plain (kWh)")
    days = [datetime(2026, 1, 5) + timedelta(day) for day in range(0, 43, 2)]
    rows = [(day, 2.0, 3.0, 10.0 + 2 * at, 30.0 + 3 * at) for at, day in enumerate(days)]
    log = book(tmp_path, Log=[HEAD, *ROWS], Power=[("Date", *heads), *rows])
    assert questions(log, "rivals") == []
    tables = understood(log_of((log,))).adoption.tables[1:]
    assert [table.columns["Reading"].header for table in tables] == list(heads[2:])


def test_a_meter_at_the_start_in_kilowatt_hours_is_no_name_of_a_meter(tmp_path):
    heads = ("Meter start (kWh)", "Meter end (kWh)", "Used (kWh)")
    log = logged(tmp_path, *heads, of=lambda day: (100.0 + day, 102.0 + day, 2.0))
    assert source(log, "Meter") not in heads


# --- the same trays on several days

BY_DAY = ("Date", "Tray", "Treatment", "Fresh weight (g)")
DAYS = ("2026-01-20", "2026-02-02", "2026-02-16")
LAST, SUM, EACH = (ON_DAYS[way] for way in ("last", "sum", "each"))
EVERY = ("T1", "warm"), ("T2", "plain"), ("T3", "warm"), ("T4", "plain")


def picked(at, tray, kind):
    """Return what was picked of a tray on the day of number `at`, g."""
    return 20.0 + 7 * at + int(tray[1]) * 1.3 + (5 if kind == "warm" else 0)


def by_day(tmp_path, *, plants=(), change=lambda rows: rows):
    """Return a log of the same trays on three days: one row each, or one for each number of a plant."""
    head = (*BY_DAY[:3], *(["Plant"] if plants else []), BY_DAY[3])
    rows = [
        (day, tray, kind, *([plant(at, n)] if plants else []), round(picked(at, tray, kind) + n / 7, 2))
        for at, day in enumerate(DAYS)
        for tray, kind in EVERY
        for n, plant in enumerate(plants or [None], 1)
    ]
    return book(tmp_path, Log=[head, *change(rows)])


def weights(log):
    return {plant.tray: plant.fresh_weight for plant in pipeline.checked(log).plants}


def total(tray, kind, days=(0, 1, 2)):
    return pytest.approx(sum(round(picked(at, tray, kind) + 1 / 7, 2) for at in days))


def test_pickings_of_trays_on_several_days_add_up_where_their_owner_says_so(tmp_path):
    log = by_day(tmp_path)
    (question,) = questions(log, "days")
    assert (question.choices, question.default) == ((LAST, SUM, EACH), "")
    adopt(log, talk=answering(**{**TRAYS, "days": SUM, "per": "pot"}))
    assert weights(log) == {tray: total(tray, kind) for tray, kind in EVERY}


def test_only_the_last_day_of_each_tray_counts_where_their_owner_says_so(tmp_path):
    log = by_day(tmp_path)
    adopt(log, talk=answering(**{**TRAYS, "days": LAST, "per": "pot"}))
    assert weights(log) == {tray: total(tray, kind, (2,)) for tray, kind in EVERY}
    (trace,) = [one for one in pipeline.checked(log).traces if one.quantity == "Fresh weight"]
    assert trace.left_out == (("earlier days", tuple(range(2, 10))),)


def test_every_row_counts_where_other_plants_were_weighed_each_day(tmp_path):
    log = by_day(tmp_path)
    adopt(log, talk=answering(**{**TRAYS, "days": EACH}))
    assert len(pipeline.checked(log).plants) == 12


def test_the_same_plants_on_several_days_are_no_other_plants(tmp_path):
    log = by_day(tmp_path, plants=[lambda at, n: n] * 3)
    assert questions(log, "days")[0].choices == (LAST, SUM)
    adopt(log, talk=answering(**{**TRAYS, "days": SUM}))
    assert len(pipeline.checked(log).plants) == 12


def test_new_plants_each_day_are_samples_or_count(tmp_path):
    log = by_day(tmp_path, plants=[lambda at, n: 3 * at + n] * 3)
    assert questions(log, "days")[0].choices == (LAST, EACH)
    adopt(log, talk=answering(**{**TRAYS, "days": LAST}))
    assert {plant.code for plant in pipeline.checked(log).plants} == {"7", "8", "9"}


def test_a_sum_of_which_one_weight_is_missing_is_not_known(tmp_path):
    def change(rows):
        return [(*row[:-1], None) if at == 5 else row for at, row in enumerate(rows)]  # T2 on the second day

    log = by_day(tmp_path, change=change)
    adopt(log, talk=answering(**{**TRAYS, "days": SUM, "per": "pot"}))
    assert set(weights(log)) == {"T1", "T3", "T4"}


def test_a_picking_of_nothing_adds_nothing(tmp_path):
    def change(rows):
        return [(*row[:-1], 0) if at == 5 else row for at, row in enumerate(rows)]  # T2 on the second day

    log = by_day(tmp_path, change=change)
    assert questions(log, "word") == []
    adopt(log, talk=answering(**{**TRAYS, "days": SUM, "per": "pot"}))
    assert weights(log)["T2"] == total("T2", "plain", (0, 2))


def test_a_tray_that_ends_before_the_others_is_pointed_out(tmp_path):
    log = by_day(tmp_path, change=lambda rows: rows[:-1])
    adopt(log, talk=answering(**{**TRAYS, "days": LAST, "per": "pot"}))
    found = [one.found for one in pipeline.checked(log).findings if "the last row of" in one.found]
    assert found == ['the last row of "t4" is of 2026-02-02, that of others of 2026-02-16']


def test_a_day_without_a_date_stops_the_report_where_the_last_one_counts(tmp_path):
    log = by_day(tmp_path)
    adopt(log, talk=answering(**{**TRAYS, "days": LAST, "per": "pot"}))
    made = openpyxl.load_workbook(log)
    made["Log"]["A4"] = None
    made.save(log)
    with pytest.raises(WorkbookError, match="no day stands in the row"):
        pipeline.checked(log)


def test_without_an_answer_on_days_check_says_what_to_write_and_keeps_it(tmp_path):
    log = by_day(tmp_path)
    adopt(log)
    with pytest.raises(WorkbookError, match="Write last where the earlier days are no harvest"):
        pipeline.checked(log)
    settings = settings_file(log)
    settings.write_text(settings.read_text("utf-8").replace('days = "?"', 'days = "sum"'), "utf-8")
    assert questions(log, "days") == []
    adopt(log, talk=answering(**{**TRAYS, "per": "pot"}))
    assert weights(log) == {tray: total(tray, kind) for tray, kind in EVERY}


@pytest.mark.parametrize("stop", ["days", "per", "crop"])
def test_an_answer_on_days_is_kept_where_its_owner_stops_between(tmp_path, stop):
    log = by_day(tmp_path)
    adopt(log)
    told = {**TRAYS, "days": SUM, "per": "pot"}
    adopt(log, talk=answering(stop=stop, **told))
    adopt(log, talk=answering(**told))
    assert weights(log) == {tray: total(tray, kind) for tray, kind in EVERY}


def test_one_harvest_is_not_asked_about(tmp_path):
    rows = [("2026-02-16", *row) for row in ROWS]
    assert questions(book(tmp_path, Log=[("Date", *HEAD), *rows]), "days") == []


def test_trays_that_were_harvested_on_days_of_their_own_are_not_asked_about(tmp_path):
    rows = [(f"2026-02-{10 + int(row[0][1])}", *row) for row in ROWS]
    assert questions(book(tmp_path, Log=[("Date", *HEAD), *rows]), "days") == []


@pytest.mark.parametrize("head", ["Harvested on", "Erntedatum", "Date de récolte"])
def test_plants_with_harvest_dates_of_their_own_are_not_asked_about(tmp_path, head):
    rows = [(f"2026-02-{10 + at % 5}", *row) for at, row in enumerate(ROWS)]
    assert questions(book(tmp_path, Log=[(head, *HEAD), *rows]), "days") == []


@pytest.mark.parametrize("head", ["Flowering date", "Date of first flower", "Aussaatdatum", "Germinated on"])
def test_days_of_something_else_than_weighing_are_not_asked_about(tmp_path, head):
    rows = [(f"2026-01-{10 + at % 5}", *row) for at, row in enumerate(ROWS)]
    assert questions(book(tmp_path, Log=[(head, *HEAD), *rows]), "days") == []


@pytest.mark.parametrize("head", ["Date", "Datum", "Fecha de cosecha", "Date de pesée", "Pesata", "Picked on", "Dia"])
def test_days_of_weighing_are_known_by_their_words(tmp_path, head):
    log = by_day(tmp_path)
    made = openpyxl.load_workbook(log)
    made["Log"]["A1"] = head
    made.save(log)
    assert len(questions(log, "days")) == 1


def test_no_advice_deletes_a_plant_that_stands_in_two_rows(tmp_path):
    others = [(*row[:3], row[3] + 0.7) for row in ROWS]
    log = book(tmp_path, Log=[HEAD, *ROWS, *others])
    adopt(log, talk=answering(**TRAYS))
    with pytest.raises(WorkbookError) as stopped:
        pipeline.checked(log)
    assert not any("Delete one of the rows" in one.advice for one in stopped.value.problems)
    assert any("give them codes of their own" in one.advice for one in stopped.value.problems)


# --- gross weights


@pytest.mark.parametrize(
    "header",
    ["FW + pot (g)", "FW+pot (g)", "Fresh weight & bag (g)", "Frischgewicht + Topf (g)", "Poids frais + pot (g)"],
)
def test_a_weight_with_its_pot_is_none_of_the_plant(tmp_path, header):
    log = weighed(tmp_path, header, "Dry weight (g)", of=lambda weight: (weight + 20, weight / 10))
    assert source(log, "Fresh weight") is None
    assert any("plant and pot together" in text for text in understood(log_of((log,))).left_out)


def test_a_second_weight_with_a_bag_is_none_of_the_plant_either(tmp_path):
    heads = ("Dry weight with bag (g)", "Fresh weight with bag (g)", "Height (cm)")
    log = weighed(tmp_path, *heads, of=lambda weight: (weight / 10 + 20, weight + 20, weight))
    assert (source(log, "Fresh weight"), source(log, "Dry weight")) == (None, None)


@pytest.mark.parametrize(
    ("heads", "net"),
    [
        (("FW + pot (g)", "Pot (g)"), "FW + pot (g) - Pot (g)"),
        (("Fresh weight with bag (g)", "Bag (g)"), "Fresh weight with bag (g) - Bag (g)"),
        (("Frischgewicht brutto (g)", "Tara (g)"), "Frischgewicht brutto (g) - Tara (g)"),
        (("Peso fresco lordo (g)", "Tara (g)"), "Peso fresco lordo (g) - Tara (g)"),
        (("Brutto (g)", "Leergewicht (g)"), "Brutto (g) - Leergewicht (g)"),
    ],
)
def test_a_gross_weight_is_read_less_its_tare(tmp_path, heads, net):
    log = weighed(tmp_path, *heads, of=lambda weight: (weight + 20.5, 20.5))
    adopt(log, talk=answering(**TRAYS))
    assert source(log, "Fresh weight") == net
    assert means(log) == MEAN


def test_fresh_and_dry_weights_with_one_bag_are_both_read_without_it(tmp_path):
    heads = ("Dry weight with bag (g)", "Fresh weight with bag (g)", "Bag (g)")
    log = weighed(tmp_path, *heads, of=lambda weight: (weight / 10 + 20, weight + 20, 20))
    assert (source(log, "Fresh weight"), source(log, "Dry weight")) == (
        "Fresh weight with bag (g) - Bag (g)",
        "Dry weight with bag (g) - Bag (g)",
    )
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEAN


@pytest.mark.parametrize(
    "heads",
    [
        ("Poids (g)", "Tare (g)"),
        ("Weight (g)", "Tare (g)"),
        ("Fresh weight (g)", "Tare (g)"),
        ("Peso (g)", "Tara (g)"),
        ("Gewicht (g)", "Tarra (g)"),
    ],
)
def test_whether_the_tare_is_off_is_asked(tmp_path, heads):
    log = weighed(tmp_path, *heads, of=lambda weight: (weight + 20.5, 20.5))
    (question,) = questions(log, "rivals")
    assert question.choices == (" - ".join(heads), heads[0])
    adopt(log)
    with pytest.raises(WorkbookError, match="the header that it stands under"):
        pipeline.checked(log)
    adopt(log, talk=answering(rivals=question.choices[0], **TRAYS))
    assert means(log) == MEAN


@pytest.mark.parametrize(
    "heads", [("Poids (g)", "Tare (g)", "Poids net (g)"), ("Weight (g)", "Tare (g)", "Plant weight (g)")]
)
def test_a_net_weight_beside_its_gross_one_and_the_tare_is_taken_unasked(tmp_path, heads):
    log = weighed(tmp_path, *heads, of=lambda weight: (weight + 20.5, 20.5, weight))
    assert questions(log, "rivals") == []
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEAN


def test_a_weight_whose_tare_is_blank_is_not_known(tmp_path):
    rows = [(*row[:3], row[3] + 20.5, None if at == 3 else 20.5) for at, row in enumerate(ROWS)]
    log = book(tmp_path, Log=[(*PLACE, "FW + pot (g)", "Pot (g)"), *rows])
    adopt(log, talk=answering(**TRAYS))
    with pytest.raises(WorkbookError, match="a blank stands for the fresh weight"):
        pipeline.checked(log)


# --- weights of several plants together


def waiting(log):
    """Return what the report waits for, empty where it waits for nothing."""
    try:
        pipeline.checked(log)
    except WorkbookError as error:
        return " ".join(one.found for one in error.problems)
    return ""


@pytest.mark.parametrize(
    "header",
    [
        "Fresh weight of 10 plants (g)",
        "Fresh weight of 10 seedlings (g)",
        "FW (g per 10 plants)",
        "FW (g/10 plants)",
        "Fresh weight x10 (g)",
        "Fresh weight ×10 (g)",
        "Fresh weight, 10 plants pooled (g)",
        "Frischgewicht 10 Pflanzen (g)",
        "Poids frais de 10 plantes (g)",
        "Peso fresco de 10 plantas (g)",
        "Peso fresco di 10 piante (g)",
        "Versgewicht 10 planten (g)",
    ],
)
def test_a_weight_of_several_plants_waits_for_its_owner(tmp_path, header):
    log = weighed(tmp_path, header, of=lambda weight: (10 * weight,))
    adopt(log, talk=answering(**TRAYS))
    assert f'"{header}" tells of 10 plants together' in waiting(log)
    settings = settings_file(log)
    text = settings.read_text("utf-8").replace("[trial]", 'confirmed = ["D2"]\n\n[trial]', 1)
    settings.write_text(text, "utf-8")
    adopt(log)
    assert waiting(log) == ""


@pytest.mark.parametrize(
    "header",
    ["Fresh weight plant 10 (g)", "Fresh weight day 10 (g)", "FW 10 (g)", "FW of 1 plant (g)"],
)
def test_a_number_that_counts_no_plants_is_none_of_them(tmp_path, header):
    log = weighed(tmp_path, header, of=lambda weight: (weight,))
    adopt(log, talk=answering(**TRAYS))
    assert waiting(log) == ""


def once_a_tray(at_plant):
    """Return plants whose dry weight stands in one row of each tray."""
    return [(*row, row[3] / 3 if row[2] == at_plant else None) for row in ROWS]


def test_a_dry_weight_in_the_first_row_of_each_tray_waits_for_its_owner(tmp_path):
    log = book(tmp_path, Log=[(*HEAD, "Dry weight (g)"), *once_a_tray(1)])
    adopt(log, talk=answering(**TRAYS))
    assert "the dry weight stands once a tray, in its first row" in waiting(log)


def test_a_dry_weight_of_one_chosen_plant_a_tray_is_taken(tmp_path):
    log = book(tmp_path, Log=[(*HEAD, "Dry weight (g)"), *once_a_tray(3)])
    adopt(log, talk=answering(**TRAYS))
    assert waiting(log) == ""


def test_a_fresh_weight_in_the_first_row_of_each_tray_waits_for_its_owner(tmp_path):
    rows = [(*row[:3], row[3] * 4 if row[2] == 1 else None) for row in ROWS]
    log = book(tmp_path, Log=[HEAD, *rows])
    adopt(log, talk=answering(**TRAYS))
    assert "the fresh weight stands once a tray" in waiting(log)


def test_a_weight_that_is_chosen_another_day_is_no_further_measurement_besides(tmp_path):
    weights = [(*row[:3], round(row[3] * 0.8, 1), row[3]) for row in ROWS]
    log = book(tmp_path, Log=[(*HEAD[:3], "Marketable weight (g)", "Total weight (g)"), *weights])
    own = {"rivals": "Total weight (g)", "mass": "Fresh weight", **TRAYS}
    adopt(log)
    adopt(log, talk=answering(**own))
    assert [one.key for one in pipeline.checked(log).traits if "total" in one.key] == []
    assert [one.key for one in pipeline.checked(log).traits if "marketable" in one.key] == ["marketable_weight"]
