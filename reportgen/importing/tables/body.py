"""Read the rows below a header: data, sections, labels in a row of their own, notes, struck rows."""

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind, Place
from reportgen.importing.tables.headers import Header, ends_with_colon, shape
from reportgen.importing.tables.regions import Region, is_value

FIELD: Final = re.compile(r"^([^\W\d_][^:]{0,39}?)\s*:\s+(\S.*)$")
PLAIN_NUMBER: Final = re.compile(r"[-+]?[\d.,\s]+")
MOST_FIELDS: Final = 40
LONGEST_SECTION: Final = 25  # a longer lone text below the first rows is a remark
LONGEST_LOOK: Final = 200  # rows that tell what ids look like


@dataclass(frozen=True)
class Body:
    """The rows of a table in a region, counted from 0.

    `rows` are those of data, `sections` (rows,) their section, `struck` (rows,) whether they are
    struck. `labels` are the rows of labels that stand alone above the place (in `rows`, and column)
    that they label. `left_out` are other rows with what they are.
    """

    rows: NDArray[np.intp]
    sections: NDArray[np.object_]
    struck: NDArray[np.bool_]
    labels: Mapping[Place, int]
    left_out: tuple[tuple[int, str], ...]

    def of(self, values: NDArray[Any]) -> NDArray[Any]:
        """Return the body of an array of the region, with labels put before the rows that they
        label.
        """
        body = values[self.rows]
        for (row, column), source in self.labels.items():
            body[row, column] = values[source, column]
        return body


def body_of(region: Region, header: Header) -> Body:
    """Return the body of a region below its header."""
    kind = region.kind
    if is_list_of_fields(kind, region.text):
        odd = {}
    else:
        odd = _odd_rows(region, header)
    filled = (kind != Kind.BLANK).any(axis=1)
    filled[: header.body] = False
    rows: list[int] = []
    sections: list[str] = []
    left_out: list[tuple[int, str]] = []
    labels: dict[Place, int] = {}
    section = ""
    label_above = -1
    for row in [int(index) for index in np.flatnonzero(filled)]:
        what = odd.get(row, "data")
        if what == "section":
            section = _lone_label(region, row)
        elif what == "label":
            label_above = row
        elif what != "data":
            left_out.append((row, what))
        else:
            if label_above >= 0:
                labels[len(rows), int(np.argmax(kind[label_above] != Kind.BLANK))] = label_above
            label_above = -1
            rows.append(row)
            sections.append(section)
    return Body(
        rows=np.array(rows, dtype=np.intp),
        sections=np.array(sections, dtype=object),
        struck=np.isin(rows, list(_struck_rows(region))),
        labels=labels,
        left_out=tuple(left_out),
    )


def is_list_of_fields(kind: NDArray[np.uint8], text: NDArray[np.object_]) -> bool:
    """Tell whether labels stand beside values of several kinds, or dates: a list of fields."""
    filled = np.flatnonzero((kind != Kind.BLANK).any(axis=0))
    if filled.size != 2 or not 2 <= len(kind) <= MOST_FIELDS:
        return False
    labels, values = filled.tolist()
    names = [str(name) for name in text[:, labels]]
    if (kind[:, labels] != Kind.TEXT).any() or not _name_fields(names):
        return False
    with_colon = sum(name.rstrip().endswith(":") for name in names)
    if with_colon >= 0.5 * len(names):
        return True
    below = set(kind[1:, values].tolist()) & {Kind.TEXT, Kind.NUMBER, Kind.MOMENT}
    is_filled = kind[0, values] != Kind.BLANK
    return below == {Kind.MOMENT} or (len(below) > 1 and is_filled)


def _name_fields(names: list[str]) -> bool:
    """Tell whether no name repeats, and the names are no codes such as `A1`, `A2`."""
    if len(set(names)) < len(names):
        return False
    shapes = {shape(name) for name in names[1:]}
    has_digit = bool(re.search(r"\d", names[1]))
    return len(shapes) > 1 or not has_digit


