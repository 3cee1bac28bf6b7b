"""Find the tables of a sheet: where their headers stand, which rows are theirs, what stands around them."""

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from functools import cached_property
from itertools import groupby, pairwise
from typing import Any, Final

from openpyxl.utils import get_column_letter

from reportgen.adopt.ditto import is_ditto, repeated
from reportgen.adopt.grid import Grid, one_line
from reportgen.adopt.labels import below_totals, totals_of
from reportgen.adopt.matching import is_unit, is_worded, roles_of, split_unit
from reportgen.adopt.moments import plain_moment
from reportgen.adopt.words import FACTS, TOTALS
from reportgen.workbook.dates import DAY_OR_MONTH, YEAR_FIRST, TextDates, Undated
from reportgen.workbook.headers import folded
from reportgen.workbook.raw import RawSheet, Value, bounds_of
from reportgen.workbook.values import bare_number, blank

ROWS_TRIED: Final = 40  # of a block, for its header
ROWS_WEIGHED: Final = 12  # below a header, to see whether numbers stand there
HEADER_ENOUGH: Final = 2.2
LONGEST_HEADER: Final = 80
SHORTEST_TOTAL: Final = 3  # letters of a word that means a total wherever it stands
IN_VIEW: Final = 6  # columns that are surely shown before one that is asked about
MOST_FACTS: Final = 20  # rows of facts in one place
MOST_TABLES: Final = 60  # on one sheet; beyond it the sheet is no log
WITH_UNIT: Final = re.compile(r"([+-]?\d[\d.,' ]*?)\s*([^\W\d_].*|%|°.*)")
SPACED_NUMBER: Final = re.compile(r"[+-]?\d{1,3}(?:[ .']\d{3})+(?:,\d+)?")


@dataclass(frozen=True)
class Area:
    """A part of a sheet: its rows and columns, counted from 1, the last ones included."""

    top: int
    left: int
    bottom: int
    right: int

    @property
    def name(self) -> str:
        """Return the range as it is written, such as A11:H52."""
        return f"{get_column_letter(self.left)}{self.top}:{get_column_letter(self.right)}{self.bottom}"


@dataclass(frozen=True)
class FoundTable:
    """A table on a sheet: its header rows, the columns that have a header, the numbers of its data rows.

    `units` holds the units of a row below the header, by column; `sections` the texts that stand alone above their
    rows, by row; `totals` the rows of totals and means; `skipped` other rows that are no data; `above` the texts over
    the table, the nearest first; `notes` those beside and below it.
    """

    raw: RawSheet
    area: Area
    header: tuple[int, ...]
    rows: tuple[int, ...]
    units: dict[int, str] = field(default_factory=dict)
    sections: tuple[tuple[int, str], ...] = ()
    totals: tuple[int, ...] = ()
    skipped: tuple[int, ...] = ()
    above: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def sheet(self) -> str:
        """Return the name of the sheet that the table stands on."""
        return self.raw.name

    @property
    def header_row(self) -> str:
        """Return the header's row as it is written in a settings file, 0 where there is none."""
        return "-".join(str(row) for row in dict.fromkeys((self.header[0], self.header[-1]))) if self.header else "0"

    @cached_property
    def headers(self) -> dict[int, str]:
        """Return the header of each column that has one, two rows joined."""
        area = self.area
        return dict(Grid(self.raw, self.header, area.left, area.right, area.top, area.bottom).headers)

    @cached_property
    def kept(self) -> dict[int, Any]:
        """Return what was found out of each column, to be kept there."""
        return {}

    def cell(self, row: int, column: int) -> Value:
        """Return what stands in a cell of the sheet."""
        return _cell(self.raw, row, column)

    def values(self, column: int) -> tuple[Value, ...]:
        """Return what stands in a column, in the data rows; signs that repeat a label with the label."""
        held = tuple(_cell(self.raw, row, column) for row in self.rows)
        return repeated(held) if self.repeats(column) else held

    def repeats(self, column: int) -> bool:
        """Tell whether a column of labels has signs for the one above; among measured numbers they may be anything."""
        held = [value for row in self.rows if not blank(value := _cell(self.raw, row, column))]
        signs = sum(map(is_ditto, held))
        return signs > 0 and (signs * 3 >= len(held) or not any(map(is_number, held)))

    def first_rows(self, count: int = 5, about: str = "") -> tuple[tuple[str, ...], ...]:
        """Return the headers and the first `count` rows, as they are shown, the column headed `about` in view."""
        columns = sorted(self.headers, key=lambda column: (self.headers[column] != about, column))
        if columns and self.headers[columns[0]] == about:
            columns.insert(min(columns[0] - self.area.left, IN_VIEW), columns.pop(0))
        body = (tuple(_shown(_cell(self.raw, row, column)) for column in columns) for row in self.rows[:count])
        return tuple(self.headers[column] for column in columns), *body


