"""Taking in a log in its grower's own language: Spanish questions, answers and findings, the same
figures and the same settings file.

What is asked in Spanish is tested on logs whose own words are Spanish, so that an English word is
one of the program's.
"""

import ast
import inspect
import json
import re
from contextlib import suppress
from pathlib import Path

import pytest
from click.testing import CliRunner

from reportgen import importing, language
from reportgen.cli import main
from reportgen.importing import dialogue, session
from reportgen.importing.settings import dictionary, parsed, settings_file
from reportgen.model.problem import WorkbookError
from reportgen.report import read_back
from tests import (
    adopting,
    test_adopt_changes,
    test_importing_ledger,
    test_importing_plausibility,
    test_importing_settings,
)
from tests.logs_made import owner
from tests.logs_made.making import made
from tests.logs_made.writers import write
from tests.test_importing_dialogue import keys, log_file, typing

SPANISH = language.of("es")
# words that no Spanish sentence has, and hardly any English one lacks
ENGLISH_WORDS = re.compile(
    r"\b(?:the|of|and|is|are|was|were|which|what|that|with|where|each|than|from|not|this|these|its"
    r"|it|to|for|by|be|or|in|on|as|more|none|now|only|read|part|day|run|write|treatment|tray|plant"
    r"|plants|row|rows|column|value|values|weight|mean|confirm|correct|open|number|numbers)\b"
)
QUOTED = re.compile(r'"[^"]*"')
COMMANDS = re.compile(r"reportgen (?:check|adopt|build)(?: LOG)?")
# keys and values of the settings file are code, as are the names of its places
CODE = re.compile(
    r"\w+ = \S+|\b(?:column|over|title|part|fixed):[\w:]+|\bcovers\b|\bcount\b|\bunder\b|\{\{.*\}\}"
    r"|column:NAME.*order|\(\d of \d\)"
)
HEADS = "Tratamiento,Bandeja,Planta,Peso fresco (g)"
LOG = f"""{HEADS}
cálido,1,1,12
cálido,1,2,14
cálido,2,1,11
cálido,2,2,10
fresco,3,1,9
fresco,3,2,8
fresco,4,1,8.5
fresco,4,2,7.5
"""
FIELDS = ("Estantes cálidos", "albahaca", "2025-01-10", "2025-02-20", "2")
SPANISH_SEEDS = (0, 6, 9, 15, 19, 24)  # logs of the made ones whose headers are Spanish or alike


def english_in(text):
    """Return the English words of a text that are neither quoted nor code."""
    return ENGLISH_WORDS.findall(CODE.sub("", COMMANDS.sub("", QUOTED.sub("", text))))


@pytest.fixture(name="log")
def _log(tmp_path):
    return log_file(tmp_path, LOG, "registro.csv")


def talk(log, *words):
    """Return what is understood of a log after some words were typed, and what was shown."""
    shown: list[str] = []
    ask, prompts = typing(*words)
    state = dialogue.converse([log], None, dialogue.Terminal(ask, shown.append, read_back.lines))
    return state, "\n".join((*shown, *map(str, prompts)))


def asked_of(state):
    """Return all that a terminal may show of a state."""
    shown = [*dialogue.first_screen(state), *dialogue.read_lines(state, read_back.lines)]
    for question in state.questions:
        shown += [question.ask, question.hint, *dialogue.why(state, question)[:3]]
        for choice in question.choices:
            shown += [choice.text, choice.means, *dialogue.figures_lines(choice.gives)]
    return [*shown, *map(str, state.problems)]


@pytest.mark.parametrize("seed", SPANISH_SEEDS)
def test_a_log_is_asked_about_in_spanish_to_the_same_settings(tmp_path, monkeypatch, seed):
    log = made(seed)
    kept = {}
    for tag in ("en", "es"):
        folder = tmp_path / tag
        folder.mkdir()
        paths = write(log.log, folder)
        shown: list[str] = []
        understand = session.understand

        def noted(*args, understand=understand, shown=shown):
            state = understand(*args)
            shown.extend(asked_of(state))
            return state

        monkeypatch.setattr(session, "understand", noted)
        with language.using(language.of(tag)):
            outcome = owner.taken_in(log, paths)
        monkeypatch.setattr(session, "understand", understand)
        kept[tag] = outcome.kind, settings_file(paths[0]).read_text("utf-8")
        if tag == "es":
            assert len(shown) > 10
            own = {text for text in shown if english_in(text)}
            assert own == set()
    assert kept["en"] == kept["es"]


