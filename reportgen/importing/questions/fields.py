"""Fields of the sheet Trial, and what was treated independently."""

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Final

import numpy as np

from reportgen.importing.model.cells import Kind
from reportgen.importing.model.layouts import NOTHING, CarrierKind, Dimension, Occasions
from reportgen.importing.model.questions import Choice, Question, Slot, Summary, own_word
from reportgen.importing.model.settings import Settings
from reportgen.importing.questions.situation import Part, Situation
from reportgen.importing.words import says
from reportgen.language import marked, say
from reportgen.workbook.declaration import TRIAL
from reportgen.workbook.declaration import Kind as DeclaredKind
from reportgen.workbook.headers import folded

REFERENCE: Final = "Reference treatment"
KEYS: Final = {
    "Title": "trial.title",
    "Crop": "trial.crop",
    "Started on": "trial.started_on",
    "Harvested on": "trial.harvested_on",
    REFERENCE: "trial.reference",
}
ASKED: Final = {
    "Title": marked("What is the trial called?"),
    "Crop": marked("Which crop was grown?"),
    "Started on": marked("On which day did the treatments begin?"),
    "Harvested on": marked("On which day was the (last) harvest?"),
    REFERENCE: marked("With which treatment are the others compared?"),
}
DOTTED: Final = re.compile(r"(\d{1,2})\.\s*(\d{1,2})\.\s*(\d{4})")
HARVESTED: Final = ("Plants", "Harvests")
INDEPENDENT: Final = {
    "plant": marked("each plant stood in a pot of its own"),
    "treatment": marked("all plants of a treatment stood together"),
}
CONTROLS: Final = ("control", "kontrolle", "controle", "témoin", "testigo", "controllo", "testemunha", "reference",
                   "none", "no", "without", "ohne", "sans", "sin", "zonder")  # fmt: skip


def field_questions(situation: Situation) -> tuple[Question, ...]:
    """Return the required fields of the sheet Trial that are still unset."""
    if situation.book is not None or not treatments_of(situation):
        return ()
    asked = []
    for column in TRIAL.columns:
        if (
            column.required
            and column.name in KEYS
            and not situation.settings.trial.get(column.name)
        ):
            asked.append(_field(situation, column.name, column.kind))
    return tuple(asked)


def _field(situation: Situation, name: str, kind: DeclaredKind) -> Question:
    settings = situation.settings
    key = KEYS[name]
    if name == REFERENCE:
        names = treatments_of(situation)
        choices = tuple(Choice(each, with_field(settings, name, each)) for each in names)
        return Question(key, Slot.FIELD, say(ASKED[name]), (), choices, _control(names))

    def accept(text: str) -> Settings:
        if kind is DeclaredKind.DATE:
            return with_field(settings, name, day_of(text))
        # the number of a choice, typed where there is none
        if not any(letter.isalpha() for letter in text):
            raise ValueError(say("a text with letters"))
        return with_field(settings, name, text.strip())

    default = _default(situation, name)
    return Question(key, Slot.FIELD, say(ASKED[name]), (), (), default, True, accept)


def day_of(text: str) -> date:
    """Return the day that a text names, as 2025-03-31 or 31.3.2025; raise ValueError where it names
    none.
    """
    dotted = DOTTED.fullmatch(text.strip())  # in which the day comes first everywhere
    if dotted:
        text = f"{dotted[3]}-{dotted[2]}-{dotted[1]}"
    match = re.match(r"(\d{4})-(\d{1,2})-(\d{1,2})\b", text.strip())
    if match is None:
        raise ValueError(say("a day written as 2025-03-31"))
    try:
        return date(*map(int, match.groups()))
    except ValueError as error:
        raise ValueError(say("a day of the calendar, written as 2025-03-31")) from error


def with_field(settings: Settings, name: str, value: object) -> Settings:
    """Return settings with a field of the sheet Trial."""
    return replace(settings, trial={**settings.trial, name: value})


def treatments_of(situation: Situation) -> tuple[str, ...]:
    """Return the treatments that are read so far, as the report prints them."""
    return treatments_in(situation.figures(situation.guess))


def treatments_in(summary: Summary) -> tuple[str, ...]:
    """Return the treatments of a summary, in their order."""
    return tuple(dict.fromkeys(name for figures in summary.values() for name in figures if name))


def _control(names: Iterable[str]) -> str | None:
    words = {folded(word) for word in CONTROLS}
    for name in names:
        if words & {folded(part) for part in re.split(r"\W+", name)}:
            return name
    return None


