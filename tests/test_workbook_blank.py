"""The blank workbook: it follows from the declaration, places are drawn fairly, and what is filled
in builds.
"""

import shutil
import subprocess
from collections import Counter
from dataclasses import replace
from datetime import date, datetime
from io import BytesIO
from itertools import groupby, pairwise

import numpy as np
import pikepdf
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from scipy.stats import chisquare

from reportgen import pipeline, workbook
from reportgen.cli import main
from reportgen.model.problem import Severity
from reportgen.workbook.blank import blank_workbook, hint_of, limits
from reportgen.workbook.declaration import SHEETS, Column, Kind, Sheet
from reportgen.workbook.groups import GROUPS, groups, sheets_with
from reportgen.workbook.plan import PlanError, entries, measured_weekly, places, planned
from reportgen.workbook.vocabulary import ENGLISH, vocabularies, vocabulary

BLOCKED = planned(["plain", "Warm roots"], blocks=4, trays=1, plants=3, seed=4711)
LOOSE = planned(["1.10", "1.20", "hot"], blocks=0, trays=3, plants=2, seed=7)
TABLES = [sheet for sheet in SHEETS if sheet.name != "Trial"]
SOFFICE = shutil.which("soffice")
needs_libreoffice = pytest.mark.skipif(
    SOFFICE is None, reason="LibreOffice (soffice) is not installed"
)


def opened(plan=BLOCKED, sheets=SHEETS):
    return load_workbook(BytesIO(blank_workbook(plan, sheets)))


def saved(path, plan=BLOCKED):
    path.write_bytes(blank_workbook(plan))
    return path


def headers(page):
    return [cell.value for cell in page[1]]


def fields(page):
    return {row[0].value: row[1] for row in page.iter_rows(min_row=2) if row[0].value}


def rule_at(page, cell):
    """Return the one rule for what may be typed in a cell."""
    (rule,) = [rule for rule in page.data_validations.dataValidation if cell in rule.sqref]
    return rule


def columns():
    """Return each column of a table that has something to say, with its sheet and letter."""
    return [
        pytest.param(sheet, column, get_column_letter(number), id=f"{sheet.name}-{column.name}")
        for sheet in TABLES
        for number, column in enumerate(sheet.columns, 1)
        if hint_of(column)
    ]


def under(page, name):
    """Return the address of the first cell under a header."""
    return f"{get_column_letter(headers(page).index(name) + 1)}2"


def rule_under(page, name):
    return rule_at(page, under(page, name))


def findings(path):
    return workbook.problems_in(workbook.read(path))


def converted(path, ending, folder):
    """Return the file that LibreOffice makes of a workbook, with a user profile of its own."""
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    words = [
        SOFFICE,
        profile,
        "--headless",
        "--convert-to",
        ending,
        "--outdir",
        str(folder / "converted"),
        str(path),
    ]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    made = folder / "converted" / f"{path.stem}.{ending}"
    assert made.exists(), done.stderr
    return made


def run(*words):
    return CliRunner().invoke(main, ["new", *map(str, words)])


# ---- it follows from the declaration -------------------------------------------------------------


def test_every_sheet_and_column_of_the_declaration_is_there_in_its_order():
    book = opened()
    assert book.sheetnames == [sheet.name for sheet in SHEETS]
    for sheet in TABLES:
        assert headers(book[sheet.name]) == [column.header for column in sheet.columns]
    assert list(fields(book["Trial"])) == [column.header for column in SHEETS[0].columns]


def test_a_new_sheet_and_a_new_column_appear_with_no_further_code():
    brix = Column(
        "Brix", Kind.NUMBER, "Sugar of the juice.", unit="%", above=0, at_most=60, required=True
    )
    pests = Sheet("Pests", (Column("Tray", Kind.CODE, refers="Trays", required=True), brix))
    sheets = tuple(
        replace(sheet, columns=(*sheet.columns, brix)) if sheet.name == "Plants" else sheet
        for sheet in SHEETS
    )
    book = opened(sheets=(*sheets, pests))
    assert headers(book["Plants"])[-1] == "Brix (%)"
    assert headers(book["Pests"]) == ["Tray", "Brix (%)"]
    assert "'Trays'!$A$2" in rule_at(book["Pests"], "A900000").formula1
    assert (
        rule_at(book["Pests"], "B2").prompt
        == "Sugar of the juice. Type a number, 0 to 60%. Needed on every row."
    )


