"""What is said of figures that rest on energy, and which of them compare nothing."""

from dataclasses import replace

from reportgen.metrics.energy import ENOUGH_DAYS, covered_by_meters, energy_source, is_partly_shared, is_shared
from reportgen.metrics.measures import ENERGY_METRICS
from reportgen.model.results import Comparison, Estimate, MeasureResult
from reportgen.model.trial import Trial
from reportgen.stats.comparisons import joined
from reportgen.stats.instruments import BOTH_TYPES, INSTRUMENT

ENERGY_NOTE = "energy is one metered figure for the treatment, so the interval tells of the trays' weights only"
ENERGY_USE_NOTE = "one metered figure for the treatment, so this trial cannot tell how sure it is"
CALCULATED_NOTE = (
    "energy is calculated from the power of devices, not metered, and one figure for the treatment, so the interval "
    "tells of the trays' weights only"
)
CALCULATED_USE_NOTE = (
    "calculated from the power of devices, not metered, and one figure for the treatment, so this trial cannot tell "
    "how sure it is"
)
WITH_INSTRUMENTS = {  # what holds where the accuracy of instruments is in the interval
    ENERGY_NOTE: "energy is one metered figure for the treatment, so the interval tells of the trays' weights and of "
    "the instruments only",
    ENERGY_USE_NOTE: "one metered figure for the treatment, so the interval tells of the meter only",
    CALCULATED_NOTE: CALCULATED_NOTE.replace("weights only", "weights and of the scale only"),
}
CALCULATED_PART_NOTE = "energy is calculated from the power of devices, not metered"
WITH_OTHER_COSTS = frozenset({"running_cost_per_gram"})  # says by itself what its interval rests on
UNKNOWN_ENERGY_NOTE = "the energy of one of the two is not known for the whole trial"
PARTLY_SHARED_NOTE = "part of the energy is from a meter shared by all treatments, given out by trays"
NO_METER_NOTE = "no meter counted its energy"
SHARED_NOTE = "a meter shared by all treatments, its energy given out by trays, so this trial cannot compare energy use"


def energy_noted(trial: Trial, result: MeasureResult) -> MeasureResult:
    """Say what an energy figure rests on, and compare none that a shared meter gave out by trays."""
    key = result.measure.key
    if key not in ENERGY_METRICS or not result.scores:
        return result
    shared = is_shared(trial)
    notes = _energy_notes(trial, key)
    unmetered = {treatment.code: _unmetered(trial, treatment.code) for treatment in trial.treatments}
    return replace(
        result,
        estimates=tuple(
            (code, _with_energy_note(estimate, key, unmetered[code] or (SHARED_NOTE if shared else notes[code])))
            for code, estimate in result.estimates
        ),
        comparisons=tuple(
            (code, Comparison(note=SHARED_NOTE))
            if shared
            else (code, _energy_compared(comparison, key, joined(notes[trial.reference], notes[code])))
            for code, comparison in result.comparisons
        ),
    )


def _energy_notes(trial: Trial, key: str) -> dict[str, str]:
    """Return what the energy of each treatment rests on: a meter, or the power of its devices."""
    metered, calculated = ENERGY_NOTE, CALCULATED_NOTE
    if key == "energy_use":
        metered, calculated = ENERGY_USE_NOTE, CALCULATED_USE_NOTE
    elif key in WITH_OTHER_COSTS:
        metered, calculated = "", CALCULATED_PART_NOTE
    partly = PARTLY_SHARED_NOTE if is_partly_shared(trial) else ""
    sources = energy_source(trial)
    return {
        treatment.code: joined(calculated if sources.get(treatment.code) == "calculated" else metered, partly)
        for treatment in trial.treatments
    }


def _unmetered(trial: Trial, code: str) -> str:
    share = covered_by_meters(trial).get(code)
    if share is None:
        return NO_METER_NOTE
    return f"metered for {share:.0%} of the trial, so its energy is not known" if share < ENOUGH_DAYS else ""


def _with_energy_note(estimate: Estimate, key: str, note: str) -> Estimate:
    """Add what the energy rests on; where it is the whole figure, or unknown, that is all there is to say."""
    alone = key == "energy_use" or (estimate.value is None and key not in WITH_OTHER_COSTS)
    note = _with_instruments(note, estimate.method)
    return replace(estimate, note=note if alone else joined(estimate.note, note))


def _energy_compared(comparison: Comparison, key: str, note: str) -> Comparison:
    note = _with_instruments(note, comparison.method)
    if comparison.ratio is None and key not in WITH_OTHER_COSTS:
        return replace(comparison, note=joined(UNKNOWN_ENERGY_NOTE, comparison.note))
    return replace(comparison, note=note if key == "energy_use" else joined(comparison.note, note))


def _with_instruments(note: str, method: str) -> str:
    """Return a note as it holds where the method took the accuracy of instruments in."""
    if INSTRUMENT not in method and BOTH_TYPES not in method:
        return note
    for plain, widened in WITH_INSTRUMENTS.items():
        note = note.replace(plain, widened)
    return note
