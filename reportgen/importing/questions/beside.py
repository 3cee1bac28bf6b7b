"""Files beside a trial workbook: readings of their tables by its codes."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import pandas as pd

from reportgen.importing.carriers import resolve
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import (
    NOTHING,
    Carrier,
    CarrierKind,
    Dimension,
    Layout,
    Source,
)
from reportgen.importing.model.tables import Found, Table
from reportgen.importing.model.trial_book import TrialBook
from reportgen.importing.questions.codes import code_in
from reportgen.importing.questions.describe import slots_of
from reportgen.importing.questions.situation import Candidate, value_columns
from reportgen.importing.trial_book import codes_of

# what the questions for the workbook's codes settle
OF_CODES: Final = ("treatment", "unit", "block", "meter")
# what files beside a trial workbook may give
BESIDE: Final = ("Climate", "Light", "Meter", "Solution", NOTHING)
CODED: Final = {
    "Climate": (Dimension.TREATMENT, Dimension.UNIT),
    "Light": (Dimension.TREATMENT, Dimension.UNIT),
    "Meter": (Dimension.TREATMENT, Dimension.METER),
    "Solution": (Dimension.TREATMENT, Dimension.UNIT),
}


def coded(
    options: Sequence[Candidate],
    table: Table,
    book: TrialBook,
    sheets: Sequence[Sheet],
    found: Found,
) -> list[Candidate]:
    """Return the candidates that a file beside a workbook may be, with its codes as labels."""
    beside = [option for option in options if option.layout.gives in BESIDE]
    # its owner named the file, so it is read
    read = [option for option in beside if option.layout.gives != NOTHING]
    candidates = []
    for option in read or beside:
        in_columns = _with_codes(option, table, book)
        candidates.append(_with_codes_over(in_columns, table, book, sheets, found))
    return candidates


def _with_codes(option: Candidate, table: Table, book: TrialBook) -> Candidate:
    """Return a candidate that takes treatments, trays and meters from columns of codes."""
    coded: dict[Dimension, Source] = {}
    for dimension in CODED.get(option.layout.gives, ()):
        name = _column_of_codes(table, option.layout, set(codes_of(book, dimension)))
        if name:
            coded[dimension] = Source((Carrier(CarrierKind.COLUMN, name),))
    dimensions = {**option.layout.dimensions, **coded}
    if coded and Dimension.TREATMENT not in coded:  # the workbook says whose trays and meters are
        dimensions.pop(Dimension.TREATMENT, None)
    return replace(option, layout=replace(option.layout, dimensions=dimensions))


def _with_codes_over(
    option: Candidate, table: Table, book: TrialBook, sheets: Sequence[Sheet], found: Found
) -> Candidate:
    """Return a candidate whose headers mean the treatments that they name.

    `Temp half` is of `half`.
    """
    layout = option.layout
    source = layout.dimensions.get(Dimension.TREATMENT)
    if source is None or source.carriers[0].kind is not CarrierKind.OVER:
        return option
    labels = resolve(source, table, sheets, found)
    names = value_columns(layout)
    headers = []
    for index, column in enumerate(table.columns):
        if column.name in names:
            headers.append(str(labels[0, index]))
    words = _codes_named(headers, book)
    if not all(words.values()):
        return option
    changed = {label: code for label, code in words.items() if label != code}
    words_of_layout = {**layout.words, Dimension.TREATMENT.value: changed}
    return replace(option, layout=replace(layout, words=words_of_layout))


def _codes_named(headers: Sequence[str], book: TrialBook) -> dict[str, str]:
    """Return the treatment code that each header names, "" where it names none."""
    codes = [code for code in book.treatments if not code.isdecimal()]
    return {header: code_in(header, codes) for header in headers}


def _column_of_codes(table: Table, layout: Layout, codes: set[str]) -> str:
    """Return the first column that holds nothing but codes, "" where none does."""
    values = value_columns(layout)
    for index, column in enumerate(table.columns):
        if column.name in values:
            continue
        texts = {str(text).strip().casefold() for text in pd.unique(table.text[:, index])} - {""}
        if texts and texts <= codes:
            return column.name
    return ""


def apart_from_codes(options: Sequence[Candidate]) -> list[Candidate]:
    """Return the best of candidates that differ only in where treatments, trays or meters stand."""
    groups: dict[object, Candidate] = {}
    for option in options:
        slots = slots_of(option.layout)
        others = tuple((name, text) for name, text in slots.items() if name not in OF_CODES)
        groups.setdefault(others, option)
    return list(groups.values())
