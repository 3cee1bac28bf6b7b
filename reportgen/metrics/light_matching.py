"""Matching the light of treatments before the start: the height, or the hours a day, at which they
agree.

Two intervals stand beside each answer. Between treatments, what one instrument read on all sides
cancels; against a wanted figure in absolute terms its accuracy counts too. Instruments of their own
count in both.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import exp, expm1, hypot, log, sqrt
from statistics import fmean
from typing import Final, Literal

from reportgen.metrics.instruments import gain_of
from reportgen.metrics.light import MICROMOLES_PER_MOLE, SECONDS_PER_HOUR
from reportgen.metrics.light_maps import (
    Axis,
    LightCurve,
    LightMap,
    curve_of,
    latest_by_height,
    maps_by_treatment,
)
from reportgen.model.trial import LightSurvey, Treatment
from reportgen.stats.instruments import Component
from reportgen.stats.interpolation import LogValue, meeting_places, reach_of_meeting

MOST_SLOPE: Final = 2.0  # of ln(PPFD) over ln(distance): the inverse-square law
LEAST_SLOPE: Final = (
    0.5  # ours, for advice alone: beneath a wide lamp light hardly falls, and no height would do
)
FAR: Final = 2.0  # standard errors: ours
ROOM: Final = 1.1  # advised heights reach a tenth beyond those that the fall of light points to

Quantity = Literal["ppfd", "dli"]
WhyNoHeight = Literal[
    "no_readings", "no_height", "dark", "no_photoperiod", "beyond", "one_height", "several_heights"
]
Finding = Literal[
    "not_steady", "spread_not_known", "earlier_left_out", "places_differ", "dark_point"
]


@dataclass(frozen=True)
class LightTarget:
    """What the treatments are to agree in: mean PPFD, µmol/m2/s, or daily light integral, mol/m2/d.

    `value` is above 0; None takes the middle of what all treatments reach. `quantity` is None where
    that depends on the treatments: the light of a day where their photoperiods differ, else PPFD.
    """

    quantity: Quantity | None = None
    value: float | None = None


@dataclass(frozen=True)
class Interval:
    """The ends of an interval; None where it does not end within what was measured."""

    low: float | None
    high: float | None


@dataclass(frozen=True)
class MatchedHeight:
    """The height in cm with the wanted mean PPFD, and minimum / mean of the map there.

    `between` is its interval beside the other treatments, `absolute` that against the wanted figure
    itself. `is_paired` tells that `between` rests on differences from the other treatments, point
    by point.
    """

    height: float
    between: Interval
    absolute: Interval
    evenness: float | None
    is_paired: bool = False


@dataclass(frozen=True)
class MatchedHours:
    """The hours a day that give the wanted DLI at a height in cm (None: not recorded).

    `hours` may be above 24, which no day has.
    """

    height: float | None
    hours: float
    between: Interval
    absolute: Interval


@dataclass(frozen=True)
class MeasuredLevel:
    """A map that counts: its height in cm, its mean PPFD with the interval of its spread (None: not
    known).
    """

    light_map: LightMap
    low: float | None
    high: float | None


@dataclass(frozen=True)
class CoursePoint:
    """Mean PPFD at a height in cm, with its interval beside the other treatments."""

    height: float
    ppfd: float
    low: float
    high: float


@dataclass(frozen=True)
class TreatmentLight:
    """What one treatment needs: `wanted` PPFD, and the `matched` height or `why_none`.

    `advised` are the heights, cm, at which readings are missing. `axis` and `course` tell how light
    was interpolated.
    """

    code: str
    levels: tuple[MeasuredLevel, ...]
    wanted: float | None = None
    matched: MatchedHeight | None = None
    why_none: WhyNoHeight | None = None
    advised: Interval | None = None
    hours: tuple[MatchedHours, ...] = ()
    axis: Axis | None = None
    course: tuple[CoursePoint, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class LightMatch:
    """The plan: what treatments agree in, at which level, and what each of them needs.

    `is_given` says that the level was typed. `reached` are the levels that all treatments reach
    within what was measured, None where there is none in common. `same_places` has the treatments
    in groups whose maps have the same points. `directions_differ`: light rises with height in one
    and falls in another. `accuracy_known` and `own_meters` tell what the instruments leave in the
    intervals. `may_differ` is the largest relative difference in mean light that two matched
    treatments may still have at their heights; None with fewer than two, or without spread.
    """

    quantity: Quantity
    level: float | None
    is_given: bool
    reached: Interval | None
    treatments: tuple[TreatmentLight, ...]
    same_places: tuple[tuple[str, ...], ...]
    directions_differ: bool
    accuracy_known: bool
    own_meters: bool
    may_differ: float | None


@dataclass(frozen=True)
class _Question:
    """The quantity asked for, its level (None: no common one), and the confidence level.

    `between` and `absolute` are relative standard uncertainties of the instrument, beside the other
    treatments and against a wanted figure.
    """

    quantity: Quantity
    level: float | None
    confidence: float
    between: float
    absolute: float


@dataclass(frozen=True)
class _Case:
    """One treatment with its light.

    The maps that count, their course over height, what turns PPFD into the quantity.

    `factor` is None where that is not known.
    """

    treatment: Treatment
    maps: tuple[LightMap, ...]
    used: tuple[LightMap, ...]
    curve: LightCurve | None
    factor: float | None


def match_light(survey: LightSurvey, target: LightTarget, confidence: float) -> LightMatch:
    """Return the heights and hours at which the mean light of the treatments agrees.

    confidence: level of the intervals, a fraction. Nothing is carried beyond the heights that were
    measured.
    """
    maps = maps_by_treatment(survey.light)
    quantity = target.quantity or _usual_quantity(survey.treatments, maps)
    cases = []
    for treatment in survey.treatments:
        cases.append(_case(treatment, maps.get(treatment.code, ()), quantity))
    reached = _reached(cases)
    if target.value is None:
        level = _middle(reached)
    else:
        level = target.value
    gain = gain_of(survey.instruments, "light")
    if gain.is_own:
        between = gain.relative
    else:
        between = 0.0
    question = _Question(quantity, level, confidence, between, gain.relative)
    alone = tuple(_treatment_light(case, question) for case in cases)
    treatments = _paired(cases, alone, question)
    return LightMatch(
        quantity=quantity,
        level=level,
        is_given=target.value is not None,
        reached=reached if _is_rising(reached) else None,
        treatments=treatments,
        same_places=_groups_of_places(cases),
        directions_differ=_directions_differ(cases),
        accuracy_known=gain.relative > 0,
        own_meters=gain.is_own,
        may_differ=_may_differ(cases, treatments, question),
    )


def moles_a_day(ppfd: float, hours: float) -> float:
    """Return the daily light integral, mol/m2/d, of a PPFD in µmol/m2/s for some hours a day."""
    return ppfd * hours * SECONDS_PER_HOUR / MICROMOLES_PER_MOLE


def _usual_quantity(treatments: Iterable[Treatment], maps: Mapping[str, object]) -> Quantity:
    hours = {treatment.photoperiod or 0.0 for treatment in treatments if treatment.code in maps}
    if len(hours) > 1 and min(hours) > 0:
        return "dli"
    return "ppfd"


def _case(treatment: Treatment, maps: tuple[LightMap, ...], quantity: Quantity) -> _Case:
    factor = 1.0
    if quantity == "dli":
        factor = moles_a_day(1.0, treatment.photoperiod or 0.0)
    return _Case(treatment, maps, latest_by_height(maps), curve_of(maps), factor or None)


def _reached(cases: Iterable[_Case]) -> Interval | None:
    """Return the greatest of the least levels and the least of the greatest.

    Falling where none is in common.
    """
    lows: list[float] = []
    highs: list[float] = []
    for case in cases:
        if case.factor is not None and case.used:
            means = [light_map.mean * case.factor for light_map in case.used]
            lows.append(min(means))
            highs.append(max(means))
    if len(lows) > 1:
        return Interval(max(lows), min(highs))
    return None


def _is_rising(levels: Interval | None) -> bool:
    if levels is None or levels.low is None or levels.high is None:
        return False
    return levels.low <= levels.high


def _middle(levels: Interval | None) -> float | None:
    """Return the middle on the logarithmic scale."""
    if levels is None or levels.low is None or levels.high is None:
        return None
    return sqrt(levels.low * levels.high)


def _treatment_light(case: _Case, question: _Question) -> TreatmentLight:
    light = TreatmentLight(
        case.treatment.code,
        _levels(case, question),
        why_none=_why_no_curve(case),
        hours=_hours(case, question),
        findings=_findings(case),
    )
    if case.curve is None:
        return light
    drawn = []
    for point in case.curve.course(question.between, question.confidence):
        drawn.append(CoursePoint(*point))
    course = tuple(drawn)
    light = replace(light, axis=case.curve.axis, course=course)
    if case.factor is None:
        return replace(light, why_none="no_photoperiod")
    if question.level is None:
        return light
    wanted = question.level / case.factor
    return _at_wanted(replace(light, wanted=wanted), case.curve, wanted, question)


def _may_differ(
    cases: Iterable[_Case], treatments: Iterable[TreatmentLight], question: _Question
) -> float | None:
    """Return the largest relative difference that two matched treatments may still have."""
    matched: list[tuple[LightCurve, float]] = []
    for case, light in zip(cases, treatments, strict=True):
        if case.curve is None or light.matched is None:
            continue
        if "spread_not_known" in light.findings:
            return None
        matched.append((case.curve, light.matched.height))
    pairs = combinations(matched, 2)
    halves = [_half_apart(first, second, question) for first, second in pairs]
    if halves:
        return expm1(max(halves))
    return None


def _half_apart(
    first: tuple[LightCurve, float], second: tuple[LightCurve, float], question: _Question
) -> float:
    """Return half the interval of the logarithm of the ratio of two curves, each at its height."""
    curve, height = first
    other, other_height = second
    value, of_other = curve.at(height), other.at(other_height)
    if curve.places and curve.places == other.places:
        value = curve.beside(other.logs_at(other_height)).at(height)
        of_other = replace(of_other, spread=Component(0.0))
    return value.half_width_of_ratio(of_other, question.between, question.confidence)


def _paired(
    cases: Sequence[_Case], alone: Sequence[TreatmentLight], question: _Question
) -> tuple[TreatmentLight, ...]:
    """Return the light of treatments with heights paired by places.

    All must have the same points.

    What all lamps share, such as dim edges, is no difference between them and cancels in the pairs.
    """
    curves: dict[str, LightCurve] = {}
    logs: dict[str, tuple[float, ...]] = {}
    for case, light in zip(cases, alone, strict=True):
        if case.curve is not None and light.matched is not None:
            curves[light.code] = case.curve
    if len(curves) < 2 or not _can_be_paired(curves.values()):
        return tuple(alone)
    for light in alone:
        if light.matched is not None:
            logs[light.code] = curves[light.code].logs_at(light.matched.height)
    paired: list[TreatmentLight] = []
    for light in alone:
        if light.matched is None:
            paired.append(light)
            continue
        others = {code: of_other for code, of_other in logs.items() if code != light.code}
        matched = _paired_height(light.matched, curves[light.code], others, question)
        paired.append(replace(light, matched=matched))
    return tuple(paired)


def _paired_height(
    matched: MatchedHeight,
    curve: LightCurve,
    others: Mapping[str, tuple[float, ...]],
    question: _Question,
) -> MatchedHeight:
    """Return a height with its interval by differences from the mean of the other treatments.

    others: logarithms of light at the places that all treatments share, by treatment.
    """
    means = [fmean(at_place) for at_place in zip(*others.values(), strict=True)]
    place = curve.x_of(matched.height)
    differences = curve.beside(means)
    between = _interval_of_height(differences, place, question.between, question.confidence)
    return replace(matched, between=between, is_paired=True)


def _can_be_paired(curves: Iterable[LightCurve]) -> bool:
    """Tell whether all curves were measured at the same points."""
    points = {curve.places for curve in curves}
    return len(points) == 1 and frozenset() not in points


def _why_no_curve(case: _Case) -> WhyNoHeight | None:
    if case.curve is not None:
        return None
    if not case.maps:
        return "no_readings"
    has_height = any(light_map.height is not None for light_map in case.maps)
    if has_height:
        return "dark"
    return "no_height"


def _at_wanted(
    light: TreatmentLight, curve: LightCurve, wanted: float, question: _Question
) -> TreatmentLight:
    """Return a treatment's light with the height for the wanted PPFD, or with what lacks for it."""
    places = meeting_places(curve.mean, wanted)
    if len(places) > 1:
        return replace(light, why_none="several_heights")
    if not places:
        if len(curve.maps) == 1:
            return replace(light, why_none="one_height")
        return replace(light, why_none="beyond", advised=advised_heights(curve, wanted))
    height = curve.height_of(places[0])
    between = _interval_of_height(curve, places[0], question.between, question.confidence)
    absolute = _interval_of_height(curve, places[0], question.absolute, question.confidence)
    return replace(
        light, matched=MatchedHeight(height, between, absolute, curve.evenness_at(height))
    )


