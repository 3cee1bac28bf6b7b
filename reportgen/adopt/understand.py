"""Work out what the tables of some files are: the mapping, the reasons for it, and what must be asked."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from itertools import pairwise
from pathlib import PurePath
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.adopt.grid import one_line
from reportgen.adopt.mapping import UNKNOWN, Adoption, Source, TableMapping, Wide
from reportgen.adopt.matching import dimension, meanings, roles_of, split_unit, unit_of
from reportgen.adopt.noted import notes_in, with_noted_units
from reportgen.adopt.questions import (
    DEAD,
    LETTERS,
    MASS,
    ONE_BY_ONE,
    ROW_ALONE,
    UNMEASURED,
    Question,
    Understanding,
    answered,
    day_or_unknown,
    unanswered,
)
from reportgen.adopt.roles import Guess, Profile, Understood, event_of, middle, span, status_of, understood
from reportgen.adopt.tables import FoundTable, Pairs, is_date, is_number, tables_of
from reportgen.adopt.taken import SHORT_YEAR
from reportgen.adopt.treatments import (
    Telling,
    control_among,
    groups_of,
    key_tables,
    prefixes_of,
    split_headers,
    told,
    wide_columns,
)
from reportgen.adopt.words import FACTS, LOST, MISSING
from reportgen.workbook.dates import DAY_OR_MONTH, TextDates
from reportgen.workbook.headers import folded, header
from reportgen.workbook.raw import Value, Workbook
from reportgen.workbook.values import blank

__all__ = ["Question", "Understanding", "answered", "unanswered", "understand"]

WEIGHTS: Final = ("Fresh weight", "Dry weight", "Root weight", "Weight")
CODED: Final = ("Tray", "Plant", "Treatment", "Block", "Position", "Meter")
TO_ONE_PLACE: Final = ("Meter", "Climate", "Light")


LeftOut = tuple[str, str, str]  # a sheet, a header there, what is said of it


@dataclass(frozen=True)
class _Part:
    """A table with its file's name (empty: the main one), and how its treatment is told."""

    file: str
    read: Understood
    telling: Telling = field(default_factory=Telling)


def understand(files: Mapping[str, Workbook]) -> Understanding:
    """Return what the tables of some files are; the main one goes by the empty name, the others by theirs."""
    parts, pairs, left_out = _read(files)
    plants = [part for part in parts if part.read.gives == "Plants" and not part.telling.constant]
    ways = told([(_file_name(part, files), part.read) for part in plants], pairs)
    telling = dict(zip(map(id, plants), ways, strict=True))
    parts = [replace(part, telling=telling.get(id(part), part.telling)) for part in parts]
    levels = _levels(parts)
    repeated, shared = _ids_repeat(parts), _shared_trays(parts)
    made = [one for part in parts for one in _mappings(part, levels, files, repeated, shared)]
    adoption = Adoption(
        tables=tuple(mapping for mapping, _, _ in made),
        missing=_missing(parts),
        lost=_lost(parts),
        trial=_trial(files, parts, pairs),
    )
    reasons = {f"table.{at}": reason for at, (_, _, reason) in enumerate(made)}
    asker = _Asker(adoption, tuple(part for _, part, _ in made), levels)
    adoption, questions = asker.asked()
    used = {(table.sheet, source.header) for table in adoption.tables for source in table.columns.values()}
    used |= {(table.sheet, text) for table in adoption.tables if table.wide for text in table.wide.headers}
    said = tuple(text for sheet, header, text in left_out if (sheet, header) not in used)
    return Understanding(adoption, reasons, questions, said, levels)


def _read(files: Mapping[str, Workbook]) -> tuple[list[_Part], list[Pairs], list[LeftOut]]:
    """Return the tables that give something, the keys and facts, and what is left out with the reason."""
    parts: list[_Part] = []
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
                if key and not reads[0].read.gives:
                    pairs.append(key)
                    continue
                usable = [part for part in reads if part.read.gives and _is_usable(part.read)]
                parts += usable
                left_out += [text for part in reads for text in _left_out(part.read, usable=part in usable)]
    return parts, pairs, list(dict.fromkeys(left_out))


def _reads(table: FoundTable, file: str) -> list[_Part]:
    """Return a table as it is understood, once for each treatment that an upper header names over its columns."""
    if groups := groups_of(table):
        reason = "the upper header names it"
        return [
            _Part(file, understood(table, judged), Telling(constant=name, reason=reason))
            for name, judged in groups.items()
        ]
    return [_Part(file, _turned_long(understood(table)))]


