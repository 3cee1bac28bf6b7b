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
        treatments=tuple(_score_of_treatment(one) for one in score.treatments),
        trays=tuple(ScoreTrayEntry(tray, median) for tray, median in score.medians),
        comparisons=tuple(_score_comparison(trial, code, one) for code, one in score.comparisons),
    )


def _score_of_treatment(one: ClassCounts) -> ScoreTreatmentEntry:
    return ScoreTreatmentEntry(
        one.treatment, one.trays, one.plants, one.counts, one.shares, one.median
    )


def _score_comparison(trial: Trial, code: str, one: RankComparison) -> ScoreComparisonEntry:
    return ScoreComparisonEntry(
        treatment=code,
        reference=trial.reference,
        probability_higher=one.probability_higher,
        low=one.low,
        high=one.high,
        p_value=one.p_value,
        p_adjusted=one.p_adjusted,
        smallest_p_value=one.smallest_p_value,
        methods=codes_of(one.methods),
        notes=entries_of(trial, one.notes),
    )
