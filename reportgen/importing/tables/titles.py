"""Read the texts above a table: titles, and fields such as `Treatment: fan`."""

import numpy as np

from reportgen.importing.model.cells import Kind, Place
from reportgen.importing.tables.body import FIELD
from reportgen.importing.tables.regions import Region

Title = tuple[str, Place]


def texts_above(region: Region, end: int) -> tuple[list[Title], dict[str, str]]:
    """Return the titles of the rows before `end`, nearest first, and the fields by label."""
    titles: list[Title] = []
    fields: dict[str, str] = {}
    for row in range(end - 1, -1, -1):
        own_titles, own_fields = texts_of_row(region, row)
        titles += own_titles
        fields = own_fields | fields
    return titles, fields


def texts_of_row(region: Region, row: int) -> tuple[list[Title], dict[str, str]]:
    """Return the titles of a row above a table, and its fields.

    A field is `Treatment: fan`, or a label beside its value.
    """
    filled = [int(column) for column in np.flatnonzero(region.kind[row] != Kind.BLANK)]
    titles: list[Title] = []
    fields: dict[str, str] = {}
    label = ""
    for index, column in enumerate(filled):
        text = str(region.text[row, column]).strip()
        if label:
            fields[label.rstrip(": ")] = text
            label = ""
            continue
        match = FIELD.match(text)
        if match:
            fields[match[1].strip()] = match[2].strip()
        elif _labels_the_next(region, row, filled, index):
            label = text
            continue
        if match or len(filled) == 1 or region.kind[row, column] == Kind.TEXT:
            place = (region.area.first_row + row, region.area.first_column + column)
            titles.append((text, place))
    return titles, fields


def _labels_the_next(region: Region, row: int, filled: list[int], index: int) -> bool:
    """Tell whether a text is the label of the value to its right, at most two columns away."""
    column = filled[index]
    if index + 1 == len(filled) or filled[index + 1] - column > 2:
        return False
    if region.kind[row, column] != Kind.TEXT:
        return False
    return len(filled) == 2 or str(region.text[row, column]).strip().endswith(":")
