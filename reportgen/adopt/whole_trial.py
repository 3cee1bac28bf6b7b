"""Readings and volumes of the whole trial: a row a meter, treatment or tray, without days of their own."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from reportgen.adopt.matching import dimension, event_in, meanings, split_unit, tokens, unit_of
from reportgen.adopt.roles import Guess, OfTrial, Understood, profile_at, understood
from reportgen.adopt.words import EVENTS, LAST_OF, START_OF

STARTED, HARVESTED = "Started on", "Harvested on"
OF_PLANTS: Final = ("Fresh weight", "Dry weight", "Root weight", "Weight", "Gross weight", "Plant", "Height", "Leaves")
NO_BUDGET: Final = (
    "volumes of the whole trial; water use is known where each header says what it is: filled, added, drained, left"
)


def of_whole_trial(read: Understood) -> Understood:
    """Return a table of energy or volumes that has a row for each meter or tray, and no days, as what it gives.

    A list of trays with their treatments stays one: the volume beside them may be that of the tray.
    """
    if read.gives not in ("", "Plants") or any(read.guess(name) for name in OF_PLANTS) or _has_days(read):
        return read
    energy, volumes = (tuple(_measured(read, kind)) for kind in ("energy", "volume"))
    if found := _readings(energy):
        return _of(read, "Meter", found)
    if volumes and not energy:
        found = _budget(volumes)
        return _of(read, "Solution", found) if found else replace(read, gives="", why_not=NO_BUDGET)
    return read


def _has_days(read: Understood) -> bool:
    return any(profile_at(read.table, at).dated for at in read.table.headers)


def _measured(read: Understood, kind: str) -> Iterator[Guess]:
    """Yield the columns of numbers in a unit of some kind, with it."""
    for guess in read.guesses:
        _, written = split_unit(guess.header)
        unit = guess.unit or unit_of(written or read.table.units.get(guess.column, ""))
        if dimension(unit) == kind and profile_at(read.table, guess.column).numeric:
            yield replace(guess, unit=unit)


def _readings(found: Sequence[Guess]) -> tuple[OfTrial, ...]:
    """Return a meter's first and last reading, or the only column, which is what was used."""
    first = [guess for guess in found if START_OF & set(tokens(guess.header))]
    last = [guess for guess in found if LAST_OF & set(tokens(guess.header))]
    if len(first) == len(last) == 1 and first != last:
        return OfTrial(STARTED, first[0]), OfTrial(HARVESTED, last[0])
    return (OfTrial(HARVESTED, found[0]),) if len(found) == 1 and not (first or last) else ()


def _budget(found: Sequence[Guess]) -> tuple[OfTrial, ...]:
    """Return the volumes that went into each tray and came out of it, without what was used up of them.

    None where it is not told of each of them which it is, or where what was left is not among them.
    """
    events = [(guess, _event_of(guess.header)) for guess in found if "per interval" not in meanings(guess.header)]
    known = {event for _, event in events}
    if not {"fill", "remaining"} <= known or "" in known or len(known) < len(events):
        return ()
    days = {"fill": STARTED}
    return tuple(OfTrial(days.get(event, HARVESTED), guess, event) for guess, event in events)


def _event_of(header: str) -> str:
    words = {word.removesuffix("s") for word in tokens(re.sub(r"(?i)top[ -]ups?", "topup", header))}
    by_word = [event for event in ("top-up", "drain", "remaining", "fill") if words & set(EVENTS[event].split())]
    return (by_word or [event_in(header)])[0]


def _of(read: Understood, gives: str, found: tuple[OfTrial, ...]) -> Understood:
    """Return the table as what it gives, where its rows are told apart by a column that such a table must have."""
    known = understood(read.table, given=gives)
    keys = ("Tray",) if gives == "Solution" else ("Meter", "Treatment")
    codes = [profile_at(read.table, one.column).counts for name in keys if (one := known.guess(name))]
    once = any(len(counts) == len(read.table.rows) for counts in codes)
    return replace(known, gives=gives, whole=found, rivals={}) if once else read
