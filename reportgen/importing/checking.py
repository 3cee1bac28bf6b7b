"""Check a log that was taken in as a workbook is checked, each problem at its owner's cell."""

import hashlib
import os
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from reportgen import workbook
from reportgen.importing.adopted import is_text, settings_file
from reportgen.language import say
from reportgen.model.data import ReadBack, Traced
from reportgen.model.problem import NotYetError, Problem, Severity, WorkbookError, of_file
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.model.trial import LightSurvey, Trial
from reportgen.workbook.cells import Workbook
from reportgen.workbook.declaration import LIGHT, SHEETS
from reportgen.workbook.naming import naming

if TYPE_CHECKING:
    from reportgen.importing.memory import Memory
    from reportgen.importing.model.given import Origins
    from reportgen.importing.model.settings import Settings as LogSettings

MANY: Final = 4  # rows that are told in one message
ONE_A_ROW: Final = frozenset(
    ("repeated_code", "lost_plant_weighed", "blank_cell", "solution_incomplete")
)
Cell = tuple[str, str]  # sheet as messages name it, cell


@dataclass(frozen=True)
class Adopted:
    """A workbook made of its owner's tables, with the places of its cells and its problems.

    `confirmed` are cells that look wrong and are right. `read_back` is what was read, by
    quantity and treatment. Of a trial workbook with files beside it both are those of the
    files.
    """

    workbook: Workbook
    origins: "Origins"
    problems: tuple[Problem, ...]
    confirmed: frozenset[Cell]
    traces: tuple[Traced, ...]
    read_back: ReadBack
    is_trial_workbook: bool = False


