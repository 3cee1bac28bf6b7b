"""Labels told by the colour of cells alone: the rows of a table, or its columns, or each cell."""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from colorsys import rgb_to_hls
from itertools import count
from typing import Final

import numpy as np
from numpy.typing import NDArray
from openpyxl.styles.colors import COLOR_INDEX

from reportgen.importing.carriers.texts import UnknownCarrier
from reportgen.importing.carriers.written_keys import entries_of
from reportgen.importing.model.cells import Kind, Place, Sheet
from reportgen.importing.model.layouts import CarrierKind, Dimension, Layout
from reportgen.importing.model.tables import Table

NO_COLOUR: Final = "no colour"
GREY: Final = 0.12  # saturation below which a colour has no hue
HUES: Final = ((15, "red"), (45, "orange"), (70, "yellow"), (165, "green"), (200, "turquoise"), (260, "blue"),
               (330, "purple"), (360, "red"))  # fmt: skip
# ECMA-376 part 1, 20.1.6.2: a theme's colours, here those of the theme that a new workbook has.
THEME: Final = (
    "FFFFFF",
    "000000",
    "E7E6E6",
    "44546A",
    "4472C4",
    "ED7D31",
    "A5A5A5",
    "FFC000",
    "5B9BD5",
    "70AD47",
)
MOSTLY: Final = 0.75  # of the coloured cells of a row that have its colour
NEARLY_ALL: Final = 0.9  # of the rows that have a colour of their own

Texts = NDArray[np.object_]


def colour_labels(table: Table, sheets: Sequence[Sheet]) -> Texts:
    """Return the names of colours, (rows, 1) where rows have one each, (1, columns) where columns
    have, else of cells.

    A colour is called what a legend beside the table says, else by its hue. Raises UnknownCarrier
    where no cell of the table has a colour.
    """
    fills = _fills(table, sheets)
    with_headers = np.vstack([_header_fills(table, sheets), fills])
    if not (with_headers != "").any():
        raise UnknownCarrier(CarrierKind.COLOUR.value)
    of_rows = _lines(fills)
    of_columns = _lines(with_headers.T)
    if of_rows is not None:
        labels = of_rows[:, np.newaxis]
    elif of_columns is not None:
        labels = of_columns[np.newaxis, :]
    else:
        labels = fills
    names = _names(dict.fromkeys(with_headers[with_headers != ""].tolist()), table, sheets)
    named = [names.get(fill, NO_COLOUR) for fill in labels.ravel().tolist()]
    return np.array(named, dtype=object).reshape(labels.shape)


def untold(layout: Layout, names: Sequence[str]) -> list[str]:
    """Return the treatments of a layout that are no names yet.

    They are mere colours, and ids that a typed key lacks.
    """
    source = layout.dimensions.get(Dimension.TREATMENT)
    if source is None:
        return []
    words = layout.words.get(Dimension.TREATMENT.value, {})
    unnamed = [name for name in names if name and name not in words.values()]
    kinds = {carrier.kind for carrier in source.carriers}
    if CarrierKind.COLOUR in kinds:
        return list(filter(is_mere_colour, unnamed))
    unit = layout.dimensions.get(Dimension.UNIT)
    is_of_units = unit is not None and source.carriers == unit.carriers
    if words and is_of_units:
        return unnamed
    return []


def is_mere_colour(name: str) -> bool:
    """Tell whether a label is a colour's own name, as no legend gives it another."""
    hue = name.rstrip("0123456789 ")
    return hue in (NO_COLOUR, "grey", "black", "white", *(each for _, each in HUES))


def _fills(table: Table, sheets: Sequence[Sheet]) -> Texts:
    """Return the fill of each cell that holds something, (rows, columns), "" where none."""
    fills = np.full(table.text.shape, "", dtype=object)
    for index, block in enumerate(table.blocks):
        marked = sheets[block.sheet].fills
        if not marked:
            continue
        for row in np.flatnonzero(table.block == index).tolist():
            number = int(table.row[row])
            fills[row] = [marked.get((number, letter), "") for letter in block.letters]
    fills[table.kind == Kind.BLANK] = ""
    return fills


