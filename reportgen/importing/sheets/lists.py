"""The sheets that follow from all tables: Trays, Treatments and Trial."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time
from typing import Final

import numpy as np
import pandas as pd

from reportgen.importing.carriers import resolve
from reportgen.importing.model import long
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import Covers
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found
from reportgen.importing.sheets import further
from reportgen.importing.sheets.laying import Draft
from reportgen.importing.sheets.rows import AT, GIVES, INDEX, LAYOUT, NUMBER, TRAY, VALUE_COLUMN
from reportgen.importing.sheets.units import OF_PLANTS, PLANT_UNIT, independent
from reportgen.workbook.declaration import TRAYS, TREATMENTS, TRIAL
from reportgen.workbook.raw import RawSheet, Value

STARTED: Final = "Plants started"
REFERENCE: Final = "Reference treatment"
UNIT_FIELD: Final = "Experimental unit"


def trays(rows: pd.DataFrame, kept: pd.DataFrame, columns: "further.Further") -> Draft:
    """Return the sheet Trays: a row for each experimental unit of which plants are told.

    `kept` are the rows that the sheets of plants hold.
    """
    known = rows[rows[GIVES].isin(OF_PLANTS) & (rows[TRAY] != "")]
    ordered = known.assign(unnamed=known[long.TREATMENT] == "").sort_values(
        "unnamed", kind="stable"
    )
    first = ordered.drop_duplicates(TRAY).sort_values(AT, kind="stable")
    draft = Draft(TRAYS.name)
    draft.label("Tray", first[TRAY].tolist(), first, long.UNIT)
    draft.label("Treatment", [one or None for one in first[long.TREATMENT]], first, long.TREATMENT)
    blocks = _blocks(known)
    if len(blocks):
        draft.label("Block", [blocks.get(tray) for tray in first[TRAY]], first, long.BLOCK)
    further.add(draft, TRAYS, first, further.of_trays(columns))
    if STARTED not in draft.columns:
        started = _started(kept)
        draft.label(STARTED, [started.get(tray) for tray in first[TRAY]], first)
    return draft


def _blocks(known: pd.DataFrame) -> "pd.Series[str]":
    """Return the block of each tray, of none where a tray lies in several: then labels tell no
    blocks of trays.
    """
    pairs = known.loc[known[long.BLOCK] != "", [TRAY, long.BLOCK]].drop_duplicates()
    if pairs[TRAY].duplicated().any():
        pairs = pairs.iloc[:0]
    return pairs.set_index(TRAY)[long.BLOCK]


def _started(known: pd.DataFrame) -> Mapping[str, int]:
    """Return how many plants each tray was started with: those written down, where each has a value
    of its own.
    """
    single = known[known[long.COVERS] == Covers.PLANT.value]
    of_several = known[(known[long.COVERS] != Covers.PLANT.value) | (known[long.COUNT] > 1)]
    trays = single.loc[~single[TRAY].isin(of_several[TRAY]) & (single[NUMBER] != "")]
    counts = trays.drop_duplicates([TRAY, NUMBER])[TRAY].value_counts()
    return {str(tray): int(count) for tray, count in counts.items()}


def treatments(
    rows: pd.DataFrame, settings: Settings, found: Found, sheets: Sequence[Sheet]
) -> Draft:
    """Return the sheet Treatments: the reference first, then as the settings order them, then as
    they appear.
    """
    named = rows[(rows[long.TREATMENT] != "") & rows[GIVES].isin(OF_PLANTS)]
    if named.empty:
        named = rows[rows[long.TREATMENT] != ""]
    first = named.drop_duplicates(long.TREATMENT)
    order = {label: at for at, label in enumerate(settings.treatments)}
    order[reference(settings)] = -1
    rank = [order.get(label, len(order)) for label in first[long.TREATMENT]]
    first = first.assign(rank=rank).sort_values("rank", kind="stable")
    draft = Draft(TREATMENTS.name)
    codes = first[long.TREATMENT].tolist()
    draft.label("Treatment", codes, first, long.TREATMENT)
    draft.label(
        "Name", [settings.treatments.get(code, code) for code in codes], first, long.TREATMENT
    )
    for factor, levels in _factors(rows, settings, found, sheets).items():
        draft.label(
            f"Factor: {factor}", [levels.get(code) for code in codes], first, long.TREATMENT
        )
    return draft


def reference(settings: Settings) -> str:
    """Return the label of the reference treatment, whose printed name may have been typed."""
    said = str(settings.trial.get(REFERENCE, ""))
    for label, name in settings.treatments.items():
        if said == name:
            return label
    return said


def _factors(
    rows: pd.DataFrame, settings: Settings, found: Found, sheets: Sequence[Sheet]
) -> Mapping[str, Mapping[str, str]]:
    """Return the level of each treatment by factor."""
    tables = {table.key: table for table in found.tables}
    known: dict[str, dict[str, str]] = {}
    for number, layout in enumerate(settings.layouts):
        own = rows[(rows[LAYOUT] == number) & (rows[INDEX] >= 0) & (rows[long.TREATMENT] != "")]
        first = own.drop_duplicates(long.TREATMENT)
        for factor, source in layout.factors.items() if len(first) else ():
            labels = resolve(source, tables[layout.table], sheets, found, layout.dimensions)
            whole = np.broadcast_to(labels, tables[layout.table].kind.shape)
            places = zip(first[long.TREATMENT], first[INDEX], first[VALUE_COLUMN], strict=True)
            for treatment, index, column in places:
                known.setdefault(factor, {}).setdefault(treatment, str(whole[index, column]))
    return known


def trial(rows: pd.DataFrame, settings: Settings) -> tuple[RawSheet, Mapping[int, str]]:
    """Return the sheet Trial of what the settings say, and for each of its rows the line there."""
    fields = dict(settings.trial)
    if REFERENCE in fields:
        fields[REFERENCE] = reference(settings)
    if UNIT_FIELD not in fields and independent(rows, settings) == PLANT_UNIT:
        fields[UNIT_FIELD] = PLANT_UNIT
    for column in TRIAL.columns:
        if column.required:
            fields.setdefault(column.name, None)
    lines = {0: _line(settings, "trial")}
    held: list[tuple[Value, ...]] = [("Field", "Value")]
    for name, value in fields.items():
        held.append((name, _as_cell(value)))
        lines[len(held)] = _line(settings, f"trial.{name}")
    return RawSheet("Trial", tuple(held), {}, {}, ()), lines


def _line(settings: Settings, key: str) -> str:
    number = settings.lines.get(key) or settings.lines.get("trial")
    if number:
        return f"{settings.name}, line {number}"
    return settings.name


def _as_cell(value: object) -> Value:
    if isinstance(value, bool):
        if value:
            return "yes"
        return "no"
    if isinstance(value, list | tuple):
        return ", ".join(map(str, value))
    if isinstance(value, date) and not isinstance(value, datetime):
        return datetime.combine(value, time())
    return value