def test_what_a_plan_fills_in_stands_in_declared_sheets_and_columns():
    for name, rows in entries(BLOCKED).items():
        declared = {
            column.name for sheet in SHEETS if sheet.name == name for column in sheet.columns
        }
        assert rows
        assert all(set(row) <= declared for row in rows)


@pytest.mark.parametrize("plan", [BLOCKED, LOOSE])
def test_checking_it_finds_nothing_wrong_and_says_what_is_to_come(tmp_path, plan):
    found = findings(saved(tmp_path / "trial.xlsx", plan))
    assert {problem.severity for problem in found} == {Severity.TO_COME}
    assert [problem.sheet for problem in found] == ["Trial", "Plants"]


# ---- places --------------------------------------------------------------------------------------


@given(
    words=st.lists(st.text("abcdefg", min_size=3, max_size=5), min_size=2, max_size=4, unique=True),
    blocks=st.integers(0, 5),
    trays=st.integers(1, 4),
    seed=st.integers(0, 2**64),
)
def test_each_treatment_has_its_trays_in_each_block(words, blocks, trays, seed):
    words = [f"{word}-x" for word in words]  # no word that is a total
    drawn = places(planned(words, blocks=blocks, trays=trays, plants=1, seed=seed))
    held = Counter((place.block, place.treatment) for place in drawn)
    assert held == {
        (block, word): trays
        for block in (range(1, blocks + 1) if blocks else [0])
        for word in words
    }
    assert [place.position for place in drawn] == list(range(1, len(drawn) + 1))
    assert [place.tray for place in drawn] == [f"T{number}" for number in range(1, len(drawn) + 1)]
    assert all(before.block <= after.block for before, after in pairwise(drawn))


def test_every_arrangement_is_as_likely_as_every_other():
    # A completely randomised design gives each of the C(4, 2) = 6 arrangements of 2 + 2 trays the
    #   same chance:
    # Cochran and Cox, Experimental Designs, 2nd edition (1957), chapter 4 (cited from memory).
    # Chi-squared by SciPy.
    drawn = Counter(
        "".join(
            place.treatment
            for place in places(planned("ab", blocks=0, trays=2, plants=1, seed=seed))
        )
        for seed in range(1200)
    )
    assert len(drawn) == 6
    assert chisquare(list(drawn.values())).pvalue > 0.001


def test_blocks_are_drawn_apart_from_one_another():
    orders = Counter(
        tuple(
            "".join(place.treatment for place in block)
            for _, block in groupby(
                places(planned("ab", blocks=2, trays=1, plants=1, seed=seed)),
                lambda place: place.block,
            )
        )
        for seed in range(800)
    )
    assert len(orders) == 4
    assert chisquare(list(orders.values())).pvalue > 0.001


def test_anybody_can_draw_the_places_again_from_what_the_trial_sheet_says():
    book = opened(LOOSE)
    layout = fields(book["Trial"])["Layout"].value
    assert layout == "completely randomised, seed 7, NumPy PCG64 permutation"
    order = np.random.Generator(np.random.PCG64(7)).permutation([0, 0, 0, 1, 1, 1, 2, 2, 2])
    assert [row[1] for row in book["Trays"].iter_rows(min_row=2, values_only=True)] == [
        ("1.10", "1.20", "hot")[index] for index in order
    ]


def test_the_trial_sheet_says_that_places_were_drawn_within_blocks_and_names_the_reference():
    trial = fields(opened()["Trial"])
    assert trial["Layout"].value == "randomised within blocks, seed 4711, NumPy PCG64 permutation"
    assert (trial["Randomised"].value, trial["Reference treatment"].value) == ("yes", "plain")


def test_the_same_plan_gives_the_same_bytes_and_another_seed_other_places():
    assert blank_workbook(BLOCKED) == blank_workbook(BLOCKED)
    assert len({places(replace(BLOCKED, seed=seed)) for seed in range(20)}) > 1


