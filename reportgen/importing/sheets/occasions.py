"""What counts of values on several occasions, and the day of each."""

import re
from datetime import datetime, timedelta
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.model import long
from reportgen.importing.model.layouts import Occasions
from reportgen.importing.model.settings import Settings
from reportgen.importing.sheets.rows import LAYOUT, MOMENT, NUMERIC

LAST_HOLDS: Final = (Occasions.RUNNING, Occasions.LAST)
DAY: Final = "day"  # datetime of an occasion, None where not known
NUMBERED: Final = re.compile(r"(?i)\b(day|dat|dag|tag|jour|dia|día|giorno|week|wk|woche|semaine|semana|settimana)\W*(\d+)")
WEEKS: Final = ("week", "wk", "woche", "semaine", "semana", "settimana")


def reduced(rows: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return rows without those of earlier occasions where only the last one is the harvest."""
    kept = []
    for number, own in rows.groupby(LAYOUT, sort=False):
        occasions = settings.layouts[int(str(number))].occasions
        if occasions in LAST_HOLDS:
            own = _last_of_each(own)
        elif occasions is Occasions.SAMPLES:
            own = _last_day(own)
        kept.append(own)
    return pd.concat(kept).sort_index() if kept else rows


def _last_of_each(own: pd.DataFrame) -> pd.DataFrame:
    keys = [long.QUANTITY, long.TREATMENT, long.UNIT, long.PLANT, long.GRADE]
    known = own[own[long.STATE].isin((*NUMERIC, "lost"))]
    ordered = known.assign(order=_order(known)).sort_values("order", kind="stable")
    return ordered.drop_duplicates(keys, keep="last").drop(columns="order")


def _last_day(own: pd.DataFrame) -> pd.DataFrame:
    order = _order(own)
    return own[order == order.max()]


def _order(own: pd.DataFrame) -> NDArray[np.int64]:
    """Return the order in time of rows: of their moments, else of their labels as they appear."""
    if own[MOMENT].notna().all():
        return own[MOMENT].to_numpy().astype("datetime64[s]").astype(np.int64)
    codes, _ = pd.factorize(own[long.OCCASION])
    return codes.astype(np.int64)


def days(rows: pd.DataFrame, settings: Settings, otherwise: str = "Harvested on") -> NDArray[np.object_]:
    """Return the moment of each row: of its label, else what the label says of the start, else a field of the trial."""
    made = np.empty(len(rows), object)
    other = field(settings, otherwise)
    start = field(settings, "Started on")
    counted = {label: _numbered(label, start) for label in rows[long.OCCASION].unique()}
    moments = rows[MOMENT].to_numpy().astype("datetime64[us]").tolist()
    for at, (moment, label) in enumerate(zip(moments, rows[long.OCCASION], strict=True)):
        made[at] = moment or counted[label] or other
    return made


def _numbered(label: str, start: datetime | None) -> datetime | None:
    """Return the day that a label such as `week 3` counts from the start."""
    found = NUMBERED.search(label)
    if not found or start is None:
        return None
    days_each = 7 if found[1].casefold() in WEEKS else 1
    return start + timedelta(days=days_each * int(found[2]))


def field(settings: Settings, name: str) -> datetime | None:
    """Return a day of the trial, None where the settings do not tell it."""
    value = settings.trial.get(name)
    if isinstance(value, datetime):
        return value.replace(tzinfo=None)
    try:
        return datetime.fromisoformat(str(value)[:10])
    except ValueError:
        return None
