"""Tables with a column for each treatment, tray or day: which columns these are, by their names and their values."""

import re
from collections.abc import Sequence
from itertools import groupby, pairwise
from math import isclose
from statistics import fmean, median
from typing import Final

from reportgen.adopt.matching import (
    SHORT_CODE,
    dimension,
    is_dose,
    level_and_unit,
    meanings,
    only_slips,
    place_of,
    roles_of,
)
from reportgen.adopt.pickings import are_pickings
from reportgen.adopt.roles import BORNE_OUT, Guess, Understood, profile_at
from reportgen.adopt.tables import is_date
from reportgen.adopt.words import CONTROLS, TOTALS
from reportgen.workbook.headers import folded

MOST_COLUMNS: Final = 14
LIKE_SIZE: Final = 10  # columns of one thing do not differ as much between treatments
MEASURES: Final = ("Fresh weight", "Dry weight", "Weight", "Height")
FREE: Final = ("Treatment", "Volume", "Block")  # roles whose words name treatments as well
CODED: Final = ("Tray", "Plant", "Position", "Leaves", "Plants started", "Week")  # whole numbers or texts, if any
CODE: Final = re.compile(r"[A-Z]")
EXTREMES: Final = frozenset(("max", "maximum", "min", "minimum", "n"))  # totals that name treatments as well
HIGH: Final = frozenset(("alto", "tall"))  # heights, but levels beside these:
LOWER: Final = frozenset(("bajo", "baixo", "basso", "medio", "short", "dwarf"))
ADJECTIVES: Final = frozenset(("humid", "humide", "humedo", "umido"))  # no word for what is measured in per cent


def wide_columns(one: Understood) -> tuple[Guess, ...]:
    """Return the columns that hold one and the same thing for several treatments or days, none where there are none.

    A column whose name may also be that of something else is one of them where its values are like theirs.
    """
    if len(one.guesses) > MOST_COLUMNS or any(_is_measure(one, guess) for guess in one.guesses):
        return ()
    sure = [guess for guess in one.guesses if _is_level(one, guess)]
    if are_pickings([guess.header for guess in sure]):
        return ()
    free = [guess for guess in one.guesses if guess not in sure and _may_be_level(one, guess)]
    found = tuple(guess for guess in one.guesses if guess in sure or (guess in free and _is_like(one, guess, sure)))
    return found if len(found) >= 2 else ()


def places_in(headers: Sequence[str]) -> str:
    """Return what all of some headers number, empty where they do not number one and the same."""
    found = {place_of(header) for header in headers}
    return found.pop() if len(found) == 1 else ""


def _is_measure(one: Understood, guess: Guess) -> bool:
    """Tell whether a column is what was measured of each row: tall is no height beside short, 5 g none beside 10 g."""
    if guess.name not in MEASURES:
        return False
    headers = [other.header for other in one.guesses]
    if is_dose(guess.header):
        return sum(map(is_dose, headers)) < 2
    if guess.name == "Weight" and "Weight" not in _roles(guess.header):
        alike = [other.header for other in one.guesses if other.unit == guess.unit]
        return not (_name_treatments(alike) or _are_codes_alone(one, alike))
    return not (folded(guess.header) in HIGH and set(map(folded, headers)) & (LOWER | CONTROLS))


def _name_treatments(headers: Sequence[str]) -> bool:
    """Tell whether columns of weights, by their unit alone, are those of treatments: one is a control, or all factors.

    Otherwise they may be parts of each plant, such as tops and bottoms.
    """
    bare = [level_and_unit(text)[0] for text in headers]
    known = all("factor" in meanings(text) for text in bare) or any(folded(text) in CONTROLS for text in bare)
    return len(bare) > 1 and known and not any(_roles(text) for text in bare if folded(text) not in CONTROLS)


