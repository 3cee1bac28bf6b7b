"""What was read of a log, for its owner to see whether it is his trial."""

from collections import Counter
from collections.abc import Sequence

import pandas as pd

from reportgen.importing.model import long
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.questions import Fate, Figures, Ledger, Summary
from reportgen.model.data import ReadBack, ReadFigures

USED = (Fate.READ, Fate.LABEL, Fate.HEADER, Fate.UNIT, Fate.KEY)


def read_back(
    figures: Summary, frame: pd.DataFrame, accounts: Ledger, sheets: Sequence[Sheet]
) -> ReadBack:
    """Return what was read: the figures by quantity and treatment, and the sums of the ledger."""
    shown = []
    places = _places(frame, sheets)
    for key, by_treatment in figures.items():
        for treatment, each in by_treatment.items():
            shown.append(_figures(key, treatment, each, places))
    left_out: Counter[str] = Counter()
    for entry in accounts.entries:
        if entry.fate is Fate.LEFT_OUT:
            left_out[entry.because] += len(entry.cells)
    return ReadBack(
        tuple(shown),
        numbers=sum(len(entry.cells) for entry in accounts.entries),
        read=sum(accounts.count(fate) for fate in USED),
        agreeing=accounts.count(Fate.AGREES),
        disagreeing=accounts.count(Fate.DISAGREES),
        unexplained=accounts.count(Fate.UNEXPLAINED),
        left_out=tuple(left_out.items()),
    )


def _places(frame: pd.DataFrame, sheets: Sequence[Sheet]) -> dict[str, str]:
    """Return the sheet that volumes and meter readings came from, by key of the measure."""
    places = {}
    for key, quantity in (("water", "Volume"), ("energy", "Reading")):
        own = frame.loc[frame[long.QUANTITY] == quantity, long.SHEET].unique()
        places[key] = ", ".join(sheets[int(index)].label for index in own)
    return places


def _figures(key: str, treatment: str, each: Figures, places: dict[str, str]) -> ReadFigures:
    return ReadFigures(
        key,
        treatment,
        each.unit_names,
        each.n,
        each.lost,
        each.times,
        each.total,
        each.mean,
        each.smallest,
        each.largest,
        each.first,
        each.last,
        each.unit,
        places.get(key, ""),
    )
