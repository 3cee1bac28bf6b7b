"""Numbers that are not explained, and values that do not look like their neighbours."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from reportgen.importing.model.layouts import Corrected, Layout, LeftOut
from reportgen.importing.model.questions import Choice, Fate, Ledger, Question, Slot
from reportgen.importing.model.settings import Settings
from reportgen.importing.questions.situation import Situation, cell_of
from reportgen.model.problem import Problem

LEAVE_OUT: Final = "leave out"
KEEP: Final = "right as it is"
MOST_QUESTIONS: Final = 12


def unexplained_questions(situation: Situation, ledger: Ledger) -> tuple[Question, ...]:
    """Return what numbers are that have no other fate, by sheet and row."""
    rows: dict[tuple[int, int], list[int]] = {}
    for entry in ledger.entries:
        if entry.fate is Fate.UNEXPLAINED:
            for sheet, row, column in entry.cells:
                rows.setdefault((sheet, row), []).append(column)
    asked = []
    for (sheet, row), columns in list(rows.items())[:MOST_QUESTIONS]:
        cells = _range(row, columns)
        asked.append(_unexplained(situation, sheet, cells, row, columns))
    return tuple(asked)


def _range(row: int, columns: list[int]) -> str:
    first, last = min(columns), max(columns)
    if first == last:
        return cell_of(row, first)
    return f"{cell_of(row, first)}:{cell_of(row, last)}"


def _unexplained(situation: Situation, sheet: int, cells: str, row: int, columns: list[int]) -> Question:
    label = situation.sheets[sheet].label
    place = f"{label}!{cells}"
    texts = situation.sheets[sheet].text[row - 1]
    holds = " | ".join(str(texts[column - 1]) for column in sorted(columns))
    ask = f"{place} holds {holds}, which is not read as anything. Leave it out?"
    settings = _left_out(situation, sheet, place, holds)
    return Question(f"row.{place}", Slot.ROW, ask, (place,), (Choice(LEAVE_OUT, settings),), LEAVE_OUT)


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
    for flag in list(flags)[:MOST_QUESTIONS]:
        index = _layout_at(situation, flag)
        if index is not None:
            asked.append(_flag(situation, flag, index))
    return tuple(asked)


def _layout_at(situation: Situation, flag: Problem) -> int | None:
    for sheet, each in enumerate(situation.sheets):
        if each.label == flag.sheet:
            return _layout_of_sheet(situation, sheet)
    return None


def _flag(situation: Situation, flag: Problem, index: int) -> Question:
    settings = situation.settings
    layout = settings.layouts[index]
    place = f"{flag.sheet}!{flag.cell}" if flag.cell else flag.sheet
    kept = replace(layout, confirmed=(*layout.confirmed, place))
    left_out = replace(layout, left_out=(*layout.left_out, LeftOut(place, flag.found, "owner")))
    choices = (
        Choice(KEEP, _with_layout(settings, index, kept)),
        Choice(LEAVE_OUT, _with_layout(settings, index, left_out)),
    )

    def accept(text: str) -> Settings:
        if ":" in flag.cell or "," in flag.cell or not flag.cell:
            raise ValueError(f"{KEEP}, or {LEAVE_OUT}")
        correction = Corrected(place, flag.found, text.strip())
        corrected = replace(layout, corrected=(*layout.corrected, correction))
        return _with_layout(settings, index, corrected)

    ask = f"{place}: {flag.found}; expected {flag.expected}. {flag.advice}"
    return Question(f"row.{place}", Slot.ROW, ask, (place,), choices, None, True, accept)
