"""Numbers that are not explained, and values that do not look like their neighbours."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from reportgen.importing.model.layouts import NOTHING, Corrected, Layout, LeftOut, Occasions, Values
from reportgen.importing.model.questions import Choice, Fate, Ledger, Question, Slot, own_word
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Area, Column, Table
from reportgen.importing.quantity_names import quantity_text
from reportgen.importing.questions.confirm import reopened
from reportgen.importing.questions.situation import Part, Situation, range_of, value_columns
from reportgen.language import marked, say
from reportgen.model.problem import Problem, Severity, areas_of

LEAVE_OUT: Final = marked("left out")
AGAIN: Final = marked("it is part of the trial: ask me again what the table is")
KEEP: Final = marked("keep as it is")
FURTHER: Final = marked("a further measure")
EXCHANGED: Final = marked("the two columns are exchanged")
MORE: Final = marked("more of {quantity}")
TARE: Final = marked('"{column}" is the cup or bag that was weighed with it')
MOST_QUESTIONS: Final = 12
ASKED_ELSEWHERE: Final = (
    "unit_not_told",
    "treatment_not_told",
    "blank_not_explained",
    "word_among_numbers",
)


def unexplained_questions(situation: Situation, ledger: Ledger) -> tuple[Question, ...]:
    """Return what numbers are that have no other fate: one question for those that stand together.

    Numbers of a table that is still open are no question: what the table is comes first.
    """
    open_areas = []
    for sheet, area in areas(ledger, Fate.UNEXPLAINED):
        if not _awaits_its_table(situation, sheet, area):
            open_areas.append((sheet, area))
    asked = []
    for sheet, run in _runs(open_areas):
        place = range_of(_around(run), situation.sheets[sheet])
        if f"row.{place}" not in situation.settings.answers:
            asked.append(_unexplained(situation, sheet, run, place))
    return tuple(asked)


def _runs(areas_by_sheet: Iterable[tuple[int, Area]]) -> list[tuple[int, list[Area]]]:
    """Return areas by sheet, those right below one another together."""
    runs: list[tuple[int, list[Area]]] = []
    for sheet, area in areas_by_sheet:
        if runs and _is_right_below(area, sheet, runs[-1]):
            runs[-1][1].append(area)
        else:
            runs.append((sheet, [area]))
    return runs


def _is_right_below(area: Area, sheet: int, run: tuple[int, list[Area]]) -> bool:
    run_sheet, above = run
    return run_sheet == sheet and above[-1].last_row == area.first_row - 1


def _around(run: Sequence[Area]) -> Area:
    """Return the area that spans others."""
    first_column = min(area.first_column for area in run)
    last_column = max(area.last_column for area in run)
    return Area(run[0].first_row, first_column, run[-1].last_row, last_column)


def _awaits_its_table(situation: Situation, sheet: int, area: Area) -> bool:
    """Tell whether an area stands in a table that is still open."""
    for part in situation.parts:
        if part.layout is not None:
            continue
        for block in part.table.blocks:
            if block.sheet == sheet and _contains(block.area, area):
                return True
    return False


def _contains(outer: Area, inner: Area) -> bool:
    has_rows = outer.first_row <= inner.first_row and inner.last_row <= outer.last_row
    first_column, last_column = inner.first_column, inner.last_column
    return has_rows and outer.first_column <= first_column and last_column <= outer.last_column


def areas(ledger: Ledger, fate: Fate) -> list[tuple[int, Area]]:
    """Return the cells of one fate by sheet, as areas of successive rows with the same columns."""
    result: list[tuple[int, Area]] = []
    latest: dict[tuple[int, int, int], int] = {}
    for (sheet, row), columns in sorted(_columns_by_row(ledger, fate).items()):
        for first, last in _side_by_side(sorted(columns)):
            index = latest.get((sheet, first, last), -1)
            if index >= 0 and result[index][1].last_row == row - 1:
                result[index] = (sheet, replace(result[index][1], last_row=row))
            else:
                latest[sheet, first, last] = len(result)
                result.append((sheet, Area(row, first, row, last)))
    return result


def _columns_by_row(ledger: Ledger, fate: Fate) -> dict[tuple[int, int], list[int]]:
    """Return the columns of the cells of one fate by sheet and row."""
    rows: dict[tuple[int, int], list[int]] = {}
    for entry in ledger.entries:
        if entry.fate is fate:
            for sheet, row, column in entry.cells:
                rows.setdefault((sheet, row), []).append(column)
    return rows


def _side_by_side(columns: list[int]) -> list[tuple[int, int]]:
    """Return the first and last of columns that stand side by side.

    A column that is read between them parts them.
    """
    runs: list[tuple[int, int]] = []
    for column in columns:
        if runs and column == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], column)
        else:
            runs.append((column, column))
    return runs


def _unexplained(situation: Situation, sheet: int, run: Sequence[Area], place: str) -> Question:
    first = run[0]
    row = situation.sheets[sheet].text[first.first_row - 1]
    texts = row[first.first_column - 1 : first.last_column]
    holds = " | ".join(str(text) for text in texts if text)
    is_one_row = len(run) == 1 and first.last_row == first.first_row
    if is_one_row:
        more = ""
        settings = _left_out(situation, sheet, run, place, holds)
        further: tuple[Choice, ...] = ()
    else:
        more = " ..."
        settings = _left_out(situation, sheet, run, place, "")
        further = _asked_anew(situation, sheet)
    key = f"row.{place}"
    leave_out = own_word(LEAVE_OUT, settings, situation.figures(settings))
    as_columns = _as_columns(situation, sheet, _around(run))
    if as_columns:
        ask = say(
            "{place} holds {holds}{more}, in a column that is not read. What is it?",
            place=place,
            holds=holds,
            more=more,
        )
        return Question(key, Slot.ROW, ask, (place,), (*as_columns, leave_out, *further))
    ask = say(
        "{place} holds {holds}{more}, and is read as nothing. May it be left out?",
        place=place,
        holds=holds,
        more=more,
    )
    hint = say(
        "If it belongs to the trial, skip: then give it a header or labels as the rows"
        " beside it have."
    )
    return Question(key, Slot.ROW, ask, (place,), (leave_out, *further), LEAVE_OUT, hint=hint)


def _asked_anew(situation: Situation, sheet: int) -> tuple[Choice, ...]:
    """Return the choice to be asked anew what the table of a sheet is, if one is settled there."""
    index = _layout_of_sheet(situation, sheet)
    if index is None:
        return ()
    settings = situation.settings
    return (own_word(AGAIN, reopened(settings, settings.layouts[index].table)),)


def _as_columns(situation: Situation, sheet: int, area: Area) -> list[Choice]:
    """Return choices that read columns new to a settled table.

    They go with those of a quantity, or are further measures.
    """
    for part in situation.parts:
        layout = part.layout
        columns = _columns_at(part, sheet, area)
        if layout is None or layout.gives == NOTHING or not columns:
            continue
        if not _is_any_read(layout, columns):
            return _readings_of(situation, part, layout, columns)
    return []


def _readings_of(
    situation: Situation, part: Part, layout: Layout, columns: Sequence[Column]
) -> list[Choice]:
    """Return choices that read columns with those of a quantity, or as further measures.

    Further measures need a label that tells their treatment.
    """
    settings = situation.settings
    index = settings.layouts.index(layout)
    quantities = set(situation.figures(settings))
    choices = []
    for reading in (*_extended(part, layout, columns), *_further(layout, columns)):
        answer, text, values = reading
        changed = _with_layout(settings, index, replace(layout, values=values))
        gives = situation.figures(changed)
        if answer != FURTHER or set(gives) > quantities:
            choices.append(Choice(answer, changed, gives, said=text))
    return choices


Reading = tuple[str, str, tuple[Values, ...]]  # an answer, what its reader sees, the values


def _extended(part: Part, layout: Layout, columns: Sequence[Column]) -> Iterator[Reading]:
    """Yield each quantity of several columns with further ones.

    A header that changed took one away.
    """
    present = {column.name for column in part.table.columns}
    names = tuple(column.name for column in columns)
    for index, values in enumerate(layout.values):
        if len(values.columns) > 1:
            remaining = [name for name in values.columns if name in present]
            changed = list(layout.values)
            changed[index] = replace(values, columns=(*remaining, *names))
            text = say(MORE, quantity=quantity_text(values.quantity))
            yield MORE.format(quantity=values.quantity), text, tuple(changed)


def _further(layout: Layout, columns: Sequence[Column]) -> Iterator[Reading]:
    """Yield columns as measures of their own; a series over days has none of one day beside it."""
    if layout.occasions is Occasions.GROWTH:
        return
    covers = layout.values[0].covers
    further = [Values(column.name, (column.name,), column.unit, covers) for column in columns]
    yield FURTHER, say(FURTHER), (*layout.values, *further)


def _columns_at(part: Part, sheet: int, area: Area) -> list[Column]:
    """Return the columns of a table in which an area stands; none if it is outside of its rows."""
    for block in part.table.blocks:
        inside = block.area.first_row <= area.first_row and area.last_row <= block.area.last_row
        if block.sheet == sheet and inside:
            return _columns_between(part, block.letters, area.first_column, area.last_column)
    return []


def _columns_between(part: Part, letters: Sequence[int], first: int, last: int) -> list[Column]:
    columns = []
    for column, letter in zip(part.table.columns, letters, strict=True):
        if first <= letter <= last:
            columns.append(column)
    return columns


def _is_any_read(layout: Layout, columns: Iterable[Column]) -> bool:
    """Tell whether a layout reads values in any of some columns, so their cells lack another."""
    read = value_columns(layout)
    return any(column.name in read for column in columns)


def _left_out(
    situation: Situation, sheet: int, run: Sequence[Area], place: str, holds: str
) -> Settings:
    settings = situation.settings
    index = _layout_of_sheet(situation, sheet)
    if index is None:
        return replace(settings, answers={**settings.answers, f"row.{place}": LEAVE_OUT})
    layout = settings.layouts[index]
    ranges = [range_of(area, situation.sheets[sheet]) for area in run]
    entries = [LeftOut(cells, holds, "owner") for cells in ranges]
    return _with_layout(settings, index, replace(layout, left_out=(*layout.left_out, *entries)))


def _layout_of_sheet(situation: Situation, sheet: int) -> int | None:
    for index, layout in enumerate(situation.settings.layouts):
        for part in situation.parts:
            if part.layout == layout and any(block.sheet == sheet for block in part.table.blocks):
                return index
    return None


def _with_layout(settings: Settings, index: int, layout: Layout) -> Settings:
    layouts = list(settings.layouts)
    layouts[index] = layout
    return replace(settings, layouts=tuple(layouts))


def flag_questions(situation: Situation, flags: Iterable[Problem]) -> tuple[Question, ...]:
    """Return what its owner is to decide on cells that look wrong."""
    asked = []
    for flag in flags:
        index = _layout_at(situation, flag)
        is_asked = flag.severity is Severity.ERROR and flag.code not in ASKED_ELSEWHERE
        if index is not None and is_asked:
            asked.append(_flag(situation, flag, index))
    return tuple(asked[:MOST_QUESTIONS])


def _layout_at(situation: Situation, flag: Problem) -> int | None:
    for sheet, each in enumerate(situation.sheets):
        if each.label == flag.sheet:
            return _layout_of_sheet(situation, sheet)
    return None


def _flag(situation: Situation, flag: Problem, index: int) -> Question:
    settings = situation.settings
    layout = settings.layouts[index]
    places = tuple(f"{flag.sheet}!{area}" for area in areas_of(flag.cell))
    confirmed = replace(layout, confirmed=(*layout.confirmed, *places))
    entries = tuple(LeftOut(place, "", "owner") for place in places)
    left_out = replace(layout, left_out=(*layout.left_out, *entries))
    choices = [own_word(KEEP, _with_layout(settings, index, confirmed))]
    for answer, text, changed in _other_readings(situation, flag, layout):
        changed_settings = _with_layout(settings, index, changed)
        gives = situation.figures(changed_settings)
        choices.append(Choice(answer, changed_settings, gives, said=text))
    choices.append(own_word(LEAVE_OUT, _with_layout(settings, index, left_out)))
    key = f"row.{flag.sheet}!{flag.cell}"
    ask = say(
        "{found}, where {expected} was expected. Is it right?",
        found=flag.found,
        expected=flag.expected,
    )
    if len(places) > 1 or ":" in flag.cell or not flag.cell:
        return Question(key, Slot.ROW, ask, places, tuple(choices), why=flag.advice)
    text_now = situation.text_at(places[0])

    def accept(text: str) -> Settings:
        correction = Corrected(places[0], text_now, text.strip())
        corrected = replace(layout, corrected=(*layout.corrected, correction))
        return _with_layout(settings, index, corrected)

    hint = say("Or type the right value.")
    return Question(
        key, Slot.ROW, ask, places, tuple(choices), None, True, accept, hint, flag.advice
    )


def _other_readings(
    situation: Situation, flag: Problem, layout: Layout
) -> Iterator[tuple[str, str, Layout]]:
    """Yield what else may be meant where dry plants are heavier than fresh ones.

    Each is an answer, its text in the language of the reader, and a layout with other columns.
    """
    if flag.code != "dry_above_fresh":
        return
    by_quantity = {values.quantity: values for values in layout.values}
    fresh, dry = by_quantity.get("Fresh weight"), by_quantity.get("Dry weight")
    if fresh is None or dry is None:
        return
    others = tuple(values for values in layout.values if values not in (fresh, dry))
    exchanged = replace(fresh, quantity=dry.quantity), replace(dry, quantity=fresh.quantity)
    yield EXCHANGED, say(EXCHANGED), replace(layout, values=(*others, *exchanged))
    for name in _lighter_columns(situation.table(layout.table), layout, dry.columns[0]):
        net = _with_tare(layout, dry, name)
        yield TARE.format(column=name), say(TARE, column=name), net


def _with_tare(layout: Layout, gross: Values, tare: str) -> Layout:
    """Return a layout in which a column is subtracted from a gross weight."""
    others = []
    for values in layout.values:
        if values is not gross and tare not in values.columns:
            others.append(values)
    return replace(layout, values=(*others, replace(gross, tare=tare)))


def _lighter_columns(table: Table, layout: Layout, gross: str) -> Iterator[str]:
    """Yield the columns without labels that are lighter than a gross weight on each row."""
    carriers: set[str] = set()
    for source in layout.dimensions.values():
        carriers.update(carrier.name for carrier in source.carriers)
    names = [column.name for column in table.columns]
    weights = table.number[:, names.index(gross)]
    for index, name in enumerate(names):
        if name not in (gross, *carriers) and (table.number[:, index] < weights).all():
            yield name
