"""Counters that leap: readings that fit the others once their decimal point is moved back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import log
from statistics import median
from typing import Final

# times the usual rate, up to which a rate is believed: devices run more on some days
FITTING: Final = 3.0
# the same against other counters, whose devices may be larger or smaller
FITTING_OTHERS: Final = 10.0
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
        """Return the rate per hour between two readings, None without time between them."""
        passed = self.hours[last] - self.hours[first]
        if passed > 0:
            return (self.readings[last] - self.readings[first]) / passed
        return None

    def rates(self, without: int = -1) -> list[float]:
        """Return the rates between readings that follow one another, without those at one of them."""
        rates: list[float] = []
        for last in range(1, len(self.hours)):
            rate = self.rate(last - 1, last)
            if rate is not None and without not in (last - 1, last):
                rates.append(rate)
        return rates

    def beside(self, index: int) -> list[float]:
        """Return the rates just before and just after a reading."""
        rates: list[float] = []
        for first in (index - 1, index):
            if 0 <= first < len(self.hours) - 1:
                rate = self.rate(first, first + 1)
                if rate is not None:
                    rates.append(rate)
        return rates

    def divided(self, first: int, last: int, divisor: float) -> "Counter":
        """Return the counter with the readings from `first` to `last` divided."""
        mended = tuple(reading / divisor for reading in self.readings[first : last + 1])
        return Counter(self.hours, (*self.readings[:first], *mended, *self.readings[last + 1 :]))

    @property
    def pace(self) -> float:
        """Return the rate per hour from the first reading to the last, 0 where it is not known."""
        return max(self.rate(0, len(self.hours) - 1) or 0.0, 0.0)


def leaps(part: Counter, of_others: Sequence[float]) -> list[Leap]:
    """Return the readings of a counter that leap, at most one for each leap.

    What is usual is its own rate elsewhere; where it was read too seldom, `of_others`: the rates of
    others like it.
    """
    others = [rate for rate in of_others if rate > 0]
    found: list[Leap] = []
    for index in range(len(part.hours)):
        own = [rate for rate in part.rates(without=index) if rate > 0]
        leap = _leap(part, index, _usual(own, others))
        if leap:
            found.append(leap)
    return found


def _usual(own: Sequence[float], others: Sequence[float]) -> "_Usual":
    """Return the usual rate: that of the counter's own rates, with others' where these are few."""
    rates = list(own)
    if len(own) < FEWEST:
        rates += others
    factor = FITTING_OTHERS
    if own:
        factor = FITTING
    return _Usual(median(rates or [0.0]), max(own, default=0.0), factor)


@dataclass(frozen=True)
class _Usual:
    """The usual rate, the counter's own highest, and the factor by which rates may differ."""

    rate: float
    highest: float
    factor: float

    def fits(self, rates: Sequence[float]) -> bool:
        return all(self.rate / self.factor <= rate <= self.rate * self.factor for rate in rates)

    def is_exceeded(self, rate: float) -> bool:
        """Tell whether a rate is too high; never so for a counter without rates of its own."""
        return self.highest > 0 and rate > LEAP * max(self.rate, self.highest)


def _leap(part: Counter, index: int, usual: _Usual) -> Leap | None:
    rates = part.beside(index)
    falls = any(rate < 0 for rate in rates)
    fastest = max(rates, default=0.0)
    if usual.rate <= 0 or not (falls or usual.is_exceeded(fastest)):
        return None
    times = 0.0
    if not falls:
        times = fastest / usual.rate
    reading = _mended_reading(part, index, usual)
    if reading is not None:
        return Leap(index, reading, times)
    if falls and usual.is_exceeded(fastest) and _comes_back(part, index, usual):
        return Leap(index, None, times)
    return None


def _mended_reading(part: Counter, index: int, usual: _Usual) -> float | None:
    """Return the reading with its point moved so that the counter runs as usual; None for none.

    The point may have slipped in some readings that follow, too.
    """
    for last in range(index, min(index + LONGEST_RUN, len(part.hours))):
        for power in POWERS:
            mended = part.divided(index, last, 10.0**power)
            if usual.fits(_around(mended, index, last)) and _rises(mended):
                return mended.readings[index]
    return None


def _rises(counter: Counter) -> bool:
    """Tell whether a counter has rates, and never falls."""
    return min(counter.rates(), default=-1.0) >= 0


def _around(part: Counter, first: int, last: int) -> list[float]:
    """Return the rates around the readings from `first` to `last`, and between them."""
    rates: list[float] = []
    for index in range(first, last + 1):
        rates += part.beside(index)
    return rates


def _comes_back(part: Counter, index: int, usual: _Usual) -> bool:
    """Tell whether the counter runs as usual from the reading before to the one after."""
    if not 0 < index < len(part.hours) - 1:
        return False
    across = part.rate(index - 1, index + 1)
    return across is not None and usual.fits([across])


# ---- counters beside one another -----------------------------------------------------------------


@dataclass(frozen=True)
class OddPace:
    """A counter that runs `times` as fast as the one nearest to it, a fraction where slower.

    `reading` is the one that would make them alike if its point is moved, by index, and `meant`
    what it then is; None where there is none.
    """

    counter: int
    nearest: int
    times: float
    reading: int | None = None
    meant: float = 0.0


def odd_paces(counters: Sequence[Counter]) -> list[OddPace]:
    """Return the counters that run 40 times as fast as every other, or a fortieth.

    Those come too that run nearly so, but for a slipped point. Of two counters either may be the
    odd one, so both are returned.
    """
    paces = [counter.pace for counter in counters]
    running = [index for index, pace in enumerate(paces) if pace > 0]
    odd_ones: list[OddPace] = []
    for index in running:
        others = {other: paces[other] for other in running if other != index}
        if not others:
            continue
        nearest = _nearest_pace(others, paces[index])
        odd = OddPace(index, nearest, paces[index] / paces[nearest])
        others_agree = len(others) > 1 and _agree(list(others.values()))
        odd_ones += _odd(counters[index], odd, paces[nearest], others_agree)
    return odd_ones


def _nearest_pace(paces: Mapping[int, float], pace: float) -> int:
    """Return the index of the pace that differs by the smallest factor."""
    return min(paces, key=lambda index: abs(log(paces[index] / pace)))


def _agree(paces: Sequence[float]) -> bool:
    return max(paces) <= AGREEING * min(paces)


def _odd(counter: Counter, odd: OddPace, usual: float, others_agree: bool) -> list[OddPace]:
    """Return a counter that is odd; if less than 40 times apart, only where all others agree."""
    apart = max(odd.times, 1 / odd.times)
    if apart <= LEAP or (apart < APART and not others_agree):
        return []
    factor = CLOSE
    if apart >= APART:
        factor = FITTING
    for reading in (len(counter.hours) - 1, 0):
        mended = _mended_pace(counter, reading, usual, factor)
        if mended:
            return [replace(odd, reading=reading, meant=mended.readings[reading])]
    if apart >= APART:
        return [odd]
    return []


def _mended_pace(counter: Counter, reading: int, usual: float, factor: float) -> Counter | None:
    """Return the counter with the point of one reading moved so that its pace is usual, or None.

    reading: its index. factor: by which the pace may differ from the `usual` one.
    """
    for power in POWERS:
        mended = counter.divided(reading, reading, 10.0**power)
        if usual / factor <= mended.pace <= usual * factor and _rises(mended):
            return mended
    return None
