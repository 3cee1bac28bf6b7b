"""The results file, `trial-results/2`: what each of its entries holds, with the unit and the
meaning of each field.

The JSON Schema that ships with the program is made of these classes. Numbers are unrounded; null
stands where there is no number.
"""

from dataclasses import dataclass
from typing import Any, Final, Literal

FORMAT: Final = "trial-results/2"

Values = dict[str, Any]


@dataclass(frozen=True)
class MessageEntry:
    """A finding or a note: its code and its values for programs, its English text for readers."""

    code: str
    """What is said, as a stable key."""
    values: Values
    """What it is said of, each value by its name: numbers with units, counts, shares from 0 to 1,
    days, codes.
    """
    text: str
    """The same as an English sentence or clause; its wording may change without notice."""


@dataclass(frozen=True)
class FactorEntry:
    """What was varied in a trial of several factors."""

    name: str
    """The name of the factor."""
    unit: str
    """The unit of its levels, empty where they are words."""
    levels: tuple[str, ...]
    """Its levels, as typed."""


@dataclass(frozen=True)
class TrialEntry:
    """The trial as a whole."""

    slug: str
    """The name of the report's folder."""
    title: str
    """The title, as typed."""
    crop: str
    """The crop, as typed."""
    started_on: str
    """The day on which treatments began, ISO 8601."""
    harvested_on: str
    """The day of the last harvest, ISO 8601; of an interim report that of the last record, if it is
    earlier.
    """
    days: int
    """Days from the start to the last harvest."""
    reference: str
    """The code of the treatment that the others are compared with."""
    experimental_unit: Literal["tray", "plant"]
    """What was treated independently: the tray, or the plant in a pot of its own."""
    confidence_level: float
    """The level of all intervals, 0.95 for 95%."""
    currency: str
    """The currency of all money, ISO 4217."""
    source_sha256: str
    """The SHA-256 of the workbook that the figures were computed from."""
    main_measure: str | None
    """The key of the measure that the answer leads with; null where nothing was measured."""
    margin: float | None
    """The relative difference that matters, 0.1 for 10%; null where the workbook names none."""
    interim: bool
    """Whether the harvest was not complete when this file was made; there are no comparisons and no
    verdicts then.
    """
    as_of: str | None
    """The day of the last record of an interim report, ISO 8601; null for a final one."""
    varied: str | None
    """What treatments were meant to differ in; null where that is not recorded."""
    factors: tuple[FactorEntry, ...]
    """The factors of a trial that names them, empty for all others."""


@dataclass(frozen=True)
class TreatmentEntry:
    """A treatment, and how much of it there was."""

    treatment: str
    """The treatment's code."""
    name: str
    """The name that readers see."""
    trays: int
    """Trays with plants."""
    plants_started: int | None
    """Plants at the start; null where that is not known."""
    plants_harvested: int | None
    """Plants at harvest; null where no plant is recorded."""


@dataclass(frozen=True)
class EstimateEntry:
    """A treatment's figure in one measure."""

    metric: str
    """The key of the measure."""
    treatment: str
    """The treatment's code."""
    unit: str
    """The unit of value, limits and standard error; empty for a bare number."""
    value: float | None
    """The figure."""
    low: float | None
    """The lower limit of its interval; null where there is none, and the notes say why."""
    high: float | None
    """The upper limit of its interval."""
    standard_error: float | None
    """The standard error, in the unit of the value."""
    degrees_of_freedom: float | None
    """The degrees of freedom of the interval."""
    n: int
    """The trays that it rests on."""
    method: str
    """How it was made, in English."""
    methods: tuple[str, ...]
    """How it was made, as codes."""
    note: str
    """What to know of it, in English."""
    notes: tuple[MessageEntry, ...]
    """What to know of it, as codes and values."""


