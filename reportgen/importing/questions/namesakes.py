"""Which treatments the labels of meters and logs mean: `Pump drip (kWh)` is what trays call `drip
irrigation`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final

from reportgen.importing.model.layouts import NOTHING, Dimension, Layout
from reportgen.importing.model.questions import Choice, Question, Slot, own_word
from reportgen.importing.questions.codes import left_out, with_layout
from reportgen.importing.questions.situation import Part, Situation
from reportgen.importing.questions.structure import CROPS
from reportgen.importing.words import tokens
from reportgen.language import marked, say
from reportgen.workbook.declaration import ALL

SHORTEST: Final = 4  # letters of a word that may be cut short: `capil` for `capilaridad`
OWN: Final = marked("a treatment of its own")


def namesakes(own: Iterable[str], known: Iterable[str]) -> dict[str, str]:
    """Return the known name that each name means, as no other one has a word of it.

    Nothing where a name means none or several of them, or two names mean one, or all are known.
    """
    names, own_names = tuple(known), tuple(own)
    words = {name: _words(name) for name in names}
    telling = {
        name: words[name].difference(*(words[each] for each in names if each != name))
        for name in names
    }
    meant: dict[str, str] = {}
    for name in own_names:
        found = [each for each in names if _shares(_words(name), telling[each])]
        if len(found) != 1 or found[0] in meant.values():
            return {}
        meant[name] = found[0]
    if set(own_names) - set(names):
        return meant
    return {}


def _words(name: str) -> set[str]:
    return {word for word in tokens(name) if word.isalnum()}


def _shares(words: set[str], telling: set[str]) -> bool:
    """Tell whether a word is one of those that tell a name from others, or one of them cut short."""
    if words & telling:
        return True
    pairs = [sorted((word, each), key=len) for word in words for each in telling]
    return any(len(short) >= SHORTEST and long.startswith(short) for short, long in pairs)


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
    settings = situation.settings
    crops = tuple(layout for layout in settings.layouts if layout.gives in CROPS)
    known = treatments_of(situation, crops)
    if not known:
        return ()
    asked = []
    for part in situation.parts:
        layout = part.layout
        if (
            layout is None
            or layout.gives in (*CROPS, NOTHING)
            or Dimension.TREATMENT not in layout.dimensions
        ):
            continue
        for name in treatments_of(situation, (layout,)):
            key = f"{part.key}.means.{name}"
            if _is_strange(name, known) and key not in settings.answers:
                asked.append(_means(situation, part, layout, name, known))
    return tuple(asked)


def _is_strange(name: str, known: tuple[str, ...]) -> bool:
    if not name or name.casefold() in (ALL.casefold(), *(each.casefold() for each in known)):
        return False
    own = _words(name)
    holding = [each for each in known if own < _words(each)]
    is_finer = any(_words(each) < own for each in known)
    return len(holding) < 2 and not is_finer


def treatments_of(situation: Situation, layouts: tuple[Layout, ...]) -> tuple[str, ...]:
    """Return the treatments that some layouts have figures of, by their labels."""
    alone = replace(situation.settings, layouts=layouts, treatments={})
    names = [name for figures in situation.figures(alone).values() for name in figures]
    return tuple(dict.fromkeys(names))


def _means(
    situation: Situation, part: Part, layout: Layout, name: str, known: tuple[str, ...]
) -> Question:
    settings = situation.settings
    key = f"{part.key}.means.{name}"
    choices = []
    for each in known:
        spelled = with_layout(settings, layout, meaning(layout, {name: each}))
        answered = replace(spelled, answers={**settings.answers, key: each})
        choices.append(Choice(each, answered, situation.figures(answered)))
    choices.append(own_word(OWN, replace(settings, answers={**settings.answers, key: OWN})))
    choices.extend(left_out(situation, part, layout, name))
    default = namesakes((name,), known).get(name)
    ask = say(
        'Which treatment is "{name}" in {table}? No plants are of it.',
        name=name,
        table=part.table.key,
    )
    return Question(key, Slot.DIMENSION, ask, situation.where(part.table), tuple(choices), default)
