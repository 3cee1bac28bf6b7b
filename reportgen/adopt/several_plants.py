"""Weights of several plants together that stand where the weight of one plant should."""

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from reportgen.adopt.columns import WEIGHED
from reportgen.adopt.derived import code_of
from reportgen.adopt.suspect import USED, Suspect, tables_of
from reportgen.adopt.taken import Lines, Taken
from reportgen.workbook.declaration import PLANTS
from reportgen.workbook.values import blank, shown

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted

_PLANTS: Final = (
    r"plants?|seedlings?|heads?|pflanzen|k[öo]pfe|keimlinge|plantes|plantules|plantas|pl[aá]ntulas|mudas|piante|piantine"
    r"|planten|kroppen|kiemplanten|pcs|st[üu]ck|stuks"
)
TOGETHER: Final = re.compile(rf"(?i)(?<![\d.,])(\d+)\s*(?:{_PLANTS})\b|[x×]\s*(\d+)\b|\b(\d+)\s*[x×](?!\w)")
MOST: Final = 1000


def weights_of_several_plants(adopted: "Adopted") -> Iterator[Suspect]:
    """A header tells of so many plants, as "Weight of 10 plants": its numbers are those of all of them together."""
    for table in tables_of(adopted, PLANTS.name):
        for name in WEIGHED if table.lines.numbers else ():
            text = table.grid.headers.get(table.letters.get(name, 0), "")
            if count := plants_in(text):
                yield Suspect(
                    table,
                    name,
                    table.lines.numbers[0],
                    f'"{shown(text)}" tells of {count} plants together',
                    "the weight of one plant in each row",
                    f"Divide by {count} in a column of your own and name that. {USED}",
                    waits=True,
                )


def plants_in(header: str) -> int:
    """Return how many plants a header says that its weights are of, 0 where it tells of no such number."""
    found = TOGETHER.search(header)
    count = int(next(filter(None, found.groups()))) if found else 0
    return count if 1 < count <= MOST else 0


def weights_that_stand_once_a_tray(adopted: "Adopted") -> Iterator[Suspect]:
    """A weight stands in the first row of each tray only: it may be that of all plants of the tray."""
    for table in tables_of(adopted, PLANTS.name):
        for name in WEIGHED if "Tray" in table.lines.columns else ():
            rows = _first_of_trays(table, name) if name in table.letters else []
            if len(rows) > 1:
                yield Suspect(
                    table,
                    name,
                    rows[0],
                    f"the {name.lower()} stands once a tray, in its first row",
                    "the weight of the plant in the row",
                    f"Where it is that of all plants of the tray take the column out of the settings file. {USED}",
                    waits=True,
                )


def _first_of_trays(table: Taken, name: str) -> list[int]:
    """Return the first row of each tray of several plants, none where a weight stands elsewhere or in no first row."""
    trays: dict[str, list[tuple[int, bool]]] = defaultdict(list)
    for lines in (table.lines, table.dropped):
        for row, tray, there in _held(table, lines, name):
            trays[tray].append((row, there))
    several = [sorted(held) for held in trays.values() if len(held) > 1]
    once = all(held[0][1] and not any(there for _, there in held[1:]) for held in several)
    return [held[0][0] for held in several] if once else []


def _held(table: Taken, lines: Lines, name: str) -> Iterator[tuple[int, str, bool]]:
    """Yield each row with its tray and whether a weight stands in it."""
    held = replace(table, lines=lines)
    for at, row in enumerate(lines.numbers):
        yield row, code_of(held, at, "Tray").casefold(), not blank(lines.columns[name][at])
