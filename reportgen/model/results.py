"""What was computed from a trial, in full precision; None stands for a number that cannot be known."""

from dataclasses import dataclass
from typing import Literal

VerdictWord = Literal["sound", "caution", "problem", "not recorded"]


@dataclass(frozen=True)
class Estimate:
    """One treatment's figure: value, interval, standard error, degrees of freedom, number of trays `n`.

    `low` or `high` is None where the interval is unbounded on that side or cannot be had; `note` says why.
    """

    value: float | None
    low: float | None = None
    high: float | None = None
    standard_error: float | None = None
    degrees_of_freedom: float | None = None
    n: int = 0
    method: str = ""
    note: str = ""


@dataclass(frozen=True)
class Comparison:
    """One treatment against the reference: ratio (treatment / reference) and difference (treatment - reference).

    `degrees_of_freedom` are those of the ratio's interval; where the difference has others, `method` names them.
    `simultaneous_low` and `simultaneous_high` bound the ratio so that the intervals of all treatments hold together;
    `p_adjusted` is the p value of the difference among all of them.
    """

    ratio: float | None = None
    ratio_low: float | None = None
    ratio_high: float | None = None
    difference: float | None = None
    difference_low: float | None = None
    difference_high: float | None = None
    p_value: float | None = None
    p_adjusted: float | None = None
    simultaneous_low: float | None = None
    simultaneous_high: float | None = None
    degrees_of_freedom: float | None = None
    method: str = ""
    note: str = ""


@dataclass(frozen=True)
class Measure:
    """What a figure measures: its key in the results file, its label, its unit, which way is better."""

    key: str
    label: str
    unit: str
    better: str = ""  # "higher", "lower", or empty where neither is better


@dataclass(frozen=True)
class Letters:
    """Which treatments differ: those that share a letter do not. `groups` pair a treatment's code with its letters."""

    method: str
    groups: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class MeasureResult:
    """All figures of one measure: an estimate for each treatment, a comparison for each but the reference.

    `estimates` and `comparisons` pair a treatment's code with its figure, in the order of `Trial.treatments`.
    `scores` pair a tray's code with its score, in the order of `Trial.trays`; trays without data are absent.
    """

    measure: Measure
    estimates: tuple[tuple[str, Estimate], ...]
    comparisons: tuple[tuple[str, Comparison], ...]
    scores: tuple[tuple[str, float], ...] = ()
    letters: Letters | None = None


@dataclass(frozen=True)
class TreatmentCount:
    """How much of a treatment there was; `trays` counts trays with plants, None started where that is not known."""

    treatment: str
    trays: int
    plants_started: int | None
    plants_harvested: int

    @property
    def lost_some(self) -> bool:
        """Return whether it is known that plants were lost."""
        return self.plants_started is not None and self.plants_harvested < self.plants_started


@dataclass(frozen=True)
class FactorOfRatio:
    """One factor of a ratio of treatment to reference: the factors of one `of` and `treatment` multiply to it."""

    of: str
    treatment: str
    factor: str
    ratio: float | None
    low: float | None = None
    high: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Verdict:
    """How fair a trial was in one respect: `check` is its key, `finding` the sentence with the figure behind it."""

    check: str
    label: str
    verdict: VerdictWord
    finding: str


@dataclass(frozen=True)
class ReportedItem:
    """An item of the reporting checklist: its value as text, or the sheet and column where it would go."""

    item: str
    label: str
    reported: bool
    value: str = ""
    where: str = ""


@dataclass(frozen=True)
class Results:
    """Every number of a report; `without_outliers` is fresh weight again without the plants that stand out."""

    counts: tuple[TreatmentCount, ...]
    measures: tuple[MeasureResult, ...]
    factors: tuple[FactorOfRatio, ...] = ()
    fairness: tuple[Verdict, ...] = ()
    reporting: tuple[ReportedItem, ...] = ()
    without_outliers: MeasureResult | None = None


@dataclass(frozen=True)
class RatioToPool:
    """A treatment's ratio to the reference in one measure, and what it brings to a figure pooled over trials.

    `compared` is at the trial's own confidence level, `usual` at 95 %. The log ratio and its variance rest on the
    spread between trays alone: None where they cannot be had, and `note` says why.
    """

    measure: Measure
    treatment: str
    compared: Comparison
    usual: Comparison
    log_ratio: float | None = None
    variance: float | None = None
    note: str = ""


@dataclass(frozen=True)
class NamedTreatment:
    """A treatment by its code in the workbook and its name."""

    code: str
    name: str


@dataclass(frozen=True)
class TrialIdentity:
    """What tells whether two workbooks are of one trial. Dates are ISO 8601.

    `trays` pairs each tray's code with its treatment's; `weights` holds tray, plant and fresh weight in g of each
    plant that was weighed.
    """

    title: str
    started_on: str
    harvested_on: str
    trays: tuple[tuple[str, str], ...]
    weights: tuple[tuple[str, str, float], ...]


@dataclass(frozen=True)
class TrialToPool:
    """What pooling takes of a trial: it is kept with the trial's report, so that the workbook is not read again.

    `comparison` is its name in the workbook; `harvested_on` is ISO 8601; `unit` what a row of the Trays sheet is
    called; `reference` and `lost`, the treatments that lost plants, are codes.
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
