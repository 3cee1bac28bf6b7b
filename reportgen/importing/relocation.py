"""Show each problem of a derived workbook at its owner's cell or line of his settings."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from openpyxl.utils import column_index_from_string

from reportgen.importing.model.cells import address_of
from reportgen.importing.model.given import Origins, SheetOrigins
from reportgen.model.problem import Problem, areas_of

CELL: Final = re.compile(r"([A-Z]*)(\d+)")
TRIAL: Final = "Trial"
Place = tuple[int, int, int]  # sheet, row, column (0: the whole row) of the owner's


def relocated(problems: Iterable[Problem], origins: Origins) -> tuple[Problem, ...]:
    """Return problems of a derived workbook at its owner's cells, or at a line of the settings."""
    return tuple(_relocated(problem, origins) for problem in problems)


def _relocated(problem: Problem, origins: Origins) -> Problem:
    if problem.sheet == TRIAL:
        return _of_field(problem, origins)
    own = origins.sheets.get(problem.sheet)
    if own is None or not len(own.row):
        return problem
    if not problem.cell:
        return replace(problem, sheet=_first_sheet(own, origins))
    ends: list[Place] = []
    for area in areas_of(problem.cell):
        ends.extend(_ends(area, own))
    if not ends:
        return replace(problem, sheet=_first_sheet(own, origins), cell="")
    index = ends[0][0]
    return replace(problem, sheet=origins.places[index], cell=_named(problem.cell, own))


def _of_field(problem: Problem, origins: Origins) -> Problem:
    match = CELL.search(problem.cell)
    if match:
        row = int(match[2])
    else:
        row = 0
    where = origins.fields.get(row, origins.fields.get(0, ""))
    if where:
        return replace(problem, sheet="", cell="", found=f"{where}: {problem.found}")
    return problem


def _first_sheet(own: SheetOrigins, origins: Origins) -> str:
    indexes = own.sheet[own.sheet >= 0]
    if len(indexes):
        return origins.places[int(indexes[0])]
    return ""


def _ends(area: str, own: SheetOrigins) -> list[Place]:
    """Return where the ends of a cell, a range or whole rows such as 7:9 stand, if they do."""
    places = [place_of(letters, int(number), own) for letters, number in CELL.findall(area)]
    return [place for place in places if place[0] >= 0]


def place_of(letters: str, row: int, own: SheetOrigins) -> Place:
    """Return where a derived cell stands.

    Return a whole row where `letters` are blank or the column stands nowhere.
    """
    if not 0 < row <= len(own.row):
        return -1, 0, 0
    index = row - 1
    if letters:
        column = column_index_from_string(letters) - 1
        is_inside = column < own.row.shape[1]
        if is_inside and own.sheet[index, column] >= 0:
            sheet = int(own.sheet[index, column])
            return sheet, int(own.row[index, column]), int(own.column[index, column])
    first = own.sheet[index].argmax()
    return int(own.sheet[index, first]), int(own.row[index, first]), 0


def _named(cells: str, own: SheetOrigins) -> str:
    """Return cells as their owner names them: those on the sheet of the first one."""
    names: dict[str, None] = {}
    first_sheet = -1
    for area in areas_of(cells):
        ends = _ends(area, own)
        if not ends:
            continue
        if first_sheet < 0:
            first_sheet = ends[0][0]
        same = [place for place in ends if place[0] == first_sheet]
        if same:
            names[_area(same)] = None
    return ", ".join(names)


def _area(ends: Sequence[Place]) -> str:
    is_whole = not all(row and column for _, row, column in ends)
    names = [address_of(*place[1:]) for place in (ends[0], ends[-1])]
    if is_whole:
        names = [name.partition(":")[0] for name in names]
        return ":".join(names)
    return ":".join(dict.fromkeys(names))


def owners_name(origins: Origins, sheet: str, place: str) -> str:
    """Return what a row (`7`) or cell (`C7`) of a derived sheet is on its owner's.

    As it stands where it is on none.
    """
    own = origins.sheets.get(sheet)
    match = CELL.fullmatch(place)
    if own is None or match is None:
        return place
    index, row, column = place_of(match[1], int(match[2]), own)
    if index < 0:
        return place
    if not match[1]:
        return str(row)
    if column:
        return address_of(row, column)
    return place
