"""The preview: what its server gives and refuses, what it shows of errors, and that no save is
lost.
"""

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
import zipfile
from collections import Counter
from dataclasses import replace
from gettext import NullTranslations
from http.client import HTTPConnection
from queue import Queue

import lxml.html
import pytest
from click.testing import CliRunner

from reportgen import language, preview
from reportgen.cli import main
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.pipeline import BuildOptions, BuildResult
from reportgen.preview import responses, watch
from reportgen.preview import server as servers
from reportgen.preview.builds import FAILED, Source, build_on_change
from reportgen.preview.status import BuildStatus, Failure, LastBuild
from tests.pots import LETTUCE, write_pots

POLICY = "default-src 'none'; style-src 'self'; connect-src 'none'"
PAGE = (
    '<html><head><meta http-equiv="Content-Security-Policy"'
    f' content="{POLICY}"></head><body>{{}}</body></html>'
)
DEADLINE = 60  # seconds after which something that must come is given up


@pytest.fixture
def site(tmp_path):
    """A folder of a site with a secret beside it."""
    root = tmp_path / "site"
    (root / "basil/data").mkdir(parents=True)
    (root / "index.html").write_text(PAGE.format("the list"))
    (root / "basil/index.html").write_text(PAGE.format("the report of basil"))
    (root / "basil/data/plants.csv").write_text("Tray\nA1\n")
    (root / ".secret").write_text("secret")
    (tmp_path / "secret.txt").write_text("secret")
    return root


@pytest.fixture
def books(tmp_path):
    (tmp_path / "books").mkdir()
    write_pots(tmp_path / "books/Lettuce 2026.xlsx", LETTUCE)
    return tmp_path / "books"


@pytest.fixture
def served(site):
    """A running server and its status, the first build done."""
    status = BuildStatus()
    status.publish(())
    with servers.listen(site, status, 0) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield server, status
        status.close()
        server.shutdown()


def ask(server, path, method="GET", **headers):
    """Return status, headers and body of an answer; the path is sent as it stands."""
    connection = HTTPConnection("127.0.0.1", server.server_port, timeout=DEADLINE)
    connection.putrequest(method, path, skip_host="Host" in headers)
    for name, value in headers.items():
        for one in [value] if isinstance(value, str) else value:
            connection.putheader(name, one)
    connection.endheaders()
    answer = connection.getresponse()
    return answer.status, dict(answer.getheaders()), answer.read()


def until(true):
    """Wait until something is true; fail where it never becomes so."""
    end = time.monotonic() + DEADLINE
    while not (found := true()):
        assert time.monotonic() < end, "it never came"
        time.sleep(0.02)
    return found


# ---- what is given -------------------------------------------------------------------------------


def test_pages_and_files_come_with_their_types_and_are_never_kept_by_the_browser(served):
    server, _ = served
    # Media types: IANA registry; HTML standard, "text/javascript" is the type of scripts (RFC
    # 9239).
    for path, kind in (
        ("/", "text/html; charset=utf-8"),
        ("/basil/", "text/html; charset=utf-8"),
        ("/basil/index.html?x=1", "text/html; charset=utf-8"),
        ("/basil/data/plants.csv", "text/csv; charset=utf-8"),
        ("/.preview/reload.js", "text/javascript; charset=utf-8"),
        ("/.preview/problems.css", "text/css; charset=utf-8"),
    ):
        code, headers, body = ask(server, path)
        assert (code, headers["Content-Type"], headers["Cache-Control"]) == (
            200,
            kind,
            "no-store",
        ), path
        assert int(headers["Content-Length"]) == len(body) > 0


def test_head_gives_the_same_headers_without_the_content(served):
    server, _ = served
    _, full, body = ask(server, "/basil/")
    code, headers, nothing = ask(server, "/basil/", "HEAD")
    assert (code, nothing) == (200, b"")
    assert headers["Content-Length"] == full["Content-Length"] == str(len(body))
    assert ask(server, "/.preview/events", "HEAD")[2] == b""


