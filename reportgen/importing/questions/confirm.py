"""Is this your trial? The one question after the figures are determined."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import isclose
from typing import Final

from reportgen.importing.model.layouts import NOTHING
from reportgen.importing.model.questions import Choice, Question, Slot, Summary, own_word
from reportgen.importing.model.settings import Settings
from reportgen.importing.questions.situation import Situation
from reportgen.importing.questions.structure import AS_READ, NONE, OFF, OTHER
from reportgen.language import marked, say

KEY: Final = "confirm"
TABLE_KEY: Final = "confirm.table"
YES: Final = marked("yes")
NO: Final = marked("no")
SAME: Final = 1e-9  # relative: totals in the settings file may have lost their last digits


def confirm_questions(situation: Situation) -> tuple[Question, ...]:
    """Return the last question, where the owner did not confirm what is read."""
    if situation.book is not None:  # logs that grow each week: their figures change
        return ()
    settings = situation.settings
    summary = situation.figures(settings)
    if not summary or _is_confirmed(summary, settings):
        return ()
    tables = _tables_read(settings)
    is_refused = settings.answers.get(KEY) == NO and TABLE_KEY not in settings.answers
    if is_refused and len(tables) > 1:
        return (_which_table(settings, tables),)
    return (_is_yours(settings, summary, tables),)


def _tables_read(settings: Settings) -> tuple[str, ...]:
    tables = [layout.table for layout in settings.layouts if layout.gives != NOTHING]
    return tuple(dict.fromkeys(tables))


def _which_table(settings: Settings, tables: Sequence[str]) -> Question:
    """Ask which of several tables is read wrongly."""
    ask = say("Which table is read otherwise than you mean it?")
    choices = tuple(Choice(name, _named(settings, name)) for name in tables)
    return Question(TABLE_KEY, Slot.TABLE, ask, (), choices)


def _is_yours(settings: Settings, summary: Summary, tables: Sequence[str]) -> Question:
    """Ask whether the figures are those of the owner's trial."""
    fresh = {key: text for key, text in settings.answers.items() if key not in (KEY, TABLE_KEY)}
    yes = own_word(YES, replace(settings, confirmed=confirmed_of(summary), answers=fresh), summary)
    refused = replace(settings, answers={**fresh, KEY: NO})
    if len(tables) == 1:
        refused = reopened(refused, tables[0])
    no = own_word(NO, refused, means=say("then say what is off"))
    return Question(KEY, Slot.CONFIRM, say("Is this your trial?"), (), (yes, no))


def _named(settings: Settings, table: str) -> Settings:
    """Return settings in which the table that its owner named is open again."""
    settings = reopened(settings, table)
    return replace(settings, answers={**settings.answers, TABLE_KEY: table})


def _is_confirmed(summary: Summary, settings: Settings) -> bool:
    """Tell whether the owner confirmed these very figures."""
    read = confirmed_of(summary)
    if set(read) != set(settings.confirmed):
        return False
    return all(_are_same(read[name], settings.confirmed[name]) for name in read)


def _are_same(
    read: Mapping[str, tuple[int, int, float]], confirmed: Mapping[str, tuple[int, int, float]]
) -> bool:
    """Tell whether the figures of a quantity are the confirmed ones in all treatments."""
    if set(read) != set(confirmed):
        return False
    for name, (units, count, total) in read.items():
        confirmed_units, confirmed_count, confirmed_total = confirmed[name]
        if (units, count) != (confirmed_units, confirmed_count):
            return False
        if not isclose(total, confirmed_total, rel_tol=SAME):
            return False
    return True


def confirmed_of(summary: Summary) -> dict[str, dict[str, tuple[int, int, float]]]:
    """Return units, values and total by quantity and treatment, as the settings file keeps them."""
    confirmed: dict[str, dict[str, tuple[int, int, float]]] = {}
    for quantity, figures in summary.items():
        confirmed[quantity] = {}
        for name, each in figures.items():
            confirmed[quantity][name] = (each.units, each.n, each.total)
    return confirmed


def reopened(settings: Settings, table: str) -> Settings:
    """Return settings in which a table is open again, as its reading was wrong."""
    layouts = tuple(layout for layout in settings.layouts if layout.table != table)
    others = {key: text for key, text in settings.answers.items() if not _follows(key, table)}
    answers = {**others, f"{table}.{AS_READ}": NONE}
    return replace(settings, layouts=layouts, answers=answers, confirmed={})


def _follows(key: str, table: str) -> bool:
    """Tell whether an answer is open again with its table: what was off, and what followed."""
    if not key.startswith((f"{table}.", f"{table} ")):
        return False
    return key.endswith(OTHER) or key.rpartition(".")[2].rstrip("0123456789") == OFF
