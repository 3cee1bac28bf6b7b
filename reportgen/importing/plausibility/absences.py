"""What stands where a number should: blanks, words, zeros, dates, labels that were not written."""

from collections.abc import Iterator
from typing import Final

import numpy as np
import pandas as pd

from reportgen.importing.carriers import resolve
from reportgen.importing.model import long
from reportgen.importing.model.cells import Kind
from reportgen.importing.model.layouts import Blank, CarrierKind, Dimension, Layout, Source
from reportgen.importing.model.tables import Table
from reportgen.importing.plausibility.evidence import (
    USED,
    WEIGHTS,
    Evidence,
    Finding,
    place_in_table,
)
from reportgen.importing.quantity_names import quantity_text
from reportgen.importing.sheets.amounts import declared
from reportgen.language import figure, plural, say
from reportgen.model.problem import Problem
from reportgen.workbook.values import shown

Place = tuple[int, int, int]  # sheet, row, column
LIMITS: Final = "<>≤≥"
HARVESTED: Final = ("Fresh weight", "Weight")


def blanks_that_nobody_explained(evidence: Evidence) -> Iterator[Problem]:
    """A blank among weights: nothing says whether the plant was lost or not weighed."""
    frame = evidence.frame
    blanks = frame[(frame[long.STATE] == "blank") & frame[long.QUANTITY].isin(HARVESTED)]
    for (_, sheet), own in blanks.groupby([long.LAYOUT, long.SHEET], sort=False):
        first = own.iloc[0]
        yield Finding(
            "blank_not_explained",
            plural(
                "a blank stands for the weight",
                "a blank stands for the weight, and {more} more",
                len(own),
                more=len(own) - 1,
            ),
            say("a weight, or a word on what a blank means"),
            say(
                'In {file} write blank = "{missing}", "{zero}" or "{lost}" in its values.',
                file=evidence.settings.name,
                missing=Blank.MISSING,
                zero=Blank.ZERO,
                lost=Blank.LOST,
            ),
            waits=True,
        ).at(evidence, int(str(sheet)), int(first[long.ROW]), int(first[long.COLUMN]), len(own))


def units_that_nobody_told(evidence: Evidence) -> Iterator[Problem]:
    """A quantity has no unit of measure: it is never guessed."""
    frame = evidence.frame
    is_open = (frame[long.UNIT_OF_MEASURE] == "") & (frame[long.STATE] == "value")
    for (number, quantity), own in frame[is_open].groupby([long.LAYOUT, long.QUANTITY], sort=False):
        column = declared(evidence.settings.layouts[int(str(number))].gives, str(quantity))
        is_weight = quantity in WEIGHTS
        if is_weight or (column is not None and column.unit):
            first = own.iloc[0]
            yield Finding(
                "unit_not_told",
                say(
                    "nothing tells the unit of {quantity}, such as {example}",
                    quantity=quantity_text(str(quantity)),
                    example=figure(f"{first[long.VALUE]:g}"),
                ),
                say("a unit of measure"),
                say(
                    'Write it in its header, or as unit = "g" in {file}.',
                    file=evidence.settings.name,
                ),
                waits=True,
            ).at(
                evidence,
                int(first[long.SHEET]),
                int(first[long.ROW]),
                int(first[long.COLUMN]),
                len(own),
            )


def _unread_cells(evidence: Evidence, kind: Kind) -> Iterator[tuple[str, str, Place]]:
    """Yield text, header, sheet, row and column of cells of a kind that are read as missing.

    Corrected and left out ones are not among them.
    """
    for number, layout, table in evidence.layouts():
        missing = _missing_cells(evidence.rows(number))
        names = _value_columns(layout)
        for index, column in enumerate(table.columns):
            if column.name not in names:
                continue
            for row in np.flatnonzero(table.kind[:, index] == kind).tolist():
                place = place_in_table(table, row, index)
                if place in missing:
                    yield shown(str(table.text[row, index])), shown(column.header), place


