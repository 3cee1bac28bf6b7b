"""Building only what changed, in several processes or on a cluster: always the same site as
building all anew.
"""

import dataclasses
import hashlib
import io
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook

from reportgen import files, pipeline, sources, workbook
from reportgen.building import executors, made_of, manifest, reports
from reportgen.building.executors import Lost, Workers, in_order
from reportgen.building.manifest import Entry
from reportgen.cli import main
from reportgen.model.document import Facts, Report
from reportgen.model.message import (
    Amount,
    Count,
    Day,
    OfTreatment,
    Quote,
    Several,
    Share,
    Span,
    Term,
    TreatmentName,
    message,
)
from reportgen.model.problem import Problem, Severity
from reportgen.model.results import (
    Comparison,
    Measure,
    NamedTreatment,
    RatioToPool,
    TrialIdentity,
    TrialToPool,
)
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.workbook.cleaned import cleaned
from tests.test_pipeline import change, digests, rounds, spoil, write_round
from tests.workbooks import good, least, put, whole, write

PLAIN = pipeline.BuildOptions(pdf=False, jobs=1)
pytestmark = pytest.mark.usefixtures("made_once", "drawn_once")


def build(books, site, options=PLAIN, settings=None):
    """Build every workbook of a folder; return what came of each by the workbook's name."""
    found = pipeline.workbooks((books,))
    return {
        one.source.name: one for one in pipeline.build(found, site, settings or Settings(), options)
    }


def unchanged(built):
    return {name for name, one in built.items() if one.unchanged}


@pytest.fixture(scope="module")
def first(tmp_path_factory, made_once, drawn_once):
    """Three workbooks of which two are pooled, the site that was built of them, and two of them
    with a change.
    """
    folder = tmp_path_factory.mktemp("first")
    books = rounds(folder / "books", 2)
    write(
        put(good(), Treatments_B2="Half strength", Treatments_B3="Full strength"),
        folder / "books/Coriander.xlsx",
    )
    assert not unchanged(build(folder / "books", folder / "site"))
    (folder / "changed").mkdir()
    for book in books:
        change(Path(shutil.copy(book, folder / "changed")))
    return folder


@pytest.fixture
def again(first, tmp_path):
    """The same workbooks and site, for a test to change."""
    shutil.copytree(first / "books", tmp_path / "books")
    shutil.copytree(first / "site", tmp_path / "site")
    shutil.copytree(first / "changed", tmp_path / "changed")
    return tmp_path


def change_weight(again, name):
    """Put the workbook with a changed weight in the place of the one that was built."""
    shutil.copy(again / "changed" / name, again / "books" / name)


def undated(site):
    """Return what digests tell files by, but for when results changed: a site that is built anew
    cannot know that.
    """
    known = digests(site)
    for path in site.rglob("built.json"):
        entry = json.loads(path.read_text("utf-8"))["entry"]
        entry["changed_at"] = ""
        if entry["report"]:
            entry["report"]["changed_at"] = ""
        entry["files"] = [one for one in entry["files"] if one[0] != "feed.xml"]
        known[str(path.relative_to(site))] = entry
    feed = (site / "feed.xml").read_text("utf-8")
    known["feed.xml"] = re.sub("<updated>.*?</updated>", "", feed)
    return known


def anew(folder, without=()):
    """Return what `undated` tells of the site of a folder's workbooks when it is built where there
    was none.
    """
    build(folder / "books", folder / "fresh")
    return {
        name: one
        for name, one in undated(folder / "fresh").items()
        if not name.startswith(tuple(without))
    }


def counted(monkeypatch):
    """Return the names of the trials that are made from now on."""
    made, real = [], pipeline.make
    monkeypatch.setattr(reports, "make", lambda job: (made.append(job.trial.slug), real(job))[1])
    return made


# ---- nothing changed -----------------------------------------------------------------------------


