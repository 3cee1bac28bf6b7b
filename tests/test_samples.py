"""The sample workbooks: what the script writes, tidy as a grower's log, and free of problems."""

import subprocess
import sys
from collections import Counter, defaultdict
from datetime import datetime
from functools import cache
from importlib.resources import files
from pathlib import Path
from statistics import fmean

import numpy as np
import pytest
from openpyxl import load_workbook

from reportgen import metrics, report, workbook
from reportgen.model.document import Bullets
from reportgen.workbook.declaration import MEASURED, SHEETS
from reportgen.workbook.headers import read_header
from reportgen.workbook.names import folded
from reportgen.workbook.vocabulary import columns_by_name, sheet_names, vocabulary

NAMES = (
    "pak-choi-root-warmth.xlsx",
    "basil-day-length.xlsx",
    "tomate-cereza-luz-de-apoyo.xlsx",
    "dill-feed-strength.xlsx",
)
PAK_CHOI, BASIL, TOMATO, DILL = NAMES
LEAFY = (PAK_CHOI, BASIL)
CHOSEN = {
    "Trays": {"Treatment"},
    "Plants": {"Tray", "Status"},
    "Growth": {"Tray"},
    "Harvests": {"Tray"},
    "Solution": {"Tray", "Event"},
    "Meter": {"Treatment"},
    "Light": {"Treatment"},
    "Instruments": {"Measures", "Per treatment"},
    "Observations": {"Treatment", "Tray"},
}
OWN = {
    "Treatments": {"Factor: feed", "Factor: luz", "Factor: maceta"},
    "Plants": {"Petiole length", "Side shoots"},
    "Growth": {"Leaves", "Petiole length"},
}
DATED = {
    "Growth": "Date",
    "Harvests": "Date",
    "Solution": "Date",
    "Meter": "Read at",
    "Light": "Date",
    "Climate": "Read at",
    "Observations": "Date",
}


def folder():
    package = Path(str(files("reportgen")))
    return next(
        each
        for each in (package / "sample_workbook", package.parent / "sample_workbook")
        if each.is_dir()
    )


def run_script(target):
    subprocess.run([sys.executable, str(folder() / "make_samples.py"), str(target)], check=True)


def cells(path):
    book = load_workbook(path)
    return {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in book.worksheets}


def declared(title):
    """Return the sheet of the declaration that a sheet is, whatever its language."""
    english = sheet_names()[folded(title)]
    return next(sheet for sheet in SHEETS if sheet.name == english)


def in_english(sheet, head):
    """Return the declared name of a header, or the name of a measurement of the grower's own."""
    found = read_header(head, 1, 1)
    column = columns_by_name(sheet).get(found.folded)
    return column.name if column else found.name


def sheets_in_english(name):
    """Return the sheets of a sample's workbook by their declared names."""
    return {
        declared(sheet.title).name: sheet for sheet in load_workbook(folder() / name).worksheets
    }


@cache
def trial_of(name):
    return workbook.check(workbook.read(folder() / name))


@cache
def report_of(name):
    """Return the report of a sample, which is composed once for all tests."""
    return report.compose(trial_of(name), metrics.compute(trial_of(name)))


def lists_of(sheet):
    """Return the lists of a sheet as it is in the file: (cells, formula)."""
    rules = sheet.data_validations.dataValidation
    return [(rule.sqref, rule.formula1) for rule in rules if rule.type == "list"]


def columns_with_a_list(sheet):
    """Return the declared names of the columns whose second row offers a list."""
    of = declared(sheet.title)
    offered = {
        head
        for head in sheet[1]
        for cells, _ in lists_of(sheet)
        if f"{head.column_letter}2" in cells
    }
    return {in_english(of, head.value) for head in offered}


def test_the_script_writes_the_samples_again_value_for_value(tmp_path):
    run_script(tmp_path)
    for name in NAMES:
        assert cells(tmp_path / name) == cells(folder() / name)


