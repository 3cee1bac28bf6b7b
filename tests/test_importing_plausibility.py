"""Errors of a log that no reader of it sees and every figure shows are caught."""

from dataclasses import replace
from datetime import datetime

import openpyxl
import pytest
from openpyxl.comments import Comment
from openpyxl.styles import PatternFill

from reportgen.importing.model.cells import Conventions
from reportgen.importing.model.layouts import Covers, Dimension, Values
from reportgen.model.problem import Severity
from tests.log_tables import column, layout, read, read_log, written

HEAD = ("Tray", "Treatment", "Plant", "wt (g)")
KINDS = {"T1": "warm", "T2": "plain", "T3": "warm", "T4": "plain"}
ROWS = [
    (tray, kind, plant, 20.5 + 3 * (kind == "warm") + 1.3 * plant)
    for tray, kind in KINDS.items()
    for plant in (1, 2, 3, 4)
]
FRESH = Values("Fresh weight", ("wt",), "g")
PLANTS = layout(
    "Log",
    "Plants",
    (FRESH,),
    treatment=column("Treatment"),
    unit=column("Tray"),
    plant=column("Plant"),
)
EC = layout(
    "EC", "Solution", (Values("EC", ("EC",), "mS/cm"),), unit=column("Tray"), occasion=column("Day")
)


def with_weight(row, weight):
    """Return the rows with another weight in a row of the sheet."""
    return [
        (*one[:3], weight) if number == row else one for number, one in enumerate(ROWS, start=2)
    ]


def flagged(folder, rows, own=PLANTS, head=HEAD, **more):
    made = read(folder, {"Log": [head, *rows]}, own, **more)
    return [(one.code, one.cell, one.severity is Severity.ERROR) for one in made.flags]


def test_a_log_without_such_habits_has_nothing_to_say(tmp_path):
    assert flagged(tmp_path, ROWS) == []


@pytest.mark.parametrize("slipped", [244.0, 2.44, 24400.0])
def test_a_slipped_decimal_point_waits_for_its_owner(tmp_path, slipped):
    assert flagged(tmp_path, with_weight(3, slipped)) == [("slipped_point", "D3", True)]


def test_a_kilogram_among_grams_waits_for_its_owner(tmp_path):
    assert flagged(tmp_path, with_weight(3, 0.0249)) == [("slipped_point", "D3", True)]


def test_a_cell_that_its_owner_confirmed_is_flagged_no_more(tmp_path):
    for cell in ("D3", "Log!D3"):
        assert flagged(tmp_path, with_weight(3, 244.0), replace(PLANTS, confirmed=(cell,))) == []


@pytest.mark.parametrize("weight", [9.0, 45.0])
def test_a_small_plant_and_a_large_one_are_no_slips(tmp_path, weight):
    assert flagged(tmp_path, with_weight(3, weight)) == []


def test_a_weight_that_became_a_date_is_an_error_at_its_cell(tmp_path):
    assert flagged(tmp_path, with_weight(6, datetime(2026, 3, 4))) == [
        ("date_among_numbers", "D6", True)
    ]


def test_a_word_that_nobody_explained_is_an_error_at_its_cell(tmp_path):
    assert flagged(tmp_path, with_weight(6, "see sheet 2")) == [("word_among_numbers", "D6", True)]


def test_a_blank_among_weights_must_be_explained(tmp_path):
    assert flagged(tmp_path, with_weight(5, None)) == [("blank_not_explained", "D5", True)]


def test_a_zero_among_weights_must_be_explained_and_one_among_heights_is_pointed_out(tmp_path):
    assert ("zero_not_explained", "D5", True) in flagged(tmp_path, with_weight(5, 0))
    heights = replace(PLANTS, values=(Values("Height", ("wt",), "cm"),))
    assert ("zero_not_explained", "D5", False) in flagged(tmp_path, with_weight(5, 0), heights)


def test_a_weight_without_a_unit_is_never_guessed(tmp_path):
    bare = replace(PLANTS, values=(replace(FRESH, unit=""),))
    assert flagged(tmp_path, ROWS, bare, (*HEAD[:3], "wt")) == [("unit_not_told", "D2", True)]


