"""The sheets beside plants, solution and meters: read whole, and each mistake in them named once."""

# ruff: noqa: E501 - one planted mistake a line reads best

import random
from datetime import date, datetime, time

import numpy as np
import pytest

from reportgen import metrics, report, workbook
from reportgen.model.settings import Settings
from reportgen.model.trial import (
    Cost,
    GrowthMeasurement,
    Instrument,
    LightReading,
    Load,
    Observation,
    TariffPeriod,
)
from tests.spoiling import both, cells, every, with_rows, without_column, without_rows
from tests.workbooks import (
    HARVEST,
    START,
    findings,
    good,
    growth_alone,
    put,
    said,
    trial,
    whole,
    write,
)

NOISE = [
    ["all", datetime(2026, 4, 12, hour, minute), 21.0, 60.0, 430]
    for hour in range(12)
    for minute in (0, 30)
]

# Each entry plants one mistake: what is altered, then severity and place of its one message, words
# found, words of advice.
MISTAKES = {
    "an unknown tray": (cells(Growth_A3="A9"), "error", "Growth!A3", '"A9" is not on the sheet Trays', "Type one of these"),
    "a plant that is not at harvest": (cells(Growth_B2=7), "caution", "Growth!B2", 'plant "7" of tray "A1" is not on the sheet Plants', "Mend the number"),
    "a plant measured twice on a day": (cells(Growth_C3=date(2026, 4, 8)), "error", "Growth!C3", '"A1, 1, 2026-04-08" stands in row 2 too', "Delete one"),
    "a measurement before sowing": (cells(Growth_C2=date(2026, 3, 1)), "caution", "Growth!C2", "2026-03-01 outside the trial", "Check the date"),
    "a measurement that is a word": (cells(Growth_E2="half"), "error", "Growth!E2", '"half" is not a number', "Type digits"),
    "a device of no treatment": (with_rows("Loads", ["haf", "lamp", 40, 16, None]), "error", "Loads!A2", '"haf" is not on the sheet Treatments', "Did you mean half?"),
    "a device beside a meter": (with_rows("Loads", ["half", "lamp", 40, 16, None]), "caution", "Loads!A2", 'the electricity of "half" is metered', "The meter was used"),
    "a device of more days than the trial": (both(without_rows("Meter", *range(2, 8)), with_rows("Loads", ["half", "lamp", 40, 16, 60])), "caution", "Loads!E2", "60 days are more than the trial had", "used as it stands"),
    "a day of 25 hours": (both(without_rows("Meter", *range(2, 8)), with_rows("Loads", ["half", "lamp", 40, 25, None])), "error", "Loads!D2", '"25" is not possible here', "Check 25"),
    "light in lux": (cells(Light_F1="PPFD (lux)"), "error", "Light!F1", '"PPFD (lux)" is not in a unit', "PPFD (µmol/m2/s)"),
    "a negative light": (cells(Light_F2=-1), "error", "Light!F2", '"-1" is not possible here', "Check -1"),
    "light beyond the sun": (cells(Light_F2=4000), "caution", "Light!F2", "4000 µmol/m2/s is unusual for PPFD", "Check the value"),
    "light without a value": (cells(Light_F2=None), "error", "Light!F2", "PPFD is not filled in yet", "Fill it in"),
    "light measured after the harvest": (cells(Light_B2=date(2026, 6, 1)), "caution", "Light!B2", "2026-06-01 outside the trial", "Check the date"),
    "a place with one coordinate": (cells(Light_D3=None), "caution", "Light!D3", "Y is not filled in", "not drawn on the map"),
    "a humidity above 100": (cells(Climate_D2=104), "error", "Climate!D2", '"104" is not possible here', "Check 104"),
    "a humidity in hundredths": (both(with_rows("Climate", *NOISE), every("Climate", 4, lambda value: value / 100)), "caution", "Climate!D2:D29", "0.61% and 27 more are unusual for Relative humidity", "Check the values"),
    "a sensor that failed": (both(with_rows("Climate", *NOISE), every("Climate", 3, lambda _: -127)), "error", "Climate!C2:C29", '"-127" and 27 more is not possible here', "Check -127"),
    "a sensor in the sun": (both(with_rows("Climate", *NOISE), every("Climate", 3, lambda _: 52)), "caution", "Climate!C2:C29", "52 °C and 27 more are unusual", "Check the values"),
    "errors of a spreadsheet in a log": (both(with_rows("Climate", *NOISE), every("Climate", 3, lambda _: "#N/A")), "error", "Climate!C2:C29", '"#N/A" and 27 more is an error of the spreadsheet', "Mend the formula"),
    "climate of no treatment": (cells(Climate_A3="ful"), "error", "Climate!A3", '"ful" is not on the sheet Treatments', "Did you mean full?"),
    "climate after the harvest": (cells(Climate_B5=datetime(2026, 9, 9, 12)), "caution", "Climate!B5", "2026-09-09 outside the trial", "Check the date"),
    "climate in another unit": (cells(Climate_E1="CO2 (kg)"), "error", "Climate!E1", '"CO2 (kg)" is not in a unit', "CO2 (ppm)"),
    "a cost of no treatment": (cells(Costs_B2="haf"), "error", "Costs!B2", '"haf" is not on the sheet Treatments', "Did you mean half?"),
    "a negative cost": (cells(Costs_C2=-1), "error", "Costs!C2", '"-1" is not possible here', "Check -1"),
    "a cost with its currency": (cells(Costs_C2="1.10 €"), "error", "Costs!C2", '"1.10 €" is not a number', "Type the number alone"),
    "costs in another currency": (cells(Costs_C1="Cost (€)"), "error", "Costs!C1", '"Cost" is in €, and Currency on the sheet Trial is blank, which means USD', "Write EUR in Currency"),
    "a price in another currency": (cells(Trial_A9="Currency", Trial_B9="USD", Trial_A8="Water price (EUR/L)"), "error", "Trial!A8", "is in EUR, and the trial's currency is USD", "Write EUR in Currency"),
    "equipment without its use": (cells(Costs_E3=None), "error", "Costs!E3", "Hours used is not filled in yet", "clear Life"),
    "use without a life": (cells(Costs_D3=None), "caution", "Costs!D3", "Life is not filled in", "bears the whole cost"),
    "more use than life": (cells(Costs_E3=30000), "caution", "Costs!E3", "30000 h of use are more than its life", "Check both"),
    "an instrument that measures something else": (cells(Instruments_B2="sound"), "error", "Instruments!B2", '"sound" is not one of the words', "one of these words"),
    "a resolution in another unit": (cells(Instruments_D2="1 mL"), "error", "Instruments!D2", '"1 mL" is not in a unit of weight', "Type the number in g."),
    "a resolution that is a word": (cells(Instruments_D2="fine"), "error", "Instruments!D2", '"fine" is not a number', "Type digits"),
    "an accuracy above 100%": (cells(Instruments_E2=150), "error", "Instruments!E2", '"150" is not possible here', "Check 150"),
    "neither yes nor no": (cells(Instruments_G2="both"), "error", "Instruments!G2", '"both" is neither yes nor no', "Type yes or no"),
    "an observation of nothing": (cells(Observations_D2=None), "error", "Observations!D2", "Observation is not filled in yet", "Fill it in"),
    "an observation of an unknown tray": (cells(Observations_C2="B22"), "error", "Observations!C2", '"B22" is not on the sheet Trays', "Did you mean B2?"),
    "a photo that is not there": (cells(Observations_E2="leaf.jpg"), "caution", "Observations!E2", '"leaf.jpg" is not there', "Check the name"),
    "a photo that is none": (cells(Observations_E2="leaf.docx"), "caution", "Observations!E2", '"leaf.docx" is no photo', "left out"),
    "a photo of an upper folder": (cells(Observations_E2="../leaf.jpg"), "error", "Observations!E2", '"../leaf.jpg" is not in the folder of the workbook', "Copy the photo"),
    "a photo of the whole disk": (cells(Observations_E2="/etc/leaf.jpg"), "error", "Observations!E2", "is not in the folder of the workbook", "Copy the photo"),
    "a photo of another drive": (cells(Observations_E2="C:\\photos\\leaf.jpg"), "error", "Observations!E2", "is not in the folder of the workbook", "Copy the photo"),
    "a photo of an upper folder on Windows": (cells(Observations_E2="photos\\..\\..\\leaf.jpg"), "error", "Observations!E2", "is not in the folder of the workbook", "Copy the photo"),
    "a photo of another machine": (cells(Observations_E2="\\\\server\\share\\leaf.jpg"), "error", "Observations!E2", "is not in the folder of the workbook", "Copy the photo"),
    "a photo of the web": (cells(Observations_E2="https://example.org/leaf.jpg"), "error", "Observations!E2", "is not in the folder of the workbook", "Copy the photo"),
    "a day with an hour that has no price": (cells(Tariff_B2="21:00"), "error", "Tariff!B2", "this price ends at 21:00 and the next begins at 22:00", "Mend one"),
    "an hour with two prices": (cells(Tariff_A3="20:00"), "error", "Tariff!B2", "this price ends at 22:00 and the next begins at 20:00", "Mend one"),
    "a price beside a tariff": (cells(Trial_A8="Electricity price (per kWh)"), "caution", "Trial!B8", "there is a price here and a sheet Tariff", "The sheet Tariff was used"),
    "an hour that no clock has": (cells(Tariff_A3="25:00"), "error", "Tariff!A3", '"25:00" is not a time of day', "for example 06:30"),
    "a price twice": (with_rows("Tariff", ["06:00", "06:00", 0.3]), "error", "Tariff!A4", "stands in row 2 too", "Delete one"),
    "prices by the hour and unknown hours of light": (cells(Treatments_D2=None), "caution", "Treatments!D2", "Photoperiod is not filled in", "The mean price of the whole day"),
    "a column that is missing": (without_column("Light", 6), "error", "Light", "no column PPFD", "Add it"),
    "a column that is not used": (cells(Climate_F1="Wind (m/s)"), "remark", "Climate!F1", '"Wind (m/s)" is not a column', "left alone"),
    "an average in a log": (with_rows("Climate", ["Average", None, 21.0, 60.0, 430]), "error", "Climate!A6", '"Average" looks like a total or an average', "Delete the row"),
}  # fmt: skip