def test_the_script_writes_the_same_bytes_each_time(tmp_path):
    for target in (tmp_path / "once", tmp_path / "again"):
        target.mkdir()
        run_script(target)
    for name in NAMES:
        assert (tmp_path / "once" / name).read_bytes() == (tmp_path / "again" / name).read_bytes()


@pytest.mark.parametrize("name", NAMES)
def test_each_sample_is_a_trial_without_a_single_problem(name):
    assert trial_of(name).findings == ()


def test_the_samples_have_every_sheet_between_them():
    sheets = {declared(title).name for name in NAMES for title in cells(folder() / name)}
    assert sheets == {sheet.name for sheet in SHEETS}


@pytest.mark.parametrize("name", NAMES)
def test_sheets_stand_in_the_order_of_the_data_dictionary(name):
    titles = [declared(title).name for title in cells(folder() / name)]
    assert titles == [sheet.name for sheet in SHEETS if sheet.name in titles]


@pytest.mark.parametrize("name", NAMES)
def test_every_column_of_a_sample_is_a_declared_one_or_a_measurement_of_the_growers_own(name):
    for title, rows in cells(folder() / name).items():
        sheet = declared(title)
        heads = [row[0] for row in rows[1:]] if sheet.vertical else rows[0]
        known = {column.name for column in sheet.columns} | OWN.get(sheet.name, set())
        assert {in_english(sheet, head) for head in heads} <= known, title


@pytest.mark.parametrize("name", NAMES)
def test_each_sheet_keeps_its_header_in_view_and_on_every_printed_page(name):
    for sheet in load_workbook(folder() / name).worksheets:
        assert sheet.freeze_panes == "A2", sheet.title
        assert sheet.print_title_rows == "$1:$1", sheet.title
        assert (sheet.page_setup.orientation, sheet.page_setup.fitToWidth) == (
            "landscape",
            1,
        ), sheet.title
        assert all(head.font.bold for head in sheet[1]), sheet.title


@pytest.mark.parametrize("name", NAMES)
def test_columns_of_codes_and_of_listed_words_offer_them(name):
    sheets = sheets_in_english(name)
    for title in CHOSEN.keys() & set(sheets):
        assert CHOSEN[title] <= columns_with_a_list(sheets[title]), title
    of_trial = sheets["Trial"]
    listed = {
        row[0].value
        for row in of_trial
        for chosen, _ in lists_of(of_trial)
        if row[1].coordinate in chosen
    }
    fields = {in_english(declared(of_trial.title), field) for field in listed}
    assert {"Reference treatment", "Experimental unit", "Randomised", "Variances"} <= fields


@pytest.mark.parametrize("name", NAMES)
def test_dates_are_real_dates_shown_as_dates_before_october_2026(name):
    sheets = sheets_in_english(name)
    of_trial = declared(sheets["Trial"].title)
    fields = [
        (in_english(of_trial, row[0].value), row[1]) for row in sheets["Trial"].iter_rows(min_row=2)
    ]
    dates = [value for field, value in fields if field.endswith(" on")]
    assert len(dates) == 3
    for title, column in DATED.items():
        if title not in sheets:
            continue
        sheet = sheets[title]
        number = [in_english(declared(title), head.value) for head in sheet[1]].index(column)
        dates += [row[number] for row in sheet.iter_rows(min_row=2)]
    assert all(isinstance(cell.value, datetime) and cell.is_date for cell in dates)
    assert all(datetime(2026, 1, 1) <= cell.value < datetime(2026, 10, 1) for cell in dates)


def test_samples_stay_within_what_is_published_for_water_and_energy():
    # 10 to 150 g of fresh weight a litre of water used, 3 to 40 kWh a kg: ranges gathered from
    # published trials of leafy crops; taken over here without looking them up again
    for name in LEAFY:
        trial = trial_of(name)
        grams, litres, kwh = totals(trial)
        for treatment in (each.code for each in trial.treatments):
            assert 10 < grams[treatment] / litres[treatment] < 150
            assert 3 < 1000 * kwh[treatment] / grams[treatment] < 40


