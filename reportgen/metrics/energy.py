"""Energy out of meter readings."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from reportgen.model.trial import MeterReading, Trial


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
    meters: dict[tuple[str, str | None], list[MeterReading]] = defaultdict(list)
    for reading in trial.meter:
        meters[reading.meter.casefold(), reading.treatment].append(reading)
    return {key: _counted(readings) for key, readings in meters.items() if len(readings) > 1}


def _counted(readings: list[MeterReading]) -> Readings:
    ordered = sorted(readings, key=lambda reading: reading.at)
    counted = [(ordered[0].at, 0.0)]
    for before, reading in pairwise(ordered):
        step = 0.0 if reading.reset else reading.reading - before.reading
        counted.append((reading.at, counted[-1][1] + step))
    return tuple(counted)


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