def _odd_rows(region: Region, header: Header) -> dict[int, str]:
    """Return body rows that hold no data, with what they are: section, label, note, repeated
    header.
    """
    odd = _repeated_headers(region, header)
    kind = region.kind
    if kind.shape[1] > 1:
        filled = (kind != Kind.BLANK).sum(axis=1)
        texts = (kind == Kind.TEXT).sum(axis=1)
        is_word = np.isin(kind[:, 0], (Kind.MISSING, Kind.LOST))
        lone = (filled == 1) & ((texts == 1) | is_word | _moments_that_head_rows(kind))
        lone |= _numbers_that_head_rows(region, header, filled)
        for row in np.flatnonzero((filled == 2) & (texts == 2)):
            lone[row] = ends_with_colon(region, int(row))
        lone[: header.body] = False
        full = np.flatnonzero((filled > 1) & is_value(kind).any(axis=1))
        of_ids = _shape_of_ids(region, full)
        for row in np.flatnonzero(lone):
            if not of_ids or shape(str(region.text[row, 0])) != of_ids:
                odd[int(row)] = _kind_of_lone(region, header, int(row), lone, full)
    return odd


def _kind_of_lone(
    region: Region, header: Header, row: int, lone: NDArray[np.bool_], full: NDArray[np.intp]
) -> str:
    after = np.searchsorted(full, row)
    if after == len(full):
        return "note"
    kind = region.kind
    column = int(np.flatnonzero(kind[row] != Kind.BLANK)[0])
    own = _rows_up_to_next(row, lone, full)
    if own.size == 0:
        return "note"
    if column == 0:
        is_blank_below = (kind[own, column] == Kind.BLANK).all()
        if is_blank_below:
            return "label"
    elif _is_headed(region, header, column) and (kind[full, column] == Kind.TEXT).any():
        return "note"
    is_sentence = len(str(region.text[row, column])) > LONGEST_SECTION
    if is_sentence and full[full >= header.body][0] < np.flatnonzero(lone)[0]:
        return "note"
    return "section"