@dataclass(frozen=True)
class ComparisonEntry:
    """A treatment against the reference in one measure."""

    metric: str
    """The key of the measure."""
    treatment: str
    """The code of the treatment."""
    reference: str
    """The code of the reference."""
    ratio: float | None
    """The treatment's figure divided by the reference's."""
    ratio_low: float | None
    """The lower limit of the ratio that the report shows; with three treatments or more it holds
    for all together.
    """
    ratio_high: float | None
    """The upper limit of the ratio that the report shows."""
    single_low: float | None
    """The lower limit of the ratio for this comparison by itself."""
    single_high: float | None
    """The upper limit of the ratio for this comparison by itself."""
    alike_low: float | None
    """The lower limit of the ratio at level 1 - 2 a (90% at 95%), by which two figures are called
    alike.
    """
    alike_high: float | None
    """The upper limit of the ratio at level 1 - 2 a."""
    difference: float | None
    """The treatment's figure less the reference's, in the unit of the measure."""
    difference_low: float | None
    """The lower limit of the difference, for this comparison by itself."""
    difference_high: float | None
    """The upper limit of the difference, for this comparison by itself."""
    p_value: float | None
    """The probability of so large a ratio where there is no difference, for this comparison by
    itself.
    """
    p_adjusted: float | None
    """The same among all comparisons of the measure; null with two treatments."""
    degrees_of_freedom: float | None
    """The degrees of freedom of the ratio's interval."""
    method: str
    """How it was made, in English."""
    methods: tuple[str, ...]
    """How it was made, as codes."""
    note: str
    """What to know of it, in English."""
    notes: tuple[MessageEntry, ...]
    """What to know of it, as codes and values."""


@dataclass(frozen=True)
class VerdictEntry:
    """What the trial says of one treatment in one measure."""

    metric: str
    """The key of the measure."""
    treatment: str
    """The treatment's code."""
    code: Literal["more", "less", "alike", "unclear", "untestable", "confounded"]
    """More or less than the reference; alike within the margin; unclear; untestable; confounded
    with something else.
    """
    toward: str | None
    """What a confounded verdict would have been without its reasons; null for all others."""
    reasons: tuple[MessageEntry, ...]
    """Why a difference cannot be put down to the treatment, or why nothing can be tested."""


@dataclass(frozen=True)
class ScoreTreatmentEntry:
    """The plants of a treatment by class of a score."""

    treatment: str
    """The treatment's code."""
    trays: int
    """Trays with a plant that was scored."""
    plants: int
    """Plants that were scored."""
    counts: tuple[int, ...]
    """Plants in each class, in the order of `classes`."""
    shares: tuple[float | None, ...]
    """The share of plants in each class, 0 to 1; null where no plant was scored."""
    median: float | None
    """The median of the trays' medians, a position in `classes` from 0 on; a half lies between two
    classes.
    """


@dataclass(frozen=True)
class ScoreTrayEntry:
    """The median of the plants of one tray."""

    tray: str
    """The tray's code."""
    median: float
    """A position in `classes` from 0 on; a half lies between two classes."""


@dataclass(frozen=True)
class ScoreComparisonEntry:
    """The trays of a treatment ranked against those of the reference by their medians."""

    treatment: str
    """The code of the treatment."""
    reference: str
    """The code of the reference."""
    probability_higher: float | None
    """The chance that a tray of the treatment scores higher than one of the reference, ties counted
    half.
    """
    low: float | None
    """Its lower limit; with three treatments or more it holds for all together.

    Null where there is none.
    """
    high: float | None
    """Its upper limit."""
    p_value: float | None
    """The probability of ranks so far apart where treatments do not matter, for this comparison by
    itself.
    """
    p_adjusted: float | None
    """The same among all comparisons of the score (Holm); null with two treatments."""
    smallest_p_value: float | None
    """The smallest p value that so many trays can give; above 1 - confidence level nothing can be
    told.
    """
    methods: tuple[str, ...]
    """How it was made, as codes."""
    notes: tuple[MessageEntry, ...]
    """What to know of it, as codes and values."""


