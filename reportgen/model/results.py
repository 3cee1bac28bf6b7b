"""What was computed from a trial, in full precision; None stands for a number that cannot be known."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from reportgen.model.factor_results import NO_FACTORS, Factors
from reportgen.model.message import Message, Notes, Value

VerdictWord = Literal["sound", "caution", "problem", "not recorded"]
GrowthCode = Literal["even", "slower", "faster", "uneven", "two_days", "untested"]
Covariate = Literal["start_weight", "light_at_place"]
ConclusionCode = Literal["more", "less", "alike", "unclear", "untestable", "confounded"]


@dataclass(frozen=True)
class Estimate:
    """One treatment's figure with interval, standard error, degrees of freedom and `n` trays.

    `low` or `high` is None where the interval is unbounded on that side or cannot be had; `notes`
    say why.
    """

    value: float | None
    low: float | None = None
    high: float | None = None
    standard_error: float | None = None
    degrees_of_freedom: float | None = None
    n: int = 0
    methods: Notes = ()
    notes: Notes = ()


@dataclass(frozen=True)
class Comparison:
    """One treatment against the reference.

    Ratio (treatment / reference) and difference (treatment - reference).

    `ratio_low` and `ratio_high` are the limits that readers see, as are those of the difference:
    with three treatments or more those of all hold together. `single_low` and `single_high` are
    those of this comparison by itself. `alike_low` and `alike_high` have the level 1 - 2 a instead
    of 1 - a: two figures are alike where they lie within the margin that matters. `p_value` tests
    that there is no difference, `p_adjusted` the same among all comparisons. `degrees_of_freedom`
    are those of the ratio's interval; where the difference has others, `methods` name them.
    """

    ratio: float | None = None
    ratio_low: float | None = None
    ratio_high: float | None = None
    difference: float | None = None
    difference_low: float | None = None
    difference_high: float | None = None
    p_value: float | None = None
    p_adjusted: float | None = None
    single_low: float | None = None
    single_high: float | None = None
    alike_low: float | None = None
    alike_high: float | None = None
    degrees_of_freedom: float | None = None
    methods: Notes = ()
    notes: Notes = ()


@dataclass(frozen=True)
class Measure:
    """What a figure measures: results key, label, unit, and which way is better.

    `trait` is the label of the trait that it is a rate of, empty for all that is no such rate.
    `grade` is the grower's word for the pickings that it is the share of, empty for all that is no
    such share.
    """

    key: str
    label: str
    unit: str
    better: str = ""  # "higher", "lower", or empty where neither is better
    trait: str = ""
    grade: str = ""


@dataclass(frozen=True)
class Letters:
    """Which treatments differ: those that share a letter do not.

    `groups` pair a treatment's code with its letters.
    """

    methods: Notes
    groups: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class MeasureResult:
    """All figures of one measure.

    An estimate for each treatment, a comparison for each but the reference.

    `estimates` and `comparisons` pair a treatment's code with its figure, in the order of
    `Trial.treatments`. `scores` pair a tray's code with its score, in the order of `Trial.trays`;
    trays without data are absent. `letters_notes` say why there are no letters where they could be
    expected.
    """

    measure: Measure
    estimates: tuple[tuple[str, Estimate], ...]
    comparisons: tuple[tuple[str, Comparison], ...]
    scores: tuple[tuple[str, float], ...] = ()
    letters: Letters | None = None
    letters_notes: Notes = ()


@dataclass(frozen=True)
class RankComparison:
    """How the experimental units of one treatment are ranked against those of the reference.

    `probability_higher` is the chance that a unit of the treatment lies above one of the reference,
    ties counted half, with its limits. `p_value` tests that it does not matter which treatment a
    unit had, `p_adjusted` the same among all comparisons. `smallest_p_value` is the least that so
    many units can give: above 1 - level nothing can be told.
    """

    probability_higher: float | None = None
    low: float | None = None
    high: float | None = None
    p_value: float | None = None
    p_adjusted: float | None = None
    smallest_p_value: float | None = None
    methods: Notes = ()
    notes: Notes = ()


@dataclass(frozen=True)
class ClassCounts:
    """How many plants of a treatment are in each class of a scale, lowest class first.

    `trays` counts trays with a score. `median` is that of the trays' medians, a position on the
    scale from 0 on; a half lies between two classes. None where no plant was scored.
    """

    treatment: str
    trays: int
    counts: tuple[int, ...]
    median: float | None

    @property
    def plants(self) -> int:
        """Return how many plants were scored."""
        return sum(self.counts)

    @property
    def shares(self) -> tuple[float | None, ...]:
        """Return the share of plants in each class, 0 to 1; None where no plant was scored."""
        if not self.plants:
            return (None,) * len(self.counts)
        return tuple(count / self.plants for count in self.counts)

    def share_from(self, position: int) -> float | None:
        """Return the share of plants in the class at `position` and those above it, 0 to 1."""
        if self.plants:
            return sum(self.counts[position:]) / self.plants
        return None


@dataclass(frozen=True)
class ScoreResult:
    """What a score in ordered classes shows.

    Plants by class, the trays' medians, and how these are ranked.

    `scale` names the classes, lowest first. `cut` is the position of the class that parts the
    plants of all treatments together most nearly in halves. `medians` pair a tray's code with the
    median of its plants, a position on the scale. `comparisons` pair a treatment's code with its
    comparison; the reference has none.
    """

    measure: Measure
    scale: tuple[str, ...]
    cut: int
    treatments: tuple[ClassCounts, ...]
    medians: tuple[tuple[str, float], ...]
    comparisons: tuple[tuple[str, RankComparison], ...]


@dataclass(frozen=True)
class TreatmentCount:
    """How much of a treatment there was; `trays` counts trays with plants.

    Plants are None where that is not known.
    """

    treatment: str
    trays: int
    plants_started: int | None
    plants_harvested: int | None

    @property
    def lost_some(self) -> bool:
        """Return whether it is known that plants were lost."""
        if self.plants_started is None or self.plants_harvested is None:
            return False
        return self.plants_harvested < self.plants_started


@dataclass(frozen=True)
class FactorOfRatio:
    """One factor of a ratio of treatment to reference.

    The factors of one `of` and `treatment` multiply to it.

    `of` is the key of the measure that is the ratio, `factor` that of the factor.
    """

    of: str
    treatment: str
    factor: str
    ratio: float | None
    low: float | None = None
    high: float | None = None
    notes: Notes = ()


@dataclass(frozen=True)
class Verdict:
    """How fair a trial was in one respect: `check` is its key, each of `findings` a sentence with
    its figures.
    """

    check: str
    verdict: VerdictWord
    findings: tuple[Message, ...]


@dataclass(frozen=True)
class Conclusion:
    """What the trial says of one treatment against the reference in one measure.

    `reasons` say why a difference cannot be put down to the treatment, or why nothing can be
    tested. `toward` is what a confounded result would have been without them.
    """

    measure: str
    treatment: str
    code: ConclusionCode
    reasons: Notes = ()
    toward: ConclusionCode | None = None


@dataclass(frozen=True)
class Fragile:
    """How the ratio of a treatment in a measure changes where any one tray is left out.

    Trials that read as effects of factors or doses have none: what their answer says is not a
    single treatment's ratio. `turning` are the codes of the trays without which the interval says
    another thing.
    """

    measure: str
    treatment: str
    ratio_lowest: float
    ratio_highest: float
    turning: tuple[str, ...] = ()


@dataclass(frozen=True)
class TrayResidual:
    """A tray's fitted figure, in the measure's unit, and the logarithm of its own / fitted."""

    tray: str
    treatment: str
    fitted: float
    residual: float


@dataclass(frozen=True)
class TreatmentSpread:
    """The standard deviation of the natural logarithms of a treatment's trays, blocks included."""

    treatment: str
    spread: float


