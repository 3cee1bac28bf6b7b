"""Readings of a meter that are amounts, turned into those of a counter."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median
from typing import Final

from reportgen.adopt.derived import code_of
from reportgen.adopt.mapping import DAILY
from reportgen.adopt.span import moment_of, moments_of
from reportgen.adopt.taken import Lines, Taken
from reportgen.workbook.declaration import METER
from reportgen.workbook.raw import Value

DAY: Final = timedelta(days=1)
MINUTE: Final = timedelta(minutes=1)
Line = tuple[int, Value, Value]  # which line of the table, when, what the counter shows then


def counted(table: Taken, begins: Value) -> Taken:
    """Return a table of meter readings that are amounts as one of a counter, which begins at 0 on the day `begins`.

    Amounts of days or hours that begin on that day itself are of the time that they head. Of others the first is of
    the time before, as it is where it stands before that day.
    """
    if table.mapping.gives != METER.name or table.mapping.cumulative not in (False, DAILY):
        return table
    meters: dict[str, list[int]] = defaultdict(list)
    for index in range(len(table.lines.numbers)):
        meters[code_of(table, index, "Meter").casefold()].append(index)
    made = [line for indices in meters.values() for line in _counter(table, indices, begins)]
    lines = table.lines.at([index for index, _, _ in made])
    read_at, readings = tuple(moment for _, moment, _ in made), tuple(value for _, _, value in made)
    return replace(table, lines=Lines(lines.numbers, {**lines.columns, "Reading": readings, "Read at": read_at}))


def _counter(table: Taken, indices: list[int], begins: Value) -> Iterator[Line]:
    """Yield the readings of one meter as a counter, from 0 on."""
    amounts = [table.lines.value(index, "Reading") for index in indices]
    when = [table.lines.value(index, "Read at") for index in indices]
    moments = [moments_of(table, "Read at")[index] for index in indices]
    known = [moment for moment in moments if moment]
    if table.mapping.cumulative == DAILY:
        yield from _over_midnights(list(zip(indices, when, amounts, strict=True)))
        return
    first = moment_of(begins)
    if first and len(known) == len(moments) > 1 and known == sorted(known) and known[0].date() <= first.date():
        yield from _from_the_first(list(zip(indices, known, amounts, strict=True)), first)
        return
    yield indices[0], begins, 0.0
    yield from _added_up(list(zip(indices, when, amounts, strict=True)), 0.0)


def _from_the_first(lines: list[tuple[int, datetime, Value]], begins: datetime) -> Iterator[Line]:
    """Yield a counter that is 0 at the first reading: the amount there is of that day, or of the time before."""
    moments = [moment for _, moment, _ in lines]
    step = timedelta(seconds=median((later - earlier).total_seconds() for earlier, later in pairwise(moments)))
    yield lines[0][0], moments[0], 0.0
    if moments[0].date() == begins.date() and step <= DAY and lines[0][2]:
        ends = [moment + step - MINUTE for moment in moments]  # on the same day still, as that of the harvest must be
        yield from _added_up([(index, end, value) for (index, _, value), end in zip(lines, ends, strict=True)], 0.0)
    else:
        yield from _added_up(list(lines[1:]), 0.0)


def _over_midnights(lines: list[Line]) -> Iterator[Line]:
    """Yield a counter that goes on where its readings begin again."""
    before = total = 0.0
    for index, moment, amount in lines:
        if not isinstance(amount, int | float):
            yield index, moment, amount
            continue
        total += before if amount < before else 0.0
        before = float(amount)
        yield index, moment, round(total + before, 9)


def _added_up(lines: list[Line], total: float) -> Iterator[Line]:
    for index, moment, amount in lines:
        total += float(amount) if isinstance(amount, int | float) else 0.0
        yield index, moment, round(total, 9) if isinstance(amount, int | float) else amount
