"""What is wrong with a workbook, said to the grower who keeps it."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from reportgen.language import marked, say

MOST_AREAS: Final = (
    3  # cells and runs of cells that a place names; of more than that, the first two
)


def cells_of(column: str, rows: Iterable[int]) -> str:
    """Return the cells of some rows of a column, ranges for runs only: `D6, D30:D32`.

    `7:9` for whole rows.
    """
    runs: list[tuple[int, int]] = []
    for row in sorted(set(rows)):
        if runs and row == runs[-1][1] + 1:
            runs[-1] = runs[-1][0], row
        else:
            runs.append((row, row))
    return ", ".join(_run(column, first, last) for first, last in runs)


def _run(column: str, first: int, last: int) -> str:
    if column and first == last:
        return f"{column}{first}"
    return f"{column}{first}:{column}{last}"


def areas_of(cells: str) -> list[str]:
    """Return the cells and ranges that a list of cells is of."""
    return cells.split(", ")


class Severity(StrEnum):
    """How much a problem matters.

    An error stops the report, a caution stands in it, a remark does not.

    What is still to come in an unfinished trial is no mistake.
    """

    ERROR = "error"
    CAUTION = "caution"
    REMARK = "remark"
    TO_COME = "to come"

    def said(self) -> str:
        """Return the word in the current language."""
        return say(SEVERITIES[self])


SEVERITIES: Final = {
    Severity.ERROR: marked("error"),
    Severity.CAUTION: marked("caution"),
    Severity.REMARK: marked("remark"),
    Severity.TO_COME: marked("to come"),
}


@dataclass(frozen=True)
class Problem:
    """One finding about a workbook: where it is, what stands there, what was expected, what to do.

    `code` says what kind of finding it is: a key in snake_case that stays when the words change, so
    that no program reads the words.

    `cell` is a cell or range in A1 notation, or several as in `D6, D30:D32`, or empty where the
    finding is about a whole sheet; `sheet` is empty where it is about the file. `count` is how many
    values it is about.
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
    def finding(self) -> str:
        """Return what was found, what was expected and what to do, in a sentence or more."""
        return say(
            "{found}; expected {expected}. {advice}",
            found=self.found,
            expected=self.expected,
            advice=self.advice,
        )

    @property
    def place(self) -> str:
        """Return sheet and cell, such as `Plants!C7`; empty where the finding is about the file.

        Of many cells that are apart it names the first: `Plants!C7, C9 and 4 more`; whole rows by
        their numbers: `Plants, row 7`.
        """
        if self.cell:
            return place_of(self.sheet, self.cell)
        return self.sheet

    def __str__(self) -> str:
        """Return the finding as one line, such as `Plants!C7: "12O" is not a number. Type 120.`."""
        place = self.place
        if self.severity is Severity.TO_COME:
            if place:
                return f"{self.found}, {place}"
            return f"{self.found}. {self.advice}"
        if place:
            return f"{place}: {self.finding}"
        return self.finding


def of_file(
    code: str, found: str, expected: str, advice: str, severity: Severity = Severity.ERROR
) -> Problem:
    """Return what is said of a file as a whole."""
    return Problem(severity, "", "", found, expected, advice, code=code)


def place_of(sheet: str, cells: str) -> str:
    """Return cells of a sheet in words, such as `Plants!C7`; `Plants, row 7` for a whole row."""
    text = shortened(cells)
    if cells[0].isalpha():
        return f"{sheet}!{text}"
    return f"{sheet}, {text}"


def shortened(cells: str) -> str:
    """Return a list of cells as it stands in a sentence.

    The first ones where it is long, `rows 7, 9` for 7:7, 9:9.
    """
    areas = areas_of(cells)
    named, left = areas, areas[:0]
    if len(areas) > MOST_AREAS:
        named, left = areas[: MOST_AREAS - 1], areas[MOST_AREAS - 1 :]
    text = ", ".join(map(_area_text, named))
    if left:
        text = say("{first} and {number} more", first=text, number=sum(map(_size, left)))
    if cells[0].isalpha():
        return text
    if sum(map(_size, areas)) > 1:
        return say("rows {text}", text=text)
    return say("row {row}", row=text)


def _area_text(area: str) -> str:
    """Return a cell or range as it is, whole rows by their numbers: `7`, `7 to 9`."""
    first, _, last = area.partition(":")
    if not first.isdigit():
        return area
    if first == last:
        return first
    return say("{first} to {last}", first=first, last=last)


def _size(area: str) -> int:
    """Return how many cells of one column an area has."""
    first, _, last = area.partition(":")
    rows = [int("".join(filter(str.isdigit, cell))) for cell in (first, last or first)]
    return rows[1] - rows[0] + 1


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