@dataclass(frozen=True)
class MeasureResiduals:
    """The residuals of a measure's trays and the spreads of its treatments.

    Both stand in the order of the trial.
    """

    trays: tuple[TrayResidual, ...]
    spreads: tuple[TreatmentSpread, ...]


@dataclass(frozen=True)
class MoneyResult:
    """What a treatment adds to the reference a tray.

    Cost, crop, and the margin at the crop's price.

    Money is in the trial's currency, the crop in `yield_unit` (kg or piece), prices in currency for
    one of those. The crop is all of it, or what can be sold where pickings were graded
    (`yield_of`). The break-even price is that at which added crop pays for added cost: `direction`
    says on which side of it the treatment pays, `prices` what the set of prices from
    `break_even_low` to `break_even_high` is. `price`, the margin and `pays` are None and empty
    where the workbook has no price of the crop.
    """

    treatment: str
    added_cost: float
    added_yield: float
    yield_unit: Literal["kg", "piece"]
    yield_of: Literal["all", "marketable"]
    break_even_price: float | None
    break_even_low: float | None
    break_even_high: float | None
    direction: Literal["above", "below", "always", "never", "none"]
    prices: Literal["interval", "at_least", "at_most", "two_parts", "any", "empty", "unknown"]
    price: float | None = None
    margin: float | None = None
    margin_low: float | None = None
    margin_high: float | None = None
    pays: Literal["", "pays", "loses", "unclear", "untestable"] = ""


