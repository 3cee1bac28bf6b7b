"""Which treatments differ, pair by pair, and the letters that show it: those that share a letter do
not differ.
"""

from collections.abc import Sequence
from itertools import combinations, product
from math import sqrt
from string import ascii_lowercase

import numpy as np

from reportgen.stats.additive import AdditiveFit
from reportgen.stats.comparisons import satterthwaite
from reportgen.stats.scores import BoolArray, FloatArray, IntArray, mean_of, variance_of_mean
from reportgen.stats.studentized import tail_of_range


def tukey_kramer(fit: AdditiveFit, units: IntArray) -> FloatArray:
    """Return the p values (k, k) of all pairs of treatments on the model's variance; units: (k,).

    NaN where there is no test: on the diagonal, for treatments without a figure or with one unit,
    which do not count as members of the family. Kramer (1956), Biometrics 12:307-310; Tukey's
    studentized range.
    """
    p_values = np.full(fit.covariance.shape, np.nan)
    family = np.flatnonzero((units > 1) & np.isfinite(np.diag(fit.covariance)))
    for i, j in combinations(family.tolist(), 2):
        variance = fit.covariance[i, i] + fit.covariance[j, j] - 2 * fit.covariance[i, j]
        size = abs(fit.means[i] - fit.means[j]) / sqrt(variance)
        p_values[i, j] = p_values[j, i] = tail_of_range(
            sqrt(2) * size, family.size, fit.degrees_of_freedom
        )
    return p_values


def games_howell(groups: Sequence[FloatArray]) -> FloatArray:
    """Return the p values (k, k) of all pairs of treatments, each with its own variance.

    groups: k of (n_i,).

    NaN where there is no test: on the diagonal, for treatments with fewer than two units or with
    units that are all alike, which do not count as members of the family. Games & Howell (1976), J.
    Educ. Stat. 1:113-125.
    """
    p_values = np.full((len(groups), len(groups)), np.nan)
    variances = [0.0] * len(groups)
    for place, scores in enumerate(groups):
        if scores.size > 1:
            variances[place] = variance_of_mean(scores)
    family = [place for place, variance in enumerate(variances) if variance]
    for i, j in combinations(family, 2):
        freedom = satterthwaite(
            variances[i], variances[j], (groups[i].size - 1, groups[j].size - 1)
        )
        size = abs(mean_of(groups[i]) - mean_of(groups[j])) / sqrt(variances[i] + variances[j])
        p_values[i, j] = p_values[j, i] = tail_of_range(sqrt(2) * size, len(family), freedom)
    return p_values


def letters_of_tests(
    means: FloatArray, p_values: FloatArray, level: float
) -> tuple[str, ...] | None:
    """Return the letters of treatments by their pairs' p values.

    Empty for a treatment without a test.

    means: (k,), p_values: (k, k) with NaN where there is no test.
    """
    tested = np.isfinite(p_values).any(axis=1)
    return letters(np.where(tested, means, np.nan), p_values < 1 - level)


def letters(means: FloatArray, different: BoolArray) -> tuple[str, ...] | None:
    """Return letters so that two treatments share one if and only if they are not `different`.

    K texts.

    means: (k,), NaN for a treatment without a figure, which gets no letter; different: (k, k),
    symmetric. The largest mean has an "a". None where more than 26 letters would be needed. Piepho
    (2004), J. Comput. Graph. Stat. 13:456-466.
    """
    order = [int(place) for place in np.argsort(-means, kind="stable") if np.isfinite(means[place])]
    if not order:
        return ("",) * means.size
    ranked = different[np.ix_(order, order)]
    columns = sorted(sorted(column) for column in _without_spare(_inserted(ranked)))
    if len(columns) > len(ascii_lowercase):
        return None
    given = [""] * means.size
    for letter, column in zip(ascii_lowercase, columns, strict=False):
        for rank in column:
            given[order[rank]] += letter
    return tuple(given)


def _inserted(different: BoolArray) -> list[frozenset[int]]:
    """Split, for each different pair, every column that holds both.

    Absorb columns that lie within others.
    """
    columns = [frozenset(range(len(different)))]
    for i, j in combinations(range(len(different)), 2):
        if not different[i, j]:
            continue
        whole: list[frozenset[int]] = []
        split: list[frozenset[int]] = []
        for column in columns:
            if {i, j} <= column:
                split += [column - {i}, column - {j}]
            else:
                whole.append(column)
        columns = _absorbed(whole + split)
    return columns


def _absorbed(columns: list[frozenset[int]]) -> list[frozenset[int]]:
    distinct = list(dict.fromkeys(columns))
    absorbed: list[frozenset[int]] = []
    for column in distinct:
        if not any(column < other for other in distinct):
            absorbed.append(column)
    return absorbed


def _without_spare(columns: list[frozenset[int]]) -> list[frozenset[int]]:
    """Leave out, one after the other, columns all of whose pairs share another column."""
    needed = list(columns)
    for column in columns:
        others = [other for other in needed if other != column]
        if _shares_all_pairs(column, others):
            needed = others
    return needed


def _shares_all_pairs(column: frozenset[int], others: list[frozenset[int]]) -> bool:
    """Tell whether each pair of a column, and each member, lies within another column."""
    pairs = product(column, repeat=2)
    return all(_is_shared(pair, others) for pair in pairs)


def _is_shared(pair: tuple[int, ...], columns: list[frozenset[int]]) -> bool:
    return any(column.issuperset(pair) for column in columns)
