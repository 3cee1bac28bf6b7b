"""Scores as entries of the results file."""

from reportgen.model.results import (
    ClassCounts,
    RankComparison,
    ScoreResult,
)
from reportgen.model.trial import Trial
from reportgen.report.message_entries import codes_of, entries_of
from reportgen.report.score_parts import (
    ScoreComparisonEntry,
    ScoreEntry,
    ScoreTrayEntry,
    ScoreTreatmentEntry,
)


def score_entry(trial: Trial, score: ScoreResult) -> ScoreEntry:
    """Return a score and its comparisons."""
    return ScoreEntry(
        metric=score.measure.key,
        label=score.measure.label,
        classes=score.scale,
        cut=score.scale[score.cut],
        treatments=tuple(_score_of_treatment(counts) for counts in score.treatments),
        trays=tuple(ScoreTrayEntry(tray, median) for tray, median in score.medians),
        comparisons=tuple(_score_comparison(trial, code, one) for code, one in score.comparisons),
    )


def _score_of_treatment(counts: ClassCounts) -> ScoreTreatmentEntry:
    return ScoreTreatmentEntry(
        counts.treatment, counts.trays, counts.plants, counts.counts, counts.shares, counts.median
    )


def _score_comparison(trial: Trial, code: str, comparison: RankComparison) -> ScoreComparisonEntry:
    return ScoreComparisonEntry(
        treatment=code,
        reference=trial.reference,
        probability_higher=comparison.probability_higher,
        low=comparison.low,
        high=comparison.high,
        p_value=comparison.p_value,
        p_adjusted=comparison.p_adjusted,
        smallest_p_value=comparison.smallest_p_value,
        methods=codes_of(comparison.methods),
        notes=entries_of(trial, comparison.notes),
    )
