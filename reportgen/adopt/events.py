"""Ask what was done with volumes of solution where neither a header nor a word among the events says it."""

from collections.abc import Callable, Iterator

from reportgen.adopt.mapping import UNKNOWN, Adoption
from reportgen.adopt.questions import DONE, NOT_POURED, Question

Rows = Callable[[int, str], tuple[tuple[str, ...], ...]]


def event_questions(adoption: Adoption, rows: Rows) -> Iterator[Question]:
    """Yield a question for each column of volumes, and each word among the events, whose meaning is open."""
    for header, tables in _by_header(adoption).items():
        text = f'What was done with the volumes under "{header}"?'
        key = f"table.{tables[0]}.constants.Event"
        why = "No header says so. Water use is reckoned from what went in and what was left."
        yield Question(key, "event", text, why, (*DONE, NOT_POURED), "", rows(tables[0], header), tables)
    for word, tables in _by_word(adoption).items():
        header = adoption.tables[tables[0]].columns["Event"].header
        text = f'What was done where "{word}" stands under "{header}"?'
        key = f"table.{tables[0]}.columns.Event.codes.{word}"
        yield Question(key, "event", text, "", tuple(DONE), "", rows(tables[0], header), tables, word)


def _by_header(adoption: Adoption) -> dict[str, tuple[int, ...]]:
    found: dict[str, tuple[int, ...]] = {}
    for at, table in enumerate(adoption.tables):
        if table.constants.get("Event") == UNKNOWN and "Volume" in table.columns:
            header = table.columns["Volume"].header
            found[header] = (*found.get(header, ()), at)
    return found


def _by_word(adoption: Adoption) -> dict[str, tuple[int, ...]]:
    found: dict[str, tuple[int, ...]] = {}
    for at, table in enumerate(adoption.tables):
        codes = table.columns["Event"].codes if "Event" in table.columns else {}
        for word in (word for word, meant in codes.items() if meant == UNKNOWN):
            found[word] = (*found.get(word, ()), at)
    return found
