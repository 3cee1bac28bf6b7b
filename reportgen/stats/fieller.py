"""Fieller's confidence set of the ratio of two means.

Fieller (1954), J. R. Stat. Soc. B 16:175-185.
"""

from dataclasses import dataclass
from math import sqrt
from typing import NamedTuple

from reportgen.model.message import Notes, note
from reportgen.stats.student import t_quantile

UNBOUNDED_ABOVE = note("unbounded_above")
UNBOUNDED_BELOW = note("unbounded_below")
UNBOUNDED = note("unbounded")
NO_SPREAD_OF_RATIO = note("no_spread_of_ratio")


@dataclass(frozen=True)
class MeanPair:
    """Two estimated means, the variance of each of them, and their covariance.

    The denominator is not 0.
    """

    numerator: float
    denominator: float
    numerator_variance: float
    denominator_variance: float
    covariance: float = 0.0


class Limits(NamedTuple):
    """The ends of an interval; both None where it has none, and then the note says why."""

    low: float | None
    high: float | None
    notes: Notes = ()


def contrast_variance(pair: MeanPair) -> float:
    """Return the variance of numerator - R denominator at the estimated ratio R."""
    ratio = pair.numerator / pair.denominator
    return (
        pair.numerator_variance - 2 * ratio * pair.covariance + ratio**2 * pair.denominator_variance
    )


def fieller_limits(pair: MeanPair, degrees_of_freedom: float, level: float) -> Limits:
    """Return the ends of {R: (m1 - R m0)^2 <= t^2 (v1 - 2 R c + R^2 v0)} where that set is an
    interval.

    Where the denominator cannot be told from 0 the set runs to infinity: no ends, and a note
    instead.
    """
    variance = contrast_variance(pair)
    if variance <= 0:
        return Limits(None, None, NO_SPREAD_OF_RATIO)
    # Divided by m0^2, and with m1^2 m0^2 cancelled by hand, which spares the digits of a narrow
    # interval.
    scale = (t_quantile(level, degrees_of_freedom) / pair.denominator) ** 2
    determinant = pair.numerator_variance * pair.denominator_variance - pair.covariance**2
    discriminant = scale * variance - scale**2 * determinant
    leading = 1 - scale * pair.denominator_variance
    if leading <= 0:
        return Limits(None, None, _unbounded_note(pair, discriminant))
    centre = pair.numerator / pair.denominator - scale * pair.covariance
    half = sqrt(max(discriminant, 0.0))
    return Limits((centre - half) / leading, (centre + half) / leading)


def _unbounded_note(pair: MeanPair, discriminant: float) -> Notes:
    """Name the side on which the set runs from the estimate to infinity."""
    if discriminant <= 0:
        return UNBOUNDED
    slope = pair.covariance - pair.denominator_variance * pair.numerator / pair.denominator
    if slope < 0:
        return UNBOUNDED_ABOVE
    return UNBOUNDED_BELOW
