"""Which treatments the labels of meters and logs mean.

`Pump drip (kWh)` is what trays call `drip irrigation`.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from typing import Final

from reportgen.importing.model.layouts import NOTHING, Dimension, Layout
from reportgen.importing.model.questions import Choice, Question, Slot, own_word
from reportgen.importing.questions.codes import left_out
from reportgen.importing.questions.situation import Part, Situation, with_layout
from reportgen.importing.questions.structure import CROPS
from reportgen.importing.words import tokens
from reportgen.language import marked, say
from reportgen.workbook.declaration import ALL

SHORTEST: Final = 4  # letters of a word that may be cut short: `capil` for `capilaridad`
OWN: Final = marked("a treatment of its own")


def namesakes(own: Iterable[str], treatments: Iterable[str]) -> dict[str, str]:
    """Return the known name that each name means, as no other one has a word of it.

    Nothing where a name means none or several of them, or two names mean one, or all are known.
    """
    names = tuple(treatments)
    own_names = tuple(own)
    distinctive = _distinctive_words(names)
    matches: dict[str, str] = {}
    for own_name in own_names:
        own_words = _words(own_name)
        likely = [name for name in names if _shares(own_words, distinctive[name])]
        if len(likely) != 1 or likely[0] in matches.values():
            return {}
        matches[own_name] = likely[0]
    if set(own_names) <= set(names):
        return {}
    return matches


def _distinctive_words(names: Sequence[str]) -> dict[str, set[str]]:
    """Return the words of each name that no other name has."""
    words = {name: _words(name) for name in names}
    distinctive: dict[str, set[str]] = {}
    for name in names:
        others = [words[other] for other in names if other != name]
        distinctive[name] = words[name].difference(*others)
    return distinctive


def _words(name: str) -> set[str]:
    return {word for word in tokens(name) if word.isalnum()}


def _shares(words: set[str], distinctive: set[str]) -> bool:
    """Tell whether a word is a distinctive one of a name, or one is the other cut short."""
    if words & distinctive:
        return True
    for word, other in product(words, distinctive):
        short, long = sorted((word, other), key=len)
        if len(short) >= SHORTEST and long.startswith(short):
            return True
    return False


def meaning(layout: Layout, names: Mapping[str, str]) -> Layout:
    """Return a layout in which labels of the treatment mean others."""
    words = {**layout.words.get(Dimension.TREATMENT.value, {}), **names}
    return replace(layout, words={**layout.words, Dimension.TREATMENT.value: words})


def namesake_questions(situation: Situation) -> tuple[Question, ...]:
    """Return which treatment each label of a meter or log means that no tray has.

    A label is not asked where it is one of two factors: several treatments hold it, or it holds one
    and a level.
    """
    if situation.book is not None:  # there codes are asked
        return ()
    layouts = situation.settings.layouts
    crops = tuple(layout for layout in layouts if layout.gives in CROPS)
    treatments = treatments_of(situation, crops)
    if not treatments:
        return ()
    asked: list[Question] = []
    for part in situation.parts:
        if part.layout is not None and _is_log_with_treatments(part.layout):
            asked.extend(_of_log(situation, part, part.layout, treatments))
    return tuple(asked)


def _of_log(
    situation: Situation, part: Part, layout: Layout, treatments: tuple[str, ...]
) -> Iterator[Question]:
    """Yield a question for each label of a log that is no known treatment."""
    for name in treatments_of(situation, (layout,)):
        is_answered = f"{part.key}.means.{name}" in situation.settings.answers
        if not is_answered and _is_unknown(name, treatments):
            yield _means(situation, part, layout, name, treatments)


def _is_log_with_treatments(layout: Layout) -> bool:
    is_log = layout.gives not in (*CROPS, NOTHING)
    return is_log and Dimension.TREATMENT in layout.dimensions


def _is_unknown(name: str, treatments: tuple[str, ...]) -> bool:
    """Tell whether a name is no known treatment, no level of one, and no factor of several."""
    names = {each.casefold() for each in (ALL, *treatments)}
    if not name or name.casefold() in names:
        return False
    own = _words(name)
    holding = [each for each in treatments if own < _words(each)]
    is_finer = any(_words(each) < own for each in treatments)
    return len(holding) < 2 and not is_finer


def treatments_of(situation: Situation, layouts: tuple[Layout, ...]) -> tuple[str, ...]:
    """Return the treatments that some layouts have figures of, by their labels."""
    alone = replace(situation.settings, layouts=layouts, treatments={})
    names: dict[str, None] = {}
    for figures in situation.figures(alone).values():
        names.update(dict.fromkeys(figures))
    return tuple(names)


def _means(
    situation: Situation, part: Part, layout: Layout, name: str, treatments: tuple[str, ...]
) -> Question:
    settings = situation.settings
    key = f"{part.key}.means.{name}"
    choices = []
    for each in treatments:
        spelled = with_layout(settings, layout, meaning(layout, {name: each}))
        answered = replace(spelled, answers={**settings.answers, key: each})
        choices.append(Choice(each, answered, situation.figures(answered)))
    choices.append(own_word(OWN, replace(settings, answers={**settings.answers, key: OWN})))
    choices.extend(left_out(situation, part, layout, name))
    default = namesakes((name,), treatments).get(name)
    ask = say(
        'Which treatment is "{name}" in {table}? No plants are of it.',
        name=name,
        table=part.table.key,
    )
    return Question(key, Slot.DIMENSION, ask, situation.where(part.table), tuple(choices), default)
