"""The first pass: which sheet and which column of the file is which of the declaration."""

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from openpyxl.utils import get_column_letter, range_boundaries

from reportgen.language import listed, plural, say
from reportgen.model.problem import Problem, Severity
from reportgen.model.trial import Trait
from reportgen.workbook.cells import RawSheet, Value
from reportgen.workbook.columns import ColumnCells, read_column, texts_with_units
from reportgen.workbook.declaration import TRIAL, Column, Kind, Sheet
from reportgen.workbook.factors import factor_columns
from reportgen.workbook.headers import Header, Matched, folded, header, matched, nearest, repeated
from reportgen.workbook.rows import data_rows, header_row, headers_of, without_names, without_rows
from reportgen.workbook.table import INVALID, Row, Table
from reportgen.workbook.unread import (
    Nameless,
    area,
    beside_the_fields,
    columns_without_header,
    filled_rows,
    lacking,
    rows_above,
    used_range,
)
from reportgen.workbook.values import bare_number, blank, expected, quoted
from reportgen.workbook.vocabulary import (
    ENGLISH,
    Vocabulary,
    columns_by_name,
    help_said,
    language_of,
    sheet_names,
    trial_headings,
)

HIDDEN_NAMED: Final = 6


def sheets_named(sheets: Sequence[RawSheet], name: str) -> tuple[RawSheet, ...]:
    """Return the file's sheets that carry a declared sheet's name, in any language."""
    return tuple(sheet for sheet in sheets if sheet_names().get(folded(sheet.name)) == name)


def missing_sheet(sheet: Sheet, unknown: Sequence[str]) -> Problem:
    """Return the error of a sheet that is not in the file, with the name that was probably meant."""
    near = nearest(sheet.name, unknown)
    if near:
        found = say(
            "no sheet named {name}, but one named {near}", name=sheet.name, near=quoted(near)
        )
    else:
        found = say("no sheet named {name}", name=sheet.name)
    if near:
        advice = say("Rename it to {name}.", name=sheet.name)
    else:
        advice = say("Add the sheet. {help}", help=help_said(sheet))
    return Problem(
        Severity.ERROR,
        sheet.name,
        "",
        found,
        say("a sheet named {name}", name=sheet.name),
        advice,
        code="missing_sheet",
    )


def repeated_sheet(sheet: Sheet, raws: Sequence[RawSheet]) -> Iterator[Problem]:
    """Yield an error for each further sheet of one name."""
    for raw in raws[1:]:
        found = say(
            "{name} and {other} are both named like the sheet {sheet}",
            name=quoted(raws[0].name),
            other=quoted(raw.name),
            sheet=sheet.name,
        )
        yield Problem(
            Severity.ERROR,
            raw.name,
            used_range(raw),
            found,
            say("each sheet once"),
            say("Rename or delete one of the two."),
            code="repeated_sheet",
        )


def _hidden_said(name: str) -> str:
    """Return in words what is hidden: a row, a column or the whole sheet."""
    what, _, which = name.partition(" ")
    if what == "row":
        return say("row {row}", row=which)
    if what == "column":
        return say("column {column}", column=which)
    return say("the whole sheet")


def hidden_cells(raw: RawSheet) -> Iterator[Problem]:
    """Yield a caution where rows or columns are hidden: they are read all the same."""
    if raw.hidden:
        said = ", ".join(map(_hidden_said, raw.hidden[:HIDDEN_NAMED]))
        if len(raw.hidden) > HIDDEN_NAMED:
            said = say("{named} and more", named=said)
        yield Problem(
            Severity.CAUTION,
            raw.name,
            "",
            say("hidden: {said}", said=said),
            say("every row and column in view"),
            say("They were read like the others. Show them, and delete what should not count."),
            code="hidden_cells",
        )