@dataclass(frozen=True)
class Pairs:
    """Two columns, a text and what belongs to it: facts of the trial, or a key that explains codes.

    `title` are the texts over them, or their headers.
    """

    raw: RawSheet
    area: Area
    pairs: tuple[tuple[str, Value], ...]
    title: str = ""


@dataclass(frozen=True)
class Found:
    """What a sheet holds: tables, pairs of a text and a value, and texts that stand alone."""

    tables: tuple[FoundTable, ...] = ()
    pairs: tuple[Pairs, ...] = ()
    texts: tuple[str, ...] = ()


# --- cells


def _shown(value: Value) -> str:
    return one_line(value).removesuffix(" 00:00:00")  # a day that the spreadsheet keeps with a time


def _cell(raw: RawSheet, row: int, column: int) -> Value:
    values = raw.rows[row - 1] if 0 < row <= len(raw.rows) else ()
    return values[column - 1] if 0 < column <= len(values) else None


def is_date(value: Value) -> bool:
    """Tell whether a cell holds a date or a time of day, be it as text."""
    if isinstance(value, str):
        text = plain_moment(value)
        return bool(YEAR_FIRST.fullmatch(text) or DAY_OR_MONTH.fullmatch(text))
    return isinstance(value, date | time)


def is_number(value: Value) -> bool:
    """Tell whether a cell holds a number, be it as text with a decimal comma."""
    return bare_number(value) or (isinstance(value, str) and bool(SPACED_NUMBER.fullmatch(value.strip())))


def _is_text(value: Value) -> bool:
    return not blank(value) and not is_number(value) and not is_date(value)


def _filled(raw: RawSheet, row: int, area: Area) -> dict[int, Value]:
    values = raw.rows[row - 1][area.left - 1 : area.right]
    return {area.left + at: value for at, value in enumerate(values) if not blank(value)}


# --- the parts of a sheet


def tables_of(raw: RawSheet) -> Found:
    """Return what stands on a sheet: its tables from top to bottom, its pairs, its texts."""
    tables: list[FoundTable] = []
    pairs: list[Pairs] = []
    texts: list[str] = []
    over: list[str] = []  # what stands alone right before an area
    for area in _areas(raw):
        if len(tables) >= MOST_TABLES:
            break
        found = [] if _is_of_facts(raw, area) else _tables_in(raw, area)
        if (not found or _is_headed_by_data(raw, found[0])) and _continued(raw, area, tables):
            continue
        paired = None if found else _pairs_in(raw, area)
        if found:
            tables += [_with_above(table, texts) for table in found]
        elif paired:
            pairs.append(replace(paired, title=" ".join((*over, paired.title)).strip()))
        over = [] if found or paired else _texts_in(raw, area)
        texts += over
    return Found(tuple(map(_without_strays, tables)), tuple(pairs), tuple(texts))


def _is_headed_by_data(raw: RawSheet, table: FoundTable) -> bool:
    """Tell whether a header is a label with numbers, as the first row of a group that has no header of its own."""
    filled = _filled(raw, table.header[-1], table.area)
    label, *others = filled.values()
    named = is_worded(one_line(label)) or folded(one_line(label)) in TOTALS
    return len(table.header) == 1 and not named and bool(others) and all(map(is_number, others))


def _areas(raw: RawSheet) -> Iterator[Area]:
    """Yield the parts between blank rows, and in each those between blank columns, from the top and the left."""
    for rows in _runs([any(not blank(value) for value in row) for row in raw.rows]):
        band = raw.rows[rows[0] - 1 : rows[1]]
        width = max(map(len, band))
        held = [any(at < len(row) and not blank(row[at]) for row in band) for at in range(width)]
        for left, right in _runs(held):
            whole = Area(rows[0], left, rows[1], right)
            yield from _trimmed_apart(raw, whole)


