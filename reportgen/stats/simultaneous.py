"""All treatments against the reference at once: intervals that hold together, adjusted p values.

Differences: Dunnett (1955), J. Am. Stat. Assoc. 50:1096-1121; with separate variances Hasler &
Hothorn (2008), Int. J. Biostat. 4(1):11. Ratios: Dilba, Bretz, Guiard & Hothorn (2004), Methods
Inf. Med. 43:465-469, the correlations taken at the estimated ratios ("plug-in").
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from reportgen.model.message import Amount, Count, Notes, joined, note
from reportgen.stats.additive import AdditiveFit
from reportgen.stats.comparisons import (
    NO_FIGURE,
    ONE_UNIT_COMPARED,
    SEPARATE_VARIANCES,
    ZERO_REFERENCE,
    satterthwaite,
)
from reportgen.stats.fieller import MeanPair, fieller_limits
from reportgen.stats.scores import FloatArray, IntArray, mean_of, variance_of_mean
from reportgen.stats.student import t_quantile, two_sided_p_value
from reportgen.stats.studentized import critical_value, tail_of_largest

ALIKE_COMPARED = note("alike_compared")


@dataclass(frozen=True)
class Simultaneous:
    """One treatment against the reference within the family of all.

    Limits of difference and ratio, p value.

    `p_adjusted` tests that there is no difference. None stands for a number that cannot be had;
    `note` says why.
    """

    low: float | None = None
    high: float | None = None
    ratio_low: float | None = None
    ratio_high: float | None = None
    p_adjusted: float | None = None
    methods: Notes = ()
    notes: Notes = ()


@dataclass(frozen=True)
class _Family:
    """The treatments (m,) that can be compared, their means, and the means' covariance.

    The reference comes last.

    means: (m + 1,), covariance: (m + 1, m + 1); `freedom` gives the degrees of freedom (m,) of the
    contrasts mean - ratio x reference at given ratios (m,).
    """

    treatments: list[int]
    means: FloatArray
    covariance: FloatArray
    freedom: Callable[[FloatArray], FloatArray]
    methods: Notes


@dataclass(frozen=True)
class _Contrasts:
    """The contrasts mean - ratio x reference.

    Standard errors (m,), correlation (m, m), degrees of freedom (m,).

    levels: (m,), the level at which the t interval of each contrast alone is its interval in the
    family.
    """

    errors: FloatArray
    correlation: FloatArray
    freedoms: FloatArray
    levels: FloatArray


def simultaneous_in_model(
    fit: AdditiveFit, units: IntArray, reference: int, level: float
) -> tuple[Simultaneous | None, ...]:
    """Compare all treatments of a fitted model with the reference.

    units: (k,), each treatment's units with a score.

    Returns None for the reference. A treatment with one unit has no limits and does not widen those
    of others.
    """
    reasons = [_reason(number, fit.notes) for number in units.tolist()]
    compared = _compared(reasons, reference)
    rows = [*compared, reference]
    family = _Family(
        compared,
        fit.means[rows],
        fit.covariance[np.ix_(rows, rows)],
        lambda ratios: np.full(ratios.shape, float(fit.degrees_of_freedom)),
        fit.model,
    )
    return _answers(family, reasons, reference, level)


def simultaneous_separate(
    groups: Sequence[FloatArray], reference: int, level: float
) -> tuple[Simultaneous | None, ...]:
    """Compare the scores of all treatments with the reference, each with its own variance.

    groups: k of (n_i,).

    Returns None for the reference. Each comparison has its own Satterthwaite degrees of freedom and
    thereby its own critical value; this is an approximation, as no exact method is known.
    """
    variances: list[float] = []
    reasons: list[Notes] = []
    for scores in groups:
        variance_of_group = np.nan
        if scores.size > 1:
            variance_of_group = variance_of_mean(scores)
        reason = _reason(scores.size)
        if not reason and not variance_of_group:
            reason = ALIKE_COMPARED
        variances.append(variance_of_group)
        reasons.append(reason)
    compared = _compared(reasons, reference)
    rows = [*compared, reference]
    variance, sizes = np.array(variances)[rows], np.array([groups[row].size for row in rows])
    family = _Family(
        compared,
        np.array([mean_of(groups[row]) if groups[row].size else np.nan for row in rows]),
        np.diag(variance),
        lambda ratios: satterthwaite(
            variance[:-1], ratios**2 * variance[-1], (sizes[:-1] - 1, sizes[-1] - 1)
        ),
        SEPARATE_VARIANCES,
    )
    return _answers(family, reasons, reference, level)


def family_levels(
    covariance: FloatArray, freedoms: FloatArray, level: float
) -> tuple[FloatArray, FloatArray]:
    """Return the single level (m,) at which each difference's t interval is its interval in the
    family of all.

    covariance: (m + 1, m + 1) of the means, the reference last; freedoms: (m,). Also returns the
    correlation (m, m) of the differences.
    """
    size = freedoms.size
    if size == 1:
        return np.array([level]), np.ones((1, 1))
    family = _Family(list(range(size)), np.zeros(size + 1), covariance, lambda ratios: freedoms, ())
    contrasts = _contrasts(family, np.ones(size), level)
    return contrasts.levels, contrasts.correlation


def family_p_value(size: float, correlation: FloatArray, freedom: float) -> float:
    """Return the chance that the largest of several t values exceeds +-size by chance alone."""
    return tail_of_largest(size, correlation, freedom)


def _reason(units: int, notes: Notes = ()) -> Notes:
    """Say why a treatment cannot be compared; empty where it can."""
    if units == 0:
        return NO_FIGURE
    if notes:
        return notes
    if units == 1:
        return ONE_UNIT_COMPARED
    return ()


def _compared(reasons: Sequence[Notes], reference: int) -> list[int]:
    """Return the treatments that can be compared with the reference."""
    if reasons[reference]:
        return []
    return [
        treatment
        for treatment, reason in enumerate(reasons)
        if treatment != reference and not reason
    ]


def _answers(
    family: _Family, reasons: Sequence[Notes], reference: int, level: float
) -> tuple[Simultaneous | None, ...]:
    """Spread the family's comparisons over all treatments, the reasons over those that are not in
    it.
    """
    answers: list[Simultaneous | None] = [
        Simultaneous(notes=reason or reasons[reference]) for reason in reasons
    ]
    answers[reference] = None
    for treatment, compared in zip(family.treatments, _comparisons(family, level), strict=True):
        answers[treatment] = compared
    return tuple(answers)


def _comparisons(family: _Family, level: float) -> list[Simultaneous]:
    places = range(len(family.treatments))
    if not places:
        return []
    differences = _contrasts(family, np.ones(len(places)), level)
    if family.means[-1] == 0:
        return [_difference(family, differences, place) for place in places]
    ratios = _contrasts(family, family.means[:-1] / family.means[-1], level)
    return [
        _with_ratio(_difference(family, differences, place), family, ratios, place)
        for place in places
    ]


def _difference(family: _Family, contrasts: _Contrasts, place: int) -> Simultaneous:
    difference, error = (
        float(family.means[place] - family.means[-1]),
        float(contrasts.errors[place]),
    )
    freedom = float(contrasts.freedoms[place])
    half = t_quantile(float(contrasts.levels[place]), freedom) * error
    return Simultaneous(
        low=difference - half,
        high=difference + half,
        p_adjusted=tail_of_largest(abs(difference) / error, contrasts.correlation, freedom),
        methods=joined(note("t_difference", freedom=Amount(freedom)), _of_family(family)),
        notes=ZERO_REFERENCE,
    )


def _with_ratio(
    compared: Simultaneous, family: _Family, contrasts: _Contrasts, place: int
) -> Simultaneous:
    """Add Fieller's limits with the family's critical value in the place of Student's."""
    freedom = float(contrasts.freedoms[place])
    limits = fieller_limits(_pair(family, place), freedom, float(contrasts.levels[place]))
    return replace(
        compared,
        ratio_low=limits.low,
        ratio_high=limits.high,
        methods=joined(note("fieller_plug_in", freedom=Amount(freedom)), compared.methods),
        notes=limits.notes,
    )