def test_rows_are_there_for_every_tray_plant_fill_remainder_and_reading():
    rows = {
        page.title: [
            row for row in page.iter_rows(min_row=2, values_only=True) if row[0] is not None
        ]
        for page in opened()
    }
    trays = [f"T{number}" for number in range(1, 9)]
    assert [row[:2] for row in rows["Treatments"]] == [
        ("plain", "plain"),
        ("warm-roots", "Warm roots"),
    ]
    assert [(row[0], row[2], row[3], row[4]) for row in rows["Trays"]] == [
        (tray, 1 + number // 2, 1 + number, 3) for number, tray in enumerate(trays)
    ]
    assert [row[:2] for row in rows["Plants"]] == [
        (tray, plant) for tray in trays for plant in (1, 2, 3)
    ]
    assert Counter((row[0], row[2]) for row in rows["Solution"]) == Counter(
        (tray, event) for tray in trays for event in ("fill", "remaining")
    )
    assert [(row[1], row[5].split(",")[0]) for row in rows["Meter"]] == [
        (code, reading)
        for code in ("plain", "warm-roots")
        for reading in ("first reading", "last reading")
    ]


MISPLANNED = {
    "one treatment": (["plain"], 1, "two treatments or more"),
    "a treatment twice": (["plain", "Plain"], 1, 'called "plain"'),
    "a name that stands for all": (["plain", "all"], 1, "every treatment at once"),
    "a name of a total": (["plain", "mean"], 1, "like a total"),
    "a name without a letter": (["plain", " - "], 1, "letters and digits"),
    "a name with an unseen sign": (["plain", "wa\x07rm"], 1, "letters and digits"),
    "more than anybody weighs": (["plain", "warm"], 10_001, "20002 plants"),
}


@pytest.mark.parametrize(("words", "plants", "said"), MISPLANNED.values(), ids=MISPLANNED)
def test_a_plan_that_cannot_be_a_trial_is_refused_with_the_reason(words, plants, said):
    with pytest.raises(PlanError, match=said):
        planned(words, blocks=0, trays=1, plants=plants, seed=1)


# ---- the command ---------------------------------------------------------------------------------


def test_the_command_writes_the_workbook_and_says_how_places_were_drawn(tmp_path):
    path = tmp_path / "trial.xlsx"
    done = run(
        path,
        "--treatment",
        "plain",
        "--treatment",
        "Warm roots",
        "--blocks",
        4,
        "--plants",
        3,
        "--seed",
        4711,
    )
    assert done.exit_code == 0
    assert "randomised within blocks, seed 4711" in done.output
    assert path.read_bytes() == blank_workbook(BLOCKED, sheets_with(()))


def test_a_seed_that_was_not_given_is_drawn_recorded_and_draws_the_same_file_again(tmp_path):
    words = ("--treatment", "a", "--treatment", "b")
    first, again = tmp_path / "first.xlsx", tmp_path / "again.xlsx"
    assert run(first, *words).exit_code == 0
    seed = fields(load_workbook(first)["Trial"])["Layout"].value.split("seed ")[1].split(",")[0]
    assert run(again, *words, "--seed", seed).exit_code == 0
    assert first.read_bytes() == again.read_bytes()


@pytest.mark.parametrize(
    ("words", "trays"), [((), 8), (("--blocks", 3), 6), (("--blocks", 3, "--trays", 2), 12)]
)
def test_trays_are_four_a_treatment_without_blocks_and_one_in_each_block_with_them(
    tmp_path, words, trays
):
    path = tmp_path / "trial.xlsx"
    assert run(path, "--treatment", "a", "--treatment", "b", *words).exit_code == 0
    assert load_workbook(path)["Trays"].max_row == 1 + trays


def test_a_file_that_is_there_is_never_overwritten(tmp_path):
    path = tmp_path / "trial.xlsx"
    path.write_text("weeks of work")
    done = run(path, "--treatment", "a", "--treatment", "b")
    assert done.exit_code == 2
    assert "is there already and is not overwritten" in done.output
    assert path.read_text() == "weeks of work"


@pytest.mark.parametrize(
    ("name", "words", "said"),
    [
        ("trial.ods", ("--treatment", "a", "--treatment", "b"), "does not end in .xlsx"),
        ("trial.xlsx", ("--treatment", "a"), "two treatments or more"),
        ("trial.xlsx", (), "--treatment"),
        (
            "trial.xlsx",
            ("--treatment", "a", "--treatment", "b", "--trays", "0"),
            "not in the range",
        ),
    ],
)
def test_wrong_usage_ends_with_2_and_writes_nothing(tmp_path, name, words, said):
    done = run(tmp_path / name, *words)
    assert done.exit_code == 2
    assert said in done.output
    assert list(tmp_path.iterdir()) == []


# ---- only the sheets that are asked for ----------------------------------------------------------


ALWAYS = ["Trial", "Treatments", "Trays", "Plants"]
TYPED = ("--treatment", "a", "--treatment", "b", "--seed", 1)


def sheets_of(folder, *words):
    """Return the names of the sheets that the command writes."""
    path = folder / "trial.xlsx"
    done = run(path, *TYPED, *words)
    assert done.exit_code == 0, done.output
    return load_workbook(path).sheetnames


def test_without_more_it_has_the_sheets_for_weights_and_says_what_else_there_is(tmp_path):
    assert sheets_of(tmp_path) == ALWAYS
    said = run(tmp_path / "b.xlsx", *TYPED).output
    assert all(word in said for word in groups())


@pytest.mark.parametrize(
    ("words", "more"),
    [
        (("--with", "water,energy,light"), ["Solution", "Meter", "Light"]),
        (("--with", "light", "--with", " Water , energy"), ["Solution", "Meter", "Light"]),
        (("--with", "photos"), ["Observations"]),
        (("--with", "all"), [sheet.name for sheet in SHEETS if sheet.name not in ALWAYS]),
        (("--weeks", 2, "--start", "2026-03-02"), ["Growth"]),
    ],
)
def test_each_word_brings_its_sheets(tmp_path, words, more):
    assert sheets_of(tmp_path, *words) == ALWAYS + more


def test_each_sheet_is_always_there_or_has_a_word_that_help_names():
    brought = {name for names in GROUPS.values() for name in names}
    assert {sheet.name for sheet in SHEETS} <= brought | set(ALWAYS)
    shown = CliRunner().invoke(main, ["new", "--help"]).output
    assert all(word in shown for word in (*groups(), "all"))


def test_a_word_that_brings_nothing_is_refused_with_the_one_that_was_meant(tmp_path):
    done = run(tmp_path / "trial.xlsx", *TYPED, "--with", "watter")
    assert done.exit_code == 2
    assert "Did you mean water?" in done.output
    assert list(tmp_path.iterdir()) == []


# ---- week by week --------------------------------------------------------------------------------


def rows_of(page):
    """Return the filled rows of a sheet, without blanks at their end."""
    rows = [list(row) for row in page.iter_rows(min_row=2, values_only=True)]
    return [row for row in rows if any(value is not None for value in row)]


def test_growth_has_a_row_for_every_tray_at_the_start_and_after_each_week(tmp_path):
    path = tmp_path / "trial.xlsx"
    run(path, *TYPED, "--trays", 2, "--start", "2026-03-02", "--weeks", 2)
    book = load_workbook(path)
    days = [datetime(2026, 3, 2), datetime(2026, 3, 9), datetime(2026, 3, 16)]
    assert [row[:3] for row in rows_of(book["Growth"])] == [
        [f"T{tray}", None, day] for day in days for tray in (1, 2, 3, 4)
    ]
    assert fields(book["Trial"])["Started on"].value == days[0]
    thick = [
        row[0].row
        for row in book["Growth"].iter_rows(min_row=2)
        if row[0].border.top.style == "medium"
    ]
    assert thick == [6, 10], "a thick line parts the weeks"


def test_growth_has_a_row_for_every_plant_where_that_is_asked(tmp_path):
    path = tmp_path / "trial.xlsx"
    run(
        path,
        *TYPED,
        "--trays",
        1,
        "--plants",
        2,
        "--start",
        "2026-03-02",
        "--weeks",
        1,
        "--each-plant",
    )
    assert [row[:2] for row in rows_of(load_workbook(path)["Growth"])] == [
        ["T1", 1],
        ["T1", 2],
        ["T2", 1],
        ["T2", 2],
    ] * 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--weeks", 3), "Name it with --start"),
        (("--each-plant",), "Say how many with --weeks"),
        (("--weeks", 3, "--start", "2.3.2026"), "does not match"),
        (("--weeks", 3, "--start", "9999-12-20"), "too late a day"),
        (
            ("--weeks", 500, "--start", "2026-03-02", "--trays", 100),
            "rows of growth; at most 20000",
        ),
        (("--language", "xx"), "'xx' is not one of"),
    ],
)
def test_weeks_that_cannot_be_are_refused_and_nothing_is_written(tmp_path, words, said):
    done = run(tmp_path / "trial.xlsx", *TYPED, *words)
    assert done.exit_code == 2
    assert said in done.output
    assert list(tmp_path.iterdir()) == []


