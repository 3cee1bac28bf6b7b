"""Which treatment or tray of a trial workbook the rows of the files beside it are of."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from reportgen.importing.carriers import resolve
from reportgen.importing.model.layouts import (
    NOTHING,
    Carrier,
    CarrierKind,
    Dimension,
    Layout,
    Source,
)
from reportgen.importing.model.questions import Choice, Question, Slot, own_word
from reportgen.importing.model.settings import Settings
from reportgen.importing.questions.describe import NOT_READ
from reportgen.importing.questions.situation import Part, Situation, value_columns, with_layout
from reportgen.importing.questions.structure import without
from reportgen.importing.trial_book import codes_of
from reportgen.language import marked, say
from reportgen.workbook.declaration import ALL, LIGHT, METER, SOLUTION

WHOLE: Final = marked("whole trial")
MOST_TRAYS: Final = 24  # that are shown as choices
WHICH: Final = {
    Dimension.TREATMENT: marked("Which treatment are the rows of {table} of?"),
    Dimension.UNIT: marked("Which tray are the rows of {table} of?"),
}
WHICH_OF_LABEL: Final = {
    Dimension.TREATMENT: marked('Which treatment of the workbook is "{label}" in {table}?'),
    Dimension.UNIT: marked('Which tray of the workbook is "{label}" in {table}?'),
}


def code_questions(situation: Situation) -> tuple[Question, ...]:
    """Return which treatment or tray each file, or each unknown label, is of."""
    if situation.book is None:
        return ()
    asked: list[Question] = []
    for part in situation.parts:
        layout = part.layout
        if layout is None or layout.gives == NOTHING:
            continue
        source = _source(layout, _dimension(layout))
        if source is None:
            asked.append(_throughout(situation, part, layout))
            continue
        for label in _unknown(situation, part, layout, source):
            asked.append(_of_label(situation, part, layout, label))
    return tuple(asked)


def _dimension(layout: Layout) -> Dimension:
    """Return the dimension that places the rows of a layout in the workbook."""
    is_of_trays = layout.gives == SOLUTION.name and Dimension.TREATMENT not in layout.dimensions
    if is_of_trays:
        return Dimension.UNIT
    return Dimension.TREATMENT


def _source(layout: Layout, dimension: Dimension) -> Source | None:
    """Return where the labels stand, else those of meters and trays, which say whose they are."""
    source = layout.dimensions.get(dimension)
    if source is not None:
        return source
    if layout.gives == METER.name:
        return layout.dimensions.get(Dimension.METER)
    return layout.dimensions.get(Dimension.UNIT)


def _unknown(situation: Situation, part: Part, layout: Layout, source: Source) -> list[str]:
    """Return the labels that are neither codes of the workbook nor spelled by the layout."""
    assert situation.book is not None
    dimension = _dimension(layout)
    codes = codes_of(situation.book, dimension)
    if dimension not in layout.dimensions:
        codes |= codes_of(situation.book, Dimension.METER)
        codes |= codes_of(situation.book, Dimension.UNIT)
    words = layout.words.get(dimension.value, {})
    labels = resolve(source, part.table, situation.sheets, situation.found, layout.dimensions)
    labels = np.broadcast_to(labels, part.table.text.shape)
    labels = labels[_is_of_trial(part, layout)][:, _value_columns(part, layout)]
    unknown = []
    for label in np.unique(labels.astype(str)).tolist():
        if label and words.get(label, label).casefold() not in codes:
            unknown.append(label)
    return unknown


def _value_columns(part: Part, layout: Layout) -> list[int]:
    names = value_columns(layout)
    return [index for index, column in enumerate(part.table.columns) if column.name in names]


def _is_of_trial(part: Part, layout: Layout) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Tell which rows hold labels that belong to the trial."""
    is_kept = np.ones(len(part.table.row), np.bool_)
    names = [column.name for column in part.table.columns]
    for name, labels in layout.only.items():
        if name in names:
            is_kept &= np.isin(part.table.text[:, names.index(name)].astype(str), labels)
    return is_kept


