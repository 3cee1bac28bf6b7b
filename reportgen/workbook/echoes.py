"""One mistake, one message: what other checks say of a cell in which a slip was found is not said again."""

import re
from collections.abc import Iterator, Sequence
from typing import Final

from reportgen.model.problem import Problem, Severity

SLIPS: Final = frozenset(("slipped_point", "counter_jump", "measure_shrinks", "slipped_year", "date_out_of_order"))
ECHOES: Final = frozenset(  # what a slip explains by itself at its cell
    (
        "unusual_value",
        "weight_far_from_median",
        "outlier",
        "fewer_plants_than_started",
        "date_outside_trial",
        "long_trial",
    )
)
ECHOES_IN_ROW: Final = frozenset(("dry_above_fresh",))  # and in another cell of its row


def without_echoes(problems: Sequence[Problem]) -> Iterator[Problem]:
    """Yield problems but for slips in cells with an error, and for what a slip explains."""
    errors = {_cell(problem) for problem in problems if problem.severity is Severity.ERROR}
    slips = {_cell(problem) for problem in problems if problem.code in SLIPS}
    rows = {(sheet, _row(cell)) for sheet, cell in slips}
    for problem in problems:
        is_known = problem.code in SLIPS and _cell(problem) in errors
        is_echo = problem.code in ECHOES and _cell(problem) in slips
        is_echo_in_row = problem.code in ECHOES_IN_ROW and (problem.sheet, _row(problem.cell)) in rows
        if not (is_known or is_echo or is_echo_in_row):
            yield problem


def _cell(problem: Problem) -> tuple[str, str]:
    return problem.sheet, problem.cell


def _row(cell: str) -> str:
    return re.sub(r"[A-Z]", "", cell)
