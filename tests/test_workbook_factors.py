"""Factors in workbooks: columns of the sheet Treatments, and a blank workbook with all
combinations.
"""

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook

from reportgen.cli import main
from reportgen.workbook.planned_factors import FactorError, factors_typed
from tests.factor_books import (
    DOSES,
    FEED,
    LIGHT_AND_FEED,
    TWO_BY_TWO,
    factor_book,
    multiplying,
    peaking,
)
from tests.workbooks import findings, put, trial, write


@pytest.fixture
def read(tmp_path):
    return lambda sheets: trial(write(sheets, tmp_path / "trial.xlsx"))


@pytest.fixture
def told(tmp_path):
    def of(sheets):
        return [
            (one.code, f"{one.sheet}!{one.cell}")
            for one in findings(write(sheets, tmp_path / "trial.xlsx"))
        ]

    return of


def two():
    return factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying)


def test_factors_are_read_with_the_levels_of_each_treatment(read):
    of = read(two())
    assert [(one.name, one.levels, one.doses) for one in of.factors] == [
        ("light", ("low", "high"), ()),
        ("nutrient strength", ("weak", "strong"), ()),
    ]
    assert {one.code: one.levels for one in of.treatments}["hw"] == ("high", "weak")
    (recorded,) = (table for table in of.data if table.name == "Treatments")
    assert [column.name for column in recorded.columns][2:] == [
        "Factor: light",
        "Factor: nutrient strength",
    ]


def test_numbers_with_a_unit_are_doses_smallest_first(read):
    (feed,) = read(factor_book(tuple(reversed(DOSES)), FEED, peaking)).factors
    assert (feed.name, feed.unit, feed.doses) == ("feed", "g/L", (0, 1, 2, 3, 4))
    assert feed.levels == ("0", "1", "2", "3", "4")


def test_numbers_without_a_unit_and_words_with_one_are_names(read):
    (batch,) = read(factor_book(DOSES, ["Factor: batch"], peaking)).factors
    assert (batch.doses, batch.levels) == ((), ("0", "1", "2", "3", "4"))
    lamp = read(
        factor_book(TWO_BY_TWO, ["Factor: light (lamp)", "factor : feed"], multiplying)
    ).factors
    assert [(one.name, one.doses) for one in lamp] == [("light (lamp)", ()), ("feed", ())]


def test_levels_that_differ_in_capitals_alone_are_one(read):
    of = read(put(two(), Treatments_C3="LOW"))
    assert of.factors[0].levels == ("low", "high")
    assert of.treatments[1].levels == ("low", "strong")


def test_a_level_that_is_missing_is_named_with_its_cell(told):
    assert ("level_missing", "Treatments!D4") in told(put(two(), Treatments_D4=None))


def test_a_dose_that_is_no_number_is_named_with_its_cell(told):
    assert ("not_a_number", "Treatments!C3") in told(
        put(factor_book(DOSES, FEED, peaking), Treatments_C3="some")
    )


def test_a_factor_of_one_level_is_left_out_with_a_caution(told, read):
    sheets = put(two(), Treatments_C4="low", Treatments_C5="low")
    assert ("factor_of_one_level", "Treatments!C2") in told(sheets)
    assert [one.name for one in read(sheets).factors] == ["nutrient strength"]


def test_a_factor_that_is_there_twice_is_an_error(told):
    assert ("repeated_name", "Treatments!E1") in told(
        put(two(), Treatments_E1="FACTOR: Light", Treatments_E2="x")
    )


def test_what_the_report_will_lack_is_said_while_it_can_still_be_grown(told, tmp_path):
    three = factor_book(TWO_BY_TWO[:3], LIGHT_AND_FEED, multiplying)
    assert told(three) == [("combinations_missing", "Treatments!C2:C4")]
    (said,) = findings(write(three, tmp_path / "three.xlsx"))
    assert str(said.found) == "no treatment has high with strong"
    twice = (*TWO_BY_TWO, ("again", "Low, weak, again", "low", "weak"))
    assert told(factor_book(twice, LIGHT_AND_FEED, multiplying)) == [
        ("levels_repeated", "Treatments!C2:C6")
    ]
    eight = [(f"t{i}", f"T{i}", "ab"[i % 2], "cd"[i // 2 % 2], "ef"[i // 4]) for i in range(8)]
    heads = ["Factor: a", "Factor: b", "Factor: c"]
    assert told(factor_book(eight, heads, lambda *levels: 20)) == [
        ("too_many_factors", "Treatments!C2:C9")
    ]
    assert told(two()) == []


def new(path, *words):
    return CliRunner().invoke(main, ["new", str(path), *map(str, words)])


def test_new_lays_out_all_combinations_of_factors(tmp_path):
    path = tmp_path / "new.xlsx"
    words = (
        "--factor",
        "light=low,high",
        "--factor",
        "feed (g/L)=0, 1.5,3",
        "--blocks",
        4,
        "--plants",
        2,
    )
    assert new(path, *words, "--seed", 5).exit_code == 0
    book = load_workbook(path)
    head, *rows = book["Treatments"].values
    assert head[:4] == ("Treatment", "Name", "Factor: light", "Factor: feed (g/L)")
    assert rows[1][:4] == ("low-feed1.5", "light low, feed 1.5 g/L", "low", 1.5)
    assert len([row for row in rows if row[0]]) == 6
    _, *trays = book["Trays"].values
    in_blocks = {}
    for tray in trays:
        in_blocks.setdefault(tray[2], []).append(tray[1])
    codes = sorted(row[0] for row in rows if row[0])
    assert [sorted(found) for found in in_blocks.values()] == [codes] * 4
    assert len({tuple(found) for found in in_blocks.values()}) > 1  # drawn anew in each block
    assert "low-feed0" in [cell.value for cell in book["Trial"]["B"]]


def test_a_workbook_of_factors_that_is_filled_in_is_read_with_them(tmp_path):
    path = tmp_path / "new.xlsx"
    assert new(path, "--factor", "feed (g/L)=0,1,2", "--trays", 2, "--plants", 1).exit_code == 0
    book = load_workbook(path)
    fields = {row[0].value: row[1] for row in book["Trial"].iter_rows()}
    for name, value in {
        "Title": "T",
        "Crop": "dill",
        "Started on": "2026-05-01",
        "Harvested on": "2026-06-01",
    }.items():
        fields[name].value = value
    for row in book["Plants"].iter_rows(min_row=2):
        if row[0].value:
            row[2].value = 12.5
    book.save(path)
    (feed,) = trial(path).factors
    assert feed.doses == (0, 1, 2)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["light"], "is no factor"),
        (["light=low"], "needs 2 to 20 levels"),
        (["light=low,low"], "a level twice"),
        (["feed (g/L)=some,more"], "is no number in g/L"),
        (["a=1,2", "A=3,4"], "Two factors"),
        (["a=1,2", "b=1,2", "c=1,2"], "cannot be analysed together"),
    ],
)
def test_a_factor_that_cannot_be_planned_is_refused_with_what_to_do(words, said):
    with pytest.raises(FactorError, match=said):
        factors_typed(words)


def test_new_takes_treatments_or_factors_not_both_and_not_neither(tmp_path):
    both = new(tmp_path / "new.xlsx", "--treatment", "a", "--factor", "light=low,high")
    neither = new(tmp_path / "new.xlsx")
    assert (both.exit_code, neither.exit_code) == (2, 2)
    assert "not both" in both.output
    assert "--factor" in neither.output
