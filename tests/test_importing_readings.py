"""How the labels of a log may place its values: the layouts that keep the constraints, best
evidence first.
"""

from itertools import product
from pathlib import Path

import openpyxl

from reportgen.importing import carriers, cells, contents, readings, tables
from reportgen.importing.model.cells import Conventions
from reportgen.importing.model.claims import Reading
from reportgen.importing.model.layouts import CarrierKind, Covers, Dimension, Occasions, Source

FAN_STILL = ("fan", "still")
DAYS = ("2026-03-02", "2026-03-09", "2026-03-16")


def read(
    folder: Path, sheets: dict[str, list[list[object]]], table: int = 0
) -> tuple[Reading, ...]:
    """Return the readings of one of the tables of a log."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    path = folder / "log.xlsx"
    book.save(path)
    log = cells.read_log([path], Conventions())
    found = tables.find(log)
    chosen = found.tables[table]
    labels = carriers.labels_of(chosen, log)
    return readings.readings(
        chosen, labels, contents.contents(chosen, labels, found, log), found, log
    )


def said(source: Source) -> str:
    """Return a source as settings name it."""
    names = []
    for carrier in source.carriers:
        name = carrier.name or carrier.kind.value
        if carrier.kind is CarrierKind.OVER:
            name = f"over {carrier.name}"
        if carrier.part:
            name += f" part {carrier.part}"
        names.append(name)
    said = " + ".join(names)
    return f"{said} in {source.lookup.table}" if source.lookup else said


def dimensions(reading: Reading) -> dict[str, str]:
    """Return the sources of a reading's dimensions by name."""
    return {
        dimension.value: said(source) for dimension, source in reading.layout.dimensions.items()
    }


def near(found: tuple[Reading, ...], points: float = 4.0) -> list[Reading]:
    """Return the readings that are asked about: within some points of the best."""
    return [reading for reading in found if reading.score >= found[0].score - points]


def weight(*numbers: int) -> float:
    """Return a weight in g that differs for each plant, without an order."""
    seed = 0
    for number in numbers:
        seed = seed * 31 + number + 7
    return round(80 + (seed * 7919 % 400) / 10 + 0.1, 1)