def _throughout(situation: Situation, part: Part, layout: Layout) -> Question:
    """Ask which treatment or tray all rows of a table are of."""
    dimension = _dimension(layout)
    key = f"{part.key}.{dimension.value}"
    choices = []
    for answer, of, code in _answers(situation, layout):
        source = Source((Carrier(CarrierKind.FIXED, code),))
        changed = replace(layout, dimensions={**layout.dimensions, of: source})
        changed_settings = with_layout(situation.settings, layout, changed)
        choices.append(_choice_of(answer, changed_settings))
    choices.append(own_word(NOT_READ, _without(situation.settings, part, layout, key)))
    ask = say(WHICH[dimension], table=part.table.key)
    where = situation.where(part.table)
    default = _named_in(part.table.key, choices)
    return Question(key, Slot.DIMENSION, ask, where, tuple(choices), default)


def _of_label(situation: Situation, part: Part, layout: Layout, label: str) -> Question:
    """Ask which treatment or tray a label is of."""
    dimension = _dimension(layout)
    key = f"{part.key}.{dimension.value}.{label}"
    source = _source(layout, dimension)
    assert source is not None
    choices = []
    for answer, of, code in _answers(situation, layout):
        if of is dimension:
            words = {**layout.words.get(of.value, {}), label: code}
            dimensions = {**layout.dimensions, of: source}
            changed = replace(
                layout, dimensions=dimensions, words={**layout.words, of.value: words}
            )
            changed_settings = with_layout(situation.settings, layout, changed)
            choices.append(_choice_of(answer, changed_settings))
    choices.extend(left_out(situation, part, layout, label))
    ask = say(WHICH_OF_LABEL[dimension], label=label, table=part.table.key)
    default = _named_in(label, choices)
    return Question(key, Slot.DIMENSION, ask, situation.where(part.table), tuple(choices), default)


def _choice_of(answer: str, settings: Settings) -> Choice:
    """Return the choice of a code of the workbook, or of the whole trial."""
    if answer == WHOLE:
        return own_word(answer, settings)
    return Choice(answer, settings)


def _answers(situation: Situation, layout: Layout) -> list[tuple[str, Dimension, str]]:
    """Return what can be answered, the dimension that it is of, and the code that it stands for."""
    assert situation.book is not None
    answers = [(code, Dimension.TREATMENT, code) for code in situation.book.treatments]
    if _dimension(layout) is Dimension.UNIT:
        trays = [(tray, Dimension.UNIT, tray) for tray in situation.book.trays]
        answers = [*trays[:MOST_TRAYS], *answers]
    if layout.gives != LIGHT.name:
        answers.append((WHOLE, Dimension.TREATMENT, ALL))
    return answers


def left_out(situation: Situation, part: Part, layout: Layout, label: str) -> list[Choice]:
    """Return the choice that rows with a label are no part of the trial, if a column holds it."""
    name = _label_column(layout)
    if not name:
        return []
    labels = layout.only.get(name) or _labels_in(part, name)
    others = tuple(other for other in labels if other not in ("", label))
    if not others:
        return []
    changed = replace(layout, only={**layout.only, name: others})
    return [own_word(NOT_READ, with_layout(situation.settings, layout, changed))]


def _label_column(layout: Layout) -> str:
    """Return the only column that holds the labels as they are; "" for another place."""
    source = _source(layout, _dimension(layout))
    if source is None or len(source.carriers) != 1:
        return ""
    carrier = source.carriers[0]
    if carrier.kind is not CarrierKind.COLUMN or carrier.part:
        return ""
    return carrier.name


def _labels_in(part: Part, name: str) -> tuple[str, ...]:
    index = [column.name for column in part.table.columns].index(name)
    return tuple(np.unique(part.table.text[:, index].astype(str)).tolist())


def _without(settings: Settings, part: Part, layout: Layout, key: str) -> Settings:
    others = tuple(each for each in settings.layouts if each != layout)
    return without(replace(settings, layouts=others), part, key)


def _named_in(text: str, choices: Iterable[Choice]) -> str | None:
    """Return the only choice whose answer stands in a text as words of its own."""
    return code_in(text, [choice.answer for choice in choices]) or None


def code_in(text: str, codes: Iterable[str]) -> str:
    """Return the only code that stands in a text as words of its own, "" where none or several do."""
    words = _words(text)
    matches = [code for code in codes if _holds(words, _words(code))]
    if len(matches) == 1:
        return matches[0]
    return ""


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", text.casefold())


def _holds(words: Sequence[str], part: Sequence[str]) -> bool:
    if not part:
        return False
    starts = range(len(words) - len(part) + 1)
    return any(list(words[start : start + len(part)]) == list(part) for start in starts)
