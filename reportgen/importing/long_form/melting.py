"""Melt tables by their layouts into one frame, one row a value."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.long_form.amounts import amounts, column_indexes
from reportgen.importing.long_form.dimensions import (
    Place,
    Texts,
    counts_rows,
    labels_of_dimensions,
    labels_of_source,
)
from reportgen.importing.long_form.places import Amended, amended
from reportgen.importing.model import long
from reportgen.importing.model.cells import Conventions, Kind, Sheet
from reportgen.importing.model.layouts import (
    NOTHING,
    Carrier,
    CarrierKind,
    Covers,
    Dimension,
    Layout,
    Source,
    Values,
)
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found, Table

NAMED = (  # dimensions with a column of the frame each
    (Dimension.TREATMENT, long.TREATMENT),
    (Dimension.BLOCK, long.BLOCK),
    (Dimension.UNIT, long.UNIT),
    (Dimension.PLANT, long.PLANT),
    (Dimension.OCCASION, long.OCCASION),
    (Dimension.EVENT, long.EVENT),
    (Dimension.METER, long.METER),
    (Dimension.GRADE, long.GRADE),
)
MUST_BE_LABELLED = (Dimension.TREATMENT, Dimension.UNIT)
WHERE_A_UNIT_STANDS = (long.TREATMENT, long.BLOCK, long.UNIT)
OF_FEW_WORDS = (long.TABLE, long.QUANTITY, long.COVERS, long.STATE)  # compared again and again
ONE_SPELLING = (long.TREATMENT, long.UNIT)


@dataclass(frozen=True)
class Placed:
    """A table as its owner corrected it, the labels of its dimensions, and the rows that belong to
    the trial.
    """

    sheets: Sequence[Sheet]
    layout: Layout
    changed: Amended
    labels: dict[Dimension, Texts]
    is_of_trial: NDArray[np.bool_]


def melt(found: Found, sheets: Sequence[Sheet], settings: Settings) -> pd.DataFrame:
    """Return every value that the settings' layouts read, with its labels; columns as in
    `model.long`.

    Blank cells and words are there too, with their state. A table that is not found, a row whose
    treatment or unit has no label, and what its owner left out are absent.
    """
    frames = [
        melt_layout(found, sheets, layout, settings.conventions) for layout in settings.layouts
    ]
    return together(frames, settings)


def melt_layout(
    found: Found, sheets: Sequence[Sheet], layout: Layout, conventions: Conventions
) -> pd.DataFrame:
    """Return the values that one layout reads, with the index 0 of the layout."""
    tables = {table.key: table for table in found.tables}
    if layout.table not in tables or layout.gives == NOTHING:
        return _without_rows()
    changed = amended(tables[layout.table], layout, sheets, conventions)
    place = Place(changed.table, sheets, found)
    try:
        labels = labels_of_dimensions(place, layout)
        is_of_trial = _rows_of_trial(place, layout)
    except ValueError:  # a carrier that the table no longer has: drift tells
        return _without_rows()
    placed = Placed(sheets, layout, changed, labels, is_of_trial)
    frames = []
    for number in range(len(layout.values)):
        frame = _melted(placed, number)
        if len(frame):
            frames.append(frame)
    if frames:
        return pd.concat(frames, ignore_index=True)
    return _without_rows()


def together(frames: Sequence[pd.DataFrame], settings: Settings) -> pd.DataFrame:
    """Return the frames of all layouts of the settings, in their order, as one: labels in one
    spelling.
    """
    numbered = [frame.assign(**{long.LAYOUT: index}) for index, frame in enumerate(frames)]
    numbered = [frame for frame in numbered if len(frame)]
    if not numbered:
        return _without_rows()
    whole = pd.concat(numbered, ignore_index=True)
    for column in ONE_SPELLING:
        whole[column] = _in_one_spelling(whole[column])
    whole = whole.astype(dict.fromkeys(OF_FEW_WORDS, "category"))
    return _with_treatments_of_units(whole, settings)


def _without_rows() -> pd.DataFrame:
    return pd.DataFrame({name: pd.Series(dtype=object) for name in long.COLUMNS})


def _with_treatments_of_units(frame: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return the frame with the treatment of units that a table names without it, where other
    tables tell it.
    """
    without = [
        i
        for i, layout in enumerate(settings.layouts)
        if Dimension.TREATMENT not in layout.dimensions
    ]
    is_open = frame[long.LAYOUT].isin(without) & (frame[long.UNIT] != "")
    told = frame.loc[frame[long.TREATMENT] != "", [long.UNIT, long.TREATMENT]].drop_duplicates()
    told = told.drop_duplicates(long.UNIT, keep=False).set_index(long.UNIT)[long.TREATMENT]
    treatment_of = told.to_dict()
    units = frame.loc[is_open, long.UNIT]
    frame.loc[is_open, long.TREATMENT] = [treatment_of.get(unit, "") for unit in units]
    return frame


