"""A cell that is probably not what its owner believes, and how it is said."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.adopt.columns import column_called, kind_of
from reportgen.adopt.derived import code_of
from reportgen.adopt.stood import cell_text
from reportgen.adopt.taken import Taken
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.declaration import GROWTH, PLANTS, TRAYS, Kind
from reportgen.workbook.scales import scale_of

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted

USED: Final = "It was used as it stands."


def is_confirmed(table: Taken, cell: str) -> bool:
    """Return whether the owner has said that a cell is right, and it still holds what it held then."""
    held = cell_text(table.grid, cell)
    return cell in table.mapping.confirmed and table.mapping.stood.get(cell, held) == held


@dataclass(frozen=True)
class Suspect:
    """A finding at the cell in the column `name` of a row of a table.

    One that `waits` stops the report until the owner excludes its row, corrects the cell or confirms it. A finding with
    `whole_row` stands for whatever else the checks say of that row.
    """

    table: Taken
    name: str
    row: int
    found: str
    expected: str
    advice: str
    severity: Severity = Severity.CAUTION
    waits: bool = False
    whole_row: bool = False
    is_slip: bool = False

    @property
    def cell(self) -> str:
        """Return the address on the owner's sheet."""
        return self.table.cell(self.name, self.row)

    @property
    def is_confirmed(self) -> bool:
        """Return whether the owner has said that the cell is right, and it still holds what it held then."""
        return is_confirmed(self.table, self.cell)

    def problem(self) -> Problem:
        """Return the finding as it is said."""
        return Problem(
            self.severity, self.table.place, self.cell, self.found, self.expected, self.advice, code="suspect_value"
        )


Check = Callable[["Adopted"], Iterator[Suspect]]


@dataclass(frozen=True)
class Number:
    """A number in a line of a table."""

    index: int
    row: int
    value: float


def numbers_of(table: Taken, name: str) -> list[Number]:
    """Return the numbers of a column, in the order of the sheet."""
    held = zip(table.lines.numbers, table.lines.columns.get(name, ()), strict=False)
    return [
        Number(index, row, float(value))
        for index, (row, value) in enumerate(held)
        if isinstance(value, int | float) and not isinstance(value, bool)
    ]


def quantities(table: Taken) -> tuple[str, ...]:
    """Return the columns of a table that hold measured amounts: no counts, no codes, no scores."""

    def is_measured(name: str) -> bool:
        column = column_called(table.mapping.gives, name)
        if scale_of(table.units.get(name, "")):
            return False
        return kind_of(table.mapping.gives, name) is Kind.NUMBER and (column is None or bool(column.unit))

    return tuple(name for name in table.letters if is_measured(name))


def tables_of(adopted: "Adopted", *sheets: str) -> tuple[Taken, ...]:
    """Return the tables that give one of some sheets."""
    return tuple(table for table in adopted.tables if table.mapping.gives in sheets)


def measured(adopted: "Adopted") -> Iterator[tuple[Taken, str]]:
    """Yield each quantity of plants with its table."""
    for table in tables_of(adopted, PLANTS.name, GROWTH.name):
        yield from ((table, name) for name in quantities(table))


def treatments_of_rows(adopted: "Adopted", table: Taken) -> Sequence[str]:
    """Return the treatment of each line of a table of plants: its own, else that of its tray."""
    trays = {
        code_of(one, index, "Tray").casefold(): code_of(one, index, "Treatment")
        for one in tables_of(adopted, TRAYS.name)
        for index in range(len(one.lines.numbers))
    }
    return [
        code_of(table, index, "Treatment") or trays.get(code_of(table, index, "Tray").casefold(), "")
        for index in range(len(table.lines.numbers))
    ]
