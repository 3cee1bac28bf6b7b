"""The settings file of a log: what is written is read again, its owner's edits stay, mistakes are
named by line.
"""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.cli import main
from reportgen.importing.model.cells import Conventions
from reportgen.importing.model.layouts import (
    Blank,
    Carrier,
    CarrierKind,
    Corrected,
    Counts,
    Covers,
    Dimension,
    Layout,
    LeftOut,
    Lookup,
    Occasions,
    Source,
    Values,
)
from reportgen.importing.model.settings import Settings
from reportgen.importing.settings import (
    dictionary,
    parsed,
    read_settings,
    settings_file,
    settings_text,
)
from reportgen.model.problem import WorkbookError

OWNERS = """\
# mine
adopt = 2
lost = ["gone"]   # my word

[[table]]
# the scale was in the shed
sheets = ["fan", "still"]                 # one layout on two sheets
header_rows = [3]
gives = "Plants"   # not Harvests
treatment = "sheet"
unit = "treatment + column:Tray"
plant = "over:1"
values = { "Fresh weight" = { columns = ["Plant 1", "Plant 2"], unit = "g" } }   # fresh
words = { treatment = { F = "fan" } }
left_out = [{ row = 38, holds = "Total | 412", because = "total" }]
corrected = [{ cell = "D17", held = 42, is = 4.2 }]
occasions = "add up"

# what I know
[trial]
Crop = "basil"   # sweet
"Started on" = 2026-01-05
"""

TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=8)
NAMES = TEXTS.map(str.strip).filter(bool)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False, width=32)


def carriers(draw):
    kind = draw(
        st.sampled_from([kind for kind in CarrierKind if kind is not CarrierKind.DIMENSION])
    )
    alone = kind in (
        CarrierKind.SECTION,
        CarrierKind.SHEET,
        CarrierKind.FILE,
        CarrierKind.ORDER,
        CarrierKind.COLOUR,
    )
    name = "" if alone or (kind is CarrierKind.TITLE and draw(st.booleans())) else draw(NAMES)
    whole = kind in (CarrierKind.FIXED, CarrierKind.ORDER, CarrierKind.COLOUR)
    return Carrier(kind, name, 0 if whole else draw(st.integers(0, 3)))


@st.composite
def sources(draw):
    if draw(st.integers(0, 4)) == 0:
        trays = (
            Carrier(CarrierKind.DIMENSION, "treatment"),
            Carrier(CarrierKind.COLUMN, draw(NAMES)),
        )
        return Source(trays)
    found = tuple(carriers(draw) for _ in range(draw(st.integers(1, 2))))
    lookup = Lookup(draw(NAMES), draw(NAMES), draw(NAMES)) if draw(st.integers(0, 3)) == 0 else None
    return Source(found, lookup)


VALUES = st.builds(
    Values,
    quantity=st.sampled_from(["Fresh weight", "Dry weight", "Brix"]),
    columns=st.lists(NAMES, min_size=1, max_size=2).map(tuple),
    unit=TEXTS,
    covers=st.sampled_from(Covers),
    count=TEXTS,
    tare=TEXTS,
    plus=st.lists(st.tuples(NAMES, NAMES), max_size=2, unique_by=lambda pair: pair[0]).map(tuple),
    event=TEXTS,
    counts=st.sampled_from(Counts),
    per_area=NUMBERS,
    blank=st.sampled_from(Blank),
)
CELLS = st.sampled_from(["B4", "38:38", "A2:C2"])
LAYOUTS = st.builds(
    Layout,
    table=NAMES,
    gives=st.sampled_from(["Plants", "Meter", "nothing"]),
    sheets=st.lists(NAMES, max_size=2).map(tuple),
    header_rows=st.lists(st.integers(1, 40), max_size=2).map(tuple),
    dimensions=st.dictionaries(st.sampled_from(Dimension), sources(), max_size=3),
    values=st.lists(VALUES, max_size=3).map(
        lambda items: tuple(sorted(items, key=lambda item: item.quantity))
    ),
    factors=st.dictionaries(NAMES, sources(), max_size=2),
    only=st.dictionaries(NAMES, st.lists(NAMES, min_size=1, max_size=2).map(tuple), max_size=1),
    words=st.dictionaries(
        st.just("treatment"), st.dictionaries(TEXTS, TEXTS, min_size=1, max_size=2), max_size=1
    ),
    occasions=st.sampled_from(Occasions),
    columns=st.dictionaries(st.sampled_from(["Note", "Status"]), NAMES, max_size=2),
    left_out=st.lists(st.builds(LeftOut, CELLS, TEXTS, TEXTS), max_size=2).map(tuple),
    corrected=st.lists(
        st.builds(Corrected, CELLS, TEXTS, st.sampled_from(["4.2", "4.20", "x"])), max_size=2
    ).map(tuple),
    confirmed=st.lists(CELLS, max_size=2).map(tuple),
    because=TEXTS,
)
BY_SHEET = st.dictionaries(TEXTS, st.booleans(), max_size=2)


