"""A site on the disk: each report is the old one or the new one, whoever else writes and whenever a
build is killed.
"""

import json
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from reportgen import files, lock, pipeline, preview
from reportgen.building import site_folder
from reportgen.building.manifest import Entry, digests
from reportgen.cli import main
from reportgen.files import LOCK, TEMPORARY
from reportgen.model.problem import WorkbookError
from tests.test_metrics_pooled import CARBON_DIOXIDE
from tests.test_pipeline import change, left_over, write_round
from tests.test_pipeline import digests as seen
from tests.test_verify import sealed
from tests.workbooks import good, write

PLAIN = pipeline.BuildOptions(pdf=False, jobs=1)
pytestmark = pytest.mark.usefixtures("made_once")
POSIX = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no signals to kill with")
LINUX = pytest.mark.skipif(
    sys.platform != "linux", reason="only Linux says what of a process is open"
)


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def build(book, site, **ways):
    """Build one workbook without PDF; return what came of it."""
    (built,) = pipeline.build(
        (book,), site, options=pipeline.BuildOptions(pdf=False, jobs=1, **ways)
    )
    return built


@pytest.fixture(scope="module", autouse=True)
def one_moment():
    """Let every build take place at one moment: a feed says when a result changed."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SOURCE_DATE_EPOCH", "1784000000")
        yield


@pytest.fixture(scope="module")
def first(tmp_path_factory, made_once):
    """A workbook, a changed one of the same name, and the site of each."""
    folder = tmp_path_factory.mktemp("first")
    for version in ("old", "new"):
        (folder / version).mkdir()
        write(good(), folder / version / "one.xlsx")
    change(folder / "new/one.xlsx")
    assert build(folder / "old/one.xlsx", folder / "old site").page
    shutil.copytree(
        folder / "old site", folder / "new site"
    )  # a result that changed says when it did
    assert build(folder / "new/one.xlsx", folder / "new site").page
    assert build(folder / "new/one.xlsx", folder / "fresh site").page
    return folder


@pytest.fixture
def site(first, tmp_path):
    """The site of the old workbook, for a test to change."""
    shutil.copytree(first / "old site", tmp_path / "site")
    return tmp_path / "site"


# ---- killed --------------------------------------------------------------------------------------


def kill(folder, way, start, every=1):
    """Have builds killed at each step (see killing.py); return how many were, and what was wrong
    then.
    """
    words = [
        sys.executable,
        str(Path(__file__).with_name("killing.py")),
        str(folder),
        way,
        start,
        str(every),
    ]
    done = subprocess.run(
        words, capture_output=True, text=True, check=False, env=clean_environment()
    )
    assert done.stdout, done.stderr
    told = json.loads(done.stdout)
    return told["killed"], told["faults"]


def clean_environment():
    return {name: value for name, value in os.environ.items() if not name.startswith("COV")}


@LINUX
def test_a_build_killed_at_any_step_leaves_each_report_old_or_new_and_the_next_one_heals(tmp_path):
    killed, faults = kill(tmp_path, "by exchange", "over an old site")
    assert faults == []
    assert killed >= 200


@LINUX
def test_where_folders_cannot_be_exchanged_a_journal_has_the_next_build_show_what_is_missing(
    tmp_path,
):
    killed, faults = kill(tmp_path, "in two steps", "over an old site", every=2)
    assert faults == []
    assert killed >= 100


@LINUX
def test_a_first_build_killed_at_any_step_names_nothing_that_is_not_there(tmp_path):
    killed, faults = kill(tmp_path, "by exchange", "where there is none", every=3)
    assert faults == []
    assert killed >= 50


@LINUX
def test_the_check_of_killed_builds_sees_a_report_that_is_written_file_by_file(tmp_path):
    _, faults = kill(tmp_path, "file by file", "over an old site", every=5)
    assert any("is neither the old nor the new one" in fault for fault in faults)


@POSIX
@pytest.mark.parametrize("name", ["SIGKILL", "SIGTERM", "SIGINT"])
def test_a_real_build_that_a_signal_ends_leaves_a_whole_report_and_the_next_one_heals(
    first, site, name
):
    words = [
        sys.executable,
        "-m",
        "reportgen",
        "build",
        str(first / "new/one.xlsx"),
        "--out",
        str(site),
        "--no-pdf",
    ]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    while process.poll() is None and not hidden_folders(site):
        time.sleep(0.001)
    process.send_signal(getattr(signal, name))
    _, said = process.communicate(timeout=120)
    assert "Traceback" not in said
    reports = [
        {file: one for file, one in seen(of).items() if file.startswith("one/")}
        for of in sites(first, site)
    ]
    assert reports[2] in reports[:2]
    assert build(first / "new/one.xlsx", site).page
    assert seen(site) == seen(first / "new site")
    assert left_over(site) == []


def hidden_folders(site):
    return [path for path in site.glob(f"{TEMPORARY}*") if path.name != LOCK]


def sites(first, site):
    return (first / "old site", first / "new site", site)


# ---- one step ------------------------------------------------------------------------------------


@pytest.fixture(params=["by exchange", "in two steps"])
def way(request, monkeypatch):
    """Both ways to show a folder."""
    if request.param == "in two steps":
        monkeypatch.setattr(files, "exchange", lambda *_: False)
    return request.param


def test_a_folder_keeps_what_no_build_wrote_and_loses_what_is_replaced(tmp_path, way):
    site = tmp_path
    files.write_folder(site, "one", {"a": b"1", "gone": b"2", "deep/gone": b"3", "stays": b"4"}, {})
    (site / "one/mine/empty").mkdir(parents=True)
    (site / "one/mine/notes.txt").write_bytes(b"mine")
    (site / "one/mine/link").symlink_to("notes.txt")
    (site / "one/stays").write_bytes(b"changed by hand")
    replaced = {name: files.sha256(content) for name, content in OLD.items()}
    files.write_folder(site, "one", {"a": b"new"}, replaced)
    assert {path.relative_to(site / "one").as_posix() for path in (site / "one").rglob("*")} == {
        "a", "stays", "mine", "mine/empty", "mine/notes.txt", "mine/link",
    }  # fmt: skip
    assert (site / "one/a").read_bytes() == b"new"
    assert (site / "one/mine/link").readlink() == Path("notes.txt")
    assert left_over(site) == []


OLD = {"a": b"1", "gone": b"2", "deep/gone": b"3", "stays": b"4"}


def test_a_folder_keeps_its_mode_and_a_file_that_stays_the_same_its_time(tmp_path, way):
    files.write_folder(tmp_path, "one", {"a": b"1", "b": b"2"}, {})
    (tmp_path / "one").chmod(0o750)
    os.utime(tmp_path / "one/a", (1, 1))
    files.write_folder(tmp_path, "one", {"a": b"1", "b": b"new"}, {})
    assert (tmp_path / "one").stat().st_mode & 0o777 == 0o750
    assert (tmp_path / "one/a").stat().st_mtime == 1
    assert (tmp_path / "one/b").stat().st_mtime != 1


def test_every_new_file_and_folder_is_on_the_disk_before_the_folder_is_shown(
    tmp_path, monkeypatch, way
):
    """As fsync(2) says: the file, and the folder that names it."""
    synced, shown = set(), []
    sync = os.fsync
    monkeypatch.setattr(
        os, "fsync", lambda opened: (synced.add(os.fstat(opened).st_ino), sync(opened))
    )
    rename = os.rename

    def renamed(old, new):
        if Path(old).name == files.NEW:
            shown.append(
                {path for path in (old, *old.rglob("*")) if path.stat().st_ino not in synced}
            )
        rename(old, new)

    monkeypatch.setattr(os, "rename", renamed)
    files.write_folder(tmp_path, "one", {"a": b"1", "deep/b": b"2", "deep/er/c": b"3"}, {})
    files.write_folder(tmp_path, "one", {"a": b"new", "deep/b": b"new", "deep/er/c": b"new"}, {})
    assert shown == [set()] * len(shown)
    assert shown
    assert tmp_path.stat().st_ino in synced


def test_an_error_between_the_two_steps_shows_a_folder_all_the_same(tmp_path, monkeypatch):
    files.write_folder(tmp_path, "one", {"a": b"old"}, {})
    rename, calls = os.rename, []

    def failing(old, new):
        calls.append(old)
        if len(calls) == 2:
            raise OSError(5, "Input/output error")
        rename(old, new)

    monkeypatch.setattr(files, "exchange", lambda *_: False)
    monkeypatch.setattr(os, "rename", failing)
    with pytest.raises(OSError, match="Input/output error"):
        files.write_folder(tmp_path, "one", {"a": b"new"}, {})
    assert (tmp_path / "one/a").read_bytes() in (b"old", b"new")
    assert left_over(tmp_path) == []


def planted(site, journal, content):
    """Leave in a site what a build that was killed may leave: a journal, and the files that wait."""
    hidden = site / f"{TEMPORARY}left"
    for name, one in content.items():
        (hidden / files.NEW / name).parent.mkdir(parents=True, exist_ok=True)
        (hidden / files.NEW / name).write_bytes(one)
    (hidden / files.JOURNAL).write_text(json.dumps(journal))
    return hidden


@pytest.mark.parametrize("name", ["../mine.txt", "/mine.txt", "link/mine.txt"])
def test_a_journal_leads_nowhere_out_of_the_site(tmp_path, name):
    (tmp_path / "site").mkdir()
    (tmp_path / "mine.txt").write_bytes(b"mine")
    (tmp_path / "site/link").symlink_to(tmp_path)
    planted(
        tmp_path / "site",
        {"files": [name], "replaced": {name: files.sha256(b"mine")}},
        {"link/mine.txt": b"bad"},
    )
    files.finish(tmp_path / "site")
    assert (tmp_path / "mine.txt").read_bytes() == b"mine"
    assert left_over(tmp_path / "site") == []


def test_a_journal_takes_nothing_into_the_site_that_was_not_left_by_a_build(tmp_path):
    (tmp_path / "site").mkdir()
    (tmp_path / "secret").mkdir()
    (tmp_path / "secret/key").write_bytes(b"secret")
    hidden = planted(tmp_path / "site", {"files": ["here/key"], "replaced": {}}, {"other": b""})
    (hidden / files.NEW / "here").symlink_to(tmp_path / "secret")
    files.finish(tmp_path / "site")
    assert not (tmp_path / "site/here").exists()
    assert (tmp_path / "secret/key").read_bytes() == b"secret"


# ---- two at once ---------------------------------------------------------------------------------

HOLDER = """
import sys
from pathlib import Path
from reportgen import lock
with lock.locked(Path(sys.argv[1])):
    (Path(sys.argv[1]) / ".reportgen-at-work").mkdir(exist_ok=True)
    print("held", flush=True)
    sys.stdin.readline()
    (Path(sys.argv[1]) / ".reportgen-at-work").rmdir()
