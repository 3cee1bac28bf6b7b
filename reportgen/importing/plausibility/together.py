"""Weights that are not of one plant each, though they are read so."""

import re
from collections.abc import Iterator
from typing import Final

import numpy as np
import pandas as pd

from reportgen.importing.model import long
from reportgen.importing.model.layouts import Covers, Dimension, Layout, Values
from reportgen.importing.model.tables import Table
from reportgen.importing.plausibility.evidence import WEIGHTS, Evidence, Finding, place_in_table
from reportgen.importing.quantity_names import quantity_text
from reportgen.importing.words import says
from reportgen.language import say
from reportgen.model.problem import Problem
from reportgen.workbook.values import shown

NUMBER_OF: Final = re.compile(r"(?:\b(\d+)\s+([^\W\d_]+))|(?:[x×]\s*(\d+)\b)")
FEWEST_UNITS: Final = 3


def weights_of_several_plants(evidence: Evidence) -> Iterator[Problem]:
    """A header tells of several plants, and each value is read as that of one."""
    for _, layout, table in evidence.layouts("Plants"):
        if not len(table.row):
            continue
        for index in _columns_of_single_plants(layout, table):
            header = table.columns[index].header
            number = _plants_in(header)
            if number > 1:
                yield _several_together(evidence, table, index, number)


def _columns_of_single_plants(layout: Layout, table: Table) -> list[int]:
    """Return the columns of weights that are read as those of one plant each."""
    names = [column.name for column in table.columns]
    indexes: list[int] = []
    for values in layout.values:
        if _is_of_plants(values) and not values.count:
            indexes.extend(names.index(name) for name in values.columns if name in names)
    return indexes


def _is_of_plants(values: Values) -> bool:
    """Tell whether values are weights that are read as of one plant each."""
    return values.quantity in WEIGHTS and values.covers is Covers.PLANT


def _several_together(evidence: Evidence, table: Table, index: int, number: int) -> Problem:
    return Finding(
        "several_plants_together",
        say(
            '"{header}" tells of {number} plants together',
            header=shown(table.columns[index].header),
            number=number,
        ),
        say("the weight of one plant, or a column that tells how many it is of"),
        say(
            "Write what one plant weighs, or add a column with the number of plants and"
            " name it as count; confirm it where each value is of one plant."
        ),
        waits=True,
    ).at(evidence, *place_in_table(table, 0, index))


def _plants_in(header: str) -> int:
    """Return the number of plants that a header tells, 0 where it tells none: `10 plants`, `x10`."""
    for match in NUMBER_OF.finditer(header):
        number, word, times = match.groups()
        if times is not None:
            return int(times)
        if says(word, "plant", "plants_counted"):
            return int(number)
    return 0


def weights_once_a_unit(evidence: Evidence) -> Iterator[Problem]:
    """A weight stands only in the first row of each tray: it may be that of the whole tray."""
    for number, layout, _ in evidence.layouts("Plants"):
        if Dimension.UNIT not in layout.dimensions:
            continue
        own = evidence.rows(number)
        for values in layout.values:
            cells = own[own[long.QUANTITY] == values.quantity]
            if _is_of_plants(values) and _is_first_alone(cells):
                yield _once_a_unit(evidence, values.quantity, cells)


def _once_a_unit(evidence: Evidence, quantity: str, cells: pd.DataFrame) -> Problem:
    first = cells[cells[long.STATE] == "value"].iloc[0]
    return Finding(
        "weight_once_a_unit",
        say(
            "the {quantity} stands once a tray, in its first row",
            quantity=quantity_text(quantity).lower(),
        ),
        say("a weight for each plant, or one that is known to be of the whole tray"),
        say(
            'Say covers = "unit" where it is of the whole tray; confirm it where it is of'
            " that plant."
        ),
        waits=True,
    ).at(evidence, int(first[long.SHEET]), int(first[long.ROW]), int(first[long.COLUMN]))


def _is_first_alone(cells: pd.DataFrame) -> bool:
    """Tell whether the first row of each unit alone has a value, of several rows each."""
    groups = cells.groupby([long.TREATMENT, long.UNIT], sort=False)[long.STATE]
    if len(groups) < FEWEST_UNITS:
        return False
    for _, states in groups:
        indexes = np.flatnonzero(states == "value").tolist()
        if len(states) < 2 or indexes != [0]:
            return False
    return True


def plants_that_nobody_counted(evidence: Evidence) -> Iterator[Problem]:
    """Figures a gram rest on the plants written down, as no column counts those of a tray."""
    if not evidence.frame[long.QUANTITY].isin(("Reading", "Volume")).any():
        return
    for number, layout, _ in evidence.layouts("Plants"):
        own = evidence.rows(number)
        if not _is_counted(layout) and Dimension.UNIT in layout.dimensions and len(own):
            yield Finding(
                "plants_not_counted",
                say(
                    "no column counts the plants of a tray, so those written down are taken for"
                    " all of them"
                ),
                say("a row for each plant, or a column with the number of plants started"),
                say(
                    "Where only some were weighed, tray yield, water and energy a gram are wrong:"
                    ' add the number in a column, and name it as "Plants started" in the settings'
                    " file."
                ),
            ).at(evidence, int(own.iloc[0][long.SHEET]), int(own.iloc[0][long.ROW]), 0)
            return


def _is_counted(layout: Layout) -> bool:
    """Tell whether a column counts the plants of a tray."""
    return "Plants started" in layout.columns or any(values.count for values in layout.values)
