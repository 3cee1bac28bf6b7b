"""The whole program on real files: what is written, what stays, and what a user is told."""

import errno
import hashlib
import json
import math
import os
import re
import shutil
import subprocess
import sys
from datetime import date

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook
from openpyxl.chart import BarChart, Reference

from reportgen.cli import main
from tests.pots import LETTUCE, write_pots
from tests.test_metrics_pooled import CARBON_DIOXIDE, scores
from tests.workbooks import good, put, write

pytestmark = pytest.mark.usefixtures("made_once")


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


@pytest.fixture(scope="module")
def lettuces(tmp_path_factory):
    return write_pots(tmp_path_factory.mktemp("lettuces") / "Lettuce 2026.xlsx", LETTUCE)


@pytest.fixture
def lettuce(lettuces, tmp_path):
    return shutil.copy(lettuces, tmp_path / lettuces.name)


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
    assert json.loads(good.stdout) == {"problems": [], "next": []}
    spoil(lettuce)
    bad = run("check", lettuce, "--json")
    assert bad.exit_code == 1
    problems = json.loads(bad.stdout)["problems"]
    assert [(one["severity"], one["sheet"], one["cell"]) for one in problems] == [
        ("error", "Trays", "B4"),
        ("error", "Plants", "C3"),
    ]
    keys = "severity sheet cell found expected advice code count workbook"
    assert " ".join(problems[0]) == keys
    assert {one["workbook"] for one in problems} == {str(lettuce)}
    assert [one["code"] for one in problems] == ["unknown_code", "not_a_number"]


@pytest.mark.parametrize("words", [[], ["build"], ["check", "--jsn", "x.xlsx"], ["bild", "x.xlsx"]])
def test_wrong_usage_exits_with_2(words):
    assert run(*words).exit_code == 2


def test_a_missing_workbook_and_an_empty_folder_get_one_clear_message(tmp_path):
    for words in (
        ["build", tmp_path / "none.xlsx"],
        ["check", tmp_path / "none.xlsx"],
        ["build", tmp_path],
    ):
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
    monkeypatch.setattr(
        os, "replace", lambda *_: (_ for _ in ()).throw(OSError(28, "No space left"))
    )
    with pytest.raises(OSError, match="No space left"):
        pipeline.write(tmp_path / "results.json", b"new")
    assert (tmp_path / "results.json").read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["results.json"]


def test_without_pango_the_page_is_built_and_the_message_says_how_to_get_the_pdf(
    lettuce, tmp_path, monkeypatch
):
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
    shown = subprocess.run(
        [sys.executable, "-m", "reportgen", "--version"], capture_output=True, text=True, check=True
    )
    assert shown.stdout.startswith("reportgen, version ")
    done = run("build", lettuce, tmp_path / "none.xlsx", "--out", tmp_path / "site", "--no-pdf")
    assert "Lettuce 2026.xlsx" in done.output
    assert "Building" not in done.output


# ---- the marked copy -----------------------------------------------------------------------------


def test_check_writes_a_marked_copy_and_leaves_the_workbook_as_it_is(lettuce, tmp_path):
    spoil(lettuce)
    before = lettuce.read_bytes()
    done = run("check", lettuce, "--marked", tmp_path / "seen/marked.xlsx")
    assert done.exit_code == 1
    assert "Plants!C3" in done.output
    book = load_workbook(tmp_path / "seen/marked.xlsx")
    assert book["Plants"]["C3"].comment.text.startswith("Error: ")
    assert book["Trays"]["B4"].comment.text.startswith("Error: ")
    assert lettuce.read_bytes() == before
    assert [path.name for path in (tmp_path / "seen").iterdir()] == ["marked.xlsx"]


def test_a_workbook_without_problems_gets_its_copy_too_and_the_same_bytes_again(lettuce, tmp_path):
    copies = [tmp_path / "one.xlsx", tmp_path / "two.xlsx"]
    for copy in copies:
        done = run("check", lettuce, "--marked", copy, "--json")
        assert (done.exit_code, json.loads(done.stdout)) == (0, {"problems": [], "next": []})
    assert copies[0].read_bytes() == copies[1].read_bytes()