def test_a_folder_without_its_slash_is_moved_to_within_this_server_only(served, site):
    server, _ = served
    assert ask(server, "/basil")[1]["Location"] == "/basil/"
    (site / "evil.example").mkdir()
    code, headers, _ = ask(server, "//evil.example")
    assert (code, headers["Location"]) == (301, "/evil.example/")


def test_the_script_is_put_into_what_is_sent_and_not_into_what_is_built(served, site):
    server, status = served
    before = (site / "index.html").read_bytes()
    sent = ask(server, "/")[2].decode()
    assert f'<script src="/.preview/reload.js" data-build="{status.last.name}" defer>' in sent
    assert sent.index("<script") < sent.index("</head>")
    assert (site / "index.html").read_bytes() == before


@pytest.mark.parametrize(
    ("policy", "scripts", "connections"),
    [
        # CSP Level 3: a directive that is missing falls back to default-src; 'none' must stand
        # alone.
        ("default-src 'none'; style-src 'self'", "'self'", "'self'"),
        (
            "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'none'",
            "'self' 'wasm-unsafe-eval'",
            "'self'",
        ),
        ("default-src https:;", "https: 'self'", "https: 'self'"),
        ("default-src &#39;none&#39;", "'self'", "'self'"),
    ],
)
def test_the_policy_of_a_page_is_widened_by_no_more_than_the_script_needs(
    policy, scripts, connections
):
    page = f'<head><meta http-equiv="Content-Security-Policy" content="{policy}"></head>'
    sent = re.search(r'content="([^"]*)"', responses.with_reload(page, "b-1"))[1]
    directives = dict(one.strip().split(" ", 1) for one in sent.split(";"))
    assert directives.pop("script-src") == scripts
    assert directives.pop("connect-src") == connections
    assert "'unsafe-inline'" not in sent
    assert set(directives) <= {"default-src", "style-src"}


# ---- what is refused -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "path",
    [
        "/../secret.txt",
        "/basil/../../secret.txt",
        "/%2e%2e/secret.txt",
        "/%2E%2e%2Fsecret.txt",
        "/basil/..%2f..%2fsecret.txt",
        "/..%5csecret.txt",
        "/basil\\..\\..\\secret.txt",
        "/%252e%252e/secret.txt",
        "//etc/passwd",
        "/%2fetc%2fpasswd",
        "/C:/secret.txt",
        "/index.html%00.png",
        "/index.html::$DATA",
        "/.secret",
        "/basil/../.secret",
        "/link.txt",
        "/outside/secret.txt",
        "/.preview/../../secret.txt",
        "/.preview/script.html",
        "http://example.org/index.html",
        "index.html",
        "/" + "n" * 5000,
        "/loop/x",
        "/pipe.txt",
        "/%ff%fe",
    ],
)
def test_no_way_leads_out_of_the_folder(served, site, tmp_path, path):
    server, _ = served
    (site / "link.txt").symlink_to(tmp_path / "secret.txt")
    (site / "outside").symlink_to(tmp_path)
    (site / "loop").symlink_to(site / "loop")
    os.mkfifo(site / "pipe.txt")
    code, _, body = ask(server, path, Host=f"127.0.0.1:{server.server_port}")
    assert code == 404
    assert b"secret" not in body
    assert b"root:" not in body


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"])
def test_nothing_but_looking_is_allowed(served, method):
    server, _ = served
    code, headers, _ = ask(server, "/", method)
    assert (code, headers["Allow"], headers["Cache-Control"]) == (405, "GET, HEAD", "no-store")


def test_a_name_that_points_to_this_computer_gets_nothing(served):
    # DNS rebinding: a page of another site resolves its own name to 127.0.0.1 and asks as its own
    # origin.
    server, _ = served
    port = server.server_port
    refused = [
        "evil.example",
        f"evil.example:{port}",
        "127.0.0.1",
        f"127.0.0.1:{port + 1}",
        "",
        "localhost.",
    ]
    for host in [*refused, [f"127.0.0.1:{port}", "evil.example"]]:
        for path in ("/", "/.preview/events", "/.preview/reload.js"):
            code, _, body = ask(server, path, Host=host)
            assert (code, b"the list" in body) == (403, False), host
    assert ask(server, "/", Host=f"LOCALHOST:{port}")[0] == 200