# ---- in another language -------------------------------------------------------------------------

WEEKLY = measured_weekly(BLOCKED, date(2026, 3, 2), 3, each_plant=False)


@pytest.mark.parametrize("words", vocabularies(), ids=lambda words: words.tag)
def test_in_any_language_checking_it_finds_nothing_but_what_is_to_come(tmp_path, words):
    path = tmp_path / "trial.xlsx"
    path.write_bytes(blank_workbook(WEEKLY, SHEETS, words))
    assert load_workbook(path).sheetnames == [words.sheet_name(sheet.name) for sheet in SHEETS]
    assert [problem for problem in findings(path) if problem.severity is not Severity.TO_COME] == []


@pytest.mark.parametrize("words", vocabularies(), ids=lambda words: words.tag)
def test_in_any_language_filled_in_it_is_the_same_trial(tmp_path, words):
    english, other = tmp_path / "english.xlsx", tmp_path / "other.xlsx"
    english.write_bytes(blank_workbook(BLOCKED))
    other.write_bytes(blank_workbook(BLOCKED, SHEETS, words))
    first, second = (
        pipeline.checked(fill_in(path, spoken))
        for path, spoken in ((english, ENGLISH), (other, words))
    )
    assert second.findings == ()
    for name in (
        "trays",
        "treatments",
        "plants",
        "solution",
        "reference",
        "started_on",
        "harvested_on",
    ):
        assert getattr(second, name) == getattr(first, name), name
    assert [one.reading for one in second.meter] == [one.reading for one in first.meter]
    assert second.about.randomised is True