def _rows_up_to_next(row: int, lone: NDArray[np.bool_], full: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return the full rows between a lone label and the next one."""
    next_lone = np.flatnonzero(lone[row + 1 :])
    below = full[full > row]
    if next_lone.size:
        return below[below < row + 1 + int(next_lone[0])]
    return below


def _is_headed(region: Region, header: Header, column: int) -> bool:
    if not header.rows:
        return False
    return bool(region.kind[header.rows[-1], column] != Kind.BLANK)


def _lone_label(region: Region, row: int) -> str:
    texts = [str(text).strip() for text in region.text[row] if text]
    if len(texts) == 2:
        return texts[1]
    match = FIELD.match(texts[0])
    if match:
        return match[2]
    return texts[0].rstrip(":")


def _repeated_headers(region: Region, header: Header) -> dict[int, str]:
    """Return body rows that hold the header again, with their row of units."""
    if not header.rows:
        return {}
    text = region.text
    lowest = text[header.rows[-1]]
    first = np.argmax(region.kind[header.rows[-1]] != Kind.BLANK)
    same_start = np.flatnonzero(text[:, first] == lowest[first])
    repeated = {}
    for row in same_start.tolist():
        if row < header.body or not np.array_equal(text[row], lowest):
            continue
        repeated[row] = "repeated header"
        if _is_unit_row_again(region, header, row + 1):
            repeated[row + 1] = "repeated header"
    return repeated


def _is_unit_row_again(region: Region, header: Header, row: int) -> bool:
    if header.unit_row < 0 or row >= len(region.text):
        return False
    return np.array_equal(region.text[row], region.text[header.unit_row])


def _shape_of_ids(region: Region, full: NDArray[np.intp]) -> str:
    """Return the shape of ids such as `A-1` in the first column of the rows with values, "" where
    it holds none.
    """
    shapes = Counter(shape(str(text)) for text in region.text[full[:LONGEST_LOOK], 0])
    usual, count = shapes.most_common(1)[0] if shapes else ("", 0)
    is_id = "a" in usual and "1" in usual and count >= 0.6 * shapes.total()
    if is_id:
        return usual
    return ""


def _moments_that_head_rows(kind: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Tell for each row whether its first cell is a moment, where other rows have none there."""
    moments = kind[:, 0] == Kind.MOMENT
    others = kind[(kind != Kind.BLANK).sum(axis=1) > 1, 0]
    return np.asarray(moments & (others != Kind.MOMENT).all())


def _numbers_that_head_rows(
    region: Region, header: Header, filled: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Tell which rows are a lone number that heads rows.

    Such a number stands in the first column, and labels begin again below each.
    """
    heads = np.asarray((filled == 1) & (region.kind[:, 0] == Kind.NUMBER))
    heads[: header.body] = False
    body = np.flatnonzero(filled > 0)
    body = body[body >= header.body]
    labels = region.number[body[~heads[body]], 0]
    rows = np.flatnonzero(heads)
    if rows.size == 0:
        return heads
    if np.isnan(labels).all():
        return heads  # the other rows are labelled by texts
    plain = [row for row in rows if PLAIN_NUMBER.fullmatch(str(region.text[row, 0]))]
    has_words = not plain
    if not has_words and not _begin_groups(region, rows, body, labels):
        heads[:] = False
    return heads


def _begin_groups(
    region: Region, rows: NDArray[np.intp], body: NDArray[np.intp], labels: NDArray[np.float64]
) -> bool:
    """Tell whether plain lone numbers in `rows` head groups, and are no labels of data."""
    is_first = rows[0] == body[0]
    in_order = (np.diff(region.number[body, 0]) > 0).all()
    if not is_first or in_order:
        return False
    values = region.number[rows, 0]
    last = len(region.number) - 1
    after = region.number[np.minimum(rows + 1, last), 0]
    counts_on = len(values) == 1 and after[0] == values[0] + 1
    if counts_on:
        return False
    begin_again = len(set(after)) == 1 and len(set(values)) == len(values)
    stand_apart = not np.isin(values, [labels - 1, labels, labels + 1]).all()
    return bool(begin_again or stand_apart)


def _struck_rows(region: Region) -> set[int]:
    """Return rows with half of their cells struck.

    A row also counts as struck where all its numbers with a decimal point are struck, or its last
    number.
    """
    struck = _struck_columns_of_rows(region)
    if not struck:
        return set()
    measured = _measured_columns(region)
    rows = set()
    for row, columns in struck.items():
        filled = np.flatnonzero(region.kind[row] != Kind.BLANK)
        values = measured & set(filled.tolist())
        if 2 * len(columns) >= filled.size or (values and values <= columns):
            rows.add(row)
    return rows


def _struck_columns_of_rows(region: Region) -> dict[int, set[int]]:
    """Return the struck columns of each row of the region; both count from 0 in it."""
    area = region.area
    struck: dict[int, set[int]] = {}
    for row, column in region.source.struck:
        in_rows = area.first_row <= row <= area.last_row
        in_columns = area.first_column <= column <= area.last_column
        if in_rows and in_columns:
            columns = struck.setdefault(row - area.first_row, set())
            columns.add(column - area.first_column)
    return struck


def _measured_columns(region: Region) -> set[int]:
    """Return the columns with decimals, else the last one with numbers."""
    numeric = np.flatnonzero((region.kind == Kind.NUMBER).sum(axis=0) > 0)
    numbers = region.number[:, numeric]
    is_decimal = (numbers != np.round(numbers)) & ~np.isnan(numbers)
    with_decimals = numeric[is_decimal.any(axis=0)]
    if with_decimals.size:
        return set(with_decimals.tolist())
    return set(numeric[-1:].tolist())