@st.composite
def conventions(draw):
    by_sheet = (
        draw(BY_SHEET),
        draw(BY_SHEET),
        draw(st.dictionaries(TEXTS, st.just(2025))),
        draw(BY_SHEET),
    )
    words = draw(st.lists(TEXTS, max_size=6, unique_by=str.casefold))  # each has one meaning
    return Conventions(*by_sheet, tuple(words[:2]), tuple(words[2:4]), tuple(words[4:]))


SETTINGS = st.builds(
    Settings,
    layouts=st.lists(LAYOUTS, max_size=3, unique_by=lambda layout: layout.table).map(tuple),
    files=st.lists(st.sampled_from(["key.csv", "water log.xlsx"]), max_size=2).map(tuple),
    conventions=conventions(),
    trial=st.dictionaries(
        st.sampled_from(["Crop", "Title"]), st.one_of(TEXTS, st.just(date(2026, 1, 5))), max_size=2
    ),
    independent=TEXTS,
    treatments=st.dictionaries(TEXTS, TEXTS, max_size=3),
    answers=st.dictionaries(TEXTS, TEXTS, max_size=2),
    confirmed=st.dictionaries(
        NAMES,
        st.dictionaries(TEXTS, st.tuples(st.just(2), st.just(12), NUMBERS), min_size=1),
        max_size=1,
    ),
)


def by_table(found):
    return (
        {layout.table: layout for layout in found.layouts},
        found.conventions,
        found.trial,
        found.answers,
    )


@settings(max_examples=40, deadline=None)
@given(SETTINGS)
def test_what_is_written_is_read_again(found):
    text = settings_text(found, "log.xlsx")
    again = parsed(text, "log.adopt.toml")
    assert again == found
    assert list(again.treatments) == list(found.treatments)
    assert settings_text(found, "log.xlsx", text) == text


@settings(max_examples=40, deadline=None)
@given(SETTINGS, SETTINGS)
def test_what_is_written_into_a_file_that_is_there_is_read_again(before, after):
    text = settings_text(after, "log.xlsx", settings_text(before, "log.xlsx"))
    assert by_table(parsed(text, "log.adopt.toml")) == by_table(after)


def test_the_form_of_the_handbook_is_read():
    found = parsed(OWNERS, "log.adopt.toml")
    layout = found.layouts[0]
    assert layout.table == "fan"
    assert layout.dimensions[Dimension.TREATMENT] == Source((Carrier(CarrierKind.SHEET),))
    tray = Carrier(CarrierKind.COLUMN, "Tray")
    assert layout.dimensions[Dimension.UNIT] == Source(
        (Carrier(CarrierKind.DIMENSION, "treatment"), tray)
    )
    assert layout.values == (Values("Fresh weight", ("Plant 1", "Plant 2"), "g"),)
    assert layout.left_out == (LeftOut("38:38", "Total | 412", "total"),)
    assert layout.corrected == (Corrected("D17", "42", "4.2"),)
    assert layout.occasions is Occasions.PICKINGS
    assert found.trial == {"Crop": "basil", "Started on": date(2026, 1, 5)}
    assert found.lines["table.0.treatment"] == 10


def test_adopting_again_changes_nothing_that_its_owner_wrote():
    found = parsed(OWNERS, "log.adopt.toml")
    assert settings_text(found, "log.xlsx", OWNERS) == OWNERS


def test_an_answer_changes_its_line_alone():
    found = parsed(OWNERS, "log.adopt.toml")
    answered = Settings(
        found.layouts,
        found.files,
        found.conventions,
        {**found.trial, "Crop": "mint", "Title": "Fans"},
    )
    lines = settings_text(answered, "log.xlsx", OWNERS).splitlines()
    assert [line for line in lines if line not in OWNERS.splitlines()] == [
        'Crop = "mint"   # sweet',
        'Title = "Fans"',
    ]


def test_an_answer_about_a_quantity_keeps_what_its_owner_wrote_around_it():
    earlier = """adopt = 2
[[table]]
sheets = ["Log"]
gives = "Plants"

[table.values."Fresh weight"]   # on the kitchen scale
columns = ["wt"]
covers = "plant"   # one by one
"""
    found = parsed(earlier, "log.adopt.toml")
    layout = found.layouts[0]
    answered = replace(
        found, layouts=(replace(layout, values=(replace(layout.values[0], unit="oz"),)),)
    )
    text = settings_text(answered, "log.xlsx", earlier)
    assert [line for line in text.splitlines() if line not in earlier.splitlines()] == [
        'unit = "oz"'
    ]
    assert parsed(text, "log.adopt.toml").layouts == answered.layouts


