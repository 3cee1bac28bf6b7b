"""Name cells to the owner, as problems do."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from openpyxl.utils.cell import get_column_letter

from reportgen.importing.ledger.marks import Cell
from reportgen.importing.model.cells import Sheet
from reportgen.language import marked, say
from reportgen.model.problem import Problem, Severity, cells_of

ADOPT_AGAIN: Final = marked("Run reportgen adopt on the log again, which asks what it is now.")


def by_sheet(cells: Iterable[Cell]) -> Mapping[int, list[Cell]]:
    """Return cells by the index of their sheet."""
    sheets: dict[int, list[Cell]] = {}
    for cell in cells:
        sheets.setdefault(cell[0], []).append(cell)
    return sheets


def named(cells: Iterable[Cell]) -> str:
    """Return the cells of one sheet as a problem names them: `D6, D30:D32`."""
    rows_of: dict[int, list[int]] = {}
    for _, row, column in sorted(cells, key=lambda cell: (cell[2], cell[1])):
        rows_of.setdefault(column, []).append(row)
    return ", ".join(cells_of(get_column_letter(column), rows) for column, rows in rows_of.items())


@dataclass(frozen=True)
class Finding:
    """What an error says: its code, what was found, what was expected, what to do: to take the log
    in again where nothing else is said.
    """

    code: str
    found: str
    expected: str
    advice: str = ""

    def at(self, cells: Sequence[Cell], sheets: Sequence[Sheet]) -> Problem:
        """Return it as an error about cells of one sheet."""
        sheet = sheets[cells[0][0]]
        own = [(index, *sheet.owners(row, column)) for index, row, column in cells]
        return self._problem(sheet.label, named(own), len(cells))

    def of_sheet(self, sheet: str) -> Problem:
        """Return it as an error about a whole sheet, or about the log where `sheet` is empty."""
        return self._problem(sheet, "", 1)

    def _problem(self, sheet: str, cells: str, count: int) -> Problem:
        return Problem(
            Severity.ERROR,
            sheet,
            cells,
            self.found,
            self.expected,
            self.advice or say(ADOPT_AGAIN),
            code=self.code,
            count=count,
        )