def test_an_earlier_marked_copy_is_overwritten_and_another_workbook_is_not(lettuce, tmp_path):
    assert run("check", lettuce, "--marked", tmp_path / "marked.xlsx").exit_code == 0
    first = (tmp_path / "marked.xlsx").read_bytes()
    spoil(lettuce)
    assert run("check", lettuce, "--marked", tmp_path / "marked.xlsx").exit_code == 1
    assert (tmp_path / "marked.xlsx").read_bytes() != first
    other = write_pots(tmp_path / "other.xlsx", LETTUCE)
    before = other.read_bytes()
    done = run("check", lettuce, "--marked", other)
    assert done.exit_code == 2
    assert "no marked copy: it is not overwritten" in done.output
    assert other.read_bytes() == before


@pytest.mark.parametrize(
    "kind", ["itself", "a symlink", "a hard link", "another way to write the path"]
)
def test_a_copy_that_is_the_workbook_itself_is_refused(lettuce, tmp_path, kind):
    copy = tmp_path / "copy.xlsx"
    if kind == "a symlink":
        copy.symlink_to(lettuce)
    elif kind == "a hard link":
        copy.hardlink_to(lettuce)
    else:
        (tmp_path / "sub").mkdir()
        copy = lettuce if kind == "itself" else tmp_path / "sub" / ".." / lettuce.name
    before = lettuce.read_bytes()
    done = run("check", lettuce, "--marked", copy)
    assert done.exit_code == 2
    assert "is the workbook itself" in done.output
    assert lettuce.read_bytes() == before


def test_wrong_usage_of_a_marked_copy_exits_with_2_and_says_why(lettuce, tmp_path):
    twin = write_pots(tmp_path / "twin.xlsx", LETTUCE)
    (tmp_path / "folder.xlsx").mkdir()
    for words, said in (
        ([lettuce, twin, "--marked", tmp_path / "copy.xlsx"], "one workbook"),
        ([tmp_path, "--marked", tmp_path / "copy.xlsx"], "is a folder"),
        ([lettuce, "--marked", tmp_path / "copy.xlsm"], "does not end in .xlsx"),
        ([lettuce, "--marked", tmp_path / "copy"], "does not end in .xlsx"),
        ([lettuce, "--marked", tmp_path / "folder.xlsx"], "is a directory"),
    ):
        done = run("check", *words)
        assert done.exit_code == 2
        assert said in done.output
    assert not (tmp_path / "copy.xlsx").exists()


@pytest.mark.parametrize("name", ["old.xls", "sheets.ods", "torn.xlsx", "none.xlsx"])
def test_a_file_that_cannot_be_opened_gets_no_copy_and_is_told_to_be_saved_as_xlsx(tmp_path, name):
    if name != "none.xlsx":
        (tmp_path / name).write_bytes(b"no workbook")
    done = run("check", tmp_path / name, "--marked", tmp_path / "copy.xlsx")
    assert done.exit_code == 1
    assert "copy.xlsx was not written" in done.output
    assert "Save it as .xlsx first" in done.output
    assert "Traceback" not in done.output
    assert not (tmp_path / "copy.xlsx").exists()


@pytest.mark.parametrize("kind", ["xls", "ods"])
@pytest.mark.skipif(not shutil.which("soffice"), reason="LibreOffice is not there")
@pytest.mark.parametrize("named", ["as it is", ".xlsx"])
def test_a_workbook_of_another_kind_gets_no_copy_and_the_exit_code_of_its_check(
    lettuce, tmp_path, kind, named
):
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    words = [
        "soffice",
        profile,
        "--headless",
        "--convert-to",
        kind,
        "--outdir",
        str(tmp_path / "out"),
        str(lettuce),
    ]
    subprocess.run(words, check=True, capture_output=True)
    source = tmp_path / "out" / f"Lettuce 2026.{kind}"
    source = source if named == "as it is" else source.rename(source.with_suffix(".xlsx"))
    done = run("check", source, "--marked", tmp_path / "copy.xlsx")
    assert done.exit_code == run("check", source).exit_code
    assert "copy.xlsx was not written" in done.output
    assert "ave it as .xlsx" in done.output
    assert not (tmp_path / "copy.xlsx").exists()


def test_a_marked_copy_is_not_marked_again_and_its_list_is_named_as_a_sheet_that_is_not_used(
    lettuce, tmp_path
):
    assert run("check", lettuce, "--marked", tmp_path / "marked.xlsx").exit_code == 0
    done = run("check", tmp_path / "marked.xlsx", "--marked", tmp_path / "again.xlsx")
    assert 'sheets that are not used: "Problems"' in done.output
    assert "again.xlsx was not written: the workbook is a marked copy itself" in done.output
    assert not (tmp_path / "again.xlsx").exists()


