"""The mapping of each table that is understood, and the reasons for it."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby, pairwise
from math import fsum, isclose
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.adopt.columns import ASKED, OF_TRAYS, column_called
from reportgen.adopt.grid import one_line
from reportgen.adopt.mapping import UNKNOWN, Source, TableMapping, Wide
from reportgen.adopt.matching import (
    dimension,
    event_in,
    is_dose,
    is_word_too,
    level_and_unit,
    meanings,
    roles_of,
    split_unit,
    unit_fits,
    unit_of,
)
from reportgen.adopt.parts import TO_ONE_PLACE, WEIGHTS, Part
from reportgen.adopt.rivals import with_counter, with_rivals
from reportgen.adopt.roles import CLOCK, Guess, Profile, Understood, event_of, profile_at, status_in
from reportgen.adopt.several_days import DAY, day_column
from reportgen.adopt.tables import FoundTable, Pairs, number_in
from reportgen.adopt.treatments import (
    Telling,
    key_of,
    level_in,
    prefixes_of,
    split_headers,
    told_from_totals,
    trays_under,
)
from reportgen.adopt.wide import places_in, wide_columns
from reportgen.adopt.words import LOST, TOTALS
from reportgen.workbook.headers import folded, header
from reportgen.workbook.raw import Value, Workbook
from reportgen.workbook.values import blank

NUMBERED: Final = re.compile(r"[^\W\d_]{0,3}[ ._-]?\d{1,3}|[A-Z]")  # T1, 3, B: the code of a tray or a treatment

Made = tuple[TableMapping, Part, str]


def mappings(
    part: Part, levels: Sequence[str], files: Mapping[str, Workbook], repeated: bool, shared: set[str]
) -> Iterator[Made]:
    """Yield the mappings of a table: one, or one for each treatment or event that its headers name."""
    read = part.read
    base = _base(part, files)
    if part.joined:
        yield _bare(base), part, f"{_reason(read, part.telling)}\njoined to the fresh weights of the same plants"
        return
    if part.day:
        yield replace(_bare(base), constants={"Date": part.day}), part, _reason(read, part.telling)
        return
    if read.whole:
        yield from _of_whole_trial(base, part, levels)
        return
    wide = wide_columns(read) if read.gives in ("Plants", "Growth") else ()
    if wide:
        base = _with_treatment(base, part) if places_in([guess.header for guess in wide]) else base
        yield _with_constant(_wide(base, part, wide), part), part, _reason(read, part.telling)
        return
    if read.gives == "Solution":
        yield from _by_event(base, part)
        return
    if read.gives in TO_ONE_PLACE:
        yield from _by_level(base, part, levels)
        return
    mapping = with_rivals(_with_treatment(base, part), read, _source)
    if read.gives == "Plants" and "Tray" not in {**mapping.columns, **mapping.constants} and repeated:
        mapping = replace(mapping, columns={name: one for name, one in mapping.columns.items() if name != "Plant"})
    yield _on_days(_apart(mapping, part, shared), read), part, _reason(read, part.telling)


def _on_days(mapping: TableMapping, read: Understood) -> TableMapping:
    """Return a table of plants that stand on several days as one of which it is open what these are."""
    day = day_column(read)
    if not day:
        return mapping
    return replace(mapping, days=UNKNOWN, columns={**mapping.columns, DAY: Source(read.called(day))})


def _bare(base: TableMapping) -> TableMapping:
    """Return a table of further measurements of plants whose fresh weights, trays and treatments stand elsewhere."""
    kept = {name: one for name, one in base.columns.items() if name not in OF_TRAYS}
    return replace(base, columns=kept)


def ids_repeat(parts: Sequence[Part]) -> bool:
    """Tell whether plants of different rows have one number, as where each treatment counts from 1."""
    found = Counter[str]()
    for part in parts:
        guess = part.read.guess("Plant") if part.read.gives == "Plants" and not part.joined else None
        found += Counter(one_line(value) for value in part.read.table.values(guess.column)) if guess else Counter()
    return any(count > 1 for count in found.values())


def _base(part: Part, files: Mapping[str, Workbook]) -> TableMapping:
    table, clock = part.read.table, part.read.guess(CLOCK)
    one_table = sum(other is table.raw for book in files.values() for other in book.sheets) == 1
    whole = table.area.top <= (table.header or (1,))[0] and one_table and _spans_sheet(table)
    return TableMapping(
        sheet=table.sheet,
        gives=part.read.gives,
        header_row=table.header_row,
        file=part.file,
        range="" if whole else _range(table),
        columns=dict(_columns(part.read)),
        fill_down=tuple(_fill_down(part.read)),
        exclude_rows=tuple(sorted((*table.totals, *table.skipped))),
        time=clock.header if clock else "",
    )


def _columns(read: Understood) -> Iterator[tuple[str, Source]]:
    """Yield each column with its source; that of a weight is UNKNOWN where several pickings stand side by side."""
    for one in read.guesses:
        source = _source(read, one)
        if one in read.pickings and one.name in WEIGHTS:
            blanks = any(blank(value) for part in read.pickings for value in read.table.values(part.column))
            yield one.name, replace(source, header=UNKNOWN, codes={"": UNKNOWN} if blanks else {})
            yield split_unit(one.header)[0], replace(source, unit=source.unit.replace(UNKNOWN, ""))
        elif one.name not in ("", CLOCK):
            yield one.name, source


def _spans_sheet(table: FoundTable) -> bool:
    width = max(map(len, table.raw.rows))
    return table.area.bottom == len(table.raw.rows) and table.area.left == 1 and table.area.right == width


def _range(table: FoundTable) -> str:
    last = max((*table.rows, *table.totals, *(table.skipped or (0,))), default=table.area.bottom)
    return replace(table.area, top=(table.header or (table.area.top,))[0], bottom=last).name


def _source(read: Understood, guess: Guess) -> Source:
    """Return where a column comes from; its unit is said where the header does not have it in brackets."""
    text = read.called(guess)
    unit = "" if header(guess.header, 1, 1).unit == guess.unit and text == guess.header else guess.unit
    values = read.table.values(guess.column)
    asked = guess.name in (*WEIGHTS, *ASKED) and not guess.unit and not _is_trait(read, guess)
    if asked and not all(number_in(value) for value in values if Profile.of((value,)).numbers):
        unit = UNKNOWN
    return Source(text, unit, _codes(read, guess))


def _is_trait(read: Understood, guess: Guess) -> bool:
    """Tell whether a column is a measurement of the owner's own that is named like one of another sheet."""
    return guess.name not in WEIGHTS and column_called(read.gives, guess.name) is None


