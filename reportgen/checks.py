"""Check a workbook, and write its marked copy."""

import logging
import os
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen import lock
from reportgen.language import say
from reportgen.model.data import ReadBack
from reportgen.model.problem import Problem, WorkbookError
from reportgen.model.settings import DEFAULTS, Settings

if TYPE_CHECKING:
    from reportgen.workbook.next_steps import Step

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Checked:
    """What was found in a workbook; `remark` says what its marked copy lacks, or why there is none.

    `read_back` is what was read of a log that was taken in, `steps` what to record next in an
    unfinished trial.
    """

    source: Path
    problems: tuple[Problem, ...]
    remark: str = ""
    read_back: ReadBack | None = None
    steps: "tuple[Step, ...]" = ()


def check(
    source: Path, copy: Path | None = None, settings: Settings = DEFAULTS, today: date | None = None
) -> Checked:
    """Check a workbook and, where `copy` is named, write its marked copy there; raise OSError where
    that fails.

    What an unfinished trial needs next is told as of `today`, and not at all without it.
    """
    try:
        found = _found_in(source, settings, today)
    except WorkbookError as error:
        return Checked(source, error.problems, _no_copy(source, copy) if copy else "")
    if copy:
        return replace(found, remark=_mark(source, found.problems, copy))
    return found


def _found_in(source: Path, settings: Settings, today: date | None) -> Checked:
    """Return what is found in a workbook, or in a spreadsheet that was taken in."""
    from reportgen import workbook
    from reportgen.importing import adopted, checking

    log.info("%s is read", source)
    if adopted.is_adopted(source):
        made = checking.read_adopted(source)
        outlook = checking.outlook(made, today, settings)
        return Checked(source, outlook.problems, read_back=made.read_back, steps=outlook.steps)
    checking.refuse_unread(source)
    read = workbook.read(source)
    if today is None:
        return Checked(source, checking.hint(source, workbook.problems_in(read, settings)))
    outlook = workbook.outlook(read, today, settings)
    return Checked(source, checking.hint(source, outlook.problems), steps=outlook.steps)


def _mark(source: Path, problems: tuple[Problem, ...], copy: Path) -> str:
    from reportgen.workbook import marked

    if not _can_be_marked(source):
        return _no_copy(source, copy)
    content = source.read_bytes()
    log.info("%s is written", copy)
    try:
        lock.write(copy, marked.marked_copy(content, source.suffix, problems))
    except WorkbookError as error:
        return say("{copy} was not written: {error}", copy=copy, error=error)
    return marked.not_kept(content)


def _can_be_marked(source: Path) -> bool:
    return source.suffix.casefold() in (".xlsx", ".xlsm")


def _no_copy(source: Path, copy: Path) -> str:
    return say(
        "{copy} was not written: {name} is no .xlsx file that can be read. Save it as .xlsx first.",
        copy=copy,
        name=source.name,
    )


def why_no_copy(source: Path, copy: Path) -> str:
    """Return why `copy` cannot be the marked copy of the workbook `source`; empty where it can."""
    if os.path.isdir(source):
        return say("{source} is a folder; a marked copy is made of one workbook.", source=source)
    if not os.path.exists(source) or not _can_be_marked(source):
        return ""  # the check says so
    if copy.suffix.casefold() != source.suffix.casefold():
        return say(
            "{copy} does not end in {suffix}, as {name} does.",
            copy=copy,
            suffix=source.suffix,
            name=source.name,
        )
    if os.path.exists(copy) and copy.samefile(source):
        return say("{copy} is the workbook itself. Choose another name.", copy=copy)
    return _why_not_over(copy)


def _why_not_over(copy: Path) -> str:
    from reportgen.workbook.marked import is_marked

    try:
        if not os.path.exists(copy) or is_marked(copy.read_bytes()):
            return ""
    except OSError as error:
        return say(
            "{copy} is there already and cannot be opened: {strerror}.",
            copy=copy,
            strerror=error.strerror,
        )
    return say(
        "{copy} is there already and is no marked copy: it is not overwritten. Choose"
        " another name.",
        copy=copy,
    )
