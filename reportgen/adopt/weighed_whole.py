"""Pots and trays that were weighed as a whole: what they weigh is no weight of a plant where they held several."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from reportgen.adopt.columns import WEIGHED
from reportgen.adopt.derived import code_of
from reportgen.adopt.matching import meanings
from reportgen.adopt.suspect import USED, Suspect, numbers_of, tables_of
from reportgen.adopt.taken import Taken
from reportgen.model.problem import Severity
from reportgen.workbook.declaration import PLANTS, TRAYS
from reportgen.workbook.values import shown

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted

COUNTING: Final = {"plant", "shoot", "number", "harvest", "yield", "total"}  # meanings of Plants, n, Plants harvested


def counts_of_plants_left_out(adopted: "Adopted") -> Iterator[Suspect]:
    """Pots weighed as a whole held several plants, told in a column that is not read."""
    for table in tables_of(adopted, PLANTS.name):
        yield from _left_out(table)


def pots_of_untold_plants(adopted: "Adopted") -> Iterator[Suspect]:
    """Pots were weighed as a whole, and nothing tells how many plants each held: each stands as one plant."""
    for table in tables_of(adopted, PLANTS.name):
        weights = [name for name in WEIGHED if name in table.letters]
        told = "Plants weighed" in table.lines.columns or any(_left_out(table))
        if table.mapping.per == "pot" and weights and table.lines.numbers and not told:
            yield _untold(table, weights[0], _started(adopted))


def _started(adopted: "Adopted") -> dict[str, float]:
    """Return how many plants trays were started with by a list of them, by their codes in small letters."""
    lists = tables_of(adopted, TRAYS.name)
    told = {one.index: {number.index: number.value for number in numbers_of(one, "Plants started")} for one in lists}
    return {code_of(one, at, "Tray").casefold(): value for one in lists for at, value in told[one.index].items()}


def _untold(table: Taken, weight: str, started: dict[str, float]) -> Suspect:
    """Return the finding: an error where trays of several plants, by a list of them, stand once each."""
    codes = [code_of(table, at, "Tray").casefold() for at in range(len(table.lines.numbers))]
    several = [started[one] for one in codes if started.get(one, 0) > 1 and codes.count(one) == 1]
    of = f" of {max(several):g}" if several else ""
    found = Suspect(
        table,
        weight,
        table.lines.numbers[0],
        f"each row is a pot or tray as a whole, and nothing tells how many plants{of} it held",
        "pots of one plant each, since each pot counts as one plant",
        'Write "Plants weighed" = "its header" under columns, or their number under constants, as 1.',
    )
    if not several or found.is_confirmed:
        return found
    advice = f'{found.advice} Write confirmed = ["{found.cell}"] where one plant of each was weighed.'
    return replace(found, severity=Severity.ERROR, advice=advice)


def _left_out(table: Taken) -> Iterator[Suspect]:
    read = set(table.letters.values())
    for at, text in table.grid.headers.items() if table.mapping.per == "pot" else ():
        counts = _counts(table, at) if at not in read and _tells_plants(text) else []
        if counts and max(counts) > 1:
            yield _suspect(table, at, text, counts)


def _tells_plants(header: str) -> bool:
    """Tell whether a header is of a number of plants: not of their height, leaves or anything else of theirs."""
    found = set(meanings(header))
    return bool(found & {"plant", "number"}) and found <= COUNTING


def _counts(table: Taken, at: int) -> list[int]:
    """Return how many plants each pot held, none where a column holds no such numbers or numbers the pots 1, 2, 3."""
    values = [table.grid.value(row, at) for row in table.lines.numbers]
    counts = [int(value) for value in values if isinstance(value, int | float) and value > 0 and value == int(value)]
    is_numbering = len(set(counts)) == len(counts) or set(counts) == set(range(1, len(set(counts)) + 1))
    return [] if len(counts) < len(values) or is_numbering else counts


def _suspect(table: Taken, at: int, text: str, counts: list[int]) -> Suspect:
    named = replace(table, letters={**table.letters, text: at})
    fewest = f"{min(counts)} to " if min(counts) < max(counts) else ""
    found = Suspect(
        named,
        text,
        table.lines.numbers[0],
        f'each row is a pot or tray as a whole; "{shown(text)}" tells of {fewest}{max(counts)} plants',
        "pots of one plant each, since each pot counts as one plant",
        f'Write "Plants weighed" = "{shown(text)}" under columns',
    )
    if found.is_confirmed:
        return replace(found, advice=f"{found.advice}. {USED}")
    advice = f'{found.advice}, or write confirmed = ["{found.cell}"] where these are no counts of plants.'
    return replace(found, advice=advice, severity=Severity.ERROR)
