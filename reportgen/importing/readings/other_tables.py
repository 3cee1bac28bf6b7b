"""What other tables say of a table's labels: keys that spell codes, and headers over the same
labels.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.carriers.label_sets import labels_of
from reportgen.importing.carriers.lookups import code
from reportgen.importing.carriers.resolving import resolve
from reportgen.importing.carriers.texts import column_labels, levels_of, tidy
from reportgen.importing.clues.dimension_words import named_dimensions, names_quantity
from reportgen.importing.clues.dimensions_shape import is_date
from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.claims import Labels, TableLabels
from reportgen.importing.model.layouts import CarrierKind, Dimension, Lookup, Source
from reportgen.importing.model.tables import Found, Table

_MOST_ROWS = 2000  # of a table that explains labels
_MOST_MEANINGS = 12
_SHARE_KNOWN = 0.9
_SHARE_KNOWN_OVER = 0.5

_FEW_TABLES = 40
_OF_WHOLE_TABLES = (CarrierKind.SECTION, CarrierKind.SHEET, CarrierKind.FILE, CarrierKind.TITLE)

CodeColumns = tuple[tuple[Table, int, frozenset[str]], ...]


def code_columns(table: Table, found: Found, sheets: Sequence[Sheet]) -> CodeColumns:
    """Return the columns of other tables that may hold codes, each with its codes."""
    columns = []
    for other in sorted(found.tables, key=lambda each: (not each.is_key, len(each.row))):
        if other.key == table.key or len(other.row) > _MOST_ROWS:
            continue
        for index in range(len(other.columns)):
            texts = column_labels(other, index, sheets)[0].tolist()
            codes = frozenset(code(text) for text in texts if text)
            if len(codes) > 1:
                columns.append((other, index, codes))
    return tuple(columns)


def names_elsewhere(
    table: Table, found: Found, sheets: Sequence[Sheet]
) -> tuple[frozenset[str], ...]:
    """Return the few names that sections, sheets, titles or headers of other tables have:
    treatments, rather.
    """
    names: list[frozenset[str]] = []
    if len(found.tables) > _FEW_TABLES:
        return ()
    for other in found.tables:
        if other.key == table.key or len(other.row) > _MOST_ROWS:
            continue
        for labels in labels_of(other, sheets).labels:
            levels = _names_in(labels)
            if 2 <= len(levels) <= _MOST_MEANINGS:
                names.append(frozenset(code(level) for level in levels))
    return tuple(names)


def _names_in(labels: Labels) -> list[str]:
    """Return the labels of whole tables, or over their values, that may be names: no dates,
    quantities or counts.
    """
    if any(is_date(level) for level in labels.levels):
        return []
    if labels.carrier.kind in _OF_WHOLE_TABLES:
        return list(labels.levels)
    if labels.carrier.kind is not CarrierKind.OVER:
        return []
    return [
        level
        for level in labels.levels
        if not names_quantity(level) and not named_dimensions(level)
    ]


def dimensions_elsewhere(
    labels: Labels, known: CodeColumns, names: Sequence[frozenset[str]] = ()
) -> frozenset[Dimension]:
    """Return the dimensions that other tables give to the same labels; numbers must be the very
    same.
    """
    levels = {code(level) for level in labels.levels}
    are_numbers = all(level.isdecimal() for level in levels)
    named: set[Dimension] = set()
    for other, index, codes in known:
        if not levels or not _are_known(labels, levels, codes, are_numbers):
            continue
        dimensions = named_dimensions(other.columns[index].header)
        if not are_numbers or Dimension.TREATMENT in dimensions:
            named.update(dimensions)
    if len(levels) > 1 and any(levels == texts for texts in names):
        named.add(Dimension.TREATMENT)
    return frozenset(named)


def _are_known(labels: Labels, levels: set[str], codes: frozenset[str], are_numbers: bool) -> bool:
    """Tell whether labels stand in another table: all of them, or those over columns of values."""
    if are_numbers:
        return levels == codes
    if labels.along == "columns":
        return len(levels & codes) > max(1.0, _SHARE_KNOWN_OVER * len(levels))
    return levels <= codes


def looked_up(
    table: Table, labels: TableLabels, known: CodeColumns, found: Found, sheets: Sequence[Sheet]
) -> Iterator[Labels]:
    """Yield what keys and other tables say of the labels of a table."""
    seen: set[tuple[str, ...]] = set()
    headers = {tidy(column.header).casefold() for column in table.columns}
    for each in labels.labels:
        for other, index, codes in known:
            if not _explains(each, other, index, codes) or _is_of_others(
                each, labels, other.columns[index].header, codes
            ):
                continue
            for result in _meanings(other, index, sheets):
                if tidy(other.columns[result].header).casefold() in headers - {""}:
                    continue
                lookup = Lookup(other.key, other.columns[index].name, other.columns[result].name)
                spelled = resolve(Source((each.carrier,), lookup), table, sheets, found)
                meant = _as_labels(each, lookup, spelled, labels.values)
                texts = tuple(meant.labels.tolist())
                if len(meant.levels) > 1 and texts not in seen:
                    seen.add(texts)
                    yield meant


def _explains(labels: Labels, other: Table, index: int, codes: frozenset[str]) -> bool:
    """Tell whether a column of another table holds the codes of a label set."""
    levels = {code(level) for level in labels.levels}
    if len(levels) < 2 or any(is_date(level) for level in labels.levels):
        return False
    if len(levels & codes) < _share_known(labels) * len(levels):
        return False
    if not all(level.isdecimal() for level in levels):
        return True
    header = tidy(other.columns[index].header)
    same_header = header.casefold() == labels.header.casefold()
    dimensions = named_dimensions(header), named_dimensions(labels.header)
    are_of_two = all(dimensions) and not dimensions[0].keys() & dimensions[1].keys()
    return same_header or (other.is_key and not are_of_two)


def _is_of_others(
    labels: Labels, all_labels: TableLabels, header: str, codes: frozenset[str]
) -> bool:
    """Tell whether codes are those of other labels of the table, whose header names the same as
    that of the codes.
    """
    named = named_dimensions(header).keys()
    if named & named_dimensions(labels.header).keys():
        return False
    alike = [each for each in all_labels.labels if named & named_dimensions(each.header).keys()]
    return any(codes.issuperset(code(level) for level in each.levels) for each in alike)


def _share_known(labels: Labels) -> float:
    """Return which share of labels another table must know: headers stand over columns of labels,
    too.
    """
    if labels.along == "columns":
        return _SHARE_KNOWN_OVER
    return _SHARE_KNOWN


def _meanings(other: Table, index: int, sheets: Sequence[Sheet]) -> Iterator[int]:
    """Yield the columns whose few texts depend on the codes of a column, labels written once
    repeated.
    """
    codes = [code(tidy(text)) for text in column_labels(other, index, sheets)[0].tolist()]
    for result in range(len(other.columns)):
        if result == index:
            continue
        texts = column_labels(other, result, sheets)[0].tolist()
        pairs = {(one, text) for one, text in zip(codes, texts, strict=True) if one and text}
        meanings = {text for _, text in pairs}
        is_function = len(pairs) == len({one for one, _ in pairs})
        if is_function and 2 <= len(meanings) <= _MOST_MEANINGS and _may_mean(other, result):
            yield result


def _may_mean(other: Table, result: int) -> bool:
    """Tell whether a column may say what codes stand for: words, or numbers under a header that
    names the treatment.
    """
    header = other.columns[result].header
    if names_quantity(header):
        return False
    has_words = np.isin(other.kind[:, result], (Kind.TEXT, Kind.MOMENT)).any()
    return bool(has_words) or named_dimensions(header).get(Dimension.TREATMENT, 0.0) == 1.0


def _as_labels(
    labels: Labels, lookup: Lookup, spelled: NDArray[np.object_], values: Sequence[int]
) -> Labels:
    """Return the label set that a lookup makes of another."""
    texts = spelled
    if labels.along != "cells":
        if labels.along == "columns":
            texts = spelled[0, list(values)]
        else:
            texts = spelled[:, 0]
    return Labels(
        labels.carrier, texts, levels_of(texts), labels.along, lookup.result, lookup=lookup
    )
