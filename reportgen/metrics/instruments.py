"""What the instruments of a trial leave uncertain in each metric: their gains, and the steps of a
counter.

A gain scales all readings of an instrument alike, so no spread between trays shows it. The
resolution of a scale or a jug is no part of it: its rounding falls differently on every plant and
every filling and is in the trays' spread already. A counter of energy is read twice for a whole
treatment, which no spread shows, so its resolution counts here.
"""

from collections.abc import Callable, Iterable
from math import hypot, sqrt
from typing import NamedTuple

import numpy as np

from reportgen.metrics import climate
from reportgen.metrics.basis import on_each_basis
from reportgen.metrics.cost import ELECTRICITY, WATER, cost_components
from reportgen.metrics.energy import energy_of_treatments, energy_source, is_shared
from reportgen.metrics.measures import Metric, TreatmentMetric
from reportgen.model.trial import Instrument, Measured, Trial
from reportgen.stats.instruments import uncertainty_of_limits, uncertainty_of_resolution
from reportgen.stats.log_scale import InstrumentErrors

PER_CENT = 0.01
ENDS = 2  # a counter is read at the start and at the end


def no_errors(trial: Trial) -> InstrumentErrors:
    """Return the errors of instruments of which nothing is known."""
    return InstrumentErrors(np.zeros(len(trial.treatments)))


def errors_of(trial: Trial, metric: Metric | TreatmentMetric) -> InstrumentErrors:
    """Return what the instruments leave uncertain in a metric.

    A treatment's energy use is one figure that was given out by trays, so only the meter tells how
    sure it is. The steps of its counter alone do not: they say nothing of its gain.
    """
    gains = gains_of(trial, metric)
    is_known = any(each.accuracy is not None for each in _of_kind(trial, "energy"))
    return InstrumentErrors(
        np.array(gains.own), gains.shared, metric.key == "energy_use" and is_known
    )


class GainsOfMetric(NamedTuple):
    """Relative standard uncertainties of a metric.

    Of what each treatment has of its own, in their order, and shared.

    What is shared scales all treatments alike and leaves their ratio as it is.
    """

    own: tuple[float, ...]
    shared: float


class Gain(NamedTuple):
    """A relative standard uncertainty of readings, and whether each treatment has its own."""

    relative: float
    is_own: bool


def gains_of(trial: Trial, metric: Metric | TreatmentMetric) -> GainsOfMetric:
    """Return the relative standard uncertainty that instruments give a metric.

    Its kinds of reading are added in quadrature.

    A kind that both totals are read with cancels where one instrument read both. Kinds without
    accuracy count nothing: what is not known of an instrument is not in the interval.
    """
    kinds = []
    for kind in dict.fromkeys(metric.measured_by):
        if not _cancels(trial, metric.measured_by, kind):
            kinds.append(kind)
    parts = [_part(trial, metric, kind) for kind in kinds]
    own: list[float] = []
    for place in range(len(trial.treatments)):
        own.append(hypot(*(part.own[place] for part in parts)))
    return GainsOfMetric(tuple(own), hypot(*(part.shared for part in parts)))


def _cancels(trial: Trial, kinds: tuple[Measured, ...], kind: Measured) -> bool:
    return kinds.count(kind) > 1 and len(_of_kind(trial, kind)) <= 1


def _part(trial: Trial, metric: Metric | TreatmentMetric, kind: Measured) -> GainsOfMetric:
    """Return what one kind of reading adds.

    Its gain x how strongly the metric follows it, and a counter's steps.
    """
    gain = _gain(trial, kind)
    sensitivities = _sensitivities(trial, metric, kind)
    relative = gain.relative * sqrt(metric.measured_by.count(kind))
    steps: dict[str, float] = {}
    unmeasured: set[str] = set()
    if kind == "energy":
        steps = _steps_of_counters(trial)
        unmeasured = _calculated(trial)
    own: list[float] = []
    shared = 0.0
    for treatment in trial.treatments:
        code = treatment.code
        own_gain = 0.0
        if code not in unmeasured and gain.is_own:
            own_gain = relative
        elif code not in unmeasured:
            shared = max(shared, sensitivities[code] * relative)
        own.append(sensitivities[code] * hypot(own_gain, steps.get(code, 0.0)))
    return GainsOfMetric(tuple(own), shared)


def _calculated(trial: Trial) -> set[str]:
    """Return the codes of the treatments whose energy is calculated."""
    sources = energy_source(trial)
    return {code for code, source in sources.items() if source == "calculated"}


def _of_kind(trial: Trial, kind: Measured) -> list[Instrument]:
    return [instrument for instrument in trial.instruments if instrument.measures == kind]


