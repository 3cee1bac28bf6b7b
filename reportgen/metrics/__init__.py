"""Growing: what a trial's tray totals amount to."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reportgen.model.results import Results
    from reportgen.model.trial import Trial

__all__ = ["compute"]


def compute(trial: "Trial") -> "Results":
    """Return everything that a report says in numbers, in full precision.

    A metric for which no tray and no treatment has data is left out.
    """
    from reportgen.metrics import computing  # statistics load slowly; what is kept needs none

    return computing.compute(trial)
