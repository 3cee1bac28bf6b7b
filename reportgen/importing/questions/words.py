"""Words among numbers, and cells that can be read in two ways: asked by word and by sheet."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Final

import numpy as np

from reportgen.importing.cells import date_in
from reportgen.importing.model.cells import Conventions, Kind, OpenConvention
from reportgen.importing.model.layouts import NOTHING, Blank, CarrierKind, Corrected, Dimension
from reportgen.importing.model.questions import Question, Slot, own_word
from reportgen.importing.model.settings import Settings
from reportgen.importing.questions.situation import Part, Situation, is_to_explain, layout_of
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
    """Return what the comma stands for on sheets whose tables are read: without it there are no
    figures.
    """
    sheets: set[int] = set()
    for part in situation.parts:
        layout = layout_of(part)
        if layout is not None and layout.gives != NOTHING:
            sheets.update(block.sheet for block in part.table.blocks)
    asked: list[Question] = []
    for index in sorted(sheets):
        for each in situation.sheets[index].open:
            if each.what == "decimal_comma":
                asked.append(_convention(situation.settings, each))
    return tuple(asked)


def date_questions(situation: Situation) -> tuple[Question, ...]:
    """Return in which order and year dates are written, where they say when something was weighed
    or read.
    """
    asked: dict[str, Question] = {}
    for part in situation.parts:
        for index, each in _open_dates(situation, part):
            places = [situation.sheets[index].area(cell)[:2] for cell in each.cells]
            if any(_is_occasion(part, index, *place) for place in places):
                question = _convention(situation.settings, each, _within_trial(situation, each))
                asked[question.key] = question
    return tuple(asked.values())


def _open_dates(situation: Situation, part: Part) -> list[tuple[int, OpenConvention]]:
    indexes = dict.fromkeys(block.sheet for block in part.table.blocks)
    found = [(index, each) for index in indexes for each in situation.sheets[index].open]
    return [(index, each) for index, each in found if each.what in ("day_first", "year")]


def _is_occasion(part: Part, sheet: int, row: int, column: int) -> bool:
    """Tell whether a cell says the day of values: in a column, or in a header row over them."""
    if part.layout:
        source = part.layout.dimensions.get(Dimension.OCCASION)
    else:
        source = None
    if source is None:
        return False
    for block in part.table.blocks:
        if block.sheet != sheet:
            continue
        names = [
            each.name
            for each, letter in zip(part.table.columns, block.letters, strict=True)
            if letter == column
        ]
        for carrier in source.carriers:
            if carrier.kind is CarrierKind.COLUMN and carrier.name in names:
                return True
            if carrier.kind is CarrierKind.OVER and row in block.header_rows:
                return True
    return False


def _within_trial(situation: Situation, each: OpenConvention) -> str | None:
    """Return the only order in which dates lie within the trial of the workbook that their file
    lies beside.
    """
    if situation.book:
        fields = situation.book.fields
    else:
        fields = {}
    start, end = fields.get("Started on"), fields.get("Harvested on") or date.max
    if each.what != "day_first" or not isinstance(start, date) or not isinstance(end, date):
        return None
    fitting = []
    for answer, day_first in TWO_WAYS[each.what]:
        days = _days_written(each.texts, day_first=day_first)
        if days and start <= min(days) and max(days) <= end:
            fitting.append(answer)
    if len(fitting) == 1:
        return fitting[0]
    return None


def _days_written(texts: Sequence[str], *, day_first: bool) -> list[date]:
    """Return the days that texts name in an order of day and month; those that none has are
    skipped.
    """
    days = []
    for text in texts:
        found = date_in(text)
        if found is None:
            continue
        day = found[0].day(day_first)
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
    choices = [
        own_word(text, _with_convention(settings, what, sheet, value))
        for text, value in TWO_WAYS.get(what, ())
    ]
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
        conventions = replace(conventions, year={**conventions.year, sheet: int(value)})
    elif what == "day_first":
        conventions = replace(conventions, day_first={**conventions.day_first, sheet: bool(value)})
    else:
        conventions = replace(
            conventions, decimal_comma={**conventions.decimal_comma, sheet: bool(value)}
        )
    return replace(settings, conventions=conventions)


def word_questions(situation: Situation) -> tuple[Question, ...]:
    """Return what words and signs among the values of the tables stand for.

    A sign such as `-` that counts as missing is asked where another meaning changes a figure.
    """
    places: dict[str, list[str]] = {}
    signs: set[str] = set()
    for part in situation.parts:
        if is_to_explain(part):
            for word, kind, cell in _words_in(situation, part):
                places.setdefault(word, []).append(cell)
                if kind != Kind.TEXT:
                    signs.add(word)
    asked = [_word(situation, word, cells) for word, cells in places.items()]
    return tuple(each for each in asked if each.key[len("word.") :] not in signs or _differs(each))


def _differs(question: Question) -> bool:
    return any(choice.gives != question.choices[0].gives for choice in question.choices)


def _words_in(situation: Situation, part: Part) -> list[tuple[str, int, str]]:
    """Return each word among values that its owner did not explain, with its kind and its cell."""
    names = {name for values in layout_values(part) for name in values}
    known = situation.settings.conventions
    settled = (*known.missing, *known.lost, *known.zero)
    table = part.table
    if part.layout:
        corrected = {each.cell for each in part.layout.corrected}
    else:
        corrected = set()
    found: list[tuple[str, int, str]] = []
    for index, column in enumerate(table.columns):
        if column.name not in names:
            continue
        kinds = table.kind[:, index]
        for row in np.flatnonzero(np.isin(kinds, (Kind.TEXT, Kind.MISSING))):
            word = str(table.text[row, index]).strip().casefold()
            if word in settled or (kinds[row] == Kind.MISSING and any(map(str.isalpha, word))):
                continue
            block = table.blocks[table.block[row]]
            sheet = situation.sheets[block.sheet]
            place = f"{sheet.label}!{sheet.address(int(table.row[row]), block.letters[index])}"
            if place not in corrected:
                found.append((word, int(kinds[row]), place))
    return found


def layout_values(part: Part) -> list[tuple[str, ...]]:
    """Return the columns of each quantity of a table, as it is read or would be."""
    layout = layout_of(part)
    if layout:
        return [values.columns for values in layout.values]
    return []


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
        return _with_number(situation, word, cells, text.strip())

    hint = say("Or type the number that it stands for.")
    return Question(
        f"word.{word}", Slot.WORD, ask, tuple(cells[:5]), tuple(choices), None, True, accept, hint
    )


def _with_number(situation: Situation, word: str, cells: list[str], text: str) -> Settings:
    """Return settings in which the cells of a word hold a number; raise ValueError where the text
    is none.
    """
    if not NUMBER.fullmatch(text):
        raise ValueError(say("not measured, plant lost, nothing there, or a number such as 15.5"))
    layouts = list(situation.settings.layouts)
    labels = [sheet.label for sheet in situation.sheets]
    for index, layout in enumerate(layouts):
        if layout.gives == NOTHING:
            continue
        sheets = {labels[block.sheet] for block in situation.table(layout.table).blocks}
        own = [cell for cell in cells if cell.rpartition("!")[0] in sheets]
        corrections = tuple(Corrected(cell, situation.text_at(cell), text) for cell in own)
        layouts[index] = replace(layout, corrected=(*layout.corrected, *corrections))
    return replace(situation.settings, layouts=tuple(layouts))


def _with_word(settings: Settings, word: str, answer: str) -> Settings:
    known: Conventions = settings.conventions
    if answer == MISSING:
        known = replace(known, missing=(*known.missing, word))
    elif answer == LOST:
        known = replace(known, lost=(*known.lost, word))
    else:
        known = replace(known, zero=(*known.zero, word))
    return replace(settings, conventions=known)
