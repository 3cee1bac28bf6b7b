"""What was computed of factors and doses, in full precision."""

from dataclasses import dataclass
from typing import Final, Literal

from reportgen.model.message import Notes

EffectCode = Literal["more", "less", "alike", "unclear", "untestable", "confounded"]
InteractionCode = Literal["differs", "may_differ", "alike", "not_shown"]
TrendCode = Literal["peak", "trough", "rises", "falls", "bends", "flat", "not_a_curve"]


@dataclass(frozen=True)
class FactorTest:
    """An F test of what a factor, an interaction or a term of a trend does."""

    statistic: float
    degrees_of_freedom: int
    error_degrees_of_freedom: float
    p_value: float


@dataclass(frozen=True)
class LevelEffect:
    """A level of a factor against the reference level: the ratio of their figures.

    `within` is the level of the other factor that it holds for, empty where it is averaged over all
    of them. The limits and `p_adjusted` hold for all effects of the set together: all averaged
    ones, or all within levels. `figure` and `reference_figure` are those of both levels in the
    measure's unit, geometric means of the treatments' figures; None for pairs of doses. `reasons`
    say what else may explain the difference; `toward` is what a confounded effect would be without
    them.
    """

    factor: str
    level: str
    reference: str
    within: str
    ratio: float
    low: float
    high: float
    p_value: float
    p_adjusted: float
    degrees_of_freedom: float
    code: EffectCode
    reasons: Notes = ()
    toward: EffectCode | None = None
    figure: float | None = None
    reference_figure: float | None = None


@dataclass(frozen=True)
class RatioOfEffects:
    """How many times larger an effect is at `other` than at the other factor's reference level."""

    level: str
    reference: str
    other: str
    other_reference: str
    ratio: float
    low: float
    high: float


@dataclass(frozen=True)
class Interaction:
    """Whether the effect of one factor depends on the other.

    `differs`: by the F test. `may_differ`: not by the test, though what was measured is as large as
    the difference that matters, so averages hold and a sentence says so. `alike`: the intervals lie
    within the difference that matters. `not_shown`: none of these.
    """

    test: FactorTest
    code: InteractionCode
    ratios: tuple[RatioOfEffects, ...]

    @property
    def matters(self) -> bool:
        """Return whether averages over the other factor would hide what the trial found."""
        return self.code == "differs"


@dataclass(frozen=True)
class CurvePoint:
    """The fitted figure at a dose, with the interval of the curve there."""

    dose: float
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class DoseTrend:
    """How a measure goes along the doses of a factor, doses in the factor's unit.

    `within` is as for `LevelEffect`. `degree` is that of the fitted curve. `change` is the ratio of
    the fitted figures at the highest and the lowest dose. `optimum` is where the curve turns, with
    its limits; `best` the dose tested or between those tested at which the curve is best. None
    where there is none.

    Where no curve fits (`not_a_curve`) there is neither curve nor optimum, and `change` is that of
    the means of both doses. `pairs` then compare every dose with every lower one, all together.
    """

    factor: str
    within: str
    code: TrendCode
    degree: int
    linear: FactorTest
    quadratic: FactorTest
    lack_of_fit: FactorTest | None
    change: float
    change_low: float
    change_high: float
    curve: tuple[CurvePoint, ...]
    optimum: float | None = None
    optimum_low: float | None = None
    optimum_high: float | None = None
    best: CurvePoint | None = None
    reasons: Notes = ()
    pairs: tuple[LevelEffect, ...] = ()


@dataclass(frozen=True)
class FactorAnalysis:
    """What the factors of a trial do to one measure.

    `tests` pair a factor's name with its F test; a factor whose levels had one main plot each has
    no test and no effects. Effects averaged over the other factor are left out where the
    interaction matters; those within levels are of both factors. `notes` say why a measure has no
    analysis.
    """

    measure: str
    tests: tuple[tuple[str, FactorTest], ...] = ()
    interaction: Interaction | None = None
    effects: tuple[LevelEffect, ...] = ()
    trends: tuple[DoseTrend, ...] = ()
    methods: Notes = ()
    notes: Notes = ()


@dataclass(frozen=True)
class Factors:
    """What the factors of a trial do, measure by measure.

    `notes` say why they cannot be analysed, if so.
    """

    analyses: tuple[FactorAnalysis, ...] = ()
    notes: Notes = ()

    def of(self, measure: str) -> FactorAnalysis | None:
        """Return the analysis of a measure; None where there is none."""
        for analysis in self.analyses:
            if analysis.measure == measure and not analysis.notes:
                return analysis
        return None


NO_FACTORS: Final = Factors()
