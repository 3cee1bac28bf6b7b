"""Parts of the results file: harvests and growth over time."""

from dataclasses import dataclass
from typing import Literal


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
