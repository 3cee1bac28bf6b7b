"""Rows that hold several plants in one weight, such as the rest of a tray, among rows of one plant each."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from reportgen.adopt.columns import WEIGHED
from reportgen.adopt.derived import code_of
from reportgen.adopt.grid import one_line
from reportgen.adopt.matching import meanings, tokens
from reportgen.adopt.suspect import Suspect, numbers_of, tables_of
from reportgen.adopt.taken import Taken
from reportgen.workbook.declaration import PLANTS
from reportgen.workbook.headers import folded
from reportgen.workbook.values import shown

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted

REST: Final = (
    "rest rests remaining remainder other others bulk pooled together combined "
    "restliche restlichen reste ubrige ubrigen uebrige uebrigen andere anderen zusammen "
    "restant restants restantes autres ensemble resto restos otras otros demas juntas juntos "
    "altri altre rimanenti restanti insieme outros outras demais overige overigen samen"
)
RANGE: Final = re.compile(r"(?:[^\W\d_]+\s*)?(\d+)\s*-\s*(\d+)")
MOST_WORDS: Final = 3  # one row of so many is named by a word, at most
SEVERAL: Final = re.compile(r"\d+\s*(?:–|\.\.|to|bis|à|a|t/m)\s*\d+|[x×]\s*\d+|\d+\s*[x×]", re.IGNORECASE)
FEWEST: Final = 2  # plants that a number in words is of


def rows_of_several_plants(adopted: "Adopted") -> Iterator[Suspect]:
    """A row is named as the rest of a tray, or as several plants, and counts as one."""
    for table in tables_of(adopted, PLANTS.name):
        if {"Plants weighed"} & set(table.lines.columns):
            continue
        weighed = {one.row for name in ("Fresh weight", "Dry weight") for one in numbers_of(table, name)}
        found = {row: text for row in table.lines.numbers if row in weighed and (text := _several(table, row))}
        if 2 * len(found) <= len(table.lines.numbers):
            yield from (_suspect(table, row, text) for row, text in found.items())
        else:
            yield _of_all(table, *next(iter(found.items())))


def plants_in_ranges(adopted: "Adopted") -> Iterator[Suspect]:
    """Every row is named by the first and the last plant in it, as 1-5 and 6-10, and counts as one plant."""
    for table in tables_of(adopted, PLANTS.name):
        rows = dict(zip(table.lines.numbers, map(one_line, table.lines.columns.get("Plant", ())), strict=False))
        trays = [code_of(table, index, "Tray") for index in range(len(rows))]
        if "Plants weighed" not in table.lines.columns and _are_ranges(list(zip(trays, rows.values(), strict=True))):
            yield _of_all(table, *next(iter(rows.items())))


def _are_ranges(named: Sequence[tuple[str, str]]) -> bool:
    """Tell whether the plants of each tray are ranges of numbers that follow upon each other."""
    found = [(tray, match) for tray, text in named if (match := RANGE.fullmatch(text))]
    bounds = [(tray, int(match[1]), int(match[2])) for tray, match in found]
    follow = all(second[1] > first[2] for first, second in pairwise(sorted(bounds)) if first[0] == second[0])
    return len(bounds) == len(named) > 1 and follow and all(low < high for _, low, high in bounds)


def words_among_numbers(adopted: "Adopted") -> Iterator[Suspect]:
    """A row is named by a word where all plants else have numbers: it may be of a statistic, or of another part."""
    for table in tables_of(adopted, PLANTS.name):
        if "Plant" not in table.letters or "Plants weighed" in table.lines.columns:
            continue
        texts = dict(zip(table.lines.numbers, map(one_line, table.lines.columns["Plant"]), strict=True))
        words = [row for row, text in texts.items() if text and not re.search(r"\d", text)]
        weighed = {one.row for name in WEIGHED for one in numbers_of(table, name)}
        if len(words) * MOST_WORDS <= len(texts):
            yield from (_worded(table, row, texts[row]) for row in words if row in weighed)


def _worded(table: Taken, row: int, text: str) -> Suspect:
    cell = table.cell("Plant", row)
    return Suspect(
        table,
        "Plant",
        row,
        f'"{shown(text)}" is no number, as the names of the other plants are',
        "one plant a row, no statistic and nothing else that was weighed",
        f'Leave it out with exclude_rows = [{row}], or write confirmed = ["{cell}"] where it is a plant.',
        waits=True,
        whole_row=True,
    )


def _of_all(table: Taken, row: int, text: str) -> Suspect:
    one = _suspect(table, row, text)
    advice = (
        'Give each row the number of its plants in a column of your own, and write "Plants weighed" = "its header" '
        f'under columns, with per = "pot"; or write confirmed = ["{one.cell}"] where each row is one plant.'
    )
    return replace(one, found=f'"{shown(text)}" and the like name several plants, and count as one', advice=advice)


def _several(table: Taken, row: int) -> str:
    """Return the text that names several plants in a row, where plants are named or in a column that is not read."""
    taken = {at for name, at in table.letters.items() if name not in ("Plant", "Tray", "Position")}
    for at, header in table.grid.headers.items():
        text = one_line(table.grid.value(row, at))
        if at not in taken and not text.replace(".", "").isdigit() and _names_several(text, header):
            return text
    return ""


def _names_several(text: str, header: str) -> bool:
    known = set(meanings(header))
    if not known & {"plant", "number", "id", "sample", "pot", "tray", "position"} or "treatment" in known:
        return False
    return bool(set(REST.split()) & set(map(folded, tokens(text)))) or (
        bool(known & {"plant", "sample"}) and bool(SEVERAL.fullmatch(text) or _counted(text))
    )


def _counted(text: str) -> bool:
    """Tell whether a text holds a number of plants, as "6 plants" does."""
    words = tokens(text)
    return any(word.isdigit() and int(word) >= FEWEST and "plant" in meanings(after) for word, after in pairwise(words))


def _suspect(table: Taken, row: int, text: str) -> Suspect:
    return Suspect(
        table,
        "Fresh weight" if "Fresh weight" in table.letters else "Dry weight",
        row,
        f'"{shown(text)}" is the name of several plants, and counts as one',
        "one plant a row",
        f"Leave it out with exclude_rows = [{row}]; or give each row the number of its plants in a column of your own, "
        'and write "Plants weighed" = "its header" under columns, with per = "pot".',
        waits=True,
        whole_row=True,
    )