def _codes(read: Understood, guess: Guess) -> Mapping[str, str]:
    counts = profile_at(read.table, guess.column).counts
    if guess.name == "Event":
        known = {text: event_of(text) for text in counts}
        return {text: event or UNKNOWN for text, event in known.items() if text != event}
    if guess.name == "Status":
        known = {text: status_in(guess.header, text) for text in counts if folded(text) not in LOST}
        return {text: status for text, status in known.items() if status and text != status}
    return {}


def _fill_down(read: Understood) -> Iterator[str]:
    """Yield the headers of labels that stand in the first row of their group only."""
    merged = {cells.split(":")[0].rstrip("0123456789") for cells in read.table.raw.merged}
    # A day stands in its first row where the time of day has a column of its own; a moment never goes on.
    days = ("Date", "Read at") if read.guess(CLOCK) else ("Date",)
    for guess in read.guesses:
        values = read.table.values(guess.column)
        if guess.name not in ("Tray", "Treatment", "Block", "Position", "Meter", *days) or not values:
            continue
        gaps = sum(map(blank, values))
        whole = get_column_letter(guess.column) in merged or not _are_dittos(values)
        if gaps * 5 >= len(values) and not blank(values[0]) and not whole:
            yield guess.header


def _are_dittos(values: Sequence[Value]) -> bool:
    """Tell whether each gap follows a label that stands once: below one that is repeated, a blank is another group."""
    runs = [(label, len(list(run))) for label, run in groupby(map(one_line, values))]
    return all(label or above[1] == 1 for above, (label, _) in pairwise(runs))


