"""Find numbers whose point or unit has slipped: a power of ten away from numbers like them."""

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import pairwise
from math import log10
from statistics import fmean, median
from typing import Final

from reportgen.model.outliers import NORMAL_QUARTILE

# standard deviations; ours: wider than for outliers, as many cells are looked at
LIMIT: Final = 4.5
FEWEST: Final = 4  # like numbers, this one among them, that tell how such numbers spread
NEAR: Final = 0.4  # of log10: a factor of 2.5; numbers that near support one another
FAR: Final = 0.5  # of log10: within a factor of 3.2 of the median no digit has slipped
SLACK: Final = log10(1.25)  # how far beyond the range of the others a mended number may lie
NARROW: Final = 4.0  # a group whose largest number is less times the smallest holds no slip
MOST: Final = 0.3  # of the numbers of a group; where more have slipped it is not sure which
MOST_FEW: Final = 5  # numbers that are too few to tell how they spread
FEW_SLACK: Final = log10(1.6)  # how far beyond the range of a few others a mended number may lie
PAIR_SLACK: Final = log10(1.3)  # the same of two, as treatments may differ ten times honestly
NEAREST: Final = 8  # numbers that are compared as the nearest in time
LONG: Final = 1000  # numbers of a log, of which only sudden changes are looked at
SAMPLED: Final = 200  # numbers that stand for all where there are many
RECURRENT: Final = 3  # how often a place of a grid stands in a log at least
RECURRING_SHARE: Final = 0.8  # of numbers that recur, where they are places of a grid


class Peers(StrEnum):
    """What a number was compared with."""

    DAY_AND_TREATMENT = "same time, same treatment"
    DAY = "same time"
    NEAREST = "nearest in time"
    TREATMENT = "same treatment"
    SERIES = "the same plant before and after"
    ALL = "all in the group"
    PAIR = "the other of two"
    GRID = "places that recur"


@dataclass(frozen=True)
class Likeness:
    """What makes the numbers of a column alike. Each (n,), in the order of the numbers.

    Numbers are compared within their group only. `times` are in order as texts, None where there is
    none. A series is what was measured at one thing again and again, None where there is none;
    `repeated` says that it is one quantity of one living thing, which changes step by step.
    """

    groups: Sequence[Hashable]
    treatments: Sequence[str]
    times: Sequence[object]
    series: Sequence[Hashable]
    repeated: bool = False


@dataclass(frozen=True)
class Slip:
    """A number that fits those like it, of median `middle`, once divided by 10 to some power."""

    index: int
    power: int
    middle: float
    peers: Peers


def slips(values: Sequence[float | None], likeness: Likeness) -> tuple[Slip, ...]:
    """Return the numbers whose decimal point or unit has probably slipped, in order.

    values: (n,), None for blanks. Sizes vary by factors, so the rule works on logarithms; numbers
    of 0 and below are passed over. A number slipped if it lies beyond +-4.5 robust standard
    deviations from the median of those like it, and a tenth, a hundredth, ten times, ... of it is a
    size that they have. It is compared with those of its time and treatment first, then with ever
    wider groups until one has enough numbers; one that a like number supports has not slipped.
    """
    positive = {index: value for index, value in enumerate(values) if value and value > 0}
    if not positive or max(positive.values()) < NARROW * min(positive.values()):
        return ()
    logs = {index: log10(value) for index, value in positive.items()}
    members: dict[Hashable, list[int]] = defaultdict(list)
    for index in logs:
        members[likeness.groups[index]].append(index)
    series = _neighbours_in_series(likeness, logs)
    slipped: list[Slip] = []
    for indices in members.values():
        group = _Group(logs, tuple(indices), likeness, series)
        slipped += group.slips()
    return tuple(sorted(slipped, key=lambda slip: slip.index))


def _neighbours_in_series(
    likeness: Likeness, logs: Mapping[int, float]
) -> Mapping[int, tuple[int, ...]]:
    """Return the measurements just before and just after each one in its series."""
    series: dict[Hashable, list[int]] = defaultdict(list)
    for index in logs:
        if likeness.series[index] is not None and likeness.times[index] is not None:
            series[likeness.series[index]].append(index)
    neighbours: dict[int, tuple[int, ...]] = {}
    for indices in series.values():
        ordered = sorted(indices, key=lambda index: str(likeness.times[index]))
        for place, index in enumerate(ordered):
            neighbours[index] = (
                *ordered[max(0, place - 1) : place],
                *ordered[place + 1 : place + 2],
            )
    return neighbours


