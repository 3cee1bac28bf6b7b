"""Write files so that each is whole or absent, and change a site in as few steps as the system
allows.

What is new is written into a hidden folder beside its place, brought to the disk, and then renamed.
Where one rename is not enough, a journal in the hidden folder names the others: `finish` takes it
up where a build was killed.
"""

import contextlib
import ctypes
import errno
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path, PurePosixPath
from typing import Any, Final

from reportgen.paths import lies_within

TEMPORARY: Final = ".reportgen-"  # how the name of each hidden file or folder begins
LOCK: Final = f"{TEMPORARY}lock"
NEW: Final = "new"  # within a hidden folder: what waits to be seen
# within a hidden folder: what was seen before, where two folders cannot be exchanged in one step
OLD: Final = "old"
JOURNAL: Final = "journal.json"
SYNCED_AT_ONCE: Final = 8  # files; the file system brings them to the disk in one transaction
TO_SYNC: Final = (
    os.O_RDWR if os.name == "nt" else os.O_RDONLY
)  # Windows syncs no file that is open for reading alone
RENAME_EXCHANGE: Final = 2  # Linux, include/uapi/linux/fs.h
HERE: Final = -100  # AT_FDCWD: Linux, include/uapi/linux/fcntl.h
NO_EXCHANGE: Final = (
    errno.ENOSYS,
    errno.EINVAL,
    errno.EOPNOTSUPP,
)  # renameat2(2): not by this system, or this disk


def sha256(content: bytes) -> str:
    """Return the SHA-256 of a content in hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def digest(path: Path) -> str:
    """Return the SHA-256 of a file's content; empty where it is no file that can be read."""
    try:
        if path.is_file():
            return sha256(path.read_bytes())
        return ""
    except OSError:
        return ""


def write(path: Path, content: bytes) -> None:
    """Write one file, whole or not at all. Raises OSError, with the file's name in `filename`."""
    with _naming(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        if _holds(path, content):
            return
        with _hidden_folder(path.parent) as hidden:
            waiting = hidden / NEW
            waiting.write_bytes(content)
            _bring_to_disk([waiting])
            os.replace(waiting, path)
            _sync(path.parent)


def write_folder(
    site: Path, name: str, files: Mapping[str, bytes], replaced: Mapping[str, str]
) -> None:
    """Show a folder of the site with its new files, all in one step.

    The names of `files` are relative to the folder. `replaced` pairs each file of an earlier build
    with its SHA-256: such a file goes, unless it is new too. Every other file in the folder stays.
    Raises OSError, with the name of the file or folder in `filename`; the folder is as it was then.
    """
    folder = site / name
    require_folder(folder)
    if _is_written(folder, files, replaced):
        return
    with _naming(folder), _hidden_folder(site) as hidden:
        new = hidden / NEW
        _lay_out(new, files, folder)
        _keep_other_files(folder, new, files, replaced)
        _bring_to_disk_with_folders(new)
        _show(new, folder, hidden)
        _sync(site)


def require_folder(path: Path) -> None:
    """Raise NotADirectoryError where something that is no folder is in the place of one."""
    if os.path.lexists(path) and not os.path.isdir(path):
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(path))


def write_files(site: Path, files: Mapping[str, bytes], replaced: Mapping[str, str]) -> None:
    """Show new files of the site together, in their order, each by a rename; then remove the
    replaced ones.

    All of them find room on the disk before the first is shown, and a journal has the next run show
    the rest where this one is killed. `replaced` pairs each file of an earlier build with its
    SHA-256: such a file goes, unless it is new too. Raises OSError, with the file's name in
    `filename`.
    """
    changed = _changed(site, files)
    gone = _gone(site, files, replaced)
    if not changed and not gone:
        return
    with _naming(site), _hidden_folder(site) as hidden:
        _lay_out(hidden / NEW, changed, site)
        _bring_to_disk_with_folders(hidden / NEW)
        _write_journal(hidden, {"files": list(changed), "replaced": gone})
        try:
            _show_files(site, hidden)
        except BaseException:
            unshown = [name for name in changed if (hidden / NEW / name).exists()]
            if len(unshown) == len(changed):  # not one is shown: the site is as it was
                (hidden / JOURNAL).unlink()
            raise
        (hidden / JOURNAL).unlink()


