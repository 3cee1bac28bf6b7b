"""How commands speak: to people, to scripts, to logs, in colour or without."""

import json
import os
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import click
import pytest
import yaml
from click.testing import CliRunner

from reportgen import __version__, console
from reportgen.cli import main
from tests.workbooks import least, put, write

pytestmark = pytest.mark.usefixtures("made_once")
RED = "\x1b[31m"
SEVERAL = ("build", "check", "new", "plan")


def run(*words, **environment):
    return CliRunner().invoke(main, [str(word) for word in words], env=environment)


@pytest.fixture
def right(tmp_path):
    return write(least(), tmp_path / "right.xlsx")


@pytest.fixture
def doubtful(tmp_path):
    """Give a workbook with a caution: a tray lists fewer plants than it began with."""
    return write(put(least(), Trays_D2=5), tmp_path / "doubtful.xlsx")


@pytest.fixture
def wrong(tmp_path):
    return write(put(least(), Plants_C2="12O"), tmp_path / "wrong.xlsx")


# ---- to people -----------------------------------------------------------------------------------


@pytest.mark.parametrize("word", ["-V", "--version"])
def test_the_version_is_told(word):
    assert run(word).output == f"reportgen, version {__version__}\n"


def test_a_caution_fails_a_strict_check_alone(doubtful):
    usual = run("check", doubtful)
    assert "caution" in usual.output
    assert usual.exit_code == 0
    strict = run("check", doubtful, "--strict")
    assert strict.exit_code == 1
    assert strict.output == usual.output


def test_a_strict_check_without_cautions_passes(right):
    assert run("check", right, "--strict").exit_code == 0


def test_a_strict_build_writes_the_report_and_fails(doubtful, tmp_path):
    words = ("build", doubtful, "--out", tmp_path / "site", "--no-pdf")
    assert run(*words).exit_code == 0
    assert run(*words, "--strict").exit_code == 1
    assert (tmp_path / "site/doubtful/index.html").is_file()


def test_a_quiet_command_says_nothing_of_what_is_right(right, doubtful, tmp_path):
    assert run("check", "-q", right).output == ""
    assert run("check", "-q", doubtful).output == ""
    assert run("build", "-q", doubtful, "--out", tmp_path / "site", "--no-pdf").output == ""
    words = ("--treatment", "plain", "--treatment", "warm")
    assert run("new", "--quiet", tmp_path / "new.xlsx", *words).output == ""
    assert (tmp_path / "new.xlsx").is_file()


def test_a_quiet_command_names_each_error_and_its_workbook(right, wrong, tmp_path):
    checked = run("check", "-q", right, wrong)
    assert checked.exit_code == 1
    assert "wrong.xlsx: 1 error" in checked.output
    assert 'Plants!C2: "12O" is not a number' in checked.output
    assert "right.xlsx" not in checked.output
    built = run("build", "-q", right, wrong, "--out", tmp_path / "site", "--no-pdf")
    assert "wrong.xlsx: not built" in built.output
    assert "right.xlsx" not in built.output


def test_a_verbose_command_says_what_is_read_kept_and_written(right, tmp_path):
    words = ("build", "-v", right, "--out", tmp_path / "site", "--no-pdf")
    first, second = run(*words).stderr, run(*words).stderr
    assert f"{right} is read" in first
    assert "files of its report are written" in first
    assert f"{right}: kept" in second
    assert "is read" not in second
    assert run("check", right).stderr == ""


@pytest.mark.parametrize("command", SEVERAL)
def test_quiet_and_verbose_exclude_each_other(command):
    done = run(command, "-q", "-v", "file.xlsx")
    assert done.exit_code == 2
    assert "Type --quiet or --verbose, not both." in done.output


