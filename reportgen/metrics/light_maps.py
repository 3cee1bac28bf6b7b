"""Maps of light by date and height, the course of their means over height, and the map at the
height in use.

PPFD is never carried beyond the heights that were measured. Between two of them its logarithm runs
straight: over the logarithm of the height where light falls with it, for then height is the
distance from the lamp, and the light of any lamp falls along a line of slope 0 (close beneath a
wide lamp) to -2 (far away, the inverse-square law); over the height itself where light rises with
it, for then the sensor came nearer to a lamp whose own height is not recorded.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from itertools import pairwise
from math import exp, log, sqrt
from statistics import fmean, stdev
from typing import Final

import numpy as np

from reportgen.model.heights import are_around, are_same
from reportgen.model.message import Notes, note
from reportgen.model.trial import LightReading, Treatment
from reportgen.stats.instruments import Component
from reportgen.stats.interpolation import Curve, LogValue, Point, band, log_value, spread_of_pairs

Place = tuple[float, float]

SAME_PLACE: Final = (
    1  # decimals of cm: readings closer than that were taken at one place and height
)
WITHOUT_HEIGHT: Final = -1.0  # stands before every height
# The second derivative of ln(PPFD) over ln(distance d), with s from 0 to 1: -4 s (1 - s) beneath
# the middle of a disc of radius R, where PPFD goes as 1 / (R2 + d2); 4 s (1 - s) for an inverse
# square with even stray light; -6 s (1 - s) at r beside a small lamp, d / (r2 + d2)^1.5 by the
# cosine-cubed law. Means over a canopy up to four times as wide as the lamp is high stay below that
# too: tests/test_metrics_light_matching.py tries lamps of many sizes.
MOST_BEND: Final = 1.5

NO_MAP = note("no_map")
HEIGHT_NOT_KNOWN = note("light_height_not_known")
HEIGHT_NOT_MEASURED = note("light_height_not_measured")
INTERPOLATED = note("light_interpolated")
SURVEY_LEFT_OUT = note("light_survey_left_out")


class Axis(StrEnum):
    """What a curve of light is straight over, in its gaps."""

    LOG_HEIGHT = "logarithm of height"
    HEIGHT = "height"


@dataclass(frozen=True)
class LightMap:
    """Readings of one treatment on one date at one height, PPFD in µmol/m2/s, height in cm.

    `points` has the mean reading of each place; a reading without X and Y has a place of its own.
    `by_place` has those that have X and Y, cm, in the order of these. `readings` are all readings.
    """

    on: date | None
    height: float | None
    points: tuple[float, ...]
    by_place: tuple[tuple[Place, float], ...]
    readings: tuple[float, ...]

    @property
    def places(self) -> frozenset[Place]:
        """Return the X and Y of those points that have them."""
        return frozenset(place for place, _ in self.by_place)

    @property
    def shows_evenness(self) -> bool:
        """Tell whether the map has two points or more, all of them with light."""
        return len(self.points) > 1 and self.minimum > 0

    @property
    def can_be_paired(self) -> bool:
        """Tell whether the map has two points or more, all of them with X, Y and light."""
        return len(self.by_place) == len(self.points) and self.shows_evenness

    @property
    def mean(self) -> float:
        """Return the mean of the points."""
        return fmean(self.points)

    @property
    def minimum(self) -> float:
        """Return the darkest point."""
        return min(self.points)

    @property
    def spread(self) -> Component | None:
        """Return the relative standard error of the mean.

        It rests on the spread of points, else of readings of one point.
        """
        if len(self.points) > 1:
            values = self.points
        else:
            values = self.readings
        if len(values) < 2 or self.mean <= 0:
            return None
        return Component(stdev(values) / sqrt(len(values)) / self.mean, len(values) - 1)


@dataclass(frozen=True)
class CanopyLight:
    """The light of one treatment at the height in use.

    Mean and darkest point, µmol/m2/s, and how many points.

    `points` has them one by one where the light was measured at that height, nothing where it is
    interpolated.
    """

    mean: float
    minimum: float
    count: int
    points: tuple[float, ...] = ()

    @property
    def evenness(self) -> float | None:
        """Return minimum / mean; None for one point and in the dark."""
        if self.count > 1 and self.mean > 0:
            return self.minimum / self.mean
        return None


@dataclass(frozen=True)
class LightInUse:
    """The light that a treatment's plants had, one entry a date, with notes."""

    light: tuple[CanopyLight, ...]
    notes: Notes = ()


