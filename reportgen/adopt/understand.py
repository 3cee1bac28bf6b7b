"""Work out what the tables of some files are: the mapping, the reasons for it, and what must be asked."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice
from pathlib import PurePath
from typing import Final

from reportgen.adopt.asking import Asker
from reportgen.adopt.belonging import strays, unused
from reportgen.adopt.beside import WIDE_ALONE, is_without_plants, told_beside
from reportgen.adopt.counts import counted
from reportgen.adopt.crossed import of_meters
from reportgen.adopt.facts import trial_of
from reportgen.adopt.grid import one_line
from reportgen.adopt.mapped import are_codes, ids_repeat, mappings, shared_trays, trays_apart, with_trays
from reportgen.adopt.mapping import Adoption, TableMapping
from reportgen.adopt.marks import Marks
from reportgen.adopt.matching import dimension, level_and_unit, meanings, tokens
from reportgen.adopt.noted import notes_in, with_noted_units
from reportgen.adopt.parts import WEIGHTS, Part
from reportgen.adopt.questions import (
    Question,
    Understanding,
    answered,
    unanswered,
)
from reportgen.adopt.rivals import contested, with_counter
from reportgen.adopt.roles import Profile, Understood, profile_at, understood
from reportgen.adopt.summaries import summaries as summaries_of
from reportgen.adopt.tables import FoundTable, Pairs, is_date, is_number, tables_of
from reportgen.adopt.tare import without_tare
from reportgen.adopt.treatments import (
    Telling,
    groups_of,
    key_tables,
    told,
    told_from_totals,
    trays_under,
)
from reportgen.adopt.whole_trial import of_whole_trial
from reportgen.adopt.wide import places_in, wide_columns
from reportgen.adopt.words import LOST, MISSING, TOTALS
from reportgen.workbook.headers import folded
from reportgen.workbook.raw import Workbook
from reportgen.workbook.values import blank, code

__all__ = ["Question", "Understanding", "answered", "unanswered", "understand"]

SUMMARY: Final = "means or totals of what stands in another table"
READINGS: Final = frozenset(("energy", "power", "meter", "reading", "temperature", "humidity", "volume", "solution"))
LOGGED: Final = frozenset(
    ("climate", "klima", "clima", "climat", "klimaat", "logger", "datalogger", "sensor", "sensors", "sensoren")
)
GROWN: Final = frozenset(("weight", "yield", "fresh", "dry", "height", "harvest", "leaf"))
CODED: Final = ("Tray", "Plant", "Treatment", "Block", "Position", "Meter")

LeftOut = tuple[str, str, str]  # a sheet, a header there, what is said of it


def understand(files: Mapping[str, Workbook], marks: Mapping[str, Marks] | None = None) -> Understanding:
    """Return what the tables of some files are; the main one goes by the empty name, the others by theirs.

    `marks` are the colours and comments of their cells, by file.
    """
    parts, pairs, left_out = _read(files)
    parts, apart = told_beside(parts)
    left_out += [(one.read.table.sheet, "", f"{one.read.table.sheet}: {why}") for one, why in apart]
    plants = [part for part in parts if part.read.gives == "Plants" and not (part.telling.constant or part.joined)]
    ways = told([(_file_name(part, files), part.read) for part in plants], pairs)
    telling = dict(zip(map(id, plants), ways, strict=True))
    parts = [replace(part, telling=telling.get(id(part), part.telling)) for part in parts]
    aside = {id(parts[at]): reason for at, reason in strays(parts).items()}
    others, parts = [part for part in parts if id(part) in aside], [part for part in parts if id(part) not in aside]
    levels = _levels(parts)
    repeated, shared = ids_repeat(parts), shared_trays(parts)
    made = [one for part in parts for one in mappings(part, levels, files, repeated, shared)]
    made = [(with_trays(mapping, part.read, parts, pairs), part, reason) for mapping, part, reason in made]
    wide = [mapping for mapping, _, _ in made if is_without_plants(mapping, [one for one, _, _ in made])]
    made = [one for one in made if one[0] not in wide]
    left_out += [(one.sheet, "", f"{one.sheet}: {WIDE_ALONE}") for one in wide]
    tables = trays_apart([of_meters(mapping, part.read) for mapping, part, _ in made])
    left = [(unused(mapping), part, aside[id(part)]) for part in others for mapping in _plain(part, files)]
    made += left
    adoption = Adoption(
        tables=(*tables, *(mapping for mapping, _, _ in left)),
        missing=_missing(parts),
        lost=_lost(parts),
        trial=trial_of(files, parts, pairs),
    )
    reasons = {f"table.{at}": reason for at, (_, _, reason) in enumerate(made)}
    asker = Asker(adoption, tuple(part for _, part, _ in made), levels, marks or {}, _levels_of)
    adoption, questions = asker.asked()
    used = {(table.sheet, source.header) for table in adoption.tables for source in table.columns.values()}
    used |= {(table.sheet, text) for table in adoption.tables if table.wide for text in table.wide.headers}
    said = tuple(text for sheet, header, text in left_out if (sheet, header) not in used)
    return Understanding(adoption, reasons, questions, said, levels)


def _plain(part: Part, files: Mapping[str, Workbook]) -> Iterator[TableMapping]:
    """Yield the first mapping of a table by itself."""
    yield from (mapping for mapping, _, _ in islice(mappings(part, (), files, repeated=False, shared=set()), 1))


def _read(files: Mapping[str, Workbook]) -> tuple[list[Part], list[Pairs], list[LeftOut]]:
    """Return the tables that give something, the keys and facts, and what is left out with the reason."""
    parts: list[Part] = []
    pairs: list[Pairs] = []
    left_out: list[LeftOut] = []
    for file, book in files.items():
        notes = notes_in(book.sheets)
        for raw in book.sheets:
            found = tables_of(raw)
            pairs += found.pairs
            for table in found.tables:
                key = key_tables(table)
                reads = [replace(one, read=with_noted_units(one.read, notes)) for one in _reads(table, file)]
                if key and not (reads[0].read.gives or reads[0].read.why_not):
                    pairs.append(key)
                    continue
                usable = [part for part in reads if part.read.gives and _is_usable(part.read)]
                parts += usable
                left_out += [text for part in reads for text in _left_out(part.read, usable=part in usable)]
    summed = summaries_of(parts)
    summaries = [part for part in parts if part in summed or _is_summary(part.read)]
    if len(summaries) < sum(part.read.gives == "Plants" for part in parts):
        parts = [part for part in parts if part not in summaries]
        left_out += [
            (one.read.table.sheet, "", f"{one.read.table.sheet}, {one.read.table.area.name}: {SUMMARY}")
            for one in summaries
        ]
    return parts, pairs, list(dict.fromkeys(left_out))


def _is_summary(read: Understood) -> bool:
    """Tell whether a table of plants holds means or totals of treatments, which stand in another table one by one."""
    codes = (guess for guess in (read.guess("Tray"), read.guess("Plant")) if guess)
    if read.gives != "Plants" or any(folded(guess.header) not in TOTALS for guess in codes):
        return False
    weights = [guess.header for guess in read.guesses if guess.name in WEIGHTS]
    return any({"average", "total"} & set(meanings(text)) for text in weights)


def _reads(table: FoundTable, file: str) -> list[Part]:
    """Return a table as it is understood, once for each treatment that an upper header names over its columns."""
    if groups := groups_of(table):
        reason = "the upper header names it"
        return [
            Part(file, counted(understood(table, judged)), Telling(constant=name, reason=reason))
            for name, judged in groups.items()
        ]
    read = of_whole_trial(understood(table))
    return [Part(file, read if read.whole else counted(_turned_long(without_tare(with_counter(read)))))]


def _left_out(read: Understood, *, usable: bool) -> Iterator[LeftOut]:
    """Yield what is not taken of a table: its sheet, the header, and why."""
    sheet = read.table.sheet
    if not usable:
        yield sheet, "", f"{sheet}, {read.table.area.name}: {_why_not(read)}"
        return
    asked = {one.column for rivals in contested(read).values() for one in rivals}
    left = (guess for guess in read.guesses if not guess.name and guess.column not in asked)
    for one in (*read.refused, *left):
        yield sheet, one.header, f"{sheet}, {one.header}: {one.reason}"


def _turned_long(read: Understood) -> Understood:
    """Return a table that gives plants where its columns are one and the same thing for several treatments."""
    wide = wide_columns(read)
    of_plants = bool(wide) and places_in([guess.header for guess in wide]) == "Plant"
    if not wide or read.gives not in ("", "Plants", "Growth", *(["Trays"] if of_plants else [])):
        return read
    if _is_log_of_readings(read):
        return replace(read, gives="")
    gives = "Growth" if all(is_date(guess.header) for guess in wide) else "Plants"
    known = read if read.gives in ("Plants", "Growth") else understood(read.table, given=gives)
    return replace(known, gives=gives, pickings=())


def _is_log_of_readings(read: Understood) -> bool:
    """Tell whether a table has a row a day and a title of readings, as of a meter: no weights of plants."""
    days = [at for at in read.table.headers if profile_at(read.table, at).dated]
    said = " ".join((*read.table.above, read.table.sheet))
    title = {*meanings(said), *(LOGGED & set(tokens(said)))}
    by_day = any(len(profile_at(read.table, at).counts) == len(read.table.rows) > 2 for at in days)
    return by_day and bool(title & (READINGS | LOGGED)) and not title & GROWN


def _is_usable(read: Understood) -> bool:
    """Tell whether a table holds what its sheet cannot do without."""
    names = read.names
    needed = {"Solution": ("Tray",), "Meter": ("Read at", "Reading"), "Climate": ("Read at",), "Growth": ("Tray",)}
    if wide_columns(read) or read.whole:
        return True
    return all(name in names for name in needed.get(read.gives, ()))


def _why_not(read: Understood) -> str:
    if read.why_not:
        return read.why_not
    if not read.gives and _is_log_of_readings(read):
        return "readings by day, whose headers say no unit such as kWh, °C or L"
    if not read.gives:
        return "a table whose headers and values fit nothing that a report needs"
    if read.gives == "Growth" and any(dimension(guess.unit) == "mass" for guess in read.guesses):
        return "weights on several days; where they are pickings of the same plants, add them up first, one row a plant"
    return f"a table of {read.gives}, which lacks what such a table must have, as a column that names the tray"


def _file_name(part: Part, files: Mapping[str, Workbook]) -> str:
    return PurePath(part.file).stem if part.file else files[""].name


def _levels(parts: Sequence[Part]) -> tuple[str, ...]:
    """Return the treatments that the tables name, in the order of the file, but those that are still asked."""
    found = [level for part in parts for level in _levels_of(part)]
    first = {level.casefold(): level for level in reversed(found)}
    return tuple(first[key] for key in dict.fromkeys(map(str.casefold, found)))


def _levels_of(part: Part) -> Iterable[str]:
    telling, read = part.telling, part.read
    if telling.constant or telling.named:
        return (telling.constant,) * bool(telling.constant)
    if telling.headers:
        if under := trays_under(read):
            return dict.fromkeys(under.values())
        headers = [level_and_unit(guess.header)[0] for guess in wide_columns(read)]
        return () if are_codes(headers) else told_from_totals(headers).values() or headers
    if telling.sections:
        return [text for _, text in read.table.sections]
    if telling.codes:
        return () if telling.letters else telling.codes.values()
    return _levels_in_column(part)


def _levels_in_column(part: Part) -> Iterable[str]:
    telling, read = part.telling, part.read
    guess = telling.guess if telling.sure else None
    if read.gives == "Trays":
        guess = read.guess("Treatment")
    return _as_shown(read.table, guess.column) if guess else ()


def _as_shown(table: FoundTable, column: int) -> Iterable[str]:
    """Return the different codes of a column as the sheet shows them: 0.25 as 25%."""
    formats = {table.raw.formats.get((row, column), "") for row in table.rows}
    percent = next((one for one in formats if "%" in one), "") if len(formats) == 1 else ""
    held = profile_at(table, column).values
    return dict.fromkeys(code(value, percent) if percent else one_line(value) for value in held)


# --- words in the place of numbers


def _in_numbers(parts: Sequence[Part]) -> Iterator[tuple[str, str]]:
    """Yield each word that stands among the numbers of plants, with the column's name."""
    for part in parts:
        columns = (
            [guess for guess in part.read.guesses if guess.name] if part.read.gives in ("Plants", "Growth") else []
        )
        columns = list(dict.fromkeys((*columns, *wide_columns(part.read))))
        for guess in columns:
            values = part.read.table.values(guess.column)
            if guess.name in (*CODED, "Note", "Date", "Harvested on") or not Profile.of(values).numeric:
                continue
            for value in values:
                if not blank(value) and not is_number(value) and not is_date(value):
                    yield one_line(value), guess.name


def _missing(parts: Sequence[Part]) -> tuple[str, ...]:
    plain = {word.casefold() for word in MISSING if any(sign.isalpha() for sign in word) and word != "x"}
    found = (word for word, _ in _in_numbers(parts) if word.casefold() in plain)
    return tuple(dict.fromkeys(found))


def _lost(parts: Sequence[Part]) -> tuple[str, ...]:
    statuses = (one for part in parts for one in part.read.profile("Status").counts)
    found = [word for word, _ in _in_numbers(parts)] + list(statuses)
    return tuple(dict.fromkeys(word for word in found if folded(word) in LOST))
