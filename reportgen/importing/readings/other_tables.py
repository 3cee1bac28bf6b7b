"""What other tables say of a table's labels, by keys for codes and by headers."""

from collections.abc import Iterable, Iterator, Sequence

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
    """Return the few names in sections, sheets, titles or headers of other tables.

    They are rather treatments.
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
                names.append(_codes(levels))
    return tuple(names)


def _codes(texts: Iterable[str]) -> frozenset[str]:
    return frozenset(code(text) for text in texts)


def _names_in(labels: Labels) -> list[str]:
    """Return the labels of whole tables, or over their values, that may be names.

    Dates, quantities and counts are none.
    """
    if any(is_date(level) for level in labels.levels):
        return []
    if labels.carrier.kind in _OF_WHOLE_TABLES:
        return list(labels.levels)
    if labels.carrier.kind is not CarrierKind.OVER:
        return []
    names = []
    for level in labels.levels:
        if not names_quantity(level) and not named_dimensions(level):
            names.append(level)
    return names


def dimensions_elsewhere(
    labels: Labels, columns: CodeColumns, names: Sequence[frozenset[str]] = ()
) -> frozenset[Dimension]:
    """Return the dimensions that other tables give to the same labels.

    Numbers must be the very same.
    """
    levels = _codes(labels.levels)
    are_numbers = _are_numbers(levels)
    named: set[Dimension] = set()
    for other, index, codes in columns:
        if not levels or not _are_known(labels, levels, codes, are_numbers):
            continue
        dimensions = named_dimensions(other.columns[index].header)
        if not are_numbers or Dimension.TREATMENT in dimensions:
            named.update(dimensions)
    if len(levels) > 1 and levels in names:
        named.add(Dimension.TREATMENT)
    return frozenset(named)


def _are_numbers(levels: Iterable[str]) -> bool:
    return all(level.isdecimal() for level in levels)


def _are_known(
    labels: Labels, levels: frozenset[str], codes: frozenset[str], are_numbers: bool
) -> bool:
    """Tell whether labels stand in another table: all of them, or those over columns of values."""
    if are_numbers:
        return levels == codes
    if labels.along == "columns":
        return len(levels & codes) > max(1.0, _SHARE_KNOWN_OVER * len(levels))
    return levels <= codes


def looked_up(
    table: Table, labels: TableLabels, columns: CodeColumns, found: Found, sheets: Sequence[Sheet]
) -> Iterator[Labels]:
    """Yield what keys and other tables say of the labels of a table."""
    earlier: set[tuple[str, ...]] = set()
    for each in labels.labels:
        for lookup in _lookups(table, labels, each, columns, sheets):
            spelled = resolve(Source((each.carrier,), lookup), table, sheets, found)
            named = _as_labels(each, lookup, spelled, labels.values)
            texts = tuple(named.labels.tolist())
            if len(named.levels) > 1 and texts not in earlier:
                earlier.add(texts)
                yield named


def _lookups(
    table: Table,
    labels: TableLabels,
    own: Labels,
    columns_of_codes: CodeColumns,
    sheets: Sequence[Sheet],
) -> Iterator[Lookup]:
    """Yield the columns of other tables that may say what the labels of one set mean."""
    headers = {tidy(column.header).casefold() for column in table.columns}
    headers.discard("")
    for other, index, codes in columns_of_codes:
        column = other.columns[index]
        if not _explains(own, other, index, codes):
            continue
        if _is_of_others(own, labels, column.header, codes):
            continue
        for result in _meanings(other, index, sheets):
            meaning = other.columns[result]
            if tidy(meaning.header).casefold() not in headers:
                yield Lookup(other.key, column.name, meaning.name)


def _explains(labels: Labels, other: Table, index: int, codes: frozenset[str]) -> bool:
    """Tell whether a column of another table holds the codes of a label set."""
    levels = _codes(labels.levels)
    if len(levels) < 2 or len(levels & codes) < _share_known(labels) * len(levels):
        return False
    if any(is_date(level) for level in labels.levels):
        return False
    if not _are_numbers(levels):
        return True
    header = tidy(other.columns[index].header)
    if header.casefold() == labels.header.casefold():
        return True
    return other.is_key and not _are_of_two_dimensions(header, labels.header)


def _are_of_two_dimensions(header: str, other: str) -> bool:
    """Tell whether both headers name dimensions, and none in common."""
    dimensions = named_dimensions(header).keys()
    others = named_dimensions(other).keys()
    return bool(dimensions) and bool(others) and not dimensions & others


def _is_of_others(
    labels: Labels, all_labels: TableLabels, header: str, codes: frozenset[str]
) -> bool:
    """Tell whether codes are those of other labels, which the header of the codes names."""
    named = named_dimensions(header).keys()
    if named & named_dimensions(labels.header).keys():
        return False
    for other in all_labels.labels:
        if named & named_dimensions(other.header).keys():
            levels = {code(level) for level in other.levels}
            if levels <= codes:
                return True
    return False


def _share_known(labels: Labels) -> float:
    """Return the share of labels that another table must hold; headers stand over labels, too."""
    if labels.along == "columns":
        return _SHARE_KNOWN_OVER
    return _SHARE_KNOWN


def _meanings(other: Table, index: int, sheets: Sequence[Sheet]) -> Iterator[int]:
    """Yield the columns whose few texts depend on the codes of a column.

    Labels written once are repeated.
    """
    codes = [code(tidy(text)) for text in column_labels(other, index, sheets)[0].tolist()]
    for result in range(len(other.columns)):
        if result == index or not _may_mean(other, result):
            continue
        texts = column_labels(other, result, sheets)[0].tolist()
        if 2 <= _number_of_meanings(codes, texts) <= _MOST_MEANINGS:
            yield result


def _number_of_meanings(codes: Sequence[str], texts: Sequence[str]) -> int:
    """Return the number of texts that codes stand for, 0 if a code has several."""
    meanings: dict[str, str] = {}
    for own_code, text in zip(codes, texts, strict=True):
        if own_code and text and meanings.setdefault(own_code, text) != text:
            return 0
    return len(set(meanings.values()))


def _may_mean(other: Table, result: int) -> bool:
    """Tell whether a column may say what codes stand for.

    It holds words, or numbers under a header that names the treatment.
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