def test_the_report_is_in_the_language_of_the_workbook_where_it_speaks_it(tmp_path):
    languages = {}
    for words in vocabularies():
        book = load_workbook(BytesIO(blank_workbook(BLOCKED, SHEETS, words)))
        page = book[words.sheet_name("Trial")]
        languages[words.tag] = fields(page)[words.column_name("Trial", "Language")].value
    assert languages == {
        "en": None,
        "es": "es",
        "de": None,
        "fr": None,
        "it": None,
        "nl": None,
        "pt": None,
    }


def test_lists_hints_and_notes_are_in_that_language():
    book = load_workbook(BytesIO(blank_workbook(BLOCKED, SHEETS, vocabulary("es"))))
    plants, meter = book["Plantas"], book["Contador"]
    assert rule_under(plants, "Estado").formula1 == '"cosechada,muerta,retirada"'
    assert rule_under(meter, "Reinicio").formula1 == '"sí,no"'
    assert rule_under(plants, "Bandeja").formula1.startswith("OFFSET('Bandejas'!$A$2")
    assert rule_under(plants, "Peso fresco (g)").prompt.startswith("Peso en la cosecha")
    assert rule_under(meter, "Tratamiento").prompt.endswith(
        "O escriba todos. Obligatorio en cada fila."
    )
    assert meter["F2"].value == "primera lectura, al inicio"
    assert fields(book["Ensayo"])["Aleatorizado"].value == "sí"
    assert fields(book["Ensayo"])["Diseño"].value.startswith(
        "aleatorizado dentro de bloques, semilla 4711"
    )
    assert plants.oddHeader.right.text == "Página &P de &N"
    assert any("electricista" in str(row[2].value) for row in book["Ensayo"].iter_rows())