def totals(trial):
    """Return fresh weight in g, water used in L and energy in kWh of each treatment, added up by
    hand.
    """
    treatment = {tray.code: tray.treatment for tray in trial.trays}
    grams, litres, readings = defaultdict(float), defaultdict(float), defaultdict(list)
    for plant in trial.plants:
        grams[treatment[plant.tray]] += plant.fresh_weight or 0
    for event in trial.solution:
        litres[treatment[event.tray]] += (
            event.volume if event.kind in ("fill", "top-up") else -event.volume
        )
    for reading in trial.meter:
        readings[reading.treatment].append(reading.reading)
    return grams, litres, {code: max(shown) - min(shown) for code, shown in readings.items()}


def test_metered_energy_is_what_lamps_of_the_rated_power_use_in_their_hours():
    # by hand: 28 days of 53 W x 12 h, 40 W x 16 h, 32 W x 20 h; small lamps draw within a few
    # percent of their rating
    kwh = totals(trial_of(BASIL))[2]
    assert kwh == pytest.approx({"h12": 17.808, "h16": 17.92, "h20": 17.92}, rel=0.03)


def maps_of(trial):
    """Return the PPFD readings, µmol/m2/s, of each treatment's map of each day."""
    maps = defaultdict(list)
    for reading in trial.light:
        maps[reading.treatment, reading.on].append(reading.ppfd)
    return maps


def ppfd_of(trial):
    """Return each treatment's mean PPFD, µmol/m2/s: the mean of its maps' means."""
    means = defaultdict(list)
    for (treatment, _), readings in maps_of(trial).items():
        means[treatment].append(fmean(readings))
    return {treatment: fmean(found) for treatment, found in means.items()}


def test_light_was_mapped_at_twelve_places_or_more_twice_where_plants_grew_tall_between():
    pak_choi, basil = (maps_of(trial_of(name)) for name in LEAFY)
    assert all(len(readings) >= 12 for maps in (pak_choi, basil) for readings in maps.values())
    assert len(pak_choi) == 2 * 2  # treatments, days
    assert len(basil) == 3


def test_warm_and_unheated_trays_had_the_same_light():
    ppfd = ppfd_of(trial_of(PAK_CHOI))
    assert ppfd["warm"] == pytest.approx(ppfd["plain"], rel=0.03)


def test_the_three_day_lengths_give_the_same_light_a_day_of_which_the_summary_tells():
    # DLI = PPFD x hours x 3600 s / 1e6: definition, ANSI/ASABE S640; 14.4 mol/m2/d is what the
    # summary says
    trial = trial_of(BASIL)
    hours = {treatment.code: treatment.photoperiod for treatment in trial.treatments}
    daily = {code: ppfd * hours[code] * 3600 / 1e6 for code, ppfd in ppfd_of(trial).items()}
    assert "14.4 mol" in trial.about.summary
    assert daily == pytest.approx(
        dict.fromkeys(hours, 14.4), rel=0.025
    )  # so no two are further apart than 5 %


def test_fewer_photons_reach_the_canopy_than_the_lamps_give_by_their_rating():
    # lamps' energy alone: by the equipment, 112 W of 120 W are LED bars in the trial of pak choi,
    # all in that of basil. Between a half and nine tenths of a lamp's photons reach the canopy:
    # common practice, from memory
    lamp_kwh = {"plain": 36 * 16 * 0.112, "warm": 36 * 16 * 0.112}
    for name in LEAFY:
        trial = trial_of(name)
        kwh, ppfd = lamp_kwh if name == PAK_CHOI else totals(trial)[2], ppfd_of(trial)
        for one in trial.treatments:
            trays = sum(tray.treatment == one.code for tray in trial.trays)
            days = (trial.harvested_on - trial.started_on).days
            photons = (
                ppfd[one.code] * one.canopy_area * trays * one.photoperiod * 3600 * days
            )  # µmol
            assert 0.5 < photons / (kwh[one.code] * 3.6e6) / one.rated_efficacy < 0.9


