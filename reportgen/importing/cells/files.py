"""Read the files of a log: spreadsheets and texts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from reportgen.importing.cells.marks import NO_MARKS, Marks, marks_in
from reportgen.importing.cells.sheet import typed
from reportgen.importing.cells.text_file import SUFFIXES as TEXT_SUFFIXES
from reportgen.importing.cells.text_file import read_csv
from reportgen.importing.model.cells import Conventions, Sheet
from reportgen.workbook.cells import read
from reportgen.workbook.raw import Workbook


@dataclass(frozen=True)
class Opened:
    """A file as it was read, before its cells are typed: `file` is "" for the log itself."""

    path: Path
    file: str
    book: Workbook

    @cached_property
    def marks(self) -> Mapping[str, Marks]:
        """Return colours, comments and struck-out cells by sheet; a text file has none."""
        if _is_text(self.path):
            return {}
        return marks_in(self.path.read_bytes())


def read_log(paths: Sequence[Path], conventions: Conventions) -> tuple[Sheet, ...]:
    """Return the sheets of a log's files, in order; the first file is the log, whose sheets name no
    file.

    Raises WorkbookError where a file is missing, unreadable, or far larger than its data.
    """
    return typed_log(open_log(paths), conventions)


def open_log(paths: Sequence[Path]) -> tuple[Opened, ...]:
    """Return the files of a log with their cells as they stand; raise WorkbookError as `read_log`
    does.
    """
    further = [_opened(path, path.name) for path in paths[1:]]
    return (_opened(paths[0], ""), *further)


def _opened(path: Path, file: str) -> Opened:
    return Opened(path, file, read_csv(path) if _is_text(path) else read(path))


def _is_text(path: Path) -> bool:
    return path.suffix.casefold() in TEXT_SUFFIXES


def typed_log(opened: Sequence[Opened], conventions: Conventions) -> tuple[Sheet, ...]:
    """Return the sheets of files that were opened, each cell typed by conventions."""
    sheets: list[Sheet] = []
    for each in opened:
        is_single = len(each.book.sheets) == 1
        for raw in each.book.sheets:
            sheet = typed(raw, each.marks.get(raw.name, NO_MARKS), conventions, each.file)
            sheets.append(replace(sheet, stem=each.path.stem, is_single=is_single))
    return tuple(sheets)
