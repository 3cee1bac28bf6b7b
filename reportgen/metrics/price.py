"""What a gram costs at other prices of electricity, and when dearer equipment has paid for itself."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from reportgen.metrics.cost import ELECTRICITY, cost_components, running_cost
from reportgen.metrics.design import question_of
from reportgen.metrics.energy import days_of, is_partly_shared, is_shared
from reportgen.metrics.instruments import no_errors
from reportgen.metrics.totals import (
    FloatArray,
    electricity_cost,
    fresh_weight,
    planted,
    treatment_by_tray,
)
from reportgen.model.results import Comparison, MeasureResult
from reportgen.model.trial import Trial
from reportgen.stats.intersections import Line
from reportgen.stats.log_scale import Denominator, compare_ratios

Measures = Mapping[str, MeasureResult]

GRAMS_PER_KG = 1000.0


@dataclass(frozen=True)
class Payback:
    """How a treatment's dearer equipment pays for itself against the reference's, a tray.

    `extra` is what its equipment costs more, `saving` what a day's harvest costs less without
    equipment, both in the trial's currency; `days` of growing at the trial's yield pay for it, with
    their interval. `lasts` is how many days its shortest-lived part lasts at the trial's hours of
    use.
    """

    treatment: str
    extra: float
    saving: float
    days: float
    days_low: float
    days_high: float
    lasts: float


def costs_of_gram(trial: Trial, measures: Measures) -> tuple[Line, ...]:
    """Return each treatment's cost of a gram by the price of electricity.

    Its energy must be known and compared.

    A line starts at the costs beside electricity and rises by the kWh of a gram; a treatment for
    which one of these costs is not known is left out.
    """
    if "energy_per_kg" not in measures:
        return ()
    result = measures["energy_per_kg"]
    if all(comparison.ratio is None for _, comparison in result.comparisons):
        return ()
    energy = {code: estimate.value for code, estimate in result.estimates}
    fixed = _fixed(trial, measures)
    lines: list[Line] = []
    for code, per_kg in energy.items():
        if per_kg is not None and code in fixed:
            lines.append(Line(code, fixed[code], per_kg / GRAMS_PER_KG))
    return tuple(lines)


def _fixed(trial: Trial, measures: Measures) -> dict[str, float]:
    """Return each treatment's cost of a gram without electricity, where all its parts are known."""
    weights = {code: estimate.value for code, estimate in measures["tray_yield"].estimates}
    fixed: dict[str, float] = {}
    for code, parts in cost_components(trial).items():
        costs = [part.per_tray for part in parts if part.name != ELECTRICITY]
        known = [cost for cost in costs if cost is not None]
        weight = weights.get(code)
        if weight and len(known) == len(costs):
            fixed[code] = sum(known) / weight
    return fixed


def per_gram(cost: float | None, grams: float | None) -> float | None:
    """Return what of a tray's cost falls on each of its grams.

    None where one of the two is not known.
    """
    if cost is not None and grams:
        return cost / grams
    return None


def paybacks(trial: Trial) -> tuple[Payback, ...]:
    """Return simple paybacks of equipment that costs more and surely lowers the harvest's cost.

    Simple: without interest, at the trial's yield and prices. Equipment is what has a life on the
    sheet Costs. A treatment whose saving may be nothing, by its interval, has no payback.
    """
    if is_shared(trial) or is_partly_shared(trial):
        return ()
    running = _without_equipment(trial)
    compared = compare_ratios(
        running, fresh_weight(trial), question_of(trial), Denominator.MEASURED, no_errors(trial)
    )
    own = equipment(trial)
    found: list[Payback] = []
    for treatment, comparison in zip(trial.treatments, compared, strict=True):
        extra = own.get(treatment.code, 0.0) - own.get(trial.reference, 0.0)
        if comparison is None or extra <= 0:
            continue
        payback = _payback(trial, treatment.code, extra, comparison)
        found += [payback] if payback else []
    return tuple(found)


def _payback(trial: Trial, code: str, extra: float, compared: Comparison) -> Payback | None:
    """Return when extra cost is paid back.

    compared: cost of a gram without equipment, to the reference's.
    """
    ratio, low, high = compared.ratio, compared.ratio_low, compared.ratio_high
    if ratio is None or low is None or high is None or high >= 1:
        return None
    is_own = np.array([tray.treatment == code for tray in planted(trial)])
    a_day = float(np.nanmean(_without_equipment(trial)[is_own])) / days_of(trial)
    saving, least, most = (a_day * (1 / each - 1) for each in (ratio, high, low))
    return Payback(
        code, extra, saving, extra / saving, extra / most, extra / least, _lasts(trial, code)
    )


def _without_equipment(trial: Trial) -> FloatArray:
    """Return what each tray costs to run, its share of equipment left out, in the trial's currency."""
    consumables = replace(trial, costs=tuple(cost for cost in trial.costs if cost.life is None))
    has_others = bool(consumables.costs) or trial.water_price is not None
    if has_others:
        return running_cost(consumables)
    return electricity_cost(consumables)


def _lasts(trial: Trial, code: str) -> float:
    """Return for how many days the shortest-lived equipment of a treatment lasts.

    Infinite where it is not used.
    """
    own = []
    for cost in trial.costs:
        if cost.treatment == code and cost.life and cost.hours_used:
            own.append(cost)
    return min(
        (days_of(trial) * (cost.life or 0.0) / (cost.hours_used or 1.0) for cost in own),
        default=inf,
    )


def equipment(trial: Trial) -> dict[str, float]:
    """Return what the equipment of each treatment cost, a tray.

    What all share cancels and is left out.
    """
    trays = list(treatment_by_tray(trial).values())
    paid: dict[str, float] = {}
    for cost in trial.costs:
        if cost.life is not None and cost.treatment in trays:
            paid[cost.treatment] = paid.get(cost.treatment, 0.0) + cost.cost / trays.count(
                cost.treatment
            )
    return paid
