"""The labels of each dimension beside each value of a table."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.carriers import resolve
from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.layouts import Carrier, CarrierKind, Dimension, Layout, Source
from reportgen.importing.model.tables import Found, Table

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
        own = _own_labels(place, source)
        if dimension is Dimension.OCCASION:
            own = dated(own, place)
        own = spelled(own, layout.words.get(dimension.value, {}))
        before = [labels[name] for name in dimensions_before(source) if name in labels]
        labels[dimension] = joined([*before, own])
    return labels


def labels_of_source(place: Place, source: Source) -> Texts:
    """Return the labels of any source, (rows, columns of the table)."""
    return _own_labels(place, source)


def dimensions_before(source: Source) -> list[Dimension]:
    """Return the dimensions whose labels go before those of a source."""
    names = [carrier.name for carrier in source.carriers if carrier.kind is CarrierKind.DIMENSION]
    return [Dimension(name) for name in names]


def counts_rows(source: Source) -> bool:
    """Tell whether a source counts rows."""
    return any(carrier.kind is CarrierKind.ORDER for carrier in source.carriers)


def joined(parts: Sequence[Texts]) -> Texts:
    """Return labels joined by a space, blank ones left out."""
    whole = parts[0]
    for part in parts[1:]:
        gap = np.where((whole != "") & (part != ""), " ", "").astype(object)
        whole = whole + gap + part
    return whole


def spelled(labels: Texts, words: Mapping[str, str]) -> Texts:
    """Return labels with those that a word stands for put in its place."""
    if not words:
        return labels
    return _mapped(labels, dict(words))


def dated(labels: Texts, place: Place) -> Texts:
    """Return labels as ISO 8601 where a cell with the same text is a date or moment."""
    iso = _dates_of_headers(place) | _dates_of_body(place)
    return _mapped(labels, iso) if iso else labels


def _depth(dimension: Dimension, layout: Layout) -> int:
    source = layout.dimensions.get(dimension)
    before = dimensions_before(source) if source else []
    deeper = [_depth(name, layout) for name in before if name is not dimension]
    return 1 + max(deeper, default=0)


def _own_labels(place: Place, source: Source) -> Texts:
    carriers = tuple(carrier for carrier in source.carriers if carrier.kind not in APART)
    shape = place.table.text.shape
    if not carriers:
        return np.full(shape, "", dtype=object)
    if _is_mixed(carriers) and source.lookup is None:
        return joined([_own_labels(place, Source((carrier,))) for carrier in carriers])
    labels = resolve(replace(source, carriers=carriers), place.table, place.sheets, place.found)
    return _spread(labels, carriers, shape)


def _is_mixed(carriers: tuple[Carrier, ...]) -> bool:
    return len({carrier.kind is CarrierKind.OVER for carrier in carriers}) > 1


def _spread(labels: Texts, carriers: tuple[Carrier, ...], shape: tuple[int, ...]) -> Texts:
    if labels.ndim == 2:
        return labels
    along_columns = carriers[0].kind is CarrierKind.OVER
    lines = labels[None, :] if along_columns else labels[:, None]
    return np.broadcast_to(lines, shape)


def _mapped(labels: Texts, words: Mapping[str, str]) -> Texts:
    distinct, places = np.unique(labels.astype(str), return_inverse=True)
    mapped = np.array([words.get(label, label) for label in distinct.tolist()], dtype=object)
    return mapped[places].reshape(labels.shape)


def _dates_of_headers(place: Place) -> dict[str, str]:
    iso: dict[str, str] = {}
    for block in place.table.blocks:
        sheet = place.sheets[block.sheet]
        for row in block.header_rows:
            is_moment = sheet.kind[row - 1] == Kind.MOMENT
            iso.update(_iso(sheet.text[row - 1][is_moment], sheet.moment[row - 1][is_moment]))
    return iso


def _dates_of_body(place: Place) -> dict[str, str]:
    is_moment = place.table.kind == Kind.MOMENT
    return _iso(place.table.text[is_moment], place.table.moment[is_moment])


def _iso(texts: Texts, moments: NDArray[np.datetime64]) -> dict[str, str]:
    """Return by text its day, or its moment where it is not midnight."""
    days = moments.astype("datetime64[D]")
    whole = np.where(days == moments, days.astype(str), moments.astype(str))
    return dict(zip(texts.astype(str).tolist(), whole.tolist(), strict=True))
