"""Running cost: electricity, water where it has a price, and what else was paid."""

from collections import defaultdict
from collections.abc import Sequence
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
from reportgen.model.message import Count, Notes, Several, Term, Value, joined, note
from reportgen.model.trial import Cost, Trial

ELECTRICITY = "electricity"
WATER = "water"
WATER_LEFT_OUT = note("water_left_out")
NO_ELECTRICITY_COST = note("no_electricity_cost")
NO_WATER_COST = note("no_water_cost")
NO_HOURS = note("no_hours")
COSTS_ARE_ONE_FIGURE = note("costs_are_one_figure")
COSTS_ARE_ONE_FIGURE_BUT_WATER = note("costs_are_one_figure_but_water")


class CostComponent(NamedTuple):
    """A part of the cost of a tray, in the trial's currency; None where it is not known."""

    name: str
    per_tray: float | None


def running_cost(trial: Trial) -> FloatArray:
    """Return the running cost of each tray in the trial's currency.

    Unknown (NaN) where a part is not known, and for every tray where there is nothing beside
    electricity.
    """
    if not trial.costs and trial.water_price is None:
        return by_tray(trial, {})
    other: dict[str, float] = {}
    for code, components in _other_costs(trial).items():
        other[code] = sum(_or_nan(component.per_tray) for component in components)
    costs = by_tray(trial, {tray.code: other.get(tray.treatment, 0.0) for tray in planted(trial)})
    return electricity_cost(trial) + water_cost(trial) + costs


def water_cost(trial: Trial) -> FloatArray:
    """Return the cost of each tray's water in the trial's currency: 0 without a price.

    NaN where use is not known.
    """
    if trial.water_price is None:
        return np.zeros(len(planted(trial)))
    return water_used(trial) * trial.water_price


def cost_components(trial: Trial) -> dict[str, tuple[CostComponent, ...]]:
    """Return the parts of each treatment's cost of a tray.

    Electricity, water if it has a price, each item.

    Electricity and water are means over the trays for which they are known. Treatments that do not
    pay for an item lack it; rows of one item are one part.
    """
    electricity = _mean_by_treatment(trial, electricity_cost(trial))
    water = _mean_by_treatment(trial, water_cost(trial))
    other = _other_costs(trial)
    components: dict[str, tuple[CostComponent, ...]] = {}
    for code, cost in electricity.items():
        components[code] = (CostComponent(ELECTRICITY, cost),)
        if trial.water_price is not None:
            components[code] += (CostComponent(WATER, water[code]),)
        components[code] += other.get(code, ())
    return components


def _mean_by_treatment(trial: Trial, costs: FloatArray) -> dict[str, float | None]:
    known: dict[str, list[float]] = defaultdict(list)
    for tray, cost in zip(planted(trial), costs.tolist(), strict=True):
        if isfinite(cost):
            known[tray.treatment].append(cost)
    means: dict[str, float | None] = {treatment.code: None for treatment in trial.treatments}
    for code, of_trays in known.items():
        means[code] = sum(of_trays) / len(of_trays)
    return means


def _other_costs(trial: Trial) -> dict[str, tuple[CostComponent, ...]]:
    """Return what each treatment paid for a tray, item by item; what all share goes out by trays."""
    trays = number_of_trays(trial)
    paid: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for cost in trial.costs:
        if cost.treatment is not None:
            bearers = [cost.treatment]
        else:
            bearers = list(trays)
        share = sum(trays[code] for code in bearers)
        for code in bearers:
            if share:
                paid[code][cost.item] += borne(cost) / share
            else:
                paid[code][cost.item] = nan
    components: dict[str, tuple[CostComponent, ...]] = {}
    for code, items in paid.items():
        components[code] = tuple(_component(*part) for part in items.items())
    return components


def borne(cost: Cost) -> float:
    """Return what the trial bears of a cost: all of it, or cost x hours used / life of equipment.

    NaN without hours.
    """
    if cost.life is None:
        return cost.cost
    if cost.hours_used is None:
        return nan
    return cost.cost * cost.hours_used / cost.life


def _component(name: str, per_tray: float) -> CostComponent:
    if isfinite(per_tray):
        return CostComponent(name, per_tray)
    return CostComponent(name, None)


def _or_nan(value: float | None) -> float:
    if value is None:
        return nan
    return value


def notes_of_running_cost(trial: Trial) -> dict[str, Notes]:
    """Return what each treatment's running cost includes, or why it is not known."""
    notes: dict[str, Notes] = {}
    for code, components in cost_components(trial).items():
        notes[code] = _notes(trial, components)
    return notes


def _notes(trial: Trial, components: Sequence[CostComponent]) -> Notes:
    unknown = [part.name for part in components if part.per_tray is None]
    if unknown:
        reasons = {ELECTRICITY: NO_ELECTRICITY_COST, WATER: NO_WATER_COST}
        return joined(*(reasons.get(name, NO_HOURS) for name in unknown))
    has_water = trial.water_price is not None
    costs = _counted(components, has_water)
    if has_water:
        return joined(costs, COSTS_ARE_ONE_FIGURE_BUT_WATER)
    return joined(costs, WATER_LEFT_OUT, COSTS_ARE_ONE_FIGURE)


def _counted(components: Sequence[CostComponent], has_water: bool) -> Notes:
    """Return what is counted: electricity, water where it has a price, and how many other costs."""
    parts: list[Value] = [Term(ELECTRICITY)]
    if has_water:
        parts.append(Term(WATER))
    others = len(components) - len(parts)
    if others:
        parts.append(Count(others, "other cost"))
    return note("counts_costs", costs=Several(tuple(parts)))
