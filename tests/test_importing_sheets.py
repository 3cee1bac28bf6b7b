"""A log becomes the sheets of a trial workbook, each cell with the owner's cell behind it."""

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from reportgen.importing.model.cells import Conventions
from reportgen.importing.model.layouts import (
    Blank,
    Carrier,
    CarrierKind,
    Counts,
    Covers,
    Dimension,
    Occasions,
    Source,
    Values,
)
from tests.log_tables import TRIAL, column, layout, over, read

HEAD = ("Tray", "Treatment", "Plant", "wt (g)")
KINDS = {"T1": "warm", "T2": "plain", "T3": "warm", "T4": "plain"}
ROWS = [
    (tray, kind, plant, 20.5 + 3 * (kind == "warm") + plant)
    for tray, kind in KINDS.items()
    for plant in (1, 2, 3)
]
FRESH = Values("Fresh weight", ("wt",), "g")
WHERE = {"treatment": column("Treatment"), "unit": column("Tray")}
PLANTS = layout("Log", "Plants", (FRESH,), plant=column("Plant"), **WHERE)
DAYS = [datetime(2026, 1, 5) + timedelta(7 * week) for week in range(7)]


def log(**more):
    return {"Log": [HEAD, *ROWS], **more}


def test_plants_down_a_column_give_trays_treatments_and_plants(tmp_path):
    made = read(tmp_path, log(), PLANTS)
    assert made.rows("Treatments") == [("Treatment", "Name"), ("plain", "plain"), ("warm", "warm")]
    assert made.rows("Trays")[1:] == [(tray, kind, 3) for tray, kind in KINDS.items()]
    assert made.rows("Plants")[:2] == [("Tray", "Plant", "Fresh weight (g)"), ("T1", "1", 24.5)]
    assert made.figures("fresh_weight") == pytest.approx({"plain": 22.5, "warm": 25.5})
    assert not made.problems()


def test_treatments_go_by_the_names_that_the_settings_give_and_the_reference_is_named_by_either(
    tmp_path,
):
    names = {"warm": "Bench at 24 °C", "plain": "Unheated"}
    trial = {**TRIAL, "Reference treatment": "Unheated"}
    made = read(tmp_path, log(), PLANTS, treatments=names, trial=trial)
    assert made.rows("Treatments")[1:] == [("plain", "Unheated"), ("warm", "Bench at 24 °C")]
    assert not made.problems()


def test_several_quantities_of_one_plant_stand_in_one_row(tmp_path):
    rows = [(*row, row[3] / 10, 12.0 + row[2]) for row in ROWS]
    values = (FRESH, Values("Dry weight", ("dry",), "g"), Values("stem", ("stem",), "mm"))
    held = {"Log": [(*HEAD, "dry (g)", "stem (mm)"), *rows]}
    made = read(tmp_path, held, replace(PLANTS, values=values))
    assert made.rows("Plants")[0] == (
        "Tray",
        "Plant",
        "Fresh weight (g)",
        "Dry weight (g)",
        "stem (mm)",
    )
    assert made.rows("Plants")[1] == ("T1", "1", 24.5, 2.45, 13)
    assert made.figures("stem") == pytest.approx({"plain": 14, "warm": 14})


def test_measurements_of_another_sheet_join_the_plants(tmp_path):
    heights = [
        ("Tray", "Plant", "h (cm)"),
        *((tray, plant, 10.0 + plant) for tray in KINDS for plant in (3, 2, 1)),
    ]
    other = layout(
        "H", "Plants", (Values("Height", ("h",), "cm"),), unit=column("Tray"), plant=column("Plant")
    )
    made = read(tmp_path, log(H=heights), PLANTS, other)
    assert made.rows("Plants")[1] == ("T1", "1", 24.5, 11)
    assert len(made.rows("Plants")) == 13


def test_dry_weights_alone_make_a_trial(tmp_path):
    made = read(tmp_path, log(), replace(PLANTS, values=(replace(FRESH, quantity="Dry weight"),)))
    assert made.figures("dry_weight") == pytest.approx({"plain": 22.5, "warm": 25.5})
    assert not made.figures("fresh_weight")


