"""The rows of one table of its owner's own layout, column by column in the names of the declaration."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import fsum
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.adopt.columns import NUMBERS, column_called, kind_of, sheet_called
from reportgen.adopt.ditto import repeated
from reportgen.adopt.grid import Grid, one_line
from reportgen.adopt.mapping import Adoption, Source, TableMapping
from reportgen.adopt.matching import level_and_unit
from reportgen.adopt.moments import at_time, plain_moment
from reportgen.adopt.numbers import TextNumbers
from reportgen.workbook.dates import DAY_OR_MONTH, TextDates, Undated
from reportgen.workbook.declaration import GROWTH, PLANTS, SOLUTION, Kind
from reportgen.workbook.headers import folded, header
from reportgen.workbook.raw import RawSheet, Value, bounds_of
from reportgen.workbook.values import blank

DATES: Final = (Kind.DATE, Kind.MOMENT)
DEAD: Final = "dead"


@dataclass(frozen=True)
class Lines:
    """Some columns of a table: `numbers` are the rows that they stand in on the sheet, `columns` their values."""

    numbers: tuple[int, ...]
    columns: Mapping[str, tuple[Value, ...]]

    def without(self, rows: set[int]) -> "Lines":
        """Return the lines but those in `rows`, numbers of the sheet."""
        kept = [index for index, number in enumerate(self.numbers) if number not in rows]
        return self.at(kept)

    def at(self, indices: Sequence[int]) -> "Lines":
        """Return the lines at `indices`."""
        columns = {name: tuple(values[index] for index in indices) for name, values in self.columns.items()}
        return Lines(tuple(self.numbers[index] for index in indices), columns)

    def value(self, index: int, name: str) -> Value:
        """Return what stands in a line in the column `name`, None where there is no such column."""
        return self.columns[name][index] if name in self.columns else None


@dataclass(frozen=True)
class Taken:
    """A table's lines, where its columns stand on the sheet and in which units, and the rows that were left out.

    `file` is the file's name, `place` how its sheet is named in messages. `letters` has no column for what is the same
    in every row. `cells` has, by declared column, the rows whose cell holds a word for no value; `dropped` are the
    lines that say nothing for want of a value.
    """

    mapping: TableMapping
    raw: RawSheet
    file: str
    place: str
    letters: Mapping[str, int]
    units: Mapping[str, str]
    lines: Lines
    left_out: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    cells: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    dropped: Lines = field(default_factory=lambda: Lines((), {}))
    index: int = 0  # which table of the settings file it is

    @cached_property
    def grid(self) -> Grid:
        """Return the part of the sheet that the table is."""
        return Grid.of(self.raw, self.mapping)

    @cached_property
    def codes(self) -> frozenset[str]:
        """Return what the rows name, folded: trays, plants and treatments."""
        named = ("Tray", "Plant", "Treatment")
        values = {value for name in named for value in self.lines.columns.get(name, ()) if not blank(value)}
        return frozenset(folded(one_line(value)) for value in values)

    def cell(self, name: str, row: int) -> str:
        """Return the address of a cell on the sheet; of the row where the column does not stand there."""
        return f"{get_column_letter(self.letters[name])}{row}" if self.letters.get(name) else f"{row}:{row}"


def taken(raw: RawSheet, mapping: TableMapping, adoption: Adoption, names: tuple[str, str]) -> Iterator[Taken]:
    """Yield what a mapping that fits takes of a sheet: a wide table gives one part for each column turned long.

    `names` are the file's name and how the sheet is named in messages.
    """
    for one in _long(mapping):
        yield _Table(raw, one, adoption, mapping.wide.values if mapping.wide else "").taken(names)


def _long(mapping: TableMapping) -> Iterator[TableMapping]:
    """Yield a wide mapping as one for each of its columns, any other as it is."""
    wide = mapping.wide
    if not wide:
        yield mapping
        return
    for text in wide.headers:
        value = replace(mapping, wide=None, columns={**mapping.columns, wide.values: Source(text, wide.unit)})
        name = level_and_unit(text)[0]
        told = {"Treatment": name} if wide.names == "Tray" and mapping.treatment else {}
        yield replace(value, constants={**mapping.constants, wide.names: wide.prefix + name, **told})


@dataclass(frozen=True)
class _Table:
    """A mapping on its sheet, with the words that stand for something."""

    raw: RawSheet
    mapping: TableMapping
    adoption: Adoption
    turned: str = ""  # the column whose cells stand under several headers

    @cached_property
    def grid(self) -> Grid:
        return Grid.of(self.raw, self.mapping)

    @cached_property
    def letters(self) -> Mapping[str, int]:
        return {name: self.grid.columns_named(source.header)[0] for name, source in self.mapping.columns.items()}

    def taken(self, names: tuple[str, str]) -> Taken:
        every = [row for row in self.grid.rows if row not in self.mapping.exclude_rows]
        sections = self._sections(every)
        filled = [row for row in every if row not in sections and self._is_filled(row)]
        columns = {name: self._column(name, every, set(filled)) for name in self.letters}
        columns |= {name: self._timed(columns[name], every) for name in self._moments()}
        columns |= {name: [value] * len(every) for name, value in self.mapping.constants.items()}
        if self.mapping.sections:
            named = _carried(sections.get(row) for row in every)
            both = self.mapping.sections == "Tray" and self.mapping.treatment
            columns |= {self.mapping.sections: named, **({"Treatment": named} if both else {})}
        lines = Lines(tuple(every), {name: tuple(values) for name, values in columns.items()})
        return self._read(lines.without(set(every) - set(filled)), names)

    def _moments(self) -> Iterator[str]:
        """Yield the columns of days whose times stand in a column beside them."""
        for name in self.letters if self.mapping.time else ():
            if kind_of(self.mapping.gives, name) is Kind.MOMENT:
                yield name

    def _timed(self, days: Sequence[Value], rows: Sequence[int]) -> list[Value]:
        at = self.grid.columns_named(self.mapping.time)[0]
        return [at_time(day, self.grid.value(row, at)) for day, row in zip(days, rows, strict=True)]

    def _is_filled(self, row: int) -> bool:
        return any(
            not blank(self.grid.value(row, column)) or (row, column) in self.raw.uncomputed
            for column in self.letters.values()
        )

    def _sections(self, rows: Sequence[int]) -> Mapping[int, str]:
        """Return the texts that stand alone in their rows, where the mapping has such sections."""
        found = {}
        for row in rows if self.mapping.sections else ():
            held = [self.grid.value(row, at) for at in range(self.grid.left, self.grid.right + 1)]
            texts = [value for value in held if not blank(value)]
            if len(texts) == 1 and isinstance(texts[0], str) and not _is_number(texts[0]):
                found[row] = one_line(texts[0])
        return found

    def _column(self, name: str, rows: Sequence[int], filled: set[int]) -> list[Value]:
        """Return the cells of a column: of columns that are read together their sums, or texts with a plus between."""
        text = self.mapping.columns[name].header
        together = () if text in self.grid.headers.values() else self.grid.joined(text)
        if not together:
            return self._cells(self.letters[name], name, rows, filled)
        held = [self._cells(at, name, rows, filled) for at in together]
        if kind_of(self.mapping.gives, name) in NUMBERS:
            codes = self.mapping.columns[name].codes
            known = zip(together, held, strict=True)
            parts = [self._numbers(at, values, rows, codes) for at, values in known]
            if together == self.grid.less(text):
                parts[1] = [-value if isinstance(value, int | float) else value for value in parts[1]]
            return list(map(_added, zip(*parts, strict=True)))
        return [" + ".join(map(one_line, values)) if all(values) else None for values in zip(*held, strict=True)]

    def _numbers(self, at: int, values: Sequence[Value], rows: Sequence[int], codes: Mapping[str, str]) -> list[Value]:
        """Return the cells of one of several columns that are added up as numbers, with what `codes` say of words."""
        computed = [(row, at) not in self.raw.uncomputed for row in rows]
        meant = [_meant(value, codes) if known else value for value, known in zip(values, computed, strict=True)]
        numbers = TextNumbers.of(meant)
        return [numbers.read(value) for value in meant]

    def _cells(self, at: int, name: str, rows: Sequence[int], filled: set[int]) -> list[Value]:
        """Return the cells of a column with what was corrected, merged cells and what is filled down."""
        corrected = {bounds_of(cell)[:2]: value for cell, value in self.mapping.corrected.items()}
        values = [corrected.get((at, row), self.grid.value(row, at)) for row in rows]
        if kind_of(self.mapping.gives, name) not in NUMBERS:
            values = list(repeated(self._merged(at, rows, values)))
        filled_down = {column for text in self.mapping.fill_down for column in self.grid.columns_named(text)}
        return _filled_down(rows, values, filled) if at in filled_down else values

    def _merged(self, column: int, rows: Sequence[int], values: list[Value]) -> list[Value]:
        held = dict(zip(rows, values, strict=True))
        for cells in self.raw.merged:
            left, top, right, bottom = bounds_of(cells)
            if left <= column <= right:
                held |= dict.fromkeys(
                    (row for row in range(top, bottom + 1) if row in held), self.grid.value(top, left)
                )
        return [held[row] for row in rows]

    # --- what the values mean

    def _read(self, lines: Lines, names: tuple[str, str]) -> Taken:
        missing = {name: self._stands_for(name, lines, self._missing(name)) for name in self.letters}
        lost = self._lost(lines)
        columns: Mapping[str, tuple[Value, ...]] = {
            name: self._values(name, values, missing.get(name, set())) for name, values in lines.columns.items()
        }
        if self.mapping.gives == PLANTS.name and lost:
            columns = _with_losses(columns, lost, len(lines.numbers))
        unweighed = {index for name in self._needed() for index in missing.get(name, ()) if index not in lost}
        rows = {index: lines.numbers[index] for index in range(len(lines.numbers))}
        left_out = {
            "excluded": tuple(row for row in self.mapping.exclude_rows if row in self.grid.rows),
            "missing": tuple(rows[index] for index in sorted(unweighed)),
        }
        kept = Lines(lines.numbers, columns).without(set(left_out["missing"]))
        cells = {name: tuple(rows[at] for at in sorted(found - unweighed - lost)) for name, found in missing.items()}
        lost_rows = {"lost": tuple(rows[index] for index in sorted(lost))}
        found = Taken(
            self.mapping, self.raw, *names, self.letters, self._units(), kept, {**left_out, **lost_rows}, cells
        )
        return replace(found, dropped=Lines(lines.numbers, columns).at(sorted(unweighed)))

    def _missing(self, name: str) -> Sequence[str]:
        """Return the words for no value: a blank too in columns turned long, and where nothing was poured that day."""
        poured = self.mapping.gives == SOLUTION.name and "Event" in self.mapping.constants and name == "Volume"
        blank_too = poured or (name == self.turned and "" not in self.adoption.lost)
        return (*self.adoption.missing, "") if blank_too else self.adoption.missing

    def _needed(self) -> Iterator[str]:
        """Yield the columns without whose number a row says nothing."""
        sheet = sheet_called(self.mapping.gives)
        for column in sheet.columns if sheet else ():
            if column.kind is Kind.NUMBER and (column.required or column.guarded):
                yield column.name

    def _stands_for(self, name: str, lines: Lines, words: Sequence[str]) -> set[int]:
        """Return the indices of the lines whose cell in a column holds one of `words`.

        A 0 is such a word where plants are measured; elsewhere it is a reading, as the first one of a meter.
        """
        column = column_called(self.mapping.gives, name)
        kind = kind_of(self.mapping.gives, name)
        of_plants = self.mapping.gives in (PLANTS.name, GROWTH.name)
        quantity = of_plants and kind is Kind.NUMBER and (column is None or bool(column.unit))
        known = {word.casefold() for word in words if quantity or word != "0"}
        at = self.letters[name]
        return {
            index
            for index, (row, value) in enumerate(zip(lines.numbers, lines.columns[name], strict=True))
            if one_line(value).casefold() in known and (row, at) not in self.raw.uncomputed
        }

    def _lost(self, lines: Lines) -> set[int]:
        """Return the indices of the lines of plants that were lost: by their weight or their status."""
        if self.mapping.gives != PLANTS.name:
            return set()
        asked = [name for name in ("Fresh weight", "Status") if name in self.letters]
        status = self.mapping.columns.get("Status")
        told = {"", *map(str.casefold, status.codes if status else ())}  # what the owner says otherwise of a status
        words = {"Fresh weight": self.adoption.lost}
        words["Status"] = tuple(word for word in self.adoption.lost if word.casefold() not in told)
        said = {index for name in asked for index in self._stands_for(name, lines, words[name])}
        return said | self._meant_as_dead(lines)

    def _meant_as_dead(self, lines: Lines) -> set[int]:
        """Return the indices of the lines whose status is a code for a plant that died, as yes below Dead?."""
        source = self.mapping.columns.get("Status")
        codes = source.codes if source else {}
        values = lines.columns.get("Status", ()) if DEAD in codes.values() else ()
        return {index for index, value in enumerate(values) if _meant(value, codes) == DEAD}

    def _values(self, name: str, values: Sequence[Value], missing: set[int]) -> tuple[Value, ...]:
        held = [None if index in missing else value for index, value in enumerate(values)]
        kind = kind_of(self.mapping.gives, name)
        if kind in NUMBERS:
            numbers = TextNumbers.of(held)
            return tuple(numbers.read(value) for value in held)
        if kind in DATES:
            return tuple(_dated(value, self.mapping.day_first) for value in held)
        source = self.mapping.columns.get(name)
        codes = {**(source.codes if source else {}), **(self.mapping.treatment if name == "Treatment" else {})}
        return tuple(_meant(value, codes) for value in held) if codes else tuple(held)

    def _units(self) -> Mapping[str, str]:
        """Return the units that the mapping says, else those in brackets behind the headers; told values need none."""
        told = ((name, column_called(self.mapping.gives, name)) for name in self.mapping.constants)
        units = {name: column.unit for name, column in told if column and column.unit}
        for name, source in self.mapping.columns.items():
            units[name] = source.unit or header(self.grid.headers.get(self.letters[name], ""), 1, 1).unit
        return units


def _is_number(text: str) -> bool:
    return isinstance(TextNumbers(False, False).read(text), float)


def _added(values: Sequence[Value]) -> Value:
    """Return the sum of numbers, not known where one is blank; where a word stands among them, the word."""
    numbers = [value for value in values if isinstance(value, int | float) and not isinstance(value, bool)]
    if len(numbers) == len(values):
        return round(fsum(numbers), 9)
    return next((value for value in values if not blank(value) and value not in numbers), None)


def _carried(values: Iterable[Value]) -> list[Value]:
    last: Value = None
    carried = []
    for value in values:
        last = last if value is None else value
        carried.append(last)
    return carried


def _filled_down(rows: Sequence[int], values: Sequence[Value], filled: set[int]) -> list[Value]:
    """Return values with blanks filled from above, but not past a row without data: a new group begins there."""
    last: Value = None
    done: list[Value] = []
    for row, value in zip(rows, values, strict=True):
        last = (value if not blank(value) else last) if row in filled else None
        done.append(last)
    return done


def _dated(value: Value, day_first: object) -> Value:
    """Return a date that is kept as text with its whole year, and as a date where its order was said."""
    if not isinstance(value, str):
        return value
    text = plain_moment(value)
    if day_first is None or not DAY_OR_MONTH.fullmatch(text):
        return text
    try:
        return TextDates(day_first is True, mixed=False).read(text)
    except Undated:
        return value


def _meant(value: Value, codes: Mapping[str, str]) -> Value:
    text = one_line(value)
    if text in codes:
        return codes[text]
    return next((meant for known, meant in codes.items() if known.casefold() == text.casefold()), value)


def _with_losses(
    columns: Mapping[str, tuple[Value, ...]], lost: set[int], length: int
) -> Mapping[str, tuple[Value, ...]]:
    """Return the columns of plants with the status of those that were lost, and no text where a number would be."""
    held = {**columns, "Status": columns.get("Status", (None,) * length)}
    return {
        name: tuple(_of_lost(name, value) if index in lost else value for index, value in enumerate(values))
        for name, values in held.items()
    }


def _of_lost(name: str, value: Value) -> Value:
    if name == "Status":
        return DEAD
    is_text = isinstance(value, str) and kind_of(PLANTS.name, name) in NUMBERS
    zero = name == "Fresh weight" and value in (0, 0.0)
    return None if is_text or zero else value