# no-color.org: NO_COLOR, present and not empty, prevents colour; force-color.org: FORCE_COLOR, the
# same, forces it. Python's own traceback and help give NO_COLOR the precedence ("Controlling
# color" in its documentation of the command line).
@pytest.mark.parametrize(
    ("environment", "coloured"),
    [
        ({}, False),  # no terminal
        ({"FORCE_COLOR": "1"}, True),
        ({"FORCE_COLOR": ""}, False),
        ({"FORCE_COLOR": "1", "NO_COLOR": "1"}, False),
        ({"FORCE_COLOR": "1", "NO_COLOR": ""}, True),
    ],
)
def test_colours_are_for_terminals_or_as_the_environment_says(wrong, environment, coloured):
    unset = {"NO_COLOR": None, "FORCE_COLOR": None}
    done = run("check", wrong, **(unset | environment))
    assert (RED in done.stderr) is coloured
    assert ("\x1b" in done.output) is coloured


# ---- to logs -------------------------------------------------------------------------------------


def progress(seconds_each, number, **volume):
    """Return the lines that are said while items take so many seconds each."""
    now = 0
    done = []

    def work():
        nonlocal now
        for item in range(number):
            now += seconds_each
            yield item

    @click.command()
    @console.with_volume
    def command():
        done.extend(console.with_progress(work(), number, clock=lambda: now))

    said = CliRunner().invoke(command, ["--quiet"] if volume.get("quiet") else [])
    assert done == list(range(number))
    return said.stderr.splitlines()


def test_a_pipe_gets_a_line_of_progress_every_few_seconds():
    assert progress(2, 7) == ["Building: 3 of 7", "Building: 6 of 7"]


def test_quick_work_and_quiet_commands_say_nothing_of_progress():
    assert progress(1, 4) == []
    assert progress(60, 3, quiet=True) == []
    assert progress(60, 1) == []


# ---- to scripts ----------------------------------------------------------------------------------


def document(*words, exit_code=0):
    done = run(*words, "--json", LANG="es_ES.UTF-8")
    assert done.exit_code == exit_code, done.output
    return json.loads(done.stdout)


def test_a_build_tells_scripts_what_came_of_each_workbook(right, wrong, tmp_path):
    words = ("build", right, wrong, "--out", tmp_path / "site", "--no-pdf")
    told = document(*words, exit_code=1)
    page = str(tmp_path / "site/right/index.html")
    states = [(one["workbook"], one["state"], one["page"]) for one in told["reports"]]
    assert states == [(str(right), "built", page), (str(wrong), "failed", None)]
    (problem,) = [one for one in told["problems"] if one["severity"] == "error"]
    assert problem["workbook"] == str(wrong)
    assert (problem["sheet"], problem["cell"]) == ("Plants", "C2")
    assert problem["code"] == "not_a_number"
    assert "is not a number" in problem["found"]
    wrong.unlink()
    again = document("build", right, "--out", tmp_path / "site", "--no-pdf")
    assert [one["state"] for one in again["reports"]] == ["unchanged"]


def test_a_build_names_reports_of_earlier_builds_and_empty_folders_to_scripts(right, tmp_path):
    site = tmp_path / "site"
    document("build", right, "--out", site, "--no-pdf")
    other = write(put(least(), Trial_B2="Another"), tmp_path / "other.xlsx")
    told = document("build", other, "--out", site, "--no-pdf")
    assert told["unlisted"] == [str(site / "right")]
    (tmp_path / "empty").mkdir()
    refused = document("build", tmp_path / "empty", "--out", site, exit_code=1)
    assert [one["code"] for one in refused["problems"]] == ["empty_folder"]


def test_a_blank_workbook_tells_scripts_the_place_of_every_tray(tmp_path):
    path = tmp_path / "new.xlsx"
    words = ("--treatment", "plain", "--treatment", "warm", "--blocks", "3", "--seed", "7")
    told = document("new", path, *words, "--with", "energy")
    assert told["workbook"] == str(path)
    assert "Meter" in told["sheets"]
    assert told["seed"] == 7
    trays = [(one["block"], one["treatment"]) for one in told["trays"]]
    assert sorted(trays) == [(block, name) for block in (1, 2, 3) for name in ("plain", "warm")]


