"""Units and labels of display: figures in metric units, in US customary ones, or in both.

Results are kept by the gram, as they are computed; a reader has them by the kilogram or by the
pound. A page keeps to one system, that of its workbook unless the settings say otherwise; with
both the other follows in brackets.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace
from typing import Final, NamedTuple, TypeVar

from reportgen.language import OF_DRY_WEIGHT, UNIT_OF_WEIGHT
from reportgen.model.factor_results import CurvePoint, DoseTrend
from reportgen.model.results import (
    Comparison,
    CumulativeYield,
    Estimate,
    GrowthOverTime,
    Measure,
    MeasureResult,
)
from reportgen.model.settings import Units
from reportgen.model.trial import System
from reportgen.report.unit_factors import (
    BY_KILOGRAM,
    CALLED,
    CALLED_BY_KILOGRAM,
    CALLED_BY_POUND,
    CUSTOMARY,
    FL_OZ_PER_GAL,
    FOUR_POUNDS,
    G_PER_KG,
    G_PER_LB,
    G_PER_OZ,
    GALLONS,
    KILOGRAM,
    OUNCES,
    OZ_PER_LB,
    PINT,
    POUND,
    DisplayUnit,
    Mass,
)


class Display(NamedTuple):
    """The system that figures are shown in, and whether the other one follows in brackets."""

    system: System = "metric"
    has_other: bool = False

    @property
    def systems(self) -> tuple[System, ...]:
        """Return the systems of display, the first one first."""
        if not self.has_other:
            return (self.system,)
        if self.system == "us":
            return ("us", "metric")
        return ("metric", "us")


METRIC: Final = Display("metric")
US: Final = Display("us")


MASSES: Final[Mapping[System, Mass]] = {"metric": KILOGRAM, "us": POUND}


OverDays = TypeVar("OverDays", GrowthOverTime, CumulativeYield)
_display: ContextVar[Display] = ContextVar("display", default=METRIC)


def display_of(units: Units, typed_in: System) -> Display:
    """Return how a setting shows a trial that was typed in a system."""
    if units == "typed":
        return Display(typed_in)
    if units == "both":
        return Display(typed_in, has_other=True)
    return Display(units)


@contextmanager
def using(display: Display) -> Iterator[None]:
    """Show everything in these units for as long as the context lasts."""
    token = _display.set(display)
    try:
        yield
    finally:
        _display.reset(token)


def current() -> Display:
    """Return the units that everything is shown in now."""
    return _display.get()


def is_us() -> bool:
    """Return whether figures are shown in US customary units first."""
    return current().system == "us"


def with_other(first: str, *others: str) -> str:
    """Return a text with the same in the other system behind it: `4.6 oz (130 g)`."""
    different = tuple(other for other in others if other != first)
    if not different:
        return first
    return f"{first} ({'; '.join(different)})"


def within_brackets(first: str, *others: str) -> str:
    """Return a text that may stand in brackets, with the same in the other system behind it."""
    return with_other(first, *others).replace("(", "[").replace(")", "]")


def amounts(value: float, unit: str) -> list[tuple[float, str]]:
    """Return a value with its unit in each system of display, once where they do not differ."""
    found: list[tuple[float, str]] = []
    for system in current().systems:
        shown = shown_as(unit, system, abs(value))
        amount = (value * shown.factor + shown.offset, shown.unit)
        if amount not in found:
            found.append(amount)
    return found


def customary(unit: str) -> DisplayUnit | None:
    """Return how a unit is shown in US customary units, None where it is the same there."""
    if OF_DRY_WEIGHT in unit:
        return _of_dry_weight(customary(unit.replace(OF_DRY_WEIGHT, "")))
    if unit in CUSTOMARY:
        return CUSTOMARY[unit]
    if unit.endswith("/g"):  # a cost of a gram, in any currency
        return DisplayUnit(f"{unit[:-2]}/lb", G_PER_LB)
    if unit.startswith("g/"):  # what a unit of currency grew
        return DisplayUnit(f"oz/{unit[2:]}", 1 / G_PER_OZ)
    return None


def metric(unit: str) -> DisplayUnit | None:
    """Return how a unit is shown in metric units, None where it is shown as it is kept."""
    if OF_DRY_WEIGHT in unit:
        return _of_dry_weight(metric(unit.replace(OF_DRY_WEIGHT, "")))
    if unit in BY_KILOGRAM:
        return BY_KILOGRAM[unit]
    if unit.endswith("/g"):  # a cost of a gram, in any currency
        return DisplayUnit(f"{unit[:-2]}/kg", G_PER_KG)
    return None


def masses() -> tuple[Mass, ...]:
    """Return the mass of crop that costs and prices are shown for, in each system of display."""
    return tuple(MASSES[system] for system in current().systems)


def mass() -> Mass:
    """Return the mass of crop that costs and prices are shown for, in the first system."""
    return masses()[0]


def called(label: str, system: System) -> str:
    """Return what a measure is called where it is shown in these units.

    `Water per kilogram of fresh weight`.
    """
    if system == "us":
        by_weight = CALLED_BY_POUND
    else:
        by_weight = CALLED_BY_KILOGRAM
    return by_weight.get(label) or CALLED.get(label, label)


def _of_dry_weight(shown: DisplayUnit | None) -> DisplayUnit | None:
    """Return a unit of display as one of dry weight, such as `g dry/L`."""
    if shown is None:
        return None
    return shown._replace(
        unit=re.sub(UNIT_OF_WEIGHT, rf"\g<0>{OF_DRY_WEIGHT}", shown.unit, count=1)
    )


def displayed(measures: Sequence[MeasureResult], display: Display) -> list[MeasureResult]:
    """Return results in the units of display.

    With both systems, each in the other one stands below itself where that differs.
    """
    shown: list[MeasureResult] = []
    for result in measures:
        shown += versions(result, display)
    return shown


def in_each_system(measures: Sequence[MeasureResult]) -> Iterator[MeasureResult]:
    """Yield results as `displayed` has them, each while its own system is the one of display."""
    display = current()
    for result in measures:
        for system, shown in zip(display.systems, versions(result, display), strict=False):
            with using(Display(system)):
                yield shown


def versions(result: MeasureResult, display: Display) -> list[MeasureResult]:
    """Return a result in each system of display, once where they do not differ."""
    return [course[0] for course in courses([result], display)]


def courses(measures: Sequence[MeasureResult], display: Display) -> list[list[MeasureResult]]:
    """Return the results of one measure, such as those of several days, in each system of display.

    All of them have the same unit. There is one list where systems do not differ.
    """
    unit = measures[0].measure.unit
    largest = 0.0
    for result in measures:
        for _, estimate in result.estimates:
            largest = max(largest, abs(estimate.value or 0.0))
    systems = display.systems
    if customary(unit) is None:
        systems = systems[:1]
    versions: list[list[MeasureResult]] = []
    for system in systems:
        shown = shown_as(unit, system, largest)
        versions.append([_converted(result, system, shown) for result in measures])
    return versions


def over_days(course: OverDays) -> OverDays:
    """Return what was measured day by day in the first system of display."""
    results = [MeasureResult(course.measure, day.estimates, ()) for day in course.days]
    if not results:
        return course
    shown = courses(results, current())[0]
    pairs = zip(course.days, shown, strict=True)
    days = tuple(replace(day, estimates=result.estimates) for day, result in pairs)
    return replace(course, measure=shown[0].measure, days=days)


def in_first(value: float, unit: str) -> tuple[float, str]:
    """Return a value with its unit in the first system of display."""
    return amounts(value, unit)[0]


def curves(
    result: MeasureResult, trends: Sequence[DoseTrend]
) -> tuple[MeasureResult, list[DoseTrend]]:
    """Return a measure with the curves through its doses, both in the first system of display."""
    unit = result.measure.unit
    known = [abs(one.value) for _, one in result.estimates if one.value is not None]
    shown = shown_as(unit, current().system, max(known, default=0.0))
    in_unit: list[DoseTrend] = []
    for trend in trends:
        points = tuple(_point(point, shown) for point in trend.curve)
        in_unit.append(replace(trend, curve=points))
    return versions(result, current())[0], in_unit


def _point(point: CurvePoint, shown: DisplayUnit) -> CurvePoint:
    value, low, high = (
        one * shown.factor + shown.offset for one in (point.value, point.low, point.high)
    )
    return replace(point, value=value, low=low, high=high)


def shown_as(unit: str, system: System, largest: float) -> DisplayUnit:
    """Return how a unit is shown in a system.

    `largest` is the largest figure shown with it, in the unit that it is kept in.
    """
    in_us = customary(unit)
    if system == "us" and in_us is not None:
        return _sized(in_us, largest * in_us.factor)
    return metric(unit) or DisplayUnit(unit, 1.0)


def _sized(shown: DisplayUnit, largest: float) -> DisplayUnit:
    """Return pounds for ounces from four pounds on, fluid ounces for gallons below a pint."""
    if OUNCES.match(shown.unit) and largest >= FOUR_POUNDS:
        return DisplayUnit(OUNCES.sub("lb", shown.unit), shown.factor / OZ_PER_LB)
    if GALLONS.match(shown.unit) and 0 < largest < PINT:
        return DisplayUnit(GALLONS.sub("US fl oz", shown.unit), shown.factor * FL_OZ_PER_GAL)
    return shown


def _converted(result: MeasureResult, system: System, shown: DisplayUnit) -> MeasureResult:
    measure: Measure = replace(
        result.measure, label=called(result.measure.label, system), unit=shown.unit
    )
    return replace(
        result,
        measure=measure,
        estimates=tuple((code, _estimate(each, shown)) for code, each in result.estimates),
        comparisons=tuple((code, _comparison(each, shown)) for code, each in result.comparisons),
        scores=tuple((tray, score * shown.factor + shown.offset) for tray, score in result.scores),
    )


def _estimate(estimate: Estimate, shown: DisplayUnit) -> Estimate:
    return replace(
        estimate,
        value=_in_unit(estimate.value, shown),
        low=_in_unit(estimate.low, shown),
        high=_in_unit(estimate.high, shown),
        standard_error=_scaled(estimate.standard_error, shown),
    )


def _in_unit(value: float | None, shown: DisplayUnit) -> float | None:
    """Return a value in a unit of display."""
    if value is None:
        return None
    return value * shown.factor + shown.offset


def _scaled(difference: float | None, shown: DisplayUnit) -> float | None:
    """Return a difference in a unit of display: it has no offset."""
    if difference is None:
        return None
    return difference * shown.factor


def _comparison(comparison: Comparison, shown: DisplayUnit) -> Comparison:
    """Return a comparison whose difference is in the unit of display; a ratio has no unit."""
    return replace(
        comparison,
        difference=_scaled(comparison.difference, shown),
        difference_low=_scaled(comparison.difference_low, shown),
        difference_high=_scaled(comparison.difference_high, shown),
    )
