"""The part of a sheet that is one table: its edges, its headers, the rows below them."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from openpyxl.utils import column_index_from_string

from reportgen.adopt.mapping import TableMapping
from reportgen.workbook.raw import RawSheet, Value, bounds_of
from reportgen.workbook.values import blank, whole_text

HEADER_ROW: Final = re.compile(r"(\d{1,7})(?:\s*[-–]\s*(\d{1,7}))?")
LETTER: Final = re.compile(r"column ([A-Z]{1,3})", re.IGNORECASE)


def one_line(value: Value) -> str:
    """Return a cell's content on one line, empty where it is blank."""
    return "" if blank(value) else re.sub(r"\s+", " ", whole_text(value)).strip()


def header_rows(text: str) -> tuple[int, ...]:
    """Return the numbers of the header rows, none where there is no header; raise ValueError where `text` is no row."""
    found = HEADER_ROW.fullmatch(text.strip())
    if not found:
        raise ValueError(text)
    first, last = int(found[1]), int(found[2] or found[1])
    if last < first or last - first > 2:
        raise ValueError(text)
    return tuple(range(first, last + 1)) if first else ()


@dataclass(frozen=True)
class Grid:
    """A table on a sheet: rows and columns are counted from 1 as on the sheet, `first` to `last` have the data."""

    raw: RawSheet
    header: tuple[int, ...]
    left: int
    right: int
    first: int
    last: int

    @classmethod
    def of(cls, raw: RawSheet, mapping: TableMapping) -> "Grid":
        """Return the part of a sheet that a mapping names; raise ValueError where its row or range is none."""
        header = header_rows(mapping.header_row)
        width = max(map(len, raw.rows), default=0)
        left, top, right, bottom = bounds_of(mapping.range) if mapping.range else (1, 1, width, len(raw.rows))
        below = header[-1] + 1 if header else 1
        return cls(raw, header, left or 1, min(right or width, width), max(top or 1, below), bottom or len(raw.rows))

    def value(self, row: int, column: int) -> Value:
        """Return what stands in a cell, None beyond the sheet's end."""
        values = self.raw.rows[row - 1] if 0 < row <= len(self.raw.rows) else ()
        return values[column - 1] if 0 < column <= len(values) else None

    @property
    def rows(self) -> range:
        """Return the numbers of the rows below the header."""
        return range(self.first, min(self.last, len(self.raw.rows)) + 1)

    @cached_property
    def headers(self) -> Mapping[int, str]:
        """Return the header of each column that has one; those of two rows are joined with a space.

        What stands in an upper row holds for the columns to its right too, until the next text of that row, since
        upper headers are merged or written once for several columns.
        """
        parts = [self._header_row(row, spread=row != self.header[-1]) for row in self.header]
        joined = {
            column: " ".join(dict.fromkeys(part[column] for part in parts if part.get(column)))
            for column in range(self.left, self.right + 1)
        }
        return {column: text for column, text in joined.items() if text}

    def _header_row(self, row: int, *, spread: bool) -> dict[int, str]:
        found: dict[int, str] = {}
        above = ""
        for column in range(self.left, self.right + 1):
            text = one_line(self.value(row, column))
            above = text or (above if self._is_headed_below(column) else "")
            found[column] = above if spread else text
        return found

    def _is_headed_below(self, column: int) -> bool:
        return not blank(self.value(self.header[-1], column))

    def columns_named(self, header: str) -> tuple[int, ...]:
        """Return the columns whose header is `header`: as it is written, else without regard to case."""
        wanted = one_line(header)
        exact = tuple(column for column, text in self.headers.items() if text == wanted)
        if exact:
            return exact
        alike = tuple(column for column, text in self.headers.items() if text.casefold() == wanted.casefold())
        lettered = LETTER.fullmatch(wanted)
        if alike or not lettered:
            return alike or self.joined(wanted)[:1]
        column = column_index_from_string(lettered[1].upper())
        return (column,) if self.left <= column <= self.right else ()

    def joined(self, header: str) -> tuple[int, ...]:
        """Return the columns of a header such as "Light + Feed", which are read together; none where it is no such."""
        parts = one_line(header).split(" + ")
        columns = [at for part in parts for at in self.columns_named(part)] if len(parts) > 1 else []
        return tuple(columns) if columns and len(columns) == len(parts) else self.less(header)

    def less(self, header: str) -> tuple[int, ...]:
        """Return the two columns of a header such as "Gross - Tare", a weight and what is taken off; else none."""
        parts = one_line(header).split(" - ")
        pairs = ((" - ".join(parts[:at]), " - ".join(parts[at:])) for at in range(1, len(parts)))
        found = ((*self.columns_named(first), *self.columns_named(second)) for first, second in pairs)
        return next((columns for columns in found if len(columns) == 2), ())
