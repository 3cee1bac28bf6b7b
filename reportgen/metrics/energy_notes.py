"""What is said of figures that rest on energy, and which of them compare nothing."""

from dataclasses import dataclass, replace

from reportgen.metrics.basis import on_each_basis
from reportgen.metrics.energy import (
    ENOUGH_DAYS,
    covered_by_meters,
    energy_source,
    is_partly_shared,
    is_shared,
)
from reportgen.metrics.measures import ENERGY_METRICS
from reportgen.model.message import Notes, Share, joined, note
from reportgen.model.results import Comparison, Estimate, MeasureResult
from reportgen.model.trial import Trial
from reportgen.stats.instruments import BOTH_TYPES, INSTRUMENT


@dataclass(frozen=True)
class SourceNotes:
    """What is said of energy of one source: without instruments in the interval, and with them."""

    plain: Notes
    with_instruments: Notes


METERED = SourceNotes(note("energy_is_one_figure"), note("energy_is_one_figure_by_instruments"))
METERED_ALONE = SourceNotes(
    note("energy_use_is_one_figure"), note("energy_use_is_one_figure_by_meter")
)
CALCULATED = SourceNotes(note("energy_calculated"), note("energy_calculated_by_scale"))
CALCULATED_ALONE = SourceNotes(note("energy_use_calculated"), note("energy_use_calculated"))
CALCULATED_PART = SourceNotes(note("energy_calculated_in_part"), note("energy_calculated_in_part"))
NOTHING = SourceNotes((), ())
UNKNOWN_ENERGY = note("energy_of_one_not_known")
PARTLY_SHARED = note("energy_partly_shared")
NO_METER = note("no_meter_counted")
SHARED = note("energy_shared")
WITH_OTHER_COSTS = frozenset(
    on_each_basis("running_cost_per_gram")
)  # says by itself what its interval rests on
ENERGY_USE = "energy_use"


def energy_noted(trial: Trial, result: MeasureResult) -> MeasureResult:
    """Say what an energy figure rests on, and compare none that a shared meter gave out by trays."""
    key = result.measure.key
    if key not in ENERGY_METRICS or not result.scores:
        return result
    estimates = []
    for code, estimate in result.estimates:
        estimates.append((code, _noted_estimate(trial, key, code, estimate)))
    comparisons = []
    for code, comparison in result.comparisons:
        comparisons.append((code, _noted_comparison(trial, key, code, comparison)))
    return replace(result, estimates=tuple(estimates), comparisons=tuple(comparisons))


def _source_notes(trial: Trial, key: str, code: str, methods: Notes) -> Notes:
    """Return what the energy of a treatment rests on: a meter, or the power of its devices."""
    is_calculated = energy_source(trial).get(code) == "calculated"
    if key == ENERGY_USE:
        notes = CALCULATED_ALONE if is_calculated else METERED_ALONE
    elif key in WITH_OTHER_COSTS:
        notes = CALCULATED_PART if is_calculated else NOTHING
    else:
        notes = CALCULATED if is_calculated else METERED
    has_instruments = bool({*INSTRUMENT, *BOTH_TYPES}.intersection(methods))
    source = notes.with_instruments if has_instruments else notes.plain
    return joined(source, PARTLY_SHARED if is_partly_shared(trial) else ())


def _noted_estimate(trial: Trial, key: str, code: str, estimate: Estimate) -> Estimate:
    """Add what the energy rests on.

    Where it is the whole figure, or unknown, that is all there is to say.
    """
    notes = _unmetered(trial, code)
    if not notes:
        if is_shared(trial):
            notes = SHARED
        else:
            notes = _source_notes(trial, key, code, estimate.methods)
    is_unknown = estimate.value is None and key not in WITH_OTHER_COSTS
    is_all = key == ENERGY_USE or is_unknown
    return replace(estimate, notes=notes if is_all else joined(estimate.notes, notes))


def _unmetered(trial: Trial, code: str) -> Notes:
    share = covered_by_meters(trial).get(code)
    if share is None:
        return NO_METER
    if share < ENOUGH_DAYS:
        return note("metered_in_part", share=Share(share))
    return ()


def _noted_comparison(trial: Trial, key: str, code: str, comparison: Comparison) -> Comparison:
    if is_shared(trial):
        return Comparison(notes=SHARED)
    of_reference = _source_notes(trial, key, trial.reference, comparison.methods)
    notes = joined(of_reference, _source_notes(trial, key, code, comparison.methods))
    if comparison.ratio is None and key not in WITH_OTHER_COSTS:
        return replace(comparison, notes=joined(UNKNOWN_ENERGY, comparison.notes))
    return replace(
        comparison, notes=notes if key == ENERGY_USE else joined(comparison.notes, notes)
    )
