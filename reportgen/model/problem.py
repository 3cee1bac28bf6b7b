"""What is wrong with a workbook, said to the grower who keeps it."""

from dataclasses import dataclass, field
from enum import StrEnum


class Severity(StrEnum):
    """How much a problem matters: an error stops the report, a caution stands in it, a remark does not.

    What is still to come in an unfinished trial is no mistake.
    """

    ERROR = "error"
    CAUTION = "caution"
    REMARK = "remark"
    TO_COME = "to come"


@dataclass(frozen=True)
class Problem:
    """One finding about a workbook: where it is, what stands there, what was expected, what to do.

    `code` says what kind of finding it is: a key in snake_case that stays when the words change, so that no program
    reads the words.

    `cell` is a cell or range in A1 notation, or empty where the finding is about a whole sheet; `sheet` is
    empty where it is about the file. `count` is how many values it is about.
    """

    severity: Severity
    sheet: str
    cell: str
    found: str
    expected: str
    advice: str
    code: str = field(kw_only=True)
    count: int = field(default=1, kw_only=True)

    @property
    def place(self) -> str:
        """Return sheet and cell, such as `Plants!C7`; empty where the finding is about the file."""
        return f"{self.sheet}!{self.cell}" if self.cell else self.sheet

    def __str__(self) -> str:
        """Return the finding as one line, such as `Plants!C7: "12O" is not a number. Type 120.`."""
        place = self.place
        if self.severity is Severity.TO_COME:
            return f"{self.found}, {place}" if place else f"{self.found}. {self.advice}"
        said = f"{self.found}; expected {self.expected}. {self.advice}"
        return f"{place}: {said}" if place else said


class WorkbookError(Exception):
    """A workbook has errors: the only exception that a user's mistake raises."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems

    def __reduce__(self) -> tuple[type["WorkbookError"], tuple[tuple[Problem, ...]]]:
        """Keep the problems where the error goes from one process to another."""
        return WorkbookError, (self.problems,)


class NotYetError(WorkbookError):
    """A workbook has no errors, and too little was recorded in its unfinished trial for a report."""

    def __reduce__(self) -> tuple[type["NotYetError"], tuple[tuple[Problem, ...]]]:
        """Keep the problems where the error goes from one process to another."""
        return NotYetError, (self.problems,)
