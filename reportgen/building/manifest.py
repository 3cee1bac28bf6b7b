"""Keep beside what was built a note of what it was built from, so that it is built again only where
that changed.
"""

import hashlib
import json
import platform
import re
import typing
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields, is_dataclass, replace
from enum import Enum
from functools import cache
from importlib import metadata
from pathlib import Path
from types import UnionType
from typing import Any, Final

from reportgen.files import as_written, sha256
from reportgen.model.document import Report
from reportgen.model.problem import Problem
from reportgen.model.results import TrialToPool
from reportgen.version import __version__

NAME: Final = "built.json"  # one in each report's folder, and one for what the reports share
DISTRIBUTION: Final = "reportgen-trials"


@dataclass(frozen=True)
class Entry:
    """What was built, and from what.

    It lies on the web beside the pages, and says nothing that they do not say.

    `made_of` is a digest of everything that went in, `files` pairs the name of each file, relative
    to the site, with the SHA-256 of its content. `report` is what the list of trials shows of a
    report, `findings` and `photos` are those of its workbook, `to_pool` is what its trial brings to
    comparisons with others; the entry of what the reports share has none of these, and names in
    `trials` the folders of the reports that it lists. `result` is a digest of what the report
    finds, `changed_at` when that last changed, empty for the first result.
    """

    made_of: str
    files: tuple[tuple[str, str], ...]
    report: Report | None = None
    findings: tuple[Problem, ...] = ()
    photos: tuple[str, ...] = ()
    to_pool: TrialToPool | None = None
    trials: tuple[str, ...] = ()
    result: str = ""
    changed_at: str = ""


@dataclass(frozen=True)
class Noted:
    """What a note of any version of the program tells: the SHA-256 of each file by name, the
    folders it lists.

    `result` is a digest of a report's result and `changed_at` when it changed; both are empty where
    that is not known.
    """

    files: Mapping[str, str]
    trials: tuple[str, ...] = ()
    result: str = ""
    changed_at: str = ""


def listed(report: Report) -> Report:
    """Return a report without what only its own page shows; the list of trials is made from this
    alone.
    """
    return replace(report, sections=(), annex=(), results="", data=())


def digest(*parts: str | bytes) -> str:
    """Return a digest that two different series of parts do not share (SHA-256)."""
    each = (hashlib.sha256(_bytes(part)).digest() for part in parts)
    return hashlib.sha256(b"".join(each)).hexdigest()


def _bytes(part: str | bytes) -> bytes:
    # a file's name may be no text
    if isinstance(part, str):
        return part.encode(errors="surrogatepass")
    return part


def digests(files: Mapping[str, bytes]) -> tuple[tuple[str, str], ...]:
    """Return the names of files with the SHA-256 of their content, in order of the names."""
    return tuple((name, sha256(content)) for name, content in sorted(files.items()))


def written(entry: Entry) -> bytes:
    """Return an entry as a file, with a digest of its own against changes by hand."""
    return _sealed(asdict(entry))


def _sealed(content: Mapping[str, Any]) -> bytes:
    whole = {"entry": content, "digest": digest(json.dumps(content))}
    return (json.dumps(whole, ensure_ascii=False, indent=1) + "\n").encode()


def read(file: Path) -> Entry | None:
    """Return the entry in a file; None where there is none, or not as this version of the program
    wrote it.
    """
    try:
        content = file.read_bytes()
        entry: Entry = _typed(Entry, json.loads(content)["entry"])
        if written(entry) == content:
            return entry
        return None
    except (OSError, ValueError, LookupError, TypeError, AttributeError):
        return None


def noted(file: Path) -> Noted | None:
    """Return what the note in a file tells, whichever version wrote it; None where it is none, or
    changed by hand.
    """
    try:
        content = file.read_bytes()
        entry = json.loads(content)["entry"]
        if _sealed(entry) != content:
            return None
        known = {str(name): str(value) for name, value in entry["files"]}
        trials = tuple(map(str, entry.get("trials", ())))
        return Noted(known, trials, str(entry.get("result", "")), str(entry.get("changed_at", "")))
    except (OSError, ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return None


def _typed(kind: Any, value: Any) -> Any:
    """Return a value of JSON as the frozen value of type `kind` that it was written from."""
    if isinstance(kind, UnionType) and isinstance(value, dict):
        kind = _kind_of(value, typing.get_args(kind))
    if is_dataclass(kind) and value is not None:
        hints = _hints(typing.cast(type, kind))
        return typing.cast(type, kind)(
            **{name: _typed(hints[name], one) for name, one in value.items()}
        )
    if typing.get_origin(kind) is tuple:
        kinds = typing.get_args(kind)
        return tuple(
            _typed(kinds[0 if kinds[-1] is ... else place], one) for place, one in enumerate(value)
        )
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind(value)
    return value


@cache
def _hints(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _kind_of(value: dict[str, Any], kinds: Iterable[Any]) -> Any:
    """Return the dataclass of several that has the fields of `value`; raise ValueError where none
    has.
    """
    for kind in kinds:
        if is_dataclass(kind) and {field.name for field in fields(kind)} == value.keys():
            return kind
    raise ValueError("a value of no known kind")


def whole(target: Path, entry: Entry) -> bool:
    """Tell whether every file of an entry is there as it was written."""
    return all(as_written(target, name, known) for name, known in entry.files)


@cache
def program(templates: Path) -> str:
    """Return a digest of the program that builds: its code, the templates, the Python and libraries
    it runs on.
    """
    package = Path(__file__).parents[1]
    return digest(
        __version__,
        platform.python_version(),
        *_requirements(),
        *_contents(package, "*.py"),
        of(templates),
    )


def of(folder: Path) -> str:
    """Return a digest of every file in a folder, names and contents."""
    return digest(*_contents(folder, "*"))


def _contents(folder: Path, pattern: str) -> Iterable[str | bytes]:
    for path in sorted(folder.rglob(pattern)):
        if path.is_file() and "__pycache__" not in path.parts:
            yield path.relative_to(folder).as_posix()
            yield path.read_bytes()


def _requirements() -> list[str]:
    """Return the libraries that the program names, each with the version that is installed."""
    try:
        required = metadata.requires(DISTRIBUTION) or []
    except metadata.PackageNotFoundError:
        return []
    names = sorted(
        {re.split(r"[^\w.-]", one, maxsplit=1)[0] for one in required if "extra ==" not in one}
    )
    return [f"{name} {metadata.version(name)}" for name in names]
