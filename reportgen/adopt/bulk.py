"""Rows that hold several plants in one weight, such as the rest of a tray, among rows of one plant each."""

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Final

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
