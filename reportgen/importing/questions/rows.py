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
from reportgen.importing.questions.situation import Part, Situation, range_of
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
    unexplained = areas(ledger, Fate.UNEXPLAINED)
    open_areas = [
        (sheet, area)
        for sheet, area in unexplained
        if not _awaits_its_table(situation, sheet, area)
    ]
    asked = []
    for sheet, run in _runs(open_areas):
        place = range_of(_around(run), situation.sheets[sheet])
        if f"row.{place}" not in situation.settings.answers:
            asked.append(_unexplained(situation, sheet, run, place))
    return tuple(asked)


def _runs(found: Iterable[tuple[int, Area]]) -> list[tuple[int, list[Area]]]:
    """Return areas by sheet, those right below one another together."""
    runs: list[tuple[int, list[Area]]] = []
    for sheet, area in found:
        if runs and runs[-1][0] == sheet and runs[-1][1][-1].last_row == area.first_row - 1:
            runs[-1][1].append(area)
        else:
            runs.append((sheet, [area]))
    return runs


def _around(run: Sequence[Area]) -> Area:
    """Return the area that spans others."""
    first_column = min(area.first_column for area in run)
    last_column = max(area.last_column for area in run)
    return Area(run[0].first_row, first_column, run[-1].last_row, last_column)


def _awaits_its_table(situation: Situation, sheet: int, area: Area) -> bool:
    blocks = [
        block for part in situation.parts if part.layout is None for block in part.table.blocks
    ]
    return any(block.sheet == sheet and _holds(block.area, area) for block in blocks)


def _holds(outer: Area, inner: Area) -> bool:
    is_between_rows = outer.first_row <= inner.first_row and inner.last_row <= outer.last_row
    return (
        is_between_rows
        and outer.first_column <= inner.first_column
        and inner.last_column <= outer.last_column
    )


def areas(ledger: Ledger, fate: Fate) -> list[tuple[int, Area]]:
    """Return the cells of one fate by sheet, as areas of rows that follow one another with the same
    columns.
    """
    rows: dict[tuple[int, int], list[int]] = {}
    for entry in ledger.entries:
        if entry.fate is fate:
            for sheet, row, column in entry.cells:
                rows.setdefault((sheet, row), []).append(column)
    found: list[tuple[int, Area]] = []
    latest: dict[tuple[int, int, int], int] = {}
    for (sheet, row), columns in sorted(rows.items()):
        for first, last in _side_by_side(sorted(columns)):
            at = latest.get((sheet, first, last), -1)
            if at >= 0 and found[at][1].last_row == row - 1:
                found[at] = (sheet, replace(found[at][1], last_row=row))
            else:
                latest[sheet, first, last] = len(found)
                found.append((sheet, Area(row, first, row, last)))
    return found


def _side_by_side(columns: list[int]) -> list[tuple[int, int]]:
    """Return the first and last of columns that stand side by side: what is read between them is
    none of theirs.
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
    texts = situation.sheets[sheet].text[
        first.first_row - 1, first.first_column - 1 : first.last_column
    ]
    holds = " | ".join(str(text) for text in texts if text)
    is_one_row = len(run) == 1 and first.last_row == first.first_row
    if is_one_row:
        more = ""
    else:
        more = " ..."
    ask = say(
        "{place} holds {holds}{more}, and is read as nothing. May it be left out?",
        place=place,
        holds=holds,
        more=more,
    )
    settings = _left_out(situation, sheet, run, place, holds if is_one_row else "")
    hint = say(
        "If it belongs to the trial, skip: then give it a header or labels as the rows"
        " beside it have."
    )
    leave_out = own_word(LEAVE_OUT, settings, situation.figures(settings))
    if not is_one_row:
        again = _again(situation, sheet)
    else:
        again = ()
    as_columns = _as_columns(situation, sheet, _around(run))
    if as_columns:
        ask = say(
            "{place} holds {holds}{more}, in a column that is not read. What is it?",
            place=place,
            holds=holds,
            more=more,
        )
        return Question(f"row.{place}", Slot.ROW, ask, (place,), (*as_columns, leave_out, *again))
    return Question(
        f"row.{place}", Slot.ROW, ask, (place,), (leave_out, *again), LEAVE_OUT, hint=hint
    )


def _again(situation: Situation, sheet: int) -> tuple[Choice, ...]:
    """Return the choice to be asked anew what the table of a sheet is; none where no table is
    settled there.
    """
    index = _layout_of_sheet(situation, sheet)
    if index is None:
        return ()
    settings = situation.settings
    return (own_word(AGAIN, reopened(settings, settings.layouts[index].table)),)


def _as_columns(situation: Situation, sheet: int, area: Area) -> list[Choice]:
    """Return choices that read columns new to a settled table: with those of a quantity, or as
    further measures.
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
    """Return choices that read columns with those of a quantity, or as further measures where
    something tells of which treatment they are.
    """
    settings = situation.settings
    index = settings.layouts.index(layout)
    known = set(situation.figures(settings))
    found = []
    for answer, said, values in (*_extended(part, layout, columns), *_further(layout, columns)):
        changed = _with_layout(settings, index, replace(layout, values=values))
        gives = situation.figures(changed)
        if answer != FURTHER or set(gives) > known:
            found.append(Choice(answer, changed, gives, said=said))
    return found


