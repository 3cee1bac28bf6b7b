"""Columns that may each be the same thing: words or values settle which of them it is, else their
owner is asked.
"""

from datetime import datetime, timedelta

import pytest

from reportgen import pipeline
from reportgen.importing.settings import read_settings, settings_file
from reportgen.metrics import compute
from reportgen.model.problem import NotYetError, WorkbookError
from tests.adopting import adopt, answering, asked, book, means, measured

PLACE = ("Tray", "Treatment", "Plant no.")
HEAD = (*PLACE, "Fresh weight (g)")
WARM, PLAIN = (30.5, 31.2, 33.1, 29.8), (25.4, 26.6, 24.9, 27.0)
ROWS = [
    (f"T{tray}", kind, plant, held[plant - 1] + tray / 10)
    for tray, kind, held in (
        (1, "warm", WARM),
        (2, "plain", PLAIN),
        (3, "warm", WARM),
        (4, "plain", PLAIN),
    )
    for plant in (1, 2, 3, 4)
]
TRUE = {"warm": (2, pytest.approx(31.35)), "plain": (2, pytest.approx(26.275))}
HALF = {"warm": (2, pytest.approx(31.35 / 2)), "plain": (2, pytest.approx(26.275 / 2))}
TRAYS = {"trial.independent": "unit", "trial.reference": "plain"}


def weighed(tmp_path, *headers, of=lambda weight: (weight / 2, weight)):
    """Return a log of plants with further columns of numbers, each made of what the plant weighed."""
    return book(tmp_path, Log=[(*PLACE, *headers), *((*row[:3], *of(row[3])) for row in ROWS)])


def logged(tmp_path, *headers, of, labels=("warm", "plain")):
    """Return a log with a second sheet of readings: one row a label and second day from the first
    to the last.
    """
    days = [(day, label) for day in range(0, 43, 2) for label in labels]
    rows = [(datetime(2026, 1, 5) + timedelta(day), label, *of(day)) for day, label in days]
    return book(tmp_path, Log=[HEAD, *ROWS], Logger=[("Date", "Treatment", *headers), *rows])


def columns_of(log, quantity):
    """Return the columns that a quantity is read from, by the settings file."""
    layouts = read_settings(settings_file(log)).layouts
    return [
        values.columns
        for layout in layouts
        for values in layout.values
        if values.quantity == quantity
    ]


def taken(log, **own):
    adopt(log, talk=answering(**{**TRAYS, **own}))
    return log


# --- weights


@pytest.mark.parametrize(
    "headers",
    [
        ("Fresh weight lab", "Fresh weight corrected"),
        ("Marketable weight", "Total weight"),
        ("Gewicht geputzt", "Gewicht ungeputzt"),
    ],
)
def test_which_of_two_weights_is_that_at_harvest_is_asked(tmp_path, headers):
    log = weighed(tmp_path, *(f"{header} (g)" for header in headers))
    assert f"Log.quantity.{headers[1]}" in {question.key for question in asked(log)}
    adopt(log)
    with pytest.raises(WorkbookError, match="settles no table"):
        pipeline.checked(log)
    own = {
        headers[1]: "Fresh weight",
        headers[0]: headers[0],
        "values": f"Fresh weight: {headers[1]}",
    }
    assert means(taken(log, **own)) == TRUE


def test_two_weights_under_one_header_are_asked_about_by_their_number(tmp_path):
    log = weighed(tmp_path, "Fresh weight (g)", "Fresh weight (g)")
    assert "Log.quantity.Fresh weight (2 of 2)" in {question.key for question in asked(log)}
    assert means(taken(log)) == TRUE


def test_of_weights_of_several_days_the_last_may_be_the_harvest(tmp_path):
    log = weighed(
        tmp_path,
        "FW d14 (g)",
        "FW d28 (g)",
        "FW d42 (g)",
        of=lambda weight: (weight / 5, weight / 2, weight),
    )
    (question,) = [one for one in asked(log, tray="Tray") if one.key.startswith("Log.")]
    last = next(
        choice.answer
        for choice in question.choices
        if "the last weighing is the harvest" in choice.answer
    )
    assert means(taken(log, tray="Tray", occasions=last)) == TRUE


