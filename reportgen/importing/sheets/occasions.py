"""What counts of values on several occasions, and the day of each."""

import re
from datetime import datetime, timedelta
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.long_form import harvest, occasion_ranks
from reportgen.importing.model import long
from reportgen.importing.model.layouts import Occasions
from reportgen.importing.model.settings import Settings
from reportgen.importing.sheets.rows import AT, LAYOUT, MOMENT, NUMERIC

LAST_HOLDS: Final = (Occasions.RUNNING, Occasions.LAST, Occasions.SAMPLES)
NUMBERED: Final = re.compile(
    r"(?i)\b(day|dat|dag|tag|jour|dia|día|giorno|week|wk|woche|semaine|semana|settimana)\W*(\d+)"
)
ISO_DAY: Final = re.compile(r"\d{4}-\d\d-\d\d")
WEEKS: Final = ("week", "wk", "woche", "semaine", "semana", "settimana")


def added_up(rows: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return rows with pickings added up, for quantities that the sheet of pickings has no column for."""
    kinds = rows[LAYOUT].map({number: layout.occasions for number, layout in enumerate(settings.layouts)})
    is_picked = kinds == Occasions.PICKINGS
    if not is_picked.any():
        return rows
    return pd.concat([rows[~is_picked], harvest(rows[is_picked], settings)]).sort_values(AT, ignore_index=True)


def dated(rows: pd.DataFrame) -> pd.DataFrame:
    """Return what was measured as plants grew: of a table that tells no days only the last occasion."""
    kept = []
    for _, own in rows.groupby(LAYOUT, sort=False):
        is_dated = own[MOMENT].notna().all() or own[long.OCCASION].map(_is_numbered).all()
        kept.append(own if is_dated else _last_time(own))
    return pd.concat(kept) if kept else rows


def _last_time(own: pd.DataFrame) -> pd.DataFrame:
    rank = occasion_ranks(own[long.OCCASION]).where(own[long.STATE].isin(NUMERIC))
    return own[rank == rank.max()]


def _is_numbered(label: str) -> bool:
    return NUMBERED.search(label) is not None


def reduced(rows: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return rows without those of earlier occasions where only the last one is the harvest."""
    kinds = rows[LAYOUT].map({number: layout.occasions for number, layout in enumerate(settings.layouts)})
    is_last = kinds.isin(LAST_HOLDS)
    if not is_last.any():
        return rows
    return pd.concat([rows[~is_last], harvest(rows[is_last], settings)]).sort_values(AT, ignore_index=True)


def days(rows: pd.DataFrame, settings: Settings, otherwise: str = "Harvested on") -> NDArray[np.object_]:
    """Return the moment of each row: of its label, else what the label says of the start, else a field of the trial."""
    made = np.empty(len(rows), object)
    other = field(settings, otherwise)
    start = field(settings, "Started on")
    undated = rows.loc[rows[MOMENT].isna(), long.OCCASION].unique()
    counted = {label: _numbered(label, start) for label in undated}
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


def tells_a_day(label: str) -> bool:
    """Tell whether the label of an occasion is a day, or counts days or weeks from the start."""
    return ISO_DAY.match(label) is not None or _is_numbered(label)
