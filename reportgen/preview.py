"""Show a site while its workbooks are edited: build on each save, say what is wrong, reload the page.

The server is for the person at this computer: it listens on 127.0.0.1 alone, answers to that name alone, and gives
the files of the site's folder alone.
"""

import os
import re
import secrets
import sys
import threading
import time
import traceback
import zipfile
from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from html import unescape
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote, unquote

from reportgen import language, pipeline, settings
from reportgen.language import marked, say
from reportgen.model.problem import Severity, WorkbookError
from reportgen.pipeline import AS_USUAL, Built, How
from reportgen.render import templates
from reportgen.workbook.cells import SUFFIXES

HOST: Final = "127.0.0.1"
PORT: Final = 8000
OWN: Final = "/.preview/"  # where the preview's own files are: no report's folder begins with a dot
LAST_GOOD: Final = "last-good"  # the query that asks for a page in spite of its workbook's errors
KEEP_ALIVE: Final = 15.0  # seconds after which a silent line is tried, so that one that is dead is given up
PATIENCE: Final = 10  # how often a half saved workbook is looked at again before it counts as damaged
PAUSE: Final = 0.2  # seconds between these looks
WATCHED: Final = (
    *SUFFIXES,
    ".csv",
    ".tsv",
    ".txt",
    ".toml",
    ".html",
    ".css",
    ".jpg",
    ".jpeg",
    ".png",
    ".webp",
    ".gif",
    ".avif",
)
TYPES: Final = {
    ".avif": "image/avif",
    ".css": "text/css; charset=utf-8",
    ".csv": "text/csv; charset=utf-8",
    ".gif": "image/gif",
    ".html": "text/html; charset=utf-8",
    ".jpeg": "image/jpeg",
    ".jpg": "image/jpeg",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".md": "text/markdown; charset=utf-8",
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
    ".webp": "image/webp",
    ".woff2": "font/woff2",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".xml": "application/xml",
    ".zip": "application/zip",
}
POLICY: Final = re.compile(r'(<meta\s+http-equiv="Content-Security-Policy"\s+content=")([^"]*)', re.IGNORECASE)
# What every answer says: keep nothing, guess no type, be no part of another site's page.
ALWAYS: Final = {
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "same-origin",
}
OWN_POLICY: Final = "default-src 'none'; script-src 'self'; style-src 'self'; img-src data:; connect-src 'self'"


OF_WORKBOOKS: Final = (
    marked("Not built: a workbook has errors"),
    marked("What an earlier build made of it is kept. This page goes when the workbook is saved without the errors."),
)
OF_SITE: Final = (
    marked("The site is not built"),
    marked("What an earlier build made is kept. This page goes when what stands here is mended."),
)
FAILED: Final = marked("reportgen itself failed; the terminal shows where. The site is not built.")


class PortTakenError(Exception):
    """The preview cannot have the port that was asked for; the message says so."""


@dataclass(frozen=True)
class Failure:
    """A workbook that could not be built: its file name, its report's folder, what is to be said.

    Where the site as a whole could not be built, both names are empty.
    """

    name: str
    slug: str
    problems: tuple[str, ...]


@dataclass(frozen=True)
class Status:
    """What the last build gave: its name, which no other build shares, and what failed; the language of the site."""

    build: str
    failures: tuple[Failure, ...] = ()
    building: bool = False  # the first build is still going on
    language: str = language.ENGLISH.tag


