from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.importing.model.cells import Kind
from reportgen.importing.model.layouts import (
    NOTHING,
    Corrected,
    Covers,
    Layout,
    LeftOut,
    Lookup,
    Occasions,
    Values,
)
from reportgen.importing.model.questions import Fate
from reportgen.model.problem import Severity
from tests.importing_layouts import layout, read, source

TRAYS = {"treatment": "column:Treatment", "unit": "column:Tray"}
PLANTS = layout("Log", "Plants", [Values("Fresh weight", ("Weight",), "g")], **TRAYS)
ROWS = [
    ["Treatment", "Tray", "Weight (g)"],
    ["warm", 1, 10.5],
    ["warm", 2, 12.75],
    ["cool", 3, 8.25],
    ["cool", 4, 9.5],
]
CONFIRMED = {"fresh_weight": {"warm": (2, 2, 23.25), "cool": (2, 2, 17.75)}}


def numbers_of(log):
    """Return every cell that holds a number."""
    cells = []
    for index, sheet in enumerate(log.sheets):
        places = np.argwhere(sheet.kind == Kind.NUMBER) + 1
        cells += [(index, row, column) for row, column in places.tolist()]
    return sorted(cells)


def accounted(log):
    """Return every cell that has a fate, as often as it has one."""
    return sorted(cell for entry in log.accounts.entries for cell in entry.cells)


def cells_with(log, fate):
    return {cell for entry in log.accounts.entries if entry.fate is fate for cell in entry.cells}


def codes(log):
    return [problem.code for problem in log.problems]


# ---- every number has one fate -------------------------------------------------------------------


@st.composite
def grids(draw):
    """Return a grid of labels and numbers, with blanks, words and numbers anywhere."""
    columns = draw(st.integers(2, 6))
    cell = st.one_of(
        st.none(),
        st.floats(0, 500).map(lambda x: round(x, 2)),
        st.integers(0, 40),
        st.sampled_from("ab"),
    )
    header = draw(
        st.lists(
            st.sampled_from(["Tray", "Weight", "g", "Total", 10, 14]),
            min_size=columns,
            max_size=columns,
        )
    )
    body = draw(
        st.lists(st.lists(cell, min_size=columns, max_size=columns), min_size=1, max_size=9)
    )
    return [header, *body]


@settings(max_examples=60, deadline=None)
@given(grids(), st.sampled_from(["Plants", "Meter", NOTHING]))
def test_every_number_has_exactly_one_fate_whatever_the_sheet_holds(tmp_path_factory, grid, gives):
    folder = tmp_path_factory.mktemp("log")
    log = read(folder, {"Log": grid, "Other": [["x", "y"], ["a", 3.5]]}, [])
    layouts = []
    for table in log.found.tables[:1]:
        names = tuple(column.name for column in table.columns)
        values = Values("Fresh weight", names[1:], "g")
        layouts.append(layout(table.key, gives, [values], treatment=f"column:{names[0]}"))
    log = log.with_settings(layouts=tuple(layouts))
    assert accounted(log) == numbers_of(log)


def test_a_plain_log_is_read_and_labelled_without_a_rest(tmp_path):
    log = read(tmp_path, {"Log": ROWS}, [PLANTS])
    assert [log.accounts.count(fate) for fate in (Fate.READ, Fate.LABEL, Fate.UNEXPLAINED)] == [
        4,
        4,
        0,
    ]
    assert accounted(log) == numbers_of(log)


def test_totals_that_agree_are_not_read(tmp_path):
    log = read(tmp_path, {"Log": [*ROWS, ["Total", None, 41.0], ["Mean", None, 10.25]]}, [PLANTS])
    assert log.accounts.count(Fate.AGREES) == 2
    assert log.accounts.count(Fate.READ) == 4
    assert log.problems == ()


def test_a_total_that_disagrees_is_an_error_that_names_both(tmp_path):
    log = read(tmp_path, {"Log": [*ROWS, ["Total", None, 51.0]]}, [PLANTS])
    assert cells_with(log, Fate.DISAGREES) == {(0, 6, 3)}
    (problem,) = log.problems
    assert (problem.code, problem.place, problem.severity) == (
        "statistic_disagrees",
        "Log!C6",
        Severity.ERROR,
    )
    assert "51" in problem.found
    assert "41" in problem.expected


