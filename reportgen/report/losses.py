"""How many plants were started, kept and lost, in a sentence."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from reportgen.language import marked, plural, say
from reportgen.metrics.pickings import is_weighed
from reportgen.metrics.totals import harvested_in, is_harvested, weighs_fresh
from reportgen.model.trial import Trial
from reportgen.report import interim, numbers

LOST_COUNT_NOTHING: Final = marked(
    "Of {started} plants planted, {kept} were harvested; {lost}. Weight per plant counts harvested"
    " plants only; per plant planted, dead plants count as zero."
)
PICKED_UNTIL_LOST: Final = marked(
    "Of {started} plants planted, {kept} stood to the last picking; {lost}. What a lost plant gave"
    " before counts in the yields."
)


@dataclass(frozen=True)
class KeptWords:
    """How a report speaks of the plants that were not lost."""

    all_kept: str
    some_lost: str
    started_not_known: str


HARVESTED: Final = KeptWords(
    marked("All {number} plants were harvested."),
    marked("Of {started} plants planted, {kept} were harvested; {lost}."),
    marked("{kept} plants were harvested; how many were planted is not known."),
)
STANDING: Final = KeptWords(  # where plants were measured or counted alive, and nothing was weighed
    marked("All {number} plants stood to the end."),
    marked("Of {started} plants planted, {kept} stood to the end; {lost}."),
    marked("{kept} plants stood to the end; how many were planted is not known."),
)


def lost_plants(trial: Trial) -> str:
    """Return how many plants were started and kept, and what became of the others."""
    if is_harvested(trial):
        words = HARVESTED
    else:
        words = STANDING
    started = sum(tray.plants_started for tray in trial.trays)
    kept = sum(harvested_in(plant) for plant in trial.plants)
    if not all(tray.started_known for tray in trial.trays):
        return say(words.started_not_known, kept=kept)
    if kept == started:
        return say(words.all_kept, number=started)
    lost = numbers.listed(tuple(_fates(trial, started - kept)))
    if trial.interim:
        return interim.harvested(trial, kept, lost)
    message = words.some_lost
    if is_weighed(trial):
        message = PICKED_UNTIL_LOST
    elif weighs_fresh(trial):
        message = LOST_COUNT_NOTHING
    return say(message, started=started, kept=kept, lost=lost)


def _fates(trial: Trial, lost: int) -> Iterator[str]:
    """Yield how many of the lost plants died, were removed or are missing in the records."""
    statuses = Counter(plant.status for plant in trial.plants)
    dead = statuses["dead"]
    removed = statuses["removed"]
    missing = lost - dead - removed
    if dead:
        yield plural("{number} died", "{number} died", dead)
    if removed:
        yield plural("{number} was removed", "{number} were removed", removed)
    if missing and not trial.interim:
        yield plural("{number} is not accounted for", "{number} are not accounted for", missing)
