"""An answer to a question: the settings that follow from it."""

from reportgen.importing.model.questions import Choice, Question
from reportgen.importing.model.settings import Settings
from reportgen.language import say
from reportgen.workbook.headers import folded


def settings_after(question: Question, text: str) -> Settings:
    """Return the settings that follow from an answer.

    Raises ValueError, saying what was expected, where it fits neither a choice nor what may be
    typed.
    """
    wanted = text.strip()
    choice = chosen(question, wanted)
    if choice is not None:
        return choice.settings
    if question.accept is not None and question.free:
        return question.accept(wanted)
    raise ValueError(
        say("one of {words}", words=", ".join(choice.text for choice in question.choices))
    )


def chosen(question: Question, text: str) -> Choice | None:
    """Return the choice that a text names, in English or in the reader's language.

    None where it is none of them.
    """
    for choice in question.choices:
        if choice.answer == text:
            return choice
    for choice in question.choices:
        if text.casefold() == choice.answer.casefold():
            return choice
    for choice in question.choices:
        if choice.said and folded(text) == folded(choice.said):
            return choice
    return None
