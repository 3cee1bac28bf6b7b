"""What made the difference: ratios taken apart into factors that multiply to them.

Every factor is a ratio of two totals on the log scale. The logarithms of the factors add up to that of the whole.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isclose

import numpy as np

from reportgen.metrics.design import question_of
from reportgen.metrics.instruments import no_errors
from reportgen.metrics.light import photons
from reportgen.metrics.totals import FloatArray, Quantity, electricity_cost, energy, fresh_weight, one
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


# Each denominator is the next numerator, so that the steps multiply to the first numerator / the last denominator.
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
    """Return the factors of yield per kilowatt-hour and of yield per unit of electricity cost, by treatment.

    A ratio that is not known, or lacks one of its factors, is not taken apart.
    """
    found: list[FactorOfRatio] = []
    for of, steps in CHAINS.items():
        if of not in measures:
            continue
        compared = dict(measures[of].comparisons)
        for code, whole in compared.items():
            if whole.ratio is not None:
                found += _factors(trial, of, code, steps)
    return tuple(found)


def _factors(trial: Trial, of: str, code: str, steps: tuple[Step, ...]) -> list[FactorOfRatio]:
    """Return the factors of one ratio, none where they do not multiply to it."""
    kept = _trays_with_all(trial, steps)
    whole = _compared(trial, Step(of, steps[0].numerator, steps[-1].denominator), code, kept)
    parts = [_compared(trial, step, code, kept) for step in steps]
    ratios = [part.ratio for part in parts if part.ratio is not None]
    if whole.ratio is None or len(ratios) < len(parts):
        return []
    if not isclose(float(np.prod(ratios)), whole.ratio, rel_tol=SAME):
        return []
    return [
        FactorOfRatio(of, code, step.key, part.ratio, part.ratio_low, part.ratio_high, part.notes)
        for step, part in zip(steps, parts, strict=True)
        if not (step.key == PRICE and isclose(part.ratio or 0.0, 1.0, rel_tol=SAME))
    ]


def _trays_with_all(trial: Trial, steps: tuple[Step, ...]) -> FloatArray:
    """Return 1 for each tray of which every quantity is known, NaN for the others."""
    known = np.isfinite(steps[0].numerator(trial))
    for step in steps:
        known &= np.isfinite(step.denominator(trial))
    return np.where(known, 1.0, np.nan)


def _compared(trial: Trial, step: Step, code: str, kept: FloatArray) -> Comparison:
    numerator, denominator = step.numerator(trial) * kept, step.denominator(trial) * kept
    found = compare_ratios(numerator, denominator, question_of(trial), Denominator.MEASURED, no_errors(trial))
    place = [treatment.code for treatment in trial.treatments].index(code)
    return found[place] or Comparison()
