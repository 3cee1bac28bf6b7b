"""Does it pay: the partial budget of each treatment against the reference, and the crop price at
which it breaks even.

Partial budget: CIMMYT (1988), From Agronomic Data to Farmer Recommendations: added revenue less
added cost, a tray.
"""

from dataclasses import replace
from typing import Literal

import numpy as np

from reportgen.metrics.cost import running_cost
from reportgen.metrics.design import design_of
from reportgen.metrics.energy import is_partly_shared, is_shared
from reportgen.metrics.harvests import marketable_pieces, marketable_weight
from reportgen.metrics.pickings import is_graded
from reportgen.metrics.totals import (
    FloatArray,
    by_tray,
    electricity_cost,
    fresh_weight,
    plants_harvested,
)
from reportgen.model.results import MoneyResult
from reportgen.model.trial import Trial
from reportgen.stats.analysis import Design
from reportgen.stats.break_even import (
    Added,
    TrayMoney,
    added_independent,
    added_paired,
    break_even,
    partial_budget,
)
from reportgen.stats.log_scale import FEW_UNITS
from reportgen.stats.scores import IntArray

GRAMS_PER_KG = 1000.0


def money(trial: Trial) -> tuple[MoneyResult, ...]:
    """Return each treatment's added cost and crop, margin and break-even price.

    Money is a tray's; the crop is in kilograms, or in plants where it is sold by the piece. A
    treatment whose cost is not known, or that a shared meter hides, has none.
    """
    costs = _costs(trial)
    crop = _crop(trial)
    found: list[MoneyResult] = []
    for treatment in trial.treatments:
        if treatment.code == trial.reference:
            continue
        added = _added(trial, costs, crop, treatment.code)
        if added is not None:
            found.append(_result(trial, treatment.code, added))
    return tuple(found)


def sold_by(trial: Trial) -> Literal["kg", "piece"]:
    """Return the unit that the crop is sold by: kg, or piece where the workbook says so."""
    if trial.produce_price is None:
        return "kg"
    return trial.produce_price.per


def _costs(trial: Trial) -> FloatArray:
    """Return the cost of each tray: all running costs, or electricity where that is all there is.

    Energy of a meter that treatments share is nobody's own, so it tells no added cost.
    """
    if is_shared(trial) or is_partly_shared(trial):
        return by_tray(trial, {})
    has_others = bool(trial.costs) or trial.water_price is not None
    if has_others:
        return running_cost(trial)
    return electricity_cost(trial)


def _crop(trial: Trial) -> FloatArray:
    """Return what each tray has to sell: kg or pieces, without culls where pickings were graded."""
    if sold_by(trial) == "piece":
        if trial.pickings:
            return marketable_pieces(trial)
        return plants_harvested(trial)
    if is_graded(trial):
        weight = marketable_weight(trial)
    else:
        weight = fresh_weight(trial)
    return weight / GRAMS_PER_KG


def _added(trial: Trial, costs: FloatArray, crop: FloatArray, code: str) -> Added | None:
    """Return what a treatment adds a tray, None where cost or crop of a tray is not known."""
    design = design_of(trial)
    codes = trial.treatment_codes
    treated = np.flatnonzero(design.treatment == codes.index(code))
    reference = np.flatnonzero(design.treatment == design.reference)
    known = np.isfinite(costs) & np.isfinite(crop)
    if not treated.size or not reference.size or not known[[*treated, *reference]].all():
        return None
    pairs = _pairs(design, treated, reference)
    if pairs is not None:
        treated, reference = pairs
        return added_paired(
            TrayMoney(costs[treated], crop[treated]), TrayMoney(costs[reference], crop[reference])
        )
    is_few = min(treated.size, reference.size) <= FEW_UNITS
    variances = trial.variances or ("pooled" if is_few else "separate")
    both = TrayMoney(costs[treated], crop[treated]), TrayMoney(costs[reference], crop[reference])
    return added_independent(*both, variances)


def _pairs(
    design: Design, treated: IntArray, reference: IntArray
) -> tuple[IntArray, IntArray] | None:
    """Return both treatments' trays in order of blocks.

    None unless each block holds one of each.
    """
    if design.block is None:
        return None
    first = treated[np.argsort(design.block[treated])]
    second = reference[np.argsort(design.block[reference])]
    blocks = design.block[first]
    is_paired = first.size == second.size and bool((blocks == design.block[second]).all())
    if is_paired and np.unique(blocks).size == blocks.size:
        return (first, second)
    return None


def _result(trial: Trial, code: str, added: Added) -> MoneyResult:
    level = _level_of_each(trial)
    even = break_even(added, level)
    found = MoneyResult(
        code,
        added_cost=added.cost,
        added_yield=added.crop,
        yield_unit=sold_by(trial),
        yield_of="marketable" if is_graded(trial) else "all",
        break_even_price=even.price,
        break_even_low=even.low,
        break_even_high=even.high,
        direction=even.direction,
        prices=even.kind,
    )
    if trial.produce_price is None:
        return found
    budget = partial_budget(added, trial.produce_price.amount, level)
    return replace(
        found,
        price=trial.produce_price.amount,
        margin=budget.margin,
        margin_low=budget.low,
        margin_high=budget.high,
        pays=budget.pays,
    )


def _level_of_each(trial: Trial) -> float:
    """Return the level of single limits that hold together at the trial's level.

    Dunn (1961), J. Am. Stat. Assoc. 56:52-64 (Bonferroni's inequality); with two treatments it is
    the trial's level.
    """
    comparisons = max(len(trial.treatments) - 1, 1)
    return 1 - (1 - trial.confidence_level) / comparisons
