"""What must be asked of a spreadsheet's owner, and what each answer changes in the mapping."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from reportgen.adopt.columns import NOT_KNOWN, TEMPERATURES, WEIGHED
from reportgen.adopt.mapping import (
    DAILY,
    DAYS_EACH,
    DAYS_LAST,
    DAYS_SUM,
    NOTHING,
    SEEN,
    UNKNOWN,
    Adoption,
    Source,
    TableMapping,
)
from reportgen.adopt.matching import level_and_unit
from reportgen.adopt.named_trays import numbered
from reportgen.adopt.treatments import prefixes_of
from reportgen.workbook.dates import TextDates, Undated
from reportgen.workbook.declaration import PLANTS
from reportgen.workbook.headers import folded
from reportgen.workbook.units import UnitError, conversion

DEAD: Final = "the plant was lost"
UNMEASURED: Final = "it was not measured"
NUMBER_COUNTS: Final = "the number in it counts"
ROW_ALONE: Final = "each row"
LETTERS: Final = "their letters are the treatments"
KEPT, LEFT_OUT = "they count like the others", "they are left out"
IN_HEADERS: Final = "each column"
HEADED: Final = ("treatments", "trays")  # what headers such as T1, T2 may name
WORDED: Final = "trays; the words before their numbers are the treatments"
SINCE_MIDNIGHT: Final = "what was used since midnight: it begins again each day"
WHOLE_TRIAL: Final = "yes"
OTHER_DAYS: Final = "no, of other days: leave it out"
SHEETED: Final = "trays; their sheets are named after the treatments"
BESIDE: Final = "trays; the words beside their numbers are the treatments"
IN_SHEETS: Final = "each sheet"
TOGETHER: Final = "each treatment: all its plants stood together"
ADDED: Final = " + "  # between the headers of columns that are added up
BLOCKS: Final = "blocks: those of one number stood together"
NUMBERS: Final = "numbers that tell the units of a treatment apart, and no more"
OTHER_TRAYS: Final = "others: each sheet has trays of its own, and is a block"
SAME_TRAYS: Final = "the same ones again"
NO_KEY: Final = "nothing else: they are the treatments"
COUNTED_ANEW: Final = "another one: they count anew under each treatment"
SHARED: Final = "the same one: it holds several treatments"
NOTHING_PICKED: Final = "nothing was picked"
NOT_WEIGHED: Final = "it was not weighed, and the sum is not known"
BY_SHEET: Final = "nothing: each sheet is a treatment, with trays of its own"
DONE: Final = {  # the answers, and the declared events that they are
    "poured in to start with": "fill",
    "poured in later, for what was used": "top-up",
    "taken out as a sample": "sample",
    "drained or thrown away": "drain",
    "measured as left at the end": "remaining",
}
NOT_POURED: Final = "something else, as what was used up: leave it out"
ALL_BELONG: Final = "yes, all of them"
COUNTED_TWICE: Final = "none: it counts what the others count too, or something else"
ALL_OF: Final = "yes, all of"  # before the header of a number of plants
NOT_ALL: Final = "no, and how many were weighed stands nowhere"
ONE_BY_ONE: Final = "I say the treatment of each code"
MASS: Final = ("g", "kg", "mg", "oz", "lb")
ON_DAYS: Final = {
    DAYS_LAST: "only the last day of each is the harvest",
    DAYS_SUM: "pickings of the same plants, which add up",
    DAYS_EACH: "other plants each day, and every row counts",
}
UNITS: Final[Mapping[str, tuple[str, ...]]] = {
    "EC": ("mS/cm", "µS/cm"),
    "Volume": ("L", "mL", "US gal", "imp gal"),
    "Reading": ("kWh", "Wh", "MWh"),
    "Height": ("cm", "mm", "in"),
    **dict.fromkeys(TEMPERATURES, ("°C", "°F")),
}


def units_of(name: str) -> tuple[str, ...]:
    """Return the usual units of a column whose unit is asked, the one that it is kept in first."""
    return UNITS.get(name, MASS)


class AnswerError(ValueError):
    """An answer does not fit its question; the message says what would."""


@dataclass(frozen=True)
class Question:
    """One thing that only the owner knows: what is asked, why, the answers there are, the first rows in view.

    `key` is where the answer goes, as in the settings file; `tables` are the tables that it is for. Without `choices`
    any text is taken that its `kind` allows. `default` is empty where none is safe. `column` is the declared column,
    the field or the word that is asked about; `levels` are the treatments that each choice of a column brings, `marked`
    the rows that are asked about, `words` the texts, `corrections` the numbers in them by table and cell. `named` are
    the names of whole tables, by table.
    """

    key: str
    kind: str
    text: str
    why: str = ""
    choices: tuple[str, ...] = ()
    default: str = ""
    rows: tuple[tuple[str, ...], ...] = ()
    tables: tuple[int, ...] = ()
    column: str = ""
    levels: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    marked: tuple[int, ...] = ()
    words: tuple[str, ...] = ()
    corrections: Mapping[int, Mapping[str, float]] = field(default_factory=dict)
    named: Mapping[int, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Understanding:
    """What was understood of some files: the mapping, why, and the questions that are still open.

    `reasons` are said of the mapping's keys, such as "table.0.columns"; `left_out` of what nothing is made of.
    """

    adoption: Adoption
    reasons: Mapping[str, str] = field(default_factory=dict)
    questions: tuple[Question, ...] = ()
    left_out: tuple[str, ...] = ()
    levels: tuple[str, ...] = ()


def unanswered(understanding: Understanding) -> tuple[Question, ...]:
    """Return the questions that are still open, in the order in which they are asked."""
    return understanding.questions


def answered(understanding: Understanding, key: str, answer: str) -> Understanding:
    """Return what is understood once the question `key` has its answer, which is one of its choices or as it allows.

    Raises KeyError where there is no such question, AnswerError where the answer does not fit.
    """
    question = next((one for one in understanding.questions if one.key == key), None)
    if question is None:
        raise KeyError(key)
    chosen = chosen_of(question, answer)
    adoption = EFFECTS[question.kind](understanding.adoption, question, chosen)
    rest = tuple(_of_the_trial([one for one in understanding.questions if one.key != key], adoption))
    if question.kind == "pickings" and chosen != question.choices[0]:
        rest = tuple(one for one in rest if one.kind != "unpicked" or not set(one.tables) <= set(question.tables))
    if question.kind == "mass":
        rest = tuple(
            replace(one, column=chosen) if one.kind == "unit" and one.column == UNKNOWN else one for one in rest
        )
    if chosen in (ONE_BY_ONE, HEADED[1]):
        rest = (*_one_by_one(adoption, question), *rest)
    if question.kind in ("treatment", "letters", "headers", "key", "named"):
        known = replace(understanding, adoption=adoption, questions=rest)
        return _with_levels(known, question.levels.get(chosen, ()))
    if question.kind in ("code", "of tray"):
        said = _codes_said(adoption)
        why = f"Named so far: {', '.join(said)}."
        rest = tuple(replace(one, why=why) if one.kind == question.kind else one for one in rest)
        return _with_levels(replace(understanding, adoption=adoption, questions=rest), said)
    if not rest:
        adoption = _without_open_words(adoption)
    return replace(understanding, adoption=adoption, questions=rest)


def _of_the_trial(questions: Sequence[Question], adoption: Adoption) -> Iterator[Question]:
    """Yield questions for the tables that are part of the trial."""
    for one in questions:
        tables = tuple(at for at in one.tables if adoption.tables[at].gives != NOTHING)
        if not one.tables or tables == one.tables:
            yield one
        elif tables:
            key = re.sub(r"^table\.\d+", f"table.{tables[0]}", one.key)
            yield replace(one, key=key, tables=tables)


def chosen_of(question: Question, answer: str) -> str:
    """Return the choice that an answer stands for: its text, its number in the list, or its beginning."""
    text = answer.strip() or question.default
    if not text:
        raise AnswerError("an answer")
    if not question.choices:
        return text
    if text in question.choices:
        return text
    if text.isdigit() and 1 <= int(text) <= len(question.choices):
        return question.choices[int(text) - 1]
    near = [choice for choice in question.choices if folded(choice).startswith(folded(text))]
    if len(near) == 1:
        return near[0]
    if question.kind in ("unit", "crop"):
        return text
    raise AnswerError(f"one of {', '.join(question.choices)}")


def _with_levels(understanding: Understanding, levels: tuple[str, ...]) -> Understanding:
    """Return the understanding once the treatments are known: the questions that let choose among them."""

    def offered(question: Question) -> Question:
        if question.key == "trial.Reference treatment":
            return replace(question, choices=levels)
        more = tuple(one for one in question.choices if one == COUNTED_TWICE)
        return replace(question, choices=("all", *levels, *more)) if question.kind == "whose" else question

    return replace(understanding, questions=tuple(map(offered, understanding.questions)), levels=levels)


def _one_by_one(adoption: Adoption, question: Question) -> Iterator[Question]:
    """Yield the questions for the treatment of each code, header or name that a question was about."""
    if question.kind in ("letters", "headers"):
        yield from each_code(adoption, question)
    elif question.kind == "named":
        yield from each_named(adoption, question)


def each_code(adoption: Adoption, question: Question) -> Iterator[Question]:
    """Yield a question for each code of a table whose treatment its owner tells one by one, and has not told yet."""
    for at in question.tables:
        for code in (code for code, meant in codes_of(adoption.tables[at]).items() if meant == UNKNOWN):
            where = f" on {adoption.tables[at].place}" if len(question.tables) > 1 else ""
            text = f'Which treatment is "{code}"{where}?'
            yield Question(f"table.{at}.treatment.{code}", "code", text, rows=question.rows, tables=(at,), column=code)


def each_named(adoption: Adoption, question: Question) -> Iterator[Question]:
    """Yield a question for each table that is a tray whose treatment its owner has not told yet."""
    for at, name in question.named.items():
        if at in question.tables and adoption.tables[at].constants.get("Treatment") == UNKNOWN:
            key, text = f"table.{at}.constants.Treatment", f'Which treatment is "{name}"?'
            yield Question(key, "of tray", text, rows=question.rows, tables=(at,), column=name, named=question.named)


def _codes_said(adoption: Adoption) -> tuple[str, ...]:
    """Return the treatments that codes are said to stand for, each once."""
    told = ((*codes_of(table).values(), table.constants.get("Treatment", UNKNOWN)) for table in adoption.tables)
    return tuple(dict.fromkeys(meant for levels in told for meant in levels if meant not in (UNKNOWN, "all")))


# --- what an answer changes

Effect = Callable[[Adoption, Question, str], Adoption]


def _changed(adoption: Adoption, question: Question, change: Callable[[TableMapping], TableMapping]) -> Adoption:
    tables = (change(table) if at in question.tables else table for at, table in enumerate(adoption.tables))
    return replace(adoption, tables=tuple(tables))


def _whole(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set that columns without days are of the whole trial: each of its first or its last day, as `named` has it."""
    tables = list(adoption.tables)
    for at in question.tables:
        told = {**tables[at].constants, question.column: question.named[at]}
        tables[at] = (
            replace(tables[at], constants=told)
            if answer == WHOLE_TRIAL
            else replace(tables[at], gives=NOTHING, constants={})
        )
    return replace(adoption, tables=tuple(tables))


