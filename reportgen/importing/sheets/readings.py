"""The sheets Climate and Light: readings by treatment."""

import pandas as pd

from reportgen.importing.model import long
from reportgen.importing.model.settings import Settings
from reportgen.importing.sheets import amounts, further, occasions
from reportgen.importing.sheets.laying import Draft, firsts, widened
from reportgen.importing.sheets.rows import GIVES, MOMENT, NUMERIC, TRAY
from reportgen.workbook.declaration import ALL, CLIMATE, LIGHT, Sheet


def climate(rows: pd.DataFrame, settings: Settings, columns: "further.Further") -> Draft | None:
    """Return the sheet Climate: a row for each reading of the air of a treatment, or of all."""
    own = rows[(rows[GIVES] == CLIMATE.name) & rows[long.STATE].isin(NUMERIC)]
    draft, first = _by_row(own, CLIMATE)
    if draft is None:
        return None
    placed = Draft(CLIMATE.name)
    placed.label("Treatment", first[long.TREATMENT].replace("", ALL), first, long.TREATMENT)
    placed.label("Read at", list(occasions.days(first, settings, "")), first, long.OCCASION)
    placed.columns.update(draft.columns)
    further.add(placed, CLIMATE, first, columns)
    return placed


def light(rows: pd.DataFrame, settings: Settings, columns: "further.Further") -> Draft | None:
    """Return the sheet Light: a row for each point of a map."""
    own = rows[(rows[GIVES] == LIGHT.name) & rows[long.VALUE].notna()]
    draft, first = _by_row(own, LIGHT)
    if draft is None:
        return None
    placed = Draft(LIGHT.name)
    placed.label("Treatment", [one or None for one in first[long.TREATMENT]], first, long.TREATMENT)
    if first[MOMENT].notna().any():
        placed.label("Date", list(occasions.days(first, settings, "")), first, long.OCCASION)
    if (first[long.UNIT] != "").any():
        placed.label("Tray", [one or None for one in first[TRAY]], first, long.UNIT)
    placed.columns.update(draft.columns)
    further.add(placed, LIGHT, first, columns)
    return placed


def _by_row(own: pd.DataFrame, sheet: Sheet) -> tuple[Draft | None, pd.DataFrame]:
    """Return the measured columns of readings, one row for each owner's row and treatment."""
    if own.empty:
        return None, own
    keys = [long.TABLE, long.SHEET, long.ROW, long.TREATMENT, long.UNIT]
    place = own.groupby(keys, sort=False).ngroup()
    again = own.groupby([place, long.QUANTITY], sort=False).cumcount()
    if again.any():
        place = own.groupby([place, again], sort=False).ngroup()
    group = place.to_numpy()
    groups = int(group.max()) + 1
    draft = Draft(sheet.name)
    wide = widened(own, group, groups, amounts.amounts(own, sheet.name))
    for name, header in amounts.headers(own, sheet.name).items():
        draft.measured(header, wide, name)
    return draft, own.iloc[firsts(group, groups)]