def _are_codes_alone(one: Understood, headers: Sequence[str]) -> bool:
    """Tell whether weights are headed by codes such as T1 and C, and no other column tells trays or treatments."""
    bare = [level_and_unit(text)[0] for text in headers]
    codes = all(SHORT_CODE.fullmatch(text) or CODE.fullmatch(text) or folded(text) in CONTROLS for text in bare)
    return len(bare) > 1 and codes and not any(one.guess(name) for name in ("Treatment", "Tray", "Block", "Position"))


def _roles(bare: str) -> set[str]:
    return {meant.role.name for meant in roles_of(bare)}.difference(FREE)


def _is_level(one: Understood, guess: Guess) -> bool:
    """Tell whether a column holds numbers under a header that is the name of nothing but a treatment, tray or day."""
    bare, unit = level_and_unit(guess.header)
    if dimension(unit) not in ("", "mass", "length") or folded(bare) in TOTALS:
        return False
    known = folded(bare) in CONTROLS or is_date(guess.header) or place_of(guess.header)
    return _has_numbers(one, guess) and (bool(known) or not _roles(bare))


def _has_numbers(one: Understood, guess: Guess) -> bool:
    profile = profile_at(one.table, guess.column)
    return profile.numeric and len(profile.counts) > 2


def _may_be_level(one: Understood, guess: Guess) -> bool:
    """Tell whether a column may be a treatment's whose name means something else, which its values do not bear out."""
    bare, unit = level_and_unit(guess.header)
    if unit or not _has_numbers(one, guess) or _is_number_of_rows(one, guess):
        return False
    if folded(bare) in TOTALS:
        return folded(bare) in EXTREMES and not _sums_up(one, guess)
    if only_slips(bare) or folded(bare) in HIGH | ADJECTIVES:
        return True
    profile = profile_at(one.table, guess.column)
    borne_out = {name for name in _roles(bare) if BORNE_OUT.get(name, bool)(profile)}
    return not borne_out or (borne_out.issubset(CODED) and not _are_codes(profile.numbers))


def _is_number_of_rows(one: Understood, guess: Guess) -> bool:
    """Tell whether a column of whole numbers counts by one, from the beginning again after a fall."""
    numbers = profile_at(one.table, guess.column).numbers
    steps = [second - first for first, second in pairwise(numbers)]
    again = all(step == 1 or (step < 0 and to == min(numbers)) for step, to in zip(steps, numbers[1:], strict=True))
    return len(numbers) > 2 and again and steps.count(1) * 2 >= len(steps)


def _are_codes(numbers: Sequence[float]) -> bool:
    """Tell whether numbers are codes: whole ones, equal ones together, or few that come again and again."""
    whole = all(number.is_integer() for number in numbers)
    runs = sum(1 for _ in groupby(numbers))
    return whole and (runs == len(set(numbers)) < len(numbers) or len(set(numbers)) * 3 <= len(numbers))


def _sums_up(one: Understood, guess: Guess) -> bool:
    """Tell whether a column is the largest, the smallest, the number or the mean of the others in most of its rows."""
    others = [other.column for other in one.guesses if other is not guess and _has_numbers(one, other)]
    hits = rows = 0
    for value, *held in zip(*(one.table.values(column) for column in (guess.column, *others)), strict=True):
        numbers = [number for number in held if isinstance(number, int | float)]
        if isinstance(value, int | float) and numbers:
            rows += 1
            wanted = (max(numbers), min(numbers), len(numbers), fmean(numbers))
            hits += any(isclose(value, other, rel_tol=0.005) for other in wanted)
    return hits * 2 > rows


def _is_like(one: Understood, guess: Guess, sure: Sequence[Guess]) -> bool:
    """Tell whether a column's numbers are like those of columns that are surely levels: in size and in decimals."""
    like = sure or [other for other in one.guesses if other is not guess and _may_be_level(one, other)]
    own = profile_at(one.table, guess.column)
    others = [profile_at(one.table, other.column) for other in like]
    sizes = [abs(median(profile.numbers)) for profile in others]
    size = abs(median(own.numbers))
    near = any(size <= LIKE_SIZE * other and other <= LIKE_SIZE * size for other in sizes)
    return near and any(own.whole == profile.whole for profile in others)
