"""The sheet Harvests: read whole, its weights counted once, and each mistake in it named once."""

from datetime import date, datetime

import pytest

from reportgen import workbook
from reportgen.model.problem import Severity, WorkbookError
from reportgen.model.trial import Picking
from reportgen.workbook.declaration import CULLS, HARVESTS
from reportgen.workbook.pickings import is_cull
from tests.spoiling import both, cells, with_rows, without_column, without_rows
from tests.workbooks import HARVEST, TRAYS, findings, good, put, trial, write

DAYS = (date(2026, 4, 20), date(2026, 4, 27), HARVEST)


def picked():
    """Return the good workbook as one of a picked crop: three pickings of each tray, good ones and
    culls.
    """
    sheets = good()
    sheets["Plants"] = [[row[0], row[1], row[3], row[4]] for row in sheets["Plants"]]
    rows = [
        [tray, None, day, grams + int(tray[1]), pieces, grade, None]
        for tray in TRAYS
        for day in DAYS
        for grade, grams, pieces in (("good", 40.0, 5), ("culls", 6.0, 1))
    ]
    sheets["Harvests"] = [["Tray", "Plant", "Date", "Weight (g)", "Count", "Grade", "Note"], *rows]
    return sheets


def picked_from(tmp_path, sheets):
    return trial(write(sheets, tmp_path / "picked.xlsx"))


