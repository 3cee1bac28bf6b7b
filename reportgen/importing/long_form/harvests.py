"""What several occasions amount to: pickings add up, the last of running totals or samples holds."""

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import numpy as np
import pandas as pd

from reportgen.importing.long_form.amounts import BLANK, LOST, MISSING, VALUE, ZERO
from reportgen.importing.model import long
from reportgen.importing.model.layouts import Occasions
from reportgen.importing.model.settings import Settings

NUMBER: Final = re.compile(r"\d+(?:\.\d+)?")
DATE: Final = re.compile(r"\d{4}-\d\d-\d\d.*")
IN_HAND: Final = (VALUE, ZERO, LOST)  # states that say something of a plant
WEIGHT_IN_SUM: Final = {
    BLANK: 0.0,
    LOST: 1.0,
    ZERO: 2.0,
    VALUE: 3.0,
    MISSING: 4.0,
}  # the heaviest is that of a sum
PLANT_KEYS: Final = [long.LAYOUT, long.VALUES, long.TREATMENT, long.BLOCK, long.UNIT, long.PLANT]
DAY_KEYS: Final = [long.LAYOUT, long.VALUES, long.TREATMENT]


def harvest(frame: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return the frame with occasions reduced to what was harvested: at most one row a plant or
    unit and quantity.

    Pickings are added up, of running totals and plants weighed again the last one holds, of
    destructive samples the last day. What was measured as plants grew stays as it is. Pickings in
    several units of measure are added up in each.
    """
    parts = []
    for index, rows in frame.groupby(long.LAYOUT, sort=False):
        occasions = settings.layouts[int(str(index))].occasions
        parts.append(_reduced(rows, occasions))
    if parts:
        return pd.concat(parts, ignore_index=True)
    return frame


def occasion_ranks(occasions: "pd.Series[str]") -> "pd.Series[float]":
    """Return the order of occasions: by date, else by the number in labels alike otherwise, else as
    they appear.
    """
    codes, labels = pd.factorize(occasions)
    rank_of = {label: float(rank) for rank, label in enumerate(_in_order(tuple(labels.tolist())))}
    ranks = np.array([rank_of[label] for label in labels])
    return pd.Series(ranks[codes] if len(codes) else ranks, index=occasions.index)


def occasions_in_order(occasions: "pd.Series[str]") -> tuple[str, ...]:
    """Return the different occasions in the order that `occasion_ranks` gives them."""
    return _in_order(tuple(pd.unique(occasions).tolist()))


@lru_cache(maxsize=16)
def _in_order(labels: tuple[str, ...]) -> tuple[str, ...]:
    """Return labels in their order; those of a long log are the same for all its quantities."""
    if all(map(DATE.fullmatch, labels)):
        return tuple(sorted(labels))
    if _differ_in_numbers(labels):
        return tuple(sorted(labels, key=_first_number))
    return labels


def _differ_in_numbers(labels: Sequence[str]) -> bool:
    rests = {NUMBER.sub("", label, count=1) for label in labels}
    return len(rests) == 1 and all(NUMBER.search(label) for label in labels)


def _first_number(label: str) -> float:
    match = NUMBER.search(label)
    if match:
        return float(match[0])
    return 0.0


def _reduced(rows: pd.DataFrame, occasions: Occasions) -> pd.DataFrame:
    if occasions is Occasions.PICKINGS:
        return _added_up(rows)
    if occasions in (Occasions.RUNNING, Occasions.LAST):
        return _last_of(rows, PLANT_KEYS)
    if occasions is Occasions.SAMPLES:
        return _last_day(rows)
    return rows


def _added_up(rows: pd.DataFrame) -> pd.DataFrame:
    """Return one row a plant or unit with the sum of its pickings; a sum of which one was not
    measured is missing.

    What a lost plant gave before counts.
    """
    keys = [*PLANT_KEYS, long.UNIT_OF_MEASURE]
    ordered = rows.assign(weight=rows[long.STATE].map(WEIGHT_IN_SUM).astype(float))
    groups = ordered.groupby(keys, sort=False, dropna=False)
    first = groups.head(1).set_index(keys)
    weight = groups["weight"].max()
    first[long.STATE] = weight.map({number: state for state, number in WEIGHT_IN_SUM.items()})
    first[long.VALUE] = groups[long.VALUE].sum(min_count=1).where(first[long.STATE] != MISSING)
    return first.reset_index()[list(rows.columns)]


def _last_of(rows: pd.DataFrame, keys: list[str]) -> pd.DataFrame:
    """Return the last row of each group that says something, the last one where none does."""
    says = rows[long.STATE].isin(IN_HAND)
    order = pd.DataFrame(
        {"says": says, "rank": occasion_ranks(rows[long.OCCASION])}, index=rows.index
    )
    order = order.sort_values(["says", "rank"], kind="stable")
    last = rows.loc[order.index].groupby(keys, sort=False, dropna=False).tail(1)
    return last.sort_index()


def _last_day(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the rows of the last day on which plants of a treatment were sampled."""
    rank = occasion_ranks(rows[long.OCCASION]).where(rows[long.STATE].isin(IN_HAND), np.nan)
    keyed = rows.assign(rank=rank)
    last = keyed.groupby(DAY_KEYS, sort=False)["rank"].transform("max")
    return rows[keyed["rank"] == last]