def _left_out(read: Understood, *, usable: bool) -> Iterator[LeftOut]:
    """Yield what is not taken of a table: its sheet, the header, and why."""
    sheet = read.table.sheet
    if not usable:
        yield sheet, "", f"{sheet}, {read.table.area.name}: {_why_not(read)}"
        return
    for one in (*read.refused, *(guess for guess in read.guesses if not guess.name)):
        yield sheet, one.header, f"{sheet}, {one.header}: {one.reason}"


def _turned_long(read: Understood) -> Understood:
    """Return a table that gives plants where its columns are one and the same thing for several treatments."""
    wide = wide_columns(read)
    if not wide or read.gives not in ("", "Plants", "Growth"):
        return read
    dated = all(is_date(guess.header) for guess in wide)
    return replace(read, gives="Growth" if dated else "Plants")


def _is_usable(read: Understood) -> bool:
    """Tell whether a table holds what its sheet cannot do without."""
    names = read.names
    needed = {"Solution": ("Tray",), "Meter": ("Read at", "Reading"), "Climate": ("Read at",), "Growth": ("Tray",)}
    if wide_columns(read):
        return True
    return all(name in names for name in needed.get(read.gives, ()))


def _why_not(read: Understood) -> str:
    if not read.gives:
        return "a table whose headers and values fit nothing that a report needs"
    return f"a table of {read.gives}, which lacks what such a table must have, as a column that names the tray"


def _file_name(part: _Part, files: Mapping[str, Workbook]) -> str:
    return PurePath(part.file).stem if part.file else files[""].name


def _levels(parts: Sequence[_Part]) -> tuple[str, ...]:
    """Return the treatments that the tables name, in the order of the file, but those that are still asked."""
    return tuple(dict.fromkeys(level for part in parts for level in _levels_of(part)))


def _levels_of(part: _Part) -> Iterable[str]:
    telling, read = part.telling, part.read
    if telling.constant:
        return (telling.constant,)
    if telling.headers:
        return [split_unit(guess.header)[0] for guess in wide_columns(read)]
    if telling.sections:
        return [text for _, text in read.table.sections]
    if telling.codes:
        return () if telling.letters else telling.codes.values()
    return _levels_in_column(part)


def _levels_in_column(part: _Part) -> Iterable[str]:
    telling, read = part.telling, part.read
    guess = telling.guess if telling.sure else None
    if read.gives == "Trays":
        guess = read.guess("Treatment")
    return Profile.of(read.table.values(guess.column)).counts if guess else ()


# --- mappings

Made = tuple[TableMapping, _Part, str]


def _mappings(
    part: _Part, levels: Sequence[str], files: Mapping[str, Workbook], repeated: bool, shared: set[str]
) -> Iterator[Made]:
    """Yield the mappings of a table: one, or one for each treatment or event that its headers name."""
    read = part.read
    base = _base(part, files)
    if wide := wide_columns(read):
        yield _with_constant(_wide(base, part, wide), part), part, _reason(read, part.telling)
        return
    if read.gives == "Solution":
        yield from _by_event(base, part)
        return
    if read.gives in TO_ONE_PLACE:
        yield from _by_level(base, part, levels)
        return
    mapping = _with_treatment(base, part)
    if read.gives == "Plants" and "Tray" not in mapping.columns and repeated:
        mapping = replace(mapping, columns={name: one for name, one in mapping.columns.items() if name != "Plant"})
    yield _apart(mapping, part, shared), part, _reason(read, part.telling)


def _ids_repeat(parts: Sequence[_Part]) -> bool:
    """Tell whether plants of different rows have one number, as where each treatment counts from 1."""
    found = Counter[str]()
    for part in parts:
        guess = part.read.guess("Plant") if part.read.gives == "Plants" else None
        found += Counter(one_line(value) for value in part.read.table.values(guess.column)) if guess else Counter()
    return any(count > 1 for count in found.values())


def _base(part: _Part, files: Mapping[str, Workbook]) -> TableMapping:
    table = part.read.table
    one_table = sum(other is table.raw for book in files.values() for other in book.sheets) == 1
    whole = table.area.top <= (table.header or (1,))[0] and one_table and _spans_sheet(table)
    return TableMapping(
        sheet=table.sheet,
        gives=part.read.gives,
        header_row=table.header_row,
        file=part.file,
        range="" if whole else _range(table),
        columns={guess.name: _source(part.read, guess) for guess in part.read.guesses if guess.name},
        fill_down=tuple(_fill_down(part.read)),
        exclude_rows=tuple(sorted((*table.totals, *table.skipped))),
    )


def _spans_sheet(table: FoundTable) -> bool:
    width = max(map(len, table.raw.rows))
    return table.area.bottom == len(table.raw.rows) and table.area.left == 1 and table.area.right == width