@dataclass(frozen=True)
class LightCurve:
    """Mean light over height, and the maps that it was measured by, in rising order of height.

    `darkest` is the course of the darkest point; None where a map has one point, or a point without
    light.
    """

    axis: Axis
    maps: tuple[LightMap, ...]
    mean: Curve
    darkest: Curve | None

    @property
    def lowest(self) -> float:
        """Return the lowest height with a map, cm."""
        return self.maps[0].height or 0.0

    @property
    def highest(self) -> float:
        """Return the greatest height with a map, cm."""
        return self.maps[-1].height or 0.0

    @property
    def rises(self) -> bool:
        """Tell whether light rises with height."""
        return self.mean.points[-1].log > self.mean.points[0].log

    @property
    def is_steady(self) -> bool:
        """Tell whether mean light rises all the way, or falls all the way."""
        steps = [right.log - left.log for left, right in pairwise(self.mean.points)]
        return all(step > 0 for step in steps) or all(step < 0 for step in steps)

    @property
    def places(self) -> frozenset[Place]:
        """Return the X and Y that all maps have.

        Nothing where they cannot be compared place by place.
        """
        places = self.maps[0].places
        is_alike = all(
            light_map.can_be_paired and light_map.places == places for light_map in self.maps
        )
        if is_alike:
            return places
        return frozenset()

    def logs_at(self, height: float) -> tuple[float, ...]:
        """Return the logarithm of light at each of `places`, by their order, at a height in cm."""
        curves = zip(*(_logs(light_map) for light_map in self.maps), strict=True)
        x = self._within(height)
        xs = [point.x for point in self.mean.points]
        interpolated: list[float] = []
        for logs in curves:
            interpolated.append(float(np.interp(x, xs, logs)))
        return tuple(interpolated)

    def beside(self, others: Sequence[float]) -> "LightCurve":
        """Return the curve with the spread of its differences from `others`.

        others: logarithms at the same places.
        """
        points: list[Point] = []
        for point, light_map in zip(self.mean.points, self.maps, strict=True):
            differences: list[float] = []
            for own, other in zip(_logs(light_map), others, strict=True):
                differences.append(own - other)
            pairs = tuple(differences)
            points.append(replace(point, spread=spread_of_pairs(pairs), pairs=pairs))
        return replace(self, mean=replace(self.mean, points=tuple(points)))

    def x_of(self, height: float) -> float:
        """Return where a height in cm lies on the curve's axis."""
        if self.axis is Axis.LOG_HEIGHT:
            return log(height)
        return height

    def height_of(self, x: float) -> float:
        """Return the height in cm at a place on the curve's axis."""
        if self.axis is Axis.LOG_HEIGHT:
            return exp(x)
        return x

    def covers(self, height: float) -> bool:
        """Tell whether a height lies within those that were measured."""
        return are_around((self.lowest, self.highest), height)

    def at(self, height: float) -> LogValue:
        """Return the mean light at a height in cm; raise ValueError beyond the measured ones."""
        return log_value(self.mean, self._within(height))

    def evenness_at(self, height: float) -> float | None:
        """Return minimum / mean of the map at a height: both are interpolated alike.

        None where that is not known.
        """
        if self.darkest is None:
            return None
        x = self._within(height)
        return exp(log_value(self.darkest, x).log - log_value(self.mean, x).log)

    def _within(self, height: float) -> float:
        """Return a covered height's place on the axis, at an outer map where it differs from that
        by rounding.
        """
        if not self.covers(height):
            raise ValueError(f"{height} cm lies beyond the measured heights")
        return self.x_of(min(max(height, self.lowest), self.highest))

    def course(self, gain: float, level: float) -> tuple[tuple[float, float, float, float], ...]:
        """Return height, mean light and both ends of its interval, close enough to draw the curve."""
        drawn = band(self.mean, gain, level)
        drawn_heights: list[tuple[float, float, float, float]] = []
        for x, value, low, high in drawn:
            drawn_heights.append((self.height_of(x), value, low, high))
        return tuple(drawn_heights)


def maps_by_treatment(readings: Iterable[LightReading]) -> dict[str, tuple[LightMap, ...]]:
    """Return the maps of each treatment that has readings, by date and height.

    Without a date or a height first.
    """
    groups: dict[str, dict[tuple[date, float], list[LightReading]]] = defaultdict(
        lambda: defaultdict(list)
    )
    for reading in readings:
        if reading.height is None:
            height = WITHOUT_HEIGHT
        else:
            height = round(reading.height, SAME_PLACE)
        groups[reading.treatment][reading.on or date.min, height].append(reading)
    maps: dict[str, tuple[LightMap, ...]] = {}
    for code, found in groups.items():
        maps[code] = tuple(_map(found[key]) for key in sorted(found))
    return maps


def _map(readings: Sequence[LightReading]) -> LightMap:
    by_place: dict[Place, list[float]] = defaultdict(list)
    points: list[float] = []
    for reading in readings:
        if reading.x is None or reading.y is None:
            points.append(reading.ppfd)
        else:
            place = round(reading.x, SAME_PLACE), round(reading.y, SAME_PLACE)
            by_place[place].append(reading.ppfd)
    means = tuple((place, fmean(by_place[place])) for place in sorted(by_place))
    points += [mean for _, mean in means]
    every = tuple(reading.ppfd for reading in readings)
    height = readings[0].height
    if height is None:
        rounded = None
    else:
        rounded = round(height, SAME_PLACE)
    return LightMap(readings[0].on, rounded, tuple(points), means, every)


