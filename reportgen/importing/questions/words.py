"""Words among numbers, and cells that can be read in two ways: asked by word and by sheet."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

import numpy as np

from reportgen.importing.cells import date_in
from reportgen.importing.model.cells import Conventions, Kind, OpenConvention
from reportgen.importing.model.layouts import (
    NOTHING,
    Blank,
    Carrier,
    CarrierKind,
    Corrected,
    Dimension,
    Layout,
)
from reportgen.importing.model.questions import Question, Slot, own_word
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Block, Table
from reportgen.importing.questions.situation import (
    Part,
    Situation,
    is_to_explain,
    layout_of,
    value_columns,
)
from reportgen.language import marked, plural, say

MISSING: Final = Blank.MISSING.value
LOST: Final = Blank.LOST.value
ZERO: Final = Blank.ZERO.value
TWO_WAYS: Final = {
    "day_first": ((marked("day first"), True), (marked("month first"), False)),
    "decimal_comma": ((marked("decimal comma"), True), (marked("thousands comma"), False)),
}
ASKED: Final = {
    "day_first": marked("Which comes first in the dates of {sheet}, such as {texts}?"),
    "decimal_comma": marked("What does the comma do in the numbers of {sheet}, such as {texts}?"),
    "year": marked("In which year were the dates of {sheet}, such as {texts}?"),
}
NUMBER: Final = re.compile(r"\d+(?:[.,]\d+)?")


def decimal_questions(situation: Situation) -> tuple[Question, ...]:
    """Return what the comma stands for on sheets whose tables are read.

    Without it there are no figures.
    """
    sheets: set[int] = set()
    for part in situation.parts:
        layout = layout_of(part)
        if layout is not None and layout.gives != NOTHING:
            sheets.update(block.sheet for block in part.table.blocks)
    asked: list[Question] = []
    for index in sorted(sheets):
        for convention in situation.sheets[index].open:
            if convention.what == "decimal_comma":
                asked.append(_convention(situation.settings, convention))
    return tuple(asked)


def date_questions(situation: Situation) -> tuple[Question, ...]:
    """Return in which order and year dates are written, if they tell days of values."""
    asked: dict[str, Question] = {}
    for part in situation.parts:
        for index, convention in _open_dates(situation, part):
            if _is_of_occasions(situation, part, index, convention):
                default = _within_trial(situation, convention)
                question = _convention(situation.settings, convention, default)
                asked[question.key] = question
    return tuple(asked.values())


def _open_dates(situation: Situation, part: Part) -> list[tuple[int, OpenConvention]]:
    conventions = []
    for index in dict.fromkeys(block.sheet for block in part.table.blocks):
        for convention in situation.sheets[index].open:
            if convention.what in ("day_first", "year"):
                conventions.append((index, convention))
    return conventions


def _is_of_occasions(
    situation: Situation, part: Part, index: int, convention: OpenConvention
) -> bool:
    """Tell whether a cell with an open date tells the day of values of a table."""
    for cell in convention.cells:
        row, column, *_ = situation.sheets[index].area(cell)
        if _is_occasion(part, index, row, column):
            return True
    return False


def _is_occasion(part: Part, sheet: int, row: int, column: int) -> bool:
    """Tell whether a cell tells the day of values: in a column, or in a header row over them."""
    if part.layout is None or Dimension.OCCASION not in part.layout.dimensions:
        return False
    carriers = part.layout.dimensions[Dimension.OCCASION].carriers
    blocks = [block for block in part.table.blocks if block.sheet == sheet]
    for carrier in carriers:
        for block in blocks:
            if _is_carried(part, block, carrier, row, column):
                return True
    return False


def _is_carried(part: Part, block: Block, carrier: Carrier, row: int, column: int) -> bool:
    """Tell whether a cell of a block holds a label of a carrier."""
    if carrier.kind is CarrierKind.COLUMN:
        return carrier.name in _names_at(part, block, column)
    return carrier.kind is CarrierKind.OVER and row in block.header_rows


def _names_at(part: Part, block: Block, letter: int) -> set[str]:
    """Return the names of the table's columns that stand in a column of the sheet."""
    pairs = zip(part.table.columns, block.letters, strict=True)
    return {column.name for column, own_letter in pairs if own_letter == letter}


def _within_trial(situation: Situation, convention: OpenConvention) -> str | None:
    """Return the only order in which dates lie within the trial of the workbook beside them."""
    if convention.what != "day_first" or situation.book is None:
        return None
    start = situation.book.fields.get("Started on")
    end = situation.book.fields.get("Harvested on") or date.max
    if not isinstance(start, date) or not isinstance(end, date):
        return None
    fitting = []
    for answer, day_first in TWO_WAYS[convention.what]:
        days = _days_written(convention.texts, day_first=day_first)
        if _are_between(days, start, end):
            fitting.append(answer)
    if len(fitting) == 1:
        return fitting[0]
    return None


def _are_between(days: Sequence[date], start: date, end: date) -> bool:
    return bool(days) and start <= min(days) and max(days) <= end


def _days_written(texts: Sequence[str], *, day_first: bool) -> list[date]:
    """Return the days that texts name in an order of day and month, those that have one."""
    days = []
    for text in texts:
        match = date_in(text)
        if match is None:
            continue
        day = match[0].day(day_first)
        if day is not None:
            days.append(day)
    return days


