"""What was recorded: the reporting checklist for trials in controlled environments, item by item.

Merged from the minimum guidelines of Krizek (USDA-ARS publication 123064), Poorter et al. 2012
(Funct. Plant Biol. 39:821-838, table 2), Tibbitts, Sager & Krizek 2000 (Biotronics 29:9-16), Both
et al. 2015 (Plant Methods 11:43) and, for the design, ARRIVE 2.0 items 1-4.
"""

from reportgen.metrics.reporting.items import ITEMS, NEEDS
from reportgen.model.results import ReportedItem
from reportgen.model.trial import Trial

__all__ = ["reporting"]


def reporting(trial: Trial) -> tuple[ReportedItem, ...]:
    """Return the checklist's items that apply to the trial, with what is known of each.

    An item that is known of some treatments, trays or kinds of measurement only is missing for the
    others.
    """
    asked = {}
    for key, item in ITEMS.items():
        if key not in NEEDS or NEEDS[key](trial):
            asked[key] = item
    known = {key: item(trial) for key, item in asked.items()}
    reported: list[ReportedItem] = []
    for key, values in known.items():
        reported.append(ReportedItem(key, values.values, values.missing))
    return tuple(reported)