class Board:
    """Where the status hangs: the watcher changes it, every open page waits for the next.

    `tag` gives the language of the site as it is now.
    """

    def __init__(self, tag: Callable[[], str] = lambda: language.ENGLISH.tag) -> None:
        self._changed = threading.Condition()
        self._series, self._count, self._tag = secrets.token_hex(4), 0, tag
        self._status: Status | None = Status(f"{self._series}-0", building=True, language=tag())

    @property
    def status(self) -> Status | None:
        """Return the status of the last build, None where the preview has ended."""
        return self._status

    def post(self, failures: tuple[Failure, ...]) -> None:
        """Hang up what a build gave."""
        self._count += 1
        self._hang(Status(f"{self._series}-{self._count}", failures, language=self._tag()))

    def close(self) -> None:
        """Let every page go."""
        self._hang(None)

    def after(self, build: str, seconds: float) -> Status | None:
        """Return the status once it is of another build than `build`, or after some seconds; None at the end."""
        with self._changed:
            self._changed.wait_for(lambda: self._status is None or self._status.build != build, seconds)
            return self._status

    def _hang(self, status: Status | None) -> None:
        with self._changed:
            self._status = status
            self._changed.notify_all()


# ---- answers -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Reply:
    """An answer before it is sent."""

    status: HTTPStatus
    kind: str
    body: bytes
    headers: tuple[tuple[str, str], ...] = ()


def reply(root: Path, address: str, status: Status) -> Reply:
    """Return the answer to a GET of `address` in the site's folder `root`."""
    with language.using(language.of(status.language)):
        return _reply(root, address, status)


def _reply(root: Path, address: str, status: Status) -> Reply:
    path, _, query = address.partition("?")
    if path.startswith(OWN):
        return _own(path.removeprefix(OWN))
    parts = _parts(path)
    if parts is None:
        return _text(HTTPStatus.NOT_FOUND, "There is no such page.")
    file = _inside(root, parts)
    if file is not None and file.is_dir():
        if not path.endswith("/"):
            return _moved(parts)
        file = _inside(root, (*parts, "index.html"))
    concerned = _concerned(parts, status)
    if concerned and query != LAST_GOOD:
        return _problems(file is not None, root, concerned, status)
    return _file(file, status) or _missing(root, parts, status)


def _own(name: str) -> Reply:
    if name not in ("reload.js", "problems.css"):
        return _text(HTTPStatus.NOT_FOUND, "There is no such file.")
    return Reply(HTTPStatus.OK, TYPES[Path(name).suffix], (templates.folder() / "preview" / name).read_bytes())


def _text(status: HTTPStatus, text: str) -> Reply:
    return Reply(status, "text/plain; charset=utf-8", f"{text}\n".encode())


def _parts(path: str) -> tuple[str, ...] | None:
    """Return the names in an address; None for one that is no plain way down from the site's folder.

    Backslashes and colons lead elsewhere on some systems; names with a dot before them are not the site's.
    """
    named = unquote(path)
    parts = tuple(part for part in named.split("/") if part)
    plain = not any(mark in named for mark in "\\:\0") and not any(part.startswith(".") for part in parts)
    return parts if path.startswith("/") and plain else None


def _inside(root: Path, parts: tuple[str, ...]) -> Path | None:
    """Return the path of a file or folder, after following links; None where it is outside of the site's folder."""
    try:
        found = Path(os.path.realpath(root.joinpath(*parts)))
        return found if found.exists() and found.is_relative_to(os.path.realpath(root)) else None
    except OSError:
        return None  # such as a name that is too long


def _file(file: Path | None, status: Status) -> Reply | None:
    try:
        if file is None or not file.is_file():  # a device or a pipe may never end
            return None
        content = file.read_bytes()
    except OSError:
        return None
    kind = TYPES.get(file.suffix.casefold(), "application/octet-stream")
    if file.suffix.casefold() == ".html":
        content = live(content.decode("utf-8", "replace"), status.build).encode()
    return Reply(HTTPStatus.OK, kind, content)


def _moved(parts: tuple[str, ...]) -> Reply:
    address = "/".join(map(quote, parts))
    return Reply(HTTPStatus.MOVED_PERMANENTLY, TYPES[".txt"], b"", (("Location", f"/{address}/"),))


def live(page: str, build: str) -> str:
    """Return a page that reloads itself after the build `build`, its policy widened by what that takes."""
    widened = POLICY.sub(lambda found: found[1] + _widened(unescape(found[2])), page, count=1)
    return widened.replace("</head>", f"{templates.fill('preview/script.html', build=build)}</head>", 1)