MISTAKES = [
    ('mising = ["-"]', 'line 2: "mising" is not a key; expected "missing"'),
    (
        'files = ["../other.csv"]',
        'line 2: files is "../other.csv"; expected the name of a file',
    ),
    ('files = ["C:\\\\other.csv"]', "expected the name of a file in the log's folder"),
    ("missing = 3", "line 2: missing is 3; expected a list of texts"),
    ('day_first = "yes"', 'line 2: day_first is "yes"; expected true or false'),
    (
        '[[table]]\nsheets = ["x"]\ngives = "Plantz"',
        'line 4: gives is "Plantz"; expected one of "Plants"',
    ),
    ('[[table]]\nsheets = ["x"]', "line 2: the table does not say what it gives"),
    ('[[table]]\ngives = "Plants"', "line 2: the table does not say where it stands"),
    (
        '[[table]]\nsheets = ["x"]\ngives = "Plants"\n\ntreatmant = "sheet"',
        'line 6: "treatmant" is not a key',
    ),
    (
        '[[table]]\nsheets = ["x"]\ngives = "Plants"\ntreatment = "shelf"',
        'line 5: treatment is "shelf"',
    ),
    ('[[table]]\nsheets = ["x"]\ngives = "Plants"\nunit = "part:ID"', "expected part:NAME:1"),
    (
        (
            '[[table]]\nsheets = ["x"]\ngives = "Plants"\nvalues = { "Dry weight" = { column ='
            ' ["w"] } }'
        ),
        'line 5: "column"',
    ),
    (
        (
            '[[table]]\nsheets = ["x"]\ngives = "Plants"\n[table.values."Dry weight"]\ncolumns'
            ' = ["w"]\nunit = 3'
        ),
        "line 7: values is 3; expected a text",
    ),
    (
        '[[table]]\nsheets = ["x"]\ngives = "Plants"\ncolumns = { Nte = "x" }',
        'line 5: "Nte"; expected "Note"',
    ),
    (
        (
            '[[table]]\nsheets = ["x"]\ngives = "Plants"\nleft_out = [\n  { row = 3 },\n  { row'
            ' = "four" },\n]'
        ),
        'line 7: left_out is "four"; expected a whole number',
    ),
    ('[trial]\nCrpo = "basil"', 'line 3: "Crpo"; expected "Crop"'),
    ('missing = ["-"', "line 2"),
    ('table = "x"', "line 2: table is no list"),
]


@pytest.mark.parametrize(("text", "expected"), MISTAKES)
def test_each_mistake_is_named_by_its_line(text, expected):
    with pytest.raises(WorkbookError) as caught:
        parsed(f"adopt = 2\n{text}\n", "log.adopt.toml")
    said = [str(problem) for problem in caught.value.problems]
    assert any(expected in line and line.startswith("log.adopt.toml") for line in said), said


def test_all_mistakes_come_at_once():
    text = 'adopt = 2\nmising = 3\n[[table]]\nsheets = ["x"]\ngives = "Plantz"\nunit = 3\n'
    with pytest.raises(WorkbookError) as caught:
        parsed(text, "log.adopt.toml")
    assert [problem.found.split(":")[0] for problem in caught.value.problems] == [
        f"log.adopt.toml, line {line}" for line in (2, 5, 6)
    ]


def test_a_file_of_the_first_edition_gets_one_message():
    with pytest.raises(WorkbookError, match=r"earlier edition.*adopt on the log again") as caught:
        parsed(
            '[[table]]\nsheet = "Harvest"\ngives = "Plants"\ncolumns = { Tray = "Shelf" }\n',
            "log.adopt.toml",
        )
    assert len(caught.value.problems) == 1


def test_a_file_that_is_no_text_is_said(tmp_path):
    (tmp_path / "log.adopt.toml").write_bytes(b"\xff\x00")
    with pytest.raises(WorkbookError, match="cannot be read"):
        read_settings(tmp_path / "log.adopt.toml")


def test_a_settings_file_is_named_after_its_log():
    assert settings_file(Path("winter-log.xlsx")) == Path("winter-log.adopt.toml")


def test_two_logs_of_one_name_have_settings_of_their_own(tmp_path):
    (tmp_path / "log.xlsx").touch()
    (tmp_path / "log.csv").touch()
    names = [settings_file(tmp_path / name).name for name in ("log.xlsx", "log.csv")]
    assert names == ["log.adopt.toml", "log.csv.adopt.toml"]


def test_the_dictionary_names_every_key_that_is_read():
    text = dictionary()
    assert all(
        f"| `{name}` |" in text
        for name in ("missing", "treatment", "values", "area", "trial", "left_out")
    )


def test_the_shipped_dictionary_of_settings_is_the_one_that_is_written_now():
    # If this fails: reportgen dictionary --settings > sample_workbook/settings-dictionary.md
    shipped = (Path(__file__).parents[1] / "sample_workbook" / "settings-dictionary.md").read_text(
        "utf-8"
    )
    assert shipped == dictionary()
    assert CliRunner().invoke(main, ["dictionary", "--settings"]).output == dictionary()
