"""What a system or a file can hold that a reader stumbles over: each gives one clear line, in every
command.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from reportgen.cli import main
from reportgen.workbook import photos
from tests.workbooks import good, write

DIGITS = (
    "9" * 6000
)  # Python reads no whole number of more than 4300 digits (its documentation, int_max_str_digits)
LOG = "Tray,Treatment,Plant,Fresh weight (g)\n" + "".join(
    f"T{n % 4 + 1},{'ab'[n % 2]},{n // 4 + 1},{40 + n % 7}\n" for n in range(24)
)
posix_only = pytest.mark.skipif(
    sys.platform != "linux", reason="names are any bytes on Linux alone"
)


def lines_of(*words):
    """Return the exit code and what is said of a command, without what it writes to the end of its
    output.
    """
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exception is None or isinstance(done.exception, SystemExit), repr(done.exception)[
        :300
    ]
    return done.exit_code, done.output


def test_a_photo_that_links_to_itself_is_outside_the_folder(tmp_path):
    (tmp_path / "a.jpg").symlink_to("a.jpg")
    (tmp_path / "in").symlink_to("in")
    assert not photos.within(tmp_path, "a.jpg")
    assert not photos.within(tmp_path, "in/b.jpg")
    assert photos.read(["a.jpg"], tmp_path).photos == ()


@pytest.mark.parametrize("where", ["a folder", "a pipe", "below a file", "a name of 300 letters"])
def test_a_photo_that_is_no_file_is_not_waited_for(tmp_path, where):
    names = {"a name of 300 letters": "a" * 300 + ".jpg", "below a file": "w.xlsx/a.jpg"}
    name = names.get(where, "a.jpg")
    (tmp_path / "w.xlsx").write_bytes(b"")
    if where == "a folder":
        (tmp_path / name).mkdir()
    elif where == "a pipe":
        os.mkfifo(tmp_path / name)
    assert photos.read([name], tmp_path).faults == {}
    assert all(not photo.content for photo in photos.read([name], tmp_path).photos)


@posix_only
@pytest.mark.parametrize("command", ["check", "build", "plan", "adopt"])
@pytest.mark.parametrize("ending", ["xlsx", "csv"])
def test_a_file_whose_name_is_no_text_is_refused_in_one_line(tmp_path, command, ending):
    path = tmp_path / os.fsdecode(b"warm-\xff." + ending.encode())
    shutil.copy(write(good(), tmp_path / "good.xlsx"), path)
    if ending == "csv":
        path.write_text(LOG, "utf-8")
        path.with_name(os.fsdecode(b"warm-\xff.adopt.toml")).write_text("adopt = 2\n", "utf-8")
    more = {
        "build": ["--out", tmp_path / "site"],
        "plan": ["--difference", 20],
        "adopt": ["--no-input"],
    }
    code, said = lines_of(command, path, *more.get(command, []))
    assert code == 1
    if ending == "xlsx":
        assert (
            "warm-?.xlsx has a name that is not in UTF-8; expected a file name of plain letters."
            " Rename it." in said
        )
    assert not (tmp_path / "site").exists()


@posix_only
def test_a_file_whose_name_is_no_text_leaves_the_report_of_another_as_it_is(tmp_path):
    path = write(good(), tmp_path / "warm.xlsx")
    lines_of("build", path, "--out", tmp_path / "site", "--no-pdf")
    before = (tmp_path / "site/warm/index.html").read_bytes()
    shutil.copy(path, tmp_path / os.fsdecode(b"warm\xff.xlsx"))
    code, said = lines_of("build", tmp_path, "--out", tmp_path / "site", "--no-pdf")
    assert (code, said.count("not in UTF-8")) == (1, 1)
    assert (tmp_path / "site/warm/index.html").read_bytes() == before


@pytest.mark.parametrize("column", range(4))
@pytest.mark.parametrize("row", [0, 5])
def test_a_number_without_end_in_a_log_is_named_by_its_cell(tmp_path, column, row):
    rows = [line.split(",") for line in LOG.splitlines()]
    rows[row][column] = DIGITS
    path = tmp_path / "log.csv"
    path.write_text("\n".join(",".join(cells) for cells in rows), "utf-8")
    code, said = lines_of("adopt", "--no-input", path)
    assert (code, len(said.splitlines())) == (1, 1)
    assert (
        f"log!{'ABCD'[column]}{row + 1}" in said
        or f"log: {'ABCD'[column]}{row + 1} holds more than 300" in said
    )


def test_a_number_beyond_all_numbers_in_a_log_is_a_text(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(LOG.replace("T1,a,1,", "T1,a,1e400,").replace(",40\n", ",1e400\n"), "utf-8")
    assert lines_of("adopt", "--no-input", path)[0] in (0, 1)


@pytest.mark.parametrize("sheet", ["Trial", "Trays", "Plants"])
def test_a_number_without_end_in_a_workbook_is_named_by_its_cell(tmp_path, sheet):
    sheets = good()
    sheets = sheets | {
        sheet: [sheets[sheet][0], [DIGITS, *sheets[sheet][1][1:]], *sheets[sheet][2:]]
    }
    code, said = lines_of("check", write(sheets, tmp_path / "a.xlsx"))
    assert code == 1
    assert f"{sheet}: A2 holds more than 300 digits in a row" in said


@pytest.mark.parametrize(
    "text", [f"title = {DIGITS}", f'templates = "{"a" * 300}"', "a=" + "{a=" * 5000, "\0", "x"]
)
def test_settings_that_go_on_and_on_are_refused_in_one_line(tmp_path, text):
    (path := tmp_path / "site.toml").write_text(text, "utf-8")
    code, said = lines_of("check", write(good(), tmp_path / "a.xlsx"), "--settings", path)
    assert (code, len(said.splitlines())) == (1, 1)
    assert "site.toml" in said


@pytest.mark.parametrize("control", ["\\u0000", "\\u001b[31m", "\\u0085"])
@pytest.mark.parametrize("key", ["title", "author", "licence", "templates"])
def test_a_control_character_in_the_settings_is_refused_and_not_sent_to_the_terminal(
    tmp_path, key, control
):
    (path := tmp_path / "site.toml").write_text(f'{key} = "a{control}b"', "utf-8")
    code, said = lines_of("check", write(good(), tmp_path / "a.xlsx"), "--settings", path)
    assert (code, len(said.splitlines())) == (1, 1)
    assert "site.toml, line 1" in said
    assert said.rstrip("\n").isprintable()


@pytest.mark.parametrize("named", ["look", "look/a"])
def test_templates_that_link_to_themselves_are_passed_over_or_refused(tmp_path, named):
    (tmp_path / "look").mkdir()
    (tmp_path / "look/a").symlink_to("b")
    (tmp_path / "look/b").symlink_to("a")
    (tmp_path / "reportgen.toml").write_text(f'templates = "{named}"', "utf-8")
    code, said = lines_of("check", write(good(), tmp_path / "a.xlsx"))
    assert len(said.splitlines()) == 1
    assert (code, "look/a" in said) == ((0, False) if named == "look" else (1, True))


def test_a_file_of_a_site_that_became_a_link_to_itself_is_refused_in_one_line(tmp_path):
    path = write(good(), tmp_path / "warm.xlsx")
    words = ("build", path, "--out", tmp_path / "site", "--no-pdf")
    lines_of(*words)
    post = tmp_path / "site/warm/post.md"
    post.unlink()
    post.symlink_to("post.md")
    code, said = lines_of(*words)
    assert (code, said.count("there is a link")) == (1, 1)
    assert "warm/post.md" in said


@pytest.mark.parametrize("text", [f"missing = {DIGITS}", "a=" + "[" * 5000, "\0", "a = nan"])
@pytest.mark.parametrize("command", ["check", "adopt"])
def test_a_settings_file_of_a_log_that_goes_on_and_on_is_refused(tmp_path, text, command):
    (path := tmp_path / "log.csv").write_text(LOG, "utf-8")
    path.with_name("log.adopt.toml").write_text(text, "utf-8")
    code, said = lines_of(command, path)
    assert code == 1
    assert "log.adopt.toml" in said


def test_a_log_of_twenty_thousand_readings_is_checked_at_all(tmp_path):
    # It did not end in twenty minutes while each row was compared with all the others.
    sys_path = str(Path(__file__).parent / "benchmarks")
    script = (
        f"import sys; sys.path.insert(0, {sys_path!r}); import adopted_rows as a; from pathlib"
        " import Path; " + f"a.write(Path({str(tmp_path)!r}), 20_000)"
    )
    subprocess.run([sys.executable, "-c", script], check=True, timeout=120)
    words = [sys.executable, "-m", "reportgen", "check", str(tmp_path / "log20000.xlsx")]
    done = subprocess.run(words, capture_output=True, text=True, timeout=300, check=False)
    assert "no problems" in done.stdout
    assert "Air temperature" in done.stdout
    assert "20048 numbers in the log" in done.stdout
