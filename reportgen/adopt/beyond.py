"""Rows that a log has gained below the range that its settings file names."""

from collections.abc import Iterator
from math import isclose
from statistics import fmean
from typing import TYPE_CHECKING, Final

from reportgen.adopt.columns import WEIGHED
from reportgen.adopt.csv_file import SUFFIXES
from reportgen.adopt.grid import one_line
from reportgen.adopt.numbers import TextNumbers
from reportgen.adopt.suspect import Suspect, numbers_of, quantities, tables_of
from reportgen.adopt.taken import Taken
from reportgen.adopt.totals import is_total, label_of
from reportgen.adopt.words import LOST, MISSING
from reportgen.model.problem import Severity
from reportgen.workbook.declaration import PLANTS

NEAR: Final = 3  # rows below a range: what stands farther off is something else

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted


def rows_below_the_range(adopted: "Adopted") -> Iterator[Suspect]:
    """A number stands right below the range of a table, in one of its columns: the log has grown."""
    said: set[tuple[str, str]] = set()
    for table in adopted.tables:
        if _has_lost_its_total(table):
            yield _of_lost_total(table)
            continue
        row = _row_below(adopted, table)
        name = next((name for name in quantities(table) if _is_more(table, name, row)), "")
        if name and (table.place, table.mapping.range) not in said:
            said.add((table.place, table.mapping.range))
            yield _suspect(table, name, row)


def _row_below(adopted: "Adopted", table: Taken) -> int:
    """Return the row below the range: behind blank ones the first that is filled like the last row of the table."""
    first = table.grid.last + 1
    near = [row for row in range(first, first + NEAR) if _filled(table, row)]
    if first in near or not near or not table.lines.numbers:
        return first
    others = (one for one in adopted.tables if one.place == table.place and one.index != table.index)
    is_taken = any(min((*one.grid.header, one.grid.first)) <= near[0] <= one.grid.last for one in others)
    is_like = _filled(table, near[0]) >= _filled(table, table.lines.numbers[-1])
    return near[0] if is_like and not is_taken else first


def _filled(table: Taken, row: int) -> set[int]:
    return {at for at in table.letters.values() if at and one_line(table.grid.value(row, at))}


def _is_more(table: Taken, name: str, row: int) -> bool:
    """Tell whether a column goes on in a row below, with something else than a total or mean of what it holds."""
    value = TextNumbers(decimal_comma=True, thousands_comma=False).read(table.grid.value(row, table.letters[name]))
    if not table.mapping.range or isinstance(value, bool) or not isinstance(value, int | float):
        return _is_coded(table, row)
    held = [one.value for one in numbers_of(table, name)]
    of_all = (sum(held), fmean(held)) if held else ()
    return not _is_named(table, row) and not any(isclose(value, one, rel_tol=1e-3) for one in of_all)


def _is_coded(table: Taken, row: int) -> bool:
    """Tell whether a row below the range has a tray and a word for a loss or for no value."""
    tray = table.letters.get("Tray", 0)
    words = {one_line(table.grid.value(row, at)).casefold() for at in table.letters.values() if at}
    known = {word.casefold() for word in (*MISSING, *LOST)}
    return bool(table.mapping.range and tray and one_line(table.grid.value(row, tray)) and words & known)


def _is_named(table: Taken, row: int) -> bool:
    width = len(table.raw.rows[row - 1]) if row <= len(table.raw.rows) else 0
    return any(is_total(one_line(table.grid.value(row, at))) for at in range(1, width + 1))


def _has_lost_its_total(table: Taken) -> bool:
    """Tell whether a row of totals stands below the range and one that is none is left out at its end."""
    last = table.grid.last
    is_out = bool(table.mapping.range) and last in table.mapping.exclude_rows
    return is_out and not label_of(table, last) and _is_named(table, last + 1)


def _of_lost_total(table: Taken) -> Suspect:
    last, name = table.grid.last, quantities(table)[0]
    return Suspect(
        table,
        name,
        last,
        f"row {last} is left out and no total, while a total stands below it: were rows inserted since?",
        "exclude_rows and range that fit the sheet as it is",
        "Write the numbers of the rows that are meant, and widen range, in the settings file.",
        waits=True,
    )


def rows_read_twice(adopted: "Adopted") -> Iterator[Suspect]:
    """Two tables of plants read one cell: each of its plants would count twice."""
    read: dict[tuple[str, int, int], int] = {}
    said: set[tuple[int, int]] = set()
    for table in tables_of(adopted, PLANTS.name):
        for name in (one for one in WEIGHED if table.letters.get(one)):
            for row in table.lines.numbers:
                first = read.setdefault((table.place, row, table.letters[name]), table.index)
                pair = (first, table.index)
                if first != table.index and pair not in said:
                    said.add(pair)
                    yield Suspect(
                        table,
                        name,
                        row,
                        f"table {first + 1} of the settings file reads this cell too",
                        "each plant in one table",
                        "Give both a range, or delete one of the two.",
                        severity=Severity.ERROR,
                    )


def fields_beyond_the_header(adopted: "Adopted") -> Iterator[Suspect]:
    """Rows of a text file go on behind the last header with figures: its decimal commas also part its columns."""
    for table in adopted.tables:
        if not table.place.casefold().endswith(SUFFIXES) or not table.grid.header or not quantities(table):
            continue
        last = max(table.grid.headers)
        found = (row for row in table.lines.numbers if one_line(table.grid.value(row, last + 1)).isdigit())
        if row := next(found, 0):
            yield Suspect(
                table,
                quantities(table)[0],
                row,
                "the row has more fields than the header: a decimal comma may have parted a number in two",
                "as many fields as the header has",
                "Save the file again with semicolons between the fields.",
                severity=Severity.ERROR,
            )


def _suspect(table: Taken, name: str, row: int) -> Suspect:
    near = row == table.grid.last + 1
    blank_rows = "a blank row" if near else f"{NEAR} blank rows"
    return Suspect(
        table,
        name,
        row,
        f"a number stands {'right ' * near}below the range {table.mapping.range} and was not read",
        "a range that holds every row of its table",
        f"Widen range in the settings file; where the row is no part of the table, leave {blank_rows} above it.",
    )