def test_unchanged_workbooks_are_neither_read_nor_built_nor_pooled_again(again, monkeypatch):
    before = digests(again / "site")
    made = counted(monkeypatch)
    monkeypatch.setattr(sources, "checked", lambda source: pytest.fail(f"{source} was read"))
    assert len(unchanged(build(again / "books", again / "site"))) == 3
    assert made == []
    assert digests(again / "site") == before


def test_cautions_and_remarks_of_an_unchanged_workbook_are_said_again(tmp_path):
    (tmp_path / "books").mkdir()
    write(
        put(least(), Trays_D2=5),
        tmp_path / "books/one.xlsx",
        lambda book: book.create_sheet("Scribbles"),
    )
    first = build(tmp_path / "books", tmp_path / "site")["one.xlsx"]
    second = build(tmp_path / "books", tmp_path / "site")["one.xlsx"]
    assert second.unchanged
    assert second.problems == first.problems
    assert any("Scribbles" in str(problem) for problem in second.problems)


def test_the_command_says_what_is_unchanged_and_rebuild_builds_all(again):
    words = ["build", str(again / "books"), "--out", str(again / "site"), "--no-pdf", "--jobs", "1"]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    assert done.output.count("(unchanged)") == 3
    done = CliRunner().invoke(main, [*words, "--rebuild"])
    assert done.exit_code == 0, done.output
    assert "(unchanged)" not in done.output


# ---- something changed ---------------------------------------------------------------------------


def test_after_a_change_only_that_workbook_is_built_and_the_site_is_that_of_a_full_build(
    again, monkeypatch
):
    change_weight(again, "round-1.xlsx")
    made = counted(monkeypatch)
    assert unchanged(build(again / "books", again / "site")) == {"Coriander.xlsx", "round-0.xlsx"}
    assert made == ["round-1"]
    assert undated(again / "site") == anew(again)


def test_after_a_change_no_other_workbook_is_read_and_what_trials_share_is_that_of_a_full_build(
    again, monkeypatch
):
    change_weight(again, "round-1.xlsx")
    read, real = [], pipeline.checked
    monkeypatch.setattr(
        sources,
        "checked",
        lambda source, *a, **b: (read.append(source.name), real(source, *a, **b))[1],
    )
    before = (again / "site/pooled.json").read_bytes()
    build(again / "books", again / "site")
    assert read == ["round-1.xlsx"]
    after = (again / "site/pooled.json").read_bytes()
    assert after != before
    anew(again)
    assert after == (again / "fresh/pooled.json").read_bytes()


def test_a_workbook_more_is_listed_and_pooled_as_in_a_full_build(again, tmp_path):
    shutil.copy(rounds(tmp_path / "more", 3)[2], again / "books")
    assert len(unchanged(build(again / "books", again / "site"))) == 3
    pooled = json.loads((again / "site/pooled.json").read_text("utf-8"))["comparisons"][0][
        "measures"
    ][0]
    assert len(pooled["trials"]) == 3
    assert undated(again / "site") == anew(again)


def test_a_workbook_less_leaves_its_folder_unlisted_and_the_rest_as_in_a_full_build(again):
    (again / "books/round-1.xlsx").unlink()
    words = ["build", str(again / "books"), "--out", str(again / "site"), "--no-pdf", "--jobs", "1"]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0
    assert f"{again / 'site/round-1'} is of an earlier build and was left as it is" in done.stderr
    assert "round-1" not in (again / "site/index.html").read_text("utf-8")
    left = {name for name in digests(again / "site") if name.startswith("round-1/")}
    assert "round-1/index.html" in left
    now = {name: one for name, one in undated(again / "site").items() if name not in left}
    assert now == anew(again)  # what was pooled is gone too
    assert "pooled.json" not in now


def test_a_workbook_that_comes_back_is_unchanged(again):
    shutil.move(again / "books/round-1.xlsx", again / "aside.xlsx")
    build(again / "books", again / "site")
    shutil.move(again / "aside.xlsx", again / "books/round-1.xlsx")
    assert len(unchanged(build(again / "books", again / "site"))) == 3
    assert undated(again / "site") == anew(again)