def _with_treatment(base: TableMapping, part: Part) -> TableMapping:
    """Return a mapping with the treatment as it is told, UNKNOWN where it is not."""
    telling, columns = part.telling, dict(base.columns)
    if part.read.gives != "Plants":
        return base
    is_open = bool(telling.named or telling.rivals or not telling.sure)
    by_section = telling.sections and not (telling.constant or is_open)
    if telling.constant or is_open or by_section:
        columns.pop("Treatment", None)
    constants = {"Treatment": telling.constant} if telling.constant else {}
    if telling.guess and not (is_open or telling.constant or by_section):
        codes = dict.fromkeys(telling.codes or {}, UNKNOWN) if telling.letters else telling.codes or {}
        columns["Treatment"] = Source(telling.guess.header, "", codes)
        if telling.codes and telling.guess.name == "Treatment" and prefixes_of(list(telling.codes)):
            columns.setdefault("Tray", Source(telling.guess.header))
    elif not (telling.constant or by_section):
        constants = {"Treatment": UNKNOWN}
    constants |= {"Tray": telling.tray} if telling.tray and "Tray" not in columns else {}
    return replace(base, columns=columns, constants=constants, sections="Treatment" if by_section else "")


def _apart(mapping: TableMapping, part: Part, shared: set[str]) -> TableMapping:
    """Return a table of one treatment whose tray codes say which treatment they are of, since others have them too."""
    if "Tray" not in mapping.columns or "Treatment" not in mapping.constants:
        return mapping
    level = mapping.constants["Treatment"]
    codes = {text: f"{level}-{text}" for text in part.read.profile("Tray").counts if text in shared}
    return replace(mapping, columns={**mapping.columns, "Tray": replace(mapping.columns["Tray"], codes=codes)})


def shared_trays(parts: Sequence[Part]) -> set[str]:
    """Return the codes of trays that stand in several tables of one treatment each."""
    tables = [part for part in parts if part.read.gives == "Plants" and part.telling.constant]
    found = {(text, part.telling.constant) for part in tables for text in part.read.profile("Tray").counts}
    counted = Counter(text for text, _ in found)
    return {text for text, count in counted.items() if count > 1}


def trays_apart(mappings: Sequence[TableMapping]) -> tuple[TableMapping, ...]:
    """Return wide tables whose headers are trays with the treatment before them, where tables of several share some."""
    told = [(text, _level(one)) for one in mappings if _level(one) and one.wide for text in one.wide.headers]
    shared = {text for text, count in Counter(text for text, _ in set(told)).items() if count > 1}
    return tuple(
        replace(one, wide=replace(one.wide, prefix=f"{_level(one)}-"))
        if one.wide and _level(one) and shared.intersection(one.wide.headers)
        else one
        for one in mappings
    )


def _level(mapping: TableMapping) -> str:
    """Return the treatment of a wide table of trays that is of one treatment, empty for any other table."""
    of_trays = mapping.wide is not None and mapping.wide.names == "Tray"
    level = mapping.constants.get("Treatment", "") if of_trays else ""
    return "" if level == UNKNOWN else level


def _wide(base: TableMapping, part: Part, wide: Sequence[Guess]) -> TableMapping:
    """Return the mapping of a table with a column for each treatment or day."""
    headers = tuple(guess.header for guess in wide)
    names = "Date" if part.read.gives == "Growth" else places_in(headers) or "Treatment"
    said = " ".join((*part.read.table.above, part.read.table.sheet))
    values = "Height" if names == "Date" else _measure(said)
    kind = "length" if values == "Height" else "mass"
    units = {guess.unit for guess in wide if guess.unit and not is_dose(guess.header)} or {
        unit for word in said.split() if (unit := _unit_in(word, kind))
    }
    unit = next(iter(units)) if len(units) == 1 else UNKNOWN
    kept = {name: source for name, source in base.columns.items() if source.header not in headers}
    if names == "Treatment":
        kept = {name: source for name, source in kept.items() if name not in ("Plant", "Treatment", "Tray")}
    kept.pop(names, None)
    codes = told_from_totals([level_and_unit(text)[0] for text in headers]) if names == "Treatment" else {}
    return replace(base, columns=kept, treatment=codes, wide=Wide(names, values, headers, unit))