def read_trial(raw: RawSheet, usual: Vocabulary = ENGLISH) -> tuple[Table, tuple[Problem, ...]]:
    """Return the Trial sheet as a table of one row, its fields as columns whose cells stand one
    below the other.

    Messages are in words of the sheet's own language, `usual` where its names do not tell.
    """
    cells = [
        (row, values[0])
        for row, values in enumerate(raw.rows, 1)
        if values and not blank(values[0])
    ]
    names = [header(value, row, 1, down=True) for row, value in cells]
    fields = [name for name in names if name.folded not in trial_headings()[0]]
    words = language_of([raw.name, *(field.name for field in fields)], usual)
    known, problems = matched(TRIAL, raw.name, fields)
    if not known:
        return Table(TRIAL, raw.name, (), {}, {}, words=words), tuple(
            without_names(words.spoken(TRIAL), raw)
        )
    if len(raw.columns) > 1:
        filled = set(filled_rows(raw, 2))
    else:
        filled = set()
    ranges = {
        field.cell: area([field.number], [1, 2]) for field in fields if field.number in filled
    }
    left = Nameless(TRIAL, raw.name, *lacking(TRIAL, fields, known), beside_the_fields(raw), words)
    problems += left.problems(ranges)
    columns: dict[str, tuple[Value, ...]] = {}
    for column, field in known:
        columns[column.name], found = read_column(
            replace(_cells_of(raw, column, field, (field.number,), 2), words=words)
        )
        problems += found
    letters = {column.name: f"B{field.number}" for column, field in known}
    return _complete(
        _headed(Table(TRIAL, raw.name, (1,), columns, letters, words=words), known), problems
    )


def read_table(
    sheet: Sheet, raw: RawSheet, usual: Vocabulary = ENGLISH
) -> tuple[Table, tuple[Problem, ...]]:
    """Return a sheet's rows by declared column, and every problem of its headers and single cells.

    Messages are in words of the sheet's own language, `usual` where its names do not tell.
    """
    top = header_row(sheet, raw)
    headers = headers_of(raw, top)
    words = language_of([raw.name, *(found.name for found in headers)], usual)
    known, problems = matched(sheet, raw.name, headers)
    if not known:
        return Table(sheet, raw.name, (), {}, {}, words=words), tuple(
            without_names(words.spoken(sheet), raw)
        )
    known, rows, found = _named_columns(sheet, raw, top, known)
    left = replace(_nameless(sheet, raw, top, known, rows), words=words)
    above = tuple(rows_above(sheet, raw, top, {column.name: one.number for column, one in known}))
    problems += [*found, *above, *_unread(raw, top, left)]
    if sheet.required and not rows and not _has_errors(problems):
        problems.append(without_rows(words.spoken(sheet), raw, "", say("no rows below the header")))
    columns: dict[str, tuple[Value, ...]] = {}
    typed: dict[str, dict[int, str]] = {}
    for column, one in known:
        cells = replace(_cells_of(raw, column, one, rows, one.number), words=words)
        columns[column.name], said = read_column(cells)
        typed[column.name] = texts_with_units(cells)
        problems += said
    if _has_errors(above):
        in_doubt = (*left.in_doubt, *columns)
    else:
        in_doubt = left.in_doubt
    columns |= {name: (INVALID,) * len(rows) for name in in_doubt}
    letters = {column.name: get_column_letter(one.number) for column, one in known}
    unread = tuple(found.name for found in left.unknown)
    factors = tuple(
        column for column, _ in known if column not in sheet.columns and not column.trait
    )
    traits = _traits(known)
    table = Table(
        sheet, raw.name, rows, columns, letters, traits, words=words, unread=unread, factors=factors
    )
    return _complete(_headed(replace(table, typed=typed), known), problems)


def _has_errors(problems: Sequence[Problem]) -> bool:
    return any(problem.severity is Severity.ERROR for problem in problems)


def _named_columns(
    sheet: Sheet, raw: RawSheet, top: int, known: Matched
) -> tuple[Matched, tuple[int, ...], list[Problem]]:
    """Return the columns of a sheet with measurements of the grower's own, and the rows of data.

    With them come the problems of rows that are no data, and of measurements that are there twice.
    """
    rows, strays = data_rows(sheet, raw, top, known)
    if sheet.family:
        factors, twice = factor_columns(sheet, raw, headers_of(raw, top), rows)
        return known + factors, rows, strays + twice
    if not sheet.further:
        return known, rows, strays
    further, twice = _further(sheet, raw, headers_of(raw, top), rows)
    if further:
        rows, strays = data_rows(sheet, raw, top, known + further)
    return known + further, rows, strays + twice