def test_an_error_leaves_the_site_as_it_was_and_mended_it_is_that_of_a_full_build(again):
    before = digests(again / "site")
    good_one = (again / "books/round-1.xlsx").read_bytes()
    spoil_rounds(again / "books/round-1.xlsx")
    assert build(again / "books", again / "site")["round-1.xlsx"].page is None
    assert digests(again / "site") == before
    (again / "books/round-1.xlsx").write_bytes(good_one)
    assert len(unchanged(build(again / "books", again / "site"))) == 3
    change_weight(again, "round-1.xlsx")
    build(again / "books", again / "site")
    assert undated(again / "site") == anew(again)


def spoil_rounds(path):
    book = load_workbook(path)
    book["Plants"]["C3"] = "3O"
    book.save(path)


def test_the_list_is_made_good_when_another_workbook_changed_while_one_had_errors(again):
    good_one = (again / "books/round-1.xlsx").read_bytes()
    spoil_rounds(again / "books/round-1.xlsx")
    change_weight(again, "round-0.xlsx")
    build(again / "books", again / "site")
    (again / "books/round-1.xlsx").write_bytes(good_one)
    assert len(unchanged(build(again / "books", again / "site"))) == 3
    assert undated(again / "site") == anew(again)


def test_a_good_report_has_its_stylesheet_though_the_first_build_found_errors_elsewhere(tmp_path):
    (tmp_path / "books").mkdir()
    write(least(), tmp_path / "books/good.xlsx")
    spoil(write(least(), tmp_path / "books/bad.xlsx"))
    build(tmp_path / "books", tmp_path / "site")
    page = (tmp_path / "site/good/index.html").read_text("utf-8")
    address = re.search(r'rel="stylesheet" href="([^"]+)"', page)[1]
    assert (tmp_path / "site/good" / address).is_file()


def test_figures_that_a_report_has_no_more_go_unless_somebody_changed_them(tmp_path):
    books, site = tmp_path / "books", tmp_path / "site"
    books.mkdir()
    write(whole(), books / "one.xlsx")
    build(books, site)
    before = set(digests(site))
    (site / "one/notes.txt").write_text("mine")
    write(
        {name: rows for name, rows in whole().items() if name not in ("Light", "Growth")},
        books / "one.xlsx",
    )
    gone = before - set(anew(tmp_path))
    svg = min(name for name in gone if name.endswith(".svg"))
    (site / svg).write_text("<svg>mine</svg>")
    build(books, site)
    assert set(digests(site)) == set(digests(tmp_path / "fresh")) | {"one/notes.txt", svg}


@pytest.mark.parametrize(
    "name", ["round-0/index.html", "round-0/results.json", "index.html", "pooled.json"]
)
def test_a_file_that_is_missing_is_built_again(again, name):
    before = digests(again / "site")
    (again / "site" / name).unlink()
    build(again / "books", again / "site")
    assert digests(again / "site") == before


def test_a_note_that_was_changed_by_hand_is_not_believed(again):
    note = again / "site/round-0/built.json"
    note.write_text(note.read_text("utf-8").replace("Strength", "Nonsense"), "utf-8")
    assert "Nonsense" in note.read_text("utf-8")
    forced = pipeline.BuildOptions(pdf=False, jobs=1, force=True)
    assert "round-0.xlsx" not in unchanged(build(again / "books", again / "site", forced))
    assert "Nonsense" not in (again / "site/index.html").read_text("utf-8")


@pytest.mark.parametrize("change", ["title", "program", "name of the file"])
def test_what_else_a_report_is_made_of_counts_too(again, monkeypatch, change):
    settings = Settings(title="Other trials") if change == "title" else Settings()
    if change == "program":
        monkeypatch.setattr(made_of, "program", lambda: "another")
    if change == "name of the file":
        (again / "books/Coriander.xlsx").rename(again / "books/coriander.xlsx")
    expected = {"round-0.xlsx", "round-1.xlsx"} if change == "name of the file" else set()
    assert unchanged(build(again / "books", again / "site", settings=settings)) == expected


