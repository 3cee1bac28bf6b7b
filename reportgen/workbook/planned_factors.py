"""Read typed factors, `light=low,high` or `feed (g/L)=0,1,2`, and combine their levels."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from reportgen.language import say
from reportgen.workbook.declaration import TREATMENTS, Column, Kind, Sheet

MOST_FACTORS: Final = 2  # more cannot be analysed together
MOST_LEVELS: Final = 20
TYPED: Final = re.compile(r"\s*([^=()]+?)\s*(?:\(([^()=]+)\))?\s*=(.+)", re.DOTALL)
NUMBER: Final = re.compile(r"\d+(?:\.\d+)?")


class FactorError(ValueError):
    """A factor cannot be planned so; the message says why, and what to do."""


@dataclass(frozen=True)
class PlannedFactor:
    """A factor by its name, unit and levels; `typed` is how it was given, to be given again."""

    name: str
    unit: str
    levels: tuple[str, ...]
    typed: str

    @property
    def column(self) -> Column:
        """Return the column that its levels stand in."""
        if self.unit:
            kind = Kind.NUMBER
        else:
            kind = Kind.TEXT
        name = f"{TREATMENTS.family}: {self.name}"
        return Column(
            name, kind, unit=self.unit, required=True, help="The level of this treatment."
        )

    def value(self, level: str) -> str | float:
        """Return a level as it is written in a cell."""
        if self.unit:
            return float(level)
        return level

    def word(self, level: str) -> str:
        """Return a level within a treatment's code: a dose with the name of its factor."""
        bare = "".join(self.name.casefold().split())
        if self.unit:
            return f"{bare}{level}"
        return "-".join(level.casefold().split())

    def phrase(self, level: str) -> str:
        """Return a level within a treatment's name."""
        return f"{self.name} {level} {self.unit}".strip()


def factors_typed(words: Sequence[str]) -> tuple[PlannedFactor, ...]:
    """Return typed factors; raise FactorError for one that cannot be read, or more than two."""
    factors = tuple(map(_factor, words))
    if len(factors) > MOST_FACTORS:
        raise FactorError(
            say(
                "{number} factors cannot be analysed together. Name two at most.",
                number=len(factors),
            )
        )
    names = [factor.name.casefold() for factor in factors]
    if len(set(names)) < len(names):
        raise FactorError(
            say(
                'Two factors are called "{name}". Give each a name of its own.',
                name=factors[0].name,
            )
        )
    return factors


def _factor(word: str) -> PlannedFactor:
    found = TYPED.fullmatch(word)
    if not found:
        raise FactorError(
            say(
                "{word} is no factor. Type its name, = and its levels, such as light=low,high or"
                " feed (g/L)=0,1,2.",
                word=repr(word),
            )
        )
    name, unit = " ".join(found[1].split()), (found[2] or "").strip()
    levels = tuple(" ".join(level.split()) for level in found[3].split(","))
    _check_levels(name, unit, levels)
    if unit:
        levels = tuple(f"{float(level):g}" for level in levels)
    if len({level.casefold() for level in levels}) < len(levels):
        raise FactorError(
            say('The factor "{name}" has a level twice. Name each level once.', name=name)
        )
    return PlannedFactor(name, unit, levels, word)


def _check_levels(name: str, unit: str, levels: tuple[str, ...]) -> None:
    """Raise FactorError for a factor whose name or levels cannot be used."""
    if not 2 <= len(levels) <= MOST_LEVELS or not all(levels):
        raise FactorError(
            say(
                'The factor "{name}" needs 2 to {most_levels} levels, with commas between them.',
                name=name,
                most_levels=MOST_LEVELS,
            )
        )
    is_printable = all(text.isprintable() for text in (name, *levels))
    if ":" in name or not is_printable:
        raise FactorError(
            say("{name} does not name a factor. Use letters and digits.", name=repr(name))
        )
    if unit:
        _check_numbers(unit, levels)


def _check_numbers(unit: str, levels: tuple[str, ...]) -> None:
    """Raise FactorError for a level that is no number of the unit."""
    for level in levels:
        if not NUMBER.fullmatch(level):
            raise FactorError(
                say(
                    '"{wrong}" is no number in {unit}. Type numbers with a point, or leave out the'
                    " unit.",
                    wrong=level,
                    unit=unit,
                )
            )


def combinations(factors: Sequence[PlannedFactor]) -> tuple[tuple[str, ...], ...]:
    """Return every combination of levels, the last factor's changing first."""
    return tuple(product(*(factor.levels for factor in factors)))


def with_factors(sheets: Sequence[Sheet], factors: Sequence[PlannedFactor]) -> tuple[Sheet, ...]:
    """Return the sheets with a column for each factor behind the names of treatments."""
    if not factors:
        return tuple(sheets)
    own = tuple(factor.column for factor in factors)
    made: list[Sheet] = []
    for sheet in sheets:
        if sheet.name == TREATMENTS.name:
            made.append(replace(sheet, columns=(*sheet.columns[:2], *own, *sheet.columns[2:])))
        else:
            made.append(sheet)
    return tuple(made)