def _widened(policy: str) -> str:
    """Return a content security policy that also lets the site's own scripts run and listen (W3C, CSP 3)."""
    directives = {words[0]: words[1:] for words in map(str.split, policy.split(";")) if words}
    for name in ("script-src", "connect-src"):
        sources = [one for one in directives.get(name, directives.get("default-src", [])) if one != "'none'"]
        directives[name] = list(dict.fromkeys((*sources, "'self'")))
    return "; ".join(" ".join((name, *sources)) for name, sources in directives.items())


# ---- pages of the preview itself ---------------------------------------------------------------------------


def _concerned(parts: tuple[str, ...], status: Status) -> tuple[Failure, ...]:
    """Return the failures that a page has to show: all on the list of trials, a report's own on the report's page."""
    if parts in ((), ("index.html",)):
        return status.failures
    if len(parts) > 2 or parts[1:] not in ((), ("index.html",)):
        return ()
    return tuple(one for one in status.failures if one.slug == parts[0])


def _problems(built: bool, root: Path, failures: tuple[Failure, ...], status: Status) -> Reply:
    heading, lead = OF_WORKBOOKS if any(one.slug for one in failures) else OF_SITE
    own = [(say("The page as it was last built"), f"?{LAST_GOOD}")] if built else []
    return _said(say(heading), say(lead), status, failures, (*own, *_links(root, status)))


def _missing(root: Path, parts: tuple[str, ...], status: Status) -> Reply:
    if status.building:
        return _said(say("The site is being built"), say("The page shows itself when it is done."), status)
    if parts and Path(parts[-1]).suffix not in ("", ".html"):
        return _text(HTTPStatus.NOT_FOUND, "There is no such file.")
    lead = say("Its workbook may have been renamed.")
    found = _said(say("There is no such page"), lead, status, links=_links(root, status))
    return Reply(HTTPStatus.NOT_FOUND, found.kind, found.body, found.headers)


def _links(root: Path, status: Status) -> tuple[tuple[str, str], ...]:
    """Return the list of trials and the reports that are there, each as text and address."""
    failed = {one.slug for one in status.failures}
    listed = [(say("All trials"), f"/?{LAST_GOOD}")] if (root / "index.html").is_file() else []
    reports = sorted(page.parent.name for page in root.glob("*/index.html"))
    return (*listed, *((name, f"/{name}/{f'?{LAST_GOOD}' if name in failed else ''}") for name in reports))


def _said(
    heading: str,
    lead: str,
    status: Status,
    failures: tuple[Failure, ...] = (),
    links: tuple[tuple[str, str], ...] = (),
) -> Reply:
    page = templates.fill(
        "preview/problems.html",
        heading=heading,
        lead=lead,
        build=status.build,
        failures=failures,
        links=links,
        language=language.current().tag,
    )
    return Reply(HTTPStatus.OK, TYPES[".html"], page.encode(), (("Content-Security-Policy", OWN_POLICY),))


# ---- the server --------------------------------------------------------------------------------------------


