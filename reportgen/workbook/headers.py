"""The names in a sheet: taken apart from their units, and matched with those of the declaration."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen import direction
from reportgen.language import say
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.cells import Value
from reportgen.workbook.declaration import Column, Sheet
from reportgen.workbook.names import folded
from reportgen.workbook.naming import named
from reportgen.workbook.scales import scale_of
from reportgen.workbook.values import shown, whole_text
from reportgen.workbook.vocabulary import columns_by_name, help_said

__all__ = [
    "UNIT",
    "Header",
    "Matched",
    "folded",
    "matched",
    "missing",
    "nearest",
    "read_header",
    "repeated",
    "unused",
    "what_is_named",
]

UNIT: Final = re.compile(r"(.+?)\s*[(\[]([^()\[\]]*(?:\([^()]*\))?)[)\]]\s*", re.DOTALL)


@dataclass(frozen=True)
class Header:
    """A header cell at the address `cell`: `name` and `unit` apart; `number` is its column (its row
    on Trial).

    `scale` holds the classes that stand in place of a unit, lowest first, as in `Tip burn (0-5)`.
    """

    cell: str
    number: int
    text: str
    name: str
    unit: str
    scale: tuple[str, ...] = ()

    @property
    def folded(self) -> str:
        """Return the name as it is matched."""
        return folded(self.name)


Matched = tuple[tuple[Column, Header], ...]


def nearest(name: str, known: Sequence[str]) -> str:
    """Return the known name that `name` is probably a slip of, empty where none is near."""
    from rapidfuzz import fuzz, process

    by_folded = {folded(other): other for other in known}
    found = process.extractOne(folded(name), list(by_folded), scorer=fuzz.ratio, score_cutoff=75)
    if found:
        return by_folded[found[0]]
    return ""


def read_header(value: Value, row: int, column: int, *, down: bool = False) -> Header:
    """Return a header cell taken apart; with `down` it is a field, one below the other."""
    text = direction.without_controls(re.sub(r"\s+", " ", whole_text(value)))
    found = UNIT.fullmatch(text)
    name, unit = (found[1], found[2].strip()) if found else (text, "")
    cell = f"{get_column_letter(column)}{row}"
    return Header(
        cell, row if down else column, shown(text), shown(name), shown(unit), scale_of(unit)
    )


def matched(sheet: Sheet, title: str, headers: Sequence[Header]) -> tuple[Matched, list[Problem]]:
    """Return the declared columns among headers, with an error for each that is twice there."""
    by_name = columns_by_name(sheet)
    known: dict[str, tuple[Column, Header]] = {}
    problems: list[Problem] = []
    for found in headers:
        column = by_name.get(folded(found.text)) or by_name.get(found.folded)
        if column and column.name in known:
            problems.append(repeated(title, found, known[column.name][1]))
        elif column:
            known[column.name] = column, found
    return tuple(known.values()), problems


def repeated(title: str, found: Header, first: Header) -> Problem:
    """Return the error of a name that stands twice in a sheet."""
    cell = named(title, first.cell)
    said = say('"{text}" stands here and in {cell}', text=found.text, cell=cell)
    return Problem(
        Severity.ERROR,
        title,
        found.cell,
        said,
        say("each name once"),
        say("Rename or delete one of the two."),
        code="repeated_name",
    )


def what_is_named(sheet: Sheet) -> str:
    """Return what the names of a sheet are of: fields one below the other, or columns."""
    if sheet.vertical:
        return say("field")
    return say("column")


def missing(sheet: Sheet, title: str, column: Column, near: str) -> Problem:
    """Return the error of a missing column; `near` is the header that was probably meant."""
    what = what_is_named(sheet)
    found = say("no {what} {name}", what=what, name=column.name)
    if near:
        found = say(
            'no {what} {name}, but one named "{near}"', what=what, name=column.name, near=near
        )
        advice = say("Rename it to {header}.", header=column.header)
    else:
        advice = say("Add it. {help}", help=help_said(sheet, column)).strip()
    return Problem(
        Severity.ERROR,
        title,
        "",
        found,
        say("a {what} {header}", what=what, header=column.header),
        advice,
        code="missing_column",
    )


def _without_values(title: str, found: Header) -> Problem:
    """Return the remark of a column of the grower's own in which nothing was measured."""
    expected = say("numbers below it")
    code = "column_without_values"
    return Problem(
        Severity.REMARK,
        title,
        found.cell,
        say('"{text}" has no values', text=found.text),
        expected,
        say("It was left alone."),
        code=code,
    )


def unused(sheet: Sheet, title: str, found: Header, cells: str, free: Sequence[Column]) -> Problem:
    """Return the remark of a header that nothing is made of; `cells` are it and what it names."""
    what = what_is_named(sheet)
    near = nearest(found.name, [column.name for column in free])
    if sheet.further and cells == found.cell and not near:
        return _without_values(title, found)
    advice = say("It was left alone.")
    if near:
        advice = say("Did you mean {near}? It was left alone.", near=near)
    return Problem(
        Severity.REMARK,
        title,
        cells,
        say('"{text}" is not a {what} of this sheet', text=found.text, what=what),
        say("a {what} of the data dictionary", what=what),
        advice,
        code="unknown_column",
    )
