"""Names of treatments that only their owner knows: of colours, and of ids that a key lacks."""

from dataclasses import replace

from reportgen.importing.carriers.colours import untold
from reportgen.importing.model.layouts import NOTHING, Dimension, Layout
from reportgen.importing.model.questions import Choice, Question, Slot
from reportgen.importing.model.settings import Settings
from reportgen.importing.questions.namesakes import meaning, treatments_of
from reportgen.importing.questions.situation import Part, Situation, with_layout
from reportgen.language import say


def name_questions(situation: Situation) -> tuple[Question, ...]:
    """Return which treatment each colour or id is that has no name yet."""
    asked: list[Question] = []
    if situation.book is not None:  # there codes are asked
        return ()
    for part in situation.parts:
        layout = part.layout
        if layout is None or layout.gives == NOTHING:
            continue
        if Dimension.TREATMENT in layout.dimensions:
            names = treatments_of(situation, (layout,))
            labels = untold(layout, names)
            asked.extend(_of_label(situation, part, layout, label) for label in labels)
    return tuple(asked)


def _of_label(situation: Situation, part: Part, layout: Layout, label: str) -> Question:
    settings = situation.settings

    def named(name: str) -> Settings:
        if not name.strip():
            raise ValueError(say("the name of a treatment"))
        return with_layout(settings, layout, meaning(layout, {label: name.strip()}))

    names = dict.fromkeys(layout.words.get(Dimension.TREATMENT.value, {}).values())
    choices = []
    for name in names:
        changed = named(name)
        choices.append(Choice(name, changed, situation.figures(replace(changed, treatments={}))))
    key = f"{part.key}.treatment.{label}"
    ask = say('Which treatment is "{label}" in {table}?', label=label, table=part.table.key)
    where = situation.where(part.table)
    return Question(
        key, Slot.DIMENSION, ask, where, tuple(choices), None, True, named, say("Type its name.")
    )
