"""A ratio taken apart into factors: a1/z1 : a0/z0 = (a1/b1 : a0/b0) x (b1/c1 : b0/c0) x ... x (y1/z1 : y0/z0).

The factors multiply to the whole where a, b, ... z are totals over the same units on each side. They do not where a
unit lacks one of the quantities, or where a model with unequal cells moved the means: then there is no chain.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, isclose, log

from reportgen.model.results import Comparison
from reportgen.stats.comparisons import NO_FIGURE

SAME_PRODUCT = 1e-9  # relative; far above the rounding of a few products, far below what a reader could see
NO_FACTORS = "there is nothing to take apart"
NOT_POSITIVE = "a ratio is not above zero, so there is no chain on a log scale"
NOT_THE_WHOLE = (
    "the factors do not multiply to the whole, because units lack one of the quantities or blocks are incomplete"
)


@dataclass(frozen=True)
class Factor:
    """One factor of a chain: its name, its ratio (treated / reference), and its interval.

    Both limits are None where there is no interval; then the note says why.
    """

    name: str
    ratio: float | None
    low: float | None = None
    high: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Chain:
    """The whole ratio and the factors that multiply to it; no factors where there is no chain, with the reason."""

    whole: Factor
    factors: tuple[Factor, ...] = ()
    note: str = ""


def factor(name: str, comparison: Comparison) -> Factor:
    """Return the ratio of a comparison as a factor, with the comparison's own interval."""
    note = comparison.note or ("" if comparison.ratio is not None else NO_FIGURE)
    return Factor(name, comparison.ratio, comparison.ratio_low, comparison.ratio_high, note)


def chain(whole: Factor, factors: Sequence[Factor]) -> Chain:
    """Return the whole with its factors where they multiply to it, else without them and with a note.

    The intervals of the factors do not combine to that of the whole: the factors rest on the same units.
    """
    if not factors:
        return Chain(whole, note=NO_FACTORS)
    ratios = [one.ratio for one in (whole, *factors) if one.ratio is not None]
    if len(ratios) <= len(factors):
        return Chain(whole, note=NO_FIGURE)
    if min(ratios) <= 0:
        return Chain(whole, note=NOT_POSITIVE)
    product = exp(sum(log(ratio) for ratio in ratios[1:]))
    if not isclose(product, ratios[0], rel_tol=SAME_PRODUCT):
        return Chain(whole, note=NOT_THE_WHOLE)
    return Chain(whole, tuple(factors))