def test_the_server_listens_on_this_computer_alone(served):
    server, _ = served
    assert server.socket.getsockname()[0] == "127.0.0.1"
    assert server.socket.family == socket.AF_INET


def test_a_port_that_is_taken_is_told_and_the_usual_one_gives_way_to_a_free_one(
    served, site, monkeypatch
):
    server, status = served
    with pytest.raises(servers.PortTakenError, match="cannot be had"):
        servers.listen(site, status, server.server_port)
    monkeypatch.setattr(servers, "PORT", server.server_port)
    with servers.listen(site, status, None) as other:
        assert other.server_port not in (0, server.server_port)


# ---- errors of workbooks -------------------------------------------------------------------------

HOSTILE = Failure(
    "<b>basil</b>.xlsx", "basil", ('Plants!C7: "<script>alert(1)</script>" is not a number.',)
)


def test_the_problems_of_a_workbook_stand_escaped_on_its_page_and_on_the_list(served):
    server, status = served
    status.publish((HOSTILE,))
    for path in ("/", "/basil/", "/basil/index.html", "/index.html"):
        code, headers, body = ask(server, path)
        assert code == 200
        assert "&lt;script&gt;alert(1)&lt;/script&gt;" in body.decode()
        assert "<b>" not in body.decode()
        assert b"alert(1)</script>" not in body
        assert "script-src 'self'" in headers["Content-Security-Policy"]


def test_the_last_good_page_is_one_link_away_and_goes_on_reloading(served):
    server, status = served
    status.publish((HOSTILE,))
    assert b'href="?last-good"' in ask(server, "/basil/")[2]
    for path, said in (("/basil/?last-good", b"the report of basil"), ("/?last-good", b"the list")):
        body = ask(server, path)[2]
        assert said in body
        assert b"/.preview/reload.js" in body


def test_other_reports_and_files_are_shown_as_usual(served, site):
    server, status = served
    shutil.copytree(site / "basil", site / "chard")
    status.publish((HOSTILE,))
    assert b"the report of basil" in ask(server, "/chard/")[2]
    assert ask(server, "/basil/data/plants.csv")[2].startswith(b"Tray")


def test_a_workbook_that_never_was_good_shows_its_problems_and_what_else_is_there(served, site):
    server, status = served
    (site / "index.html").unlink()
    status.publish((Failure("new one.xlsx", "new-one", ("Trial: is missing",)),))
    for path in ("/", "/new-one/"):
        body = ask(server, path)[2].decode()
        assert "Trial: is missing" in body
        assert "?last-good" not in body
        assert 'href="/basil/"' in body


def test_an_unfinished_trial_that_waits_has_a_page_of_its_own_and_leaves_the_list_alone(served):
    server, status = served
    waiting = Failure("next.xlsx", "next", ("nothing was recorded in it so far",), waits=True)
    status.publish((waiting,))
    body = ask(server, "/next/")[2].decode()
    assert "There is nothing to show yet" in body
    assert "nothing was recorded in it so far" in body
    assert "has errors" not in body
    assert b"nothing was recorded" not in ask(server, "/")[2]
    status.publish((waiting, HOSTILE))
    assert b"has errors" in ask(server, "/")[2]


def test_before_the_first_build_is_done_a_page_says_so_and_waits(site):
    (site / "index.html").unlink()
    answer = responses.respond(site, "/", LastBuild("b-0", running=True))
    assert answer.status == 200
    assert b"is being built" in answer.body
    assert b'data-build="b-0"' in answer.body


def test_a_page_of_a_renamed_workbook_is_not_there_and_reloads_when_it_comes_back(served):
    server, _ = served
    code, _, body = ask(server, "/old-name/")
    assert code == 404
    assert b"/.preview/reload.js" in body
    assert b'href="/basil/"' in body


