"""The data dictionary: every sheet and column of the declaration, as a page of Markdown."""

from collections.abc import Iterator
from typing import Final

from reportgen.workbook.blank import hint_of
from reportgen.workbook.declaration import SHEETS, Column, Kind, Sheet
from reportgen.workbook.vocabulary import ENGLISH, Vocabulary

HEAD: Final = (
    "What a trial workbook may hold. This page is written from the declaration that also reads and"
    " checks workbooks."
)
RULES: Final = (
    (
        "Sheets and columns marked * must be there; a column marked * has a value on every row that"
        " is filled in."
    ),
    "Order is free. Names are matched without regard to case, spaces, accents and underscores.",
    (
        "The unit stands in the header in brackets. Another unit of the same kind in its place, or"
        " behind a number in a cell, is converted; the cell's wins."
    ),
    (
        "What lies outside the possible range is an error. What lies outside the usual one is a"
        " caution, and is used."
    ),
)
SCALE_EXAMPLES: Final = "`Tip burn (0-5)`, `Vigour (1 to 9)`, `Colour (pale < green < dark)`"
SCORE_HELP: Final = (
    "A score of your own, which is never averaged; blank where a plant was not scored."
)


def dictionary(words: Vocabulary = ENGLISH) -> str:
    """Return the page in the language of `words`, one table a sheet."""
    rules = "\n".join(f"- {words.text(rule)}" for rule in RULES)
    head = f"# {words.text('Data dictionary')}\n\n{words.text(HEAD)}\n\n{rules}\n"
    lines = [head]
    for sheet in SHEETS:
        lines += _sheet(words.spoken(sheet), words)
    return "\n".join(lines)


def _sheet(sheet: Sheet, words: Vocabulary) -> Iterator[str]:
    yield f"## {sheet.name}{'*' * sheet.required}\n"
    yield f"{sheet.help}\n"
    if sheet.key:
        names = _together("{first} and {last}", sheet.key, words)
        yield f"{words.text('No two rows have the same {names}.', names=names)}\n"
    if sheet.vertical:
        what = words.text("field")
    else:
        what = words.text("column")
    yield f"| {what} | {words.text('holds')} | {words.text('what to write')} |"
    yield "| --- | --- | --- |"
    for column in sheet.columns:
        mark = "*" * column.required
        yield f"| {column.header}{mark} | {_holds(column, words)} | {_written(column, words)} |"
    if sheet.family:
        names = words.text("{family}: any name, with or without a unit", family=sheet.family)
        yield f"| {names} | {words.text('text or number')} | {words.text(sheet.family_help)} |"
    if sheet.further:
        name = words.text("any other name, with or without a unit")
        yield f"| {name} | {words.text('number')} | {words.text('A measurement of your own.')} |"
        scaled = words.text(
            "any other name with a scale, such as {examples}", examples=SCALE_EXAMPLES
        )
        yield f"| {scaled} | {words.text('class of the scale')} | {words.text(SCORE_HELP)} |"
    yield ""


def _holds(column: Column, words: Vocabulary) -> str:
    if column.kind is Kind.FLAG:
        return words.text("{first} or {last}", first=words.yes[0], last=words.no[0])
    if column.choices:
        return ", ".join(f"`{choice}`" for choice in column.choices)
    if column.refers:
        code = words.text("code of {sheet}", sheet=column.refers)
        return _together("{first} or {last}", (code, *(f"`{word}`" for word in column.also)), words)
    return words.text(column.kind.value)


def _together(message: str, names: tuple[str, ...], words: Vocabulary) -> str:
    """Return names in a row, all but the last two parted by a word."""
    text = names[0]
    for name in names[1:]:
        text = words.text(message, first=text, last=name)
    return text


def _written(column: Column, words: Vocabulary) -> str:
    return hint_of(column, words).replace("|", "\\|")
