"""The house: a room imports only what stands to its right, and help loads nothing heavy."""

import subprocess
import sys
import tomllib
from pathlib import Path

import grimp
import pytest

from tests.workbooks import least, write

ROOT = Path(__file__).parents[1]
BOOK = ROOT / "sample_workbook" / "pak-choi-root-warmth.xlsx"
HEAVY = (
    "pandas",
    "scipy",
    "altair",
    "weasyprint",
    "openpyxl",
    "pint",
    "vl_convert",
    "numpy",
    "jinja2",
)
NOT_TO_CHECK = ("pandas", "scipy.stats", "altair", "weasyprint", "vl_convert")


def test_a_room_imports_only_what_stands_to_its_right():
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "from importlinter.cli import lint_imports_command; lint_imports_command()",
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout
    assert "0 broken" in done.stdout


def test_layers_name_every_module_of_every_room_and_leave_out_no_import():
    rules = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]
    layered = [one for one in rules["contracts"] if one["type"] == "layers"]
    assert all(one["exhaustive"] for one in layered)
    covered = {name for one in layered for name in one["containers"]}
    graph = grimp.build_graph("reportgen")
    packages = {name for name in graph.find_children("reportgen") if graph.find_children(name)}
    assert covered == {"reportgen", *packages}
    assert not [key for one in rules["contracts"] for key in one if key.startswith("ignore")]
    assert "exclude_type_checking_imports" not in rules


def test_the_stages_of_taking_in_a_log_import_one_another_eight_deep_at_most():
    room = "reportgen.importing"
    graph = grimp.build_graph("reportgen")
    for stage in graph.find_children(room):
        graph.squash_module(stage)
    stages = graph.find_children(room)
    imported = {
        stage: graph.find_modules_directly_imported_by(stage) & stages - {stage} for stage in stages
    }

    def depth(stage: str) -> int:
        return max((1 + depth(other) for other in imported[stage]), default=0)

    assert max(map(depth, stages)) <= 8


def test_help_loads_nothing_heavy():
    program = (
        "import sys, click.testing, reportgen.cli as cli;"
        "runner = click.testing.CliRunner();"
        "words = [[], *([name] for name in cli.main.commands)];"
        "assert ['preview'] in words;"
        "shown = [runner.invoke(cli.main, [*word, '--help']) for word in words];"
        "assert all(one.exit_code == 0 and 'Usage' in one.output for one in shown);"
        f"print([name for name in {HEAVY!r} if name in sys.modules])"
    )
    shown = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert shown.stdout.strip() == "[]"


def loaded_by(names, *words):
    """Return which modules of `names` a command loads."""
    program = (
        "import sys, click.testing, reportgen.cli as cli;"
        f"ran = click.testing.CliRunner().invoke(cli.main, {list(map(str, words))!r});"
        "assert ran.exit_code == 0, ran.output;"
        f"print([name for name in {names!r} if name in sys.modules])"
    )
    shown = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    return shown.stdout.strip()


def test_a_check_loads_neither_charts_nor_layout_nor_distributions():
    assert loaded_by(NOT_TO_CHECK, "check", BOOK) == "[]"


def test_a_build_of_what_did_not_change_loads_nothing_heavy(tmp_path):
    book = write(least(), tmp_path / "trial.xlsx")
    words = ("build", book, "--out", tmp_path / "site", "--no-pdf")
    assert "altair" in loaded_by(HEAVY, *words)
    assert loaded_by(HEAVY, *words) == "[]"


def test_the_top_level_holds_only_what_was_agreed():
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    names = {name.split("/")[0] for name in tracked.stdout.splitlines()}
    if not names:
        pytest.skip("not a checkout: nothing is tracked here")
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "reportgen",
        "templates",
        "tests",
        "sample_workbook",
    }
    assert {name for name in names if not name.startswith(".")} <= agreed | {"LICENSE", "uv.lock"}