def latest_by_height(maps: Iterable[LightMap]) -> tuple[LightMap, ...]:
    """Return the latest map at each height that has light, in rising order.

    Maps without a height are left out.
    """
    latest: dict[float, LightMap] = {}
    for light_map in maps:
        if light_map.height is not None and light_map.mean > 0:
            latest[light_map.height] = light_map
    return tuple(latest[height] for height in sorted(latest))


def curve_of(maps: Iterable[LightMap]) -> LightCurve | None:
    """Return the course of light over height by the latest map at each height.

    None where no map has a height.
    """
    used = latest_by_height(maps)
    if not used:
        return None
    heights = [light_map.height or 0.0 for light_map in used]
    rises = used[-1].mean > used[0].mean
    if rises or heights[0] <= 0:
        axis = Axis.HEIGHT
        xs = heights
    else:
        axis = Axis.LOG_HEIGHT
        xs = [log(height) for height in heights]
    means: list[Point] = []
    darkest_points: list[Point] = []
    for x, light_map in zip(xs, used, strict=True):
        means.append(_point(x, light_map.mean, light_map))
        if light_map.shows_evenness:
            darkest_points.append(_point(x, light_map.minimum, light_map))
    bends = _bends(means, axis)
    darkest = None
    if len(darkest_points) == len(used):
        darkest = Curve(tuple(darkest_points), bends)
    return LightCurve(axis, used, Curve(tuple(means), bends), darkest)


def _logs(light_map: LightMap) -> tuple[float, ...]:
    return tuple(log(ppfd) for _, ppfd in light_map.by_place)


def _point(x: float, ppfd: float, light_map: LightMap) -> Point:
    return Point(x, log(ppfd), light_map.spread or Component(0.0))


def _bends(points: Sequence[Point], axis: Axis) -> tuple[float, ...]:
    """Return how strongly light may bend in each gap, the second derivative of its logarithm.

    Over height alone: towards a lamp of slope n / distance it is n / distance2, so at most the
    slope squared where light falls with the distance or faster; the steepest of the gap and its
    neighbours counts. It is no more than what takes the middle of the gap to the light at its ends,
    for between them light rises or falls all the way.
    """
    if axis is Axis.LOG_HEIGHT:
        return tuple(MOST_BEND for _ in points[1:])
    widths = [right.x - left.x for left, right in pairwise(points)]
    changes = [abs(right.log - left.log) for left, right in pairwise(points)]
    slopes = []
    for change, width in zip(changes, widths, strict=True):
        slopes.append(change / width)
    bends: list[float] = []
    for gap, (change, width) in enumerate(zip(changes, widths, strict=True)):
        steepest = max(slopes[max(gap - 1, 0) : gap + 2])
        bends.append(min(steepest**2, 4 * change / width**2))
    return tuple(bends)


def light_in_use(maps: Sequence[LightMap], height: float | None) -> LightInUse:
    """Return the light of a treatment at the height in use, cm.

    Where that is not recorded (None), the maps of dates on which light was read at one height
    count: the others are surveys of which nobody knows what applied.
    """
    if not maps:
        return LightInUse((), NO_MAP)
    if height is None:
        return _by_dates_with_one_height(maps)
    if all(light_map.height is None for light_map in maps):
        return LightInUse(tuple(map(_measured, maps)))
    at_height = [light_map for light_map in maps if are_same(light_map.height, height)]
    if at_height:
        return LightInUse(tuple(map(_measured, at_height)))
    return _interpolated(maps, height)


def _by_dates_with_one_height(maps: Sequence[LightMap]) -> LightInUse:
    by_date: dict[date | None, list[LightMap]] = defaultdict(list)
    for light_map in maps:
        by_date[light_map.on].append(light_map)
    single = [found[0] for found in by_date.values() if len(found) == 1]
    if not single:
        return LightInUse((), HEIGHT_NOT_KNOWN)
    if len(single) < len(by_date):
        notes = SURVEY_LEFT_OUT
    else:
        notes = ()
    return LightInUse(tuple(map(_measured, single)), notes)


def _measured(light_map: LightMap) -> CanopyLight:
    return CanopyLight(light_map.mean, light_map.minimum, len(light_map.points), light_map.points)


def _interpolated(maps: Sequence[LightMap], height: float) -> LightInUse:
    curve = curve_of(maps)
    if curve is None or not curve.covers(height):
        return LightInUse((), HEIGHT_NOT_MEASURED)
    mean = exp(curve.at(height).log)
    evenness = curve.evenness_at(height)
    if evenness is None:
        count = 1
    else:
        count = min(len(light_map.points) for light_map in curve.maps)
    if evenness is None:
        minimum = mean
    else:
        minimum = mean * evenness
    return LightInUse((CanopyLight(mean, minimum, count),), INTERPOLATED)


def in_use(
    treatments: Iterable[Treatment], readings: Iterable[LightReading]
) -> Mapping[str, LightInUse]:
    """Return the light that the plants of each treatment had."""
    maps = maps_by_treatment(readings)
    light: dict[str, LightInUse] = {}
    for treatment in treatments:
        light[treatment.code] = light_in_use(maps.get(treatment.code, ()), treatment.light_height)
    return light
