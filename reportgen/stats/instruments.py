"""Uncertainty of instruments (type B) beside the spread of the units (type A): JCGM 100:2008.

An instrument's gain error scales all its readings alike, so the units never show it. The random
error and the rounding of a reading that is taken unit by unit are in the units' spread already and
are not added again.

From few units the Welch-Satterthwaite formula can give a narrower interval than the units gave
alone, because the degrees of freedom rise faster than the uncertainty (Ballico 2000, Metrologia
37:61-64). No interval is narrowed here: where that would happen the units' own stays.
"""

from dataclasses import dataclass, replace
from math import copysign, hypot, inf, isinf, sqrt
from typing import NamedTuple

from reportgen.model.message import joined, note
from reportgen.model.results import Comparison, Estimate
from reportgen.stats.comparisons import Spread
from reportgen.stats.fieller import Limits, MeanPair, contrast_variance, fieller_limits
from reportgen.stats.student import t_quantile, two_sided_p_value

BOTH_TYPES = note("both_types")
INSTRUMENT = note("instruments_alone")
INSTRUMENT_ONLY = note("instrument_only")


class Component(NamedTuple):
    """A standard uncertainty and its degrees of freedom.

    Infinite for limits taken as certain (G.4.3).
    """

    uncertainty: float
    degrees_of_freedom: float = inf


@dataclass(frozen=True)
class Gains:
    """Relative standard uncertainties of the gains behind two means.

    `treated` and `reference` belong to an instrument each, independent of one another; `shared`
    belongs to what one instrument read on both sides.
    """

    treated: float = 0.0
    reference: float = 0.0
    shared: float = 0.0


def uncertainty_of_limits(half_width: float) -> float:
    """Return the standard uncertainty a / sqrt 3 of an error that lies anywhere within +-a (4.3.7)."""
    return half_width / sqrt(3)


def uncertainty_of_resolution(step: float, readings: int = 1) -> float:
    """Return the standard uncertainty r / sqrt 12 of a reading in steps of r (F.2.2.1).

    For a sum or difference of several readings, such as a counter's first and last, it grows by
    sqrt(readings).
    """
    return step * sqrt(readings / 12)


def combined(*components: Component) -> Component:
    """Return the root sum of squares of independent components.

    Degrees of freedom by Welch-Satterthwaite (JCGM 100 G.4.1).

    They are infinite where no component with finite ones has a part in the sum.
    """
    total = hypot(*(component.uncertainty for component in components))
    if total == 0:
        return Component(0.0)
    parts = [component for component in components if component.uncertainty]
    inverse = sum((part.uncertainty / total) ** 4 / part.degrees_of_freedom for part in parts)
    return Component(total, 1 / inverse if inverse else inf)


def expanded(component: Component, level: float) -> float:
    """Return half the width of the interval of confidence `level`.

    Student's t (JCGM 100 G.3.2, G.4.1).
    """
    return t_quantile(level, component.degrees_of_freedom) * component.uncertainty


def widened_estimate(estimate: Estimate, relative: float, level: float) -> Estimate:
    """Widen an estimate by its instrument's relative standard uncertainty.

    level: that of the interval.

    Each side is widened by itself, which keeps the shape of an interval that is not symmetric; for
    a symmetric one it is G.4.1. Without standard error the interval is the instrument's alone and
    is marked so.
    """
    if estimate.value is None or estimate.value == 0 or relative == 0:
        return estimate
    type_b = Component(abs(estimate.value) * relative)
    if estimate.standard_error is None or estimate.degrees_of_freedom is None:
        return _instrument_estimate(estimate, estimate.value, expanded(type_b, level))
    both = combined(Component(estimate.standard_error, estimate.degrees_of_freedom), type_b)
    stretch = t_quantile(level, both.degrees_of_freedom) / t_quantile(
        level, estimate.degrees_of_freedom
    )
    half = expanded(Component(type_b.uncertainty, both.degrees_of_freedom), level)
    return replace(
        estimate,
        low=_farther(estimate.low, estimate.value, stretch, half),
        high=_farther(estimate.high, estimate.value, stretch, half),
        standard_error=both.uncertainty,
        degrees_of_freedom=both.degrees_of_freedom,
        methods=joined(estimate.methods, BOTH_TYPES),
    )


def _farther(limit: float | None, value: float, stretch: float, half: float) -> float | None:
    """Move a limit away from the value, never towards it."""
    if limit is None:
        return None
    distance = abs(limit - value)
    return value + copysign(max(distance, hypot(stretch * distance, half)), limit - value)


def _instrument_estimate(estimate: Estimate, value: float, half: float) -> Estimate:
    notes = joined(estimate.notes, INSTRUMENT_ONLY)
    return replace(estimate, low=value - half, high=value + half, methods=INSTRUMENT, notes=notes)


