"""Read one region as a table: header labels, body rows, sections, rows that are not read."""

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind, Place
from reportgen.importing.tables.headers import (
    BRACKETS,
    NAMES_OF_LABELS,
    Header,
    header_groups,
    header_of,
    shape,
    unit_of,
    value_columns,
)
from reportgen.importing.tables.regions import Region, is_value
from reportgen.importing.words import says

FIELD: Final = re.compile(r"^([^\W\d_][^:]{0,39}?)\s*:\s+(\S.*)$")
MOST_FIELDS: Final = 40
LONGEST_SECTION: Final = 25  # a longer lone text below the first rows is a remark
LONGEST_CODE: Final = 3
LONGEST_LOOK: Final = 200  # rows that tell what ids look like
LONG_TEXT: Final = 20  # characters: longer ones on average are sentences
Title = tuple[str, Place]


@dataclass(frozen=True)
class Draft:
    """One block of a table, before it is stacked with others; rows and columns of the region from 0.

    `over` are the labels of each column by header level, `rows` the body rows, `sections` (rows,) their section,
    `struck` (rows,) whether they are struck, `labels` the rows of labels that stand alone above
    the row (and column) which they label.
    """

    region: Region
    header: Header
    over: tuple[tuple[str, ...], ...]
    rows: NDArray[np.intp]
    sections: NDArray[np.object_]
    struck: NDArray[np.bool_]
    labels: Mapping[Place, int] = field(default_factory=dict)
    left_out: tuple[tuple[int, str], ...] = ()
    titles: tuple[Title, ...] = ()
    fields: Mapping[str, str] = field(default_factory=dict)
    is_key: bool = False
    is_fields: bool = False

    @property
    def kind(self) -> NDArray[np.uint8]:
        """Return the kinds of the body, with labels put before their rows."""
        return self._with_labels(self.region.kind)

    @property
    def text(self) -> NDArray[np.object_]:
        """Return the texts of the body, with labels put before their rows."""
        return self._with_labels(self.region.text)

    @property
    def moment(self) -> NDArray[np.datetime64]:
        """Return the moments of the body, with labels put before their rows."""
        return self._with_labels(self.region.moment)

    def _with_labels(self, values: NDArray[Any]) -> NDArray[Any]:
        body = values[self.rows]
        for (row, column), source in self.labels.items():
            body[row, column] = values[source, column]
        return body


def drafts_of(region: Region) -> list[Draft]:
    """Return the tables that stand in a region one below the other, those side by side apart."""
    drafts: list[Draft] = []
    for part, group in _parts(region):
        draft = draft_of(part, group)
        if draft is not None:
            drafts += _side_by_side(draft)
    return drafts


def _parts(region: Region) -> list[tuple[Region, tuple[int, ...]]]:
    """Return the region cut above each header that is not a mere repetition, with its header rows."""
    if is_list_of_fields(region.kind, region.text):
        return [(region, ())]
    groups = header_groups(region)
    groups = _without_repeats(region, groups)
    if not groups:
        return _cut_at_numeric_repeats(region)
    parts: list[tuple[Region, tuple[int, ...]]] = []
    start = 0
    first = _top_of(region, groups[0], 0)
    is_field = first == 1 and (region.kind[0] != Kind.BLANK).sum() == 2 and region.kind[0, 0] == Kind.TEXT
    if first > 0 and is_value(region.kind[:first]).any() and not is_field:
        parts.append((region.rows(0, first - 1), ()))
        start = first
    for index, group in enumerate(groups):
        end = region.kind.shape[0] - 1
        if index + 1 < len(groups):
            end = _top_of(region, groups[index + 1], group[-1] + 1) - 1
        rows = tuple(row - start for row in group)
        parts.append((region.rows(start, end), rows))
        start = end + 1
    return parts


