"""What to do about a problem of a log: what the checks advise for a workbook, its settings file can often do."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from reportgen.adopt.mapping import Adoption
from reportgen.model.problem import Problem
from reportgen.workbook.declaration import TREATMENTS

WORD: Final = re.compile(r'"([^"\d]{2,})"(?: \(here .*\))? is not a number')
CODE: Final = re.compile(r'"([^"]+)"(?: \(here .*\))? is not on the sheet Treatments')
ADDED: Final = "or add it to the sheet Treatments."


def advised(problems: Iterable[Problem], adoption: Adoption) -> Iterator[Problem]:
    """Yield problems; what a word or a code means is said in the settings file, where no sheet of the log says it."""
    by_sheet = any(table.gives == TREATMENTS.name for table in adoption.tables)
    for problem in problems:
        word, code = WORD.fullmatch(problem.found), CODE.fullmatch(problem.found)
        if word:
            told = f'"{word[1]}" in lost where the plant died, in missing where nothing was measured'
            yield replace(problem, advice=f"{problem.advice} In {adoption.name} write {told}.")
        elif code and not by_sheet and problem.advice.endswith(ADDED):
            told = f'or say in {adoption.name} what it stands for, as treatment = {{ "{code[1]}" = "..." }}.'
            yield replace(problem, advice=problem.advice.replace(ADDED, told))
        else:
            yield problem
