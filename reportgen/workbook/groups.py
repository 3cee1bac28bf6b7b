"""Choose the sheets of a new workbook: those of every trial, and those of further records."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from reportgen.language import say
from reportgen.workbook.declaration import SHEETS, Sheet
from reportgen.workbook.headers import nearest

EVERYTHING: Final = "all"
GROUPS: Final[
    Mapping[str, tuple[str, ...]]
] = {  # what a grower records, and the sheets that hold it
    "growth": ("Growth",),
    "harvests": ("Harvests",),
    "water": ("Solution",),
    "energy": ("Meter",),
    "devices": ("Loads",),
    "light": ("Light",),
    "climate": ("Climate",),
    "costs": ("Costs",),
    "tariff": ("Tariff",),
    "instruments": ("Instruments",),
    "photos": ("Observations",),
}


class UnknownGroup(ValueError):
    """A word names no group of sheets; the message says which there are."""


def groups() -> tuple[str, ...]:
    """Return the words for groups of sheets that the declaration has."""
    declared = {sheet.name for sheet in SHEETS}
    return tuple(word for word, names in GROUPS.items() if declared & set(names))


def sheets_with(words: Iterable[str]) -> tuple[Sheet, ...]:
    """Return the sheets of every trial and of some groups, in the order of the declaration.

    Raises UnknownGroup.
    """
    known = groups()
    wanted: set[str] = set()
    for word in words:
        if word == EVERYTHING:
            return SHEETS
        if word not in known:
            raise UnknownGroup(_unknown(word, (*known, EVERYTHING)))
        wanted.update(GROUPS[word])
    return tuple(
        sheet for sheet in SHEETS if sheet.required or sheet.guarded or sheet.name in wanted
    )


def groups_without(sheets: Sequence[Sheet]) -> tuple[str, ...]:
    """Return the words that would bring sheets which are not among these."""
    present = {sheet.name for sheet in sheets}
    return tuple(word for word in groups() if not present & set(GROUPS[word]))


def _unknown(word: str, known: Sequence[str]) -> str:
    near = nearest(word, known)
    if near:
        meant = say(" Did you mean {near}?", near=near)
    else:
        meant = ""
    return say(
        '"{word}" names nothing that can be recorded.{meant} There are {listed}.',
        word=word,
        meant=meant,
        listed=", ".join(known),
    )
