"""Lay tables out as a sheet of the declaration, each row beside where it came from."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from reportgen.adopt.columns import NUMBERS, OF_TRAYS, column_called, kind_of
from reportgen.adopt.origins import Origin
from reportgen.adopt.taken import Taken
from reportgen.model.problem import Problem
from reportgen.workbook.declaration import PLANTS, Kind
from reportgen.workbook.raw import Place, RawSheet, Value, bounds_of
from reportgen.workbook.recognise import hidden_cells
from reportgen.workbook.units import plain

Row = tuple[tuple[Value, ...], Origin]
Laid = tuple[RawSheet, Mapping[int, Origin]]
HEADER: Final = 1


def listed(name: str, head: Sequence[str], rows: Iterable[Row]) -> Laid:
    """Return a sheet of rows below the names `head`, one after the other."""
    made = list(rows)
    origins = {row: origin for row, (_, origin) in enumerate(made, HEADER + 1)}
    if made:
        origins[HEADER] = made[0][1]
    return RawSheet(name, (tuple(head), *(values for values, _ in made)), {}, {}, ()), origins


def laid(name: str, tables: Sequence[Taken]) -> Laid:
    """Return the sheet `name` of the declaration that tables give together.

    Rows of a single table keep their numbers, so that what the checks say of rows holds for the owner's sheet too.
    """
    columns = _columns(name, tables)
    units = {column: _unit(tables[0], column) for column in columns}
    head = tuple(f"{column} ({units[column]})" if units[column] else column for column in columns)
    sheet = _Sheet(name, columns, units)
    sheet.rows.append(head)
    for table in tables:
        sheet.add(table, keep=len(tables) == 1 and _is_in_order(table))
    formats, uncomputed = sheet.formats, sheet.uncomputed
    return RawSheet(name, tuple(sheet.rows), formats, uncomputed, (), tuple(sheet.merged)), sheet.origins


def _columns(name: str, tables: Sequence[Taken]) -> tuple[str, ...]:
    own = (column for table in tables for column in table.lines.columns)
    return tuple(dict.fromkeys(column for column in own if name != PLANTS.name or column not in OF_TRAYS))


def _unit(table: Taken, column: str) -> str:
    return table.units.get(column, "")


def _is_in_order(table: Taken) -> bool:
    numbers = table.lines.numbers
    return bool(numbers) and numbers[0] > HEADER and all(map(int.__lt__, numbers, numbers[1:]))


def hidden_parts(tables: Sequence[Taken]) -> Iterator[Problem]:
    """Yield a caution for each sheet of which hidden rows or columns are read."""
    for place in dict.fromkeys(table.place for table in tables):
        held = [table for table in tables if table.place == place]
        hidden = tuple(dict.fromkeys(one for table in held for one in _hidden(table)))
        yield from hidden_cells(replace(held[0].raw, name=place, hidden=hidden))


def _hidden(table: Taken) -> tuple[str, ...]:
    """Return the hidden rows and columns of a sheet that the table stands in."""
    used = {f"row {row}" for row in table.lines.numbers}
    used |= {f"column {table.cell(name, 1)[:-1]}" for name, at in table.letters.items() if at}
    return tuple(one for one in table.raw.hidden if one in used or one == "the whole sheet")


class _Sheet:
    """A sheet while its rows are laid out."""

    def __init__(self, name: str, columns: tuple[str, ...], units: Mapping[str, str]) -> None:
        self.name, self.columns, self.units = name, columns, units
        self.rows: list[tuple[Value, ...]] = []
        self.origins: dict[int, Origin] = {}
        self.formats: dict[Place, str] = {}
        self.uncomputed: dict[Place, str] = {}
        self.merged: list[str] = []

    def add(self, table: Taken, *, keep: bool) -> None:
        """Add the lines of a table, with `keep` at their own numbers."""
        stands = {at: table.letters.get(column, 0) for at, column in enumerate(self.columns, 1)}
        header = table.grid.header[-1] if table.grid.header else table.grid.first
        self.origins.setdefault(HEADER, Origin(table.place, header, stands))
        held = [self._values(table, column) for column in self.columns]
        rows: dict[int, int] = {}
        for number, values in zip(table.lines.numbers, zip(*held, strict=True), strict=True):
            if keep:
                self.rows += [(None,) * len(self.columns)] * (number - 1 - len(self.rows))
            self.rows.append(values)
            rows[number] = len(self.rows)
            self.origins[len(self.rows)] = Origin(table.place, number, stands)
        self._note_formats(table, rows)
        self._note_uncomputed(table, rows)
        self._note_merged(table, rows)

    def _values(self, table: Taken, column: str) -> Sequence[Value]:
        """Return the values of a column, with their unit behind them where the header has another one."""
        values = table.lines.columns.get(column, (None,) * len(table.lines.numbers))
        declared = column_called(self.name, column)
        usual = declared.unit if declared else ""
        own, head = (unit or usual for unit in (_unit(table, column), self.units[column]))
        if kind_of(self.name, column) not in NUMBERS or not own or plain(own) == plain(head):
            return values
        return [f"{value:.15g} {own}" if isinstance(value, int | float) else value for value in values]

    def _note_formats(self, table: Taken, rows: Mapping[int, int]) -> None:
        """Hand on how numbers were shown, where that says what they are: in codes and in percent."""
        for at, column in enumerate(self.columns, 1):
            declared = column_called(self.name, column)
            if not declared or column not in table.lines.columns:
                continue
            if declared.kind is Kind.CODE or declared.unit == "%":
                self._note_formats_of(table, column, at, rows)

    def _note_formats_of(self, table: Taken, column: str, at: int, rows: Mapping[int, int]) -> None:
        stands = table.letters.get(column, 0)
        for number, value in zip(table.lines.numbers, table.lines.columns[column], strict=True):
            shape = table.raw.formats.get((number, stands), "General") if _counts(value) else "General"
            if shape != "General":
                self.formats[rows[number], at] = shape

    def _note_uncomputed(self, table: Taken, rows: Mapping[int, int]) -> None:
        places = {at: column for column, at in table.letters.items() if at}
        for (number, at), formula in table.raw.uncomputed.items():
            if number in rows and places.get(at) in self.columns:
                self.uncomputed[rows[number], self.columns.index(places[at]) + 1] = formula

    def _note_merged(self, table: Taken, rows: Mapping[int, int]) -> None:
        """Hand on which numbers stand for several rows: the checks refuse them."""
        from openpyxl.utils import get_column_letter

        places = {at: column for column, at in table.letters.items() if at and kind_of(self.name, column) in NUMBERS}
        for cells in table.raw.merged:
            left, top, _, bottom = bounds_of(cells)
            held = [rows[row] for row in range(top, bottom + 1) if row in rows]
            if places.get(left) in self.columns and len(held) > 1:
                letter = get_column_letter(self.columns.index(places[left]) + 1)
                self.merged.append(f"{letter}{held[0]}:{letter}{held[-1]}")


def _counts(value: Value) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
