"""What each column of a table is: by the words and the unit of its header, and by the values below it."""

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from functools import cached_property
from math import fsum, isclose
from statistics import median
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.adopt.grid import one_line
from reportgen.adopt.matching import (
    Meant,
    dimension,
    meanings,
    roles_of,
    split_unit,
    tokens,
    unit_fits,
    unit_of,
    worded_unit,
)
from reportgen.adopt.moments import plain_moment
from reportgen.adopt.numbers import TextNumbers
from reportgen.adopt.pickings import are_pickings, bare_measure
from reportgen.adopt.tables import FoundTable, is_date, is_number, number_in
from reportgen.adopt.words import DEATH, EVENTS, LIFE, LOST, MISSING, NO, NOT_OF_THE_AIR, STATUSES, TOTALS, YES
from reportgen.workbook.dates import TextDates, Undated
from reportgen.workbook.declaration import SHEETS, TRIAL
from reportgen.workbook.headers import folded, header
from reportgen.workbook.raw import RawSheet, Value
from reportgen.workbook.values import blank

CLOCK: Final = "Time of day"  # a column beside the one of the days
TIME_OF_DAY: Final = re.compile(r"\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?\s*(?:[ap]\.?\s?m\.?)?", re.IGNORECASE)
SURE_ENOUGH: Final = 0.4
MOST_LEVELS: Final = 12  # more treatments are hardly compared side by side
FEW: Final = 6
PLANT_MEASURES: Final = (
    "Fresh weight",
    "Dry weight",
    "Root weight",
    "Weight",
    "Height",
    "Leaves",
    "Status",
    "Gross weight",
)
AIR: Final = ("Air temperature", "Relative humidity", "CO2")
NO_VALUE: Final = frozenset(word.casefold() for word in MISSING)
FOLDED_LOST: Final = frozenset(LOST)


@dataclass(frozen=True)
class Profile:
    """What stands below a header, words for a missing value and blank cells left out."""

    values: tuple[Value, ...]

    @classmethod
    def of(cls, values: Sequence[Value]) -> "Profile":
        """Return the profile of a column's values."""
        return cls(tuple(value for value in values if not blank(value) and one_line(value).casefold() not in NO_VALUE))

    @cached_property
    def numbers(self) -> tuple[float, ...]:
        """Return the numbers among the values, also those that are kept as text."""
        bare = [number_in(value) or value for value in self.values]
        text_numbers = TextNumbers.of(bare)
        read = (text_numbers.read(value) for value in bare if is_number(value))
        return tuple(float(value) for value in read if isinstance(value, int | float))

    @cached_property
    def living(self) -> int:
        """Return how many values are no word for a plant that was lost."""
        return sum(folded(one_line(value)) not in FOLDED_LOST for value in self.values)

    @cached_property
    def counts(self) -> Counter[str]:
        """Return how often each value stands there, as text."""
        return Counter(map(one_line, self.values))

    def share(self, test: Callable[[Value], bool]) -> float:
        """Return the share of the values that pass a test, 0 where there are none."""
        return sum(map(test, self.values)) / len(self.values) if self.values else 0.0

    @property
    def numeric(self) -> bool:
        """Tell whether numbers stand there, but for a few words."""
        return bool(self.numbers) and len(self.numbers) >= 0.6 * max(self.living, 1)

    @property
    def dated(self) -> bool:
        """Tell whether dates stand there."""
        return self.share(is_date) > 0.6

    @property
    def whole(self) -> bool:
        """Tell whether all numbers are whole ones."""
        return all(number.is_integer() for number in self.numbers)

    @property
    def levels(self) -> bool:
        """Tell whether a few values stand there again and again, as treatments do."""
        return 2 <= len(self.counts) <= MOST_LEVELS and len(self.values) >= 2 * len(self.counts)


def profile_at(table: FoundTable, column: int) -> Profile:
    """Return the profile of a table's column, made once: a logger's column is long."""
    if column not in table.kept:
        table.kept[column] = Profile.of(table.values(column))
    found: Profile = table.kept[column]
    return found


@dataclass(frozen=True)
class Guess:
    """What a column is taken for: the column `name` of the declaration, empty where for nothing, and why.

    `noted` is a note in the file that tells a unit, of this column or of something else.
    """

    column: int
    header: str
    name: str
    unit: str
    score: float
    reason: str
    noted: str = ""


@dataclass(frozen=True)
class OfTrial:
    """A column that is of the day of the trial that is called `day`, and what was done with a volume."""

    day: str
    guess: Guess
    event: str = ""