def _convention(
    settings: Settings, open_convention: OpenConvention, default: str | None = None
) -> Question:
    sheet = open_convention.sheet
    what = open_convention.what
    key = f"convention.{sheet}.{what}"
    texts = ", ".join(open_convention.texts[:3])
    ask = say(ASKED[what], sheet=sheet, texts=texts)
    where = tuple(f"{sheet}!{cell}" for cell in open_convention.cells[:3])
    choices = []
    for text, value in TWO_WAYS.get(what, ()):
        choices.append(own_word(text, _with_convention(settings, what, sheet, value)))
    if choices:
        return Question(key, Slot.CONVENTION, ask, where, tuple(choices), default)

    def accept(text: str) -> Settings:
        if not text.strip().isdigit() or len(text.strip()) != 4:
            raise ValueError(say("a year of four digits, such as 2025"))
        return _with_convention(settings, what, sheet, int(text))

    return Question(key, Slot.CONVENTION, ask, where, (), None, True, accept)


def _with_convention(settings: Settings, what: str, sheet: str, value: bool | int) -> Settings:
    conventions = settings.conventions
    if what == "year":
        changed = replace(conventions, year={**conventions.year, sheet: int(value)})
    elif what == "day_first":
        changed = replace(conventions, day_first={**conventions.day_first, sheet: bool(value)})
    else:
        commas = {**conventions.decimal_comma, sheet: bool(value)}
        changed = replace(conventions, decimal_comma=commas)
    return replace(settings, conventions=changed)


def word_questions(situation: Situation) -> tuple[Question, ...]:
    """Return what words and signs among the values of the tables stand for.

    A sign such as `-` that counts as missing is asked where another meaning changes a figure.
    """
    places: dict[str, list[str]] = {}
    signs: set[str] = set()
    for part in situation.parts:
        if not is_to_explain(part):
            continue
        for word in _words_in(situation, part):
            places.setdefault(word.text, []).append(word.place)
            if word.kind != Kind.TEXT:
                signs.add(word.text)
    asked = []
    for text, cells in places.items():
        question = _word(situation, text, cells)
        if text not in signs or _differs(question):
            asked.append(question)
    return tuple(asked)


def _differs(question: Question) -> bool:
    return any(choice.gives != question.choices[0].gives for choice in question.choices)


@dataclass(frozen=True)
class _Word:
    """A word or sign among values: its text in small letters, its kind and its cell."""

    text: str
    kind: int
    place: str


def _words_in(situation: Situation, part: Part) -> Iterator[_Word]:
    """Yield each word among values that its owner did not explain."""
    if part.layout is None:
        return
    names = value_columns(part.layout)
    corrected = {each.cell for each in part.layout.corrected}
    for index, column in enumerate(part.table.columns):
        if column.name not in names:
            continue
        for word in _words_of_column(situation, part.table, index):
            if word.place not in corrected and not _is_settled(situation.settings, word):
                yield word


def _words_of_column(situation: Situation, table: Table, index: int) -> Iterator[_Word]:
    """Yield the words and signs of one column."""
    kinds = table.kind[:, index]
    for row in np.flatnonzero(np.isin(kinds, (Kind.TEXT, Kind.MISSING))):
        text = str(table.text[row, index]).strip().casefold()
        block = table.blocks[table.block[row]]
        sheet = situation.sheets[block.sheet]
        cell = sheet.address(int(table.row[row]), block.letters[index])
        yield _Word(text, int(kinds[row]), f"{sheet.label}!{cell}")


def _is_settled(settings: Settings, word: _Word) -> bool:
    """Tell whether the owner explained a word, or it is one for missing, such as `n/a`."""
    conventions = settings.conventions
    if word.text in (*conventions.missing, *conventions.lost, *conventions.zero):
        return True
    return word.kind == Kind.MISSING and any(map(str.isalpha, word.text))


def _word(situation: Situation, word: str, cells: list[str]) -> Question:
    choices = []
    for answer in (MISSING, LOST, ZERO):
        settings = _with_word(situation.settings, word, answer)
        guess = replace(situation.guess, conventions=settings.conventions)
        choices.append(own_word(answer, settings, situation.figures(guess)))
    ask = plural(
        'What does "{word}" mean among the numbers ({number} cell)?',
        'What does "{word}" mean among the numbers ({number} cells)?',
        len(cells),
        word=word,
    )

    def accept(text: str) -> Settings:
        return _with_number(situation, cells, text.strip())

    hint = say("Or type the number that it stands for.")
    where = tuple(cells[:5])
    key = f"word.{word}"
    return Question(key, Slot.WORD, ask, where, tuple(choices), None, True, accept, hint)


def _with_number(situation: Situation, cells: list[str], text: str) -> Settings:
    """Return settings in which the cells of a word hold a number.

    Raises ValueError where the text is none.
    """
    if not NUMBER.fullmatch(text):
        raise ValueError(say("not measured, plant lost, nothing there, or a number such as 15.5"))
    layouts = []
    for layout in situation.settings.layouts:
        if layout.gives == NOTHING:
            layouts.append(layout)
        else:
            layouts.append(_with_corrected(situation, layout, cells, text))
    return replace(situation.settings, layouts=tuple(layouts))


def _with_corrected(situation: Situation, layout: Layout, cells: list[str], text: str) -> Layout:
    """Return a layout in which those cells that are on its sheets hold a number."""
    blocks = situation.table(layout.table).blocks
    sheets = {situation.sheets[block.sheet].label for block in blocks}
    corrected = list(layout.corrected)
    for cell in cells:
        if cell.rpartition("!")[0] in sheets:
            corrected.append(Corrected(cell, situation.text_at(cell), text))
    return replace(layout, corrected=tuple(corrected))


def _with_word(settings: Settings, word: str, answer: str) -> Settings:
    conventions: Conventions = settings.conventions
    if answer == MISSING:
        changed = replace(conventions, missing=(*conventions.missing, word))
    elif answer == LOST:
        changed = replace(conventions, lost=(*conventions.lost, word))
    else:
        changed = replace(conventions, zero=(*conventions.zero, word))
    return replace(settings, conventions=changed)
