"""Whether a trial's blocks can be told from its treatments."""

from collections import defaultdict

from reportgen.metrics.totals import planted
from reportgen.model.trial import Trial


def is_blocked(trial: Trial) -> bool:
    """Return whether blocks can be told from treatments.

    Each tray has one, and one holds two treatments.
    """
    held: dict[str, set[str]] = defaultdict(set)
    for tray in planted(trial):
        held[tray.block].add(tray.treatment)
    return (
        "" not in held
        and len(held) > 1
        and any(len(treatments) > 1 for treatments in held.values())
    )
