"""Parts of the results file: factors and doses."""

from dataclasses import dataclass
from typing import Literal

from reportgen.report.result_parts import (
    MessageEntry,
)


@dataclass(frozen=True)
class FactorOfRatioEntry:
    """One factor of a ratio; the factors of one ratio multiply to it."""

    of: str
    """The key of the measure whose ratio is taken apart."""
    treatment: str
    """The treatment's code."""
    code: str
    """The key of the factor."""
    factor: str
    """The name of the factor, in English."""
    ratio: float | None
    """The factor: treatment to reference."""
    low: float | None
    """Its lower limit."""
    high: float | None
    """Its upper limit."""


@dataclass(frozen=True)
class FTestEntry:
    """An F test."""

    statistic: float
    """The F statistic."""
    degrees_of_freedom: int
    """The degrees of freedom of what is tested."""
    error_degrees_of_freedom: float
    """The degrees of freedom of the error."""
    p_value: float
    """The probability of so large a statistic where there is no effect."""


@dataclass(frozen=True)
class FactorTestEntry:
    """Whether a factor does anything to a measure, on average over the other factor."""

    metric: str
    """The key of the measure."""
    factor: str
    """The name of the factor."""
    test: FTestEntry
    """The F test."""


@dataclass(frozen=True)
class RatioOfEffectsEntry:
    """How large the first factor's effect at one level of the second is beside that at the
    reference level.
    """

    level: str
    """The level of the first factor."""
    reference: str
    """The level of the first factor that it is compared with."""
    other: str
    """The level of the second factor."""
    other_reference: str
    """The reference level of the second factor."""
    ratio: float
    """The effect at `other` divided by that at `other_reference`, each effect being a ratio."""
    low: float
    """The lower limit, which holds for all ratios of effects of the measure together."""
    high: float
    """The upper limit."""


@dataclass(frozen=True)
class InteractionEntry:
    """Whether the effect of the first factor depends on the second, in one measure."""

    metric: str
    """The key of the measure."""
    code: Literal["differs", "may_differ", "alike", "not_shown"]
    """Differs by the test; may differ by as much as matters; alike within the margin; none of these
    shown.
    """
    test: FTestEntry
    """The F test."""
    ratios: tuple[RatioOfEffectsEntry, ...]
    """The sizes of the interaction."""


@dataclass(frozen=True)
class LevelEffectEntry:
    """A level of a factor against the reference level, in one measure."""

    metric: str
    """The key of the measure."""
    factor: str
    """The name of the factor."""
    level: str
    """The level."""
    reference: str
    """The level that it is compared with: that of the reference treatment."""
    within: str | None
    """The level of the other factor that it holds for; null for an average over all of them."""
    ratio: float
    """The figure at the level divided by that at the reference level."""
    low: float
    """The lower limit, which holds for all averaged effects of the measure, or all effects within
    levels, together.
    """
    high: float
    """The upper limit."""
    p_value: float
    """The probability of so large a ratio where there is no effect, for this comparison by itself.
    """
    p_adjusted: float
    """The same among all effects of its set."""
    degrees_of_freedom: float
    """The degrees of freedom of the interval."""
    code: Literal["more", "less", "alike", "unclear", "untestable", "confounded"]
    """The verdict, as for treatments."""
    toward: str | None
    """What a confounded verdict would have been without its reasons; null for all others."""
    reasons: tuple[MessageEntry, ...]
    """What else may explain it."""


@dataclass(frozen=True)
class CurvePointEntry:
    """A point of the curve along a dose."""

    dose: float
    """The dose, in the unit of the factor."""
    value: float
    """The fitted figure, in the unit of the measure."""
    low: float
    """The lower limit of the curve there."""
    high: float
    """The upper limit of the curve there."""


@dataclass(frozen=True)
class DoseTrendEntry:
    """How one measure goes along the doses of a factor."""

    metric: str
    """The key of the measure."""
    factor: str
    """The name of the factor; its unit stands in the trial's factors."""
    within: str | None
    """The level of the other factor that it holds for; null for an average over all of them, or a
    single factor.
    """
    code: Literal["peak", "trough", "rises", "falls", "bends", "flat", "not_a_curve"]
    """Highest or lowest within the doses tested; rise or fall; bend without optimum; no trend; no
    such curve fits.
    """
    degree: int
    """The degree of the fitted curve on the log scale: 2 for a parabola, 1 for a line, 0 where
    there is no trend.
    """
    linear: FTestEntry
    """The test of the straight line."""
    quadratic: FTestEntry
    """The test of what a parabola adds."""
    lack_of_fit: FTestEntry | None
    """The test of what the curve leaves; null where the doses are too few."""
    change: float
    """The fitted figure at the highest dose divided by that at the lowest; that of the means where
    no curve fits.
    """
    change_low: float
    """The lower limit of that ratio."""
    change_high: float
    """The upper limit of that ratio."""
    optimum: float | None
    """The dose at which the curve turns; null for a curve that does not."""
    optimum_low: float | None
    """The lower limit of that dose, by Fieller's method."""
    optimum_high: float | None
    """The upper limit of that dose."""
    best: CurvePointEntry | None
    """The best point of the curve between the lowest and the highest dose tested; null without a
    trend.
    """
    curve: tuple[CurvePointEntry, ...]
    """Points of the curve from the lowest to the highest dose tested; none where no curve fits."""
    reasons: tuple[MessageEntry, ...]
    """What else may explain the trend."""
    pairs: tuple[LevelEffectEntry, ...] = ()
    """Where no curve fits: each dose against each lower one, with limits that hold for all of them
    together.
    """


@dataclass(frozen=True)
class EffectsEntry:
    """What the factors of a trial do, for a trial that names factors."""

    tests: tuple[FactorTestEntry, ...]
    """The F tests of the factors."""
    interactions: tuple[InteractionEntry, ...]
    """Whether two factors depend on each other."""
    levels: tuple[LevelEffectEntry, ...]
    """The effects of levels; averages over the other factor are left out where the interaction
    differs by its test.
    """
    trends: tuple[DoseTrendEntry, ...]
    """The trends along doses."""
    notes: tuple[MessageEntry, ...]
    """Why the factors are not analysed; empty where they are."""
