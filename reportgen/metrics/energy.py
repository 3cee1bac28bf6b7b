"""Energy out of meter readings."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from reportgen.model.trial import MeterReading, Trial

ENOUGH_DAYS = 0.95  # our own limit: a figure that misses more of the trial would be taken for the whole


@dataclass(frozen=True)
class EnergyShare:
    """A treatment's energy in kWh: what its own meters counted, and its part of shared ones, by trays."""

    own: float
    shared: float

    @property
    def total(self) -> float:
        """Return own and shared energy together, kWh."""
        return self.own + self.shared


Readings = tuple[tuple[datetime, float], ...]


def metered(trial: Trial) -> dict[tuple[str, str | None], Readings]:
    """Return, for each meter and whose it is, the energy counted since its first reading (date and time, kWh).

    The step to a reading after a reset is not known and counts as none.
    """
    return {key: _counted(readings) for key, readings in _by_meter(trial).items() if len(readings) > 1}


def _by_meter(trial: Trial) -> dict[tuple[str, str | None], list[MeterReading]]:
    meters: dict[tuple[str, str | None], list[MeterReading]] = defaultdict(list)
    for reading in sorted(trial.meter, key=lambda reading: reading.at):
        meters[reading.meter.casefold(), reading.treatment].append(reading)
    return meters


def _counted(ordered: list[MeterReading]) -> Readings:
    counted = [(ordered[0].at, 0.0)]
    for before, reading in pairwise(ordered):
        step = 0.0 if reading.reset else reading.reading - before.reading
        counted.append((reading.at, counted[-1][1] + step))
    return tuple(counted)


def covered_by_meters(trial: Trial) -> dict[str, float]:
    """Return the share of the trial's days that each metered treatment's energy was counted in, from 0 to 1.

    The least of its meters counts, shared ones among them: a day that one of them missed is not known. A meter
    that was read once only counted no day.
    """
    shares: dict[str | None, list[float]] = defaultdict(list)
    for (_, treatment), readings in _by_meter(trial).items():
        shares[treatment].append(_share_of_days(trial, readings))
    common = shares.pop(None, [])
    codes = [treatment.code for treatment in trial.treatments if common or treatment.code in shares]
    return {code: min([*shares.get(code, []), *common]) for code in codes}


def _share_of_days(trial: Trial, ordered: list[MeterReading]) -> float:
    end = max([trial.harvested_on, *(tray.harvested_on for tray in trial.trays if tray.harvested_on)])
    days = sum(
        max(0, (min(reading.at.date(), end) - max(before.at.date(), trial.started_on)).days)
        for before, reading in pairwise(ordered)
        if not reading.reset
    )
    return days / (end - trial.started_on).days


def energy_of_treatments(trial: Trial) -> dict[str, EnergyShare]:
    """Return the energy of each treatment that a meter counts; a shared meter's goes out by trays with plants."""
    own: dict[str, float] = defaultdict(float)
    shared = [counted[-1][1] for (_, treatment), counted in metered(trial).items() if treatment is None]
    for (_, treatment), counted in metered(trial).items():
        if treatment is not None:
            own[treatment] += counted[-1][1]
    trays = [tray.treatment for tray in trial.trays if tray.plants_started > 0]
    return {
        treatment.code: EnergyShare(
            own.get(treatment.code, 0.0), sum(shared) * trays.count(treatment.code) / len(trays)
        )
        for treatment in trial.treatments
        if treatment.code in own or shared
    }


def is_shared(trial: Trial) -> bool:
    """Return whether no treatment has a meter of its own, so that energy is only given out by trays."""
    return bool(trial.meter) and all(reading.treatment is None for reading in trial.meter)


def is_partly_shared(trial: Trial) -> bool:
    """Return whether some energy comes from treatments' own meters and some was given out by trays."""
    return not is_shared(trial) and any(reading.treatment is None for reading in trial.meter)
