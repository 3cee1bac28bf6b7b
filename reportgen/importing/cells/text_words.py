"""Texts that are neither dates nor numbers by themselves: words in place of a number, numbers with
words, labels.

What stands beside them in their column decides: `dead` among weights is a lost plant, and a label
among labels.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import filterfalse
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.cells.draft import Draft
from reportgen.importing.cells.numbers import Numeral
from reportgen.importing.cells.text_numbers import Doubtful, note_words, shown_text
from reportgen.importing.cells.words import meaning_of
from reportgen.importing.model.cells import Conventions, Kind
from reportgen.workbook.values import EXCEL_ERRORS

ERRORS: Final = frozenset(EXCEL_ERRORS)


@dataclass(frozen=True)
class _Doubt:
    """A cell, by indexes from 0, whose neighbours decide what it holds."""

    row: int
    column: int
    text: str


def read_words(draft: Draft, doubtful: Doubtful, conventions: Conventions) -> None:
    """Type the texts that are left, and spread all texts into their cells."""
    words: list[tuple[_Doubt, Kind | str]] = []
    numbers: list[tuple[_Doubt, Numeral]] = []
    for index, column in enumerate(draft.columns):
        loose = doubtful.get(index, {})
        meanings = _meanings(column.left, conventions)
        doubts = meanings.keys() | loose.keys()
        column.set_texts(list(filter(ERRORS.__contains__, column.left)), Kind.MISSING)
        column.set_texts(list(filterfalse(doubts.__contains__, column.left)))
        for text in column.left:
            cells = [_Doubt(row, index, text) for row in column.rows(text)]
            if text in meanings:
                words += [(cell, meanings[text]) for cell in cells]
            else:
                numbers += [(cell, loose[text]) for cell in cells]
    draft.spread_texts()
    settled = np.where(draft.kind == Kind.MISSING, Kind.BLANK, draft.kind)
    for cell, number in numbers:
        _settle_number(draft, settled, cell, number)
    for cell, meaning in words:
        _settle_word(draft, settled, cell, meaning)


def _meanings(texts: Iterable[str], conventions: Conventions) -> dict[str, Kind | str]:
    """Return what words in place of numbers mean, without texts that are no such words."""
    meanings = {}
    for text in texts:
        meaning = meaning_of(text, conventions)
        if meaning != "":
            meanings[text] = meaning
    return meanings


def _settle_number(draft: Draft, settled: NDArray[np.uint8], cell: _Doubt, number: Numeral) -> None:
    above, below = _neighbours(settled[:, cell.column], cell.row)
    if number.is_apart:
        is_number = Kind.NUMBER in (above, below)
    else:
        is_number = above == Kind.NUMBER
    if not is_number:
        draft.set_cell(cell.row, cell.column, Kind.TEXT, cell.text)
        return
    shown = shown_text(cell.text, number, number.point)
    draft.set_cell(cell.row, cell.column, Kind.NUMBER, shown, float(number.point))
    note_words(draft, cell.column, [cell.row], number)


def _settle_word(
    draft: Draft, settled: NDArray[np.uint8], cell: _Doubt, meaning: Kind | str
) -> None:
    above, below = _neighbours(settled[:, cell.column], cell.row)
    is_among = Kind.NUMBER in (above, below)
    if not is_among and below == Kind.BLANK:
        left, right = _neighbours(settled[cell.row], cell.column)
        is_among = left == right == Kind.NUMBER
    if not is_among:
        draft.set_cell(cell.row, cell.column, Kind.TEXT, cell.text)
    elif isinstance(meaning, Kind):
        draft.set_cell(cell.row, cell.column, meaning, cell.text)
    else:
        draft.set_cell(cell.row, cell.column, Kind.NUMBER, cell.text, 0.0)


def _neighbours(kinds: NDArray[np.uint8], index: int) -> tuple[int, int]:
    """Return the kinds of the nearest settled cells on both sides, BLANK where there is none."""
    filled = np.flatnonzero(kinds)
    after = int(np.searchsorted(filled, index))
    if after:
        first = int(kinds[filled[after - 1]])
    else:
        first = int(Kind.BLANK)
    if after < filled.size:
        second = int(kinds[filled[after]])
    else:
        second = int(Kind.BLANK)
    return first, second