def test_a_workbook_with_every_sheet_has_no_problem(tmp_path):
    assert findings(write(whole(), tmp_path / "trial.xlsx")) == ()


@pytest.mark.parametrize("mistake", MISTAKES)
def test_one_mistake_gives_one_message_with_its_cell_and_its_remedy(tmp_path, mistake):
    change, severity, place, found, advice = MISTAKES[mistake]
    path = write(change(whole()), tmp_path / "trial.xlsx")
    assert said(path) == [(severity, place)], [str(one) for one in findings(path)]
    problem = findings(path)[0]
    assert found in problem.found
    assert advice in problem.advice
    assert problem.expected


def test_everything_that_was_recorded_stands_in_the_trial(tmp_path):
    sheets = with_rows("Loads", ["half", "lamp", "0.04 kW", 16, None])(
        without_rows("Meter", *range(2, 8))(whole())
    )
    made = trial(write(sheets, tmp_path / "trial.xlsx"))
    assert made.growth[0] == GrowthMeasurement("A1", "1", date(2026, 4, 8), (5.6, 18.0))
    assert [(trait.key, trait.unit) for trait in made.growth_traits] == [
        ("height", "cm"),
        ("canopy_cover", "%"),
    ]
    assert made.loads == (Load("half", "lamp", 40.0, 16.0),)
    assert made.light[0] == LightReading("half", 230.0, START, 10.0, 10.0, 30.0)
    assert made.costs == (Cost("nutrients", "half", 1.1), Cost("pump", None, 24.0, 20000.0, 840.0))
    assert made.instruments == (
        Instrument("kitchen scale", "weight", "", 0.1, 0.5, date(2026, 3, 1)),
        Instrument("plug meter", "energy", "", 0.1, 1.0, per_treatment=True),
    )
    assert made.observations == (
        Observation(date(2026, 4, 15), "tips of two leaves brown", "full", "B2"),
    )


