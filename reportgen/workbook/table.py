"""A recognised sheet: columns of values, each with its place in the file."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from reportgen.model.problem import Problem, Severity
from reportgen.model.trial import Trait
from reportgen.workbook.cells import Value
from reportgen.workbook.declaration import Column, Sheet
from reportgen.workbook.naming import named
from reportgen.workbook.vocabulary import ENGLISH, Vocabulary


class _Invalid:
    """Stands where a cell had a problem of its own, so that nothing else is said of it."""


INVALID: Final = _Invalid()


@dataclass(frozen=True)
class Table:
    """A sheet's rows as columns of values; `title` is its name in the file, `numbers` the rows'
    numbers there.

    A value is None where the cell is blank and INVALID where it has a problem. `letters` has the
    columns found, and whole addresses for the Trial sheet's fields. `traits` are the measurements
    beside fresh weight that the sheet holds; their columns go by their labels. `names` and `units`
    are those that stand in the headers, `headings` the addresses of these, `words` the sheet's
    language. `unread` are the names in headers of which no column was made. `factors` are the
    columns of factors. `typed` has the texts of cells that name a unit of their own, by column and
    row.
    """

    sheet: Sheet
    title: str
    numbers: tuple[int, ...]
    columns: Mapping[str, tuple[Value, ...]]
    letters: Mapping[str, str]
    traits: tuple[Trait, ...] = ()
    units: Mapping[str, str] = field(default_factory=dict)
    headings: Mapping[str, str] = field(default_factory=dict)
    factors: tuple[Column, ...] = ()
    names: Mapping[str, str] = field(default_factory=dict)
    words: Vocabulary = ENGLISH
    unread: tuple[str, ...] = ()
    typed: Mapping[str, Mapping[int, str]] = field(default_factory=dict)

    def called(self, name: str) -> str:
        """Return the column `name` as the file calls it, else in the sheet's language."""
        return self.names.get(name) or self.words.column_name(self.sheet.name, name)

    def rows(self) -> Iterator["Row"]:
        """Yield the rows in file order."""
        return (Row(self, index) for index in range(len(self.numbers)))

    def where(self, name: str) -> str:
        """Return the range of the column `name`, such as `C2:C9`; empty where it is not there."""
        if name not in self.letters or not self.numbers:
            return ""
        ends = dict.fromkeys((self.numbers[0], self.numbers[-1]))
        return ":".join(f"{self.letters[name]}{number}" for number in ends)


@dataclass(frozen=True)
class Row:
    """One row of a table."""

    table: Table
    index: int

    @property
    def number(self) -> int:
        """Return the row's number in the file."""
        return self.table.numbers[self.index]

    @property
    def named(self) -> str:
        """Return what its owner calls the row: the number that he finds it by."""
        return named(self.table.title, str(self.number))

    def get(self, name: str) -> Value:
        """Return the value in the column `name`, None where it is blank, invalid or not there."""
        value = self.raw(name)
        if value is INVALID:
            return None
        return value

    def raw(self, name: str) -> Value:
        """Return the value in the column `name`, INVALID where the cell has a problem."""
        column = self.table.columns.get(name)
        if column:
            return column[self.index]
        return None

    def text(self, name: str) -> str:
        """Return the text in the column `name`, empty where there is none."""
        value = self.get(name)
        if isinstance(value, str):
            return value
        return ""

    def typed(self, name: str) -> str:
        """Return the text of a cell that names a unit of its own, empty for any other."""
        return self.table.typed.get(name, {}).get(self.number, "")

    def number_in(self, name: str) -> float | None:
        """Return the number in the column `name`."""
        value = self.get(name)
        if isinstance(value, int | float):
            return float(value)
        return None

    def cell(self, name: str) -> str:
        """Return the address of a row's cell in the column `name`; of the row without the column."""
        letter = self.table.letters.get(name, "")
        if letter[-1:].isdigit():  # a field of the Trial sheet, which has a row of its own
            return letter
        if letter:
            return f"{letter}{self.number}"
        return f"{self.number}:{self.number}"

    def called(self, name: str) -> str:
        """Return the column `name` as the sheet's owner knows it."""
        return self.table.called(name)

    def sheet(self, name: str) -> str:
        """Return what another sheet is called in the language of this one."""
        return self.table.words.sheet_name(name)

    def word(self, choice: str) -> str:
        """Return a choice in the language of the sheet."""
        return self.table.words.word(choice)

    def error(self, name: str, found: str, expected: str, advice: str, *, code: str) -> Problem:
        """Return an error at the cell in the column `name`."""
        return Problem(
            Severity.ERROR, self.table.title, self.cell(name), found, expected, advice, code=code
        )

    def caution(self, name: str, found: str, expected: str, advice: str, *, code: str) -> Problem:
        """Return a caution at the cell in the column `name`."""
        return Problem(
            Severity.CAUTION, self.table.title, self.cell(name), found, expected, advice, code=code
        )


def number_weighed(row: Row) -> int:
    """Return how many plants a row of the sheet Plants is of: those that were weighed together."""
    return int(row.number_in("Plants weighed") or 1)
