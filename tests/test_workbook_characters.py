"""Characters that turn text round, and codes that look alike: each told with its cell, none in what
is published.
"""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen import metrics, render, report
from reportgen.model.problem import Severity, WorkbookError
from reportgen.settings import read_settings
from reportgen.workbook.lookalikes import looks_like
from tests.workbooks import findings, good, put, said, trial, whole, write

# UAX #9: the explicit controls and the implicit marks, by their names in the Unicode Character
# Database.
CONTROLS = [
    sign
    for code in range(0x2100)
    if (sign := chr(code)) in "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e"
]
CONTROLS += list("\u2066\u2067\u2068\u2069")


def of(tmp_path, sheets):
    return findings(write(sheets, tmp_path / "trial.xlsx"))


@pytest.mark.parametrize("control", CONTROLS)
def test_a_name_that_holds_a_control_of_direction_is_refused_with_its_cell(tmp_path, control):
    spoiled = put(
        good(), Treatments_B2=f"Ha{control}lf", Trial_B2=f"{control}Title", Trays_A2=f"A1{control}"
    )
    found = {
        f"{one.sheet}!{one.cell}": one
        for one in of(tmp_path, spoiled)
        if "can turn text round" in one.found
    }
    assert set(found) == {"Treatments!B2", "Trial!B2", "Trays!A2"}
    for one in found.values():
        assert one.severity is Severity.ERROR
        assert unicodedata.name(control) in one.found
        assert control not in str(one)  # else the message is turned round itself
        assert f"[U+{ord(control):04X}]" in one.found


@pytest.mark.parametrize("name", ["Di\u202eary", "Tra\u202eiys", "Trays\u202e"])
def test_no_message_is_turned_round_by_the_name_of_a_sheet(tmp_path, name):
    sheets = good() | {name: good()["Trays"]}
    if name.startswith("Tra\u202ei"):
        del sheets["Trays"]
    found = [one.found for one in of(tmp_path, sheets)]
    assert any("[U+202E]" in text for text in found)
    assert not any("\u202e" in text for text in found)


def test_cells_alike_are_told_once(tmp_path):
    sheets = good()
    sheets["Plants"] = [
        [f"{row[0]}\u200f" if row[0] == "A1" else row[0], *row[1:]] for row in sheets["Plants"]
    ]
    (one,) = [one for one in of(tmp_path, sheets) if "can turn text round" in one.found]
    assert (one.sheet, one.cell) == ("Plants", "A2")
    assert "(here and in 3 more cells)" in one.found


def test_a_header_is_read_without_its_controls(tmp_path):
    sheets = whole()
    for row in sheets["Plants"]:
        row.append(3.5)
    sheets["Plants"][0][-1] = "Ste\u202em (mm)"
    sheets["Plants"][0][2] = "\u200fFresh weight (g)"
    path = write(sheets, tmp_path / "trial.xlsx")
    assert not [one for one in findings(path) if one.severity is Severity.ERROR]
    assert [trait.label for trait in trial(path).traits] == ["Height", "Stem"]


def test_prose_loses_its_controls_with_a_remark_and_nothing_else(tmp_path):
    sheets = good()
    sheets["Trial"] += [
        ["Summary", "\u202eall \u2067went\u2069 well"],
        ["Disclosure", "lamps\u200f lent"],
    ]
    sheets["Observations"] = [["Date", "Observation"], [sheets["Trial"][4][1], "pale\u202e leaves"]]
    path = write(sheets, tmp_path / "trial.xlsx")
    found = [one for one in findings(path) if "can turn text round" in one.found]
    assert len(found) == 3
    assert {one.severity for one in found} == {Severity.REMARK}
    made = trial(path)
    assert made.about.summary == "all went well"
    assert made.about.disclosure == "lamps lent"
    assert made.observations[0].text == "pale leaves"
    files = render.report_files(report.compose(made, metrics.compute(made)), pdf=False)
    for name, content in files.items():
        if name.endswith((".html", ".md", ".svg", ".json", ".csv", ".cff")):
            assert not [control for control in CONTROLS if control.encode() in content], name


@pytest.mark.parametrize("name", ["חם 20", "دافئ", "ܐܪܡܝܐ", "ދިވެހި"])
def test_names_that_run_from_right_to_left_need_no_control_and_are_right(tmp_path, name):
    assert not said(write(put(good(), Treatments_B2=name, Trial_B2=name), tmp_path / "trial.xlsx"))


