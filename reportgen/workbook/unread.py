"""Account for each cell of a sheet: it is read, or named in one message with its range."""

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from datetime import date
from enum import Enum
from itertools import pairwise
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.language import either, plural, say
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.dates import TextDates
from reportgen.workbook.declaration import Column, Kind, Sheet
from reportgen.workbook.headers import (
    Header,
    Matched,
    folded,
    missing,
    nearest,
    unused,
    what_is_named,
)
from reportgen.workbook.raw import Place, RawSheet, Value
from reportgen.workbook.values import Unreadable, bare_number, blank, quoted, reader, whole_text
from reportgen.workbook.vocabulary import (
    ENGLISH,
    Vocabulary,
    columns_by_name,
    trial_headings,
    trial_notes,
)

TRIED: Final = 50  # values that tell whether a column can be what is missing
LISTED: Final = (Kind.CHOICE, Kind.FLAG)  # columns that take a few words only
NAMED: Final = 3  # columns that are offered for values without a header


@dataclass(frozen=True)
class Unnamed:
    """Cells that nothing names: a column without a header, a value without a field.

    `cells` is their range, `name_at` the address that lacks the name, empty where a name there
    would not help. `is_lost` says that they are data whose name was lost rather than a note beside
    the data.
    """

    cells: str
    name_at: str
    values: tuple[Value, ...]
    is_lost: bool

    def suits(self, column: Column) -> bool:
        """Tell whether every value can be read as one of a declared column."""
        texts = TextDates.of(value for value in self.values if isinstance(value, str))
        read = reader(column, "", texts)
        try:
            for value in self.values[:TRIED]:
                read(value, "General")
        except Unreadable:
            return False
        return True


def area(rows: Sequence[int], columns: Sequence[int]) -> str:
    """Return the range that some rows and columns span, such as C2:C9."""
    first = f"{get_column_letter(min(columns))}{min(rows)}"
    last = f"{get_column_letter(max(columns))}{max(rows)}"
    if first == last:
        return first
    return f"{first}:{last}"


def filled_rows(raw: RawSheet, number: int, first: int = 1, last: int | None = None) -> list[int]:
    """Return the rows from `first` to `last` whose cell in a column is not blank.

    A formula without a value is no blank. Columns without any value are passed over at once, as a
    long log has few that are not read.
    """
    values = raw.columns[number - 1][first - 1 : last]
    formulas = {row for row, column in raw.uncomputed if column == number}
    if not formulas and values.count(None) == len(values):
        return []
    return [row for row, value in enumerate(values, first) if not blank(value) or row in formulas]


def content(raw: RawSheet, row: int, number: int) -> Value:
    """Return what a cell holds, the formula where it has no value."""
    value = raw.columns[number - 1][row - 1]
    if blank(value):
        return raw.uncomputed.get((row, number))
    return value


def _suits_any(column: Column, unnamed: Sequence[Unnamed]) -> bool:
    return any(cells.suits(column) for cells in unnamed)


def used_range(raw: RawSheet) -> str:
    """Return the range of all cells of a sheet that hold something; empty where none does."""
    by_column = {number: filled_rows(raw, number) for number in range(1, len(raw.columns) + 1)}
    columns = [number for number, rows in by_column.items() if rows]
    if not columns:
        return ""
    ends: list[int] = []
    for number in columns:
        ends += by_column[number][0], by_column[number][-1]
    return area(ends, columns)


# ---- beside the named columns --------------------------------------------------------------------


def columns_without_header(
    raw: RawSheet, top: int, named: Set[int], rows: Sequence[int], free: Sequence[Column]
) -> tuple[Unnamed, ...]:
    """Return the cells below the header row `top` in columns without a header.

    `named` are the numbers of the columns that have one, `rows` those with data, `free` the columns
    that the sheet lacks. Notes that stand side by side come as one.
    """
    filled: dict[int, list[int]] = {}
    for number in range(1, len(raw.columns) + 1):
        if number in named:
            continue
        filled_below = filled_rows(raw, number, top + 1)
        if filled_below:
            filled[number] = filled_below
    numbers = list(filled)
    data = set(rows)
    unnamed: list[Unnamed] = []
    notes: list[int] = []
    for number in numbers:
        cells = _unnamed(raw, top, [number], filled)
        position = _stands(number, numbers, named)
        if _is_lost(cells, position, _share(filled[number], data), free):
            unnamed.append(replace(cells, is_lost=True))
        else:
            notes.append(number)
    for run in _runs(notes):
        unnamed.append(_unnamed(raw, top, run, filled))
    return tuple(unnamed)