# ---- events --------------------------------------------------------------------------------------


class Listener:
    """A browser's line of events, read one at a time."""

    def __init__(self, server):
        self.connection = HTTPConnection("127.0.0.1", server.server_port, timeout=DEADLINE)
        self.connection.request("GET", "/.preview/events")
        self.answer = self.connection.getresponse()

    def next(self):
        line = self.answer.readline().decode()
        blank = self.answer.readline()
        assert blank == b"\n"
        return line.rstrip("\n")


def test_whoever_connects_is_told_the_last_build_at_once_and_then_each_that_follows(served):
    server, status = served
    listener = Listener(server)
    assert listener.answer.getheader("Content-Type") == "text/event-stream"
    assert listener.answer.getheader("Cache-Control") == "no-store"
    assert listener.next() == f"data: {status.last.name}"
    status.publish(())
    assert listener.next() == f"data: {status.last.name}"


def test_a_build_between_page_and_line_is_not_lost(served):
    server, status = served
    shown = re.search(rb'data-build="([^"]+)"', ask(server, "/")[2])[1].decode()
    status.publish(())
    assert Listener(server).next() != f"data: {shown}"


def test_a_silent_line_is_kept_alive_and_ends_with_the_preview(served, monkeypatch):
    server, status = served
    monkeypatch.setattr(servers, "KEEP_ALIVE", 0.05)
    listener = Listener(server)
    assert listener.next().startswith("data: ")
    assert listener.next() == ": still here"
    status.close()
    assert "data" not in listener.answer.read().decode()
    assert ask(server, "/")[0] == 503


def test_builds_of_two_previews_never_share_a_name():
    statuses = [BuildStatus() for _ in range(20)]
    assert len({status.last.name for status in statuses}) == 20


# ---- many at once --------------------------------------------------------------------------------


def ask_at_once(server, number):
    """Send as many requests from threads of their own; return the queue that the bodies of the
    answers come to.
    """
    request = f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{server.server_port}\r\n\r\n".encode()
    together, bodies = threading.Barrier(number), Queue()

    def ask_one():
        together.wait(DEADLINE)
        try:
            with socket.create_connection(
                ("127.0.0.1", server.server_port), timeout=DEADLINE
            ) as connection:
                connection.sendall(request)
                with connection.makefile("rb") as answer:
                    bodies.put(answer.read().partition(b"\r\n\r\n")[2])
        except OSError as error:
            bodies.put(type(error).__name__)

    for _ in range(number):
        threading.Thread(target=ask_one, daemon=True).start()
    return bodies


def test_500_requests_at_once_are_all_answered(served):
    server, _ = served
    page = ask(server, "/")[2]
    bodies = ask_at_once(server, 500)
    assert Counter(bodies.get(timeout=DEADLINE) for _ in range(500)) == {page: 500}


def test_answers_that_are_sent_at_the_same_time_are_bounded(served, monkeypatch):
    server, _ = served
    begun, may_end = Queue(), threading.Event()
    respond = servers.respond

    def slowly(*request):
        begun.put(None)
        may_end.wait(DEADLINE)
        return respond(*request)

    monkeypatch.setattr(servers, "respond", slowly)
    bodies = ask_at_once(server, 2 * servers.MOST_ANSWERS)
    until(lambda: begun.qsize() >= servers.MOST_ANSWERS)
    time.sleep(0.5)  # room for one too many
    assert begun.qsize() == servers.MOST_ANSWERS
    may_end.set()
    assert all(b"the list" in bodies.get(timeout=DEADLINE) for _ in range(2 * servers.MOST_ANSWERS))