Reading = tuple[str, str, tuple[Values, ...]]  # an answer, what its reader sees, the values


def _extended(part: Part, layout: Layout, columns: Sequence[Column]) -> Iterator[Reading]:
    """Yield each quantity of several columns with further ones; a header that changed took one
    away.
    """
    held = {column.name for column in part.table.columns}
    names = tuple(column.name for column in columns)
    for index, values in enumerate(layout.values):
        if len(values.columns) > 1:
            kept = [name for name in values.columns if name in held]
            changed = list(layout.values)
            changed[index] = replace(values, columns=(*kept, *names))
            said = say(MORE, quantity=quantity_text(values.quantity))
            yield MORE.format(quantity=values.quantity), said, tuple(changed)


def _further(layout: Layout, columns: Sequence[Column]) -> Iterator[Reading]:
    """Yield columns as measures of their own; a series over days has none of one day beside it."""
    if layout.occasions is Occasions.GROWTH:
        return
    covers = layout.values[0].covers
    further = [Values(column.name, (column.name,), column.unit, covers) for column in columns]
    yield FURTHER, say(FURTHER), (*layout.values, *further)


def _columns_at(part: Part, sheet: int, area: Area) -> list[Column]:
    """Return the columns of a table in which an area stands; none where it stands outside of its
    rows.
    """
    for block in part.table.blocks:
        inside = block.area.first_row <= area.first_row and area.last_row <= block.area.last_row
        if block.sheet == sheet and inside:
            pairs = zip(part.table.columns, block.letters, strict=True)
            return [
                column
                for column, letter in pairs
                if area.first_column <= letter <= area.last_column
            ]
    return []


def _is_any_read(layout: Layout, columns: Iterable[Column]) -> bool:
    """Tell whether a layout reads values in any of some columns, so that their cells lack something
    else.
    """
    read = {name for values in layout.values for name in values.columns}
    return any(column.name in read for column in columns)


def _left_out(
    situation: Situation, sheet: int, run: Sequence[Area], place: str, holds: str
) -> Settings:
    settings = situation.settings
    index = _layout_of_sheet(situation, sheet)
    if index is None:
        return replace(settings, answers={**settings.answers, f"row.{place}": LEAVE_OUT})
    layout = settings.layouts[index]
    entries = tuple(
        LeftOut(range_of(area, situation.sheets[sheet]), holds, "owner") for area in run
    )
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
        if (
            index is not None
            and flag.severity is Severity.ERROR
            and flag.code not in ASKED_ELSEWHERE
        ):
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
    kept = replace(layout, confirmed=(*layout.confirmed, *places))
    entries = tuple(LeftOut(place, "", "owner") for place in places)
    left_out = replace(layout, left_out=(*layout.left_out, *entries))
    choices = [own_word(KEEP, _with_layout(settings, index, kept))]
    for answer, said, changed in _mended(situation, flag, layout):
        changed_settings = _with_layout(settings, index, changed)
        gives = situation.figures(changed_settings)
        choices.append(Choice(answer, changed_settings, gives, said=said))
    choices.append(own_word(LEAVE_OUT, _with_layout(settings, index, left_out)))
    key = f"row.{flag.sheet}!{flag.cell}"
    ask = say(
        "{found}, where {expected} was expected. Is it right?",
        found=flag.found,
        expected=flag.expected,
    )
    if len(places) > 1 or ":" in flag.cell or not flag.cell:
        return Question(key, Slot.ROW, ask, places, tuple(choices), why=flag.advice)
    held = situation.text_at(places[0])

    def accept(text: str) -> Settings:
        correction = Corrected(places[0], held, text.strip())
        corrected = replace(layout, corrected=(*layout.corrected, correction))
        return _with_layout(settings, index, corrected)

    hint = say("Or type the right value.")
    return Question(
        key, Slot.ROW, ask, places, tuple(choices), None, True, accept, hint, flag.advice
    )


def _mended(
    situation: Situation, flag: Problem, layout: Layout
) -> Iterator[tuple[str, str, Layout]]:
    """Yield what else may be meant where dry plants are heavier than fresh ones, as an answer, in
    the language of the reader and as a layout: other columns than were read.
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
        net = replace(dry, tare=name)
        kept = tuple(each for each in layout.values if each is not dry and name not in each.columns)
        yield (
            TARE.format(column=name),
            say(TARE, column=name),
            replace(layout, values=(*kept, net)),
        )


def _lighter_columns(table: Table, layout: Layout, gross: str) -> Iterator[str]:
    """Yield the columns of numbers that are lighter than a gross weight on each row, and hold no
    labels.
    """
    carriers = {
        carrier.name for source in layout.dimensions.values() for carrier in source.carriers
    }
    names = [column.name for column in table.columns]
    weights = table.number[:, names.index(gross)]
    for index, name in enumerate(names):
        if name not in (gross, *carriers) and (table.number[:, index] < weights).all():
            yield name
