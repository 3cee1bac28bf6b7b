"""Ask at a terminal what only the owner of a log knows: one question at a time, and what was read at the end."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import click

from reportgen.importing.memory import Memory
from reportgen.importing.model.layouts import NOTHING, Dimension, Layout
from reportgen.importing.model.questions import Question, Slot
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Table
from reportgen.importing.questions import Part
from reportgen.importing.questions.describe import (
    DIMENSION_NAMES,
    NOT_READ,
    OCCASION_NAMES,
    figures_text,
    source_text,
    values_text,
)
from reportgen.importing.session import State, understand
from reportgen.model.data import ReadBack

Ask = Callable[[str, str], str]  # a prompt and a default -> what was typed
Show = Callable[[str], None]
Keep = Callable[[State], None]
Lines = Callable[[ReadBack], Iterable[str]]

BACK: Final = ("b", "back")
SKIP: Final = ("s", "skip")
QUIT: Final = ("q", "quit")
WHY: Final = "?"
HINT: Final = "A number or text answers. ? shows why, b goes back, s skips, q stops; every answer is kept."
MOST_TABLES: Final = 15  # lines of the first screen
MOST_ROWS: Final = 6
MOST_COLUMNS: Final = 8
WIDEST: Final = 18  # letters of a cell that are shown
PROMPT: Final = "Answer"


@dataclass(frozen=True)
class Terminal:
    """Where questions are put: `ask` raises EOFError where nothing more can be typed, `lines` words what was read."""

    ask: Ask
    show: Show
    lines: Lines = lambda _: ()


def converse(paths: Sequence[Path], earlier: Settings | None, terminal: Terminal, keep: Keep = lambda _: None) -> State:
    """Return what is understood after the questions were put, one by one, until none is open or the owner quits.

    The end of what is typed counts as quitting. `keep` is given each step.
    """
    talk = _Talk(paths, Memory(tuple(paths)), terminal.show)
    state = understand(paths, earlier, {}, talk.memory)
    terminal.show("\n".join(first_screen(state)))
    keep(state)
    while question := talk.next_question(state):
        left = len(state.questions) - len(talk.skipped)
        if question.slot is Slot.CONFIRM:
            terminal.show("\n".join(read_lines(state, terminal.lines)))
        terminal.show("\n".join(_shown(question, left)))
        try:
            typed = terminal.ask(PROMPT, question.default or "").strip()
        except EOFError:
            break
        if _steers(typed, QUIT, question):
            break
        state = talk.after(state, question, typed)
        keep(state)
    return state


@dataclass
class _Talk:
    """A talk with the owner: what was skipped, and the settings before each answer."""

    paths: Sequence[Path]
    memory: Memory
    show: Show
    skipped: dict[str, str] = field(default_factory=dict)
    before: list[Settings] = field(default_factory=list)

    def next_question(self, state: State) -> Question | None:
        """Return the first open question that was not skipped."""
        for question in state.questions:
            if question.key not in self.skipped:
                return question
        return None

    def after(self, state: State, question: Question, typed: str) -> State:
        """Return what is understood after something was typed."""
        if typed == WHY:
            self.show("\n".join(why(state, question)))
            return state
        if _steers(typed, BACK, question):
            return self._taken_back(state)
        if _steers(typed, SKIP, question):
            self.skipped[question.key] = SKIP[1]
            return self._understood(state.settings, {})
        return self._answered(state, question, typed)

    def _taken_back(self, state: State) -> State:
        settings = self.before.pop() if self.before else state.settings
        return self._understood(settings, {})

    def _answered(self, state: State, question: Question, typed: str) -> State:
        following = self._understood(state.settings, {question.key: _answer(typed, question)})
        for problem in following.problems:
            if problem.code == "answer_does_not_fit":
                self.show(f"That does not fit: {problem.expected} is expected.")
                return state
        self.before.append(state.settings)
        return following

    def _understood(self, settings: Settings, answers: dict[str, str]) -> State:
        return understand(self.paths, settings, {**self.skipped, **answers}, self.memory)


def at_terminal(paths: Sequence[Path], earlier: Settings | None, keep: Keep, lines: Lines) -> State:
    """Return what is understood after the questions were put at the terminal; `keep` is given each step."""
    return converse(paths, earlier, Terminal(_ask, click.echo, lines), keep)


def _ask(prompt: str, default: str) -> str:
    try:
        return str(click.prompt(prompt, default=default, show_default=bool(default)))
    except click.Abort as error:
        raise EOFError from error


def _steers(typed: str, words: tuple[str, str], question: Question) -> bool:
    """Tell whether a word that steers was typed; a choice of that very name goes before its short form."""
    answers = [choice.answer for choice in question.choices]
    return typed.casefold() == words[1] or (typed == words[0] and typed not in answers)


def _answer(typed: str, question: Question) -> str:
    """Return the answer that was typed: the text of a choice by its number, unless a choice is called so."""
    answers = [choice.answer for choice in question.choices]
    if typed.isdigit() and typed not in answers and 1 <= int(typed) <= len(answers):
        return answers[int(typed) - 1]
    return typed


def first_screen(state: State) -> list[str]:
    """Return one line for each table: what it is, and where its labels stand."""
    lines = [f"{part.table.key}: {part_text(part)}" for part in state.parts]
    if len(lines) > MOST_TABLES:
        more = len(lines) - MOST_TABLES
        lines = [*lines[:MOST_TABLES], f"... and {more} more tables"]
    if state.questions:
        lines.append(HINT)
    return lines


def part_text(part: Part) -> str:
    """Return what a table is in one line."""
    layout = part.layout or (part.options[0].layout if part.options else None)
    if layout is None or layout.gives == NOTHING:
        return NOT_READ
    text = layout_text(layout)
    return text if part.layout else f"perhaps {text}"


def layout_text(layout: Layout) -> str:
    """Return a layout in one line: `Plants, Fresh weight: wt; treatment: Shelf; tray: Tray`."""
    parts = [f"{layout.gives}, {values_text(layout)}"]
    for dimension in Dimension:
        if dimension in layout.dimensions:
            parts.append(f"{DIMENSION_NAMES[dimension]}: {source_text(layout.dimensions[dimension])}")
    if layout.occasions:
        parts.append(OCCASION_NAMES[layout.occasions])
    return "; ".join(parts)


def why(state: State, question: Question) -> list[str]:
    """Return what stands in the table of a question, and what was read of it so far."""
    for part in state.parts:
        if question.key.startswith(f"{part.table.key}."):
            return [part_text(part), *table_lines(part.table), *_reasons(part)]
    return list(question.where) or ["It is not written in the log."]


def _reasons(part: Part) -> list[str]:
    layout = part.layout or (part.options[0].layout if part.options else None)
    return [layout.because] if layout and layout.because else []


def table_lines(table: Table) -> list[str]:
    """Return the first rows of a table with aligned columns; long cells and further columns are cut."""
    headers = [column.header or column.name for column in table.columns[:MOST_COLUMNS]]
    rows = [headers]
    for texts in table.text[:MOST_ROWS]:
        rows.append([str(text) for text in texts[:MOST_COLUMNS]])
    cut = [[_cut(cell) for cell in row] for row in rows]
    widths = [max(map(len, column)) for column in zip(*cut, strict=True)]
    lines = []
    for row in cut:
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=True)]
        lines.append("  " + "  ".join(cells).rstrip())
    return lines


def _cut(text: str) -> str:
    return text if len(text) <= WIDEST else f"{text[: WIDEST - 3]}..."


def _shown(question: Question, left: int) -> list[str]:
    lines = ["", question.ask]
    if question.where:
        lines.append(f"  at {', '.join(question.where[:3])}")
    for number, choice in enumerate(question.choices, 1):
        gives = figures_text(choice.gives) if question.slot is not Slot.CONFIRM else ""
        lines.append(f"  {number}  {choice.answer}" + (f"   -> {gives}" if gives else ""))
    lines.append(f"({left} question{'s' * (left > 1)} open)")
    return lines


def read_lines(state: State, lines: Lines) -> list[str]:
    """Return what was read, as far as every table is settled."""
    if state.read_back is None:
        return []
    return ["What was read:", *(f"  {line}" for line in lines(state.read_back))]