def test_heights_alone_make_a_trial(tmp_path):
    made = read(tmp_path, log(), replace(PLANTS, values=(Values("Height", ("wt",), "cm"),)))
    assert made.figures("height") == pytest.approx({"plain": 22.5, "warm": 25.5})


def test_plants_over_columns_and_a_lost_one(tmp_path):
    rows = [
        ("Tray", "Treatment", "1", "2", "3"),
        *((tray, kind, 20, 21, 22) for tray, kind in KINDS.items()),
    ]
    rows[1] = ("T1", "warm", 20, "dead", 22)
    wide = layout(
        "Log", "Plants", (Values("Fresh weight", ("1", "2", "3"), "g"),), plant=over(1), **WHERE
    )
    made = read(tmp_path, {"Log": rows}, wide, conventions=Conventions(lost=("dead",)))
    assert made.rows("Plants")[2] == ("T1", "2", None, "dead")
    assert made.rows("Trays")[1] == ("T1", "warm", 3)
    assert made.figures("survival") == pytest.approx({"plain": 100, "warm": 100 * 5 / 6})


def test_a_weight_that_was_not_measured_is_no_plant_and_none_that_was_lost(tmp_path):
    rows = [*ROWS]
    rows[1] = (*rows[1][:3], "-")
    made = read(tmp_path, {"Log": [HEAD, *rows]}, PLANTS, conventions=Conventions(missing=("-",)))
    assert made.rows("Trays")[1] == ("T1", "warm", 2)
    assert made.figures("survival") == {"plain": 100, "warm": 100}


def test_the_same_plant_twice_is_told_at_the_owners_cell(tmp_path):
    made = read(tmp_path, {"Log": [HEAD, *ROWS, ("T4", "plain", 3, 99.0)]}, PLANTS)
    (twice,) = [one for one in made.problems() if one.code == "repeated_code"]
    assert (twice.sheet, twice.cell) == ("Log", "C14")
    assert "stands in row 13 too" in twice.found


# --- several plants in one weight


def trays(*more):
    head = ("Tray", "Treatment", "Weight", "Plants")
    return {
        "Log": [
            head,
            *((f"T{n}", ("plain", "warm")[n % 2], 100.0 + 10 * n, 5, *more) for n in range(1, 7)),
        ]
    }


def test_a_tray_weighed_as_a_whole_with_its_number_of_plants(tmp_path):
    values = Values("Fresh weight", ("Weight",), "g", Covers.UNIT, count="Plants")
    made = read(tmp_path, trays(), layout("Log", "Plants", (values,), **WHERE))
    assert made.figures("tray_yield") == pytest.approx({"plain": 140, "warm": 130})
    assert made.figures("fresh_weight") == pytest.approx({"plain": 28, "warm": 26})


def test_means_of_counted_plants_are_given_as_their_total(tmp_path):
    values = Values("Fresh weight", ("Weight",), "g", Covers.MEAN, count="Plants")
    made = read(tmp_path, trays(), layout("Log", "Plants", (values,), **WHERE))
    assert made.figures("fresh_weight") == pytest.approx({"plain": 140, "warm": 130})
    assert made.figures("tray_yield") == pytest.approx({"plain": 700, "warm": 650})


def test_a_tray_whose_number_of_plants_nobody_told_has_a_yield_and_no_weight_of_a_plant(tmp_path):
    values = Values("Fresh weight", ("Weight",), "g", Covers.UNIT)
    made = read(tmp_path, trays(), layout("Log", "Plants", (values,), **WHERE))
    assert made.figures("tray_yield") == pytest.approx({"plain": 140, "warm": 130})
    assert not made.figures("fresh_weight")
    assert not made.figures("yield_per_plant_started")


# --- occasions


