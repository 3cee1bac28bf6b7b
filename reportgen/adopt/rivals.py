"""Columns of one table that may each be the same thing: what settles which of them it is, and what must be asked."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from math import isclose
from typing import Final

from reportgen.adopt.columns import column_called
from reportgen.adopt.grid import one_line
from reportgen.adopt.mapping import UNKNOWN, Source, TableMapping
from reportgen.adopt.matching import meanings, split_unit, unit_of
from reportgen.adopt.pickings import bare_measure
from reportgen.adopt.roles import Guess, Profile, Understood
from reportgen.adopt.tare import LESS
from reportgen.workbook.raw import Value

ROUNDED: Final = 0.011  # kWh; differences of readings to two decimals
SIZES: Final = ("Height", "Leaves", "Root weight")  # the plainest header is the one at harvest, but of several days


def contested(read: Understood) -> Mapping[str, tuple[Guess, ...]]:
    """Return the columns that may each be one declared column, by its name, where nothing settles which it is."""
    left = ((name, tuple(_undecided(read, name, rivals))) for name, rivals in read.rivals.items())
    return {name: rivals for name, rivals in left if len(rivals) > 1}


def _undecided(read: Understood, name: str, rivals: Sequence[Guess]) -> Iterator[Guess]:
    own = read.guess(name)
    picked = any(one.column == own.column for one in read.pickings) if own else False
    if own is None or picked or not any(one.column == own.column for one in rivals) or _is_settled(read, own):
        return
    told = "air" in meanings(own.header)
    for one in rivals:
        plainer = told and "air" not in meanings(one.header)
        another = name in SIZES and bare_measure(one.header) != bare_measure(own.header)
        same = one.column != own.column and read.table.values(one.column) == read.table.values(own.column)
        if not (plainer or another or same):
            yield one


def _is_settled(read: Understood, own: Guess) -> bool:
    """Tell whether the values of the other columns have shown already which of them it is."""
    return own.reason.startswith(("it is the sum of", "it counts on", "with "))


def with_rivals(
    mapping: TableMapping, read: Understood, source_of: Callable[[Understood, Guess], Source]
) -> TableMapping:
    """Return a mapping whose columns are UNKNOWN where it is open from which of several they come.

    `source_of` returns the source of a column as it is when nothing else may be it.
    """
    columns = dict(mapping.columns)
    for name, rivals in contested(read).items() if not mapping.wide else ():
        if name in columns:
            sources = [source_of(read, replace(one, name=name)) for one in rivals]
            units = {one.unit for one in sources}
            columns[name] = Source(UNKNOWN, units.pop() if len(units) == 1 else UNKNOWN)
            traits = dict(_traits(mapping, rivals, sources))
            columns |= {trait: source for trait, source in traits.items() if trait not in columns}
    return replace(mapping, columns=columns)


def _traits(mapping: TableMapping, rivals: Sequence[Guess], sources: Sequence[Source]) -> Iterator[tuple[str, Source]]:
    """Yield the columns as further measurements of plants, which those stay that are not meant."""
    headers = [split_unit(one.header)[0] for one in rivals]
    for trait, source in zip(headers, sources, strict=True) if mapping.gives == "Plants" else ():
        if headers.count(trait) == 1 and LESS not in trait and not column_called(mapping.gives, trait):
            yield trait, replace(source, unit=source.unit.replace(UNKNOWN, ""))


# --- what the values show


def with_counter(read: Understood) -> Understood:
    """Return a meter read by its counter, where the other column is what was used since the reading before."""
    own, rivals = read.guess("Reading"), read.rivals.get("Reading", ())
    for counter in rivals:
        others = [one for one in rivals if one is not counter]
        if own and others and all(_are_steps(read, counter, one) for one in others):
            reason = f"it counts on by {' and '.join(one.header for one in others)}"
            turned = {own.column: replace(own, name=""), counter.column: replace(counter, reason=reason)}
            return replace(read, guesses=tuple(turned.get(one.column, one) for one in read.guesses))
    return read


def _are_steps(read: Understood, counter: Guess, used: Guess) -> bool:
    """Tell whether one column holds the differences of another, meter by meter in the order of the rows."""
    steps = [step for held in _by_meter(read, counter, used) for step in pairwise(held)]
    return len(steps) > 1 and all(isclose(b - a, used, abs_tol=ROUNDED) for (a, _), (b, used) in steps)


def _by_meter(read: Understood, *guesses: Guess) -> Iterator[list[tuple[float, ...]]]:
    """Yield the numbers in some columns, those of each meter together; rows that lack one are left out."""
    label = read.guess("Meter") or read.guess("Treatment")
    rows: Sequence[Value] = read.table.values(label.column) if label else (None,) * len(read.table.rows)
    columns = [read.table.values(guess.column) for guess in guesses]
    found: dict[str, list[tuple[float, ...]]] = {}
    for text, *values in zip(rows, *columns, strict=True):
        numbers = Profile.of(values).numbers
        if len(numbers) == len(values):
            found.setdefault(one_line(text), []).append(numbers)
    yield from found.values()


def rises(read: Understood, guess: Guess) -> bool:
    """Tell whether the readings of each meter rise all the time, as those of a counter do; equal ones do not."""
    meters = list(_by_meter(read, guess))
    falls = any(first > later for held in meters for (first,), (later,) in pairwise(held))
    return not falls and any(held[0] < held[-1] for held in meters)


def begins_daily(read: Understood, guess: Guess) -> bool:
    """Tell whether readings rise within days and fall between them only, as what was used since midnight does."""
    when = read.guess("Read at") or read.guess("Date")
    moments = read.table.values(when.column) if when else ()
    days = [one.date() if isinstance(one, datetime) else one_line(one).split(" ")[0] for one in moments]
    held = zip(days, read.table.values(guess.column), strict=True) if when else ()
    known = [(day, value) for day, value in held if isinstance(value, int | float)]
    falls = [first[0] != later[0] for first, later in pairwise(known) if later[1] < first[1]]
    return len(falls) > 1 and all(falls) and 2 * len({day for day, _ in known}) < len(known)


def is_of_days(guess: Guess) -> bool:
    """Tell whether a header says that a reading is what was used in a day or week, as "kWh/day" does."""
    unit = split_unit(guess.header)[1]
    return unit != unit_of(unit) == "kWh"


def adds_up(name: str, rivals: Sequence[Guess]) -> bool:
    """Tell whether the sum of columns may be meant: registers of a meter, or pickings of the same plants."""
    said = [set(meanings(one.header)) for one in rivals]
    if any("start" in words for words in said):
        return False
    if name == "Reading":
        return len({"per interval" in words for words in said}) == 1
    weighed = name in ("Fresh weight", "Dry weight", "Weight")
    return weighed and len({bare_measure(one.header) for one in rivals}) == 1