def _range(table: FoundTable) -> str:
    last = max((*table.rows, *table.totals, *(table.skipped or (0,))), default=table.area.bottom)
    return replace(table.area, top=(table.header or (table.area.top,))[0], bottom=last).name


def _source(read: Understood, guess: Guess) -> Source:
    """Return where a column comes from; its unit is said where the header does not have it in brackets."""
    same = sum(text == guess.header for text in read.table.headers.values())
    text = guess.header if same == 1 else f"column {get_column_letter(guess.column)}"
    unit = "" if header(guess.header, 1, 1).unit == guess.unit and same == 1 else guess.unit
    if guess.name in (*WEIGHTS, "EC") and not guess.unit and not _is_trait(read, guess):
        unit = UNKNOWN
    return Source(text, unit, _codes(read, guess))


def _is_trait(read: Understood, guess: Guess) -> bool:
    return read.gives != "Solution" and guess.name == "EC"


def _codes(read: Understood, guess: Guess) -> Mapping[str, str]:
    counts = Profile.of(read.table.values(guess.column)).counts
    if guess.name == "Event":
        known = {text: event_of(text) for text in counts}
        return {text: event or UNKNOWN for text, event in known.items() if text != event}
    if guess.name == "Status":
        known = {text: status_of(text) for text in counts if folded(text) not in LOST}
        return {text: status for text, status in known.items() if status and text != status}
    return {}


def _fill_down(read: Understood) -> Iterator[str]:
    """Yield the headers of labels that stand in the first row of their group only."""
    merged = {cells.split(":")[0].rstrip("0123456789") for cells in read.table.raw.merged}
    for guess in read.guesses:
        values = read.table.values(guess.column)
        if guess.name not in ("Tray", "Treatment", "Block", "Position", "Meter", "Date") or not values:
            continue
        gaps = sum(map(blank, values))
        if gaps * 5 >= len(values) and not blank(values[0]) and get_column_letter(guess.column) not in merged:
            yield guess.header


def _with_treatment(base: TableMapping, part: _Part) -> TableMapping:
    """Return a mapping with the treatment as it is told, UNKNOWN where it is not."""
    telling, columns = part.telling, dict(base.columns)
    if part.read.gives != "Plants":
        return base
    if telling.constant:
        columns.pop("Treatment", None)
        return replace(base, columns=columns, constants={"Treatment": telling.constant})
    if telling.sections:
        columns.pop("Treatment", None)
        return replace(base, columns=columns, sections="Treatment")
    if telling.guess and not telling.sure:
        columns.pop("Treatment", None)
        return replace(base, columns=columns, constants={"Treatment": UNKNOWN})
    if telling.guess:
        codes = dict.fromkeys(telling.codes or {}, UNKNOWN) if telling.letters else telling.codes or {}
        columns["Treatment"] = Source(telling.guess.header, "", codes)
        if telling.codes and telling.guess.name == "Treatment" and prefixes_of(list(telling.codes)):
            columns.setdefault("Tray", Source(telling.guess.header))
        return replace(base, columns=columns)
    return replace(base, constants={"Treatment": UNKNOWN})


def _apart(mapping: TableMapping, part: _Part, shared: set[str]) -> TableMapping:
    """Return a table of one treatment whose tray codes say which treatment they are of, since others have them too."""
    if "Tray" not in mapping.columns or "Treatment" not in mapping.constants:
        return mapping
    level = mapping.constants["Treatment"]
    codes = {text: f"{level}-{text}" for text in part.read.profile("Tray").counts if text in shared}
    return replace(mapping, columns={**mapping.columns, "Tray": replace(mapping.columns["Tray"], codes=codes)})


def _shared_trays(parts: Sequence[_Part]) -> set[str]:
    """Return the codes of trays that stand in several tables of one treatment each."""
    tables = [part for part in parts if part.read.gives == "Plants" and part.telling.constant]
    found = {(text, part.telling.constant) for part in tables for text in part.read.profile("Tray").counts}
    counted = Counter(text for text, _ in found)
    return {text for text, count in counted.items() if count > 1}


def _wide(base: TableMapping, part: _Part, wide: Sequence[Guess]) -> TableMapping:
    """Return the mapping of a table with a column for each treatment or day."""
    headers = tuple(guess.header for guess in wide)
    names = "Date" if part.read.gives == "Growth" else "Treatment"
    said = " ".join((*part.read.table.above, part.read.table.sheet))
    units = {guess.unit for guess in wide if guess.unit} or {
        unit for word in said.split() if (unit := _mass_unit(word))
    }
    values = "Height" if names == "Date" else _measure(said)
    unit = next(iter(units)) if len(units) == 1 else UNKNOWN if values != "Height" else ""
    kept = {name: source for name, source in base.columns.items() if source.header not in headers}
    if names == "Treatment":
        kept = {name: source for name, source in kept.items() if name not in ("Plant", "Treatment", "Tray")}
    return replace(base, columns=kept, wide=Wide(names, values, headers, unit))