@pytest.mark.parametrize("words", vocabularies(), ids=lambda words: words.tag)
def test_no_prompt_is_longer_than_spreadsheet_programs_take(words):
    # ECMA-376 part 1, 18.3.1.32; a list of words within a formula may have 255 characters.
    for page in load_workbook(BytesIO(blank_workbook(BLOCKED, SHEETS, words))):
        for rule in page.data_validations.dataValidation:
            assert len(rule.prompt or "") <= 255
            assert len(rule.promptTitle or "") <= 32
            assert len(rule.error or "") <= 255
            assert rule.type != "list" or len(rule.formula1) <= 257
        assert len(page.title) <= 31  # Excel's limit for the name of a sheet


# ---- what a cell takes ---------------------------------------------------------------------------


@pytest.mark.parametrize(("sheet", "column", "letter"), columns())
def test_each_column_asks_for_what_its_declaration_says_down_to_the_last_row(sheet, column, letter):
    page = opened()[sheet.name]
    rule = rule_at(page, f"{letter}1048576")
    assert rule == rule_at(page, f"{letter}2")
    assert rule.prompt.startswith(hint_of(column))
    assert ("Needed" in rule.prompt) == column.required
    assert column.unit in rule.promptTitle
    # Longer texts make spreadsheet programs repair the file: ECMA-376 part 1, 18.3.1.32.
    assert len(rule.prompt) <= 255
    assert len(rule.promptTitle) <= 32
    assert len(rule.error or "") <= 255


def test_codes_of_other_sheets_are_offered_as_many_as_there_are():
    book = opened()
    rule = rule_under(book["Plants"], "Tray")
    assert rule.type == "list"
    assert rule.formula1 == "OFFSET('Trays'!$A$2,0,0,MAX(1,COUNTA('Trays'!$A$2:$A$1048576)),1)"
    assert rule.showErrorMessage
    assert rule_at(
        book["Trial"], fields(book["Trial"])["Reference treatment"].coordinate
    ).formula1.startswith("OFFSET('Treatments'!$A$2")


def test_a_word_that_stands_for_all_codes_may_be_typed_beside_the_list():
    rule = rule_under(opened()["Meter"], "Treatment")
    assert (rule.type, rule.showErrorMessage) == ("list", False)
    assert "Or type all." in rule.prompt


def test_listed_words_yes_and_no_and_dates_are_held_to():
    book = opened()
    assert rule_under(book["Plants"], "Status").formula1 == '"harvested,dead,removed"'
    assert rule_under(book["Meter"], "Reset").formula1 == '"yes,no"'
    dated = rule_under(book["Solution"], "Date")
    # Serial number of 2000-01-01 in the 1900 date system: ECMA-376 part 1, 18.17.4.1; Excel's
    # DATE(2000,1,1).
    assert (dated.type, dated.operator, dated.formula1) == ("date", "greaterThanOrEqual", "36526")


@pytest.mark.parametrize(
    ("column", "said", "kind", "operator", "bounds"),
    [
        (
            Column("a", Kind.NUMBER, unit="g", above=0),
            "above 0 g",
            "decimal",
            "greaterThan",
            ("0", None),
        ),
        (
            Column("a", Kind.COUNT, at_least=0),
            "at least 0",
            "whole",
            "greaterThanOrEqual",
            ("0", None),
        ),
        (
            Column("a", Kind.NUMBER, at_least=0, at_most=14),
            "0 to 14",
            "decimal",
            "between",
            ("0", "14"),
        ),
        (
            Column("a", Kind.NUMBER, unit="%", at_most=100),
            "at most 100%",
            "decimal",
            "lessThanOrEqual",
            ("100", None),
        ),
        (
            Column("a", Kind.LEVEL, at_least=0.5, at_most=0.999),
            "50% to 99.9%",
            "decimal",
            "between",
            ("0.5", "0.999"),
        ),
    ],
)
def test_numbers_are_held_within_their_bounds_with_a_message_that_names_them(
    column, said, kind, operator, bounds
):
    rule = rule_at(opened(sheets=(*SHEETS, Sheet("More", (column,))))["More"], "A2")
    assert limits(column) == said
    assert said in rule.error
    assert (rule.type, rule.operator, (rule.formula1, rule.formula2)) == (kind, operator, bounds)
    assert rule.errorStyle == ("warning" if column.unit else None), (
        "a number with another unit behind it may stay"
    )