def _changed(site: Path, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return the files that the site does not hold yet."""
    return {name: content for name, content in files.items() if not _holds(site / name, content)}


def _gone(site: Path, files: Mapping[str, bytes], replaced: Mapping[str, str]) -> dict[str, str]:
    """Return the files in the site that an earlier build wrote and this one does not."""
    gone: dict[str, str] = {}
    for name, sha256 in replaced.items():
        if name not in files and is_within(name) and os.path.exists(site / name):
            gone[name] = sha256
    return gone


def finish(site: Path) -> None:
    """Finish what a run that was killed had begun to show, and remove what it left behind.

    Only for the holder of the site's lock: nobody else writes then.
    """
    for hidden in sorted(site.glob(f"{TEMPORARY}*")):
        if hidden.name != LOCK:
            with _naming(site):
                _finish(site, hidden)


def _finish(site: Path, hidden: Path) -> None:
    if hidden.is_symlink():
        journal = {}
    else:
        journal = _journal(hidden)
    if "files" in journal:
        _show_files(site, hidden)
    if "folder" in journal:
        _show_one_of_two(site / journal["folder"], hidden)
    _remove(hidden)


# ---- one step ------------------------------------------------------------------------------------


def exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step; False where the system or the disk cannot.

    Raises OSError.
    """
    renameat2 = _renameat2()
    if renameat2 is None:
        return False
    if renameat2(HERE, os.fsencode(one), HERE, os.fsencode(other), RENAME_EXCHANGE) == 0:
        return True
    reason = ctypes.get_errno()
    if reason in NO_EXCHANGE:
        return False
    raise OSError(reason, os.strerror(reason), str(other))


@cache
def _renameat2() -> Callable[..., int] | None:
    """Return the call of Linux that exchanges two names (renameat2(2)); None on another system."""
    try:
        found: Callable[..., int] = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError, TypeError):
        return None
    return found


def _show(new: Path, folder: Path, hidden: Path) -> None:
    """Put a new folder in its place; the one that was there is in the hidden folder then."""
    if not os.path.lexists(folder):
        os.rename(new, folder)
    elif not exchange(new, folder):
        _show_in_two_steps(new, folder, hidden)


def _show_in_two_steps(new: Path, folder: Path, hidden: Path) -> None:
    """Put the old folder aside and the new one in its place; the journal has the next run do what
    is left of it.
    """
    _write_journal(hidden, {"folder": folder.name})
    try:
        os.rename(folder, hidden / OLD)
        os.rename(new, folder)
    finally:
        _show_one_of_two(folder, hidden)


def _show_one_of_two(folder: Path, hidden: Path) -> None:
    """Show the new folder where none is seen, else the old one; the journal is done then."""
    for waiting in (hidden / NEW, hidden / OLD):
        if waiting.is_dir() and not os.path.lexists(folder):
            os.rename(waiting, folder)
    _sync(folder.parent)
    (hidden / JOURNAL).unlink()


def _show_files(site: Path, hidden: Path) -> None:
    """Show the files that a journal names and that still wait, in its order, and remove those that
    they replace.
    """
    journal = _journal(hidden)
    for name in journal["files"]:
        waiting, path = hidden / NEW / name, site / name
        if waiting.exists() and lies_within(waiting, hidden) and lies_within(path, site):
            with _naming(path):
                path.parent.mkdir(parents=True, exist_ok=True)
                os.replace(waiting, path)
    _sync_folders_of(site, journal["files"])
    remove_replaced(site, journal["replaced"])


def remove_replaced(site: Path, replaced: Mapping[str, str]) -> None:
    """Remove files that are as an earlier build wrote them; one that somebody changed since stays."""
    for name, known in replaced.items():
        if as_written(site, name, known):
            (site / name).unlink()


def as_written(site: Path, name: str, known: str) -> bool:
    """Tell whether a file within the site has the SHA-256 `known`."""
    path = site / name
    return lies_within(path, site) and digest(path) == known


# ---- the journal ---------------------------------------------------------------------------------


def _write_journal(hidden: Path, journal: Mapping[str, Any]) -> None:
    """Write what is to be shown.

    From now on it is shown, be it by the next run; a journal in part counts as none.
    """
    path = hidden / JOURNAL
    path.write_text(json.dumps(journal), "utf-8")
    _bring_to_disk([path])
    _sync(hidden)


def _journal(hidden: Path) -> dict[str, Any]:
    """Return the journal in a hidden folder; empty where there is none, not a whole one, or one of
    no use.
    """
    try:
        journal = json.loads((hidden / JOURNAL).read_bytes())
        names = [
            *journal.get("files", []),
            *journal.get("replaced", {}),
            journal.get("folder", "a"),
        ]
        return journal if all(is_within(name) for name in names) else {}
    except (OSError, ValueError, AttributeError, TypeError, RecursionError):
        return {}


def is_within(name: str) -> bool:
    """Tell whether a name can only be that of something within the site."""
    path = PurePosixPath(name)
    return bool(path.parts) and not path.is_absolute() and ".." not in path.parts


