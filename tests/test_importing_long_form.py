import pytest

from reportgen.importing.long_form import harvest
from reportgen.importing.model.layouts import (
    Blank,
    Corrected,
    Covers,
    LeftOut,
    Lookup,
    Occasions,
    Values,
)
from tests.importing_layouts import layout, read, source

WEIGHTS = Values("Fresh weight", ("Weight",), "g")
LONG = layout(
    "Log",
    "Plants",
    [WEIGHTS],
    treatment="column:Treatment",
    unit="column:Tray",
    plant="column:Plant",
)
ROWS = [
    ["Treatment", "Tray", "Plant", "Weight (g)"],
    ["warm", "T1", "1", 10.5],
    ["warm", "T1", "2", 12.5],
    ["cool", "T2", "1", "dead"],
    ["cool", "T2", "2", 8.25],
]


def rows_of(frame, *names):
    return [tuple(row) for row in frame[list(names)].itertuples(index=False)]


def test_each_value_stands_in_a_row_with_its_labels_and_its_cell(tmp_path):
    frame = read(tmp_path, {"Log": ROWS}, [LONG]).frame
    assert rows_of(frame, "treatment", "unit", "plant", "value", "measure_unit")[0] == (
        "warm",
        "T1",
        "1",
        10.5,
        "g",
    )
    assert rows_of(frame, "sheet", "row", "column") == [(0, 2, 4), (0, 3, 4), (0, 4, 4), (0, 5, 4)]
    assert frame["state"].tolist() == ["value", "value", "lost", "value"]


def test_plants_side_by_side_are_the_same_long_form(tmp_path):
    wide = [
        ["Treatment", "Tray", "1", "2"],
        ["warm", "T1", 10.5, 12.5],
        ["cool", "T2", "dead", 8.25],
    ]
    values = Values("Fresh weight", ("1", "2"), "g")
    over = layout(
        "Log", "Plants", [values], treatment="column:Treatment", unit="column:Tray", plant="over:1"
    )
    (tmp_path / "wide").mkdir()
    names = ("treatment", "unit", "plant", "value", "state")
    long = read(tmp_path, {"Log": ROWS}, [LONG]).frame[list(names)]
    assert read(tmp_path / "wide", {"Log": wide}, [over]).frame[list(names)].equals(long)


def test_trays_numbered_anew_under_each_treatment_are_trays_of_their_own(tmp_path):
    rows = [
        ["Treatment", "Tray", "Weight"],
        ["warm", 1, 10.5],
        ["warm", 2, 9.5],
        ["cool", 1, 8.5],
        ["cool", 2, 7.5],
    ]
    anew = layout(
        "Log", "Plants", [WEIGHTS], treatment="column:Treatment", unit=("treatment", "column:Tray")
    )
    frame = read(tmp_path, {"Log": rows}, [anew]).frame
    assert frame["unit"].tolist() == ["warm 1", "warm 2", "cool 1", "cool 2"]


def test_plants_without_a_label_are_counted_within_their_tray(tmp_path):
    rows = [[row[0], row[1], row[3]] for row in ROWS]
    counted = layout("Log", "Plants", [WEIGHTS], treatment="column:Treatment", unit="column:Tray")
    frame = read(tmp_path, {"Log": rows}, [counted]).frame
    assert rows_of(frame, "unit", "plant") == [("T1", "1"), ("T1", "2"), ("T2", "1"), ("T2", "2")]


def test_spellings_of_one_treatment_are_one_treatment_on_all_sheets(tmp_path):
    meter = [["House", "kWh"], ["WARM", 40.5], ["Cool", 30.5]]
    energy = layout(
        "Meter", "Meter", [Values("Reading", ("kWh",), "kWh")], treatment="column:House"
    )
    frame = read(tmp_path, {"Log": ROWS, "Meter": meter}, [LONG, energy]).frame
    assert set(frame["treatment"]) == {"warm", "cool"}


def test_a_sheet_that_names_trays_only_learns_their_treatment_from_the_others(tmp_path):
    water = [["Tray", "Litres"], ["T1", 4.5], ["T2", 3.5]]
    volumes = layout(
        "Water", "Solution", [Values("Volume", ("Litres",), "L", Covers.UNIT)], unit="column:Tray"
    )
    frame = read(tmp_path, {"Log": ROWS, "Water": water}, [LONG, volumes]).frame
    poured = frame[frame["quantity"] == "Volume"]
    assert rows_of(poured, "treatment", "value") == [("warm", 4.5), ("cool", 3.5)]


def test_a_key_spells_the_treatment_of_an_id(tmp_path):
    rows = [["Pot", "Weight"], ["P1", 10.5], ["P2", 9.5], ["P3", 8.5]]
    key = [["Code", "What"], ["P1", "warm"], ["P2", "cool"], ["P3", "warm"]]
    by_id = source("column:Pot", lookup=Lookup("Plan", "Code", "What"))
    joined = layout("Log", "Plants", [WEIGHTS], treatment=by_id, unit="column:Pot")
    frame = read(tmp_path, {"Log": rows, "Plan": key}, [joined]).frame
    assert frame["treatment"].tolist() == ["warm", "cool", "warm"]


