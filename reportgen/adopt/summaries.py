"""Tables of means or totals of trays or treatments beside a table of their plants: they are known by their values."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from math import fsum, isclose
from typing import Final

from reportgen.adopt.grid import one_line
from reportgen.adopt.parts import Part
from reportgen.adopt.roles import Understood

GROUPS: Final = ("Tray", "Treatment")
WEIGHTS: Final = ("Fresh weight", "Weight")
FEWEST: Final = 2  # trays that tell a table of means from one more weighing
CLOSE: Final = 0.006  # of a value: a mean that was rounded to three digits


def summaries(parts: Sequence[Part]) -> list[Part]:
    """Return the tables of plants whose rows are the mean or sum of a tray's or treatment's rows in another table."""
    plants = [part for part in parts if part.read.gives == "Plants" and _weight(part.read)]
    pairs = [(part, other) for part in plants for other in plants if other is not part]
    found = [part for part, other in pairs if any(_sums_up(part.read, other.read, name) for name in GROUPS)]
    return list({id(part): part for part in found}.values())


def _sums_up(few: Understood, many: Understood, name: str) -> bool:
    rows, trays = _by(name, few), _by(name, many)
    if len(rows) < FEWEST or any(len(found) != 1 for found in rows.values()) or not set(rows) <= set(trays):
        return False
    several = all(len(trays[tray]) > 1 for tray in rows)
    pairs = [(found[0], trays[tray]) for tray, found in rows.items()]
    means = all(isclose(value, fsum(parts) / len(parts), rel_tol=CLOSE) for value, parts in pairs)
    return several and (means or all(isclose(value, fsum(parts), rel_tol=CLOSE) for value, parts in pairs))


def _weight(read: Understood) -> str:
    return next((name for name in WEIGHTS if read.guess(name)), "")


def _by(name: str, read: Understood) -> Mapping[str, list[float]]:
    """Return the weights of each tray or treatment, by its code in small letters; a blank is what stands above."""
    found: dict[str, list[float]] = defaultdict(list)
    codes, weights = read.guess(name), read.guess(_weight(read))
    tray = ""
    for code, value in (
        zip(read.table.values(codes.column), read.table.values(weights.column), strict=True)
        if codes and weights
        else ()
    ):
        tray = one_line(code).casefold() or tray
        if isinstance(value, int | float) and not isinstance(value, bool):
            found[tray].append(float(value))
    return found