def _interval_of_height(
    curve: LightCurve, place: float, gain: float, confidence: float
) -> Interval:
    reach = reach_of_meeting(curve.mean, place, gain, confidence)
    if reach.low is None:
        low = None
    else:
        low = curve.height_of(reach.low)
    if reach.high is None:
        high = None
    else:
        high = curve.height_of(reach.high)
    return Interval(low, high)


def advised_heights(curve: LightCurve, wanted: float) -> Interval:
    """Return heights in cm where readings are missing for a PPFD beyond the measured ones.

    It is advice on where to read and no result: the light between the outer map and there is not
    known. Where light falls with height no lamp's falls faster than the inverse-square law, so the
    wanted height lies no nearer than by that; the slope of the outer gap says how far it may lie.
    """
    means = [light_map.mean for light_map in curve.maps]
    is_too_bright = wanted < min(means)
    if is_too_bright == curve.rises:
        outer = curve.lowest
    else:
        outer = curve.highest
    if is_too_bright:
        nearest = min(means)
    else:
        nearest = max(means)
    change = abs(log(wanted / nearest))
    slope = _outer_slope(curve, outer)
    if curve.axis is Axis.LOG_HEIGHT:
        # light falls with height on this axis
        if not is_too_bright:
            change = -change
        near = outer * exp(change / MOST_SLOPE)
        far = outer * exp(change / slope)
    else:
        if outer == curve.lowest:
            change = -change
        near = outer + change / slope / 2
        far = outer + change / slope * 2
    if far > outer:
        far = far * ROOM
    else:
        far = far / ROOM
    return Interval(max(min(near, far), 0.0), max(near, far))


