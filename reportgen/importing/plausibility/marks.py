"""What its owner marked by hand: rows in a colour of their own, cells with a comment."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Final

import pandas as pd

from reportgen.importing.model import long
from reportgen.importing.model.layouts import CarrierKind, Layout
from reportgen.importing.model.tables import Table
from reportgen.importing.plausibility.evidence import PLANTS_SHEETS, Evidence, Finding
from reportgen.language import marked_plural, plural, say
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.values import shown

FEW: Final = 1 / 4  # of the rows; a colour that more of them have is for looks
COLOURED: Final = {
    "row": marked_plural(
        "a row has a colour of its own", "{number} rows have a colour of their own"
    ),
    "value": marked_plural(
        "a value has a colour of its own", "{number} values have a colour of their own"
    ),
}
FEWEST_CELLS: Final = 2  # filled cells that make a row in a colour


def rows_in_a_colour(evidence: Evidence) -> Iterator[Problem]:
    """A few rows of plants have a colour of their own: they may be meant to be left out."""
    for number, layout, table in evidence.layouts(*PLANTS_SHEETS):
        if _tells_by_colour(layout):
            continue
        read = evidence.rows(number)
        cells = set(zip(read[long.SHEET].tolist(), read[long.ROW].tolist(), strict=True))
        for (sheet, _), places in _coloured(evidence, table).items():
            rows = [place for place in places if (sheet, place[0]) in cells]
            if rows and len(rows) <= FEW * len(cells):
                yield _in_a_colour(
                    evidence,
                    sheet,
                    [
                        evidence.sheets[sheet].range(row, first, row, last)
                        for row, first, last in rows
                    ],
                    "row",
                )


def _tells_by_colour(layout: Layout) -> bool:
    sources = layout.dimensions.values()
    return any(
        carrier.kind is CarrierKind.COLOUR for source in sources for carrier in source.carriers
    )


def _coloured(
    evidence: Evidence, table: Table
) -> dict[tuple[int, str], list[tuple[int, int, int]]]:
    """Return rows by sheet and colour, each with its first and last column."""
    found: dict[tuple[int, str], list[tuple[int, int, int]]] = defaultdict(list)
    for block, row in zip(table.block.tolist(), table.row.tolist(), strict=True):
        own = table.blocks[block]
        sheet = evidence.sheets[own.sheet]
        if not sheet.fills:
            continue
        letters = [letter for letter in own.letters if letter and sheet.kind[row - 1, letter - 1]]
        colours = {sheet.fills.get((row, letter), "") for letter in letters}
        if len(letters) >= FEWEST_CELLS and len(colours) == 1 and "" not in colours:
            found[own.sheet, colours.pop()].append((row, min(letters), max(letters)))
    return found


def _in_a_colour(evidence: Evidence, sheet: int, cells: list[str], noun: str) -> Problem:
    """Return the error that some rows or values are marked; `noun` is `row` or `value`."""
    found = plural(*COLOURED[noun], len(cells))
    return Problem(
        Severity.ERROR,
        evidence.sheets[sheet].label,
        ", ".join(cells),
        found,
        say("a word on what the colour means"),
        say("Leave them out where they are not to be used; else confirm them."),
        code=f"coloured_{noun}s",
        count=len(cells),
    )


def values_in_a_colour(evidence: Evidence) -> Iterator[Problem]:
    """A few values of plants have a colour that the rest of their row has not: they may be meant to
    be left out.
    """
    for number, _, table in evidence.layouts(*PLANTS_SHEETS):
        whole_rows = {
            (sheet, row)
            for (sheet, _), rows in _coloured(evidence, table).items()
            for row, _, _ in rows
        }
        values = [value for value in _values(evidence, number) if value[:2] not in whole_rows]
        coloured: dict[tuple[int, str], list[tuple[int, int]]] = defaultdict(list)
        for sheet, row, column in values:
            fills = evidence.sheets[sheet].fills
            if (row, column) in fills:
                coloured[sheet, fills[row, column]].append((row, column))
        for (sheet, _), cells in coloured.items():
            if len(cells) <= FEW * len(values):
                yield _in_a_colour(
                    evidence,
                    sheet,
                    [evidence.sheets[sheet].address(*cell) for cell in cells],
                    "value",
                )


def _values(evidence: Evidence, number: int) -> list[tuple[int, int, int]]:
    """Return sheet, row and column of each value that a layout reads."""
    own = evidence.rows(number)
    own = own[own[long.STATE] == "value"]
    return list(
        zip(
            own[long.SHEET].tolist(), own[long.ROW].tolist(), own[long.COLUMN].tolist(), strict=True
        )
    )


def values_with_a_comment(evidence: Evidence) -> Iterator[Problem]:
    """A value has a comment: what it says may matter."""
    for number, _, table in evidence.layouts(*PLANTS_SHEETS):
        own = evidence.rows(number)
        commented = {block.sheet for block in table.blocks if evidence.sheets[block.sheet].comments}
        for index in sorted(commented):
            comments = evidence.sheets[index].comments
            rows = own[own[long.SHEET] == index]
            for row, column in zip(
                rows[long.ROW].tolist(), rows[long.COLUMN].tolist(), strict=True
            ):
                if (row, column) in comments:
                    yield Finding(
                        "value_with_comment",
                        say('a comment says "{comment}"', comment=shown(comments[row, column])),
                        say("a value as good as the others"),
                        say(
                            "It was used as it stands. Leave it out or correct it where the comment asks"
                            " for it."
                        ),
                    ).at(evidence, index, row, column)


def values_that_are_hidden(evidence: Evidence) -> Iterator[Problem]:
    """Values stand in hidden rows or columns, or on a hidden sheet, where their owner does not see
    them.
    """
    frame = evidence.frame
    for index in pd.unique(frame[long.SHEET]):
        sheet = evidence.sheets[int(index)]
        if not (sheet.is_hidden or sheet.hidden_rows or sheet.hidden_columns):
            continue
        rows = frame[frame[long.SHEET] == index]
        is_hidden = rows[long.ROW].isin(sheet.hidden_rows) | rows[long.COLUMN].isin(
            sheet.hidden_columns
        )
        hidden = rows[is_hidden | sheet.is_hidden]
        if len(hidden):
            first = hidden.iloc[0]
            yield Finding(
                "hidden_values",
                plural(
                    "{number} value in hidden rows or columns, or on a hidden sheet",
                    "{number} values in hidden rows or columns, or on a hidden sheet",
                    len(hidden),
                ),
                say("values that can be seen"),
                say(
                    "They were read. Leave them out where they are hidden because they do not"
                    " count."
                ),
            ).at(evidence, int(index), int(first[long.ROW]), int(first[long.COLUMN]), len(hidden))