def _header_fills(table: Table, sheets: Sequence[Sheet]) -> Texts:
    """Return the fill of each lowest header cell, (columns,)."""
    block = table.blocks[0]
    if block.header_rows:
        row = block.header_rows[-1]
    else:
        row = 0
    marked = sheets[block.sheet].fills
    return np.array([marked.get((row, letter), "") for letter in block.letters], dtype=object)


def _lines(fills: Texts) -> Texts | None:
    """Return the colour of each row, None where they have none of their own or all have the same."""
    colours = []
    own = 0
    for row in fills.tolist():
        known = Counter(fill for fill in row if fill)
        colour, often = known.most_common(1)[0] if known else ("", 0)
        own += often >= MOSTLY * known.total()
        colours.append(colour)
    is_told = own >= NEARLY_ALL * len(colours) and len(set(colours)) > 1
    if is_told:
        return np.array(colours, dtype=object)
    return None


def _names(fills: Mapping[str, None], table: Table, sheets: Sequence[Sheet]) -> dict[str, str]:
    """Return the name of each colour: that of the legend, else of its hue.

    Hues are numbered where two colours have one.
    """
    names: dict[str, str] = {}
    for fill in fills:
        names[fill] = _new_hue(hue_of(fill), names.values())
    for sheet, places in _outside(table, sheets):
        for place, text in places.items():
            spelled = _spelled(text, names)
            fill_of_text = sheet.fills.get(place) or _swatch(sheet, place)
            names.update(spelled)
            if not spelled and fill_of_text in names:
                names[fill_of_text] = text
    return names


def _new_hue(hue: str, names: Collection[str]) -> str:
    """Return a hue, numbered from 2 where other colours are called so."""
    name = hue
    for number in count(2):
        if name not in names:
            break
        name = f"{hue} {number}"
    return name


def _swatch(sheet: Sheet, place: Place) -> str:
    """Return the colour of the blank cell left of a text, "" where there is none."""
    row, column = place
    is_blank = column > 1 and sheet.kind[row - 1, column - 2] == Kind.BLANK
    if is_blank:
        return sheet.fills.get((row, column - 1), "")
    return ""


def _spelled(text: str, names: Mapping[str, str]) -> dict[str, str]:
    """Return what a note such as `yellow = compost, green = none` calls colours."""
    try:
        said = {hue.casefold(): name for hue, name in entries_of(text)}
    except ValueError:
        return {}
    return {fill: said[hue] for fill, hue in names.items() if hue in said}


def _outside(table: Table, sheets: Sequence[Sheet]) -> list[tuple[Sheet, dict[Place, str]]]:
    """Return the texts beside the blocks of a table, by sheet and place."""
    found = []
    for index in dict.fromkeys(block.sheet for block in table.blocks):
        sheet = sheets[index]
        is_text = sheet.kind == Kind.TEXT
        for block in table.blocks:
            if block.sheet == index:
                area = block.area
                is_text[
                    area.first_row - 1 : area.last_row, area.first_column - 1 : area.last_column
                ] = False
        places = np.argwhere(is_text) + 1
        found.append(
            (
                sheet,
                {
                    (int(row), int(column)): str(sheet.text[row - 1, column - 1])
                    for row, column in places
                },
            )
        )
    return found


def hue_of(fill: str) -> str:
    """Return the everyday name of a colour: RRGGBB, or `theme 4`, `indexed 13` with or without a
    tint.
    """
    hue, light, saturation = rgb_to_hls(*(int(part, 16) / 255 for part in _channels(fill)))
    if saturation < GREY:
        if light < GREY:
            return "black"
        if light > 1 - GREY:
            return "white"
        return "grey"
    return next(name for limit, name in HUES if hue * 360 <= limit)


def _channels(fill: str) -> tuple[str, str, str]:
    word, _, rest = fill.partition(" ")
    rgb = fill
    if word == "theme":
        rgb = THEME[int(rest.split()[0]) % len(THEME)]
    elif word == "indexed":
        rgb = COLOR_INDEX[int(rest.split()[0]) % len(COLOR_INDEX)][-6:]
    elif len(rgb) != 6:
        rgb = "808080"
    return rgb[:2], rgb[2:4], rgb[4:]