def test_words_spell_labels_and_name_a_blank_one(tmp_path):
    rows = [
        ["Plot", "Treatment", "Weight"],
        ["A", "N", 10.5],
        ["B", None, 9.5],
        ["C", "N", 8.5],
        ["D", None, 7.5],
    ]
    worded = layout("Log", "Plants", [WEIGHTS], treatment="column:Treatment", unit="column:Plot")
    log = read(tmp_path, {"Log": rows}, [worded]).with_layout(
        words={"treatment": {"N": "nitrogen", "": "none"}}
    )
    assert set(log.frame["treatment"]) == {"nitrogen", "none"}


def test_only_what_belongs_to_the_trial_is_read(tmp_path):
    rows = [
        ["Crop", *ROWS[0]],
        *[[("pea" if row[1] == "T1" else "bean"), *row] for row in ROWS[1:]],
    ]
    frame = read(tmp_path, {"Log": rows}, [LONG]).with_layout(only={"Crop": ("pea",)}).frame
    assert set(frame["unit"]) == {"T1"}


@pytest.mark.parametrize("cells", ["3", "D3", "Log!D3", "A3:D3"])
def test_what_is_left_out_is_not_read(tmp_path, cells):
    log = read(tmp_path, {"Log": ROWS}, [LONG]).with_layout(
        left_out=(LeftOut(cells, "", "spilled"),)
    )
    assert log.frame["row"].tolist() == [2, 4, 5]


def test_what_is_left_out_is_found_again_below_a_row_that_was_put_in(tmp_path):
    later = [*ROWS[:2], ["warm", "T1", "9", 11.75], *ROWS[2:]]
    spilled = LeftOut("3", "warm | T1 | 2 | 12.5", "spilled")
    log = read(tmp_path, {"Log": later}, [LONG]).with_layout(left_out=(spilled,))
    assert log.frame["plant"].tolist() == ["1", "9", "1", "2"]


def test_a_corrected_cell_holds_what_its_owner_says(tmp_path):
    log = read(tmp_path, {"Log": ROWS}, [LONG]).with_layout(
        corrected=(Corrected("D3", "12.5", "1.25"),)
    )
    assert log.frame["value"].tolist()[1] == 1.25


def test_a_cell_that_was_mended_since_is_not_corrected_again(tmp_path):
    log = read(tmp_path, {"Log": ROWS}, [LONG]).with_layout(
        corrected=(Corrected("D3", "125", "1.25"),)
    )
    assert log.frame["value"].tolist()[1] == 12.5


@pytest.mark.parametrize(
    ("blank", "state", "value"),
    [
        (Blank.ZERO, "zero", 0.0),
        (Blank.MISSING, "missing", None),
        (Blank.LOST, "lost", None),
        (Blank.UNKNOWN, "blank", None),
    ],
)
def test_a_blank_cell_is_what_its_owner_says(tmp_path, blank, state, value):
    rows = [["Treatment", "Tray", "a", "b"], ["warm", "T1", 1.5, None], ["cool", "T2", 1.25, 2.5]]
    values = Values("Fresh weight", ("a", "b"), "g", blank=blank)
    wide = layout(
        "Log", "Plants", [values], treatment="column:Treatment", unit="column:Tray", plant="over:1"
    )
    second = read(tmp_path, {"Log": rows}, [wide]).frame.iloc[1]
    assert second["state"] == state
    assert (None if second.isna()["value"] else second["value"]) == value


def test_a_unit_in_a_cell_beats_that_of_its_column(tmp_path):
    rows = [
        ["Treatment", "Box", "Weight"],
        ["fine", "1", "850 g"],
        ["fine", "2", "1.2 kg"],
        ["coarse", "3", 930.5],
    ]
    boxes = layout("Log", "Plants", [WEIGHTS], treatment="column:Treatment", unit="column:Box")
    frame = read(tmp_path, {"Log": rows}, [boxes]).frame
    assert rows_of(frame, "value", "measure_unit") == [(850.0, "g"), (1.2, "kg"), (930.5, "g")]


def test_pounds_and_ounces_are_one_weight(tmp_path):
    rows = [
        ["Treatment", "Bed", "lb", "oz"],
        ["raft", "1", 2, 8.5],
        ["raft", "2", 3, None],
        ["gravel", "3", None, 9.5],
    ]
    values = Values("Fresh weight", ("lb",), "lb", Covers.UNIT, plus=(("oz", "oz"),))
    beds = layout("Log", "Plants", [values], treatment="column:Treatment", unit="column:Bed")
    frame = read(tmp_path, {"Log": rows}, [beds]).frame
    assert frame["value"].tolist() == pytest.approx(
        [2 + 8.5 / 16, 3, 9.5 / 16]
    )  # 16 oz in a pound: exact


