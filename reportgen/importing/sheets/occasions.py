"""What counts of values on several occasions, and the day of each."""

import re
from collections.abc import Mapping, Sequence
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
    r"(?i)\b(day|dat|dag|tag|jour|dia|día|giorno|week|wk|kw|woche|semaine|semana|settimana)\W*(\d+)"
)
CALENDAR_WEEK: Final = "kw"
WEEK: Final = timedelta(days=7)
MOST_COUNTED: Final = 10_000  # days or weeks
WEEKS_OF_A_YEAR: Final = 52
ISO_DAY: Final = re.compile(r"\d{4}-\d\d-\d\d")
WEEKS: Final = ("week", "wk", "kw", "woche", "semaine", "semana", "settimana")


def added_up(rows: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return rows with pickings added up, for quantities that the sheet of pickings has no column
    for.
    """
    kinds = rows[LAYOUT].map(
        {number: layout.occasions for number, layout in enumerate(settings.layouts)}
    )
    is_picked = kinds == Occasions.PICKINGS
    if not is_picked.any():
        return rows
    return pd.concat([rows[~is_picked], harvest(rows[is_picked], settings)]).sort_values(
        AT, ignore_index=True
    )


def dated(rows: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return what was measured as plants grew: of a table that tells no days only the last
    occasion.
    """
    kept = []
    for _, own in rows.groupby(LAYOUT, sort=False):
        kept.append(
            own if tell_days(own[long.OCCASION].unique().tolist(), settings) else _last_time(own)
        )
    if kept:
        return pd.concat(kept)
    return rows


def _last_time(own: pd.DataFrame) -> pd.DataFrame:
    rank = occasion_ranks(own[long.OCCASION]).where(own[long.STATE].isin(NUMERIC))
    return own[rank == rank.max()]


def reduced(rows: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return rows without those of earlier occasions where only the last one is the harvest."""
    kinds = rows[LAYOUT].map(
        {number: layout.occasions for number, layout in enumerate(settings.layouts)}
    )
    is_last = kinds.isin(LAST_HOLDS)
    if not is_last.any():
        return rows
    return pd.concat([rows[~is_last], harvest(rows[is_last], settings)]).sort_values(
        AT, ignore_index=True
    )


def days(
    rows: pd.DataFrame, settings: Settings, otherwise: str = "Harvested on"
) -> NDArray[np.object_]:
    """Return the moment of each row: of its label, else what the label counts, else a field of the
    trial.
    """
    made: NDArray[np.object_] = rows[MOMENT].to_numpy().astype("datetime64[us]").astype(object)
    is_open = rows[MOMENT].isna().to_numpy()
    if not is_open.any():
        return made
    other = field(settings, otherwise)
    counted = counted_days(rows.loc[rows[MOMENT].isna(), long.OCCASION].unique().tolist(), settings)
    labels = rows[long.OCCASION].to_numpy()
    for at in np.flatnonzero(is_open).tolist():
        made[at] = counted.get(labels[at]) or other
    return made


def counted_days(labels: Sequence[str], settings: Settings) -> dict[str, datetime]:
    """Return the days of labels such as `day 21` or `week 3`.

    All of them must lie within the trial. Days and weeks count from the start, or weeks are those
    of the calendar (ISO 8601).
    """
    start, end = field(settings, "Started on"), field(settings, "Harvested on")
    matches = _numbered_labels(labels)
    if start is None or end is None or not labels or len(matches) < len(labels):
        return {}
    for day_of in (_from_start, _in_calendar):
        days = {label: day_of(*match, start) for label, match in matches.items()}
        within = _within(days, start, end)
        if len(within) == len(labels):
            return within
    return {}


def _within(
    days: Mapping[str, datetime | None], start: datetime, end: datetime
) -> dict[str, datetime]:
    """Return the days of a trial and of the week behind it; those count as its last day."""
    within = {}
    for label, day in days.items():
        if day and start <= day <= end + WEEK:
            within[label] = min(day, end)
    return within


def _numbered_labels(labels: Sequence[str]) -> dict[str, tuple[str, int]]:
    """Return the word and number of labels such as `day 21`, without other labels."""
    numbered = {}
    for label in labels:
        match = NUMBERED.search(label)
        if match:
            numbered[label] = (match[1].casefold(), int(match[2]))
    return numbered


def _from_start(word: str, number: int, start: datetime) -> datetime | None:
    if word == CALENDAR_WEEK or number > MOST_COUNTED:
        return None
    if word in WEEKS:
        days_each = 7
    else:
        days_each = 1
    return start + timedelta(days=days_each * number)


def _in_calendar(word: str, number: int, start: datetime) -> datetime | None:
    """Return the last day of a week of the calendar, in the year of the start or the next one."""
    if word not in WEEKS or not 1 <= number <= WEEKS_OF_A_YEAR:
        return None
    years = (start.year, start.year + 1)
    ends = [datetime.fromisocalendar(year, number, 7) for year in years]
    return next((day for day in ends if day >= start), None)


def field(settings: Settings, name: str) -> datetime | None:
    """Return a day of the trial, None where the settings do not tell it."""
    value = settings.trial.get(name)
    if isinstance(value, datetime):
        return value.replace(tzinfo=None)
    try:
        return datetime.fromisoformat(str(value)[:10])
    except ValueError:
        return None


def tell_days(labels: Sequence[str], settings: Settings) -> bool:
    """Tell whether all labels of occasions are days, or count days or weeks."""
    others = [label for label in labels if not ISO_DAY.match(label)]
    return not others or bool(counted_days(others, settings))