def climate_of(code):
    """Return hours of the day, air and solution temperature, °C, of one treatment of the pak choi
    trial.
    """
    log = trial_of(PAK_CHOI).climate
    own = np.array(log.treatments) == code
    hours = (log.at[own].astype("datetime64[h]").astype(int)) % 24
    return hours, log.air_temperature[own], log.solution_temperature[own]


def test_mats_warm_the_roots_to_the_thermostats_21_degrees_and_leave_the_air_alike():
    (_, air, roots), (_, warm_air, warm_roots) = climate_of("plain"), climate_of("warm")
    assert warm_air.mean() == pytest.approx(air.mean(), abs=0.5)
    assert warm_roots.mean() == pytest.approx(
        21, abs=0.3
    )  # the treatment's description: thermostat at 21 °C
    assert roots.mean() == pytest.approx(15, abs=0.5)  # and the other's: about 15 °C


@pytest.mark.parametrize("code", ["plain", "warm"])
def test_the_logger_read_by_the_hour_for_the_whole_trial_and_saw_lamps_warm_the_room(code):
    hours, air, _ = climate_of(code)
    assert len(hours) > 0.95 * 36 * 24
    lit = (hours >= 6 + 2) & (
        hours < 6 + 16
    )  # lamps come on at six for 16 h; the room follows them by an hour or two
    assert 0.5 < air[lit].mean() - air[~lit].mean() < 5


def test_logged_and_noted_temperatures_of_the_solution_tell_the_same():
    trial = trial_of(PAK_CHOI)
    treatment = {tray.code: tray.treatment for tray in trial.trays}
    for code in ("plain", "warm"):
        noted = [
            e.temperature
            for e in trial.solution
            if treatment[e.tray] == code and e.temperature is not None
        ]
        assert climate_of(code)[2].mean() == pytest.approx(fmean(noted), abs=0.5)


def test_plants_measured_while_they_grew_end_near_what_they_had_at_harvest_and_never_lose_a_leaf():
    trial = trial_of(PAK_CHOI)
    at_harvest = {(plant.tray, plant.code): plant.traits for plant in trial.plants}
    growth = defaultdict(list)
    for one in sorted(trial.growth, key=lambda one: one.on):
        growth[one.tray, one.plant].append(one.values)
    last = [trait.key for trait in trial.traits].index("leaves")
    assert Counter(tray for tray, _ in growth) == dict.fromkeys(
        (tray.code for tray in trial.trays), 2
    )
    for plant, values in growth.items():
        leaves, petioles = zip(*values, strict=True)
        assert list(leaves) == sorted(leaves)
        assert leaves[-1] == pytest.approx(at_harvest[plant][last], abs=1)
        assert petioles[-1] > 3 * petioles[0]


def test_equipment_costs_are_borne_by_the_hours_that_it_ran():
    # by hand: 36 days of 16 h and of 24 h; 28 days of 12, 16 and 20 h; 91 days of 2 and 4 h
    used = {
        name: {cost.hours_used for cost in trial_of(name).costs if cost.life is not None}
        for name in NAMES[:3]
    }
    assert used == {PAK_CHOI: {576, 864}, BASIL: {336, 448, 560}, TOMATO: {182, 364}}


def test_prices_by_the_time_of_day_hold_around_the_clock_and_stand_in_place_of_one_price():
    trial = trial_of(BASIL)
    assert trial.electricity_price is None
    assert sum((period.end - period.start) % 24 for period in trial.tariff) == 24
    assert {one.lights_on_at for one in trial.treatments} == {20, 18, 16}