@dataclass(frozen=True)
class Understood:
    """A table, the sheet of the declaration that it gives (empty: none), and what its columns are.

    `pickings` are columns of weights side by side without their total: one of them or their sum is the weight.
    `rivals` are, by declared column, those that may be it by their words, or where none has such words by their unit.
    `started` are columns of which one may tell how many plants were started, `uncounted` those that were started where
    nothing tells how many of them were weighed together. `whole` are columns of the whole trial in a table without
    days; `why_not` says why nothing is made of a table.
    """

    table: FoundTable
    gives: str
    guesses: tuple[Guess, ...]
    refused: tuple[Guess, ...] = ()
    pickings: tuple[Guess, ...] = ()
    rivals: Mapping[str, tuple[Guess, ...]] = field(default_factory=dict)
    started: tuple[Guess, ...] = ()
    uncounted: tuple[Guess, ...] = ()
    whole: tuple[OfTrial, ...] = ()
    why_not: str = ""

    def guess(self, name: str) -> Guess | None:
        """Return the column that is taken for a declared one, None where none is."""
        return next((guess for guess in self.guesses if guess.name == name), None)

    def called(self, guess: Guess) -> str:
        """Return how a settings file names a column: by its header, by its letter where others have the same one."""
        same = sum(text == guess.header for text in self.table.headers.values())
        return guess.header if same <= 1 else f"column {get_column_letter(guess.column)}"

    @property
    def names(self) -> dict[str, Guess]:
        """Return the columns that are taken for something, by what that is."""
        return {guess.name: guess for guess in self.guesses if guess.name}

    def profile(self, name: str) -> Profile:
        """Return the values of the column that is taken for `name`."""
        guess = self.guess(name)
        return profile_at(self.table, guess.column) if guess else Profile(())


# --- what the values say


def _numbers_within(low: float, high: float) -> Callable[[Profile], bool]:
    def bears_out(profile: Profile) -> bool:
        inside = sum(low <= number <= high for number in profile.numbers)
        return profile.numeric and inside >= 0.95 * len(profile.numbers)

    return bears_out


def _ids(profile: Profile) -> bool:
    return (
        bool(profile.values)
        and len(profile.counts) >= 2
        and not profile.dated
        and (profile.whole or not profile.numeric)
    )


def _are_counts(profile: Profile) -> bool:
    """Tell whether whole numbers are counts that come again and again, and no numbers of rows."""
    return len(profile.counts) * 2 <= len(profile.values)


def _codes(profile: Profile) -> bool:
    return bool(profile.values) and not profile.dated and profile.share(_is_short) > 0.9


def _is_short(value: Value) -> bool:
    return len(one_line(value)) <= 40


def _is_event(value: Value) -> bool:
    return event_of(one_line(value)) != ""


def event_of(text: str) -> str:
    """Return the declared event that a word stands for, empty where none."""
    bare = folded(text)
    return next((event for event, words in EVENTS.items() if bare in words.split()), "")


def status_of(text: str) -> str:
    """Return the declared status that a word stands for, empty where none."""
    bare = folded(text)
    if bare in FOLDED_LOST:
        return "dead"
    return next((status for status, words in STATUSES.items() if bare in words.split()), "")


def status_in(header: str, text: str) -> str:
    """Return the declared status that a word stands for under a header: yes under Dead? is dead, no under Alive too."""
    answer = next((yes for yes, words in ((True, YES), (False, NO)) if folded(text) in words.split()), None)
    if answer is None or not asks_for_fate(header):
        return status_of(text)
    of_death = bool(set(map(folded, tokens(header))) & set(DEATH.split()))
    return "dead" if answer == of_death else "harvested"


def asks_for_fate(header: str) -> bool:
    """Tell whether a header asks which plants died, or which lived, with words that yes and no answer."""
    return bool(set(map(folded, tokens(header))) & {*DEATH.split(), *LIFE.split()})


def _answers_fate(header: str, profile: "Profile") -> bool:
    known = profile.share(lambda value: bool(status_in(header, one_line(value)))) > 0.8
    return asks_for_fate(header) and len(profile.counts) <= FEW and known