def _nameless(
    sheet: Sheet, raw: RawSheet, top: int, known: Matched, rows: Sequence[int]
) -> Nameless:
    """Return what stands in a table, whose header is in row `top`, without a name or under one that
    fits no column.
    """
    headers = headers_of(raw, top)
    free, unknown = lacking(sheet, headers, known)
    named = {found.number for found in headers}
    return Nameless(
        sheet, raw.name, free, unknown, columns_without_header(raw, top, named, rows, free)
    )


def _unread(raw: RawSheet, top: int, left: Nameless) -> Iterator[Problem]:
    """Yield a problem for each part of a table that is not read beside its columns, or under other
    names.
    """
    below = {found.cell: filled_rows(raw, found.number, top + 1) for found in left.unknown}
    ranges = {found.cell: area([top, *below[found.cell]], [found.number]) for found in left.unknown}
    yield from left.problems(ranges)


def _headed(table: Table, known: Matched) -> Table:
    """Return the table with the names and units that stand in its headers, and the places of these."""
    return replace(
        table,
        names={column.name: found.name for column, found in known},
        units={column.name: found.unit for column, found in known},
        headings={column.name: found.cell for column, found in known},
    )


def _cells_of(
    raw: RawSheet, column: Column, found: Header, rows: tuple[int, ...], number: int
) -> ColumnCells:
    """Return the cells of a column: those in `rows` of the file's column `number`."""
    values = _values(raw, rows, number)
    merged = _merged(raw, number, rows)
    for first, last in merged:
        start, end = rows.index(first), rows.index(last)
        values[start : end + 1] = [values[start]] * (end + 1 - start)
    return ColumnCells(
        column,
        raw.name,
        get_column_letter(number),
        found.cell,
        found.unit,
        rows,
        values,
        _formats(raw, column, number, rows, values),
        (
            frozenset(row for row in rows if (row, number) in raw.uncomputed)
            if raw.uncomputed
            else frozenset()
        ),
        merged,
        found.name,
    )


def _values(raw: RawSheet, rows: Sequence[int], number: int) -> list[Value]:
    if number > len(raw.columns):
        return [None] * len(rows)
    whole = raw.columns[number - 1]
    if rows and rows[-1] - rows[0] + 1 == len(rows):  # unbroken, as a logger's rows are
        return list(whole[rows[0] - 1 : rows[-1]])
    return [whole[row - 1] for row in rows]