@dataclass(frozen=True)
class ScoreEntry:
    """A score in ordered classes. Classes have no distances, so no mean is made of them."""

    metric: str
    """The key of the score, as in the verdicts."""
    label: str
    """The name of the score, as typed."""
    classes: tuple[str, ...]
    """The classes, the lowest first."""
    cut: str
    """The class by which the report tells shares (this class or higher): it parts all plants most
    nearly in halves.
    """
    treatments: tuple[ScoreTreatmentEntry, ...]
    """The plants of each treatment."""
    trays: tuple[ScoreTrayEntry, ...]
    """The median of each tray."""
    comparisons: tuple[ScoreComparisonEntry, ...]
    """Each treatment against the reference."""


@dataclass(frozen=True)
class FragilityEntry:
    """How the main result changes where any one tray is left out."""

    metric: str
    """The key of the measure."""
    treatment: str
    """The treatment's code."""
    ratio_lowest: float
    """The lowest ratio with one tray left out."""
    ratio_highest: float
    """The highest ratio with one tray left out."""
    verdict_turns: bool
    """Whether the interval says another thing without one of the trays."""
    turning_trays: tuple[str, ...]
    """The codes of those trays."""


@dataclass(frozen=True)
class MoneyEntry:
    """What a treatment adds to the reference a tray, in the trial's currency."""

    treatment: str
    """The treatment's code."""
    added_cost: float
    """Cost a tray beyond the reference's."""
    added_yield: float
    """Crop a tray beyond the reference's, in `yield_unit`."""
    yield_unit: Literal["kg", "piece"]
    """What the crop is sold by."""
    yield_of: Literal["all", "marketable"]
    """What of the crop is counted: all of it, or what can be sold where pickings were graded."""
    price: float | None
    """The price of the crop by the workbook, in currency for one `yield_unit`."""
    margin: float | None
    """Added revenue less added cost a tray at that price; null without a price."""
    margin_low: float | None
    """The lower limit of the margin."""
    margin_high: float | None
    """The upper limit of the margin."""
    pays: Literal["", "pays", "loses", "unclear", "untestable"]
    """Whether the interval of the margin leaves out 0; empty without a price."""
    break_even_price: float | None
    """The price of the crop at which added revenue equals added cost."""
    break_even_low: float | None
    """The lower end of the set of prices that the trial leaves open."""
    break_even_high: float | None
    """The upper end of that set."""
    break_even_set: Literal[
        "interval", "at_least", "at_most", "two_parts", "any", "empty", "unknown"
    ]
    """What that set is: two parts lie below the lower and above the upper end."""
    direction: Literal["above", "below", "always", "never", "none"]
    """At which prices the treatment pays by the estimates: above or below the break-even price,
    always, never.
    """


@dataclass(frozen=True)
class YieldByDayEntry:
    """What the trays of a treatment had given by the end of a day of picking."""

    date: str
    """The day, ISO 8601."""
    day: int
    """Days since the start."""
    value: float | None
    """The mean of the trays; null where it is not known."""
    low: float | None
    """The lower limit of its interval, of this day by itself; null where there is none."""
    high: float | None
    """The upper limit of its interval."""
    n: int
    """The trays that it rests on."""


@dataclass(frozen=True)
class HarvestsEntry:
    """How a treatment's yield grew over the days of picking."""

    metric: str
    """The key of the measure: `tray_yield`, `marketable_yield`, or `pieces` where nothing was
    weighed.
    """
    treatment: str
    """The treatment's code."""
    unit: str
    """The unit of values and limits."""
    days: tuple[YieldByDayEntry, ...]
    """The days of picking, in order."""


@dataclass(frozen=True)
class GrowthOnDayEntry:
    """How large a treatment's plants were on a day of measuring."""

    on: str
    """The day, ISO 8601."""
    day: int
    """Days since the start of the trial."""
    value: float | None
    """The mean of its trays."""
    low: float | None
    """The lower limit of its interval."""
    high: float | None
    """The upper limit of its interval."""
    n: int
    """The trays that it rests on."""


