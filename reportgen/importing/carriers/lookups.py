"""Tables that say what labels mean: a key of codes, or the treatment in another table joined by id."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.carriers.texts import column_index, column_labels
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import Lookup
from reportgen.importing.model.tables import Found, Table


class UnknownTable(ValueError):
    """A table that a lookup names and the log does not have."""


def spelled_out(
    labels: NDArray[np.object_], lookup: Lookup, found: Found, sheets: Sequence[Sheet]
) -> NDArray[np.object_]:
    """Return what a lookup says of each label, "" where it does not know the label."""
    meanings = lookup_meanings(lookup, found, sheets)
    results = {}
    for label in dict.fromkeys(labels.ravel().tolist()):
        results[label] = meanings.get(code(label), "")
    spelled = np.array([results[label] for label in labels.ravel().tolist()], dtype=object)
    return spelled.reshape(labels.shape)


def lookup_meanings(lookup: Lookup, found: Found, sheets: Sequence[Sheet]) -> dict[str, str]:
    """Return what each code stands for. Raises UnknownTable where the log lacks the table."""
    table = table_of(found, lookup.table)
    codes = column_labels(table, column_index(table, lookup.match), sheets)[0]
    meanings = column_labels(table, column_index(table, lookup.result), sheets)[0]
    known: dict[str, str] = {}
    for text, meaning in zip(codes.tolist(), meanings.tolist(), strict=True):
        if text:
            known.setdefault(code(text), meaning)
    return known


def table_of(found: Found, key: str) -> Table:
    """Return a table by its key. Raises UnknownTable where there is none."""
    for table in found.tables:
        if table.key == key:
            return table
    raise UnknownTable(key)


def code(label: str) -> str:
    """Return a label as codes are compared: in small letters, whole numbers without leading zeros."""
    text = label.casefold()
    if text.isdecimal():
        return text.lstrip("0") or "0"
    return text