def test_a_tare_is_subtracted_and_one_that_is_not_known_leaves_no_weight(tmp_path):
    rows = [
        ["Treatment", "Box", "Gross", "Tare"],
        ["a", "1", 20.5, 4.5],
        ["a", "2", 21.5, None],
        ["b", "3", 18.5, 4.5],
    ]
    values = Values("Fresh weight", ("Gross",), "g", Covers.UNIT, tare="Tare")
    boxes = layout("Log", "Plants", [values], treatment="column:Treatment", unit="column:Box")
    frame = read(tmp_path, {"Log": rows}, [boxes]).frame
    assert frame["state"].tolist() == ["value", "missing", "value"]
    assert frame["value"].dropna().tolist() == [16.0, 14.0]


def test_a_yield_per_area_is_the_weight_of_its_plot(tmp_path):
    rows = [["Treatment", "Plot", "Yield (kg/ha)"], ["a", "1", 2500.5], ["b", "2", 3000.5]]
    values = Values("Fresh weight", ("Yield",), "kg/ha", Covers.UNIT, per_area=4.0)
    plots = layout("Log", "Plants", [values], treatment="column:Treatment", unit="column:Plot")
    frame = read(tmp_path, {"Log": rows}, [plots]).frame
    assert frame["value"].tolist() == pytest.approx([1.0002, 1.2002])  # 1 ha is 10,000 m2: exact
    assert frame["measure_unit"].tolist() == ["kg", "kg"]


def test_a_blank_under_another_block_is_no_picking_of_a_tray(tmp_path):
    rows = [
        ["Block", "Day", "T1", "T2"],
        ["north", "1", 5.5, None],
        ["north", "2", None, None],
        ["south", "1", None, 4.5],
        ["south", "2", None, 6.5],
    ]
    values = Values("Fresh weight", ("T1", "T2"), "g", Covers.UNIT, blank=Blank.MISSING)
    trays = layout(
        "Log",
        "Plants",
        [values],
        treatment="fixed:a",
        block="column:Block",
        unit="over:1",
        occasion="column:Day",
    )
    frame = read(tmp_path, {"Log": rows}, [trays]).frame
    assert rows_of(frame, "block", "unit", "state") == [
        ("north", "T1", "value"),
        ("north", "T1", "missing"),
        ("south", "T2", "value"),
        ("south", "T2", "value"),
    ]


# ---- several occasions ---------------------------------------------------------------------------

DAYS = [
    ["Treatment", "Tray", "2026-05-02", "2026-05-09", "2026-05-16"],
    ["warm", "T1", 10.5, 20.5, 30.5],
    ["cool", "T2", 9.5, "-", 29.5],
    ["cool", "T3", 8.5, 18.5, None],
]


def harvested(folder, occasions, blank=Blank.ZERO):
    values = Values("Fresh weight", tuple(DAYS[0][2:]), "g", Covers.UNIT, blank=blank)
    by_day = layout(
        "Log",
        "Plants",
        [values],
        treatment="column:Treatment",
        unit="column:Tray",
        occasion="over:1",
    )
    log = read(folder, {"Log": DAYS}, [by_day]).with_layout(occasions=occasions)
    reduced = harvest(log.frame, log.settings)
    read_values = reduced[reduced["value"].notna()]
    return rows_of(read_values, "unit", "value")


def test_pickings_add_up_but_not_where_one_was_not_measured(tmp_path):
    assert harvested(tmp_path, Occasions.PICKINGS) == [("T1", 61.5), ("T3", 27.0)]


def test_of_running_totals_the_last_one_holds(tmp_path):
    assert harvested(tmp_path, Occasions.RUNNING, Blank.MISSING) == [
        ("T1", 30.5),
        ("T2", 29.5),
        ("T3", 18.5),
    ]


def test_of_samples_the_last_day_is_the_harvest(tmp_path):
    assert harvested(tmp_path, Occasions.SAMPLES, Blank.MISSING) == [("T1", 30.5), ("T2", 29.5)]


def test_pickings_are_ordered_by_their_number_not_by_their_letters(tmp_path):
    rows = [
        ["Treatment", "Tray", "cut 10", "cut 9"],
        ["warm", "T1", 40.5, 30.5],
        ["cool", "T2", 41.5, 29.5],
    ]
    values = Values("Fresh weight", ("cut 10", "cut 9"), "g", Covers.UNIT)
    cuts = layout(
        "Log",
        "Plants",
        [values],
        treatment="column:Treatment",
        unit="column:Tray",
        occasion="over:1",
    )
    log = read(tmp_path, {"Log": rows}, [cuts]).with_layout(occasions=Occasions.RUNNING)
    assert harvest(log.frame, log.settings)["value"].tolist() == [40.5, 41.5]
