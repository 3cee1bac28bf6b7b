"""What a table is and where its labels stand: asked where readings of it lead to different figures."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from reportgen.importing.dimension_names import DIMENSION_NAMES
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import (
    NOTHING,
    CarrierKind,
    Covers,
    Dimension,
    Layout,
    Occasions,
    Source,
)
from reportgen.importing.model.questions import Choice, Question, Slot, own_word
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Table
from reportgen.importing.questions.describe import (
    ABSENT,
    COVER_NAMES,
    NOT_READ,
    OCCASION_NAMES,
    difference,
    slots_of,
)
from reportgen.importing.questions.situation import Candidate, Part, Situation, has_open_quantity
from reportgen.importing.questions.sources import coded, column_of, expected, source_of
from reportgen.importing.questions.typed_keys import EXAMPLE, is_key, key_above, with_key
from reportgen.language import ENGLISH, marked, say, using

NONE: Final = marked("none of these")
OTHER: Final = ".other"
AS_READ: Final = "as_read"
AS_IT_IS: Final = marked("as it is read now")
CROPS: Final = ("Plants", "Harvests", "Growth")
YES: Final = marked("yes")
MOST_CHOICES: Final = 9
MOST_AT_ONCE: Final = 4  # readings that are told apart by one question
LONGEST: Final = 66  # letters of a choice
ORDER: Final = (  # in which slots are asked
    "gives",
    "values",
    "treatment",
    "unit",
    "factor",
    "block",
    "plant",
    "occasion",
    "event",
    "meter",
    "grade",
    "occasions",
    "covers",
    "counts",
)
FOLLOWED: Final = ("treatment", "unit", "plant", "occasion", "occasions", "covers")
OFF: Final = "off"
OFF_NAMES: Final = {
    **{dimension.value: name for dimension, name in DIMENSION_NAMES.items()},
    "occasions": marked("how the days belong together"),
    "covers": marked("what one number is of"),
}
OF_VALUES: Final = {
    marked("what was measured"): ("quantity",),
    marked("the unit"): ("measure", "area"),
}
OF_CROPS: Final = ("Plants", "Harvests", "Growth")
SLOTS: Final = {
    "gives": Slot.TABLE,
    AS_READ: Slot.TABLE,
    "values": Slot.QUANTITY,
    "occasions": Slot.OCCASIONS,
    "counts": Slot.OCCASIONS,
    "covers": Slot.COVERS,
}
ASKED: Final = {
    "gives": marked("What is the table {table}?"),
    "values": marked("Which columns of {table} hold the values?"),
    "factor": marked("What else was varied in {table}, and how does it count?"),
    "occasions": marked("How do the days in {table} belong together?"),
    "covers": marked("Of what is each value in {table}?"),
    "counts": marked("What do the numbers of {table} count?"),
}
WHERE: Final = {
    Dimension.TREATMENT: marked("Where does {table} say the treatment?"),
    Dimension.BLOCK: marked("Where does {table} say the block?"),
    Dimension.UNIT: marked("Where does {table} say the tray?"),
    Dimension.PLANT: marked("Where does {table} say the plant?"),
    Dimension.OCCASION: marked("Where does {table} say the day?"),
    Dimension.EVENT: marked("Where does {table} say the event?"),
    Dimension.METER: marked("Where does {table} say the meter?"),
    Dimension.GRADE: marked("Where does {table} say the grade?"),
}


def questions(situation: Situation) -> tuple[Question, ...]:
    """Return what is open on the layout of each table: one question a table."""
    asked: list[Question] = []
    for part in situation.parts:
        if part.layout is None and part.options and not has_open_quantity(part):
            asked.extend(_of_part(situation, part))
    return tuple(asked)


def _of_part(situation: Situation, part: Part) -> list[Question]:
    answers = situation.settings.answers
    open_slots = followed(part.key, answers)
    if open_slots:
        return [_other(situation, part, slot) for slot in open_slots[:1]]
    if lacks_treatment(part.options[0].layout, situation.guess.layouts, part.key, answers):
        return [_treatment(situation, part)]
    if _is_off(part, answers):
        return [_off(situation, part)]
    return [_which(situation, part)]


def _is_off(part: Part, answers: Mapping[str, str]) -> bool:
    """Tell whether the owner refused what is read and is to say what is off."""
    if answers.get(f"{part.key}.{AS_READ}") != NONE:
        return False
    return _is_current(part, answers) or not _said_off(part, answers)


def lacks_treatment(
    layout: Layout, others: Sequence[Layout], key: str, answers: Mapping[str, str]
) -> bool:
    """Tell whether no layout of plants has a treatment, and the owner named no place of it."""
    if layout.gives not in CROPS or f"{key}.treatment{OTHER}" in answers:
        return False
    crops = [each for each in (layout, *others) if each.gives in CROPS]
    return not any(Dimension.TREATMENT in each.dimensions for each in crops)


def _treatment(situation: Situation, part: Part) -> Question:
    """Return the question for the treatment where no label can be it."""
    key = f"{part.key}.treatment"
    settings = situation.settings

    def accept(text: str) -> Settings:
        text = _coded(text, "treatment", part.table)
        # raises where it does not fit
        changed = pinned(part.options[0].layout, part.table, {"treatment": text}, situation.sheets)
        if Dimension.TREATMENT not in changed.dimensions:
            raise ValueError(expected(part.table))
        return replace(settings, answers={**settings.answers, key: NONE, f"{key}{OTHER}": text})

    ask = say(
        "Which column of {table} tells the treatment? Nothing in it seems to.", table=part.table.key
    )
    hint = say(
        "Where none does, spell out which tray, pot or bed had which: {example}.", example=EXAMPLE
    )
    choices = (own_word(NOT_READ, without(settings, part, key)),)
    default = key_above(part.options[0].layout, part.table, situation.sheets)
    return Question(
        key, Slot.DIMENSION, ask, situation.where(part.table), choices, default, True, accept, hint
    )


def followed(key: str, answers: Mapping[str, str]) -> list[str]:
    """Return the slots of a table that its owner is still to fill in, as no choice was right."""
    off_names = _off_answers(key, answers)
    refused = [slot for slot in ORDER if answers.get(f"{key}.{slot}") == NONE]
    off = [slot for slot in FOLLOWED if OFF_NAMES[slot] in off_names]
    slots = dict.fromkeys((*refused, *off))
    return [slot for slot in slots if f"{key}.{slot}{OTHER}" not in answers]


def _off_answers(key: str, answers: Mapping[str, str]) -> list[str]:
    """Return what its owner said of a table to be off, in order."""
    off: list[str] = []
    while (answer := answers.get(_off_key(key, len(off) + 1))) is not None:
        off.append(answer)
    return off


def _off_key(key: str, number: int) -> str:
    if number > 1:
        return f"{key}.{OFF}{number}"
    return f"{key}.{OFF}"


def _said_off(part: Part, answers: Mapping[str, str]) -> bool:
    return bool(_off_answers(part.key, answers))


def _is_current(part: Part, answers: Mapping[str, str]) -> bool:
    """Tell whether one reading is left, or the one chosen before is still among those left."""
    return _current(part, answers) is not None


def _current(part: Part, answers: Mapping[str, str]) -> Candidate | None:
    """Return the reading that its owner chose before he said that something is off."""
    groups = _groups(part, answers)
    if len(groups.by_answer) == 1:
        return next(iter(groups.by_answer.values()))[0]
    chosen = groups.by_answer.get(answers.get(f"{part.key}.{groups.slot}", ""))
    if chosen:
        return chosen[0]
    return None


def _off(situation: Situation, part: Part) -> Question:
    """Return the question what is off, or whether all is right by now."""
    settings = situation.settings
    key = _off_key(part.key, len(_off_answers(part.key, settings.answers)) + 1)
    now = _current(part, settings.answers) or part.options[0]
    right = replace(
        settings,
        layouts=(*settings.layouts, now.layout),
        answers={**settings.answers, key: AS_IT_IS},
    )
    choices = [
        own_word(AS_IT_IS, right, now.gives),
        *_off_slots(settings, part, key, now.layout),
        *_off_values(settings, part, key),
        own_word(NOT_READ, without(settings, part, key)),
    ]
    ask = say("Which of these is off in {table}?", table=part.table.key)
    return Question(key, Slot.TABLE, ask, situation.where(part.table), tuple(choices))


def _off_slots(settings: Settings, part: Part, key: str, now: Layout) -> Iterator[Choice]:
    """Yield what of a layout may be off, with what it says now."""
    slots = slots_of(now)
    for slot in FOLLOWED:
        if slot == "occasions" and Dimension.OCCASION not in now.dimensions:
            continue
        if slot == "covers" and now.gives not in OF_CROPS:
            continue
        cleared = without_answers(settings, (f"{part.key}.{slot}{OTHER}",))
        changed = replace(cleared, answers={**cleared.answers, key: OFF_NAMES[slot]})
        means = say("now: {text}", text=slots.get(slot, say(ABSENT)))
        yield own_word(OFF_NAMES[slot], changed, means=means)


def _off_values(settings: Settings, part: Part, key: str) -> Iterator[Choice]:
    """Yield what was answered on the values of a table and may be off."""
    for name, words in OF_VALUES.items():
        begins = tuple(f"{part.key}.{word}." for word in words)
        answered = [each for each in settings.answers if each.startswith(begins)]
        if answered:
            cleared = without_answers(settings, answered)
            yield own_word(name, replace(cleared, answers={**cleared.answers, key: name}))


def without_answers(settings: Settings, keys: Sequence[str]) -> Settings:
    """Return settings without some answers."""
    answers = {key: text for key, text in settings.answers.items() if key not in keys}
    return replace(settings, answers=answers)


def _which(situation: Situation, part: Part) -> Question:
    settings = situation.settings
    groups = _groups(part, settings.answers)
    slot = groups.slot
    key = f"{part.key}.{slot}"
    choices = [_choice(settings, key, answer, groups) for answer in groups.by_answer]
    refused = replace(settings, answers={**settings.answers, key: NONE})
    choices.append(own_word(NONE, refused, means=say("then say what it is")))
    if NOT_READ not in groups.by_answer:
        choices.append(own_word(NOT_READ, without(settings, part, key)))
    kind = SLOTS.get(slot, Slot.DIMENSION)
    where = situation.where(part.table)
    if kind is not Slot.DIMENSION or slot not in set(Dimension):
        return Question(key, kind, _ask(slot, part.table), where, tuple(choices))

    def accept(text: str) -> Settings:
        text = _coded(text, slot, part.table)
        # raises where it does not fit
        pinned(part.options[0].layout, part.table, {slot: text}, situation.sheets)
        answers = {**settings.answers, key: NONE, f"{key}{OTHER}": text}
        return replace(settings, answers=answers)

    hint = say("Or type a column, several as Tent + Side, or none.")
    if slot == Dimension.TREATMENT:
        hint = say(
            "Or type a column, several as Tent + Side, or what each is: {example}.", example=EXAMPLE
        )
    return Question(
        key, kind, _ask(slot, part.table), where, tuple(choices), None, True, accept, hint
    )


def _coded(text: str, slot: str, table: Table) -> str:
    """Return what was typed in a slot as the settings file has it."""
    if slot not in set(Dimension) or is_key(text):
        return text
    return coded(text, table)


@dataclass(frozen=True)
class _Groups:
    """Readings by the answer that tells them apart, and the slots in which they differ.

    Answers are in English, as the settings file keeps them.
    """

    by_answer: Mapping[str, list[Candidate]]
    differing: Sequence[str]

    @property
    def slot(self) -> str:
        """Return the slot that is asked."""
        return self.differing[0]

    def said(self, answer: str) -> str:
        """Return an answer in the language of the reader."""
        if self.differing == (AS_READ,):
            return say(answer)
        return difference(slots_of(self.by_answer[answer][0].layout), self.differing) or say(YES)


def _choice(settings: Settings, key: str, answer: str, groups: _Groups) -> Choice:
    """Return the choice of a group of readings: that of one settles the table."""
    group = groups.by_answer[answer]
    text = groups.said(answer)
    narrowed = replace(settings, answers={**settings.answers, key: answer})
    if len(group) > 1:
        figures = tuple(option.gives for option in group)
        means = say("{number} ways, asked next", number=len(group))
        return Choice(answer, narrowed, means=means, leads_to=figures, said=text)
    layout = group[0].layout
    chosen = replace(narrowed, layouts=(*settings.layouts, layout))
    return Choice(answer, chosen, group[0].gives, said=text)


def _groups(part: Part, answers: Mapping[str, str]) -> _Groups:
    """Return the readings that are left after what their owner chose, by what tells them apart."""
    left = list(part.options[:MOST_CHOICES])
    while True:
        with using(ENGLISH):
            groups = _grouped(left)
        chosen = groups.by_answer.get(answers.get(f"{part.key}.{groups.slot}", ""), [])
        if not 1 < len(chosen) < len(left):
            return groups
        left = chosen


def _grouped(options: Sequence[Candidate]) -> _Groups:
    """Return readings by what they say in the slots in which they differ.

    Where that is too much for one question, fewer slots tell them apart, and several readings may
    say the same.
    """
    slots = [slots_of(option.layout) for option in options]
    all_differing = differing_slots(slots)
    if not all_differing:
        return _Groups({YES: list(options[:1])}, (AS_READ,))
    differing = _asked_at_once(slots, all_differing)
    groups: dict[str, list[Candidate]] = {}
    for option, text in zip(options, _texts(slots, differing), strict=True):
        groups.setdefault(text, []).append(option)
    if len(differing) == len(all_differing):  # the likeliest of those that say the same throughout
        groups = {text: group[:1] for text, group in groups.items()}
    return _Groups(groups, differing)


def _texts(slots: Sequence[Mapping[str, str]], differing: Sequence[str]) -> list[str]:
    return [difference(own, differing) or YES for own in slots]


def _asked_at_once(slots: Sequence[Mapping[str, str]], differing: list[str]) -> list[str]:
    """Return as many of the differing slots as one short question can hold, one at least."""
    for number in range(len(differing), 1, -1):
        texts = _texts(slots, differing[:number])
        is_few = len(set(texts)) <= MOST_AT_ONCE
        if is_few and max(map(len, texts)) <= LONGEST:
            return differing[:number]
    return differing[:1]


def differing_slots(slots: Sequence[Mapping[str, str]]) -> list[str]:
    """Return the slots in which layouts of the trial differ.

    A slot that follows from those before it is not named, but for what one value is of.
    """
    read = [each for each in slots if each["gives"] != say(NOT_READ)]
    if len(read) < 2 and len(read) < len(slots):
        return ["gives"]
    differing: list[str] = []
    number_apart = 1
    for slot in ORDER:
        number = _number_apart(read, [*differing, slot])
        if number > number_apart:
            differing.append(slot)
            number_apart = number
    # how many plants a trial had rests on what a value covers
    if "covers" not in differing and _number_apart(read, ["covers"]) > 1:
        differing.append("covers")
    return differing


def _number_apart(slots: Sequence[Mapping[str, str]], names: Sequence[str]) -> int:
    """Return how many different texts layouts have in some slots."""
    texts = set()
    for own in slots:
        texts.add(tuple(own.get(name, say(ABSENT)) for name in names))
    return len(texts)


def _ask(slot: str, table: Table) -> str:
    if slot in ASKED:
        return say(ASKED[slot], table=table.key)
    if slot == AS_READ:
        return say("Is {table} read as you mean it?", table=table.key)
    return say(WHERE[Dimension(slot)], table=table.key)


def without(settings: Settings, part: Part, key: str) -> Settings:
    """Return settings in which a table is no part of the trial."""
    layout = Layout(part.table.key, NOTHING, because="owner")
    answers = {**settings.answers, key: NOT_READ}
    return replace(settings, layouts=(*settings.layouts, layout), answers=answers)


def _other(situation: Situation, part: Part, slot: str) -> Question:
    """Return the free question that follows `none of these`."""
    key = f"{part.key}.{slot}{OTHER}"
    settings = situation.settings

    def accept(text: str) -> Settings:
        if text.casefold().strip() in (NOT_READ, NOTHING):
            return without(settings, part, key)
        text = _coded(text, slot, part.table)
        # raises where it does not fit
        pinned(part.options[0].layout, part.table, {slot: text}, situation.sheets)
        return replace(settings, answers={**settings.answers, key: text})

    now = slots_of(part.options[0].layout).get(slot, say(ABSENT))
    offered = {AS_IT_IS: now, **_typical(slot)}
    choices = []
    for answer, means in offered.items():
        answers = {**settings.answers, key: answer}
        choices.append(own_word(answer, replace(settings, answers=answers), means=means))
    choices.append(own_word(NOT_READ, without(settings, part, key)))
    if _said_off(part, settings.answers):
        default = AS_IT_IS
    else:
        default = None
    kind = SLOTS.get(slot, Slot.DIMENSION)
    where = situation.where(part.table)
    return Question(
        key,
        kind,
        _ask(slot, part.table),
        where,
        tuple(choices),
        default,
        True,
        accept,
        _hint(slot, part),
    )


def _typical(slot: str) -> dict[str, str]:
    """Return what may be answered in any table, with what it means."""
    if slot == "occasions":
        return {kind.value: say(text) for kind, text in OCCASION_NAMES.items() if kind.value}
    if slot == "covers":
        return {kind.value: say(text) for kind, text in COVER_NAMES.items()}
    return {}


def _hint(slot: str, part: Part) -> str:
    if slot in set(Dimension):
        return say("Name it: {expected}.", expected=expected(part.table))
    if slot == "values":
        return say("Name the columns, joined by +.")
    return ""


def pins(key: str, answers: Mapping[str, str]) -> dict[str, str]:
    """Return what its owner said of a table after `none of these`, by slot."""
    own = {}
    for slot in ORDER:
        answer = answers.get(f"{key}.{slot}{OTHER}")
        if answer is not None and answer != AS_IT_IS:
            own[slot] = answer
    return own


def pinned(
    layout: Layout, table: Table, answers: Mapping[str, str], sheets: Sequence[Sheet]
) -> Layout:
    """Return a layout with what its owner said in place of what was guessed.

    Raises ValueError where an answer does not fit the table.
    """
    for slot, text in answers.items():
        if slot == Dimension.TREATMENT and is_key(text):
            layout = with_key(layout, text, table, sheets)
        elif slot in set(Dimension):
            layout = _with_source(layout, Dimension(slot), source_of(text, table))
        else:
            layout = _with_property(layout, slot, text, table)
    return layout


def _with_property(layout: Layout, slot: str, text: str, table: Table) -> Layout:
    """Return a layout with an answer that is no place of labels."""
    if slot == "occasions":
        return replace(layout, occasions=Occasions(_one_of(text, slot)))
    if slot == "covers":
        covers = Covers(_one_of(text, slot))
        values = tuple(replace(each, covers=covers) for each in layout.values)
        return replace(layout, values=values)
    if slot == "values":
        names = tuple(column_of(name.strip(), table) for name in text.split("+"))
        return replace(layout, values=(replace(layout.values[0], columns=names),))
    raise ValueError(say("as it is read now, or no part of the trial"))


def _one_of(text: str, slot: str) -> str:
    choices = _typical(slot)
    if text.casefold() not in choices:
        raise ValueError(say("one of {words}", words=", ".join(map(say, choices))))
    return text.casefold()


def _with_source(layout: Layout, dimension: Dimension, source: Source | None) -> Layout:
    dimensions = dict(layout.dimensions)
    dimensions.pop(dimension, None)
    if source is None:
        return replace(layout, dimensions=dimensions)
    carriers = set(source.carriers)
    for other, other_source in layout.dimensions.items():
        if other is not dimension and set(other_source.carriers) <= carriers:
            dimensions.pop(other)
    dimensions[dimension] = source
    return replace(_without_values_in(layout, source), dimensions=dimensions)


def _without_values_in(layout: Layout, source: Source) -> Layout:
    """Return a layout that reads no values from columns that hold labels."""
    labelled = {carrier.name for carrier in source.carriers if carrier.kind is CarrierKind.COLUMN}
    values_left = tuple(values for values in layout.values if not labelled & set(values.columns))
    return replace(layout, values=values_left or layout.values)