@dataclass(frozen=True)
class _Group:
    """The numbers of one group, as logarithms by index."""

    logs: Mapping[int, float]
    indices: tuple[int, ...]
    likeness: Likeness
    neighbours: Mapping[int, tuple[int, ...]]

    def slips(self) -> Iterator[Slip]:
        """Yield the numbers of the group that have slipped."""
        number = len(self.indices)
        if number <= MOST_FEW and not self.is_timed:
            yield from _slips_of_few(self.logs, self.indices)
            return
        if self._is_narrow() and not (self.likeness.repeated and number < FEWEST):
            return
        slipped: list[Slip] = []
        for index in self.candidates:
            slipped += self.slip_at(index)
        if len(slipped) > MOST * number:
            yield from self._minority(slipped)
        else:
            yield from slipped

    def _is_narrow(self) -> bool:
        logs = [self.logs[index] for index in self.indices]
        return max(logs) - min(logs) < log10(NARROW)

    def _minority(self, slipped: Sequence[Slip]) -> Iterator[Slip]:
        """Yield the slips among many that lie far from the numbers of the whole group as well."""
        middle = median(self.logs[index] for index in self.indices)
        for slip in slipped:
            if abs(self.logs[slip.index] - middle) >= NEAR:
                yield slip

    @cached_property
    def is_timed(self) -> bool:
        return any(self.likeness.times[index] is not None for index in self.indices)

    @cached_property
    def ordered(self) -> tuple[int, ...]:
        """Return the indices in order of time, none where some have no time."""
        times = self.likeness.times
        if any(times[index] is None for index in self.indices):
            return ()
        return tuple(sorted(self.indices, key=lambda index: str(times[index])))

    @cached_property
    def ranks(self) -> Mapping[int, int]:
        return {index: rank for rank, index in enumerate(self.ordered)}

    @property
    def candidates(self) -> Sequence[int]:
        """Return what is worth a look: of a long log, numbers far from the one before or after."""
        order = self.ordered
        if len(order) < LONG:
            return self.indices
        logs = [self.logs[index] for index in order]
        ranks: set[int] = set()
        for rank, (before, after) in enumerate(pairwise(logs)):
            if abs(after - before) > NEAR:
                ranks.update((rank, rank + 1))
        return [order[rank] for rank in sorted(ranks)]

    def slip_at(self, index: int) -> Iterator[Slip]:
        """Yield the slip of one number, by the narrowest comparison that can tell."""
        if self._is_supported_by_series(index):
            return
        for peers in self.comparisons:
            others = [self.logs[other] for other in self.others(index, peers)]
            if len(others) < FEWEST - 1:
                if _is_supported(self.logs[index], others):
                    return
                continue
            middle = median(others)
            if abs(self.logs[index] - middle) < NEAR:
                return
            scale = 0.0
            if len(others) + 1 < len(self.indices):
                scale = self.scales[peers]
            power = _power(self.logs[index], others, scale)
            if power:
                yield Slip(index, power, 10**middle, peers)
                return
        yield from self._slip_in_series(index)

    @cached_property
    def comparisons(self) -> tuple[Peers, ...]:
        """Return what numbers are compared with, the most alike first."""
        if self.ordered and len(self.ordered) >= LONG:
            return (Peers.NEAREST,)
        if self.is_timed:
            if self.ordered:
                widest = Peers.NEAREST
            else:
                widest = Peers.ALL
            return (Peers.DAY_AND_TREATMENT, Peers.DAY, widest)
        return (Peers.TREATMENT, Peers.ALL)

    def others(self, index: int, peers: Peers) -> Sequence[int]:
        """Return the other numbers that one is compared with."""
        if peers is Peers.NEAREST:
            rank = self.ranks[index]
            first = min(max(0, rank - NEAREST // 2), max(0, len(self.ordered) - NEAREST - 1))
            window = self.ordered[first : first + NEAREST + 1]
            return [other for other in window if other != index]
        same = self.members[peers][self._key(index, peers)]
        return [other for other in same if other != index]

    @cached_property
    def members(self) -> Mapping[Peers, Mapping[Hashable, Sequence[int]]]:
        """Return the numbers that are alike by each comparison, by their key; of many a sample."""
        found: dict[Peers, dict[Hashable, list[int]]] = {}
        for peers in self.comparisons:
            found[peers] = defaultdict(list)
            for index in self.indices:
                found[peers][self._key(index, peers)].append(index)
            for key, indices in found[peers].items():
                found[peers][key] = indices[:: max(1, len(indices) // SAMPLED)]
        return found

    def _key(self, index: int, peers: Peers) -> Hashable:
        time, treatment = str(self.likeness.times[index]), self.likeness.treatments[index]
        keys = {
            Peers.DAY_AND_TREATMENT: (time, treatment),
            Peers.DAY: time,
            Peers.TREATMENT: treatment,
        }
        return keys.get(peers, "")

    @cached_property
    def scales(self) -> Mapping[Peers, float]:
        """Return the standard deviation of numbers about those like them, by comparison."""
        return {peers: self._scale(peers) for peers in self.comparisons}

    def _scale(self, peers: Peers) -> float:
        sample = self.indices[:: max(1, len(self.indices) // SAMPLED)]
        distances: list[float] = []
        for index in sample:
            others = [self.logs[other] for other in self.others(index, peers)]
            if len(others) >= FEWEST - 1:
                distances.append(abs(self.logs[index] - median(others)))
        return median(distances or [0.0]) / NORMAL_QUARTILE

    def _is_supported_by_series(self, index: int) -> bool:
        """Tell whether the same thing had a like size just before and just after."""
        neighbours = self.neighbours.get(index, ())
        distances = [abs(self.logs[index] - self.logs[other]) for other in neighbours]
        return bool(distances) and max(distances) < NEAR

    def _slip_in_series(self, index: int) -> Iterator[Slip]:
        """Yield the slip of a number that leaps and comes back, where that day has few others."""
        neighbours = self.neighbours.get(index, ())
        if not self.likeness.repeated or len(neighbours) < 2 or len(self.indices) >= FEWEST:
            return
        others = [self.logs[other] for other in neighbours]
        middle = fmean(others)
        power = round(self.logs[index] - middle)
        low, high = min(others) - SLACK, max(others) + SLACK
        is_mended = low <= self.logs[index] - power <= high
        is_near = low - NEAR <= self.logs[index] <= high + NEAR
        if power and is_mended and not is_near:
            yield Slip(index, power, 10**middle, Peers.SERIES)


def _is_supported(value: float, others: Sequence[float]) -> bool:
    """Tell whether one of the others is near a number. All are logarithms."""
    return any(abs(value - other) < NEAR for other in others)


def _power(value: float, others: Sequence[float], scale: float) -> int:
    """Return by which power of ten a number is off the others, 0 where it is not.

    All are logarithms. `scale` is how numbers of the whole group spread about those like them, as few of them may agree
    by chance; 0 where the others are the whole group.
    """
    middle = median(others)
    spread = max(scale, median(abs(other - middle) for other in others) / NORMAL_QUARTILE)
    distance = value - middle
    if abs(distance) <= max(FAR, LIMIT * spread):
        return 0
    steps = max(1, round(abs(distance)))
    if distance > 0:
        power = steps
    else:
        power = -steps
    low, high = min(others) - SLACK, max(others) + SLACK
    if low <= value - power <= high:
        return power
    return 0


def _slips_of_few(logs: Mapping[int, float], indices: Sequence[int]) -> Iterator[Slip]:
    """Yield the slip among a few numbers: the odd one where the others agree.

    Of two both come, as either may be it.
    """
    for index in indices:
        others = [logs[other] for other in indices if other != index]
        if not others or max(others) - min(others) >= NEAR:
            continue
        middle = fmean(others)
        power = round(logs[index] - middle)
        slack = _slack(power, len(others))
        mended = logs[index] - power
        if power and min(others) - slack <= mended <= max(others) + slack:
            yield Slip(index, power, 10**middle, _peers(len(others)))


def _peers(number: int) -> Peers:
    """Return what a number was compared with, by how many these are."""
    if number == 1:
        return Peers.PAIR
    return Peers.ALL


def _slack(power: int, number: int) -> float:
    """Return how far beyond a number of others a number may lie, once mended by a power of ten."""
    if abs(power) != 1:
        return NEAR
    if number == 1:
        return PAIR_SLACK
    return FEW_SLACK


def slipped_places(values: Sequence[float | None]) -> tuple[Slip, ...]:
    """Return the places of a grid whose point has probably slipped.

    Each stands once, and recurs once it is mended. values: (n,), None for blanks.
    """
    times = Counter(filter(None, values))
    recurring = [value for value, number in times.items() if number >= RECURRENT]
    number_recurring = sum(times[value] for value in recurring)
    if number_recurring < RECURRING_SHARE * times.total():
        return ()
    slipped: list[Slip] = []
    for index, value in enumerate(values):
        if value and times[value] == 1:
            slipped += _mended_place(index, value, recurring)
    return tuple(slipped)


def _mended_place(index: int, value: float, recurring: Sequence[float]) -> Iterator[Slip]:
    for power in (1, -1, 2, -2, 3, -3):
        mended = value / 10.0**power
        for place in recurring:
            if abs(mended - place) <= abs(place) * 1e-9:
                yield Slip(index, power, place, Peers.GRID)
                return
