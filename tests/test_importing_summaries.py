import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.importing.model.layouts import Counts, Covers, Occasions, Values
from tests.importing_layouts import layout, read

TRAYS = {"treatment": "column:Treatment", "unit": "column:Tray"}
PLANTS = [
    ["Treatment", "Tray", "Weight (g)"],
    ["warm", "T1", 10.5],
    ["warm", "T1", 12.5],
    ["warm", "T2", 20.5],
    ["warm", "T2", "dead"],
    ["cool", "T3", 8.5],
    ["cool", "T3", 9.5],
]


def figures(folder, grids, *layouts, **changes):
    log = read(folder, grids, layouts).with_settings(**changes)
    return log.figures


def of_plants(folder, **changes):
    plants = layout("Log", "Plants", [Values("Fresh weight", ("Weight",), "g")], **TRAYS)
    return figures(folder, {"Log": PLANTS}, plants, **changes)["fresh_weight"]


def test_the_mean_is_that_over_trays_of_the_mean_per_plant(tmp_path):
    warm = of_plants(tmp_path)["warm"]
    assert (warm.units, warm.n, warm.total, warm.lost, warm.unit) == (2, 3, 43.5, 1, "g")
    assert warm.mean == pytest.approx((11.5 + 20.5) / 2)


def test_plants_that_were_treated_one_by_one_are_units_of_their_own(tmp_path):
    warm = of_plants(tmp_path, independent="plant")["warm"]
    assert (warm.units, warm.n) == (3, 3)
    assert warm.mean == pytest.approx(43.5 / 3)


def test_a_treatment_that_stood_once_is_one_unit(tmp_path):
    warm = of_plants(tmp_path, independent="treatment")["warm"]
    assert warm.units == 1
    assert warm.mean == pytest.approx(43.5 / 3)


def test_treatments_go_by_the_names_that_are_printed(tmp_path):
    assert set(of_plants(tmp_path, treatments={"warm": "22 °C"})) == {"22 °C", "cool"}


def test_the_read_back_names_units_extremes_and_days(tmp_path):
    rows = [
        ["Date", "Treatment", "Tray", "Weight"],
        ["2026-05-02", "warm", "T1", 10.5],
        ["2026-05-09", "warm", "T1", 30.5],
        ["2026-05-09", "cool", "T2", 20.5],
    ]
    weight = [Values("Fresh weight", ("Weight",), "g", Covers.UNIT)]
    picked = layout("Log", "Harvests", weight, occasion="column:Date", **TRAYS)
    log = read(tmp_path, {"Log": rows}, [picked]).with_layout(occasions=Occasions.PICKINGS)
    warm = log.figures["tray_yield"]["warm"]
    assert (warm.unit_names, warm.times, warm.smallest, warm.largest) == (
        ("T1",),
        (2, 2),
        10.5,
        30.5,
    )
    assert (warm.first, warm.last, warm.total) == ("2026-05-02", "2026-05-09", 41.0)


def test_weights_in_several_units_of_measure_are_summed_in_grams(tmp_path):
    rows = [
        ["Treatment", "Tray", "Weight"],
        ["a", "1", "850 g"],
        ["a", "2", "1.2 kg"],
        ["b", "3", "1 lb"],
    ]
    boxes = layout(
        "Log", "Plants", [Values("Fresh weight", ("Weight",), "g", Covers.UNIT)], **TRAYS
    )
    read_back = figures(tmp_path, {"Log": rows}, boxes)["tray_yield"]
    assert read_back["a"].total == pytest.approx(2050)
    assert read_back["b"].total == pytest.approx(453.59237)  # NIST Handbook 44, appendix C: 1 lb


def test_a_weight_without_a_unit_stands_as_it_is_written(tmp_path):
    rows = [["Treatment", "Tray", "Weight"], ["a", "1", 8.5], ["b", "3", 7.5]]
    open_unit = layout("Log", "Plants", [Values("Fresh weight", ("Weight",))], **TRAYS)
    warm = figures(tmp_path, {"Log": rows}, open_unit)["fresh_weight"]["a"]
    assert (warm.total, warm.unit) == (8.5, "")


COUNTED = [
    ["Treatment", "Tray", "Plants", "Weight"],
    ["a", "1", 8, 80.5],
    ["a", "2", 10, 120.5],
    ["b", "3", 9, 70.5],
]


def test_a_weight_with_its_number_of_plants_gives_the_tray_and_the_plant(tmp_path):
    values = Values("Fresh weight", ("Weight",), "g", Covers.UNIT, count="Plants")
    read_back = figures(tmp_path, {"Log": COUNTED}, layout("Log", "Plants", [values], **TRAYS))
    assert read_back["tray_yield"]["a"].mean == pytest.approx(100.5)
    plants = read_back["fresh_weight"]["a"]
    assert (plants.units, plants.n, plants.total) == (2, 18, 201.0)
    assert plants.mean == pytest.approx((80.5 / 8 + 120.5 / 10) / 2)