def _field(adoption: Adoption, question: Question, answer: str) -> Adoption:
    return replace(adoption, trial={**adoption.trial, question.column: answer})


def _day(adoption: Adoption, question: Question, answer: str) -> Adoption:
    try:
        day = TextDates(None, mixed=False).read(answer).date()
    except Undated as error:
        raise AnswerError("a date as year-month-day, such as 2026-03-31") from error
    return replace(adoption, trial={**adoption.trial, question.column: day})


def _unit(adoption: Adoption, question: Question, answer: str) -> Adoption:
    try:
        conversion(answer, units_of(question.column)[0])
    except UnitError as error:
        raise AnswerError(f"a unit such as {', '.join(question.choices)}") from error

    def change(table: TableMapping) -> TableMapping:
        if table.wide and table.wide.values == question.column:
            return replace(table, wide=replace(table.wide, unit=answer))
        source = table.columns[question.column]
        return replace(table, columns={**table.columns, question.column: replace(source, unit=answer)})

    return _changed(adoption, question, change)


def _mass(adoption: Adoption, question: Question, answer: str) -> Adoption:
    def change(table: TableMapping) -> TableMapping:
        if table.wide and table.wide.values == UNKNOWN:
            return replace(table, wide=replace(table.wide, values=answer))
        return replace(table, columns={answer if name == UNKNOWN else name: one for name, one in table.columns.items()})

    return _changed(adoption, question, change)


