"""What commands say in the grower's own language: the same findings, no English sentence left over,
and English for scripts.
"""

import json
import re
from datetime import date

import pytest
from babel.messages import Catalog
from babel.messages.mofile import write_mo
from click.testing import CliRunner

from reportgen import language, workbook
from reportgen.cli import main
from reportgen.workbook.declaration import SHEETS
from tests import test_light_planning, workbooks
from tests.test_workbook_problems import MISTAKES
from tests.workbooks import findings, good, put, write

SPANISH = language.of("es")
# words that no Spanish sentence has, and hardly any English one lacks
ENGLISH_WORDS = re.compile(
    r"\b(?:the|is|are|was|were|not|of|with|from|and|or|it|its|this|that|than|which|there|has|have"
    r"|stands?|type|check|mend|delete|fill|more|each|once|every|beside|out|left)\b",
    re.IGNORECASE,
)
QUOTED = re.compile(r'"[^"]*"')
COMMANDS = re.compile(r"reportgen (?:check|adopt|new|build)|--[a-z-]+")
# sheets, columns, units and choices stay as the workbook has them
OWN_WORDS = sorted(
    {
        word
        for sheet in SHEETS
        for column in sheet.columns
        for word in (sheet.name, column.header, column.name, *column.choices)
    },
    key=len,
    reverse=True,
)


def english_in(text):
    """Return the English words of a text that are not the workbook's own, nor of a command."""
    own = COMMANDS.sub("", QUOTED.sub("", text))
    for word in OWN_WORDS:
        own = re.sub(re.escape(word), "", own, flags=re.IGNORECASE)
    return ENGLISH_WORDS.findall(own)


def run(*words, **environment):
    """Run a command in an environment that names no language but those given."""
    unset = dict.fromkeys(language.VARIABLES)
    return CliRunner().invoke(main, list(map(str, words)), env={**unset, **environment})


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_told_in_spanish_with_the_same_code_and_place(tmp_path, mistake):
    path = write(MISTAKES[mistake][0](good()), tmp_path / "trial.xlsx")
    english = findings(path)
    with language.using(SPANISH):
        spanish = findings(path)
        texts = [(one.finding, str(one)) for one in spanish]
    assert [(one.code, one.severity, one.sheet, one.cell, one.count) for one in spanish] == [
        (one.code, one.severity, one.sheet, one.cell, one.count) for one in english
    ]
    for said, before in zip(texts, english, strict=True):
        assert said[0] != before.finding
        assert [english_in(one) for one in said] == [[], []], said


def test_a_spanish_check_has_a_spanish_head_and_end(tmp_path):
    path = write(put(good(), Plants_C5="12O"), tmp_path / "trial.xlsx")
    done = run("check", path, "--language", "es")
    assert done.exit_code == 1
    assert "  error: Plants!C5:" in done.output
    assert "Escriba 120" in done.output
    assert done.output.endswith("trial.xlsx: 1 error\n")
    assert english_in(done.output) == []


@pytest.mark.parametrize(
    ("environment", "is_spanish"),
    [
        ({"LANG": "es_ES.UTF-8"}, True),
        ({"LC_MESSAGES": "es_MX", "LANG": "en_GB.UTF-8"}, True),
        ({"LC_ALL": "C", "LC_MESSAGES": "es_ES.UTF-8"}, False),
        ({"LC_ALL": "", "LANG": "es@euro"}, True),
        ({"LANG": "xx_XX.UTF-8"}, False),
        ({}, False),
    ],
)
# POSIX.1-2017, chapter 8.2: LC_ALL stands above the category's own variable, and that above LANG;
# one that is empty counts as unset.
def test_the_system_names_the_language(tmp_path, environment, is_spanish):
    path = write(good(), tmp_path / "trial.xlsx")
    said = run("check", path, **environment).output
    assert ("sin problemas" in said) is is_spanish
    assert ("no problems" in said) is not is_spanish


def test_a_further_language_needs_one_file(tmp_path, monkeypatch):
    catalogue = Catalog("pt")
    catalogue.add("no problems", "nenhum problema")
    path = tmp_path / "pt" / language.OF_TERMINAL
    path.parent.mkdir(parents=True)
    with path.open("wb") as file:
        write_mo(file, catalogue)
    monkeypatch.setattr(language, "FOLDER", tmp_path)
    book = write(good(), tmp_path / "trial.xlsx")
    assert "nenhum problema" in run("check", book, LANG="pt_BR.UTF-8").output
    assert not language.is_spoken("pt")


def test_an_option_stands_above_the_system(tmp_path):
    path = write(good(), tmp_path / "trial.xlsx")
    assert "no problems" in run("check", path, "--language", "en", LANG="es_ES.UTF-8").output


def test_scripts_read_english_in_every_language(tmp_path):
    path = write(put(good(), Plants_C5="12O"), tmp_path / "trial.xlsx")
    plain = run("check", path, "--json").output
    assert run("check", path, "--json", LANG="es_ES.UTF-8").output == plain
    assert run("check", path, "--json", "--language", "es").output == plain
    assert json.loads(plain)["problems"][0]["code"] == "not_a_number"


