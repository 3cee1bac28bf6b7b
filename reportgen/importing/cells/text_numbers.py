"""Numbers that are written as text, with the decimal sign that their column and sheet show."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import isfinite
from typing import Final

import numpy as np

from reportgen.importing.cells.draft import Draft
from reportgen.importing.cells.numbers import PLAIN, THREE_AFTER_POINT, Numeral, Sign, numeral_in
from reportgen.importing.model.cells import Conventions

Doubtful = Mapping[
    int, Mapping[str, Numeral]
]  # by column and text: numbers only where they stand among numbers
LONGEST: Final = 60  # letters of a number with words; more are a remark
# times the largest other number of a column: no harvest of a trial differs so from the others
FAR: Final = 30


@dataclass
class _Column:
    """The numerals of one column by text; those in plain digits apart, which need no second look in
    most files.
    """

    index: int
    plain: list[str] = field(default_factory=list)
    numerals: dict[str, Numeral] = field(default_factory=dict)
    largest: float = 0.0

    def texts(self, *signs: Sign) -> list[str]:
        """Return the texts that show one of some signs."""
        return [text for text, number in self.numerals.items() if number.sign in signs]

    @property
    def shown(self) -> set[Sign]:
        """Return which decimal signs its numbers show for sure."""
        signs = {number.sign for number in self.numerals.values()} & {Sign.POINT, Sign.COMMA}
        if any("." in text for text in self.plain):
            return signs | {Sign.POINT}
        return signs

    @property
    def has_whole(self) -> bool:
        """Tell whether a number of three digits or more has no decimal sign."""
        return any("." not in text and len(text) >= 3 for text in self.plain)


def read_numbers(draft: Draft, label: str, conventions: Conventions) -> Doubtful:
    """Type texts that are numbers, and return those that are numbers only among numbers.

    Notes where nothing tells whether a comma or point parts thousands or decimals.
    """
    columns = [_read_column(draft, index) for index in range(len(draft.columns))]
    told = conventions.decimal_comma.get(label, conventions.decimal_comma.get(""))
    shown = _is_comma(set().union(*(column.shown for column in columns)))
    undecided: list[tuple[int, str]] = []
    doubtful: dict[int, dict[str, Numeral]] = {}
    chosen: list[bool] = []
    for column in columns:
        comma, open_texts = _decimal_comma(column, told, shown)
        chosen.append(comma)
        undecided += [(column.index, text) for text in open_texts]
        doubtful[column.index] = {
            text: number for text, number in column.numerals.items() if number.is_loose
        }
    draft.note_open(label, "decimal_comma", undecided)
    for column, comma in zip(columns, chosen, strict=True):
        _set_column(draft, column, comma)
    return doubtful


def _read_column(draft: Draft, index: int) -> _Column:
    column = _Column(index)
    for text in draft.columns[index].left:
        if THREE_AFTER_POINT.fullmatch(text):
            column.numerals[text] = Numeral(Sign.OPEN_POINT, text, text.replace(".", ""))
        elif PLAIN.fullmatch(text):
            if isfinite(float(text)):  # 1e400 is beyond all numbers, and stays a text
                column.plain.append(text)
        elif (number := _numeral(text)) is not None:
            column.numerals[text] = number
    sure = [
        float(text) for text in (*column.plain, *map(_digits, column.numerals.values())) if text
    ]
    native = np.nan_to_num(draft.number[:, index])
    column.largest = float(np.abs([*sure, native.max(initial=0)]).max())
    return column


def _numeral(text: str) -> Numeral | None:
    """Return the number that a short text holds, None where it holds none or one beyond all
    numbers.
    """
    if len(text) > LONGEST or not any(letter.isnumeric() for letter in text):
        return None
    number = numeral_in(text)
    if number is not None and isfinite(float(number.point)):
        return number
    return None


def _digits(number: Numeral) -> str:
    if number.point == number.comma:
        return number.point
    return ""


def _is_comma(signs: set[Sign]) -> bool | None:
    """Return whether decimal signs are commas, None where none is shown or both are."""
    if len(signs) == 1:
        return Sign.COMMA in signs
    return None


def _decimal_comma(
    column: _Column, told: bool | None, shown: bool | None
) -> tuple[bool, list[str]]:
    """Return whether a column has decimal commas, and the texts for which nothing tells it."""
    if told is not None:
        return told, []
    is_comma = _is_comma(column.shown)
    if is_comma is None:
        is_comma = shown
    points, commas = column.texts(Sign.OPEN_POINT), column.texts(Sign.OPEN_COMMA)
    if is_comma is None:
        return _likely_comma(column, points, commas)
    thousands = commas
    if is_comma:
        thousands = points
    if _are_far_above(column, thousands):
        return not is_comma, thousands
    return is_comma, []


def _likely_comma(column: _Column, points: list[str], commas: list[str]) -> tuple[bool, list[str]]:
    """Return the same for a column whose numbers may all be thousands."""
    if points and commas:
        return False, points + commas
    if commas:
        return not column.has_whole, commas
    if column.has_whole:
        return False, points
    return False, []


def _are_far_above(column: _Column, thousands: list[str]) -> bool:
    """Tell whether texts, with thousands in them, are far above all other numbers of a column, so
    that they are not.
    """
    values = [float(re.sub("[^0-9]", "", text)) for text in thousands]
    return bool(values) and 0 < column.largest * FAR < min(values)


def _set_column(draft: Draft, column: _Column, comma: bool) -> None:
    texts = draft.columns[column.index]
    texts.set_numbers(column.plain, list(map(float, column.plain)), column.plain)
    sure: list[str] = []
    digits: list[str] = []
    shown: list[str] = []
    for text, number in column.numerals.items():
        if number.is_loose:
            continue
        written = number.point
        if comma:
            written = number.comma
        sure.append(text)
        digits.append(written)
        shown.append(shown_text(text, number, written))
    texts.set_numbers(sure, list(map(float, digits)), shown)
    for text in sure:
        number = column.numerals[text]
        if number.unit or number.remark or number.bound:
            note_words(draft, column.index, texts.rows(text), number)


def shown_text(text: str, number: Numeral, digits: str) -> str:
    """Return the text of a number: its digits with a decimal point, where words stand beside it as
    it is written.
    """
    if not (number.unit or number.remark or number.bound or number.is_fraction):
        return digits
    if number.sign is Sign.COMMA:
        return text.replace(",", ".", 1)
    return text


def note_words(draft: Draft, column: int, rows: Iterable[int], number: Numeral) -> None:
    """Note what stands beside a number in its cells."""
    notes = (
        (draft.units, number.unit),
        (draft.remarks, number.remark),
        (draft.bounds, number.bound),
    )
    for noted, word in notes:
        if word:
            noted.update({(row + 1, column + 1): word for row in rows})
