"""Planning the next trial: how many trays show a wanted difference, and what more plants a tray can
help.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Final, Literal

import numpy as np

from reportgen.metrics.blocks import is_blocked
from reportgen.metrics.totals import planted, treatment_by_tray
from reportgen.model.trial import Plant, Tray, Trial
from reportgen.stats.additive import AdditiveFit, fit_additive
from reportgen.stats.components import VarianceComponents, components
from reportgen.stats.power import (
    Aim,
    Layout,
    Spread,
    assurance,
    smallest_difference,
    typed_spread,
    units_needed,
)
from reportgen.stats.scores import IntArray

TRAYS: Final = (2, 3, 4, 5, 6, 8, 10, 12)
DOUBLED: Final = 2  # more plants a tray, to show how little or much they help
TYPICAL_BETWEEN: Final = 0.10  # common practice: our own figure for trays on one well-kept bench
# Single lettuce plants in a plastic greenhouse, winter, 31.88%: "Uniformity trial size in estimates
# of plot size in restrict areas", Revista Ciência Agronômica 46 (2015), SciELO
# S1806-66902015000300597
TYPICAL_WITHIN: Final = 0.32
TYPICAL_DEGREES: Final = 6  # taken to be as unsure as if learnt from one trial of four trays a side

Source = Literal["learnt", "typed", "typical"]


@dataclass(frozen=True)
class Variation:
    """How fresh weights vary, on the logarithmic scale, and where that is known from.

    `blocked`: blocks are taken out of the variation between trays. `trials` counts those that it
    was learnt from.
    """

    spread: Spread
    source: Source
    blocked: bool = False
    trials: int = 0


@dataclass(frozen=True)
class FactorToPlan:
    """A factor of a planned trial.

    Its name, the number of its levels, how it was typed, whether levels are doses.
    """

    name: str
    levels: int
    typed: str
    is_dose: bool = False


@dataclass(frozen=True)
class PowerTarget:
    """The relative difference, power, level and layout that a trial is planned for.

    `plants` stand in a tray. The first treatment is the reference; with blocks each holds one tray
    of each treatment. With `factors` the treatments are all combinations of their levels, and the
    difference is one between levels of the factor at the place `effect`, averaged over the other.
    """

    difference: float
    plants: int = 6
    power: float = 0.8
    level: float = 0.95
    treatments: tuple[str, ...] = ("reference", "treatment")
    blocked: bool = False
    factors: tuple[FactorToPlan, ...] = ()
    effect: int = 0

    def aim(self, plants: float) -> Aim:
        """Return the aim for trays of another number of plants."""
        levels = tuple(factor.levels for factor in self.factors)
        layout = Layout(len(self.treatments), self.blocked, levels, self.effect)
        return Aim(self.power, 1 - self.level, layout, plants)


@dataclass(frozen=True)
class PlanRow:
    """The smallest relative difference shown by `trays`, and with twice the plants a tray."""

    trays: int
    smallest: float | None
    with_twice: float | None


@dataclass(frozen=True)
class TrialPlan:
    """Trays a treatment that show the target: as it is, with twice the plants, with endless ones.

    None: too many.

    `chance` is that of showing the difference with the trays needed, averaged over what the
    variation may be. `share_between` is the part of the variance of a tray's mean that more plants
    cannot lessen.
    """

    needed: int | None
    chance: float | None
    needed_with_twice: int | None
    needed_with_endless: int | None
    share_between: float | None
    rows: tuple[PlanRow, ...]


def plans_of_factors(
    variation: Variation, target: PowerTarget
) -> tuple[tuple[PowerTarget, TrialPlan], ...]:
    """Return the plan for the effect of each factor, that which needs the most trays first.

    Raises ValueError where nothing varies.
    """
    targets = [replace(target, effect=place) for place in range(len(target.factors))]
    plans = [(of_factor, plan(variation, of_factor)) for of_factor in targets]
    return tuple(sorted(plans, key=lambda pair: -(pair[1].needed or inf)))


def typed_variation(between: float, within: float) -> Variation:
    """Return typed coefficients of variation, as fractions, taken as known."""
    return Variation(typed_spread(between, within), "typed")


def typical_variation(plants: int) -> Variation:
    """Return what trays of leafy crops vary by, for a first trial.

    As unsure as one small trial would leave it.
    """
    typed = typed_spread(TYPICAL_BETWEEN, TYPICAL_WITHIN)
    spread = Spread(typed.of_mean(plants), plants, typed.within, TYPICAL_DEGREES)
    return Variation(spread, "typical")


def variation_of(trial: Trial, blocked: bool) -> Variation | None:
    """Return how the fresh weights of a trial varied around their treatment's mean.

    None where it does not tell.

    Trays: the residual variance of the logarithms of their means, after treatments, and after
    blocks too where the next trial has them (`blocked`) and this one had. Plants: the nested
    analysis of variance.
    """
    weighed = _weighed_trays(trial)
    if not weighed:
        return None
    without_blocks = blocked and is_blocked(trial)
    fit = _fit(weighed, without_blocks)
    if fit.notes or fit.degrees_of_freedom < 1:
        return None
    plants = len(weighed) / sum(1 / of_tray.plants for of_tray in weighed)  # harmonic mean
    within = _within(trial)
    spread = Spread(
        fit.residual_variance,
        plants,
        within.within or 0.0,
        fit.degrees_of_freedom,
        within.degrees_within,
    )
    return Variation(spread, "learnt", without_blocks, 1)


@dataclass(frozen=True)
class _Weighed:
    """A tray with its mean fresh weight, g/plant, and the plants that were weighed."""

    tray: Tray
    mean: float
    plants: int


def _weighed_trays(trial: Trial) -> list[_Weighed]:
    """Return the trays with a mean weight above 0."""
    weights: dict[str, float] = defaultdict(float)
    plants: dict[str, int] = defaultdict(int)
    for plant in trial.plants:
        if plant.fresh_weight is not None:
            weights[plant.tray] += plant.fresh_weight
            plants[plant.tray] += plant.number
    weighed: list[_Weighed] = []
    for tray in planted(trial):
        if weights[tray.code] > 0:
            number = plants[tray.code]
            weighed.append(_Weighed(tray, weights[tray.code] / number, number))
    return weighed


def _fit(weighed: Sequence[_Weighed], with_blocks: bool) -> AdditiveFit:
    """Return the model of logarithms of mean weights by treatments, and by blocks if wanted."""
    treatments = [of_tray.tray.treatment for of_tray in weighed]
    if with_blocks:
        block = _numbers([of_tray.tray.block for of_tray in weighed])
    else:
        block = None
    logs = np.log([of_tray.mean for of_tray in weighed])
    return fit_additive(logs, _numbers(treatments), len(set(treatments)), block)


def _within(trial: Trial) -> VarianceComponents:
    """Return how single plants vary relative to the mean of their treatment.

    Plants that were weighed together do not show how plants vary.
    """
    treatment_of = treatment_by_tray(trial)
    alone: list[Plant] = []
    for plant in trial.plants:
        is_weighed_alone = plant.fresh_weight is not None and plant.number == 1
        if is_weighed_alone and plant.tray in treatment_of:
            alone.append(plant)
    values = np.array([plant.fresh_weight for plant in alone], dtype=float)
    group = _numbers([treatment_of[plant.tray] for plant in alone])
    means = np.bincount(group, values) / np.maximum(np.bincount(group), 1)
    return components(values / means[group], _numbers([plant.tray for plant in alone]), group)


def _numbers(names: Sequence[str]) -> IntArray:
    numbers: IntArray = np.unique(names, return_inverse=True)[1]
    return numbers


def pooled(variations: Sequence[Variation]) -> Variation | None:
    """Return the variation of several trials together, each weighed by its degrees of freedom.

    None of none.
    """
    spreads = [variation.spread for variation in variations]
    degrees = sum(spread.degrees for spread in spreads)
    if not degrees:
        return None
    degrees_within = sum(spread.degrees_within for spread in spreads)
    squares_within = sum(spread.within * spread.degrees_within for spread in spreads)
    squares = sum(spread.variance * spread.degrees for spread in spreads)
    subsamples = degrees / sum(spread.degrees / spread.subsamples for spread in spreads)
    within = 0.0
    if degrees_within:
        within = squares_within / degrees_within
    together = Spread(squares / degrees, subsamples, within, degrees, degrees_within)
    is_blocked_all = all(variation.blocked for variation in variations)
    return Variation(together, "learnt", is_blocked_all, len(variations))


def plan(variation: Variation, target: PowerTarget) -> TrialPlan:
    """Return how many trays show the target, and which difference each number of trays shows.

    Raises ValueError where nothing varies, for then any number would do.
    """
    spread = variation.spread
    aim = target.aim(target.plants)
    twice = target.aim(DOUBLED * target.plants)
    needed = units_needed(target.difference, spread, aim)
    chance = None
    if needed:
        chance = assurance(float(np.log1p(target.difference)), needed, spread, aim)
    needed_with_endless: int | None = TRAYS[0]
    if spread.between:
        needed_with_endless = units_needed(target.difference, spread, target.aim(inf))
    rows: list[PlanRow] = []
    for trays in TRAYS:
        smallest = smallest_difference(trays, spread, aim)
        with_twice = smallest_difference(trays, spread, twice)
        rows.append(PlanRow(trays, smallest, with_twice))
    return TrialPlan(
        needed,
        chance,
        units_needed(target.difference, spread, twice),
        needed_with_endless,
        spread.share_between(target.plants),
        tuple(rows),
    )
