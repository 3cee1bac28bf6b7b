"""Find the files that changed, and wait until they are whole."""

import os
import time
import zipfile
from collections.abc import Callable, Generator, Iterator
from contextlib import closing
from pathlib import Path
from typing import Final

from reportgen.workbook.kinds import SUFFIXES

PATIENCE: Final = (
    10  # how often a half saved workbook is looked at again before it counts as damaged
)
PAUSE: Final = 0.2  # seconds between these looks
TEXTS: Final = (".csv", ".tsv", ".txt", ".toml", ".html", ".css")
PHOTOS: Final = (".jpg", ".jpeg", ".png", ".webp", ".gif", ".avif")
WATCHED: Final = (*SUFFIXES, *TEXTS, *PHOTOS)
SAVED_ASIDE: Final = ("~", ".")  # how names of lock files and of half written files begin


def is_watched(path: str) -> bool:
    """Tell whether a change of this file can change the site: no lock file, nothing that a program
    saves aside.
    """
    name = os.path.basename(path)
    ending = os.path.splitext(name)[1].casefold()
    return ending in WATCHED and not name.startswith(SAVED_ASIDE)


def changes(folders: Callable[[], frozenset[Path]]) -> Iterator[set[Path]]:
    """Yield the files that changed in folders, many saves in a moment as one set.

    The first set is empty: it comes once the folders are watched. Where `folders` gives others than
    before, those are watched from then on, and an empty set comes again.
    """
    while True:
        watched = folders()
        with closing(_changes_in(watched)) as sets:
            yield next(sets)
            for files in sets:
                if files:
                    yield files
                if folders() != watched:
                    break


def _changes_in(folders: frozenset[Path]) -> Generator[set[Path]]:
    """Yield the files that changed in these folders; an empty set several times a second where
    there are none.
    """
    import watchfiles

    sets = watchfiles.watch(
        *sorted(folders),
        watch_filter=lambda _, path: is_watched(path),
        step=100,
        debounce=1000,
        rust_timeout=250,
        yield_on_timeout=True,
        recursive=False,
    )
    for changed in sets:
        yield {Path(path) for _, path in changed}


def await_whole(file: Path) -> None:
    """Wait while a workbook is half saved; one that stays so is damaged, which the build will say."""
    for _ in range(PATIENCE):
        if not _is_half_saved(file):
            return
        time.sleep(PAUSE)


def _is_half_saved(file: Path) -> bool:
    """Tell whether a file is empty, locked, or a zip archive without its end (APPNOTE.TXT 4.3.16)."""
    try:
        if not file.is_file():
            return False
        with file.open("rb") as opened:
            beginning = opened.read(4)
    except OSError:
        return True
    if not beginning:
        return True
    return beginning.startswith(b"PK") and not zipfile.is_zipfile(file)