def _mass_unit(word: str) -> str:
    bare = word.strip("()[],;:")
    return bare if dimension(bare) == "mass" else ""


def _with_constant(mapping: TableMapping, part: _Part) -> TableMapping:
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


def _by_event(base: TableMapping, part: _Part) -> Iterator[Made]:
    """Yield a mapping of solution for each column of volume, where the headers tell what was done."""
    read = part.read
    reason = _reason(read, part.telling)
    if "Event" in base.columns and "Volume" in base.columns:
        yield base, part, reason
        return
    known = [(guess, _event_in(guess.header)) for guess in _volumes(read)]
    if not known:
        reading = {"Event": "sample", "Volume": "0"}
        yield replace(base, constants=reading), part, f"{reason}\nreadings of the solution; none was taken out"
        return
    shared = {name: one for name, one in base.columns.items() if name not in ("Volume", "EC", "pH", "Temperature")}
    shared = {name: one for name, one in shared.items() if one.header not in [guess.header for guess, _ in known]}
    for at, (guess, event) in enumerate(known):
        columns = base.columns if at == 0 else shared
        source = _source(read, replace(guess, name="Volume"))
        constants = {} if "Event" in base.columns else {"Event": event or UNKNOWN}
        yield replace(base, columns={**columns, "Volume": source}, constants=constants), part, reason


def _volumes(read: Understood) -> list[Guess]:
    found = []
    for guess in read.guesses:
        numeric = Profile.of(read.table.values(guess.column)).numeric
        is_volume = guess.name == "Volume" or (
            not guess.name and (dimension(guess.unit) == "volume" or _event_in(guess.header))
        )
        if numeric and is_volume:
            found.append(guess)
    return found


def _event_in(text: str) -> str:
    known = meanings(text)
    for event in ("top-up", "drain", "remaining", "fill"):
        if event in known:
            return (
                "top-up" if event == "fill" and "start" not in known and "add" in " ".join(known["fill"][:1]) else event
            )
    return ""


def _by_level(base: TableMapping, part: _Part, levels: Sequence[str]) -> Iterator[Made]:
    """Yield the mapping of a meter, climate or light table, one for each treatment that its headers name."""
    read, reason = part.read, _reason(part.read, part.telling)
    own = read.guess("Treatment")
    named = list(
        split_headers([one for one in read.guesses if Profile.of(read.table.values(one.column)).numeric], levels)
    )
    counted = Counter(level for level, _ in named)
    if own or len(counted) < 2:
        yield _in_one_place(base, part, levels), part, reason
        return
    when = {name: one for name, one in base.columns.items() if name in ("Read at", "Date")}
    for level in counted:
        columns = dict(when)
        for guess in (guess for other, guess in named if other == level):
            name = guess.name if guess.name in _MEASURED[read.gives] else _alike(read, guess)
            if name:
                columns[name] = _source(read, replace(guess, name=name))
        constants = {"Treatment": level, **({"Meter": level} if read.gives == "Meter" else {})}
        yield replace(base, columns=columns, constants=constants), part, f"{reason}\nthe headers name the treatments"


_MEASURED: Final[Mapping[str, tuple[str, ...]]] = {
    "Meter": ("Reading",),
    "Climate": ("Air temperature", "Relative humidity", "CO2"),
    "Light": ("PPFD",),
}


def _alike(read: Understood, guess: Guess) -> str:
    """Return which measured column a column is that lost its name to another of the same kind."""
    wanted = _MEASURED[read.gives]
    named = next((meant.role.name for meant in roles_of(guess.header) if meant.role.name in wanted), "")
    return named or (wanted[0] if len(wanted) == 1 else "")


def _in_one_place(base: TableMapping, part: _Part, levels: Sequence[str]) -> TableMapping:
    read = part.read
    constants: dict[str, str] = {}
    if not read.guess("Treatment"):
        named = [level for level in levels if folded(level) in folded(f"{read.table.sheet} {part.file}")]
        constants["Treatment"] = max(named, key=len) if named else UNKNOWN
    if read.gives == "Meter" and not read.guess("Meter"):
        constants["Meter"] = constants.get("Treatment", "").replace(UNKNOWN, "") or read.table.sheet
    columns = {name: one for name, one in base.columns.items() if name in (*_OF_ONE, *_MEASURED[read.gives])}
    return replace(base, columns=columns, constants=constants)