def _missing_cells(rows: pd.DataFrame) -> set[Place]:
    """Return sheet, row and column of the values that are read as missing."""
    missing = rows[rows[long.STATE] == "missing"]
    columns = [missing[name].tolist() for name in (long.SHEET, long.ROW, long.COLUMN)]
    return set(zip(*columns, strict=True))


def _value_columns(layout: Layout) -> set[str]:
    names: set[str] = set()
    for values in layout.values:
        names.update(values.columns)
    return names


def words_among_numbers(evidence: Evidence) -> Iterator[Problem]:
    """A word in place of a number that no setting explains."""
    for text, header, place in _unread_cells(evidence, Kind.TEXT):
        yield Finding(
            "word_among_numbers",
            say('"{text}" stands among the numbers of {header}', text=text, header=header),
            say("a number, or a word whose meaning is told"),
            say(
                "Put it under missing or lost in {file}, or correct the cell.",
                file=evidence.settings.name,
            ),
            waits=True,
        ).at(evidence, *place)


def limits_among_numbers(evidence: Evidence) -> Iterator[Problem]:
    """A limit such as <5 among weights is no measured value."""
    read = evidence.frame[
        evidence.frame[long.QUANTITY].isin(WEIGHTS) & (evidence.frame[long.STATE] == "value")
    ]
    cells = read[[long.SHEET, long.ROW, long.COLUMN, long.VALUE]].drop_duplicates(
        [long.SHEET, long.ROW, long.COLUMN]
    )
    for index, own in cells.groupby(long.SHEET, sort=False):
        sheet = evidence.sheets[int(str(index))]
        bounds = {cell for cell, sign in sheet.bounds.items() if sign[0] in LIMITS}
        if not bounds:
            continue
        for _, row, column, value in own.itertuples(index=False):
            if (row, column) in bounds and value == sheet.number[row - 1, column - 1]:
                text = f"{sheet.bounds[row, column]}{value:g}"
                yield Finding(
                    "limit_among_numbers",
                    say('"{text}" among the values is a limit, not a measured value', text=text),
                    say("the measured value, or a word for none"),
                    say("Correct the cell, leave it out, or confirm it."),
                    waits=True,
                ).at(evidence, int(str(index)), int(row), int(column))


def formulas_that_were_never_computed(evidence: Evidence) -> Iterator[Problem]:
    """A formula whose result no program has stored: its value is not there."""
    for text, header, place in _unread_cells(evidence, Kind.MISSING):
        if text.startswith("="):
            yield Finding(
                "formula_not_computed",
                say('the formula "{text}" has no result', text=text),
                say("numbers of {header}", header=header),
                say("Open the file in a spreadsheet program and save it, which computes it."),
                waits=True,
            ).at(evidence, *place)


def dates_among_numbers(evidence: Evidence) -> Iterator[Problem]:
    """A number such as 4.3 that the spreadsheet took for a date, or a date that lost its format."""
    for text, header, place in _unread_cells(evidence, Kind.MOMENT):
        yield Finding(
            "date_among_numbers",
            say("{text} is a date, not a number", text=text),
            say("numbers of {header}", header=header),
            say(
                "The spreadsheet took a number such as 4.3 for a date: type it again, or"
                " correct the cell."
            ),
            waits=True,
        ).at(evidence, *place)
    for _, layout, table in evidence.layouts():
        yield from _numbers_among_dates(evidence, layout, table)


def _numbers_among_dates(evidence: Evidence, layout: Layout, table: Table) -> Iterator[Problem]:
    index = _column_of(layout.dimensions.get(Dimension.OCCASION), table)
    if index < 0:
        return
    kind = table.kind[:, index]
    numbers = np.flatnonzero(kind == Kind.NUMBER)
    if len(numbers) and (kind == Kind.MOMENT).sum() > len(numbers):
        yield Finding(
            "number_among_dates",
            say("{text} is a number, not a date", text=shown(str(table.text[numbers[0], index]))),
            say("a date, as in the other rows"),
            say("Type the date again."),
            waits=True,
        ).at(evidence, *place_in_table(table, int(numbers[0]), index), len(numbers))


