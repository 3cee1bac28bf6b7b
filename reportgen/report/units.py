"""Units of display: figures of tables in metric units, in US customary ones, or in both."""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace
from typing import Final, NamedTuple

from reportgen.language import OF_DRY_WEIGHT, UNIT_OF_WEIGHT
from reportgen.model.results import Comparison, Estimate, MeasureResult
from reportgen.model.settings import Units

# Exact: international yard and pound agreement of 1959; US gallon of 231 cubic inches (NIST Handbook 44, appendix C).
G_PER_OZ: Final = 28.349523125
OZ_PER_LB: Final = 16.0
L_PER_GAL: Final = 3.785411784
CM_PER_IN: Final = 2.54
G_PER_LB: Final = G_PER_OZ * OZ_PER_LB


class Shown(NamedTuple):
    """A unit of display: a value in it is the value in the kept unit x `factor` + `offset`."""

    unit: str
    factor: float
    offset: float = 0.0


CUSTOMARY: Final = {
    "g": Shown("oz", 1 / G_PER_OZ),
    "g/plant": Shown("oz/plant", 1 / G_PER_OZ),
    "g/tray": Shown("oz/tray", 1 / G_PER_OZ),
    "g/piece": Shown("oz/piece", 1 / G_PER_OZ),
    "g/tray/week": Shown("oz/tray/week", 1 / G_PER_OZ),
    "L/tray": Shown("US gal/tray", 1 / L_PER_GAL),
    "mL/g": Shown("US gal/lb", G_PER_LB / L_PER_GAL / 1000),
    "g/L": Shown("lb/US gal", L_PER_GAL / G_PER_LB),
    "kWh/kg": Shown("kWh/lb", G_PER_LB / 1000),
    "g/kWh": Shown("oz/kWh", 1 / G_PER_OZ),
    "g/mol": Shown("oz/mol", 1 / G_PER_OZ),
    "cm": Shown("in", 1 / CM_PER_IN),
    "mm": Shown("in", 1 / CM_PER_IN / 10),
    "°C": Shown("°F", 1.8, 32.0),
}


_units: ContextVar[Units] = ContextVar("units", default="metric")


@contextmanager
def using(units: Units) -> Iterator[None]:
    """Show tables in these units for as long as the context lasts."""
    token = _units.set(units)
    try:
        yield
    finally:
        _units.reset(token)


def current() -> Units:
    """Return the units that tables are shown in now."""
    return _units.get()


def customary(unit: str) -> Shown | None:
    """Return how a unit is shown in US customary units, None where it is the same there."""
    if OF_DRY_WEIGHT in unit:
        return _customary_dry(unit)
    if unit in CUSTOMARY:
        return CUSTOMARY[unit]
    if unit.endswith("/g"):  # a cost of a gram, in any currency
        return Shown(f"{unit[:-2]}/oz", G_PER_OZ)
    if unit.startswith("g/"):  # what a unit of currency grew
        return Shown(f"oz/{unit[2:]}", 1 / G_PER_OZ)
    return None


def _customary_dry(unit: str) -> Shown | None:
    """Return how a unit of dry weight, such as `g dry/L`, is shown in US customary units."""
    shown = customary(unit.replace(OF_DRY_WEIGHT, ""))
    if shown is None:
        return None
    return shown._replace(unit=re.sub(UNIT_OF_WEIGHT, rf"\g<0>{OF_DRY_WEIGHT}", shown.unit, count=1))


def displayed(found: Sequence[MeasureResult], units: Units) -> list[MeasureResult]:
    """Return results in the units of display; with both, each in customary units stands below itself in metric."""
    if units == "metric":
        return list(found)
    shown: list[MeasureResult] = []
    for result in found:
        other = customary(result.measure.unit)
        shown += [result] if other is None or units == "both" else []
        shown += [_converted(result, other)] if other else []
    return shown


def _converted(result: MeasureResult, shown: Shown) -> MeasureResult:
    measure = result.measure
    return replace(
        result,
        measure=replace(measure, unit=shown.unit),
        estimates=tuple((code, _estimate(each, shown)) for code, each in result.estimates),
        comparisons=tuple((code, _comparison(each, shown)) for code, each in result.comparisons),
        scores=tuple((tray, score * shown.factor + shown.offset) for tray, score in result.scores),
    )


def _estimate(estimate: Estimate, shown: Shown) -> Estimate:
    value, low, high = (
        None if one is None else one * shown.factor + shown.offset
        for one in (estimate.value, estimate.low, estimate.high)
    )
    error = None if estimate.standard_error is None else estimate.standard_error * shown.factor
    return replace(estimate, value=value, low=low, high=high, standard_error=error)


def _comparison(comparison: Comparison, shown: Shown) -> Comparison:
    """Return a comparison whose difference is in the unit of display: a difference has no offset, a ratio no unit."""
    differences = comparison.difference, comparison.difference_low, comparison.difference_high
    difference, low, high = (None if one is None else one * shown.factor for one in differences)
    return replace(comparison, difference=difference, difference_low=low, difference_high=high)