_OF_ONE: Final = ("Treatment", "Read at", "Date", "Meter", "X", "Y", "Height", "Solution temperature", "Note")


def _reason(read: Understood, telling: Telling) -> str:
    """Return why a table is taken as it is, a line for each column."""
    lines = [f"{guess.name}: {guess.reason}" for guess in read.guesses if guess.name and guess.name != "Treatment"]
    lines += [f"Treatment: {telling.reason}"] if telling.reason else []
    guess = read.guess("Treatment")
    if guess and not telling.reason:
        lines.append(f"Treatment: {guess.reason}")
    lines += [f"{one.header} is left out: {one.reason}" for one in read.refused]
    return "\n".join(lines)


# --- the trial


def _trial(files: Mapping[str, Workbook], parts: Sequence[_Part], pairs: Sequence[Pairs]) -> Mapping[str, object]:
    """Return the fields of the trial: those that the file tells, UNKNOWN where its owner must."""
    told_there = dict(_facts(pairs))
    days = [day for part in parts for day in _days(part)]
    title = bare_title(files[""].name)
    return {
        "Title": told_there.get("Title", title),
        "Crop": told_there.get("Crop", UNKNOWN),
        **{name: told_there[name] for name in ("Cultivar", "Sown on") if name in told_there},
        "Started on": told_there.get("Started on", day_or_unknown(days, last=False) if len(set(days)) > 1 else UNKNOWN),
        "Harvested on": told_there.get("Harvested on", _harvest(parts) or day_or_unknown(days, last=True)),
        "Reference treatment": UNKNOWN,
        "Experimental unit": UNKNOWN,
    }


def bare_title(name: str) -> str:
    """Return a file's name as a title: its signs made spaces."""
    text = " ".join(name.replace("_", " ").replace("-", " ").split())
    return text[:1].upper() + text[1:] if text else name


def _facts(pairs: Sequence[Pairs]) -> Iterator[tuple[str, object]]:
    for one in pairs:
        for label, value in one.pairs:
            field_name = next((name for name, words in FACTS.items() if folded(label) in words.split()), "")
            is_day = field_name.endswith(" on")
            if field_name and is_day and isinstance(value, datetime):
                yield field_name, value.date()
            elif field_name and not is_day and not blank(value):
                yield field_name, one_line(value)


def _days(part: _Part) -> Iterator[date]:
    for name in ("Date", "Read at"):
        guess = part.read.guess(name)
        known = span(part.read.table.values(guess.column)) if guess else None
        yield from known or ()


def _harvest(parts: Sequence[_Part]) -> date | None:
    for part in parts:
        guess = part.read.guess("Harvested on")
        known = span(part.read.table.values(guess.column)) if guess else None
        if known:
            return known[1]
    return None


# --- words in the place of numbers


def _in_numbers(parts: Sequence[_Part]) -> Iterator[tuple[str, str]]:
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


def _missing(parts: Sequence[_Part]) -> tuple[str, ...]:
    plain = {word.casefold() for word in MISSING if any(sign.isalpha() for sign in word) and word != "x"}
    found = (word for word, _ in _in_numbers(parts) if word.casefold() in plain)
    return tuple(dict.fromkeys(found))


def _lost(parts: Sequence[_Part]) -> tuple[str, ...]:
    statuses = (one for part in parts for one in part.read.profile("Status").counts)
    found = [word for word, _ in _in_numbers(parts)] + list(statuses)
    return tuple(dict.fromkeys(word for word in found if folded(word) in LOST))


# --- questions


