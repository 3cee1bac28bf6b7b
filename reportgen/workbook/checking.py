"""Check a workbook in three passes (sheets, cells, relations) and give the trial or every problem."""

import re
from collections.abc import Iterable
from dataclasses import replace

from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.model.trial import Trial
from reportgen.workbook import photos
from reportgen.workbook.assemble import trial_of
from reportgen.workbook.book import Book, rows_of
from reportgen.workbook.cells import Workbook
from reportgen.workbook.characters import without_controls
from reportgen.workbook.declaration import SHEETS, Sheet
from reportgen.workbook.echoes import Confirmed, nothing_confirmed, without_echoes
from reportgen.workbook.headers import folded, nearest
from reportgen.workbook.lookalikes import look_alikes
from reportgen.workbook.recognise import (
    hidden_cells,
    missing_sheet,
    read_table,
    read_trial,
    repeated_sheet,
    sheets_named,
)
from reportgen.workbook.records import photos_beside_the_workbook, prices_in_one_currency
from reportgen.workbook.references import resolve
from reportgen.workbook.relations import problems_of
from reportgen.workbook.table import Table
from reportgen.workbook.unread import used_range
from reportgen.workbook.values import quoted


def check(
    workbook: Workbook,
    settings: Settings = DEFAULTS,
    *,
    with_photos: bool = False,
    is_confirmed: Confirmed = nothing_confirmed,
) -> Trial:
    """Return the trial of a workbook, its cautions and remarks in `findings`.

    Currency, language, author and licence of the settings hold for a workbook that does not name its own.
    `with_photos` also reads the photos beside it, which takes a while. `is_confirmed` tells of a problem whether the
    owner has confirmed what its cell holds. Raises WorkbookError, with every problem
    of the workbook, where one of them is an error.
    """
    book, found, album = _examined(workbook, settings.currency, with_photos)
    problems = _in_order(workbook, without_echoes(found, is_confirmed))
    if any(problem.severity is Severity.ERROR for problem in problems):
        raise WorkbookError(problems)
    return replace(trial_of(book, workbook, problems, settings), photos=album.photos)


def problems_in(
    workbook: Workbook, settings: Settings = DEFAULTS, is_confirmed: Confirmed = nothing_confirmed
) -> tuple[Problem, ...]:
    """Return every problem of a workbook and of the photos beside it, in sheet and row order."""
    _, found, _ = _examined(workbook, settings.currency, with_photos=True)
    return _in_order(workbook, without_echoes(found, is_confirmed))


def _examined(workbook: Workbook, currency: str, with_photos: bool) -> tuple[Book, list[Problem], photos.Album]:
    tables, problems = _tables(workbook)
    book, of_codes = resolve(tables)
    problems += look_alikes(book)
    names = [name for row in rows_of(book, "Observations") if (name := row.text("Photo"))] if with_photos else []
    album = photos.read(names, workbook.folder)
    problems += [*workbook.problems, *of_codes, *problems_of(book), *prices_in_one_currency(book, currency)]
    problems += photos_beside_the_workbook(book, workbook.folder, album.faults)
    return book, problems, album


def _tables(workbook: Workbook) -> tuple[Book, list[Problem]]:
    book: dict[str, Table] = {}
    problems: list[Problem] = []
    declared = {folded(sheet.name) for sheet in SHEETS}
    unknown = [raw.name for raw in workbook.sheets if folded(raw.name) not in declared]
    missing: list[Sheet] = []
    for sheet in SHEETS:
        raws = sheets_named(workbook.sheets, sheet.name)
        if not raws:
            missing += [sheet] if sheet.required else []
            continue
        raw = raws[0]
        problems += [*repeated_sheet(sheet, raws), *hidden_cells(raw)]
        table, found = read_trial(raw) if sheet.name == "Trial" else read_table(sheet, raw)
        book[sheet.name], turned = without_controls(table)
        problems += [*found, *turned]
    problems += [missing_sheet(sheet, unknown) for sheet in missing]
    meant = {nearest(sheet.name, unknown) for sheet in missing}
    return book, problems + _unused_sheets(workbook, [name for name in unknown if name not in meant])


def _unused_sheets(workbook: Workbook, left: list[str]) -> list[Problem]:
    """Return a remark on the sheets of which nothing is made; none for no sheets."""
    if not left:
        return []
    ranges = {raw.name: used_range(raw) for raw in workbook.sheets if raw.name in left}
    names = ", ".join(f"{quoted(name)} ({ranges[name] or 'empty'})" for name in left)
    expected = ", ".join(sheet.name for sheet in SHEETS)
    near = next((near for name in left if (near := nearest(name, expected.split(", ")))), "")
    advice = f"Did you mean {near}? They were left alone." if near else "They were left alone."
    return [
        Problem(Severity.REMARK, "", "", f"sheets that are not used: {names}", expected, advice, code="unused_sheets")
    ]


def _in_order(workbook: Workbook, problems: Iterable[Problem]) -> tuple[Problem, ...]:
    sheets = [raw.name for raw in workbook.sheets]

    def place(problem: Problem) -> tuple[int, int, int, str]:
        found = re.match(r"([A-Z]*)(\d+)", problem.cell)
        column, row = (found[1], int(found[2])) if found else ("", 0)
        return sheets.index(problem.sheet) if problem.sheet in sheets else -1, row, len(column), column

    return tuple(sorted(problems, key=place))
