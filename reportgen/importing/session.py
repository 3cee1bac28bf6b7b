"""Taking in a log: what is understood of it, what is still open, and the figures so far."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Final

from reportgen.importing import candidates
from reportgen.importing.contents import runs_sideways
from reportgen.importing.memory import Memory
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import Layout
from reportgen.importing.model.questions import Ledger, Question, Slot, Summary
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found, Table
from reportgen.importing.questions import Part, Situation, questions, settings_after
from reportgen.importing.questions.confirm import reopened
from reportgen.importing.questions.situation import layout_of
from reportgen.importing.questions.structure import OTHER
from reportgen.importing.settings import settings_file
from reportgen.language import say
from reportgen.model.data import ReadBack
from reportgen.model.problem import Problem, Severity, WorkbookError, of_file

SKIP: Final = "skip"
CROP_SHEETS: Final = ("Plants", "Harvests", "Growth")


@dataclass(frozen=True)
class State:
    """What is understood of a log: cells, tables, settings, open questions, figures, ledger.

    `summary` and `ledger` are those of what is settled; `guess` holds also the best reading of what
    is open. `read_back` tells what was read once every table is settled.
    """

    sheets: tuple[Sheet, ...]
    found: Found
    settings: Settings
    questions: tuple[Question, ...]
    summary: Summary
    ledger: Ledger
    problems: tuple[Problem, ...]
    parts: tuple[Part, ...] = ()
    read_back: ReadBack | None = None
    guess: Settings = field(default_factory=Settings)


def understand(
    paths: Sequence[Path],
    earlier: Settings | None = None,
    answers: Mapping[str, str] | None = None,
    memory: Memory | None = None,
) -> State:
    """Return what is understood of a log with settings so far and further answers by question key.

    An answer `skip` leaves its question open. Raises WorkbookError where a file cannot be read, or
    holds nothing that could be a trial.
    """
    memory = memory or Memory(tuple(paths))
    if memory.is_lone_book():
        raise WorkbookError((_workbook_already(paths[0]),))
    remaining = dict(answers or {})
    skipped = {key for key, text in remaining.items() if text.strip().casefold() == SKIP}
    for key in skipped:
        del remaining[key]
    settings = _begun(earlier, paths, remaining)
    settings = replace(settings, trial_workbook=memory.book() is not None)
    refused: dict[str, Problem] = {}
    step = _step(memory, settings, skipped)
    question = _next_answered(step, remaining, settings)
    while question is not None:
        text = remaining.pop(question.key)
        try:
            settings = settings_after(question, text)
        except ValueError as error:
            refused[question.key] = _does_not_fit(question, text, str(error))
        else:
            step = _step(memory, settings, skipped)
        question = _next_answered(step, remaining, settings)
    return _state(memory, step, tuple(refused.values()))


@dataclass(frozen=True)
class _Step:
    """How far the answers so far lead: tables settled and open, and what is asked next."""

    situation: Situation
    questions: tuple[Question, ...]


def _next_answered(step: _Step, answers: Mapping[str, str], settings: Settings) -> Question | None:
    """Return the first question of a step that has an answer; None where none has."""
    for question in step.questions:
        if _is_answered(question, answers, settings):
            return question
    return None


def _is_answered(question: Question, answers: Mapping[str, str], settings: Settings) -> bool:
    """Tell whether a question has an answer that was not used yet.

    A question may be asked anew after its answer was used.
    """
    answer = answers.get(question.key)
    used = (settings.answers.get(question.key), settings.answers.get(f"{question.key}{OTHER}"))
    return answer is not None and answer not in used


def _begun(earlier: Settings | None, paths: Sequence[Path], answers: Mapping[str, str]) -> Settings:
    """Return the settings to begin with; tables whose answers change are open again."""
    settings = earlier or Settings()
    files = tuple(path.name for path in paths[1:])
    settings = replace(settings, files=files, name=settings_file(paths[0]).name)
    for key, text in answers.items():
        used = settings.answers.get(key)
        # a text that is no choice is kept under the key of what follows it
        typed = settings.answers.get(f"{key}{OTHER}")
        if used is not None and text.strip() not in (used, typed):
            settings = _without_answer(settings, key)
    return settings


def _without_answer(settings: Settings, key: str) -> Settings:
    """Return settings without an answer and without the layouts that followed from it."""
    tables = [layout.table for layout in settings.layouts if key.startswith(f"{layout.table}.")]
    for table in tables:
        settings = reopened(settings, table)
    answers = dict(settings.answers)
    answers.pop(key, None)
    for table in tables:
        answers.pop(f"{table}.as_read", None)
    return replace(settings, answers=answers)


def _step(memory: Memory, settings: Settings, skipped: set[str]) -> _Step:
    sheets = memory.sheets(settings.conventions)
    found = memory.found(settings)
    if not found.tables:
        raise WorkbookError((_nothing_found(memory),))
    sideways = _sideways_sheets(memory, settings, found)
    if sideways:
        turned = {**settings.conventions.turned, **sideways}
        conventions = replace(settings.conventions, turned=turned)
        return _step(memory, replace(settings, conventions=conventions), skipped)
    settings, parts = _settled(memory, settings, skipped)
    found = memory.found(settings)
    guess = replace(settings, layouts=_best_layouts(parts))
    situation = Situation(sheets, found, settings, guess, parts, memory.figures, memory.book())
    ledger = partial(memory.ledger, settings)
    flags = partial(_flags, memory, situation)
    return _Step(situation, questions(situation, ledger, flags, skipped))


def _best_layouts(parts: Sequence[Part]) -> tuple[Layout, ...]:
    """Return the settled layout of each part, else its best candidate."""
    layouts = [layout_of(part) for part in parts]
    return tuple(layout for layout in layouts if layout is not None)


def _flags(memory: Memory, situation: Situation) -> tuple[Problem, ...]:
    """Return what looks wrong once every table is settled."""
    if _is_open(situation.parts):
        return ()
    return memory.flags(situation.settings)


def _state(memory: Memory, step: _Step, refused: tuple[Problem, ...]) -> State:
    """Return all that is understood where no further answer is at hand."""
    situation = step.situation
    settings = situation.settings
    asked = step.questions
    if asked and asked[0].slot is Slot.CONFIRM:
        asked = (replace(asked[0], hint=_not_counted(memory, settings)),)
    ledger = memory.ledger(settings)
    summary = memory.figures(settings)
    problems = _remarks(memory, situation)
    if not asked and not summary:
        problems = (_nothing_read(situation),)
    read_back = None
    if summary and not _is_open(situation.parts):
        read_back = memory.read_back(settings)
    return State(
        situation.sheets,
        situation.found,
        settings,
        asked,
        summary,
        ledger,
        (*refused, *problems),
        situation.parts,
        read_back,
        situation.guess,
    )


def _remarks(memory: Memory, situation: Situation) -> tuple[Problem, ...]:
    """Return what looks wrong and does not stop a report."""
    flags = _flags(memory, situation)
    return tuple(flag for flag in flags if flag.severity is not Severity.ERROR)


def _not_counted(memory: Memory, settings: Settings) -> str:
    """Return what was read and lies outside the trial, so that its report does not count it."""
    left_out = memory.outside_trial(settings)
    texts = [f"{problem.place}: {problem.found}" for problem in left_out]
    if texts:
        return say("The report leaves out {what}.", what="; ".join(texts))
    return ""


def _settled(
    memory: Memory, settings: Settings, skipped: set[str]
) -> tuple[Settings, tuple[Part, ...]]:
    """Return the settings with each settled table, and all tables with what is left of each.

    A settled table tells the treatments that others may have, so these are looked at once more.
    """
    while True:
        parts = candidates.parts(memory, settings, skipped)
        settled = tuple(part.layout for part in parts if part.layout is not None)
        following = candidates.with_several(replace(settings, layouts=settled), parts)
        if len(settled) == len(settings.layouts):
            return following, parts
        settings = following


def _sideways_sheets(memory: Memory, settings: Settings, found: Found) -> dict[str, bool]:
    """Return the sheets that run sideways, by label, unless their owner settled it."""
    sideways = [table for table in found.tables if runs_sideways(table)]
    if not sideways or settings.layouts or _holds_upright_plants(memory, settings, found, sideways):
        return {}
    sheets = memory.sheets(settings.conventions)
    labels: set[str] = set()
    for table in sideways:
        labels.update(sheets[block.sheet].label for block in table.blocks)
    return dict.fromkeys(labels - settings.conventions.turned.keys(), True)


def _holds_upright_plants(
    memory: Memory, settings: Settings, found: Found, sideways: Sequence[Table]
) -> bool:
    """Tell whether a table beside those that run sideways holds values of plants."""
    for table in found.tables:
        if table in sideways or table.is_key or table.is_fields:
            continue
        for group in memory.readings(table, settings):
            if group[0].layout.gives in CROP_SHEETS:
                return True
    return False


def _is_open(parts: Sequence[Part]) -> bool:
    return any(part.layout is None for part in parts)


def _workbook_already(path: Path) -> Problem:
    return of_file(
        "trial_workbook",
        say("{file} is a trial workbook already", file=path.name),
        say("a log in a layout of its owner's own, or files beside the workbook"),
        say("Run reportgen check {file}.", file=path.name),
    )


def _nothing_found(memory: Memory) -> Problem:
    return of_file(
        "no_table",
        say("{file} holds no table", file=memory.paths[0].name),
        say("a table with a header row and numbers below it"),
        say("Check that it is the file with the measurements."),
    )


def _nothing_read(situation: Situation) -> Problem:
    largest = max(situation.found.tables, key=lambda table: table.text.size)
    sheet, _, cells = situation.where(largest)[0].rpartition("!")
    return Problem(
        Severity.ERROR,
        sheet,
        cells,
        say("no table is read as part of a trial"),
        say("weights, heights or harvests by treatment"),
        say('Say in the settings file what it gives, such as gives = "Plants".'),
        code="nothing_read",
    )


def _does_not_fit(question: Question, text: str, expected: str) -> Problem:
    return of_file(
        "answer_does_not_fit",
        say('the answer "{text}" to {key} does not fit', text=text, key=question.key),
        expected,
        say("Answer it anew."),
    )
