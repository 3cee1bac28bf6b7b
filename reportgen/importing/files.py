"""Which files are a log: the first one, and those that are read with it."""

import os
from collections.abc import Sequence
from pathlib import Path

from reportgen.importing.adopted import TEXTS
from reportgen.language import say
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.workbook.kinds import SUFFIXES


def log_files(sources: Sequence[Path]) -> tuple[Path, ...]:
    """Return the files that files and folders name, the log itself first.

    Raises WorkbookError where a folder holds none, or a file does not lie beside the first one.
    """
    files: list[Path] = []
    for source in sources:
        if os.path.isdir(source):
            files.extend(_inside(source))
        else:
            files.append(source)
    paths = tuple(dict.fromkeys(files))
    if not paths:
        raise _refused(
            say("the folder holds no spreadsheet"),
            say("a file that can be read"),
            say("Name the file."),
        )
    first = paths[0]
    for other in paths[1:]:
        if other.parent.resolve() != first.parent.resolve():
            raise _refused(
                say("{file} is not beside {first}", file=other, first=first),
                say("files in one folder"),
                say("Move or copy it there."),
            )
    return paths


def with_earlier(paths: Sequence[Path], names: Sequence[str]) -> tuple[Path, ...]:
    """Return the files of a log with those read before that are still there, in order."""
    by_name = {path.name: path for path in paths}
    before = [by_name.pop(name, paths[0].parent / name) for name in names if name != paths[0].name]
    earlier = [path for path in before if os.path.isfile(path)]
    return tuple(dict.fromkeys((paths[0], *earlier, *paths[1:])))


def _inside(folder: Path) -> list[Path]:
    endings = (*SUFFIXES, *TEXTS)
    inside = [path for path in folder.glob("*") if path.suffix.casefold() in endings]
    return sorted(path for path in inside if not path.name.startswith(("~$", ".")))


def _refused(found: str, expected: str, advice: str) -> WorkbookError:
    problem = Problem(Severity.ERROR, "", "", found, expected, advice, code="not_a_log")
    return WorkbookError((problem,))
