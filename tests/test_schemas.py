"""The published schemas, and the documents that they describe: by the reference checker of JSON
Schema.
"""

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
import tomlkit
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from reportgen import metrics, pipeline, schemas, settings
from reportgen.cli import main
from reportgen.importing.json_document import FORMAT as ADOPT_FORMAT
from reportgen.model.problem import WorkbookError
from reportgen.problem_document import FORMAT as PROBLEMS_FORMAT
from reportgen.report import compose
from reportgen.report.results_file import results_json
from reportgen.report.results_model import FORMAT as RESULTS_FORMAT
from tests.schemas import DECLARING, entries, schema_text
from tests.test_importing_dialogue import FIELDS, PLAIN
from tests.trials import trial

SAMPLES = sorted((Path(__file__).parent.parent / "sample_workbook").glob("*.xlsx"))


def run(*words):
    return CliRunner().invoke(main, list(map(str, words)))


def schema(name):
    return json.loads(schemas.text(name))


def validated(tmp_path, name, text):
    """Check a document against a shipped schema, as its users would."""
    file = tmp_path / "document.json"
    file.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "check_jsonschema", "--schemafile", schemas.path(name), file]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def closed(value):
    """Return a schema in which no object may hold a field that is not described."""
    if isinstance(value, list):
        return [closed(one) for one in value]
    if not isinstance(value, dict):
        return value
    inner = {key: closed(one) for key, one in value.items()}
    if "properties" in value:
        return {"additionalProperties": False, **inner}
    return inner


def faults(name, document):
    """Return what is wrong with a document, fields that its schema does not describe too."""
    found = Draft202012Validator(closed(schema(name))).iter_errors(document)
    return [f"{'/'.join(map(str, one.absolute_path))}: {one.message}" for one in found]


@pytest.mark.parametrize("name", schemas.FILES)
def test_a_shipped_schema_is_that_of_the_code(name):
    assert schemas.text(name) == schema_text(name), "run: python tests/schemas.py"


@pytest.mark.parametrize("name", schemas.FILES)
def test_a_shipped_schema_is_one_and_the_command_prints_it(name):
    Draft202012Validator.check_schema(schema(name))
    printed = run("dictionary", "--schema", name)
    assert (printed.exit_code, printed.output) == (0, schemas.text(name))


def test_every_field_is_described():
    for name in schemas.FILES:
        for kind in (schema(name), *schema(name).get("$defs", {}).values()):
            for key, field in kind.get("properties", {}).items():
                assert field.get("description") or field.get("const"), (name, key)
    for module in DECLARING:
        assert entries(module)
        assert all(kind.__doc__ for kind in entries(module))


def test_the_names_of_the_files_have_the_versions_of_the_formats():
    assert schemas.FILES["results"].startswith(f"{RESULTS_FORMAT.replace('/', '-')}.")
    assert schemas.FILES["problems"].startswith(f"{PROBLEMS_FORMAT.replace('/', '-')}.")
    assert schemas.FILES["adopt"].startswith(f"{ADOPT_FORMAT}.")


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_the_results_and_the_data_of_the_samples_keep_to_their_schemas(sample, tmp_path):
    made = pipeline.checked(sample)
    results = metrics.compute(made)
    text = results_json(made, results)
    checked = validated(tmp_path, "results", text)
    assert checked.returncode == 0, checked.stdout

    document = compose(made, results)
    from reportgen.render import data, package

    recorded = data.render(document, {})
    files = package.render(document, document.dataset, recorded, address="https://example.org")
    described = json.loads(files[f"{made.slug}/data/datapackage.json"])
    assert described.pop("$schema") == package.PROFILE
    assert faults("package", described) == []


def one_tray_each():
    made = trial()
    first = {tray.treatment: tray for tray in reversed(made.trays)}
    return replace(made, trays=tuple(first.values()))


@pytest.mark.parametrize(
    "made", [trial(), one_tray_each(), replace(trial(), margin=0.1, varied="light")]
)
def test_the_results_of_made_trials_keep_to_the_schema(made, tmp_path):
    checked = validated(tmp_path, "results", results_json(made, metrics.compute(made)))
    assert checked.returncode == 0, checked.stdout


def test_a_file_without_its_verdicts_does_not_keep_to_the_schema(tmp_path):
    made = trial()
    whole = json.loads(results_json(made, metrics.compute(made)))
    del whole["verdicts"]
    assert validated(tmp_path, "results", json.dumps(whole)).returncode == 1


def test_problems_and_next_steps_keep_to_their_schema(tmp_path):
    blank = tmp_path / "blank.xlsx"
    run("new", blank, "--treatment", "plain", "--treatment", "warm", "--seed", 7)
    printed = run("check", blank, tmp_path / "none.xlsx", "--json", "--today", "2026-03-02")
    document = json.loads(printed.stdout)
    assert {one["severity"] for one in document["problems"]} == {"error", "to come"}
    assert document["next"]
    assert faults("problems", document) == []
    assert faults("problems", {**document, "format": "another"}) != []


def test_questions_figures_and_answers_about_a_log_keep_to_their_schemas(tmp_path):
    log = tmp_path / "log.csv"
    log.write_text(PLAIN.replace("Fresh weight (g)", "Weight (g)"), encoding="utf-8")
    asked = json.loads(run("adopt", log, "--json").stdout)
    assert faults("adopt", asked) == []
    choices = [choice for question in asked["questions"] for choice in question["choices"]]
    assert any({"gives", "may_give"} & set(choice) for choice in choices)

    answers = {**FIELDS, asked["questions"][0]["key"]: "Fresh weight"}
    assert faults("answers", answers) == []
    assert faults("answers", {"trial.crop": ["basil"]}) != []
    file = tmp_path / "answers.json"
    file.write_text(json.dumps(answers), encoding="utf-8")
    answered = json.loads(run("adopt", log, "--json", "--answers", file).stdout)
    assert faults("adopt", answered) == []
    assert answered["read"]

    refused = json.loads(run("adopt", tmp_path / "none.csv", "--json").stdout)
    assert refused["settings"] is None
    assert faults("adopt", refused) == []


def readme_settings():
    readme = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
    part = readme.split("## Settings of a site")[1]
    return part.split("```toml\n")[1].split("```")[0]


SETTINGS = {
    "none": ("", True),
    "of the README": (readme_settings().replace('logo = "logo.svg"\n', ""), True),
    "unknown": ('colour = "red"', False),
    "number": ("title = 3", False),
    "units": ('units = "stones"', False),
    "address": ('address = "example.org"', False),
    "yes": ('screens = "yes"', False),
    "menu": ('menu = "home"', False),
}


@pytest.mark.parametrize("name", SETTINGS)
def test_the_schema_of_settings_says_what_the_program_says(name, tmp_path):
    text, right = SETTINGS[name]
    file = tmp_path / "reportgen.toml"
    file.write_text(text, encoding="utf-8")
    try:
        settings.read_settings(file)
        taken = True
    except WorkbookError:
        taken = False
    assert taken is right
    assert (faults("settings", tomlkit.parse(text).unwrap()) == []) is right
