"""Counters that leap: readings that fit the others once their decimal point is moved back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log
from statistics import median
from typing import Final

FITTING: Final = (
    3.0  # times the usual rate, up to which a rate is believed: devices run more on some days
)
FITTING_OTHERS: Final = (
    10.0  # the same against other counters, whose devices may be larger or smaller
)
LEAP: Final = 5.0  # times the usual rate, from which a rate is not
FEWEST: Final = 2  # rates of a counter's own that tell what is usual
LONGEST_RUN: Final = 2  # readings in a row whose point slipped
# times the pace of every other counter, from which one is asked back; honest ones reach 38
APART: Final = 40.0
CLOSE: Final = 1.1  # times the pace of another counter, up to which a mended one is like it
AGREEING: Final = 1.3  # times the slowest of the others, up to which they are alike
POWERS: Final = (1, -1, 2, -2, 3, -3)


@dataclass(frozen=True)
class Leap:
    """A reading that leaps: `meant` is what was probably meant; None where only the leap is known.

    `times` is by how much the counter ran faster than usual, 0 where it runs backwards.
    """

    index: int
    meant: float | None
    times: float


@dataclass(frozen=True)
class Counter:
    """Readings of one counter between two resets, in order of time. hours, readings: (n,)."""

    hours: tuple[float, ...]
    readings: tuple[float, ...]

    def rate(self, first: int, last: int) -> float | None:
        """Return what is counted in an hour between two readings, None where there is no time
        between them.
        """
        passed = self.hours[last] - self.hours[first]
        if passed > 0:
            return (self.readings[last] - self.readings[first]) / passed
        return None

    def rates(self, without: int = -1) -> list[float]:
        """Return the rates between readings that follow one another, without those at one of them."""
        found: list[float] = []
        for last in range(1, len(self.hours)):
            rate = self.rate(last - 1, last)
            if rate is not None and without not in (last - 1, last):
                found.append(rate)
        return found

    def beside(self, index: int) -> list[float]:
        """Return the rates just before and just after a reading."""
        found = [
            self.rate(first, first + 1)
            for first in (index - 1, index)
            if 0 <= first < len(self.hours) - 1
        ]
        return [rate for rate in found if rate is not None]

    def divided(self, first: int, last: int, divisor: float) -> "Counter":
        """Return the counter with the readings from `first` to `last` divided."""
        mended = tuple(reading / divisor for reading in self.readings[first : last + 1])
        return Counter(self.hours, (*self.readings[:first], *mended, *self.readings[last + 1 :]))

    @property
    def pace(self) -> float:
        """Return what is counted in an hour from the first reading to the last, 0 where that cannot
        be told.
        """
        return max(self.rate(0, len(self.hours) - 1) or 0.0, 0.0)


def leaps(part: Counter, of_others: Sequence[float]) -> list[Leap]:
    """Return the readings of a counter that leap, at most one for each leap.

    What is usual is its own rate elsewhere; where it was read too seldom, `of_others`: the rates of
    others like it.
    """
    found: list[Leap] = []
    for index in range(len(part.hours)):
        own = [rate for rate in part.rates(without=index) if rate > 0]
        if len(own) >= FEWEST:
            rates = own
        else:
            rates = [*own, *(rate for rate in of_others if rate > 0)]
        usual = _Usual(
            median(rates or [0.0]), max(own, default=0.0), FITTING if own else FITTING_OTHERS
        )
        leap = _leap(part, index, usual)
        if leap:
            found.append(leap)
    return found


@dataclass(frozen=True)
class _Usual:
    """The usual rate, the highest of the counter's own, and by which factor rates differ honestly."""

    rate: float
    highest: float
    factor: float

    def fits(self, rates: Sequence[float]) -> bool:
        return all(self.rate / self.factor <= rate <= self.rate * self.factor for rate in rates)

    def is_exceeded(self, rate: float) -> bool:
        """Tell whether a rate is no usual one; of a counter without rates of its own nothing can be
        said.
        """
        return self.highest > 0 and rate > LEAP * max(self.rate, self.highest)


def _leap(part: Counter, index: int, usual: _Usual) -> Leap | None:
    beside = part.beside(index)
    falls = any(rate < 0 for rate in beside)
    fastest = max(beside, default=0.0)
    if usual.rate <= 0 or not (falls or usual.is_exceeded(fastest)):
        return None
    if falls:
        times = 0.0
    else:
        times = fastest / usual.rate
    for last in range(index, min(index + LONGEST_RUN, len(part.hours))):
        for power in POWERS:
            mended = part.divided(index, last, 10.0**power)
            if usual.fits(_around(mended, index, last)) and min(mended.rates(), default=-1.0) >= 0:
                return Leap(index, mended.readings[index], times)
    is_spike = falls and usual.is_exceeded(fastest) and _comes_back(part, index, usual)
    if is_spike:
        return Leap(index, None, times)
    return None


def _around(part: Counter, first: int, last: int) -> list[float]:
    """Return the rates just before and just after the readings from `first` to `last`, and between
    them.
    """
    found: list[float] = []
    for index in range(first, last + 1):
        found += part.beside(index)
    return found


def _comes_back(part: Counter, index: int, usual: _Usual) -> bool:
    """Tell whether the counter runs as usual from the reading before to the one after, as if this
    one were not.
    """
    if not 0 < index < len(part.hours) - 1:
        return False
    across = part.rate(index - 1, index + 1)
    return across is not None and usual.fits([across])


# ---- counters beside one another -----------------------------------------------------------------


@dataclass(frozen=True)
class OddPace:
    """A counter that runs at another pace than the one nearest to it: `times` as fast, a fraction
    where slower.

    `reading` is the one that would make them alike if its point is moved, by index, and `meant`
    what it then is; None where there is none.
    """

    counter: int
    nearest: int
    times: float
    reading: int | None = None
    meant: float = 0.0


def odd_paces(counters: Sequence[Counter]) -> list[OddPace]:
    """Return the counters that run 40 times as fast as every other, or a fortieth, or so but for a
    slipped point.

    Of two counters either may be the odd one, so both are returned.
    """
    paces = [counter.pace for counter in counters]
    running = [index for index, pace in enumerate(paces) if pace > 0]
    found: list[OddPace] = []
    for index in running:
        others = [other for other in running if other != index]
        if others:
            nearest = min(others, key=lambda other: abs(log(paces[other] / paces[index])))
            odd = OddPace(index, nearest, paces[index] / paces[nearest])
            others_agree = len(others) > 1 and _agree([paces[other] for other in others])
            found += _odd(counters[index], odd, paces[nearest], others_agree)
    return found


def _agree(paces: Sequence[float]) -> bool:
    return max(paces) <= AGREEING * min(paces)


def _odd(counter: Counter, odd: OddPace, usual: float, others_agree: bool) -> list[OddPace]:
    """Return a counter that is odd; one that is less than 40 times apart only where the others are
    all alike.
    """
    apart = max(odd.times, 1 / odd.times)
    if apart <= LEAP or (apart < APART and not others_agree):
        return []
    if apart >= APART:
        factor = FITTING
    else:
        factor = CLOSE
    for reading in (len(counter.hours) - 1, 0):
        for power in POWERS:
            mended = counter.divided(reading, reading, 10.0**power)
            fits = usual / factor <= mended.pace <= usual * factor
            if fits and min(mended.rates(), default=-1.0) >= 0:
                return [replace(odd, reading=reading, meant=mended.readings[reading])]
    if apart >= APART:
        return [odd]
    return []
