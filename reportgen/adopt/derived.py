"""The sheets that no table gives: trays, treatments and the trial, made of what the tables and the settings tell."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from itertools import groupby
from typing import Final

from reportgen.adopt.columns import NOT_KNOWN, NUMBERS, OF_TRAYS, WEIGHED, kind_of, trial_field
from reportgen.adopt.fitting import is_by_row
from reportgen.adopt.grid import one_line
from reportgen.adopt.mapping import Adoption
from reportgen.adopt.origins import Origin
from reportgen.adopt.taken import Lines, Taken
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.declaration import TRAYS, Kind
from reportgen.workbook.raw import RawSheet, Value
from reportgen.workbook.values import Unreadable, blank, code, shown

Rows = list[tuple[tuple[Value, ...], Origin]]
TRAYS_HEAD: Final = ("Tray", "Treatment", "Block", "Position", "Plants started", "Harvested on")


def code_of(table: Taken, index: int, name: str) -> str:
    """Return the code in a line as the sheet shows it, empty where it is blank or no code."""
    value = table.lines.value(index, name)
    if blank(value):
        return ""
    place = table.lines.numbers[index], table.letters.get(name, 0)
    shape = table.raw.formats.get(place, "General") if isinstance(value, int | float) else "General"
    try:
        return code(value, shape)
    except Unreadable:
        return ""


def with_codes(tables: Sequence[Taken], adoption: Adoption, *, trays_given: bool) -> tuple[Taken, ...]:
    """Return tables of plants with a tray and a number for each: where none is written it is counted.

    Where each plant is a unit of its own, and no table tells the trays, each row gets one.
    """
    by_row = is_by_row(adoption) and not trays_given
    tables = tables if trays_given else [_apart(table) for table in tables]
    counts: dict[str, int] = defaultdict(int)
    return tuple(_in_pots(table, counts) if by_row else _numbered(table, counts) for table in tables)


def _apart(table: Taken) -> Taken:
    """Return a table whose trays count anew under each treatment with the treatment before their codes."""
    shared = counting_anew(table)
    if not shared:
        return table
    trays = []
    for index in range(len(table.lines.numbers)):
        tray = code_of(table, index, "Tray")
        joined = f"{code_of(table, index, 'Treatment')}-{tray}"
        trays.append(joined if tray.casefold() in shared else table.lines.value(index, "Tray"))
    return _with(table, {"Tray": tuple(trays)}, {})


def counting_anew(table: Taken) -> set[str]:
    """Return the trays, in small letters, that stand under several treatments, where trays count anew under each.

    That is so where each treatment's rows stand together and most trays of the smallest group come again in another;
    none where a few do, or treatments alternate within a tray: that is a slip, or a tray that was shared.
    """
    lines = range(len(table.lines.numbers))
    pairs = [(code_of(table, at, "Treatment"), code_of(table, at, "Tray")) for at in lines]
    runs = [treatment for treatment, _ in groupby(pairs, key=lambda pair: pair[0])]
    groups: dict[str, set[str]] = defaultdict(set)
    for treatment, tray in pairs:
        groups[treatment].add(tray.casefold())
    known = all(treatment and tray for treatment, tray in pairs)
    if not known or len(runs) != len(groups) or len(groups) < 2:
        return set()
    found = Counter(tray for trays in groups.values() for tray in trays)
    shared = {tray for tray, count in found.items() if count > 1}
    return shared if 2 * len(shared) > min(map(len, groups.values())) else set()


def _numbered(table: Taken, counts: dict[str, int]) -> Taken:
    if "Plant" in table.lines.columns:
        return table
    numbers = []
    for index in range(len(table.lines.numbers)):
        tray = code_of(table, index, "Tray").casefold()
        counts[tray] += 1
        numbers.append(str(counts[tray]))
    return _with(table, {"Plant": tuple(numbers)}, {})


def _in_pots(table: Taken, counts: dict[str, int]) -> Taken:
    pots = tuple(_pot(table, index, counts) for index in range(len(table.lines.numbers)))
    stands = {
        "Tray": table.letters.get("Tray") or table.letters.get("Plant", 0),
        "Plant": table.letters.get("Plant", 0),
    }
    return _with(table, {"Tray": pots, "Plant": ("1",) * len(pots)}, stands)


def _pot(table: Taken, index: int, counts: dict[str, int]) -> str | None:
    """Return the name of the pot in a line, None where a part of it is blank."""
    parts = [code_of(table, index, name) for name in ("Tray", "Plant") if name in table.lines.columns]
    whole = "Plant" not in table.lines.columns and "Tray" in table.mapping.constants
    if whole or not parts:
        named = parts[0] if whole else code_of(table, index, "Treatment") or "pot"
        counts[named] += 1
        parts = [named, str(counts[named])]
    return "-".join(parts) if all(parts) else None


def _with(table: Taken, columns: Mapping[str, tuple[Value, ...]], stands: Mapping[str, int]) -> Taken:
    lines = Lines(table.lines.numbers, {**table.lines.columns, **columns})
    return replace(table, lines=lines, letters={**table.letters, **stands})


def in_pots_too(table: Taken, pots: set[str]) -> Taken:
    """Return a table of measurements whose trays and plants together name a pot."""
    if not {"Tray", "Plant"} <= set(table.lines.columns):
        return table
    trays = []
    numbers = []
    for index in range(len(table.lines.numbers)):
        joined = "-".join(filter(None, (code_of(table, index, name) for name in ("Tray", "Plant"))))
        known = joined.casefold() in pots
        trays.append(joined if known else table.lines.value(index, "Tray"))
        numbers.append("1" if known else table.lines.value(index, "Plant"))
    return _with(table, {"Tray": tuple(trays), "Plant": tuple(numbers)}, {})


@dataclass
class _TrayRows:
    """The plants of one tray: their table and line each."""

    code: str
    lines: list[tuple[Taken, int]]

    def first(self, name: str) -> tuple[Taken, int, Value]:
        """Return the first line that has a value in a column, else the first of all."""
        for table, index in self.lines:
            if not blank(value := table.lines.value(index, name)):
                return table, index, value
        return *self.lines[0], None

    def shown(self, name: str) -> Value:
        """Return the first value in a column, a number that its sheet shows otherwise, as 0.25 as 25%, as it does."""
        table, index, value = self.first(name)
        is_number = isinstance(value, int | float) and kind_of(TRAYS.name, name) not in (*NUMBERS, Kind.DATE)
        return code_of(table, index, name) if is_number else value


def trays_of(plants: Sequence[Taken]) -> tuple[Rows, tuple[Problem, ...]]:
    """Return a row for each tray of the plants, and an error for each tray whose plants differ in treatment."""
    rows: Rows = []
    problems: list[Problem] = []
    for tray in _by_tray(plants):
        values = {name: tray.shown(name) for name in OF_TRAYS}
        table, index, _ = tray.first("Treatment")
        values["Plants started"] = _started(tray)
        stands = {at: table.letters.get(name, 0) for at, name in enumerate(TRAYS_HEAD, 1)}
        origin = Origin(table.place, table.lines.numbers[index], stands)
        rows.append(((tray.code, *(values[name] for name in TRAYS_HEAD[1:])), origin))
        problems += _two_treatments(tray)
    return rows, tuple(problems)


def _started(tray: _TrayRows) -> Value:
    """Return how many plants a tray was started with: those written down where no table says so and each has a row."""
    table, _, started = tray.first("Plants started")
    if started is not None:
        return None if started == NOT_KNOWN else started
    return None if "Plants weighed" in table.lines.columns else len(tray.lines)


def started_in(plants: Sequence[Taken]) -> Mapping[str, Value]:
    """Return how many plants each tray was started with by the rows of plants, by its code in small letters."""
    return {tray.code.casefold(): _started(tray) for tray in _by_tray(plants)}


def of_all_plants(table: Taken) -> Taken:
    """Return a table whose weights are means of the plants weighed in a row with their totals."""
    counts = table.lines.columns.get("Plants weighed")
    if counts is None or table.mapping.per != "plant":
        return table
    columns = {name: values for name, values in table.lines.columns.items() if name in WEIGHED}
    summed = {name: tuple(map(_times, values, counts)) for name, values in columns.items()}
    return replace(table, lines=Lines(table.lines.numbers, {**table.lines.columns, **summed}))


def _times(mean: Value, count: Value) -> Value:
    known = isinstance(mean, int | float) and isinstance(count, int | float)
    return mean * count if known else mean  # type: ignore[operator]


def _by_tray(plants: Sequence[Taken]) -> Iterator[_TrayRows]:
    trays: dict[str, _TrayRows] = {}
    for table in plants:
        for index in range(len(table.lines.numbers)):
            if tray := code_of(table, index, "Tray"):
                trays.setdefault(tray.casefold(), _TrayRows(tray, [])).lines.append((table, index))
    yield from trays.values()


def _two_treatments(tray: _TrayRows) -> Iterator[Problem]:
    first = one_line(tray.first("Treatment")[2])
    for table, index in tray.lines:
        other = one_line(table.lines.value(index, "Treatment"))
        if other and other.casefold() != first.casefold():
            said = f'tray "{shown(tray.code)}" has the treatment "{shown(other)}" here and "{shown(first)}" before'
            advice = "Mend one of the two, or tell apart the trays that share a name."
            where = table.cell("Treatment", table.lines.numbers[index])
            yield Problem(
                Severity.ERROR, table.place, where, said, "one treatment a tray", advice, code="tray_of_two_treatments"
            )
            return


def treatments_of(tables: Sequence[Taken], reference: str) -> Rows:
    """Return a row for each treatment that tables name, the reference first; a code named in the settings is one.

    Where the settings say what stands for which treatment, anything else is no treatment but a slip.
    """
    found: dict[str, tuple[str, Origin]] = {}
    for table in tables:
        codes = _codes(table)
        for index, value in enumerate(table.lines.columns.get("Treatment", ())):
            text = code_of(table, index, "Treatment")
            if blank(value) or text.casefold() in found or (codes and text.casefold() not in codes):
                continue
            at = table.letters.get("Treatment", 0)
            found[text.casefold()] = text, Origin(table.place, table.lines.numbers[index], {1: at, 2: at})
    ordered = sorted(found.values(), key=lambda one: one[0].casefold() != reference.casefold())
    return [((text, text), origin) for text, origin in ordered]


def _codes(table: Taken) -> set[str]:
    source = table.mapping.columns.get("Treatment")
    codes = {**(source.codes if source else {}), **table.mapping.treatment}
    return {code.casefold() for code in codes.values()}


def trial_sheet(adoption: Adoption) -> tuple[RawSheet, Mapping[int, str]]:
    """Return the Trial sheet of what the settings say, and for each of its rows the line there."""
    fields = dict(adoption.trial)
    if is_by_row(adoption) and not any(
        (found := trial_field(name)) and found.name == "Experimental unit" for name in fields
    ):
        fields["Experimental unit"] = "plant"
    rows: list[tuple[Value, ...]] = [("Field", "Value")]
    lines = {0: f"{adoption.name}, line {adoption.line('trial')}"}
    for name, value in fields.items():
        rows.append((name, _as_cell(value)))
        lines[len(rows)] = f"{adoption.name}, line {adoption.line(f'trial.{name}')}"
    return RawSheet("Trial", tuple(rows), {}, {}, ()), lines


def _as_cell(value: object) -> Value:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(map(str, value))
    if isinstance(value, date) and not isinstance(value, datetime):
        return datetime.combine(value, time())
    return value
