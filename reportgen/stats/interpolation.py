"""Log-linear interpolation between measured points: values, their uncertainty, and where they meet
a wanted value.

Between two neighbours the logarithm of the quantity runs straight, so it is monotone there. Beyond
the outer points nothing is said. Three parts make the uncertainty of a value (JCGM 100:2008): the
spread of the readings behind both neighbours, which counts as if the same sample was drawn at both;
the bend of the true course, limits of error taken as certain (4.3.7); and the gain of the
instrument, which its owner adds or leaves out.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log, sqrt
from statistics import stdev
from typing import Final

from scipy.optimize import brentq

from reportgen.stats.instruments import Component, combined, expanded, uncertainty_of_limits

STEPS: Final = 100  # of a gap, in the search for the ends of an interval
ROUNDING: Final = 1e-12  # of a logarithm; closer values are the same


@dataclass(frozen=True)
class Point:
    """A positive quantity at `x`.

    Its natural logarithm and the uncertainty of that from the spread of readings.

    `pairs` are the logarithms of single places, less those of the same places elsewhere; all points
    of a curve have the same places in the same order, or none has any. Where there are pairs, their
    spread counts.
    """

    x: float
    log: float
    spread: Component
    pairs: tuple[float, ...] = ()


@dataclass(frozen=True)
class Curve:
    """Points in rising order of `x`, at least one, no two at one place.

    `bends` has one entry for each gap between neighbours: the largest second derivative of the
    logarithm that the true course may have there, in 1/x2, whatever its sign.
    """

    points: tuple[Point, ...]
    bends: tuple[float, ...]


@dataclass(frozen=True)
class LogValue:
    """The logarithm of an interpolated value, its uncertainty from the spread, and the limits of
    error of the bend.
    """

    log: float
    spread: Component
    bend: float

    def half_width(self, gain: float, level: float) -> float:
        """Return half the interval of the logarithm.

        gain: relative standard uncertainty of the instrument.
        """
        return expanded(combined(*self._parts(gain)), level)

    def half_width_of_ratio(self, other: "LogValue", gain: float, level: float) -> float:
        """Return half the interval of the log ratio to another value.

        Each has a gain of its own.
        """
        return expanded(combined(*self._parts(gain), *other._parts(gain)), level)

    def _parts(self, gain: float) -> tuple[Component, Component, Component]:
        bend = Component(uncertainty_of_limits(self.bend))
        return self.spread, bend, Component(gain)


@dataclass(frozen=True)
class Reach:
    """The ends of an interval of x; None where it does not end within the measured points."""

    low: float | None
    high: float | None


def log_value(curve: Curve, x: float) -> LogValue:
    """Return the interpolated value at `x`; raise ValueError beyond the outer points."""
    if not curve.points[0].x <= x <= curve.points[-1].x:
        raise ValueError(f"{x} lies beyond the measured points")
    if len(curve.points) == 1:
        return LogValue(curve.points[0].log, curve.points[0].spread, 0.0)
    gap = _gap_of(curve, x)
    left, right = curve.points[gap], curve.points[gap + 1]
    share = (x - left.x) / (right.x - left.x)
    bend = curve.bends[gap] * (x - left.x) * (right.x - x) / 2
    return LogValue(
        (1 - share) * left.log + share * right.log, _spread_between(left, right, share), bend
    )


def _spread_between(left: Point, right: Point, share: float) -> Component:
    """Return the uncertainty from the spread at a `share` of the way between two points."""
    if left.pairs and right.pairs:
        pairs = zip(left.pairs, right.pairs, strict=True)
        return spread_of_pairs([(1 - share) * before + share * after for before, after in pairs])
    uncertainty = (1 - share) * left.spread.uncertainty + share * right.spread.uncertainty
    return Component(
        uncertainty, min(left.spread.degrees_of_freedom, right.spread.degrees_of_freedom)
    )


def spread_of_pairs(differences: Sequence[float]) -> Component:
    """Return the standard error of the mean of paired differences of logarithms, two at least."""
    return Component(stdev(differences) / sqrt(len(differences)), len(differences) - 1)


def _gap_of(curve: Curve, x: float) -> int:
    """Return the place of the gap that holds `x`."""
    inner = [point.x for point in curve.points[1:-1]]
    return bisect_right(inner, x)


def meeting_places(curve: Curve, value: float) -> tuple[float, ...]:
    """Return every x at which the interpolated quantity is `value`, in rising order."""
    wanted = log(value)
    places: list[float] = []
    for point in curve.points:
        if abs(point.log - wanted) <= ROUNDING:
            places.append(point.x)
    for left, right in pairwise(curve.points):
        before, after = left.log - wanted, right.log - wanted
        is_between = min(before, after) < -ROUNDING and max(before, after) > ROUNDING
        if is_between:
            places.append(left.x + (right.x - left.x) * before / (before - after))
    return tuple(sorted(places))


def reach_of_meeting(curve: Curve, place: float, gain: float, level: float) -> Reach:
    """Return the x around a meeting place whose values may be the wanted one.

    The interval of that place.

    It holds every x whose own interval, at the confidence `level`, holds the value at `place`.
    """
    wanted = log_value(curve, place).log

    def beyond(x: float) -> float:
        """Return how far the wanted value lies outside the interval at `x`; below 0 inside."""
        value = log_value(curve, x)
        return abs(value.log - wanted) - value.half_width(gain, level)

    def end(outward: list[float]) -> float | None:
        inside = place
        for x in outward:
            if beyond(x) > 0:
                if beyond(inside) < 0:
                    return float(brentq(beyond, inside, x))
                return inside
            inside = x
        return None

    xs = list(_grid(curve))
    below = [x for x in reversed(xs) if x < place]
    above = [x for x in xs if x > place]
    return Reach(end(below), end(above))


def band(curve: Curve, gain: float, level: float) -> Iterator[tuple[float, float, float, float]]:
    """Yield x, value, and both ends of the value's interval, close enough to draw the curve."""
    for x in _grid(curve):
        value = log_value(curve, x)
        half = value.half_width(gain, level)
        yield x, exp(value.log), exp(value.log - half), exp(value.log + half)


def _grid(curve: Curve) -> Iterator[float]:
    """Yield the points' x and even steps between them."""
    for left, right in pairwise(curve.points):
        for step in range(STEPS):
            yield left.x + (right.x - left.x) * step / STEPS
    yield curve.points[-1].x
