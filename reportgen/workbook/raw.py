"""Define what every reader of a file gives: sheets of cells, or one reason for none."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import zip_longest
from pathlib import Path
from typing import Final, cast

from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import range_boundaries

from reportgen.language import say
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.slugs import slug

MOST_CELLS: Final = (
    2_000_000  # a year of readings every 5 minutes in a dozen columns is 1.3 million
)

MOST_DIGITS: Final = (
    300  # of a number; IEEE 754 binary64 goes to 309, and Python reads no more than 4300
)
_ENDLESS: Final = re.compile(rf"\d{{{MOST_DIGITS + 1},}}")
_BEYOND: Final = 10**MOST_DIGITS

WHOLE_SHEET: Final = "the whole sheet"  # among the names of what is hidden

# What a cell holds: None, text, a number, a truth value, a datetime, a time of day, a duration; an
# error is text.
Value = object
Place = tuple[int, int]  # row and column, counted from 1
Rows = Sequence[Sequence[Value]]


@dataclass(frozen=True)
class RawSheet:
    """One sheet: `rows` from the first row on, each the values from column A on, all rows of one
    length.

    Rows are tuples, and lists in a long sheet, where copying them would cost time. `formats` holds
    the number formats that are not General; `uncomputed` the formulas that no program has computed;
    both by (row, column), counted from 1. `hidden` names hidden rows and columns, `merged` the
    ranges of merged cells; both only where they hold a value.
    """

    name: str
    rows: Rows
    formats: Mapping[Place, str]
    uncomputed: Mapping[Place, str]
    hidden: tuple[str, ...]
    merged: tuple[str, ...] = ()

    @cached_property
    def columns(self) -> tuple[tuple[Value, ...], ...]:
        """Return the values of each column, from column A on, all as long as the sheet."""
        return tuple(zip_longest(*self.rows))


@dataclass(frozen=True)
class Workbook:
    """The sheets of one file, its name without folder and ending, and the SHA-256 of its bytes.

    `folder` is where the file lies, for the photographs beside it; `problems` is what is to be said
    of the whole file.
    """

    name: str
    source_sha256: str
    sheets: tuple[RawSheet, ...]
    folder: Path | None = None
    problems: tuple[Problem, ...] = ()

    @property
    def slug(self) -> str:
        """Return the name as it stands in addresses."""
        return slug(self.name)


class RefusedError(Exception):
    """A file, or one sheet of it, is not read: what was found, what was expected, what to do."""

    def __init__(
        self, found: str, expected: str, advice: str, sheet: str = "", *, code: str
    ) -> None:
        super().__init__(found)
        self.found, self.expected, self.advice, self.sheet = found, expected, advice, sheet
        self.code = code

    def problem(self, file: str) -> Problem:
        """Return the refusal as an error, with the file's name before what is said of a whole file."""
        if self.sheet:
            found = self.found
        else:
            found = f"{file.encode(errors='replace').decode()} {self.found}"
        return Problem(
            Severity.ERROR, self.sheet, "", found, self.expected, self.advice, code=self.code
        )


def refuse_unwritable_name(path: Path) -> None:
    """Raise RefusedError for a name that is no text, as no page can write it."""
    try:
        path.name.encode()
    except UnicodeEncodeError as error:
        raise RefusedError(
            say("has a name that is not in UTF-8"),
            say("a file name of plain letters"),
            say("Rename it."),
            code="file_name",
        ) from error


def refuse_endless_numbers(sheets: Sequence[RawSheet]) -> None:
    """Raise RefusedError where a cell holds more digits in a row than any number has."""
    for sheet in sheets:
        for number, row in enumerate(sheet.rows, 1):
            for column, value in enumerate(row, 1):
                if _is_endless(value):
                    raise RefusedError(
                        say(
                            "{cell} holds more than {most} digits in a row",
                            cell=f"{get_column_letter(column)}{number}",
                            most=MOST_DIGITS,
                        ),
                        say("a number or a text"),
                        say("Clear the cell, or type what belongs there."),
                        sheet.name,
                        code="endless_number",
                    )


def _is_endless(value: Value) -> bool:
    if isinstance(value, str):
        return len(value) > MOST_DIGITS and _ENDLESS.search(value) is not None
    return isinstance(value, int) and abs(value) >= _BEYOND


def too_large(sheet: str, rows: int, columns: int) -> RefusedError:
    """Return the refusal of a sheet that goes on far beyond any data."""
    return RefusedError(
        say("the sheet goes on to row {rows} and column {columns}", rows=rows, columns=columns),
        say("a sheet that ends with its data"),
        say(
            "Delete the rows below and the columns beside the data, also those that look"
            " empty, and save it."
        ),
        sheet,
        code="sheet_too_large",
    )


def hidden_names(rows: Rows, hidden_rows: set[int], hidden_columns: set[int]) -> tuple[str, ...]:
    """Return the names of the hidden rows and columns, counted from 1, that hold values."""
    names: list[str] = []
    for row in sorted(hidden_rows):
        if row <= len(rows) and is_filled(rows[row - 1]):
            names.append(f"row {row}")
    for column in sorted(hidden_columns):
        if _is_column_filled(rows, column):
            names.append(f"column {get_column_letter(column)}")
    return tuple(names)


def _is_column_filled(rows: Rows, column: int) -> bool:
    """Tell whether a column, counted from 1, holds a value."""
    return any(row[column - 1] is not None for row in rows if len(row) >= column)


def is_filled(row: Sequence[Value]) -> bool:
    """Tell whether any cell of a row holds a value."""
    return any(value is not None for value in row)


def merged_with_value(rows: Rows, ranges: Sequence[str]) -> tuple[str, ...]:
    """Return the merged ranges, such as A2:A5, whose first cell holds a value."""

    def holds(cells: str) -> bool:
        column, row, *_ = bounds_of(cells)
        return (
            row <= len(rows)
            and column <= len(rows[row - 1])
            and rows[row - 1][column - 1] is not None
        )

    return tuple(cells for cells in ranges if holds(cells))


def bounds_of(cells: str) -> tuple[int, int, int, int]:
    """Return first column, first row, last column and last row of a range such as A2:A5; raise
    ValueError if none.
    """
    return cast(tuple[int, int, int, int], range_boundaries(cells))