def pair_for_ratio(pair: MeanPair, gains: Gains) -> MeanPair:
    """Add to each variance what the gain of its own instrument may have done.

    A gain that both share scales both means alike: it leaves their ratio as it is and is left out.
    """
    return replace(
        pair,
        numerator_variance=pair.numerator_variance + (gains.treated * pair.numerator) ** 2,
        denominator_variance=pair.denominator_variance + (gains.reference * pair.denominator) ** 2,
    )


def difference_error(pair: MeanPair, gains: Gains) -> float:
    """Return the standard uncertainty of numerator - denominator, gains included.

    A shared gain scales the difference too: its part is gains.shared * |numerator - denominator|.
    """
    own = pair_for_ratio(pair, gains)
    return hypot(_difference_error(own), gains.shared * (own.numerator - own.denominator))


def widened_comparison(
    comparison: Comparison, spread: Spread, gains: Gains, level: float
) -> Comparison:
    """Widen a comparison of the two means of `spread` by the uncertainty of the instruments' gains.

    comparison: from the units alone, at the same level. Fieller's interval and the t interval take
    the widened variances, with Welch-Satterthwaite degrees of freedom. The p value leaves a shared
    gain out, which cannot make a difference where there is none. Where the units show no spread the
    intervals are the instruments' alone and are marked so, and there is no p value.
    """
    if difference_error(spread.pair, gains) == _difference_error(spread.pair):
        return comparison
    only_instruments = spread.pair.numerator_variance == spread.pair.denominator_variance == 0
    widened = _with_ratio(_with_difference(comparison, spread, gains, level), spread, gains, level)
    if not only_instruments:
        return replace(widened, methods=joined(comparison.methods, BOTH_TYPES))
    notes = joined(comparison.notes, INSTRUMENT_ONLY)
    return replace(widened, p_value=None, degrees_of_freedom=None, methods=INSTRUMENT, notes=notes)


def _with_difference(
    comparison: Comparison, spread: Spread, gains: Gains, level: float
) -> Comparison:
    difference = spread.pair.numerator - spread.pair.denominator
    units, freedom = _difference_error(spread.pair), spread.difference_freedom
    half = expanded(_both_types(units, difference_error(spread.pair, gains), freedom), level)
    limits = _outer(
        Limits(difference - half, difference + half),
        comparison.difference_low,
        comparison.difference_high,
    )
    own = _both_types(units, difference_error(spread.pair, replace(gains, shared=0.0)), freedom)
    if own.uncertainty:
        p_values = [two_sided_p_value(difference / own.uncertainty, own.degrees_of_freedom)]
    else:
        p_values = []
    return replace(
        comparison,
        difference_low=limits.low,
        difference_high=limits.high,
        p_value=max([*p_values, comparison.p_value or 0.0]),
    )


def _with_ratio(comparison: Comparison, spread: Spread, gains: Gains, level: float) -> Comparison:
    """Widen the ratio's interval where an instrument affects one side only."""
    widened = pair_for_ratio(spread.pair, gains)
    if spread.pair.denominator:
        units = sqrt(max(contrast_variance(spread.pair), 0.0))
    else:
        units = 0.0
    is_unbounded = units > 0 and comparison.ratio_low is None
    if comparison.ratio is None or widened == spread.pair or is_unbounded:
        return comparison
    freedom = _both_types(
        units, sqrt(contrast_variance(widened)), spread.ratio_freedom
    ).degrees_of_freedom
    limits = _outer(
        fieller_limits(widened, freedom, level), comparison.ratio_low, comparison.ratio_high
    )
    return replace(
        comparison,
        ratio_low=limits.low,
        ratio_high=limits.high,
        single_low=limits.low,
        single_high=limits.high,
        degrees_of_freedom=None if isinf(freedom) else freedom,
        notes=joined(comparison.notes, limits.notes),
    )


def _outer(limits: Limits, low: float | None, high: float | None) -> Limits:
    """Return the limits, moved out to those of the units where they lie farther out."""
    if limits.low is None or limits.high is None or low is None or high is None:
        return limits
    return Limits(min(limits.low, low), max(limits.high, high), limits.notes)


def _both_types(units: float, total: float, freedom: float) -> Component:
    """Return the total standard error with the degrees of freedom that the units' part of it leaves
    it.
    """
    return combined(Component(units, freedom), Component(sqrt(max(total**2 - units**2, 0.0))))


def _difference_error(pair: MeanPair) -> float:
    return sqrt(max(pair.numerator_variance + pair.denominator_variance - 2 * pair.covariance, 0.0))
