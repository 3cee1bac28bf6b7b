"""The results file and the schema that describes it."""

import json
import subprocess
import sys
from dataclasses import fields, replace
from pathlib import Path

import pytest

from reportgen import metrics, pipeline
from reportgen.report.results_file import results_json
from tests.schema_of_results import SHIPPED, entries, schema_text
from tests.trials import trial

SAMPLES = sorted((Path(__file__).parent.parent / "sample_workbook").glob("*.xlsx"))


def validated(tmp_path, text):
    """Check a results file against the shipped schema by the reference checker of JSON Schema."""
    file = tmp_path / "results.json"
    file.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "check_jsonschema", "--schemafile", str(SHIPPED), str(file)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_the_shipped_schema_is_that_of_the_code():
    assert SHIPPED.read_text("utf-8") == schema_text(), "run: python tests/schema_of_results.py"


def test_every_field_is_described():
    schema = json.loads(schema_text())
    for kind in schema["$defs"].values():
        assert all(field.get("description") for field in kind["properties"].values()), kind["title"]
    assert all(
        field.get("description") or field.get("const") for field in schema["properties"].values()
    )
    assert all(kind.__doc__ and fields(kind) for kind in entries())


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_the_results_of_the_samples_keep_to_the_schema(sample, tmp_path):
    made = pipeline.checked(sample)
    checked = validated(tmp_path, results_json(made, metrics.compute(made)))
    assert checked.returncode == 0, checked.stdout


def one_tray_each():
    made = trial()
    first = {tray.treatment: tray for tray in reversed(made.trays)}
    return replace(made, trays=tuple(first.values()))


@pytest.mark.parametrize(
    "made", [trial(), one_tray_each(), replace(trial(), margin=0.1, varied="light")]
)
def test_the_results_of_made_trials_keep_to_the_schema(made, tmp_path):
    checked = validated(tmp_path, results_json(made, metrics.compute(made)))
    assert checked.returncode == 0, checked.stdout


def test_a_file_without_its_verdicts_does_not_keep_to_the_schema(tmp_path):
    made = trial()
    whole = json.loads(results_json(made, metrics.compute(made)))
    del whole["verdicts"]
    assert validated(tmp_path, json.dumps(whole)).returncode == 1
