"""An answer to a question: the settings that follow from it."""

from reportgen.importing.model.questions import Question
from reportgen.importing.model.settings import Settings


def settings_after(question: Question, text: str) -> Settings:
    """Return the settings that follow from an answer.

    Raises ValueError, saying what was expected, where it fits neither a choice nor what may be
    typed.
    """
    wanted = text.strip()
    for choice in question.choices:
        if choice.answer == wanted:
            return choice.settings
    for choice in question.choices:
        if choice.answer.casefold() == wanted.casefold():
            return choice.settings
    if question.accept is not None and question.free:
        return question.accept(wanted)
    raise ValueError("one of " + ", ".join(choice.answer for choice in question.choices))