def test_a_climate_log_becomes_arrays_that_nobody_can_change(tmp_path):
    sheets = put(whole(), Climate_C3=None, Climate_C1="Air temperature (°F)", Climate_A2="full")
    log = trial(write(sheets, tmp_path / "trial.xlsx")).climate
    assert log.treatments == ("full", None, None, None)
    assert log.at.tolist()[0] == datetime(2026, 4, 2, 0, 0)
    assert np.isnan(log.air_temperature).tolist() == [False, True, False, False]
    assert log.air_temperature[0] == pytest.approx(
        (20.5 - 32) / 1.8, abs=1e-12
    )  # by definition of the scale
    assert np.isnan(log.solution_temperature).all()
    with pytest.raises(ValueError, match="read-only"):
        log.co2[0] = 1


def test_a_long_column_reads_as_its_cells_do_one_by_one(tmp_path):
    # The same numbers with a text among them, which must be read cell by cell.
    chance = random.Random(7)
    rows = [
        [
            "all",
            datetime(2026, 4, 3, n // 60, n % 60),
            chance.gauss(21, 2),
            chance.uniform(40, 80),
            None,
        ]
        for n in range(600)
    ]
    sheets = with_rows("Climate", *rows)(whole())
    at_once = trial(write(sheets, tmp_path / "once.xlsx")).climate
    singly = trial(
        write(put(sheets, Climate_C2="20.5", Climate_D2="61"), tmp_path / "singly.xlsx")
    ).climate
    for name in ("air_temperature", "relative_humidity", "co2", "at"):
        assert np.array_equal(getattr(at_once, name), getattr(singly, name), equal_nan=name != "at")


def test_times_of_day_are_read_as_hours(tmp_path):
    sheets = put(
        whole(),
        Treatments_E2=time(5, 30),
        Treatments_E3="05.30",
        Tariff_B2=0.75 + 4 / 24,
        Tariff_B3="06:00",
    )
    made = trial(write(sheets, tmp_path / "trial.xlsx"))
    assert [treatment.lights_on_at for treatment in made.treatments] == [5.5, 5.5]
    assert made.tariff == (TariffPeriod(6.0, 22.0, 0.31), TariffPeriod(22.0, 6.0, 0.19))


@pytest.mark.parametrize(
    "unit", ["µmol/m²/s", "umol m-2 s-1", "μmol·m⁻²·s⁻¹", "µmol/(m2 s)", "umol/m^2/s"]
)
def test_light_is_read_in_any_spelling_of_its_unit(tmp_path, unit):
    made = trial(write(put(whole(), Light_F1=f"PPFD ({unit})"), tmp_path / "trial.xlsx"))
    assert made.light[0].ppfd == pytest.approx(230.0, rel=1e-12)


def test_a_percentage_is_what_the_sheet_shows(tmp_path):
    def as_percent(book):
        book["Instruments"]["E2"].value = 0.005
        book["Instruments"]["E2"].number_format = "0.0%"

    path = write(whole(), tmp_path / "trial.xlsx", as_percent)
    assert trial(path).instruments[0].accuracy == pytest.approx(0.5, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "kept"), [("100 mg", 0.1), ("0.1", 0.1), (1, 1.0), ("0,5 g", 0.5)]
)
def test_a_resolution_is_in_the_unit_that_its_instrument_measures(tmp_path, typed, kept):
    path = write(put(whole(), Instruments_D2=typed), tmp_path / "trial.xlsx")
    assert trial(path).instruments[0].resolution == pytest.approx(kept, rel=1e-12)
    assert findings(path) == ()


