"""Characters that say which way text runs: refused in names, taken out of prose.

They show nothing, and turn what stands beside them round: with one in a name "20% more" can read "%
20". Names need none, since each is set apart where it is shown.
"""

import unicodedata
from dataclasses import replace

from reportgen import direction
from reportgen.language import listed, marked, say
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.cells import Value
from reportgen.workbook.declaration import Column
from reportgen.workbook.table import INVALID, Row, Table
from reportgen.workbook.values import here_and_in_more, quoted

EXPECTED = marked("text without characters that turn it round")


def without_controls(table: Table) -> tuple[Table, list[Problem]]:
    """Return a table whose prose holds no such characters, INVALID where a name does, and a problem
    for each column.
    """
    columns = dict(table.columns)
    problems: list[Problem] = []
    for column in (*table.sheet.columns, *table.factors):
        values = columns.get(column.name, ())
        if any(map(_has_controls, set(values))):
            found = [index for index, value in enumerate(values) if _has_controls(value)]
            problems.append(_problem(table, column, found))
            columns[column.name] = tuple(_cleared(value, column) for value in values)
    return replace(table, columns=columns), problems


def _has_controls(value: Value) -> bool:
    return (
        isinstance(value, str)
        and not value.isascii()
        and direction.CONTROLS.search(value) is not None
    )


def _cleared(value: Value, column: Column) -> Value:
    if not _has_controls(value):
        return value
    if column.prose:
        return direction.without_controls(str(value))
    return INVALID


def _problem(table: Table, column: Column, indices: list[int]) -> Problem:
    row = Row(table, indices[0])
    value = row.raw(column.name)
    if len(indices) > 1:
        more = here_and_in_more(len(indices) - 1)
    else:
        more = ""
    found = say(
        "{value}{more} holds {named}, which can turn text round",
        value=quoted(value),
        more=more,
        named=_named(str(value)),
    )
    if column.prose:
        advice = say("It was left out in the report; nothing else was changed.")
        return Problem(
            Severity.REMARK,
            table.title,
            row.cell(column.name),
            found,
            say(EXPECTED),
            advice,
            code="control_left_out",
        )
    advice = say("Type the text again: names may run either way without it.")
    return row.error(column.name, found, say(EXPECTED), advice, code="control_in_name")


def _named(text: str) -> str:
    signs = dict.fromkeys(direction.CONTROLS.findall(text))
    return listed([unicodedata.name(sign) for sign in signs])
