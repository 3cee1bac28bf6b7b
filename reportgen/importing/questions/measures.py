"""What a value is: its quantity, its unit of measure, and what a blank among values stands for."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from difflib import get_close_matches
from typing import Final

import numpy as np

from reportgen.importing.model.cells import Kind
from reportgen.importing.model.layouts import NOTHING, Blank, Layout, Values
from reportgen.importing.model.questions import Choice, Question, Slot, Summary, own_word
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Table
from reportgen.importing.quantity_names import quantity_text
from reportgen.importing.questions.describe import ABSENT, NOT_READ, quoted
from reportgen.importing.questions.situation import (
    Part,
    Situation,
    is_to_explain,
    layout_of,
    quantities_of,
    with_layout,
)
from reportgen.importing.questions.structure import NONE, without
from reportgen.language import plural, say
from reportgen.workbook.declaration import SHEETS
from reportgen.workbook.units import UnitError, conversion

MEASURE_CHOICES: Final = {
    "g": ("g", "kg", "mg", "oz", "lb"),
    "L": ("L", "mL", "US gal", "imp gal"),
    "kWh": ("kWh", "Wh", "MJ"),
    "cm": ("cm", "mm", "m", "in"),
    "mS/cm": ("mS/cm", "µS/cm"),
    "°C": ("°C", "°F"),
}
MASS: Final = "g"
FRESH_OR_DRY: Final = {"Fresh weight", "Dry weight"}
NEARLY: Final = 0.85  # alike letters by which a text is taken for a misspelt measure
BLANKS: Final = (Blank.MISSING, Blank.ZERO, Blank.LOST)


def quantity_key(part: Part, values: Values) -> str:
    """Return the key of the question what a column is."""
    return f"{part.key}.quantity.{values.columns[0]}"


def measure_key(part: Part, values: Values) -> str:
    """Return the key of the question for the unit of a column."""
    return f"{part.key}.measure.{values.columns[0]}"


def area_key(part: Part, values: Values) -> str:
    """Return the key of the question for the area of a plot."""
    return f"{part.key}.area.{values.columns[0]}"


def blank_key(part: Part, values: Values) -> str:
    """Return the key of the question what a blank cell stands for."""
    return f"{part.key}.blank.{values.quantity}"


def quantity_questions(situation: Situation) -> tuple[Question, ...]:
    """Return which quantity a column is, where candidates call the same columns differently."""
    asked = []
    for part in situation.parts:
        if part.layout is not None or not part.options:
            continue
        for values in part.options[0].layout.values:
            names = quantities_of(part, values.columns)
            if len(names) > 1:
                asked.append(_quantity(situation, part, values, names))
    return tuple(asked)


def _quantity(situation: Situation, part: Part, values: Values, names: tuple[str, ...]) -> Question:
    key = quantity_key(part, values)
    settings = situation.settings
    choices = []
    for name in names:
        gives = _figures_of(situation, part, values, name)
        answered_so = answered(settings, key, name)
        choices.append(Choice(name, answered_so, gives, said=quantity_text(name)))
    choices.append(own_word(NONE, answered(settings, key, NONE)))
    choices.append(own_word(NOT_READ, without(settings, part, key)))

    def accept(text: str) -> Settings:
        return answered(settings, key, _measure_called(text.strip()))

    shown = ", ".join(_examples(part.table, values.columns))
    ask = say(
        "What are the numbers in {columns} of {table} ({shown})?",
        columns=quoted(values.columns),
        table=part.table.key,
        shown=shown,
    )
    if set(names) == FRESH_OR_DRY:
        ask = say(
            "Are the weights in {columns} of {table} fresh or dry ({shown})?",
            columns=quoted(values.columns),
            table=part.table.key,
            shown=shown,
        )
    where = situation.where_columns(part.table, values.columns)
    hint = say("Or type what was measured, such as Root weight.")
    return Question(key, Slot.QUANTITY, ask, where, tuple(choices), None, True, accept, hint)


def _measure_called(text: str) -> str:
    """Return the measure that was typed, of its owner's own or as the declaration spells it.

    Raises ValueError where it is nearly a declared one.
    """
    names = {name.casefold(): name for name in (NONE, *FRESH_OR_DRY)}
    names.update({say(name).casefold(): name for name in (NONE, *FRESH_OR_DRY)})
    if text.casefold() in (ABSENT, say(ABSENT)):
        return NONE
    near = get_close_matches(text.casefold(), names, 1, NEARLY)
    if near and near[0] != text.casefold():
        raise ValueError(say('"{name}", or another name of your own', name=say(names[near[0]])))
    return names.get(text.casefold(), text)


def _figures_of(situation: Situation, part: Part, values: Values, name: str) -> Summary:
    """Return the figures by the best reading that gives some columns this quantity."""
    for option in part.options:
        for each in option.layout.values:
            if each.columns == values.columns and each.quantity == name:
                alone = replace(option.layout, values=(each,))
                return situation.figures(replace(situation.guess, layouts=(alone,)))
    return {}


def unit_questions(situation: Situation) -> tuple[Question, ...]:
    """Return the units of measure that are not written."""
    asked: list[Question] = []
    for part in situation.parts:
        layout = layout_of(part)
        if layout is not None and layout.gives != NOTHING:
            asked.extend(_units(situation, part, layout))
    return tuple(asked)


def _units(situation: Situation, part: Part, layout: Layout) -> Iterator[Question]:
    """Yield the questions for units and areas of one table."""
    for values in layout.values:
        declared = declared_unit(layout.gives, values.quantity)
        if declared and not values.unit:
            yield _unit(situation, part, layout, values)
        if declared == MASS and _lacks_area(values):
            yield _area(situation, part, values)


def _lacks_area(values: Values) -> bool:
    """Tell whether values are per area and the area of a plot is not known."""
    is_per_area = "/" in values.unit
    return is_per_area and not values.per_area and not values.area_column


def declared_unit(gives: str, quantity: str) -> str:
    """Return the declared unit of a quantity of a sheet, "" for a further measure."""
    for sheet in SHEETS:
        if sheet.name == gives:
            units = {column.name: column.unit for column in sheet.columns}
            return units.get(quantity, "")
    return ""


def _unit(situation: Situation, part: Part, layout: Layout, values: Values) -> Question:
    declared = declared_unit(layout.gives, values.quantity)
    key = measure_key(part, values)
    settings = situation.settings
    choices = []
    for unit in MEASURE_CHOICES.get(declared, (declared,)):
        alone = replace(layout, values=(replace(values, unit=unit),))
        gives = situation.figures(replace(situation.guess, layouts=(alone,)))
        choices.append(Choice(unit, answered(settings, key, unit), gives))

    def accept(text: str) -> Settings:
        unit = text.strip()
        try:
            conversion(unit, declared)
        except UnitError as error:
            raise ValueError(str(error)) from error
        return answered(settings, key, unit)

    shown = ", ".join(_examples(part.table, values.columns))
    ask = say(
        "In which unit are the numbers in {columns} of {table} ({shown})?",
        columns=quoted(values.columns),
        table=part.table.key,
        shown=shown,
    )
    where = situation.where_columns(part.table, values.columns)
    hint = say("Or type another unit.")
    return Question(key, Slot.UNIT, ask, where, tuple(choices), None, True, accept, hint)


def _area(situation: Situation, part: Part, values: Values) -> Question:
    key = area_key(part, values)
    settings = situation.settings

    def accept(text: str) -> Settings:
        if not _number(text) > 0:
            raise ValueError(say("an area in m2, such as 1.5"))
        return answered(settings, key, text.strip())

    where = situation.where_columns(part.table, values.columns)
    ask = say(
        "{columns} of {table} is per area. How many m2 has one plot?",
        columns=quoted(values.columns),
        table=part.table.key,
    )
    return Question(key, Slot.UNIT, ask, where, (), None, True, accept)


def _number(text: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        return 0.0


def _examples(table: Table, columns: tuple[str, ...]) -> list[str]:
    names = [column.name for column in table.columns]
    texts: list[str] = []
    for name in columns:
        if name in names:
            column = names.index(name)
            rows = np.flatnonzero(table.kind[:, column] == Kind.NUMBER)[:3]
            texts.extend(str(table.text[row, column]) for row in rows)
    return [*texts[:3], "..."]


def blank_questions(situation: Situation) -> tuple[Question, ...]:
    """Return what blank cells among values stand for, where that changes a figure."""
    asked = []
    for part in situation.parts:
        layout = layout_of(part)
        if layout is None or not is_to_explain(part):
            continue
        for values in layout.values:
            if _is_one_event_of_several(layout, values):
                continue
            if values.blank is Blank.UNKNOWN and blanks_in(part.table, values.columns):
                asked.extend(_blank(situation, part, layout, values))
    return tuple(asked)


def _is_one_event_of_several(layout: Layout, values: Values) -> bool:
    """Tell whether each event has its own column of volumes.

    A blank says that there was another event.
    """
    events = {each.event for each in layout.values if each.quantity == values.quantity}
    return bool(values.event) and len(events) > 1


def _blank(situation: Situation, part: Part, layout: Layout, values: Values) -> list[Question]:
    key = blank_key(part, values)
    choices = []
    for blank in BLANKS:
        settings = answered(situation.settings, key, blank.value)
        gives = _figures_with_blank(situation, layout, values, blank)
        choices.append(own_word(blank.value, settings, gives))
    if all(choice.gives == choices[0].gives for choice in choices):
        return []
    cells = blanks_in(part.table, values.columns)
    places = tuple(_place(situation, part.table, row, column) for row, column in cells[:5])
    ask = plural(
        "What does a blank cell mean in {columns} of {table} ({number} is blank)?",
        "What does a blank cell mean in {columns} of {table} ({number} are blank)?",
        len(cells),
        columns=quoted(values.columns),
        table=part.table.key,
    )
    return [Question(key, Slot.BLANK, ask, places, tuple(choices))]


def _figures_with_blank(
    situation: Situation, layout: Layout, values: Values, blank: Blank
) -> Summary:
    """Return the figures of the quantity of some values with a meaning of its blank cells.

    The figures of other quantities stay the same.
    """
    changed = []
    for each in layout.values:
        if each == values:
            changed.append(replace(each, blank=blank))
        elif each.quantity == values.quantity:
            changed.append(each)
    alone = replace(layout, values=tuple(changed))
    guess = with_layout(situation.guess, layout, alone)
    return situation.figures(guess)


def _place(situation: Situation, table: Table, row: int, column: int) -> str:
    block = table.blocks[table.block[row]]
    sheet = situation.sheets[block.sheet]
    return f"{sheet.label}!{sheet.address(int(table.row[row]), block.letters[column])}"


def blanks_in(table: Table, names: tuple[str, ...]) -> list[tuple[int, int]]:
    """Return the blank value cells of a table, as (row, column) of its arrays.

    Rows that are wholly blank are left out.
    """
    positions = [index for index, column in enumerate(table.columns) if column.name in names]
    if not positions or not len(table.row):
        return []
    kinds = table.kind[:, positions]
    used = (table.kind != Kind.BLANK).any(axis=1)
    rows, columns = np.nonzero((kinds == Kind.BLANK) & used[:, None])
    return [(int(row), positions[column]) for row, column in zip(rows, columns, strict=True)]


def answered(settings: Settings, key: str, text: str) -> Settings:
    """Return settings that keep an answer by its key."""
    return replace(settings, answers={**settings.answers, key: text})


def with_answers(layout: Layout, part: Part, answers: Mapping[str, str]) -> Layout:
    """Return a layout with the quantities, units and blanks that its owner named."""
    values = []
    names = {answers.get(quantity_key(part, each)) for each in layout.values}
    for each in layout.values:
        name = answers.get(quantity_key(part, each), _unanswered_name(each, names))
        if name != NONE:
            values.append(_with_properties(replace(each, quantity=name), part, answers))
    return replace(layout, values=tuple(values))


def _unanswered_name(values: Values, names: Collection[str | None]) -> str:
    """Return the quantity of values without an answer, unless other values got its name."""
    if values.quantity in names and not values.event:
        return values.columns[0]
    return values.quantity


def _with_properties(values: Values, part: Part, answers: Mapping[str, str]) -> Values:
    """Return values with the unit, the area and the blanks that their owner named."""
    if not values.unit:
        values = replace(values, unit=answers.get(measure_key(part, values), ""))
    if not values.per_area:
        values = replace(values, per_area=_number(answers.get(area_key(part, values), "0")))
    if values.blank is Blank.UNKNOWN:
        values = replace(values, blank=Blank(answers.get(blank_key(part, values), "")))
    return values