def test_what_is_usual_is_told_and_not_enforced():
    rule = rule_under(opened()["Solution"], "pH")
    assert "Usual: 4 to 8.5." in rule.prompt
    assert rule.formula2 == "14"


def test_cells_are_formatted_for_what_they_hold_in_rows_still_to_come_too():
    book = opened()
    formats = {
        ("Solution", "Date"): "yyyy-mm-dd",
        ("Meter", "Read at"): "yyyy-mm-dd hh:mm",
        ("Trays", "Tray"): "@",
        ("Trays", "Plants started"): "0",
        ("Plants", "Fresh weight (g)"): "0.0####",
        ("Solution", "Volume (L)"): "0.00####",
    }
    for (sheet, name), shown in formats.items():
        cell = book[sheet][under(book[sheet], name)]
        assert cell.number_format == shown
        assert book[sheet].column_dimensions[cell.column_letter].number_format == shown
    assert fields(book["Trial"])["Started on"].number_format == "yyyy-mm-dd"


def test_a_code_that_looks_like_a_number_or_a_formula_stays_as_it_was_typed(tmp_path):
    plan = planned(["1.10", "=1+1"], blocks=0, trays=1, plants=1, seed=1)
    (treatments,) = [
        sheet
        for sheet in workbook.read(saved(tmp_path / "a.xlsx", plan)).sheets
        if sheet.name == "Treatments"
    ]
    assert [row[0] for row in treatments.rows[1:3]] == ["1.10", "=1+1"]
    assert treatments.uncomputed == {}


# ---- how it looks --------------------------------------------------------------------------------


def test_needed_columns_look_unlike_the_others_and_the_legend_says_so():
    book = opened()
    fills = {True: set(), False: set()}
    for sheet in TABLES:
        for cell, column in zip(book[sheet.name][1], sheet.columns, strict=True):
            fills[column.required].add(cell.fill.fgColor.rgb)
    assert len(fills[True]) == len(fills[False]) == 1
    assert fills[True] != fills[False]
    legend = {cell.value: cell.fill.fgColor.rgb for cell in book["Trial"]["B"] if cell.value}
    assert {legend["Dark header"]} == fills[True]
    assert {legend["Pale header"]} == fills[False]


def test_work_that_can_hurt_is_cautioned_against():
    care = next(row[2].value for row in opened()["Trial"].iter_rows() if row[1].value == "Care")
    assert all(
        word in care
        for word in ("Mains power near water", "UV light", "acids", "local codes", "electrician")
    )


def test_headers_and_what_names_the_row_stay_in_view():
    kept = {page.title: page.freeze_panes for page in opened()}
    assert (kept["Trial"], kept["Treatments"], kept["Plants"], kept["Solution"]) == (
        "B2",
        "B2",
        "C2",
        "A2",
    )


def test_every_sheet_prints_on_a4_as_wide_as_the_page_with_its_header_and_page_numbers():
    for page in opened():
        setup = page.page_setup
        assert (setup.paperSize, setup.fitToWidth, setup.fitToHeight) == (9, 1, 0), page.title
        assert page.sheet_properties.pageSetUpPr.fitToPage, page.title
        assert page.print_title_rows == "$1:$1", page.title
        assert (page.oddHeader.left.text, page.oddHeader.right.text) == ("&F", "Page &P of &N")
        assert page.oddHeader.center.text == "&B&A"
    assert {page.page_setup.orientation for page in opened()} == {"portrait", "landscape"}


def test_there_is_room_to_write_by_hand_and_a_log_has_spare_rows():
    book = opened()
    for name in ("Plants", "Solution", "Meter"):
        # Common practice: ruled paper has lines 7 to 9 mm apart; 1 pt is 25.4 / 72 mm.
        assert 7 <= book[name].row_dimensions[2].height * 25.4 / 72 <= 9
        assert all(cell.border.bottom.style for cell in book[name][book[name].max_row])
    assert book["Solution"].max_row == 1 + 16 + 17
    assert book["Plants"].max_row == 1 + 24


