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
from reportgen.workbook.headers import (
    Header,
    Matched,
    folded,
    matched,
    nearest,
    read_header,
    repeated,
)
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
    """Return the error of a missing sheet, with the name that was probably meant."""
    near = nearest(sheet.name, unknown)
    if near:
        finding = say(
            "no sheet named {name}, but one named {near}", name=sheet.name, near=quoted(near)
        )
        advice = say("Rename it to {name}.", name=sheet.name)
    else:
        finding = say("no sheet named {name}", name=sheet.name)
        advice = say("Add the sheet. {help}", help=help_said(sheet))
    return Problem(
        Severity.ERROR,
        sheet.name,
        "",
        finding,
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
    """Read the Trial sheet as a table of one row, whose columns are its fields.

    The cells of a column stand one below the other. Messages are in words of the sheet's own
    language, `usual` where its names do not tell.
    """
    fields = _fields_of(raw)
    words = language_of([raw.name, *(field.name for field in fields)], usual)
    known, problems = matched(TRIAL, raw.name, fields)
    if not known:
        return _unread_table(TRIAL, raw, words)
    free, unknown = lacking(TRIAL, fields, known)
    nameless = Nameless(TRIAL, raw.name, free, unknown, beside_the_fields(raw), words)
    problems += nameless.problems(_ranges_of_fields(raw, fields))
    cells = [_cells_of(raw, column, field, (field.number,), 2) for column, field in known]
    columns, _, problems_of_cells = _read_columns(cells, words)
    problems += problems_of_cells
    letters = {column.name: f"B{field.number}" for column, field in known}
    table = Table(TRIAL, raw.name, (1,), columns, letters, words=words)
    return _complete(_headed(table, known), problems)


def _fields_of(raw: RawSheet) -> list[Header]:
    """Return the names of the fields in the first column of the Trial sheet."""
    fields: list[Header] = []
    for row, values in enumerate(raw.rows, 1):
        if not values or blank(values[0]):
            continue
        field = read_header(values[0], row, 1, down=True)
        if field.folded not in trial_headings()[0]:
            fields.append(field)
    return fields


def _ranges_of_fields(raw: RawSheet, fields: Sequence[Header]) -> dict[str, str]:
    """Return name and value of each field with a value as a range, by the name's address."""
    if len(raw.columns) < 2:
        return {}
    filled = set(filled_rows(raw, 2))
    ranges: dict[str, str] = {}
    for field in fields:
        if field.number in filled:
            ranges[field.cell] = area([field.number], [1, 2])
    return ranges


def _unread_table(
    sheet: Sheet, raw: RawSheet, words: Vocabulary
) -> tuple[Table, tuple[Problem, ...]]:
    """Return an empty table and the errors of a sheet without a single known name."""
    table = Table(sheet, raw.name, (), {}, {}, words=words)
    return table, tuple(without_names(words.spoken(sheet), raw))


def read_table(
    sheet: Sheet, raw: RawSheet, usual: Vocabulary = ENGLISH
) -> tuple[Table, tuple[Problem, ...]]:
    """Return a sheet's rows by declared column, and every problem of its headers and single cells.

    Messages are in words of the sheet's own language, `usual` where its names do not tell.
    """
    top = header_row(sheet, raw)
    headers = headers_of(raw, top)
    words = language_of([raw.name, *(header.name for header in headers)], usual)
    declared, problems = matched(sheet, raw.name, headers)
    if not declared:
        return _unread_table(sheet, raw, words)
    known, rows, problems_of_rows = _named_columns(sheet, raw, top, declared)
    nameless = replace(_nameless(sheet, raw, top, known, rows), words=words)
    numbers = _numbers_of(known)
    above = tuple(rows_above(sheet, raw, top, numbers))
    problems += [*problems_of_rows, *above, *_unread(raw, top, nameless)]
    if sheet.required and not rows and not _has_errors(problems):
        problems.append(without_rows(words.spoken(sheet), raw, "", say("no rows below the header")))
    cells = [_cells_of(raw, column, header, rows, header.number) for column, header in known]
    columns, typed, problems_of_cells = _read_columns(cells, words)
    problems += problems_of_cells
    in_doubt = list(nameless.in_doubt)
    if _has_errors(above):
        in_doubt += columns
    columns |= dict.fromkeys(in_doubt, (INVALID,) * len(rows))
    table = Table(
        sheet,
        raw.name,
        rows,
        columns,
        letters={name: get_column_letter(number) for name, number in numbers.items()},
        traits=_traits(known),
        words=words,
        unread=tuple(header.name for header in nameless.unknown),
        factors=_factors(sheet, known),
        typed=typed,
    )
    return _complete(_headed(table, known), problems)


def _numbers_of(known: Matched) -> dict[str, int]:
    """Return the number of each column in the file, by its declared name."""
    return {column.name: header.number for column, header in known}


def _read_columns(
    cells: Sequence[ColumnCells], words: Vocabulary
) -> tuple[dict[str, tuple[Value, ...]], dict[str, dict[int, str]], list[Problem]]:
    """Return the values of columns, the texts with units in them, and the problems of their cells."""
    columns: dict[str, tuple[Value, ...]] = {}
    typed: dict[str, dict[int, str]] = {}
    problems: list[Problem] = []
    for cells_of_column in cells:
        spoken = replace(cells_of_column, words=words)
        name = spoken.column.name
        columns[name], problems_of_column = read_column(spoken)
        typed[name] = texts_with_units(spoken)
        problems += problems_of_column
    return columns, typed, problems


def _factors(sheet: Sheet, known: Matched) -> tuple[Column, ...]:
    """Return the columns that are neither declared nor a measurement of the grower's own."""
    own = [column for column, _ in known if column not in sheet.columns]
    return tuple(column for column in own if not column.trait)


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
        factors, repeats = factor_columns(sheet, raw, headers_of(raw, top), rows)
        return known + factors, rows, strays + repeats
    if not sheet.further:
        return known, rows, strays
    further, repeats = _further(sheet, raw, headers_of(raw, top), rows)
    if further:
        rows, strays = data_rows(sheet, raw, top, known + further)
    return known + further, rows, strays + repeats


def _nameless(
    sheet: Sheet, raw: RawSheet, top: int, known: Matched, rows: Sequence[int]
) -> Nameless:
    """Return what a table has without a name, or under a name that fits no column.

    top: the row of its header.
    """
    headers = headers_of(raw, top)
    free, unknown = lacking(sheet, headers, known)
    named = {header.number for header in headers}
    unnamed = columns_without_header(raw, top, named, rows, free)
    return Nameless(sheet, raw.name, free, unknown, unnamed)


def _unread(raw: RawSheet, top: int, nameless: Nameless) -> Iterator[Problem]:
    """Yield a problem for each part of a table that is not read."""
    ranges: dict[str, str] = {}
    for header in nameless.unknown:
        below = filled_rows(raw, header.number, top + 1)
        ranges[header.cell] = area([top, *below], [header.number])
    yield from nameless.problems(ranges)


def _headed(table: Table, known: Matched) -> Table:
    """Return the table with the names, units and places of its headers."""
    return replace(
        table,
        names={column.name: header.name for column, header in known},
        units={column.name: header.unit for column, header in known},
        headings={column.name: header.cell for column, header in known},
    )


def _cells_of(
    raw: RawSheet, column: Column, header: Header, rows: tuple[int, ...], number: int
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
        header.cell,
        header.unit,
        rows,
        values,
        _formats(raw, column, number, rows, values),
        _uncomputed(raw, rows, number),
        merged,
        header.name,
    )


def _uncomputed(raw: RawSheet, rows: Sequence[int], number: int) -> frozenset[int]:
    """Return the rows whose cell in a column is a formula without a value."""
    if not raw.uncomputed:
        return frozenset()
    return frozenset(row for row in rows if (row, number) in raw.uncomputed)


def _values(raw: RawSheet, rows: Sequence[int], number: int) -> list[Value]:
    if number > len(raw.columns):
        return [None] * len(rows)
    whole = raw.columns[number - 1]
    if rows and rows[-1] - rows[0] + 1 == len(rows):  # unbroken, as a logger's rows are
        return list(whole[rows[0] - 1 : rows[-1]])
    return [whole[row - 1] for row in rows]


def _merged(raw: RawSheet, number: int, rows: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """Return the first and last row of each merged range of a column that is data throughout."""
    merged: list[tuple[int, int]] = []
    for cells in raw.merged:
        left, top, _, bottom = range_boundaries(cells)
        if left != number or top is None or bottom is None:
            continue
        within = [row for row in rows if top <= row <= bottom]
        if len(within) > 1 and within[0] == top:
            merged.append((within[0], within[-1]))
    return tuple(merged)


def _formats(
    raw: RawSheet, column: Column, number: int, rows: Sequence[int], values: Sequence[Value]
) -> Mapping[int, str]:
    """Return the number formats that say what a number is, by row.

    That is so in codes, and for 0.02 that may stand for 2 %.
    """
    is_code = column.kind is Kind.CODE
    if not raw.formats or not (is_code or column.unit == "%"):
        return {}
    formats: dict[int, str] = {}
    for row, value in zip(rows, values, strict=True):
        shape = raw.formats.get((row, number), "General")
        if shape == "General" or not isinstance(value, int | float):
            continue
        if is_code or abs(value) <= 1:
            formats[row] = shape
    return formats


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
    """Return the table with INVALID for missing required values, and an error for each row.

    Columns that `may_be_blank` are taken as not required.
    """
    columns = dict(table.columns)
    required = [column.name for column in table.sheet.columns if column.required]
    names = [name for name in required if name not in may_be_blank]
    indices: set[int] = set()
    for name in names:
        values = columns.get(name, ())
        if None in values:
            indices.update(_blank_at(values))
            columns[name] = tuple(map(_valid, values))
    problems: list[Problem] = []
    for index in sorted(indices):
        problems += _blanks(Row(table, index), names)
    return replace(table, columns=columns), tuple(problems)


def _blank_at(values: Sequence[Value]) -> list[int]:
    return [index for index, value in enumerate(values) if value is None]


def _valid(value: Value) -> Value:
    """Return a required value, INVALID for a missing one."""
    if value is None:
        return INVALID
    return value


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
    """Return the traits among columns.

    Keys that come out alike, as of names without Latin letters, are numbered.
    """
    traits: dict[str, Trait] = {}
    for column, _ in known:
        if column.trait:
            bare = trait_key(column.name)
            key = bare
            while key in traits:
                key = f"{bare}_{len(traits) + 1}"
            traits[key] = Trait(key, column.name, column.unit, column.choices)
    return tuple(traits.values())


def _further(
    sheet: Sheet, raw: RawSheet, headers: Sequence[Header], rows: Sequence[int]
) -> tuple[Matched, list[Problem]]:
    """Return undeclared scores and numeric columns, and an error for each repeated one."""
    declared = columns_by_name(sheet)
    absent = _absent_guarded(declared, headers)
    further: dict[str, tuple[Column, Header]] = {}
    problems: list[Problem] = []
    for header in headers:
        if header.folded in declared or not _is_measurement(raw, header, rows):
            continue
        if nearest(header.name, absent):
            continue  # it is probably that column, as another message says
        if header.folded in further:
            problems.append(repeated(raw.name, header, further[header.folded][1]))
        else:
            further[header.folded] = _measurement(header), header
    return tuple(further.values()), problems


def _absent_guarded(declared: Mapping[str, Column], headers: Sequence[Header]) -> list[str]:
    """Return the names of guarded columns, in every language, that no header has."""
    present = {declared[header.folded].name for header in headers if header.folded in declared}
    guarded = [name for name, column in declared.items() if column.guarded]
    return [name for name in guarded if declared[name].name not in present]


def _is_measurement(raw: RawSheet, header: Header, rows: Sequence[int]) -> bool:
    """Tell whether a column is a score, by its header, or mostly numbers."""
    return bool(header.scale) or _mostly_numbers(raw, header, rows)


def _measurement(header: Header) -> Column:
    """Return the column of a measurement of the grower's own; with a scale it is a score."""
    if header.scale:
        return Column(header.name, Kind.SCORE, choices=header.scale, trait=True)
    return Column(header.name, Kind.NUMBER, unit=header.unit, trait=True)


def _mostly_numbers(raw: RawSheet, header: Header, rows: Sequence[int]) -> bool:
    column = header.number - 1
    filled: list[Value] = []
    for row in rows:
        values = raw.rows[row - 1]
        if column < len(values) and not blank(values[column]):
            filled.append(values[column])
    numbers = sum(bare_number(value) for value in filled)
    return numbers > 0 and numbers * 2 >= len(filled)
