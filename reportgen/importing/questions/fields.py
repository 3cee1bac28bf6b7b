"""Fields of the sheet Trial, and what was treated independently."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind
from reportgen.importing.model.layouts import NOTHING, CarrierKind, Dimension, Occasions
from reportgen.importing.model.questions import Choice, Question, Slot, Summary, own_word
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Table
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
CROP_LABELS: Final = ("crop", "culture", "cultura", "kultur", "gewas", "cultivo", "coltura")
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
        is_asked = column.required and column.name in KEYS
        if is_asked and not situation.settings.trial.get(column.name):
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
    """Return the day that a text names, as 2025-03-31 or 31.3.2025.

    Raises ValueError where it names none.
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
    names: dict[str, None] = {}
    for figures in summary.values():
        names.update(dict.fromkeys(figures))
    return tuple(name for name in names if name)


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
        return _written(situation, CROP_LABELS)
    if name == "Started on":
        return _day_text(_days(situation, with_starts=True), 0)
    days = _days_of_harvest(situation) or _days(situation, with_starts=False)
    return _day_text(days, -1)


def _day_text(days: Sequence[date], index: int) -> str | None:
    if days:
        return str(days[index])
    return None


def _days_of_harvest(situation: Situation) -> list[date]:
    """Return the last days on which plants of a treatment were weighed."""
    harvested = []
    for layout in situation.settings.layouts:
        if layout.gives in HARVESTED and layout.occasions is not Occasions.GROWTH:
            harvested.append(layout)
    summary = situation.figures(replace(situation.settings, layouts=tuple(harvested)))
    days: list[date] = []
    for by_treatment in summary.values():
        for figures in by_treatment.values():
            days.extend(_day_in(figures.last))
    return sorted(days)


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
    if part.layout is None:
        return False
    source = part.layout.dimensions.get(Dimension.TREATMENT)
    if source is None:
        return False
    return any(carrier.kind is CarrierKind.TITLE for carrier in source.carriers)


def _written(situation: Situation, words: tuple[str, ...]) -> str | None:
    """Return what a labelled cell above a table or in a list of fields says."""
    for table in situation.found.tables:
        for label, value in _labelled(table):
            if value and folded(label) in words:
                return value
    return None


def _labelled(table: Table) -> Iterator[tuple[str, str]]:
    """Yield the labelled cells above a table, then those of a list of fields."""
    for block in table.blocks:
        yield from block.fields.items()
    if table.is_fields and table.text.shape[1] >= 2:
        for row in table.text:
            yield str(row[0]), str(row[1] or "")


def _days(situation: Situation, *, with_starts: bool) -> list[date]:
    """Return the first and the last day of each table that is read, and days in sheet names.

    Columns of starts count only if wanted.
    """
    days: list[date] = []
    for part in _read(situation):
        moments = _moments(part.table, with_starts=with_starts)
        if len(moments):
            for moment in (moments.min(), moments.max()):
                days.append(moment.astype("datetime64[D]").astype(date))
        for block in part.table.blocks:
            days.extend(_day_in(situation.sheets[block.sheet].name))
    return sorted(days)


def _moments(table: Table, *, with_starts: bool) -> NDArray[np.datetime64]:
    """Return the dates and times of a table, those of starts only if wanted."""
    is_moment = table.kind == Kind.MOMENT
    if not with_starts:
        is_start = [says(column.header, "started", "sown") for column in table.columns]
        is_moment = is_moment & ~np.array(is_start, np.bool_)
    is_known = is_moment & ~np.isnat(table.moment)
    moments: NDArray[np.datetime64] = table.moment[is_known]
    return moments


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
    if not _is_without_units(situation):
        return ()
    choices = []
    for name, means in INDEPENDENT.items():
        changed = replace(settings, independent=name)
        choices.append(own_word(name, changed, situation.figures(changed), say(means)))

    def accept(text: str) -> Settings:
        return _by_column(situation, text)

    ask = say("What was given its treatment by itself? No tray, pot or bed is named.")
    hint = say("Or type the column that names the trays.")
    question = Question(
        "trial.independent", Slot.INDEPENDENT, ask, (), tuple(choices), None, True, accept, hint
    )
    return (question,)


def _is_without_units(situation: Situation) -> bool:
    """Tell whether every table is settled and none that is read names trays."""
    if any(part.layout is None for part in situation.parts):
        return False
    for layout in situation.settings.layouts:
        if layout.gives != NOTHING and Dimension.UNIT in layout.dimensions:
            return False
    return True


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