def _runs(held: Sequence[bool]) -> list[tuple[int, int]]:
    """Return the first and last number, counted from 1, of each unbroken run."""
    runs = []
    for is_held, places in groupby(enumerate(held, 1), key=lambda place: place[1]):
        if is_held:
            numbers = [number for number, _ in places]
            runs.append((numbers[0], numbers[-1]))
    return runs


def _trimmed_apart(raw: RawSheet, area: Area) -> Iterator[Area]:
    """Yield an area without blank rows at its ends; parts with a blank row between them come apart."""
    held = [bool(_filled(raw, row, area)) for row in range(area.top, area.bottom + 1)]
    for first, last in _runs(held):
        yield Area(area.top + first - 1, area.left, area.top + last - 1, area.right)


def _continued(raw: RawSheet, area: Area, tables: list[FoundTable]) -> bool:
    """Add the rows of an area without a header to the last table above it in the same columns, if they are alike."""
    for index in range(len(tables) - 1, -1, -1):
        table = tables[index]
        if area.top <= table.area.bottom or not _alike(raw, area, table):
            continue
        whole = Area(table.area.top, table.area.left, area.bottom, table.area.right)
        rows = range(area.top, area.bottom + 1)
        tables[index] = _read_table(raw, whole, table.header, [*_all_rows(table), *rows], table)
        return True
    return False


def _all_rows(table: FoundTable) -> list[int]:
    return sorted({*table.rows, *table.totals, *table.skipped, *(row for row, _ in table.sections)})


def _alike(raw: RawSheet, area: Area, table: FoundTable) -> bool:
    """Tell whether an area has numbers where a table has them, so that it goes on with the table's rows."""
    if area.left < table.area.left or area.right > table.area.right:
        return False
    columns = [at for at in table.headers if at <= area.right and _share(table.values(at), is_number) > 0.5]
    rows = [_filled(raw, row, area) for row in range(area.top, area.bottom + 1)]
    with_numbers = sum(any(is_number(row.get(at)) for at in columns) for row in rows)
    return (with_numbers * 2 >= len(rows) and with_numbers > 0) or _is_section_alone(rows, table)


def _is_section_alone(rows: Sequence[dict[int, Value]], table: FoundTable) -> bool:
    return bool(table.sections) and len(rows) == 1 and len(rows[0]) == 1


# --- headers


def _tables_in(raw: RawSheet, area: Area) -> list[FoundTable]:
    """Return the tables of an area: one, several side by side, or several one below the other."""
    top = _header_row(raw, area)
    if top is None:
        return []
    sides = _side_by_side(raw, area, (top,))
    header = _whole_header(raw, area, top) if len(sides) == 1 else (top,)
    found = []
    for left, right in sides:
        side = Area(area.top, left, area.bottom, right)
        found += _one_below_the_other(raw, side, header)
    return found


def _header_row(raw: RawSheet, area: Area) -> int | None:
    last = min(area.bottom - 1, area.top + ROWS_TRIED)
    scored = [(header_score(raw, row, area), -row) for row in range(area.top, last + 1)]
    best, row = max(scored, default=(0.0, 0))
    return -row if best >= HEADER_ENOUGH else _header_of_trays(raw, area)


def _header_of_trays(raw: RawSheet, area: Area) -> int | None:
    """Return the row over a list of trays and their treatments, which has no numbers below it; None where none is."""
    for row in range(area.top, min(area.bottom - 1, area.top + 3) + 1):
        line = _filled(raw, row, area)
        roles = {role.role.name: at for at, value in line.items() for role in roles_of(one_line(value))[:1]}
        if len(line) > 1 and {"Tray", "Treatment"} <= set(roles):
            codes = [one_line(_cell(raw, below, roles["Tray"])) for below in range(row + 1, area.bottom + 1)]
            return row if len(set(codes)) == len(codes) > 1 else None
    return None


