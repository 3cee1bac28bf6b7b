"""The cells of a table's values, and the labels of each cell as whole numbers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind
from reportgen.importing.model.claims import Labels, TableLabels
from reportgen.importing.model.layouts import Dimension, Source, Values
from reportgen.importing.model.tables import Table

Codes = NDArray[np.intp]


@dataclass(frozen=True)
class Grid:
    """The cells with numbers or lost plants among the value columns of a table.

    `rows` and `columns` (cells,) are indexes into the table. `group` (cells,) tells cells apart
    whose coordinates may be equal, as they hold different quantities. `numbers` (cells,) are nan
    for a lost plant. `is_wide` tells whether a quantity has several columns.
    """

    rows: NDArray[np.intp]
    columns: NDArray[np.intp]
    group: Codes
    numbers: NDArray[np.float64]
    positions: Mapping[int, int]
    is_wide: bool

    @property
    def size(self) -> int:
        """Return the number of cells."""
        return len(self.rows)


@dataclass(frozen=True)
class LabelSet:
    """The labels of one source over the cells of a grid; `labels` are those of its first carrier.

    `codes` (cells,) are indexes into `levels`, -1 where there is no label. `named` are the
    dimensions that other tables' headers give to the same labels. `gives` is the sheet that the
    table gives. `parts` is the number of parts of the label that these are one of, 0 for a whole
    label; `whole_levels` how many labels that has. `is_behind_values` tells that their column
    stands right of a value column.
    """

    source: Source
    labels: Labels
    codes: Codes
    levels: tuple[str, ...]
    gives: str
    cells: int
    named: frozenset[Dimension] = field(default_factory=frozenset)
    parts: int = 0
    whole_levels: int = 0
    is_behind_values: bool = False

    @property
    def is_last_part(self) -> bool:
        """Tell whether the labels are the last of several parts."""
        return self.parts > 1 and self.labels.carrier.part == self.parts

    @property
    def blank_share(self) -> float:
        """Return the share of the cells without a label."""
        if len(self.codes):
            return float((self.codes < 0).mean())
        return 1.0

    @property
    def is_number(self) -> bool:
        """Tell whether all labels are whole numbers."""
        return all(level.isdecimal() for level in self.levels)


def grid_of(
    table: Table, labels: TableLabels, values: Sequence[Values], indexes: Mapping[str, int]
) -> Grid:
    """Return the cells of some values; of quantities with one column each only the fullest.

    `indexes` are those of the columns by name.
    """
    narrow: list[int] = []
    groups: list[list[int]] = []
    for each in values:
        columns = [indexes[name] for name in each.columns if name in indexes]
        if len(columns) == 1:
            narrow.extend(columns)
        elif columns:
            groups.append(columns)
    is_wide = bool(groups)
    if narrow:
        groups.append([_fullest(table, narrow)])
    group_of: dict[int, int] = {}
    for index, columns in enumerate(groups):
        group_of |= dict.fromkeys(columns, index)
    chosen = list(group_of)
    kind = table.kind[:, chosen]
    rows, positions = np.nonzero((kind == Kind.NUMBER) | (kind == Kind.LOST))
    columns_of = np.array(chosen, dtype=np.intp)[positions]
    group = np.array(list(group_of.values()), dtype=np.intp)[positions]
    numbers = table.number[rows, columns_of]
    places = {column: position for position, column in enumerate(labels.values)}
    return Grid(rows, columns_of, group, numbers, places, is_wide)


def _fullest(table: Table, columns: Sequence[int]) -> int:
    """Return the column with most numbers, the first of several."""
    counts = (table.kind[:, list(columns)] == Kind.NUMBER).sum(axis=0)
    return columns[int(np.argmax(counts))]


def label_set(
    labels: Labels, grid: Grid, gives: str, named: frozenset[Dimension] = frozenset()
) -> LabelSet:
    """Return the labels of a carrier over the cells of a grid."""
    codes, levels = codes_of(labels, grid)
    source = Source((labels.carrier,), labels.lookup)
    return LabelSet(source, labels, codes, levels, gives, grid.size, named)


def codes_of(labels: Labels, grid: Grid) -> tuple[Codes, tuple[str, ...]]:
    """Return the code of each cell's label and the levels that the codes count, in order of
    appearance.
    """
    import pandas

    if labels.along == "cells":
        texts = labels.labels[grid.rows, grid.columns]
    elif labels.along == "columns":
        positions = [grid.positions[int(column)] for column in grid.columns]
        texts = labels.labels[positions]
    else:
        texts = labels.labels[grid.rows]
    codes, levels = pandas.factorize(texts)
    is_known = levels != ""
    new_codes = np.where(is_known, np.cumsum(is_known) - 1, -1).astype(np.intp)
    return new_codes[codes], tuple(levels[is_known].tolist())


def combined(codes: Sequence[Codes], size: int) -> Codes:
    """Return one code for each combination of some codes, (cells,)."""
    import pandas

    result = np.zeros(size, dtype=np.int64)
    for each in codes:
        wide = result * (int(each.max(initial=-1)) + 2) + each + 1
        result = pandas.factorize(wide)[0].astype(np.int64)
    return result.astype(np.intp)


def is_function(of: Codes, to: Codes) -> bool:
    """Tell whether each label of one set goes with one label of the other; blanks don't count."""
    known = (of >= 0) & (to >= 0)
    pairs = combined([of[known], to[known]], int(known.sum()))
    return len(np.unique(pairs)) == len(np.unique(of[known]))


def share_astray(of: Codes, to: Codes) -> float:
    """Return the share of cells whose label of the other set is not the commonest one of their own
    label.
    """
    known = (of >= 0) & (to >= 0)
    total = int(known.sum())
    if not total:
        return 0.0
    pairs, counts = np.unique(np.stack([of[known], to[known]]), axis=1, return_counts=True)
    commonest = np.zeros(int(of.max()) + 1, dtype=np.intp)
    np.maximum.at(commonest, pairs[0], counts)
    return 1.0 - int(commonest.sum()) / total