def picked(occasions, blank=Blank.UNKNOWN, gap=21.0):
    days = ("2026-02-02", "2026-02-09", "2026-02-16")
    rows = [
        (f"T{n}", ("plain", "warm")[n % 2], 10.0 + n, 20.0 + n, 30.0 + 2 * n) for n in range(1, 7)
    ]
    rows[0] = ("T1", "warm", 11.0, gap, 32.0)
    values = Values("Fresh weight", days, "g", Covers.UNIT, blank=blank)
    wide = layout("Log", "Plants", (values,), occasion=over(1), occasions=occasions, **WHERE)
    return {"Log": [("Tray", "Treatment", *map(date.fromisoformat, days)), *rows]}, wide


def test_pickings_add_up_and_keep_their_days(tmp_path):
    held, wide = picked(Occasions.PICKINGS)
    made = read(tmp_path, held, wide)
    assert made.rows("Harvests")[1] == ("T1", datetime(2026, 2, 2), 11)
    assert len(made.rows("Harvests")) == 19
    assert made.figures("tray_yield") == pytest.approx({"plain": 76, "warm": 72})


def test_a_tray_with_a_picking_that_was_not_measured_is_left_out_with_a_word(tmp_path):
    held, wide = picked(Occasions.PICKINGS, Blank.MISSING, gap=None)
    made = read(tmp_path, held, wide)
    assert "T1" in {row[0] for row in made.rows("Trays")}
    assert made.figures("tray_yield") == pytest.approx({"plain": 76, "warm": 76})
    assert [one.code for one in made.problems()] == ["tray_without_picking"]


def test_a_blank_picking_where_nothing_was_there_counts_as_none(tmp_path):
    held, wide = picked(Occasions.PICKINGS, Blank.ZERO, gap=None)
    assert read(tmp_path, held, wide).figures("tray_yield")["warm"] == pytest.approx(65)


@pytest.mark.parametrize("occasions", [Occasions.RUNNING, Occasions.LAST, Occasions.SAMPLES])
def test_of_running_totals_and_repeated_weighings_the_last_holds(tmp_path, occasions):
    held, wide = picked(occasions)
    assert read(tmp_path, held, wide).figures("tray_yield") == pytest.approx(
        {"plain": 38, "warm": 36}
    )


def test_plants_measured_again_are_growth(tmp_path):
    heights = [("Tray", *DAYS[:3]), *((tray, 10.0, 14.0, 20.0) for tray in KINDS)]
    names = tuple(str(day.date()) for day in DAYS[:3])
    values = Values("Height", names, "cm", Covers.UNIT)
    grown = layout(
        "H", "Growth", (values,), unit=column("Tray"), occasion=over(1), occasions=Occasions.GROWTH
    )
    made = read(tmp_path, log(H=heights), PLANTS, grown)
    assert made.rows("Growth")[:2] == [("Tray", "Date", "Height (cm)"), ("T1", DAYS[0], 10)]
    assert made.figures("last_height") == pytest.approx({"plain": 20, "warm": 20})


# --- what was treated independently


def test_each_plant_is_a_unit_where_plants_were_treated(tmp_path):
    made = read(tmp_path, log(), PLANTS, independent="plant")
    assert ("Experimental unit", "plant") in made.rows("Trial")
    assert made.rows("Plants")[1] == ("T1-1", "1", 24.5)
    assert len(made.rows("Trays")) == 13
    assert made.figures("fresh_weight") == pytest.approx({"plain": 22.5, "warm": 25.5})


def test_a_treatment_that_stood_once_is_one_unit(tmp_path):
    made = read(tmp_path, log(), PLANTS, independent="treatment")
    assert made.rows("Trays")[1:] == [("warm", "warm", 6), ("plain", "plain", 6)]
    assert made.rows("Plants")[1] == ("warm", "T1-1", 24.5)


def test_a_tent_that_was_treated_as_a_whole_is_the_unit(tmp_path):
    rows = [("Tent", *HEAD), *((f"tent {row[0] in ('T1', 'T3')}", *row) for row in ROWS)]
    tents = replace(PLANTS, dimensions={**PLANTS.dimensions, Dimension.BLOCK: column("Tent")})
    made = read(tmp_path, {"Log": rows}, tents, independent="block")
    assert {row[0] for row in made.rows("Trays")[1:]} == {"tent True", "tent False"}