def test_a_step_of_temperature_has_no_zero_point(tmp_path):
    path = write(
        put(whole(), Instruments_B2="air temperature", Instruments_D2="1 °F"),
        tmp_path / "trial.xlsx",
    )
    assert trial(path).instruments[0].resolution == pytest.approx(
        5 / 9, rel=1e-12
    )  # by definition of the scale


def test_words_for_instruments_are_taken_in_any_spelling(tmp_path):
    path = write(
        put(whole(), Instruments_B2="Air_Temperature", Instruments_D2=0.1, Instruments_B3="ec"),
        tmp_path / "trial.xlsx",
    )
    assert [one.measures for one in trial(path).instruments] == ["air temperature", "EC"]


def test_a_photo_beside_the_workbook_is_taken_and_its_description_asked_for(tmp_path):
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "leaf.jpg").write_bytes(b"jpeg")
    sheets = put(whole(), Observations_E2="photos/leaf.jpg")
    assert said(write(sheets, tmp_path / "trial.xlsx")) == [("caution", "Observations!F2")]
    described = write(
        put(sheets, Observations_F2="A leaf with a brown tip"), tmp_path / "trial.xlsx"
    )
    assert findings(described) == ()
    assert trial(described).observations[0].photo == "photos/leaf.jpg"


def test_a_link_that_leaves_the_folder_is_no_photo_of_it(tmp_path):
    inner = tmp_path / "inner"
    inner.mkdir()
    (tmp_path / "secret.jpg").write_bytes(b"jpeg")
    (inner / "leaf.jpg").symlink_to(tmp_path / "secret.jpg")
    path = write(put(whole(), Observations_E2="leaf.jpg"), inner / "trial.xlsx")
    assert said(path) == [("error", "Observations!E2")]


