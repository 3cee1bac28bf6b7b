"""Values that lie far from the rest of their group: what the report flags, and slips of the decimal point."""

from collections import defaultdict
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import log10, pi, sqrt
from statistics import fmean, median
from typing import Final

NORMAL_QUARTILE: Final = 0.6745  # median absolute deviation of a standard normal distribution
MEAN_DEVIATION: Final = sqrt(pi / 2)  # standard deviation of a normal one in mean absolute deviations
LIMIT: Final = 3.5  # Iglewicz & Hoaglin (1993)
ROUNDING: Final = 1e-12  # relative; floating-point noise of a few hundred additions stays well below it

FEWEST: Final = 4  # values of a group of its own; those of smaller groups are compared with all values
NEAR: Final = 0.4  # of log10: within a factor of 2.5 of the median no digit has slipped
SLACK: Final = log10(1.25)  # how far beyond the range of the others a mended value may lie


@dataclass(frozen=True)
class Outliers:
    """The places of the values that lie far from the rest, and every value's modified z-score, in order.

    There are no scores of fewer than three values, or where all are the same.
    """

    indices: tuple[int, ...] = ()
    scores: tuple[float, ...] = ()


@dataclass(frozen=True)
class Slip:
    """A value that fits the others once it is divided by 10 to some power; `middle` is the median of the others."""

    index: int
    power: int
    middle: float


def outliers(values: Sequence[float], limit: float = LIMIT) -> Outliers:
    """Return the values whose modified z-score lies beyond +-limit. values: (n,), one group, all finite.

    The score is 0.6745 (x - median) / MAD: Iglewicz & Hoaglin (1993), How to Detect and Handle Outliers;
    NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17. Where the MAD (median absolute deviation) is 0 it is
    (x - median) / (1.2533 mean absolute deviation), by which one value alone stands out of 5 or more.
    """
    numbers = list(map(float, values))
    if len(numbers) < 3:
        return Outliers()
    middle = median(numbers)
    deviations = [number - middle for number in numbers]
    rounding = ROUNDING * max(map(abs, numbers))
    unit = _unit_of_spread(list(map(abs, deviations)), rounding)
    if unit is None:
        return Outliers()
    scores = tuple(deviation / unit for deviation in deviations)
    far = (index for index, score in enumerate(scores) if abs(score) > limit)
    return Outliers(tuple(far), scores)


def _unit_of_spread(distances: Sequence[float], rounding: float) -> float | None:
    """Return the length that stands for one standard deviation, None where all values are the same."""
    if max(distances) <= rounding:
        return None
    middle = median(distances)
    if middle > rounding:
        return middle / NORMAL_QUARTILE
    return MEAN_DEVIATION * fmean(distances)


def slips(values: Sequence[float], groups: Sequence[Hashable]) -> tuple[Slip, ...]:
    """Return the values whose decimal point or unit has probably slipped. values, groups: (n,); order is kept.

    Sizes of living things vary by factors, so the rule works on logarithms: a value slipped if its modified z-score
    among the others of its group lies beyond +-3.5, and a tenth, a hundredth, ten times, ... of it is a size that the
    others have. Values of 0 and below are passed over. A group of fewer than 4 is compared with all values.
    """
    logs = {index: log10(value) for index, value in enumerate(values) if value > 0}
    members: Mapping[Hashable, list[int]] = defaultdict(list)
    for index in logs:
        members[groups[index]].append(index)
    found: list[Slip] = []
    for group in members.values():
        peers = group if len(group) >= FEWEST else list(logs)
        found += _slips_of_group(logs, group, peers)
    return tuple(sorted(found, key=lambda slip: slip.index))


def _slips_of_group(logs: Mapping[int, float], group: Sequence[int], peers: Sequence[int]) -> Iterator[Slip]:
    middle = median(logs[index] for index in peers)
    for index in group:
        if abs(logs[index] - middle) < NEAR or len(peers) < FEWEST:
            continue
        others = [logs[other] for other in peers if other != index]
        power = _power(logs[index], others)
        if power:
            yield Slip(index, power, 10 ** median(others))


def _power(value: float, others: Sequence[float]) -> int:
    """Return by which power of ten a value is off the others, 0 where it is not. All are logarithms."""
    middle = median(others)
    spread = median(abs(other - middle) for other in others) / NORMAL_QUARTILE
    distance = value - middle
    if abs(distance) <= LIMIT * spread:
        return 0
    steps = max(1, round(abs(distance)))
    power = steps if distance > 0 else -steps
    low, high = min(others) - SLACK, max(others) + SLACK
    return power if low <= value - power <= high else 0