def test_a_name_that_is_too_long_gets_one_message(tmp_path):
    for words in (["build"], ["check"], ["check", "--marked", tmp_path / "copy.xlsx"]):
        done = run(*words, tmp_path / f"{'n' * 300}.xlsx")
        assert done.exit_code == 1
        assert "cannot be opened (File name too long)" in done.output
        assert isinstance(done.exception, SystemExit)


def test_a_file_in_the_place_of_the_copy_that_may_not_be_read_is_not_overwritten(
    lettuce, tmp_path, monkeypatch
):
    def denied(_):
        raise PermissionError(errno.EACCES, "Permission denied")

    (tmp_path / "copy.xlsx").write_bytes(b"mine")
    monkeypatch.setattr("reportgen.checks.Path.read_bytes", denied)
    done = run("check", lettuce, "--marked", tmp_path / "copy.xlsx")
    assert done.exit_code == 2
    assert "copy.xlsx is there already and cannot be opened: Permission denied." in done.output


def test_what_a_copy_cannot_keep_is_told_in_one_line(lettuce, tmp_path):
    book = load_workbook(lettuce)
    book["Plants"].add_chart(chart := BarChart(), "H2")
    chart.add_data(Reference(book["Plants"], 3, 1, 3, 5))
    book.save(lettuce)
    done = run("check", lettuce, "--marked", tmp_path / "marked.xlsx")
    assert done.stderr.count("Not in the marked copy, or only in part: charts.") == 1


# ---- disks that are full, folders that cannot be written, builds that are killed -----------------


def full_disk(*_):
    raise OSError(errno.ENOSPC, "No space left on device")


def left_over(folder):
    return [path.name for path in folder.rglob(".*")]


@pytest.mark.parametrize("step", ["exchange", "Path.write_bytes"])
def test_a_full_disk_gets_one_message_and_the_old_site_stays_byte_for_byte(
    lettuce, tmp_path, monkeypatch, step
):
    site = tmp_path / "site"
    assert run("build", lettuce, "--out", site, "--no-pdf").exit_code == 0
    before = digests(site)
    change(lettuce)
    monkeypatch.setattr(f"reportgen.files.{step}", full_disk)
    done = run("build", lettuce, "--out", site, "--no-pdf")
    assert done.exit_code == 1
    assert re.fullmatch(
        r"Error: .*lettuce-2026.* cannot be written: No space left on device\.\n", done.stderr
    )
    assert digests(site) == before
    assert left_over(site) == []


def change(path):
    """Change a weight, so that the report and its figures change."""
    book = load_workbook(path)
    book["Plants"]["C3"] = book["Plants"]["C3"].value * 1.1
    book.save(path)


def test_no_file_is_replaced_when_the_last_one_finds_no_room(tmp_path):
    from reportgen import files

    (tmp_path / "site").mkdir()
    files.write_files(tmp_path / "site", {"a": b"old", "b/c": b"old"}, {})
    # A real refusal of the kernel: no file may grow beyond 1000 bytes (POSIX, setrlimit,
    # RLIMIT_FSIZE: EFBIG).
    program = (
        "import resource, sys; from pathlib import Path; from reportgen import files;"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000));"
        "files.write_files(Path(sys.argv[1]), {'a': b'new', 'b/c': b'new', 'd': bytes(2000)}, {})"
    )
    words = [sys.executable, "-c", program, str(tmp_path / "site")]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert f"File too large: '{tmp_path / 'site/d'}'" in done.stderr
    assert {
        name: (tmp_path / "site" / name).read_bytes() for name in digests(tmp_path / "site")
    } == {"a": b"old", "b/c": b"old"}
    assert left_over(tmp_path) == []


@pytest.mark.parametrize("step", ["os.replace", "Path.write_bytes"])
def test_a_full_disk_leaves_no_new_workbook_and_the_old_marked_copy(
    lettuce, tmp_path, monkeypatch, step
):
    copy = tmp_path / "marked.xlsx"
    assert run("check", lettuce, "--marked", copy).exit_code == 0
    spoil(lettuce)
    before = digests(tmp_path)
    monkeypatch.setattr(f"reportgen.files.{step}", full_disk)
    for words, name in (
        (["new", tmp_path / "new.xlsx", "--treatment", "half", "--treatment", "full"], "new.xlsx"),
        (["check", lettuce, "--marked", copy], "marked.xlsx"),
    ):
        done = run(*words)
        assert done.exit_code == 1
        assert f"{name} cannot be written: No space left on device." in done.stderr
        assert "Traceback" not in done.output
    assert digests(tmp_path) == before
    assert left_over(tmp_path) == []


