"""What was recorded: each item of the checklist reported with its value, or missing with the place where it goes."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from reportgen.metrics.reporting import reporting
from reportgen.model.trial import ClimateLog, Instrument, LightReading, Load, Observation, SolutionEvent, Tray
from reportgen.workbook.declaration import SHEETS
from tests.trials import WEIGHTS, plants, trial
from tests.workbooks import trial as read
from tests.workbooks import whole, write


def item(of, key):
    return next(each for each in reporting(of) if each.item == key)


def value(of, key):
    found = item(of, key)
    assert found.reported, found
    return found.value


def where(of, key):
    found = item(of, key)
    assert not found.reported, found
    return found.where


def treatments(half, full):
    """Return the trial with fields of its two treatments changed."""
    first, second = trial().treatments
    return trial(treatments=(replace(first, **half), replace(second, **full)))


def described(**fields):
    return trial(about=replace(trial().about, **fields))


def observed(text, on=date(2026, 4, 10)):
    return trial(observations=(Observation(on, text),))


def light(half, full):
    maps = (("half", half), ("full", full))
    return trial(light=tuple(LightReading(code, ppfd, date(2026, 4, 2)) for code, points in maps for ppfd in points))


def log(codes, **columns):
    arrays = {name: np.array(values) for name, values in columns.items()}
    none = np.full(len(codes), np.nan)
    at = np.arange(len(codes)).astype("datetime64[s]")
    fields = ("air_temperature", "relative_humidity", "co2", "solution_temperature")
    return trial(climate=ClimateLog(codes, at, **{field: arrays.get(field, none) for field in fields}))


# The items of Krizek (USDA-ARS publication 123064), Poorter et al. 2012 (Funct. Plant Biol. 39:821-838, table 2) and
# ARRIVE 2.0 items 1-4, by our keys.
CHECKLIST = {
    "ppfd",
    "photoperiod",
    "dli",
    "lamp_type",
    "spectrum",
    "lamp_distance",
    "power",
    "uniformity",
    "air_temperature",
    "humidity",
    "co2",
    "air_speed",
    "solution_temperature",
    "dissolved_oxygen",
    "ec",
    "ph",
    "solution_composition",
    "volumes",
    "container_type",
    "container_volume",
    "plants_per_container",
    "spacing",
    "cultivar",
    "seed_source",
    "sown_on",
    "transplanted_on",
    "harvested_on",
    "instruments",
    "calibration",
    "accuracy",
    "experimental_unit",
    "replicates",
    "blocks",
    "randomisation",
    "exclusions",
}


def test_every_item_of_the_published_checklists_is_there_once():
    keys = [each.item for each in reporting(trial())]
    assert len(keys) == len(set(keys))
    assert set(keys) >= CHECKLIST


def test_an_item_has_a_value_or_a_place_and_never_both(tmp_path):
    for of in (trial(), read(write(whole(), tmp_path / "trial.xlsx"))):
        for each in reporting(of):
            assert bool(each.value) == each.reported, each
            assert bool(each.where) != each.reported, each


def test_the_places_named_are_sheets_and_columns_of_the_workbook():
    columns = {sheet.name: {column.name for column in sheet.columns} for sheet in SHEETS}
    bare = trial(solution=(), meter=(), plants=(), trays=tuple(replace(tray, position="") for tray in trial().trays))
    for each in reporting(bare):
        for place in each.where.split(", and ") if each.where else ():
            for part in place.split(", or "):
                sheet, _, column = part.partition(", ")
                assert sheet in columns, each
                named = column.removeprefix("column ").removeprefix("field ").split(",")[0]
                assert named in columns[sheet] or named.startswith("a row"), each


def test_light_is_the_mean_of_each_treatment_with_its_unit():
    assert (
        value(light((200.0, 220.0), (300.0,)), "ppfd") == "Half strength: 210 µmol/m²/s; Full strength: 300 µmol/m²/s"
    )
    assert value(light((200.0,), (200.0,)), "ppfd") == "200 µmol/m²/s"
    assert where(trial(), "ppfd") == "Light, column PPFD"


def test_an_item_known_of_one_treatment_only_is_missing_for_the_other():
    assert where(light((200.0,), ()), "ppfd") == "Light, column PPFD (missing for Full strength)"
    of = treatments({"photoperiod": 16.0}, {})
    assert where(of, "photoperiod") == "Treatments, column Photoperiod (missing for Full strength)"


def test_days_of_measuring_light_stand_in_order():
    later = LightReading("half", 200.0, date(2026, 4, 20))
    of = light((200.0,), (200.0,))
    assert value(of, "light_days") == "2 April 2026"
    said = value(replace(of, light=(later, *of.light)), "light_days")
    assert said == "Half strength: 2 April 2026 and 20 April 2026; Full strength: 2 April 2026"


@pytest.mark.parametrize(("ppfd", "hours", "dli"), [(250, 16, "14.4"), (340, 12, "14.7"), (170, 24, "14.7")])
def test_light_of_a_day_is_ppfd_times_hours(ppfd, hours, dli):
    # DLI = PPFD x h x 0.0036: 250 x 16, 340 x 12, 170 x 24 give 14.4, 14.688, 14.688 mol m-2 d-1, by hand
    of = treatments({"photoperiod": float(hours)}, {"photoperiod": float(hours)})
    lit = replace(of, light=light((float(ppfd),), (float(ppfd),)).light)
    assert value(lit, "dli") == f"{dli} mol/m²/d"
    assert value(lit, "photoperiod") == f"{hours} h"


def test_a_day_without_light_is_0_hours_and_not_missing():
    assert value(treatments({"photoperiod": 0.0}, {"photoperiod": 0.0}), "photoperiod") == "0 h"


def test_evenness_has_lowest_highest_mean_and_coefficient_of_variation():
    # standard deviation of 180, 200, 220 with n - 1 is 20, a tenth of the mean, by hand
    said = value(light((180.0, 200.0, 220.0), (180.0, 200.0, 220.0)), "uniformity")
    assert said == "180 to 220 µmol/m²/s, mean 200 µmol/m²/s, coefficient of variation 10 % (3 points)"
    assert "3 points or more" in where(light((180.0, 220.0), (180.0, 220.0)), "uniformity")


def test_lamps_and_power_are_as_typed_or_those_of_the_loads():
    of = treatments({"equipment": "2 lamps", "rated_power": 120.0}, {"equipment": "3 lamps", "rated_power": 180.0})
    assert value(of, "lamp_type") == "Half strength: 2 lamps; Full strength: 3 lamps"
    assert value(of, "power") == "Half strength: 120 W rated; Full strength: 180 W rated"
    loads = (Load("half", "lamp", 60.0, 16.0), Load("half", "pump", 4.0, 24.0), Load("full", "lamp", 75.0, 16.0))
    assert value(trial(loads=loads), "power") == "Half strength: lamp 60 W and pump 4 W; Full strength: lamp 75 W"


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("spectrum", "White lamps of 4000 K"),
        ("spectrum", "R:FR of 6 by the data sheet"),
        ("lamp_distance", "Lamps hung 40 cm above the canopy"),
        ("air_speed", "A fan gave 0.4 m/s at the canopy"),
        ("dissolved_oxygen", "Dissolved oxygen was 7.9 mg/L"),
        ("co2", "CO2 was not controlled"),
        ("seed_source", "Seed from last year's own harvest"),
    ],
)
def test_what_has_no_column_is_found_in_the_growers_words_and_quoted(key, words):
    assert value(observed(f"Leaves look well. {words}."), key) == f'"{words}"'
    assert value(treatments({"description": f"{words}; as usual"}, {}), key) == f'"{words}"'
    assert where(trial(), key)


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("spectrum", "Red leaves on two plants"),
        ("lamp_distance", "Plants were 12 cm tall"),
        ("air_speed", "A fan was on"),
        ("dissolved_oxygen", "Roots lacked oxygen"),
        ("co2", "A CO2 bottle was bought"),
        ("container_volume", "Pots on a bench"),
        ("transplanted_on", "Plants stand well"),
    ],
)
def test_words_that_do_not_tell_are_not_taken_for_a_report(key, words):
    assert not item(observed(words), key).reported


def test_a_long_sentence_is_cut_at_a_word():
    said = value(observed("Dissolved oxygen " + "was measured again " * 20), "dissolved_oxygen")
    assert said.endswith(' ..."')
    assert len(said) < 130


def test_climate_is_the_range_of_its_log_and_a_shared_log_tells_of_all():
    shared = log((None, None), air_temperature=[19.5, 24.0], relative_humidity=[55.0, 70.0], co2=[420.0, 420.0])
    assert value(shared, "air_temperature") == "19.5 to 24 °C in 2 readings"
    assert value(shared, "humidity") == "55 to 70 % in 2 readings"
    assert value(shared, "co2") == "420 ppm in 2 readings"
    assert where(shared, "solution_temperature") == "Solution, column Temperature"


def test_climate_logged_for_one_treatment_is_missing_for_the_other():
    one = log(("half", "full"), air_temperature=[19.5, np.nan])
    assert where(one, "air_temperature") == "Climate, column Air temperature (missing for Full strength)"


def test_temperature_of_the_solution_is_read_in_trays_or_logged():
    read_in_trays = tuple(replace(event, temperature=20.0) for event in trial().solution)
    assert value(trial(solution=read_in_trays), "solution_temperature") == "20 °C in 24 readings"
    assert value(log((None,), solution_temperature=[21.0]), "solution_temperature") == "21 °C in 1 reading"


def test_ec_and_ph_are_ranges_over_trays_and_trays_without_a_reading_are_named():
    assert value(trial(), "ec") == "1.5 to 1.7 mS/cm in 18 readings"
    assert value(trial(), "ph") == "5.9 to 6.1 in 18 readings"
    silent = tuple(replace(event, ec=None) if event.tray == "B2" else event for event in trial().solution)
    assert where(trial(solution=silent), "ec") == "Solution, column EC (missing for tray B2)"


def test_missing_trays_are_named_up_to_five():
    read_in_one = tuple(replace(event, ph=6.0 if event.tray == "A1" else None) for event in trial().solution)
    assert where(trial(solution=read_in_one), "ph").endswith(
        "(missing for tray A2, tray A3, tray B1, tray B2 and tray B3)"
    )
    more = (*trial().trays, Tray("B4", "full", 3))
    assert where(trial(solution=read_in_one, trays=more), "ph").endswith("tray B3 and 1 more)")


def test_a_tray_without_plants_is_asked_for_nothing():
    control = Tray("C1", "half", 0)
    of = trial(
        trays=(*trial().trays, control),
        solution=(*trial().solution, SolutionEvent("C1", date(2026, 4, 1), "fill", 90.0)),
    )
    for key in ("ec", "volumes", "replicates", "plants_per_container"):
        assert item(of, key) == item(trial(), key)


def test_volumes_are_summed_and_need_a_fill_and_a_remaining():
    # fills 6 x 5 L; top-ups 1.5 + 1.65 + 1.7 + 1.85 + 1.9 + 2.05 = 10.65 L
    assert value(trial(), "volumes") == "40.6 L put in, 24 volumes recorded"
    lacking = tuple(event for event in trial().solution if (event.tray, event.kind) != ("A1", "remaining"))
    assert where(trial(solution=lacking), "volumes").endswith("(missing for tray A1)")
    assert where(trial(solution=()), "volumes") == "Solution, column Volume, from fill to remaining"


def test_containers_are_told_by_the_growing_system_the_trays_and_the_canopy_area():
    of = described(growing_system="Rafts on 15 L tubs", nutrient_recipe="Two parts, 1.6 mS/cm")
    assert value(of, "container_type") == "Rafts on 15 L tubs"
    assert value(of, "container_volume") == '"Rafts on 15 L tubs"'
    assert value(of, "solution_composition") == "Two parts, 1.6 mS/cm"
    assert value(of, "plants_per_container") == "3 plants a tray"
    assert value(treatments({"canopy_area": 0.15}, {"canopy_area": 0.15}), "spacing") == "20 plants/m²"
    assert where(of, "spacing") == "Treatments, column Canopy area"


def test_trays_of_different_size_give_a_range():
    uneven = trial(trays=(replace(trial().trays[0], plants_started=1), *trial().trays[1:]))
    assert value(uneven, "plants_per_container") == "1 to 3 plants a tray"


def test_plant_and_days_are_reported_as_typed():
    of = replace(described(cultivar="a slow type"), sown_on=date(2026, 3, 10))
    assert value(of, "cultivar") == "a slow type"
    assert value(of, "sown_on") == "10 March 2026"
    assert value(of, "harvested_on") == "6 May 2026"
    assert where(trial(), "sown_on") == "Trial, field Sown on"
    early = trial(trays=(replace(trial().trays[0], harvested_on=date(2026, 5, 4)), *trial().trays[1:]))
    assert value(early, "harvested_on") == "4 May 2026 to 6 May 2026"


def test_the_first_observation_of_transplanting_tells_its_day():
    first, second = (Observation(date(2026, 4, day), "Transplanted into the trays.") for day in (2, 9))
    assert (
        value(trial(observations=(second, first)), "transplanted_on") == '2 April 2026: "Transplanted into the trays"'
    )


def test_instruments_are_missing_for_what_was_measured_without_one():
    scale = Instrument("scale", "weight", model="K1", accuracy=0.5, calibrated_on=date(2026, 3, 1))
    of = trial(instruments=(scale,), solution=(), meter=())
    assert value(of, "instruments") == "scale (weight) K1"
    assert value(of, "calibration") == "scale (weight) 1 March 2026"
    assert value(of, "accuracy") == "scale (weight) ±0.5 %"
    assert where(trial(instruments=(scale,)), "accuracy").endswith("(missing for volume, energy, EC and pH)")
    unknown = trial(instruments=(Instrument("scale", "weight"),), solution=(), meter=())
    assert value(unknown, "instruments") == "scale (weight)"
    assert where(unknown, "accuracy") == "Instruments, column Accuracy"


def test_the_design_is_reported_with_unit_replicates_blocks_and_draw():
    assert value(trial(), "experimental_unit") == "tray"
    assert value(trial(experimental_unit="plant"), "experimental_unit") == "plant"
    assert value(trial(), "replicates") == "3 trays"
    assert where(trial(), "blocks") == "Trays, column Block, or Trial, field Layout"
    assert value(described(layout="completely randomised"), "blocks") == "none, by the layout"
    blocked = tuple(replace(tray, block=tray.code[1]) for tray in trial().trays)
    assert value(trial(trays=blocked), "blocks") == "3 blocks"
    partly = (replace(blocked[0], block=""), *blocked[1:])
    assert where(trial(trays=partly), "blocks").endswith("(missing for tray A1)")


@pytest.mark.parametrize(
    ("randomised", "layout", "said"),
    [
        (True, "in blocks", "drawn at random, in blocks"),
        (True, "", "drawn at random"),
        (False, "", "not drawn at random"),
    ],
)
def test_the_draw_is_reported_whichever_way_it_was(randomised, layout, said):
    assert value(described(randomised=randomised, layout=layout), "randomisation") == said
    assert where(described(randomised=None, layout=layout), "randomisation") == "Trial, field Randomised"


def test_lost_plants_are_reported_with_their_reason():
    assert value(trial(), "exclusions") == "none of 18 plants"
    dead = plants(WEIGHTS | {"A1": (20.0, None, 24.0)})
    assert value(trial(plants=dead), "exclusions") == "1 of 18 plants: A1 2 dead"
    noted = tuple(
        replace(one, status="removed", note="stem broken") if one.fresh_weight is None else one for one in dead
    )
    assert value(trial(plants=noted), "exclusions") == "1 of 18 plants: A1 2 removed (stem broken)"


def test_a_plant_taken_out_without_a_reason_or_without_a_row_is_not_accounted_for():
    dead = plants(WEIGHTS | {"A1": (20.0, None, 24.0)})
    removed = tuple(replace(one, status="removed") if one.fresh_weight is None else one for one in dead)
    assert where(trial(plants=removed), "exclusions").endswith("(missing for plant 2 of tray A1)")
    assert where(trial(plants=trial().plants[:-2]), "exclusions").endswith("(missing for 2 plants without a row)")
