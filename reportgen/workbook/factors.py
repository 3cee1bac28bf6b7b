"""Read factors: columns of the sheet Treatments with each treatment's level on its row."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import product
from typing import Final, cast

from reportgen.language import say
from reportgen.model.problem import Problem, Severity
from reportgen.model.trial import Factor, Varied
from reportgen.workbook.book import Book
from reportgen.workbook.cells import RawSheet, Value
from reportgen.workbook.declaration import TREATMENTS, VARIED, Column, Kind, Sheet
from reportgen.workbook.headers import Header, Matched, folded, repeated
from reportgen.workbook.table import INVALID, Row, Table
from reportgen.workbook.values import bare_number, blank
from reportgen.workbook.vocabulary import words_of

MOST_FACTORS: Final = 2
COMBINATIONS_NAMED: Final = 4
COLON: Final = re.compile(r"\s*[:\uff1a]\s*")


def factor_columns(
    sheet: Sheet, raw: RawSheet, headers: Sequence[Header], rows: Sequence[int]
) -> tuple[Matched, list[Problem]]:
    """Return the columns of factors among headers, and an error for each that is there twice."""
    known: dict[str, tuple[Column, Header]] = {}
    problems: list[Problem] = []
    for header in headers:
        column = _factor_column(sheet, raw, header, rows)
        if column is None:
            continue
        key = column.name.casefold()
        if key in known:
            problems.append(repeated(raw.name, header, known[key][1]))
        else:
            known[key] = column, header
    return tuple(known.values()), problems


def _factor_column(
    sheet: Sheet, raw: RawSheet, header: Header, rows: Sequence[int]
) -> Column | None:
    """Return the column of a header such as `Factor: feed (g/L)`; None for any other header.

    Levels are numbers where the header has a unit and most cells hold numbers.
    """
    name = _factor_name(sheet, header.name)
    if not name:
        return None
    if header.unit and _are_numbers(raw, header, rows):
        return Column(
            f"{sheet.family}: {name}", Kind.NUMBER, unit=header.unit, help=sheet.family_help
        )
    whole = _factor_name(sheet, header.text)
    return Column(f"{sheet.family}: {whole}", Kind.TEXT, help=sheet.family_help)


def _factor_name(sheet: Sheet, text: str) -> str:
    parts = COLON.split(text.strip(), maxsplit=1)
    if len(parts) < 2 or not sheet.family or folded(parts[0]) not in words_of((sheet.family,)):
        return ""
    return parts[1].strip()


def _are_numbers(raw: RawSheet, header: Header, rows: Sequence[int]) -> bool:
    column = raw.columns[header.number - 1]
    filled = [column[row - 1] for row in rows if not blank(column[row - 1])]
    numbers = sum(bare_number(value) for value in filled)
    return numbers > 0 and numbers * 2 >= len(filled)


def factors_are_complete(book: Book) -> Iterator[Problem]:
    """Each treatment has a level of each factor, and a factor has two levels or more."""
    if TREATMENTS.name not in book:
        return
    table = book[TREATMENTS.name]
    for column in table.factors:
        yield from _without_level(table, column)
        yield from _of_one_level(table, column)


def _without_level(table: Table, column: Column) -> Iterator[Problem]:
    for row in table.rows():
        if row.raw(column.name) is None:
            yield row.error(
                column.name,
                say(
                    'no level of {column} for the treatment "{treatment}"',
                    column=_name(column),
                    treatment=row.text("Treatment"),
                ),
                say("a level of each factor for each treatment"),
                say("Type the level that this treatment had; for none of a dose type 0."),
                code="level_missing",
            )


def _of_one_level(table: Table, column: Column) -> Iterator[Problem]:
    values = table.columns[column.name]
    if None in values or INVALID in values or len(_distinct(values)) != 1 or len(values) < 2:
        return
    row = next(table.rows())
    yield row.caution(
        column.name,
        say("all treatments have the same level of {column}", column=_name(column)),
        say("two levels or more of each factor"),
        say("It was left out. Mend the levels, or delete the column."),
        code="factor_of_one_level",
    )


def factors_can_be_analysed(book: Book) -> Iterator[Problem]:
    """Two factors at most can be analysed, where each combination of their levels is one treatment."""
    table = book.get(TREATMENTS.name)
    if (
        table is None
        or not table.factors
        or any(_is_flawed(table, column) for column in table.factors)
    ):
        return
    varied = _varied(table)
    if len(varied) > MOST_FACTORS:
        yield _remark(
            table,
            say(
                "{number} factors: {listed}",
                number=len(varied),
                listed=", ".join(map(_name, varied)),
            ),
            say("two factors at most"),
            say("Treatments will be compared as they are."),
            code="too_many_factors",
        )
    elif varied:
        yield from _combinations(table, varied)


def _is_flawed(table: Table, column: Column) -> bool:
    values = table.columns[column.name]
    return None in values or INVALID in values


def _combinations(table: Table, varied: Sequence[Column]) -> Iterator[Problem]:
    numbers = Counter(levels_of(row) for row in table.rows())
    repeated = [row for row in table.rows() if numbers[levels_of(row)] > 1]
    if repeated:
        yield _repeated_combinations(table, repeated)
    levels = [_distinct(table.columns[column.name]) for column in varied]
    missing = [combination for combination in product(*levels) if combination not in numbers]
    if missing:
        yield _missing_combinations(table, missing)


def _repeated_combinations(table: Table, rows: Sequence[Row]) -> Problem:
    """Return the remark on treatments that have the same levels."""
    codes = ", ".join(row.text("Treatment") for row in rows)
    return _remark(
        table,
        say("the treatments {codes} have the same levels", codes=codes),
        say("one treatment for each combination of levels"),
        say("Add what else differs as a factor, or treatments will be compared as they are."),
        code="levels_repeated",
    )


def _missing_combinations(table: Table, missing: Sequence[tuple[str, ...]]) -> Problem:
    """Return the remark on combinations of levels that no treatment has."""
    named = ", ".join(say(" with ").join(levels) for levels in missing[:COMBINATIONS_NAMED])
    further = len(missing) - COMBINATIONS_NAMED
    more = ""
    if further > 0:
        more = say(" and {number} more", number=further)
    return _remark(
        table,
        say("no treatment has {named}{more}", named=named, more=more),
        say("a treatment for each combination of levels"),
        say(
            "Grow these too where you still can; without them treatments will be compared as"
            " they are."
        ),
        code="combinations_missing",
    )


def _remark(table: Table, found: str, expected: str, advice: str, *, code: str) -> Problem:
    cells = table.where(_varied(table)[0].name)
    return Problem(Severity.REMARK, table.title, cells, found, expected, advice, code=code)


def factors_of(table: Table) -> tuple[Factor, ...]:
    """Return the factors of a table without errors; those of one level are left out."""
    return tuple(_factor(table, column) for column in _varied(table))


def levels_of(row: Row) -> tuple[str, ...]:
    """Return a treatment's level of each factor, in the order of the factors."""
    return tuple(
        _spelling(row.table.columns[column.name], row.raw(column.name))
        for column in _varied(row.table)
    )


def _varied(table: Table) -> list[Column]:
    return [column for column in table.factors if len(_distinct(table.columns[column.name])) > 1]


def _factor(table: Table, column: Column) -> Factor:
    values = table.columns[column.name]
    varied = cast(Varied | None, words_of(VARIED).get(folded(_name(column))))
    if column.kind is Kind.NUMBER:
        doses = sorted({float(value) for value in values if isinstance(value, int | float)})
        return Factor(
            _name(column), tuple(_shown(dose) for dose in doses), column.unit, tuple(doses), varied
        )
    return Factor(_name(column), tuple(_distinct(values)), varied=varied)


def _name(column: Column) -> str:
    return column.name.partition(":")[2].strip()


def _distinct(values: Sequence[Value]) -> list[str]:
    """Return levels in their order; those that differ in small and large letters alone are one."""
    return list(dict.fromkeys(_spelling(values, value) for value in values))


def _spelling(values: Sequence[Value], value: Value) -> str:
    """Return a level as it was first typed."""
    for other in values:
        if _shown(other).casefold() == _shown(value).casefold():
            return _shown(other)
    return _shown(value)


def _shown(value: Value) -> str:
    if isinstance(value, int | float):
        return f"{float(value):.6g}"
    return " ".join(str(value).split())
