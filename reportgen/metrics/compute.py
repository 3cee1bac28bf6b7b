"""Every number of a report out of a trial."""

from collections import defaultdict
from dataclasses import replace
from math import inf

import numpy as np

from reportgen.metrics.energy import ENOUGH_DAYS, covered_by_meters, is_partly_shared, is_shared
from reportgen.metrics.measures import ENERGY_METRICS, METRICS, PERCENT, Metric, metrics_of
from reportgen.metrics.spread import plants_own_spread
from reportgen.metrics.totals import planted
from reportgen.model.results import Comparison, Estimate, MeasureResult, Results, TreatmentCount
from reportgen.model.trial import Trial, Variances
from reportgen.stats.analysis import Design, analyse
from reportgen.stats.comparisons import joined, reciprocal

ENERGY_NOTE = "energy is one metered figure for the treatment, so the interval tells of the trays' weights only"
ENERGY_USE_NOTE = "one metered figure for the treatment, so this trial cannot tell how sure it is"
UNKNOWN_ENERGY_NOTE = "the energy of one of the two is not known for the whole trial"
PARTLY_SHARED_NOTE = "part of the energy is from a meter shared by all treatments, given out by trays"
NO_METER_NOTE = "no meter counted its energy"
NEVER_NEGATIVE = frozenset(metric.key for metric in METRICS)
SHARED_NOTE = "a meter shared by all treatments, its energy given out by trays, so this trial cannot compare energy use"


def compute(trial: Trial) -> Results:
    """Return the counts, estimates and comparisons of a trial, in full precision.

    A metric for which no tray has data is left out.
    """
    metrics = metrics_of(trial)
    design = design_of(trial)
    found = {metric.key: _measured(trial, metric, design) for metric in metrics}
    for metric in metrics:
        if metric.partner:
            found[metric.key] = _turned(found[metric.key], found[metric.partner])
    known = (result for result in found.values() if result.scores)
    return Results(counts(trial), tuple(_energy_noted(trial, _within_possible(result)) for result in known))


def counts(trial: Trial) -> tuple[TreatmentCount, ...]:
    """Return how many trays and plants each treatment had."""
    harvested: dict[str, int] = defaultdict(int)
    for plant in trial.plants:
        harvested[plant.tray] += plant.status == "harvested"
    return tuple(
        TreatmentCount(
            treatment.code,
            len(trays := [tray for tray in planted(trial) if tray.treatment == treatment.code]),
            sum(tray.plants_started for tray in trays),
            sum(harvested[tray.code] for tray in trays),
        )
        for treatment in trial.treatments
    )


def is_blocked(trial: Trial) -> bool:
    """Return whether blocks can be told from treatments: each tray has one, and one holds two treatments."""
    held: dict[str, set[str]] = defaultdict(set)
    for tray in planted(trial):
        held[tray.block].add(tray.treatment)
    return "" not in held and len(held) > 1 and any(len(treatments) > 1 for treatments in held.values())


def variances_of(trial: Trial) -> Variances:
    """Return the workbook's choice, else pooled with blocks and separate without."""
    return trial.variances or ("pooled" if is_blocked(trial) else "separate")


def design_of(trial: Trial) -> Design:
    """Return the treatment and block of each tray with plants, as numbers."""
    codes = [treatment.code for treatment in trial.treatments]
    trays = planted(trial)
    blocks = sorted({tray.block for tray in trays})
    block = np.array([blocks.index(tray.block) for tray in trays]) if is_blocked(trial) else None
    treatment = np.array([codes.index(tray.treatment) for tray in trays])
    return Design(treatment, block, codes.index(trial.reference), len(codes))


