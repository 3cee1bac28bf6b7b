"""The settings file of a spreadsheet: its form, mistakes by line and key, open questions, and what is kept."""

from datetime import date

import pytest

from reportgen.adopt.mapping import Adoption, Source, TableMapping, Wide
from reportgen.adopt.toml_file import parsed, read_adoption, settings_file
from reportgen.adopt.toml_written import written
from reportgen.adopt.unanswered import unanswered
from reportgen.model.problem import WorkbookError

WHOLE = """\
missing = ["-", "NA"]
lost = ["dead", "rotted"]

[[table]]
sheet = "Harvest wk 5"
header_row = 11                 # or "10-11" for two header rows
range = "A11:H52"
gives = "Plants"
fill_down = ["Shelf"]
columns = { Tray = "Shelf", Treatment = "Warm?", "Fresh weight" = { from = "wt", unit = "oz" } }
treatment = { Y = "warm", N = "plain" }
exclude_rows = [38, 52]

[trial]
Title = "Winter"
"Started on" = 2026-01-05
"""
MADE = Adoption(
    tables=(
        TableMapping(
            "Harvest wk 5",
            "Plants",
            "11",
            range="A11:H52",
            fill_down=("Shelf",),
            columns={
                "Tray": Source("Shelf"),
                "Treatment": Source("Warm?", codes={"Y": "warm", "N": "plain"}),
                "Fresh weight": Source("wt", "oz"),
            },
            exclude_rows=(38, 52),
        ),
    ),
    missing=("-", "NA"),
    lost=("dead", "rotted"),
    trial={"Title": "Winter", "Started on": date(2026, 1, 5)},
)


def mistakes(text):
    with pytest.raises(WorkbookError) as caught:
        parsed(text, "log.adopt.toml")
    return [str(problem) for problem in caught.value.problems]


def test_the_whole_form_is_read():
    assert parsed(WHOLE, "log.adopt.toml") == MADE


def test_what_is_written_is_read_again():
    wide = Wide("Treatment", "Fresh weight", ("warm", "plain"), "g")
    more = TableMapping("x", "Plants", "2-3", file="b.xlsx", wide=wide, per="pot", day_first=True, confirmed=("B4",))
    meter = TableMapping("m", "Meter", constants={"Treatment": "all"}, cumulative=False, corrected={"C5": 4.2})
    made = Adoption((*MADE.tables, more, meter), MADE.missing, (), MADE.trial)
    assert parsed(written(made, "log.xlsx"), "log.adopt.toml") == made


def test_a_file_is_named_after_its_spreadsheet(tmp_path):
    assert settings_file(tmp_path / "winter-log.xlsx").name == "winter-log.adopt.toml"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('mising = ["-"]', 'line 1: "mising" is not a key of this file'),
        ('mising = ["-"]', "Did you mean missing?"),
        ('missing = "-"', 'line 1: missing is "-"; expected a list'),
        ('[[table]]\ngives = "Plantz"', 'line 2: gives is "Plantz"; expected one of Treatments, Trays, Plants'),
        ('[[table]]\nsheet = "x"', "line 1: the table has no gives"),
        ('[[table]]\ngives = "Trays"\ncolumns = { Trai = "x" }', 'line 3: "Trai" is not a column of Trays'),
        ('[[table]]\ngives = "Trays"\n\n[table.columns]\nTrai = "x"', "line 5"),
        ('[[table]]\ngives = "Plants"\ncolumns = { Tray = { form = "x" } }', "Did you mean from?"),
        ('[[table]]\ngives = "Plants"\ncolumns = { Tray = 3 }', "Tray is 3; expected the text of a header"),
        ('[[table]]\ngives = "Plants"\nheader_row = "ten"', "line 3: header_row is"),
        ('[[table]]\ngives = "Plants"\nrange = "A11"\nexclude_rows = ["x"]', "line 4: exclude_rows is"),
        ('[[table]]\ngives = "Plants"\nrange = "nowhere!"', "line 3: range is"),
        ('[[table]]\ngives = "Plants"\ncorrected = { I = 3 }', "line 3: corrected is"),
        ('[[table]]\ngives = "Plants"\nconfirmed = ["I67:I68"]', "line 3: confirmed is"),
        ('[[table]]\ngives = "Meter"\ncumulative = "no"', 'cumulative is "no"; expected true, false or "daily"'),
        ('[[table]]\ngives = "Plants"\nwide = { names = "Tray" }', "line 3: wide has no values"),
        ('[trial]\nCrpo = "basil"', 'line 2: "Crpo" is not a field of the sheet Trial'),
        ("[trial]\nTitle = { a = 1 }", "line 2: Title is"),
        ('missing = ["-"', "line 1"),
        ("\nmissing = -", "line 2"),
    ],
)
def test_each_mistake_is_named_by_its_line_and_key(text, expected):
    assert any(expected in one for one in mistakes(text)), mistakes(text)


