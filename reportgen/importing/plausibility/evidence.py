"""What the checks look at, and how a finding is made of it."""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import pandas as pd

from reportgen.importing.model import long
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import NOTHING, Layout
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found, Table
from reportgen.language import marked
from reportgen.model.problem import Problem, Severity

USED: Final = marked("It was used as it stands.")
WEIGHTS: Final = ("Fresh weight", "Dry weight", "Root weight", "Weight")
PLANTS_SHEETS: Final = ("Plants", "Harvests", "Growth")


@dataclass(frozen=True)
class Evidence:
    """The cells, tables and settings of a log, and its long form."""

    sheets: Sequence[Sheet]
    found: Found
    settings: Settings
    frame: pd.DataFrame

    def layouts(self, *gives: str) -> Iterator[tuple[int, Layout, Table]]:
        """Yield the layouts that give one of some sheets, with number and table.

        Without a name, all that give any.
        """
        tables = {table.key: table for table in self.found.tables}
        for number, layout in enumerate(self.settings.layouts):
            if gives:
                is_wanted = layout.gives in gives
            else:
                is_wanted = layout.gives != NOTHING
            if is_wanted and layout.table in tables:
                yield number, layout, tables[layout.table]

    def rows(self, number: int) -> pd.DataFrame:
        """Return the rows of the long form that one layout gave."""
        return self.frame[self.frame[long.LAYOUT] == number]


Check = Callable[[Evidence], Iterator[Problem]]


@dataclass(frozen=True)
class Finding:
    """What is said of a cell: a code, what was found, what was expected, what to do."""

    code: str
    found: str
    expected: str
    advice: str
    waits: bool = False

    def at(self, evidence: Evidence, sheet: int, row: int, column: int, count: int = 1) -> Problem:
        """Return the problem at a cell, the whole row where `column` is 0.

        It is an error where it waits for its owner.
        """
        if self.waits:
            severity = Severity.ERROR
        else:
            severity = Severity.CAUTION
        place = evidence.sheets[sheet]
        cell = place.address(row, column)
        return Problem(
            severity,
            place.label,
            cell,
            self.found,
            self.expected,
            self.advice,
            code=self.code,
            count=count,
        )

    def in_rows(self, evidence: Evidence, sheet: int, rows: Sequence[int]) -> Problem:
        """Return the problem of several rows of a sheet."""
        first = self.at(evidence, sheet, rows[0], 0, len(rows))
        return replace(
            first, cell=", ".join(evidence.sheets[sheet].address(row, 0) for row in rows)
        )


def place_in_table(table: Table, index: int, column: int) -> tuple[int, int, int]:
    """Return sheet, row and column of a cell of a table."""
    block = table.blocks[int(table.block[index])]
    if column < len(block.letters):
        letter = block.letters[column]
    else:
        letter = 0
    return block.sheet, int(table.row[index]), letter


def confirmed_cells(evidence: Evidence) -> set[tuple[str, str]]:
    """Return the cells, by sheet, that their owner confirmed."""
    cells = set()
    for _, layout, table in evidence.layouts():
        first = evidence.sheets[table.blocks[0].sheet].label
        for text in layout.confirmed:
            sheet, _, cell = text.rpartition("!")
            cells.add((re.sub(r"^'|'$", "", sheet) or first, cell.upper()))
    return cells