def test_a_mean_per_plant_is_multiplied_by_its_number_of_plants(tmp_path):
    values = Values("Fresh weight", ("Weight",), "g", Covers.MEAN, count="Plants")
    plants = figures(tmp_path, {"Log": COUNTED}, layout("Log", "Plants", [values], **TRAYS))[
        "fresh_weight"
    ]["a"]
    assert (plants.n, plants.total) == (18, 80.5 * 8 + 120.5 * 10)
    assert plants.mean == pytest.approx((80.5 + 120.5) / 2)


def test_dry_weight_is_never_fresh_weight(tmp_path):
    dry = layout("Log", "Plants", [Values("Dry weight", ("Weight",), "g")], **TRAYS)
    assert set(figures(tmp_path, {"Log": PLANTS}, dry)) == {"dry_weight"}


def test_water_is_what_was_put_in_less_what_was_left(tmp_path):
    rows = [
        ["Treatment", "Tray", "Event", "mL"],
        ["warm", "T1", "fill", 9000.5],
        ["warm", "T1", "top-up", 1000.0],
        ["warm", "T1", "remaining", 2500.5],
        ["cool", "T2", "fill", 8000.5],
        ["cool", "T2", "top-up", 700.5],
    ]
    volumes = [Values("Volume", ("mL",), "mL", Covers.UNIT)]
    poured = layout("Water", "Solution", volumes, event="column:Event", **TRAYS)
    water = figures(tmp_path, {"Water": rows}, poured)["water"]
    assert set(water) == {"warm"}  # what was left in the other tray was not noted
    assert (water["warm"].total, water["warm"].unit) == (pytest.approx(7.5), "L")


def test_water_in_a_column_for_each_event_is_the_same_budget(tmp_path):
    rows = [
        ["Treatment", "Tray", "filled", "left"],
        ["warm", "T1", 9.5, 2.5],
        ["cool", "T2", 8.5, 1.25],
    ]
    filled = Values("Volume", ("filled",), "L", Covers.UNIT, event="fill")
    left = Values("Volume", ("left",), "L", Covers.UNIT, event="remaining")
    water = figures(
        tmp_path, {"Water": rows}, layout("Water", "Solution", [filled, left], **TRAYS)
    )["water"]
    assert [water[name].total for name in ("warm", "cool")] == [7.0, 7.25]


METER = [
    ["Date", "warm", "cool"],
    ["2026-05-01", 100.5, 40.5],
    ["2026-05-08", 130.5, 50.5],
    ["2026-05-15", 170.5, 62.5],
]


@pytest.mark.parametrize(
    ("counts", "warm"), [(Counts.COUNTER, 70.0), (Counts.EACH, 401.5), (Counts.DAILY, 401.5)]
)
def test_energy_is_what_the_meter_counted(tmp_path, counts, warm):
    values = Values("Reading", ("warm", "cool"), "kWh", Covers.TREATMENT, counts=counts)
    meter = layout("Meter", "Meter", [values], treatment="over:1", occasion="column:Date")
    energy = figures(tmp_path, {"Meter": METER}, meter)["energy"]
    assert (energy["warm"].total, energy["warm"].unit) == (pytest.approx(warm), "kWh")


def test_heights_while_plants_grow_are_those_of_the_last_day(tmp_path):
    rows = [
        ["Treatment", "Tray", "day 3", "day 10"],
        ["warm", "T1", 4.5, 12.5],
        ["cool", "T2", 3.5, 9.5],
    ]
    heights = [Values("Height", ("day 3", "day 10"), "cm")]
    growth = layout("Log", "Growth", heights, occasion="over:1", **TRAYS)
    log = read(tmp_path, {"Log": rows}, [growth]).with_layout(occasions=Occasions.GROWTH)
    assert log.figures["last_height"]["warm"].mean == 12.5


@settings(max_examples=25, deadline=None)
@given(st.permutations(PLANTS[1:]))
def test_rows_in_another_order_give_the_same_figures(tmp_path_factory, rows):
    plants = layout("Log", "Plants", [Values("Fresh weight", ("Weight",), "g")], **TRAYS)
    folder = tmp_path_factory.mktemp("log")
    ordered = figures(folder, {"Log": PLANTS}, plants)
    assert figures(folder, {"Log": [PLANTS[0], *rows]}, plants) == ordered


def test_a_weight_of_no_plants_has_no_mean_per_plant(tmp_path):
    rows = [
        ["Treatment", "Tray", "Weight", "Plants"],
        ["a", "1", 850, 2],
        ["a", "2", 0, 0],
        ["b", "3", 400, 4],
    ]
    boxes = layout(
        "Log", "Plants", [Values("Fresh weight", ("Weight",), "g", Covers.UNIT, "Plants")], **TRAYS
    )
    each = figures(tmp_path, {"Log": rows}, boxes)["fresh_weight"]
    assert each["a"].mean == pytest.approx(425)
    assert each["b"].mean == pytest.approx(100)
