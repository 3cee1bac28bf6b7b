"""Problems as they are shown: the worst first, alike ones in one line with their cells and their
number.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from string import digits
from typing import Final

from reportgen.language import say
from reportgen.model.problem import Problem, Severity, areas_of, cells_of

CELLS: Final = re.compile(r"([A-Z]*)\d+(?::\1\d+)?(?:, \1\d+(?::\1\d+)?)*")
SENTENCES: Final = re.compile(r"(?<=[.?!]) ")
SAID_SINGLY: Final = 3  # findings that differ and are said in full
EXAMPLES: Final = 2  # of more findings than that
RANKS: Final = {severity: rank for rank, severity in enumerate(Severity)}

Kind = tuple[str, ...]


def grouped(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Return problems by severity, alike ones of one column grouped.

    Within a severity they keep their order. What is advised for one cell alone is left out of what
    is said of several.
    """
    groups: dict[Kind, list[Problem]] = {}
    for number, problem in enumerate(sorted(problems, key=lambda one: RANKS[one.severity])):
        groups.setdefault(_kind(problem, number), []).append(problem)
    return tuple(_as_one(alike) for alike in groups.values())


def _kind(problem: Problem, number: int) -> Kind:
    """Return what alike problems share; a problem without a cell is like no other."""
    cells = CELLS.fullmatch(problem.cell)
    if not cells:
        return (str(number),)
    return problem.severity, problem.sheet, cells[1], problem.code, problem.expected


def _as_one(alike: Sequence[Problem]) -> Problem:
    if len(alike) == 1:
        return alike[0]
    count = sum(problem.count for problem in alike)
    return replace(
        alike[0], cell=_cells(alike), found=_found(alike), advice=_advice(alike), count=count
    )


def _cells(alike: Sequence[Problem]) -> str:
    """Return the cells of some problems of one column, one time each."""
    column = ""
    rows: list[int] = []
    for area in (area for problem in alike for area in areas_of(problem.cell)):
        first, _, last = area.partition(":")
        column = first.rstrip(digits)
        top, bottom = (int(cell.removeprefix(column)) for cell in (first, last or first))
        rows += range(top, bottom + 1)
    return cells_of(column, rows)


def _advice(alike: Sequence[Problem]) -> str:
    """Return the sentences that the advice on all of them shares."""
    shared = SENTENCES.split(alike[0].advice)
    for problem in alike[1:]:
        own = SENTENCES.split(problem.advice)
        shared = [sentence for sentence in shared if sentence in own]
    return " ".join(shared) or say("Mend each of them.")


def _found(alike: Sequence[Problem]) -> str:
    texts = list(dict.fromkeys(problem.found for problem in alike))
    if len(texts) == 1:
        return say("{texts} ({number} cells)", texts=texts[0], number=len(alike))
    if len(texts) <= SAID_SINGLY:
        return "; ".join(texts)
    return say(
        "{listed}; and {number} more alike",
        listed="; ".join(texts[:EXAMPLES]),
        number=len(alike) - EXAMPLES,
    )
