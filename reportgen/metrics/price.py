"""What a gram costs at other prices of electricity, and when dearer equipment has paid for itself."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from reportgen.metrics.cost import ELECTRICITY, borne, cost_components
from reportgen.metrics.energy import days_of
from reportgen.metrics.tariff import prices
from reportgen.metrics.totals import planted
from reportgen.model.results import MeasureResult
from reportgen.model.trial import Trial
from reportgen.stats.crossings import Line

Measures = Mapping[str, MeasureResult]

GRAMS_PER_KG = 1000.0


@dataclass(frozen=True)
class Payback:
    """How a treatment's dearer equipment pays for itself against the reference's, a tray.

    `extra` is what its equipment costs more, `saving` what a day's harvest costs less without equipment, both in the
    trial's currency; `days` of growing at the trial's yield pay for it: None where it never does. `lasts` is how many
    days its shortest-lived part lasts at the trial's hours of use.
    """

    treatment: str
    extra: float
    saving: float
    days: float | None
    lasts: float


def costs_of_gram(trial: Trial, measures: Measures) -> tuple[Line, ...]:
    """Return what a gram costs each treatment whose energy is known and compared, by the price of electricity.

    A line starts at the costs beside electricity and rises by the kWh of a gram; a treatment for which one of these
    costs is not known is left out.
    """
    if "energy_per_kg" not in measures or all(each.ratio is None for _, each in measures["energy_per_kg"].comparisons):
        return ()
    energy = {code: each.value for code, each in measures["energy_per_kg"].estimates}
    fixed = _fixed(trial, measures)
    return tuple(
        Line(code, fixed[code], per_kg / GRAMS_PER_KG)
        for code, per_kg in energy.items()
        if per_kg is not None and code in fixed
    )


def _fixed(trial: Trial, measures: Measures) -> dict[str, float]:
    """Return each treatment's cost of a gram without electricity, where all its parts are known."""
    weights = {code: each.value for code, each in measures["tray_yield"].estimates}
    found: dict[str, float] = {}
    for code, parts in cost_components(trial).items():
        others = [part.per_tray for part in parts if part.name != ELECTRICITY]
        weight = weights.get(code)
        known = [part for part in others if part is not None]
        if weight and len(known) == len(others):
            found[code] = sum(known) / weight
    return found


def per_gram(cost: float | None, grams: float | None) -> float | None:
    """Return what of a tray's cost falls on each of its grams, None where one of the two is not known."""
    return cost / grams if cost is not None and grams else None


def paybacks(trial: Trial, measures: Measures) -> tuple[Payback, ...]:
    """Return the simple payback of each treatment whose equipment costs more than the reference's.

    Simple: without interest, at the trial's yield and prices. Equipment is what has a life on the sheet Costs. Only
    where energy is compared and has a price.
    """
    price = prices(trial)
    costs = {one.name: one for one in costs_of_gram(trial, measures) if one.name in price}
    running = {code: one.at(price[code]) - _wear(trial, measures, code) for code, one in costs.items()}
    if trial.reference not in running:
        return ()
    own = equipment(trial)
    return tuple(
        _payback(trial, measures, code, (extra, running[trial.reference] - running[code]))
        for code in running
        if (extra := own.get(code, 0.0) - own.get(trial.reference, 0.0)) > 0
    )


def _payback(trial: Trial, measures: Measures, code: str, difference: tuple[float, float]) -> Payback:
    extra, per_gram = difference
    weight = {code: each.value or 0.0 for code, each in measures["tray_yield"].estimates}[code]
    saving = per_gram * weight / days_of(trial)
    return Payback(code, extra, saving, extra / saving if saving > 0 else None, _lasts(trial, code))


def _lasts(trial: Trial, code: str) -> float:
    """Return for how many days the shortest-lived equipment of a treatment lasts, infinite where it is not used."""
    own = [cost for cost in trial.costs if cost.treatment == code and cost.life and cost.hours_used]
    return min((days_of(trial) * (cost.life or 0.0) / (cost.hours_used or 1.0) for cost in own), default=inf)


def equipment(trial: Trial) -> dict[str, float]:
    """Return what the equipment of each treatment cost, a tray; what all share cancels and is left out."""
    trays = [tray.treatment for tray in planted(trial)]
    paid: dict[str, float] = {}
    for cost in trial.costs:
        if cost.life is not None and cost.treatment in trays:
            paid[cost.treatment] = paid.get(cost.treatment, 0.0) + cost.cost / trays.count(cost.treatment)
    return paid


def _wear(trial: Trial, measures: Measures, code: str) -> float:
    """Return what of a treatment's own equipment is in its cost of a gram, which payback counts as bought."""
    trays = [tray.treatment for tray in planted(trial)]
    weight = {code: each.value or 0.0 for code, each in measures["tray_yield"].estimates}[code]
    worn = sum(borne(cost) for cost in trial.costs if cost.life is not None and cost.treatment == code)
    return worn / trays.count(code) / weight if weight else 0.0