def _unit_in(word: str, kind: str) -> str:
    """Return the unit that a word of a title is: in brackets, or one that is no other word, such as `in`."""
    bare = word.strip("()[],;:")
    is_plain = word[:1] in ("(", "[") or (bare.islower() and not is_word_too(bare))
    return unit_of(bare) if is_plain and dimension(bare) == kind else ""


def are_codes(headers: Sequence[str]) -> bool:
    """Tell whether headers are codes such as T1, 3 or warm 2, which may as well be those of trays."""
    return all(NUMBERED.fullmatch(header.strip()) for header in headers) or bool(prefixes_of(headers))


def with_trays(mapping: TableMapping, read: Understood, parts: Sequence[Part], pairs: Sequence[Pairs]) -> TableMapping:
    """Return a wide table whose headers are codes as one of trays, where a list of trays or a key has them all.

    So it is too where upper headers stand over the trays of each treatment.
    """
    wide = mapping.wide
    if not wide or wide.names != "Treatment":
        return mapping
    bare = [level_and_unit(text)[0] for text in wide.headers]
    known = {code for part in parts if part.read.gives == "Trays" for code in part.read.profile("Tray").counts}
    if known.issuperset(bare):
        return replace(mapping, wide=replace(wide, names="Tray"))
    if key := key_of(bare, pairs) or trays_under(read):
        return replace(mapping, wide=replace(wide, names="Tray"), treatment=key)
    return replace(mapping, wide=replace(wide, names=UNKNOWN)) if are_codes(bare) else mapping


def _with_constant(mapping: TableMapping, part: Part) -> TableMapping:
    """Return a wide mapping of days with the treatment that the sheet or file names."""
    told_once = part.telling.constant and part.read.gives == "Plants"
    return replace(mapping, constants={"Treatment": part.telling.constant}) if told_once else mapping


def _measure(text: str) -> str:
    known = meanings(text)
    if "height" in known:
        return "Height"
    if "dry" in known:
        return "Dry weight"
    return "Fresh weight" if "fresh" in known else UNKNOWN


def _by_event(base: TableMapping, part: Part) -> Iterator[Made]:
    """Yield a mapping of solution for each column of volume, where the headers tell what was done."""
    read = part.read
    reason = _reason(read, part.telling)
    if "Event" in base.columns and "Volume" in base.columns:
        yield base, part, reason
        return
    known = _without_worked_out([(guess, event_in(guess.header)) for guess in _volumes(read)])
    if not known:
        reading = {"Event": "sample", "Volume": "0"}
        yield replace(base, constants=reading), part, f"{reason}\nreadings of the solution; none was taken out"
        return
    shared = {name: one for name, one in base.columns.items() if name != "Volume"}
    shared = {name: one for name, one in shared.items() if one.header not in [guess.header for guess, _ in known]}
    for guess, event in known:
        source = _source(read, replace(guess, name="Volume"))
        constants = {} if "Event" in base.columns else {"Event": event or UNKNOWN}
        yield replace(base, columns={**shared, "Volume": source}, constants=constants), part, reason


def _without_worked_out(known: Sequence[tuple[Guess, str]]) -> list[tuple[Guess, str]]:
    """Return columns of volumes without what was used up, where what went in and what was left stand beside it."""
    whole = {"fill", "remaining"} <= {event for _, event in known}
    return [(one, event) for one, event in known if event or not (whole and "per interval" in meanings(one.header))]