def _of_family(family: _Family) -> Notes:
    return joined(simultaneous_for(len(family.treatments)), family.methods)


def simultaneous_for(comparisons: int) -> Notes:
    """Return the name of the method by which limits hold for several comparisons together."""
    return note("simultaneous", comparisons=Count(comparisons, "comparison"))


def _pair(family: _Family, place: int) -> MeanPair:
    covariance = family.covariance.tolist()
    return MeanPair(
        float(family.means[place]),
        float(family.means[-1]),
        covariance[place][place],
        covariance[-1][-1],
        covariance[place][-1],
    )


def _contrasts(family: _Family, ratios: FloatArray, level: float) -> _Contrasts:
    matrix = np.column_stack([np.eye(ratios.size), -ratios])
    covariance = matrix @ family.covariance @ matrix.T
    errors = np.sqrt(np.diag(covariance))
    correlation, freedoms = covariance / np.outer(errors, errors), family.freedom(ratios)
    return _Contrasts(errors, correlation, freedoms, _levels(correlation, freedoms, level))


def _levels(correlation: FloatArray, freedoms: FloatArray, level: float) -> FloatArray:
    if freedoms.size == 1:
        return np.array([level])
    distinct, place = np.unique(freedoms, return_inverse=True)
    values = [critical_value(level, correlation, freedom) for freedom in distinct.tolist()]
    levels = [
        1 - two_sided_p_value(value, freedom)
        for value, freedom in zip(values, distinct.tolist(), strict=True)
    ]
    return np.array(levels)[place]