def header_score(raw: RawSheet, row: int, area: Area) -> float:
    """Return how far a row looks like a header, 0 to about 5: its texts, known words, numbers below, its width."""
    filled = _filled(raw, row, area)
    below = [_filled(raw, at, area) for at in range(row + 1, min(area.bottom, row + ROWS_WEIGHED) + 1)]
    if not below or len(filled) < min(2, area.right - area.left + 1) or _too_long(filled):
        return 0.0
    texts = [value for value in filled.values() if _is_text(value)]
    if any(one_line(value).endswith(":") for value in texts):
        return 0.0  # a fact, such as "Crop:" and what it is, and no header
    measured = {at for at in filled if _share([line.get(at) for line in below if at in line], _is_measured) > 0.5}
    if not texts or not measured or (len(texts) < len(filled) and not _is_series(filled)):
        return 0.0
    worded = sum(is_worded(one_line(value)) for value in texts) / len(filled)
    width = len({at for line in below for at in line}) or 1
    distinct = len({folded(one_line(value)) for value in filled.values()}) / len(filled)
    numbers_under_text = sum(at in measured for at in filled) / len(filled)
    return 1.0 + 1.5 * worded + numbers_under_text + min(1.0, len(filled) / width) + 0.4 * distinct


def _is_measured(value: Value) -> bool:
    return is_number(value) or is_date(value) or bool(number_in(value))


def number_in(value: Value) -> str:
    """Return the number of a text that has its unit behind it, such as "34.2 g"; empty where it has none."""
    found = WITH_UNIT.fullmatch(value.strip()) if isinstance(value, str) else None
    return found[1].strip() if found and is_number(found[1].strip()) and is_unit(found[2]) else ""


def _too_long(filled: dict[int, Value]) -> bool:
    return any(isinstance(value, str) and len(value) > LONGEST_HEADER for value in filled.values())


def _is_series(filled: dict[int, Value]) -> bool:
    """Tell whether the cells that are no text head a wide table: rising numbers or dates behind one text at least."""
    others = [value for value in filled.values() if not _is_text(value)]
    if len(others) < 2 or not _is_text(next(iter(filled.values()))):
        return False
    return any(_rises([_in_order(value, day_first) for value in others]) for day_first in (True, False))


def _rises(keys: Sequence[tuple[int, float]]) -> bool:
    return all(first < second for first, second in pairwise(keys)) and len({key[0] for key in keys}) == 1


def _in_order(value: Value, day_first: bool) -> tuple[int, float]:
    if isinstance(value, datetime):
        return 1, value.timestamp()
    if isinstance(value, date):
        return 1, float(value.toordinal())
    if is_date(value):
        return _text_in_order(one_line(value), day_first)
    text = one_line(value).replace(",", ".")
    return (0, float(text)) if bare_number(text) else (2, 0.0)


def _text_in_order(text: str, day_first: bool) -> tuple[int, float]:
    try:
        return 1, TextDates(day_first, mixed=False).read(plain_moment(text)).timestamp()
    except Undated:
        return 2, 0.0


def _whole_header(raw: RawSheet, area: Area, row: int) -> tuple[int, ...]:
    """Return the rows of a header: one, or two where the row above or below belongs to it."""
    filled = _filled(raw, row, area)
    if row + 1 < area.bottom and _heads_too(raw, area, row + 1):
        return row, row + 1
    if row > area.top and _is_upper_header(raw, area, row - 1, filled):
        return row - 1, row
    return (row,)


def _heads_too(raw: RawSheet, area: Area, row: int) -> bool:
    """Tell whether the row below a header still holds no data: texts alone, over columns of numbers, no units."""
    line, below = _filled(raw, row, area), _columns_below(raw, area, row)
    numeric = [at for at in line if _share(below[at], _is_measured) > 0.5]
    texts = [one_line(value) for value in line.values()]
    return (
        len(numeric) >= 2
        and all(_is_text(value) for value in line.values())
        and not _are_units(texts)
        and folded(texts[0]) not in TOTALS
    )


def _columns_below(raw: RawSheet, area: Area, row: int) -> dict[int, list[Value]]:
    rows = range(row + 1, min(area.bottom, row + ROWS_WEIGHED) + 1)
    columns = range(area.left, area.right + 1)
    return {at: [value for line in rows if not blank(value := _cell(raw, line, at))] for at in columns}


