"""Ask at a terminal what only the owner of a spreadsheet knows: one question at a time, the first rows in view."""

from collections.abc import Callable, Sequence
from typing import Final

import click

from reportgen.adopt.questions import AnswerError, Question, Understanding, answered, texts_of, unanswered

Ask = Callable[[str, str], str]  # a prompt and a default -> what was typed
Show = Callable[[str], None]
Keep = Callable[[Understanding], None]

BACK: Final = ("b", "back")
QUIT: Final = ("q", "quit")
HINT: Final = "A number, or text; b goes back, q stops here and keeps what was answered."
WIDEST: Final = 18  # letters of a cell that are shown
MOST_COLUMNS: Final = 8
PROMPT: Final = "Answer"


def converse(understanding: Understanding, ask: Ask, show: Show, keep: Keep = lambda _: None) -> Understanding:
    """Return what is understood after the questions were put, one by one, until all are answered or the owner quits.

    `ask` raises EOFError where nothing more can be typed; it counts as quitting. `keep` is given what is understood
    after each answer, so that none is lost.
    """
    before: list[Understanding] = []
    if unanswered(understanding):
        show(HINT)
    while open_ones := unanswered(understanding):
        question = open_ones[0]
        show("\n".join(_shown(question, len(open_ones))))
        try:
            typed = ask(PROMPT, question.default).strip()
        except EOFError:
            return understanding
        if _is(typed, QUIT, question):
            return understanding
        if _is(typed, BACK, question):
            understanding = before.pop() if before else understanding
            keep(understanding)
            continue
        try:
            following = answered(understanding, question.key, typed)
        except AnswerError as error:
            show(f"That does not fit: {error} is expected.")
            continue
        before.append(understanding)
        understanding = following
        keep(understanding)
    return understanding


def at_terminal(understanding: Understanding, keep: Keep = lambda _: None) -> Understanding:
    """Return what is understood after the questions were put at the terminal; `keep` is given each step."""
    return converse(understanding, _ask, click.echo, keep)


def _ask(prompt: str, default: str) -> str:
    try:
        return str(click.prompt(prompt, default=default, show_default=bool(default)))
    except click.Abort as error:
        raise EOFError from error


def _is(typed: str, words: Sequence[str], question: Question) -> bool:
    """Tell whether a word that steers was typed; a choice of that very name goes before its short form."""
    return typed.casefold() == words[1] or (typed == words[0] and typed not in question.choices)


def _shown(question: Question, left: int) -> list[str]:
    lines = ["", *table_lines(question.rows), *([""] if question.rows else []), *texts_of(question)]
    return [*lines, f"({left} question{'s' * (left > 1)} left)"]


def table_lines(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows of texts as lines with aligned columns; long cells and further columns are cut."""
    cut = [[_cut(cell) for cell in row[:MOST_COLUMNS]] for row in rows]
    widths = [max(map(len, column)) for column in zip(*cut, strict=True)] if cut else []
    more = "  ..." if rows and len(rows[0]) > MOST_COLUMNS else ""
    return [
        "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() + more
        for row in cut
    ]


def _cut(text: str) -> str:
    return text if len(text) <= WIDEST else f"{text[: WIDEST - 3]}..."
