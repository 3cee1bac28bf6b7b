"""The scale that the interval bars of an answer box share: logarithmic, no change where `zero` is."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from typing import Final

from reportgen.model.document import IntervalBar
from reportgen.report import ratios

FARTHEST: Final = 4.0  # a ratio beyond it, or below its inverse, lies off the scale
NEAREST: Final = 1.1  # a scale reaches at least so far to one side of no change
SPARE: Final = 0.06  # of the reach, so that no bar touches an end
RATIOS_OF_TICKS: Final = (0.25, 0.5, 0.75, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0, 3.0, 4.0)
UPWARDS: Final = tuple(log(tick) for tick in RATIOS_OF_TICKS if tick > 1)
DOWNWARDS: Final = tuple(-log(tick) for tick in RATIOS_OF_TICKS if tick < 1)
LEAST_APART: Final = (
    24.0  # between two ticks, in percent of the width: room for a text such as +25%
)
LEAST_SIDE: Final = 0.45  # of the other side's reach, to a side that a bar reaches: a tick has room
EDGE: Final = 4.0  # in percent of the width: a tick nearer to an end has no room for its text


@dataclass(frozen=True)
class BarScale:
    """Where ratios stand: `low` and `high` are the logarithms of its ends."""

    low: float
    high: float

    def place(self, ratio: float) -> float:
        """Return where a ratio stands, in percent of the width, kept within it."""
        if ratio <= 0:
            return 0.0
        share = (log(ratio) - self.low) / (self.high - self.low)
        return round(100 * min(1.0, max(0.0, share)), 2)

    def bar(self, value: float, low: float | None, high: float | None) -> IntervalBar:
        """Return a change with its limits.

        None where one lies off the scale, the change itself where none is known.
        """
        if low is None and high is None:
            return IntervalBar(
                self.place(1.0), self.place(value), self.place(value), self.place(value)
            )
        return IntervalBar(self.place(1.0), self.place(value), self._limit(low), self._limit(high))

    def _limit(self, ratio: float | None) -> float | None:
        if ratio is None or ratio <= 0 or not self.low <= log(ratio) <= self.high:
            return None
        return self.place(ratio)

    def ticks(self) -> tuple[tuple[float, str], ...]:
        """Return ticks with their texts, lowest first.

        No change always, others where they have room.
        """
        zero = self.place(1.0)
        kept = {1.0: zero}
        for ratio in sorted(RATIOS_OF_TICKS, key=lambda one: -abs(log(one))):
            place = self.place(ratio)
            has_room = all(abs(place - other) >= LEAST_APART for other in kept.values())
            if EDGE <= place <= 100 - EDGE and has_room:
                kept[ratio] = place
        return tuple((place, ratios.signed_percent(ratio)) for ratio, place in sorted(kept.items()))


def covering(ratios: Sequence[float | None]) -> BarScale:
    """Return the scale on which ratios and no change lie, as far as `FARTHEST`: it reaches to the
    tick at or beyond the last ratio on either side, and far enough for one on each that a ratio is on.
    """
    known = [ratio for ratio in ratios if ratio is not None and ratio > 0]
    least, most = min([*known, 1.0]), max([*known, NEAREST])
    below, above = 0.5 * log(NEAREST), _reach(UPWARDS, log(most))
    if least < 1:
        below = _reach(DOWNWARDS, max(-log(least), LEAST_SIDE * above))
    if max(known, default=1.0) > 1:
        above = _reach(UPWARDS, max(log(most), LEAST_SIDE * below))
    spare = SPARE * (above + below)
    return BarScale(-below - spare, above + spare)


def _reach(distances: Sequence[float], least: float) -> float:
    """Return the distance of the first tick that lies `least` or more from no change."""
    return min([one for one in distances if one >= least], default=log(FARTHEST))
