"""Ordered values of units compared by their ranks within blocks: an exact permutation test, and how
often one is above.

The test is Wilcoxon's and Mann and Whitney's with midranks, permuted within blocks. Its effect is
the probability that a unit of one treatment lies above one of the reference, ties counted half.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import comb, prod, sqrt
from typing import Final

import numpy as np
from scipy import optimize, stats

from reportgen.model.message import Amount, Count, Notes, joined, note
from reportgen.model.results import RankComparison
from reportgen.stats.analysis import Design
from reportgen.stats.scores import FloatArray, IntArray

FEWEST_FOR_LIMITS: Final = (
    4  # units a side; with 3 against 6 of another spread 90 of 100 intervals of 95% hold
)
MOST_EXACT: Final = 100  # units of a block; beyond, the distribution is taken as normal
MOST_UNITS: Final = 60  # no trial is told that it takes more
LIMIT_BY_TEST: Final = note("limit_set_by_test")
NO_RANKS: Final = note("no_units_to_rank")


@dataclass(frozen=True)
class _Stratum:
    """The ordered values of both treatments within one block: `treated` (n,) and `reference` (m,)."""

    treated: FloatArray
    reference: FloatArray

    @property
    def pairs(self) -> int:
        """Return how many units of one treatment are compared with one of the other."""
        return self.treated.size * self.reference.size

    @property
    def wins(self) -> float:
        """Return in how many pairs the treated unit lies above, ties counted half."""
        apart = self.treated[:, np.newaxis] - self.reference
        return float((apart > 0).sum() + 0.5 * (apart == 0).sum())

    @property
    def arrangements(self) -> int:
        """Return in how many ways the treatment could have been given to these units."""
        return comb(self.treated.size + self.reference.size, self.treated.size)


def compare_ranks(
    values: FloatArray, design: Design, level: float
) -> tuple[RankComparison | None, ...]:
    """Compare each treatment's ranks with the reference's (None for the reference itself).

    values: (n,) of an ordinal scale, NaN for units without one; only their order counts. Units are
    compared within blocks where there are blocks. With several comparisons p values are Holm's and
    limits Bonferroni's; limits are made to agree with the exact test.
    """
    others = [code for code in range(design.treatments) if code != design.reference]
    strata = {code: _strata(values, design, code) for code in others}
    alpha = 1 - level
    singly = [_compared(strata[code], 1 - alpha / len(others)) for code in others]
    comparisons: list[RankComparison | None] = [None] * design.treatments
    for code, comparison in zip(others, _together(singly), strict=True):
        comparisons[code] = _judged(comparison, strata[code], level, len(others))
    return tuple(comparisons)


def holm(p_values: Sequence[float]) -> list[float]:
    """Return p values adjusted for all of them together.

    Holm (1979), Scandinavian Journal of Statistics 6:65-70.
    """
    adjusted = [1.0] * len(p_values)
    highest = 0.0
    for rank, index in enumerate(np.argsort(p_values, kind="stable")):
        left = len(p_values) - rank
        highest = max(highest, min(1.0, left * p_values[index]))
        adjusted[index] = highest
    return adjusted


def units_needed(level: float, comparisons: int, in_pairs: bool) -> int:
    """Return the fewest units a treatment whose smallest possible p value reaches the level.

    in_pairs: each block holds one unit of a treatment.
    """
    alpha = (1 - level) / comparisons
    for units in range(2, MOST_UNITS):
        if in_pairs:
            ways = 2**units
        else:
            ways = comb(2 * units, units)
        if 2 / ways <= alpha:
            return units
    return MOST_UNITS


def _strata(values: FloatArray, design: Design, code: int) -> list[_Stratum]:
    """Return the blocks in which both treatments have a value; without blocks all units are one."""
    if design.block is None:
        block = np.zeros(values.size, dtype=int)
    else:
        block = design.block
    known = np.isfinite(values)
    strata: list[_Stratum] = []
    for number in np.unique(block):
        in_block = known & (block == number)
        treated = values[in_block & (design.treatment == code)]
        reference = values[in_block & (design.treatment == design.reference)]
        if treated.size and reference.size:
            strata.append(_Stratum(treated, reference))
    return strata


def _compared(strata: Sequence[_Stratum], level: float) -> RankComparison:
    """Return one comparison by itself, its limits at `level`.

    Without any figure where no units meet.
    """
    if not strata:
        return RankComparison()
    pairs = sum(stratum.pairs for stratum in strata)
    probability = sum(stratum.wins for stratum in strata) / pairs
    p_value, methods = _p_value(strata)
    smallest = min(1.0, 2 / prod(stratum.arrangements for stratum in strata))
    sizes = [(stratum.treated.size, stratum.reference.size) for stratum in strata]
    low, high = relative_effect_limits(probability, sizes, level)
    return RankComparison(probability, low, high, p_value, None, smallest, methods=methods)


def _together(comparisons: Sequence[RankComparison]) -> list[RankComparison]:
    """Give the comparisons the p values that hold for all of them; one alone stays as it is."""
    p_values: list[float] = []
    smallest_p_values: list[float] = []
    for comparison in comparisons:
        if comparison.p_value is not None and comparison.smallest_p_value is not None:
            p_values.append(comparison.p_value)
            smallest_p_values.append(comparison.smallest_p_value)
    if len(comparisons) < 2:
        return list(comparisons)
    adjusted, smallest = iter(holm(p_values)), iter(holm(smallest_p_values))
    together: list[RankComparison] = []
    for comparison in comparisons:
        if comparison.p_value is None:
            together.append(comparison)
            continue
        with_family = replace(
            comparison,
            p_adjusted=next(adjusted),
            smallest_p_value=next(smallest),
            methods=joined(comparison.methods, note("holm")),
        )
        together.append(with_family)
    return together


def _judged(
    comparison: RankComparison, strata: Sequence[_Stratum], level: float, comparisons: int
) -> RankComparison:
    """Return a comparison with the limits that its units allow, and the note that says what lacks."""
    alpha = 1 - level
    smallest = comparison.smallest_p_value
    if comparison.p_value is None or smallest is None:
        return replace(comparison, notes=NO_RANKS)
    if smallest > alpha:
        too_few = _too_few(smallest, strata, level, comparisons)
        return replace(comparison, low=None, high=None, notes=too_few)
    treated = sum(stratum.treated.size for stratum in strata)
    reference = sum(stratum.reference.size for stratum in strata)
    if min(treated, reference) < FEWEST_FOR_LIMITS:
        few = note("too_few_units_for_limits", needed=Count(FEWEST_FOR_LIMITS, "unit"))
        return replace(comparison, low=None, high=None, notes=few)
    methods = joined(comparison.methods, note("relative_effect_limits"))
    return _agreeing(replace(comparison, methods=methods), alpha)


def _too_few(smallest: float, strata: Sequence[_Stratum], level: float, comparisons: int) -> Notes:
    in_pairs = all(stratum.pairs == 1 for stratum in strata)
    needed = units_needed(level, comparisons, in_pairs)
    return note(
        "too_few_units_to_rank",
        smallest=Amount(smallest),
        alpha=Amount(round(1 - level, 10)),
        needed=Count(needed, "unit"),
    )


def _agreeing(comparison: RankComparison, alpha: float) -> RankComparison:
    """Move a limit to one half where the approximate limits and the exact test say two things."""
    if comparison.p_adjusted is None:
        p_value = comparison.p_value
    else:
        p_value = comparison.p_adjusted
    probability, low, high = comparison.probability_higher, comparison.low, comparison.high
    if p_value is None or probability is None or low is None or high is None:
        return comparison
    is_significant = p_value <= alpha
    low_disagrees = is_significant != (low > 0.5)
    high_disagrees = is_significant != (high < 0.5)
    if probability > 0.5 and low_disagrees:
        return replace(comparison, low=0.5, notes=LIMIT_BY_TEST)
    if probability < 0.5 and high_disagrees:
        return replace(comparison, high=0.5, notes=LIMIT_BY_TEST)
    return comparison


# ---- the distribution of rank sums ---------------------------------------------------------------


def _p_value(strata: Sequence[_Stratum]) -> tuple[float, Notes]:
    """Return the p value of the sum of rank sums, permuted within blocks.

    Twice the chance of the nearer tail.
    """
    if max(stratum.treated.size + stratum.reference.size for stratum in strata) > MOST_EXACT:
        return _normal_p_value(strata), joined(note("rank_test"), note("normal_approximation"))
    chances = np.ones(1)
    observed = 0
    for stratum in strata:
        ranks = _twice_ranks(stratum)
        observed += int(ranks[: stratum.treated.size].sum())
        chances = np.convolve(chances, rank_sum_chances(ranks, stratum.treated.size))
    tail = min(float(chances[: observed + 1].sum()), float(chances[observed:].sum()))
    return min(1.0, 2 * tail), joined(note("rank_test"), note("exact_permutation"))


def _twice_ranks(one: _Stratum) -> IntArray:
    """Return twice the midranks of a block's units, the treated ones first: whole numbers."""
    both = np.concatenate([one.treated, one.reference])
    ranks: IntArray = np.rint(2 * stats.rankdata(both)).astype(int)
    return ranks