def _volumes(read: Understood) -> list[Guess]:
    found = []
    for guess in read.guesses:
        numeric = profile_at(read.table, guess.column).numeric
        is_volume = guess.name == "Volume" or (
            not guess.name and (dimension(guess.unit) == "volume" or event_in(guess.header))
        )
        if numeric and is_volume:
            found.append(guess)
    return found


def _of_whole_trial(base: TableMapping, part: Part, levels: Sequence[str]) -> Iterator[Made]:
    """Yield a mapping for each column that is of the whole trial; whether it is that stays open."""
    read = part.read
    for one in read.whole:
        name, day = ("Reading", "Read at") if read.gives == "Meter" else ("Volume", "Date")
        others = tuple(guess for guess in read.guesses if guess.name in ("Tray", "Treatment", "Meter", "Note"))
        alone = replace(read, guesses=(*others, replace(one.guess, name=name)))
        own = replace(base, columns={guess.name: _source(alone, guess) for guess in alone.guesses}, time="")
        mapping = _in_one_place(own, replace(part, read=alone), levels) if read.gives == "Meter" else own
        event = {"Event": one.event} if one.event else {}
        reason = f"{_reason(alone, part.telling)}\nit stands once for each row, without a day"
        yield (
            replace(mapping, constants={**mapping.constants, **event, day: UNKNOWN}),
            replace(part, read=alone),
            reason,
        )


def _by_level(base: TableMapping, part: Part, levels: Sequence[str]) -> Iterator[Made]:
    """Yield the mapping of a meter, climate or light table, one for each treatment that its headers name."""
    read, reason = part.read, _reason(part.read, part.telling)
    named = list(split_headers([one for one in read.guesses if profile_at(read.table, one.column).numeric], levels))
    counted = Counter(level for level, _ in named)
    own = read.guess("Treatment") not in (None, *(guess for _, guess in named))
    others = () if own or not counted else _other_meters(read, [guess for _, guess in named])
    if own or len(counted) + len(others) < 2:
        yield with_rivals(_in_one_place(base, part, levels), read, _source), part, reason
        return
    when = {name: one for name, one in base.columns.items() if name in ("Read at", "Date")}
    for level in counted:
        one = _of_level(read, [guess for other, guess in named if other == level])
        measured = {guess.name: _source(one, guess) for guess in one.guesses if guess.name in _MEASURED[read.gives]}
        constants = {"Treatment": level, **({"Meter": level} if read.gives == "Meter" else {})}
        mapping = with_rivals(replace(base, columns={**when, **measured}, constants=constants), one, _source)
        yield mapping, replace(part, read=one), f"{reason}\nthe headers name the treatments"
    for guess in others:
        columns = {**when, "Reading": _source(read, replace(guess, name="Reading"))}
        constants = {"Treatment": UNKNOWN, "Meter": read.called(guess)}
        yield replace(base, columns=columns, constants=constants), part, f"{reason}\nits header names no treatment"


def _of_level(read: Understood, guesses: Sequence[Guess]) -> Understood:
    """Return a table as it is of one treatment, whose headers name it; several may be one and the same thing."""
    rivals: dict[str, list[Guess]] = {}
    for guess in guesses:
        name = guess.name if guess.name in _MEASURED[read.gives] else _alike(read, guess)
        if name:
            rivals.setdefault(name, []).append(replace(guess, name=name))
    when = [guess for guess in read.guesses if guess.name in ("Read at", "Date", CLOCK)]
    others = (replace(guess, name="") for held in rivals.values() for guess in held[1:])
    known = (*when, *(held[0] for held in rivals.values()), *others)
    several = {name: tuple(held) for name, held in rivals.items() if len(held) > 1}
    return with_counter(replace(read, guesses=known, rivals=several))


def _other_meters(read: Understood, named: Sequence[Guess]) -> tuple[Guess, ...]:
    """Return the columns of energy beside those of treatments whose headers name none."""
    numeric = [one for one in read.guesses if one not in named and profile_at(read.table, one.column).numeric]
    units = [unit_of(split_unit(one.header)[1] or read.table.units.get(one.column, "")) for one in numeric]
    found = (replace(one, unit=unit) for one, unit in zip(numeric, units, strict=True) if dimension(unit) == "energy")
    return tuple(one for one in found if read.gives == "Meter" and not _adds_up(read, one, named))


