"""The sheet Solution: volumes, and what was measured in them, by tray, day and event."""

from collections.abc import Mapping
from datetime import datetime
from typing import Final

import numpy as np
import pandas as pd

from reportgen.importing.model import long
from reportgen.importing.model.layouts import Counts
from reportgen.importing.model.settings import Settings
from reportgen.importing.sheets import amounts, further, occasions
from reportgen.importing.sheets.laying import Draft, firsts, widened
from reportgen.importing.sheets.rows import COUNTS, GIVES, MOMENT, NUMERIC, TRAY
from reportgen.workbook.declaration import SOLUTION

VOLUME: Final = "Volume"
FILL: Final = "fill"
TOP_UP: Final = "top-up"
REMAINING: Final = "remaining"
SAMPLE: Final = "sample"
USED: Final = "used"  # of volumes that tell what was used up
SHARED: Final = "shared"  # the volume was divided among several trays


def solution(
    rows: pd.DataFrame, settings: Settings, trays: Mapping[str, str], columns: "further.Further"
) -> tuple[Draft | None, bool]:
    """Return the sheet Solution, and whether volumes of several trays were divided among them.

    `trays` are the treatments by tray.
    """
    own = rows[(rows[GIVES] == SOLUTION.name) & rows[long.STATE].isin(NUMERIC)]
    if own.empty:
        return None, False
    own = _used(own, settings)
    own = _by_tray(own, trays)
    own = _begun(own.assign(**{long.EVENT: _events(own)}))
    day = pd.Series(_days(own, settings), own.index, dtype=object)
    keys = own[[long.TABLE, long.SHEET, long.ROW, TRAY, long.EVENT]].assign(
        day=day.astype(str),
        again=own.groupby([long.SHEET, long.ROW, TRAY, long.EVENT, long.QUANTITY]).cumcount(),
    )
    group = keys.groupby(list(keys.columns), sort=False).ngroup().to_numpy()
    groups = int(group.max()) + 1
    places = firsts(group, groups)
    first = own.iloc[places]
    draft = Draft(SOLUTION.name)
    draft.label("Tray", first[TRAY].tolist(), first, long.UNIT)
    draft.label("Date", day.iloc[places].tolist(), first, long.OCCASION)
    draft.label("Event", first[long.EVENT].tolist(), first)
    wide = widened(own, group, groups, amounts.amounts(own, SOLUTION.name))
    for name, header in amounts.headers(own, SOLUTION.name).items():
        draft.measured(header, wide, name)
    _no_volume(draft, first)
    further.add(draft, SOLUTION, first, columns)
    return draft, bool(own[SHARED].any())


def _used(own: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return rows with what was used on each occasion, where volumes are those of a counter."""
    counted = own[
        (own[long.QUANTITY] == VOLUME)
        & own[COUNTS].isin((Counts.COUNTER.value, Counts.DAILY.value))
    ]
    if counted.empty:
        return own
    value = own[long.VALUE].copy()
    keys = [long.TABLE, long.TREATMENT, long.UNIT, long.METER, long.EVENT]
    ordered = counted.sort_values(MOMENT, kind="stable")
    is_daily = ordered[COUNTS] == Counts.DAILY.value
    rising = ordered.groupby(keys)[long.VALUE].diff().fillna(0.0)
    begins = is_daily & (rising < 0)
    rising = rising.where(~begins, ordered[long.VALUE])
    value[rising.index] = rising.clip(lower=0.0)  # use across a reset counts as zero
    return own.assign(**{long.VALUE: value})


def _by_tray(own: pd.DataFrame, trays: Mapping[str, str]) -> pd.DataFrame:
    """Return rows of single trays: what is of a treatment or of all is divided among its trays."""
    is_of_one = own[TRAY].isin(trays) | ((own[TRAY] != "") & (own[long.TREATMENT] == ""))
    single = own[is_of_one].assign(**{SHARED: False})
    shared = own[~is_of_one]
    parts = [single]
    for at in range(len(shared)):
        parts.append(_divided(shared.iloc[[at]], trays))
    return pd.concat(parts, ignore_index=True)


def _divided(row: pd.DataFrame, trays: Mapping[str, str]) -> pd.DataFrame:
    treatment, unit = str(row[long.TREATMENT].iloc[0]), str(row[TRAY].iloc[0])
    own = [tray for tray, kind in trays.items() if treatment in ("", kind)]
    pots = [tray for tray in own if unit and tray.startswith(f"{unit}-")]
    own = pots or own
    if not own:
        return row.assign(**{SHARED: False})
    made = row.loc[row.index.repeat(len(own))].assign(**{TRAY: own, SHARED: len(own) > 1})
    if row[long.QUANTITY].iloc[0] == VOLUME:
        made[long.VALUE] = made[long.VALUE] / len(own)
    return made


def _events(own: pd.DataFrame) -> "pd.Series[str]":
    """Return the event of each row: of a reading without one that of the volume beside it, else a
    sample.
    """
    event = own[long.EVENT].astype(object).copy()
    is_volume = own[long.QUANTITY] == VOLUME
    called = own.loc[is_volume & (event != ""), TRAY].unique()
    unnamed = is_volume & (event == "")
    event[unnamed] = USED
    event[unnamed & own[TRAY].isin(called)] = TOP_UP
    place = pd.MultiIndex.from_frame(own[[long.SHEET, long.ROW, TRAY]])
    beside = dict(zip(place[is_volume][::-1], event[is_volume][::-1], strict=True))
    for at in np.flatnonzero((event == "").to_numpy()):
        event.iloc[at] = beside.get(place[at], SAMPLE)
    return event


def _begun(own: pd.DataFrame) -> pd.DataFrame:
    """Return rows in which the first volume of a tray is its fill, where none is called so."""
    volumes = own[own[long.QUANTITY] == VOLUME]
    filled = volumes.loc[volumes[long.EVENT] == FILL, TRAY].unique()
    added = volumes[(volumes[long.EVENT] == TOP_UP) & ~volumes[TRAY].isin(filled)]
    first = added.sort_values(MOMENT, kind="stable").drop_duplicates(TRAY)
    event = own[long.EVENT].copy()
    event[first.index] = FILL
    return own.assign(**{long.EVENT: event})


def _days(own: pd.DataFrame, settings: Settings) -> list[object]:
    start = occasions.field(settings, "Started on")
    made: list[object] = list(occasions.days(own, settings))
    for at, (moment, event) in enumerate(zip(own[MOMENT], own[long.EVENT], strict=True)):
        if pd.isna(moment) and event == FILL and isinstance(start, datetime):
            made[at] = start
    return made


def _no_volume(draft: Draft, first: pd.DataFrame) -> None:
    """Give readings without a volume one of nothing: a row of the sheet must have one."""
    is_sample = (first[long.EVENT] == SAMPLE).tolist()
    headers = [header for header in draft.columns if header.startswith(VOLUME)]
    if not headers:
        volumes = [0.0 if sample else None for sample in is_sample]
        draft.label("Volume (L)", volumes, first)
        return
    values = draft.columns[headers[0]].values
    for index, sample in enumerate(is_sample):
        if sample and values[index] is None:
            values[index] = 0.0
