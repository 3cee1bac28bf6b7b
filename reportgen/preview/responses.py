"""Turn an address into an answer: a file of the site's folder, or a page of the preview's own."""

import os
import re
from dataclasses import dataclass
from html import unescape
from http import HTTPStatus
from mimetypes import MimeTypes
from pathlib import Path
from typing import Final
from urllib.parse import quote, unquote

from reportgen import language
from reportgen.preview.pages import LAST_GOOD, building_page, failures_page, missing_page
from reportgen.preview.status import Failure, LastBuild
from reportgen.render import templates

OWN_FOLDER: Final = (
    "/.preview/"  # where the preview's own files are: no report's folder begins with a dot
)
OWN_FILES: Final = ("reload.js", "problems.css")
HTML: Final = "text/html; charset=utf-8"
POLICY: Final = re.compile(
    r'(<meta\s+http-equiv="Content-Security-Policy"\s+content=")([^"]*)', re.IGNORECASE
)
OWN_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src data:; connect-src 'self'"
)


def _known_types() -> MimeTypes:
    """Return Python's own list, and not this computer's, with the types that it lacks in some
    versions (IANA).
    """
    types = MimeTypes()
    types.add_type("text/javascript", ".js")
    types.add_type("text/markdown", ".md")
    types.add_type("image/webp", ".webp")
    types.add_type("font/woff2", ".woff2")
    types.add_type("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", ".xlsx")
    return types


TYPES: Final = _known_types()


@dataclass(frozen=True)
class Response:
    """An answer before it is sent."""

    status: HTTPStatus
    content_type: str
    body: bytes
    headers: tuple[tuple[str, str], ...] = ()


def plain_text(
    status: HTTPStatus, text: str, headers: tuple[tuple[str, str], ...] = ()
) -> Response:
    """Return one line of text as an answer."""
    return Response(status, "text/plain; charset=utf-8", f"{text}\n".encode(), headers)


def respond(root: Path, address: str, build: LastBuild) -> Response:
    """Return the answer to a GET of `address` in the site's folder `root`, in the site's language."""
    with language.using(language.of(build.language)):
        return _respond(root, address, build)


def _respond(root: Path, address: str, build: LastBuild) -> Response:
    path, _, query = address.partition("?")
    if path.startswith(OWN_FOLDER):
        return _own_file(path.removeprefix(OWN_FOLDER))
    names = _names_in(path)
    if names is None:
        return plain_text(HTTPStatus.NOT_FOUND, "There is no such page.")
    file = _inside(root, names)
    if file is not None and file.is_dir():
        if not path.endswith("/"):
            return _with_slash(names)
        file = _inside(root, (*names, "index.html"))
    failures = _failures_of(names, build, has_page=file is not None)
    if failures and query != LAST_GOOD:
        return _own_page(failures_page(failures, build, root, has_earlier=file is not None))
    return _site_file(file, build) or _missing(root, names, build)


def _own_file(name: str) -> Response:
    if name not in OWN_FILES:
        return plain_text(HTTPStatus.NOT_FOUND, "There is no such file.")
    content = (templates.folder() / "preview" / name).read_bytes()
    return Response(HTTPStatus.OK, content_type(name), content)


def _own_page(page: str, status: HTTPStatus = HTTPStatus.OK) -> Response:
    return Response(status, HTML, page.encode(), (("Content-Security-Policy", OWN_POLICY),))


def _names_in(path: str) -> tuple[str, ...] | None:
    """Return the names in an address; None for one that is no plain way down from the site's
    folder.

    Backslashes and colons lead elsewhere on some systems; names with a dot before them are not the
    site's.
    """
    decoded = unquote(path)
    if not path.startswith("/") or any(mark in decoded for mark in "\\:\0"):
        return None
    names = tuple(name for name in decoded.split("/") if name)
    if any(name.startswith(".") for name in names):
        return None
    return names


def _inside(root: Path, names: tuple[str, ...]) -> Path | None:
    """Return the path of a file or folder, after following links; None where it is outside of the
    site's folder.
    """
    try:
        path = Path(os.path.realpath(root.joinpath(*names)))
        if path.exists() and path.is_relative_to(os.path.realpath(root)):
            return path
    except OSError:
        pass  # such as a name that is too long
    return None


def _site_file(file: Path | None, build: LastBuild) -> Response | None:
    try:
        if file is None or not file.is_file():  # a device or a pipe may never end
            return None
        content = file.read_bytes()
    except OSError:
        return None
    kind = content_type(file.name)
    if kind == HTML:
        content = with_reload(content.decode("utf-8", "replace"), build.name).encode()
    return Response(HTTPStatus.OK, kind, content)


def content_type(name: str) -> str:
    """Return the media type by a file name's ending; texts are UTF-8."""
    ending = os.path.splitext(name)[1].casefold()
    media_type = TYPES.types_map[True].get(ending, "application/octet-stream")
    if media_type.startswith("text/"):
        return f"{media_type}; charset=utf-8"
    return media_type


INDEX: Final = ((), ("index.html",))  # names in the addresses of a folder's page


def _with_slash(names: tuple[str, ...]) -> Response:
    address = "/".join(quote(name) for name in names)
    return Response(
        HTTPStatus.MOVED_PERMANENTLY,
        "text/plain; charset=utf-8",
        b"",
        (("Location", f"/{address}/"),),
    )


def _failures_of(
    names: tuple[str, ...], build: LastBuild, *, has_page: bool
) -> tuple[Failure, ...]:
    """Return the failures that a page shows: the list of trials shows all, a report's page its own.

    A list that is there need not tell of trials that only wait.
    """
    if names in INDEX:
        return _failures_of_list(build, has_page=has_page)
    if names[1:] in INDEX:
        return tuple(failure for failure in build.failures if failure.slug == names[0])
    return ()


def _failures_of_list(build: LastBuild, *, has_page: bool) -> tuple[Failure, ...]:
    wrong = tuple(failure for failure in build.failures if not failure.waits)
    if wrong or has_page:
        return wrong
    return build.failures


def _missing(root: Path, names: tuple[str, ...], build: LastBuild) -> Response:
    if build.running:
        return _own_page(building_page(build))
    if names and Path(names[-1]).suffix not in ("", ".html"):
        return plain_text(HTTPStatus.NOT_FOUND, "There is no such file.")
    return _own_page(missing_page(build, root), HTTPStatus.NOT_FOUND)


def with_reload(page: str, build: str) -> str:
    """Return a page that reloads itself after the build `build`, its policy widened by what that
    takes.
    """
    widened = POLICY.sub(lambda match: match[1] + _widened(unescape(match[2])), page, count=1)
    script = templates.fill("preview/script.html", build=build)
    return widened.replace("</head>", f"{script}</head>", 1)


def _widened(policy: str) -> str:
    """Return a content security policy that also lets the site's own scripts run and listen (W3C,
    CSP 3).
    """
    directives = {}
    for directive in policy.split(";"):
        words = directive.split()
        if words:
            directives[words[0]] = words[1:]
    for name in ("script-src", "connect-src"):
        sources = directives.get(name, directives.get("default-src", []))
        allowed = [source for source in sources if source != "'none'"]
        if "'self'" not in allowed:
            allowed.append("'self'")
        directives[name] = allowed
    return "; ".join(" ".join((name, *sources)) for name, sources in directives.items())