def _column_of(source: Source | None, table: Table) -> int:
    """Return the column that carries a dimension whole, -1 where none does."""
    if (
        source is None
        or len(source.carriers) != 1
        or source.carriers[0].kind is not CarrierKind.COLUMN
    ):
        return -1
    names = [column.name for column in table.columns]
    name = source.carriers[0].name
    if name in names:
        return names.index(name)
    return -1


def zeros_among_numbers(evidence: Evidence) -> Iterator[Problem]:
    """A 0 among the sizes of plants: nothing there, or nothing measured."""
    frame = evidence.frame
    gives = {number: layout.gives for number, layout, _ in evidence.layouts("Plants", "Growth")}
    read = frame[frame[long.LAYOUT].isin(gives) & (frame[long.STATE] == "value")]
    for (number, quantity), own in read.groupby([long.LAYOUT, long.QUANTITY], sort=False):
        zeros = own[own[long.VALUE] == 0]
        occasions = evidence.settings.layouts[int(str(number))].occasions
        is_none_good = _counts_things(
            evidence.settings.layouts[int(str(number))].gives, str(quantity), own
        )
        if zeros.empty or len(zeros) == len(own) or occasions or is_none_good:
            continue
        first = zeros.iloc[0]
        yield Finding(
            "zero_not_explained",
            plural(
                "0 among the values of {quantity}",
                "0, and {more} more, among the values of {quantity}",
                len(zeros),
                more=len(zeros) - 1,
                quantity=quantity_text(str(quantity)),
            ),
            say("a measured value, or a word for none"),
            say(
                "Confirm it where nothing was there; else correct it to what it means, such as"
                " dead. {used}",
                used=say(USED),
            ),
            waits=quantity in HARVESTED,
        ).at(
            evidence,
            int(first[long.SHEET]),
            int(first[long.ROW]),
            int(first[long.COLUMN]),
            len(zeros),
        )


def _counts_things(gives: str, quantity: str, own: pd.DataFrame) -> bool:
    """Tell whether numbers count leaves, fruits or splits, of which there may be none.

    They are whole, and no weight or size.
    """
    is_measured = quantity != "Leaves" and declared(gives, quantity) is not None
    return not is_measured and bool((own[long.VALUE] % 1 == 0).all())


def labels_below_a_blank_row(evidence: Evidence) -> Iterator[Problem]:
    """A label was filled down past a blank row: the one above it may not hold there."""
    for _, layout, table in evidence.layouts():
        for dimension in (Dimension.TREATMENT, Dimension.UNIT, Dimension.BLOCK):
            source = layout.dimensions.get(dimension)
            index = _column_of(source, table)
            if source is None or index < 0:
                continue
            blank = table.text[:, index] == ""
            labels = np.broadcast_to(
                resolve(source, table, evidence.sheets, evidence.found, layout.dimensions),
                table.kind.shape,
            )[:, index]
            for row in np.flatnonzero(blank & (labels != "")).tolist():
                if _is_below_a_gap(table, row):
                    yield Finding(
                        "label_below_blank_row",
                        say(
                            '{header} is blank below a blank row, and taken for "{label}"',
                            header=shown(table.columns[index].header),
                            label=shown(str(labels[row])),
                        ),
                        say("its value in the first row of a group"),
                        say("Write it here."),
                        waits=True,
                    ).at(evidence, *place_in_table(table, row, index))


def _is_below_a_gap(table: Table, index: int) -> bool:
    """Tell whether rows of the sheet were left blank right above a row of the table."""
    if index == 0 or table.block[index] != table.block[index - 1]:
        return False
    between = set(range(int(table.row[index - 1]) + 1, int(table.row[index])))
    filled = {row for block, row, _ in table.left_out if block == table.block[index]}
    for statistic in table.computed:
        filled.update(row for _, row, _ in statistic.cells)
    return bool(between - filled)