@dataclass
class _Asker:
    """Gathers what must be asked, and marks it in the mapping."""

    adoption: Adoption
    parts: tuple[_Part, ...]
    levels: tuple[str, ...]

    def asked(self) -> tuple[Adoption, tuple[Question, ...]]:
        """Return the mapping with UNKNOWN where a question is open, and the questions in their order."""
        found = [
            *self._treatment(),
            *self._letters(),
            *self._masses(),
            *self._units(),
            *self._per(),
            *self._independent(),
            *self._words(),
            *self._meters(),
            *self._places(),
            *self._dates(),
            *self._trial(),
        ]
        return self.adoption, tuple({question.key: question for question in found}.values())

    def _mark(self, at: int, **changes: object) -> None:
        tables = list(self.adoption.tables)
        tables[at] = replace(tables[at], **changes)  # type: ignore[arg-type]
        self.adoption = replace(self.adoption, tables=tuple(tables))

    def _plants(self) -> list[int]:
        return [at for at, table in enumerate(self.adoption.tables) if table.gives == "Plants"]

    def _rows(self, at: int, about: str = "") -> tuple[tuple[str, ...], ...]:
        return self.parts[at].read.table.first_rows(about=about)

    def _treatment(self) -> Iterator[Question]:
        open_ones = [at for at in self._plants() if self.adoption.tables[at].constants.get("Treatment") == UNKNOWN]
        if not open_ones or self._trays_tell():
            for at in open_ones:
                constants = {n: v for n, v in self.adoption.tables[at].constants.items() if n != "Treatment"}
                self._mark(at, constants=constants)
            return
        read = self.parts[open_ones[0]].read
        likely = [guess for guess in read.guesses if Profile.of(read.table.values(guess.column)).levels]
        default = self.parts[open_ones[0]].telling.guess
        yield Question(
            f"table.{open_ones[0]}.constants.Treatment",
            "treatment",
            "Which column tells the treatment of each row?",
            default.reason if default else "No header says so, and neither does a name of a sheet or a file.",
            tuple(guess.header for guess in likely or read.guesses),
            default.header if default else "",
            self._rows(open_ones[0]),
            tuple(open_ones),
            levels={guess.header: tuple(Profile.of(read.table.values(guess.column)).counts) for guess in likely},
        )

    def _letters(self) -> Iterator[Question]:
        """Ask whether the letters of codes are the treatments: they may as well be a cultivar or a shelf."""
        for at in self._plants():
            source = self.adoption.tables[at].columns.get("Treatment")
            if not source or UNKNOWN not in source.codes.values():
                continue
            if self._trays_tell():
                others = {n: one for n, one in self.adoption.tables[at].columns.items() if n != "Treatment"}
                self._mark(at, columns=others)
                continue
            letters = tuple(dict.fromkeys(prefixes_of(list(source.codes)).values()))
            yield Question(
                f"table.{at}.treatment",
                "letters",
                f'What do the codes under "{source.header}" tell of the treatment?',
                "Their letters may be the treatments, or something else; no key in the file says so.",
                (LETTERS, ONE_BY_ONE),
                "",
                self._rows(at, source.header),
                (at,),
                levels={LETTERS: letters, ONE_BY_ONE: ()},
            )

    def _trays_tell(self) -> bool:
        return any(table.gives == "Trays" and "Treatment" in table.columns for table in self.adoption.tables)

    def _masses(self) -> Iterator[Question]:
        """Ask whether a weight is fresh or dry where its header does not say."""
        open_ones = []
        for at in self._plants():
            table = self.adoption.tables[at]
            if "Weight" in table.columns:
                named = {UNKNOWN if name == "Weight" else name: one for name, one in table.columns.items()}
                self._mark(at, columns=named)
                open_ones.append(at)
            elif table.wide and table.wide.values == UNKNOWN:
                open_ones.append(at)
        if open_ones:
            first = self.adoption.tables[open_ones[0]]
            headers = (
                [first.columns[UNKNOWN].header]
                if UNKNOWN in first.columns
                else list(first.wide.headers if first.wide else ())
            )
            key = (
                f"table.{open_ones[0]}.columns.{UNKNOWN}"
                if UNKNOWN in first.columns
                else f"table.{open_ones[0]}.wide.values"
            )
            yield Question(
                key,
                "mass",
                f"Is {_listed(headers)} the fresh or the dry weight?",
                "The header does not say, and water is most of a fresh plant.",
                ("Fresh weight", "Dry weight"),
                "",
                self._rows(open_ones[0], headers[0]),
                tuple(open_ones),
            )

    def _units(self) -> Iterator[Question]:
        for name in (*WEIGHTS[:3], UNKNOWN, "EC"):
            tables = tuple(at for at, table in enumerate(self.adoption.tables) if _unit_is_open(table, name))
            if not tables:
                continue
            at, table = tables[0], self.adoption.tables[tables[0]]
            in_wide = bool(table.wide and table.wide.values == name)
            headers = table.wide.headers if in_wide and table.wide else (table.columns[name].header,)
            key = f"table.{at}.wide.unit" if in_wide else f"table.{at}.columns.{name}.unit"
            choices, default = (("mS/cm", "µS/cm"), self._ec_default(at)) if name == "EC" else (MASS, "")
            why = "Neither the header nor a row of units says it."
            text, rows = f"In which unit is {_listed(headers)}?", self._rows(at, headers[0])
            yield Question(key, "unit", text, why, choices, default, rows, tables, name)

    def _ec_default(self, at: int) -> str:
        return "µS/cm" if middle(self.parts[at].read.profile("EC")) > 20 else "mS/cm"

    def _per(self) -> Iterator[Question]:
        """Ask whether a row is a plant or a whole pot, where no header says so."""
        open_ones = []
        for at in self._plants():
            told_per = _per_of(self.parts[at].read)
            self._mark(at, per=told_per or UNKNOWN)
            open_ones += [] if told_per else [at]
        if open_ones:
            yield Question(
                f"table.{open_ones[0]}.per",
                "per",
                "Was each plant weighed, or each pot or tray as a whole?",
                "No header says which.",
                ("plant", "pot"),
                "",
                self._rows(open_ones[0]),
                tuple(open_ones),
            )

    def _independent(self) -> Iterator[Question]:
        """Ask what was given its treatment on its own: a tray with several plants, or each row."""
        plants = tuple(self._plants())
        if not plants:
            return
        read = self.parts[plants[0]].read
        tray = self.adoption.tables[plants[0]].columns.get("Tray")
        places = [guess.header for guess in read.guesses if _is_place(read, guess)]
        choices = tuple(dict.fromkeys((*([tray.header] if tray else []), *places, ROW_ALONE)))
        shared = tray is not None and len(Profile.of(read.table.values(_number(read, tray.header))).counts) * 2 <= len(
            read.table.rows
        )
        yield Question(
            "trial.Experimental unit",
            "independent",
            "What was given its treatment independently of the others?",
            "Plants in one tray, tent or room count as one: choose the column that names it, or each row.",
            choices,
            tray.header if tray and shared else "",
            self._rows(plants[0]),
            plants,
        )

    def _words(self) -> Iterator[Question]:
        """Ask what a blank, a 0, a dash and other words mean where a weight should stand."""
        for word, count in self._doubtful().items():
            shown = {"": "a blank cell"}.get(word, f'"{word}"')
            yield Question(
                f"missing.{word}",
                "word",
                f"What does {shown} mean where a weight should stand?",
                f"It stands there {count} time{'s' * (count > 1)}.",
                (UNMEASURED, DEAD),
                "",
                self._rows(self._plants()[0], self._weight(self._plants()[0])),
                tuple(self._plants()),
                word,
            )

    def _weight(self, at: int) -> str:
        read = self.parts[at].read
        guess = read.guess("Fresh weight") or read.guess("Weight")
        return guess.header if guess else ""

    def _doubtful(self) -> Counter[str]:
        found: Counter[str] = Counter()
        known = {word.casefold() for word in (*self.adoption.missing, *self.adoption.lost)}
        for at in self._plants():
            read = self.parts[at].read
            if guess := read.guess("Fresh weight") or read.guess("Weight"):
                found += Counter(_unclear(read, guess, known))
            for one in wide_columns(read):
                found += Counter(word for word in _unclear(read, one, known) if word)
        if found:
            self.adoption = replace(self.adoption, missing=(*self.adoption.missing, UNKNOWN))
        return found

    def _meters(self) -> Iterator[Question]:
        open_ones = [at for at, table in enumerate(self.adoption.tables) if table.gives == "Meter"]
        for at in open_ones:
            self._mark(at, cumulative=UNKNOWN)
        if open_ones:
            rising = all(_rises(self.parts[at].read) for at in open_ones)
            choices = ("the counter's total, which goes on rising", "what was used since the reading before")
            yield Question(
                f"table.{open_ones[0]}.cumulative",
                "cumulative",
                "What is a meter reading?",
                "The readings rise all the time."
                if rising
                else "The readings fall at times, as those of a counter do not.",
                choices,
                choices[0] if rising else "",
                self._rows(open_ones[0]),
                tuple(open_ones),
            )

    def _places(self) -> Iterator[Question]:
        """Ask whose meter or climate it is where neither a column nor a name says so."""
        for at, table in enumerate(self.adoption.tables):
            if table.gives in TO_ONE_PLACE and table.constants.get("Treatment") == UNKNOWN:
                choices = ("all", *self.levels) if table.gives != "Light" else self.levels
                yield Question(
                    f"table.{at}.constants.Treatment",
                    "whose",
                    f"Which treatment is the table on {table.sheet} of?",
                    "No column says so." + (' Choose "all" where the treatments share it.' if "all" in choices else ""),
                    choices,
                    "",
                    self._rows(at),
                    (at,),
                )

    def _dates(self) -> Iterator[Question]:
        """Ask for the order of day and month where no day above 12 decides it, once a sheet."""
        open_ones: dict[tuple[str, str], list[int]] = {}
        for at, table in enumerate(self.adoption.tables):
            if _order_is_open(_all_dates(self.parts[at].read, table)):
                self._mark(at, day_first=UNKNOWN)
                open_ones.setdefault((table.file, table.sheet), []).append(at)
        for (_, sheet), tables in open_ones.items():
            example = _all_dates(self.parts[tables[0]].read, self.adoption.tables[tables[0]])[0]
            yield Question(
                f"table.{tables[0]}.day_first",
                "day first",
                f"In which order is a date such as {example} on {sheet}?",
                "No day above 12 decides it.",
                ("day, month, year", "month, day, year"),
                "",
                self._rows(tables[0]),
                tuple(tables),
            )

    def _trial(self) -> Iterator[Question]:
        asked = {
            "Crop": ("crop", "Which crop was it?"),
            "Started on": ("day", "On which day did the treatments begin (year-month-day)?"),
            "Harvested on": ("day", "On which day was the last harvest (year-month-day)?"),
        }
        for name, (kind, text) in asked.items():
            if self.adoption.trial.get(name) == UNKNOWN:
                yield Question(f"trial.{name}", kind, text, "The file does not say.", column=name)
        yield Question(
            "trial.Reference treatment",
            "field",
            "Which treatment are the others compared with?",
            "The report says how far each other one is above or below it.",
            self.levels,
            control_among(self.levels),
            column="Reference treatment",
        )


