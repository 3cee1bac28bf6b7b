"""Made lamps whose field is known in closed form, for tests of what is interpolated between
readings.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from math import atan, pi, sqrt

import numpy as np

from reportgen.model.trial import LightReading

Field = Callable[[float, float, float], float]


def small_lamp(strength: float) -> Field:
    """Return the field of a small lamp of even intensity: strength x cos(angle) / distance2.

    The inverse-square law and the cosine law of incidence together, as lighting handbooks have them
    (IES, The Lighting Handbook, 10th edition, point calculations); beneath the lamp it is strength
    / height2.
    """
    return lambda x, y, height: strength * height / (x**2 + y**2 + height**2) ** 1.5


def disc(radius: float, exitance: float) -> Field:
    """Return the field beneath the middle of an evenly bright disc: exitance x radius2 / (radius2 +
    height2).

    J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors: plane element to
    circular disc on its normal. It holds on the axis only.
    """
    return lambda _x, _y, height: exitance * radius**2 / (radius**2 + height**2)


@dataclass(frozen=True)
class Panel:
    """An evenly bright rectangle above the middle of the canopy, its sides in cm.

    J. R. Howell, as above: plane element to parallel rectangle, the normal through one of its
    corners; four rectangles that share the element's normal as a corner make up the panel.
    """

    width: float
    length: float
    exitance: float

    def __call__(self, x: float, y: float, height: float) -> float:
        halves = [
            (side / 2 + sign * at)
            for side, at in ((self.width, x), (self.length, y))
            for sign in (1, -1)
        ]
        corners = product(halves[:2], halves[2:])
        return self.exitance * sum(_corner(a / height, b / height) for a, b in corners)


def _corner(a: float, b: float) -> float:
    along, across = sqrt(1 + a**2), sqrt(1 + b**2)
    return (a / along * atan(b / along) + b / across * atan(a / across)) / (2 * pi)


def grid(side: float, points: int) -> list[tuple[float, float]]:
    """Return the places of an even grid on a canopy whose middle is 0, 0."""
    steps = np.linspace(-side / 2, side / 2, points) if points > 1 else np.array([0.0])
    return [(float(x), float(y)) for x, y in product(steps, steps)]


def mean_of(field: Field, places: Sequence[tuple[float, float]], height: float) -> float:
    return float(np.mean([field(x, y, height) for x, y in places]))


def readings(
    code: str,
    field: Field,
    heights: Sequence[float],
    places: Sequence[tuple[float, float]],
    repeats=1,
):
    """Return what a sensor without error reads."""
    return tuple(
        LightReading(code, field(x, y, height), x=x, y=y, height=height)
        for height in heights
        for x, y in places
        for _ in range(repeats)
    )