def test_a_plan_tells_scripts_the_trays_and_the_command():
    words = ("--difference", "20", "--between", "10", "--within", "30", "--seed", "7")
    told = document("plan", *words)
    assert told["variation"]["between"] == pytest.approx(0.10)
    assert told["variation"]["within"] == pytest.approx(0.30)
    assert f"--trays {told['trays']}" in told["command"]
    plain = run("plan", *words)
    assert f"{told['trays']} trays a treatment" in plain.output
    assert told["command"] in plain.output
    smallest = [row["smallest"] for row in told["smallest_differences"]]
    assert smallest == sorted(smallest, reverse=True)


def test_a_plan_of_factors_tells_scripts_each_effect():
    factors = ("--factor", "light=low,high", "--factor", "feed (g/L)=0,1,2")
    told = document("plan", "--difference", "20", *factors)
    assert {one["factor"] for one in told["effects"]} == {"light", "feed"}
    assert told["trays"] == max(one["trays"] for one in told["effects"])


def test_a_plan_from_a_wrong_workbook_tells_scripts_the_problems(wrong):
    told = document("plan", wrong, "--difference", "20", exit_code=1)
    assert [one["code"] for one in told["problems"]] == ["not_a_number"]


def test_a_plan_of_light_tells_scripts_heights_with_their_units(tmp_path):
    header = ["Treatment", "X (cm)", "Y (cm)", "Height (cm)", "PPFD"]
    rows = [["a", x, 0, height, 8000 / height + x] for height in (20, 30, 40) for x in (0, 10)]
    sheets = {"Treatments": [["Treatment", "Name"], ["a", "Lamp"]], "Light": [header, *rows]}
    path = write(sheets, tmp_path / "light.xlsx")
    told = document("plan", "--light", path, "--ppfd", "250")
    (one,) = told["treatments"]
    assert told["units"]["height"] == "cm"
    assert one["ppfd"] == pytest.approx(250)
    assert 30 < one["height"]["height"] < 40


# ---- to shells -----------------------------------------------------------------------------------


def test_a_shell_completes_the_names_of_commands():
    asked = {"COMP_WORDS": "reportgen bu", "COMP_CWORD": "1"}
    environment = os.environ | asked | {"_REPORTGEN_COMPLETE": "bash_complete"}
    words = [sys.executable, "-m", "reportgen"]
    done = subprocess.run(words, env=environment, capture_output=True, text=True, check=False)
    assert done.stdout == "plain,build\n"


def test_each_command_has_a_manual_page_with_its_options(tmp_path):
    core = pytest.importorskip("click_man.core")
    core.write_man_pages(
        "reportgen", main, version=version("reportgen-trials"), target_dir=str(tmp_path)
    )
    for name, command in main.commands.items():
        page = (tmp_path / f"reportgen-{name}.1").read_text("utf-8")
        for option in command.params:
            for word in option.opts:
                if word.startswith("-"):
                    assert word.replace("-", r"\-") in page, (name, word)


# ---- in the README -------------------------------------------------------------------------------


def readme():
    return (Path(__file__).parents[1] / "README.md").read_text("utf-8")


@pytest.mark.parametrize("name", sorted(main.commands))
def test_every_option_of_every_command_has_its_line_in_the_readme(name):
    text = readme()
    assert f"reportgen {name} " in text
    for option in main.commands[name].params:
        long = max(option.opts, key=len)
        assert not long.startswith("-") or f"{long}" in text, long


def test_the_workflow_of_the_readme_runs_commands_that_there_are():
    text = readme().partition("<!-- workflow -->")[2]
    steps = yaml.safe_load(text.split("```")[1].removeprefix("yaml"))["jobs"]["site"]["steps"]
    lines = [step["run"].split() for step in steps if step.get("run", "").startswith("reportgen")]
    assert lines
    for _, name, *words in lines:
        main.commands[name].make_context(name, words)