def test_what_was_recorded_stands_as_tables_in_the_units_of_the_trial(tmp_path):
    sheets = put(whole(), Plants_C1="Fresh weight (kg)", Plants_F1="Stem (mm)", Plants_F2=3)
    for row in sheets["Plants"][1:]:
        row[2] /= 1000
    made = trial(write(sheets, tmp_path / "trial.xlsx"))
    tables = {table.name: {column.name: column for column in table.columns} for table in made.data}
    assert "Loads" not in tables  # a sheet without rows
    assert tables["Plants"]["Fresh weight"].unit == "g"
    assert tables["Plants"]["Fresh weight"].values[0] == pytest.approx(22.0, rel=1e-12)
    assert list(tables["Plants"]) == ["Tray", "Plant", "Fresh weight", "Height", "Status", "Stem"]
    assert (tables["Plants"]["Stem"].unit, tables["Plants"]["Stem"].values[:2]) == (
        "mm",
        (3.0, None),
    )
    assert tables["Trial"]["Harvested on"].values == (HARVEST,)
    assert tables["Climate"]["Read at"].values[1] == datetime(2026, 4, 2, 12)


def merged(name, cells):
    return lambda book: book[name].merge_cells(cells)


def test_a_merged_label_counts_for_all_its_rows(tmp_path):
    sheets = put(whole(), Plants_A3=None, Plants_A4=None, Plants_A5=None)
    path = write(sheets, tmp_path / "trial.xlsx", merged("Plants", "A2:A5"))
    assert said(path) == [("remark", "Plants!A1")]
    assert "the first A2" in findings(path)[0].found
    assert [plant.tray for plant in trial(path).plants[:5]] == ["A1"] * 4 + ["A2"]


def test_a_merged_number_is_asked_back(tmp_path):
    path = write(whole(), tmp_path / "trial.xlsx", merged("Plants", "C2:C5"))
    assert said(path) == [("error", "Plants!C2:C5")]
    assert findings(path)[0].found == "C2:C5 is merged, one number for 4 rows"


def test_a_merged_title_above_the_table_does_not_matter(tmp_path):
    sheets = whole()
    sheets["Plants"].insert(0, ["Harvest of the trial"])
    path = write(sheets, tmp_path / "trial.xlsx", merged("Plants", "A1:E1"))
    assert said(path) == [("remark", "Plants!A1")]


def test_the_sites_currency_holds_for_a_workbook_that_names_none(tmp_path):
    sheets = put(whole(), Costs_C1="Cost (EUR)", Trial_A8="Water price (per L)")
    path = write(sheets, tmp_path / "trial.xlsx")
    assert said(path) == [("error", "Costs!C1")]
    euros = Settings(currency="EUR", author="A. Grower", licence="CC0-1.0", language="es")
    made = workbook.check(workbook.read(path), euros)
    assert (made.about.author, made.about.licence, made.about.language) == (
        "A. Grower",
        "CC0-1.0",
        "es",
    )
    assert (made.currency, made.findings) == ("EUR", ())
    assert workbook.problems_in(workbook.read(path), euros) == ()


def test_without_a_list_of_plants_one_measured_once_beside_others_is_told(tmp_path):
    sheets = growth_alone()
    assert findings(write(sheets, tmp_path / "trial.xlsx")) == ()
    sheets["Growth"][1][1] = 11
    (problem,) = findings(write(sheets, tmp_path / "trial.xlsx"))
    assert (problem.cell, problem.code) == ("B2", "plant_measured_once")
    assert 'plant "11" of tray "A1" was measured once' in problem.found


@pytest.mark.parametrize(
    ("cells", "settings", "assumed"),
    [
        ({}, Settings(), True),
        ({"Trial_A8": "Electricity price (EUR per kWh)"}, Settings(currency="EUR"), False),
        ({"Trial_A8": "Electricity price (USD per kWh)"}, Settings(), False),
        ({"Trial_A9": "Currency", "Trial_B9": "USD"}, Settings(), False),
        ({}, Settings(currency="USD"), False),
        ({"Trial_A8": "Location", "Trial_B8": "a bench"}, Settings(), False),
    ],
)
def test_money_without_a_currency_is_told_and_the_page_says_what_was_assumed(
    tmp_path, cells, settings, assumed
):
    sheets = put(good(), **{"Trial_A8": "Electricity price (per kWh)", **cells})
    read = workbook.read(write(sheets, tmp_path / "trial.xlsx"))
    codes = [problem.code for problem in workbook.problems_in(read, settings)]
    assert codes == ["currency_assumed"] * assumed
    trial_of = workbook.check(read, settings)
    document = report.compose(trial_of, metrics.compute(trial_of), settings)
    assert ("No currency was recorded: USD is assumed." in str(document.sections)) is assumed
