"""Show each problem of a derived workbook where its owner finds it: at his own cell, or at a line
of his settings.
"""

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
    """Return problems of a derived workbook at the cells of its owner's, or at the line of the
    settings file.
    """
    return tuple(_relocated(problem, origins) for problem in problems)


def _relocated(problem: Problem, origins: Origins) -> Problem:
    if problem.sheet == TRIAL:
        return _of_field(problem, origins)
    own = origins.sheets.get(problem.sheet)
    if own is None or not len(own.row):
        return problem
    if not problem.cell:
        return replace(problem, sheet=_first_sheet(own, origins))
    places = [place for area in areas_of(problem.cell) for place in _ends(area, own)]
    known = [place for place in places if place[0] >= 0]
    if not known:
        return replace(problem, sheet=_first_sheet(own, origins), cell="")
    sheet = origins.places[known[0][0]]
    return replace(problem, sheet=sheet, cell=_named(problem.cell, own))


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
    known = own.sheet[own.sheet >= 0]
    if len(known):
        return origins.places[int(known[0])]
    return ""


def _ends(area: str, own: SheetOrigins) -> list[Place]:
    """Return where the ends of a cell, a range or whole rows such as 7:9 stand."""
    return [place_of(letters, int(number), own) for letters, number in CELL.findall(area)]


def place_of(letters: str, row: int, own: SheetOrigins) -> Place:
    """Return where a derived cell stands; a row as a whole where `letters` are blank or its column
    stands in none.
    """
    if letters:
        column = column_index_from_string(letters) - 1
    else:
        column = -1
    if not 0 < row <= len(own.row):
        return -1, 0, 0
    at = row - 1
    if 0 <= column < own.row.shape[1] and own.sheet[at, column] >= 0:
        return int(own.sheet[at, column]), int(own.row[at, column]), int(own.column[at, column])
    return int(own.sheet[at].max()), int(own.row[at][own.sheet[at].argmax()]), 0


def _named(cells: str, own: SheetOrigins) -> str:
    """Return cells as their owner names them: those on the sheet of the first one."""
    areas = []
    sheet = -1
    for area in areas_of(cells):
        ends = [place for place in _ends(area, own) if place[0] >= 0]
        if not ends:
            continue
        sheet = ends[0][0] if sheet < 0 else sheet
        same = [place for place in ends if place[0] == sheet]
        if same:
            areas.append(_area(same))
    return ", ".join(dict.fromkeys(areas))


def _area(ends: Sequence[Place]) -> str:
    is_whole = not all(row and column for _, row, column in ends)
    names = [address_of(*place[1:]) for place in (ends[0], ends[-1])]
    if is_whole:
        names = [name.partition(":")[0] for name in names]
        return ":".join(names)
    return ":".join(dict.fromkeys(names))


def owners_name(origins: Origins, sheet: str, place: str) -> str:
    """Return what a row such as `7` or a cell such as `C7` of a derived sheet is on its owner's;
    as it stands where it is on none.
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