def test_one_sample_lists_an_instrument_for_each_thing_measured_and_the_other_leaves_some_out():
    measures = {name: {one.measures for one in trial_of(name).instruments} for name in NAMES}
    assert measures[PAK_CHOI] == set(MEASURED)
    assert measures[BASIL] < measures[PAK_CHOI]
    assert all(
        one.calibrated_on and one.accuracy and one.resolution
        for one in trial_of(PAK_CHOI).instruments
    )


# ---- the picked crop of two factors, in Spanish --------------------------------------------------


def test_the_picked_sample_is_small_enough_to_read():
    trial = trial_of(TOMATO)
    assert Counter(pot.treatment for pot in trial.trays) == dict.fromkeys(
        (one.code for one in trial.treatments), 4
    )
    assert len({one.on for one in trial.pickings}) == 5
    assert len(trial.pickings) < 130


def test_every_pot_was_picked_on_every_day_be_it_of_nothing():
    trial = trial_of(TOMATO)
    days = {one.on for one in trial.pickings}
    picked = {(one.tray, one.on) for one in trial.pickings}
    assert picked == {(tray.code, day) for tray in trial.trays for day in days}
    assert all((one.weight == 0) == (one.pieces == 0) for one in trial.pickings)


def test_cherry_tomatoes_weigh_what_such_fruits_weigh():
    # 10 to 25 g a fruit: UNECE standard FFV-36 leaves cherry tomatoes without a size, the trade's
    # usual weight; memory
    for one in trial_of(TOMATO).pickings:
        if one.pieces and one.pieces > 4:
            assert 7 < one.weight / one.pieces < 25


def test_no_check_of_a_fair_test_finds_fault_with_the_design_of_the_picked_sample():
    found = {one.check: one.verdict for one in metrics.compute(trial_of(TOMATO)).fairness}
    assert {check for check, verdict in found.items() if verdict == "problem"} == set()
    assert {check for check, verdict in found.items() if verdict == "caution"} == {
        "meters_span"
    }  # it had no meter
    assert (found["confounding"], found["randomisation"], found["replication"]) == (
        "sound",
        "sound",
        "sound",
    )


def test_each_shelf_of_the_picked_sample_holds_every_combination_once():
    trial = trial_of(TOMATO)
    shelves = defaultdict(list)
    for pot in trial.trays:
        shelves[pot.block].append(pot.treatment)
    assert len(shelves) == 4
    assert all(
        sorted(held) == sorted(one.code for one in trial.treatments) for held in shelves.values()
    )


def test_the_workbook_of_the_picked_sample_is_in_spanish_throughout():
    spanish = vocabulary("es")
    for name, sheet in sheets_in_english(TOMATO).items():
        assert sheet.title == spanish.sheet_name(name)
        for column, typed, values in columns_of(sheet):
            assert typed == spanish.column_name(name, column.name)
            english = {word for word in column.choices if spanish.word(word) != word}
            assert not english & set(values), typed


def columns_of(sheet):
    """Yield each declared column of a sheet, its name as typed, and the values under it, or beside
    a field.
    """
    of = declared(sheet.title)
    lines = sheet.iter_rows(min_row=2) if of.vertical else sheet.iter_cols()
    for head, *values in lines:
        found = read_header(head.value, 1, 1)
        column = columns_by_name(of).get(found.folded)
        if column is not None:
            yield column, found.name, [cell.value for cell in values]


def test_the_lists_of_the_picked_sample_offer_spanish_words_and_codes_of_its_own_sheets():
    offered = {
        formula for sheet in sheets_in_english(TOMATO).values() for _, formula in lists_of(sheet)
    }
    codes = {formula for formula in offered if formula.startswith("=")}
    assert codes == {"=Tratamientos!$A$2:$A$50", "=Bandejas!$A$2:$A$200"}
    words = {'"sí,no"', '"bandeja,planta"', '"separadas,conjuntas"', '"cosechada,muerta,retirada"'}
    assert words <= offered


