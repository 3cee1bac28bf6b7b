"""Labels written once for several rows: merged cells, blanks below, ditto marks."""

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.tables import Table

DITTO_WORDS = frozenset({"〃", "ditto", "do.", "do", "idem", "id.", "dito", "ídem"})
DITTO_SIGN = re.compile(
    r"[\s–—-]*(?:[\"”“„″]|''|,,|‘‘|’’)[\s–—-]*"
)  # quotation marks, between dashes or alone

FEWEST_GROUPS = 2  # groups with blanks below their label, where other groups repeat theirs

LONGEST_DITTO = 12  # letters
SEVERAL = 2  # labels with blank cells below them: their owner writes each label once


def filled_down(
    table: Table, column: int, texts: NDArray[np.object_], sheets: Sequence[Sheet]
) -> tuple[NDArray[np.object_], bool]:
    """Return the labels of a column, those written once for several rows repeated, and whether any
    was.

    texts: (rows,) as they stand, "" where blank. Blank cells are filled within a block where the
    labels of the column never repeat from one row to the next, so that its owner writes each label
    once. Where some are merged, a blank cell behind a merged one has no label.
    """
    labels = texts.copy()
    ditto = np.isin(labels, [text for text in set(labels.tolist()) if is_ditto(text)])
    labels[ditto] = ""
    blank = labels == ""
    if not blank.any():
        return labels, False
    is_merged = _merged_rows(table, column, sheets)
    if is_merged.any():
        fillable = blank & (is_merged | ditto | _is_below_unmerged(table, blank, is_merged))
    elif _is_written_once(table, labels, blank):
        fillable = blank
    else:
        fillable = ditto
    result = _forward_filled(labels, fillable, _starts(table))
    return result, bool(fillable.any())


def is_ditto(text: str) -> bool:
    """Tell whether a text is a sign or word that repeats what stands above it."""
    if len(text) > LONGEST_DITTO:
        return False
    return text.casefold() in DITTO_WORDS or DITTO_SIGN.fullmatch(text) is not None


def _is_below_unmerged(
    table: Table, blank: NDArray[np.bool_], is_merged: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Tell which rows follow a label in a cell of its own, where several labels have blank cells
    below them.
    """
    begins_merged = np.append(is_merged[1:], False)
    is_source = ~blank | _starts(table)
    in_own_cell = ~blank & ~begins_merged
    has_blank_below = in_own_cell & np.append((blank & ~_starts(table))[1:], False)
    if has_blank_below.sum() < SEVERAL:
        return np.zeros(len(blank), dtype=bool)
    sources = np.maximum.accumulate(np.where(is_source, np.arange(len(blank)), 0))
    return np.asarray(in_own_cell[sources] & ~is_merged)


def _starts(table: Table) -> NDArray[np.bool_]:
    """Tell which rows begin a block or a section."""
    starts = np.ones(len(table.row), dtype=bool)
    same_block = table.block[1:] == table.block[:-1]
    same_section = table.section[1:] == table.section[:-1]
    starts[1:] = ~(same_block & same_section)
    return starts


def _forward_filled(
    labels: NDArray[np.object_], fillable: NDArray[np.bool_], starts: NDArray[np.bool_]
) -> NDArray[np.object_]:
    """Repeat labels into the fillable rows below them, never into the next block."""
    rows = np.arange(len(labels))
    sources = np.where(fillable & ~starts, -1, rows)
    return labels[np.maximum.accumulate(sources)]


def _is_written_once(table: Table, labels: NDArray[np.object_], blank: NDArray[np.bool_]) -> bool:
    """Tell whether each block begins with a label, none repeats on the next row, and most have
    blanks below.
    """
    begins_blank = (_starts(table) & blank).any()
    if begins_blank:
        return False
    inside = ~_starts(table)[1:]
    repeats = (labels[1:] == labels[:-1]) & ~blank[1:]
    if (repeats & inside).any():
        return _follow_single_labels(repeats & inside, blank)
    written = ~blank[:-1] & inside
    blank_below = written & blank[1:]
    return bool(blank_below.sum() * 2 >= written.sum())


def _follow_single_labels(repeats: NDArray[np.bool_], blank: NDArray[np.bool_]) -> bool:
    """Tell whether several groups are blank below their label, and no blank follows a label that
    repeats.

    repeats: (rows - 1,) whether a row holds the label of the row above.
    """
    begins = blank[1:] & ~blank[:-1]
    above_repeats = np.concatenate([[False], repeats[:-1]])
    return bool(begins.sum() >= FEWEST_GROUPS and not (begins & above_repeats).any())


def _merged_rows(table: Table, column: int, sheets: Sequence[Sheet]) -> NDArray[np.bool_]:
    """Tell which rows lie in a merged cell of the column, below its first row."""
    merged = np.zeros(len(table.row), dtype=bool)
    for index, block in enumerate(table.blocks):
        letter = block.letters[column]
        in_block = table.block == index
        for first_row, first_column, last_row, last_column in sheets[block.sheet].merged:
            if not first_column <= letter <= last_column:
                continue
            merged |= in_block & (table.row > first_row) & (table.row <= last_row)
    return merged
