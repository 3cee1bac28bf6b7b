"""What made the difference: ratios taken apart into factors that multiply to them.

Every factor is a ratio of two totals on the log scale. The logarithms of the factors add up to that
of the whole.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isclose

import numpy as np

from reportgen.metrics.design import question_of
from reportgen.metrics.instruments import no_errors
from reportgen.metrics.light import photons
from reportgen.metrics.totals import (
    FloatArray,
    Quantity,
    electricity_cost,
    energy,
    fresh_weight,
    one,
)
from reportgen.model.results import Comparison, FactorOfRatio, MeasureResult
from reportgen.model.trial import Trial
from reportgen.stats.log_scale import Denominator, compare_ratios

Measures = Mapping[str, MeasureResult]

PRICE = "cheaper_electricity"  # no factor where both paid the same
SAME = 1e-9  # relative; far above the rounding of a few products, far below what a reader could see


@dataclass(frozen=True)
class Step:
    """A factor by its key: the ratio of two tray totals."""

    key: str
    numerator: Quantity
    denominator: Quantity


# Each denominator is the next numerator, so that the steps multiply to the first numerator / the
# last denominator.
CHAINS: Mapping[str, tuple[Step, ...]] = {
    "yield_per_kwh": (
        Step("light_better_used", fresh_weight, photons),
        Step("more_light_from_electricity", photons, energy),
    ),
    "yield_per_currency": (
        Step("more_grown", fresh_weight, one),
        Step("less_electricity", one, energy),
        Step(PRICE, energy, electricity_cost),
    ),
}


def factors_of(trial: Trial, measures: Measures) -> tuple[FactorOfRatio, ...]:
    """Return the factors of yield per kilowatt-hour and per currency, by treatment.

    A ratio that is not known, or lacks one of its factors, is not taken apart.
    """
    factors: list[FactorOfRatio] = []
    for of, steps in CHAINS.items():
        if of not in measures:
            continue
        chain = _chain(trial, of, steps)
        for code, whole in measures[of].comparisons:
            if whole.ratio is not None:
                factors += _factors(chain, code)
    return tuple(factors)


@dataclass(frozen=True)
class _Chain:
    """The comparisons by treatment of a whole, by its key, and of each of its steps."""

    of: str
    whole: Mapping[str, Comparison]
    steps: Mapping[str, Mapping[str, Comparison]]


def _chain(trial: Trial, of: str, steps: tuple[Step, ...]) -> _Chain:
    weights = _trays_with_all(trial, steps)
    whole = Step(of, steps[0].numerator, steps[-1].denominator)
    return _Chain(
        of,
        _compared(trial, whole, weights),
        {step.key: _compared(trial, step, weights) for step in steps},
    )


def _factors(chain: _Chain, code: str) -> list[FactorOfRatio]:
    """Return the factors of one ratio, none where they do not multiply to it."""
    whole = chain.whole[code]
    product = 1.0
    parts: dict[str, Comparison] = {}
    for key, compared in chain.steps.items():
        part = compared[code]
        if part.ratio is None:
            return []
        product *= part.ratio
        if key != PRICE or not isclose(part.ratio, 1.0, rel_tol=SAME):
            parts[key] = part
    if whole.ratio is None or not isclose(product, whole.ratio, rel_tol=SAME):
        return []
    factors: list[FactorOfRatio] = []
    for key, part in parts.items():
        low, high = part.ratio_low, part.ratio_high
        factors.append(FactorOfRatio(chain.of, code, key, part.ratio, low, high, part.notes))
    return factors


def _trays_with_all(trial: Trial, steps: tuple[Step, ...]) -> FloatArray:
    """Return 1 for each tray of which every quantity is known, NaN for the others."""
    known = np.isfinite(steps[0].numerator(trial))
    for step in steps:
        known &= np.isfinite(step.denominator(trial))
    return np.where(known, 1.0, np.nan)


def _compared(trial: Trial, step: Step, weights: FloatArray) -> dict[str, Comparison]:
    """Return each treatment's ratio to the reference over the trays with all quantities."""
    numerator, denominator = step.numerator(trial) * weights, step.denominator(trial) * weights
    found = compare_ratios(
        numerator, denominator, question_of(trial), Denominator.MEASURED, no_errors(trial)
    )
    codes = trial.treatment_codes
    comparisons: dict[str, Comparison] = {}
    for code, each in zip(codes, found, strict=True):
        comparisons[code] = each or Comparison()
    return comparisons