def _without_repeats(region: Region, groups: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Return the header groups without those that repeat the first one and have no title of their own."""
    kept = groups[:1]
    for group in groups[1:]:
        same = np.array_equal(region.text[group[-1]], region.text[groups[0][-1]])
        titled = _top_of(region, group, 0) < group[0]
        if titled or not same:
            kept.append(group)
    return kept


def _top_of(region: Region, group: tuple[int, ...], least: int) -> int:
    """Return the first row that belongs to a header: titles and fields right above it."""
    top = group[0]
    filled = (region.kind != Kind.BLANK).sum(axis=1)
    wide = region.kind.shape[1]
    while top - 1 >= least:
        row = top - 1
        lone = filled[row] == 1
        blank = filled[row] == 0
        first_blank = region.kind[row, 0] == Kind.BLANK
        level = first_blank and filled[row] > 1 and row >= group[0] - 2
        labelled = wide > 2 and filled[row] == 2 and region.kind[row, 0] == Kind.TEXT and _ends_with_colon(region, row)
        if not (lone or blank or level or labelled):
            break
        top = row
    return top


def _ends_with_colon(region: Region, row: int) -> bool:
    return str(region.text[row, 0]).rstrip().endswith(":")


def _cut_at_numeric_repeats(region: Region) -> list[tuple[Region, tuple[int, ...]]]:
    """Return the region cut above each row that repeats a header of numbers, where a lone title stands above it."""
    header = header_of(region, ())
    if not header.rows or region.kind.shape[0] > 5000:
        return [(region, ())]
    lowest = region.text[header.rows[-1]]
    starts = []
    for row in range(header.body + 1, region.kind.shape[0]):
        if region.text[row, 0] == lowest[0] and np.array_equal(region.text[row], lowest):
            starts.append(_top_of(region, (row,), header.body + 1))
    if not starts:
        return [(region, ())]
    edges = [0, *starts, region.kind.shape[0]]
    parts: list[tuple[Region, tuple[int, ...]]] = []
    for first, after in pairwise(edges):
        parts.append((region.rows(first, after - 1), ()))
    return parts


def draft_of(region: Region, group: tuple[int, ...]) -> Draft | None:
    """Return the draft of a region with one header (empty: a header of numbers, or none)."""
    if is_list_of_fields(region.kind, region.text):
        header = Header((), -1, 0)
    else:
        header = header_of(region, group)
        if not header.rows:
            header = _header_of_texts(region, header)
    if not header.rows and not is_value(region.kind).any() and not _is_list_of_texts(region):
        return None
    over = _over_labels(region, header)
    draft = _with_body(Draft(region, header, over, *_no_rows()))
    draft = _with_titles(draft)
    draft = _without_side_notes(draft)
    if _is_notes(draft):
        return None
    if draft.rows.size == 0:
        return draft if header.rows and len(draft.over) > 1 else None
    return replace(draft, is_fields=is_list_of_fields(draft.kind, draft.text), is_key=_is_key(draft))


def _no_rows() -> tuple[NDArray[np.intp], NDArray[np.object_], NDArray[np.bool_]]:
    return np.array([], dtype=np.intp), np.array([], dtype=object), np.array([], dtype=bool)


def _is_notes(draft: Draft) -> bool:
    """Tell whether a part without a header is mostly sentences, perhaps with numbers before them."""
    if draft.header.rows or draft.rows.size == 0:
        return False
    texts = [str(text) for text in draft.text[draft.kind == Kind.TEXT]]
    measured = (draft.kind == Kind.NUMBER).any(axis=0).sum()
    return bool(texts) and measured < 2 and float(np.mean([len(text) for text in texts])) > LONG_TEXT


def _header_of_texts(region: Region, header: Header) -> Header:
    """Return the header of a table whose columns are all texts: its first row, where codes of one shape follow."""
    kind = region.kind
    if is_value(kind).any() or kind.shape[1] < 2 or kind.shape[0] < 3:
        return header
    first = int(np.argmax((kind == Kind.TEXT).sum(axis=1) >= 2))
    if (kind[first] == Kind.TEXT).sum() < 2:
        return header
    shapes = [shape(str(text)) for text in region.text[first + 1 :, 0] if text]
    own = shape(str(region.text[first, 0]))
    if shapes and len(set(shapes)) == 1 and own != shapes[0]:
        return Header((first,), -1, first + 1)
    longest = max((len(str(text)) for text in region.text[first + 1 :, 0]), default=0)
    is_longer = longest <= LONGEST_CODE < len(str(region.text[first, 0]))
    if is_longer or says(str(region.text[first, 0]), "key", *NAMES_OF_LABELS) or _is_repeated(region, first):
        return Header((first,), -1, first + 1)
    return header


def _is_repeated(region: Region, first: int) -> bool:
    """Tell whether some column repeats its texts below, and its first row stands alone."""
    for column in range(region.kind.shape[1]):
        below = [text for text in region.text[first + 1 :, column] if text]
        if len(set(below)) < len(below) and region.text[first, column] not in below:
            return True
    return False


def _is_list_of_texts(region: Region) -> bool:
    """Tell whether texts stand in two to four full columns, as in a key or a list of fields."""
    kind = region.kind
    if not 2 <= kind.shape[1] <= 4 or kind.shape[0] < 2:
        return False
    filled = (kind != Kind.BLANK).mean(axis=0)
    return bool((filled[:2] >= 0.9).all())


def _over_labels(region: Region, header: Header) -> tuple[tuple[str, ...], ...]:
    """Return the labels of each column by header level, merged and blank-right ones filled."""
    columns = region.kind.shape[1]
    levels = []
    for level, row in enumerate(header.rows):
        labels = [str(text) for text in region.text[row]]
        is_lowest = level == len(header.rows) - 1
        if is_lowest:
            labels = _filled_by_merging(region, row, labels)
        else:
            labels = _filled_to_the_right(region, row, labels, header)
        levels.append(labels)
    return tuple(tuple(level[column] for level in levels) for column in range(columns))


def _filled_by_merging(region: Region, row: int, labels: list[str]) -> list[str]:
    filled = list(labels)
    for top, left, bottom, right in region.merged():
        if top <= row <= bottom and top == row:
            for column in range(left, min(right, len(labels) - 1) + 1):
                filled[column] = labels[left]
    return filled


def _filled_to_the_right(region: Region, row: int, labels: list[str], header: Header) -> list[str]:
    """Return labels of an upper level, each filled to the right up to the next, the last as far as the others."""
    merged = _filled_by_merging(region, row, labels)
    if merged != labels:
        return merged
    starts = [column for column, label in enumerate(labels) if label]
    lowest = header.rows[-1]
    filled = list(labels)
    widths = [after - start for start, after in pairwise(starts)]
    for index, start in enumerate(starts):
        end = starts[index + 1] if index + 1 < len(starts) else len(labels)
        if not region.text[lowest, start]:
            end = start + 1
        elif index + 1 == len(starts) and widths:
            own = [width for width, first in zip(widths, starts[:-1], strict=True) if region.text[lowest, first]]
            end = min(end, start + max(own, default=end))
        for column in range(start, end):
            if region.kind[lowest, column] != Kind.BLANK:
                filled[column] = labels[start]
    return filled


def _with_body(draft: Draft) -> Draft:
    """Return the draft with its body rows: without lone labels, notes and repeated headers."""
    region = draft.region
    kind = region.kind
    odd = _odd_rows(region, draft.header)
    filled = (kind != Kind.BLANK).any(axis=1)
    filled[: draft.header.body] = False
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
    return replace(
        draft,
        rows=np.array(rows, dtype=np.intp),
        sections=np.array(sections, dtype=object),
        struck=np.isin(rows, list(_struck_rows(region))),
        labels=labels,
        left_out=tuple(left_out),
    )


def _struck_rows(region: Region) -> set[int]:
    """Return the rows of which half of the cells are struck, or the last number and all with a decimal point."""
    area = region.area
    struck: dict[int, set[int]] = {}
    for row, column in region.source.struck:
        is_inside = area.first_row <= row <= area.last_row and area.first_column <= column <= area.last_column
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


def _lone_label(region: Region, row: int) -> str:
    texts = [str(text).strip() for text in region.text[row] if text]
    if len(texts) == 2:
        return texts[1]
    match = FIELD.match(texts[0])
    return match[2] if match else texts[0].rstrip(":")


def _odd_rows(region: Region, header: Header) -> dict[int, str]:
    """Return body rows that hold no data, with what they are: section, label, note, repeated header."""
    odd = _repeated_headers(region, header)
    kind = region.kind
    if kind.shape[1] > 1:
        filled = (kind != Kind.BLANK).sum(axis=1)
        texts = (kind == Kind.TEXT).sum(axis=1)
        is_word = np.isin(kind[:, 0], (Kind.MISSING, Kind.LOST))
        lone = (filled == 1) & ((texts == 1) | is_word | _moments_that_head_rows(kind))
        lone |= _numbers_that_head_rows(region, header, filled)
        for row in np.flatnonzero((filled == 2) & (texts == 2)):
            lone[row] = _ends_with_colon(region, int(row))
        lone[: header.body] = False
        full = np.flatnonzero((filled > 1) & is_value(kind).any(axis=1))
        for row in np.flatnonzero(lone & ~_continues_ids(region, full)):
            odd[int(row)] = _kind_of_lone(region, header, int(row), lone, full)
    return odd


def _continues_ids(region: Region, full: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Tell for each row whether its first cell is an id such as `A-1`, alike those of the rows with values."""
    shapes = Counter(shape(str(text)) for text in region.text[full[:LONGEST_LOOK], 0])
    usual, count = shapes.most_common(1)[0] if shapes else ("", 0)
    if count < 0.6 * shapes.total() or "a" not in usual or "1" not in usual:
        return np.zeros(len(region.kind), dtype=bool)
    return np.array([shape(str(text)) == usual for text in region.text[:, 0]], dtype=bool)


def _moments_that_head_rows(kind: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Tell for each row whether its first cell is a moment, where other rows have none there."""
    moments = kind[:, 0] == Kind.MOMENT
    others = kind[(kind != Kind.BLANK).sum(axis=1) > 1, 0]
    return np.asarray(moments & (others != Kind.MOMENT).all())


def _numbers_that_head_rows(region: Region, header: Header, filled: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Tell for each row whether it is a lone number in the first column, below which labels begin again each time."""
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
    has_words = all(any(mark.isalpha() for mark in str(region.text[row, 0])) for row in rows)
    if not (has_words or ((begin_again or stands_apart) and not counts_on and not in_order)):
        heads[:] = False
    return heads


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


def _kind_of_lone(region: Region, header: Header, row: int, lone: NDArray[np.bool_], full: NDArray[np.intp]) -> str:
    after = np.searchsorted(full, row)
    if after == len(full):
        return "note"
    kind = region.kind
    column = int(np.flatnonzero(kind[row] != Kind.BLANK)[0])
    next_lone = np.flatnonzero(lone[row + 1 :])
    end = row + 1 + int(next_lone[0]) if next_lone.size else kind.shape[0]
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


def _with_titles(draft: Draft) -> Draft:
    """Return the draft with the texts above its header as titles, nearest first, and labelled cells as fields."""
    region, header = draft.region, draft.header
    end = header.rows[0] if header.rows else header.body
    titles: list[Title] = []
    fields: dict[str, str] = {}
    for row in range(end - 1, -1, -1):
        found = texts_of_row(region, row)
        titles += found[0]
        fields.update({label: value for label, value in found[1].items() if label not in fields})
    sections = draft.sections
    if titles and sections.size and sections[0] == "" and sections[-1] != "":
        sections = np.where(sections == "", titles[0][0], sections)
    return replace(draft, titles=tuple(titles), fields=fields, sections=sections)


def texts_of_row(region: Region, row: int) -> tuple[list[Title], dict[str, str]]:
    """Return the titles of a row above a table, and its fields: `Treatment: fan`, or a label beside its value."""
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
        elif has_next and (text.endswith(":") or len(filled) == 2) and region.kind[row, filled[index]] == Kind.TEXT:
            fields[text.rstrip(": ")] = texts[index + 1]
            index += 1
        elif region.kind[row, filled[index]] == Kind.TEXT or len(filled) == 1:
            titles.append((text, place))
        index += 1
    return titles, fields


def _without_side_notes(draft: Draft) -> Draft:
    """Return the draft without columns at its right that have no header and stand beside a few rows only."""
    if not draft.header.rows or draft.rows.size == 0:
        return draft
    headed = [any(labels) for labels in draft.over]
    last = len(headed) - 1
    if sum(headed) < 2:
        return draft
    share = (draft.kind != Kind.BLANK).mean(axis=0)
    while last > 0 and not headed[last] and share[last] < 0.5:
        last -= 1
    if last == len(headed) - 1:
        return draft
    kept = (draft.kind[:, : last + 1] != Kind.BLANK).any(axis=1)
    region = draft.region.columns(0, last)
    labels = {place: label for place, label in draft.labels.items() if place[1] <= last}
    if not kept.all():
        numbers = np.cumsum(kept) - 1
        labels = {(int(numbers[row]), column): label for (row, column), label in labels.items()}
    return replace(
        draft,
        region=region,
        over=draft.over[: last + 1],
        rows=draft.rows[kept],
        sections=draft.sections[kept],
        struck=draft.struck[kept],
        labels=labels,
    )


def _side_by_side(draft: Draft) -> list[Draft]:
    """Return the draft cut where its headers begin again from the first: two tables without a column between."""
    lowest = [labels[-1] if labels else "" for labels in draft.over]
    width = len(lowest)
    for period in range(2, width // 2 + 1):
        if width % period or not lowest[0] or "" in lowest:
            continue
        if all(lowest[column] == lowest[column % period] for column in range(width)):
            return [_slice_of(draft, first, first + period - 1) for first in range(0, width, period)]
    return [draft]


def _slice_of(draft: Draft, first: int, last: int) -> Draft:
    """Return some columns of a draft, the labels above them as their title."""
    columns = slice(first, last + 1)
    rows = (draft.kind[:, columns] != Kind.BLANK).any(axis=1)
    titles = list(draft.titles)
    top = draft.region.area
    for row in draft.header.rows[:-1]:
        column = first
        label = str(draft.region.text[row, column])
        if label:
            titles.insert(0, (label, (top.first_row + row, top.first_column + column)))
    header = replace(draft.header, rows=draft.header.rows[-1:])
    over = tuple(labels[-1:] for labels in draft.over[columns])
    return replace(
        draft,
        region=draft.region.columns(first, last),
        header=header,
        over=over,
        rows=draft.rows[rows],
        sections=draft.sections[rows],
        struck=draft.struck[rows],
        titles=tuple(titles),
        labels={},
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


def _is_key(draft: Draft) -> bool:
    """Tell whether a small table spells codes: a first column without repeats, beside it words, no measured numbers."""
    kind, text = draft.kind, draft.text
    if draft.is_fields or not 2 <= kind.shape[1] <= 5 or len(kind) > 200 or len(draft.header.rows) > 1:
        return False
    codes = [code for code in text[:, 0] if code]
    if len(codes) < max(2, 0.9 * len(text)) or len(set(codes)) < len(codes):
        return False
    numbers = draft.region.number[draft.rows]
    if ((numbers != np.round(numbers)) & ~np.isnan(numbers)).any() or (kind == Kind.MOMENT).any():
        return False
    for column in range(1, kind.shape[1]):
        levels = set(text[:, column])
        if (kind[:, column] == Kind.NUMBER).any() and len(levels) > len(text) // 2:
            return False
    return bool((kind[:, 1:] != Kind.BLANK).mean(axis=0).max() >= 0.8)


def names_and_units(draft: Draft) -> list[tuple[str, str]]:
    """Return the name and the unit of each column, from its lowest header text and the row of units."""
    names = []
    region = draft.region
    for column, labels in enumerate(draft.over):
        filled = [label for label in labels if label]
        name, unit = unit_of(filled[-1]) if filled else ("", "")
        if draft.header.unit_row >= 0:
            own = str(region.text[draft.header.unit_row, column]).strip()
            bracketed = BRACKETS.fullmatch(own)
            unit = (bracketed[1] if bracketed else own) or unit
        names.append((name, unit))
    return names


__all__ = ["Draft", "draft_of", "drafts_of", "names_and_units", "texts_of_row", "value_columns"]