def rank_sum_chances(ranks: IntArray, chosen: int) -> FloatArray:
    """Return the chance of each sum, from 0 on, of `chosen` of the whole numbers `ranks`.

    All choices are alike.

    The choices are counted one number after the other (Streitberg and Röhmel 1986, Statistical
    Software Newsletter 12, 10-17).
    """
    total = int(ranks.sum())
    ways = np.zeros((chosen + 1, total + 1))
    ways[0, 0] = 1.0
    for rank in ranks:
        ways[1:, rank:] += ways[:-1, : total + 1 - rank].copy()
    chances: FloatArray = ways[chosen] / ways[chosen].sum()
    return chances


def _normal_p_value(strata: Sequence[_Stratum]) -> float:
    """Return the p value by the normal distribution, with the variance of tied ranks."""
    apart = 0.0
    variance = 0.0
    for stratum in strata:
        ranks = _twice_ranks(stratum) / 2
        n, m = stratum.treated.size, stratum.reference.size
        apart += float(ranks[:n].sum()) - n * (n + m + 1) / 2
        variance += n * m / (n + m) * float(ranks.var(ddof=1)) if n + m > 1 else 0.0
    if variance:
        return float(2 * stats.norm.sf(abs(apart) / sqrt(variance)))
    return 1.0