"""


@pytest.fixture
def holder(site):
    """Another process that holds the lock of the site, and has a hidden folder there, until it gets
    a line.
    """
    words = [sys.executable, "-c", HOLDER, str(site)]
    with subprocess.Popen(
        words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout.readline() == "held\n"
        yield process
        process.kill()


def test_a_second_build_that_may_not_wait_says_who_writes_and_ends(first, site, holder):
    before = seen(site)
    done = run("build", first / "new/one.xlsx", "--out", site, "--no-pdf", "--no-wait")
    assert done.exit_code == 1
    assert f"{site} is being written by process {holder.pid} on " in done.stderr
    assert " since " in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert seen(site) == before
    assert (site / f"{TEMPORARY}at-work").is_dir()  # not cleared: it is another's


def test_a_second_build_waits_with_one_line_and_goes_on(first, site, holder):
    said = []

    def told(line):
        said.append(line)
        holder.stdin.write("\n")
        holder.stdin.flush()

    (built,) = pipeline.build((first / "new/one.xlsx",), site, options=PLAIN, said=told)
    assert built.page
    assert len(said) == 1
    assert f"process {holder.pid} on " in said[0]
    assert seen(site) == seen(first / "new site")
    assert left_over(site) == []


@POSIX
def test_the_lock_of_a_killed_build_is_taken_over(first, site, holder):
    holder.send_signal(signal.SIGKILL)
    holder.wait()
    assert (site / LOCK).exists()
    assert build(first / "new/one.xlsx", site, wait=False).page
    assert left_over(site) == []


def test_a_preview_waits_for_a_build_into_the_same_folder(first, site, holder, capsys):
    source = preview.Source(first / "new", site, None, PLAIN)
    built = []
    waiting = threading.Thread(target=lambda: built.extend(source.rebuild()))
    waiting.start()
    while waiting.is_alive() and not (said := capsys.readouterr().err):
        time.sleep(0.01)
    assert "waiting until that is done" in said
    assert not built
    holder.stdin.write("\n")
    holder.stdin.flush()
    waiting.join()
    assert built[0].page
    assert seen(site) == seen(first / "new site")


def test_two_real_builds_at_once_give_the_site_of_one(first, tmp_path):
    words = [
        sys.executable,
        "-m",
        "reportgen",
        "build",
        str(first / "new/one.xlsx"),
        "--no-pdf",
        "--out",
    ]
    both = [
        subprocess.Popen(
            [*words, str(tmp_path / "site")],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(2)
    ]
    said = [process.communicate(timeout=300) for process in both]
    assert [process.returncode for process in both] == [0, 0], said
    assert seen(tmp_path / "site") == seen(first / "fresh site")
    assert left_over(tmp_path / "site") == []


def test_a_lock_leaves_nothing_where_nothing_was_written(tmp_path):
    with lock.locked(tmp_path / "deep" / "site"):
        assert (tmp_path / "deep/site" / LOCK).exists()
    assert list(tmp_path.iterdir()) == []


# ---- what no build wrote -------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name", ["index.html", "feed.xml", "built.json", "one/index.html", "one/built.json"]
)
def test_a_page_that_no_build_wrote_is_overwritten_only_by_force(first, tmp_path, name):
    page = tmp_path / "site" / name
    page.parent.mkdir(parents=True)
    page.write_bytes(b"mine")
    done = run("build", first / "new/one.xlsx", "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 1
    assert str(page) in done.stderr
    assert "--force" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert seen(tmp_path / "site") == {name: files.sha256(b"mine")}
    assert left_over(tmp_path) == []
    done = run("build", first / "new/one.xlsx", "--out", tmp_path / "site", "--no-pdf", "--force")
    assert done.exit_code == 0, done.output
    assert seen(tmp_path / "site") == seen(first / "fresh site")


@pytest.mark.parametrize(
    "name", ["one/results.json", "one/data/plants.csv", "one/index.html", "index.html"]
)
def test_a_file_that_somebody_changed_is_overwritten_only_by_force(first, site, name):
    (site / name).write_bytes(b"changed by hand")
    before = seen(site)
    done = run("build", first / "new/one.xlsx", "--out", site, "--no-pdf")
    assert done.exit_code == 1
    assert str(site / name) in done.stderr
    assert seen(site) == before
    done = run("build", first / "new/one.xlsx", "--out", site, "--no-pdf", "--force")
    assert done.exit_code == 0, done.output
    assert seen(site) == seen(first / "new site")


def test_a_file_that_somebody_changed_does_not_stop_the_other_reports(first, site):
    shutil.copytree(first / "new", site.parent / "books")
    write_round(site.parent / "books/two.xlsx", CARBON_DIOXIDE[0], "full")
    (site / "one/results.json").write_bytes(b"changed by hand")
    done = run("build", site.parent / "books", "--out", site, "--no-pdf")
    assert done.exit_code == 1
    assert (site / "two/index.html").is_file()
    assert "two/index.html" not in (site / "index.html").read_text("utf-8")
    assert (site / "one/results.json").read_bytes() == b"changed by hand"


def test_files_of_ones_own_that_no_build_writes_stay_and_need_no_force(first, site):
    for name in ("CNAME", "one/notes.txt", "about/index.html"):
        (site / name).parent.mkdir(exist_ok=True)
        (site / name).write_bytes(b"mine")
    assert build(first / "new/one.xlsx", site).page
    mine = {name: one for name, one in seen(site).items() if one == files.sha256(b"mine")}
    assert set(mine) == {"CNAME", "one/notes.txt", "about/index.html"}
    assert {name: one for name, one in seen(site).items() if name not in mine} == seen(
        first / "new site"
    )


def test_a_site_of_another_version_of_the_program_needs_no_force(first, site):
    note = json.loads((site / "built.json").read_bytes())
    note["entry"]["of another version"] = 1
    (site / "built.json").write_bytes(sealed(note["entry"]))
    assert build(first / "new/one.xlsx", site).page
    assert seen(site) == seen(first / "new site")


@pytest.mark.parametrize("force", [False, True])
@pytest.mark.parametrize("name", ["one", "one/index.html", "assets", "index.html"])
def test_nothing_is_written_through_a_link(first, site, name, force):
    shutil.move(site / name, site.parent / "elsewhere")
    (site / name).symlink_to(site.parent / "elsewhere")
    before = seen(site), seen(site.parent)
    words = [
        "build",
        first / "new/one.xlsx",
        "--out",
        site,
        "--no-pdf",
        *(["--force"] if force else []),
    ]
    done = run(*words)
    assert done.exit_code == 1
    assert f"there is a link: {site / name}" in done.stderr
    assert (seen(site), seen(site.parent)) == before
    assert (site / name).is_symlink()


def test_the_folder_of_the_site_itself_may_be_a_link(first, tmp_path):
    (tmp_path / "real").mkdir()
    (tmp_path / "site").symlink_to(tmp_path / "real")
    assert build(first / "new/one.xlsx", tmp_path / "site").page
    assert seen(tmp_path / "real") == seen(first / "fresh site")


def test_a_file_in_the_place_of_a_folder_stays(tmp_path):
    (tmp_path / "one").write_bytes(b"mine")
    with pytest.raises(NotADirectoryError):
        files.write_folder(tmp_path, "one", {"a": b"new"}, {})
    assert (tmp_path / "one").read_bytes() == b"mine"


def test_a_message_names_some_of_many_files_and_counts_the_rest(tmp_path):
    content = {f"one/{number}": b"new" for number in range(9)}
    (tmp_path / "one").mkdir()
    for name in content:
        (tmp_path / name).write_bytes(b"mine")
    with pytest.raises(WorkbookError, match="and 4 more; expected"):
        site_folder.write_report(tmp_path, "one", content, Entry("", digests(content)), force=False)
    assert all((tmp_path / name).read_bytes() == b"mine" for name in content)
