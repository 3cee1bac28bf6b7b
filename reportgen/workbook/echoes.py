"""One mistake, one message: what other checks say of a cell in which a slip was found is not said
again.
"""

import re
from collections.abc import Callable, Iterator, Sequence
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
FLAGGED: Final = "outlier"  # what is said of a weight where nothing more telling is

Confirmed = Callable[[Problem], bool]


def nothing_confirmed(_: Problem) -> bool:
    """Tell of any problem that its cell was not confirmed."""
    return False


def without_echoes(
    problems: Sequence[Problem], is_confirmed: Confirmed = nothing_confirmed
) -> Iterator[Problem]:
    """Yield problems but for slips in cells with an error, and for what a slip explains.

    Of a cell that its owner has confirmed no slip and no doubt is said.
    """
    errors = {_cell(problem) for problem in problems if problem.severity is Severity.ERROR}
    doubted = [
        problem
        for problem in problems
        if problem.code not in SLIPS | DOUBTS or not is_confirmed(problem)
    ]
    slips = {cell for problem in doubted if problem.code in SLIPS for cell in _cells(problem)}
    sizes = {_cell(problem) for problem in doubted if problem.code == "weight_far_from_median"}
    in_another_unit = {
        _column(problem) for problem in doubted if problem.code == "weights_in_kilograms"
    }
    for problem in doubted:
        if problem.code in OF_SIZE and _column(problem) in in_another_unit:
            continue
        is_known = problem.code in SLIPS and _cell(problem) in errors
        is_echo = problem.code in ECHOES and _cell(problem) in slips
        is_flagged = problem.code == FLAGGED and _cell(problem) in slips | sizes
        if not (is_known or is_echo or is_flagged):
            yield problem


def _cell(problem: Problem) -> tuple[str, str]:
    return problem.sheet, problem.cell


def _column(problem: Problem) -> tuple[str, str]:
    """Return sheet and column of a problem."""
    letters = re.match(r"[A-Z]*", problem.cell)
    return problem.sheet, letters[0] if letters else ""


def _cells(problem: Problem) -> Iterator[tuple[str, str]]:
    """Yield the cells of a problem one by one, and its range."""
    yield _cell(problem)
    for area in areas_of(problem.cell) if problem.cell else ():
        left, top, right, bottom = range_boundaries(area)
        for column in range(left or 1, (right or 0) + 1):
            for row in range(top or 1, (bottom or 0) + 1):
                yield problem.sheet, f"{get_column_letter(column)}{row}"