def test_a_label_is_not_carried_past_a_blank_row_without_a_word(tmp_path):
    rows = [(*row[:1], row[1] if row[2] == 1 else None, *row[2:]) for row in ROWS]
    assert flagged(tmp_path, rows) == []
    rows[12] = (rows[12][0], None, *rows[12][2:])
    rows.insert(12, (None, None, None, None))
    assert ("label_below_blank_row", "B15", True) in flagged(tmp_path, rows)


def ids(*names):
    return [(name, ("plain", "warm")[at % 2], 30.0 + at) for at, name in enumerate(names)]


POTS = layout("Log", "Plants", (FRESH,), treatment=column("Treatment"), unit=column("Pot"))
NUMBERED = [1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 1.1, 1.11, 1.12]


def test_names_that_lost_their_last_zero_wait_for_their_owner(tmp_path):
    found = flagged(tmp_path, ids(*NUMBERED), POTS, ("Pot", "Treatment", "wt (g)"))
    assert ("id_lost_a_zero", "A11", True) in found


def test_names_kept_as_text_keep_their_last_zero(tmp_path):
    names = [str(one) for one in NUMBERED]
    names[9] = "1.10"
    assert flagged(tmp_path, ids(*names), POTS, ("Pot", "Treatment", "wt (g)")) == []


def test_one_plant_in_two_trays_is_pointed_out_where_numbers_run_through(tmp_path):
    rows = [(*row[:2], number, row[3]) for number, row in enumerate(ROWS, start=1)]
    assert flagged(tmp_path, rows) == []
    rows[-1] = (*rows[-1][:2], 2, rows[-1][3])
    assert flagged(tmp_path, rows) == [("plant_in_two_trays", "17:17", False)]


def test_a_tray_under_two_treatments_is_an_error_where_they_differ(tmp_path):
    rows = [*ROWS]
    rows[2] = ("T1", "plain", *rows[2][2:])
    assert ("tray_of_two_treatments", "4:4", True) in flagged(tmp_path, rows)


def test_a_treatment_that_is_misspelt_once_waits_for_its_owner(tmp_path):
    rows = [*ROWS]
    rows[2] = ("T1", "wram", *rows[2][2:])
    assert ("treatment_misspelt", "4:4", True) in flagged(tmp_path, rows)


def test_weights_that_are_heavier_dry_than_fresh_are_pointed_out(tmp_path):
    rows = [(*row, row[3] * (1.2 if at == 4 else 0.1)) for at, row in enumerate(ROWS)]
    both = replace(PLANTS, values=(FRESH, Values("Dry weight", ("dry",), "g")))
    found = flagged(tmp_path, rows, both, (*HEAD, "dry (g)"))
    assert ("dry_above_fresh", "E6", True) in found


def conductivities(*levels):
    days = [datetime(2026, 1, 5), datetime(2026, 1, 12), datetime(2026, 1, 19)]
    cells = iter(levels)
    return [("Tray", "Day", "EC"), *((tray, day, next(cells)) for day in days for tray in KINDS)]


def test_conductivities_in_two_units_wait_for_their_owner(tmp_path):
    rows = conductivities(1.6, 1.7, 1.6, 1.5, 1600, 1700, 1.6, 1.5, 1.7, 1.8, 1.6, 1.7)
    made = read(tmp_path, {"Log": [HEAD, *ROWS], "EC": rows}, PLANTS, EC)
    assert [(one.code, one.sheet, one.cell, one.severity) for one in made.flags] == [
        ("two_units_of_ec", "EC", "C6", Severity.ERROR)
    ]


def test_conductivities_of_a_strong_and_a_weak_feed_are_left_alone(tmp_path):
    rows = conductivities(1.2, 2.4, 1.2, 2.3, 1.3, 2.4, 1.2, 2.5, 1.1, 2.4, 1.2, 2.4)
    assert not read(tmp_path, {"Log": [HEAD, *ROWS], "EC": rows}, PLANTS, EC).flags


@pytest.mark.parametrize("header", ["Room", "Datum", "Zelt"])
def test_a_treatment_that_is_also_one_room_or_one_day_is_pointed_out(tmp_path, header):
    rows = [(*row, f"R{1 + (row[1] == 'warm')}") for row in ROWS]
    assert flagged(tmp_path, rows, head=(*HEAD, header)) == [
        ("treatment_in_one_place", "E1", False)
    ]


