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
    """Return the titles of a row above a table, and its fields: `Treatment: fan`, or a label beside
    its value.
    """
    filled = [int(column) for column in np.flatnonzero(region.kind[row] != Kind.BLANK)]
    titles: list[Title] = []
    fields: dict[str, str] = {}
    texts = [str(region.text[row, column]).strip() for column in filled]
    first = (region.area.first_row + row, region.area.first_column)
    index = 0
    while index < len(filled):
        text = texts[index]
        place = (first[0], first[1] + filled[index])
        match = FIELD.match(text)
        has_next = index + 1 < len(filled) and filled[index + 1] - filled[index] <= 2
        if match:
            fields[match[1].strip()] = match[2].strip()
            titles.append((text, place))
        elif (
            has_next
            and (text.endswith(":") or len(filled) == 2)
            and region.kind[row, filled[index]] == Kind.TEXT
        ):
            fields[text.rstrip(": ")] = texts[index + 1]
            index += 1
        elif region.kind[row, filled[index]] == Kind.TEXT or len(filled) == 1:
            titles.append((text, place))
        index += 1
    return titles, fields
