"""Where the cells of a derived workbook came from, so that a problem is shown where its owner finds it."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple

from openpyxl.utils import column_index_from_string, get_column_letter

from reportgen.model.problem import Problem

CELL: Final = re.compile(r"([A-Z]*)(\d+)")
ROW_SAID: Final = re.compile(r"(?<=in row )(\d+)\b")
CELL_SAID: Final = re.compile(r"(?<=stands here and in )([A-Z]+\d+)")


class Origin(NamedTuple):
    """A row of the owner's: the sheet as messages name it, the row there, and columns there by derived column."""

    place: str
    row: int
    columns: Mapping[int, int]

    def cell(self, column: int) -> str:
        """Return the address of what became the derived column; of the row where it stands in none."""
        found = self.columns.get(column, 0)
        return f"{get_column_letter(found)}{self.row}" if found else f"{self.row}:{self.row}"


@dataclass(frozen=True)
class Origins:
    """The origins of derived rows by sheet, and where in the settings file the fields of the Trial sheet stand."""

    rows: Mapping[str, Mapping[int, Origin]] = field(default_factory=dict)
    fields: Mapping[int, str] = field(default_factory=dict)

    def at(self, sheet: str, row: int, column: int) -> tuple[str, str]:
        """Return the owner's sheet and cell of a derived cell; as it is derived where it has none."""
        origin = self.rows.get(sheet, {}).get(row)
        return (origin.place, origin.cell(column)) if origin else (sheet, f"{get_column_letter(column)}{row}")


def relocated(problems: Iterable[Problem], origins: Origins) -> tuple[Problem, ...]:
    """Return problems of a derived workbook at the cells of its owner's, or at the line of the settings file."""
    return tuple(_relocated(problem, origins) for problem in problems)


def _relocated(problem: Problem, origins: Origins) -> Problem:
    if problem.sheet == "Trial":
        return _of_field(problem, origins)
    rows = origins.rows.get(problem.sheet)
    if not rows:
        return problem
    said = replace(problem, found=_found(problem, origins))
    first = next(iter(rows.values()))
    if not problem.cell:
        return replace(said, sheet=first.place)
    ends = list(_ends(problem, origins))
    alike = [cell for place, cell in ends if place == ends[0][0]]
    return replace(said, sheet=ends[0][0], cell=_joined(alike))


def _of_field(problem: Problem, origins: Origins) -> Problem:
    found = CELL.search(problem.cell)
    where = origins.fields.get(int(found[2]) if found else 0, origins.fields.get(0, ""))
    return replace(problem, sheet="", cell="", found=f"{where}: {problem.found}") if where else problem


def _ends(problem: Problem, origins: Origins) -> Iterator[tuple[str, str]]:
    for letters, number in CELL.findall(problem.cell):
        yield origins.at(problem.sheet, int(number), column_index_from_string(letters) if letters else 0)


def _joined(cells: list[str]) -> str:
    """Return the range from the first of some cells to the last, whose rows may stand as 7:7."""
    parts = [part for cell in cells for part in cell.split(":")]
    return ":".join(dict.fromkeys((parts[0], parts[-1]))) if not parts[0].isdigit() else f"{parts[0]}:{parts[-1]}"


def _found(problem: Problem, origins: Origins) -> str:
    """Return what was found, with the rows and cells that it names as they are on the owner's sheet."""

    def row(match: re.Match[str]) -> str:
        origin = origins.rows[problem.sheet].get(int(match[1]))
        return str(origin.row) if origin else match[1]

    def cell(match: re.Match[str]) -> str:
        letters, number = CELL.fullmatch(match[1]).groups()  # type: ignore[union-attr]
        return origins.at(problem.sheet, int(number), column_index_from_string(letters))[1]

    return CELL_SAID.sub(cell, ROW_SAID.sub(row, problem.found))