@dataclass(frozen=True)
class GrowthPeriodEntry:
    """How fast a treatment's plants grew from one day of measuring to the next, and beside the
    reference.
    """

    start: str
    """The first day, ISO 8601."""
    end: str
    """The last day, ISO 8601."""
    rate: float | None
    """The relative growth rate, 1/d: the change of the logarithm by day."""
    low: float | None
    """The lower limit of its interval."""
    high: float | None
    """The upper limit of its interval."""
    n: int
    """The trays that it rests on."""
    difference: float | None
    """Its rate less that of the reference, 1/d; null for the reference itself."""
    difference_low: float | None
    """The lower limit, which holds for all treatments of the period together."""
    difference_high: float | None
    """The upper limit, which holds for all treatments of the period together."""
    p_value: float | None
    """Of the test of no difference, by itself."""
    p_adjusted: float | None
    """The same among all treatments of the period, where there are several."""
    methods: tuple[str, ...]
    """The methods of the difference as codes."""


@dataclass(frozen=True)
class GrowthEntry:
    """A growth trait of one treatment over time, and whether one rate describes it."""

    trait: str
    """The label of the trait."""
    metric: str
    """The key of the measure that is its relative growth rate; null there where `shape` allows no
    single rate.
    """
    treatment: str
    """The treatment's code."""
    unit: str
    """The unit of the sizes."""
    shape: Literal["even", "slower", "faster", "uneven", "two_days", "untested"] | None
    """Whether growth was even, became slower or faster, or was uneven; null where the treatment was
    not measured.
    """
    p_value: float | None
    """Of the test that a straight line fits the logarithms; null where it could not be made."""
    turn_on: str | None
    """The day of measuring around which the rate changed most, ISO 8601; null where it changed in
    every period.
    """
    rate_before: float | None
    """The relative growth rate before that day, else of the first period, 1/d."""
    rate_after: float | None
    """The relative growth rate from that day on, else of the last period, 1/d."""
    days: tuple[GrowthOnDayEntry, ...]
    """Sizes on the days of measuring, in order."""
    periods: tuple[GrowthPeriodEntry, ...]
    """Rates between the days of measuring, in order."""


@dataclass(frozen=True)
class AdjustedEntry:
    """One treatment's figure of a measure, adjusted for a covariate of the trays."""

    covariate: Literal["start_weight", "light_at_place"]
    """What was adjusted for."""
    covariate_unit: str
    """Its unit."""
    covariate_mean: float | None
    """Its mean over the treatment's trays."""
    metric: str
    """The key of the measure."""
    treatment: str
    """The treatment's code."""
    unit: str
    """The unit of value and limits."""
    value: float | None
    """The geometric mean of the treatment's trays, at the mean logarithm of the covariate."""
    low: float | None
    """The lower limit of its interval."""
    high: float | None
    """The upper limit of its interval."""
    ratio: float | None
    """The adjusted ratio to the reference; null for the reference itself."""
    ratio_low: float | None
    """Its lower limit; with three treatments or more the limits of all hold together."""
    ratio_high: float | None
    """Its upper limit."""
    p_value: float | None
    """Of the test of no difference after adjustment, by itself."""
    p_adjusted: float | None
    """The same among all comparisons, where there are several."""
    unadjusted_ratio: float | None
    """The ratio without adjustment."""
    exponent: float | None
    """The slope of the measure's logarithm on the covariate's."""
    exponent_low: float | None
    """Its lower limit."""
    exponent_high: float | None
    """Its upper limit."""
    exponent_p_value: float | None
    """Of the test that the covariate does not matter."""
    p_slopes: float | None
    """Of the test that one slope serves all treatments."""
    p_differs: float | None
    """Of the test that the covariate is alike in all treatments."""
    degrees_of_freedom: int | None
    """Of the residual variance."""
    notes: tuple[MessageEntry, ...]
    """Cautions, or why nothing could be adjusted, as codes and values."""


