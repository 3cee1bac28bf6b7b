"""All questions of one step, in their order."""

from collections.abc import Callable, Collection, Iterable
from typing import Final

from reportgen.importing.model.questions import Ledger, Question
from reportgen.importing.questions.codes import code_questions
from reportgen.importing.questions.confirm import confirm_questions
from reportgen.importing.questions.fields import field_questions, independent_questions
from reportgen.importing.questions.measures import (
    blank_questions,
    quantity_questions,
    unit_questions,
)
from reportgen.importing.questions.names import name_questions
from reportgen.importing.questions.namesakes import namesake_questions
from reportgen.importing.questions.rows import flag_questions, unexplained_questions
from reportgen.importing.questions.situation import Situation
from reportgen.importing.questions.structure import questions as structure_questions
from reportgen.importing.questions.words import date_questions, decimal_questions, word_questions
from reportgen.model.problem import Problem

Maker = Callable[[Situation], tuple[Question, ...]]
STEPS: Final[tuple[tuple[Maker, ...], ...]] = (
    (
        decimal_questions,
        quantity_questions,
        unit_questions,
    ),  # what figures are in, before they are shown
    (structure_questions,),
    (
        name_questions,
        namesake_questions,
        date_questions,
        word_questions,
        blank_questions,
        code_questions,
        independent_questions,
    ),
)


def questions(
    situation: Situation,
    ledger: Callable[[], Ledger],
    flags: Callable[[], Iterable[Problem]],
    skipped: Collection[str] = (),
) -> tuple[Question, ...]:
    """Return what is open at this step, skipped questions last.

    What a table is comes first; rows, fields and the last question follow once every table is
    settled. `ledger` and `flags` are computed then only.
    """
    later: list[Question] = []
    for makers in STEPS:
        made = [question for maker in makers for question in maker(situation)]
        asked = [question for question in made if question.key not in skipped]
        later.extend(question for question in made if question.key in skipped)
        if asked:
            return (*asked, *later)
    made = [
        *unexplained_questions(situation, ledger()),
        *flag_questions(situation, flags()),
        *field_questions(situation),
    ]
    asked = [question for question in made if question.key not in skipped]
    later.extend(question for question in made if question.key in skipped)
    if asked or later:
        return (*asked, *later)
    return confirm_questions(situation)
