"""What the owner of a log knows of its cells: what stands at an address."""

import re
from collections import Counter

from .grid import Cell, Log, Sheet

ADDRESS = re.compile(r"^\$?([A-Za-z]{1,3})\$?(\d+)$")


def cells_at(log: Log, where: list[str] | str | None) -> list[Cell]:
    """Return the cells at addresses such as "fan 1!A1:C9", "log.xlsx:fan 1!B", a sheet's name, or
    "B2".
    """
    found: list[Cell] = []
    for one in [where] if isinstance(where, str) else where or []:
        found += _at(log, str(one))
    return found


def _at(log: Log, where: str) -> list[Cell]:
    place, _, area = where.rpartition("!")
    if not place and not _area(area):
        place, area = where, ""
    sheets = _sheets(log, place.strip("'\""))
    corners = _area(area)
    found: list[Cell] = []
    for sheet in sheets:
        for at, one in enumerate(sheet.rows, 1):
            for column, cell in enumerate(one.cells, 1):
                if corners is None or (
                    corners[0] <= at <= corners[2] and corners[1] <= column <= corners[3]
                ):
                    found.append(cell)
    return found


def _sheets(log: Log, place: str) -> list[Sheet]:
    every = [(file, sheet) for file in log.files for sheet in file.sheets]
    in_file = re.match(r"^\[(.+)\](.*)$", place)
    if in_file:
        stem, place = in_file[1].rpartition(".")[0] or in_file[1], in_file[2] or in_file[1]
        every = [(file, sheet) for file, sheet in every if file.stem == stem] or every
    named = [
        sheet for file, sheet in every if sheet.name == place or place.endswith(f":{sheet.name}")
    ]
    if named:
        return named
    inside = [sheet for file, sheet in every if place and place.rpartition(".")[0] == file.stem]
    return inside or [sheet for _, sheet in every][:1]


def _area(text: str) -> tuple[int, int, int, int] | None:
    """Return first row, first column, last row, last column of an area; None where a text is no
    area.
    """
    first, _, last = text.partition(":")
    start, end = _corner(first, 1), _corner(last or first, 10**6)
    if start is None or end is None:
        return None
    return (*start, *end)


def _corner(text: str, open_row: int) -> tuple[int, int] | None:
    text = text.strip()
    match = ADDRESS.match(text)
    if match:
        return int(match[2]), _column(match[1])
    if re.fullmatch(r"[A-Z]{1,3}", text):
        return open_row, _column(text)
    if re.fullmatch(r"\d+", text):
        return int(text), 1 if open_row == 1 else 10**6
    return None


def _column(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def most(cells: list[Cell], name: str) -> str:
    """Return what most of some cells have as `what`, `of`, `unit` or `stands`; blank where none has
    it.
    """
    counts = Counter(getattr(cell, name) for cell in cells if getattr(cell, name))
    return counts.most_common(1)[0][0] if counts else ""