def _melted(placed: Placed, number: int) -> pd.DataFrame:
    """Return the rows of one of the layout's `Values`."""
    table, layout = placed.changed.table, placed.layout
    values = layout.values[number]
    columns = column_indexes(table, values.columns)
    amount = amounts(table, layout, values, placed.sheets)
    sheet, row, letter = _addresses(table, columns)
    frame = pd.DataFrame(
        {
            long.LAYOUT: 0,
            long.VALUES: number,
            long.TABLE: table.key,
            long.SHEET: sheet.ravel(),
            long.ROW: row.ravel(),
            long.COLUMN: letter.ravel(),
            long.QUANTITY: values.quantity,
            long.UNIT_OF_MEASURE: amount.unit.ravel(),
            long.COVERS: values.covers.value,
            long.COUNT: amount.count.ravel(),
            long.EVENT: values.event,
            long.VALUE: amount.value.ravel(),
            long.STATE: amount.state.ravel(),
        }
    )
    is_read = placed.is_of_trial[:, None] & (letter > 0)
    is_read &= ~_is_left_out(sheet, row, letter, placed.changed)
    for dimension, name in NAMED:
        if dimension in placed.labels:
            labels = placed.labels[dimension][:, columns]
            frame[name] = labels.ravel()
            is_read &= (labels != "") | _may_be_blank(dimension, layout)
        elif dimension is not Dimension.EVENT:
            frame[name] = ""
    is_blank = (table.kind[:, columns] == Kind.BLANK).ravel()
    is_read = is_read.ravel() & ~_is_elsewhere(frame, is_blank)
    frame = frame[is_read]
    return _with_counted_labels(frame, layout, values)[list(long.COLUMNS)]


def _is_elsewhere(frame: pd.DataFrame, is_blank: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Tell which blank cells are of a unit that stands under another treatment or block, (values,)
    of bool.
    """
    if not is_blank.any():
        return is_blank
    says = pd.Series(~is_blank, index=frame.index)
    is_here = says.groupby([frame[name] for name in WHERE_A_UNIT_STANDS], sort=False).transform(
        "any"
    )
    is_anywhere = says.groupby(frame[long.UNIT], sort=False).transform("any")
    is_elsewhere: NDArray[np.bool_] = (is_anywhere & ~is_here & (frame[long.UNIT] != "")).to_numpy(
        dtype=np.bool_
    )
    return is_elsewhere


def _may_be_blank(dimension: Dimension, layout: Layout) -> bool:
    return dimension not in MUST_BE_LABELLED or _is_counted(dimension, layout)


def _addresses(table: Table, columns: list[int]) -> tuple[NDArray[np.intp], ...]:
    """Return the sheet's index, row and column of each value, (rows, columns) each; column 0 where
    it has none.
    """
    shape = len(table.row), len(columns)
    sheets = np.array([block.sheet for block in table.blocks], dtype=np.intp)
    letters = np.array([block.letters for block in table.blocks], dtype=np.intp)
    sheet = np.broadcast_to(sheets[table.block][:, None], shape)
    row = np.broadcast_to(table.row[:, None], shape)
    return sheet, row, letters[table.block][:, columns]


def _rows_of_trial(place: Place, layout: Layout) -> NDArray[np.bool_]:
    """Tell which rows hold one of the labels that belong to the trial. -> (rows,) of bool."""
    is_kept = np.ones(len(place.table.row), dtype=np.bool_)
    for name, wanted in layout.only.items():
        source = Source((Carrier(CarrierKind.COLUMN, name),))
        labels = labels_of_source(place, source)[:, 0]
        is_kept &= np.isin(labels.astype(str), wanted)
    return is_kept


def _is_left_out(
    sheet: NDArray[np.intp], row: NDArray[np.intp], letter: NDArray[np.intp], changed: Amended
) -> NDArray[np.bool_]:
    places = np.array(list(changed.reasons), dtype=np.intp).reshape(-1, 3)
    left_out = _place_codes(places[:, 0], places[:, 1], places[:, 2])
    return np.isin(_place_codes(sheet, row, letter), left_out)


def _place_codes(
    sheet: NDArray[np.intp], row: NDArray[np.intp], column: NDArray[np.intp]
) -> NDArray[np.intp]:
    """Return one number for each cell."""
    return (sheet << 44) + (row << 20) + column


def _is_counted(dimension: Dimension, layout: Layout) -> bool:
    source = layout.dimensions.get(dimension)
    return source is not None and counts_rows(source)


def _with_counted_labels(frame: pd.DataFrame, layout: Layout, values: Values) -> pd.DataFrame:
    """Return the frame with rows numbered where no label tells units, occasions or plants apart."""
    still_open = [name for dimension, name in NAMED if _is_counted(dimension, layout)]
    if values.covers is Covers.PLANT and Dimension.PLANT not in layout.dimensions:
        still_open.append(long.PLANT)
    while still_open:
        name = still_open[0]
        excluded = set(still_open)
        if name == long.UNIT and (frame[name] == "").all():
            excluded.update(WHERE_A_UNIT_STANDS)  # each has a number of its own
        others = [other for _, other in NAMED if other not in excluded]
        numbers = frame.groupby(others, sort=False).cumcount() + 1
        numbers = numbers.astype(str).astype(object)
        before = frame[name].where(frame[name] == "", frame[name] + " ")
        frame = frame.assign(**{name: before + numbers})
        still_open.remove(name)
    return frame


def _in_one_spelling(labels: "pd.Series[str]") -> "pd.Series[str]":
    """Return labels that differ in capitals and spaces only as the first of them is written."""
    first: dict[str, str] = {}
    spelling: Mapping[str, str] = {}
    spelling = {
        label: first.setdefault(" ".join(label.casefold().split()), label)
        for label in labels.unique()
    }
    return labels.map(spelling)