def _merged(raw: RawSheet, number: int, rows: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """Return the first and last row of each merged range of a column that is data from end to end."""
    found = []
    for place in raw.merged:
        left, top, _, bottom = range_boundaries(place)
        within = [
            row for row in rows if top is not None and bottom is not None and top <= row <= bottom
        ]
        if left == number and len(within) > 1 and within[0] == top:
            found.append((within[0], within[-1]))
    return tuple(found)


def _formats(
    raw: RawSheet, column: Column, number: int, rows: Sequence[int], values: Sequence[Value]
) -> Mapping[int, str]:
    """Return how numbers were shown, where that says what they are: in codes, and 0.02 that may
    stand for 2 %.
    """
    if not raw.formats or (column.kind is not Kind.CODE and column.unit != "%"):
        return {}
    numbers = [
        (row, value)
        for row, value in zip(rows, values, strict=True)
        if isinstance(value, int | float)
    ]
    asked = [row for row, value in numbers if column.kind is Kind.CODE or abs(value) <= 1]
    found = {row: raw.formats.get((row, number), "General") for row in asked}
    return {row: shape for row, shape in found.items() if shape != "General"}


def _complete(table: Table, problems: list[Problem]) -> tuple[Table, tuple[Problem, ...]]:
    """Return the table with a column of INVALID for each that must be there and is not."""
    columns = dict(table.columns)
    for column in table.sheet.columns:
        if column.required and column.name not in columns:
            columns[column.name] = (INVALID,) * len(table.numbers)
    return replace(table, columns=columns), tuple(problems)


def without_blanks(
    table: Table, may_be_blank: Sequence[str] = ()
) -> tuple[Table, tuple[Problem, ...]]:
    """Return the table with INVALID where a required value is missing, and an error for each row
    that misses some.

    Columns that `may_be_blank` are taken as not required.
    """
    columns = dict(table.columns)
    names = [
        column.name
        for column in table.sheet.columns
        if column.required and column.name not in may_be_blank
    ]
    lacking = [name for name in names if None in columns.get(name, ())]
    indices = sorted(
        {index for name in lacking for index, value in enumerate(columns[name]) if value is None}
    )
    problems = [problem for index in indices for problem in _blanks(Row(table, index), names)]
    for name in lacking:
        columns[name] = tuple(INVALID if value is None else value for value in columns[name])
    return replace(table, columns=columns), tuple(problems)


def _blanks(row: Row, names: Sequence[str]) -> Iterator[Problem]:
    blanks = [name for name in names if name in row.table.columns and row.raw(name) is None]
    if not blanks:
        return
    said = listed([row.table.called(name) for name in blanks])
    if len(blanks) == 1:
        wanted = expected(row.table.sheet.column(blanks[0]), row.table.words)
    else:
        wanted = say("a value in each")
    yield row.error(
        blanks[0],
        plural(
            "{said} is not filled in yet", "{said} are not filled in yet", len(blanks), said=said
        ),
        wanted,
        say("Fill it in."),
        code="blank_cell",
    )


def trait_key(label: str) -> str:
    """Return a label as a key in snake_case."""
    bare = unicodedata.normalize("NFKD", label).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "_", bare.casefold()).strip("_") or "trait"


def _traits(known: Matched) -> tuple[Trait, ...]:
    """Return the traits among columns; keys that come out alike, as of names without Latin letters,
    are numbered.
    """
    traits: dict[str, Trait] = {}
    for column, _ in known:
        if column.trait:
            key = bare = trait_key(column.name)
            while key in traits:
                key = f"{bare}_{len(traits) + 1}"
            traits[key] = Trait(key, column.name, column.unit, column.choices)
    return tuple(traits.values())


def _further(
    sheet: Sheet, raw: RawSheet, headers: Sequence[Header], rows: Sequence[int]
) -> tuple[Matched, list[Problem]]:
    """Return the scores and the numeric columns that are not declared, and an error for each that
    is there twice.
    """
    declared = columns_by_name(sheet)
    present = {declared[found.folded].name for found in headers if found.folded in declared}
    guarded = [
        name for name, column in declared.items() if column.guarded and column.name not in present
    ]
    further: dict[str, tuple[Column, Header]] = {}
    problems: list[Problem] = []
    for found in headers:
        if found.folded in declared or not (found.scale or _mostly_numbers(raw, found, rows)):
            continue
        if nearest(found.name, guarded):
            continue  # it is probably that column, as another message says
        if found.folded in further:
            problems.append(repeated(raw.name, found, further[found.folded][1]))
        else:
            further[found.folded] = _measurement(found), found
    return tuple(further.values()), problems


def _measurement(found: Header) -> Column:
    """Return the column of a measurement of the grower's own: a score where the header names a
    scale.
    """
    if found.scale:
        return Column(found.name, Kind.SCORE, choices=found.scale, trait=True)
    return Column(found.name, Kind.NUMBER, unit=found.unit, trait=True)


def _mostly_numbers(raw: RawSheet, found: Header, rows: Sequence[int]) -> bool:
    at = found.number - 1
    lines = (raw.rows[row - 1] for row in rows)
    filled = [line[at] for line in lines if at < len(line) and not blank(line[at])]
    numbers = sum(bare_number(value) for value in filled)
    return numbers > 0 and numbers * 2 >= len(filled)
