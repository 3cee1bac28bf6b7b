"""What a log is made of: files of sheets of rows of cells, each of which knows what it truly is."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Final

# What a cell is. Dimensions stand for their labels; "header" names a column, whose dimension or
# quantity is in `of`.
DIMENSIONS: Final = ("occasion", "treatment", "factor", "block", "unit", "plant")
DATA: Final = "data"


@dataclass(frozen=True)
class Cell:
    """A cell as it is written, and what it truly is.

    `what` is a dimension, "value", "header", "title", "note", "total", "mean", "unit of measure",
    "remark", "key", "junk" (of another matter) or "void" (taken back by its owner). `of` is the
    quantity of a value, or what a header heads. `unit` is the unit of measure of a value or header.
    `stands` says what a word or a blank among values is: "lost", "missing", "zero" or "absent".
    `sums` marks a formula: its name, over how many rows above (negative: cells to the left), and
    how many rows stand between. `at` is the place of a value among those of the trial.
    """

    value: object = None
    what: str = ""
    of: str = ""
    unit: str = ""
    stands: str = ""
    fill: str = ""
    strike: bool = False
    sums: tuple[str, int, int] | None = None
    span: tuple[int, int] = (1, 1)
    at: int = -1


BLANK: Final = Cell()


@dataclass(frozen=True)
class Row:
    """A row of a sheet. `kind` is "title", "header", "units", "section", "data", "total", "note",
    "junk" or blank.
    """

    cells: tuple[Cell, ...]
    kind: str = ""


@dataclass(frozen=True)
class Sheet:
    """A sheet; `part` says what it holds: "plants", "water", "energy", "key", "lookup" or "junk"."""

    name: str
    rows: tuple[Row, ...]
    part: str = "plants"
    hidden: bool = False


@dataclass(frozen=True)
class File:
    """A spreadsheet file without its suffix."""

    stem: str
    sheets: tuple[Sheet, ...]


@dataclass(frozen=True)
class Log:
    """All files of a log, the first of which is named first.

    `said` holds what the owner would name a dimension's carrier as, by dimension. `suffix` is the
    kind of file.
    """

    files: tuple[File, ...]
    suffix: str = "xlsx"
    said: dict[str, tuple[str, ...]] = field(default_factory=dict)
    habits: tuple[str, ...] = ()
    csv_separator: str = ","
    csv_encoding: str = "utf-8"
    decimal: str = "."


def row(*cells: Cell, kind: str = "") -> Row:
    """Return a row of cells."""
    return Row(tuple(cells), kind)


def width(rows: tuple[Row, ...]) -> int:
    """Return the number of columns of some rows."""
    return max((len(one.cells) for one in rows), default=0)


def padded(one: Row, columns: int) -> Row:
    """Return a row of at least so many columns."""
    missing = max(columns - len(one.cells), 0)
    return replace(one, cells=(*one.cells, *([BLANK] * missing)))


def cell_at(one: Row, column: int) -> Cell:
    """Return a cell of a row, blank beyond its end."""
    return one.cells[column] if column < len(one.cells) else BLANK


def changed_sheets(log: Log, change: Callable[[Sheet], Sheet], *parts: str) -> Log:
    """Return a log whose sheets of some parts are changed, all of them where none is named."""
    files = []
    for file in log.files:
        sheets = [
            change(sheet) if not parts or sheet.part in parts else sheet for sheet in file.sheets
        ]
        files.append(replace(file, sheets=tuple(sheets)))
    return replace(log, files=tuple(files))


def changed_rows(log: Log, change: Callable[[Row], Row], *parts: str) -> Log:
    """Return a log whose rows are changed one by one."""

    def change_sheet(sheet: Sheet) -> Sheet:
        return replace(sheet, rows=tuple(change(one) for one in sheet.rows))

    return changed_sheets(log, change_sheet, *parts)


def changed_cells(log: Log, change: Callable[[Cell], Cell], *parts: str) -> Log:
    """Return a log whose cells are changed one by one."""

    def change_row(one: Row) -> Row:
        return replace(one, cells=tuple(change(cell) for cell in one.cells))

    return changed_rows(log, change_row, *parts)


def sheets_of(log: Log, *parts: str) -> list[Sheet]:
    """Return the sheets of some parts, all of them where none is named."""
    return [
        sheet for file in log.files for sheet in file.sheets if not parts or sheet.part in parts
    ]


def cells_of(log: Log, *parts: str) -> Iterator[Cell]:
    """Yield each cell of the sheets of some parts."""
    for sheet in sheets_of(log, *parts):
        for one in sheet.rows:
            yield from one.cells


def same_in_all_columns(
    rows: tuple[Row, ...], at: int, new: Callable[[Row], Cell]
) -> tuple[Row, ...]:
    """Return rows with a column put in before column `at`; spans of merged cells grow over it."""
    made = []
    for one in rows:
        cells = list(padded(one, at).cells)
        cells.insert(at, new(one))
        for place, cell in enumerate(cells[:at]):
            if place + cell.span[1] > at:
                cells[place] = replace(cell, span=(cell.span[0], cell.span[1] + 1))
        made.append(replace(one, cells=tuple(cells)))
    return tuple(made)


def with_row(rows: tuple[Row, ...], at: int, new: Row) -> tuple[Row, ...]:
    """Return rows with one put in before row `at`; spans of merged cells and sums grow over it."""
    made = []
    for place, one in enumerate(rows):
        cells = []
        for cell in one.cells:
            inside = place < at < place + cell.span[0]
            span = (cell.span[0] + inside, cell.span[1])
            cells.append(replace(cell, span=span, sums=_grown(cell.sums, place, at)))
        made.append(replace(one, cells=tuple(cells)))
    return (*made[:at], new, *made[at:])


def _grown(sums: tuple[str, int, int] | None, place: int, at: int) -> tuple[str, int, int] | None:
    """Return what a formula in row `place` sums up once a row is put in before row `at`."""
    if sums is None or sums[1] < 0:
        return sums
    name, number, gap = sums
    last = place - gap
    if last - number < at < last:
        return name, number + 1, gap
    return (name, number, gap + 1) if last <= at <= place else sums


def data_runs(rows: tuple[Row, ...]) -> list[tuple[int, int]]:
    """Return the first row of each run of rows of data, and the row behind it."""
    runs: list[tuple[int, int]] = []
    for at, one in enumerate(rows):
        if one.kind != DATA:
            continue
        if runs and runs[-1][1] == at:
            runs[-1] = (runs[-1][0], at + 1)
        else:
            runs.append((at, at + 1))
    return runs
