"""Check a workbook in three passes (sheets, cells, relations) and give the trial or every problem."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from reportgen.language import say
from reportgen.model.problem import NotYetError, Problem, Severity, WorkbookError
from reportgen.model.settings import ASSUMED_CURRENCY, DEFAULTS, Settings
from reportgen.model.trial import LightSurvey, Trial
from reportgen.workbook import photos
from reportgen.workbook.assemble import light_survey_of, trial_of
from reportgen.workbook.book import Book, rows_of
from reportgen.workbook.cells import RawSheet, Workbook
from reportgen.workbook.characters import without_controls
from reportgen.workbook.declaration import INSTRUMENTS, LIGHT, SHEETS, TREATMENTS, TRIAL, Sheet
from reportgen.workbook.echoes import Confirmed, nothing_confirmed, without_echoes
from reportgen.workbook.headers import folded, nearest
from reportgen.workbook.light import HEIGHT_TO_COME, readings_to_match
from reportgen.workbook.lookalikes import look_alikes
from reportgen.workbook.next_steps import Step, days_to_come, next_steps, not_yet
from reportgen.workbook.progress import AT_THE_END, Progress, settled
from reportgen.workbook.recognise import (
    hidden_cells,
    missing_sheet,
    read_table,
    read_trial,
    repeated_sheet,
    sheets_named,
    without_blanks,
)
from reportgen.workbook.records import (
    currency_is_named,
    photos_beside_the_workbook,
    prices_in_one_currency,
)
from reportgen.workbook.references import resolve
from reportgen.workbook.relations import problems_of
from reportgen.workbook.table import Table
from reportgen.workbook.unread import used_range
from reportgen.workbook.values import quoted
from reportgen.workbook.vocabulary import Vocabulary, language_of, sheet_names

# What light is matched by, before a trial is run.
LIGHT_SHEETS: Final = (TRIAL, TREATMENTS, LIGHT, INSTRUMENTS)
TRIAL_TO_COME: Final = frozenset(("missing_sheet", "missing_column", "blank_cell", "empty_sheet"))


@dataclass(frozen=True)
class Examined:
    """What was found in a workbook: how far its trial is, every problem, the photos beside it.

    `tables` hold its rows as they stand, `book` those in which something was recorded, with codes
    resolved.
    """

    tables: Book
    book: Book
    progress: Progress
    problems: tuple[Problem, ...]
    album: photos.Album


@dataclass(frozen=True)
class Outlook:
    """What is wrong or still to come in a workbook, and what to record next."""

    problems: tuple[Problem, ...]
    steps: tuple[Step, ...]


def check(
    workbook: Workbook,
    settings: Settings = DEFAULTS,
    *,
    with_photos: bool = False,
    is_confirmed: Confirmed = nothing_confirmed,
) -> Trial:
    """Return the trial of a workbook, its cautions and remarks in `findings`.

    Currency, language, author and licence of the settings hold for a workbook that does not name
    its own. `with_photos` also reads the photos beside it, which takes a while. `is_confirmed`
    tells of a problem whether the owner has confirmed what its cell holds. Raises WorkbookError,
    with every problem of the workbook, where one of them is an error; NotYetError where it is
    unfinished and has too little for a report.
    """
    found = _examined(workbook, settings.currency, is_confirmed, with_photos)
    if any(problem.severity is Severity.ERROR for problem in found.problems):
        raise WorkbookError(found.problems)
    if reason := not_yet(found.book, found.progress):
        raise NotYetError((reason,))
    trial = trial_of(found.book, workbook, found.problems, settings, found.progress)
    return replace(trial, photos=found.album.photos)


def problems_in(
    workbook: Workbook, settings: Settings = DEFAULTS, is_confirmed: Confirmed = nothing_confirmed
) -> tuple[Problem, ...]:
    """Return every problem of a workbook and of the photos beside it, in sheet and row order.

    What is still to come in an unfinished trial is among them.
    """
    return _examined(workbook, settings.currency, is_confirmed).problems


def outlook(
    workbook: Workbook,
    today: date,
    settings: Settings = DEFAULTS,
    is_confirmed: Confirmed = nothing_confirmed,
) -> Outlook:
    """Return every problem of a workbook, and what to record next.

    Records of days after today are among the problems.
    """
    found = _examined(workbook, settings.currency, is_confirmed)
    late = list(days_to_come(found.book, found.progress, today))
    if late:
        problems = _in_order(workbook, [*found.problems, *late])
    else:
        problems = found.problems
    return Outlook(problems, next_steps(found.tables, found.book, found.progress, today))


def light_survey(workbook: Workbook) -> LightSurvey:
    """Return what a workbook tells of light before its trial is run.

    Only the sheets Trial, Treatments, Light and Instruments are read, and of Trial nothing need be
    filled in. Raises WorkbookError, with every problem of these sheets, where one of them is an
    error.
    """
    tables, problems = _tables(workbook, LIGHT_SHEETS)
    recorded, progress, _ = settled(tables)
    filled, blanks = _without_blanks(recorded, progress)
    book, of_codes = resolve(filled)
    problems += [*blanks, *look_alikes(book), *of_codes, *problems_of(book)]
    titles = {table.title for table in book.values()} | {sheet.name for sheet in LIGHT_SHEETS}
    ours = [problem for problem in problems if problem.sheet in titles and not _is_to_come(problem)]
    ours += readings_to_match(book)
    ordered = _in_order(workbook, [*workbook.problems, *without_echoes(ours)])
    if any(problem.severity is Severity.ERROR for problem in ordered):
        raise WorkbookError(ordered)
    return light_survey_of(book, ordered)


def _is_to_come(problem: Problem) -> bool:
    """Tell whether a problem is of what a trial that is not run yet need not have."""
    is_of_trial = problem.sheet.strip().casefold() == TRIAL.name.casefold()
    return problem.code in HEIGHT_TO_COME or (is_of_trial and problem.code in TRIAL_TO_COME)


def _examined(
    workbook: Workbook, currency: str, is_confirmed: Confirmed, with_photos: bool = True
) -> Examined:
    tables, problems = _tables(workbook)
    recorded, progress, to_come = settled(tables)
    problems = _of_its_time(problems, progress)
    filled, blanks = _without_blanks(recorded, progress)
    book, of_codes = resolve(filled)
    problems += [*blanks, *look_alikes(book)]
    if with_photos:
        names = [name for row in rows_of(book, "Observations") if (name := row.text("Photo"))]
    else:
        names = []
    album = photos.read(names, workbook.folder)
    problems += [
        *workbook.problems,
        *of_codes,
        *_of_its_time(problems_of(book), progress),
        *prices_in_one_currency(book, currency or ASSUMED_CURRENCY),
        *currency_is_named(book, currency),
    ]
    problems += photos_beside_the_workbook(book, workbook.folder, album.faults)
    said = without_echoes(problems, is_confirmed)
    return Examined(tables, book, progress, _in_order(workbook, [*said, *to_come]), album)


def _without_blanks(book: Book, progress: Progress) -> tuple[Book, list[Problem]]:
    """Return a book with INVALID where a required value is missing, and the errors of that."""
    filled: dict[str, Table] = {}
    problems: list[Problem] = []
    for name, table in book.items():
        if name == TRIAL.name:
            to_come = progress.fields
        else:
            to_come = ()
        filled[name], found = without_blanks(table, to_come)
        problems += found
    return filled, problems


def _of_its_time(found: Iterable[Problem], progress: Progress) -> list[Problem]:
    """Return problems; in an unfinished trial those that hold before its end."""
    return [one for one in found if progress.is_finished or one.code not in AT_THE_END]


def _tables(workbook: Workbook, wanted: Sequence[Sheet] = SHEETS) -> tuple[Book, list[Problem]]:
    """Return the wanted sheets as tables, and every problem of their headers and single cells."""
    book: dict[str, Table] = {}
    problems: list[Problem] = []
    unknown = [raw.name for raw in workbook.sheets if folded(raw.name) not in sheet_names()]
    words = language_of(raw.name for raw in workbook.sheets)
    missing: list[Sheet] = []
    for sheet in wanted:
        raws = sheets_named(workbook.sheets, sheet.name)
        if raws:
            problems += [*repeated_sheet(sheet, raws), *hidden_cells(raws[0])]
            book[sheet.name], problems_of_sheet = _table(sheet, raws[0], words)
            problems += problems_of_sheet
        elif _is_missed(sheet, words, unknown):
            missing.append(words.spoken(sheet))
    problems += [missing_sheet(sheet, unknown) for sheet in missing]
    unused = _not_misspelt(unknown, missing)
    return book, problems + _unused_sheets(workbook, unused, words)


def _not_misspelt(unknown: Sequence[str], missing: Sequence[Sheet]) -> list[str]:
    """Return the names of sheets that are probably none of the missing ones."""
    misspelt = {nearest(sheet.name, unknown) for sheet in missing}
    return [name for name in unknown if name not in misspelt]


def _table(sheet: Sheet, raw: RawSheet, words: Vocabulary) -> tuple[Table, list[Problem]]:
    """Return a sheet as a table without control characters, and its problems."""
    if sheet.vertical:
        table, problems = read_trial(raw, words)
    else:
        table, problems = read_table(sheet, raw, words)
    table, problems_of_characters = without_controls(table)
    return table, [*problems, *problems_of_characters]


def _is_missed(sheet: Sheet, words: Vocabulary, unknown: Sequence[str]) -> bool:
    """Tell whether a sheet that is not in the file must be there, or is there misspelt."""
    if sheet.required:
        return True
    return sheet.guarded and bool(nearest(words.spoken(sheet).name, unknown))


def _unused_sheets(workbook: Workbook, names: list[str], words: Vocabulary) -> list[Problem]:
    """Return a remark on the sheets of which nothing is made; none for no sheets."""
    if not names:
        return []
    known = [words.sheet_name(sheet.name) for sheet in SHEETS]
    return [
        Problem(
            Severity.REMARK,
            "",
            "",
            say("sheets that are not used: {names}", names=_with_ranges(workbook, names)),
            ", ".join(known),
            _advice_on_unused(names, known),
            code="unused_sheets",
        )
    ]


def _with_ranges(workbook: Workbook, names: list[str]) -> str:
    """Return the names of sheets, each with its used range."""
    ranges = {raw.name: used_range(raw) for raw in workbook.sheets if raw.name in names}
    empty = say("empty")
    return ", ".join(f"{quoted(name)} ({ranges[name] or empty})" for name in names)


def _advice_on_unused(names: list[str], known: list[str]) -> str:
    for name in names:
        near = nearest(name, known)
        if near:
            return say("Did you mean {near}? They were left alone.", near=near)
    return say("They were left alone.")


def _in_order(workbook: Workbook, problems: Iterable[Problem]) -> tuple[Problem, ...]:
    sheets = [raw.name for raw in workbook.sheets]

    def place(problem: Problem) -> tuple[int, int, int, str]:
        found = re.match(r"([A-Z]*)(\d+)", problem.cell)
        column, row = (found[1], int(found[2])) if found else ("", 0)
        return (
            sheets.index(problem.sheet) if problem.sheet in sheets else -1,
            row,
            len(column),
            column,
        )

    return tuple(sorted(problems, key=place))
