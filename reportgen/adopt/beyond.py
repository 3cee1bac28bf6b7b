"""Rows that a log has gained below the range that its settings file names."""

from collections.abc import Iterator
from math import isclose
from statistics import fmean
from typing import TYPE_CHECKING

from reportgen.adopt.grid import one_line
from reportgen.adopt.suspect import Suspect, numbers_of, quantities
from reportgen.adopt.taken import Taken
from reportgen.adopt.totals import is_total

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted


def rows_below_the_range(adopted: "Adopted") -> Iterator[Suspect]:
    """A number stands right below the range of a table, in one of its columns: the log has grown."""
    said: set[tuple[str, str]] = set()
    for table in adopted.tables:
        name = next((name for name in quantities(table) if _is_more(table, name)), "")
        if name and (table.place, table.mapping.range) not in said:
            said.add((table.place, table.mapping.range))
            yield _suspect(table, name)


def _is_more(table: Taken, name: str) -> bool:
    """Tell whether a column goes on below the range, with something else than a total or mean of what it holds."""
    row = table.grid.last + 1
    value = table.grid.value(row, table.letters[name])
    if not table.mapping.range or isinstance(value, bool) or not isinstance(value, int | float):
        return False
    width = len(table.raw.rows[row - 1])
    held = [one.value for one in numbers_of(table, name)]
    of_all = (sum(held), fmean(held)) if held else ()
    named = any(is_total(one_line(table.grid.value(row, at))) for at in range(1, width + 1))
    return not named and not any(isclose(value, one, rel_tol=1e-3) for one in of_all)


def _suspect(table: Taken, name: str) -> Suspect:
    row = table.grid.last + 1
    return Suspect(
        table,
        name,
        row,
        f"a number stands right below the range {table.mapping.range} and was not read",
        "a range that holds every row of its table",
        "Widen range in the settings file; where the row is no part of the table, leave a blank row above it.",
    )
