"""One mistake, one message: keep silent on what a slip already explains."""

import re
from collections.abc import Callable, Iterator, Sequence, Set
from dataclasses import dataclass
from typing import Final

from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import range_boundaries

from reportgen.model.problem import Problem, Severity, areas_of

SLIPS: Final = frozenset(
    ("slipped_point", "counter_jump", "measure_shrinks", "slipped_year", "date_out_of_order")
)
DOUBTS: Final = frozenset(
    (
        "unusual_value",
        "weight_far_from_median",
        "far_from_like_cells",
        "date_outside_trial",
        "long_trial",
    )
)
OF_SIZE: Final = frozenset(("slipped_point", "weight_far_from_median", "outlier"))
ECHOES: Final = frozenset((*DOUBTS, "fewer_plants_than_started"))  # what a slip explains by itself
FLAGGED: Final = "outlier"  # the weakest word on a weight

Confirmed = Callable[[Problem], bool]


def nothing_confirmed(_: Problem) -> bool:
    """Return that no cell is confirmed."""
    return False


def without_echoes(
    problems: Sequence[Problem], is_confirmed: Confirmed = nothing_confirmed
) -> Iterator[Problem]:
    """Yield problems but for slips in cells with an error, and for what a slip explains.

    Of a cell that its owner has confirmed no slip and no doubt is said.
    """
    open_problems = [problem for problem in problems if not _is_settled(problem, is_confirmed)]
    explained = _explained(problems, open_problems)
    for problem in open_problems:
        if not explained.covers(problem):
            yield problem


def _is_settled(problem: Problem, is_confirmed: Confirmed) -> bool:
    """Tell whether a problem is a doubt of a cell that its owner has confirmed."""
    is_doubtful = problem.code in SLIPS or problem.code in DOUBTS
    return is_doubtful and is_confirmed(problem)


@dataclass(frozen=True)
class _Explained:
    """Cells, each a sheet and a cell, by what explains their further problems.

    `columns` are sheet and column of weights in another unit.
    """

    errors: Set[tuple[str, str]]
    slips: Set[tuple[str, str]]
    sizes: Set[tuple[str, str]]
    columns: Set[tuple[str, str]]

    def covers(self, problem: Problem) -> bool:
        """Tell whether another problem explains this one."""
        cell = _cell(problem)
        if problem.code in OF_SIZE and _column(problem) in self.columns:
            return True
        if problem.code in SLIPS and cell in self.errors:
            return True
        if problem.code in ECHOES:
            return cell in self.slips
        if problem.code == FLAGGED:
            return cell in self.slips or cell in self.sizes
        return False


def _explained(problems: Sequence[Problem], open_problems: Sequence[Problem]) -> _Explained:
    """Return what the errors among all problems, and the slips among the open ones, explain."""
    errors = {_cell(problem) for problem in problems if problem.severity is Severity.ERROR}
    slips: set[tuple[str, str]] = set()
    sizes: set[tuple[str, str]] = set()
    columns: set[tuple[str, str]] = set()
    for problem in open_problems:
        if problem.code in SLIPS:
            slips.update(_cells(problem))
        elif problem.code == "weight_far_from_median":
            sizes.add(_cell(problem))
        elif problem.code == "weights_in_kilograms":
            columns.add(_column(problem))
    return _Explained(errors, slips, sizes, columns)


def _cell(problem: Problem) -> tuple[str, str]:
    return problem.sheet, problem.cell


def _column(problem: Problem) -> tuple[str, str]:
    """Return sheet and column of a problem."""
    letters = re.match(r"[A-Z]*", problem.cell)
    return problem.sheet, letters[0] if letters else ""


def _cells(problem: Problem) -> Iterator[tuple[str, str]]:
    """Yield the cells of a problem one by one, and its range."""
    yield _cell(problem)
    if not problem.cell:
        return
    for area in areas_of(problem.cell):
        for cell in _cells_within(area):
            yield problem.sheet, cell


def _cells_within(area: str) -> Iterator[str]:
    left, top, right, bottom = range_boundaries(area)
    for column in range(left or 1, (right or 0) + 1):
        letters = get_column_letter(column)
        for row in range(top or 1, (bottom or 0) + 1):
            yield f"{letters}{row}"