def test_the_program_is_its_code_its_templates_and_the_libraries_under_it(tmp_path, monkeypatch):
    (tmp_path / "page.html").write_text("one")
    found = set()
    for text, version in (("one", "3.1"), ("two", "3.1"), ("one", "3.2")):
        (tmp_path / "page.html").write_text(text)
        monkeypatch.setattr(
            manifest.metadata, "requires", lambda _: ["jinja2>=3", "numpy; extra == 'test'"]
        )
        monkeypatch.setattr(manifest.metadata, "version", lambda _, version=version: version)
        manifest.program.cache_clear()
        found.add(manifest.program(tmp_path))
    manifest.program.cache_clear()
    assert len(found) == 3


def test_a_change_in_the_sites_own_templates_counts(tmp_path):
    rounds(tmp_path / "books", 1)
    for text, expected in (("one", 0), ("one", 1), ("two", 0)):
        settings = own_templates(tmp_path, text)
        assert (
            len(unchanged(build(tmp_path / "books", tmp_path / "site", PLAIN, settings)))
            == expected
        )
        assert f"<p>{text}</p>" in (tmp_path / "site/round-0/index.html").read_text("utf-8")


def test_a_photo_beside_the_workbook_counts(tmp_path):
    books = tmp_path / "books"
    books.mkdir()
    pixel = bytes.fromhex("89504e470d0a1a0a")  # PNG, section 5.2: the signature
    (books / "leaf.png").write_bytes(pixel)
    sheets = put(whole(), Observations_E2="leaf.png", Observations_F2="A leaf with a brown tip")
    write(sheets, books / "one.xlsx")
    build(books, tmp_path / "site")
    assert unchanged(build(books, tmp_path / "site")) == {"one.xlsx"}
    (books / "leaf.png").write_bytes(pixel + b"another")
    assert not unchanged(build(books, tmp_path / "site"))
    (books / "leaf.png").unlink()
    assert not build(books, tmp_path / "site")["one.xlsx"].unchanged


def test_a_pdf_that_is_wanted_later_is_set_and_one_that_is_not_wanted_goes(tmp_path):
    books, site = tmp_path / "books", tmp_path / "site"
    books.mkdir()
    write(least(), books / "one.xlsx")
    build(books, site)
    assert not unchanged(build(books, site, pipeline.BuildOptions(jobs=1)))
    assert (site / "one/report.pdf").is_file()
    assert unchanged(build(books, site, pipeline.BuildOptions(jobs=1))) == {"one.xlsx"}
    build(books, site)
    assert not (site / "one/report.pdf").exists()


def test_without_pango_the_pdf_is_tried_again_with_each_build(tmp_path, monkeypatch):
    from reportgen import render

    def unavailable():
        raise render.PdfUnavailable("The PDF needs Pango.")

    books, site = tmp_path / "books", tmp_path / "site"
    books.mkdir()
    write(least(), books / "one.xlsx")
    monkeypatch.setattr(render.paper, "require", unavailable)
    for _ in range(2):
        assert (
            build(books, site, pipeline.BuildOptions(jobs=1))["one.xlsx"].remark
            == "The PDF needs Pango."
        )
    assert unchanged(build(books, site)) == {"one.xlsx"}


def test_two_workbooks_of_one_name_are_refused_in_later_builds_too(again):
    shutil.copy(again / "books/round-0.xlsx", again / "books/round 0.xlsx")
    for _ in range(2):
        built = build(again / "books", again / "site")
        refused = [one for one in built.values() if one.page is None]
        assert len(refused) == 1
        assert "written over another trial" in str(refused[0].problems[0])


# ---- the note ------------------------------------------------------------------------------------

