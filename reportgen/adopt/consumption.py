"""Litres that are written down as used up: a budget of what was poured in, with nothing left."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from reportgen.adopt.derived import code_of
from reportgen.adopt.grid import one_line
from reportgen.adopt.taken import Lines, Taken

USED: Final = "used"
READ_ALONE: Final = "sample"  # a reading of the solution, which is no part of what went in or came out
MEASURED: Final = ("EC", "pH", "Temperature")


def budgeted(tables: Sequence[Taken]) -> list[Taken]:
    """Return tables of solution with litres used up as top-ups between an empty fill and an empty rest.

    Those of a tray that another table fills stay as they are, which the declaration refuses: they would count twice.
    """
    filled = {
        code_of(table, index, "Tray").casefold()
        for table in tables
        for index in range(len(table.lines.numbers))
        if one_line(table.lines.value(index, "Event")) not in (USED, READ_ALONE)
    }
    return [_budget(table, filled) for table in tables]


def _budget(table: Taken, filled: set[str]) -> Taken:
    codes = [code_of(table, index, "Tray").casefold() for index in range(len(table.lines.numbers))]
    events = [one_line(table.lines.value(index, "Event")) for index in range(len(codes))]
    used = [index for index, event in enumerate(events) if event == USED and codes[index] not in filled]
    if not used:
        return table
    first = {codes[index]: index for index in reversed(used)}
    last = {codes[index]: index for index in used}
    at = [*first.values(), *range(len(codes)), *last.values()]
    said = ["top-up" if index in used else event for index, event in enumerate(events)]
    lines = table.lines.at(at)
    invented = {*range(len(first)), *range(len(first) + len(codes), len(at))}
    columns = {
        name: tuple(None if here in invented else value for here, value in enumerate(values))
        if name in MEASURED
        else values
        for name, values in lines.columns.items()
    }
    volumes = tuple(0.0 if here in invented else value for here, value in enumerate(lines.columns["Volume"]))
    kinds = ("fill",) * len(first) + tuple(said) + ("remaining",) * len(last)
    return replace(table, lines=Lines(lines.numbers, {**columns, "Volume": volumes, "Event": kinds}))
