"""Codes that name rows: each once on its own sheet, and spelled on the others as it is there."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from reportgen.language import listed, say
from reportgen.model.problem import Problem
from reportgen.workbook.book import Book
from reportgen.workbook.cells import Value
from reportgen.workbook.declaration import ALL, TREATMENTS, Column
from reportgen.workbook.headers import folded, nearest
from reportgen.workbook.lookalikes import looks_like, signs_of
from reportgen.workbook.table import INVALID, Row, Table
from reportgen.workbook.values import here_and_in_more, shown
from reportgen.workbook.vocabulary import words_of


@dataclass(frozen=True)
class _Unknown:
    """A code that is not on the sheet that its column refers to."""

    row: Row
    column: Column
    code: str


def resolve(book: Book) -> tuple[Book, list[Problem]]:
    """Return a book whose repeated keys and unknown codes are INVALID and whose other codes are
    spelled as declared.

    An unknown code gives one problem, however many cells hold it.
    """
    problems: list[Problem] = []
    keyed: dict[str, Table] = {}
    for name, table in book.items():
        keyed[name], found = _unique(table)
        problems += found
    unknown: list[_Unknown] = []
    done = {name: _spelled(table, keyed, unknown) for name, table in keyed.items()}
    return done, problems + list(_unknown_codes(keyed, unknown))


def codes(table: Table) -> list[str]:
    """Return the codes that a sheet gives its rows."""
    return [code for row in table.rows() if (code := row.text(table.sheet.key[0]))]


def _unique(table: Table) -> tuple[Table, list[Problem]]:
    """Return a table with INVALID for keys that are there twice or reserved, and their errors."""
    names = table.sheet.key
    if not names:
        return table, []
    problems: list[Problem] = []
    seen: dict[tuple[object, ...], Row] = {}
    codes = list(table.columns.get(names[-1], ()))
    for row in table.rows():
        key = tuple(_folded(row.get(name)) for name in names)
        if None in key:
            continue
        if key in seen:
            problems.append(_repeated(row, seen[key]))
            codes[row.index] = INVALID
        elif table.sheet is TREATMENTS and _stands_for_all(row):
            problems.append(_reserved(row))
            codes[row.index] = INVALID
        seen.setdefault(key, row)
    if not problems:
        return table, problems
    return replace(table, columns={**table.columns, names[-1]: tuple(codes)}), problems


def _stands_for_all(row: Row) -> bool:
    """Tell whether a treatment's code is the word for all of them, in any language."""
    return folded(row.text("Treatment")) in words_of((ALL,))


def _folded(value: object) -> object:
    if isinstance(value, str):
        return value.casefold()
    return value


def _repeated(row: Row, first: Row) -> Problem:
    names = row.table.sheet.key
    said = ", ".join(shown(row.get(name)) for name in names)
    return row.error(
        names[-1],
        say('"{said}" stands in row {first} too', said=said, first=first.named),
        say("each {names} once", names=listed([row.called(name) for name in names])),
        say("Delete one of the rows, or give it a code of its own."),
        code="repeated_code",
    )


def _reserved(row: Row) -> Problem:
    name = row.table.sheet.key[0]
    return row.error(
        name,
        say('"{name}" stands for every treatment', name=row.text(name)),
        say("a code of its own"),
        say("Rename it."),
        code="reserved_code",
    )


def _spelled(table: Table, book: Book, unknown: list[_Unknown]) -> Table:
    """Return a table with its codes spelled as on the sheets that they refer to.

    Codes that are not there are added to `unknown`.
    """
    columns = dict(table.columns)
    for column in table.sheet.columns:
        if not column.refers or column.name not in columns:
            continue
        known = {code.casefold(): code for code in _known(book, column)}
        spelled: dict[str, Value] = {}
        values: list[Value] = []
        for value in columns[column.name]:
            if not isinstance(value, str):
                values.append(value)
                continue
            if value not in spelled:
                spelled[value] = _code(value, known, column)
            values.append(spelled[value])
        columns[column.name] = tuple(values)
        if INVALID in spelled.values():
            unknown += _unknown_cells(table, column, spelled)
    return replace(table, columns=columns)


def _code(value: str, known: Mapping[str, str], column: Column) -> Value:
    """Return a code as it is declared, a word that stands for several rows as it is in English;
    else INVALID.
    """
    return known.get(value.casefold()) or words_of(column.also).get(folded(value), INVALID)


def _unknown_cells(
    table: Table, column: Column, spelled: Mapping[str, Value]
) -> Iterator[_Unknown]:
    for row in table.rows():
        value = row.raw(column.name)
        if isinstance(value, str) and spelled[value] is INVALID:
            yield _Unknown(row, column, value)


def _known(book: Book, column: Column) -> list[str]:
    declared: list[str] = []
    if column.refers in book:
        declared = codes(book[column.refers])
    return [*declared, *column.also]


def _unknown_codes(book: Book, unknown: list[_Unknown]) -> Iterator[Problem]:
    """Yield an error for each unknown code, unless cells with problems on the sheet referred to can
    account for all.
    """
    by_sheet: dict[str, dict[str, list[_Unknown]]] = defaultdict(lambda: defaultdict(list))
    for one in unknown:
        by_sheet[one.column.refers][one.code.casefold()].append(one)
    for sheet, found in by_sheet.items():
        if len(found) > _unreadable_codes(book, sheet):
            yield from (_unknown_code(cells, book) for cells in found.values())


def _unreadable_codes(book: Book, sheet: str) -> float:
    table = book.get(sheet)
    if not table or not codes(table):
        return float("inf")
    return table.columns[table.sheet.key[0]].count(INVALID)


def _unknown_code(cells: list[_Unknown], book: Book) -> Problem:
    first = cells[0]
    referred = book.get(first.column.refers)
    if referred:
        sheet = referred.title
    else:
        sheet = first.column.refers
    words = first.row.table.words
    known = [*_known(book, replace(first.column, also=())), *map(words.word, first.column.also)]
    if len(cells) > 1:
        more = here_and_in_more(len(cells) - 1)
    else:
        more = ""
    listed = ", ".join(map(shown, known[:8])) + (", ..." if len(known) > 8 else "")
    found = say(
        '"{code}"{more} is not on the sheet {sheet}', code=shown(first.code), more=more, sheet=sheet
    )
    advice = _advice(first.code, known, sheet)
    return first.row.error(
        first.column.name, found, say("one of {listed}", listed=listed), advice, code="unknown_code"
    )


def _advice(code: str, known: list[str], sheet: str) -> str:
    """Return what to do about a code that is not known: often it is another one, mistyped."""
    alike = next((other for other in known if looks_like(code, other)), "")
    if alike:
        return say(
            "It looks like {alike} and is another ({signs_of}): type it again.",
            alike=shown(alike),
            signs_of=signs_of(code, alike),
        )
    near = nearest(code, known)
    if near:
        return say("Did you mean {near}?", near=shown(near))
    return say("Type one of these, or add it to the sheet {sheet}.", sheet=sheet)
