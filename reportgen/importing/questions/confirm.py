"""Is this your trial? The one question after the figures are determined."""

from dataclasses import replace
from typing import Final

from reportgen.importing.model.questions import Choice, Question, Slot, Summary
from reportgen.importing.model.settings import Settings
from reportgen.importing.questions.situation import Situation

KEY: Final = "confirm"
YES: Final = "yes"
NO: Final = "no"


def confirm_questions(situation: Situation) -> tuple[Question, ...]:
    """Return the last question, where the owner did not confirm what is read."""
    settings = situation.settings
    summary = situation.figures(settings)
    if settings.confirmed or not summary:
        return ()
    yes = replace(settings, confirmed=confirmed_of(summary))

    def accept(text: str) -> Settings:
        return _taken_back(settings, text)

    ask = "Is this your trial? If not, name the table that is off."
    return (Question(KEY, Slot.CONFIRM, ask, (), (Choice(YES, yes, summary),), None, True, accept),)


def confirmed_of(summary: Summary) -> dict[str, dict[str, tuple[int, int, float]]]:
    """Return units, values and total by quantity and treatment, as the settings file keeps them."""
    return {
        quantity: {name: (each.units, each.n, each.total) for name, each in figures.items()}
        for quantity, figures in summary.items()
    }


def _taken_back(settings: Settings, text: str) -> Settings:
    """Return settings in which a table is open again; raise ValueError where the text names none."""
    name = text.strip().casefold()
    keys = [layout.table for layout in settings.layouts]
    named = [key for key in keys if name == key.casefold() or name.startswith(f"{key.casefold()}.")]
    if not named:
        raise ValueError(f"yes, or the name of the table that is off: {', '.join(keys)}")
    return reopened(settings, named[0])


def reopened(settings: Settings, table: str) -> Settings:
    """Return settings in which nothing is said of a table any more, but that its reading was wrong."""
    layouts = tuple(layout for layout in settings.layouts if layout.table != table)
    answers = {key: text for key, text in settings.answers.items() if not key.startswith(f"{table}.")}
    answers[f"{table}.as_read"] = "none of these"
    return replace(settings, layouts=layouts, answers=answers, confirmed={})