def test_pages_that_wait_for_the_next_build_keep_no_page_from_being_sent(served, monkeypatch):
    server, status = served
    monkeypatch.setattr(servers, "KEEP_ALIVE", 0.05)  # so that lines that were given up are noticed
    listeners = [Listener(server) for _ in range(servers.MOST_STREAMS)]
    assert servers.MOST_STREAMS > servers.MOST_ANSWERS
    assert ask(server, "/")[0] == 200
    code, _, body = ask(server, "/.preview/events")
    assert (code, b"Too many pages" in body) == (503, True)
    status.publish(())
    for listener in listeners:
        until(lambda listener=listener: listener.next() == f"data: {status.last.name}")
    listeners.pop().connection.close()
    listeners.clear()
    until(lambda: ask_for_a_stream(server) == 200)


def ask_for_a_stream(server):
    connection = HTTPConnection("127.0.0.1", server.server_port, timeout=DEADLINE)
    connection.request("GET", "/.preview/events")
    code = connection.getresponse().status
    connection.close()
    return code


def test_connections_that_say_nothing_are_given_up(served, monkeypatch):
    server, _ = served
    monkeypatch.setattr(servers.Handler, "timeout", 0.1)
    silent = [
        socket.create_connection(("127.0.0.1", server.server_port))
        for _ in range(servers.MOST_ANSWERS + 1)
    ]
    assert ask(server, "/")[0] == 200
    for connection in silent:
        connection.settimeout(DEADLINE)
        assert connection.recv(1) == b""
        connection.close()


# ---- watching ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    ["~$trial.xlsx", ".~lock.trial.xlsx#", ".trial.xlsx", "A1B2C3D4", "lu123.tmp", "~trial.xlsx"],
)
def test_what_spreadsheet_programs_save_aside_is_not_watched(name):
    assert not watch.is_watched(f"/somewhere/{name}")
    assert watch.is_watched("/somewhere/Trial 1.XLSX")


@pytest.fixture
def watching(tmp_path):
    """A folder that is watched, and the queue of the changes that were found."""
    folder, found = tmp_path / "books", Queue()
    folder.mkdir()
    threading.Thread(
        target=lambda: [found.put(one) for one in watch.changes(lambda: frozenset([folder]))],
        daemon=True,
    ).start()
    assert found.get(timeout=DEADLINE) == set()
    return folder, found


def test_many_saves_in_a_moment_are_few_builds_and_the_last_one_is_among_them(watching):
    folder, found = watching
    for number in range(20):
        (folder / "trial.xlsx").write_bytes(b"PK" + bytes([number]))
        time.sleep(0.01)
    assert {path.name for path in found.get(timeout=DEADLINE)} == {"trial.xlsx"}
    (folder / "last.xlsx").write_bytes(b"PK")
    sets = 1
    while "last.xlsx" not in {path.name for path in found.get(timeout=DEADLINE)}:
        sets += 1
    assert sets < 20


def test_renamed_and_deleted_workbooks_are_changes_and_lock_files_are_none(watching):
    folder, found = watching
    (folder / "~$trial.xlsx").write_bytes(b"lock")
    (folder / "trial.xlsx").write_bytes(b"PK")
    assert {path.name for path in found.get(timeout=DEADLINE)} == {"trial.xlsx"}
    (folder / "trial.xlsx").rename(folder / "other.xlsx")
    names = set()
    until(
        lambda: (
            names.update(path.name for path in found.get(timeout=DEADLINE))
            or names >= {"trial.xlsx", "other.xlsx"}
        )
    )
    (folder / "other.xlsx").unlink()
    assert {path.name for path in found.get(timeout=DEADLINE)} == {"other.xlsx"}


def test_other_folders_are_watched_when_the_settings_name_them_and_nothing_is_lost_between(
    tmp_path,
):
    first, second = tmp_path / "first", tmp_path / "second"
    for folder in (first, second):
        folder.mkdir()
    watched, found = [frozenset([first])], Queue()
    looking = watch.changes(lambda: watched[0])
    threading.Thread(target=lambda: [found.put(one) for one in looking], daemon=True).start()
    assert found.get(timeout=DEADLINE) == set()
    watched[0] = frozenset([second])
    assert found.get(timeout=DEADLINE) == set()  # a build anew, for what changed in the meantime
    (second / "base.html").write_text("new")
    assert {path.name for path in found.get(timeout=DEADLINE)} == {"base.html"}
    (first / "trial.xlsx").write_bytes(b"PK")
    (second / "site.css").write_text("new")
    assert {path.name for path in found.get(timeout=DEADLINE)} == {"site.css"}


