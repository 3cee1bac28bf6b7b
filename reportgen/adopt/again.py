"""Take in a spreadsheet again: what its settings file says already holds, and is not asked again."""

from collections.abc import Iterator
from dataclasses import replace

from reportgen.adopt.columns import WEIGHED
from reportgen.adopt.mapping import UNKNOWN, Adoption, Source, TableMapping
from reportgen.adopt.questions import Question, Understanding, codes_of, each_code, each_named, named_so
from reportgen.adopt.toml_written import paired
from reportgen.adopt.unanswered import unanswered_keys


def still_open(found: Understanding, earlier: Adoption) -> Understanding:
    """Return what is understood of some files beside what their settings file `earlier` says.

    Its tables, words and fields take the place of those that were found; of the questions those stay that it leaves
    open, or that are of tables and words which it does not know.
    """
    places = paired(found.adoption.tables, earlier)
    tables = [
        one if place is None else earlier.tables[place]
        for one, place in zip(found.adoption.tables, places, strict=True)
    ]
    adoption = Adoption(
        tuple(tables),
        _words(found.adoption.missing, earlier.missing, "missing", earlier),
        _words(found.adoption.lost, earlier.lost, "lost", earlier),
        {**found.adoption.trial, **earlier.trial},
    )
    keys = {key for key, _ in unanswered_keys(adoption)}
    questions = (_renamed(one, adoption) for one in found.questions)
    kept = (kept for one in questions for kept in _kept(one, adoption, keys, earlier))
    levels = tuple(dict.fromkeys((*_levels(tables), *found.levels)))
    return replace(found, adoption=adoption, questions=tuple(kept), levels=levels)


def _words(found: tuple[str, ...], known: tuple[str, ...], key: str, earlier: Adoption) -> tuple[str, ...]:
    return known if key in earlier.lines else found


def _renamed(question: Question, adoption: Adoption) -> Question:
    """Return a question for a weight, as for its unit, by the name that the settings file gives to it by now."""
    if f".{UNKNOWN}." not in question.key:
        return question
    table = adoption.tables[question.tables[0]]
    named = (name for name, source in table.columns.items() if _is_untold(source) and name in WEIGHED)
    name = table.wide.values if table.wide else next(named, UNKNOWN)
    column = name if question.kind == "unit" else question.column
    return replace(question, column=column, key=question.key.replace(f".{UNKNOWN}.", f".{name}."))


def _is_untold(source: Source) -> bool:
    return UNKNOWN in (source.unit, source.header, *source.codes.values())


def _kept(question: Question, adoption: Adoption, keys: set[str], earlier: Adoption) -> Iterator[Question]:
    """Yield a question where it is still open, for the tables that it is open for."""
    if question.kind == "word":
        said = (*earlier.missing, *earlier.lost)
        if not _is_corrected(question, adoption) and (UNKNOWN in said or not set(question.words) <= set(said)):
            yield question
        return
    if not question.key.startswith("table."):
        if _is_open(question.key, keys):
            yield question
        return
    tail = question.key.split(".", 2)[2]
    tables = tuple(at for at in question.tables if _is_open(f"table.{at}.{tail}", keys))
    if question.kind in ("pickings", "unpicked", "rivals"):
        tables = tuple(at for at in tables if _is_picking_open(adoption.tables[at], question))
    yield from (
        _asked_again(replace(question, key=f"table.{tables[0]}.{tail}", tables=tables), adoption) if tables else ()
    )


def _asked_again(question: Question, adoption: Adoption) -> Iterator[Question]:
    """Yield a question, or those for its codes or names one by one where some of them are answered."""
    if question.kind == "named" and _is_named(adoption, question):
        yield from each_named(adoption, question)
    elif question.kind == "letters" and _is_begun(adoption.tables[question.tables[0]]):
        yield from each_code(adoption, question)
    else:
        yield question


def _is_corrected(question: Question, adoption: Adoption) -> bool:
    """Tell whether all the numbers with a mark that a question is about are said already."""
    cells = ((at, cell) for at, found in question.corrections.items() for cell in found)
    found = [cell in map(str.upper, adoption.tables[at].corrected) for at, cell in cells]
    return bool(found) and all(found)


def _is_picking_open(table: TableMapping, question: Question) -> bool:
    """Tell whether it is open which of several columns is meant, or what a blank among those of pickings means."""
    if question.kind == "unpicked":
        return any(one.codes.get("") == UNKNOWN for one in table.columns.values())
    named = (table.columns.get(name) for name in named_so(table, question.column))
    return any(source and source.header == UNKNOWN for source in named)


def _is_named(adoption: Adoption, question: Question) -> bool:
    """Tell whether it is said that whole tables are trays, whose treatments are said one by one."""
    return any("Tray" in adoption.tables[at].constants for at in question.named)


def _is_begun(table: TableMapping) -> bool:
    return set(codes_of(table).values()) != {UNKNOWN}


def _is_open(key: str, keys: set[str]) -> bool:
    return any(one == key or key.startswith(f"{one}.") or one.startswith(f"{key}.") for one in keys)


def _levels(tables: list[TableMapping]) -> Iterator[str]:
    """Yield the treatments that a settings file names."""
    for table in tables:
        for level in (*codes_of(table).values(), table.constants.get("Treatment", UNKNOWN)):
            if level not in (UNKNOWN, "all"):
                yield level
