"""Weights of plants with what they stand in: read without it where a column tells what that weighs."""

from collections.abc import Iterator
from dataclasses import replace
from math import isclose
from typing import Final

from reportgen.adopt.matching import dimension, meanings, split_unit
from reportgen.adopt.roles import Guess, Understood, profile_at

LESS: Final = " - "  # between the headers of a weight and of what is taken off it
VESSELS: Final = {"pot", "tray"}
ROUNDED: Final = 0.011  # of the weights' unit; weights to two decimals


def without_tare(read: Understood) -> Understood:
    """Return a table of plants with weights as net ones, where a column holds the tare.

    A weight that is said to be gross is read less its tare. Where a header does not say whether the tare is off, both
    ways are rivals, but where a net weight beside shows which is which.
    """
    tare = _tare(read) if read.gives == "Plants" else None
    if not tare:
        return read
    for gross in [one for one in read.refused if _is_gross(one) and one.column != tare.column]:
        read = _with_net(read, gross, tare)
    own = read.guess("Fresh weight") or read.guess("Weight")
    if not own or LESS in own.header or "net" in meanings(own.header) or _has_gross(read, own, tare):
        return read
    rivals = read.rivals.get(own.name, (own,))
    if net := next((one for one in rivals for other in rivals if _is_net(read, one, other, tare)), None):
        return _settled(read, own, net, tare)
    less = replace(own, header=f"{own.header}{LESS}{tare.header}")
    return replace(read, rivals={**read.rivals, own.name: (less, *rivals)})


def _tare(read: Understood) -> Guess | None:
    """Return the column of what pots, trays or bags weigh, None where none or several are such."""
    columns = [*read.refused, *(one for one in read.guesses if one.name not in ("Tray", "Plant", "Treatment"))]
    found = [one for one in columns if profile_at(read.table, one.column).numeric and _is_weight_of_vessel(read, one)]
    return found[0] if len(found) == 1 and list(read.table.headers.values()).count(found[0].header) == 1 else None


def _is_weight_of_vessel(read: Understood, guess: Guess) -> bool:
    """Tell whether a header is of a tare, or of a vessel's weight beside weights of plants with the vessel."""
    said = set(meanings(split_unit(guess.header)[0]))
    if said & {"container", "gross"} or dimension(split_unit(guess.header)[1] or "g") != "mass":
        return False
    gross = any(_is_gross(one) for one in read.refused if one is not guess)
    return "tare" in said or (gross and bool(said & VESSELS) and said <= VESSELS | {"weight"})


def _is_gross(guess: Guess) -> bool:
    said = meanings(guess.header)
    return "gross" in said or ("container" in said and "weight" in said)


def _with_net(read: Understood, gross: Guess, tare: Guess) -> Understood:
    """Return a table with what a gross weight is less its tare, where no other column is that weight."""
    said = meanings(gross.header)
    name = "Fresh weight" if "fresh" in said else "Dry weight" if "dry" in said else "Weight"
    if read.guess(name) or (name == "Weight" and read.guess("Fresh weight")):
        return read
    unit = gross.unit or split_unit(gross.header)[1] or read.table.units.get(gross.column, "")
    header = f"{gross.header}{LESS}{tare.header}"
    net = replace(gross, header=header, name=name, unit=unit, reason="it is a gross weight, less what its tare is")
    kept = tuple(one for one in read.guesses if one.column != gross.column)
    refused = tuple(one for one in read.refused if one.column not in (gross.column, tare.column))
    return replace(read, guesses=(*kept, net), refused=refused)


def _is_net(read: Understood, net: Guess, gross: Guess, tare: Guess) -> bool:
    """Tell whether each net weight and its tare make the gross one."""
    columns = (read.table.values(one.column) for one in (net, gross, tare))
    rows = [row for row in zip(*columns, strict=True) if all(isinstance(value, int | float) for value in row)]
    return len(rows) > 2 and net is not gross and all(isclose(a + c, b, abs_tol=ROUNDED) for a, b, c in rows)


def _has_gross(read: Understood, own: Guess, tare: Guess) -> bool:
    """Tell whether a column that is none of the plant's weights is what a weight and its tare make."""
    others = (one for one in (*read.guesses, *read.refused) if one.column not in (own.column, tare.column))
    return any(_is_net(read, own, other, tare) for other in others if other.name != own.name)


def _settled(read: Understood, own: Guess, net: Guess, tare: Guess) -> Understood:
    """Return a table weighed by the net column of a gross one, which is no rival then."""
    reason = f"with {tare.header} it makes the gross weight"
    guesses = tuple(_turned(read, own, replace(net, name=own.name, reason=reason)))
    rivals = {name: held for name, held in read.rivals.items() if name != own.name}
    return replace(read, guesses=guesses, rivals=rivals)


def _turned(read: Understood, own: Guess, net: Guess) -> Iterator[Guess]:
    for one in read.guesses:
        if one.column == net.column:
            yield net
        else:
            yield replace(one, name="", reason=f"a gross weight beside {net.header}") if one.name == own.name else one