@pytest.mark.parametrize("place", ["a file/site", f"{'n' * 300}/site"])
def test_a_folder_that_cannot_be_made_gets_one_message(lettuce, tmp_path, place):
    (tmp_path / "a file").write_text("mine")
    for words in (
        ["build", lettuce, "--no-pdf", "--out", tmp_path / place],
        ["check", lettuce, "--marked", tmp_path / place / "copy.xlsx"],
        ["new", tmp_path / place / "new.xlsx", "--treatment", "half", "--treatment", "full"],
    ):
        done = run(*words)
        assert done.exit_code == 1
        assert "cannot be written: " in done.stderr
        assert "Traceback" not in done.output
        assert isinstance(done.exception, SystemExit)
    assert (tmp_path / "a file").read_text() == "mine"


@pytest.mark.parametrize("reason", [errno.EACCES, errno.EROFS])
def test_a_folder_that_may_not_be_written_gets_one_message(lettuce, tmp_path, monkeypatch, reason):
    def refused(*_, **__):
        raise OSError(reason, os.strerror(reason), "a name that nobody knows")

    (tmp_path / "site").mkdir()
    monkeypatch.setattr("tempfile.mkdtemp", refused)
    done = run("build", lettuce, "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 1
    assert done.stderr == f"Error: {tmp_path / 'site'} cannot be written: {os.strerror(reason)}.\n"
    assert list((tmp_path / "site").iterdir()) == []


def test_a_page_whose_folder_is_a_file_gets_one_message_and_nothing_is_written(lettuce, tmp_path):
    (tmp_path / "site").mkdir()
    (tmp_path / "site/lettuce-2026").write_text("mine")
    done = run("build", lettuce, "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 1
    assert "cannot be written: " in done.stderr
    assert [path.name for path in (tmp_path / "site").iterdir()] == ["lettuce-2026"]


def write_round(path, row, reference):
    """Write a workbook with a plant a tray, whose weights have the means and standard deviations of
    a row.
    """
    weights = {"full": scores(*row[:3]), "half": scores(*row[3:])}
    rows = [
        (f"{code}{n}", code, weight)
        for code, found in weights.items()
        for n, weight in enumerate(found, 1)
    ]
    sheets = good()
    kept = {
        "Trial": [*sheets["Trial"], ["Comparison", "strength"]],
        "Treatments": sheets["Treatments"],
        "Trays": [
            ["Tray", "Treatment", "Plants started"],
            *([tray, code, 1] for tray, code, _ in rows),
        ],
        "Plants": [
            ["Tray", "Plant", "Fresh weight (g)"],
            *([tray, 1, weight] for tray, _, weight in rows),
        ],
    }
    return write(put(kept, Trial_B7=reference, Trial_B2=f"Strength, {path.stem}"), path)


def rounds(folder, number=4):
    """Write workbooks of the first rows, every second one with the other treatment as reference."""
    folder.mkdir()
    return [
        write_round(folder / f"round-{place}.xlsx", row, "full" if place % 2 else "half")
        for place, row in enumerate(CARBON_DIOXIDE[:number])
    ]


def test_workbooks_of_the_same_comparison_are_pooled_as_metafor_pools_them(tmp_path):
    rounds(tmp_path / "books")
    done = run("build", tmp_path / "books", "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 0, done.output
    (comparison,) = json.loads((tmp_path / "site/pooled.json").read_text("utf-8"))["comparisons"]
    (measure,) = comparison["measures"]
    assert [one["turned"] for one in measure["trials"]] == [False, True, False, True]
    found = [
        math.log(measure["pooled"][key])
        for key in ("ratio", "low", "high", "prediction_low", "prediction_high")
    ]
    # R 4.2.2, metafor 3.8.1: predict(rma(yi, vi, method = "REML", test = "adhoc")), with each row's
    #   yi and vi as in
    # test_metrics_pooled.py
    expected = [
        0.36839037126644,
        -0.12061698350507,
        0.85739772603795,
        -0.61228899645089,
        1.34906973898378,
    ]
    assert found == pytest.approx(expected, rel=1e-8)
    assert 'href="pooled.html#same-comparison"' in (tmp_path / "site/index.html").read_text("utf-8")
    page = (tmp_path / "site/pooled.html").read_text("utf-8")
    assert 'id="same-comparison"' in page
    assert "Together, 4 trials do not tell whether Full gave more or less" in page
    assert (tmp_path / "site/figures/comparison-1-fresh_weight.svg").is_file()


def test_check_names_two_versions_of_one_trial_as_build_does(tmp_path):
    (tmp_path / "books").mkdir()
    write(good(), tmp_path / "books" / "trial.xlsx")
    write(put(good(), Plants_C2=21.5), tmp_path / "books" / "trial-2.xlsx")
    done = run("check", tmp_path / "books")
    assert done.exit_code == 1
    assert "trial-2.xlsx and trial.xlsx hold one trial" in done.output
    assert run("check", tmp_path / "books" / "trial.xlsx").exit_code == 0


def test_a_first_build_lists_what_was_built_and_says_what_is_not_in_the_list(tmp_path):
    (tmp_path / "books").mkdir()
    write(good(), tmp_path / "books" / "good.xlsx")
    another = put(good(), Trial_B2="Another", Trial_B5=date(2026, 4, 2))
    for number, row in enumerate(another["Plants"][1:]):
        row[2] = 40.0 + number * 7 % 11
    right = another["Plants"][1][2]
    broken = write(put(another, Plants_C2="12O"), tmp_path / "books" / "broken.xlsx")
    words = ("build", tmp_path / "books", "--out", tmp_path / "site", "--no-pdf")
    done = run(*words)
    page = (tmp_path / "site" / "index.html").read_text("utf-8")
    assert done.exit_code == 1
    assert (
        "The list of trials and the feed name what was built. Not in them: broken.xlsx."
        in done.output
    )
    assert 'href="good/' in page
    assert "broken" not in page
    assert (tmp_path / "site" / "feed.xml").exists()
    write(put(another, Plants_C2=right), broken)
    assert run(*words).exit_code == 0
    broken.write_bytes(b"no workbook")
    before = (tmp_path / "site" / "index.html").read_bytes()
    assert "were left as they were" in run(*words).output
    assert (tmp_path / "site" / "index.html").read_bytes() == before


def test_two_versions_of_one_trial_are_an_error_that_names_both_and_nothing_is_pooled(tmp_path):
    (book,) = rounds(tmp_path / "books", 1)
    shutil.copy(book, tmp_path / "books/saved-again.xlsx")
    for _ in range(2):  # the second build keeps the report of the first
        done = run("build", tmp_path / "books", "--out", tmp_path / "site", "--no-pdf")
        assert done.exit_code == 1
        assert "saved-again.xlsx and round-0.xlsx hold one trial" in done.stderr
        assert "saved-again.xlsx: not built" in done.stdout
        assert not (tmp_path / "site/pooled.json").exists()
    assert (tmp_path / "site/round-0/index.html").is_file()


def test_the_later_version_of_a_trial_is_stopped_until_one_is_taken_away(tmp_path):
    folder = tmp_path / "books"
    folder.mkdir()
    write(good(), folder / "b-week-4.xlsx")
    later = good()
    later["Plants"][1][2] = 24.5
    observed = [["Date", "Observation"], [date(2026, 5, 7), "Compost of the roots weighed."]]
    write(later | {"Observations": observed}, folder / "a-week-5.xlsx")
    out = ("--out", tmp_path / "site", "--no-pdf")
    done = run("build", folder, *out)
    assert done.exit_code == 1
    assert "a-week-5.xlsx and b-week-4.xlsx hold one trial" in done.stderr
    assert "a-week-5.xlsx is the later one: take one of the two away" in done.stderr
    assert "a-week-5.xlsx: not built" in done.stdout
    assert (tmp_path / "site/b-week-4/index.html").is_file()
    (folder / "b-week-4.xlsx").unlink()
    assert run("build", folder, *out).exit_code == 0
    assert (tmp_path / "site/a-week-5/index.html").is_file()


def test_the_copy_of_a_workbook_is_the_later_version(tmp_path):
    (book,) = rounds(tmp_path / "books", 1)
    shutil.copy(book, book.with_stem(f"{book.stem} (copy)"))
    done = run("build", tmp_path / "books", "--out", tmp_path / "site", "--no-pdf")
    assert "round-0 (copy).xlsx: not built" in done.stdout
    assert (tmp_path / "site/round-0/index.html").is_file()


def test_the_pooled_figures_stay_as_they_were_where_a_workbook_has_errors(tmp_path):
    books = rounds(tmp_path / "books", 3)
    assert run("build", *books, "--out", tmp_path / "site", "--no-pdf").exit_code == 0
    before = digests(tmp_path / "site")
    spoil(books[0])
    assert run("build", *books, "--out", tmp_path / "site", "--no-pdf").exit_code == 1
    assert digests(tmp_path / "site") == before