def test_trays_numbered_anew_under_each_treatment_are_different_ones(tmp_path):
    rows = [("Treatment", "Tray", "wt (g)")]
    rows += [
        (kind, tray, 20.0 + tray)
        for kind in ("warm", "plain")
        for tray in (1, 2, 3)
        for _ in range(2)
    ]
    nested = Source(
        (Carrier(CarrierKind.DIMENSION, "treatment"), Carrier(CarrierKind.COLUMN, "Tray"))
    )
    made = read(
        tmp_path,
        {"Log": rows},
        layout("Log", "Plants", (FRESH,), treatment=column("Treatment"), unit=nested),
    )
    assert len(made.rows("Trays")) == 7
    assert not made.problems()


# --- factors and further columns


def test_factors_have_a_column_each(tmp_path):
    rows = [("Tray", "Light", "Feed", "wt (g)")]
    rows += [
        (f"T{n}", ("low", "high")[n % 2], ("weak", "strong")[n // 2 % 2], 30.0 + n)
        for n in range(1, 9)
    ]
    both = Source((Carrier(CarrierKind.COLUMN, "Light"), Carrier(CarrierKind.COLUMN, "Feed")))
    own = layout(
        "Log",
        "Plants",
        (replace(FRESH, covers=Covers.UNIT),),
        treatment=both,
        unit=column("Tray"),
        factors={"light": column("Light"), "feed": column("Feed")},
    )
    made = read(tmp_path, {"Log": rows}, own, trial={**TRIAL, "Reference treatment": "low weak"})
    assert made.rows("Treatments")[0] == ("Treatment", "Name", "Factor: light", "Factor: feed")
    assert ("high strong", "high strong", "high", "strong") in made.rows("Treatments")


def test_notes_stand_with_the_plants_and_places_with_the_trays(tmp_path):
    rows = [
        (*HEAD, "Remarks", "Spot"),
        *((*row, "pale" if row[2] == 1 else None, f"S{row[0][1]}") for row in ROWS),
    ]
    made = read(
        tmp_path, {"Log": rows}, replace(PLANTS, columns={"Note": "Remarks", "Position": "Spot"})
    )
    assert made.rows("Plants")[1] == ("T1", "1", 24.5, "pale")
    assert made.rows("Trays")[0] == ("Tray", "Treatment", "Position", "Plants started")
    assert made.rows("Trays")[2] == ("T2", "plain", "S2", 3)


# --- units of measure


def test_a_column_in_one_unit_keeps_it_and_a_mixture_is_converted(tmp_path):
    rows = [(*row[:3], row[3] / 1000) for row in ROWS]
    kilos = read(
        tmp_path,
        {"Log": [(*HEAD[:3], "wt (kg)"), *rows]},
        replace(PLANTS, values=(replace(FRESH, unit="kg"),)),
    )
    assert kilos.rows("Plants")[1][2] == pytest.approx(0.0245)
    assert kilos.figures("fresh_weight")["warm"] == pytest.approx(25.5)
    mixed = [
        (*HEAD[:3], "wt"),
        *((*row[:3], "0.0245 kg" if row == ROWS[0] else f"{row[3]} g") for row in ROWS),
    ]
    made = read(tmp_path, {"Log": mixed}, PLANTS)
    assert made.rows("Plants")[1] == ("T1", "1", 24.5)


# --- water


def water(events, **more):
    values = tuple(
        Values("Volume", (name,), "L", Covers.UNIT, event=event) for name, event in events.items()
    )
    return layout("Water", "Solution", values, unit=column("Tray"), **more)


def test_what_was_filled_added_and_left_is_a_budget(tmp_path):
    rows = [("Tray", "Filled", "Added", "Left"), *((tray, 5.0, 2.0, 1.5) for tray in KINDS)]
    made = read(
        tmp_path,
        log(Water=rows),
        PLANTS,
        water({"Filled": "fill", "Added": "top-up", "Left": "remaining"}),
    )
    assert made.figures("water_use") == pytest.approx({"plain": 5.5, "warm": 5.5})
    assert {row[2]: row[1] for row in made.rows("Solution")[1:]} == {
        "fill": datetime(2026, 1, 5),
        "top-up": datetime(2026, 2, 16),
        "remaining": datetime(2026, 2, 16),
    }


def test_what_was_used_up_is_a_whole_budget(tmp_path):
    rows = [("Tray", "Day", "Used"), *((tray, day, 1.5) for day in DAYS for tray in KINDS)]
    made = read(tmp_path, log(Water=rows), PLANTS, water({"Used": "used"}, occasion=column("Day")))
    assert made.figures("water_use") == pytest.approx({"plain": 10.5, "warm": 10.5})


def test_volumes_that_were_added_only_give_no_water_use(tmp_path):
    rows = [("Tray", "Day", "Added"), *((tray, day, 1.5) for day in DAYS for tray in KINDS)]
    made = read(
        tmp_path, log(Water=rows), PLANTS, water({"Added": "top-up"}, occasion=column("Day"))
    )
    assert not made.figures("water_use")
    assert "solution_incomplete" in {one.code for one in made.problems()}


def test_a_counter_of_water_counts_what_passed_between_readings(tmp_path):
    rows = [
        ("Tray", "Day", "Litres"),
        *((tray, day, 100 + 2.0 * at) for at, day in enumerate(DAYS) for tray in KINDS),
    ]
    own = water({"Litres": "used"}, occasion=column("Day"))
    counted = replace(own, values=(replace(own.values[0], counts=Counts.COUNTER),))
    made = read(tmp_path, log(Water=rows), PLANTS, counted)
    assert made.figures("water_use") == pytest.approx({"plain": 12, "warm": 12})


def test_volumes_of_a_treatment_are_divided_among_its_trays_with_a_word(tmp_path):
    rows = [("Treatment", "Used"), ("warm", 12.4), ("plain", 10.2)]
    values = (Values("Volume", ("Used",), "L", Covers.TREATMENT, event="used"),)
    made = read(
        tmp_path,
        log(Water=rows),
        PLANTS,
        layout("Water", "Solution", values, treatment=column("Treatment")),
    )
    assert made.figures("water_use") == pytest.approx({"plain": 5.1, "warm": 6.2})
    assert [one.code for one in made.given.problems] == ["volumes_divided"]


def test_readings_of_the_solution_stand_with_the_volume_of_their_row(tmp_path):
    rows = [("Tray", "Day", "Filled", "EC"), *((tray, DAYS[0], 5.0, 1.4) for tray in KINDS)]
    rows.append(("T1", DAYS[1], None, 1.5))
    own = water({"Filled": "fill"}, occasion=column("Day"))
    both = replace(own, values=(*own.values, Values("EC", ("EC",), "mS/cm")))
    made = read(tmp_path, log(Water=rows), PLANTS, both)
    assert made.rows("Solution")[1] == ("T1", DAYS[0], "fill", 5, 1.4)
    assert made.rows("Solution")[-1] == ("T1", DAYS[1], "sample", 0, 1.5)


# --- energy


def meter(names, counts=Counts.COUNTER, **more):
    values = Values("Reading", names, "kWh", Covers.TREATMENT, counts=counts)
    return layout("Meter", "Meter", (values,), **more)


def test_counters_side_by_side(tmp_path):
    rows = [
        ("Day", "warm", "plain"),
        *((day, 100 + 8.3 * at, 50 + 5.3 * at) for at, day in enumerate(DAYS)),
    ]
    own = meter(("warm", "plain"), treatment=over(1), occasion=column("Day"))
    made = read(tmp_path, log(Meter=rows), PLANTS, own)
    assert made.figures("energy_use") == pytest.approx({"plain": 15.9, "warm": 24.9})


def test_amounts_since_the_reading_before_become_a_counter(tmp_path):
    days = [datetime(2026, 1, 5) + timedelta(at) for at in range(43)]
    rows = [
        ("Day", "kind", "kWh"),
        *((day, kind, used) for day in days for kind, used in (("warm", 1.2), ("plain", 0.8))),
    ]
    own = meter(("kWh",), Counts.EACH, treatment=column("kind"), occasion=column("Day"))
    made = read(tmp_path, log(Meter=rows), PLANTS, own)
    assert made.rows("Meter")[1] == ("warm", "warm", datetime(2026, 1, 5), 0)
    assert made.figures("energy_use") == pytest.approx(
        {"plain": 0.8 * 43 / 2, "warm": 1.2 * 43 / 2}
    )


def test_a_counter_that_begins_again_each_day_counts_on(tmp_path):
    begins = datetime(2026, 1, 5, 0, 30)
    lines = [
        (begins + timedelta(hours=at), round(0.03 * (at % 24 + 0.5), 4))
        for at in range(42 * 24 + 12)
    ]
    own = meter(("kWh",), Counts.DAILY, occasion=column("Time"))
    made = read(tmp_path, log(Meter=[("Time", "kWh"), *lines]), PLANTS, own)
    readings = [row[3] for row in made.rows("Meter")[1:]]
    assert readings == sorted(readings)
    assert readings[-1] == pytest.approx(42 * 0.03 * 23.5 + 0.03 * 11.5)


def test_what_was_used_in_the_whole_season(tmp_path):
    rows = [("Treatment", "kWh"), ("warm", 49.8), ("plain", 31.8)]
    made = read(
        tmp_path,
        log(Meter=rows),
        PLANTS,
        meter(("kWh",), Counts.SEASON, treatment=column("Treatment")),
    )
    assert made.figures("energy_use") == pytest.approx({"plain": 15.9, "warm": 24.9})


def test_a_meter_that_all_share_is_told_as_such(tmp_path):
    rows = [("Day", "kWh"), *((day, 100 + 8.0 * at) for at, day in enumerate(DAYS))]
    made = read(tmp_path, log(Meter=rows), PLANTS, meter(("kWh",), occasion=column("Day")))
    assert made.rows("Meter")[1] == ("all", "all", DAYS[0], 100)


def test_readings_from_outside_the_trial_are_left_out_and_its_ends_interpolated(tmp_path):
    days = [datetime(2026, 1, 2) + timedelta(at * 3) for at in range(18)]
    rows = [
        ("Day", "warm", "plain"),
        *((day, 100 + 3.0 * at, 50 + 1.5 * at) for at, day in enumerate(days)),
    ]
    own = meter(("warm", "plain"), treatment=over(1), occasion=column("Day"))
    made = read(tmp_path, log(Meter=rows), PLANTS, own)
    assert made.figures("energy_use") == pytest.approx({"plain": 0.5 * 42 / 2, "warm": 42 / 2})
    assert {one.code for one in made.given.problems} == {"span_not_covered"}


# --- climate and light


def test_a_logger_of_the_whole_room(tmp_path):
    begins = datetime(2026, 1, 4)
    rows = [
        ("Time", "T", "RH"),
        *((begins + timedelta(hours=6 * at), 20 + at % 4, 60 + at % 7) for at in range(160)),
    ]
    values = (Values("Air temperature", ("T",), "°C"), Values("Relative humidity", ("RH",), "%"))
    made = read(
        tmp_path, log(Air=rows), PLANTS, layout("Air", "Climate", values, occasion=column("Time"))
    )
    assert made.rows("Climate")[:2] == [
        ("Treatment", "Read at", "Air temperature (°C)", "Relative humidity (%)"),
        ("all", datetime(2026, 1, 5), 20, 64),
    ]
    (caution,) = made.given.problems
    assert (caution.sheet, caution.cell, caution.code) == ("Air", "A2:A5", "span_not_covered")


def test_a_map_of_the_light_keeps_its_places(tmp_path):
    rows = [("where", "x (cm)", "y (cm)", "PPFD")]
    rows += [
        (kind, x, y, 200 + x + y) for kind in ("warm", "plain") for x in (0, 30) for y in (0, 20)
    ]
    values = (Values("PPFD", ("PPFD",), "µmol/m2/s"),)
    own = layout("Map", "Light", values, treatment=column("where"), columns={"X": "x", "Y": "y"})
    made = read(tmp_path, log(Map=rows), PLANTS, own)
    assert dict(zip(*made.rows("Light")[:2], strict=True)) == {
        "Treatment": "warm",
        "X (cm)": 0,
        "Y (cm)": 0,
        "PPFD (µmol/m2/s)": 200,
    }


def test_places_in_inches_are_converted(tmp_path):
    rows = [("where", "x (in)", "PPFD"), *((kind, 10.0, 200) for kind in ("warm", "plain"))]
    own = layout(
        "Map",
        "Light",
        (Values("PPFD", ("PPFD",), "µmol/m2/s"),),
        treatment=column("where"),
        columns={"X": "x"},
    )
    made = read(tmp_path, log(Map=rows), PLANTS, own)
    assert made.rows("Light")[1][made.rows("Light")[0].index("X (cm)")] == 25.4


# --- origins


def test_problems_stand_at_the_cells_of_the_owner(tmp_path):
    rows = [*ROWS]
    rows[4] = (*rows[4][:3], -3.0)
    (wrong,) = read(tmp_path, {"Log": [HEAD, *rows]}, PLANTS).problems()
    assert (wrong.sheet, wrong.cell) == ("Log", "D6")


def test_a_problem_of_the_trial_stands_at_its_line(tmp_path):
    trial = {**TRIAL, "Harvested on": date(2025, 2, 16)}
    made = read(tmp_path, log(), PLANTS, trial=trial, lines={"trial.Harvested on": 14})
    assert any(one.found.startswith("log.adopt.toml, line 14:") for one in made.problems())


def test_plants_measured_on_untold_days_are_known_when_last_measured_only(tmp_path):
    heights = [("Tray", "first", "second"), *((tray, 10.0, 14.0) for tray in KINDS)]
    values = Values("Height", ("first", "second"), "cm", Covers.UNIT)
    grown = layout(
        "H", "Growth", (values,), unit=column("Tray"), occasion=over(1), occasions=Occasions.GROWTH
    )
    made = read(tmp_path, log(H=heights), PLANTS, grown)
    assert made.figures("last_height") == pytest.approx({"plain": 14, "warm": 14})
    assert [one.code for one in made.flags] == ["days_not_told"]


def test_dry_weights_of_pickings_add_up(tmp_path):
    held, wide = picked(Occasions.PICKINGS)
    dry = replace(wide, values=(replace(wide.values[0], quantity="Dry weight"),))
    assert read(tmp_path, held, dry).figures("tray_yield_dry") == pytest.approx(
        {"plain": 76, "warm": 72}
    )


@pytest.mark.parametrize(
    ("labels", "days"),
    [
        (("week 2", "week 4"), (date(2026, 1, 19), date(2026, 2, 2))),
        (("Tag 7", "Tag 21"), (date(2026, 1, 12), date(2026, 1, 26))),
        (("week 3", "week 7"), (date(2026, 1, 26), date(2026, 2, 16))),
        (("KW 6", "KW 8"), (date(2026, 2, 8), date(2026, 2, 16))),
    ],
)
def test_days_and_weeks_count_from_the_start_or_are_those_of_the_calendar(tmp_path, labels, days):
    heights = [("Tray", *labels), *((tray, 10.0, 14.0) for tray in KINDS)]
    values = Values("Height", labels, "cm", Covers.UNIT)
    grown = layout(
        "H", "Growth", (values,), unit=column("Tray"), occasion=over(1), occasions=Occasions.GROWTH
    )
    made = read(tmp_path, log(H=heights), PLANTS, grown)
    assert tuple(dict.fromkeys(row[1].date() for row in made.rows("Growth")[1:])) == days
