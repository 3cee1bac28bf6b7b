"""The labels that a source gives to the values of a table."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.carriers.colours import colour_labels
from reportgen.importing.carriers.lookups import spelled_out
from reportgen.importing.carriers.parts import HALF, part_of
from reportgen.importing.carriers.texts import (
    UnknownCarrier,
    block_labels,
    column_index,
    column_labels,
    levels_of,
    number_columns,
    over_labels,
    tidied,
)
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import Carrier, CarrierKind, Dimension, Source
from reportgen.importing.model.tables import Found, Table

Sources = Mapping[Dimension, Source]


def resolve(
    source: Source,
    table: Table,
    sheets: Sequence[Sheet],
    found: Found,
    dimensions: Sources | None = None,
) -> NDArray[np.object_]:
    """Return the labels of a source, as texts that broadcast to (rows, columns) of the table.

    The shape is (rows, 1) where labels stand along rows, (1, columns) where in header rows, and
    (rows, columns) where both are joined. "" means no label. `dimensions` are the table's other
    sources, needed where the source begins with another dimension (trays numbered anew). Raises
    UnknownCarrier, a ValueError, where the table lacks a carrier, such as a column that vanished.
    """
    pieces = [
        whole_labels(carrier, table, sheets, found, dimensions) for carrier in source.carriers
    ]
    labels = joined(pieces)
    if source.lookup is None:
        return labels
    return spelled_out(labels, source.lookup, found, sheets)


def whole_labels(
    carrier: Carrier,
    table: Table,
    sheets: Sequence[Sheet],
    found: Found,
    dimensions: Sources | None = None,
) -> NDArray[np.object_]:
    """Return the labels of one carrier, or a part of each, in the shape that `resolve` gives."""
    labels = _labels(carrier, table, sheets, found, dimensions)
    if not carrier.part:
        return labels
    if carrier.kind is CarrierKind.OVER:
        over_values = labels[0, list(number_columns(table))]
        return part_of(labels, carrier.part, levels_of(over_values), HALF)
    return part_of(labels, carrier.part, levels_of(labels))


def _labels(
    carrier: Carrier,
    table: Table,
    sheets: Sequence[Sheet],
    found: Found,
    dimensions: Sources | None,
) -> NDArray[np.object_]:
    kind = carrier.kind
    if kind is CarrierKind.DIMENSION:
        known = dimensions or {}
        try:
            source = known[Dimension(carrier.name)]
        except (KeyError, ValueError) as error:
            raise UnknownCarrier(carrier.name) from error
        return resolve(source, table, sheets, found, dimensions)
    if kind is CarrierKind.OVER:
        return over_labels(table, int(carrier.name), sheets)[np.newaxis, :]
    if kind is CarrierKind.COLOUR:
        return colour_labels(table, sheets)
    return row_labels(carrier, table, sheets)[:, np.newaxis]


def row_labels(carrier: Carrier, table: Table, sheets: Sequence[Sheet]) -> NDArray[np.object_]:
    """Return (rows,) labels of a whole carrier that stands along rows."""
    kind = carrier.kind
    if kind is CarrierKind.COLUMN:
        return column_labels(table, column_index(table, carrier.name), sheets)[0]
    if kind is CarrierKind.SECTION:
        return tidied(table.section)
    if kind is CarrierKind.FIXED:
        return np.full(len(table.row), carrier.name, dtype=object)
    return block_labels(table, carrier, sheets)[table.block]


def joined(pieces: Sequence[NDArray[np.object_]]) -> NDArray[np.object_]:
    """Join labels by a space; a label is "" where any of its pieces is."""
    result = pieces[0]
    for piece in pieces[1:]:
        blank = (result == "") | (piece == "")
        result = np.where(blank, "", result + " " + piece)
    return result