def long_rows() -> list[list[object]]:
    """Return rows of two treatments, three trays each, numbered on, and four plants a tray."""
    rows: list[list[object]] = []
    for tray, plant in product(range(1, 7), range(1, 5)):
        rows.append([FAN_STILL[(tray - 1) // 3], tray, plant, weight(tray, plant)])
    return rows


def test_columns_of_treatment_tray_and_plant_are_read_so(tmp_path):
    found = read(
        tmp_path, {"Log": [["Treatment", "Tray", "Plant", "Fresh weight (g)"], *long_rows()]}
    )
    assert dimensions(found[0]) == {"treatment": "Treatment", "unit": "Tray", "plant": "Plant"}
    assert len(near(found)) == 1


def test_a_reading_says_what_it_rests_on(tmp_path):
    found = read(tmp_path, {"Log": [["Treatment", "Tray", "c", "Fresh weight (g)"], *long_rows()]})
    assert (
        found[0].layout.because
        == "treatment by its header, tray by its header, plant by what fits together"
    )


def test_relations_place_values_whose_headers_say_nothing(tmp_path):
    found = read(tmp_path, {"Log": [["a", "b", "c", "Fresh weight (g)"], *long_rows()]})
    assert dimensions(found[0]) == {"treatment": "a", "unit": "b", "plant": "c"}


def test_headers_in_another_language_are_read_so(tmp_path):
    found = read(
        tmp_path, {"Pesi": [["Tesi", "Vassoio", "Pianta", "Peso fresco (g)"], *long_rows()]}
    )
    assert dimensions(found[0]) == {"treatment": "Tesi", "unit": "Vassoio", "plant": "Pianta"}


def test_trays_numbered_anew_under_each_treatment_are_trays_of_their_own(tmp_path):
    rows = [[row[0], (row[1] - 1) % 3 + 1, *row[2:]] for row in long_rows()]
    found = read(tmp_path, {"Log": [["Treatment", "Tray", "Plant", "Fresh weight (g)"], *rows]})
    assert dimensions(found[0])["unit"] == "treatment + Tray"


def test_plants_over_columns_are_plants_of_the_tray_of_their_row(tmp_path):
    rows: list[list[object]] = [
        ["Treatment", "Tray", *[f"Plant {plant} (g)" for plant in range(1, 5)]]
    ]
    for tray in range(1, 7):
        rows.append(
            [FAN_STILL[(tray - 1) // 3], tray, *[weight(tray, plant) for plant in range(1, 5)]]
        )
    found = read(tmp_path, {"Log": rows})
    assert dimensions(found[0])["treatment"] == "Treatment"
    assert dimensions(found[0])["unit"] == "Tray"
    assert dimensions(found[0])["plant"].startswith("over 1")


def test_treatments_over_tray_numbers_are_two_header_levels(tmp_path):
    rows: list[list[object]] = [[None, "fan", None, None, "still", None, None]]
    rows.append(["Plant", *[f"Tray {tray}" for tray in (1, 2, 3, 1, 2, 3)]])
    for plant in range(1, 6):
        rows.append([plant, *[weight(tray, plant) for tray in range(1, 7)]])
    found = read(tmp_path, {"Fresh weight g": rows})
    placed = dimensions(found[0])
    assert placed["treatment"] == "over 1"
    assert placed["unit"] == "treatment + over 2"
    assert placed["plant"] == "Plant"


def test_a_sheet_a_tray_names_the_treatment_and_the_tray(tmp_path):
    sheets = {}
    for tray in range(1, 7):
        rows = [[plant, weight(tray, plant)] for plant in range(1, 5)]
        sheets[f"{FAN_STILL[(tray - 1) // 3]} Tray {tray}"] = [["Plant", "Fresh weight (g)"], *rows]
    found = read(tmp_path, sheets)
    assert dimensions(found[0]) == {
        "treatment": "sheet part 1",
        "unit": "sheet part 2",
        "plant": "Plant",
    }


def test_ids_place_plants_by_their_parts_and_a_key_spells_the_treatment(tmp_path):
    rows: list[list[object]] = [["ID", "Fresh weight (g)"]]
    for code, tray, plant in product("KF", (1, 2, 3), (1, 2, 3, 4)):
        rows.append([f"{code}{tray}-{plant}", weight(ord(code), tray, plant)])
    key = [["Code", "Meaning"], ["K", "control"], ["F", "fan"]]
    found = read(tmp_path, {"Log": rows, "Key": key})
    placed = dimensions(found[0])
    assert placed["treatment"] == "ID part 1 in Key"
    assert placed["unit"] == "treatment + ID part 2"
    assert placed["plant"] == "ID part 3"


def test_the_treatment_of_a_tray_may_stand_on_another_sheet(tmp_path):
    rows = [[f"T{row[1]}", row[2], row[3]] for row in long_rows()]
    trays = [
        ["Tray", "Treatment"],
        *[[f"T{tray}", FAN_STILL[(tray - 1) // 3]] for tray in range(1, 7)],
    ]
    found = read(tmp_path, {"Log": [["Tray", "Plant", "Fresh weight (g)"], *rows], "Trays": trays})
    assert dimensions(found[0]) == {"treatment": "Tray in Trays", "unit": "Tray", "plant": "Plant"}


def test_a_table_of_doses_spells_no_treatment(tmp_path):
    doses = [["Treatment", "Fertiliser (g/plant)"], ["fan", 1.5], ["still", 3.0]]
    log = {
        "Log": [["Treatment", "Tray", "Plant", "Fresh weight (g)"], *long_rows()],
        "Doses": doses,
    }
    for reading in near(read(tmp_path, log)):
        assert reading.layout.dimensions[Dimension.TREATMENT].lookup is None


def dated(value) -> list[list[object]]:
    """Return rows of trays on several days, with a value by treatment, tray and day."""
    rows: list[list[object]] = [["Date", "Treatment", "Tray", "Weight (g)"]]
    for day, tray in product(range(3), range(1, 7)):
        rows.append([DAYS[day], FAN_STILL[(tray - 1) // 3], tray, value(tray, day)])
    return rows


def meanings(found: tuple[Reading, ...]) -> set[Occasions]:
    return {reading.layout.occasions for reading in near(found)}


def test_days_over_the_same_trays_are_occasions_and_what_they_are_is_open(tmp_path):
    found = read(tmp_path, {"Log": dated(weight)})
    assert dimensions(found[0])["occasion"] == "Date"
    assert Occasions.PICKINGS in meanings(found)


def test_a_total_that_never_falls_may_run(tmp_path):
    found = read(tmp_path, {"Log": dated(lambda tray, day: 100.0 * (day + 1) + 3 * tray)})
    assert Occasions.RUNNING in meanings(found)


def test_weights_that_fall_are_no_running_totals(tmp_path):
    found = read(
        tmp_path, {"Log": dated(lambda tray, day: weight(tray, day) + 60 * (day % 2 == 0))}
    )
    assert Occasions.RUNNING not in meanings(found)


def test_plants_that_come_once_each_are_samples(tmp_path):
    rows: list[list[object]] = [["Date", "Treatment", "Tray", "Plant", "Fresh weight (g)"]]
    for plant, (day, tray, _) in enumerate(product(range(3), range(1, 7), range(2))):
        rows.append(
            [DAYS[day], FAN_STILL[(tray - 1) // 3], tray, f"P{plant}", weight(tray, day, plant)]
        )
    found = read(tmp_path, {"Log": rows})
    assert found[0].layout.occasions is Occasions.SAMPLES
    assert Occasions.ONCE in meanings(found), "one harvest may have taken several days"


def test_a_day_that_goes_with_the_tray_is_the_day_of_its_only_harvest(tmp_path):
    rows = [[row[0], row[1], DAYS[row[1] % 3], *row[2:]] for row in long_rows()]
    found = read(
        tmp_path, {"Log": [["Treatment", "Tray", "Date", "Plant", "Fresh weight (g)"], *rows]}
    )
    assert found[0].layout.occasions is Occasions.ONCE


def crossed(header: str, levels: tuple[str, str]) -> list[list[object]]:
    """Return rows whose trays have a treatment and one of two further labels each."""
    rows: list[list[object]] = [["Treatment", header, "Tray", "Plant", "Fresh weight (g)"]]
    for tray, plant in product(range(1, 9), range(1, 4)):
        rows.append(
            [FAN_STILL[(tray - 1) // 4], levels[tray % 2], tray, plant, weight(tray, plant)]
        )
    return rows


def test_a_cultivar_that_crosses_the_treatment_is_never_pooled_without_a_word(tmp_path):
    asked = near(read(tmp_path, {"Log": crossed("Cultivar", ("Aroma", "Nufar"))}))
    combined = [reading for reading in asked if reading.layout.factors]
    alone = {label for reading in asked for label in reading.layout.only.get("Cultivar", ())}
    assert dimensions(combined[0])["treatment"] == "Treatment + Cultivar"
    assert alone == {"Aroma", "Nufar"}


def test_of_a_second_crop_one_alone_is_the_trial(tmp_path):
    found = read(tmp_path, {"Log": crossed("Crop", ("basil", "cress"))})
    assert found[0].layout.only in ({"Crop": ("basil",)}, {"Crop": ("cress",)})
    assert dimensions(found[0])["treatment"] == "Treatment"


def test_a_second_crop_leaves_the_cultivars_of_the_first_to_be_combined(tmp_path):
    rows: list[list[object]] = [["Crop", *crossed("Cultivar", ("Aroma", "Nufar"))[0]]]
    for crop, row in product(("basil", "cress"), crossed("Cultivar", ("Aroma", "Nufar"))[1:]):
        rows.append([crop, *row[:-1], row[-1] + len(crop)])
    asked = near(read(tmp_path, {"Log": rows}))
    combined = [reading.layout for reading in asked if reading.layout.factors]
    assert {"Crop": ("basil",)} in [layout.only for layout in combined]


def test_two_crops_with_equal_tray_and_plant_numbers_are_told_apart_by_the_crop(tmp_path):
    rows: list[list[object]] = [["Crop", "Treatment", "Tray", "Plant", "Fresh weight (g)"]]
    for crop, row in product(("basil", "cress"), long_rows()):
        rows.append([crop, *row[:3], row[3] + len(crop)])
    found = read(tmp_path, {"Log": rows})
    assert found[0].layout.only
    assert dimensions(found[0])["plant"] == "Plant"


def test_a_bench_that_crosses_the_treatment_is_a_block(tmp_path):
    found = read(tmp_path, {"Log": crossed("Bench", ("north", "south"))})
    assert dimensions(found[0])["block"] == "Bench"


def test_a_room_that_goes_with_the_treatment_carries_nothing(tmp_path):
    rows = [["A" if row[0] == "fan" else "B", *row] for row in long_rows()]
    found = read(
        tmp_path, {"Log": [["Room", "Treatment", "Tray", "Plant", "Fresh weight (g)"], *rows]}
    )
    assert dimensions(found[0]) == {"treatment": "Treatment", "unit": "Tray", "plant": "Plant"}


def test_remarks_and_initials_carry_nothing(tmp_path):
    rows = [
        [*row, "AB" if index % 2 else "CD", "small" if index == 3 else None]
        for index, row in enumerate(long_rows())
    ]
    header = ["Treatment", "Tray", "Plant", "Fresh weight (g)", "Weighed by", "Remarks"]
    for reading in near(read(tmp_path, {"Log": [header, *rows]})):
        assert dimensions(reading) == {"treatment": "Treatment", "unit": "Tray", "plant": "Plant"}
        assert not reading.layout.factors


def test_one_plant_number_typed_twice_leaves_the_reading_as_it_is(tmp_path):
    rows = long_rows()
    rows[1][2] = 1
    found = read(tmp_path, {"Log": [["Treatment", "Tray", "Plant", "Fresh weight (g)"], *rows]})
    assert dimensions(found[0]) == {"treatment": "Treatment", "unit": "Tray", "plant": "Plant"}


def test_meters_side_by_side_are_the_treatments_of_the_trial(tmp_path):
    power: list[list[object]] = [["Date", "Meter fan (kWh)", "Meter still (kWh)"]]
    for day in range(1, 7):
        power.append([f"2026-03-{day:02}", 100.5 + 3 * day, 250.5 + 2 * day])
    log = {
        "Power": power,
        "Log": [["Treatment", "Tray", "Plant", "Fresh weight (g)"], *long_rows()],
    }
    found = read(tmp_path, log)
    assert dimensions(found[0]) == {"treatment": "over 1 part 1", "occasion": "Date"}


def test_a_log_of_the_room_has_no_treatment(tmp_path):
    rows: list[list[object]] = [["Time", "Temperature (°C)", "RH (%)"]]
    for hour in range(24):
        rows.append([f"2026-03-02 {hour:02}:00", 20.5 + hour / 10, 60 + hour % 7])
    found = read(tmp_path, {"Climate": rows})
    assert found[0].layout.gives == "Climate"
    assert dimensions(found[0]) == {"occasion": "Time"}


def test_readings_come_in_the_same_order_each_time(tmp_path):
    log = {"Log": crossed("Cultivar", ("Aroma", "Nufar"))}
    assert read(tmp_path, log) == read(tmp_path, log)


def test_a_blank_treatment_may_be_the_control(tmp_path):
    rows = [[None if row[0] == "still" else row[0], *row[1:]] for row in long_rows()]
    found = read(tmp_path, {"Log": [["Treatment", "Tray", "Plant", "Fresh weight (g)"], *rows]})
    assert dimensions(found[0]) == {"treatment": "Treatment", "unit": "Tray", "plant": "Plant"}
    assert "" in found[0].layout.words["treatment"]


def test_scores_in_numbers_behind_the_weights_carry_nothing(tmp_path):
    rows = [[*row, index % 4 + 1] for index, row in enumerate(long_rows())]
    found = read(
        tmp_path, {"Log": [["Treatment", "Tray", "Plant", "Fresh weight (g)", "Vigour"], *rows]}
    )
    assert dimensions(found[0]) == {"treatment": "Treatment", "unit": "Tray", "plant": "Plant"}
    assert not found[0].layout.factors


def test_weekdays_over_the_rows_of_weeks_are_days_of_picking(tmp_path):
    header = ["Week of", "Mon", "Wed", "Fri", "Week"]
    sheets = {}
    for number, name in enumerate(("straw", "plastic")):
        rows: list[list[object]] = []
        for bed in (1, 2):
            rows += [[f"Bed {bed}"], list(header)]
            for day in (2, 9, 16):
                picked = [300 + 37 * number + 11 * bed + 5 * day * each % 90 for each in (1, 2, 3)]
                rows.append([f"2025-06-{day:02d}", *picked, sum(picked)])
            rows += [[], []]
        sheets[name] = rows
    best = read(tmp_path, sheets)[0]
    assert dimensions(best) == {
        "treatment": "sheet",
        "unit": "treatment + title",
        "occasion": "Week of + over 1",
    }
    assert best.layout.occasions is Occasions.PICKINGS


def test_what_runs_up_in_trays_without_plants_is_of_the_tray(tmp_path):
    rows: list[list[object]] = [
        ["Weights so far (g)"],
        ["Treatment", "Tray", "Date", "Fresh weight"],
    ]
    for tray in range(1, 7):
        for number, day in enumerate(DAYS, 1):
            rows.append(
                [FAN_STILL[tray % 2], f"T{tray}", day, 90 * number + 7 * tray % 11 + number * tray]
            )
    best = read(tmp_path, {"Log": rows})[0].layout
    assert (best.occasions, best.values[0].covers) == (Occasions.RUNNING, Covers.UNIT)


def test_weekdays_over_pickings_are_days_though_no_week_stands_beside_them(tmp_path):
    rows: list[list[object]] = [["Pickings (g)"], ["Treatment", "Bed", "Mon", "Wed", "Fri"]]
    for bed in range(1, 7):
        rows.append([FAN_STILL[bed % 2], f"B{bed}", 100 + 7 * bed, 131 - 3 * bed, 99 + 5 * bed])
    best = read(tmp_path, {"Log": rows})[0]
    assert dimensions(best) == {"treatment": "Treatment", "unit": "Bed", "occasion": "over 1"}
    assert (best.layout.occasions, best.layout.values[0].covers) == (
        Occasions.PICKINGS,
        Covers.UNIT,
    )


def test_a_column_headed_sun_beside_one_for_shade_is_no_day(tmp_path):
    rows: list[list[object]] = [["Fresh weight (g)"], ["Tray", "Sun", "Shade"]]
    rows += [[f"T{tray}", 100 + 7 * tray, 131 - 3 * tray] for tray in range(1, 7)]
    assert dimensions(read(tmp_path, {"Log": rows})[0])["treatment"] == "over 1"
