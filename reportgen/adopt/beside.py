"""Measurements of plants that stand on a sheet of their own, beside the one with their fresh weights."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import accumulate
from typing import Final

from reportgen.adopt.derived import code_of
from reportgen.adopt.grid import one_line
from reportgen.adopt.mapping import UNKNOWN, TableMapping
from reportgen.adopt.matching import meanings
from reportgen.adopt.parts import Part
from reportgen.adopt.roles import Understood
from reportgen.adopt.tables import is_date
from reportgen.adopt.taken import Lines, Taken
from reportgen.adopt.wide import wide_columns
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.raw import Value

KEYS: Final = ("Tray", "Plant")
NO_PLANTS: Final = "measurements without fresh weights, of plants that stand on no other sheet by tray and number"
NO_DAYS: Final = "measurements of several weeks or days without their dates; give them on one sheet with a column Date"
WIDE_ALONE: Final = "no fresh weights, and nothing says which plant of the others each one is of"
OF_PLANTS: Final = (*KEYS, "Treatment", "Block", "Position", "Note", "Plants started", "Harvested on")
Key = tuple[str, ...]


# --- in the tables that were found


def told_beside(parts: Sequence[Part]) -> tuple[list[Part], list[tuple[Part, str]]]:
    """Return the tables with those marked that are joined to the fresh weights, and those that cannot be, with why."""
    named = [_named_by_sheet(part) for part in parts] if _tell_fresh_from_dry(parts) else list(parts)
    whole = [part for part in named if _is_of_plants(part) and _has_fresh_weight(part.read)]
    if not whole:
        return list(parts), []
    known = [key for part in whole for key in _keys(part.read)]
    kept: list[Part] = []
    left_out: list[tuple[Part, str]] = []
    for part in named:
        again = any(other is not part and _has_same(part, other) for other in named)
        if any(part is one for one in whole) or not (_is_of_plants(part) or _is_by_week(part)):
            kept.append(part)
        elif _is_by_week(part) or (again and not is_date(part.read.table.sheet)):
            left_out.append((part, NO_DAYS))
        elif again and _key_names(part.read):
            kept.append(replace(part, read=replace(part.read, gives="Growth"), day=part.read.table.sheet))
        elif _fits(part, whole, known):
            kept.append(replace(part, joined=True))
        else:
            left_out.append((part, NO_PLANTS))
    return kept, left_out


def is_without_plants(mapping: TableMapping, all_of_them: Sequence[TableMapping]) -> bool:
    """Tell whether a wide table has dry weights or heights of plants that nothing names, beside fresh weights."""
    others = [one for one in all_of_them if one.gives == "Plants" and one is not mapping]
    fresh = {"Fresh weight", "Weight", UNKNOWN}
    whole = any(fresh & {*one.columns, one.wide.values if one.wide else ""} for one in others)
    return mapping.gives == "Plants" and whole and mapping.wide is not None and mapping.wide.values not in fresh


def _has_same(part: Part, other: Part) -> bool:
    """Tell whether two tables without fresh weights measured the same on the same plants, as on several days."""
    lacking = not any(_has_fresh_weight(one.read) or not _is_of_plants(one) for one in (part, other))
    measures = [{guess.name for guess in one.read.guesses} - {"", *OF_PLANTS} for one in (part, other)]
    shared = set(_keys(part.read)) & set(_keys(other.read)) if lacking else set()
    return bool(shared and measures[0] & measures[1])


def _is_by_week(part: Part) -> bool:
    """Tell whether a table without fresh weights has a column for each of several weeks, which tell no days."""
    weeks = [guess for guess in part.read.guesses if "week" in meanings(guess.header)]
    return part.read.gives == "Plants" and not _has_fresh_weight(part.read) and len(weeks) > 1


def _is_of_plants(part: Part) -> bool:
    return part.read.gives == "Plants" and not wide_columns(part.read)


def _has_fresh_weight(read: Understood) -> bool:
    return bool(read.guess("Fresh weight") or read.guess("Weight"))


def _tell_fresh_from_dry(parts: Sequence[Part]) -> bool:
    return {mass for part in parts if (mass := _mass_of_sheet(part))} == {"Fresh weight", "Dry weight"}


def _mass_of_sheet(part: Part) -> str:
    """Return what a sheet's name says that a weight of no other name is, empty where nothing."""
    said = {"fresh", "dry"} & set(meanings(part.read.table.sheet))
    is_open = _is_of_plants(part) and part.read.guess("Weight") and len(said) == 1
    return f"{said.pop().capitalize()} weight" if is_open else ""


def _named_by_sheet(part: Part) -> Part:
    if not (mass := _mass_of_sheet(part)):
        return part
    reason = f"the sheet is named {part.read.table.sheet}"
    guesses = (replace(one, name=mass, reason=reason) if one.name == "Weight" else one for one in part.read.guesses)
    return replace(part, read=replace(part.read, guesses=tuple(guesses)))


