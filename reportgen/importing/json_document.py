"""What `adopt --json` prints: questions, figures and the ledger, for scripts."""

from collections.abc import Iterable, Mapping

from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.document import (
    FORMAT,
    AdoptDocument,
    CellsEntry,
    ChoiceEntry,
    FiguresEntry,
    FiguresRead,
    LedgerEntry,
    QuestionEntry,
)
from reportgen.importing.model.layouts import Dimension
from reportgen.importing.model.questions import (
    Choice,
    Fate,
    Figures,
    Ledger,
    Question,
    Slot,
    Summary,
)
from reportgen.importing.session import State
from reportgen.model.problem import Problem, Severity
from reportgen.problem_document import entry_of

SLOT_WORDS = {
    Slot.TABLE: "belongs",
    Slot.QUANTITY: "measure",
    Slot.COVERS: "per",
    Slot.CONVENTION: "order",
}
READ = (Fate.READ, Fate.LABEL, Fate.HEADER, Fate.UNIT, Fate.KEY)


def document(state: State, settings_name: str) -> AdoptDocument:
    """Return the document of a log: plain values, ready for JSON."""
    return {
        "format": FORMAT,
        "settings": settings_name,
        "questions": [_question(question) for question in state.questions],
        "read": figures(state.summary),
        "ledger": _ledger(state.ledger, state.sheets),
        "problems": [entry_of(problem) for problem in state.problems],
    }


def is_open(state: State) -> bool:
    """Tell whether a question is open or something is wrong.

    Then the command ends with exit code 1.
    """
    wrong = [problem for problem in state.problems if problem.severity is Severity.ERROR]
    return bool(state.questions or wrong)


def refused(found: Iterable[Problem]) -> AdoptDocument:
    """Return the document of a log that cannot be taken in."""
    return {
        "format": FORMAT,
        "settings": None,
        "questions": [],
        "read": {},
        "ledger": {},
        "problems": [entry_of(problem) for problem in found],
    }


def _question(question: Question) -> QuestionEntry:
    return {
        "key": question.key,
        "slot": slot_word(question),
        "ask": f"{question.ask} {question.hint}".rstrip(),
        "where": list(question.where),
        "default": question.default,
        "free": question.free,
        "choices": [_choice(choice) for choice in question.choices],
    }


def slot_word(question: Question) -> str:
    """Return what a question fills, in the word of the page: a dimension by its name."""
    if ".area." in question.key:
        return "area"
    if question.key.endswith(".year"):
        return Slot.FIELD.value
    if question.slot is not Slot.DIMENSION:
        return SLOT_WORDS.get(question.slot, question.slot.value)
    names = question.key.split(".")
    for dimension in Dimension:
        if dimension.value in names:
            if dimension is Dimension.UNIT:
                return "tray"
            return dimension.value
    return "factor"


def _choice(choice: Choice) -> ChoiceEntry:
    if choice.leads_to:
        return {"answer": choice.answer, "may_give": [figures(each) for each in choice.leads_to]}
    if choice.gives is None:
        return {"answer": choice.answer}
    return {"answer": choice.answer, "gives": figures(choice.gives)}


def figures(summary: Summary) -> FiguresRead:
    """Return figures by quantity and treatment, each as plain values."""
    shown: FiguresRead = {}
    for quantity, by_treatment in summary.items():
        shown[quantity] = {name: _figures(each) for name, each in by_treatment.items()}
    return shown


def _figures(each: Figures) -> FiguresEntry:
    shown: FiguresEntry = {
        "units": each.units,
        "n": each.n,
        "total": each.total,
        "mean": each.mean,
        "unit": each.unit,
    }
    if each.lost:
        shown["lost"] = each.lost
    return shown


def _ledger(ledger: Ledger, sheets: tuple[Sheet, ...]) -> LedgerEntry:
    by_fate: Mapping[Fate, int] = {fate: ledger.count(fate) for fate in Fate}
    return {
        "numbers": sum(by_fate.values()),
        "read": by_fate[Fate.READ],
        "labels": sum(by_fate[fate] for fate in READ[1:]),
        "agree": by_fate[Fate.AGREES],
        "disagree": _cells(ledger, sheets, Fate.DISAGREES),
        "left_out": _cells(ledger, sheets, Fate.LEFT_OUT),
        "unexplained": _cells(ledger, sheets, Fate.UNEXPLAINED),
    }


def _cells(ledger: Ledger, sheets: tuple[Sheet, ...], fate: Fate) -> list[CellsEntry]:
    shown: list[CellsEntry] = []
    for entry in ledger.entries:
        if entry.fate is fate and entry.cells:
            shown.append({"cells": places(entry.cells, sheets), "because": entry.because})
    return shown


def places(cells: Iterable[tuple[int, int, int]], sheets: tuple[Sheet, ...]) -> str:
    """Return cells by sheet, those of one row as a range: `Log!A38:F38, A40`."""
    rows: dict[tuple[int, int], list[int]] = {}
    for sheet, row, column in cells:
        rows.setdefault((sheet, row), []).append(column)
    shown: list[str] = []
    previous = -1
    for (sheet, row), columns in sorted(rows.items()):
        text = sheets[sheet].range(row, min(columns), row, max(columns))
        if sheet != previous:
            text = f"{sheets[sheet].label}!{text}"
        shown.append(text)
        previous = sheet
    return ", ".join(shown)
