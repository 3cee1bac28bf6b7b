"""Running cost: electricity, water where it has a price, and what else was paid."""

from collections import defaultdict
from collections.abc import Iterable
from math import isfinite, nan
from typing import NamedTuple

import numpy as np

from reportgen.metrics.totals import (
    FloatArray,
    by_tray,
    electricity_cost,
    number_of_trays,
    planted,
    water_used,
)
from reportgen.model.trial import Cost, Trial
from reportgen.stats.comparisons import joined

ELECTRICITY = "electricity"
WATER = "water"
WATER_LEFT_OUT = "water is not counted: it has no price"
NO_ELECTRICITY_COST = "the cost of its electricity is not known for the whole trial"
NO_WATER_COST = "the water of none of its trays is known"
NO_HOURS = "the hours of use of what it used are not given"
WEIGHTS_ONLY = "electricity and other costs are one figure for the treatment, so the interval tells of the trays' "


class CostComponent(NamedTuple):
    """A part of the cost of a tray, in the trial's currency; None where it is not known."""

    name: str
    per_tray: float | None


def running_cost(trial: Trial) -> FloatArray:
    """Return the running cost of each tray in the trial's currency.

    Unknown (NaN) where a part is not known, and for every tray where there is nothing beside electricity.
    """
    if not trial.costs and trial.water_price is None:
        return by_tray(trial, {})
    other = {code: sum(_or_nan(each.per_tray) for each in found) for code, found in _other_costs(trial).items()}
    costs = by_tray(trial, {tray.code: other.get(tray.treatment, 0.0) for tray in planted(trial)})
    return electricity_cost(trial) + water_cost(trial) + costs


def water_cost(trial: Trial) -> FloatArray:
    """Return the cost of each tray's water in the trial's currency: 0 without a price, NaN where use is not known."""
    if trial.water_price is None:
        return np.zeros(len(planted(trial)))
    return water_used(trial) * trial.water_price


def cost_components(trial: Trial) -> dict[str, tuple[CostComponent, ...]]:
    """Return the parts of each treatment's cost of a tray: electricity, water if it has a price, each item.

    Electricity and water are means over the trays for which they are known. Treatments that do not pay for an item
    lack it; rows of one item are one part.
    """
    metered = _mean_by_treatment(trial, electricity_cost(trial))
    water = _mean_by_treatment(trial, water_cost(trial))
    other = _other_costs(trial)
    return {
        code: (
            CostComponent(ELECTRICITY, metered[code]),
            *([] if trial.water_price is None else [CostComponent(WATER, water[code])]),
            *other.get(code, ()),
        )
        for code in metered
    }


def _mean_by_treatment(trial: Trial, costs: FloatArray) -> dict[str, float | None]:
    found: dict[str, list[float]] = {treatment.code: [] for treatment in trial.treatments}
    for tray, cost in zip(planted(trial), costs.tolist(), strict=True):
        found[tray.treatment] += [cost] if isfinite(cost) else []
    return {code: sum(known) / len(known) if known else None for code, known in found.items()}


def _other_costs(trial: Trial) -> dict[str, tuple[CostComponent, ...]]:
    """Return what each treatment paid for a tray, item by item; what all share goes out by trays."""
    trays = number_of_trays(trial)
    paid: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for cost in trial.costs:
        bearers = [cost.treatment] if cost.treatment is not None else list(trays)
        share = sum(trays[code] for code in bearers)
        for code in bearers:
            paid[code][cost.item] += borne(cost) / share if share else nan
    return {code: tuple(_component(*part) for part in items.items()) for code, items in paid.items()}


def borne(cost: Cost) -> float:
    """Return what the trial bears of a cost: all of it, or cost x hours used / life of equipment; NaN without hours."""
    if cost.life is None:
        return cost.cost
    return nan if cost.hours_used is None else cost.cost * cost.hours_used / cost.life


def _component(name: str, per_tray: float) -> CostComponent:
    return CostComponent(name, per_tray if isfinite(per_tray) else None)


def _or_nan(value: float | None) -> float:
    return nan if value is None else value


def notes_of_running_cost(trial: Trial) -> dict[str, str]:
    """Return, for each treatment, what is in its running cost and what is not, or why the cost is not known."""
    return {code: _note(trial, components) for code, components in cost_components(trial).items()}


def _note(trial: Trial, components: Iterable[CostComponent]) -> str:
    unknown = {part.name for part in components if part.per_tray is None}
    if unknown:
        reasons = {ELECTRICITY: NO_ELECTRICITY_COST, WATER: NO_WATER_COST}
        return joined(*(reasons.get(part.name, NO_HOURS) for part in components if part.name in unknown))
    has_water = trial.water_price is not None
    held = _listed(ELECTRICITY, WATER if has_water else "", _counted(sum(1 for _ in components) - 1 - has_water))
    spread = f"{WEIGHTS_ONLY}{'weights and water' if has_water else 'weights'} only"
    return joined(f"counts {held}", "" if has_water else WATER_LEFT_OUT, spread)


def _counted(items: int) -> str:
    return f"{items} other {'cost' if items == 1 else 'costs'}" if items else ""


def _listed(*parts: str) -> str:
    return " and ".join(", ".join(part for part in parts if part).rsplit(", ", 1))
