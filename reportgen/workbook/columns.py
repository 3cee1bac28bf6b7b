"""One column: its cells read in the declared unit, and what is said once for all of them."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import isnan
from typing import Final, cast

from reportgen.language import plural, say
from reportgen.model.problem import Problem, Severity, cells_of
from reportgen.workbook.cells import Value
from reportgen.workbook.dates import TextDates
from reportgen.workbook.declaration import Column, Kind
from reportgen.workbook.scales import scale_of
from reportgen.workbook.table import INVALID
from reportgen.workbook.units import UnitError, conversion, with_unit
from reportgen.workbook.values import (
    BEYOND_BELIEF,
    Reader,
    Unreadable,
    bare_number,
    expected,
    quoted,
    reader,
)
from reportgen.workbook.vocabulary import ENGLISH, Vocabulary

CHANGED_AT: Final = 1e11  # Excel shows longer numbers in powers of ten unless told otherwise
SAID_SINGLY: Final = 5  # more cells of one column with the same mistake are said in one message


@dataclass(frozen=True)
class ColumnCells:
    """The cells of one column: its `values` beside the `rows` they stand in.

    `heading` is the address of its name, `unit` the unit there, empty where it has none. `formats`
    holds the number formats that tell how a number was shown, by row; `uncomputed` the rows of
    formulas without a value; `merged` the first and last row of cells that were made one, their
    value standing in each of these rows here. `name` is the column's name as it stands in the
    sheet, `words` the language of what is said of it.
    """

    column: Column
    sheet: str
    letter: str
    heading: str
    unit: str
    rows: Sequence[int]
    values: Sequence[Value]
    formats: Mapping[int, str]
    uncomputed: frozenset[int]
    merged: tuple[tuple[int, int], ...] = ()
    name: str = ""
    words: Vocabulary = ENGLISH

    @property
    def header(self) -> str:
        """Return the name as it stands in the sheet, with the declared unit in brackets."""
        return replace(self.column, name=self.name, per=self.words.per).header

    @property
    def unknown(self) -> frozenset[int]:
        """Return the rows without a known value: not computed, or one number for several rows."""
        if not self.counts:
            return self.uncomputed
        rows = set(self.uncomputed)
        for first, last in self.merged:
            rows.update(range(first, last + 1))
        return frozenset(rows)

    @property
    def counts(self) -> bool:
        """Return whether the column holds numbers or classes, which belong to one row each."""
        return self.column.kind in (Kind.NUMBER, Kind.COUNT, Kind.AMOUNT, Kind.SCORE)

    def cells_in(self, rows: Sequence[int]) -> str:
        """Return the cells of this column in some rows, such as `C2:C9, C12`."""
        return cells_of(self.letter, rows)

    def remark(
        self, severity: Severity, found: str, expected: str, advice: str, *, code: str
    ) -> Problem:
        """Return a problem at the name of this column."""
        return Problem(severity, self.sheet, self.heading, found, expected, advice, code=code)


def read_column(cells: ColumnCells) -> tuple[tuple[Value, ...], tuple[Problem, ...]]:
    """Return the values of a column in its declared unit, and every problem of its cells.

    A blank cell gives None, one with a problem INVALID.
    """
    wrong = tuple(_wrong_unit(cells))
    if wrong:
        return (INVALID,) * len(cells.values), wrong
    values, unreadable = _read_each(cells)
    problems = [*_unreadable(cells, unreadable), *_uncomputed(cells), *_unusual(cells, values)]
    problems += _merged(cells)
    return values, (
        *problems,
        *_no_unit(cells),
        *_text_numbers(cells, values),
        *_numbers_as_codes(cells),
    )


def texts_with_units(cells: ColumnCells) -> dict[int, str]:
    """Return the texts of cells that hold a number with a unit of its own, by row."""
    if not cells.column.unit or str not in set(map(type, cells.values)):
        return {}
    texts: dict[int, str] = {}
    for row, value in zip(cells.rows, cells.values, strict=True):
        if isinstance(value, str) and value.strip() and not bare_number(value):
            texts[row] = value.strip()
    return texts


Refused = list[tuple[int, Value, Unreadable]]


def _read_each(cells: ColumnCells) -> tuple[tuple[Value, ...], Refused]:
    unknown = cells.unknown
    if not unknown and not cells.formats:
        values_at_once = _read_at_once(cells)
        if values_at_once is not None:
            return values_at_once, []
    texts = TextDates.of(value for value in cells.values if isinstance(value, str))
    read = _remembering(reader(cells.column, cells.unit, texts, cells.words))
    values: list[Value] = []
    refused: Refused = []
    for row, value in zip(cells.rows, cells.values, strict=True):
        if row in unknown:
            values.append(INVALID)
            continue
        try:
            values.append(read(value, cells.formats.get(row, "General")))
        except Unreadable as reason:
            refused.append((row, value, reason))
            values.append(INVALID)
    return tuple(values), refused


def _read_at_once(cells: ColumnCells) -> tuple[Value, ...] | None:
    """Return the values of a column with nothing but dates, or possible numbers; else None.

    It gives what reading cell by cell gives, without a call for each: a logger's column has 100,000
    cells.
    """
    types = set(map(type, cells.values)) - {type(None)}
    if cells.column.kind is Kind.MOMENT and types == {datetime}:
        return tuple(cells.values)
    if cells.column.kind is not Kind.NUMBER or not types <= {int, float}:
        return None
    numbers = _converted(cells)
    filled = [number for number in numbers if number is not None]
    if not filled or _possible(cells.column, filled):
        return numbers
    return None


def _converted(cells: ColumnCells) -> tuple[float | None, ...]:
    """Return the numbers of a column in its declared unit."""
    factor, offset = 1.0, 0.0
    unit = cells.column.unit
    if unit:
        factor, offset = conversion(cells.unit or unit, unit)
    numbers: list[float | None] = []
    for value in cast(Sequence[float | None], cells.values):
        if value is None:
            numbers.append(None)
        else:
            numbers.append(value * factor + offset)
    return tuple(numbers)


def _possible(column: Column, numbers: Sequence[float]) -> bool:
    low, high = min(numbers), max(numbers)
    return (
        not any(map(isnan, numbers))  # minimum and maximum may pass over it
        and -BEYOND_BELIEF <= low <= high <= BEYOND_BELIEF
        and (column.above is None or low > column.above)
        and (column.at_least is None or low >= column.at_least)
        and (column.at_most is None or high <= column.at_most)
    )


def _remembering(read: Reader) -> Reader:
    """Return a reader that reads equal texts once: a long column of codes has few."""
    known: dict[str, Value] = {}

    def remembered(value: Value, number_format: str) -> Value:
        if not isinstance(value, str):
            return read(value, number_format)
        if value not in known:
            known[value] = read(value, number_format)
        return known[value]

    return remembered


def _unreadable(cells: ColumnCells, refused: Refused) -> Iterator[Problem]:
    often = Counter(reason.found for _, _, reason in refused)
    together: dict[str, list[int]] = {}

    def group(row: int, reason: Unreadable) -> str:
        shared = reason.shared or often[reason.found] > SAID_SINGLY
        if shared:
            return reason.found
        return say("row {row}", row=row)

    for row, _, reason in refused:
        together.setdefault(group(row, reason), []).append(row)
    for row, value, reason in refused:
        rows = together.pop(group(row, reason), None)
        if rows:
            said = f"{quoted(value)}{_and_more(rows)} {reason.found}"
            yield Problem(
                Severity.ERROR,
                cells.sheet,
                cells.cells_in(rows),
                said,
                reason.expected,
                reason.advice,
                code=reason.code,
            )


def _and_more(rows: Sequence[int]) -> str:
    if len(rows) > 1:
        return say(" and {number} more", number=len(rows) - 1)
    return ""


def _wrong_unit(cells: ColumnCells) -> Iterator[Problem]:
    column = cells.column
    if column.trait and column.kind is not Kind.SCORE and scale_of(cells.unit):
        yield _scale_of_quantity(cells)
        return
    if not column.unit:
        return
    try:
        conversion(cells.unit or column.unit, column.unit)
    except UnitError as reason:
        found = say(
            '"{name} ({unit})" is not in a unit that can be used here',
            name=cells.name,
            unit=cells.unit,
        )
        advice = say(
            "Write the unit that the column is in, for example {header}.", header=cells.header
        )
        yield cells.remark(Severity.ERROR, found, str(reason), advice, code="unknown_unit")


def _scale_of_quantity(cells: ColumnCells) -> Problem:
    name, scale = cells.column.name, cells.unit
    return cells.remark(
        Severity.ERROR,
        say(
            '"{name} ({scale})" names a scale, and {name} is a quantity here',
            name=name,
            scale=scale,
        ),
        say("a quantity, or a score under a name of its own"),
        say("Rename a score, for example {name} score ({scale}).", name=name, scale=scale),
        code="scale_of_quantity",
    )


def _no_unit(cells: ColumnCells) -> Iterator[Problem]:
    column = cells.column
    if column.unit and not cells.unit and any(map(bare_number, cells.values)):
        said = cells.header.removeprefix(cells.name).strip(" ()")
        yield cells.remark(
            Severity.REMARK,
            say('"{name}" has no unit', name=cells.name),
            cells.header,
            say("It was taken as {said}.", said=said),
            code="unit_missing",
        )


def _uncomputed(cells: ColumnCells) -> Iterator[Problem]:
    if not cells.uncomputed:
        return
    rows = [row for row in cells.rows if row in cells.uncomputed]
    if rows:
        yield Problem(
            Severity.ERROR,
            cells.sheet,
            cells.cells_in(rows),
            plural(
                "{number} formula that no program has computed yet",
                "{number} formulas that no program has computed yet",
                len(rows),
            ),
            expected(cells.column, cells.words),
            say("Open the workbook in your spreadsheet program and save it, or type the values."),
            code="formula_not_computed",
        )


def _merged(cells: ColumnCells) -> Iterator[Problem]:
    if cells.counts:
        yield from _merged_numbers(cells)
    elif cells.merged:
        yield cells.remark(
            Severity.REMARK,
            say(
                "{name} has merged cells, the first {letter}{merged}",
                name=cells.name,
                letter=cells.letter,
                merged=cells.merged[0][0],
            ),
            say("a value in each row"),
            say("What stands in them was taken for each of their rows."),
            code="merged_cells",
        )


def _merged_numbers(cells: ColumnCells) -> Iterator[Problem]:
    """Yield an error for each range of numbers or classes that is one cell."""
    value = say("number")
    if cells.column.kind is Kind.SCORE:
        value = say("class")
    for first, last in cells.merged:
        yield Problem(
            Severity.ERROR,
            cells.sheet,
            cells.cells_in(range(first, last + 1)),
            say(
                "{letter}{first}:{letter}{last} is merged, one {what} for {number} rows",
                letter=cells.letter,
                first=first,
                last=last,
                what=value,
                number=last - first + 1,
            ),
            say("a {what} in each row", what=value),
            say("Unmerge the cells and type what belongs to each row."),
            code="merged_numbers",
        )


def _unusual(cells: ColumnCells, values: Sequence[Value]) -> Iterator[Problem]:
    if cells.column.usual is None:
        return
    low, high = cells.column.usual
    numbers = _numbers_by_row(cells.rows, values)
    if not numbers or low <= min(numbers.values()) <= max(numbers.values()) <= high:
        return
    usual = with_unit(say("{low} to {high}", low=f"{low:g}", high=f"{high:g}"), cells.column.unit)
    unusual = {row: number for row, number in numbers.items() if not low <= number <= high}
    if len(unusual) > SAID_SINGLY:
        yield _unusual_values(cells, unusual, usual)
        return
    for row, value in unusual.items():
        yield _unusual_values(cells, {row: value}, usual)


def _numbers_by_row(rows: Sequence[int], values: Sequence[Value]) -> dict[int, float]:
    numbers: dict[int, float] = {}
    for row, value in zip(rows, values, strict=True):
        if isinstance(value, int | float):
            numbers[row] = value
    return numbers


def _unusual_values(cells: ColumnCells, unusual: Mapping[int, float], usual: str) -> Problem:
    """Return one caution of unusual values, by row; `usual` is the usual range in words."""
    rows = list(unusual)
    first = with_unit(f"{unusual[rows[0]]:g}", cells.column.unit)
    return Problem(
        Severity.CAUTION,
        cells.sheet,
        cells.cells_in(rows),
        plural(
            "{values} is unusual for {name}",
            "{values} are unusual for {name}",
            len(rows),
            values=f"{first}{_and_more(rows)}",
            name=cells.name,
        ),
        usual,
        plural(
            "Check the value and its unit; it was used as it stands.",
            "Check the values and their unit; they were used as they stand.",
            len(rows),
        ),
        code="unusual_value",
    )


def _text_numbers(cells: ColumnCells, values: Sequence[Value]) -> Iterator[Problem]:
    if cells.column.kind not in (Kind.NUMBER, Kind.COUNT):
        return
    if str not in set(map(type, cells.values)):
        return
    rows: list[int] = []
    for row, text, value in zip(cells.rows, cells.values, values, strict=True):
        if isinstance(text, str) and bare_number(text) and value is not INVALID:
            rows.append(row)
    if rows:
        yield Problem(
            Severity.REMARK,
            cells.sheet,
            cells.cells_in(rows[:1]),
            plural(
                "{number} number of {name} kept as text",
                "{number} numbers of {name} kept as text",
                len(rows),
                name=cells.name,
            ),
            say("numbers"),
            say(
                "They were read as numbers; format the column as a number so that the spreadsheet"
                " can add it up."
            ),
            code="numbers_as_text",
        )


def _numbers_as_codes(cells: ColumnCells) -> Iterator[Problem]:
    """Yield a caution for a code that is a number, as the spreadsheet may have changed it."""
    if cells.column.kind is not Kind.CODE or not cells.column.required or cells.column.refers:
        return
    for row, value in zip(cells.rows, cells.values, strict=True):
        if isinstance(value, int | float) and _may_be_changed(
            value, cells.formats.get(row, "General")
        ):
            yield Problem(
                Severity.CAUTION,
                cells.sheet,
                cells.cells_in([row]),
                say(
                    "{value} is kept as a number, and may not be what was typed",
                    value=quoted(value),
                ),
                say("a code kept as text"),
                say(
                    "A spreadsheet makes 1.1 of 1.10 and 100000 of 1E5: format the column as text,"
                    " type it again."
                ),
                code="code_as_number",
            )
            return


def _may_be_changed(value: float, number_format: str) -> bool:
    if number_format == "General":
        return value % 1 != 0 or abs(value) >= CHANGED_AT
    return "E" in number_format
