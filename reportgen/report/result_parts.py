"""Parts of the results file: messages, estimates, comparisons and verdicts."""

from dataclasses import dataclass
from typing import Any, Literal

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
