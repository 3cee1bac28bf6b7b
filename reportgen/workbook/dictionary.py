"""The data dictionary: every sheet and column of the declaration, as a page of Markdown."""

from collections.abc import Iterator
from typing import Final

from reportgen.workbook.blank import hint_of
from reportgen.workbook.declaration import SHEETS, TRIAL, Column, Kind, Sheet

HEAD: Final = """# Data dictionary

What a trial workbook may hold. This page is written from the declaration that also reads and checks workbooks.

- Sheets and columns marked * must be there; a column marked * has a value on every row that is filled in.
- Order is free. Names are matched without regard to case, spaces, accents and underscores.
- The unit stands in the header in brackets. Another unit of the same kind in its place, or behind a number in a cell,
  is converted; the cell's wins.
- What lies outside the possible range is an error. What lies outside the usual one is a caution, and is used.
"""


def dictionary() -> str:
    """Return the page, one table a sheet."""
    return "\n".join([HEAD, *(line for sheet in SHEETS for line in _sheet(sheet))])


def _sheet(sheet: Sheet) -> Iterator[str]:
    yield f"## {sheet.name}{'*' * sheet.required}\n"
    yield f"{sheet.help}\n"
    if sheet.key:
        yield f"No two rows have the same {' and '.join(sheet.key)}.\n"
    yield f"| {'field' if sheet is TRIAL else 'column'} | holds | what to write |"
    yield "| --- | --- | --- |"
    for column in sheet.columns:
        yield f"| {column.header}{'*' * (column.required or column.needed)} | {_holds(column)} | {_written(column)} |"
    if sheet.family:
        yield f"| {sheet.family}: any name, with or without a unit | text or number | {sheet.family_help} |"
    if sheet.further:
        yield "| any other name, with or without a unit | number | A measurement of your own. |"
    yield ""


def _holds(column: Column) -> str:
    if column.choices:
        return ", ".join(f"`{choice}`" for choice in column.choices)
    if column.refers:
        return " or ".join((f"code of {column.refers}", *(f"`{word}`" for word in column.also)))
    return str(Kind(column.kind).value)


def _written(column: Column) -> str:
    return hint_of(column).replace("|", "\\|")