class Server(ThreadingHTTPServer):
    """The server of one preview, on 127.0.0.1; `port` 0 takes a free one. Raises OSError where the port is taken."""

    allow_reuse_address = os.name != "nt"  # there it would let two servers have one port

    def __init__(self, root: Path, board: Board, port: int) -> None:
        self.root, self.board = root, board
        super().__init__((HOST, port), Handler)

    def answers_to(self, hosts: list[str]) -> bool:
        """Tell whether a request means this server: another name may be a site that points to this computer."""
        own = {f"{name}:{self.server_port}" for name in (HOST, "localhost")}
        own |= {HOST, "localhost"} if self.server_port == 80 else set()
        return len(hosts) == 1 and hosts[0].casefold() in own

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing of a browser that went away."""
        if not isinstance(sys.exception(), ConnectionError | TimeoutError):
            super().handle_error(request, client_address)


class Handler(BaseHTTPRequestHandler):
    """One request: only looking is allowed."""

    server: Server
    timeout = 30

    def do_GET(self) -> None:
        """Send a file, a page of the preview's own, or the line of events."""
        status = self.server.board.status
        if not self.server.answers_to(self.headers.get_all("Host", [])):
            self._send(_text(HTTPStatus.FORBIDDEN, "This preview answers only to the address that it printed."))
        elif status is None:
            self._send(_text(HTTPStatus.SERVICE_UNAVAILABLE, "The preview has ended."))
        elif self.path == f"{OWN}events":
            self._events()
        else:
            self._send(reply(self.server.root, self.path, status))

    do_HEAD = do_GET  # noqa: N815

    def do_POST(self) -> None:
        """Refuse to change anything."""
        refused = _text(HTTPStatus.METHOD_NOT_ALLOWED, "Only GET and HEAD.")
        self._send(Reply(refused.status, refused.kind, refused.body, (("Allow", "GET, HEAD"),)))

    do_PUT = do_PATCH = do_DELETE = do_OPTIONS = do_TRACE = do_CONNECT = do_POST  # noqa: N815

    def _send(self, answer: Reply) -> None:
        self.send_response(answer.status)
        self.send_header("Content-Type", answer.kind)
        self.send_header("Content-Length", str(len(answer.body)))
        for name, value in answer.headers:
            self.send_header(name, value)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(answer.body)

    def _events(self) -> None:
        """Send the name of the last build at once, and of each that follows (HTML standard, server-sent events)."""
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.end_headers()
        known = ""
        while self.command == "GET" and (status := self.server.board.after(known, KEEP_ALIVE)):
            self.wfile.write(b": still here\n\n" if status.build == known else f"data: {status.build}\n\n".encode())
            known = status.build

    def end_headers(self) -> None:
        """Add what every answer says."""
        for name, value in ALWAYS.items():
            self.send_header(name, value)
        super().end_headers()

    def version_string(self) -> str:
        """Name the program, and no versions."""
        return "reportgen"

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002
        """Leave the terminal to what was built."""


def server(root: Path, board: Board, port: int | None) -> Server:
    """Return the server on a port, or on the usual one where `port` is None, a free one where that is taken.

    Raises PortTakenError where `port` cannot be had.
    """
    try:
        return Server(root, board, PORT if port is None else port)
    except OSError as error:
        if port is None:
            return Server(root, board, 0)
        raise PortTakenError(f"Port {port} cannot be had ({error.strerror}). Choose another, or none.") from error


# ---- watching ----------------------------------------------------------------------------------------------


def watched(path: str) -> bool:
    """Tell whether a file that changed can change the site: no lock file, nothing that a program saves aside."""
    name = os.path.basename(path)
    return not name.startswith(("~$", ".", "~")) and os.path.splitext(name)[1].casefold() in WATCHED


def changes(folders: Callable[[], frozenset[Path]]) -> Iterator[set[Path]]:
    """Yield the files that changed in folders, many saves in a moment as one; none at first, once it is watching.

    None again, once it is watching them, when `folders` gives others than before.
    """
    while True:
        known = folders()
        with closing(_changes_in(known)) as sets:
            yield next(sets)
            for found in sets:
                if found:
                    yield found
                if folders() != known:
                    break


def _changes_in(folders: frozenset[Path]) -> Generator[set[Path]]:
    """Yield the files that changed in some folders, none of them several times a second."""
    import watchfiles

    sets = watchfiles.watch(
        *sorted(folders),
        watch_filter=lambda _, path: watched(path),
        step=100,
        debounce=1000,
        rust_timeout=250,
        yield_on_timeout=True,
        recursive=False,
    )
    yield from ({Path(path) for _, path in found} for found in sets)


def follow(
    changed: Iterable[set[Path]], rebuild: Callable[[], Iterable[Built]], board: Board, said: Callable[[str], None]
) -> None:
    """Build the site for each set of changed files, and tell every page."""
    for files in changed:
        for file in files:
            await_whole(file)
        board.post(tuple(_failures(rebuild, said)))


