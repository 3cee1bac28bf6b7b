"""Numbers that are written as text, with the decimal sign that their column and sheet show."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from reportgen.importing.cells.draft import Draft
from reportgen.importing.cells.numbers import PLAIN, THREE_AFTER_POINT, Numeral, Sign, numeral_in
from reportgen.importing.model.cells import Conventions

Doubtful = Mapping[int, Mapping[str, Numeral]]  # by column and text: numbers only where they stand among numbers


@dataclass
class _Column:
    """The numerals of one column by text: plain ones apart, which need no second look in most files."""

    index: int
    plain: list[str] = field(default_factory=list)
    numerals: dict[str, Numeral] = field(default_factory=dict)

    def open_texts(self, sign: Sign) -> list[str]:
        """Return the texts that show an open sign, such as 1,307."""
        if sign is Sign.OPEN_POINT:
            plain = [text for text in self.plain if THREE_AFTER_POINT.fullmatch(text)]
            return plain + [text for text, number in self.numerals.items() if number.sign is sign]
        return [text for text, number in self.numerals.items() if number.sign is sign]

    @property
    def has_comma(self) -> bool:
        """Tell whether a number shows a decimal comma."""
        return any(number.sign is Sign.COMMA for number in self.numerals.values())

    @property
    def has_point(self) -> bool:
        """Tell whether a number shows a decimal point."""
        if any(number.sign is Sign.POINT for number in self.numerals.values()):
            return True
        return any("." in text and not THREE_AFTER_POINT.fullmatch(text) for text in self.plain)

    @property
    def has_whole(self) -> bool:
        """Tell whether a number of three digits or more has no decimal sign."""
        whole = [text for text in self.plain if "." not in text]
        return any(len(text) >= 3 for text in whole)


def read_numbers(draft: Draft, label: str, conventions: Conventions) -> Doubtful:
    """Type texts that are numbers, and return those that are numbers only among numbers.

    Notes where nothing tells whether a comma or point parts thousands or decimals.
    """
    columns = [_read_column(draft, index) for index in range(len(draft.columns))]
    told = conventions.decimal_comma.get(label, conventions.decimal_comma.get(""))
    shown = _shown_by_sheet(columns)
    undecided: list[tuple[int, str]] = []
    doubtful: dict[int, dict[str, Numeral]] = {}
    for column in columns:
        _, open_texts = _decimal_comma(column, told, shown)
        undecided += [(column.index, text) for text in open_texts]
    draft.note_open(label, "decimal_comma", undecided)
    for column in columns:
        comma, _ = _decimal_comma(column, told, shown)
        doubtful[column.index] = {text: number for text, number in column.numerals.items() if number.is_loose}
        _set_column(draft, column, comma)
    return doubtful


def _read_column(draft: Draft, index: int) -> _Column:
    column = _Column(index)
    for text in draft.columns[index].left:
        if PLAIN.fullmatch(text):
            column.plain.append(text)
        elif _may_be_number(text) and (number := numeral_in(text)):
            column.numerals[text] = number
    return column


def _may_be_number(text: str) -> bool:
    return len(text) <= 60 and any(sign.isdigit() or sign.isnumeric() for sign in text[:10])


def _shown_by_sheet(columns: list[_Column]) -> bool | None:
    """Return the decimal sign of a sheet, True for a comma, where all that show one show the same."""
    has_comma = any(column.has_comma for column in columns)
    has_point = any(column.has_point for column in columns)
    return has_comma if has_comma != has_point else None


def _decimal_comma(column: _Column, told: bool | None, shown: bool | None) -> tuple[bool, list[str]]:
    """Return whether a column has decimal commas, and the texts for which nothing tells it."""
    points, commas = column.open_texts(Sign.OPEN_POINT), column.open_texts(Sign.OPEN_COMMA)
    if not points and not commas:
        return column.has_comma, []
    own = column.has_comma if column.has_comma != column.has_point else None
    for known in (told, own, shown):
        if known is not None:
            return known, []
    if points and commas:
        return False, points + commas
    if commas:
        return not column.has_whole, commas
    may_be_thousands = column.has_whole or column.has_comma
    return False, points if may_be_thousands else []


def _set_column(draft: Draft, column: _Column, comma: bool) -> None:
    plain = column.plain
    if comma:
        plain = [text.replace(".", "") if THREE_AFTER_POINT.fullmatch(text) else text for text in plain]
    texts = draft.columns[column.index]
    texts.set_numbers(column.plain, list(map(float, plain)), plain)
    for text, number in column.numerals.items():
        if not number.is_loose:
            digits = number.comma if comma else number.point
            note_words(draft, column.index, texts.rows(text), number)
            texts.set_numbers([text], [float(digits)], [shown_text(text, number, digits)])


def shown_text(text: str, number: Numeral, digits: str) -> str:
    """Return the text of a number: its digits with a decimal point, where words stand beside it as it is written."""
    if not (number.unit or number.remark or number.bound or number.is_fraction):
        return digits
    return text.replace(",", ".", 1) if number.sign is Sign.COMMA else text


def note_words(draft: Draft, column: int, rows: Iterable[int], number: Numeral) -> None:
    """Note what stands beside a number in its cells."""
    notes = ((draft.units, number.unit), (draft.remarks, number.remark), (draft.bounds, number.bound))
    for noted, word in notes:
        if word:
            noted.update({(row + 1, column + 1): word for row in rows})