def _outer_slope(curve: LightCurve, outer: float) -> float:
    """Return the size of the slope of the gap beside the outer height, within what is possible."""
    points = curve.mean.points
    if outer == curve.lowest:
        left, right = points[:2]
    else:
        left, right = points[-2:]
    slope = abs(right.log - left.log) / (right.x - left.x)
    if curve.axis is Axis.LOG_HEIGHT:
        return min(max(slope, LEAST_SLOPE), MOST_SLOPE)
    return max(slope, LEAST_SLOPE / max(outer, 1.0))


def _levels(case: _Case, question: _Question) -> tuple[MeasuredLevel, ...]:
    """Return the maps that count; those without a height where no map has one."""
    return tuple(_level(light_map, question) for light_map in case.used or case.maps)


def _level(light_map: LightMap, question: _Question) -> MeasuredLevel:
    if light_map.spread is None:
        return MeasuredLevel(light_map, None, None)
    value = LogValue(log(light_map.mean), light_map.spread, 0.0)
    half = value.half_width(question.between, question.confidence)
    return MeasuredLevel(light_map, exp(value.log - half), exp(value.log + half))


def _hours(case: _Case, question: _Question) -> tuple[MatchedHours, ...]:
    """Return the hours a day for the wanted light of a day.

    At the height in use, else at each measured one.
    """
    if question.quantity != "dli" or question.level is None:
        return ()
    height, curve = case.treatment.light_height, case.curve
    if height is not None and curve is not None:
        if not curve.covers(height):
            return ()
        return (_hours_of(height, curve.at(height), question),)
    return _hours_at_maps(case, question)


