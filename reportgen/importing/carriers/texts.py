"""The labels of whole carriers, as they stand in a table."""

import re
from collections.abc import Sequence
from itertools import zip_longest
from pathlib import PurePath

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.carriers.filling import filled_down
from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.layouts import Carrier, CarrierKind
from reportgen.importing.model.tables import Block, Table

YEAR_UNKNOWN = np.datetime64("1904", "Y")  # of dates that are written without a year
_SPACES = re.compile(r"\s+")


class UnknownCarrier(ValueError):
    """A carrier that a table does not have, such as a column that vanished."""


def column_index(table: Table, name: str) -> int:
    """Return the index of a column by its name. Raises UnknownCarrier where there is none."""
    wanted = tidy(name).casefold()
    for index, column in enumerate(table.columns):
        if column.name == name:
            return index
    for index, column in enumerate(table.columns):
        if tidy(column.name).casefold() == wanted:
            return index
    raise UnknownCarrier(name)


def tidy(text: str) -> str:
    """Return a text without spaces around it, and with one space for several."""
    return _SPACES.sub(" ", text).strip()


def column_labels(
    table: Table, index: int, sheets: Sequence[Sheet]
) -> tuple[NDArray[np.object_], bool]:
    """Return (rows,) labels of a column, dates in ISO form, and whether some were filled down."""
    moments = (table.kind[:, index] == Kind.MOMENT) & has_year(table.moment[:, index])
    if moments.any():
        texts = np.empty(len(moments), dtype=object)
        texts[moments] = iso_texts(table.moment[moments, index])
        texts[~moments] = tidied(table.text[~moments, index])
    else:
        texts = tidied(table.text[:, index])
    return filled_down(table, index, texts, sheets)


def tidied(texts: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return texts without needless spaces; spellings in other capitals become the first one."""
    spellings: dict[str, str] = {}
    forms = {}
    for text in dict.fromkeys(texts.tolist()):
        form = tidy(str(text))
        forms[text] = spellings.setdefault(form.casefold(), form)
    return np.array([forms[text] for text in texts.tolist()], dtype=object)


def has_year(moments: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    """Tell which dates have a year; those without one stay as they are written."""
    known: NDArray[np.bool_] = moments.astype("datetime64[Y]") != YEAR_UNKNOWN
    return known


def iso_texts(moments: NDArray[np.datetime64]) -> NDArray[np.object_]:
    """Return ISO dates, with the time of day where any is not midnight."""
    days = moments.astype("datetime64[D]")
    if (days == moments).all():
        return days.astype(str).astype(object)
    return moments.astype("datetime64[s]").astype(str).astype(object)


def over_labels(table: Table, level: int, sheets: Sequence[Sheet]) -> NDArray[np.object_]:
    """Return (columns,) labels of a header level (from 1), without a unit behind them, dates in ISO
    form.
    """
    block = table.blocks[0]
    if level < 1 or level > len(block.header_rows):
        raise UnknownCarrier(str(level))
    sheet = sheets[block.sheet]
    labels = []
    for index, column in enumerate(table.columns):
        label = tidy(column.over[level - 1])
        date = _header_date(sheet, block, level, index)
        labels.append(date or _without_unit(label, column.unit))
    return tidied(np.array(labels, dtype=object))


def _without_unit(label: str, unit: str) -> str:
    """Return a label without the unit of its column behind a name: `Ridged` of `Ridged kg` and of
    `Ridged (kg)`.
    """
    pattern = (
        rf"(?:(?<=\S)\s*[\[(]\s*{re.escape(unit)}\s*[\])]|(?<=[^\W\d_]) {re.escape(unit)})\s*$"
    )
    if unit:
        return re.sub(pattern, "", label, flags=re.IGNORECASE)
    return label


def _header_date(sheet: Sheet, block: Block, level: int, index: int) -> str:
    """Return the date of a header cell in ISO form, "" where it is none.

    Merged cells reach to the right.
    """
    row = block.header_rows[level - 1]
    letter = block.letters[index]
    for first_row, first_column, last_row, last_column in sheet.merged:
        if first_row <= row <= last_row and first_column <= letter <= last_column:
            row, letter = first_row, first_column
    if not letter or row > sheet.kind.shape[0] or letter > sheet.kind.shape[1]:
        return ""
    if sheet.kind[row - 1, letter - 1] != Kind.MOMENT:
        return ""
    moments = sheet.moment[row - 1 : row, letter - 1]
    if has_year(moments).all():
        return str(iso_texts(moments)[0])
    return ""


def block_labels(table: Table, carrier: Carrier, sheets: Sequence[Sheet]) -> NDArray[np.object_]:
    """Return (blocks,) labels of a carrier that holds one label a block: sheet, file, title."""
    if carrier.kind is CarrierKind.SHEET:
        texts = [sheets[block.sheet].name for block in table.blocks]
    elif carrier.kind is CarrierKind.FILE:
        texts = [_file_label(sheets[block.sheet]) for block in table.blocks]
    elif carrier.name:
        texts = [_field(block, carrier.name) for block in table.blocks]
    else:
        texts = _titles(table)
    return tidied(np.array(texts, dtype=object))


def _file_label(sheet: Sheet) -> str:
    """Return the name of a sheet's file without its ending."""
    return sheet.stem or PurePath(sheet.file).stem or sheet.name


def _field(block: Block, name: str) -> str:
    """Return what stands in a labelled cell above or beside a block, "" where there is none."""
    wanted = tidy(name).casefold()
    for label, text in block.fields.items():
        if tidy(label).casefold() == wanted:
            return text
    return ""


def _titles(table: Table) -> list[str]:
    """Return the text above each block: of several lines the nearest in which the blocks differ."""
    lines = []
    for block in table.blocks:
        lines.append([text for text, _ in block.titles])
    by_depth = list(zip_longest(*lines, fillvalue=""))
    for texts in by_depth:
        if len(set(texts)) > 1:
            return list(texts)
    if by_depth:
        return list(by_depth[0])
    return [""] * len(lines)


def number_columns(table: Table) -> tuple[int, ...]:
    """Return the indexes of the columns that hold more numbers than different words, be they values
    or codes.
    """
    numbers = (table.kind == Kind.NUMBER).sum(axis=0)
    chosen = []
    for index in np.flatnonzero(numbers).tolist():
        words_in = set(table.text[table.kind[:, index] == Kind.TEXT, index].tolist())
        if numbers[index] > len(words_in):
            chosen.append(index)
    return tuple(chosen)


def levels_of(labels: NDArray[np.object_]) -> tuple[str, ...]:
    """Return the distinct labels in order of appearance, without blank ones."""
    return tuple(dict.fromkeys(label for label in labels.ravel().tolist() if label))