def await_whole(file: Path) -> None:
    """Wait while a workbook is half saved; one that stays so is damaged, which the build will say."""
    for _ in range(PATIENCE):
        if not _half_saved(file):
            return
        time.sleep(PAUSE)


def _half_saved(file: Path) -> bool:
    """Tell whether a file is empty, locked, or a zip archive without its end (APPNOTE.TXT 4.3.16)."""
    try:
        if not file.is_file():
            return False
        with file.open("rb") as opened:
            begins = opened.read(4)
    except OSError:
        return True
    return not begins or (begins.startswith(b"PK") and not zipfile.is_zipfile(file))


def _failures(rebuild: Callable[[], Iterable[Built]], said: Callable[[str], None]) -> Iterator[Failure]:
    """Build, say what was built, and yield what failed; nothing that goes wrong ends the preview."""
    try:
        for built in rebuild():
            if built.page is None:
                yield _failure(built)
            if not built.unchanged:
                said(f"{built.source.name}: {'built' if built.page else 'not built'}")
                for problem in built.problems:
                    said(f"  {problem.severity}: {problem}")
    except WorkbookError as error:
        said(str(error))
        yield Failure("", "", tuple(map(str, error.problems)))
    except OSError as error:
        said(f"{error.filename}: {error.strerror}")
        yield Failure("", "", (f"{error.filename} cannot be read or written: {error.strerror}.",))
    except Exception:  # a mistake in the program: it is shown, and the next save may do without it
        said(traceback.format_exc())
        yield Failure("", "", (FAILED,))


def _failure(built: Built) -> Failure:
    errors = [str(problem) for problem in built.problems if problem.severity is Severity.ERROR]
    return Failure(built.source.name, pipeline.slug_of(built.source), tuple(errors))


class Source:
    """What a preview is made of: workbooks and, read anew for each build, the settings of their site.

    Raises WorkbookError, with every problem, where the settings are wrong at the start.
    """

    def __init__(self, workbooks: Path, site: Path, settings_file: Path | None = None, how: How = AS_USUAL) -> None:
        self.site = site
        self._workbooks, self._settings_file, self._how = workbooks, settings_file, how
        self._settings = pipeline.settings_of((workbooks,), settings_file)

    @property
    def language(self) -> str:
        """Return the language of the site by the settings that were read last."""
        return self._settings.language

    def rebuild(self) -> Iterator[Built]:
        """Build the site anew. Raises WorkbookError where the settings have become wrong, or no workbook is left."""
        self._settings = pipeline.settings_of((self._workbooks,), self._settings_file)
        return pipeline.build(pipeline.workbooks((self._workbooks,)), self.site, self._settings, self._how)

    def folders(self) -> frozenset[Path]:
        """Return where a file that changes may change the site: beside the workbooks, the settings, the templates."""
        folder = self._workbooks if self._workbooks.is_dir() else self._workbooks.parent
        file = self._settings_file or settings.beside((self._workbooks,))
        found = [folder, *([file.parent] if file else []), *_with_folders_in(self._settings.templates)]
        site = self.site.resolve()
        return frozenset(one for one in found if one.is_dir() and not one.resolve().is_relative_to(site))


def _with_folders_in(templates: Path | None) -> Iterator[Path]:
    if templates is not None:
        yield templates
        yield from (folder for folder in templates.rglob("*") if folder.is_dir())


def run(source: Source, port: int | None = None, said: Callable[[str], None] = print) -> None:
    """Serve a site, built anew whenever what it is made of changes, until Ctrl-C.

    Raises PortTakenError where the port cannot be had.
    """
    board = Board(lambda: source.language)
    serving = server(source.site, board, port)
    threading.Thread(target=serving.serve_forever, daemon=True).start()
    said(f"Preview: http://{HOST}:{serving.server_port}/ (Ctrl-C ends it)")
    try:
        follow(changes(source.folders), source.rebuild, board, said)
    except KeyboardInterrupt:
        said("The preview has ended.")
    finally:
        board.close()
        serving.shutdown()
        serving.server_close()