def test_a_total_that_disagrees_may_be_left_out_as_its_message_advises(tmp_path):
    log = read(tmp_path, {"Log": [*ROWS, ["Total", None, 51.0]]}, [PLANTS])
    assert "left_out" in log.problems[0].advice
    log = log.with_layout(left_out=(LeftOut("C6", "51", "old"),))
    assert log.problems == ()
    assert log.accounts.count(Fate.READ) == 4


def test_a_total_of_rows_that_were_left_out_agrees_as_its_owner_summed_it(tmp_path):
    log = read(tmp_path, {"Log": [*ROWS, ["Total", None, 41.0]]}, [PLANTS])
    log = log.with_layout(left_out=(LeftOut("3", "warm | 2 | 12.75", "spilled"),))
    assert log.accounts.count(Fate.AGREES) == 1
    assert [entry.because for entry in log.accounts.entries if entry.fate is Fate.LEFT_OUT] == [
        "spilled"
    ]
    assert log.problems == ()


def test_a_total_that_its_owner_left_out_is_no_error(tmp_path):
    log = read(tmp_path, {"Log": [*ROWS, ["Total", None, 51.0]]}, [PLANTS])
    log = log.with_layout(left_out=(LeftOut("C6", "51", "an old total"),))
    assert cells_with(log, Fate.LEFT_OUT) == {(0, 6, 3)}
    assert log.problems == ()


def test_a_table_that_is_no_part_of_the_trial_is_left_out_with_its_reason(tmp_path):
    lab = [["Element", "ppm"], ["NO3", 180.5], ["K", 210.5]]
    log = read(
        tmp_path, {"Log": ROWS, "Lab": lab}, [PLANTS, Layout("Lab", NOTHING, because="lab values")]
    )
    assert [e.because for e in log.accounts.entries if e.fate is Fate.LEFT_OUT] == ["lab values"]


def test_a_table_that_nobody_spoke_of_is_not_explained(tmp_path):
    lab = [["Element", "ppm"], ["NO3", 180.5], ["K", 210.5]]
    log = read(tmp_path, {"Log": ROWS, "Lab": lab}, [PLANTS])
    assert cells_with(log, Fate.UNEXPLAINED) == {(1, 2, 2), (1, 3, 2)}
    assert codes(log) == ["number_not_explained"]


def test_a_key_in_use_is_accounted_for(tmp_path):
    rows = [["Pot", "Weight"], ["P1", 10.5], ["P2", 9.5], ["P3", 8.5]]
    key = [["Code", "EC"], ["P1", 1.2], ["P2", 1.8], ["P3", 1.2]]
    by_id = source("column:Pot", lookup=Lookup("Plan", "Code", "EC"))
    joined = layout(
        "Log",
        "Plants",
        [Values("Fresh weight", ("Weight",), "g")],
        treatment=by_id,
        unit="column:Pot",
    )
    log = read(tmp_path, {"Log": rows, "Plan": key}, [joined])
    assert log.accounts.count(Fate.KEY) == 3
    assert log.problems == ()


def test_numbers_of_plants_and_tares_count_as_read(tmp_path):
    rows = [
        ["Treatment", "Tray", "Plants", "Gross", "Tare"],
        ["a", "1", 8, 80.5, 4.5],
        ["b", "2", 10, 120.5, 4.5],
    ]
    values = Values("Fresh weight", ("Gross",), "g", Covers.UNIT, count="Plants", tare="Tare")
    log = read(tmp_path, {"Log": rows}, [layout("Log", "Plants", [values], **TRAYS)])
    assert log.accounts.count(Fate.READ) == 6
    assert log.problems == ()


def test_a_column_of_one_number_a_treatment_tells_the_treatment(tmp_path):
    rows = [["Treatment", "Tray", "ppm", "Weight"]]
    rows += [
        [name, f"T{n}", dose, 10.25 + n]
        for n, (name, dose) in enumerate([("a", 100), ("b", 250)] * 3)
    ]
    log = read(tmp_path, {"Log": rows}, [PLANTS])
    assert cells_with(log, Fate.LABEL) == {(0, row, 3) for row in range(2, 8)}


