"""Where each quantity came from: file, sheet, columns and rows, and which rows were left out and
why.
"""

from collections.abc import Iterator, Sequence
from typing import Final

import pandas as pd
from openpyxl.utils import get_column_letter

from reportgen.importing.model import long
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import Layout
from reportgen.importing.model.settings import Settings
from reportgen.importing.sheets.rows import GIVES, LAYOUT, NUMERIC
from reportgen.model.data import Traced

REASONS: Final = {"missing": "no value", "blank": "no value", "lost": "plants that were lost"}


OUTSIDE: Final = "from before the trial or after it"


def traced(
    rows: pd.DataFrame, settings: Settings, sheets: Sequence[Sheet], outside: pd.Index
) -> tuple[Traced, ...]:
    """Return the way of each quantity of each layout and sheet, in their order; `file` is "" for
    the log itself.

    outside: the index of rows that are from before the trial or after it.
    """
    made = []
    rows = rows.assign(
        **{long.STATE: rows[long.STATE].astype(object).where(~rows.index.isin(outside), OUTSIDE)}
    )
    is_turned = rows[long.SHEET].isin(
        [index for index, sheet in enumerate(sheets) if sheet.is_turned]
    )
    across, down = rows[long.COLUMN], rows[long.ROW]
    rows = rows.assign(
        **{long.ROW: down.where(~is_turned, across), long.COLUMN: across.where(~is_turned, down)}
    )
    for (number, sheet, quantity), own in rows.groupby(
        [LAYOUT, long.SHEET, long.QUANTITY], sort=False
    ):
        layout = settings.layouts[int(number)]
        made.append(_one(own, layout, sheets[int(sheet)], str(quantity)))
    return tuple(made)


def _one(own: pd.DataFrame, layout: Layout, sheet: Sheet, quantity: str) -> Traced:
    is_read = own[long.STATE].isin(NUMERIC)
    read = sorted(set(own.loc[is_read, long.ROW].tolist()))
    letters = sorted(set(own[long.COLUMN].tolist()))
    units = [unit for unit in own[long.UNIT_OF_MEASURE].unique() if unit]
    return Traced(
        quantity,
        str(own[GIVES].iloc[0]),
        sheet.file,
        sheet.name,
        _columns(letters, layout, quantity),
        ", ".join(units),
        tuple(read),
        tuple(_left_out(own, set(read))),
        tuple(_corrected(layout, sheet, letters)),
        tuple(_confirmed(layout, sheet, letters)),
    )


def _columns(letters: Sequence[int], layout: Layout, quantity: str) -> str:
    """Return columns such as `C: wet weight`, `C to K` where there are several."""
    names = [get_column_letter(letter) for letter in letters]
    if len(names) > 1:
        return f"{names[0]} to {names[-1]}"
    headers = [
        values.columns[0]
        for values in layout.values
        if values.quantity == quantity and values.columns
    ]
    if headers:
        return f"{names[0]}: {headers[0]}"
    return names[0]


def _left_out(own: pd.DataFrame, read: set[int]) -> Iterator[tuple[str, tuple[int, ...]]]:
    if own[long.STATE].isin(NUMERIC).all():
        return
    for reason in dict.fromkeys((*REASONS.values(), OUTSIDE)):
        states = [state for state, why in REASONS.items() if why == reason] or [reason]
        numbers = set(own.loc[own[long.STATE].isin(states), long.ROW].tolist()) - read
        if numbers:
            yield reason, tuple(sorted(numbers))


def _corrected(
    layout: Layout, sheet: Sheet, letters: Sequence[int]
) -> Iterator[tuple[str, str, str]]:
    for one in layout.corrected:
        cell = _of_sheet(one.cell, sheet)
        if cell and _letters(cell) in {get_column_letter(letter) for letter in letters}:
            yield cell, one.value, one.held or "-"


def _confirmed(layout: Layout, sheet: Sheet, letters: Sequence[int]) -> Iterator[str]:
    for one in layout.confirmed:
        cell = _of_sheet(one, sheet)
        if cell and _letters(cell) in {get_column_letter(letter) for letter in letters}:
            yield cell


def _of_sheet(cell: str, sheet: Sheet) -> str:
    """Return a cell of the sheet without the sheet's name, "" where it is one of another sheet."""
    place, _, bare = cell.rpartition("!")
    if place.strip("'") in ("", sheet.label, sheet.name):
        return bare.upper()
    return ""


def _letters(cell: str) -> str:
    return cell.rstrip("0123456789")
