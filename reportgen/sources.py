"""Which files are a trial: workbooks, and spreadsheets that were taken in."""

import logging
import os
from collections.abc import Mapping
from pathlib import Path

from reportgen.importing import adopted
from reportgen.language import say
from reportgen.model.problem import NotYetError, Problem, Severity, WorkbookError
from reportgen.model.results import TrialIdentity
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.model.trial import LightSurvey, Trial
from reportgen.workbook.kinds import SUFFIXES

log = logging.getLogger(__name__)


def workbooks(sources: tuple[Path, ...]) -> tuple[Path, ...]:
    """Return the workbooks among files and folders, lock files of spreadsheet programs left out.

    In a folder a text file counts where it was taken in, and no file that is read with another one.
    Raises WorkbookError where a folder holds none.
    """
    found: list[Path] = []
    for source in sources:
        if os.path.isdir(source):
            found += _workbooks_in(source)
        else:
            found.append(source)
    return tuple(dict.fromkeys(found))


def _workbooks_in(folder: Path) -> list[Path]:
    found = sorted(path for path in folder.glob("*") if _is_workbook(path))
    read_with: set[Path] = set()
    for path in found:
        if adopted.is_adopted(path):
            read_with.update(beside(path))
    inside = [path for path in found if path not in read_with]
    if not inside:
        raise WorkbookError((_empty(folder),))
    return inside


def _empty(folder: Path) -> Problem:
    return file_problem(
        say("the folder {name} holds no workbook", name=folder.name),
        say("an .xlsx file in it"),
        code="empty_folder",
    )


def _is_workbook(path: Path) -> bool:
    if path.name.startswith(("~$", ".")):
        return False
    if path.suffix.casefold() in SUFFIXES:
        return True
    return adopted.is_text(path) and adopted.is_adopted(path)


def beside(source: Path) -> tuple[Path, ...]:
    """Return the files that are read with a spreadsheet which was taken in, none with any other."""
    if not adopted.is_adopted(source):
        return ()
    from reportgen.importing import checking

    try:
        return checking.files_of(source)
    except WorkbookError:  # the check says why
        return (adopted.settings_file(source),)


def slug_of(source: Path) -> str:
    """Return the name of the folder that the report of a workbook gets."""
    from reportgen.workbook.slugs import slug

    return slug(source.stem)


def checked(source: Path, settings: Settings = DEFAULTS, *, with_photos: bool = False) -> Trial:
    """Return the trial of a workbook, with its photos or without; raise WorkbookError with every
    problem found.

    Raises NotYetError where nothing is wrong and too little is recorded.
    """
    from reportgen import workbook
    from reportgen.importing import checking

    log.info("%s is read", source)
    if adopted.is_adopted(source):
        return checking.check(checking.read_adopted(source), settings, with_photos=with_photos)
    checking.refuse_unread(source)
    try:
        return workbook.check(workbook.read(source), settings, with_photos=with_photos)
    except NotYetError:
        raise
    except WorkbookError as error:
        raise WorkbookError(checking.hint(source, error.problems)) from error


def light_survey(source: Path) -> LightSurvey:
    """Return what a workbook, or a log that was taken in, tells of light.

    Raises WorkbookError where what it tells has errors.
    """
    from reportgen import workbook
    from reportgen.importing import checking

    if adopted.is_adopted(source):
        return checking.light_survey(checking.read_adopted(source))
    checking.refuse_unread(source)
    return workbook.light_survey(workbook.read(source))


def later_versions(sources: tuple[Path, ...], settings: Settings) -> Mapping[Path, Problem]:
    """Return an error for each workbook that is a later version of another one's trial."""
    if len(sources) < 2:
        return {}
    identities: dict[Path, TrialIdentity] = {}
    for source in sources:
        identity = identity_in(source, settings)
        if identity:
            identities[source] = identity
    return versions_among(identities)


def identity_in(source: Path, settings: Settings) -> TrialIdentity | None:
    """Return what tells the trial of a workbook from others; None where the workbook has errors."""
    from reportgen.metrics.versions import identity_of

    try:
        return identity_of(checked(source, settings))
    except WorkbookError:  # said when its turn comes
        return None


def versions_among(identities: Mapping[Path, TrialIdentity]) -> Mapping[Path, Problem]:
    """Return an error for each workbook whose trial is that of an earlier one."""
    from reportgen.metrics.versions import later_versions as later_of

    named = {str(source): identity for source, identity in identities.items()}
    problems: dict[Path, Problem] = {}
    for later, first in later_of(named).items():
        problems[Path(later)] = _two_versions(Path(later), Path(first))
    return problems


def _two_versions(source: Path, first: Path) -> Problem:
    return file_problem(
        say(
            "{name} and {other} hold one trial: the same title, dates and trays, or mostly"
            " the same weights",
            name=source.name,
            other=first.name,
        ),
        say("one workbook for each trial, so that none counts twice"),
        say(
            "{name} is the later one: take one of the two away. If they are two trials, give"
            " each its own title, dates and weights.",
            name=source.name,
        ),
        code="two_versions_of_one_trial",
    )


def file_problem(found: str, expected: str, advice: str = "", *, code: str) -> Problem:
    """Return an error of a whole file."""
    return Problem(
        Severity.ERROR, "", "", found, expected, advice or say("Check the name."), code=code
    )
