"""Energy out of meter readings, or of the power of devices where no meter was there."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from typing import Literal

from reportgen.model.trial import Load, MeterReading, Trial

EnergySource = Literal["metered", "shared", "calculated"]

ENOUGH_DAYS = (
    0.95  # our own limit: a figure that misses more of the trial would be taken for the whole
)
PER_KILO = 1000.0  # W in a kW: exact


@dataclass(frozen=True)
class EnergyShare:
    """A treatment's energy in kWh.

    What its own meters counted or its devices used, and its part of shared meters.
    """

    own: float
    shared: float

    @property
    def total(self) -> float:
        """Return own and shared energy together, kWh."""
        return self.own + self.shared


Readings = tuple[tuple[datetime, float], ...]


def metered(trial: Trial) -> dict[tuple[str, str | None], Readings]:
    """Return the energy counted since each meter's first reading (date and time, kWh).

    The step to a reading after a reset is not known and counts as none.
    """
    counts: dict[tuple[str, str | None], Readings] = {}
    for key, readings in _by_meter(trial).items():
        if len(readings) > 1:
            counts[key] = _counted(readings)
    return counts


def _by_meter(trial: Trial) -> dict[tuple[str, str | None], list[MeterReading]]:
    meters: dict[tuple[str, str | None], list[MeterReading]] = defaultdict(list)
    for reading in sorted(trial.meter, key=lambda reading: reading.at):
        meters[reading.meter.casefold(), reading.treatment].append(reading)
    return meters


def _counted(ordered: list[MeterReading]) -> Readings:
    counted = [(ordered[0].at, 0.0)]
    for before, reading in pairwise(ordered):
        if reading.reset:
            step = 0.0
        else:
            step = reading.reading - before.reading
        counted.append((reading.at, counted[-1][1] + step))
    return tuple(counted)


def energy_source(trial: Trial) -> dict[str, EnergySource]:
    """Return what each treatment's energy is known from.

    A treatment without meter and devices is absent.

    A treatment with a meter of its own is metered even where a shared meter counts a part. Its
    devices are left out where any meter counts for it, for they would count twice.
    """
    meters = {reading.treatment for reading in trial.meter}
    devices = {load.treatment for load in trial.loads}
    sources: dict[str, EnergySource] = {}
    for code in trial.treatment_codes:
        source = _source(code, meters, devices)
        if source:
            sources[code] = source
    return sources


def _source(code: str, meters: set[str | None], devices: set[str]) -> EnergySource | None:
    if code in meters:
        return "metered"
    if None in meters:
        return "shared"
    if code in devices:
        return "calculated"
    return None


def days_of(trial: Trial) -> int:
    """Return the days from the start to the last harvest."""
    return (_last_harvest(trial) - trial.started_on).days


def _last_harvest(trial: Trial) -> date:
    days = [tray.harvested_on for tray in trial.trays if tray.harvested_on]
    return max([trial.harvested_on, *days])


def energy_of_load(trial: Trial, load: Load) -> float:
    """Return the energy of devices, kWh: power x hours a day x days.

    Without days of their own those of the trial count.
    """
    if load.days is None:
        days: float = days_of(trial)
    else:
        days = load.days
    return load.power / PER_KILO * load.hours_per_day * days


def covered_by_meters(trial: Trial) -> dict[str, float]:
    """Return the share of the trial's days that each treatment's energy is known for, from 0 to 1.

    The least of its meters counts, shared ones among them: a day that one of them missed is not
    known. A meter that was read once only counted no day. Energy that is calculated is known for
    the whole trial.
    """
    shares: dict[str | None, list[float]] = defaultdict(list)
    for (_, treatment), readings in _by_meter(trial).items():
        shares[treatment].append(_share_of_days(trial, readings))
    common = shares.pop(None, [])
    covered: dict[str, float] = {}
    for code in energy_source(trial):
        covered[code] = min([*shares.get(code, []), *common], default=1.0)
    return covered


def _share_of_days(trial: Trial, ordered: list[MeterReading]) -> float:
    end = _last_harvest(trial)
    if end == trial.started_on:  # a trial that has only begun
        return 0.0
    days = 0
    for before, reading in pairwise(ordered):
        if not reading.reset:
            first = max(before.at.date(), trial.started_on)
            last = min(reading.at.date(), end)
            days += max(0, (last - first).days)
    return days / (end - trial.started_on).days


def energy_of_treatments(trial: Trial) -> dict[str, EnergyShare]:
    """Return the energy of each treatment that is known of.

    A shared meter's goes out by trays with plants.
    """
    own = _calculated(trial)
    shared = []
    for (_, code), counts in metered(trial).items():
        used = counts[-1][1]
        if code is None:
            shared.append(used)
        else:
            own[code] += used
    trays = [tray.treatment for tray in trial.trays if tray.is_planted]
    energy: dict[str, EnergyShare] = {}
    for treatment in trial.treatments:
        if treatment.code in own or shared:
            own_energy = own.get(treatment.code, 0.0)
            part = sum(shared) * trays.count(treatment.code) / len(trays)
            energy[treatment.code] = EnergyShare(own_energy, part)
    return energy


def _calculated(trial: Trial) -> dict[str, float]:
    """Return the energy of the devices of each treatment that no meter counts, kWh, to be added to."""
    sources = energy_source(trial)
    energy: dict[str, float] = defaultdict(float)
    for load in trial.loads:
        if sources.get(load.treatment) == "calculated":
            energy[load.treatment] += energy_of_load(trial, load)
    return energy


def is_shared(trial: Trial) -> bool:
    """Return whether no treatment has a meter of its own."""
    return bool(trial.meter) and all(reading.treatment is None for reading in trial.meter)


def is_partly_shared(trial: Trial) -> bool:
    """Return whether some energy comes from treatments' own meters and some was given out by trays."""
    return not is_shared(trial) and any(reading.treatment is None for reading in trial.meter)