def test_the_dialogue_is_spanish_from_the_first_screen_to_the_read_back(log):
    with language.using(SPANISH):
        state, shown = talk(log, "?", *FIELDS, "sí")
    assert keys(state) == []
    assert "registro: plantas; Peso fresco" in shown or "registro: plantas; peso fresco" in shown
    assert "¿Es este su ensayo?" in shown
    assert "1  sí" in shown
    assert "2  no (después diga qué no está bien)" in shown
    assert "Lo que se leyó:" in shown
    assert english_in(shown) == []


def test_words_typed_in_spanish_mean_what_the_english_ones_do(log):
    english, _ = talk(log, *FIELDS, "no", "tray", "Bandeja + Planta", "as it is read now", "yes")
    with language.using(SPANISH):
        spanish, shown = talk(
            log, *FIELDS, "no", "bandeja", "Bandeja + Planta", "como se lee ahora", "si"
        )
    assert "Eso no encaja" not in shown
    assert spanish.settings == english.settings
    assert spanish.settings.confirmed["fresh_weight"]["cálido"][0] == 4
    assert english_in(shown) == []


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("ninguna", "none"),
        ("Ninguno", "none"),
        ("hoja", "sheet"),
        ("parte:Bandeja:1", "part:Bandeja:1"),
        ("fijo: todo", "fixed: todo"),
        ("Bandeja + archivo", "Bandeja + file"),
        ("columna:Bandeja", "column:Bandeja"),
        ("no forman parte del ensayo", "no part of the trial"),
    ],
)
def test_places_typed_in_spanish_are_kept_as_code(log, typed, kept):
    key = "registro.unit.other"
    with language.using(SPANISH):
        state, shown = talk(log, *FIELDS, "no", "bandeja", typed)
    assert "Eso no encaja" not in shown
    assert state.settings.answers[key] == kept
    # The next session may be held in another language.
    assert session.understand([log], state.settings).settings == state.settings


def test_steps_of_the_dialogue_can_be_typed_in_spanish(log):
    with language.using(SPANISH):
        state, shown = talk(log, "Título falso", "atrás", FIELDS[0], "saltar", "salir", "más")
    assert state.settings.trial == {"Title": FIELDS[0]}
    assert english_in(shown) == []


def test_what_does_not_fit_is_told_in_spanish(log):
    with language.using(SPANISH):
        _, shown = talk(log, *FIELDS[:2], "en primavera", "salir")
    assert "Eso no encaja. Se esperaba: un día escrito como 2025-03-31." in shown


@pytest.mark.parametrize("text", [text for text, *_ in test_importing_settings.MISTAKES])
def test_a_mistake_in_the_settings_file_is_told_in_spanish(text):
    with language.using(SPANISH), pytest.raises(WorkbookError) as caught:
        parsed(f"adopt = 2\n{text}\n", "log.adopt.toml")
    for problem in caught.value.problems:
        found = re.sub(r"línea \d+: \w+", "", problem.found)
        assert english_in(f"{found} {problem.advice}") == []
        assert english_in(problem.expected) == [] or problem.expected.startswith(("uno de", "{"))


def faults_of(module):
    """Return the tests of a module that take a log alone."""
    found = []
    for name, test in vars(module).items():
        if name.startswith("test_") and list(inspect.signature(test).parameters) == ["tmp_path"]:
            found.append(pytest.param(test, id=name))
    return found


@pytest.mark.parametrize(
    "case", [*faults_of(test_importing_plausibility), *faults_of(test_importing_ledger)]
)
def test_what_looks_wrong_in_a_log_is_found_and_told_in_spanish(tmp_path, monkeypatch, case):
    told: list[str] = []
    module = inspect.getmodule(case)
    for name in ("read", "read_log"):
        if hasattr(module, name):
            monkeypatch.setattr(module, name, noting(getattr(module, name), told))
    # What such a test says of English words is no matter here.
    with language.using(SPANISH), suppress(AssertionError):
        case(tmp_path)
    assert [text for text in told if english_in(text)] == []


