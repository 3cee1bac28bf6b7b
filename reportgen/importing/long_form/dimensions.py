"""The labels of each dimension beside each value of a table."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

import numpy as np
import pandas
from numpy.typing import NDArray

from reportgen.importing.carriers import resolve
from reportgen.importing.cells.dates import with_weekday
from reportgen.importing.long_form.amounts import column_indexes
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import CarrierKind, Dimension, Layout, Source
from reportgen.importing.model.tables import Found, Table
from reportgen.importing.words import event_of

Texts = NDArray[np.object_]
APART = (CarrierKind.DIMENSION, CarrierKind.ORDER)  # not resolved by the table alone


@dataclass(frozen=True)
class Place:
    """A table and what stands around it."""

    table: Table
    sheets: Sequence[Sheet]
    found: Found


def labels_of_dimensions(place: Place, layout: Layout) -> dict[Dimension, Texts]:
    """Return the labels of each dimension that the layout has, (rows, columns of the table) each.

    A dimension that is joined to another comes after it.
    """
    labels: dict[Dimension, Texts] = {}
    for dimension in sorted(layout.dimensions, key=lambda each: _depth(each, layout)):
        source = layout.dimensions[dimension]
        own = _labels_as_spelled(place, layout, dimension)
        before = [labels[name] for name in dimensions_before(source) if name in labels]
        if not before or not counts_rows(source):
            before.append(own)
        labels[dimension] = joined(before)
    shape = place.table.text.shape
    return {dimension: np.broadcast_to(own, shape) for dimension, own in labels.items()}


def _labels_as_spelled(place: Place, layout: Layout, dimension: Dimension) -> Texts:
    """Return the labels of one dimension by itself, in the words of the layout."""
    source = layout.dimensions[dimension]
    labels = labels_of_source(place, source)
    labels = np.where(_is_named_by_header(place.table, layout, source), "", labels)
    words = layout.words.get(dimension.value, {})
    if "" in words:
        labels = np.where(_is_blank(place, source), "", labels)
    if words:
        labels = _mapped(labels, partial(_spelled, words))
    if dimension in _RULES:
        labels = _mapped(labels, _RULES[dimension])
    return labels


def _is_named_by_header(table: Table, layout: Layout, source: Source) -> NDArray[np.bool_]:
    """Tell which columns have a header that names what is measured, and is no label, (columns,).

    So it is where a quantity has one column, and others lie over one another under their labels.
    """
    lowest = (CarrierKind.OVER, str(len(table.columns[0].over)))
    is_lowest = lowest in [(carrier.kind, carrier.name) for carrier in source.carriers]
    alone = set()
    are_all_alone = True
    for values in layout.values:
        if len(values.columns) == 1:
            alone.add(values.columns[0])
        elif len(values.columns) > 1:
            are_all_alone = False
    if not is_lowest or are_all_alone:
        alone = set()
    return np.array([column.name in alone for column in table.columns])


def dimensions_before(source: Source) -> list[Dimension]:
    """Return the dimensions whose labels go before those of a source."""
    names = [carrier.name for carrier in source.carriers if carrier.kind is CarrierKind.DIMENSION]
    return [Dimension(name) for name in names]


def counts_rows(source: Source) -> bool:
    """Tell whether a source counts rows."""
    return any(carrier.kind is CarrierKind.ORDER for carrier in source.carriers)


def joined(parts: Sequence[Texts]) -> Texts:
    """Return labels joined by a space; blank where the last one is."""
    whole = parts[-1]
    for part in reversed(parts[:-1]):
        whole = np.where(whole == "", "", part + " " + whole)
    return whole


def _depth(dimension: Dimension, layout: Layout) -> int:
    source = layout.dimensions.get(dimension)
    if source:
        before = dimensions_before(source)
    else:
        before = []
    deeper = [_depth(name, layout) for name in before if name is not dimension]
    return 1 + max(deeper, default=0)


def labels_of_source(place: Place, source: Source) -> Texts:
    """Return the labels of a source as the table has them, such that they broadcast to its (rows,
    columns).
    """
    carriers = tuple(carrier for carrier in source.carriers if carrier.kind not in APART)
    if not carriers:
        return np.full((1, 1), "", dtype=object)
    return resolve(replace(source, carriers=carriers), place.table, place.sheets, place.found)


def _is_blank(place: Place, source: Source) -> NDArray[np.bool_]:
    """Tell where the cell of a label is blank, (rows, 1): a blank that has a meaning is not filled
    from above.
    """
    names = [carrier.name for carrier in source.carriers if carrier.kind is CarrierKind.COLUMN]
    columns = column_indexes(place.table, names)
    is_blank: NDArray[np.bool_] = (place.table.text[:, columns] == "").all(axis=1, keepdims=True)
    if columns:
        return is_blank
    return np.zeros((len(place.table.row), 1), dtype=np.bool_)


def _mapped(labels: Texts, rule: Callable[[str], str]) -> Texts:
    """Return labels with what a rule makes of each, which is asked once for those alike."""
    codes, distinct = pandas.factorize(labels.ravel())
    mapped = np.array([rule(label) for label in distinct], dtype=object)
    spelled: Texts = mapped[codes].reshape(labels.shape)
    return spelled


def _spelled(words: Mapping[str, str], label: str) -> str:
    return words.get(label, label)


def _event(label: str) -> str:
    return event_of(label) or label


_RULES: Final[Mapping[Dimension, Callable[[str], str]]] = {
    Dimension.EVENT: _event,
    Dimension.OCCASION: with_weekday,
}
