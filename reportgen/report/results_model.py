"""The results file, `trial-results/2`: what each of its entries holds, with the unit and the
meaning of each field.

The JSON Schema that ships with the program is made of these classes. Numbers are unrounded; null
stands where there is no number.
"""

from dataclasses import dataclass
from typing import Any, Final, Literal

from reportgen.report.factor_parts import EffectsEntry, FactorOfRatioEntry
from reportgen.report.growth_parts import GrowthEntry, HarvestsEntry
from reportgen.report.result_parts import (
    AdjustedEntry,
    ComparisonEntry,
    EstimateEntry,
    FragilityEntry,
    LettersEntry,
    MessageEntry,
    MoneyEntry,
    VerdictEntry,
)
from reportgen.report.score_parts import ScoreEntry

FORMAT: Final = "trial-results/2"


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