def test_a_column_beside_ph_is_left_out_but_a_meter_beside_meters_is_to_be_explained(tmp_path):
    lab = [["Tray", "pH", "NO3 (ppm)"], ["T1", 5.5, 180.5], ["T2", 6.5, 190.5]]
    solution = layout("Lab", "Solution", [Values("pH", ("pH",))], unit="column:Tray")
    assert read(tmp_path, {"Lab": lab}, [solution]).problems == ()
    meters = [
        ["Day", "A (kWh)", "B (kWh)", "C (kWh)"],
        ["1", 5.5, 9.5, 7.25],
        ["2", 6.5, 10.5, 8.75],
    ]
    energy = layout(
        "kWh",
        "Meter",
        [Values("Reading", ("A", "B"), "kWh")],
        treatment="over:1",
        occasion="column:Day",
    )
    assert codes(read(tmp_path, {"kWh": meters}, [energy])) == ["number_not_explained"]


def test_a_dose_that_is_the_same_all_over_needs_no_word(tmp_path):
    rows = [[*ROWS[0], "Feed (g)"], *[[*row, 2.5] for row in ROWS[1:]]]
    assert read(tmp_path, {"Log": rows}, [PLANTS]).problems == ()


def test_numbers_above_their_rows_are_headings(tmp_path):
    rows = [["Tray", "1", "2"], ["10", None, None], ["A", 5.5, 6.25], ["B", 5.25, 6.5]]
    rows += [["14", None, None], ["A", 7.5, 7.75], ["B", 8.5, 8.25]]
    weights = [Values("Fresh weight", ("1", "2"), "g")]
    sections = {"treatment": "section", "unit": ("treatment", "column:Tray"), "plant": "over:1"}
    log = read(tmp_path, {"Log": rows}, [layout("Log", "Plants", weights, **sections)])
    assert {(0, 2, 1), (0, 5, 1)} <= cells_with(log, Fate.HEADER)
    assert log.figures["fresh_weight"]["14"].n == 4


def test_a_number_that_two_layouts_read_is_an_error(tmp_path):
    log = read(tmp_path, {"Log": ROWS}, [PLANTS, PLANTS])
    assert "read_twice" in codes(log)


def test_last_years_sheet_read_as_this_years_trial_is_an_error(tmp_path):
    earlier = replace(PLANTS, table="2024")
    old = [[*row[:2], f"{row[2] + 1.5}" if isinstance(row[2], float) else "FW (g)"] for row in ROWS]
    earlier = replace(earlier, values=(Values("Fresh weight", ("FW",), "g"),))
    log = read(tmp_path, {"Log": ROWS, "2024": old}, [PLANTS, earlier])
    assert log.accounts.count(Fate.READ) == 8
    assert codes(log) == ["value_twice", "value_twice"]


# ---- what changed since --------------------------------------------------------------------------


def confirmed(folder, rows, layouts=(PLANTS,)):
    return read(folder, {"Log": rows}, layouts).with_settings(confirmed=CONFIRMED)


def test_nothing_is_said_of_a_log_that_did_not_change(tmp_path):
    assert confirmed(tmp_path, ROWS).problems == ()


def test_more_rows_of_the_same_kind_are_fine_and_said(tmp_path):
    (problem,) = confirmed(tmp_path, [*ROWS, ["cool", 5, 7.75]]).problems
    assert (problem.code, problem.severity) == ("more_values", Severity.REMARK)


def test_rows_in_another_order_are_the_same_log(tmp_path):
    assert confirmed(tmp_path, [ROWS[0], *reversed(ROWS[1:])]).problems == ()


@pytest.mark.parametrize(
    ("row", "code"),
    [
        (["warm", 2, 127.5], "figures_changed"),
        (["cool", 2, 12.75], "figures_changed"),
        (["hot", 2, 12.75], "treatment_new"),
        (["warm", 2, None], "figures_changed"),
    ],
)
def test_a_value_or_label_that_is_not_as_confirmed_is_told(tmp_path, row, code):
    assert code in codes(confirmed(tmp_path, [*ROWS[:2], row, *ROWS[3:]]))


def test_two_treatments_whose_names_were_swapped_are_told(tmp_path):
    swapped = [ROWS[0], *[["cool" if row[0] == "warm" else "warm", *row[1:]] for row in ROWS[1:]]]
    assert codes(confirmed(tmp_path, swapped)) == ["figures_changed", "figures_changed"]