def hint(source: Path, problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """Return a workbook's problems, with a hint to take it in if it has no required sheet."""
    missing = {problem.sheet for problem in problems if problem.code == "missing_sheet"}
    if not missing >= {sheet.name for sheet in SHEETS if sheet.required}:
        return problems
    found = say("{file} has none of the sheets of a trial workbook", file=source.name)
    advice = say("If it is a log in your own layout, run reportgen adopt {file}.", file=source.name)
    expected = say("those sheets, or a log that was taken in")
    remark = of_file("no_sheet_of_a_workbook", found, expected, advice, Severity.REMARK)
    return (*problems, remark)


def refuse_unread(source: Path) -> None:
    """Raise WorkbookError where a file can only be read once it is taken in."""
    if is_text(source) and os.path.isfile(source):
        found = say(
            "{file} has no {settings} beside it",
            file=source.name,
            settings=settings_file(source).name,
        )
        advice = say("Run reportgen adopt {file}, which writes it.", file=source.name)
        expected = say("a file that says how it is read")
        problem = of_file("settings_file_missing", found, expected, advice)
        raise WorkbookError((problem,))


def files_of(source: Path) -> tuple[Path, ...]:
    """Return the files that are read with a log: its settings file, and those that it names.

    Raises WorkbookError as `read_adopted` does.
    """
    from reportgen.importing.settings import read_settings

    path = settings_file(source)
    return (path, *(source.parent / name for name in read_settings(path).files))


def read_adopted(source: Path, memory: "Memory | None" = None) -> Adopted:
    """Return what the settings file beside a log makes of it and of the other files that it names.

    It never guesses. `memory` holds what was read of the files just before. Raises WorkbookError
    where a file cannot be read, or the settings settle no table.
    """
    from reportgen.importing import ledger, plausibility, sheets
    from reportgen.importing.memory import Memory
    from reportgen.importing.settings import read_settings

    settings = read_settings(settings_file(source))
    paths = [source, *(source.parent / name for name in settings.files)]
    memory = memory or Memory(tuple(paths))
    if settings.trial_workbook:
        return _beside_workbook(source, paths, settings, memory)
    frame, found = memory.frame(settings), memory.found(settings)
    cells = memory.sheets(settings.conventions)
    if frame.empty:
        changes = (
            *ledger.drift(cells, found, settings, frame, memory.ledger(settings)),
            *ledger.against_confirmed({}, cells, settings, frame),
        )
        raise WorkbookError((_nothing_settled(source, settings), *changes))
    given = sheets.give(frame, settings, cells, found)
    return Adopted(
        replace(
            given.workbook, name=source.stem, source_sha256=_digest(paths), folder=source.parent
        ),
        given.origins,
        tuple(dict.fromkeys((*_found_of(memory, settings), *given.problems))),
        plausibility.confirmed(cells, found, settings),
        tuple(replace(trace, file=trace.file or source.name) for trace in given.traces),
        memory.read_back(settings),
    )


def _found_of(memory: "Memory", settings: "LogSettings") -> tuple[Problem, ...]:
    """Return what changed in the files and what looks wrong."""
    from reportgen.importing import ledger

    cells, frame = memory.sheets(settings.conventions), memory.frame(settings)
    return (
        *ledger.drift(cells, memory.found(settings), settings, frame, memory.ledger(settings)),
        *ledger.against_confirmed(memory.figures(settings), cells, settings, frame),
        *memory.flags(settings),
    )


def _beside_workbook(
    source: Path, paths: Sequence[Path], settings: "LogSettings", memory: "Memory"
) -> Adopted:
    """Return a trial workbook with the rows that the files beside it add to its sheets."""
    from reportgen.importing import plausibility, sheets
    from reportgen.importing.appending import appended

    codes = memory.trial_book()
    if codes is None:
        raise WorkbookError((_no_trial_workbook(source, settings),))
    cells, found = memory.sheets(settings.conventions), memory.found(settings)
    given = sheets.give_beside(memory.frame(settings), settings, cells, found, codes)
    whole, origins, repeated = appended(memory.workbook(), given)
    return Adopted(
        replace(whole, source_sha256=_digest(paths)),
        origins,
        tuple(dict.fromkeys((*_found_of(memory, settings), *given.problems, *repeated))),
        plausibility.confirmed(cells, found, settings),
        given.traces,
        memory.read_back(settings),
        is_trial_workbook=True,
    )


def _no_trial_workbook(source: Path, settings: "LogSettings") -> Problem:
    return of_file(
        "no_trial_workbook",
        say(
            "{file} has no sheets Trial and Plants, and {settings} was written for a trial"
            " workbook",
            file=source.name,
            settings=settings.name,
        ),
        say("the workbook that the files were adopted with"),
        say(
            "Restore it, or delete {settings} and run reportgen adopt {file}.",
            settings=settings.name,
            file=source.name,
        ),
    )


def _digest(paths: Sequence[Path]) -> str:
    """Return the SHA-256 of the log, or of all files together where others are read with it."""
    if len(paths) == 1:
        return hashlib.sha256(paths[0].read_bytes()).hexdigest()
    whole = hashlib.sha256()
    for path in paths:
        whole.update(hashlib.sha256(path.read_bytes()).digest())
    return whole.hexdigest()


def _nothing_settled(source: Path, settings: "LogSettings") -> Problem:
    return of_file(
        "nothing_settled",
        say("{settings} settles no table of {file}", settings=settings.name, file=source.name),
        say("at least one table that gives Plants, Harvests or Growth"),
        say("Run reportgen adopt {file} and answer its questions.", file=source.name),
    )


def check(adopted: Adopted, settings: Settings = DEFAULTS, *, with_photos: bool = False) -> Trial:
    """Return the trial of a log that was taken in, its cautions and remarks in `findings`.

    `with_photos` also reads the photos beside it. Raises WorkbookError, with every problem at its
    owner's cell, where one of them is an error.
    """
    is_confirmed = partial(_is_confirmed, adopted)
    try:
        with _names_of_owner(adopted):
            trial = workbook.check(
                adopted.workbook, settings, with_photos=with_photos, is_confirmed=is_confirmed
            )
    except NotYetError as error:
        problems = _all(adopted, ())
        if _has_errors(problems):
            raise WorkbookError(problems) from error
        raise
    except WorkbookError as error:
        raise WorkbookError(_all(adopted, error.problems)) from error
    problems = _all(adopted, trial.findings)
    if _has_errors(problems):
        raise WorkbookError(problems)
    return replace(trial, findings=problems, traces=adopted.traces, read_back=adopted.read_back)


def _has_errors(problems: Iterable[Problem]) -> bool:
    return any(problem.severity is Severity.ERROR for problem in problems)


def problems_in(adopted: Adopted, settings: Settings = DEFAULTS) -> tuple[Problem, ...]:
    """Return every problem of a log that was taken in, at its owner's cells."""
    with _names_of_owner(adopted):
        found = workbook.problems_in(adopted.workbook, settings, partial(_is_confirmed, adopted))
    return _all(adopted, found)


def _names_of_owner(adopted: Adopted) -> AbstractContextManager[None]:
    """Call rows and cells of the derived workbook in messages what they are on its owner's."""
    from reportgen.importing.relocation import owners_name

    return naming(partial(owners_name, adopted.origins))


def outlook(
    adopted: Adopted, today: date | None, settings: Settings = DEFAULTS
) -> workbook.Outlook:
    """Return every problem, and of a trial workbook what to record next as of `today`."""
    if today is None or not adopted.is_trial_workbook:
        return workbook.Outlook(problems_in(adopted, settings), ())
    with _names_of_owner(adopted):
        own = workbook.outlook(adopted.workbook, today, settings, partial(_is_confirmed, adopted))
    return workbook.Outlook(_all(adopted, own.problems), own.steps)


def light_survey(adopted: Adopted) -> LightSurvey:
    """Return the light measurements of a log that was taken in.

    Raises WorkbookError as `workbook.light_survey` does. Each problem is at its owner's cell.
    """
    from reportgen.importing.relocation import relocated

    own = tuple(
        problem for problem in adopted.problems if problem.sheet in _sheets_of_light(adopted)
    )
    try:
        with _names_of_owner(adopted):
            survey = workbook.light_survey(adopted.workbook)
    except WorkbookError as error:
        raise WorkbookError((*own, *relocated(error.problems, adopted.origins))) from error
    if _has_errors(own):
        raise WorkbookError(own)
    return replace(survey, findings=relocated(survey.findings, adopted.origins))


def _sheets_of_light(adopted: Adopted) -> set[str]:
    """Return the owner's sheets that light was read from."""
    origins = adopted.origins.sheets.get(LIGHT.name)
    if origins:
        indexes = origins.sheet[origins.sheet >= 0].tolist()
    else:
        indexes = []
    return {adopted.origins.places[index] for index in indexes}


def _is_confirmed(adopted: Adopted, problem: Problem) -> bool:
    """Tell whether the owner confirmed the cell of a problem of the derived workbook."""
    from reportgen.importing.plausibility import is_confirmed
    from reportgen.importing.relocation import relocated

    (own,) = relocated([problem], adopted.origins)
    return is_confirmed(own, adopted.confirmed)


def _all(adopted: Adopted, problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Return all problems in order: those of the file, then by sheet and row.

    A cell with several alike has one.
    """
    from reportgen.importing.relocation import relocated

    cells = {(problem.sheet, problem.cell) for problem in adopted.problems if problem.cell}
    others = []
    for problem in relocated(problems, adopted.origins):
        is_same_cell = (problem.sheet, problem.cell) in cells
        if not is_same_cell and not _is_effect(problem, adopted.problems):
            others.append(problem)
    every = dict.fromkeys((*adopted.problems, *_gathered(others)))
    return tuple(sorted(every, key=partial(_place, adopted.origins.places)))


def _is_effect(problem: Problem, problems: Iterable[Problem]) -> bool:
    """Tell whether a problem only follows from a day or unit that the log does not tell."""
    if problem.code == "repeated_picking":
        undated = {own.sheet for own in problems if own.code == "days_not_told"}
        return problem.sheet in undated
    if problem.code == "unit_missing":
        return "unit_not_told" in {own.code for own in problems}
    return False


def _gathered(problems: Sequence[Problem]) -> Iterator[Problem]:
    """Yield problems, those that many rows of a sheet have alike as one."""
    alike: dict[tuple[str, str, str], list[Problem]] = {}
    for problem in problems:
        alike.setdefault((problem.code, problem.sheet, problem.advice), []).append(problem)
    for own in alike.values():
        if len(own) < MANY or own[0].code not in ONE_A_ROW:
            yield from own
            continue
        cells = ", ".join(dict.fromkeys(problem.cell for problem in own))
        text = say("{found}, and {number} rows more do so", found=own[0].found, number=len(own) - 1)
        yield replace(own[0], cell=cells, found=text, count=len(own))


def _place(places: Sequence[str], problem: Problem) -> tuple[int, int]:
    match = re.search(r"\d+", problem.cell)
    row = 0
    if match:
        row = int(match[0])
    if problem.sheet in places:
        return places.index(problem.sheet), row
    return -1, row