REASON = message(
    "code",
    each=Several((OfTreatment(Share(0.1 + 0.2), "a"), OfTreatment(Amount(1 / 3, "g"), "b"))),
    of=message(
        "inner", day=Day("2026-05-01"), trays=Count(3, "tray"), term=Term("EC"), words=Quote("Ünd")
    ),
    span=Span(0.1, 0.2, "L"),
    name=TreatmentName("a"),
)
NOTED = Entry(
    "made of",
    (("one/index.html", "digest"),),
    Report(
        "one",
        "en",
        "Ünd <b>",
        "basil",
        "",
        ("a", "b"),
        "",
        Facts((("x", "y"),)),
        "",
        "",
        "2026-05-01",
        (),
        "",
        "",
    ),
    (Problem(Severity.CAUTION, "Trays", "B4", "found", "expected", "advice", code="unknown_code"),),
    ("leaf.png",),
    TrialToPool(
        "one",
        "Ünd <b>",
        "basil",
        "",
        "2026-05-01",
        "0" * 64,
        "pot",
        0.9,
        "a",
        (NamedTreatment("a", "A"), NamedTreatment("b", "B")),
        ("b",),
        (
            RatioToPool(
                Measure("k", "L", "g"), "b", Comparison(0.1 + 0.2), Comparison(1 / 3), -1e-300, 1e22
            ),
            RatioToPool(Measure("k", "L", "g"), "b", Comparison(), Comparison(), reasons=(REASON,)),
        ),
        TrialIdentity(
            "Ünd <b>", "2026-04-01", "2026-05-01", (("T1", "a"),), (("T1", "1", 0.1 + 0.2),)
        ),
    ),
)


def test_a_note_reads_as_it_was_written_and_holds_no_path_of_this_computer(again, tmp_path):
    (tmp_path / "note.json").write_bytes(manifest.written(NOTED))
    assert manifest.read(tmp_path / "note.json") == NOTED
    for note in (again / "site").rglob("built.json"):
        assert str(again) not in note.read_text("utf-8")
        assert manifest.written(manifest.read(note)) == note.read_bytes()


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"[]",
        b"{}",
        b"\xff",
        b'{"entry": {}, "digest": "x"}',
        b'{"entry": 1, "digest": 1}',
        b"null",
    ],
)
def test_a_note_that_is_none_is_no_note(tmp_path, content):
    (tmp_path / "note.json").write_bytes(content)
    assert manifest.read(tmp_path / "note.json") is None
    assert manifest.read(tmp_path) is None


def test_a_note_cannot_have_files_removed_outside_of_the_site(tmp_path):
    (tmp_path / "site").mkdir()
    (tmp_path / "mine.txt").write_bytes(b"mine")
    known = hashlib.sha256(b"mine").hexdigest()
    files.write_files(
        tmp_path / "site", {}, {"../mine.txt": known, str(tmp_path / "mine.txt"): known}
    )
    assert (tmp_path / "mine.txt").is_file()


# ---- several processes ---------------------------------------------------------------------------


def test_several_processes_build_the_same_site_as_one_pdfs_included(tmp_path):
    rounds(tmp_path / "books", 3)
    sites = {}
    for jobs in (1, 2):
        built = build(tmp_path / "books", tmp_path / str(jobs), pipeline.BuildOptions(jobs=jobs))
        assert list(built) == [path.name for path in pipeline.workbooks((tmp_path / "books",))]
        sites[jobs] = digests(tmp_path / str(jobs))
    assert "round-0/report.pdf" in sites[1]
    assert sites[1] == sites[2]


def test_processes_are_for_many_reports_and_never_more_than_there_are(monkeypatch):
    monkeypatch.setattr(executors.os, "sched_getaffinity", lambda _: set(range(64)), raising=False)
    assert [executors.jobs_for(reports) for reports in (0, 1, 100)] == [1, 1, executors.MOST_JOBS]
    assert executors.processes(1) is None
    monkeypatch.setattr(executors.os, "sched_getaffinity", lambda _: {0}, raising=False)
    assert executors.jobs_for(100) == 1


