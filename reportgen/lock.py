"""Let one run at a time write into a folder; the lock is the system's, so that it goes with the
process.
"""

import contextlib
import os
import socket
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

from filelock import FileLock, Timeout

from reportgen import files
from reportgen.files import LOCK
from reportgen.language import say


class FolderInUse(Exception):
    """Another run writes into the folder; the message says which, and since when."""


def on_stderr(line: str) -> None:
    """Say a line to whoever waits."""
    print(line, file=sys.stderr, flush=True)


@contextlib.contextmanager
def locked(
    folder: Path, *, wait: bool = True, said: Callable[[str], None] = on_stderr
) -> Iterator[None]:
    """Hold the lock of a folder, which is made where it is not there, and goes at the end where it
    is empty.

    Where another run holds the lock, one line is `said` and this one waits; with `wait` False it
    raises FolderInUse. Raises OSError, with the folder in `filename`, where no file can be written
    there.
    """
    made = _make(folder)
    lock = FileLock(folder / LOCK)
    try:
        _acquire(lock, folder, wait, said)
        try:
            _note_holder(folder / LOCK)
            yield
        finally:
            _release(lock, folder / LOCK)
    finally:
        _remove_empty(made)


def _make(folder: Path) -> list[Path]:
    """Make a folder; return the folders that were not there, the innermost first."""
    missing = [one for one in (folder, *folder.parents) if not os.path.exists(one)]
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        _remove_empty(missing)
        raise OSError(error.errno, error.strerror, str(folder)) from error
    return missing


def _remove_empty(folders: list[Path]) -> None:
    for folder in folders:
        try:
            folder.rmdir()
        except OSError:  # it holds something, or another run removed it
            return


def _acquire(lock: FileLock, folder: Path, wait: bool, said: Callable[[str], None]) -> None:
    try:
        lock.acquire(timeout=0)
    except Timeout as error:
        in_use = say(
            "{folder} is being written by {holder}", folder=folder, holder=_holder(folder / LOCK)
        )
        if not wait:
            raise FolderInUse(
                say(
                    "{in_use}. Try again when that is done, or without --no-wait to wait for it.",
                    in_use=in_use,
                )
            ) from error
        said(say("{in_use}; waiting until that is done.", in_use=in_use))
        _await(lock, folder)
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(folder)) from error


def _await(lock: FileLock, folder: Path) -> None:
    """Wait for a lock, also where its last holder leaves nothing and removes the folder."""
    while not lock.is_locked:
        try:
            lock.acquire()
        except FileNotFoundError:
            folder.mkdir(parents=True, exist_ok=True)


def _note_holder(path: Path) -> None:
    """Write into the lock who holds it, for those who wait.

    Some systems do not let a locked file be written.
    """
    since = datetime.now(UTC).strftime("%Y-%m-%d %H:%M:%S")
    with contextlib.suppress(OSError):
        path.write_text(
            say(
                "process {number} on {computer} since {since} UTC",
                number=os.getpid(),
                computer=socket.gethostname(),
                since=since,
            ),
            "utf-8",
        )


def _holder(path: Path) -> str:
    try:
        return path.read_text("utf-8").strip() or say("another run")
    except (OSError, ValueError):
        return say("another run")


def _release(lock: FileLock, path: Path) -> None:
    """Remove the lock's file while it is held, so that nobody takes one that is about to go."""
    if os.name != "nt":
        path.unlink(missing_ok=True)
    lock.release()
    if os.name == "nt":  # an open file cannot be removed there
        with contextlib.suppress(OSError):
            path.unlink()


def write(path: Path, content: bytes) -> None:
    """Write one file, whole or not at all, and clear up what a run that was killed left beside it.

    Raises OSError, with the file's name in `filename`.
    """
    with locked(path.parent):
        files.finish(path.parent)
        files.write(path, content)
