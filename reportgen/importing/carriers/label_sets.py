"""Every label set of a table, with its levels and parts, and the columns that may hold values."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.carriers.colours import colour_labels
from reportgen.importing.carriers.parts import HALF, MOST, numbered_within, split_levels
from reportgen.importing.carriers.texts import (
    UnknownCarrier,
    block_labels,
    column_labels,
    levels_of,
    number_columns,
    over_labels,
    tidied,
    tidy,
)
from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.claims import Labels, TableLabels
from reportgen.importing.model.layouts import Carrier, CarrierKind
from reportgen.importing.model.tables import Table

_ISO_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_FEWEST_IN_A_COLOUR = 0.1  # share of the rows: fewer are marked for something else
_MOST_DECIMAL_LEVELS = 24  # numbers with decimals that take more values than that are no labels


def labels_of(table: Table, sheets: Sequence[Sheet]) -> TableLabels:
    """Return all label sets of a table, the parts of labels after the whole, and its columns of
    numbers.
    """
    values = number_columns(table)
    whole = [*_columns(table, sheets), *_blocks(table, sheets), *_headers(table, values, sheets)]
    whole.extend(_colours(table, values, sheets))
    measured = _measured_columns(table, values)
    labels: list[Labels] = []
    for one in whole:
        labels.append(one)
        if one.carrier not in measured and one.carrier.kind is not CarrierKind.COLOUR:
            labels.extend(_parts(one))
    return TableLabels(table.key, tuple(labels), values)


def _measured_columns(table: Table, values: Sequence[int]) -> set[Carrier]:
    """Return the columns of numbers that number no things within things: their texts have no parts."""
    measured = set()
    for index in values:
        if not numbered_within(levels_of(table.text[:, index])):
            measured.add(Carrier(CarrierKind.COLUMN, table.columns[index].name))
    return measured


def _columns(table: Table, sheets: Sequence[Sheet]) -> Iterator[Labels]:
    """Yield the labels of each column that may hold labels."""
    for index, column in enumerate(table.columns):
        if not _may_label(table, index):
            continue
        labels, filled = column_labels(table, index, sheets)
        carrier = Carrier(CarrierKind.COLUMN, column.name)
        yield _label_set(carrier, labels, header=tidy(column.header), filled=filled)


def _may_label(table: Table, index: int) -> bool:
    """Tell whether a column may hold labels: anything but blanks and many numbers with decimals."""
    kind = table.kind[:, index]
    if not (kind != Kind.BLANK).any():
        return False
    numbers = table.number[kind == Kind.NUMBER, index]
    with_decimals = numbers != np.floor(numbers)
    if not with_decimals.any():
        return True
    if len(np.unique(numbers)) <= max(_MOST_DECIMAL_LEVELS, len(numbers) // 3):
        return True
    return numbered_within(levels_of(table.text[:, index]))


def _blocks(table: Table, sheets: Sequence[Sheet]) -> Iterator[Labels]:
    """Yield the labels that hold for whole blocks or sections."""
    section = tidied(table.section)
    if (section != "").any():
        yield _label_set(Carrier(CarrierKind.SECTION), section)
    seen: list[tuple[str, ...]] = []
    for carrier in _block_carriers(table, sheets):
        labels = block_labels(table, carrier, sheets)
        if not (labels != "").any() or _says_the_same(labels, seen):
            continue
        if carrier.kind is CarrierKind.FILE and len(set(labels.tolist())) == 1:
            continue
        seen.append(tuple(labels.tolist()))
        yield _label_set(carrier, labels[table.block], header=carrier.name)


def _block_carriers(table: Table, sheets: Sequence[Sheet]) -> list[Carrier]:
    """Return what may label blocks: fields, titles, sheets, files."""
    names: dict[str, None] = {}
    for block in table.blocks:
        names |= dict.fromkeys(block.fields)
    carriers = [Carrier(CarrierKind.TITLE, name) for name in names]
    carriers.append(Carrier(CarrierKind.TITLE))
    if not _is_a_file_each(table, sheets):
        carriers.append(Carrier(CarrierKind.SHEET))
    carriers.append(Carrier(CarrierKind.FILE))
    return carriers


def _is_a_file_each(table: Table, sheets: Sequence[Sheet]) -> bool:
    """Tell whether a table has several sheets, each of its own file, so that the files' names say
    more.
    """
    places = {block.sheet for block in table.blocks}
    files = {sheets[place].file for place in places}
    return len(places) > 1 and len(files) == len(places)


def _says_the_same(labels: NDArray[np.object_], seen: Sequence[tuple[str, ...]]) -> bool:
    """Tell whether other labels of the blocks are the same, or the same behind a word: `Treatment:
    fan`.
    """
    for others in seen:
        pairs = zip(labels.tolist(), others, strict=True)
        if all(label.endswith(other) and (other or not label) for label, other in pairs):
            return True
    return False


def _headers(table: Table, values: Sequence[int], sheets: Sequence[Sheet]) -> Iterator[Labels]:
    """Yield the labels of each header level over the columns of numbers."""
    if not values:
        return
    chosen = np.array(values, dtype=np.intp)
    levels = len(table.blocks[0].header_rows)
    for level in range(1, levels + 1):
        labels = over_labels(table, level, sheets)[chosen]
        carrier = Carrier(CarrierKind.OVER, str(level))
        yield _label_set(carrier, labels, along="columns")


def _colours(table: Table, values: Sequence[int], sheets: Sequence[Sheet]) -> Iterator[Labels]:
    """Yield the colours of the rows, or of the columns of numbers, where each of several has a good
    share.
    """
    try:
        found = colour_labels(table, sheets)
    except UnknownCarrier:
        return
    carrier = Carrier(CarrierKind.COLOUR)
    if found.shape[1] == 1:
        labels = _label_set(carrier, found[:, 0])
    elif found.shape[0] == 1:
        labels = _label_set(carrier, found[0, list(values)], along="columns")
    else:
        labels = _label_set(carrier, found, along="cells")
    of_values = np.broadcast_to(found, table.text.shape)[:, list(values)]
    counts = Counter(of_values.ravel().tolist())
    if len(counts) > 1 and min(counts.values()) >= _FEWEST_IN_A_COLOUR * counts.total():
        yield labels


def _parts(whole: Labels) -> Iterator[Labels]:
    """Yield the parts of a label set, where one pattern fits all its labels."""
    if all(_ISO_DATE.match(level) for level in whole.levels):
        return  # a day has no parts: its month and its day place nothing
    if whole.along == "columns":
        share = HALF
    else:
        share = MOST
    parts = split_levels(whole.levels, share)
    for number, part in enumerate(parts, start=1):
        found = [part.texts.get(label, "") for label in whole.labels.tolist()]
        labels = np.array(found, dtype=object)
        carrier = Carrier(whole.carrier.kind, whole.carrier.name, number)
        yield _label_set(carrier, labels, whole.along, part.word, whole.filled)


def _label_set(
    carrier: Carrier,
    labels: NDArray[np.object_],
    along: str = "rows",
    header: str = "",
    filled: bool = False,
) -> Labels:
    """Return a label set with its levels in order of appearance."""
    return Labels(carrier, labels, levels_of(labels), along, header, filled)