def square(number):
    return number * number


# What a worker evaluates: it needs no module of ours, and can end itself in place of a result.
DIE = "__import__('os').kill(__import__('os').getpid(), 9)"


def fail(number):
    raise ArithmeticError(f"no {number}")


def test_results_come_in_order_and_what_needs_no_work_keeps_its_place():
    items = [(n, None if n % 3 == 0 else n) for n in range(12)]
    expected = [(n, None if n % 3 == 0 else n * n) for n in range(12)]
    assert list(in_order(square, items, None)) == expected
    assert list(in_order(square, items, Workers(2, lambda: ThreadPoolExecutor(2)))) == expected


def test_no_more_items_are_taken_than_the_workers_need():
    taken = []

    def items():
        for n in range(100):
            taken.append(n)
            yield n, n

    results = in_order(square, items(), Workers(2, lambda: ThreadPoolExecutor(2)))
    next(results)
    assert len(taken) <= 2 * executors.AHEAD + 1
    results.close()


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no signals to kill with")
def test_a_worker_that_is_killed_costs_its_own_item_only():
    items = [(n, DIE if n == 2 else f"{n} * {n}") for n in range(6)]
    assert list(in_order(eval, items, executors.processes(2))) == [
        (0, 0),
        (1, 1),
        (2, Lost()),
        (3, 9),
        (4, 16),
        (5, 25),
    ]


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no signals to kill with")
def test_an_item_whose_worker_is_killed_once_is_tried_again(tmp_path):
    mark = f"__import__('pathlib').Path({str(tmp_path / 'mark')!r})"
    items = [("a", "1"), ("once", f"2 if {mark}.exists() else ({mark}.touch(), {DIE})"), ("b", "3")]
    assert list(in_order(eval, items, executors.processes(2))) == [("a", 1), ("once", 2), ("b", 3)]


@pytest.mark.parametrize("workers", [None, Workers(2, lambda: ThreadPoolExecutor(2))])
def test_a_mistake_in_the_program_is_raised_and_not_hidden(workers):
    with pytest.raises(ArithmeticError, match="no 1"):
        list(in_order(fail, [(1, 1), (2, 2)], workers))


def test_a_lost_worker_is_told_with_its_workbook_and_the_rest_is_built(again, monkeypatch):
    real = executors.in_order

    def losing(task, items, workers):
        for step, made in real(task, items, workers):
            yield step, Lost() if step.source.name == "round-1.xlsx" else made

    monkeypatch.setattr(executors, "in_order", losing)
    built = build(again / "books", again / "new", pipeline.BuildOptions(pdf=False, jobs=1))
    assert [name for name, one in built.items() if one.page is None] == ["round-1.xlsx"]
    (problem,) = built["round-1.xlsx"].problems
    assert "building round-1.xlsx ended twice" in str(problem)
    assert (again / "new/round-0/index.html").is_file()


@pytest.mark.skipif(os.name == "nt", reason="no such signals")
def test_ctrl_c_ends_a_build_in_several_processes_and_the_next_one_goes_on(first, tmp_path):
    books = tmp_path / "books"
    books.mkdir()
    how_many = 5  # so many that work is still to do when the first report is there
    for number in range(how_many):
        write_round(
            books / f"again-{number}.xlsx",
            (20.0 + number, 3.0, 4, 18.0 + number / 7, 2.0, 4),
            "half",
        )
    words = [
        sys.executable,
        "-m",
        "reportgen",
        "build",
        str(books),
        "--no-pdf",
        "--out",
        str(tmp_path / "site"),
    ]
    process = subprocess.Popen(
        [*words, "--jobs", "2"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    end = time.monotonic() + 120
    while not (tmp_path / "site").exists() and process.poll() is None and time.monotonic() < end:
        time.sleep(0.02)
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=120)
    assert process.returncode == 1
    assert "Aborted!" in said
    assert "Traceback" not in said
    built = build(books, tmp_path / "site")
    assert len(built) == how_many
    assert all(one.page and one.page.is_file() for one in built.values())


# ---- a cluster -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def cluster():
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=1,
        threads_per_worker=1,
        processes=True,
        dashboard_address=None,
        silence_logs="CRITICAL",
    ) as running:
        yield running.scheduler_address


