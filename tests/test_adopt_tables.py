"""Where the tables of a sheet stand: headers, units, sections, totals, notes, one beside or below the other."""

from datetime import datetime

import pytest

from reportgen.adopt.tables import is_number, tables_of
from tests.logs import PLAIN, sheet, text_sheet

HEAD = ["Tray", "Treatment", "Fresh weight (g)"]
ROWS = [["T1", "mat", 31.5], ["T1", "mat", 28.9], ["T2", "none", 25.1], ["T2", "none", 26.4]]


def only(raw):
    (table,) = tables_of(raw).tables
    return table


def test_a_header_in_the_first_row_is_found():
    table = only(text_sheet(PLAIN))
    assert (table.header_row, table.rows) == ("1", (2, 3, 4, 5, 6, 7))


@pytest.mark.parametrize("lines", [1, 4, 10])
def test_a_header_below_notes_is_found_wherever_it_stands(lines):
    table = only(sheet([*[["a note about the run"]] * (lines - 1), [], HEAD, *ROWS]))
    assert table.header_row == str(lines + 1)
    assert table.rows == tuple(range(lines + 2, lines + 6))


def test_numbers_kept_as_text_with_a_decimal_comma_stand_below_a_header_too():
    table = only(sheet([["Schale", "Variante", "Frischgewicht [g]"], ["S1", "warm", "20,1"], ["S2", "kalt", "18,4"]]))
    assert table.rows == (2, 3)
    assert is_number("20,1")
    assert not is_number("20 red leaves")


def test_two_header_rows_are_joined():
    table = only(sheet([["Tray", "Fresh", "Dry"], [None, "weight", "weight"], ["T1", 31.5, 2.5], ["T2", 25.1, 1.9]]))
    assert table.header_row == "1-2"
    assert list(table.headers.values()) == ["Tray", "Fresh weight", "Dry weight"]


def test_an_upper_header_holds_for_the_columns_below_it():
    rows = [[None, "Warm", None, "Cold", None], ["Tray", "Height", "Leaves", "Height", "Leaves"]]
    table = only(sheet([*rows, ["T1", 9.5, 8, 8.5, 7], ["T2", 9.1, 9, 8.2, 6]]))
    assert list(table.headers.values()) == ["Tray", "Warm Height", "Warm Leaves", "Cold Height", "Cold Leaves"]


def test_a_row_of_units_is_no_row_of_data():
    table = only(sheet([["Tray", "Fresh weight", "Height"], [None, "g", "cm"], ["T1", 31.5, 12], ["T2", 25.1, 11]]))
    assert table.units == {2: "g", 3: "cm"}
    assert (table.rows, table.skipped) == ((3, 4), (2,))


def test_tables_side_by_side_come_apart_at_a_blank_column():
    rows = [["Plant", "Weight (g)", None, "Plant", "Weight (g)"], [1, 20.1, None, 1, 18.2], [2, 21.2, None, 2, 17.7]]
    found = tables_of(sheet([["Warm", None, None, "Cold"], *rows])).tables
    assert [(table.area.left, table.above) for table in found] == [(1, ("Warm",)), (4, ("Cold",))]


def test_tables_side_by_side_come_apart_where_the_header_begins_anew():
    found = tables_of(sheet([["Plant", "Weight (g)"] * 2, [1, 20.1, 1, 18.2], [2, 21.2, 2, 17.7]])).tables
    assert [table.values(table.area.right) for table in found] == [(20.1, 21.2), (18.2, 17.7)]


def test_tables_below_each_other_come_apart_at_a_blank_row():
    one = "Plant | Fresh weight (g)\n1 | 20.2\n2 | 22.2"
    found = tables_of(text_sheet(f"With mat\n{one}\n\nWithout mat\n{one}")).tables
    assert [(table.rows, table.above) for table in found] == [((3, 4), ("With mat",)), ((8, 9), ("Without mat",))]


def test_a_header_that_stands_again_begins_a_table():
    one = "Plant | Fresh weight (g)\n1 | 20.2\n2 | 22.2"
    assert [table.rows for table in tables_of(text_sheet(f"{one}\n{one}")).tables] == [(2, 3), (5, 6)]


def test_a_blank_row_between_groups_does_not_end_a_table():
    table = only(sheet([HEAD, *ROWS[:2], [], *ROWS[2:]]))
    assert table.rows == (2, 3, 5, 6)


def test_a_text_alone_above_its_rows_is_a_section():
    table = only(sheet([["Tray", "Plant", "Height"], ["Warm mat"], ["T1", 1, 9.5], ["No mat"], ["T2", 1, 8.1]]))
    assert table.sections == ((2, "Warm mat"), (4, "No mat"))
    assert table.rows == (3, 5)


def test_a_text_alone_below_the_rows_is_a_note():
    table = only(sheet([HEAD, *ROWS, ["weighed by the door, scale 2"]]))
    assert table.notes == ("weighed by the door, scale 2",)
    assert table.rows == (2, 3, 4, 5)


def test_notes_beside_a_table_are_no_column_of_it():
    table = only(sheet([HEAD, [*ROWS[0], "soil was wet"], *ROWS[1:]]))
    assert list(table.headers) == [1, 2, 3]
    assert table.notes == ("soil was wet",)


@pytest.mark.parametrize("word", ["Total", "Mean", "Mittelwert", "Moyenne", "Promedio", "Media", "Gemiddelde", "SD"])
def test_totals_and_means_are_no_plants(word):
    table = only(sheet([HEAD, *ROWS, [word, None, 27.9]]))
    assert (table.rows, table.totals) == ((2, 3, 4, 5), (6,))


@pytest.mark.parametrize(("first", "second"), [("Y", "N"), ("NW", "SE"), ("mean", "max")])
def test_codes_that_look_like_words_for_totals_are_data(first, second):
    rows = [f"{code} | {20 + at}" for at, code in enumerate([first, second, first, second])]
    (table,) = tables_of(text_sheet("\n".join(["Warm? | Weight (g)", *rows]))).tables
    assert table.rows == (2, 3, 4, 5)


def test_short_words_beside_a_total_are_rows_of_totals():
    (table,) = tables_of(
        text_sheet("Plant | Weight (g)\n1 | 20\n2 | 21\n3 | 23\n4 | 21\n5 | 22\n6 | 23\nmean | 21.7\nSD | 1.2\nn | 6")
    ).tables
    assert table.totals == (8, 9, 10)


def test_days_may_head_the_columns():
    days = [datetime(2025, 3, day) for day in (1, 8, 15)]
    assert only(sheet([["Tray", *days], ["T1", 2.5, 5.5, 9.5], ["T2", 2.1, 5.1, 9.9]])).header_row == "1"


def test_facts_above_a_table_are_pairs():
    found = tables_of(sheet([["Crop:", "basil"], ["Sown", datetime(2025, 2, 1)], [], HEAD, *ROWS]))
    assert found.pairs[0].pairs == (("Crop", "basil"), ("Sown", datetime(2025, 2, 1)))
    assert found.tables[0].header_row == "4"


def test_a_sheet_of_prose_has_no_tables():
    found = tables_of(text_sheet("We sowed on a Monday.\nIt was cold."))
    assert found.tables == ()
    assert found.texts == ("We sowed on a Monday.", "It was cold.")


def test_an_empty_sheet_has_nothing():
    found = tables_of(sheet([[None]]))
    assert (found.tables, found.pairs, found.texts) == ((), (), ())
