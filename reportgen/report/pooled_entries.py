"""The pooled comparisons as a file for programs."""

import json
from dataclasses import asdict

from reportgen import language
from reportgen.metrics.pooled import (
    LeftOut,
    PooledComparison,
    PooledMeasure,
    RatioOfTrial,
)
from reportgen.report import message_data, messages
from reportgen.report.pooled_sentences import METHOD_NAME
from reportgen.stats.pooling import PooledRatio


def results_json(comparisons: tuple[PooledComparison, ...]) -> str:
    """Return every number of the pooled comparisons as JSON text, null where there is none.

    Empty without any.

    It is in English whatever the language of the reports.
    """
    if not comparisons:
        return ""
    with language.using(language.ENGLISH):
        entries = [_entry(comparison) for comparison in comparisons]
    found = {"format": "pooled-trials/1", "comparisons": entries}
    return json.dumps(found, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _entry(comparison: PooledComparison) -> dict[str, object]:
    return {
        "comparison": comparison.name,
        "crop": comparison.crop,
        "treated": comparison.treated,
        "reference": comparison.reference,
        "confidence_level": comparison.level,
        "measures": list(map(_measure_entry, comparison.measures)),
        "left_out": list(map(_left_out_entry, comparison.left_out)),
    }


def _measure_entry(measure: PooledMeasure) -> dict[str, object]:
    return {
        "metric": measure.measure.key,
        "pooled": _pooled_entry(measure.pooled),
        "trials": list(map(_trial_entry, measure.trials)),
    }


def _pooled_entry(pooled: PooledRatio) -> dict[str, object]:
    figures = {
        key: value for key, value in asdict(pooled).items() if key not in ("weights", "notes")
    }
    said = messages.of_several_trials
    return figures | {
        "method": METHOD_NAME if pooled.ratio is not None else "",
        "note": "; ".join(map(said, pooled.notes)),
        "notes": [message_data.entry(note, said(note)) for note in pooled.notes],
    }


def _trial_entry(ratio: RatioOfTrial) -> dict[str, object]:
    figures = {
        key: value for key, value in asdict(ratio).items() if key not in ("trial", "reasons")
    }
    said = messages.Speaker({}, ratio.trial.unit).text
    reasons = [message_data.entry(reason, said(reason)) for reason in ratio.reasons]
    note = "; ".join(map(said, ratio.reasons))
    return (
        {"slug": ratio.trial.slug, "turned": ratio.trial.inverted}
        | figures
        | {"note": note, "reasons": reasons}
    )


def _left_out_entry(trial: LeftOut) -> dict[str, object]:
    said = messages.of_several_trials(trial.reason)
    return {"slug": trial.slug, "title": trial.title, "reason": said, "code": trial.reason.code}