def test_dry_weights_of_several_days_are_asked_about_beside_the_fresh_ones(tmp_path):
    heads = ("FW d28 (g)", "DW d28 (g)", "FW d42 (g)", "DW d42 (g)")
    log = weighed(
        tmp_path, *heads, of=lambda weight: (weight / 2, weight / 20, weight, weight / 10)
    )
    (question,) = [one for one in asked(log, tray="Tray") if one.key.startswith("Log.")]
    last = next(
        choice.answer
        for choice in question.choices
        if "the last weighing is the harvest" in choice.answer
    )
    assert means(taken(log, tray="Tray", occasions=last)) == TRUE
    assert means(log, "dry_weight") == {
        "warm": (2, pytest.approx(3.135)),
        "plain": (2, pytest.approx(2.6275)),
    }


@pytest.mark.parametrize(
    ("headers", "figures"),
    [
        (("Initial weight (g)", "Final weight (g)"), TRUE),
        (("Anfangsgewicht (g)", "Endgewicht (g)"), TRUE),
        (("Bruttogewicht (g)", "Nettogewicht (g)"), TRUE),
        (("Peso netto (g)", "Peso lordo (g)"), HALF),
        (("Fresh weight (g)", "Start weight (g)"), HALF),
        (("Fresh weight (g)", "Weight of leaves (g)"), HALF),
    ],
)
def test_of_two_weights_their_words_settle_which_is_that_at_harvest(tmp_path, headers, figures):
    log = weighed(tmp_path, *headers)
    assert (
        len([one for one in asked(log) if one.key.startswith("Log.")]) <= 1
    )  # fresh or dry, where it is not said
    assert means(taken(log)) == figures


@pytest.mark.parametrize("header", ["Initial weight (g)", "Startgewicht (g)"])
def test_a_lone_weight_of_the_seedling_is_no_weight_at_harvest(tmp_path, header):
    log = taken(weighed(tmp_path, header, of=lambda weight: (weight,)))
    with pytest.raises(NotYetError):
        pipeline.checked(log)


def test_a_weight_that_is_the_sum_of_the_others_is_taken_unasked(tmp_path):
    heads = ("Fresh weight sold (g)", "Fresh weight trimmed (g)", "Fresh weight in all (g)")
    log = weighed(tmp_path, *heads, of=lambda weight: (weight * 0.75, weight * 0.25, weight))
    assert [one.key for one in asked(log)] == []
    assert means(taken(log)) == TRUE


def test_heights_of_several_weeks_are_measures_of_their_own(tmp_path):
    heads = ("Fresh weight (g)", "Height wk 2 (cm)", "Height wk 4 (cm)")
    log = taken(weighed(tmp_path, *heads, of=lambda weight: (weight, weight / 4, weight / 2)))
    keys = {one.measure.key for one in compute(pipeline.checked(log)).measures}
    assert {"height_wk_2", "height_wk_4"} <= keys
    assert "height" not in keys


@pytest.mark.parametrize("stop", ["Marketable weight", "trial.crop"])
def test_an_answer_is_kept_where_its_owner_stops_between(tmp_path, stop):
    log = weighed(tmp_path, "Marketable weight (g)", "Total weight (g)")
    own = {
        "Total weight": "Fresh weight",
        "Marketable weight": "Marketable weight",
        "values": "Fresh weight: Total weight",
        **TRAYS,
    }
    adopt(log, talk=answering(stop=stop, **own))
    adopt(log, talk=answering(**own))
    assert means(log) == TRUE
    assert "marketable_weight" in {
        one.measure.key for one in compute(pipeline.checked(log)).measures
    }


# --- climate


@pytest.mark.parametrize(
    ("headers", "meant"),
    [
        (("Temp min (°C)", "Temp max (°C)", "Temp mean (°C)"), 2),
        (("Outside temp (°C)", "Inside temp (°C)"), 1),
        (("Température consigne (°C)", "Température mesurée (°C)"), 1),
        (("Dew point (°C)", "Temperature (°C)"), 1),
        (("Water temp (°C)", "Temp (°C)"), 1),
        (("Leaf temperature (°C)", "Air temperature (°C)"), 1),
    ],
)
def test_a_temperature_that_is_not_of_the_air_is_not_taken_for_it(tmp_path, headers, meant):
    log = logged(
        tmp_path,
        *headers,
        of=lambda day: tuple(18.0 + at + day % 5 / 10 for at, _ in enumerate(headers)),
    )
    found = means(taken(log), "air_temperature")
    assert found["warm"][1] == pytest.approx(18.2 + meant, abs=0.05)


