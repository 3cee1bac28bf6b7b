"""Planning: how many units show a difference, which difference shows, and what subsamples can help."""

from bisect import bisect_left
from math import sqrt

from scipy.optimize import brentq
from scipy.special import ncfdtr, stdtrit

MOST_UNITS = 1000  # our own limit: whoever needs more a treatment needs another kind of trial


def power_of(difference: float, units: float, alpha: float = 0.05) -> float:
    """Return the power of the two-sided t test of two treatments with `units` units each, equal variances.

    difference: in standard deviations between units. Both tails count: t^2 follows the noncentral F distribution
    with 1 and 2 units - 2 degrees of freedom. Cohen (1988), Statistical Power Analysis, 2nd ed., ch. 2.
    """
    freedom = 2 * units - 2
    critical = float(stdtrit(freedom, 1 - alpha / 2))
    return 1 - float(ncfdtr(1, freedom, difference**2 * units / 2, critical**2))


def units_needed(difference: float, cv: float, power: float = 0.8, alpha: float = 0.05) -> int | None:
    """Return the fewest units a treatment that show a difference with the wanted power; None above MOST_UNITS.

    difference: relative to the reference's mean, 0.2 for a fifth more or less; cv: standard deviation between
    units, in both treatments, relative to the same mean. Raises ValueError unless cv is above 0.
    """
    _check_cv(cv)
    choices = range(2, MOST_UNITS + 1)
    place = bisect_left(choices, power, key=lambda units: power_of(difference / cv, units, alpha))
    return choices[place] if place < len(choices) else None


def smallest_difference(units: int, cv: float, power: float = 0.8, alpha: float = 0.05) -> float | None:
    """Return the smallest relative difference that `units` units a treatment show with the wanted power.

    cv: as for `units_needed`. None with fewer than 2 units, which show none. Raises ValueError unless cv is
    above 0 and alpha < power < 1.
    """
    _check_cv(cv)
    if not alpha < power < 1:
        raise ValueError(f"power {power} is not between {alpha} and 1")
    if units < 2:
        return None
    high = 1.0
    while power_of(high, units, alpha) < power:
        high *= 2
    return cv * float(brentq(lambda difference: power_of(difference, units, alpha) - power, 0.0, high))


def cv_of_unit_mean(between: float, within: float, subsamples: int) -> float:
    """Return sqrt(between + within / m), the coefficient of variation of the mean of a unit's m subsamples.

    between, within: variance components of values relative to their mean.
    """
    return sqrt(between + within / subsamples)


def share_between(between: float, within: float, subsamples: int) -> float | None:
    """Return the share of the variance of a unit's mean that more subsamples cannot lessen; None without variance."""
    variance = between + within / subsamples
    return between / variance if variance else None


def _check_cv(cv: float) -> None:
    if cv <= 0:
        raise ValueError(f"a coefficient of variation of {cv} is not above 0")