@dataclass(frozen=True)
class ReportedItem:
    """An item of the reporting checklist, by its key.

    `values` are what is known of it, those of one treatment as `OfTreatment`; `missing` is for what
    it is not known.
    """

    item: str
    values: tuple[Value, ...] = ()
    missing: tuple[Value, ...] = ()

    @property
    def reported(self) -> bool:
        """Return whether the item is known, of all that it should be known of."""
        return bool(self.values) and not self.missing


@dataclass(frozen=True)
class YieldByDay:
    """What the trays of each treatment had given by the end of a day of picking.

    `estimates` pair a treatment's code with its figure, in the order of `Trial.treatments`.
    `at_zero` are the codes of treatments of which a tray had given nothing that counts.
    """

    on: date
    estimates: tuple[tuple[str, Estimate], ...]
    at_zero: tuple[str, ...] = ()


@dataclass(frozen=True)
class CumulativeYield:
    """A measure of pickings as it grew from the first day of picking to the last."""

    measure: Measure
    days: tuple[YieldByDay, ...]


@dataclass(frozen=True)
class GrowthOnDay:
    """How large the plants of each treatment were on a day.

    `estimates` pair a treatment's code with its figure, in the order of `Trial.treatments`.
    """

    on: date
    estimates: tuple[tuple[str, Estimate], ...]


@dataclass(frozen=True)
class GrowthPeriod:
    """Relative growth rates, 1/d, from one day of measuring to the next.

    `comparisons` are differences from the reference that hold for all treatments of the period
    together.
    """

    start: date
    end: date
    estimates: tuple[tuple[str, Estimate], ...]
    comparisons: tuple[tuple[str, Comparison], ...]


@dataclass(frozen=True)
class GrowthShape:
    """Whether one relative growth rate describes a treatment, by a test on its trays' logarithms.

    It does where growth was `even` or measured on `two_days` alone; `untested` stands where trays
    are too few to tell. Otherwise growth became `slower` or `faster` on the day `turn_on`, the day
    of measuring where two lines fit best, or was `uneven` in another way. `rate_before` and
    `rate_after` are those of the times around it, 1/d; where growth became slower or faster all the
    time there is no such day, and they are those of the first and the last period.
    """

    treatment: str
    code: GrowthCode
    trays: int
    p_value: float | None = None
    turn_on: date | None = None
    rate_before: float | None = None
    rate_after: float | None = None

    @property
    def has_single_rate(self) -> bool:
        """Return whether one rate describes the whole time."""
        return self.code in ("even", "two_days")


@dataclass(frozen=True)
class GrowthOverTime:
    """A trait of living plants from day to day.

    Its size, its rates by period, and whether one rate fits.

    `rate_key` is the key of the measure that is the relative growth rate over the whole time.
    """

    measure: Measure
    rate_key: str
    days: tuple[GrowthOnDay, ...]
    periods: tuple[GrowthPeriod, ...]
    shapes: tuple[GrowthShape, ...]


