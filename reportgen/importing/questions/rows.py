"""Numbers that are not explained, and values that do not look like their neighbours."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from reportgen.importing.model.layouts import Corrected, Layout, LeftOut
from reportgen.importing.model.questions import Choice, Fate, Ledger, Question, Slot
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Area
from reportgen.importing.questions.situation import Situation, coordinates, range_of
from reportgen.model.problem import Problem, Severity, areas_of

LEAVE_OUT: Final = "left out"
KEEP: Final = "keep as it is"
MOST_QUESTIONS: Final = 12
ASKED_ELSEWHERE: Final = ("unit_not_told", "blank_not_explained", "word_among_numbers")


def unexplained_questions(situation: Situation, ledger: Ledger) -> tuple[Question, ...]:
    """Return what numbers are that have no other fate: one question for those that stand together."""
    asked = []
    for sheet, area in areas(ledger, Fate.UNEXPLAINED):
        place = f"{situation.sheets[sheet].label}!{range_of(area)}"
        if f"row.{place}" not in situation.settings.answers:
            asked.append(_unexplained(situation, sheet, area, place))
    return tuple(asked)


def areas(ledger: Ledger, fate: Fate) -> list[tuple[int, Area]]:
    """Return the cells of one fate by sheet, as areas of rows that follow one another with the same columns."""
    rows: dict[tuple[int, int], list[int]] = {}
    for entry in ledger.entries:
        if entry.fate is fate:
            for sheet, row, column in entry.cells:
                rows.setdefault((sheet, row), []).append(column)
    found: list[tuple[int, Area]] = []
    latest: dict[tuple[int, int, int], int] = {}
    for (sheet, row), columns in sorted(rows.items()):
        for first, last in _runs(sorted(columns)):
            at = latest.get((sheet, first, last), -1)
            if at >= 0 and found[at][1].last_row == row - 1:
                found[at] = (sheet, replace(found[at][1], last_row=row))
            else:
                latest[sheet, first, last] = len(found)
                found.append((sheet, Area(row, first, row, last)))
    return found


def _runs(columns: list[int]) -> list[tuple[int, int]]:
    """Return the first and last of columns that stand side by side: what is read between them is none of theirs."""
    runs: list[tuple[int, int]] = []
    for column in columns:
        if runs and column == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], column)
        else:
            runs.append((column, column))
    return runs


def _unexplained(situation: Situation, sheet: int, area: Area, place: str) -> Question:
    texts = situation.sheets[sheet].text[area.first_row - 1, area.first_column - 1 : area.last_column]
    holds = " | ".join(str(text) for text in texts if text)
    is_one_row = area.last_row == area.first_row
    more = "" if is_one_row else " ..."
    ask = f"{place} holds {holds}{more}, and is read as nothing. May it be left out?"
    settings = _left_out(situation, sheet, place, holds if is_one_row else "")
    hint = "If it belongs to the trial, skip: then give it a header or labels as the rows beside it have."
    choices = (Choice(LEAVE_OUT, settings),)
    return Question(f"row.{place}", Slot.ROW, ask, (place,), choices, LEAVE_OUT, hint=hint)


def _left_out(situation: Situation, sheet: int, place: str, holds: str) -> Settings:
    settings = situation.settings
    index = _layout_of_sheet(situation, sheet)
    if index is None:
        return replace(settings, answers={**settings.answers, f"row.{place}": LEAVE_OUT})
    layout = settings.layouts[index]
    entry = LeftOut(place, holds, "owner")
    return _with_layout(settings, index, replace(layout, left_out=(*layout.left_out, entry)))


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
        if index is not None and flag.severity is Severity.ERROR and flag.code not in ASKED_ELSEWHERE:
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
    choices = (
        Choice(KEEP, _with_layout(settings, index, kept)),
        Choice(LEAVE_OUT, _with_layout(settings, index, left_out)),
    )
    key = f"row.{flag.sheet}!{flag.cell}"
    ask = f"{flag.found}; expected {flag.expected}. {flag.advice}"
    if len(places) > 1 or ":" in flag.cell or not flag.cell:
        return Question(key, Slot.ROW, ask, places, choices)
    row, column = coordinates(flag.cell)
    held = _text_at(situation, flag.sheet, row, column)

    def accept(text: str) -> Settings:
        correction = Corrected(places[0], held, text.strip())
        corrected = replace(layout, corrected=(*layout.corrected, correction))
        return _with_layout(settings, index, corrected)

    return Question(key, Slot.ROW, ask, places, choices, None, True, accept, "Or type the right value.")


def _text_at(situation: Situation, label: str, row: int, column: int) -> str:
    for sheet in situation.sheets:
        if sheet.label == label:
            return str(sheet.text[row - 1, column - 1])
    return ""