def test_a_plan_is_spanish_from_the_first_line_to_the_command():
    words = ("plan", "--difference", 20, "--treatment", "a", "--treatment", "b", "--blocks")
    said = run(*words, "--seed", 1, "--language", "es").output
    assert "Para disponerlo, escriba:" in said
    assert "20\N{NO-BREAK SPACE}%" in said
    assert english_in(said.replace("Uniformity trial size in estimates", "")) == []


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ((), "No se escribió un objetivo"),
        (("--ppfd", 200), "Objetivo: luz media (PPFD) de 200"),
        (("--ppfd", 5), "está fuera de lo que se leyó"),
        (("--dli", 11.52), "Objetivo: luz de un día (DLI)"),
    ],
)
def test_light_is_matched_in_spanish(tmp_path, options, said):
    path = write(test_light_planning.sheets(), tmp_path / "trial.xlsx")
    done = run("plan", "--light", path, *options, "--language", "es")
    assert done.exit_code == 0
    assert said in done.output
    assert english_in(done.output) == []


@pytest.mark.parametrize(
    "text",
    [
        "title = 5",
        'adress = "https://example.org"',
        'address = "example.org"',
        'domain = "https://example.org"',
        'currency = "Taler"',
        'language = "Klingon, please"',
        'units = "imperial"',
        "screens = 1",
        "menu = 1",
        'menu = {"a" = "javascript:alert(1)"}',
        'templates = "nowhere"',
        'logo = "nowhere.svg"',
        '[theme]\naccent = "url(x)"',
        '[theme]\nfont = "a:b"',
        "theme = 1",
    ],
)
def test_faults_of_the_settings_are_told_in_spanish(tmp_path, text):
    path = write(good(), tmp_path / "trial.xlsx")
    (tmp_path / "reportgen.toml").write_text(text, "utf-8")
    done = run("check", path, "--language", "es")
    assert done.exit_code == 1
    assert "; se esperaba" in done.output
    assert english_in(done.output.replace(str(tmp_path), "")) == []


@pytest.mark.parametrize(
    "wrong",
    [
        ("plan",),
        ("plan", "--difference", 20, "--ppfd", 5),
        ("new", "a.pdf", "--treatment", "a"),
        ("new", "a.xlsx"),
        ("new", "a.xlsx", "--treatment", "a"),
        ("new", "a.xlsx", "--treatment", "a", "--treatment", "b", "--with", "moon"),
        ("new", "a.xlsx", "--factor", "light"),
        ("check", "nowhere.xlsx"),
    ],
)
def test_what_is_typed_wrong_is_told_in_spanish(tmp_path, monkeypatch, wrong):
    monkeypatch.chdir(tmp_path)
    done = run(*wrong, LANG="es_ES.UTF-8")
    assert done.exit_code > 0
    said = done.output.rsplit("Error: ", 1)[-1]
    assert english_in(said) == []


def test_a_new_workbook_is_named_in_the_language_of_its_sheets(tmp_path):
    words = ("new", tmp_path / "ensayo.xlsx", "--treatment", "a", "--treatment", "b")
    done = run(*words, "--language", "es")
    assert done.exit_code == 0
    assert "completamente aleatorizado" in done.output
    assert "Hojas: Ensayo, Tratamientos, Bandejas, Plantas." in done.output
    assert english_in(done.output.replace(str(tmp_path), "")) == []


def test_what_comes_next_is_told_in_spanish(tmp_path):
    sheets = put(good(), Trial_B5=None)
    sheets["Plants"] = [row[:2] for row in sheets["Plants"]]
    path = write(sheets, tmp_path / "trial.xlsx")
    with language.using(SPANISH):
        outlook = workbook.outlook(workbook.read(path), date(2026, 4, 1))
        texts = [step.text for step in outlook.steps] + list(map(str, outlook.problems))
    assert texts
    assert [english_in(text) for text in texts if english_in(text)] == []


def test_a_build_notes_what_it_found_in_english_and_says_it_in_spanish(tmp_path):
    sheets = put(workbooks.least(), Trays_F1="Moon", Trays_F2="full")
    path = write(sheets, tmp_path / "trial.xlsx")
    done = run("build", path, "--out", tmp_path / "site", "--no-pdf", "--language", "es")
    assert done.exit_code == 0, done.output
    assert english_in(done.output.replace(str(tmp_path), "")) == []
    held = json.loads((tmp_path / "site" / "trial" / "results.json").read_text("utf-8"))
    assert held["problems"]
    for problem in held["problems"]:
        assert english_in(problem["found"] + problem["advice"])
    again = run("build", path, "--out", tmp_path / "site", "--no-pdf")
    assert "unchanged" in again.output


def test_a_marked_copy_is_known_as_one_in_every_language(tmp_path):
    path = write(put(good(), Plants_C5="12O"), tmp_path / "trial.xlsx")
    copy = tmp_path / "copy.xlsx"
    run("check", path, "--marked", copy, "--language", "es")
    again = run("check", path, "--marked", copy)
    assert "not overwritten" not in again.output
    assert again.exit_code == 1