def _hours_at_maps(case: _Case, question: _Question) -> tuple[MatchedHours, ...]:
    """Return the hours a day for the wanted light at each measured height."""
    hours: list[MatchedHours] = []
    for light_map in case.used or case.maps:
        if light_map.mean > 0:
            value = LogValue(log(light_map.mean), light_map.spread or Component(0.0), 0.0)
            hours.append(_hours_of(light_map.height, value, question))
    return tuple(hours)


def _hours_of(height: float | None, value: LogValue, question: _Question) -> MatchedHours:
    hours = (question.level or 0.0) / moles_a_day(exp(value.log), 1.0)
    between = _around(hours, value.half_width(question.between, question.confidence))
    absolute = _around(hours, value.half_width(question.absolute, question.confidence))
    return MatchedHours(height, hours, between, absolute)


def _around(value: float, half: float) -> Interval:
    return Interval(value * exp(-half), value * exp(half))


def _findings(case: _Case) -> tuple[Finding, ...]:
    """Return what makes a treatment's readings less than they could be."""
    maps = case.used or case.maps
    findings: dict[Finding, bool] = {
        "not_steady": _is_unsteady(case.curve, maps),
        "spread_not_known": any(light_map.spread is None for light_map in maps),
        "earlier_left_out": _has_earlier_maps(case),
        "places_differ": not all(_same_places(maps[0], light_map) for light_map in maps),
        "dark_point": any(light_map.minimum <= 0 for light_map in maps),
    }
    return tuple(finding for finding, is_found in findings.items() if is_found)