def test_mistakes_and_open_questions_come_at_once():
    text = 'mising = 3\n[[table]]\ngives = "Plants"\nper = 3\ncolumns = { Tray = "?" }\n[[table]]\ngives = "Tray"\n'
    assert [one.split(":")[0] for one in mistakes(text)] == [f"log.adopt.toml, line {line}" for line in (1, 4, 7, 5)]


def test_a_file_that_is_no_text_is_said(tmp_path):
    (tmp_path / "log.adopt.toml").write_bytes(b"\xff\x00")
    with pytest.raises(WorkbookError, match="cannot be read"):
        read_adoption(tmp_path / "log.adopt.toml")


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ('columns = { "Fresh weight" = { from = "wt", unit = "?" } }', 'the unit of "wt" is still "?"'),
        ('columns = { "Fresh weight" = { from = "wt", unit = "?" } }', 'unit = "g"'),
        ('columns = { Tray = "?" }', "Write the header of Tray"),
        ('columns = { "?" = "wt" }', "one of Tray, Plant, Fresh weight"),
        ('columns = { Treatment = "W" }\ntreatment = { Y = "?" }', 'Write what "Y" stands for.'),
        ('constants = { Treatment = "?" }', "Write Treatment of this table."),
        ('per = "?"', '"plant" or "pot"'),
        ('day_first = "?"', "true where 3/4/2026 is the 3rd of April"),
        ('wide = { names = "?", values = "Fresh weight", headers = ["a"], unit = "?" }', "Write its name"),
        ('cumulative = "?"', 'Write true, false or "daily".'),
    ],
)
def test_each_question_mark_says_what_belongs_there(line, expected):
    known = parsed(f'[[table]]\ngives = "Plants"\n{line}\n', "log.adopt.toml")
    said = [str(problem) for problem in unanswered(known)]
    assert any(expected in one and "log.adopt.toml, line " in one for one in said), said


def test_question_marks_of_words_and_of_the_trial_are_named_too():
    known = parsed('missing = ["?"]\n\n[trial]\nCrop = "?"\n', "log.adopt.toml")
    assert [str(one).split(":")[0] for one in unanswered(known)] == ["log.adopt.toml, line 1", "log.adopt.toml, line 4"]


OWNERS = """\
# mine
lost = ["gone"]   # my word

[[table]]
# the scale was in the shed
sheet = "Harvest wk 5"
gives = "Plants"
header_row = 12   # not 11
columns = { Tray = "Shelf", "Fresh weight" = { from = "wt", unit = "?" } }   # fresh

# what I know
[trial]
Title = "My winter"
Crop = "?"   # ask
"""


def test_taking_in_again_changes_nothing_that_its_owner_edited():
    once = written(MADE, "log.xlsx", OWNERS)
    kept = [line for line in OWNERS.splitlines() if "?" not in line]
    assert [line for line in once.splitlines() if line in kept and line] == [line for line in kept if line]
    assert written(MADE, "log.xlsx", once) == once
    assert 'Title = "My winter"' in once
    assert "header_row = 12   # not 11" in once


def test_taking_in_again_adds_what_is_missing_and_answers_what_was_open():
    meter = TableMapping("Power", "Meter", columns={"Reading": Source("kWh", "kWh")})
    found = Adoption((*MADE.tables, meter), MADE.missing, MADE.lost, {"Crop": "basil", "Title": "x", "Author": "A. G."})
    once = written(found, "log.xlsx", OWNERS)
    read = parsed(once, "log.adopt.toml")
    assert read.missing == ("-", "NA")
    assert read.lost == ("gone",)
    assert read.tables[0].columns["Fresh weight"].unit == "oz"
    assert read.tables[1] == meter
    assert read.trial == {"Title": "My winter", "Crop": "basil", "Author": "A. G."}
    assert once.index("# what I know") > once.index('sheet = "Power"')


def test_a_new_file_may_say_why():
    text = written(MADE, "log.xlsx", notes={"table.0": "found by its headers", "trial.Title": "from the file's name"})
    assert "# found by its headers\n[[table]]" in text
    assert 'Title = "Winter"  # from the file\'s name' in text
