"""The sheets of plants: Plants, Harvests and Growth."""

from collections.abc import Iterable
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.model import long
from reportgen.importing.model.layouts import Covers, Occasions
from reportgen.importing.model.settings import Settings
from reportgen.importing.sheets import amounts, further, occasions
from reportgen.importing.sheets.laying import Draft, firsts, objects, widened
from reportgen.importing.sheets.rows import GIVES, LAYOUT, NUMBER, NUMERIC, TRAY
from reportgen.importing.sheets.units import WHOLE
from reportgen.workbook.declaration import GROWTH, HARVESTS, PLANTS

FRESH: Final = "Fresh weight"
WEIGHT: Final = "Weight"
DRY: Final = "Dry weight"
COUNT: Final = "Plants weighed"
DEAD: Final = "dead"
NOTHING_SAID: Final = ("missing", "blank")  # states
AGAIN: Final = "again"  # how often the same plant and quantity stood before


def parted(
    rows: pd.DataFrame, settings: Settings
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return the rows of Plants, of Harvests and of Growth."""
    growth = occasions.dated(rows[rows[GIVES] == GROWTH.name], settings)
    of_plants = occasions.reduced(rows[rows[GIVES].isin((PLANTS.name, HARVESTS.name))], settings)
    is_picked = _are_pickings(of_plants, settings)
    single = occasions.added_up(of_plants[~is_picked], settings)
    return _weighed(single), _complete(of_plants[is_picked]), growth


def of_whole_trays(rows: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which rows are further measures of whole trays whose yield is weighed: they are of no
    plant.
    """
    is_weight = rows[long.QUANTITY].isin((FRESH, WEIGHT, DRY))
    is_fresh = rows[long.QUANTITY].isin((FRESH, WEIGHT)) & rows[GIVES].isin(
        (PLANTS.name, HARVESTS.name)
    )
    weighed = set(rows.loc[is_fresh, NUMBER])
    names_weighed = rows[NUMBER].isin(weighed).groupby(rows[long.QUANTITY]).transform("any")
    is_of_plant = rows[long.COVERS] == Covers.PLANT.value
    is_whole = ~names_weighed.where(is_of_plant, rows[long.COUNT].notna())
    is_of_crop = rows[GIVES].isin((PLANTS.name, HARVESTS.name))
    return is_of_crop & is_whole & ~is_weight & rows[TRAY].isin(rows.loc[is_fresh, TRAY])


def _are_pickings(rows: pd.DataFrame, settings: Settings) -> "pd.Series[bool]":
    """Tell which rows are pickings, or fresh weights of trays whose number of plants nobody told."""
    picked = [at for at, one in enumerate(settings.layouts) if one.occasions is Occasions.PICKINGS]
    is_fresh = rows[long.QUANTITY].isin((FRESH, WEIGHT))
    covers_more = rows[long.COVERS].isin((Covers.UNIT.value, *WHOLE))
    is_whole = covers_more & rows[long.COUNT].isna()
    is_picked = rows[LAYOUT].isin(picked) | (rows[GIVES] == HARVESTS.name)
    return is_fresh & (is_picked | is_whole)


def _complete(rows: pd.DataFrame) -> pd.DataFrame:
    """Return pickings without those of trays where one of them was not measured: their sum is not
    known.
    """
    unknown = rows.loc[rows[long.STATE] == "missing", TRAY].unique()
    known = rows[~rows[TRAY].isin(unknown)]
    return known[known[long.STATE].isin(NUMERIC)]


# --- Plants


def plants(rows: pd.DataFrame, settings: Settings, columns: "further.Further") -> Draft | None:
    """Return the sheet Plants: a row for each plant, or for plants weighed together."""
    if rows.empty:
        return None
    rows = rows.assign(**{NUMBER: _named(rows)})
    again = rows.groupby([TRAY, NUMBER, long.QUANTITY]).cumcount()
    keys = rows[[TRAY, NUMBER]].assign(**{AGAIN: again})
    group = keys.groupby([TRAY, NUMBER, AGAIN], sort=False).ngroup().to_numpy()
    groups = int(group.max()) + 1
    first = rows.iloc[firsts(group, groups)]
    draft = Draft(PLANTS.name)
    draft.label("Tray", first[TRAY].tolist(), first, long.UNIT)
    draft.label("Plant", first[NUMBER].tolist(), first, long.PLANT)
    heads = amounts.headers(rows, PLANTS.name)
    wide = widened(rows, group, groups, amounts.amounts(rows, PLANTS.name))
    for name, header in heads.items():
        draft.measured(header, wide, name)
    _count(draft, rows, first, group, groups)
    further.add(draft, PLANTS, first, columns)
    _status(draft, rows, first, group, groups)
    return draft


def _weighed(rows: pd.DataFrame) -> pd.DataFrame:
    """Return rows that say something, without the plants whose fresh weight was not measured."""
    says = rows[~rows[long.STATE].isin(NOTHING_SAID)]
    unknown = rows[(rows[long.QUANTITY] == FRESH) & rows[long.STATE].isin(NOTHING_SAID)]
    known = says[says[long.QUANTITY] == FRESH]
    gone = _plants(unknown).difference(_plants(known))
    return says[~_plants(says).isin(gone)]


def _plants(rows: pd.DataFrame) -> pd.MultiIndex:
    return pd.MultiIndex.from_frame(rows[[TRAY, NUMBER]])


def _named(rows: pd.DataFrame) -> "pd.Series[str]":
    """Return the numbers of plants: values of a whole tray stand beside its first plants, one
    beside each.
    """
    number = rows[NUMBER].copy()
    whole = rows[number == ""]
    named = rows.loc[number != "", [TRAY, NUMBER]].drop_duplicates()
    places = named.groupby(TRAY).cumcount() + 1
    name_at = dict(zip(zip(named[TRAY], places, strict=True), named[NUMBER], strict=True))
    counted = whole.groupby([TRAY, long.QUANTITY]).cumcount() + 1
    pairs = zip(whole[TRAY], counted, strict=True)
    number[whole.index] = [name_at.get((tray, place), str(place)) for tray, place in pairs]
    return number


def _count(
    draft: Draft, rows: pd.DataFrame, first: pd.DataFrame, group: NDArray[np.intp], groups: int
) -> None:
    """Add how many plants were weighed together, where a column tells it."""
    values = rows[long.COUNT].to_numpy(dtype=float)
    if not (np.nan_to_num(values, nan=1.0) != 1.0).any():
        return
    numbers = np.full(groups, None, object)
    for at in np.flatnonzero(~np.isnan(values))[::-1]:
        numbers[group[at]] = float(values[at])
    draft.label(COUNT, numbers.tolist(), first)


def _status(
    draft: Draft, rows: pd.DataFrame, first: pd.DataFrame, group: NDArray[np.intp], groups: int
) -> None:
    """Add what became of each plant, where one was lost."""
    is_lost = np.zeros(groups, bool)
    is_lost[group[(rows[long.STATE] == "lost").to_numpy()]] = True
    if not is_lost.any():
        return
    said = draft.columns.get("Status")
    if said:
        status = said.values.tolist()
    else:
        status = [None] * groups
    made = [one or (DEAD if lost else None) for one, lost in zip(status, is_lost, strict=True)]
    if said:
        draft.columns["Status"] = type(said)(objects(made), said.sheet, said.row, said.column)
    else:
        draft.label("Status", made, first)


# --- Harvests


def harvests(rows: pd.DataFrame, settings: Settings, columns: "further.Further") -> Draft | None:
    """Return the sheet Harvests: a row for each picking."""
    if rows.empty:
        return None
    quantities = rows[long.QUANTITY].astype(object)
    quantities = quantities.where(rows[long.QUANTITY] != FRESH, WEIGHT)
    rows = rows.assign(**{long.QUANTITY: quantities})
    group = np.arange(len(rows))
    draft = Draft(HARVESTS.name)
    draft.label("Tray", rows[TRAY].tolist(), rows, long.UNIT)
    if (rows[NUMBER] != "").any():
        draft.label("Plant", _or_none(rows[NUMBER]), rows, long.PLANT)
    draft.label("Date", _dates(rows, settings), rows, long.OCCASION)
    wide = widened(rows, group, len(rows), amounts.amounts(rows, HARVESTS.name))
    for name, header in amounts.headers(rows, HARVESTS.name).items():
        draft.measured(header, wide, name)
    if (rows[long.GRADE] != "").any():
        draft.label("Grade", _or_none(rows[long.GRADE]), rows)
    further.add(draft, HARVESTS, rows, columns)
    return draft


def _or_none(texts: Iterable[str]) -> list[str | None]:
    """Return texts, None for blank ones."""
    return [text or None for text in texts]


def _dates(rows: pd.DataFrame, settings: Settings) -> list[object]:
    return list(occasions.days(rows, settings))


# --- Growth


def growth(rows: pd.DataFrame, settings: Settings, columns: "further.Further") -> Draft | None:
    """Return the sheet Growth: a row for each plant or tray and day."""
    if rows.empty:
        return None
    days = pd.Series(_dates(rows, settings), rows.index, dtype=object)
    keys = rows[[TRAY, NUMBER]].assign(day=days.astype(str))
    again = (
        keys.assign(quantity=rows[long.QUANTITY])
        .groupby([TRAY, NUMBER, "day", "quantity"])
        .cumcount()
    )
    group = (
        keys.assign(**{AGAIN: again})
        .groupby([TRAY, NUMBER, "day", AGAIN], sort=False)
        .ngroup()
        .to_numpy()
    )
    groups = int(group.max()) + 1
    places = firsts(group, groups)
    first = rows.iloc[places]
    draft = Draft(GROWTH.name)
    draft.label("Tray", first[TRAY].tolist(), first, long.UNIT)
    if (rows[NUMBER] != "").any():
        draft.label("Plant", [one or None for one in first[NUMBER]], first, long.PLANT)
    draft.label("Date", days.iloc[places].tolist(), first, long.OCCASION)
    wide = widened(rows, group, groups, amounts.amounts(rows, GROWTH.name))
    for name, header in amounts.headers(rows, GROWTH.name).items():
        draft.measured(header, wide, name)
    further.add(draft, GROWTH, first, columns)
    return draft
