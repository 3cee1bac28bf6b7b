"""Files beside a trial workbook: readings of their tables by the codes of its treatments, trays and
meters.
"""

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

OF_CODES: Final = (
    "treatment",
    "unit",
    "block",
    "meter",
)  # what the questions for the workbook's codes settle
BESIDE: Final = (
    "Climate",
    "Light",
    "Meter",
    "Solution",
    NOTHING,
)  # what files beside a trial workbook may give
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
    read = [
        option for option in beside if option.layout.gives != NOTHING
    ]  # its owner named the file
    known = [_with_codes(option, table, book) for option in read or beside]
    return [_with_codes_over(option, table, book, sheets, found) for option in known]


def _with_codes(option: Candidate, table: Table, book: TrialBook) -> Candidate:
    """Return a candidate whose treatments, trays and meters stand where codes of the trial workbook
    do.
    """
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
    """Return a candidate whose headers are of the treatments that they name: `Temp half` is of
    `half`.
    """
    source = option.layout.dimensions.get(Dimension.TREATMENT)
    if source is None or source.carriers[0].kind is not CarrierKind.OVER:
        return option
    codes = [code for code in book.treatments if not code.isdecimal()]
    labels = resolve(source, table, sheets, found)
    values = value_columns(option.layout)
    words = {}
    for index, column in enumerate(table.columns):
        if column.name in values:
            words[str(labels[0, index])] = code_in(str(labels[0, index]), codes)
    if not all(words.values()):
        return option
    words = {label: code for label, code in words.items() if label != code}
    layout = replace(option.layout, words={**option.layout.words, Dimension.TREATMENT.value: words})
    return replace(option, layout=layout)


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
