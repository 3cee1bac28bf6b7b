"""Rows and cells that a settings file names and that hold something else by now: after a sort, or inserted rows."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from openpyxl.utils import get_column_letter

from reportgen.adopt.stood import cell_text, letters_named, row_text
from reportgen.adopt.suspect import Suspect
from reportgen.adopt.taken import Taken
from reportgen.adopt.totals import is_total, label_of
from reportgen.model.problem import Severity
from reportgen.workbook.raw import bounds_of
from reportgen.workbook.values import shown, whole_text

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted


def moved(adopted: "Adopted") -> Iterator[Suspect]:
    """A row that is left out or a cell that is corrected holds something else than it held when it was named."""
    said: set[tuple[int, str]] = set()
    for table in adopted.tables:
        for suspect in (*_rows(table), *_cells(table)):
            place = (table.index, suspect.cell)
            if place not in said:  # the parts of a wide table have the same rows
                said.add(place)
                yield suspect


def has_moved(table: Taken) -> bool:
    """Tell whether a row that a table leaves out holds something else by now."""
    return any(_is_other(table, row) for row in table.mapping.exclude_rows)


def not_noted(adopted: "Adopted") -> Iterator[Suspect]:
    """Rows, cells or columns are named by number or letter only: what they should hold is not known."""
    for index, table in {one.index: one for one in reversed(adopted.tables)}.items():
        mapping = table.mapping
        rows = [f"row {row}" for row in mapping.exclude_rows if str(row) not in mapping.stood]
        cells = [cell.upper() for cell in (*mapping.corrected, *mapping.confirmed)]
        letters = dict.fromkeys(letter for _, letter in letters_named(mapping, table.grid))
        missing = [*rows, *(cell for cell in cells if cell not in mapping.stood)]
        missing += [f"column {letter}" for letter in letters if letter not in mapping.stood]
        if missing:
            yield Suspect(
                table,
                "",
                table.grid.header[-1] if table.grid.header else table.grid.first,
                f"table {index + 1} of the settings file does not say what {', '.join(missing)} held",
                "a note of it, so that rows or columns which are inserted or sorted later are noticed",
                "Run reportgen adopt again, which writes it.",
                severity=Severity.REMARK,
            )


# --- rows that are left out


def _is_other(table: Taken, row: int) -> bool:
    """Tell whether a row holds something else than it held: no total, whose figures change with the rows."""
    stood, holds = table.mapping.stood.get(str(row)), row_text(table.grid, row)
    return stood is not None and holds not in ("", stood) and not (label_of(table, row) and _was_total(table, stood))


def _was_total(table: Taken, stood: str) -> bool:
    return any(map(is_total, stood.split(" | ")))


def _rows(table: Taken) -> Iterator[Suspect]:
    for row in table.mapping.exclude_rows:
        if not _is_other(table, row):
            continue
        stood = table.mapping.stood[str(row)]
        now = _row_now(table, stood)
        wider = ", and widen range" if now and now[0] > table.grid.last else ""
        advice = (
            f"It stands in row {now[0]} now: write {now[0]} for {row} in exclude_rows{wider}."
            if now
            else f"Mend exclude_rows; where row {row} is still meant delete it from stood."
        )
        holds = shown(row_text(table.grid, row))
        yield Suspect(
            table,
            "",
            row,
            f'the row is left out, but it held "{shown(stood)}" then and holds "{holds}" now',
            "what was left out",
            advice,
            severity=Severity.ERROR,
            whole_row=True,
        )


def _row_now(table: Taken, stood: str) -> list[int]:
    """Return the row in which stands what was left out, none where it is none or several."""
    rows = range(table.grid.first, len(table.raw.rows) + 1)
    same = [row for row in rows if row_text(table.grid, row) == stood]
    if not same and _was_total(table, stood):
        same = [row for row in rows if label_of(table, row) and row not in table.mapping.exclude_rows]
    return same if len(same) == 1 else []


# --- cells that are corrected


def _cells(table: Taken) -> Iterator[Suspect]:
    for cell, value in table.mapping.corrected.items():
        name = _column(table, cell)
        stood, holds = table.mapping.stood.get(cell.upper()), cell_text(table.grid, cell)
        right = whole_text(value)
        if not name or stood is None or holds in (stood, right):
            continue
        yield Suspect(
            table,
            name,
            bounds_of(cell)[1] or 0,
            f'the cell is read as {right}, but it held "{shown(stood)}" then and holds "{shown(holds)}" now',
            "the cell that was corrected",
            _cell_advice(table, cell.upper(), stood),
            severity=Severity.ERROR,
        )


def _column(table: Taken, cell: str) -> str:
    """Return the declared column that a cell stands in, empty where the table does not read it."""
    column = bounds_of(cell)[0]
    return next((name for name, at in table.letters.items() if at == column), "")


def _cell_advice(table: Taken, cell: str, stood: str) -> str:
    column = bounds_of(cell)[0] or 0
    places = [f"{get_column_letter(column)}{row}" for row in table.grid.rows]
    now = [place for place in places if place != cell and cell_text(table.grid, place) == stood]
    if len(now) == 1:
        return f"That stands in {now[0]} now: write {now[0]} for {cell} in corrected."
    return f"Mend corrected; where {cell} is still meant delete it from stood."