# ---- the hidden folder ---------------------------------------------------------------------------


@contextlib.contextmanager
def _hidden_folder(folder: Path) -> Iterator[Path]:
    """Give a hidden folder, which goes at the end; it stays where its journal was not worked off."""
    try:
        hidden = Path(tempfile.mkdtemp(dir=folder, prefix=TEMPORARY))
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(folder)) from error
    try:
        yield hidden
    finally:
        if not (hidden / JOURNAL).exists():
            _remove(hidden)


def _remove(hidden: Path) -> None:
    if hidden.is_dir() and not hidden.is_symlink():
        shutil.rmtree(hidden, ignore_errors=True)
    else:
        hidden.unlink(missing_ok=True)


def _lay_out(new: Path, files: Mapping[str, bytes], old: Path) -> None:
    """Write files into a new folder; one that the old folder holds already is linked where the disk
    can do so.
    """
    new.mkdir()
    if old.is_dir():
        shutil.copymode(old, new)
    for name, content in files.items():
        path = new / name
        with _naming(old / name):
            path.parent.mkdir(parents=True, exist_ok=True)
            if not (_holds(old / name, content) and _linked(old / name, path)):
                path.write_bytes(content)


def _keep_other_files(
    old: Path, new: Path, files: Mapping[str, bytes], replaced: Mapping[str, str]
) -> None:
    """Take into the new folder what no build wrote, links as links, empty folders too."""
    for place, folders, names in os.walk(old):
        links = [name for name in folders if os.path.islink(os.path.join(place, name))]
        if not folders and not names:
            (new / Path(place).relative_to(old)).mkdir(parents=True, exist_ok=True)
        for name in (*names, *links):
            path = Path(place, name)
            inside = path.relative_to(old).as_posix()
            if inside in files:
                continue
            is_replaced = inside in replaced and digest(path) == replaced[inside]
            if not is_replaced:
                _copy(path, new / inside)


def _copy(path: Path, copy: Path) -> None:
    with _naming(path):
        copy.parent.mkdir(parents=True, exist_ok=True)
        if not _linked(path, copy):
            shutil.copy2(path, copy, follow_symlinks=False)


def _linked(path: Path, link: Path) -> bool:
    """Give a file a second name; False where the disk cannot."""
    try:
        os.link(path, link, follow_symlinks=False)
    except (OSError, NotImplementedError):
        return False
    return True


def _is_written(folder: Path, files: Mapping[str, bytes], replaced: Mapping[str, str]) -> bool:
    """Tell whether a folder holds the files already, and none that they replace."""
    left = [name for name in replaced if name not in files and os.path.lexists(folder / name)]
    return not left and all(_holds(folder / name, content) for name, content in files.items())


def _holds(path: Path, content: bytes) -> bool:
    return path.is_file() and path.stat().st_size == len(content) and path.read_bytes() == content


# ---- to the disk ---------------------------------------------------------------------------------


def _bring_to_disk_with_folders(folder: Path) -> None:
    """Bring every file in a folder to the disk, then the folders, the innermost first."""
    found = list(os.walk(folder, topdown=False))
    paths = [Path(place, name) for place, _, names in found for name in names]
    _bring_to_disk([path for path in paths if path.is_file() and not path.is_symlink()])
    for place, _, _ in found:
        _sync(Path(place))


def _bring_to_disk(paths: list[Path]) -> None:
    """Bring files to the disk: several at once cost little more than one."""
    if len(paths) == 1:
        _sync_file(paths[0])
        return
    with ThreadPoolExecutor(SYNCED_AT_ONCE) as pool:
        list(pool.map(_sync_file, paths))


def _sync_file(path: Path) -> None:
    """Bring a file to the disk; one of somebody else's that may not be opened is there already."""
    try:
        opened = os.open(path, TO_SYNC)
    except PermissionError:
        return
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def _sync(folder: Path) -> None:
    """Bring the names in a folder to the disk, where a system can open folders."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    opened = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def _sync_folders_of(site: Path, names: Iterable[str]) -> None:
    for folder in dict.fromkeys((site / name).parent for name in names):
        if folder.is_dir():
            _sync(folder)


@contextlib.contextmanager
def _naming(path: Path) -> Iterator[None]:
    """Have an OSError name the file or folder that a user knows, and not a hidden one."""
    try:
        yield
    except OSError as error:
        known = str(error.filename or "")
        hidden = not known or TEMPORARY in known
        raise OSError(
            error.errno, error.strerror or str(error), str(path) if hidden else known
        ) from error