# ---- limits of the relative effect ---------------------------------------------------------------


def relative_effect_limits(
    probability: float, sizes: Sequence[tuple[int, int]], level: float
) -> tuple[float, float]:
    """Return the limits of the probability that a unit of one group lies above one of the other.

    sizes: the units of both groups in each block. The limits are where the distance to the estimate
    is the normal quantile times the standard error at the limit itself (method 5 of Newcombe 2006,
    Statistics in Medicine 25, 559-573), so they hold at 0 and 1 too; with one unit of each in every
    block they are Wilson's.
    """
    quantile = float(stats.norm.ppf((1 + level) / 2))

    def apart(limit: float) -> float:
        return float((probability - limit) ** 2 - quantile**2 * _variance(limit, sizes))

    if probability <= 0:
        low = 0.0
    else:
        low = float(optimize.brentq(apart, 0.0, min(probability, 1 - 1e-12)))
    if probability >= 1:
        high = 1.0
    else:
        high = float(optimize.brentq(apart, max(probability, 1e-12), 1.0))
    return low, high


def _variance(probability: float, sizes: Sequence[tuple[int, int]]) -> float:
    """Return the variance of the estimate where the probability is `probability`, blocks weighed by
    their pairs.
    """
    pairs = sum(n * m for n, m in sizes)
    total = 0.0
    for n, m in sizes:
        half = (n + m) / 2 - 1
        skew = (1 - probability) / (2 - probability) + probability / (1 + probability)
        total += n * m * probability * (1 - probability) * (1 + half * skew)
    return total / pairs**2