def test_a_cluster_builds_the_same_site(first, tmp_path, cluster):
    build(first / "books", tmp_path / "site", pipeline.BuildOptions(pdf=False, cluster=cluster))
    assert digests(tmp_path / "site") == digests(first / "site")


def own_templates(folder, text):
    """Return the settings of a site whose templates, in the folder `mine`, say something of their
    own.
    """
    (folder / "mine" / "parts").mkdir(parents=True, exist_ok=True)
    (folder / "mine" / "parts" / "sections.html").write_text(f"<p>{text}</p>", "utf-8")
    (folder / "reportgen.toml").write_text('templates = "mine"', "utf-8")
    return pipeline.settings_of((), folder / "reportgen.toml")


def test_a_cluster_uses_the_sites_own_templates_though_it_has_not_their_folder(tmp_path, cluster):
    rounds(tmp_path / "books", 1)
    settings = own_templates(tmp_path, "said by the site")
    build(tmp_path / "books", tmp_path / "here", PLAIN, settings)
    shutil.move(tmp_path / "mine", tmp_path / "on another computer")
    build(
        tmp_path / "books",
        tmp_path / "there",
        pipeline.BuildOptions(pdf=False, cluster=cluster),
        settings,
    )
    assert "said by the site" in (tmp_path / "there/round-0/index.html").read_text("utf-8")
    assert digests(tmp_path / "there") == digests(tmp_path / "here")


def test_a_cluster_attaches_the_workbook_that_lies_here(first, tmp_path, cluster):
    pikepdf = pytest.importorskip("pikepdf")
    source = Path(shutil.copy(first / "books/round-0.xlsx", tmp_path))
    asked = dataclasses.replace(DEFAULTS, attach_workbook=True)
    (built,) = pipeline.build(
        (source,), tmp_path / "site", asked, pipeline.BuildOptions(cluster=cluster)
    )
    with pikepdf.open(built.page.parent / "report.pdf") as opened:
        copy = opened.attachments["round-0.xlsx"].get_file().read_bytes()
    assert copy == cleaned(workbook.read(source))
    assert cells_of(io.BytesIO(copy)) == cells_of(source)


def cells_of(source):
    """Return the values of each sheet that has any, row by row, read by the library alone."""
    book = load_workbook(source, data_only=True)
    return {sheet.title: list(sheet.values) for sheet in book.worksheets if sheet.max_row > 1}


def test_a_cluster_that_runs_another_program_is_refused(cluster):
    with pytest.raises(
        executors.ClusterUnavailable, match="runs another version of the program on"
    ):
        executors.cluster(cluster, os.getpid)


def test_a_cluster_that_cannot_be_used_gets_one_message(first, tmp_path, monkeypatch):
    pytest.importorskip("distributed")
    books = [str(one) for one in pipeline.workbooks((first / "books",))]
    words = ["build", *books, "--out", str(tmp_path / "site"), "--cluster"]
    for address in ("127.0.0.1:1", "nonsense://x"):
        done = CliRunner().invoke(main, [*words, address])
        assert done.exit_code == 1
        assert f"The cluster at {address} cannot be used" in done.output
        assert "Traceback" not in done.output
    monkeypatch.setitem(sys.modules, "distributed", None)
    done = CliRunner().invoke(main, [*words, "127.0.0.1:1"])
    assert "pip install 'reportgen-trials[cluster]'" in done.output
    assert not Path(tmp_path / "site").exists()