def test_figures_that_changed_are_told_at_the_values_of_their_treatment(tmp_path):
    (problem,) = confirmed(tmp_path, [*ROWS[:2], ["warm", 2, 13.75], *ROWS[3:]]).problems
    assert problem.place == "Log!C2:C3"
    assert "24.25" in problem.found
    assert "23.25" in problem.expected


def test_a_treatment_that_was_renamed_is_told_once_for_each_name(tmp_path):
    renamed = [ROWS[0], *[["hot" if row[0] == "warm" else row[0], *row[1:]] for row in ROWS[1:]]]
    (problem,) = confirmed(tmp_path, renamed).problems
    assert (problem.code, problem.place) == ("treatment_new", "Log!C2:C3")
    assert "hot" in problem.found
    assert "warm" in problem.expected


def test_a_picking_more_is_fine_and_said(tmp_path):
    rows = [
        ["Tray", "Treatment", "2026-05-02", "2026-05-09"],
        ["T1", "a", 5.5, 6.5],
        ["T2", "b", 4.5, 5.25],
    ]
    values = Values("Weight", ("2026-05-02", "2026-05-09"), "g", Covers.UNIT)
    picked = layout("Log", "Harvests", [values], occasion="over:1", **TRAYS)
    picked = replace(picked, occasions=Occasions.PICKINGS)
    log = read(tmp_path, {"Log": rows}, [picked])
    log = log.with_settings(confirmed={"tray_yield": {"a": (1, 1, 5.5), "b": (1, 2, 9.75)}})
    assert [(problem.code, problem.severity) for problem in log.problems] == [
        ("more_values", Severity.REMARK)
    ]


def test_a_treatment_that_went_is_told(tmp_path):
    assert "treatment_gone" in codes(confirmed(tmp_path, ROWS[:3]))


def test_another_unit_in_the_header_is_told_at_its_cell(tmp_path):
    (problem,) = confirmed(tmp_path, [["Treatment", "Tray", "Weight (kg)"], *ROWS[1:]]).problems
    assert (problem.code, problem.place) == ("unit_changed", "Log!C1")


def test_a_column_that_went_is_told(tmp_path):
    log = confirmed(tmp_path, [["Treatment", "Tray", "Mass"], *ROWS[1:]])
    assert "column_gone" in codes(log)
    assert log.frame.empty


def test_a_label_column_that_went_is_told(tmp_path):
    log = confirmed(tmp_path, [["Treatment", "Pot", "Weight (g)"], *ROWS[1:]])
    assert "column_gone" in codes(log)


def test_a_sheet_that_went_is_told_by_its_name(tmp_path):
    log = confirmed(tmp_path, ROWS, (replace(PLANTS, sheets=("Log", "Log 2")),))
    assert [problem.sheet for problem in log.problems if problem.code == "sheet_gone"] == ["Log 2"]


def test_a_table_that_went_is_told(tmp_path):
    log = read(tmp_path, {"Other": ROWS}, [replace(PLANTS, sheets=("Log",))])
    assert "sheet_gone" in codes(log)


def test_a_row_that_was_left_out_and_holds_something_else_is_told(tmp_path):
    log = confirmed(tmp_path, ROWS).with_layout(
        left_out=(LeftOut("3", "warm | 2 | 99.5", "spilled"),)
    )
    (problem,) = log.problems
    assert problem.code == "left_out_changed"
    assert "12.75" in problem.found
    assert "99.5" in problem.expected


def test_a_cell_that_was_corrected_and_holds_something_else_is_told(tmp_path):
    log = confirmed(tmp_path, ROWS).with_layout(corrected=(Corrected("C3", "127.5", "12.7"),))
    assert codes(log) == ["corrected_changed"]


def test_a_number_typed_beside_the_table_is_told(tmp_path):
    later = [*ROWS[:2], [*ROWS[2], None, None, 77.5], *ROWS[3:]]
    adopted = replace(PLANTS, sheets=("Log",), header_rows=(1,))
    (problem,) = confirmed(tmp_path, later, (adopted,)).problems
    assert (problem.code, problem.place) == ("number_not_explained", "Log!F3")
