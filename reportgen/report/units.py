"""Units and labels of display: figures in metric units, in US customary ones, or in both.

Results are kept by the gram, as they are computed; a reader has them by the kilogram or by the
pound.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace
from typing import Final, Literal, NamedTuple

from reportgen.language import OF_DRY_WEIGHT, UNIT_OF_WEIGHT, marked
from reportgen.model.results import Comparison, Estimate, Measure, MeasureResult
from reportgen.model.settings import Units

# Exact: international yard and pound agreement of 1959; US gallon of 231 cubic inches (NIST
# Handbook 44, appendix C).
G_PER_OZ: Final = 28.349523125
OZ_PER_LB: Final = 16.0
L_PER_GAL: Final = 3.785411784
CM_PER_IN: Final = 2.54
G_PER_LB: Final = G_PER_OZ * OZ_PER_LB
G_PER_KG: Final = 1000.0


class Shown(NamedTuple):
    """A unit of display: a value in it is the value in the kept unit x `factor` + `offset`."""

    unit: str
    factor: float
    offset: float = 0.0


class Mass(NamedTuple):
    """A mass of crop: its symbol, its name in a sentence, and how many grams it is."""

    symbol: Literal["kg", "lb"]
    name: str
    grams: float


KILOGRAM: Final = Mass("kg", marked("kilogram"), G_PER_KG)
POUND: Final = Mass("lb", marked("pound"), G_PER_LB)
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
BY_KILOGRAM: Final = {"mL/g": Shown("L/kg", 1.0)}
# What measures are called where they are shown, by their labels; the others are called by their
# labels.
CALLED: Final[Mapping[str, str]] = {
    "Yield per plant started": marked("Yield per plant planted"),
    "Dry yield per plant started": marked("Dry yield per plant planted"),
}
CALLED_BY_KILOGRAM: Final[Mapping[str, str]] = {
    "Water per gram of fresh weight": marked("Water per kilogram of fresh weight"),
    "Water per gram of dry weight": marked("Water per kilogram of dry weight"),
    "Water per gram of marketable weight": marked("Water per kilogram of marketable weight"),
    "Electricity cost per gram of fresh weight": marked(
        "Electricity cost per kilogram of fresh weight"
    ),
    "Electricity cost per gram of dry weight": marked(
        "Electricity cost per kilogram of dry weight"
    ),
    "Electricity cost per gram of marketable weight": marked(
        "Electricity cost per kilogram of marketable weight"
    ),
    "Running cost per gram of fresh weight": marked("Running cost per kilogram of fresh weight"),
    "Running cost per gram of dry weight": marked("Running cost per kilogram of dry weight"),
    "Running cost per gram of marketable weight": marked(
        "Running cost per kilogram of marketable weight"
    ),
}
CALLED_BY_POUND: Final[Mapping[str, str]] = {
    "Water per gram of fresh weight": marked("Water per pound of fresh weight"),
    "Water per gram of dry weight": marked("Water per pound of dry weight"),
    "Water per gram of marketable weight": marked("Water per pound of marketable weight"),
    "Fresh weight per litre": marked("Fresh weight per US gallon"),
    "Dry weight per litre": marked("Dry weight per US gallon"),
    "Marketable weight per litre": marked("Marketable weight per US gallon"),
    "Energy per kilogram of fresh weight": marked("Energy per pound of fresh weight"),
    "Energy per kilogram of dry weight": marked("Energy per pound of dry weight"),
    "Energy per kilogram of marketable weight": marked("Energy per pound of marketable weight"),
    "Electricity cost per gram of fresh weight": marked(
        "Electricity cost per pound of fresh weight"
    ),
    "Electricity cost per gram of dry weight": marked("Electricity cost per pound of dry weight"),
    "Electricity cost per gram of marketable weight": marked(
        "Electricity cost per pound of marketable weight"
    ),
    "Running cost per gram of fresh weight": marked("Running cost per pound of fresh weight"),
    "Running cost per gram of dry weight": marked("Running cost per pound of dry weight"),
    "Running cost per gram of marketable weight": marked(
        "Running cost per pound of marketable weight"
    ),
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
        return _of_dry_weight(customary(unit.replace(OF_DRY_WEIGHT, "")))
    if unit in CUSTOMARY:
        return CUSTOMARY[unit]
    if unit.endswith("/g"):  # a cost of a gram, in any currency
        return Shown(f"{unit[:-2]}/lb", G_PER_LB)
    if unit.startswith("g/"):  # what a unit of currency grew
        return Shown(f"oz/{unit[2:]}", 1 / G_PER_OZ)
    return None


def metric(unit: str) -> Shown | None:
    """Return how a unit is shown in metric units, None where it is shown as it is kept."""
    if OF_DRY_WEIGHT in unit:
        return _of_dry_weight(metric(unit.replace(OF_DRY_WEIGHT, "")))
    if unit in BY_KILOGRAM:
        return BY_KILOGRAM[unit]
    if unit.endswith("/g"):  # a cost of a gram, in any currency
        return Shown(f"{unit[:-2]}/kg", G_PER_KG)
    return None


def mass() -> Mass:
    """Return the mass of crop that costs and prices are shown for."""
    if current() == "us":
        return POUND
    return KILOGRAM


def called(label: str, units: Units) -> str:
    """Return what a measure is called where it is shown in these units: `Water per kilogram of
    fresh weight`.
    """
    if units == "us":
        by_weight = CALLED_BY_POUND
    else:
        by_weight = CALLED_BY_KILOGRAM
    return by_weight.get(label) or CALLED.get(label, label)


def _of_dry_weight(shown: Shown | None) -> Shown | None:
    """Return a unit of display as one of dry weight, such as `g dry/L`."""
    if shown is None:
        return None
    return shown._replace(
        unit=re.sub(UNIT_OF_WEIGHT, rf"\g<0>{OF_DRY_WEIGHT}", shown.unit, count=1)
    )


def displayed(found: Sequence[MeasureResult], units: Units) -> list[MeasureResult]:
    """Return results in the units of display; with both, each in customary units stands below
    itself in metric.
    """
    shown: list[MeasureResult] = []
    for result in found:
        in_customary = customary(result.measure.unit)
        if in_customary is None or units != "us":
            shown.append(_in_metric(result))
        if in_customary is not None and units != "metric":
            shown.append(_converted(result, in_customary, "us"))
    return shown


def _in_metric(result: MeasureResult) -> MeasureResult:
    kept = Shown(result.measure.unit, 1.0)
    return _converted(result, metric(result.measure.unit) or kept, "metric")


def _converted(result: MeasureResult, shown: Shown, units: Units) -> MeasureResult:
    measure: Measure = replace(
        result.measure, label=called(result.measure.label, units), unit=shown.unit
    )
    return replace(
        result,
        measure=measure,
        estimates=tuple((code, _estimate(each, shown)) for code, each in result.estimates),
        comparisons=tuple((code, _comparison(each, shown)) for code, each in result.comparisons),
        scores=tuple((tray, score * shown.factor + shown.offset) for tray, score in result.scores),
    )


def _estimate(estimate: Estimate, shown: Shown) -> Estimate:
    value, low, high = (
        None if one is None else one * shown.factor + shown.offset
        for one in (estimate.value, estimate.low, estimate.high)
    )
    if estimate.standard_error is None:
        error = None
    else:
        error = estimate.standard_error * shown.factor
    return replace(estimate, value=value, low=low, high=high, standard_error=error)


def _comparison(comparison: Comparison, shown: Shown) -> Comparison:
    """Return a comparison whose difference is in the unit of display: a difference has no offset, a
    ratio no unit.
    """
    differences = comparison.difference, comparison.difference_low, comparison.difference_high
    difference, low, high = (None if one is None else one * shown.factor for one in differences)
    return replace(comparison, difference=difference, difference_low=low, difference_high=high)
