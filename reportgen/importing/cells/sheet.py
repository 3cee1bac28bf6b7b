"""Type the cells of one sheet: native values, then dates, numbers and words that are written as
text.
"""

import re
from dataclasses import replace
from typing import Final

import numpy as np
from openpyxl.utils import column_index_from_string, get_column_letter
from openpyxl.utils.cell import coordinate_to_tuple

from reportgen.importing.cells.draft import Draft
from reportgen.importing.cells.marks import Marks, places_turned
from reportgen.importing.cells.native import fill_native
from reportgen.importing.cells.text_dates import read_dates
from reportgen.importing.cells.text_numbers import read_numbers
from reportgen.importing.cells.text_words import read_words
from reportgen.importing.model.cells import Conventions, Kind, OpenConvention, Sheet, address_of
from reportgen.workbook.raw import RawSheet, bounds_of

WHOLE_SHEET: Final = "the whole sheet"
_HIDDEN: Final = re.compile(r"(row|column) (\w+)")


def typed(raw: RawSheet, marks: Marks, conventions: Conventions, file: str = "") -> Sheet:
    """Return the cells of a raw sheet, typed; blank rows and columns at its end are left out.

    `file` is the name of a further file, "" for the log itself.
    """
    if file:
        label = f"[{file}]{raw.name}"
    else:
        label = raw.name
    is_turned = conventions.turned.get(label, conventions.turned.get("", False))
    if is_turned:
        raw, marks = turned(raw), marks.turned()
    draft = Draft.of(raw.columns, len(raw.rows))
    fill_native(draft, raw)
    read_dates(draft, label, conventions)
    doubtful = read_numbers(draft, label, conventions)
    read_words(draft, doubtful, conventions)
    return _sheet(draft, raw, marks, file, is_turned=is_turned)


def turned(raw: RawSheet) -> RawSheet:
    """Return a sheet whose rows are its columns."""
    return replace(
        raw,
        rows=raw.columns,
        formats=places_turned(raw.formats),
        uncomputed=places_turned(raw.uncomputed),
        hidden=tuple(_turned_name(name) for name in raw.hidden),
        merged=tuple(_turned_range(cells) for cells in raw.merged),
    )


def _turned_name(hidden: str) -> str:
    """Return a hidden row as a column, a column as a row."""
    match = _HIDDEN.fullmatch(hidden)
    if match is None:
        return hidden
    what, name = match.groups()
    if what == "row":
        return f"column {get_column_letter(int(name))}"
    return f"row {column_index_from_string(name)}"


def _turned_range(cells: str) -> str:
    first_column, first_row, last_column, last_row = bounds_of(cells)
    return f"{address_of(first_column, first_row)}:{address_of(last_column, last_row)}"


def _sheet(draft: Draft, raw: RawSheet, marks: Marks, file: str, *, is_turned: bool) -> Sheet:
    rows, columns = _extent(draft)
    for array in (draft.kind, draft.text, draft.number, draft.moment):
        array.flags.writeable = False
    hidden_rows = frozenset(map(int, _hidden(raw, "row")))
    hidden_columns = frozenset(map(column_index_from_string, _hidden(raw, "column")))
    sheet = Sheet(
        file,
        raw.name,
        draft.kind[:rows, :columns],
        draft.text[:rows, :columns],
        draft.number[:rows, :columns],
        draft.moment[:rows, :columns],
        units=draft.units,
        remarks=draft.remarks,
        bounds=draft.bounds,
        fills=marks.fills,
        comments=marks.comments,
        struck=marks.struck,
        formulas=marks.formulas | frozenset(raw.uncomputed),
        hidden_rows=hidden_rows,
        hidden_columns=hidden_columns,
        is_hidden=WHOLE_SHEET in raw.hidden,
        merged=tuple(map(_rows_first, raw.merged)),
        is_turned=is_turned,
    )
    return replace(sheet, open=tuple(_with_addresses(each, sheet) for each in draft.open))


def _hidden(raw: RawSheet, kind: str) -> list[str]:
    """Return the numbers of hidden rows, or the letters of hidden columns."""
    names = []
    for text in raw.hidden:
        match = _HIDDEN.fullmatch(text)
        if match and match[1] == kind:
            names.append(match[2])
    return names


def _with_addresses(convention: OpenConvention, sheet: Sheet) -> OpenConvention:
    """Return cells that can be read in two ways by their owner's addresses."""
    if not sheet.is_turned:
        return convention
    places = [coordinate_to_tuple(cell) for cell in convention.cells]
    return replace(convention, cells=tuple(sheet.address(*place) for place in places))


def _extent(draft: Draft) -> tuple[int, int]:
    filled = draft.kind != Kind.BLANK
    rows = np.flatnonzero(filled.any(axis=1))
    columns = np.flatnonzero(filled.any(axis=0))
    return int(rows[-1]) + 1 if rows.size else 0, int(columns[-1]) + 1 if columns.size else 0


def _rows_first(cells: str) -> tuple[int, int, int, int]:
    first_column, first_row, last_column, last_row = bounds_of(cells)
    return first_row, first_column, last_row, last_column