def gain_of(instruments: Iterable[Instrument], kind: Measured) -> Gain:
    """Return the gain of the least accurate instrument of a kind.

    Which of them took a reading is not recorded.

    It is each treatment's own where one of them is.
    """
    used = [instrument for instrument in instruments if instrument.measures == kind]
    accuracy = max((instrument.accuracy or 0.0 for instrument in used), default=0.0)
    is_own = any(instrument.per_treatment for instrument in used)
    return Gain(uncertainty_of_limits(accuracy * PER_CENT), is_own)


def _gain(trial: Trial, kind: Measured) -> Gain:
    """Return the gain of a kind; meters that count for one treatment each are each treatment's own."""
    gain = gain_of(trial.instruments, kind)
    meters_apart = kind == "energy" and not is_shared(trial)
    if meters_apart:
        return gain._replace(is_own=True)
    return gain


def _steps_of_counters(trial: Trial) -> dict[str, float]:
    """Return the relative uncertainty of metered energy by the counters' resolution.

    A counter's readings at both ends count, and two more for each reset. A shared meter is read
    once for all: its steps are no treatment's own and are left out, as it compares nothing.
    """
    step = max((each.resolution or 0.0 for each in _of_kind(trial, "energy")), default=0.0)
    steps: dict[str, float] = {}
    for code, share in energy_of_treatments(trial).items():
        if share.total > 0:
            steps[code] = uncertainty_of_resolution(step, _readings(trial, code)) / share.total
    return steps


def _readings(trial: Trial, code: str) -> int:
    """Return the readings that a treatment's energy is the differences of.

    None where it is calculated.
    """
    own = [reading for reading in trial.meter if reading.treatment == code]
    meters = {reading.meter.casefold() for reading in own}
    resets = sum(reading.reset for reading in own)
    return ENDS * (len(meters) + resets)


def _sensitivities(
    trial: Trial, metric: Metric | TreatmentMetric, kind: Measured
) -> dict[str, float]:
    """Return by how many per cent a figure changes with 1% in a reading.

    1 in products and ratios.
    """
    even = {treatment.code: 1.0 for treatment in trial.treatments}
    special = SENSITIVITIES.get((metric.key, kind))
    if special is None:
        return even
    return even | special(trial)


def _share_of(name: str) -> Callable[[Trial], dict[str, float]]:
    """Return the function that gives a component's share in known running costs."""

    def shares(trial: Trial) -> dict[str, float]:
        shares_of_cost: dict[str, float] = {}
        for code, parts in _known_costs(trial).items():
            if (total := sum(dict(parts).values())) > 0:
                shares_of_cost[code] = dict(parts).get(name, 0.0) / total
        return shares_of_cost

    return shares


def _known_costs(trial: Trial) -> dict[str, list[tuple[str, float]]]:
    found: dict[str, list[tuple[str, float]]] = {}
    for code, components in cost_components(trial).items():
        known = []
        for part in components:
            if part.per_tray is not None:
                known.append((part.name, part.per_tray))
        if len(known) == len(components):
            found[code] = known
    return found


def _deficit_by_temperature(trial: Trial) -> dict[str, float]:
    """Return d ln(es) / d ln(T) at the mean temperature.

    FAO-56 eq. 11: 17.27 x 237.3 T / (T + 237.3)^2.
    """
    found = climate.means(trial, climate.air_temperature)
    slope = climate.SATURATION_SLOPE * climate.SATURATION_OFFSET
    sensitivities: dict[str, float] = {}
    for code, each in found.items():
        if each.value is not None:
            sensitivities[code] = abs(
                slope * each.value / (each.value + climate.SATURATION_OFFSET) ** 2
            )
    return sensitivities


def _deficit_by_humidity(trial: Trial) -> dict[str, float]:
    """Return RH / (100 - RH) at the mean humidity, at which the deficit follows it."""
    found = climate.means(trial, climate.relative_humidity)
    sensitivities: dict[str, float] = {}
    for code, each in found.items():
        if each.value is not None and each.value < 100:
            sensitivities[code] = each.value / (100 - each.value)
    return sensitivities


RUNNING_COSTS = on_each_basis("running_cost_per_gram")
SENSITIVITIES: dict[tuple[str, Measured], Callable[[Trial], dict[str, float]]] = {
    **{(key, "energy"): _share_of(ELECTRICITY) for key in RUNNING_COSTS},
    **{(key, "volume"): _share_of(WATER) for key in RUNNING_COSTS},
    ("vpd", "air temperature"): _deficit_by_temperature,
    ("vpd", "humidity"): _deficit_by_humidity,
}