@pytest.fixture
def sourced(books, tmp_path):
    """Return what a preview is made of: a workbook, and settings that name a folder of templates."""
    (books / "looks/parts").mkdir(parents=True)
    (books / "reportgen.toml").write_text('title = "One"\ntemplates = "looks"\n', "utf-8")
    return Source(books, tmp_path / "site", None, BuildOptions(pdf=False, jobs=1))


def test_settings_and_templates_are_read_anew_for_each_build(sourced, books, tmp_path):
    def shown():
        assert all(one.page for one in sourced.rebuild())
        return (tmp_path / "site/index.html").read_text("utf-8")

    assert "<h1>One</h1>" in shown()
    (books / "reportgen.toml").write_text(
        'title = "Dos"\nlanguage = "es"\ntemplates = "looks"\n', "utf-8"
    )
    assert "<h1>Dos</h1>" in shown()
    assert sourced.language == "es"
    (books / "looks/parts/sections.html").write_text("<p>mine</p>", "utf-8")
    shown()
    assert "<p>mine</p>" in (tmp_path / "site/lettuce-2026/index.html").read_text("utf-8")
    (books / "reportgen.toml").unlink()
    assert "<h1>Growing trials</h1>" in shown()


def test_wrong_settings_are_shown_and_mended_ones_build_again(sourced, books, tmp_path):
    status, said = BuildStatus(), []
    build_on_change([set()], sourced.rebuild, status, said.append)
    assert status.last.failures == ()
    (books / "reportgen.toml").write_text('titel = "x"', "utf-8")
    build_on_change([set()], sourced.rebuild, status, said.append)
    body = responses.respond(tmp_path / "site", "/", status.last).body.decode()
    assert "The site is not built" in body
    assert "line 1: &#34;titel&#34; is not a setting" in body
    assert b"<h1>One</h1>" in responses.respond(tmp_path / "site", "/?last-good", status.last).body
    (books / "reportgen.toml").write_text('title = "x"', "utf-8")
    build_on_change([set()], sourced.rebuild, status, said.append)
    assert status.last.failures == ()


def test_workbooks_settings_and_templates_are_watched_and_the_site_is_not(sourced, books, tmp_path):
    assert {one.resolve() for one in sourced.folders()} == {
        books,
        books / "looks",
        books / "looks/parts",
    }
    elsewhere = tmp_path / "settings"
    elsewhere.mkdir()
    (elsewhere / "mine.toml").write_text('templates = ".."', "utf-8")  # with the site among them
    other = Source(books / "Lettuce 2026.xlsx", tmp_path / "site", elsewhere / "mine.toml")
    (tmp_path / "site/lettuce-2026").mkdir(parents=True)
    watched = {one.resolve() for one in other.folders()}
    assert watched == {books, elsewhere, tmp_path, books / "looks", books / "looks/parts"}


def test_settings_that_are_wrong_at_the_start_end_the_preview_with_their_mistakes(books):
    (books / "reportgen.toml").write_text('titel = "x"', "utf-8")
    done = CliRunner().invoke(main, ["preview", str(books), "--port", "0"])
    assert done.exit_code == 1
    assert '"titel" is not a setting' in done.output


def test_the_pages_of_the_preview_are_in_the_language_of_the_site(site, monkeypatch):
    class Marking(NullTranslations):
        def gettext(self, message):
            return f"[{message}]"

    tag = ["en"]
    monkeypatch.setattr(language, "of", lambda tag: language.Language(tag, Marking(), "es"))
    status = BuildStatus(lambda: tag[0])
    tag[0] = "es"
    status.publish((Failure("", "", (FAILED,)), Failure("a.xlsx", "a", ("Plants!C7: {12O}",))))
    for address in ("/", "/none/", "/a/"):
        page = lxml.html.fromstring(responses.respond(site, address, status.last).body)
        assert page.get("lang") == "es"
        said = [
            one.strip()
            for one in page.find("body").itertext("h1", "h2", "p", "li", "a")
            if one.strip()
        ]
        own = [one for one in said if one not in ("a.xlsx", "basil", "a")]
        assert own
        assert all(one.startswith("[") for one in own)
        assert page.xpath("//nav/@aria-label") == ["[What is there]"]


