"""Totals of each tray with plants: what every metric is a ratio of."""

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping

import numpy as np
from numpy.typing import NDArray

from reportgen.metrics import pickings
from reportgen.metrics.energy import ENOUGH_DAYS, covered_by_meters, energy_of_treatments
from reportgen.metrics.tariff import prices
from reportgen.model.trial import Plant, SolutionEvent, Tray, Trial

GIVEN = ("fill", "top-up", "used")  # events whose volumes count as water used

FloatArray = NDArray[np.float64]
Quantity = Callable[[Trial], FloatArray]
DRY_WEIGHT = "dry_weight"


def planted(trial: Trial) -> tuple[Tray, ...]:
    """Return the trays that were started with plants; the others control for evaporation."""
    return tuple(tray for tray in trial.trays if tray.is_planted)


def treatment_by_tray(trial: Trial) -> dict[str, str]:
    """Return the treatment of each tray with plants, codes by codes, in the order of the trays."""
    return {tray.code: tray.treatment for tray in planted(trial)}


def is_one_plant_each(trial: Trial) -> bool:
    """Return whether every tray was started with one plant, so trays and plants coincide."""
    return all(tray.started_known and tray.plants_started == 1 for tray in planted(trial))


def number_of_trays(trial: Trial) -> Counter[str]:
    """Return the trays with plants of each treatment."""
    return Counter(treatment_by_tray(trial).values())


def days_grown(trial: Trial, tray: Tray) -> int:
    """Return a tray's own days from the start to its harvest."""
    return ((tray.harvested_on or trial.harvested_on) - trial.started_on).days


def by_tray(trial: Trial, totals: Mapping[str, float]) -> FloatArray:
    """Return a quantity in the order of the trays with plants, NaN for those that have none."""
    return np.array([totals.get(tray.code, np.nan) for tray in planted(trial)], dtype=float)


def _plants(trial: Trial, value: Callable[[Plant], float | None]) -> FloatArray:
    """Return the sum of a value over each tray's plants; a tray whose plants have none gives 0.

    NaN where no plant of the trial is recorded, for a tray without plants whose number is not
    known, and for one where a plant that still grows has none: the sum so far would be taken for
    the whole.
    """
    if not trial.plants:
        return by_tray(trial, {})
    sums: dict[str, float] = defaultdict(float)
    incomplete: set[str] = set()
    for plant in trial.plants:
        of_plant = value(plant)
        sums[plant.tray] += of_plant or 0.0
        if of_plant is None and plant.status == "growing":
            incomplete.add(plant.tray)
    totals: dict[str, float] = {}
    for tray in planted(trial):
        is_known = tray.started_known or tray.code in sums
        if is_known and tray.code not in incomplete:
            totals[tray.code] = sums.get(tray.code, 0.0)
    return by_tray(trial, totals)


def one(trial: Trial) -> FloatArray:
    """Return 1 for each tray."""
    return np.ones(len(planted(trial)))


def plants_started(trial: Trial) -> FloatArray:
    """Return the plants that each tray was started with, NaN where that is not known."""
    started: dict[str, float] = {}
    for tray in planted(trial):
        if tray.started_known:
            started[tray.code] = tray.plants_started
    return by_tray(trial, started)


def harvested_in(plant: Plant) -> int:
    """Return how many plants a row of plants gave to the harvest."""
    if plant.status == "harvested":
        return plant.number
    return 0


def plants_of_treatments(trial: Trial) -> tuple[dict[str, int], Counter[str]]:
    """Return the plants that each treatment was started with, and those it gave to the harvest."""
    started: dict[str, int] = defaultdict(int)
    treatment_of = treatment_by_tray(trial)
    for tray in planted(trial):
        started[tray.treatment] += tray.plants_started
    harvested = Counter[str]()
    for plant in trial.plants:
        if plant.tray in treatment_of:
            harvested[treatment_of[plant.tray]] += harvested_in(plant)
    return started, harvested


def plants_harvested(trial: Trial) -> FloatArray:
    """Return the plants harvested from each tray; NaN where some still grow."""

    def number(plant: Plant) -> float | None:
        if plant.status == "growing":
            return None
        return float(harvested_in(plant))

    return _plants(trial, number)


def weighs_plants(trial: Trial) -> bool:
    """Return whether any plant was weighed fresh, and pickings were not.

    The yield is that of one of the two.
    """
    if pickings.is_weighed(trial):
        return False
    return any(plant.fresh_weight is not None for plant in trial.plants)


def weighs_fresh(trial: Trial) -> bool:
    """Return whether any plant or picking was weighed fresh."""
    return pickings.is_weighed(trial) or weighs_plants(trial)


def fresh_weight(trial: Trial) -> FloatArray:
    """Return the fresh weight harvested from each tray, g.

    NaN where nothing of the trial was weighed fresh.

    It is that of the pickings where any was weighed, else that of the plants.
    """
    if not weighs_fresh(trial):
        return by_tray(trial, {})
    if pickings.is_weighed(trial):
        return by_tray(trial, pickings.sums(trial, pickings.weight_of))
    return _plants(trial, lambda plant: plant.fresh_weight)


def weighs_anything(trial: Trial) -> bool:
    """Return whether plants were weighed, fresh, dry or in part."""
    if weighs_fresh(trial):
        return True
    weights = []
    for position, trait in enumerate(trial.traits):
        if trait.unit == "g":
            weights.append(position)
    for plant in trial.plants:
        for position in weights:
            if plant.traits[position] is not None:
                return True
    return False


