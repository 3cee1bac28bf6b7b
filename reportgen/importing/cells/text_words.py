"""Texts that are neither dates nor numbers by themselves: words in place of a number, numbers with words, labels.

What stands beside them in their column decides: `dead` among weights is a lost plant, and a label among labels.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.cells.draft import Draft
from reportgen.importing.cells.numbers import Numeral
from reportgen.importing.cells.text_numbers import Doubtful, note_words, shown_text
from reportgen.importing.cells.words import ZERO, meaning_of
from reportgen.importing.model.cells import Conventions, Kind
from reportgen.workbook.values import EXCEL_ERRORS

ERRORS: Final = frozenset(EXCEL_ERRORS)


def read_words(draft: Draft, doubtful: Doubtful, conventions: Conventions) -> None:
    """Type the texts that are left."""
    words: list[tuple[int, int, str, Kind | str]] = []
    numbers: list[tuple[int, int, str, Numeral]] = []
    for column, pending in enumerate(draft.pending):
        texts: list[str] = []
        rows: list[int] = []
        for text, places in pending.items():
            number = doubtful.get(column, {}).get(text)
            word = meaning_of(text, conventions)
            if text in ERRORS:
                draft.set_texts(column, places, [text] * len(places), Kind.MISSING)
            elif word != "":
                words += [(column, row, text, word) for row in places]
            elif number is not None:
                numbers += [(column, row, text, number) for row in places]
            else:
                rows += places
                texts += [text] * len(places)
        pending.clear()
        if rows:
            draft.set_texts(column, rows, texts)
    settled = draft.kind.copy()
    settled[settled == Kind.MISSING] = Kind.BLANK
    _settle_numbers(draft, settled, numbers)
    _settle_words(draft, settled, words)


def _settle_numbers(draft: Draft, settled: NDArray[np.uint8], numbers: list[tuple[int, int, str, Numeral]]) -> None:
    for column, row, text, number in numbers:
        above, below = _neighbours(settled[:, column], row)
        is_number = Kind.NUMBER in (above, below) if number.is_apart else above == Kind.NUMBER
        if is_number:
            draft.set_numbers(column, [row], [float(number.point)], [shown_text(text, number, number.point)])
            note_words(draft, column, [row], number)
        else:
            draft.set_texts(column, [row], [text])


def _settle_words(draft: Draft, settled: NDArray[np.uint8], words: list[tuple[int, int, str, Kind | str]]) -> None:
    for column, row, text, meaning in words:
        above, below = _neighbours(settled[:, column], row)
        is_among = Kind.NUMBER in (above, below)
        if not is_among and below == Kind.BLANK:
            left, right = _neighbours(settled[row], column)
            is_among = left == right == Kind.NUMBER
        if not is_among:
            draft.set_texts(column, [row], [text])
        elif isinstance(meaning, Kind):
            draft.set_texts(column, [row], [text], meaning)
        else:
            draft.set_numbers(column, [row], [0.0], [text])


def _neighbours(kinds: NDArray[np.uint8], index: int) -> tuple[int, int]:
    """Return the kinds of the nearest settled cells on both sides, BLANK where there is none."""
    filled = np.flatnonzero(kinds)
    after = int(np.searchsorted(filled, index))
    first = int(kinds[filled[after - 1]]) if after else int(Kind.BLANK)
    second = int(kinds[filled[after]]) if after < filled.size else int(Kind.BLANK)
    return first, second