def _measured(trial: Trial, metric: Metric, design: Design) -> MeasureResult:
    analysis = analyse(
        metric.numerator(trial) * metric.factor,
        metric.denominator(trial),
        design,
        trial.confidence_level,
        variances_of(trial),
    )
    codes = [treatment.code for treatment in trial.treatments]
    estimates = tuple(zip(codes, analysis.estimates, strict=True))
    comparisons = tuple(
        (code, comparison)
        for code, comparison in zip(codes, analysis.comparisons, strict=True)
        if comparison is not None
    )
    scores = tuple(
        (tray.code, float(score))
        for tray, score in zip(planted(trial), analysis.scores, strict=True)
        if np.isfinite(score)
    )
    result = MeasureResult(metric.measure(trial), estimates, comparisons, scores)
    return _spread_noted(trial, result)


def _spread_noted(trial: Trial, result: MeasureResult) -> MeasureResult:
    spreads = plants_own_spread(trial, result.measure.key)
    estimates = tuple(
        (code, replace(estimate, note=joined(estimate.note, spreads[code]))) if code in spreads else (code, estimate)
        for code, estimate in result.estimates
    )
    return replace(result, estimates=estimates)


def _within_possible(result: MeasureResult) -> MeasureResult:
    """Cut intervals at 0, and those of a share at 100 %, which the methods for means do not know of."""
    if result.measure.key not in NEVER_NEGATIVE:
        return result
    highest = PERCENT if result.measure.unit == "%" else inf
    return replace(
        result,
        estimates=tuple((code, _cut(estimate, highest)) for code, estimate in result.estimates),
        comparisons=tuple((code, _cut_ratio(comparison)) for code, comparison in result.comparisons),
    )


def _cut(estimate: Estimate, highest: float) -> Estimate:
    if estimate.low is None or estimate.high is None or (estimate.low >= 0 and estimate.high <= highest):
        return estimate
    low, high = max(estimate.low, 0.0), min(estimate.high, highest)
    return replace(estimate, low=low, high=high, note=joined(estimate.note, "interval cut at what is possible"))


def _cut_ratio(comparison: Comparison) -> Comparison:
    if comparison.ratio_low is None or comparison.ratio_low >= 0:
        return comparison
    return replace(comparison, ratio_low=0.0, note=joined(comparison.note, "interval of the ratio cut at 0"))


def _energy_noted(trial: Trial, result: MeasureResult) -> MeasureResult:
    """Say what an energy figure rests on, and compare none that a shared meter gave out by trays."""
    key = result.measure.key
    if key not in ENERGY_METRICS or not result.scores:
        return result
    covered = covered_by_meters(trial)
    shared = is_shared(trial)
    note = ENERGY_USE_NOTE if key == "energy_use" else ENERGY_NOTE
    if is_partly_shared(trial):
        note = joined(note, PARTLY_SHARED_NOTE)
    return replace(
        result,
        estimates=tuple(
            (code, _with_energy_note(estimate, key, _unmetered(covered.get(code)) or (SHARED_NOTE if shared else note)))
            for code, estimate in result.estimates
        ),
        comparisons=tuple(
            (code, Comparison(note=SHARED_NOTE) if shared else _energy_compared(comparison, key, note))
            for code, comparison in result.comparisons
        ),
    )


def _unmetered(share: float | None) -> str:
    if share is None:
        return NO_METER_NOTE
    return f"metered for {share:.0%} of the trial, so its energy is not known" if share < ENOUGH_DAYS else ""


def _with_energy_note(estimate: Estimate, key: str, note: str) -> Estimate:
    """Add what the energy rests on; where it is the whole figure, or unknown, that is all there is to say."""
    alone = estimate.value is None or key == "energy_use"
    return replace(estimate, note=note if alone else joined(estimate.note, note))


def _energy_compared(comparison: Comparison, key: str, note: str) -> Comparison:
    if comparison.ratio is None:
        return replace(comparison, note=joined(UNKNOWN_ENERGY_NOTE, comparison.note))
    return replace(comparison, note=note if key == "energy_use" else joined(comparison.note, note))


def _turned(own: MeasureResult, partner: MeasureResult) -> MeasureResult:
    """Return a result whose ratios are those of its reciprocal partner turned round."""
    by_code = dict(partner.comparisons)
    return replace(
        own,
        comparisons=tuple((code, reciprocal(by_code[code], comparison)) for code, comparison in own.comparisons),
    )
