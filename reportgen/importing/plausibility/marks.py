"""What its owner marked by hand: rows in a colour of their own, cells with a comment."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import pandas as pd

from reportgen.importing.model import long
from reportgen.importing.model.cells import Sheet
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
        rows_read = set(zip(read[long.SHEET].tolist(), read[long.ROW].tolist(), strict=True))
        for (index, _), rows in _coloured(evidence, table).items():
            sheet = evidence.sheets[index]
            ranges = [row.range_on(sheet) for row in rows if (index, row.number) in rows_read]
            if ranges and len(ranges) <= FEW * len(rows_read):
                yield _in_a_colour(evidence, index, ranges, "row")


def _tells_by_colour(layout: Layout) -> bool:
    """Tell whether a dimension of a layout is told by colours."""
    for source in layout.dimensions.values():
        if any(carrier.kind is CarrierKind.COLOUR for carrier in source.carriers):
            return True
    return False


@dataclass(frozen=True)
class _Row:
    """A row in one colour, with its first and last filled column, counted from 1."""

    number: int
    first: int
    last: int

    def range_on(self, sheet: Sheet) -> str:
        """Return the range of its cells, such as `A7:F7`."""
        return sheet.range(self.number, self.first, self.number, self.last)


def _coloured(evidence: Evidence, table: Table) -> dict[tuple[int, str], list[_Row]]:
    """Return rows that have a single colour, by sheet and colour."""
    rows: dict[tuple[int, str], list[_Row]] = defaultdict(list)
    for index, number in zip(table.block.tolist(), table.row.tolist(), strict=True):
        block = table.blocks[index]
        sheet = evidence.sheets[block.sheet]
        if not sheet.fills:
            continue
        letters = _filled(sheet, number, block.letters)
        colours = {sheet.fills.get((number, letter), "") for letter in letters}
        if len(letters) < FEWEST_CELLS or len(colours) > 1:
            continue
        colour = colours.pop()
        if colour:
            rows[block.sheet, colour].append(_Row(number, min(letters), max(letters)))
    return rows


def _filled(sheet: Sheet, row: int, letters: Sequence[int]) -> list[int]:
    """Return the columns in which a row holds something."""
    return [letter for letter in letters if letter and sheet.kind[row - 1, letter - 1]]


def _in_a_colour(evidence: Evidence, sheet: int, cells: list[str], noun: str) -> Problem:
    """Return the error that some rows or values are marked; `noun` is `row` or `value`."""
    text = plural(*COLOURED[noun], len(cells))
    return Problem(
        Severity.ERROR,
        evidence.sheets[sheet].label,
        ", ".join(cells),
        text,
        say("a word on what the colour means"),
        say("Leave them out where they are not to be used; else confirm them."),
        code=f"coloured_{noun}s",
        count=len(cells),
    )


def values_in_a_colour(evidence: Evidence) -> Iterator[Problem]:
    """A few values of plants have a colour that the rest of their row has not.

    They may be meant to be left out.
    """
    for number, _, table in evidence.layouts(*PLANTS_SHEETS):
        whole_rows = _rows_of_one_colour(evidence, table)
        values = [value for value in _values(evidence, number) if value[:2] not in whole_rows]
        for (sheet, _), cells in _by_colour(evidence, values).items():
            if len(cells) <= FEW * len(values):
                addresses = [evidence.sheets[sheet].address(*cell) for cell in cells]
                yield _in_a_colour(evidence, sheet, addresses, "value")


def _rows_of_one_colour(evidence: Evidence, table: Table) -> set[tuple[int, int]]:
    """Return the rows that have a single colour, by sheet."""
    coloured: set[tuple[int, int]] = set()
    for (sheet, _), rows in _coloured(evidence, table).items():
        coloured.update((sheet, row.number) for row in rows)
    return coloured


def _by_colour(
    evidence: Evidence, values: Sequence[tuple[int, int, int]]
) -> dict[tuple[int, str], list[tuple[int, int]]]:
    """Return the row and column of filled values by sheet and colour."""
    coloured: dict[tuple[int, str], list[tuple[int, int]]] = defaultdict(list)
    for sheet, row, column in values:
        fills = evidence.sheets[sheet].fills
        if (row, column) in fills:
            coloured[sheet, fills[row, column]].append((row, column))
    return coloured


def _values(evidence: Evidence, number: int) -> list[tuple[int, int, int]]:
    """Return sheet, row and column of each value that a layout reads."""
    own = evidence.rows(number)
    own = own[own[long.STATE] == "value"]
    columns = [own[name].tolist() for name in (long.SHEET, long.ROW, long.COLUMN)]
    return list(zip(*columns, strict=True))


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
    """Values stand in hidden rows or columns, or on a hidden sheet."""
    frame = evidence.frame
    for index in pd.unique(frame[long.SHEET]):
        sheet = evidence.sheets[int(index)]
        rows = frame[frame[long.SHEET] == index]
        is_in_row = rows[long.ROW].isin(sheet.hidden_rows)
        is_in_column = rows[long.COLUMN].isin(sheet.hidden_columns)
        hidden = rows[is_in_row | is_in_column | sheet.is_hidden]
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