@pytest.mark.parametrize("header", ["Taupunkt (°C)", "Outside temp (°C)", "Tmin (°C)"])
def test_a_lone_temperature_that_is_not_of_the_air_is_left_out(tmp_path, header):
    log = taken(logged(tmp_path, header, "RH (%)", of=lambda day: (12.1 + day % 5, 60.3 + day % 7)))
    keys = {one.measure.key for one in compute(pipeline.checked(log)).measures}
    assert "relative_humidity" in keys
    assert "air_temperature" not in keys


@pytest.mark.parametrize("first", ["Outside RH (%)", "RH setpoint (%)"])
def test_a_humidity_that_is_not_of_the_air_is_not_taken_for_it(tmp_path, first):
    log = taken(
        logged(tmp_path, first, "RH inside (%)", of=lambda day: (50.2 + day % 7, 60.2 + day % 7))
    )
    assert columns_of(log, "Relative humidity") == [("RH inside",)]


def test_sensors_side_by_side_are_places_of_one_treatment(tmp_path):
    log = taken(
        logged(
            tmp_path,
            "Temp top (°C)",
            "Temp bottom (°C)",
            of=lambda day: (21.3 + day % 5, 22.3 + day % 5),
        )
    )
    bottom = 22.3 + sum(day % 5 for day in range(0, 43, 2)) / 22
    assert means(log, "air_temperature")["warm"][1] == pytest.approx(bottom - 0.5, abs=0.1)


# --- meters


def test_two_registers_of_one_meter_add_up(tmp_path):
    heads = ("Stand hoog (kWh)", "Stand laag (kWh)")
    log = logged(tmp_path, *heads, of=lambda day: (100 + day, 50 + day / 2))
    (question,) = [one for one in asked(log) if one.key.startswith("Logger.")]
    registers = [choice for choice in question.choices if "energy" in (choice.gives or {})]
    totals = {choice.answer: choice.gives["energy"]["warm"].total for choice in registers}
    both = next(answer for answer, total in totals.items() if total == pytest.approx(42 + 21))
    taken(log, **{question.key: both})
    assert measured(pipeline.checked(log), "energy_use").estimates


def test_a_counter_beside_what_was_used_is_the_reading(tmp_path):
    log = taken(
        logged(tmp_path, "Consumo (kWh)", "Leitura (kWh)", of=lambda day: (4.0, 100.0 + 2 * day))
    )
    assert means(log, "energy_use") == {
        "warm": (2, pytest.approx(42)),
        "plain": (2, pytest.approx(42)),
    }


@pytest.mark.parametrize("begins", ["2026-01-04", "2026-01-05"])
def test_readings_at_the_start_and_the_end_are_the_same_energy_as_what_was_used(tmp_path, begins):
    """Each row is of the time from its reading at the start to that at the end: 22 rows of 2 kWh
    for two trays.
    """
    heads = ("Meter start (kWh)", "Meter end (kWh)", "Used (kWh)")
    log = logged(tmp_path, *heads, of=lambda day: (100.0 + day, 102.0 + day, 2.0))
    taken(log, **{"trial.started_on": begins})
    used = 22 * 2.0 / 2
    assert means(log, "energy_use") == {
        "warm": (2, pytest.approx(used)),
        "plain": (2, pytest.approx(used)),
    }


def test_the_settings_say_that_an_amount_is_between_two_readings(tmp_path):
    """Those of before said only that the reading at the start is subtracted: the same figures."""
    heads = ("Meter start (kWh)", "Meter end (kWh)")
    log = logged(tmp_path, *heads, of=lambda day: (100.0 + day, 102.0 + day))
    settings = settings_file(taken(log, **{"trial.started_on": "2026-01-05"}))
    text = settings.read_text("utf-8")
    word = ', counts = "between readings"'
    assert text.count(word) == 1
    before = means(log, "energy_use")
    assert before["warm"] == (2, pytest.approx(22))
    settings.write_text(text.replace(word, ""), "utf-8")
    assert means(log, "energy_use") == before


def test_a_counter_beside_its_differences_is_the_reading_of_each_treatment(tmp_path):
    heads = ("Used warm (kWh)", "Used plain (kWh)", "Reading warm (kWh)", "Reading plain (kWh)")
    days = [datetime(2026, 1, 5) + timedelta(day) for day in range(0, 43, 2)]
    rows = [(day, 2.0, 3.0, 10.0 + 2 * at, 30.0 + 3 * at) for at, day in enumerate(days)]
    log = taken(book(tmp_path, Log=[HEAD, *ROWS], Power=[("Date", *heads), *rows]))
    assert means(log, "energy_use") == {
        "warm": (2, pytest.approx(21)),
        "plain": (2, pytest.approx(31.5)),
    }


