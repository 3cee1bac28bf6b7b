"""Ask at a terminal what only the owner of a log knows, one question at a time.

What was read is shown at the end.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import click

from reportgen.importing.dimension_names import DIMENSION_NAMES
from reportgen.importing.memory import Memory
from reportgen.importing.model.layouts import NOTHING, Dimension, Layout, Values
from reportgen.importing.model.questions import Choice, Question, Slot
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Table
from reportgen.importing.quantity_names import quantity_text
from reportgen.importing.questions import Part
from reportgen.importing.questions.answers import chosen
from reportgen.importing.questions.describe import (
    NOT_READ,
    NUMBER_NAMES,
    OCCASION_NAMES,
    SHEET_NAMES,
    WEIGHTS,
    columns_text,
    figures_lines,
    measure_name,
    source_text,
)
from reportgen.importing.questions.situation import layout_of, quantities_of
from reportgen.importing.readings.reasons import reasons_text
from reportgen.importing.session import State, understand
from reportgen.language import either, marked, plural, say
from reportgen.model.data import ReadBack
from reportgen.model.problem import place_of
from reportgen.workbook.names import folded

Ask = Callable[[str, str], str]  # a prompt and a default -> what was typed
Show = Callable[[str], None]
Keep = Callable[[State], None]
Lines = Callable[[ReadBack], Iterable[str]]

BACK: Final = ("b", marked("back"))
SKIP: Final = ("s", marked("skip"))
QUIT: Final = ("q", marked("quit"))
WHY: Final = "?"
HINT: Final = marked(
    "Type a number or a text; Enter takes what stands in [ ]. "
    "? shows why, b goes back, s skips, q stops; every answer is kept."
)
FIRST_SCREEN: Final = 15  # rows of a terminal for tables
TERMINAL: Final = 80  # letters of a row
KEY_TABLE: Final = marked("{table}: a key, which spells out codes")
FIELD_LIST: Final = marked("{table}: a list of facts on the trial")
IN: Final = marked("{what} in {place}")
MOST_ROWS: Final = 6
MOST_COLUMNS: Final = 8
MOST_SHEETS: Final = 3  # that are named one by one
WIDEST: Final = 18  # letters of a cell that are shown
PROMPT: Final = marked("Answer")
UNASKED: Final = marked("The report needs it, and the log does not say it.")
OTHER_FIGURES: Final = marked("Each way of reading the table gives other figures.")
REASONS: Final = {
    Slot.CONFIRM: marked(
        "The report will rest on these figures. Look whether trays, plants and totals are yours."
    ),
    Slot.UNIT: marked("No unit stands in its header or its cells, and a unit is never guessed."),
    Slot.QUANTITY: marked(
        "Nothing in the table says it. Fresh and dry weights, for one, are never mixed."
    ),
    Slot.WORD: marked(
        "It stands where a number might stand, and each meaning gives other figures."
    ),
    Slot.BLANK: marked("Each meaning gives other figures."),
    Slot.CONVENTION: marked("They can be read in two ways."),
    Slot.INDEPENDENT: marked(
        "How sure a difference is depends on how many were treated by themselves."
    ),
    Slot.ROW: marked("No number is dropped without your word."),
    Slot.TABLE: OTHER_FIGURES,
    Slot.DIMENSION: OTHER_FIGURES,
    Slot.COVERS: OTHER_FIGURES,
    Slot.OCCASIONS: OTHER_FIGURES,
}


@dataclass(frozen=True)
class Terminal:
    """Where questions are put.

    `ask` raises EOFError where nothing more can be typed, `lines` words what was read.
    """

    ask: Ask
    show: Show
    lines: Lines = lambda _: ()


def converse(
    paths: Sequence[Path], earlier: Settings | None, terminal: Terminal, keep: Keep = lambda _: None
) -> State:
    """Return what is understood after the questions were put, until the owner quits.

    The end of what is typed counts as quitting. `keep` is given each step.
    """
    talk = _Talk(paths, Memory(tuple(paths)), terminal.show)
    state = understand(paths, earlier, {}, talk.memory)
    terminal.show("\n".join(first_screen(state)))
    if state.questions:
        terminal.show(say(HINT))
    keep(state)
    while question := talk.next_question(state):
        left = len(state.questions) - len(talk.skipped)
        if question.slot is Slot.CONFIRM:
            terminal.show("\n".join(("", *read_lines(state, terminal.lines))))
        terminal.show("\n".join(_shown(question, talk.hint_of(question), left)))
        try:
            typed = terminal.ask(say(PROMPT), _default_text(question)).strip()
        except EOFError:
            break
        if _steers(typed, QUIT, question):
            break
        state = talk.after(state, question, typed)
        keep(state)
    return state


@dataclass
class _Talk:
    """A talk with the owner: what was skipped, and how far back he can go.

    `before` holds the settings and what was skipped before each answer, `hint` the last hint.
    """

    paths: Sequence[Path]
    memory: Memory
    show: Show
    skipped: dict[str, str] = field(default_factory=dict)
    before: list[tuple[Settings, dict[str, str]]] = field(default_factory=list)
    hint: str = ""

    def next_question(self, state: State) -> Question | None:
        """Return the first open question that was not skipped."""
        for question in state.questions:
            if question.key not in self.skipped:
                return question
        return None

    def after(self, state: State, question: Question, typed: str) -> State:
        """Return what is understood after something was typed."""
        if typed == WHY:
            self.hint = ""
            self.show("\n".join(why(state, question)))
            return state
        if not typed:
            self.show(say(HINT))
            return state
        if _steers(typed, BACK, question):
            return self._taken_back(state)
        if _steers(typed, SKIP, question):
            self.before.append((state.settings, dict(self.skipped)))
            self.skipped[question.key] = SKIP[1]
            return self._understood(state.settings, {})
        return self._answered(state, question, typed)

    def hint_of(self, question: Question) -> str:
        """Return what may be typed, unless it was just said of the question before."""
        if question.hint != self.hint:
            hint = question.hint
        else:
            hint = ""
        self.hint = question.hint
        return hint

    def _taken_back(self, state: State) -> State:
        if not self.before:
            self.show(say("Nothing was answered yet."))
            return state
        settings, self.skipped = self.before.pop()
        return self._understood(settings, {})

    def _answered(self, state: State, question: Question, typed: str) -> State:
        following = self._understood(state.settings, {question.key: _answer(typed, question)})
        for problem in following.problems:
            if problem.code == "answer_does_not_fit":
                wanted = _wanted(question, problem.expected)
                self.show(say("That does not fit. Expected: {wanted}.", wanted=wanted))
                return state
        self.before.append((state.settings, dict(self.skipped)))
        return following

    def _understood(self, settings: Settings, answers: dict[str, str]) -> State:
        return understand(self.paths, settings, {**self.skipped, **answers}, self.memory)


def at_terminal(paths: Sequence[Path], earlier: Settings | None, keep: Keep, lines: Lines) -> State:
    """Return what is understood after the questions were put at the terminal.

    `keep` is given each step.
    """
    return converse(paths, earlier, Terminal(_ask, click.echo, lines), keep)


def _ask(prompt: str, default: str) -> str:
    try:
        return str(click.prompt(prompt, default=default, show_default=bool(default)))
    except click.Abort as error:
        raise EOFError from error


def _wanted(question: Question, expected: str) -> str:
    """Return what may be typed: the number of a choice, and what else its question takes."""
    if not question.choices:
        return expected
    number = say("a number from 1 to {most}", most=len(question.choices))
    if question.free:
        return say("{number}, or {expected}", number=number, expected=expected)
    return number


def _steers(typed: str, words: tuple[str, str], question: Question) -> bool:
    """Tell whether a word that steers was typed.

    A choice of that very name goes before its short form.
    """
    short, long = words
    answers = [choice.answer for choice in question.choices]
    if folded(typed) in (long, folded(say(long))):
        return True
    return typed == short and typed not in answers


def _answer(typed: str, question: Question) -> str:
    """Return the answer that was typed.

    A number names a choice, unless a choice is called so; so does its name in the language.
    """
    choice = chosen(question, typed)
    if choice is not None:
        return choice.answer
    if typed.isdigit() and 1 <= int(typed) <= len(question.choices):
        return question.choices[int(typed) - 1].answer
    return typed


def _default_text(question: Question) -> str:
    """Return what Enter takes, as its reader sees it; "" where it takes nothing."""
    if not question.default:
        return ""
    choice = chosen(question, question.default)
    if choice is not None:
        return choice.text
    return question.default


def first_screen(state: State) -> list[str]:
    """Return one line for each table: what it is, and where its labels stand."""
    order = [table.key for table in state.found.tables]
    parts = sorted(state.parts, key=lambda part: order.index(part.table.key))
    lines: list[str] = []
    others: dict[str, None] = {}
    for part in parts:
        name = _name(part, state)
        if _is_read(part):
            lines.append(f"{name}: {part_text(part)}")
        else:
            others[name] = None
    lines.extend(_lines_of_other_tables(state.found.tables))
    if others:
        lines.append(f"{', '.join(others)}: {say(NOT_READ)}")
    return _fitting(lines)


def _lines_of_other_tables(tables: Sequence[Table]) -> list[str]:
    """Return a line for each table that spells codes, then for each that lists facts."""
    keys = [say(KEY_TABLE, table=table.key) for table in tables if table.is_key]
    lists = [say(FIELD_LIST, table=table.key) for table in tables if table.is_fields]
    return keys + lists


def _is_read(part: Part) -> bool:
    """Tell whether a table is read as part of the trial, or may be."""
    layout = layout_of(part)
    return layout is not None and layout.gives != NOTHING


def _name(part: Part, state: State) -> str:
    """Return what the first screen calls a table: its sheets where there are several, else its key."""
    labels = list(dict.fromkeys(state.sheets[block.sheet].label for block in part.table.blocks))
    if len(labels) == 1 or part.key != part.table.key:
        return part.key
    if len(labels) <= MOST_SHEETS:
        return ", ".join(labels)
    return f"{labels[0]} ... {labels[-1]}"


def _fitting(lines: Sequence[str]) -> list[str]:
    """Return the lines that fit the first screen.

    A line longer than the terminal counts as several.
    """
    rows = 0
    for index, line in enumerate(lines):
        rows += 1 + len(line) // TERMINAL
        if rows > FIRST_SCREEN:
            more = plural(
                "... and {number} more table", "... and {number} more tables", len(lines) - index
            )
            return [*lines[:index], more]
    return list(lines)


def part_text(part: Part) -> str:
    """Return what a table is in one line."""
    layout = layout_of(part)
    if layout is None or layout.gives == NOTHING:
        return say(NOT_READ)
    values = [_values_line(part, each) for each in layout.values]
    text = "; ".join((*values, *_labels_lines(layout)))
    about = say(SHEET_NAMES.get(layout.gives, layout.gives))
    if part.layout:
        return f"{about}; {text}"
    return say("perhaps {what}; {text}", what=about, text=text)


def _values_line(part: Part, values: Values) -> str:
    """Return what columns hold, such as `fresh weight or dry weight in kg`."""
    if values.columns == (values.quantity,):
        return quantity_text(values.quantity)
    if part.layout is None:
        names = quantities_of(part, values.columns)
    else:
        names = ()
    shown = [measure_name(name) for name in names or (values.quantity,)]
    return say(IN, what=either(shown), place=columns_text(values.columns))


def _labels_lines(layout: Layout) -> list[str]:
    """Return where a layout finds its labels, and how its days belong together.

    Such as `treatment in Shelf`.
    """
    parts = []
    for dimension in Dimension:
        if dimension in layout.dimensions:
            place = source_text(layout.dimensions[dimension])
            parts.append(say(IN, what=say(DIMENSION_NAMES[dimension]), place=place))
    if layout.occasions:
        parts.append(say(OCCASION_NAMES[layout.occasions]))
    return parts


def why(state: State, question: Question) -> list[str]:
    """Return why a question is asked, what stands in its table, and what was read of it so far."""
    lines = [question.why or say(REASONS.get(question.slot, UNASKED))]
    for part in state.parts:
        if question.key.startswith(f"{part.key}.") or _is_at(question, part, state):
            lines.append(f"{part.table.key}: {part_text(part)}")
            lines.extend(_reasons(part))
            lines.extend(table_lines(part.table))
    return lines


def _is_at(question: Question, part: Part, state: State) -> bool:
    """Tell whether a question on rows is about a sheet of a table."""
    if question.slot is not Slot.ROW:
        return False
    sheets = {place.rpartition("!")[0] for place in question.where}
    return any(state.sheets[block.sheet].label in sheets for block in part.table.blocks)


def _reasons(part: Part) -> list[str]:
    layout = layout_of(part)
    if layout and layout.because:
        reasons = reasons_text(layout.because)
        return [say("It is read so because of: {reasons}", reasons=reasons)]
    return []


def table_lines(table: Table) -> list[str]:
    """Return the first rows of a table with aligned columns.

    Long cells and further columns are cut.
    """
    headers = [column.header or column.name for column in table.columns[:MOST_COLUMNS]]
    rows = [_cut_row(headers)]
    for texts in table.text[:MOST_ROWS]:
        rows.append(_cut_row(texts[:MOST_COLUMNS]))
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=True)]
        lines.append("  " + "  ".join(cells).rstrip())
    return lines


def _cut_row(texts: Iterable[object]) -> list[str]:
    return [_cut(str(text)) for text in texts]


def _cut(text: str) -> str:
    if len(text) <= WIDEST:
        return text
    return f"{text[: WIDEST - 3]}..."


def _shown(question: Question, hint: str, left: int) -> list[str]:
    lines = ["", question.ask]
    if question.where:
        places = ", ".join(map(_place, question.where[:3]))
        lines.append("  " + say("at {places}", places=places))
    for number, choice in enumerate(question.choices, 1):
        lines.append(f"  {number}  {_choice_text(choice)}")
        if question.slot is not Slot.CONFIRM:
            lines.extend(f"       {line}" for line in figures_lines(choice.gives))
    if hint:
        lines.append(f"  {hint}")
    left_open = plural("({number} question open so far)", "({number} questions open so far)", left)
    lines.append(left_open)
    return lines


def _place(where: str) -> str:
    sheet, _, cells = where.rpartition("!")
    return place_of(sheet, cells)


def _choice_text(choice: Choice) -> str:
    if choice.means.startswith(choice.text):
        return choice.means
    if choice.means:
        return f"{choice.text} ({choice.means})"
    return choice.text


def read_lines(state: State, lines: Lines) -> list[str]:
    """Return what was read, as far as every table is settled."""
    if state.read_back is None:
        return []
    shown = [*lines(state.read_back), *_weight_lines(state)]
    return [say("What was read:"), *(f"  {line}" for line in shown)]


def _weight_lines(state: State) -> list[str]:
    """Return a line for each weight that tells whether it is of a plant or of a whole tray."""
    lines: dict[str, None] = {}
    for part in state.parts:
        if part.layout is None:
            continue
        for values in part.layout.values:
            if values.quantity in WEIGHTS and values.covers in NUMBER_NAMES:
                place = say(IN, what=quantity_text(values.quantity), place=part.table.key)
                lines[f"{place}: {say(NUMBER_NAMES[values.covers])}."] = None
    return list(lines)
