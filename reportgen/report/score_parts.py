"""Parts of the results file: scores in ordered classes."""

from dataclasses import dataclass

from reportgen.report.result_parts import (
    MessageEntry,
)


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