@dataclass(frozen=True)
class AdjustedMeasure:
    """A measure with treatments compared as if their trays had one value of a covariate.

    `exponent` is the slope of the measure's logarithm on that of the covariate, with its limits and
    p value: a tray that began 1% larger gave about so many percent more. `p_slopes` tests that one
    slope serves all treatments, `p_differs` that the covariate is alike in all of them. `trays`
    have both values. Without a fit there are no figures, and `notes` say why; else they are
    cautions.
    """

    measure: Measure
    trays: int
    estimates: tuple[tuple[str, Estimate], ...] = ()
    comparisons: tuple[tuple[str, Comparison], ...] = ()
    exponent: float | None = None
    exponent_low: float | None = None
    exponent_high: float | None = None
    exponent_p_value: float | None = None
    p_slopes: float | None = None
    p_differs: float | None = None
    degrees_of_freedom: int | None = None
    notes: Notes = ()


@dataclass(frozen=True)
class Adjustment:
    """Measures adjusted for one covariate of the trays.

    The unadjusted ones are among `Results.measures`.

    `averages` pair a treatment's code with the mean of its trays, in `unit`. `withheld` says why
    nothing was adjusted.
    """

    covariate: Covariate
    unit: str
    averages: tuple[tuple[str, float], ...]
    measures: tuple[AdjustedMeasure, ...] = ()
    withheld: Notes = ()


@dataclass(frozen=True)
class Results:
    """Every number of a report.

    `main_measure` is the key of the measure that the answer leads with, empty where nothing was
    measured. `without_outliers` is what plants are compared by again, without the plants that stand
    out. `effects` are those of the trial's factors.
    """

    counts: tuple[TreatmentCount, ...]
    measures: tuple[MeasureResult, ...]
    factors: tuple[FactorOfRatio, ...] = ()
    fairness: tuple[Verdict, ...] = ()
    reporting: tuple[ReportedItem, ...] = ()
    without_outliers: MeasureResult | None = None
    main_measure: str = ""
    conclusions: tuple[Conclusion, ...] = ()
    fragility: tuple[Fragile, ...] = ()
    money: tuple[MoneyResult, ...] = ()
    scores: tuple[ScoreResult, ...] = ()
    harvests: tuple[CumulativeYield, ...] = ()
    effects: Factors = NO_FACTORS
    growth: tuple[GrowthOverTime, ...] = ()
    adjusted: tuple[Adjustment, ...] = ()


@dataclass(frozen=True)
class RatioToPool:
    """A treatment's ratio to the reference in one measure, ready to be pooled over trials.

    `compared` is at the trial's own confidence level, `usual` at 95%. The log ratio and its
    variance rest on the spread between trays alone: None where they cannot be had, and `reasons`
    say why, beside the notes of `compared`. `doubted`: something other than the treatment may
    explain it.
    """

    measure: Measure
    treatment: str
    compared: Comparison
    usual: Comparison
    log_ratio: float | None = None
    variance: float | None = None
    reasons: tuple[Message, ...] = ()
    doubted: bool = False


@dataclass(frozen=True)
class NamedTreatment:
    """A treatment by its code in the workbook and its name."""

    code: str
    name: str


@dataclass(frozen=True)
class TrialIdentity:
    """What tells whether two workbooks are of one trial.

    Dates are ISO 8601, the harvest empty where it is to come.

    `trays` pairs each tray's code with its treatment's; `weights` holds tray, plant and fresh
    weight in g of each plant that was weighed, or what plants were measured by where none was.
    `last_record` is the last day on which anything was recorded.
    """

    title: str
    started_on: str
    harvested_on: str
    trays: tuple[tuple[str, str], ...]
    weights: tuple[tuple[str, str, float], ...]
    last_record: str = ""


@dataclass(frozen=True)
class TrialToPool:
    """What pooling takes of a trial.

    It is kept with the trial's report, so that the workbook is not read again.

    `comparison` is its name in the workbook; `harvested_on` is ISO 8601; `unit` what a row of the
    Trays sheet is called; `reference` and `lost`, the treatments that lost plants, are codes. An
    `interim` trial has no ratios.
    """

    slug: str
    title: str
    crop: str
    comparison: str
    harvested_on: str
    source_sha256: str
    unit: str
    confidence_level: float
    reference: str
    treatments: tuple[NamedTreatment, ...]
    lost: tuple[str, ...]
    ratios: tuple[RatioToPool, ...]
    identity: TrialIdentity
    interim: bool = False
