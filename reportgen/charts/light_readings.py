"""What light maps hold: their readings by place, of one date and height, and how even they are."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain
from math import isfinite
from statistics import fmean

from reportgen.model.heights import are_same
from reportgen.model.trial import LightReading, Trial


@dataclass(frozen=True)
class Evenness:
    """Mean and minimum of a map of PPFD in µmol/m2/s, and minimum / mean, None where the mean is 0."""

    mean: float
    minimum: float
    uniformity: float | None


@dataclass(frozen=True)
class Cell:
    """PPFD at a place in cm: a reading, the mean of several at one place, or that of a square."""

    x: float
    y: float
    ppfd: float


@dataclass(frozen=True)
class LightMap:
    """The map of one treatment: readings as cells, their date and height, how even they are."""

    cells: tuple[Cell, ...]
    on: date | None
    height: float | None
    evenness: Evenness


def evenness(ppfd: Sequence[float]) -> Evenness:
    """Return mean, minimum and minimum / mean of at least one PPFD in µmol/m2/s."""
    mean, minimum = fmean(ppfd), min(ppfd)
    if mean > 0:
        return Evenness(mean, minimum, minimum / mean)
    return Evenness(mean, minimum, None)


def shown_readings(readings: Sequence[LightReading]) -> dict[str, list[LightReading]]:
    """Return by treatment the readings that a map shows: of the latest date, at one height.

    All have a place.
    Readings without a date count as earlier than any other. The height is the one that most of the
    readings of the treatments' latest dates have, the upper one of two; a treatment without it has
    its own most common one.
    """
    placed = defaultdict(list)
    for reading in readings:
        if _has_place(reading):
            placed[reading.treatment].append(reading)
    latest = {code: _latest(own) for code, own in placed.items()}
    usual = _usual_height(list(chain.from_iterable(latest.values())))
    return {code: _at_height(own, usual) for code, own in latest.items()}


def _has_place(reading: LightReading) -> bool:
    """Return whether a reading has both X and Y, all figures finite."""
    if reading.x is None or reading.y is None:
        return False
    return isfinite(reading.x + reading.y + reading.ppfd)


def readings_in_use(trial: Trial) -> list[LightReading]:
    """Return the readings at the height in use; all of a treatment whose height was not read."""
    heights = {treatment.code: treatment.light_height for treatment in trial.treatments}
    in_use: list[LightReading] = []
    for reading in trial.light:
        if are_same(reading.height, heights.get(reading.treatment)):
            in_use.append(reading)
    treatments = {reading.treatment for reading in in_use}
    return in_use + [reading for reading in trial.light if reading.treatment not in treatments]


def _latest(readings: Sequence[LightReading]) -> list[LightReading]:
    dates = [reading.on for reading in readings if reading.on is not None]
    last = max(dates, default=None)
    return [reading for reading in readings if reading.on == last]


def _usual_height(readings: Sequence[LightReading]) -> float | None:
    """Return the height of most readings, the upper one of two; None counts as the lowest."""
    counts = Counter(reading.height for reading in readings)
    heights = sorted(counts, key=_with_none_lowest, reverse=True)
    return max(heights, key=lambda height: counts[height], default=None)


def _with_none_lowest(height: float | None) -> float:
    if height is None:
        return -1.0
    return height


def _at_height(readings: Sequence[LightReading], usual: float | None) -> list[LightReading]:
    heights = {reading.height for reading in readings}
    if usual in heights:
        height = usual
    else:
        height = _usual_height(readings)
    return [reading for reading in readings if reading.height == height]


def light_map(readings: Sequence[LightReading]) -> LightMap:
    """Return the map of readings with places, those at one place (to 1 mm) averaged."""
    ppfd = defaultdict(list)
    for reading in readings:
        ppfd[round(reading.x or 0.0, 1), round(reading.y or 0.0, 1)].append(reading.ppfd)
    cells = tuple(Cell(x, y, fmean(values)) for (x, y), values in ppfd.items())
    return LightMap(
        cells, readings[0].on, readings[0].height, evenness([reading.ppfd for reading in readings])
    )
