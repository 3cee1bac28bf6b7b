"""Check a spreadsheet in its owner's layout as a workbook is checked, each problem at its owner's cell."""

import os
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Final

from reportgen import workbook
from reportgen.adopt import csv_file
from reportgen.adopt.advice import advised
from reportgen.adopt.apply import Adopted, adopted
from reportgen.adopt.gained import gained
from reportgen.adopt.mapping import Adoption
from reportgen.adopt.marked_later import marked_since
from reportgen.adopt.marks import marks_of
from reportgen.adopt.origins import relocated
from reportgen.adopt.silent import silent_problems
from reportgen.adopt.suspect import Suspect, is_confirmed
from reportgen.adopt.toml_file import read_adoption, settings_file
from reportgen.model.problem import NotYetError, Problem, Severity, WorkbookError
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.model.trial import LightSurvey, Trial
from reportgen.workbook.cells import Workbook
from reportgen.workbook.declaration import PLANTS, SHEETS

MOST_BESIDE: Final = 50  # files beside a log that are looked at
LARGEST_BESIDE: Final = 2**20  # bytes of such a file
MANY_TWICE: Final = 4  # rows that are told in one message
DEAD_WEIGHED: Final = (
    'Clear the weight. Where such weights count say so at Status, as codes = { dead = "harvested" }; where the rows '
    "are no plants of the trial name them in exclude_rows."
)
TWICE: Final = (
    "Where these are other plants give them codes of their own; where the same one was picked or measured again make "
    "it one row, its pickings added up."
)


def is_adopted(source: Path) -> bool:
    """Return whether a settings file stands beside a spreadsheet."""
    return os.path.isfile(settings_file(source))  # unlike Path.is_file, False for a name that is too long


def is_text(path: Path) -> bool:
    """Return whether a file is one of separated values by its name."""
    return path.suffix.casefold() in csv_file.SUFFIXES