def noting(read, told):
    """Return a function that reads a log, and notes what is said of it."""

    def noted(*args, **more):
        made = read(*args, **more)
        found = made.flags if hasattr(made, "flags") else made.problems
        for problem in found:
            told.extend((problem.found, problem.expected, problem.advice))
        return made

    return noted


def test_a_log_that_changed_is_told_of_in_spanish(tmp_path):
    def change(made):
        sheet = made["Log"]
        sheet["D1"] = "Peso (kg)"
        sheet["B3"] = "tibio"
        sheet["D4"] = "mojada"

    log = test_adopt_changes.taken(tmp_path, change)
    english = test_adopt_changes.told(log)
    with language.using(SPANISH):
        assert test_adopt_changes.told(log) == english
        said = CliRunner().invoke(main, ["check", str(log), "--language", "es"]).output
    assert english
    assert [line for line in said.replace("Log", "").splitlines() if english_in(line)] == []


def test_rows_are_named_in_spanish_as_their_owner_counts_them(tmp_path):
    head = ("Banco", "No", "Cálido", "peso")
    rows = [
        (bench, plant, mark, 20.5 + plant + (mark == "S"))
        for bench, mark in (("A", "S"), ("B", "N"), ("C", "S"), ("D", "N"))
        for plant in (1, 2, 3)
    ]
    rows[2] = ("A", 1, "S", 22.0)  # plant 1 of the second row of values again
    toml = adopting.PLANTS.replace("header_rows = [1]", "header_rows = [2]")
    for english, spanish in (
        ("Warm?", "Cálido"),
        ("Shelf", "Banco"),
        ('"wt"', '"peso"'),
        ("Y =", "S ="),
    ):
        toml = toml.replace(english, spanish)
    log = adopting.book(tmp_path, Log=[("Cosecha",), head, *rows])
    with language.using(SPANISH):
        said = adopting.said(log, toml + adopting.TRIAL)
    # The title is row 1 and the header row 2; the program's own sheet of plants has one header row.
    assert any("Log!B5" in one and "fila 3" in one for one in said), said


def test_the_command_speaks_spanish_and_its_document_english(log):
    def run(*words):
        return CliRunner().invoke(main, ["adopt", str(log), *words]).output

    said = run("--no-input", "--language", "es").replace(str(log.parent), "")
    assert "¿Cómo se llama el ensayo?" in said
    assert [line for line in said.splitlines() if english_in(re.sub(r"trial\.\w+", "", line))] == []
    settings_file(log).unlink()
    scripts = run("--json", "--language", "es")
    settings_file(log).unlink()
    assert scripts == run("--json")
    assert json.loads(scripts)["questions"][0]["ask"] == "What is the trial called?"


def test_the_page_of_settings_keys_stays_english():
    with language.using(SPANISH):
        spanish = dictionary()
    assert spanish == dictionary()


# --- every text goes by the catalogue

MAKERS = ("Problem", "Finding", "of_file", "Question", "ValueError", "WrongValue", "RefusedError")
FOLDER = Path(importing.__file__).parent


def loose_texts(path):
    """Return the texts of a module that go into a problem, question or refusal as they are."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if not isinstance(node, ast.Call) or getattr(node.func, "id", "") not in MAKERS:
            continue
        named = [each.value for each in node.keywords if each.arg != "code"]
        for given in (*node.args, *named):
            words = [
                part.value
                for part in getattr(given, "values", [given])
                if isinstance(part, ast.Constant) and isinstance(part.value, str)
            ]
            text = "".join(words)
            if isinstance(given, ast.Constant | ast.JoinedStr) and " " in text and english_in(text):
                yield f"{path.name}:{given.lineno}"


def test_no_problem_or_question_is_made_of_a_text_beside_the_catalogue():
    assert [place for path in FOLDER.rglob("*.py") for place in loose_texts(path)] == []
