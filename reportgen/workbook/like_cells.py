"""Which cells of a sheet are alike, by its declaration: those of one group, time and treatment."""

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from reportgen.workbook.book import Book, rows_of
from reportgen.workbook.cells import Value
from reportgen.workbook.declaration import PLANTS, Column, Kind
from reportgen.workbook.slips import Likeness
from reportgen.workbook.table import INVALID, Row, Table, number_weighed
from reportgen.workbook.units import conversion

TREATMENT: Final = "Treatment"
TRAY: Final = "Tray"
NUMBERS: Final = frozenset((float, int, type(None)))


@dataclass(frozen=True)
class Scale:
    """The unit of bare numbers in a column: value = number * factor + offset."""

    unit: str
    factor: float
    offset: float

    def typed(self, value: float) -> float:
        """Return the number that stands for a value."""
        return (value - self.offset) / self.factor


def scale_of(column: Column, table: Table) -> Scale:
    """Return the scale of a column as its header names it."""
    unit = table.units.get(column.name) or column.unit
    factor, offset = conversion(unit, column.unit) if column.unit else (1.0, 0.0)
    return Scale(unit, factor, offset)


@dataclass(frozen=True)
class LikeCells:
    """A table whose cells are compared; `tray_treatments` has the treatment of each tray."""

    table: Table
    tray_treatments: Mapping[str, str]

    @cached_property
    def likeness(self) -> Likeness:
        """Return what makes the cells of each row like those of others."""
        names = self.table.sheet.compared_within
        return Likeness(
            groups=self._joined(names),
            treatments=self.treatments,
            times=self._values(self.time),
            series=self._series(names),
            repeated=self.time in self.table.sheet.key,
        )

    @property
    def time(self) -> str:
        """Return the first column with the time of a row; empty where the sheet has none."""
        for column in self.table.sheet.columns:
            if column.kind in (Kind.DATE, Kind.MOMENT):
                return column.name
        return ""

    @cached_property
    def treatments(self) -> tuple[str, ...]:
        """Return the treatment of each row, or of its tray; empty where it is not known."""
        if TREATMENT in self.table.columns:
            return tuple(_text(value) for value in self._values(TREATMENT))
        return tuple(self.tray_treatments.get(_text(value), "") for value in self._values(TRAY))

    def columns(self) -> Iterator[Column]:
        """Yield the columns that hold numbers, those of the grower's own among them."""
        declared = {column.name for column in self.table.sheet.columns}
        for column in self.table.sheet.columns:
            if column.kind in (Kind.NUMBER, Kind.COUNT) and column.name in self.table.columns:
                yield column
        for trait in self.table.traits:
            if trait.label not in declared:
                yield Column(trait.label, Kind.NUMBER, unit=trait.unit, trait=True)

    def numbers(self, column: Column) -> Sequence[float | None]:
        """Return the numbers of a column in the unit of its header, weights as those of one plant.

        None stands for a cell that is blank or has a problem.
        """
        values = self.table.columns[column.name]
        kinds = set(map(type, values))
        if kinds.isdisjoint((float, int)):  # where a unit cannot be converted nothing can be read
            return [None] * len(values)
        scale = scale_of(column, self.table)
        if kinds <= NUMBERS and (scale.factor, scale.offset) == (1.0, 0.0):
            numbers: Sequence[float | None] = values  # type: ignore[assignment]
        else:
            numbers = [_typed(value, scale) for value in values]
        if self.table.sheet is not PLANTS or column.unit != "g":
            return numbers
        rows = self.table.rows()
        return [
            _divided(number, number_of_plants(row, column))
            for number, row in zip(numbers, rows, strict=True)
        ]

    def _values(self, name: str) -> Sequence[Value]:
        values = self.table.columns.get(name) or (None,) * len(self.table.numbers)
        if INVALID not in values:
            return values
        return tuple(None if value is INVALID else value for value in values)

    def _joined(self, names: Sequence[str]) -> Sequence[Hashable]:
        if len(names) == 1:
            return self._values(names[0])
        columns = [self._values(name) for name in names]
        if columns:
            return list(zip(*columns, strict=True))
        return [()] * len(self.table.numbers)

    def _series(self, within: Sequence[str]) -> Sequence[Hashable]:
        """Return what each row was recorded of, None where no code says it."""
        codes = [column.name for column in self.table.sheet.columns if column.kind is Kind.CODE]
        things = [name for name in codes if name != TREATMENT and name in self.table.columns]
        if not things:
            return [None] * len(self.table.numbers)
        return self._joined([*(name for name in within if name != self.time), *things])


def like_cells(book: Book) -> Iterator[LikeCells]:
    """Yield each table of a workbook whose rows can be compared."""
    treatments = {row.text(TRAY): row.text(TREATMENT) for row in rows_of(book, "Trays")}
    for table in book.values():
        if len(table.numbers) > 1:
            yield LikeCells(table, treatments)


def number_of_plants(row: Row, column: Column) -> int:
    """Return how many plants a value is of: on the sheet Plants weights may be of several together."""
    is_weight = row.table.sheet is PLANTS and column.unit == "g"
    if is_weight:
        return number_weighed(row)
    return 1


def _text(value: Value) -> str:
    if isinstance(value, str):
        return value
    return ""


def _typed(value: Value, scale: Scale) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return scale.typed(value)


def _divided(value: float | None, share: int) -> float | None:
    if value is None:
        return None
    return value / share
