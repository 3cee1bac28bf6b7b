"""The command: a spreadsheet is taken in, its questions answered, its settings file written, used and kept."""

import hashlib
import json
import shutil

import pytest
from click.testing import CliRunner

from reportgen.adopt.mapping import Source
from reportgen.adopt.toml_file import read_adoption
from reportgen.cli import main
from reportgen.model.problem import WorkbookError
from tests.adopting import DATA, adopt, answering, book, rows


def run(*words):
    return CliRunner().invoke(main, list(map(str, words)))


@pytest.fixture
def log(tmp_path):
    return book(tmp_path, Log=rows())


def settings_of(log):
    return log.with_name(f"{log.stem}.adopt.toml")


def test_a_log_whose_questions_are_answered_is_built(log, tmp_path):
    taken, said = adopt(log, talk=answering())
    assert taken.open == ()
    assert "Plants from Log, header in row 1" in said
    done = run("build", log, "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "site" / "log" / "index.html").is_file()


def test_the_spreadsheet_is_never_changed(log):
    before = hashlib.sha256(log.read_bytes()).hexdigest()
    adopt(log, talk=answering())
    assert hashlib.sha256(log.read_bytes()).hexdigest() == before


def test_without_questions_each_open_thing_is_named_with_its_line(log):
    done = run("adopt", log, "--no-input")
    assert done.exit_code == 0
    assert "log.adopt.toml is written" in done.output
    text = settings_of(log).read_text().splitlines()
    line = next(number for number, one in enumerate(text, 1) if one.startswith("Crop"))
    assert f"log.adopt.toml, line {line}: Crop of the trial is still" in done.output
    checked = run("check", log)
    assert checked.exit_code == 1
    assert f"line {line}: Crop of the trial" in checked.output


def test_where_nobody_sits_at_a_terminal_nothing_is_asked(log):
    done = run("adopt", log)
    assert done.exit_code == 0
    assert "Answer" not in done.output


def test_what_was_answered_before_quitting_is_kept_and_not_asked_again(log):
    adopt(log, talk=answering(stop="independent"))
    first = settings_of(log).read_text()
    assert 'unit = "g"' in first
    assert '"Experimental unit" = "?"' in first
    taken, _ = adopt(log, talk=answering(unit="kg", mass="Dry weight"))
    second = settings_of(log).read_text()
    assert taken.open == ()
    assert 'unit = "g"' in second
    assert '"Experimental unit" = "tray"' in second
    assert "To say:" not in second


def test_a_question_that_changes_a_columns_name_may_be_answered_later(log):
    adopt(log)
    assert '"?" = { from = "wt", unit = "?" }' in settings_of(log).read_text()
    taken, _ = adopt(log, talk=answering())
    assert taken.open == ()
    assert read_adoption(settings_of(log)).tables[0].columns["Fresh weight"] == Source("wt", "g")


def test_the_column_of_the_treatment_may_be_named_later(tmp_path):
    held = [("Shelf", "Colour", "Fresh weight (g)"), *((f"T{n % 4}", "rb"[n % 2], 20.5 + n) for n in range(8))]
    log = book(tmp_path, Log=held)
    adopt(log, talk=answering(stop="treatment"))
    taken, _ = adopt(log, talk=answering())
    assert taken.open == ()
    assert 'Treatment = "Colour"' in settings_of(log).read_text()
    assert "constants" not in settings_of(log).read_text()


def test_taking_in_again_changes_no_byte_of_what_its_owner_wrote(log):
    adopt(log, talk=answering())
    settings = settings_of(log)
    settings.write_bytes(settings.read_bytes().replace(b"[trial]", b"# mine, in Windows\r\n[trial]"))
    own = settings.read_text().replace("\n", "\r\n").encode()
    settings.write_bytes(own)
    adopt(log, talk=answering(unit="oz"))
    assert settings.read_bytes() == own


def test_an_owners_own_words_stay_and_a_new_word_is_asked(tmp_path):
    log = book(tmp_path, Log=rows())
    adopt(log, talk=answering())
    book(tmp_path, Log=rows("-", 21.0))
    taken, _ = adopt(log, talk=answering())
    assert taken.open == ()
    assert 'missing = ["-"]' in settings_of(log).read_text()


def test_the_files_of_a_folder_make_one_trial(tmp_path):
    folder = tmp_path / "winter"
    folder.mkdir()
    for name, start in (("log_warm.csv", 20), ("log_plain.csv", 17)):
        lines = [f"{pot},{start + pot * 1.1:.1f}" for pot in range(1, 5)]
        (folder / name).write_text("\n".join(["Pot,Fresh weight (g)", *lines]))
    taken, _ = adopt(folder, talk=answering(independent="each row"))
    assert (taken.source.name, taken.open) == ("log_plain.csv", ())
    assert 'file = "log_warm.csv"' in taken.settings.read_text()
    done = run("check", folder)
    assert done.output.count("log_warm.csv: ") == 0  # it is read with the other
    assert "log_plain.csv: " in done.output
    assert done.exit_code == 0, done.output


def test_a_report_is_built_again_where_only_the_settings_or_a_file_beside_them_changed(log, tmp_path):
    adopt(log, talk=answering())
    out = ("--out", tmp_path / "site", "--no-pdf")
    run("build", log, *out)
    assert "(unchanged)" in run("build", log, *out).output
    settings = settings_of(log)
    settings.write_text(settings.read_text().replace('Title = "Log"', 'Title = "Warm shelves"'))
    assert "(unchanged)" not in run("build", log, *out).output
    assert "Warm shelves" in (tmp_path / "site" / "log" / "index.html").read_text()


def test_check_says_where_each_quantity_was_read(log):
    adopt(log, talk=answering())
    done = run("check", log)
    assert "Fresh weight: log.xlsx, sheet Log, column D: wt, in g; read: 12 rows: 2-13" in done.output


def test_the_report_says_where_each_quantity_was_read(log, tmp_path):
    adopt(log, talk=answering())
    run("build", log, "--out", tmp_path / "site", "--no-pdf")
    page = (tmp_path / "site" / "log" / "index.html").read_text()
    assert "Where the figures come from" in page
    assert "log.xlsx, sheet Log, column D: wt" in page
    assert "12 rows: 2-13" in page
    results = json.loads((tmp_path / "site" / "log" / "results.json").read_text())
    assert not any("trace" in key for key in results)


def test_a_marked_copy_marks_the_owners_cells(log, tmp_path):
    from openpyxl import load_workbook

    adopt(log, talk=answering())
    book(tmp_path, Log=rows(*[20.1 + n / 10 for n in range(5)], 2060.0))
    done = run("check", log, "--marked", tmp_path / "marked.xlsx")
    assert done.exit_code == 1
    marked = load_workbook(tmp_path / "marked.xlsx")
    assert "slipped decimal point" in marked["Log"]["D7"].comment.text


def test_a_text_file_has_no_marked_copy_and_that_is_said(tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("\n".join(",".join(map(str, row)) for row in rows()))
    adopt(log, talk=answering())
    done = run("check", log, "--marked", tmp_path / "marked.xlsx")
    assert "is no .xlsx file" in done.output
    assert not (tmp_path / "marked.xlsx").exists()


def test_a_text_file_that_was_not_taken_in_says_how(tmp_path):
    shutil.copy(DATA / "lettuce_compost.txt", tmp_path)
    done = run("check", tmp_path / "lettuce_compost.txt")
    assert done.exit_code == 1
    assert "Run reportgen adopt lettuce_compost.txt" in done.output


def test_a_spreadsheet_without_our_sheets_says_how_it_may_be_taken_in(log):
    done = run("check", log)
    assert done.exit_code == 1
    assert "reportgen adopt log.xlsx" in done.output


def test_a_trial_workbook_is_not_taken_in(tmp_path):
    log = book(tmp_path, Trial=[("Field", "Value")], Plants=[("Tray", "Plant")])
    with pytest.raises(WorkbookError, match="is a trial workbook already"):
        adopt(log)


def test_a_spreadsheet_without_plants_is_refused_and_no_file_is_written(tmp_path):
    log = book(tmp_path, Log=[("To do",), ("Buy seed",)])
    done = run("adopt", log)
    assert done.exit_code == 1
    assert "no table of plants was found" in done.output
    assert not settings_of(log).exists()


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
    adopt(log, talk=answering())
    settings = settings_of(log)
    settings.write_text(settings.read_text().replace('sheet = "Log"', f"sheet = \"Log\"\nfile = '{name}'"))
    assert "the name of a file beside this one" in run("check", log).output