def _share(filled: Sequence[int], data: Set[int]) -> float:
    """Return the share of the rows of data that are filled."""
    inside = sum(row in data for row in filled)
    if not inside:
        return 0.0
    return inside / len(data)


def _unnamed(
    raw: RawSheet, top: int, numbers: Sequence[int], filled: Mapping[int, Sequence[int]]
) -> Unnamed:
    places = [(row, number) for number in numbers for row in filled[number]]
    values = tuple(content(raw, row, number) for row, number in places)
    cells = area([row for row, _ in places], numbers)
    return Unnamed(cells, f"{get_column_letter(numbers[0])}{top}", values, is_lost=False)


class _Stands(Enum):
    """Where a column without a header stands."""

    AMONG = "between named columns"
    NEXT = "beside the last named column, or beside others there"
    APART = "with an empty column between"


def _stands(number: int, places: Sequence[int], named: Set[int]) -> _Stands:
    if min(named) < number < max(named):
        return _Stands.AMONG
    end, step = (max(named), 1) if number > max(named) else (min(named), -1)
    between = set(range(end + step, number, step))
    if between <= set(places):
        return _Stands.NEXT
    return _Stands.APART


def _is_lost(cells: Unnamed, position: _Stands, share: float, free: Sequence[Column]) -> bool:
    """Tell whether cells are data whose name was lost.

    share: that of the rows of data that have one of them.
    """
    if share == 0:
        return False
    if position is _Stands.AMONG:
        return True
    if position is _Stands.NEXT and _has_data(cells, free):
        return True
    return len(cells.values) > 1 and share >= 1 / 2


def _has_data(cells: Unnamed, free: Sequence[Column]) -> bool:
    """Tell whether cells have a number, a day or words of a choice that the sheet lacks."""
    if any(map(_is_measurement, cells.values)):
        return True
    choices = [column for column in free if column.kind in LISTED]
    return any(cells.suits(column) for column in choices)


def _is_measurement(value: Value) -> bool:
    """Tell whether a value is a number or a day, and so no note."""
    return bare_number(value) or isinstance(value, date)


def _runs(numbers: Sequence[int]) -> Iterator[list[int]]:
    """Yield columns in groups of those that stand side by side."""
    run = list(numbers[:1])
    for before, number in pairwise(numbers):
        if number > before + 1:
            yield run
            run = []
        run.append(number)
    if run:
        yield run


def lacking(
    sheet: Sheet, headers: Sequence[Header], known: Matched
) -> tuple[tuple[Column, ...], tuple[Header, ...]]:
    """Return the columns that a sheet does not have, and the headers that are of no column."""
    present = {column.name for column, _ in known}
    names = columns_by_name(sheet).keys() | {header.folded for _, header in known}
    free = tuple(column for column in sheet.columns if column.name not in present)
    unknown = tuple(header for header in headers if header.folded not in names)
    return free, unknown


def _misspelt(column: Column, unknown: Iterable[str]) -> str:
    """Return the unknown header that is probably a column that may not be missed; else empty."""
    if column.required or column.guarded:
        return nearest(column.name, list(unknown))
    return ""


