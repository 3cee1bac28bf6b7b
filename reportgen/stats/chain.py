"""A ratio taken apart into factors: a1/z1 : a0/z0 = (a1/b1 : a0/b0) x (b1/c1 : b0/c0) x ... x (y1/z1 : y0/z0).

The factors multiply to the whole where a, b, ... z are totals over the same units on each side. They do not where a
unit lacks one of the quantities, or where a model with unequal cells moved the means: then there is no chain.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, isclose, log

from reportgen.model.message import Notes, note
from reportgen.model.results import Comparison
from reportgen.stats.comparisons import NO_FIGURE

SAME_PRODUCT = 1e-9  # relative; far above the rounding of a few products, far below what a reader could see
NO_FACTORS = note("no_factors")
NOT_POSITIVE = note("not_positive")
NOT_THE_WHOLE = note("not_the_whole")


@dataclass(frozen=True)
class Factor:
    """One factor of a chain: its name, its ratio (treated / reference), and its interval.

    Both limits are None where there is no interval; then the note says why.
    """

    name: str
    ratio: float | None
    low: float | None = None
    high: float | None = None
    notes: Notes = ()


@dataclass(frozen=True)
class Chain:
    """The whole ratio and the factors that multiply to it; no factors where there is no chain, with the reason."""

    whole: Factor
    factors: tuple[Factor, ...] = ()
    notes: Notes = ()


def factor(name: str, comparison: Comparison) -> Factor:
    """Return the ratio of a comparison as a factor, with the comparison's own interval."""
    notes = comparison.notes or (() if comparison.ratio is not None else NO_FIGURE)
    return Factor(name, comparison.ratio, comparison.ratio_low, comparison.ratio_high, notes)


def chain(whole: Factor, factors: Sequence[Factor]) -> Chain:
    """Return the whole with its factors where they multiply to it, else without them and with a note.

    The intervals of the factors do not combine to that of the whole: the factors rest on the same units.
    """
    if not factors:
        return Chain(whole, notes=NO_FACTORS)
    ratios = [one.ratio for one in (whole, *factors) if one.ratio is not None]
    if len(ratios) <= len(factors):
        return Chain(whole, notes=NO_FIGURE)
    if min(ratios) <= 0:
        return Chain(whole, notes=NOT_POSITIVE)
    product = exp(sum(log(ratio) for ratio in ratios[1:]))
    if not isclose(product, ratios[0], rel_tol=SAME_PRODUCT):
        return Chain(whole, notes=NOT_THE_WHOLE)
    return Chain(whole, tuple(factors))
