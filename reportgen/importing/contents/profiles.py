"""The columns of a table that hold numbers, with the words and units that stand over and around
them.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from reportgen.importing.carriers.parts import numbered_within
from reportgen.importing.carriers.texts import levels_of, tidied
from reportgen.importing.cells.dates import weekday_of
from reportgen.importing.clues.quantities_model import Measure, Profile
from reportgen.importing.clues.quantities_units import (
    BRACKETS,
    is_one_letter,
    is_part_of_compound,
    measured_in,
    unit_of_header,
)
from reportgen.importing.clues.quantities_words import is_label_word, is_numbering
from reportgen.importing.contents.series import QUANTITY_WORDS, are_alike
from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.tables import Table
from reportgen.importing.words import is_amount, meanings, tokens

NAMED_BEHIND: Final = re.compile(  # `kWh` alone, `weights in kg`, `water ml`
    r"^\s*(\w{2,})\s*$|\bin (\w+)\s*$|^\s*[^\W\d_]+ (\w{2,})\s*$"
)
LOOSELY: Final = frozenset(
    ("fresh", "dry", "height", "leaves", "extreme", "humidity")
)  # adjectives, too
NAMING: Final = QUANTITY_WORDS | LOOSELY
MOST_WORDS: Final = 0.5  # of the cells may be words rather than numbers


def profiles_of(table: Table, sheets: Sequence[Sheet]) -> tuple[Profile, ...]:
    """Return a profile of each column that holds numbers."""
    around, unit_around = _around(table, sheets)
    columns = [index for index in range(len(table.columns)) if _holds_numbers(table, index)]
    numbered = _numbered(table, columns)
    weekdays = _weekdays(table, columns)
    profiles = [_profile(table, index, sheets, around, unit_around) for index in columns]
    found = []
    for profile in profiles:
        alike = numbered.get(profile.index, ())
        is_numbered = any(other.index in alike and not is_numbering(other) for other in profiles)
        is_dated = profile.is_dated or profile.index in weekdays
        found.append(replace(profile, is_numbered=is_numbered, is_dated=is_dated))
    return _as_the_title_says(found, unit_around)


def _as_the_title_says(profiles: Sequence[Profile], unit_around: str) -> tuple[Profile, ...]:
    """Return columns; their headers are labels where a title names quantity and unit.

    Some headers then name none. So `bajo | medio | alto` below `fresh weights in g` are three
    treatments, and no height.
    """
    labels = {profile.index for profile in _named_by_labels(profiles, unit_around)}
    unit, unit_of = measured_in(unit_around)
    results = []
    for profile in profiles:
        if profile.index not in labels:
            results.append(profile)
            continue
        words = profile.words - LOOSELY
        label = replace(profile, words=words, unit=unit, unit_of=unit_of, has_near_unit=False)
        results.append(label)
    return tuple(results)


def _named_by_labels(profiles: Sequence[Profile], unit_around: str) -> list[Profile]:
    """Return columns whose headers seem to name a quantity, but are labels below a title."""
    headed = [profile for profile in profiles if not is_label_word(profile.header)]
    named = list(filter(_names_quantity, headed))
    if len(named) == len(headed) or not are_alike(headed):
        return []
    if _title_names_weights(headed, unit_around) and all(map(_is_named_loosely, named)):
        return named
    return []


def _names_quantity(profile: Profile) -> bool:
    return bool(profile.words & NAMING)


def _title_names_weights(profiles: Sequence[Profile], unit_around: str) -> bool:
    """Tell whether a title names a unit of mass, and weights over all columns."""
    if measured_in(unit_around)[1] is not Measure.MASS:
        return False
    return all("weight" in profile.around for profile in profiles)


def _is_named_loosely(profile: Profile) -> bool:
    """Tell whether a header names a quantity by adjectives only, and no unit."""
    return profile.words & NAMING <= LOOSELY and _has_no_unit(profile)


def _has_no_unit(profile: Profile) -> bool:
    """Tell whether no unit stands at a column; `min` alone is rather the smallest than minutes."""
    return not profile.has_near_unit or profile.unit_of is Measure.TIME


def _numbered(table: Table, columns: Sequence[int]) -> dict[int, list[int]]:
    """Return columns with headers alike but for a number, each with its like.

    Headers may also be equal below different ones. Where some of them do not count up, those that
    do are measured, too: heights of 5, 6 and 7 in the first week.
    """
    by_text: dict[str, list[int]] = {}
    for index in columns:
        words = tokens(table.columns[index].header)
        others = [word for word in words if not word.isdecimal()]
        has_number = len(others) < len(words)
        if has_number or len(table.columns[index].over) > 1:
            by_text.setdefault(" ".join(others), []).append(index)
    numbered: dict[int, list[int]] = {}
    for alike in by_text.values():
        if len(alike) > 1:
            numbered |= dict.fromkeys(alike, alike)
    return numbered


def _weekdays(table: Table, columns: Sequence[int]) -> set[int]:
    """Return the columns whose headers are weekdays, where there are several: `Sun` alone is rather
    a place.
    """
    headed = {index for index in columns if weekday_of(table.columns[index].header) is not None}
    if len(headed) > 1:
        return headed
    return set()


def _holds_numbers(table: Table, index: int) -> bool:
    kind = table.kind[:, index]
    numbers = int((kind == Kind.NUMBER).sum())
    words = int((kind == Kind.TEXT).sum() + (kind == Kind.MOMENT).sum())
    return numbers > 0 and words <= MOST_WORDS * (numbers + words)


def _profile(
    table: Table, index: int, sheets: Sequence[Sheet], around: frozenset[str], unit_around: str
) -> Profile:
    column = table.columns[index]
    unit, unit_of = _near_unit(table, index, sheets)
    has_near_unit = unit_of is not None
    if (
        has_near_unit
        and is_label_word(column.header)
        and unit_of_header(column.header)[1] is None
        and not column.unit
    ):
        has_near_unit = False  # a unit on the level above may reach over columns of labels
    if not has_near_unit:
        unit, unit_of = measured_in(unit_around)
    numbers = np.where(table.kind[:, index] == Kind.NUMBER, table.number[:, index], np.nan)
    above = frozenset[str]().union(*(meanings(text) for text in column.over[:-1]))
    return Profile(
        index,
        column.name,
        column.header,
        frozenset() if is_amount(column.header) else meanings(column.header),
        above,
        around,
        unit,
        unit_of,
        numbers,
        is_dated=is_dated(table, index, sheets),
        is_nested_id=numbered_within(levels_of(tidied(table.text[:, index]))),
        has_near_unit=has_near_unit,
    )


def is_dated(table: Table, index: int, sheets: Sequence[Sheet]) -> bool:
    """Tell whether a header over a column is a date."""
    block = table.blocks[0]
    kinds = sheets[block.sheet].kind
    letter = block.letters[index]
    if not 0 < letter <= kinds.shape[1]:
        return False
    return any(
        0 < row <= kinds.shape[0] and kinds[row - 1, letter - 1] == Kind.MOMENT
        for row in block.header_rows
    )


def unit_around(table: Table, sheets: Sequence[Sheet]) -> str:
    """Return the unit that a title, note or sheet name around a table names, "" where none does."""
    return _around(table, sheets)[1]


def _around(table: Table, sheets: Sequence[Sheet]) -> tuple[frozenset[str], str]:
    """Return the meanings of the texts around a table, and a unit that one names in brackets."""
    texts: dict[str, None] = {}
    for block in table.blocks:
        texts[sheets[block.sheet].name] = None
        texts |= {text: None for text, _ in block.titles}
        texts |= {f"{label} {text}": None for label, text in block.fields.items()}
    texts |= dict.fromkeys(filter(None, table.section.tolist()))
    words = frozenset[str]().union(*map(meanings, texts))
    for text in texts:
        for named in _named_units(text):
            unit = measured_in(named)[0]
            if unit:
                return words, unit
    return words, ""


def _named_units(text: str) -> list[str]:
    """Return what may be a unit in a title or the name of a sheet."""
    behind = NAMED_BEHIND.search(text)
    if behind:
        alone = [group for group in behind.groups() if group]
    else:
        alone = []
    return [*BRACKETS.findall(text), *alone]


def _near_unit(table: Table, index: int, sheets: Sequence[Sheet]) -> tuple[str, Measure | None]:
    """Return the unit of a column: that of its header, else of the levels above, else of most
    cells.
    """
    column = table.columns[index]
    is_label = is_one_letter(column.header) and column.unit == column.header
    if not is_label and not is_part_of_compound(column.header, column.unit):
        unit, measure = measured_in(column.unit)
        if measure:
            return unit, measure
    for text in reversed(column.over):
        unit, measure = unit_of_header(text)
        if measure:
            return unit, measure
    return measured_in(_unit_of_cells(table, index, sheets))


def _unit_of_cells(table: Table, index: int, sheets: Sequence[Sheet]) -> str:
    """Return the unit behind most numbers of a column.

    "" where there is none, or where units differ and one number lacks its unit.
    """
    units: Counter[str] = Counter()
    for number, block in enumerate(table.blocks):
        units_of_sheet = sheets[block.sheet].units
        if not units_of_sheet:
            continue
        rows = set(table.row[table.block == number].tolist())
        letter = block.letters[index]
        for (row, column), unit in units_of_sheet.items():
            if column == letter and row in rows:
                units[unit] += 1
    numbers = int((table.kind[:, index] == Kind.NUMBER).sum())
    is_open = len(units) > 1 and units.total() < numbers
    if units and not is_open:
        return units.most_common(1)[0][0]
    return ""