def _pickings(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set the column of a weight or of another measure: one of several, or all of them, added up."""
    added = _is_sum(question, answer)

    def change(table: TableMapping) -> TableMapping:
        # A single picking that is the yield is no further measurement besides.
        kept = {name: one for name, one in table.columns.items() if added or one.header != answer}
        columns = {
            name: _picked(one, answer, added=added) if name in named_so(table, question.column) else one
            for name, one in kept.items()
        }
        return replace(table, columns=columns)

    return _changed(adoption, question, change)


def _is_sum(question: Question, answer: str) -> bool:
    parts = answer.split(ADDED)
    return len(parts) > 1 and all(part != answer and part in question.choices for part in parts)


def named_so(table: TableMapping, name: str) -> tuple[str, ...]:
    """Return how a table calls a column by now: a weight not said to be fresh or dry is renamed later."""
    if name != "Weight":
        return (name,)
    return tuple(one for one in (UNKNOWN, name) if one in table.columns) or WEIGHED


def _picked(source: Source, header: str, *, added: bool) -> Source:
    if source.header != UNKNOWN:
        return source
    return replace(source, header=header, codes=source.codes if added else {})


def _unpicked(adoption: Adoption, question: Question, answer: str) -> Adoption:
    meant = "0" if answer == NOTHING_PICKED else ""

    def change(table: TableMapping) -> TableMapping:
        columns = {
            name: replace(one, codes={**one.codes, "": meant}) if one.codes.get("") == UNKNOWN else one
            for name, one in table.columns.items()
        }
        return replace(table, columns=columns)

    missing = adoption.missing if meant else (*adoption.missing, "")
    return _changed(replace(adoption, missing=missing), question, change)


def _on_days(adoption: Adoption, question: Question, answer: str) -> Adoption:
    way = next(way for way, said in ON_DAYS.items() if said == answer)
    return _changed(adoption, question, lambda table: replace(table, days=way))


def _per(adoption: Adoption, question: Question, answer: str) -> Adoption:
    return _changed(adoption, question, lambda table: replace(table, per=answer))


def _cumulative(adoption: Adoption, question: Question, answer: str) -> Adoption:
    way: bool | str = DAILY if answer == SINCE_MIDNIGHT else answer == question.choices[0]
    return _changed(adoption, question, lambda table: replace(table, cumulative=way))


def _day_first(adoption: Adoption, question: Question, answer: str) -> Adoption:
    return _changed(adoption, question, lambda table: replace(table, day_first=answer == question.choices[0]))


def _event(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set what was done with all volumes of a column, or where a word stands beside them."""

    def change(table: TableMapping) -> TableMapping:
        if answer == NOT_POURED:
            return replace(table, gives=NOTHING, constants={})
        if not question.column:
            return replace(table, constants={**table.constants, "Event": DONE[answer]})
        source = table.columns["Event"]
        codes = {**source.codes, question.column: DONE[answer]}
        return replace(table, columns={**table.columns, "Event": replace(source, codes=codes)})

    return _changed(adoption, question, change)


def _started(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set the column of the plants started, or that it is not known how many they were."""

    def change(table: TableMapping) -> TableMapping:
        constants = {name: value for name, value in table.constants.items() if name != "Plants started"}
        if answer == NOT_KNOWN:
            return replace(table, constants={**constants, "Plants started": NOT_KNOWN})
        return replace(table, constants=constants, columns={**table.columns, "Plants started": Source(answer)})

    return _changed(adoption, question, change)


def _all_weighed(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set that all plants started were weighed; where they were not, how many were stays open."""
    header = question.choices[0].removeprefix(f"{ALL_OF} ") if answer == question.choices[0] else UNKNOWN
    return _changed(
        adoption,
        question,
        lambda table: replace(table, columns={**table.columns, "Plants weighed": Source(header)}),
    )


def _number(adoption: Adoption, question: Question, answer: str) -> Adoption:
    if not answer.isdigit() or not int(answer):
        raise AnswerError("a whole number, such as 12")
    return _changed(
        adoption, question, lambda table: replace(table, constants={**table.constants, question.column: answer})
    )


def _word(adoption: Adoption, question: Question, answer: str) -> Adoption:
    if answer == NUMBER_COUNTS:
        tables = (
            replace(table, corrected={**table.corrected, **question.corrections.get(at, {})})
            for at, table in enumerate(adoption.tables)
        )
        return replace(adoption, tables=tuple(tables))
    if answer == DEAD:
        return replace(adoption, lost=(*adoption.lost, *question.words))
    return replace(adoption, missing=(*adoption.missing, *question.words))


def _without_open_words(adoption: Adoption) -> Adoption:
    return replace(adoption, missing=tuple(word for word in adoption.missing if word != UNKNOWN))


def _treatment(adoption: Adoption, question: Question, answer: str) -> Adoption:
    def change(table: TableMapping) -> TableMapping:
        constants = {name: value for name, value in table.constants.items() if name != "Treatment"}
        columns = {name: source for name, source in table.columns.items() if name != answer}
        return replace(table, constants=constants, columns={**columns, "Treatment": Source(answer)})

    return _changed(adoption, question, change)


def _letters(adoption: Adoption, question: Question, answer: str) -> Adoption:
    if answer == ONE_BY_ONE:
        return adoption
    if answer == BY_SHEET:
        return _changed(adoption, question, _of_its_sheet)
    return _changed(adoption, question, lambda table: _with_codes(table, prefixes_of(list(codes_of(table)))))


def _key(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set what codes stand for, by one of several keys."""
    meant = question.levels[answer]
    return _changed(
        adoption, question, lambda table: _with_codes(table, dict(zip(codes_of(table), meant, strict=True)))
    )


def _of_its_sheet(table: TableMapping) -> TableMapping:
    """Return a table whose sheet is its treatment, which goes before the codes of its trays."""
    coded = table.columns["Treatment"]
    codes = {code: f"{table.sheet}-{code}" for code in coded.codes}
    tray = next((name for name, one in table.columns.items() if name != "Treatment" and one.header == coded.header), "")
    columns = {name: replace(one, codes=codes) if name == tray else one for name, one in table.columns.items()}
    columns.pop("Treatment")
    return replace(table, columns=columns, constants={**table.constants, "Treatment": table.sheet})


def _code(adoption: Adoption, question: Question, answer: str) -> Adoption:
    return _changed(adoption, question, lambda table: _with_codes(table, {**codes_of(table), question.column: answer}))


def codes_of(table: TableMapping) -> Mapping[str, str]:
    """Return what each code of a table stands for as a treatment."""
    return table.columns["Treatment"].codes if "Treatment" in table.columns else table.treatment


def _with_codes(table: TableMapping, codes: Mapping[str, str]) -> TableMapping:
    if "Treatment" not in table.columns:
        return replace(table, treatment=codes)
    source = replace(table.columns["Treatment"], codes=codes)
    return replace(table, columns={**table.columns, "Treatment": source})


def _headers(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set what the headers of a wide table name; the treatments of trays are still to be told."""
    if answer == SHEETED:
        return _of_sheets(adoption, question)

    def change(table: TableMapping) -> TableMapping:
        if not table.wide:
            return table
        if answer == HEADED[0]:
            return replace(table, wide=replace(table.wide, names="Treatment"))
        bare = [level_and_unit(text)[0] for text in table.wide.headers]
        words = prefixes_of(bare) if answer == WORDED else {}
        codes = words or dict.fromkeys(bare, UNKNOWN)
        return replace(table, wide=replace(table.wide, names="Tray"), treatment=codes)

    return _changed(adoption, question, change)


def _of_sheets(adoption: Adoption, question: Question) -> Adoption:
    """Set that the headers of wide tables are trays, whose codes come again on each sheet, which is a treatment."""
    tables = list(adoption.tables)
    for at in question.tables:
        level, wide = question.named[at], tables[at].wide
        told = replace(wide, names="Tray", prefix=f"{level}-") if wide else None
        tables[at] = replace(tables[at], wide=told, constants={**tables[at].constants, "Treatment": level})
    return replace(adoption, tables=tuple(tables))


def _named(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set what the names of whole tables are: treatments, or trays, whose treatments they tell or are still to tell."""
    known = (
        dict(zip(question.named, numbered(tuple(question.named.values())), strict=False)) if answer == BESIDE else {}
    )
    tables = list(adoption.tables)
    for at in question.tables:
        name = question.named[at]
        told = {"Treatment": name} if answer == HEADED[0] else {"Treatment": UNKNOWN, "Tray": name}
        told = {"Treatment": known[at].treatment, "Tray": known[at].tray} if at in known else told
        tables[at] = replace(tables[at], constants={**tables[at].constants, **told})
    return replace(adoption, tables=tuple(tables))


def _of_tray(adoption: Adoption, question: Question, answer: str) -> Adoption:
    (at,) = question.tables
    told = {"Tray": question.named[at], "Treatment": answer}
    return _changed(adoption, question, lambda table: replace(table, constants={**table.constants, **told}))


def _whose(adoption: Adoption, question: Question, answer: str) -> Adoption:
    if answer == COUNTED_TWICE:
        return _changed(adoption, question, lambda table: replace(table, gives=NOTHING))
    return _changed(
        adoption, question, lambda table: replace(table, constants={**table.constants, "Treatment": answer})
    )


def _independent(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set what was treated on its own: trays where a column tells them, else each row.

    A column that counts anew under each treatment tells them together with the treatment.
    """
    joined = question.levels.get(answer, ())
    unit = "plant" if answer == ROW_ALONE else "tray"
    adoption = replace(adoption, trial={**adoption.trial, "Experimental unit": unit})
    if answer in (ROW_ALONE, IN_HEADERS):
        return adoption
    if answer in (IN_SHEETS, TOGETHER):
        return _in_one_place(adoption, question, answer)

    def change(table: TableMapping) -> TableMapping:
        tray = table.columns.get("Tray")
        if tray and answer in tray.header.split(ADDED):
            return table
        if joined:
            return replace(table, columns={**table.columns, "Tray": Source(joined[0])})
        columns = {
            name: source for name, source in table.columns.items() if source.header != answer or name == "Treatment"
        }
        return replace(table, columns={**columns, "Tray": Source(answer)})

    return _changed(adoption, question, change)


def _in_one_place(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set that all plants of a table, or all of a treatment, are one experimental unit."""
    tables = list(adoption.tables)
    for at in question.tables:
        tables[at] = (
            _as_tray(tables[at], question.named[at])
            if answer == IN_SHEETS
            else _in_treatments(tables[at], question.levels.get(TOGETHER, ()))
        )
    return replace(adoption, tables=tuple(tables))


def _as_tray(table: TableMapping, name: str) -> TableMapping:
    columns = {name: one for name, one in table.columns.items() if name != "Tray"}
    return replace(table, columns=columns, constants={"Tray": name, **table.constants})


def _in_treatments(table: TableMapping, levels: Sequence[str]) -> TableMapping:
    """Return a table in which each treatment is one tray too; `levels` are those that stand above their rows."""
    wide = table.wide
    if table.sections == "Treatment":
        return replace(table, sections="Tray", treatment={text: text for text in levels})
    if wide and wide.names == "Treatment":
        told = {text: text for text in (level_and_unit(text)[0] for text in wide.headers)}
        return replace(table, wide=replace(wide, names="Tray"), treatment={**told, **table.treatment})
    if "Treatment" in table.columns:
        return replace(table, columns={**table.columns, "Tray": table.columns["Treatment"]})
    return replace(table, constants={**table.constants, "Tray": table.constants.get("Treatment", UNKNOWN)})


def _belonging(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Leave out the tables of plants on sheets that are no part of the trial."""
    places = question.levels[answer]

    def change(table: TableMapping) -> TableMapping:
        return replace(table, gives=PLANTS.name if table.place in places else NOTHING)

    return _changed(adoption, question, change)


def _blocks(adoption: Adoption, question: Question, answer: str) -> Adoption:
    def change(table: TableMapping) -> TableMapping:
        kept = {name: one for name, one in table.columns.items() if name != "Block"}
        return replace(table, columns={**kept, "Block": Source(question.column)} if answer == BLOCKS else kept)

    return _changed(adoption, question, change)


def _places(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set whether trays of one code on several sheets are others: then the sheet goes before their codes."""

    def change(table: TableMapping) -> TableMapping:
        tray = table.columns["Tray"]
        others = answer == OTHER_TRAYS
        codes = {code: f"{table.sheet}-{code}" if others else code for code in tray.codes}
        block = {"Block": table.sheet} if others and table.constants.get("Block") == UNKNOWN else {}
        known = {name: value for name, value in table.constants.items() if (name, value) != ("Block", UNKNOWN)}
        columns = {**table.columns, "Tray": replace(tray, codes=codes)}
        return replace(table, columns=columns, constants={**known, **block})

    return _changed(adoption, question, change)


def _crossed(adoption: Adoption, question: Question, answer: str) -> Adoption:
    """Set that trays are told by their treatment too; one that holds several treatments is a block of them."""
    tray = question.column.split(ADDED)[-1]

    def change(table: TableMapping) -> TableMapping:
        is_open = "Block" in table.columns and table.columns["Block"].header == UNKNOWN
        known = {name: one for name, one in table.columns.items() if name != "Block" or not is_open}
        block = {"Block": Source(tray)} if is_open and answer == SHARED else {}
        return replace(table, columns={**known, **block, "Tray": Source(question.column)})

    return _changed(adoption, question, change)


def _marked(adoption: Adoption, question: Question, answer: str) -> Adoption:
    def change(table: TableMapping) -> TableMapping:
        rows = question.marked if answer == LEFT_OUT else ()
        return replace(
            table, marked_rows=question.marked or SEEN, exclude_rows=tuple(sorted({*table.exclude_rows, *rows}))
        )

    return _changed(adoption, question, change)


EFFECTS: Final[Mapping[str, Effect]] = {
    "crop": _field,
    "field": _field,
    "day": _day,
    "unit": _unit,
    "pickings": _pickings,
    "rivals": _pickings,
    "unpicked": _unpicked,
    "days": _on_days,
    "mass": _mass,
    "per": _per,
    "started": _started,
    "all weighed": _all_weighed,
    "number": _number,
    "cumulative": _cumulative,
    "day first": _day_first,
    "word": _word,
    "event": _event,
    "treatment": _treatment,
    "whose": _whose,
    "whole": _whole,
    "letters": _letters,
    "code": _code,
    "key": _key,
    "headers": _headers,
    "named": _named,
    "of tray": _of_tray,
    "blocks": _blocks,
    "places": _places,
    "crossed": _crossed,
    "marked": _marked,
    "independent": _independent,
    "belonging": _belonging,
}


def texts_of(question: Question) -> Iterator[str]:
    """Yield what is shown of a question: its text, why it is asked, its answers by number."""
    yield question.text
    if question.why:
        yield f"  {question.why}"
    for number, choice in enumerate(question.choices, 1):
        yield f"  {number}. {choice}"