def _listed(texts: Sequence[str]) -> str:
    quoted = [f'"{text}"' for text in texts]
    return " and ".join(filter(None, (", ".join(quoted[:-1]), quoted[-1])))


def _unit_is_open(table: TableMapping, name: str) -> bool:
    in_column = name in table.columns and table.columns[name].unit == UNKNOWN
    return in_column or bool(table.wide and table.wide.values == name and table.wide.unit == UNKNOWN)


def _per_of(read: Understood) -> str:
    """Return plant or pot where a header says what a row is, empty where none does."""
    weights = [guess.header for guess in read.guesses if guess.name in WEIGHTS]
    for text in weights:
        unit = split_unit(text)[1]
        if "pot" in meanings(text) or (unit != unit_of(unit) and "pot" in meanings(unit)):
            return "pot"
        if unit != unit_of(unit) and "plant" in meanings(unit):
            return "plant"
    plant = read.guess("Plant")
    return "plant" if plant and "plant" in meanings(plant.header) else ""


def _is_place(read: Understood, guess: Guess) -> bool:
    known = set(meanings(guess.header)) & {"tray", "tent", "pot", "block", "position"}
    return (
        bool(known)
        and guess.name in ("", "Tray", "Block", "Position")
        and len(Profile.of(read.table.values(guess.column)).counts) > 1
    )