def is_harvested(trial: Trial) -> bool:
    """Return whether plants were weighed or picked, as at a harvest.

    Those with heights alone may still be alive.
    """
    return bool(trial.pickings) or weighs_anything(trial)


def fresh_weight_of_plants(trial: Trial) -> FloatArray:
    """Return the fresh weight of each tray's harvested plants, g.

    NaN where the yield is that of pickings.
    """
    if weighs_plants(trial):
        return fresh_weight(trial)
    return by_tray(trial, {})


def dry_yield(trial: Trial) -> FloatArray:
    """Return the dry weight harvested from each tray, g.

    NaN where a harvested plant was not weighed dry.
    """
    position = _position(trial, DRY_WEIGHT)
    if position is None:
        return by_tray(trial, {})
    not_weighed: set[str] = set()
    for plant in trial.plants:
        if harvested_in(plant) and plant.traits[position] is None:
            not_weighed.add(plant.tray)
    total = _plants(trial, lambda plant: plant.traits[position])
    is_known = np.array([tray.code not in not_weighed for tray in planted(trial)])
    return np.where(is_known, total, np.nan)


def _position(trial: Trial, key: str) -> int | None:
    """Return the place of a trait among those of a trial, None where it has none of that key."""
    keys = [trait.key for trait in trial.traits]
    if key in keys:
        return keys.index(key)
    return None


def dry_weight(trial: Trial) -> FloatArray:
    """Return the dry weight of each tray's plants that were weighed fresh and dry, g.

    NaN without dry weights.
    """
    return _of_dried(trial, lambda fresh, dry: dry)


def fresh_weight_of_dried(trial: Trial) -> FloatArray:
    """Return the fresh weight of each tray's plants that were weighed fresh and dry, g.

    NaN without dry weights.
    """
    return _of_dried(trial, lambda fresh, dry: fresh)


def _of_dried(trial: Trial, chosen: Callable[[float, float], float]) -> FloatArray:
    position = _position(trial, DRY_WEIGHT)
    if position is None:
        return by_tray(trial, {})

    def value(plant: Plant) -> float | None:
        dry, fresh = plant.traits[position], plant.fresh_weight
        if dry is None or fresh is None:
            return None
        return chosen(fresh, dry)

    return _plants(trial, value)


def trait_sum(position: int) -> Quantity:
    """Return the quantity that sums a trait over each tray's plants.

    position: that of the trait in `Trial.traits`.

    Of plants that were weighed together a weight is their total, anything else their mean.
    """

    def total(trial: Trial) -> FloatArray:
        if trial.traits[position].is_total:
            return _plants(trial, lambda plant: plant.traits[position])
        return _plants(trial, lambda plant: _times(plant.traits[position], plant.number))

    return total


def _times(value: float | None, number: int) -> float | None:
    if value is None:
        return None
    return value * number


def trait_count(position: int) -> Quantity:
    """Return the quantity that counts each tray's plants with a value of the trait at `position`."""
    return lambda trial: _plants(
        trial, lambda plant: plant.number * float(plant.traits[position] is not None)
    )


def water_used(trial: Trial) -> FloatArray:
    """Return the water used by each tray, L: fill + top-up - sample - drain - remaining, and what a
    meter counted.

    Unknown (NaN) where a tray has neither a meter nor a fill and a `remaining`.
    """
    return by_tray(trial, water_by_tray(trial.solution))


def water_by_tray(events: Iterable[SolutionEvent]) -> dict[str, float]:
    """Return the water used, L, of trays with a fill and a remaining, or with a meter."""
    kinds: dict[str, set[str]] = defaultdict(set)
    used: dict[str, float] = defaultdict(float)
    for event in events:
        kinds[event.tray].add(event.kind)
        if event.kind in GIVEN:
            used[event.tray] += event.volume
        else:
            used[event.tray] -= event.volume
    known: dict[str, float] = {}
    for tray, volume in used.items():
        if is_water_use_known(kinds[tray]):
            known[tray] = volume
    return known


def is_water_use_known(kinds: Collection[str]) -> bool:
    """Tell whether events of these kinds tell how much water a tray used."""
    return "used" in kinds or {"fill", "remaining"} <= set(kinds)


def energy(trial: Trial) -> FloatArray:
    """Return the treatment's energy divided by its trays, kWh, for each tray.

    Unknown (NaN) where no meter counted it and no devices are listed, or where meters missed more
    than `ENOUGH_DAYS` allows of the trial.
    """
    covered = covered_by_meters(trial)
    numbers = number_of_trays(trial)
    per_tray: dict[str, float] = {}
    for code, share in energy_of_treatments(trial).items():
        if covered[code] >= ENOUGH_DAYS and numbers[code]:
            per_tray[code] = share.total / numbers[code]
    totals: dict[str, float] = {}
    for tray in planted(trial):
        if tray.treatment in per_tray:
            totals[tray.code] = per_tray[tray.treatment]
    return by_tray(trial, totals)


def electricity_cost(trial: Trial) -> FloatArray:
    """Return the cost of each tray's energy in the trial's currency; NaN without a price."""
    price = prices(trial)
    of_trays = [price.get(tray.treatment, np.nan) for tray in planted(trial)]
    cost: FloatArray = energy(trial) * np.array(of_trays)
    return cost
