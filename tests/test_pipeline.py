"""The whole program on real files: what is written, what stays, and what a user is told."""

import hashlib
import json
import subprocess
import sys

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook

from reportgen.cli import main
from tests.pots import LETTUCE, write_pots


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def digests(folder):
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def spoil(path):
    book = load_workbook(path)
    book["Plants"]["C3"] = "3O"
    book["Trays"]["B4"] = "contrl"
    book.save(path)


@pytest.fixture
def lettuce(tmp_path):
    return write_pots(tmp_path / "Lettuce 2026.xlsx", LETTUCE)


def test_a_workbook_becomes_page_figures_and_results(lettuce, tmp_path):
    done = run("build", lettuce, "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 0, done.output
    files = set(digests(tmp_path / "site"))
    assert {"index.html", "lettuce-2026/index.html", "lettuce-2026/results.json"} <= files
    assert any(name.startswith("lettuce-2026/figures/") for name in files)
    results = json.loads((tmp_path / "site/lettuce-2026/results.json").read_text("utf-8"))
    assert results["trial"]["source_sha256"] == hashlib.sha256(lettuce.read_bytes()).hexdigest()
    assert "Traceback" not in done.output


def test_building_again_gives_the_same_bytes_pdf_included(lettuce, tmp_path):
    for folder in ("one", "two"):
        assert run("build", lettuce, "--out", tmp_path / folder).exit_code == 0
    first = digests(tmp_path / "one")
    assert "lettuce-2026/report.pdf" in first
    assert first == digests(tmp_path / "two")


def test_a_workbook_with_errors_leaves_the_last_good_output_byte_for_byte(lettuce, tmp_path):
    site = tmp_path / "site"
    assert run("build", lettuce, "--out", site, "--no-pdf").exit_code == 0
    before = digests(site)
    spoil(lettuce)
    done = run("build", lettuce, "--out", site, "--no-pdf")
    assert done.exit_code == 1
    assert "Plants!C3" in done.output
    assert "Trays!B4" in done.output
    assert "Traceback" not in done.output
    assert digests(site) == before


def test_nothing_is_written_for_a_workbook_that_never_was_good(lettuce, tmp_path):
    spoil(lettuce)
    assert run("build", lettuce, "--out", tmp_path / "site").exit_code == 1
    assert not (tmp_path / "site").exists()


def test_a_folder_builds_the_good_workbooks_and_names_the_bad_one(lettuce, tmp_path):
    spoil(write_pots(tmp_path / "bad.xlsx", LETTUCE))
    (tmp_path / "~$bad.xlsx").write_bytes(b"lock")
    done = run("build", tmp_path, "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 1
    assert (tmp_path / "site/lettuce-2026/index.html").is_file()
    assert not (tmp_path / "site/bad").exists()
    assert "bad.xlsx: not built" in done.output


def test_check_prints_problems_as_json_for_scripts(lettuce):
    good = run("check", lettuce, "--json")
    assert good.exit_code == 0
    assert json.loads(good.stdout) == {"problems": []}
    spoil(lettuce)
    bad = run("check", lettuce, "--json")
    assert bad.exit_code == 1
    problems = json.loads(bad.stdout)["problems"]
    assert [(one["severity"], one["sheet"], one["cell"]) for one in problems] == [
        ("error", "Trays", "B4"),
        ("error", "Plants", "C3"),
    ]
    assert list(problems[0]) == ["severity", "sheet", "cell", "found", "expected", "advice"]


@pytest.mark.parametrize("words", [[], ["build"], ["check", "--jsn", "x.xlsx"], ["bild", "x.xlsx"]])
def test_wrong_usage_exits_with_2(words):
    assert run(*words).exit_code == 2


def test_a_missing_workbook_and_an_empty_folder_get_one_clear_message(tmp_path):
    for words in (["build", tmp_path / "none.xlsx"], ["check", tmp_path / "none.xlsx"], ["build", tmp_path]):
        done = run(*words)
        assert done.exit_code == 1
        assert "none.xlsx is not there" in done.output or "holds no workbook" in done.output
        assert "Traceback" not in done.output


def test_two_workbooks_of_one_name_are_not_written_over_each_other(lettuce, tmp_path):
    twin = write_pots(tmp_path / "lettuce-2026.xlsx", LETTUCE)
    done = run("build", lettuce, twin, "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 1
    assert "written over another trial" in done.output


def test_an_output_folder_that_is_a_file_is_refused(lettuce, tmp_path):
    (tmp_path / "site").write_text("mine")
    done = run("build", lettuce, "--out", tmp_path / "site")
    assert done.exit_code == 2
    assert (tmp_path / "site").read_text() == "mine"


def test_the_old_file_stays_whole_when_writing_fails(tmp_path, monkeypatch):
    from reportgen import pipeline

    (tmp_path / "results.json").write_bytes(b"old")
    monkeypatch.setattr(pipeline.os, "replace", lambda *_: (_ for _ in ()).throw(OSError(28, "No space left")))
    with pytest.raises(OSError, match="No space left"):
        pipeline.write(tmp_path, {"results.json": b"new"})
    assert (tmp_path / "results.json").read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["results.json"]


def test_without_pango_the_page_is_built_and_the_message_says_how_to_get_the_pdf(lettuce, tmp_path, monkeypatch):
    from reportgen import render

    def unavailable():
        raise render.PdfUnavailable("The PDF needs Pango.")

    monkeypatch.setattr(render.paper, "require", unavailable)
    done = run("build", lettuce, "--out", tmp_path / "site")
    assert done.exit_code == 0
    assert "The PDF needs Pango." in done.output
    page = (tmp_path / "site/lettuce-2026/index.html").read_text("utf-8")
    assert "report.pdf" not in page


def test_the_command_shows_its_version_and_no_bar_when_not_at_a_terminal(lettuce, tmp_path):
    shown = subprocess.run([sys.executable, "-m", "reportgen", "--version"], capture_output=True, text=True, check=True)
    assert shown.stdout.startswith("reportgen, version ")
    words = [sys.executable, "-m", "reportgen", "build", str(lettuce), "--out", str(tmp_path / "site"), "--no-pdf"]
    built = subprocess.run(words, capture_output=True, text=True, check=True)
    assert "Building" not in built.stderr + built.stdout
