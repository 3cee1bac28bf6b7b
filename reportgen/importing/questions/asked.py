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
    # what figures are in, before they are shown
    (decimal_questions, quantity_questions, unit_questions),
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
    postponed: list[Question] = []
    for makers in STEPS:
        step: list[Question] = []
        for maker in makers:
            step.extend(maker(situation))
        asked, later = _parted(step, skipped)
        postponed.extend(later)
        if asked:
            return (*asked, *postponed)
    unexplained = unexplained_questions(situation, ledger())
    flagged = flag_questions(situation, flags())
    fields = field_questions(situation)
    asked, later = _parted([*unexplained, *flagged, *fields], skipped)
    postponed.extend(later)
    if asked or postponed:
        return (*asked, *postponed)
    return confirm_questions(situation)


def _parted(
    all_questions: Iterable[Question], skipped: Collection[str]
) -> tuple[list[Question], list[Question]]:
    """Return the questions that are asked now, and those that were skipped."""
    asked: list[Question] = []
    later: list[Question] = []
    for question in all_questions:
        if question.key in skipped:
            later.append(question)
        else:
            asked.append(question)
    return asked, later