BORNE_OUT: Final[Mapping[str, Callable[[Profile], bool]]] = {
    **dict.fromkeys(("Fresh weight", "Dry weight", "Root weight", "Weight", "Gross weight"), _numbers_within(0, 1e6)),
    "Height": _numbers_within(0, 5000),
    "Leaves": lambda profile: (
        profile.numeric and sum(n.is_integer() for n in profile.numbers) > 0.8 * len(profile.numbers)
    ),
    "Status": lambda profile: profile.share(lambda value: bool(status_of(one_line(value)))) > 0.5,
    "Plant": _ids,
    "Plants started": lambda profile: _numbers_within(1, 10_000)(profile) and profile.whole and _are_counts(profile),
    "Tray": _codes,
    "Block": lambda profile: _codes(profile) and (profile.whole or not profile.numeric),
    "Position": _codes,
    "Cultivar": lambda profile: bool(profile.values) and not profile.numeric and not profile.dated,
    "Note": lambda profile: not profile.numeric,
    "Treatment": lambda profile: _codes(profile) and len(profile.counts) <= max(MOST_LEVELS, len(profile.values) // 3),
    **dict.fromkeys(("Date", "Harvested on", "Sown on", "Started on", "Read at"), lambda profile: profile.dated),
    "Time": lambda profile: profile.dated or profile.share(_is_clock) > 0.6,
    "Week": lambda profile: bool(profile.values),
    "Event": lambda profile: profile.share(_is_event) > 0.5,
    "Volume": _numbers_within(0, 1e6),
    "EC": _numbers_within(0, 20_000),
    "pH": _numbers_within(0, 14),
    "Temperature": _numbers_within(-5, 212),
    "Air temperature": _numbers_within(-60, 160),
    "Relative humidity": _numbers_within(0, 100.5),
    "CO2": lambda profile: _numbers_within(100, 20_000)(profile) and len(profile.counts) > FEW,
    "PPFD": _numbers_within(0, 10_000),
    "Reading": _numbers_within(0, 1e12),
    "Meter": _codes,
    "X": lambda profile: profile.numeric,
    "Y": lambda profile: profile.numeric,
    "Further": lambda profile: profile.numeric,
}
SAID_OF_VALUES: Final[Mapping[str, str]] = {
    "Plant": "its values number the rows",
    "Treatment": "a few values stand there again and again",
    "Event": "its words are those of filling and draining",
    "Status": "its words tell what became of the plants",
    "Leaves": "its values are whole numbers",
    "pH": "its values lie between 0 and 14",
    "Relative humidity": "its values lie between 0 and 100",
    "Date": "dates stand below it",
    "Read at": "dates stand below it",
}


def _is_clock_alone(value: Value) -> bool:
    """Tell whether a cell holds a time of day without its day."""
    return isinstance(value, time) or (isinstance(value, str) and bool(TIME_OF_DAY.fullmatch(value.strip())))


def _is_clock(value: Value) -> bool:
    text = one_line(value)
    return is_date(value) or (":" in text and text.replace(":", "").isdigit())


# --- candidates


@dataclass(frozen=True)
class _Candidate:
    column: int
    header: str
    sheet: str
    name: str
    unit: str
    score: float
    reason: str

    def guess(self, name: str = "") -> Guess:
        return Guess(self.column, self.header, name or self.name, self.unit, self.score, self.reason)


def _candidates(table: FoundTable, column: int, judged: str) -> list[_Candidate]:
    """Return what a column may be by its header `judged`, its unit and its values."""
    found = _judged(table, column, judged)
    return [replace(one, header=table.headers[column]) for one in found]


def _judged(table: FoundTable, column: int, text: str) -> list[_Candidate]:
    _, written = split_unit(text)
    unit = written or table.units.get(column, "") or worded_unit(text)
    profile = profile_at(table, column)
    found = [_of_words(column, text, meant, unit, profile) for meant in roles_of(text)]
    found += _of_unit(column, text, unit, profile)
    found += _of_values(column, text, profile)
    return [one for one in found if one is not None]


PLACED: Final = ("Plant", "Tray", "Block", "Position")  # that a probe's number in °C is none of


def _of_words(column: int, text: str, meant: Meant, unit: str, profile: Profile) -> _Candidate | None:
    name = CLOCK if meant.role.name == "Time" and profile.share(_is_clock_alone) > 0.6 else meant.role.name
    if meant.role.needs == ("id",) and profile.levels and not profile.numeric:
        return None
    if (not profile.values and name != "Note") or not BORNE_OUT.get(name, bool)(profile):
        return None
    if name == "Treatment" and dimension(unit) == "temperature" and len(profile.counts) > FEW:
        return None  # a sensor in the soil or the light, and no few levels of warmth
    measured = dimension(unit)
    if (measured == "energy" and name == "Treatment") or (measured == "temperature" and name in PLACED):
        return None
    fits = unit_fits(name, unit)
    if (fits is False and name != "Further") or (name == "Meter" and dimension(unit) == "energy"):
        return None
    score = meant.score + (0.3 if fits else 0.0)
    reason = f"the header says {meant.words!r}"
    if fits:
        reason += f", and its unit is {unit_of(unit)}"
    elif name in SAID_OF_VALUES:
        reason += f", and {SAID_OF_VALUES[name]}"
    return _Candidate(column, text, meant.role.sheet, name, unit_of(unit), score, reason)


BY_UNIT: Final = (
    ("Reading", "Meter", ("kwh", "wh", "mwh")),
    ("PPFD", "Light", ("µmol/m2/s", "umol/m2/s", "µmol/m²/s", "µmol m-2 s-1", "umol m-2 s-1", "µmol/m²s")),
    ("Relative humidity", "Climate", ("%rh", "% rh", "% r.h.")),
    ("EC", "Solution", ("ms/cm", "ds/m", "us/cm", "µs/cm")),
    ("Weight", "Plants", ("g", "gr", "kg", "oz", "lb", "lbs", "mg")),
    ("Air temperature", "Climate", ("°c", "°f", "ºc", "℃")),
    ("Volume", "Solution", ("l", "ml", "liter", "litre", "litres", "liters")),
)


UNIT_ALONE: Final = 0.45  # how far a unit carries without a word
_PARTS: Final = frozenset({"container", "tare", "tray", "pot", "fruit", "leaf", "stem", "ratio"})
BARRED: Final[Mapping[str, frozenset[str]]] = {  # words that make a column another thing than its unit tells
    "": _PARTS,
    "Weight": _PARTS | {"start", "gross"},
    **dict.fromkeys(("Air temperature", "Relative humidity"), _PARTS.union(NOT_OF_THE_AIR)),
    "PPFD": _PARTS | {"setpoint", "extreme"},
}


def _of_unit(column: int, text: str, unit: str, profile: Profile) -> list[_Candidate]:
    """Return what a unit alone tells of a column, less surely than words do."""
    bare = unit_of(unit).casefold().replace("μ", "µ")
    name_of = split_unit(text)[0]
    alone = name_of.casefold().rstrip(".")
    is_mass = dimension(alone) == "mass"
    bare = bare or (unit_of(alone) if is_mass else alone if alone in ("kwh", "°c", "°f", "%rh") else "")
    unit = unit or (unit_of(alone) if is_mass else "")
    said = set(meanings(name_of))
    for name, sheet, units in BY_UNIT:
        if bare in units and not said & BARRED.get(name, BARRED[""]) and BORNE_OUT[name](profile):
            return [_Candidate(column, text, sheet, name, unit_of(unit), UNIT_ALONE, f"its unit is {unit or name_of}")]
    return []


def _of_values(column: int, text: str, profile: Profile) -> list[_Candidate]:
    """Return what the values alone tell of a column: dates, what became of plants, a few texts again and again."""
    found = []
    known = set(meanings(text))
    if (
        profile.dated
        and len(profile.values) > 1
        and not known & {"weight", "length", "height", "width", "leaf", "area"}
    ):
        found.append(_Candidate(column, text, "Any", "Date", "", 0.4, "dates stand below it"))
    if not profile.numeric and profile.levels and not profile.dated:
        reason = f"a few texts stand there again and again, such as {next(iter(profile.counts))!r}"
        found.append(_Candidate(column, text, "Any", "Treatment", "", 0.35, reason))
    if not profile.numeric and profile.share(_is_event) > 0.8:
        found.append(_Candidate(column, text, "Solution", "Event", "", 0.6, SAID_OF_VALUES["Event"]))
    if _answers_fate(text, profile):
        found.append(_Candidate(column, text, "Plants", "Status", "", 1.1, SAID_OF_VALUES["Status"]))
    elif (
        not profile.numeric and len(profile.values) > 1 and profile.share(lambda v: bool(status_of(one_line(v)))) > 0.8
    ):
        found.append(_Candidate(column, text, "Plants", "Status", "", 0.6, SAID_OF_VALUES["Status"]))
    return found


# --- the table


def understood(table: FoundTable, judged: Mapping[int, str] | None = None, given: str = "") -> Understood:
    """Return what a table gives, and what each of its columns is taken for; `given` is what it gives if that is known.

    `judged` holds the headers to go by, of the columns to look at, where they are not those of the table.
    """
    if judged is None and not given and (declared := _as_declared(table)):
        return declared
    shown = _without_hidden_twins(table.raw, judged or table.headers)
    by_column = {column: _candidates(table, column, text) for column, text in shown.items()}
    gives = given or _gives(table, by_column)
    fitting = [one for found in by_column.values() for one in found if one.sheet in (gives, "Any")]
    chosen = _chosen(fitting, gives)
    guesses = [
        _named(chosen[column], gives) if column in chosen else _rest(table, column, gives) for column in by_column
    ]
    refused = tuple(refusal for column in by_column if (refusal := _false_friend(table, column, chosen, gives)))
    barred = {guess.column for guess in refused}
    known = tuple(guess for guess in guesses if guess.column not in barred)
    rivals = dict(_rivals(fitting, chosen, gives))
    return _with_pickings(_with_total(Understood(table, gives, known, refused, rivals=rivals)))


def _without_hidden_twins(raw: RawSheet, headers: Mapping[int, str]) -> Mapping[int, str]:
    """Return the headers of columns without those of hidden ones whose header another column in view has too."""
    hidden = {at for at in headers if f"column {get_column_letter(at)}" in raw.hidden}
    in_view = {text for at, text in headers.items() if at not in hidden}
    return {at: text for at, text in headers.items() if at not in hidden or text not in in_view}


def _with_pickings(read: Understood) -> Understood:
    """Return plants with the weights of several pickings that stand side by side, where no column is their total."""
    if read.gives != "Plants":
        return read
    weight = next((guess for guess in read.guesses if guess.name in ("Fresh weight", "Weight", "Dry weight")), None)
    numeric = [one for one in read.guesses if profile_at(read.table, one.column).numeric]
    if not weight:
        found = [one for one in numeric if are_pickings([one.header])]
        if len(found) < 2 or {one.unit for one in found} != {""}:
            return read
        named = replace(found[0], name="Weight", reason="the header says that it is a picking")
        guesses = tuple(named if one is found[0] else one for one in read.guesses)
        return replace(read, guesses=guesses, pickings=(named, *found[1:]))
    what = bare_measure(weight.header)
    alike = tuple(one for one in numeric if bare_measure(one.header) == what and one.unit == weight.unit)
    return replace(read, pickings=alike) if len(alike) > 1 else read


def _with_total(read: Understood) -> Understood:
    """Return plants, or a meter, of which several parts stand side by side by their total, where a column has it."""
    part = next((read.guess(name) for name in ("Weight", "Fresh weight", "Reading") if read.guess(name)), None)
    if read.gives not in ("Plants", "Meter") or not part:
        return read
    numeric = _beside_part(read, part)
    for total in numeric:
        parts = [guess for guess in numeric if guess.unit == part.unit and guess.column != total.column]
        if len(parts) > 1 and part.column in [one.column for one in parts] and _is_sum(read.table, total, parts):
            reason = f"it is the sum of {' and '.join(guess.header for guess in parts)}"
            whole = replace(total, name=part.name, unit=total.unit or part.unit, reason=reason)
            trait = _trait(part.header) if read.gives == "Plants" else ""
            piece = replace(part, name=trait, reason=f"a part of {total.header}")
            turned = {total.column: whole, part.column: piece}
            return replace(read, guesses=tuple(turned.get(guess.column, guess) for guess in read.guesses))
    return read


def _beside_part(read: Understood, part: Guess) -> list[Guess]:
    """Return the columns of numbers that may be the parts of a total: those of weights by their unit alone too."""
    others = read.guesses if part.name == "Weight" else ()
    found = {one.column: one for one in (*others, *read.rivals.get(part.name, ()))}
    # A net weight and its tare make no yield.
    untared = (one for one in found.values() if "tare" not in meanings(one.header))
    return [one for one in untared if profile_at(read.table, one.column).numeric]


def _is_sum(table: FoundTable, total: Guess, parts: Sequence[Guess]) -> bool:
    columns = [table.values(guess.column) for guess in (total, *parts)]
    rows = [row for row in zip(*columns, strict=True) if all(isinstance(value, (int, float)) for value in row)]
    return len(rows) > 2 and all(isclose(first, fsum(others), abs_tol=1e-6) for first, *others in rows)


def _as_declared(table: FoundTable) -> Understood | None:
    """Return a table whose headers are those of a declared sheet already, None where they are not."""
    shown = _without_hidden_twins(table.raw, table.headers)
    names = {folded(header(text, 1, 1).name): column for column, text in shown.items()}
    for sheet in SHEETS:
        wanted = [column for column in sheet.columns if column.required]
        named = folded(sheet.name) == folded(table.sheet)
        if sheet is TRIAL or len(wanted) < (2 if named else 3) or not all(folded(one.name) in names for one in wanted):
            continue
        if sheet.name == "Trays" and "plant" in names:
            continue
        guesses = [
            _by_name(table, names[folded(one.name)], one.name) for one in sheet.columns if folded(one.name) in names
        ]
        known = {guess.column for guess in guesses}
        rest = [_rest(table, column, sheet.name) for column in shown if column not in known]
        also = [_tray_fact(guess, table, sheet.name) for guess in rest]
        return Understood(table, sheet.name, tuple(guesses + also), rivals=dict(_beside(table, guesses, rest)))
    return None


def _beside(
    table: FoundTable, named: Sequence[Guess], rest: Sequence[Guess]
) -> Iterator[tuple[str, tuple[Guess, ...]]]:
    """Yield a weight of a declared sheet with further columns whose words say the same, as a corrected one."""
    said = [(one, {worded.name for worded in _candidates(table, one.column, one.header)}) for one in rest]
    for own in named:
        alike = [one for one, names in said if own.name in names]
        if alike and own.name in ("Fresh weight", "Dry weight"):
            yield own.name, tuple(sorted((own, *alike), key=lambda one: one.column))


def _by_name(table: FoundTable, column: int, name: str) -> Guess:
    text = table.headers[column]
    unit = unit_of(split_unit(text)[1] or table.units.get(column, ""))
    return Guess(column, text, name, unit, 2.0, "it is named so")


def _tray_fact(guess: Guess, table: FoundTable, gives: str) -> Guess:
    """Return a column of a declared sheet that tells the treatment, block or fate beside it."""
    name = next((meant.role.name for meant in roles_of(guess.header)), "")
    if _answers_fate(guess.header, profile_at(table, guess.column)):
        return Guess(guess.column, guess.header, "Status", "", 1.0, SAID_OF_VALUES["Status"])
    told = name in ("Treatment", "Block") and name in OF_SHEET.get(gives, ())
    fits = told and BORNE_OUT[name](profile_at(table, guess.column))
    return Guess(guess.column, guess.header, name, "", 1.0, "the header says so") if fits else guess


def _gives(table: FoundTable, by_column: Mapping[int, Sequence[_Candidate]]) -> str:
    """Return which sheet a table gives: the one that most of its columns speak for."""
    best: dict[str, float] = {}
    for found in by_column.values():
        for one in found:
            best[one.name] = max(best.get(one.name, 0.0), one.score)
    dated = max(best.get("Date", 0.0), best.get("Time", 0.0)) > 0
    scores = {
        "Plants": sum(best.get(name, 0.0) for name in PLANT_MEASURES) + 0.3 * best.get("Plant", 0.0),
        "Climate": sum(best.get(name, 0.0) for name in AIR) * dated,
        "Meter": (best.get("Reading", 0.0) + 0.5 * best.get("Meter", 0.0)) * dated,
        "Solution": _solution_score(best, dated),
        "Light": best.get("PPFD", 0.0) + 0.2 * best.get("X", 0.0),
    }
    gives = max(scores, key=lambda name: scores[name])
    if scores[gives] < SURE_ENOUGH:
        return "Plants" if _counts_of_plants(table, by_column, best) else _without_measures(table, best)
    return "Growth" if gives == "Plants" and _is_growth(table, by_column, best) else gives


SURE_OF_PLACE: Final = 0.6  # a column that tells where a plant stood


def _solution_score(best: Mapping[str, float], dated: bool) -> float:
    known = [best.get(name, 0.0) for name in ("Volume", "Event", "EC", "pH")]
    return sum(known) * (1.0 if dated or best.get("Event", 0.0) else 0.0)


def _counts_of_plants(
    table: FoundTable, by_column: Mapping[int, Sequence[_Candidate]], best: Mapping[str, float]
) -> bool:
    """Tell whether a table has a row a plant, and numbers under a header of the owner's own, such as flowers."""
    places = max(best.get("Tray", 0.0), best.get("Treatment", 0.0))
    if min(best.get("Plant", 0.0), places) <= SURE_OF_PLACE:
        return False
    free = [column for column in table.headers if not by_column.get(column)]
    return any(_rest(table, column, "Plants").name for column in free)


def _without_measures(table: FoundTable, best: Mapping[str, float]) -> str:
    if best.get("Tray", 0.0) > SURE_OF_PLACE and best.get("Treatment", 0.0) > SURE_OF_PLACE:
        return "Trays"
    profiles = (profile_at(table, column) for column in table.headers)
    further = any(profile.numeric and not profile.whole for profile in profiles)
    pickings = [text for at, text in table.headers.items() if profile_at(table, at).numeric and are_pickings([text])]
    places = max(best.get(name, 0.0) for name in ("Treatment", "Plant", "Tray")) if best else 0.0
    return "Plants" if (further or len(pickings) > 1) and places > SURE_OF_PLACE else ""


def _is_growth(table: FoundTable, by_column: Mapping[int, Sequence[_Candidate]], best: Mapping[str, float]) -> bool:
    """Tell whether plants were measured again and again: several dates, each plant or tray on more than one of them."""
    if best.get("Date", 0.0) == 0.0 or best.get("Fresh weight", 0.0) or best.get("Dry weight", 0.0):
        return False
    dates = _column_for(by_column, "Date")
    keys = [column for name in ("Tray", "Plant") if (column := _column_for(by_column, name))]
    if dates is None or not keys or len(profile_at(table, dates).counts) < 2:
        return False
    labels = list(zip(*(table.values(column) for column in keys), strict=True))
    return len(set(labels)) < len(labels)


def _column_for(by_column: Mapping[int, Sequence[_Candidate]], name: str) -> int | None:
    scored = [(one.score, -one.column) for found in by_column.values() for one in found if one.name == name]
    return -max(scored)[1] if scored else None


def _chosen(fitting: Sequence[_Candidate], gives: str) -> dict[int, _Candidate]:
    """Return one candidate a column and one column a name, the surest first."""
    chosen: dict[int, _Candidate] = {}
    taken: set[str] = set()
    for one in sorted(fitting, key=lambda one: (-one.score, one.column)):
        name = _declared(one.name, gives)
        if one.column in chosen or (name in taken and name not in ("Further", "Gross weight")) or one.score < 0.3:
            continue
        if name == "Weight" and "Fresh weight" in taken:
            continue
        chosen[one.column] = one
        taken.add(name)
    return chosen


MEASURED: Final = ("Fresh weight", "Dry weight", "Root weight", "Weight", "Height", "Leaves", "Reading", "PPFD", *AIR)


def _rivals(
    fitting: Sequence[_Candidate], chosen: Mapping[int, _Candidate], gives: str
) -> Iterator[tuple[str, tuple[Guess, ...]]]:
    """Yield what is measured with all columns that may be it and are nothing else, where there are several."""
    for own in chosen.values():
        free = [
            one
            for one in fitting
            if one.name == own.name and (one is own or chosen.get(one.column, one).name in (own.name, "Further"))
        ]
        alike = [one for one in free if (one.score > UNIT_ALONE) == (own.score > UNIT_ALONE)]
        found = {one.column: _named(one, gives) for one in sorted(alike, key=lambda one: (one.column, one.score))}
        if own.name in MEASURED and len(found) > 1:
            yield own.name, tuple(found.values())


def _declared(name: str, gives: str) -> str:
    """Return a role's name as the given sheet has it."""
    if gives in ("Meter", "Climate") and name in ("Date", "Time"):
        return "Read at"
    return "Meter" if gives == "Meter" and name in ("Tray", "Plant") else name


OF_SHEET: Final[Mapping[str, tuple[str, ...]]] = {
    "Plants": (
        *PLANT_MEASURES,
        *("Tray", "Plant", "Treatment", "Block", "Position", "Plants started", "Harvested on", "Note"),
    ),
    "Growth": ("Tray", "Plant", "Date", "Height"),
    "Trays": ("Tray", "Treatment", "Block", "Position", "Plants started", "Harvested on", "Note"),
    "Solution": ("Tray", "Date", "Event", "Volume", "EC", "pH", "Temperature", "Note"),
    "Meter": ("Meter", "Treatment", "Read at", CLOCK, "Reading", "Note"),
    "Light": ("Treatment", "Date", "X", "Y", "Height", "PPFD"),
    "Climate": ("Treatment", "Read at", CLOCK, *AIR, "Solution temperature"),
}


def _named(one: _Candidate, gives: str) -> Guess:
    name = _declared(one.name, gives)
    if name == "Further" or (gives == "Growth" and name in ("Leaves", "Weight", "Root weight")):
        return one.guess(_trait(one.header))
    if name not in OF_SHEET.get(gives, ()):
        return Guess(
            one.column,
            one.header,
            "",
            one.unit,
            one.score,
            f"{one.reason}, with no place in {gives or 'a report'}",
        )
    return one.guess(name)


def _trait(text: str) -> str:
    return split_unit(text)[0]


def _rest(table: FoundTable, column: int, gives: str) -> Guess:
    """Return a column that nothing was found for: a further measurement where it holds numbers of plants."""
    text = table.headers[column]
    profile = profile_at(table, column)
    unit = split_unit(text)[1] or table.units.get(column, "") or worded_unit(text)
    if tokens(text) and all(set(meanings(word)) & {"number", "id"} for word in tokens(text)):
        return Guess(column, text, "", "", 0.0, "it numbers the rows")
    if folded(text) in TOTALS:
        return Guess(column, text, "", "", 0.0, "a total or a mean of the columns beside it")
    if gives in ("Plants", "Growth") and profile.numeric and len(profile.counts) > 1 and not _is_label(text):
        return Guess(column, text, _trait(text), unit_of(unit), 0.5, "it holds numbers: a further measurement")
    if gives in ("Plants", "Growth") and profile.dated and not set(meanings(text)) & {"date", "time"}:
        return Guess(column, text, "", "", 0.0, "dates stand below it: were numbers such as 4.3 made dates of?")
    return Guess(column, text, "", unit_of(unit), 0.0, "its header and its values fit nothing that a report needs")


def _is_label(text: str) -> bool:
    known = set(meanings(text))
    return bool(known & {"id", "block", "position", "date", "week", "time", "note", "treatment"}) and not known & {
        "weight",
        "leaf",
        "root",
        "height",
    }


FALSE_FRIENDS: Final = {
    "Gross weight": "a weight of plant and pot together is no fresh weight; take off what the pot weighs first",
    "Start": "a weight at the start tells nothing of the harvest; it is left alone",
    "Air": "the header does not say that it is of the air around the plants, or of its mean; it is left alone",
    "EC": "the header says EC, but what stands below it is no conductivity; it is left alone",
    "pH": "the header says pH, but what stands below it is no pH; it is left alone",
}


def _false_friend(table: FoundTable, column: int, chosen: Mapping[int, _Candidate], gives: str) -> Guess | None:
    """Return why a column is not taken for what its header seems to say, None where nothing is amiss."""
    text = table.headers[column]
    if column in chosen and chosen[column].name == "Gross weight":
        return Guess(column, text, "", "", 1.0, FALSE_FRIENDS["Gross weight"])
    profile = profile_at(table, column)
    if column not in chosen and "gross" in meanings(text) and _is_mass(table, column):
        return Guess(column, text, "", split_unit(text)[1], 1.0, FALSE_FRIENDS["Gross weight"])
    if column not in chosen and {"weight", "start"} <= set(meanings(text)) and profile.numeric:
        return Guess(column, text, "", "", 1.0, FALSE_FRIENDS["Start"])
    if gives == "Climate" and column not in chosen and profile.numeric and set(meanings(text)) & set(NOT_OF_THE_AIR):
        return Guess(column, text, "", "", 1.0, FALSE_FRIENDS["Air"])
    for name in ("EC", "pH"):
        named = [meant for meant in roles_of(text) if meant.role.name == name]
        if named and column not in chosen and profile.values and not BORNE_OUT[name](profile):
            return Guess(column, text, "", "", 1.0, FALSE_FRIENDS[name])
    return None


def _is_mass(table: FoundTable, column: int) -> bool:
    return dimension(split_unit(table.headers[column])[1] or table.units.get(column, "")) == "mass"


def span(values: Sequence[Value]) -> tuple[date, date] | None:
    """Return the first and last day among dates, None where there are none or their order is not decided."""
    order = TextDates.of([plain_moment(value) for value in values if isinstance(value, str)])
    days = [day for value in values if (day := day_of(value, order))]
    return (min(days), max(days)) if days else None


def day_of(value: Value, order: TextDates) -> date | None:
    """Return the day of a date that is kept as one or as text, None where it is none."""
    if isinstance(value, datetime):
        return value.date()
    if not isinstance(value, str):
        return value if isinstance(value, date) else None
    try:
        return order.read(plain_moment(value)).date()
    except Undated:
        return None


def middle(profile: Profile) -> float:
    """Return the median of the numbers, 0 where there are none."""
    return median(profile.numbers) if profile.numbers else 0.0
