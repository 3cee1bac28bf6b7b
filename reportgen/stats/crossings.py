"""Where straight lines cross."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations


@dataclass(frozen=True)
class Line:
    """A named straight line: `start` where x is 0, rising by `slope`."""

    name: str
    start: float
    slope: float

    def at(self, x: float) -> float:
        """Return the height of the line at x."""
        return self.start + self.slope * x


@dataclass(frozen=True)
class Crossing:
    """The place where two lines meet: `below` names the one that is lower before it, `above` the
    other.
    """

    x: float
    y: float
    below: str
    above: str


def crossings(lines: Sequence[Line]) -> tuple[Crossing, ...]:
    """Return where two lines cross at an x above 0, the lowest first."""
    found = (_crossing(*pair) for pair in combinations(lines, 2) if pair[0].slope != pair[1].slope)
    return tuple(sorted((one for one in found if one.x > 0), key=lambda one: (one.x, one.y)))


def _crossing(one: Line, other: Line) -> Crossing:
    x = (other.start - one.start) / (one.slope - other.slope)
    below, above = sorted((one, other), key=lambda line: line.start)
    return Crossing(x, one.at(x), below.name, above.name)