def _is_unsteady(curve: LightCurve | None, maps: Sequence[LightMap]) -> bool:
    """Tell whether light over the heights of several maps rises in one part and falls in another."""
    return curve is not None and len(maps) > 1 and not curve.is_steady


def _has_earlier_maps(case: _Case) -> bool:
    """Tell whether maps of earlier dates at the same heights were left out."""
    if not case.used:
        return False
    lit = [light_map for light_map in case.maps if light_map.mean > 0]
    return len(case.used) < sum(light_map.height is not None for light_map in lit)


def _same_places(one: LightMap, other: LightMap) -> bool:
    """Tell whether two maps have the same points.

    By X and Y, or as many where these were not recorded.
    """
    return one.places == other.places and len(one.points) == len(other.points)


def _groups_of_places(cases: Iterable[_Case]) -> tuple[tuple[str, ...], ...]:
    """Return the treatments in groups whose maps have the same points."""
    groups: list[tuple[LightMap, list[str]]] = []
    for case in cases:
        if not case.used:
            continue
        code, first_map = case.treatment.code, case.used[0]
        for light_map, codes in groups:
            if _same_places(light_map, first_map):
                codes.append(code)
                break
        else:
            groups.append((first_map, [code]))
    return tuple(tuple(codes) for _, codes in groups)


def _directions_differ(cases: Iterable[_Case]) -> bool:
    """Tell whether light clearly rises with height in one treatment and falls in another."""
    directions: set[bool] = set()
    for case in cases:
        if case.curve is None:
            continue
        first, last = case.curve.mean.points[0], case.curve.mean.points[-1]
        error = hypot(first.spread.uncertainty, last.spread.uncertainty)
        if abs(last.log - first.log) > FAR * error:
            directions.add(case.curve.rises)
    return len(directions) > 1