def test_a_second_factor_that_is_pooled_is_pointed_out(tmp_path):
    rows = [(*row, ("Genovese", "Thai")[row[2] % 2]) for row in ROWS]
    assert flagged(tmp_path, rows, head=(*HEAD, "Cultivar")) == [("factor_pooled", "E1", False)]
    as_block = replace(
        PLANTS, dimensions={**PLANTS.dimensions, Dimension.BLOCK: column("Cultivar")}
    )
    assert flagged(tmp_path, rows, as_block, (*HEAD, "Cultivar")) == []


def test_means_of_an_untold_number_of_plants_are_pointed_out(tmp_path):
    means = layout(
        "Log",
        "Plants",
        (replace(FRESH, covers=Covers.MEAN),),
        treatment=column("Treatment"),
        unit=column("Tray"),
    )
    rows = [(f"T{n}", ("plain", "warm")[n % 2], 30.0 + n) for n in range(8)]
    found = flagged(tmp_path, rows, means, ("Tray", "Treatment", "wt (g)"))
    assert found == [("number_of_plants_not_told", "C2", False)]


def test_a_word_that_the_settings_explain_is_no_error(tmp_path):
    assert flagged(tmp_path, with_weight(6, "n/w"), conventions=Conventions(missing=("n/w",))) == []


def coloured(folder, rows, colour="FF9999"):
    """Fill some rows of the log with a colour."""
    book = openpyxl.load_workbook(folder / "log.xlsx")
    for row in rows:
        for letter in range(1, 5):
            book["Log"].cell(row, letter).fill = PatternFill("solid", fgColor=colour)
    book.save(folder / "log.xlsx")


def read_again(folder, own=PLANTS):
    return [
        (one.code, one.cell, one.severity is Severity.ERROR)
        for one in read_log(folder / "log.xlsx", own).flags
    ]


def test_rows_in_a_colour_of_their_own_wait_for_a_word(tmp_path):
    written(tmp_path, {"Log": [HEAD, *ROWS]})
    coloured(tmp_path, (4, 9))
    assert read_again(tmp_path) == [("coloured_rows", "A4:D4, A9:D9", True)]
    assert read_again(tmp_path, replace(PLANTS, confirmed=("A4:D4", "Log!A9:D9"))) == []


def test_stripes_are_for_looks(tmp_path):
    written(tmp_path, {"Log": [HEAD, *ROWS]})
    coloured(tmp_path, range(2, 18, 2))
    assert read_again(tmp_path) == []


def test_a_comment_on_a_value_is_told(tmp_path):
    written(tmp_path, {"Log": [HEAD, *ROWS]})
    book = openpyxl.load_workbook(tmp_path / "log.xlsx")
    book["Log"]["D5"].comment = Comment("fell on the floor", "me")
    book.save(tmp_path / "log.xlsx")
    assert read_again(tmp_path) == [("value_with_comment", "D5", False)]


@pytest.mark.parametrize("first", ["01/14/2026", datetime(2026, 5, 1)])
def test_dates_in_two_orders_wait_for_their_owner(tmp_path, first):
    # 13/01/2026 stays text where a spreadsheet reads month first; 05/01/2026 becomes the 1st of May
    # there
    days = [first, "13/01/2026", "20/01/2026", "27/01/2026"]
    heights = [
        ("Tray", "Day", "h"),
        *((tray, day, 12.0) for tray, day in zip(KINDS, days, strict=True)),
    ]
    values = Values("Height", ("h",), "cm", Covers.UNIT)
    grown = layout("H", "Growth", (values,), unit=column("Tray"), occasion=column("Day"))
    made = read(tmp_path, {"Log": [HEAD, *ROWS], "H": heights}, PLANTS, grown)
    assert ("mixed_date_orders", Severity.ERROR) in {(one.code, one.severity) for one in made.flags}


def test_values_in_hidden_rows_are_told(tmp_path):
    written(tmp_path, {"Log": [HEAD, *ROWS]})
    book = openpyxl.load_workbook(tmp_path / "log.xlsx")
    book["Log"].row_dimensions[5].hidden = True
    book.save(tmp_path / "log.xlsx")
    assert read_again(tmp_path) == [("hidden_values", "D5", False)]
