"""What `check --json` prints: every problem by itself, and what to record next, for scripts."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import TYPE_CHECKING, Final, Literal

from typing_extensions import TypedDict

from reportgen.model.problem import Problem

if TYPE_CHECKING:
    from reportgen.workbook.next_steps import Step

FORMAT: Final = "workbook-problems/1"


class ProblemEntry(TypedDict):
    """One finding about a workbook, a log or a settings file."""

    severity: Literal["error", "caution", "remark", "to come"]
    """How much it matters: an error stops the report, a caution stands in it, a remark does not;
    what is still to come in an unfinished trial is no mistake.
    """
    code: str
    """What kind of finding it is, a key that stays when the words change."""
    sheet: str
    """The sheet, empty where the finding is about the file."""
    cell: str
    """A cell or range in A1 notation, or several as in `D6, D30:D32`; empty where the finding is
    about a whole sheet.
    """
    found: str
    """What stands there, in English."""
    expected: str
    """What was expected, in English."""
    advice: str
    """What to do, in English."""


class CheckedEntry(ProblemEntry):
    """A finding, with the workbook that it is of."""

    count: int
    """How many values it is about."""
    workbook: str
    """The path of the workbook as it was named, empty where the finding is of no workbook."""


class StepEntry(TypedDict):
    """Something to record next in an unfinished trial."""

    sheet: str
    """The sheet that it belongs on."""
    cells: str
    """The cells that wait for it, in A1 notation; empty where it takes new rows."""
    text: str
    """What to record, in English."""
    due: str | None
    """The day that it is due on, ISO 8601; null where it has none."""
    workbook: str
    """The path of the workbook as it was named."""


class CheckDocument(TypedDict):
    """Every problem of some workbooks, and what to record next."""

    format: Literal["workbook-problems/1"]
    """The name and the version of this format."""
    problems: list[CheckedEntry]
    """The problems, workbook by workbook."""
    next: list[StepEntry]
    """What to record next, workbook by workbook."""


def entry_of(problem: Problem) -> ProblemEntry:
    """Return a problem as plain values."""
    return {
        "severity": problem.severity.value,
        "code": problem.code,
        "sheet": problem.sheet,
        "cell": problem.cell,
        "found": problem.found,
        "expected": problem.expected,
        "advice": problem.advice,
    }


def document(
    problems: Mapping[str, Iterable[Problem]], steps: "Mapping[str, Iterable[Step]]"
) -> CheckDocument:
    """Return the document of some workbooks: problems and next steps by the workbook's path."""
    found: list[CheckedEntry] = []
    for workbook, of_one in problems.items():
        found += [checked_entry(problem, workbook) for problem in of_one]
    to_record: list[StepEntry] = []
    for workbook, of_workbook in steps.items():
        to_record += [_step(step, workbook) for step in of_workbook]
    return {"format": FORMAT, "problems": found, "next": to_record}


def checked_entry(problem: Problem, workbook: str) -> CheckedEntry:
    """Return a problem as plain values, with the path of its workbook."""
    return {**entry_of(problem), "count": problem.count, "workbook": workbook}


def _step(step: "Step", workbook: str) -> StepEntry:
    return {
        "sheet": step.sheet,
        "cells": step.cells,
        "text": step.text,
        "due": _iso(step.due),
        "workbook": workbook,
    }


def _iso(day: date | None) -> str | None:
    if day:
        return day.isoformat()
    return None
