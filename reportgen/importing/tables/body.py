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
    if filled.size != 2 or len(kind) < 2 or len(kind) > MOST_FIELDS:
        return False
    labels, values = kind[:, filled[0]], kind[:, filled[1]]
    names = text[:, filled[0]]
    if (labels != Kind.TEXT).any() or len(set(names)) < len(names):
        return False
    if len({shape(str(name)) for name in names[1:]}) == 1 and re.search(r"\d", str(names[1])):
        return False
    colons = sum(str(name).rstrip().endswith(":") for name in names)
    if colons >= 0.5 * len(names):
        return True
    below = {Kind(value) for value in values[1:]} & {Kind.TEXT, Kind.NUMBER, Kind.MOMENT}
    is_filled = values[0] != Kind.BLANK
    return below == {Kind.MOMENT} or (len(below) > 1 and is_filled)


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
    next_lone = np.flatnonzero(lone[row + 1 :])
    if next_lone.size:
        end = row + 1 + int(next_lone[0])
    else:
        end = kind.shape[0]
    own = full[(full > row) & (full < end)]
    if own.size == 0:
        return "note"
    headed = bool(header.rows) and kind[header.rows[-1], column] != Kind.BLANK
    is_blank_below = (kind[own, column] == Kind.BLANK).all()
    if column == 0 and is_blank_below:
        return "label"
    elsewhere = kind[full, column] == Kind.TEXT
    if column > 0 and headed and elsewhere.any():
        return "note"
    is_sentence = len(str(region.text[row, column])) > LONGEST_SECTION
    if is_sentence and full[full >= header.body][0] < np.flatnonzero(lone)[0]:
        return "note"
    return "section"


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
    repeated = {}
    for row in [int(index) for index in np.flatnonzero(text[:, first] == lowest[first])]:
        if row < header.body or not np.array_equal(text[row], lowest):
            continue
        repeated[row] = "repeated header"
        has_units = header.unit_row >= 0 and row + 1 < len(text)
        if has_units and np.array_equal(text[row + 1], text[header.unit_row]):
            repeated[row + 1] = "repeated header"
    return repeated


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
    """Tell for each row whether it is a lone number in the first column, below which labels begin
    again each time.
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
    values = region.number[rows, 0]
    after = region.number[np.minimum(rows + 1, len(heads) - 1), 0]
    begin_again = len(set(after)) == 1 and len(set(values)) == len(values)
    counts_on = len(values) == 1 and after[0] == values[0] + 1
    in_order = (np.diff(region.number[body, 0]) > 0).all()
    stands_apart = not np.isin(values, [labels - 1, labels, labels + 1]).all()
    has_words = not any(PLAIN_NUMBER.fullmatch(str(region.text[row, 0])) for row in rows)
    is_first = bool(heads[body[0]])
    if not (
        has_words or (is_first and (begin_again or stands_apart) and not counts_on and not in_order)
    ):
        heads[:] = False
    return heads


def _struck_rows(region: Region) -> set[int]:
    """Return the rows of which half of the cells are struck, or the last number and all with a
    decimal point.
    """
    area = region.area
    struck: dict[int, set[int]] = {}
    for row, column in region.source.struck:
        is_inside = (
            area.first_row <= row <= area.last_row
            and area.first_column <= column <= area.last_column
        )
        if is_inside:
            struck.setdefault(row - area.first_row, set()).add(column - area.first_column)
    if not struck:
        return set()
    numeric = np.flatnonzero((region.kind == Kind.NUMBER).sum(axis=0) > 0)
    numbers = region.number[:, numeric]
    has_decimals = ((numbers != np.round(numbers)) & ~np.isnan(numbers)).any(axis=0)
    measured = set(numeric[has_decimals].tolist()) or set(numeric[-1:].tolist())
    rows = set()
    for row, columns in struck.items():
        filled = np.flatnonzero(region.kind[row] != Kind.BLANK)
        values = measured & set(filled.tolist())
        if 2 * len(columns) >= filled.size or (values and values <= columns):
            rows.add(row)
    return rows
