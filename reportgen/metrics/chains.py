"""What made the difference: ratios taken apart into factors that multiply to them."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import isclose

from reportgen.metrics.design import design_of
from reportgen.metrics.light import photons
from reportgen.metrics.totals import Quantity, electricity_cost, energy, fresh_weight, one
from reportgen.model.results import Comparison, FactorOfRatio, MeasureResult
from reportgen.model.trial import Trial
from reportgen.stats.analysis import analyse
from reportgen.stats.chain import Chain, chain, factor
from reportgen.stats.comparisons import joined, reciprocal

Measures = Mapping[str, MeasureResult]

PRICE = "cheaper_electricity"  # no factor where both paid the same
BLOCKS_IGNORED = "blocks ignored, so that the factors multiply to the whole"


@dataclass(frozen=True)
class Step:
    """A factor by its key: the ratio of two tray totals, and the metric that it is, turned round where `inverse`."""

    key: str
    numerator: Quantity
    denominator: Quantity
    metric: str = ""
    inverse: bool = False


# Each denominator is the next numerator, so that the steps multiply to the first numerator / the last denominator.
CHAINS: Mapping[str, tuple[Step, ...]] = {
    "yield_per_kwh": (
        Step("light_better_used", fresh_weight, photons, "yield_per_mol"),
        Step("more_light_from_electricity", photons, energy),
    ),
    "yield_per_currency": (
        Step("more_grown", fresh_weight, one, "tray_yield"),
        Step("less_electricity", one, energy, "energy_use", inverse=True),
        Step(PRICE, energy, electricity_cost),
    ),
}


def factors_of(trial: Trial, measures: Measures) -> tuple[FactorOfRatio, ...]:
    """Return the factors of yield per kilowatt-hour and of yield per unit of electricity cost, by treatment.

    A ratio that is not known, or lacks one of its factors, is not taken apart.
    """
    return tuple(
        found
        for of, steps in CHAINS.items()
        if of in measures
        for code, whole in measures[of].comparisons
        if whole.ratio is not None
        for found in _factors(trial, measures, of, code)
    )


def _factors(trial: Trial, measures: Measures, of: str, code: str) -> tuple[FactorOfRatio, ...]:
    """Return the factors of one ratio by the model of its metric, else by trays alone, else none."""
    steps = CHAINS[of]
    chained = _chained(
        dict(measures[of].comparisons)[code], [_of_metric(trial, measures, step, code) for step in steps]
    )
    note = ""
    if not chained.factors:
        whole = _by_trays(trial, Step(of, steps[0].numerator, steps[-1].denominator), code)
        chained, note = _chained(whole, [_by_trays(trial, step, code) for step in steps]), BLOCKS_IGNORED
    return tuple(
        FactorOfRatio(of, code, step.key, found.ratio, found.low, found.high, joined(found.note, note))
        for step, found in zip(steps, chained.factors, strict=False)
        if not (step.key == PRICE and found.ratio is not None and isclose(found.ratio, 1.0, rel_tol=1e-12))
    )


def _chained(whole: Comparison, steps: list[Comparison]) -> Chain:
    return chain(factor("", whole), [factor("", step) for step in steps])


def _of_metric(trial: Trial, measures: Measures, step: Step, code: str) -> Comparison:
    """Return the comparison of the metric that a step is, so that both say the same."""
    found = dict(measures[step.metric].comparisons).get(code) if step.metric in measures else None
    if found is None:
        return _by_trays(trial, step, code)
    return reciprocal(found, replace(found, note="")) if step.inverse else found


def _by_trays(trial: Trial, step: Step, code: str) -> Comparison:
    design = design_of(trial)
    found = analyse(step.numerator(trial), step.denominator(trial), design, trial.confidence_level, "separate")
    place = [treatment.code for treatment in trial.treatments].index(code)
    return found.comparisons[place] or Comparison()