def _adds_up(read: Understood, guess: Guess, named: Sequence[Guess]) -> bool:
    """Tell whether a column is the total of others: its header says so, or its numbers are their sums."""
    if folded(split_unit(guess.header)[0]) in TOTALS:
        return True
    columns = [read.table.values(one.column) for one in (guess, *named)]
    rows = [row for row in zip(*columns, strict=True) if all(isinstance(value, int | float) for value in row)]
    return len(rows) > 2 and len(named) > 1 and all(isclose(row[0], fsum(row[1:]), abs_tol=1e-6) for row in rows)


_MEASURED: Final[Mapping[str, tuple[str, ...]]] = {
    "Meter": ("Reading",),
    "Climate": ("Air temperature", "Relative humidity", "CO2"),
    "Light": ("PPFD",),
}


def _alike(read: Understood, guess: Guess) -> str:
    """Return which measured column a column is that lost its name to another of the same kind."""
    wanted = _MEASURED[read.gives]
    named = next((meant.role.name for meant in roles_of(guess.header) if meant.role.name in wanted), "")
    by_unit = next((name for name in wanted if unit_fits(name, guess.unit)), "")
    return named or by_unit or (wanted[0] if len(wanted) == 1 else "")


def _in_one_place(base: TableMapping, part: Part, levels: Sequence[str]) -> TableMapping:
    read = part.read
    constants: dict[str, str] = {}
    base = _with_meters_told(base, read, levels) if read.gives == "Meter" else base
    if "Treatment" not in base.columns:
        named = [level for level in levels if folded(level) in folded(f"{read.table.sheet} {part.file}")]
        constants["Treatment"] = max(named, key=len) if named else UNKNOWN
    if read.gives == "Meter" and "Meter" not in base.columns:
        constants["Meter"] = constants.get("Treatment", "").replace(UNKNOWN, "") or read.table.sheet
    columns = {name: one for name, one in base.columns.items() if name in (*_OF_ONE, *_MEASURED[read.gives])}
    return replace(base, columns=columns, constants=constants)


def _with_meters_told(base: TableMapping, read: Understood, levels: Sequence[str]) -> TableMapping:
    """Return a table of meters whose names tell the treatments, or whose treatments tell the meters."""
    meter, treatment = base.columns.get("Meter"), base.columns.get("Treatment")
    if treatment and not meter:
        return replace(base, columns={**base.columns, "Meter": Source(treatment.header)})
    told = {code: level_in(code, levels) for code in read.profile("Meter").counts} if meter and not treatment else {}
    if not meter or not all(told.values()) or len(set(told.values())) < 2:
        return base
    codes = {code: level for code, level in told.items() if code != level}
    return replace(base, columns={**base.columns, "Treatment": Source(meter.header, "", codes)})


_OF_ONE: Final = ("Treatment", "Read at", "Date", "Meter", "X", "Y", "Height", "Solution temperature", "Note")


def _reason(read: Understood, telling: Telling) -> str:
    """Return why a table is taken as it is, a line for each column."""
    told = {guess.name: f"{guess.reason}{_ditto(read, guess)}" for guess in read.guesses if guess.name}
    own = read.guess("Treatment")
    reason = f"{telling.reason}{_ditto(read, telling.guess)}" if telling.reason else told.get("Treatment", "")
    lines = [f"{name}: {why}" for name, why in told.items() if name != "Treatment"]
    lines += [f"Treatment: {reason}"] if telling.reason or own else []
    lines += [f"{one.header} is left out: {one.reason}" for one in read.refused]
    return "\n".join(lines)


def _ditto(read: Understood, guess: Guess | None) -> str:
    repeats = guess is not None and read.table.repeats(guess.column)
    return "; ditto marks stand for what is above them" if repeats else ""