@dataclass(frozen=True)
class Nameless:
    """What a sheet has no names for.

    `free` are the columns that it lacks, `unknown` the headers that fit none, `unnamed` the cells
    without a header, `words` those that columns are named in.
    """

    sheet: Sheet
    title: str
    free: tuple[Column, ...]
    unknown: tuple[Header, ...]
    unnamed: tuple[Unnamed, ...]
    words: Vocabulary = ENGLISH

    @property
    def in_doubt(self) -> tuple[str, ...]:
        """Return the columns that may stand there without their name."""
        lost = [cells for cells in self.unnamed if cells.is_lost]
        misspelt = [column.name for column in self.free if self._is_misspelt(column)]
        unnamed = [column.name for column in self.free if _suits_any(column, lost)]
        return *misspelt, *unnamed

    def _is_misspelt(self, column: Column) -> bool:
        """Tell whether an unknown header is probably a guarded column."""
        unknown = [header.text for header in self.unknown]
        return column.guarded and bool(nearest(self._spoken(column).name, unknown))

    def _spoken(self, column: Column) -> Column:
        """Return a column as it is called in the language of the workbook."""
        return self.words.spoken_column(self.sheet.name, column)

    def problems(self, ranges: Mapping[str, str]) -> Iterator[Problem]:
        """Yield one problem for each missing column, and for all cells that none explains.

        `ranges` holds what each unknown header names, by the header's address.
        """
        unknown = {header.text: header for header in self.unknown}
        unnamed = list(self.unnamed)
        free = [self._spoken(column) for column in self.free]
        for column in free:
            near = _misspelt(column, unknown)
            if near:
                unknown.pop(near)
                yield missing(self.sheet, self.title, column, near)
            elif column.required:
                yield self._missing(column, unnamed)
        for header in unknown.values():
            cells = ranges.get(header.cell, header.cell)
            yield unused(self.sheet, self.title, header, cells, free)
        for unnamed_cells in unnamed:
            yield _without_name(self.sheet, self.title, unnamed_cells, free)

    def _missing(self, column: Column, unnamed: list[Unnamed]) -> Problem:
        """Return the error of a missing column; take cells that it explains out of `unnamed`."""
        for cells in unnamed:
            if cells.is_lost and cells.suits(column):
                unnamed.remove(cells)
                return _lost_name(self.sheet, self.title, column, cells)
        return missing(self.sheet, self.title, column, "")


def _lost_name(sheet: Sheet, title: str, column: Column, cells: Unnamed) -> Problem:
    """Return the error of a column that must be there where values stand whose name was lost."""
    what = what_is_named(sheet)
    found = say(
        "no {what} {name}, but {cells} has no name", what=what, name=column.name, cells=cells.cells
    )
    advice = say(
        "If that is it, write {header} in {name_at}; else add the {what}.",
        header=column.header,
        name_at=cells.name_at,
        what=what,
    )
    return Problem(
        Severity.ERROR,
        title,
        cells.cells,
        found,
        say("a {what} {header}", what=what, header=column.header),
        advice,
        code="lost_name",
    )


def _without_name(sheet: Sheet, title: str, cells: Unnamed, free: Sequence[Column]) -> Problem:
    """Return the problem of unnamed cells: an error if they are data, else a remark."""
    number = len(cells.values)
    values = quoted(cells.values[0])
    if number > 1:
        values = say("{first} and {number} more", first=values, number=number - 1)
    what = what_is_named(sheet)
    if cells.is_lost:
        return Problem(
            Severity.ERROR,
            title,
            cells.cells,
            plural(
                "{values} has no {what} name: {name_at} is blank",
                "{values} have no {what} name: {name_at} is blank",
                number,
                values=values,
                what=what,
                name_at=cells.name_at,
            ),
            say("a {what} name", what=what),
            say(
                "Write in {name_at} what this is{such_as}, or clear the cells.",
                name_at=cells.name_at,
                such_as=_such_as(cells, free),
            ),
            code="values_without_name",
        )
    if cells.name_at:
        name_it = say(
            " If it belongs to the trial, write in {name_at} what it is.", name_at=cells.name_at
        )
    else:
        name_it = ""
    return Problem(
        Severity.REMARK,
        title,
        cells.cells,
        plural(
            "{values} stands beside the {what}s of this sheet",
            "{values} stand beside the {what}s of this sheet",
            number,
            values=values,
            what=what,
        ),
        say("a {what} of the data dictionary", what=what),
        say("It was left alone.{name_it}", name_it=name_it),
        code="values_beside_table",
    )


def _such_as(cells: Unnamed, free: Sequence[Column]) -> str:
    """Return the names that values without one may have, those that take no texts of any kind
    first.
    """
    suited = [column for column in free if cells.suits(column)]
    suited.sort(key=lambda column: column.kind is Kind.TEXT)
    named = [column.header for column in suited[:NAMED]]
    if named:
        return say(", such as {names}", names=either(named))
    return ""


# ---- above the header ----------------------------------------------------------------------------