@pytest.mark.parametrize("key", ["title", "author", "licence"])
def test_a_control_in_the_settings_is_refused(tmp_path, key):
    path = tmp_path / "reportgen.toml"
    path.write_text(f'{key} = "a\u202eb"', "utf-8")
    with pytest.raises(WorkbookError, match="expected text without characters that turn it round"):
        read_settings(path)


# Pairs of confusables.txt of UTS #39, and characters without width.
ALIKE = [
    ("A1", "А1"),  # CYRILLIC CAPITAL LETTER A
    ("A1", "а1"),  # its small letter: codes are matched without case
    ("warm", "wаrm"),  # CYRILLIC SMALL LETTER A
    ("hot", "һоt"),  # CYRILLIC SMALL LETTER SHHA and O
    ("H1", "Η1"),  # GREEK CAPITAL LETTER ETA
    ("H1", "Н1"),  # CYRILLIC CAPITAL LETTER EN
    ("A1", "Ａ1"),  # FULLWIDTH LATIN CAPITAL LETTER A
    ("A1", "A\u200b1"),  # ZERO WIDTH SPACE
    ("A1", "A1\u2060"),  # WORD JOINER
    ("A1", "A\u00ad1"),  # SOFT HYPHEN
    ("A1", "A\ufe0f1"),  # VARIATION SELECTOR-16
    ("T10", "T1О"),  # CYRILLIC CAPITAL LETTER O
]
APART = [
    ("A1", "A2"),
    ("A1", "a1"),
    ("1I", "1l"),
    ("O1", "01"),
    ("é1", "e1"),
    ("тепло", "холод"),
    ("茶", "水"),
]


@pytest.mark.parametrize(("code", "other"), ALIKE)
def test_codes_of_trays_that_look_alike_are_told_with_both_cells(tmp_path, code, other):
    sheets = {
        name: [[code if cell == "A1" else cell for cell in row] for row in rows]
        for name, rows in good().items()
    }
    for name in ("Trays", "Plants", "Solution"):
        sheets[name] = [[other if cell == "A2" else cell for cell in row] for row in sheets[name]]
    (one,) = of(tmp_path, sheets)
    assert one.severity is Severity.ERROR
    assert (one.sheet, one.cell) == ("Trays", "A3")
    assert "in A2, and is another (" in one.found
    assert any(unicodedata.name(sign) in one.found for sign in other if not sign.isascii())


@pytest.mark.parametrize(("code", "other"), APART)
def test_codes_that_can_be_told_apart_are_left_alone(code, other):
    assert not looks_like(code, other)


def test_blocks_that_look_alike_are_told_once(tmp_path):
    sheets = good()
    sheets["Trays"] = [[*row[:2], f"shelf {row[0][1:]}", *row[3:]] for row in sheets["Trays"]]
    sheets["Trays"][0][2] = "Block"
    sheets["Trays"][1][2] = "\N{CYRILLIC SMALL LETTER DZE}helf 1"
    (one,) = of(tmp_path, sheets)
    assert (one.severity, one.cell) == (Severity.ERROR, "C5")
    assert "in C2, and is another (CYRILLIC SMALL LETTER DZE)" in one.found


def test_names_and_codes_of_treatments_that_look_alike_are_told(tmp_path):
    found = of(tmp_path, put(good(), Treatments_B2="Cool", Treatments_B3="Сооl"))
    assert [(one.sheet, one.cell) for one in found] == [("Treatments", "B3")]
    assert "CYRILLIC CAPITAL LETTER ES, CYRILLIC SMALL LETTER O" in found[0].found


def test_a_code_that_only_looks_like_the_one_that_it_means_is_told_so(tmp_path):
    (one,) = of(tmp_path, put(good(), Plants_A2="А1"))
    assert (one.sheet, one.cell) == ("Plants", "A2")
    assert "It looks like A1 and is another (CYRILLIC CAPITAL LETTER A): type it again." in str(one)


def test_a_letter_and_its_accent_typed_as_one_or_two_characters_are_one_code(tmp_path):
    sheets = {
        name: [["é1" if cell == "A1" else cell for cell in row] for row in rows]
        for name, rows in good().items()
    }
    sheets["Plants"] = [
        ["e\u03011" if cell == "é1" else cell for cell in row] for row in sheets["Plants"]
    ]
    assert not of(tmp_path, sheets)


@given(st.text(max_size=12), st.text(max_size=12))
def test_looking_alike_goes_both_ways(code, other):
    assert looks_like(code, other) == looks_like(other, code)
    assert not looks_like(code, code)