def _is_upper_header(raw: RawSheet, area: Area, row: int, lower: dict[int, Value]) -> bool:
    upper = _filled(raw, row, area)
    if not upper or not all(_is_text(value) for value in upper.values()) or _too_long(upper):
        return False
    names = [folded(one_line(value)) for value in lower.values()]
    spans = any(_spans(cells, row, area) for cells in raw.merged)
    repeated = len(set(names)) < len(names)
    fills_gap = any(at not in lower for at in upper) and len(upper) > 1
    return (spans or repeated or fills_gap) and not (len(upper) == 1 and not spans)


def _spans(cells: str, row: int, area: Area) -> bool:
    """Tell whether a merged range in the row heads several columns, and not the whole table."""
    left, top, right, _ = bounds_of(cells)
    return top == row and area.left <= left < right <= area.right and right - left < area.right - area.left


def _are_units(texts: Sequence[str]) -> bool:
    bare = [text.strip("()[] ") for text in texts]
    known = sum(is_unit(text) or text in ("", "-", "–", "/", "#", "no.", "nr") for text in bare)
    return known * 10 >= 7 * len(bare) and any(map(is_unit, bare))


def _side_by_side(raw: RawSheet, area: Area, header: tuple[int, ...]) -> list[tuple[int, int]]:
    """Return the column ranges of an area, cut where the header begins anew."""
    names = {at: folded(one_line(value)) for at, value in _filled(raw, header[-1], area).items()}
    columns = list(names)
    for size in range(2, len(columns) // 2 + 1):
        parts = [columns[at : at + size] for at in range(0, len(columns), size)]
        if len(header) == 1 and len({tuple(names[at] for at in part) for part in parts}) == 1:
            return [(part[0], part[-1]) for part in parts]
    return [(area.left, area.right)]


def _one_below_the_other(raw: RawSheet, area: Area, header: tuple[int, ...]) -> list[FoundTable]:
    """Return a table, or several where its header stands again further down."""
    names = _names(raw, header[-1], area)
    again = [row for row in range(header[-1] + 1, area.bottom + 1) if _names(raw, row, area) == names]
    tops = [header, *((row,) for row in again)]
    ends = [*(top[0] - 1 for top in tops[1:]), area.bottom]
    found: list[FoundTable] = []
    for top, end in zip(tops, ends, strict=True):
        above = _texts_over(raw, area, top[0], found)
        part = Area(top[0], area.left, end, area.right)
        table = _read_table(raw, part, top, range(top[-1] + 1, end + 1), None)
        found.append(_with(table, above=above))
    return [table for table in found if table.rows]


def _names(raw: RawSheet, row: int, area: Area) -> tuple[str, ...]:
    return tuple(folded(one_line(_cell(raw, row, at))) for at in range(area.left, area.right + 1))


def _texts_over(raw: RawSheet, area: Area, row: int, before: list[FoundTable]) -> tuple[str, ...]:
    """Return the texts that stand alone in the rows over a header, the nearest first."""
    first = area.top if not before else row - 1
    lone = []
    for above in range(row - 1, first - 1, -1):
        filled = _filled(raw, above, area)
        if filled:
            lone.append(": ".join(one_line(value).rstrip(":") for value in filled.values()))
    return tuple(lone)


# --- rows


def _read_table(
    raw: RawSheet, area: Area, header: tuple[int, ...], rows: Sequence[int], before: FoundTable | None
) -> FoundTable:
    """Return a table whose rows are told apart: units, sections, totals, notes, data."""
    bare = FoundTable(raw, area, header, ())
    columns = list(bare.headers)
    if not columns:
        return bare
    levels = {at for at in columns if _names_levels([_cell(raw, row, at) for row in rows])}
    codes = {at: {folded(one_line(_cell(raw, row, at))) for row in rows} - {""} for at in columns if at not in levels}
    kinds = _without_codes([(row, _kind_of(raw, row, columns, levels, codes)) for row in rows])
    kinds = kinds if len(columns) > 2 else list(_with_lone(raw, columns, kinds))
    statistics = below_totals(kinds, lambda row: _filled(raw, row, area))
    kinds = [(row, "total" if row in statistics else kind) for row, kind in kinds]
    units = before.units if before else _unit_row(raw, area, header)
    unit_row = {header[-1] + 1} if units else set()
    data = [row for row, kind in kinds if kind == "data" and row not in unit_row]
    sections = [(row, _lone(raw, row, area)) for row, kind in kinds if kind == "lone" and row not in unit_row]
    last = max(data, default=0)
    notes = [text for row, text in sections if row > last] + _beside(raw, area, columns, data)
    return FoundTable(
        raw,
        area,
        header,
        tuple(data),
        units,
        tuple((row, text) for row, text in sections if row < last),
        tuple(row for row, kind in kinds if kind == "total"),
        tuple(sorted({row for row, _ in sections if row > last} | unit_row)),
        before.above if before else (),
        tuple(notes),
    )


def _names_levels(values: Sequence[Value]) -> bool:
    """Tell whether texts stand again and again, as names of treatments do: Media, the middle dose, is one."""
    counts = Counter(folded(one_line(value)) for value in values if not blank(value))
    others = [count for word, count in counts.items() if word not in TOTALS]
    texts = all(_is_text(value) for value in values if not blank(value))
    return texts and len(others) > 1 and min(counts.values()) > 1


def _kind_of(raw: RawSheet, row: int, columns: Sequence[int], levels: Set[int], codes: Mapping[int, Set[str]]) -> str:
    """Return what a row is: blank, total, short (by a word such as n), lone (over or below the rows), or data."""
    line = {at: value for at in columns if not blank(value := _cell(raw, row, at))}
    if not line:
        return "blank"
    gaps = len(line) < len(columns)
    first = list(line)[:3] if gaps else [at for at in list(line)[:3] if at not in levels]
    words = {folded(one_line(line[at])) for at in first if isinstance(line[at], str)} & TOTALS
    if words:
        return "total" if max(map(len, words)) >= SHORTEST_TOTAL else "short, with gaps" if gaps else "short"
    if any(isinstance(line[at], str) and totals_of(one_line(line[at]), codes.get(at, ())) for at in first):
        return "total"
    if len(columns) > 2 and len(line) == 1 and _is_text(next(iter(line.values()))):
        return "lone"
    return "data"


def _with_lone(raw: RawSheet, columns: Sequence[int], kinds: Sequence[tuple[int, str]]) -> Iterator[tuple[int, str]]:
    """Yield what rows of a narrow table are: among numbers, a text with nothing beside it stands over others."""
    numbers = [is_number(_cell(raw, row, columns[0])) for row, kind in kinds if kind == "data"]
    is_numbered = len(columns) > 1 and sum(numbers) * 2 > len(numbers)
    for row, kind in kinds:
        first, *others = (_cell(raw, row, at) for at in columns)
        alone = kind == "data" and is_numbered and _is_text(first) and all(map(blank, others))
        yield row, "lone" if alone else kind


def _without_codes(kinds: list[tuple[int, str]]) -> list[tuple[int, str]]:
    """Return what rows are once words that are codes are told from those for totals.

    A row by a short word is one of totals only beside another, or where it is the only one and lacks values: N may
    stand for no, SE for a corner. Where a third of the rows and more have such a word it is the name of something.
    """
    named = sum(kind == "total" for _, kind in kinds) * 3 >= sum(kind != "blank" for _, kind in kinds)
    usual = [(row, "data" if named and kind == "total" else kind) for row, kind in kinds]
    only = sum(kind.startswith("short") for _, kind in usual) == 1
    sure: list[tuple[int, str]] = []
    for at, (row, kind) in enumerate(usual):
        beside = {*(one for _, one in sure[-1:]), *(one for _, one in usual[at + 1 : at + 2])}
        is_total = "total" in beside or (only and kind == "short, with gaps")
        sure.append((row, ("total" if is_total else "data") if kind.startswith("short") else kind))
    return sure


def _lone(raw: RawSheet, row: int, area: Area) -> str:
    return ": ".join(one_line(value).rstrip(":") for value in _filled(raw, row, area).values())


def _unit_row(raw: RawSheet, area: Area, header: tuple[int, ...]) -> dict[int, str]:
    line = _filled(raw, header[-1] + 1, area) if header[-1] < area.bottom else {}
    texts = {at: one_line(value).strip("()[] ") for at, value in line.items()}
    if not line or not all(map(_is_text, line.values())) or not _are_units(list(texts.values())):
        return {}
    return {at: text for at, text in texts.items() if is_unit(text)}


def _beside(raw: RawSheet, area: Area, columns: Sequence[int], rows: Sequence[int]) -> list[str]:
    """Return the texts in columns without a header: notes that somebody wrote beside the table."""
    nameless = [at for at in range(area.left, area.right + 1) if at not in columns]
    lines = ((one_line(_cell(raw, row, at)) for at in nameless) for row in rows) if nameless else ()
    return [" ".join(filter(None, texts)) for texts in map(list, lines) if any(texts)]


def _with(table: FoundTable, above: tuple[str, ...]) -> FoundTable:
    return FoundTable(
        table.raw,
        table.area,
        table.header,
        table.rows,
        table.units,
        table.sections,
        table.totals,
        table.skipped,
        above,
        table.notes,
    )


def _with_above(table: FoundTable, texts: list[str]) -> FoundTable:
    """Return the table with the last text that stood alone before it, where nothing stands right over it."""
    above = table.above or tuple(texts[-1:])
    texts.clear()
    return _with(table, above)


def _without_strays(table: FoundTable) -> FoundTable:
    """Return the table without the last rows that lack nearly all of its values, such as a typed remark."""
    columns = list(table.headers)
    if len(columns) < 4 or len(table.rows) < 4:
        return table
    stray = [row for row in table.rows[-3:] if sum(not blank(_cell(table.raw, row, at)) for at in columns) <= 1]
    if not stray:
        return table
    rows = tuple(row for row in table.rows if row not in stray)
    skipped = tuple(sorted((*table.skipped, *stray)))
    return FoundTable(
        table.raw,
        table.area,
        table.header,
        rows,
        table.units,
        table.sections,
        table.totals,
        skipped,
        table.above,
        table.notes,
    )


# --- what is no table


def _is_of_facts(raw: RawSheet, area: Area) -> bool:
    """Tell whether an area tells facts of the trial: half its rows and more begin with a word for one."""
    if area.right - area.left > 2 or area.bottom - area.top > MOST_FACTS:
        return False
    lines = [list(_filled(raw, row, area).values()) for row in range(area.top, area.bottom + 1)]
    known = {word for words in FACTS.values() for word in words.split()}
    named = sum(len(line) > 1 and folded(one_line(line[0]).rstrip(": =")) in known for line in lines)
    return named > 0 and named * 2 >= len(lines)


def _pairs_in(raw: RawSheet, area: Area) -> Pairs | None:
    """Return the pairs of an area where most rows are a text and what belongs to it."""
    lines = [_filled(raw, row, area) for row in range(area.top, area.bottom + 1)]
    two = [list(line.values()) for line in lines if len(line) == 2]
    inline = [_inline(line) for line in lines if len(line) == 1]
    found = [(one_line(first).rstrip(": ="), second) for first, second in two]
    found += [pair for pair in inline if pair]
    first = lines[0] if len(lines[0]) == 1 and not _inline(lines[0]) else {}
    title = " ".join(map(one_line, first.values()))
    return Pairs(raw, area, tuple(found), title) if found and len(found) * 2 >= len(lines) else None


def _inline(line: dict[int, Value]) -> tuple[str, Value] | None:
    """Return the two parts of a text such as "Crop: basil" or "W = warm"."""
    found = re.fullmatch(r"\s*([^:=]{1,40}?)\s*[:=]\s*(\S.*)", one_line(next(iter(line.values()))))
    return (found[1], found[2]) if found else None


def _texts_in(raw: RawSheet, area: Area) -> list[str]:
    rows = range(area.top, area.bottom + 1)
    return [" ".join(one_line(value) for value in _filled(raw, row, area).values()) for row in rows]


def _share(values: Sequence[Value], test: Callable[[Value], bool]) -> float:
    return sum(map(test, values)) / len(values) if values else 0.0


__all__ = ["Area", "Found", "FoundTable", "Pairs", "header_score", "is_date", "is_number", "split_unit", "tables_of"]
