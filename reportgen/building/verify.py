"""Compare a site with its notes of what was built: what is missing, what differs, what no build
wrote.
"""

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Final

from reportgen import files
from reportgen.building import manifest
from reportgen.files import LOCK, TEMPORARY
from reportgen.language import marked, say


class Kind(StrEnum):
    """How something in a site is other than the last build left it."""

    DIFFERS = "differs"
    MISSING = "missing"
    FOREIGN = "foreign"
    LINK = "link"
    UNFINISHED = "unfinished"


MEANING: Final = {
    Kind.DIFFERS: marked("is not as it was built"),
    Kind.MISSING: marked("was built and is not there"),
    Kind.FOREIGN: marked("was written by no build"),
    Kind.LINK: marked("is a link where a file or folder was built"),
    Kind.UNFINISHED: (
        marked("was left by a build that was stopped, or is at work; the next build clears it up")
    ),
}


class NoSite(Exception):
    """A folder holds no note of a build; the message says so."""


@dataclass(frozen=True)
class Difference:
    """A file or folder of a site, by its name within the site, that is other than the last build
    left it.
    """

    kind: Kind
    name: str

    def __str__(self) -> str:
        return f"{self.name} {say(MEANING[self.kind])}"


# ---- before a build writes -----------------------------------------------------------------------


def noted_in(site: Path, folder: str = "") -> dict[str, str]:
    """Return the SHA-256 of each file that a build wrote into the folder, the note too, by name
    within the folder.

    `folder` is that of a report, or empty for what the reports share.
    """
    path = site / folder / manifest.NAME
    note = manifest.noted(path)
    if note is None:
        return {}
    if folder:
        start = f"{folder}/"
    else:
        start = ""
    known = {
        name.removeprefix(start): sha256
        for name, sha256 in note.files.items()
        if name.startswith(start)
    }
    return known | {manifest.NAME: files.digest(path)}


def in_the_way(site: Path, folder: str, wanted: Mapping[str, bytes | None]) -> tuple[str, ...]:
    """Return the files, by name within the site, that no build wrote as they are, and that would be
    overwritten.

    `wanted` holds the content that each file of the folder is to have, None where that is not known
    yet: a file that has it already is not in the way.
    """
    known = noted_in(site, folder)
    found = [
        name
        for name, content in wanted.items()
        if _is_in_the_way(site / folder / name, known.get(name), content)
    ]
    return tuple((Path(folder) / name).as_posix() for name in found)


def _is_in_the_way(path: Path, known: str | None, wanted: bytes | None) -> bool:
    if not os.path.isfile(path):
        return False
    there = files.digest(path)  # empty where it cannot be read: then nobody knows who wrote it
    as_wanted = wanted is not None and there == files.sha256(wanted)
    return there != known and not as_wanted


def links(site: Path, names: Iterable[str]) -> tuple[str, ...]:
    """Return each link, by name within the site, that would have to be followed to write the files
    `names`.
    """
    steps = (part for name in names for part in _steps(name))
    return tuple(part for part in dict.fromkeys(steps) if os.path.islink(site / part))


def _steps(name: str) -> Iterator[str]:
    """Yield the folders on the way to a file, and the file."""
    parts = name.split("/")
    for number in range(1, len(parts) + 1):
        yield "/".join(parts[:number])


# ---- after a build -------------------------------------------------------------------------------


def differences(site: Path) -> tuple[Difference, ...]:
    """Return each way in which a site is other than the last build left it, in order of the names.

    Nothing is changed. Raises NoSite where the folder holds no note of a build.
    """
    notes = _notes(site)
    if not notes:
        raise NoSite(
            say(
                "{site} holds no {name}: it is no site that was built.",
                site=site,
                name=manifest.NAME,
            )
        )
    known: dict[str, str] = {}
    found: list[Difference] = []
    for name, note in notes.items():
        if note is None:
            found.append(Difference(Kind.DIFFERS, name))
        else:
            known |= _own_files(name, note)
            listed = (f"{trial}/{manifest.NAME}" for trial in note.trials)
            found += [Difference(Kind.MISSING, one) for one in listed if one not in notes]
    found += _changed(site, known)
    found += _unknown(site, {*known, *notes})
    return tuple(sorted(set(found), key=lambda one: one.name))


def _notes(site: Path) -> dict[str, manifest.Noted | None]:
    """Return each note by its name within the site; None for one that was changed by hand."""
    paths = [site / manifest.NAME, *sorted(site.glob(f"*/{manifest.NAME}"))]
    built = [
        path for path in paths if path.is_file() and not path.parent.name.startswith(TEMPORARY)
    ]
    return {path.relative_to(site).as_posix(): manifest.noted(path) for path in built}


def _own_files(name: str, note: manifest.Noted) -> dict[str, str]:
    """Return the files that a note tells of in its own folder, as a build writes no others."""
    start = name.removesuffix(manifest.NAME)
    return {
        file: sha256
        for file, sha256 in note.files.items()
        if file.startswith(start) and files.is_within(file)
    }


def _changed(site: Path, known: Mapping[str, str]) -> Iterator[Difference]:
    linked = links(site, known)
    yield from (Difference(Kind.LINK, name) for name in linked)
    for name, sha256 in known.items():
        if any(step in linked for step in _steps(name)):
            continue
        if not os.path.lexists(site / name):
            yield Difference(Kind.MISSING, name)
        elif not files.as_written(site, name, sha256):
            yield Difference(Kind.DIFFERS, name)


def _unknown(site: Path, known: set[str]) -> Iterator[Difference]:
    """Yield what no note names; a folder that holds nothing which a note names is named as a whole."""
    folders = {step for name in known for step in _steps(name) if step != name}
    for place, inside, names in os.walk(site):
        here = Path(place).relative_to(site)
        others = [name for name in inside if (here / name).as_posix() not in folders]
        inside[:] = [name for name in inside if name not in others]
        for name in (*names, *others):
            path = (here / name).as_posix()
            if path not in known and path != LOCK:
                yield Difference(_kind_of(path), path)


def _kind_of(name: str) -> Kind:
    if name.startswith(TEMPORARY):
        return Kind.UNFINISHED
    return Kind.FOREIGN
