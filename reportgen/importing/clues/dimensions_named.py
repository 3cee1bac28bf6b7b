"""What is written of a label set: its header, words in its labels, key tables, the same labels
elsewhere.
"""

import re
from collections.abc import Iterator

from reportgen.importing import words
from reportgen.importing.clues.dimension_words import (
    named_dimensions,
    names_another_day,
    names_factor,
    names_nobody,
    names_quantity,
)
from reportgen.importing.clues.grid import LabelSet
from reportgen.importing.model.claims import Claim
from reportgen.importing.model.layouts import CarrierKind, Dimension
from reportgen.workbook.declaration import SOLUTION
from reportgen.workbook.names import folded
from reportgen.workbook.vocabulary import words_of

EVENTS = SOLUTION.column("Event").choices
_NUMBER = re.compile(r"[<>~]?-?\d+(?:[.,]\d+)?\b")
_WORD = 4.0
_QUANTITY = 5.0
_WORD_IN_LABELS = 4.5
_CONTROL = 2.0
_MOST_WITH_CONTROL = 8  # labels: more of them are no treatments
_FACTOR_AGAINST = 5.0
_CROP_AGAINST = 4.0
_CULTIVAR_AGAINST = 1.0
_KEY = 7.0
_OTHER_DAY = 10.0
_ELSEWHERE = 3.0
_EVENT = 9.0
_OTHER_WORD = 1.0  # a header that names one dimension speaks a little against the others


def header_word(labels: LabelSet) -> Iterator[Claim]:
    """The header names the dimension: `Treatment`, `Schale`, `date`."""
    yield from _claims(labels.labels.header, _WORD, "header_word")


def word_in_labels(labels: LabelSet) -> Iterator[Claim]:
    """All labels hold a word that names the dimension: `Plant 1`, `tray 2`, `week 3`."""
    if len(labels.levels) < 2 or labels.is_number:
        return
    common = set(words.tokens(labels.levels[0]))
    for level in labels.levels[1:]:
        common &= set(words.tokens(level))
        if not any(map(named_dimensions, common)):
            return
    yield from _claims(" ".join(sorted(common)), _WORD_IN_LABELS, "word_in_labels")


def control(labels: LabelSet) -> Iterator[Claim]:
    """One of the labels is a word for the control: `Kontrolle`, `ohne`, `none`."""
    if len(labels.levels) > _MOST_WITH_CONTROL:
        return
    if any(words.is_word(level, "control") for level in labels.levels):
        yield Claim("control", Dimension.TREATMENT, _CONTROL)


def event_words(labels: LabelSet) -> Iterator[Claim]:
    """Most labels beside volumes say what was done with them: `fill`, `top-up`, `drain`."""
    if labels.gives != SOLUTION.name:
        return
    spelled = words_of(EVENTS)
    known = [level for level in labels.levels if words.event_of(level) or folded(level) in spelled]
    if not known or 2 * len(known) < len(labels.levels):
        return
    for dimension in Dimension:
        if dimension is Dimension.EVENT:
            weight = _EVENT
        else:
            weight = -_WORD
        yield Claim("event_words", dimension, weight)


def key_table(labels: LabelSet) -> Iterator[Claim]:
    """Another table spells out what the labels stand for."""
    if labels.labels.lookup is None:
        return
    yield Claim("key_table", Dimension.TREATMENT, _KEY)


def labels_elsewhere(labels: LabelSet) -> Iterator[Claim]:
    """The same labels stand under a header that names the dimension in another table."""
    for dimension in sorted(labels.named):
        yield Claim("labels_elsewhere", dimension, _ELSEWHERE)


def quantity_word(labels: LabelSet) -> Iterator[Claim]:
    """Numbers under the name of something measured, and under no dimension's name, label nothing.

    `Reading 1 | Reading 2` in a header row name what another table calls 1 and 2.
    """
    header = labels.labels.header
    if labels.named and labels.labels.carrier.kind is CarrierKind.OVER:
        return
    numbers = [level for level in labels.levels if _NUMBER.match(level)]
    if len(numbers) * 2 <= len(labels.levels) or named_dimensions(header):
        return
    if names_quantity(header):
        yield Claim("quantity_word", None, _QUANTITY)


def factor_word(labels: LabelSet) -> Iterator[Claim]:
    """A crop or cultivar is a second factor, or which trial it is: hardly the treatment, and
    nothing else.
    """
    header = labels.labels.header
    if named_dimensions(header) or not names_factor(header):
        return
    for dimension in Dimension:
        against = _FACTOR_AGAINST
        if dimension is Dimension.TREATMENT:
            if words.says(header, "crop"):
                against = _CROP_AGAINST
            else:
                against = _CULTIVAR_AGAINST
        yield Claim("factor_word", dimension, -against)


def remark_word(labels: LabelSet) -> Iterator[Claim]:
    """Remarks, persons and states place nothing."""
    if names_nobody(labels.labels.header):
        yield Claim("remark_word", None, _WORD)


def other_day(labels: LabelSet) -> Iterator[Claim]:
    """Days of sowing or flowering place no weight."""
    if names_another_day(labels.labels.header):
        yield Claim("other_day", None, _OTHER_DAY)


def _claims(text: str, weight: float, because: str) -> Iterator[Claim]:
    """Yield what the words of a text say: for the dimensions they name, a little against the
    others.
    """
    named = named_dimensions(text)
    for dimension in Dimension:
        if dimension in named:
            yield Claim(because, dimension, weight * named[dimension])
        elif named:
            yield Claim(because, dimension, -_OTHER_WORD)