# --- gross weights


@pytest.mark.parametrize(
    "heads",
    [
        ("FW + pot (g)", "Pot (g)"),
        ("Frischgewicht brutto (g)", "Tara (g)"),
        ("Brutto (g)", "Leergewicht (g)"),
    ],
)
def test_a_gross_weight_is_read_less_its_tare(tmp_path, heads):
    log = weighed(tmp_path, *heads, of=lambda weight: (weight + 20.5, 20.5))
    assert means(taken(log)) == TRUE


@pytest.mark.parametrize(
    "header", ["FW+pot (g)", "Fresh weight & bag (g)", "Frischgewicht + Topf (g)"]
)
def test_a_weight_with_its_pot_is_not_taken_for_that_of_the_plant_without_a_word(tmp_path, header):
    log = weighed(tmp_path, header, "Dry weight (g)", of=lambda weight: (weight + 20, weight / 10))
    assert f"Log.quantity.{header.removesuffix(' (g)')}" in [one.key for one in asked(log)]


def test_fresh_and_dry_weights_with_one_bag_are_both_read_without_it(tmp_path):
    heads = ("Dry weight with bag (g)", "Fresh weight with bag (g)", "Bag (g)")
    log = weighed(tmp_path, *heads, of=lambda weight: (weight / 10 + 20, weight + 20, 20))
    assert means(taken(log)) == TRUE
    assert means(log, "dry_weight")["warm"] == (2, pytest.approx(3.135))


@pytest.mark.parametrize(
    "heads",
    [("Poids (g)", "Tare (g)", "Poids net (g)"), ("Weight (g)", "Tare (g)", "Plant weight (g)")],
)
def test_a_net_weight_beside_its_gross_one_and_the_tare_is_the_weight(tmp_path, heads):
    log = weighed(tmp_path, *heads, of=lambda weight: (weight + 20.5, 20.5, weight))
    assert means(taken(log, row="left out")) == TRUE


def test_a_weight_whose_tare_is_blank_is_not_known(tmp_path):
    rows = [(*row[:3], row[3] + 20.5, None if at == 3 else 20.5) for at, row in enumerate(ROWS)]
    log = book(tmp_path, Log=[(*PLACE, "FW + pot (g)", "Pot (g)"), *rows])
    taken(log)
    try:
        trial = pipeline.checked(log)
    except WorkbookError:
        return
    assert all(plant.fresh_weight is None or plant.fresh_weight < 40 for plant in trial.plants)


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
    ["Fresh weight of 10 plants (g)", "Fresh weight x10 (g)", "Frischgewicht 10 Pflanzen (g)"],
)
def test_a_weight_of_several_plants_waits_for_its_owner(tmp_path, header):
    log = weighed(tmp_path, header, of=lambda weight: (10 * weight,))
    assert [one.key for one in asked(log)] == ["row.Log!D2"]
    adopt(log, talk=answering(row="keep as it is", **TRAYS))
    assert waiting(log) == ""


def test_a_weight_per_several_plants_is_none_of_one_plant(tmp_path):
    log = taken(weighed(tmp_path, "FW (g per 10 plants)", of=lambda weight: (10 * weight,)))
    assert waiting(log)


@pytest.mark.parametrize(
    "header", ["Fresh weight plant 10 (g)", "Fresh weight day 10 (g)", "FW of 1 plant (g)"]
)
def test_a_number_that_counts_no_plants_is_none_of_them(tmp_path, header):
    log = taken(weighed(tmp_path, header, of=lambda weight: (weight,)))
    assert waiting(log) == ""


def test_a_fresh_weight_in_the_first_row_of_each_tray_waits_for_its_owner(tmp_path):
    rows = [(*row[:3], row[3] * 4 if row[2] == 1 else None) for row in ROWS]
    log = book(tmp_path, Log=[HEAD, *rows])
    waits = asked(log, blank="not measured")
    assert ["once a tray" in one.ask for one in waits if one.key == "row.Log!D2"] == [True]


def test_a_dry_weight_of_one_chosen_plant_a_tray_is_taken(tmp_path):
    rows = [(*row, row[3] / 10 if row[2] == 3 else None) for row in ROWS]
    log = taken(book(tmp_path, Log=[(*HEAD, "Dry weight (g)"), *rows]), blank="not measured")
    assert waiting(log) == ""
