"""Units that a note in the file tells, such as "Wet weight is measured in grams"."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from reportgen.adopt.grid import one_line
from reportgen.adopt.matching import meanings, tokens, unit_fits, unit_of
from reportgen.adopt.roles import Guess, Understood
from reportgen.adopt.words import PLAIN_WORDS
from reportgen.workbook.raw import RawSheet

LONGEST: Final = 120  # letters of such a note
ROWS: Final = 5_000  # of a sheet that are looked through; a longer one is a logger's
SAID: Final = re.compile(r"(.{3,}?)\s+(?:in|en|em)\s+([^\s,.;()]+)\W*", re.IGNORECASE)
TELLING: Final = ("fresh", "dry", "root", "leaf", "stem", "fruit", "pot", "tray", "container", "tare", "height", "EC")


def notes_in(sheets: Iterable[RawSheet]) -> tuple[str, ...]:
    """Return the texts on sheets that tell something in a unit."""
    return tuple(text for raw in sheets for text in _texts(raw) if SAID.fullmatch(text))


def _texts(raw: RawSheet) -> Iterator[str]:
    for row in raw.rows[:ROWS]:
        for value in row:
            if isinstance(value, str) and " " in value and len(value) <= LONGEST:
                yield one_line(value)


def with_noted_units(read: Understood, notes: Sequence[str]) -> Understood:
    """Return a table with the units that notes tell of its columns which have none written."""
    return replace(read, guesses=tuple(_noted(guess, notes) for guess in read.guesses))


def _noted(guess: Guess, notes: Sequence[str]) -> Guess:
    """Return a column with the unit that a note tells of it; with the note alone where it may be of something else."""
    for text in notes if guess.name and not guess.unit else ():
        found = SAID.fullmatch(text)
        if found and _may_be_of(guess.header, found[1]) and unit_fits(guess.name, found[2]):
            if not _is_of(guess.header, found[1]):
                return replace(guess, noted=text)
            return replace(guess, unit=unit_of(found[2]), reason=f"{guess.reason}, and a note its unit: {text!r}")
    return guess


def _may_be_of(header: str, said: str) -> bool:
    """Tell whether a note may be of a column: it has a meaning of its header, and none that makes it another."""
    column, note = set(meanings(header)), set(meanings(said))
    return bool(column & note - {"number"}) and not (note & set(TELLING)) - column


def _is_of(header: str, said: str) -> bool:
    """Tell whether a note is of a column and of nothing else, such as salts, tap water or a first weighing."""
    known = set(meanings(header))
    further = (set(meanings(word)) for word in tokens(said) if word not in PLAIN_WORDS)
    return all(found and found <= known for found in further)