def _default(situation: Situation, name: str) -> str | None:
    if name == "Title":
        return _title(situation)
    if name == "Crop":
        return _written(
            situation, ("crop", "culture", "cultura", "kultur", "gewas", "cultivo", "coltura")
        )
    is_start = name == "Started on"
    days = _days(situation, with_starts=is_start)
    if not is_start:
        days = _days_of_harvest(situation) or days
    if not days:
        return None
    return str(days[0] if is_start else days[-1])


def _days_of_harvest(situation: Situation) -> list[date]:
    """Return the last days on which plants of a treatment were weighed."""
    layouts = [layout for layout in situation.settings.layouts if layout.gives in HARVESTED]
    harvested = [layout for layout in layouts if layout.occasions is not Occasions.GROWTH]
    summary = situation.figures(replace(situation.settings, layouts=tuple(harvested)))
    labels = [each.last for figures in summary.values() for each in figures.values()]
    return sorted(day for label in labels for day in _day_in(label))


def _title(situation: Situation) -> str | None:
    for part in _read(situation):
        if _titles_are_treatments(part):
            continue
        for block in part.table.blocks:
            texts = [text for text, _ in block.titles if len(text) > 3]
            if texts:
                return texts[-1]
    return None


def _titles_are_treatments(part: Part) -> bool:
    if part.layout:
        source = part.layout.dimensions.get(Dimension.TREATMENT)
    else:
        source = None
    return source is not None and any(
        carrier.kind is CarrierKind.TITLE for carrier in source.carriers
    )


def _written(situation: Situation, words: tuple[str, ...]) -> str | None:
    """Return what a labelled cell above a table or in a list of fields says."""
    for table in situation.found.tables:
        for block in table.blocks:
            for label, value in block.fields.items():
                if folded(label) in words and value:
                    return value
        if table.is_fields and table.text.shape[1] >= 2:
            for row in table.text:
                if folded(str(row[0])) in words and row[1]:
                    return str(row[1])
    return None


def _days(situation: Situation, *, with_starts: bool) -> list[date]:
    """Return the first and the last day of the dates in the tables that are read, those of starts
    only if wanted.
    """
    found: list[date] = []
    for part in _read(situation):
        is_day = part.table.kind == Kind.MOMENT
        if not with_starts:
            is_day = is_day & [
                not says(column.header, "started", "sown") for column in part.table.columns
            ]
        moments = part.table.moment[is_day]
        moments = moments[~np.isnat(moments)]
        if len(moments):
            found.extend(
                day.astype("datetime64[D]").astype(date) for day in (moments.min(), moments.max())
            )
        for block in part.table.blocks:
            found.extend(_day_in(situation.sheets[block.sheet].name))
    return sorted(found)


def _day_in(name: str) -> list[date]:
    match = re.search(r"\d{4}-\d{2}-\d{2}", name)
    try:
        if match:
            return [date.fromisoformat(match[0])]
        return []
    except ValueError:
        return []


def _read(situation: Situation) -> list[Part]:
    return [part for part in situation.parts if part.layout and part.layout.gives != NOTHING]


def independent_questions(situation: Situation) -> tuple[Question, ...]:
    """Return the question what was treated independently, where no tray is known."""
    settings = situation.settings
    if situation.book is not None or settings.independent or not treatments_of(situation):
        return ()
    if any(part.layout is None for part in situation.parts):
        return ()
    for layout in settings.layouts:
        if layout.gives != NOTHING and Dimension.UNIT in layout.dimensions:
            return ()
    choices = []
    for name, means in INDEPENDENT.items():
        changed = replace(settings, independent=name)
        choices.append(own_word(name, changed, situation.figures(changed), say(means)))

    def accept(text: str) -> Settings:
        return _by_column(situation, text)

    ask = say("What was given its treatment by itself? No tray, pot or bed is named.")
    hint = say("Or type the column that names the trays.")
    return (
        Question(
            "trial.independent", Slot.INDEPENDENT, ask, (), tuple(choices), None, True, accept, hint
        ),
    )


def _by_column(situation: Situation, text: str) -> Settings:
    """Return settings in which the units are what a column names."""
    from reportgen.importing.questions.sources import coded, source_of

    settings = situation.settings
    layouts = list(settings.layouts)
    fitting = 0
    for part in _read(situation):
        try:
            source = source_of(coded(text, part.table), part.table)
        except ValueError:
            continue
        if source is None or part.layout is None:
            continue
        dimensions = {**part.layout.dimensions, Dimension.UNIT: source}
        layouts[layouts.index(part.layout)] = replace(part.layout, dimensions=dimensions)
        fitting += 1
    if not fitting:
        raise ValueError(say("plant, treatment, or the name of a column"))
    return replace(settings, layouts=tuple(layouts), independent="unit")
