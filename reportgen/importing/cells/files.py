"""Read the files of a log: spreadsheets and texts."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from reportgen.importing.cells.marks import NO_MARKS, Marks, marks_in
from reportgen.importing.cells.sheet import typed
from reportgen.importing.cells.text_file import SUFFIXES as TEXT_SUFFIXES
from reportgen.importing.cells.text_file import read_csv
from reportgen.importing.model.cells import Conventions, Sheet
from reportgen.workbook.cells import read


def read_log(paths: Sequence[Path], conventions: Conventions) -> tuple[Sheet, ...]:
    """Return the sheets of a log's files, in order; the first file is the log, whose sheets name no file.

    Raises WorkbookError where a file is missing, unreadable, or far larger than its data.
    """
    sheets: list[Sheet] = []
    for index, path in enumerate(paths):
        file = path.name if index else ""
        sheets += _sheets_of(path, file, conventions)
    return tuple(sheets)


def _sheets_of(path: Path, file: str, conventions: Conventions) -> list[Sheet]:
    marks: Mapping[str, Marks] = {}
    if path.suffix.casefold() in TEXT_SUFFIXES:
        book = read_csv(path)
    else:
        book = read(path)
        marks = marks_in(path.read_bytes())
    is_single = len(book.sheets) == 1
    sheets: list[Sheet] = []
    for raw in book.sheets:
        sheet = typed(raw, marks.get(raw.name, NO_MARKS), conventions, file)
        sheets.append(replace(sheet, stem=path.stem, is_single=is_single))
    return sheets
