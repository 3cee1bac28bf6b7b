"""Texts that are neither dates nor numbers by themselves: words in place of a number, numbers with words, labels.

What stands beside them in their column decides: `dead` among weights is a lost plant, and a label among labels.
"""

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


def read_words(draft: Draft, doubtful: Doubtful, conventions: Conventions) -> None:
    """Type the texts that are left, and spread all texts into their cells."""
    words: list[tuple[int, int, str, Kind | str]] = []
    numbers: list[tuple[int, int, str, Numeral]] = []
    for index, column in enumerate(draft.columns):
        loose = doubtful.get(index, {})
        meanings = {text: meaning for text in column.left if (meaning := meaning_of(text, conventions)) != ""}
        column.set_texts([text for text in column.left if text in ERRORS], Kind.MISSING)
        column.set_texts([text for text in column.left if text not in meanings and text not in loose])
        for text in column.left:
            if text in meanings:
                words += [(row, index, text, meanings[text]) for row in column.rows(text)]
            else:
                numbers += [(row, index, text, loose[text]) for row in column.rows(text)]
    draft.spread_texts()
    settled = np.where(draft.kind == Kind.MISSING, Kind.BLANK, draft.kind)
    for row, index, text, number in numbers:
        _settle_number(draft, settled, row, index, text, number)
    for row, index, text, meaning in words:
        _settle_word(draft, settled, row, index, text, meaning)


def _settle_number(draft: Draft, settled: NDArray[np.uint8], row: int, column: int, text: str, number: Numeral) -> None:
    above, below = _neighbours(settled[:, column], row)
    is_number = Kind.NUMBER in (above, below) if number.is_apart else above == Kind.NUMBER
    if is_number:
        shown = shown_text(text, number, number.point)
        draft.set_cell(row, column, Kind.NUMBER, shown, float(number.point))
        note_words(draft, column, [row], number)
    else:
        draft.set_cell(row, column, Kind.TEXT, text)


def _settle_word(
    draft: Draft, settled: NDArray[np.uint8], row: int, column: int, text: str, meaning: Kind | str
) -> None:
    above, below = _neighbours(settled[:, column], row)
    is_among = Kind.NUMBER in (above, below)
    if not is_among and below == Kind.BLANK:
        left, right = _neighbours(settled[row], column)
        is_among = left == right == Kind.NUMBER
    if not is_among:
        draft.set_cell(row, column, Kind.TEXT, text)
    elif isinstance(meaning, Kind):
        draft.set_cell(row, column, meaning, text)
    else:
        draft.set_cell(row, column, Kind.NUMBER, text, 0.0)


def _neighbours(kinds: NDArray[np.uint8], index: int) -> tuple[int, int]:
    """Return the kinds of the nearest settled cells on both sides, BLANK where there is none."""
    filled = np.flatnonzero(kinds)
    after = int(np.searchsorted(filled, index))
    first = int(kinds[filled[after - 1]]) if after else int(Kind.BLANK)
    second = int(kinds[filled[after]]) if after < filled.size else int(Kind.BLANK)
    return first, second