def rows_above(
    sheet: Sheet, raw: RawSheet, top: int, columns: Mapping[str, int]
) -> Iterator[Problem]:
    """Yield an error for rows of data above the header row `top`, and a remark for titles there.

    `columns` holds the number of each declared column.
    """
    needed = _needed(sheet, columns)
    data: dict[int, list[int]] = {}
    titles: dict[int, list[int]] = {}
    for row in range(1, top):
        numbers = _filled_columns(raw, row)
        if not numbers:
            continue
        if needed and needed.issubset(numbers):
            data[row] = numbers
        else:
            titles[row] = numbers
    if data:
        yield _data_above(raw, data, top)
    if titles:
        yield _titles_above(raw, titles, top)


def _needed(sheet: Sheet, columns: Mapping[str, int]) -> set[int]:
    """Return the numbers of the required columns that are there."""
    required = [column.name for column in sheet.columns if column.required]
    return {columns[name] for name in required if name in columns}


def _filled_columns(raw: RawSheet, row: int, first: int = 1) -> list[int]:
    """Return the numbers of the columns, from the `first` on, that have a value in a row."""
    numbers = range(first, len(raw.columns) + 1)
    return [number for number in numbers if not blank(content(raw, row, number))]


def _data_above(raw: RawSheet, data: dict[int, list[int]], top: int) -> Problem:
    return Problem(
        Severity.ERROR,
        raw.name,
        _area_of(data),
        plural(
            "{number} row of data above the header in row {top}",
            "{number} rows of data above the header in row {top}",
            len(data),
            top=top,
        ),
        say("the header above all data"),
        say("Move the header up, or the rows below it."),
        code="data_above_header",
    )


def _titles_above(raw: RawSheet, titles: dict[int, list[int]], top: int) -> Problem:
    row, numbers = next(iter(titles.items()))
    title = quoted(content(raw, row, numbers[0]))
    return Problem(
        Severity.REMARK,
        raw.name,
        _area_of(titles),
        say("{content} stands above the header in row {top}", content=title, top=top),
        say("titles and notes only"),
        say("It was left alone."),
        code="title_above_header",
    )


def _area_of(places: Mapping[int, Sequence[int]]) -> str:
    columns: list[int] = []
    for numbers in places.values():
        columns += numbers
    return area(list(places), columns)


# ---- on the Trial sheet --------------------------------------------------------------------------


def beside_the_fields(raw: RawSheet) -> tuple[Unnamed, ...]:
    """Return values of the Trial sheet without a field, and what stands right of the values.

    What a blank workbook has there is known: its headings, what to write, and the notes below the
    fields.
    """
    rows = range(1, len(raw.rows) + 1)
    has_hints = any(_is_heading(raw, row, 3) for row in rows)
    lost: list[Unnamed] = []
    others: list[Place] = []
    for row in rows:
        is_note = _is_note_of_trial(raw, row)
        if _lacks_field(raw, row) and not is_note:
            lost.append(Unnamed(f"B{row}", f"A{row}", (content(raw, row, 2),), is_lost=True))
        first = 3
        if has_hints or is_note:
            first = 4
        others += [(row, number) for number in _filled_columns(raw, row, first)]
    if others:
        lost.append(_further_cells(raw, others))
    return tuple(lost)


def _further_cells(raw: RawSheet, places: Sequence[Place]) -> Unnamed:
    """Return cells that are no data as one range."""
    span = area([row for row, _ in places], [number for _, number in places])
    values = tuple(content(raw, row, number) for row, number in places)
    return Unnamed(span, "", values, is_lost=False)


def _is_note_of_trial(raw: RawSheet, row: int) -> bool:
    """Tell whether a row holds one of the notes below the fields."""
    if _text_in(raw, row, 1):
        return False
    return folded(_text_in(raw, row, 2)) in trial_notes()


def _lacks_field(raw: RawSheet, row: int) -> bool:
    """Tell whether a row has a value without a field, and no heading."""
    if _text_in(raw, row, 1) or not _text_in(raw, row, 2):
        return False
    return not _is_heading(raw, row, 2)


def _text_in(raw: RawSheet, row: int, number: int) -> str:
    if number <= len(raw.columns):
        value = content(raw, row, number)
    else:
        value = None
    if blank(value):
        return ""
    return whole_text(value)


def _is_heading(raw: RawSheet, row: int, number: int) -> bool:
    return folded(_text_in(raw, row, number)) in trial_headings()[number - 1]