def _number(read: Understood, text: str) -> int:
    return next((guess.column for guess in read.guesses if guess.header == text), 0)


def _unclear(read: Understood, guess: Guess, known: set[str]) -> Iterator[str]:
    """Yield the blanks, zeros and unknown words among weights, but those of plants that a status explains."""
    status = read.guess("Status")
    explained = read.table.values(status.column) if status else (None,) * len(read.table.rows)
    for value, why in zip(read.table.values(guess.column), explained, strict=True):
        text = one_line(value)
        is_zero = _is_zero(value)
        if text.casefold() in known or status_of(one_line(why)) in ("dead", "removed"):
            continue
        if is_zero:
            yield "0"
        elif not text or not (is_number(value) or is_date(value) or _has_unit(text)):
            yield text


def _is_zero(value: Value) -> bool:
    return is_number(value) and one_line(value).replace(",", ".").strip("0") in ("", ".")


def _has_unit(text: str) -> bool:
    return bool(split_unit(text)[1]) or any(dimension(word) for word in text.split()[1:])


def _rises(read: Understood) -> bool:
    meters = read.guess("Meter")
    numbers = read.profile("Reading").numbers
    return _each_rises(read) if meters else all(first <= second for first, second in pairwise(numbers))


def _each_rises(read: Understood) -> bool:
    meter, reading = read.guess("Meter"), read.guess("Reading")
    series: dict[str, list[float]] = {}
    if meter and reading:
        for name, value in zip(read.table.values(meter.column), read.table.values(reading.column), strict=True):
            numbers = Profile.of((value,)).numbers
            series.setdefault(one_line(name), []).extend(numbers)
    return all(first <= second for values in series.values() for first, second in pairwise(values))


def _all_dates(read: Understood, table: TableMapping) -> list[str]:
    names = [name for name in ("Date", "Read at", "Harvested on") if name in table.columns and read.guess(name)]
    return [text for name in names for text in _date_texts(read, name)]


def _date_texts(read: Understood, name: str) -> list[str]:
    return [SHORT_YEAR.sub(r"\g<1>20\2", text.strip()) for text in read.profile(name).values if isinstance(text, str)]


def _order_is_open(texts: Sequence[str]) -> bool:
    found = [match for text in texts if (match := DAY_OR_MONTH.fullmatch(text)) and match[2] != "."]
    return bool(found) and TextDates.of(texts).day_first is None and any(match[1] != match[3] for match in found)