@dataclass(frozen=True)
class LettersEntry:
    """Which treatments differ in one measure: those that share a letter do not."""

    metric: str
    """The key of the measure."""
    method: str
    """The test of all pairs, in English."""
    groups: dict[str, str]
    """The letters of each treatment, by its code."""


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


@dataclass(frozen=True)
class FairnessEntry:
    """A check of a fair test."""

    check: str
    """The key of the check."""
    verdict: Literal["sound", "caution", "problem", "not recorded"]
    """How the trial stands in this respect."""
    finding: str
    """The figures behind the verdict, in English."""
    findings: tuple[MessageEntry, ...]
    """The same as codes and values."""


@dataclass(frozen=True)
class ReportingEntry:
    """An item of the reporting checklist."""

    item: str
    """The key of the item."""
    reported: bool
    """Whether it is known of all that it should be known of."""
    value: str | None
    """What is known, in English; null where the item is not reported."""
    values: tuple[Any, ...]
    """What is known, as values."""
    missing: tuple[Any, ...]
    """Of what it is not known."""


@dataclass(frozen=True)
class ProblemEntry:
    """A finding of the check of the workbook that did not stop the report."""

    severity: Literal["error", "caution", "remark"]
    """How much it matters."""
    code: str
    """What kind of problem it is, as a stable key."""
    sheet: str
    """The sheet, empty where it is about the file."""
    cell: str
    """The cell or range in A1 notation, empty where it is about a whole sheet."""
    found: str
    """What stands there, in English."""
    expected: str
    """What was expected, in English."""
    advice: str
    """What to do, in English."""


@dataclass(frozen=True)
class ToComeEntry:
    """What an unfinished trial still lacks."""

    sheet: str
    """The sheet of the workbook."""
    column: str
    """The column that has blank cells."""
    number: int
    """How many values are still to come."""


@dataclass(frozen=True)
class ResultsFile:
    """Every number of a trial's report, unrounded, for scripts."""

    format: Literal["trial-results/2"]
    """The name and the version of this format."""
    trial: TrialEntry
    """What the trial was, when, and by which rules it was analysed."""
    treatments: tuple[TreatmentEntry, ...]
    """The treatments, in the order of the workbook."""
    estimates: tuple[EstimateEntry, ...]
    """The figures, measure by measure, treatment by treatment."""
    comparisons: tuple[ComparisonEntry, ...]
    """Each treatment against the reference, measure by measure."""
    verdicts: tuple[VerdictEntry, ...]
    """What the trial says of each treatment, measure by measure."""
    fragility: tuple[FragilityEntry, ...]
    """How the main result changes where a tray is left out."""
    money: tuple[MoneyEntry, ...]
    """What each treatment adds in cost and crop."""
    letters: tuple[LettersEntry, ...]
    """Which of three treatments or more differ."""
    factors: tuple[FactorOfRatioEntry, ...]
    """Ratios taken apart."""
    effects: EffectsEntry
    """What the factors of the trial do."""
    fairness: tuple[FairnessEntry, ...]
    """The checks of a fair test."""
    reporting: tuple[ReportingEntry, ...]
    """The reporting checklist."""
    harvests: tuple[HarvestsEntry, ...]
    """Cumulative yields of a crop that is picked more than once, measure by measure, treatment by
    treatment.
    """
    problems: tuple[ProblemEntry, ...]
    """What the check of the workbook found."""
    to_come: tuple[ToComeEntry, ...] = ()
    """What an unfinished trial still lacks; empty for a final report."""
    scores: tuple[ScoreEntry, ...] = ()
    """The scores in ordered classes."""
    growth: tuple[GrowthEntry, ...] = ()
    """Living plants over time, trait by trait, treatment by treatment."""
    adjusted: tuple[AdjustedEntry, ...] = ()
    """Measures adjusted for a covariate, measure by measure, treatment by treatment."""
