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
class Intersection:
    """The point where two lines meet.

    `below` names the line that is lower before it, `above` the other.
    """

    x: float
    y: float
    below: str
    above: str


def intersections(lines: Sequence[Line]) -> tuple[Intersection, ...]:
    """Return where two lines cross at an x above 0, the lowest first."""
    points: list[Intersection] = []
    for line, other in combinations(lines, 2):
        if line.slope == other.slope:
            continue
        point = _intersection(line, other)
        if point.x > 0:
            points.append(point)
    return tuple(sorted(points, key=lambda point: (point.x, point.y)))


def _intersection(line: Line, other: Line) -> Intersection:
    x = (other.start - line.start) / (line.slope - other.slope)
    below, above = sorted((line, other), key=lambda of_two: of_two.start)
    return Intersection(x, line.at(x), below.name, above.name)
