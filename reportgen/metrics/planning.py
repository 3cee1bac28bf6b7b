"""Planning the next trial: how many trays show a wanted difference, and what more plants a tray can help."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from reportgen.metrics.totals import planted
from reportgen.model.trial import Trial
from reportgen.stats.components import components
from reportgen.stats.power import cv_of_unit_mean, share_between, smallest_difference, units_needed

TRAYS = (2, 3, 4, 5, 6, 8, 10, 12)
TWICE = 2  # more plants a tray, to show how little or much they help


@dataclass(frozen=True)
class Variation:
    """How fresh weights vary, as variances relative to the squared mean: between trays, and within them.

    The degrees of freedom say how much each rests on; 0 where it was typed.
    """

    between: float
    within: float
    degrees_between: int = 0
    degrees_within: int = 0


@dataclass(frozen=True)
class Wish:
    """What a trial should show: a relative difference, with a power at a confidence level, `plants` a tray."""

    difference: float
    plants: int
    power: float = 0.8
    level: float = 0.95


@dataclass(frozen=True)
class PlanRow:
    """The smallest relative difference that `trays` a treatment show, and show with twice as many plants a tray."""

    trays: int
    smallest: float | None
    with_twice: float | None


@dataclass(frozen=True)
class TrialPlan:
    """Trays a treatment that show the wish: as it is, with twice the plants, with endless ones; None where too many.

    `share_between` is the part of the variance of a tray's mean that more plants cannot lessen.
    """

    needed: int | None
    needed_with_twice: int | None
    needed_with_endless: int | None
    share_between: float | None
    rows: tuple[PlanRow, ...]


def variation_of(trial: Trial) -> Variation | None:
    """Return how the fresh weights of harvested plants varied around their treatment's mean, None where not known.

    Each weight is taken relative to the mean of its treatment's trays, so that treatments may differ.
    """
    treatment_of = {tray.code: tray.treatment for tray in planted(trial)}
    alone = [plant for plant in trial.plants if plant.fresh_weight is not None and plant.number == 1]
    weighed = [plant for plant in alone if plant.tray in treatment_of]
    codes, trays = [treatment.code for treatment in trial.treatments], list(treatment_of)
    values = np.array([plant.fresh_weight for plant in weighed], dtype=float)
    group = np.array([codes.index(treatment_of[plant.tray]) for plant in weighed], dtype=int)
    if not values.size:
        return None
    means = np.bincount(group, values) / np.maximum(np.bincount(group), 1)
    found = components(values / means[group], np.array([trays.index(plant.tray) for plant in weighed]), group)
    if found.between is None or found.within is None:
        return None
    return Variation(found.between, found.within, found.degrees_between, found.degrees_within)


def pooled(variations: Sequence[Variation]) -> Variation | None:
    """Return the variation of several trials together, each weighed by its degrees of freedom; None of none."""
    between, within = (sum(getattr(one, name) for one in variations) for name in ("degrees_between", "degrees_within"))
    if not between or not within:
        return None
    return Variation(
        sum(one.between * one.degrees_between for one in variations) / between,
        sum(one.within * one.degrees_within for one in variations) / within,
        between,
        within,
    )


def plan(variation: Variation, wish: Wish) -> TrialPlan:
    """Return how many trays show the wish, and which difference each number of trays shows.

    Raises ValueError where nothing varies, for then any number would do.
    """
    alpha = 1 - wish.level
    alone, twice = (cv_of_unit_mean(variation.between, variation.within, wish.plants * n) for n in (1, TWICE))
    endless = sqrt(variation.between)
    return TrialPlan(
        units_needed(wish.difference, alone, wish.power, alpha),
        units_needed(wish.difference, twice, wish.power, alpha),
        units_needed(wish.difference, endless, wish.power, alpha) if endless else TRAYS[0],
        share_between(variation.between, variation.within, wish.plants),
        tuple(PlanRow(n, *(smallest_difference(n, cv, wish.power, alpha) for cv in (alone, twice))) for n in TRAYS),
    )