def _fits(part: Part, whole: Sequence[Part], known: Sequence[Key]) -> bool:
    """Tell whether the rows of a table are plants that stand once among the known ones, by the same columns."""
    names = _key_names(part.read)
    keys = _keys(part.read)
    once = len(set(keys)) == len(keys) and len(set(known)) == len(known)
    same = bool(names) and all(_key_names(one.read) == names for one in whole)
    return once and same and 2 * len(set(keys) & set(known)) >= len(keys) > 0


def _key_names(read: Understood) -> list[str]:
    return [name for name in KEYS if read.guess(name)]


def _keys(read: Understood) -> list[Key]:
    """Return what names the plant of each row, small; a blank is filled with what stands above."""
    guesses = [guess for name in _key_names(read) if (guess := read.guess(name))]
    held = [[one_line(value).casefold() for value in read.table.values(guess.column)] for guess in guesses]
    return list(zip(*map(_filled_down, held), strict=True))


def _filled_down(texts: Sequence[str]) -> list[str]:
    return list(accumulate(texts, _or_above))


def _or_above(above: str, text: str) -> str:
    return text or above


# --- in the tables that are read


def joined(tables: Sequence[Taken]) -> tuple[list[Taken], tuple[Problem, ...]]:
    """Return tables of plants with what those without a fresh weight tell of the same plants, and what is amiss."""
    whole = [table for table in tables if "Fresh weight" in table.lines.columns]
    problems: list[Problem] = []
    if not whole:
        return list(tables), ()
    for other in (table for table in tables if "Fresh weight" not in table.lines.columns):
        whole, said = _with_measures(whole, other)
        problems += said
    return whole, tuple(problems)


def _with_measures(whole: Sequence[Taken], other: Taken) -> tuple[list[Taken], list[Problem]]:
    names = tuple(name for name in KEYS if name in other.lines.columns)
    at = {key: index for index, key in enumerate(_keys_of(other, names))}
    counted = Counter(key for table in whole for key in _keys_of(table, names))
    problems = [*_amiss(other, names, at, counted), *_measured_twice(whole, other)]
    return [_with_columns(table, other, names, at) for table in whole], problems


def _measured_twice(whole: Sequence[Taken], other: Taken) -> Iterator[Problem]:
    known = {name for table in whole for name in table.lines.columns} - set(OF_PLANTS)
    for name in sorted(known & set(other.lines.columns)):
        row = other.lines.numbers[0]
        advice = "The values beside the fresh weights were used. Leave one of the two columns out."
        yield Problem(
            Severity.CAUTION,
            other.place,
            other.cell(name, row),
            f"{name} stands twice",
            "it once",
            advice,
            code="repeated_value",
        )


def _keys_of(table: Taken, names: Sequence[str]) -> list[Key]:
    lines = range(len(table.lines.numbers))
    return [tuple(code_of(table, index, name).casefold() for name in names) for index in lines]


def _with_columns(table: Taken, other: Taken, names: Sequence[str], at: Mapping[Key, int]) -> Taken:
    """Return a table with the measurements of another one, in the rows of the same plants."""
    places = [at.get(key) for key in _keys_of(table, names)]
    kept = {*table.lines.columns, *OF_PLANTS}
    more: dict[str, tuple[Value, ...]] = {
        name: tuple(None if place is None else values[place] for place in places)
        for name, values in other.lines.columns.items()
        if name not in kept
    }
    units = {name: unit for name, unit in other.units.items() if name in more}
    lines = Lines(table.lines.numbers, {**table.lines.columns, **more})
    return replace(table, lines=lines, units={**table.units, **units})


def _amiss(other: Taken, names: Sequence[str], at: Mapping[Key, int], counted: Counter[Key]) -> Iterator[Problem]:
    said = " and ".join(names)
    rows = dict(zip(other.lines.numbers, _keys_of(other, names), strict=True))
    twice = [row for row, key in rows.items() if counted[key] > 1 or other.lines.numbers[at[key]] != row]
    alone = [row for row, key in rows.items() if not counted[key]]
    for row in twice[:1]:
        found = f"{said} of row {row} name several plants, of this sheet or of the one with fresh weights"
        advice = "Give each plant a name of its own on both sheets, or delete the table from the settings file."
        yield Problem(
            Severity.ERROR,
            other.place,
            f"{row}:{row}",
            found,
            "one plant a row",
            advice,
            code="several_plants_in_a_row",
        )
    if alone:
        found = f"{len(alone)} row{'s' * (len(alone) > 1)} from row {alone[0]} on name no plant with a fresh weight"
        advice = "What was measured there is left out. Check the names on both sheets."
        yield Problem(
            Severity.CAUTION,
            other.place,
            f"{alone[0]}:{alone[0]}",
            found,
            f"plants by {said}",
            advice,
            code="plant_without_row",
        )
