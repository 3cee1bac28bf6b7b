"""What was recorded: the reporting checklist for trials in controlled environments, item by item.

Merged from the minimum guidelines of Krizek (USDA-ARS publication 123064), Poorter et al. 2012 (Funct. Plant Biol.
39:821-838, table 2), Tibbitts, Sager & Krizek 2000 (Biotronics 29:9-16), Both et al. 2015 (Plant Methods 11:43) and,
for the design, ARRIVE 2.0 items 1-4. Names of units of plant light after ANSI/ASABE S640.
"""

from reportgen.metrics.fairness.words import listed
from reportgen.metrics.reporting.items import ITEMS, Item
from reportgen.metrics.reporting.known import Known
from reportgen.model.results import ReportedItem
from reportgen.model.trial import Trial

__all__ = ["reporting"]

MOST_NAMED = 5  # of what is missing; ours


def reporting(trial: Trial) -> tuple[ReportedItem, ...]:
    """Return every item of the checklist: its value, or the sheet and column where it would go.

    An item that is known of some treatments, trays or kinds of measurement only is missing for the others.
    """
    return tuple(_reported(item, item.known(trial)) for item in ITEMS)


def _reported(item: Item, known: Known) -> ReportedItem:
    if known.text and not known.missing:
        return ReportedItem(item.key, item.label, True, value=known.text)
    more = len(known.missing) - MOST_NAMED
    named = [*known.missing[:MOST_NAMED], *([f"{more} more"] if more > 0 else [])]
    partly = f" (missing for {listed(named)})" if known.text else ""
    return ReportedItem(item.key, item.label, False, where=item.where + partly)