def hint(source: Path, problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """Return the problems of a workbook, with a word on taking it in where it has none of the sheets that it must."""
    missing = {problem.sheet for problem in problems if problem.found.startswith("no sheet named ")}
    if not missing >= {sheet.name for sheet in SHEETS if sheet.required}:
        return problems
    said = f"{source.name} has none of the sheets of a trial workbook"
    advice = f"If it is a log in your own layout, run reportgen adopt {source.name}."
    expected, code = "those sheets, or a log that was taken in", "no_sheet_of_a_workbook"
    return (*problems, Problem(Severity.REMARK, "", "", said, expected, advice, code=code))


def refuse_unread(source: Path) -> None:
    """Raise WorkbookError where a file can only be read once it is taken in."""
    if is_text(source) and os.path.isfile(source):
        said = f"{source.name} has no {settings_file(source).name} beside it"
        advice = f"Run reportgen adopt {source.name}, which writes it."
        expected, code = "a file that says how it is read", "settings_file_missing"
        raise WorkbookError((Problem(Severity.ERROR, "", "", said, expected, advice, code=code),))


def read_any(path: Path) -> Workbook:
    """Return the cells of a workbook or a file of comma-separated values; raise WorkbookError as their readers do."""
    return csv_file.read_csv(path) if is_text(path) else workbook.read(path)


def files_of(source: Path) -> tuple[Path, ...]:
    """Return what is read with a spreadsheet that was taken in: its settings file, the other files that this names.

    Raises WorkbookError as `read_adopted` does.
    """
    settings = settings_file(source)
    names = dict.fromkeys(table.file for table in read_adoption(settings).tables if table.file)
    return (settings, *(source.parent / name for name in names))


def read_adopted(source: Path) -> Adopted:
    """Return what the settings file beside a spreadsheet makes of it and of the other files that it names.

    Raises WorkbookError, with everything that is wrong or still open, where a file cannot be read or does not fit.
    """
    adoption = read_adoption(settings_file(source))
    files = _files(source, adoption)
    made = adopted(files, adoption, source.name)
    later = gained({**files, **_beside(source, adoption)}, adoption, source.name)
    return replace(made, problems=(*made.problems, *later, *_marked(source, made)))


def _marked(source: Path, made: Adopted) -> Iterator[Problem]:
    """Yield a caution for rows of plants that were marked by a colour or a comment later."""
    plants = [table for table in made.tables if table.mapping.gives == PLANTS.name]
    for name in dict.fromkeys(table.mapping.file for table in plants):
        tables = [table for table in plants if table.mapping.file == name]
        marks = marks_of(source.parent / name if name else source, {table.raw.name for table in tables})
        yield from marked_since(tables, marks)


def _beside(source: Path, adoption: Adoption) -> Mapping[str, Workbook]:
    """Return the text files beside a log of several of them that no table names and that are no log of their own."""
    names = {source.name, *(table.file for table in adoption.tables)}
    suffixes = {Path(name).suffix for name in names if name and is_text(Path(name))} if len(names) > 2 else set()
    found = {}
    for path in sorted(one for suffix in suffixes for one in source.parent.glob(f"*{suffix}"))[:MOST_BESIDE]:
        is_other = path.name not in names and not is_adopted(path) and path.stat().st_size <= LARGEST_BESIDE
        if is_other and not path.name.startswith(("~$", ".")):
            with suppress(WorkbookError):
                found[path.name] = read_any(path)
    return found


def _files(source: Path, adoption: Adoption) -> Mapping[str, Workbook]:
    names = dict.fromkeys(table.file for table in adoption.tables if table.file)
    there = {name: source.parent / name for name in names if os.path.isfile(source.parent / name)}
    return {"": read_any(source), **{name: read_any(path) for name, path in there.items()}}


def check(made: Adopted, settings: Settings = DEFAULTS, *, with_photos: bool = False) -> Trial:
    """Return the trial of a spreadsheet that was taken in, its cautions and remarks in `findings`.

    `with_photos` also reads the photos beside it. Raises WorkbookError, with every problem at its owner's cell, where
    one of them is an error.
    """
    try:
        trial = workbook.check(
            made.workbook, settings, with_photos=with_photos, is_confirmed=partial(_is_confirmed, made)
        )
    except NotYetError as error:
        problems = _all(made, ())
        if any(problem.severity is Severity.ERROR for problem in problems):
            raise WorkbookError(problems) from error
        raise
    except WorkbookError as error:
        raise WorkbookError(_all(made, error.problems)) from error
    problems = _all(made, trial.findings)
    if any(problem.severity is Severity.ERROR for problem in problems):
        raise WorkbookError(problems)
    return replace(trial, findings=problems, traces=made.traces)


def problems_in(made: Adopted, settings: Settings = DEFAULTS) -> tuple[Problem, ...]:
    """Return every problem of a spreadsheet that was taken in, at its owner's cells."""
    return _all(made, workbook.problems_in(made.workbook, settings, partial(_is_confirmed, made)))


def _is_confirmed(made: Adopted, problem: Problem) -> bool:
    """Tell whether the owner has confirmed the cell that a problem of the derived workbook is about."""
    (owners,) = relocated([problem], made.origins)
    tables = [table for table in (*made.tables, *made.joined) if table.place == owners.sheet]
    return any(is_confirmed(table, owners.cell) for table in tables if owners.cell in table.mapping.confirmed)


def light_survey(made: Adopted) -> LightSurvey:
    """Return what a spreadsheet that was taken in tells of light; raise WorkbookError as `workbook.light_survey` does.

    Each problem is at its owner's cell.
    """
    try:
        survey = workbook.light_survey(made.workbook)
    except WorkbookError as error:
        raise WorkbookError(relocated(error.problems, made.origins)) from error
    return replace(survey, findings=relocated(survey.findings, made.origins))


def _all(made: Adopted, found: Iterable[Problem]) -> tuple[Problem, ...]:
    suspects, waiting = silent_problems(made)
    unsaid = _gathered(_unsaid(relocated(map(_advised, found), made.origins), suspects))
    others = dict.fromkeys((*made.problems, *advised(unsaid, made.adoption)))
    said = (suspect.problem() for suspect in suspects)
    return (*waiting, *sorted((*others, *said), key=lambda problem: _place(made, problem)))


def _advised(problem: Problem) -> Problem:
    """Return a problem of plants that stand in two rows, or are dead and weighed, with advice for a settings file."""
    if problem.sheet == PLANTS.name and re.search(r"stands in row \d+ too$", problem.found):
        return replace(problem, advice=TWICE)
    if problem.sheet == PLANTS.name and re.match(r"a plant that is \w+ has a fresh weight", problem.found):
        return replace(problem, advice=DEAD_WEIGHED)
    return problem


def _gathered(problems: Iterable[Problem]) -> Iterator[Problem]:
    """Yield problems with those that are one and the same of many rows of a sheet as one.

    These are plants that stand in two rows, and dead ones that were weighed.
    """
    held = list(problems)
    kinds = dict.fromkeys((one.sheet, one.advice) for one in held if one.advice in (TWICE, DEAD_WEIGHED))
    for kind in kinds:
        alike = [one for one in held if (one.sheet, one.advice) == kind]
        if len(alike) >= MANY_TWICE:
            first, last = alike[0], alike[-1]
            found = f"{first.found}, and {len(alike) - 1} rows more do so"
            held = [one for one in held if one not in alike[1:]]
            held[held.index(first)] = replace(first, cell=f"{first.cell}:{last.cell}", found=found)
    yield from held


def _unsaid(problems: Iterable[Problem], suspects: Iterable[Suspect]) -> Iterator[Problem]:
    """Yield the problems of cells of which nothing more telling is said."""
    cells = {(one.table.place, one.cell) for one in suspects}
    rows = {(one.table.place, one.row) for one in suspects if one.whole_row}
    for problem in problems:
        if (problem.sheet, problem.cell) not in cells and (problem.sheet, _row(problem)) not in rows:
            yield problem


def _row(problem: Problem) -> int:
    numbers = set(re.findall(r"\d+", problem.cell))
    return int(numbers.pop()) if len(numbers) == 1 else 0


def _place(made: Adopted, problem: Problem) -> tuple[int, int]:
    places = list(dict.fromkeys(table.place for table in made.tables))
    found = re.search(r"\d+", problem.cell)
    return places.index(problem.sheet) if problem.sheet in places else -1, int(found[0]) if found else 0