def test_a_thick_line_parts_the_plants_of_two_trays():
    thick = [
        row[0].row
        for row in opened()["Plants"].iter_rows(min_row=2)
        if row[0].border.top.style == "medium"
    ]
    assert thick == [5, 8, 11, 14, 17, 20, 23]


# ---- filled in -----------------------------------------------------------------------------------


def fill_in(path, words=ENGLISH):
    """Fill in what a grower would: dates, weights, volumes, readings; the workbook is in the
    language of `words`.
    """
    book = load_workbook(path)
    start, end = date(2026, 3, 2), date(2026, 4, 6)
    trial = fields(book[words.sheet_name("Trial")])
    for field, value in {
        "Title": "Warm roots",
        "Crop": "chard",
        "Started on": start,
        "Harvested on": end,
    }.items():
        trial[words.column_name("Trial", field)].value = value
    for row in book[words.sheet_name("Plants")].iter_rows(min_row=2):
        row[2].value = 30.0 + row[0].row % 7
    for row in book[words.sheet_name("Solution")].iter_rows(min_row=2):
        if row[0].value:
            row[1].value, row[3].value = (
                (start, 10.0) if row[2].value == words.word("fill") else (end, 4.0)
            )
    for row in book[words.sheet_name("Meter")].iter_rows(min_row=2):
        if row[0].value:
            first = row[5].value == words.text("first reading, at the start")
            row[2].value = datetime(2026, 3, 2, 8) if first else datetime(2026, 4, 6, 8)
            row[3].value = 100.0 if first else 140.5
    book.save(path)
    return path


@pytest.mark.parametrize("plan", [BLOCKED, LOOSE])
def test_filled_in_it_is_a_trial_without_a_problem_that_builds(tmp_path, plan):
    path = fill_in(saved(tmp_path / "trial.xlsx", plan))
    (built,) = pipeline.build((path,), tmp_path / "site", options=pipeline.BuildOptions(pdf=False))
    assert built.problems == ()
    assert "Warm roots" in built.page.read_text()
    trial = pipeline.checked(path)
    assert [(tray.code, tray.treatment) for tray in trial.trays] == [
        (one.tray, one.treatment) for one in places(plan)
    ]
    assert trial.reference == plan.treatments[0].code
    assert trial.about.randomised is True


@needs_libreoffice
def test_libreoffice_opens_it_and_saves_it_without_loss(tmp_path):
    path = saved(tmp_path / "trial.xlsx")
    again = converted(path, "xlsx", tmp_path)
    before, after = load_workbook(path), load_workbook(again)
    assert findings(again) == findings(path)
    for page in before:
        typed = {
            cell.coordinate: cell.value
            for row in page.iter_rows()
            for cell in row
            if cell.value is not None
        }
        kept = {
            c.coordinate: c.value
            for row in after[page.title].iter_rows()
            for c in row
            if c.value is not None
        }
        assert kept == typed
        asked = [
            {rule.prompt for rule in one.data_validations.dataValidation}
            for one in (page, after[page.title])
        ]
        assert asked[0] == asked[1]


@needs_libreoffice
def test_libreoffice_prints_it_on_a4(tmp_path):
    with pikepdf.open(converted(saved(tmp_path / "trial.xlsx"), "pdf", tmp_path)) as paper:
        sizes = [
            sorted(float(side) * 25.4 / 72 for side in page.mediabox[2:]) for page in paper.pages
        ]
    assert len(sizes) >= len(SHEETS)
    assert all(
        size == pytest.approx([210, 297], abs=0.5) for size in sizes
    )  # ISO 216, A4 in millimetres


@needs_libreoffice
def test_the_list_of_codes_grows_in_libreoffice_with_the_sheet_it_is_taken_from(tmp_path):
    path = saved(tmp_path / "trial.xlsx")
    book = load_workbook(path)
    source = rule_under(book["Plants"], "Tray").formula1
    book["Trays"]["A10"] = "T9"
    book.create_sheet("Counted")["A1"] = f"=ROWS({source})"
    book.save(path)
    assert (
        load_workbook(converted(path, "xlsx", tmp_path), data_only=True)["Counted"]["A1"].value == 9
    )