# Each entry plants one mistake: what is altered; severity and place of its one message, words
# found, words of advice.
MISTAKES = {
    "an unknown tray": (
        cells(Harvests_A2="A9"),
        "error",
        "Harvests!A2",
        '"A9" is not on the sheet Trays',
        "Type one of these",
    ),
    "no day": (
        cells(Harvests_C2=None),
        "error",
        "Harvests!C2",
        "Date is not filled in yet",
        "Fill it in",
    ),
    "a picking after the harvest": (
        cells(Harvests_C2=date(2026, 6, 1)),
        "caution",
        "Harvests!C2",
        "2026-06-01 outside the trial",
        "Check the date",
    ),
    "a picking of the year before": (
        cells(Harvests_C2=date(2025, 4, 20)),
        "caution",
        "Harvests!C2",
        "2025-04-20 is a year off the trial",
        "Type 2026-04-20 if the year slipped",
    ),
    "neither weight nor count": (
        cells(Harvests_D2=None, Harvests_E2=None),
        "error",
        "Harvests!D2",
        "neither Weight nor Count is filled in",
        "0 where there was nothing",
    ),
    "a negative weight": (
        cells(Harvests_D2=-3),
        "error",
        "Harvests!D2",
        '"-3" is not possible here',
        "Check -3",
    ),
    "half a piece": (
        cells(Harvests_E2=2.5),
        "error",
        "Harvests!E2",
        '"2.5" is not',
        "whole number",
    ),
    "no piece of some weight": (
        cells(Harvests_E2=0),
        "error",
        "Harvests!E2",
        "0 pieces weigh 41 g",
        "Mend the one",
    ),
    "pieces of no weight": (
        cells(Harvests_D2=0),
        "error",
        "Harvests!E2",
        "5 pieces weigh 0 g",
        "Mend the one",
    ),
    "a picking that was not weighed": (
        cells(Harvests_D2=None),
        "caution",
        "Harvests!D2",
        '1 picking without a weight, of tray "A1"',
        "Fill it in",
    ),
    "pickings that were not counted": (
        cells(Harvests_E2=None, Harvests_E9=None),
        "caution",
        "Harvests!E2, E9",
        '2 pickings without a count, of trays "A1", "A2"',
        "Fill it in",
    ),
    "a tray without a picking": (
        without_rows("Harvests", *range(2, 8)),
        "caution",
        "Trays!A2",
        'no picking of tray "A1" on the sheet Harvests',
        "a weight of 0",
    ),
    "a plant that is not at harvest": (
        cells(Harvests_B2="7"),
        "caution",
        "Harvests!B2",
        'plant "7" of tray "A1" is not on the sheet Plants',
        "Mend the number",
    ),
    "a picking typed twice": (
        with_rows("Harvests", ["B3", None, HARVEST, 43.0, 5, "good", None]),
        "caution",
        "Harvests!C38",
        "the same picking stands in row 36 too",
        "Delete one of the rows",
    ),
    "a picking without a grade": (
        cells(Harvests_F2=None),
        "caution",
        "Harvests!F2",
        "1 picking without a grade",
        "counted as marketable",
    ),
    "a grade mistyped": (
        cells(Harvests_F2="godo"),
        "caution",
        "Harvests!F2",
        '"godo" stands here only, and is nearly "good"',
        "spell them the same",
    ),
    "weights of plants too": (
        both(
            cells(Plants_E1="Fresh weight (g)"),
            cells(**{f"Plants_E{row}": 20 + row for row in range(2, 26)}),
        ),
        "caution",
        "Plants!E2:E25",
        "24 fresh weights of plants beside the weights on the sheet Harvests",
        "Shoot weight",
    ),
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_each_mistake_is_named_once_with_its_place_and_what_to_do(mistake, tmp_path):
    spoil, severity, place, found, advice = MISTAKES[mistake]
    path = write(spoil(picked()), tmp_path / "spoilt.xlsx")
    said = [one for one in findings(path) if one.severity is not Severity.REMARK]
    first = said[0]
    assert (str(first.severity), f"{first.sheet}!{first.cell}") == (severity, place)
    assert found in first.found
    assert advice in f"{first.expected} {first.advice}"
    assert len(said) == 1, [str(one) for one in said]


def test_pickings_of_a_tray_without_plants_are_one_error_with_their_range(tmp_path):
    sheets = without_rows("Plants", *range(2, 6))(put(picked(), Trays_D2=0))
    told = [
        one
        for one in findings(write(sheets, tmp_path / "bare.xlsx"))
        if one.code == "picking_without_plants"
    ]
    assert [(str(one.severity), one.cell) for one in told] == [("error", "A2:A7")]
    assert told[0].found == '6 pickings of tray "A1", which was started without plants'


def test_a_good_sheet_of_pickings_gives_no_word(tmp_path):
    assert findings(write(picked(), tmp_path / "picked.xlsx")) == ()


def test_pickings_are_read_whole(tmp_path):
    sheets = put(picked(), Harvests_B2=1, Harvests_G2="two of them small")
    first, second = picked_from(tmp_path, sheets).pickings[:2]
    assert first == Picking("A1", DAYS[0], 41.0, 5, "1", "good", False, "two of them small")
    assert second == Picking("A1", DAYS[0], 7.0, 1, "", "culls", True)


def test_weights_are_converted_and_text_dates_read(tmp_path):
    sheets = put(
        picked(), Harvests_D1="Weight (oz)", Harvests_D2="0.5 kg", Harvests_C2="2026-04-20"
    )
    first, second = picked_from(tmp_path, sheets).pickings[:2]
    assert (first.weight, first.on) == (500.0, DAYS[0])
    assert second.weight == pytest.approx(7 * 28.349523125)  # g in an ounce: exact


def test_a_picking_of_nothing_needs_no_count_and_no_grade(tmp_path):
    sheets = put(picked(), Harvests_D2=0, Harvests_E2=None, Harvests_F2=None)
    assert findings(write(sheets, tmp_path / "picked.xlsx")) == ()


def test_a_tray_that_lost_all_its_plants_needs_no_picking(tmp_path):
    sheets = without_rows("Harvests", *range(2, 8))(picked())
    put(sheets, Plants_D2="dead", Plants_D3="dead", Plants_D4="removed", Plants_D5="dead")
    assert "tray_without_picking" not in [
        one.code for one in findings(write(sheets, tmp_path / "lost.xlsx"))
    ]


def test_plants_need_no_fresh_weight_where_pickings_were_weighed(tmp_path):
    made = picked_from(tmp_path, picked())
    assert {plant.status for plant in made.plants} == {"harvested"}
    assert all(plant.fresh_weight is None for plant in made.plants)


def test_where_pickings_were_only_counted_plants_still_need_their_weights(tmp_path):
    sheets = put(
        without_column("Harvests", 4)(picked()), Plants_E1="Fresh weight (g)", Plants_E2=20.0
    )
    with pytest.raises(WorkbookError, match="Fresh weight is not filled in yet"):
        picked_from(tmp_path, sheets)


def test_weights_of_plants_are_left_out_of_the_trial_beside_those_of_pickings(tmp_path):
    sheets = put(picked(), Plants_E1="Fresh weight (g)", Plants_E2=22.5)
    made = picked_from(tmp_path, sheets)
    assert all(plant.fresh_weight is None for plant in made.plants)
    recorded = next(table for table in made.data if table.name == "Plants")
    assert (
        22.5 in next(column for column in recorded.columns if column.name == "Fresh weight").values
    )


def test_one_grade_is_one_whatever_its_capitals_and_accents(tmp_path):
    sheets = put(
        picked(), Harvests_F2="Good", Harvests_F4="GOOD", Harvests_F3="Culls", Harvests_F5="CULLS "
    )
    made = picked_from(tmp_path, sheets)
    assert {one.grade for one in made.pickings} == {"Good", "Culls"}


@pytest.mark.parametrize("word", [*CULLS, "Culls", "DESTRIO", "Dechets", "not-marketable"])
def test_words_for_culls_are_known_whatever_their_accents_and_capitals(word):
    assert is_cull(word)


@pytest.mark.parametrize(
    "word", ["", "marketable", "class I", "segunda", "2", "small", "cull-free"]
)
def test_all_other_words_can_be_sold(word):
    assert not is_cull(word)


def test_grades_of_which_none_means_culls_are_all_named_as_marketable(tmp_path):
    sheets = picked()
    for row in sheets["Harvests"][1:]:
        row[5] = {"good": "good", "culls": "rotten"}[row[5]]
    told = findings(write(sheets, tmp_path / "picked.xlsx"))
    assert [(str(one.severity), one.code, one.cell) for one in told] == [
        ("remark", "no_grade_of_culls", "F2:F37")
    ]
    assert told[0].found == 'every grade counts as marketable: "good", "rotten"'


def test_a_number_as_grade_is_a_name(tmp_path):
    made = picked_from(tmp_path, put(picked(), Harvests_F2=2, Harvests_F4=2))
    assert made.pickings[0].grade == "2"


def test_a_moment_of_picking_is_its_day(tmp_path):
    made = picked_from(tmp_path, put(picked(), Harvests_C2=datetime(2026, 4, 20, 7, 30)))
    assert made.pickings[0].on == DAYS[0]


def test_growth_and_harvests_name_an_unknown_plant_by_one_rule(tmp_path):
    sheets = put(picked(), Harvests_B2="7")
    sheets["Growth"] = [["Tray", "Plant", "Date", "Height (cm)"], ["A1", "8", DAYS[0], 5.0]]
    told = [
        one
        for one in findings(write(sheets, tmp_path / "plants.xlsx"))
        if one.code == "unknown_plant"
    ]
    assert {f"{one.sheet}!{one.cell}" for one in told} == {"Growth!B2", "Harvests!B2"}


def test_recorded_pickings_are_given_out_as_they_stand(tmp_path):
    made = picked_from(tmp_path, picked())
    table = next(one for one in made.data if one.name == "Harvests")
    assert [column.name for column in table.columns] == [column.name for column in HARVESTS.columns]
    assert len(table.columns[0].values) == len(made.pickings) == 36


def test_the_blank_workbook_offers_the_sheet_and_its_empty_rows_are_no_error(tmp_path):
    sheets = good() | {"Harvests": [[column.header for column in HARVESTS.columns]]}
    made = trial(write(sheets, tmp_path / "blank.xlsx"))
    assert (made.pickings, made.findings) == ((), ())


def test_a_file_with_pickings_alone_beside_plants_is_checked_like_any(tmp_path):
    path = write(picked(), tmp_path / "picked.xlsx")
    assert workbook.problems_in(workbook.read(path)) == ()