def test_a_half_saved_workbook_is_awaited_until_it_is_whole(tmp_path, monkeypatch):
    whole = write_pots(tmp_path / "whole.xlsx", LETTUCE).read_bytes()
    book = tmp_path / "trial.xlsx"
    looks = []
    states = [b"", whole[:100], whole[:-30], whole]
    monkeypatch.setattr(
        watch.time, "sleep", lambda _: (looks.append(1), book.write_bytes(states[len(looks)]))
    )
    book.write_bytes(states[0])
    watch.await_whole(book)
    assert zipfile.is_zipfile(book)
    assert len(looks) == 3


def test_a_workbook_that_stays_damaged_or_is_gone_is_not_awaited_for_ever(tmp_path, monkeypatch):
    looks = []
    monkeypatch.setattr(watch.time, "sleep", looks.append)
    (tmp_path / "cut.xlsx").write_bytes(b"PK\x03\x04")
    watch.await_whole(tmp_path / "cut.xlsx")
    assert len(looks) == watch.PATIENCE
    watch.await_whole(tmp_path / "gone.xlsx")
    (tmp_path / "locked.xlsx").write_bytes(
        b"\xd0\xcf\x11\xe0 a workbook with a password is no zip archive"
    )
    watch.await_whole(tmp_path / "locked.xlsx")
    assert len(looks) == watch.PATIENCE


ERROR = Problem(
    Severity.ERROR,
    "Plants",
    "C7",
    "12O is not a number",
    "a number",
    "Type 120.",
    code="not_a_number",
)


def test_each_set_of_changes_gives_one_build_and_its_failures_are_published(tmp_path):
    status, said, builds = BuildStatus(), [], []

    def rebuild():
        builds.append(1)
        yield BuildResult(tmp_path / "Good One.xlsx", tmp_path / "good-one/index.html", ())
        if len(builds) == 1:
            yield BuildResult(tmp_path / "Bad One.xlsx", None, (ERROR,))

    build_on_change([set()], rebuild, status, said.append)
    assert status.last.failures == (Failure("Bad One.xlsx", "bad-one", (str(ERROR),)),)
    assert said == ["Good One.xlsx: built", "Bad One.xlsx: not built", f"  error: {ERROR}"]
    first = status.last.name
    build_on_change([{tmp_path / "Bad One.xlsx"}], rebuild, status, said.append)
    assert status.last.failures == ()
    assert status.last.name != first


def test_a_workbook_that_waits_for_its_first_record_is_told_as_such(tmp_path):
    status, said = BuildStatus(), []
    waits = replace(ERROR, severity=Severity.TO_COME, sheet="", cell="")
    build_on_change(
        [set()], lambda: [BuildResult(tmp_path / "next.xlsx", None, (waits,))], status, said.append
    )
    assert status.last.failures == (Failure("next.xlsx", "next", (str(waits),), waits=True),)
    assert said[0] == "next.xlsx: not built yet"


@pytest.mark.parametrize(
    "reason", [WorkbookError((ERROR,)), OSError(28, "No space left", "x"), RuntimeError("oh")]
)
def test_a_build_that_fails_as_a_whole_is_told_and_the_next_one_is_made(tmp_path, reason):
    status, said, builds = BuildStatus(), [], []

    def rebuild():
        builds.append(1)
        if len(builds) == 1:
            raise reason
        return []

    build_on_change([set()], rebuild, status, said.append)
    assert len(status.last.failures) == 1
    assert said
    build_on_change([set()], rebuild, status, said.append)
    assert status.last.failures == ()