def test_columns_of_the_picked_sample_are_formatted_as_those_of_the_english_ones():
    sheets = sheets_in_english(TOMATO)
    formats = {}
    for name, sheet in sheets.items():
        for head in sheet[1]:
            formats[name, in_english(declared(name), head.value)] = sheet.cell(
                2, head.column
            ).number_format
    assert formats["Harvests", "Date"] == "yyyy-mm-dd"
    assert formats["Treatments", "Canopy area"] == "0.00"
    assert formats["Costs", "Life"] == "#,##0"
    price = next(
        row for row in sheets["Trial"] if row[0].value == "Precio de la electricidad (por kWh)"
    )
    assert price[1].number_format == "0.00"


def test_the_picked_sample_speaks_spanish_throughout():
    of = report_of(TOMATO)
    assert of.language == "es"
    assert [section.title for section in of.annex if section.key == "harvests"] == ["Cosechas"]
    assert "comercial por maceta" in of.answer[0]


def test_the_factors_of_the_picked_sample_are_analysed_and_light_counts_as_varied_on_purpose():
    trial = trial_of(TOMATO)
    assert [(factor.name, factor.levels) for factor in trial.factors] == [
        ("luz", ("2", "4")),
        ("maceta", ("pequeña", "grande")),
    ]
    assert "light" in trial.varied_on_purpose
    assert report_of(TOMATO).answer[0].startswith("Con luz 4 h en lugar de 2 h se obtuvo")


def test_what_the_conclusion_of_the_picked_sample_says_is_what_was_found():
    found = metrics.compute(trial_of(TOMATO))
    effects = found.effects.of("marketable_yield")
    averaged = {one.factor: one.code for one in effects.effects if not one.within}
    assert averaged == {
        "luz": "more",
        "maceta": "more",
    }  # more with four hours than with two, more in a large pot
    assert (
        effects.interaction.code == "not_shown"
    )  # whether light does the same in both is not known
    culls = dict(found.effects.of("cull_share").tests)
    assert culls["maceta"].p_value < 0.05
    measured = {result.measure.key: dict(result.estimates) for result in found.measures}
    share = {code: estimate.value for code, estimate in measured["cull_share"].items()}
    assert max(share["g2"], share["g4"]) < min(share["p2"], share["p4"])  # more culls in small pots
    assert [one.pays for one in found.money] == ["unclear"] * 3  # nor whether it pays
    (budget,) = [
        block
        for one in report_of(TOMATO).sections
        for block in one.blocks
        if block.kind == "table" and block.key == "budget"
    ]
    assert len(budget.rows) == 3
    assert min(one.on for one in trial_of(TOMATO).pickings).weekday() == 0


def test_treatments_that_drew_the_same_power_differ_by_nothing_and_not_by_rounding():
    # by hand: 25 W x 2 h x 91 days in pots of both sizes
    (energy,) = [
        one for one in metrics.compute(trial_of(TOMATO)).measures if one.measure.key == "energy_use"
    ]
    assert dict(energy.estimates)["p2"].value == pytest.approx(0.025 * 2 * 91)
    assert dict(energy.comparisons)["g2"].difference == 0


def section_texts(section):
    """Return the items of the lists of a section."""
    return [item for block in section.blocks if isinstance(block, Bullets) for item in block.items]


# ---- doses ---------------------------------------------------------------------------------------


def test_the_sample_of_doses_finds_the_dose_that_it_was_made_with():
    # make_samples.py: the logarithm of weight is 0.95 x - 0.29 x^2, highest at 0.95 / 0.58 = 1.638
    # g/L
    trial = trial_of(DILL)
    assert Counter(pot.treatment for pot in trial.trays) == dict.fromkeys(
        (t.code for t in trial.treatments), 4
    )
    (trend,) = metrics.compute(trial).effects.of("fresh_weight").trends
    assert trend.code == "peak"
    assert trend.optimum_low < 0.95 / 0.58 < trend.optimum_high
