"""The command: a spreadsheet is taken in, its questions answered, its settings file written, used
and kept.
"""

import hashlib
import json
import shutil

import pytest
from click.testing import CliRunner

from reportgen import metrics, pipeline, report
from reportgen.cli import main
from reportgen.importing.settings import read_settings, settings_file
from reportgen.model.problem import WorkbookError
from tests.adopting import DATA, adopt, answering, book, rows

OWN = {"treatment": "Warm?", "plant": "plant: No"}


def run(*words):
    return CliRunner().invoke(main, list(map(str, words)))


@pytest.fixture
def log(tmp_path):
    return book(tmp_path, Log=rows())


def test_a_log_whose_questions_are_answered_is_built(log, tmp_path):
    before = hashlib.sha256(log.read_bytes()).hexdigest()
    taken, said = adopt(log, talk=answering(**OWN))
    assert taken.state.questions == ()
    assert "Log: plants; fresh weight in wt; treatment in Warm?; tray in Shelf; plant in No" in said
    done = run("build", log, "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 0, done.output
    page = (tmp_path / "site" / "log" / "index.html").read_text()
    assert "log.xlsx, sheet Log, column D: wt" in page
    results = json.loads((tmp_path / "site" / "log" / "results.json").read_text())
    assert not any("trace" in key for key in results)
    assert (
        hashlib.sha256(log.read_bytes()).hexdigest() == before
    )  # the spreadsheet is never changed


def test_without_questions_each_open_thing_is_named(log):
    done = run("adopt", log, "--no-input")
    assert done.exit_code == 1
    assert "log.adopt.toml is written" in done.output
    assert 'open: Log.measure.wt: In which unit are the numbers in "wt" of Log' in done.output
    checked = run("check", log)
    assert checked.exit_code == 1
    assert "Run reportgen adopt log.xlsx and answer its questions" in checked.output


def test_where_nobody_sits_at_a_terminal_nothing_is_asked(log):
    done = run("adopt", log)
    assert done.exit_code == 1
    assert "Answer:" not in done.output


def test_what_was_answered_before_quitting_is_kept_and_not_asked_again(log):
    adopt(log, talk=answering(stop="plant", **OWN))
    assert '"Log.measure.wt" = "g"' in settings_file(log).read_text()
    taken, _ = adopt(log, talk=answering(unit="kg", measure="Dry weight", **OWN))
    assert taken.state.questions == ()
    assert '{"Fresh weight" = {columns = ["wt"], unit = "g"}}' in settings_file(log).read_text()


def test_the_column_of_the_treatment_may_be_named_later(tmp_path):
    held = [
        ("Shelf", "Colour", "Fresh weight (g)"),
        *((f"T{n % 4}", "rb"[n % 2], 20.5 + n) for n in range(8)),
    ]
    log = book(tmp_path, Log=held)
    adopt(log)
    taken, _ = adopt(
        log, talk=answering(treatment="treatment: Colour", covers="each value is of one plant")
    )
    assert taken.state.questions == ()
    assert 'treatment = "column:Colour"' in settings_file(log).read_text()


def test_taking_in_again_changes_no_byte_of_what_its_owner_wrote(log):
    adopt(log, talk=answering(**OWN))
    settings = settings_file(log)
    own = (
        settings.read_text()
        .replace("[trial]", "# mine, in Windows\n[trial]")
        .replace("\n", "\r\n")
        .encode()
    )
    settings.write_bytes(own)
    adopt(log, talk=answering(unit="oz", **OWN))
    assert settings.read_bytes() == own


@pytest.mark.parametrize(("unit", "system"), [("oz", "us"), ("g", "metric")])
def test_a_log_has_its_page_in_the_units_that_it_was_typed_in(log, unit, system):
    adopt(log, talk=answering(unit=unit, **OWN))
    taken = pipeline.checked(log)
    assert taken.typed_in == system
    document = report.compose(taken, metrics.compute(taken))
    assert document.box.rows[0].unit == f"{unit}/plant"


def test_an_owners_own_words_stay_and_a_new_word_is_asked(tmp_path):
    log = book(tmp_path, Log=rows())
    adopt(log, talk=answering(**OWN))
    book(tmp_path, Log=rows("escaped", 21.0))
    taken, _ = adopt(log)
    assert [question.key for question in taken.state.questions] == ["word.escaped"]
    taken, _ = adopt(log, talk=answering(word="plant lost"))
    assert taken.state.questions == ()
    assert 'lost = ["escaped"]' in settings_file(log).read_text()


def test_the_files_of_a_folder_make_one_trial(tmp_path):
    folder = tmp_path / "winter"
    folder.mkdir()
    for name, start in (("log_warm.csv", 20), ("log_plain.csv", 17)):
        lines = [f"{pot},{start + pot * 1.1:.1f}" for pot in range(1, 5)]
        (folder / name).write_text("\n".join(["Pot,Fresh weight (g)", *lines]))
    taken, _ = adopt(
        folder, talk=answering(treatment="treatment: part", covers="each value is of one plant")
    )
    assert (taken.source.name, taken.state.questions) == ("log_plain.csv", ())
    assert read_settings(taken.settings).files == ("log_warm.csv",)
    done = run("check", folder)
    assert done.output.count("log_warm.csv: ") == 0  # it is read with the other
    assert "log_plain.csv: " in done.output
    assert done.exit_code == 0, done.output


def test_a_report_is_built_again_where_only_the_settings_changed(log, tmp_path):
    adopt(log, talk=answering(**OWN))
    out = ("--out", tmp_path / "site", "--no-pdf")
    run("build", log, *out)
    assert "(unchanged)" in run("build", log, *out).output
    settings = settings_file(log)
    settings.write_text(settings.read_text().replace('Title = "Log"', 'Title = "Warm shelves"'))
    assert "(unchanged)" not in run("build", log, *out).output
    assert "Warm shelves" in (tmp_path / "site" / "log" / "index.html").read_text()


def test_a_marked_copy_marks_the_owners_cells(log, tmp_path):
    from openpyxl import load_workbook

    adopt(log, talk=answering(**OWN))
    book(tmp_path, Log=rows(*[20.1 + n / 10 for n in range(5)], 2060.0))
    done = run("check", log, "--marked", tmp_path / "marked.xlsx")
    assert done.exit_code == 1
    marked = load_workbook(tmp_path / "marked.xlsx")
    assert "slipped decimal point" in marked["Log"]["D7"].comment.text


def test_a_text_file_has_no_marked_copy_and_that_is_said(tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("\n".join(",".join(map(str, row)) for row in rows()))
    adopt(log, talk=answering(**OWN))
    done = run("check", log, "--marked", tmp_path / "marked.xlsx")
    assert "is no .xlsx file" in done.output
    assert not (tmp_path / "marked.xlsx").exists()


def test_a_file_that_was_not_taken_in_says_how(log, tmp_path):
    shutil.copy(DATA / "lettuce_compost.txt", tmp_path)
    for name in ("lettuce_compost.txt", "log.xlsx"):
        done = run("check", tmp_path / name)
        assert done.exit_code == 1
        assert f"un reportgen adopt {name}" in done.output


def test_a_spreadsheet_without_a_table_is_refused_and_no_file_is_written(tmp_path):
    log = book(tmp_path, Log=[("To do",), ("Buy seed",)])
    done = run("adopt", log)
    assert done.exit_code == 1
    assert "holds no table" in done.output
    assert not settings_file(log).exists()


def test_files_in_two_folders_are_refused(log, tmp_path):
    other = tmp_path / "elsewhere"
    other.mkdir()
    shutil.copy(log, other / "more.xlsx")
    with pytest.raises(WorkbookError, match="is not beside"):
        adopt(log, other / "more.xlsx")


@pytest.mark.parametrize("name", ["missing.xlsx", "missing.csv", f"{'n' * 300}.csv"])
def test_a_file_that_is_not_there_is_said(tmp_path, name):
    done = run("adopt", tmp_path / name)
    assert done.exit_code == 1
    assert "error" in done.output


@pytest.mark.parametrize("name", ["../secret.csv", "/etc/hosts", "c:\\secret.csv"])
def test_a_settings_file_names_no_file_elsewhere(log, name):
    adopt(log, talk=answering(**OWN))
    settings = settings_file(log)
    settings.write_text(
        settings.read_text().replace("adopt = 2\n", f"adopt = 2\nfiles = ['{name}']\n")
    )
    assert "the name of a file in the log's folder" in run("check", log).output