# ---- the command ---------------------------------------------------------------------------------


@pytest.mark.skipif(not hasattr(signal, "SIGINT") or os.name == "nt", reason="no such signals")
def test_the_command_serves_shows_errors_reloads_and_ends(books, tmp_path):
    words = [sys.executable, "-u", "-m", "reportgen", "preview", str(books), "--port", "0"]
    process = subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=tmp_path
    )
    try:
        port = int(re.search(r"http://127\.0\.0\.1:(\d+)/", process.stdout.readline())[1])
        server = type("Address", (), {"server_port": port})
        listener = Listener(server)
        builds = [listener.next()]
        builds.append(listener.next())
        assert b"results.json" in ask(server, "/lettuce-2026/")[2]
        good = (books / "Lettuce 2026.xlsx").read_bytes()
        (books / "Lettuce 2026.xlsx").write_bytes(b"no workbook")
        builds.append(listener.next())
        shown = ask(server, "/lettuce-2026/")[2]
        assert b"Not built" in shown
        assert b"results.json" in ask(server, "/lettuce-2026/?last-good")[2]
        (books / "Lettuce 2026.xlsx").write_bytes(good)
        builds.append(listener.next())
        until(lambda: b"Not built" not in ask(server, "/lettuce-2026/")[2])
        assert len({one for one in builds if one.startswith("data: ")}) == 4
        process.send_signal(signal.SIGINT)
        said, _ = process.communicate(timeout=DEADLINE)
    finally:
        process.kill()
    assert process.returncode == 0
    assert "The preview has ended." in said
    assert "Traceback" not in said
    assert [path.name for path in tmp_path.iterdir()] == ["books"]


@pytest.mark.skipif(os.name == "nt", reason="no such signals")
@pytest.mark.parametrize(
    ("name", "moment"),
    [("SIGTERM", "while it builds"), ("SIGTERM", "while it waits"), ("SIGHUP", "while it waits")],
)
def test_temporary_folders_go_when_a_signal_ends_the_preview(books, tmp_path, name, moment):
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    words = [sys.executable, "-u", "-m", "reportgen", "preview", str(books), "--port", "0"]
    # Whoever runs the tests may ignore a signal, and a program that they start would too.
    before = signal.signal(getattr(signal, name), signal.SIG_DFL)
    process = subprocess.Popen(
        words,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "TMPDIR": str(scratch)},
    )
    signal.signal(getattr(signal, name), before)
    try:
        process.stdout.readline()  # its address; the first build begins
        assert [path.name[:10] for path in scratch.iterdir()] == ["reportgen-"]
        if moment == "while it waits":
            assert process.stdout.readline() == "Lettuce 2026.xlsx: built\n"
        process.send_signal(getattr(signal, name))
        said, _ = process.communicate(timeout=DEADLINE)
    finally:
        process.kill()
    assert (process.returncode, said.splitlines()[-1:]) == (0, ["The preview has ended."])
    assert "Traceback" not in said
    assert list(scratch.iterdir()) == []


def test_a_signal_that_was_ignored_stays_so_and_the_usual_way_comes_back():
    # nohup(1), POSIX: the command is run with SIGHUP ignored.
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with preview.interrupted_by_signals():
            assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
            with pytest.raises(KeyboardInterrupt):
                signal.raise_signal(signal.SIGTERM)
            signal.raise_signal(signal.SIGTERM)  # does not stop what clears up
        assert signal.getsignal(signal.SIGTERM) is signal.SIG_DFL
    finally:
        signal.signal(signal.SIGHUP, before)


def test_a_port_that_is_taken_gets_one_message(books):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = CliRunner().invoke(main, ["preview", str(books), "--port", str(port)])
    assert done.exit_code == 1
    assert f"Port {port} cannot be had" in done.output
    assert "Traceback" not in done.output


def test_a_folder_that_is_not_there_is_wrong_usage(tmp_path):
    assert CliRunner().invoke(main, ["preview", str(tmp_path / "none")]).exit_code == 2
