"""Read the tables of a region: cut it at its headers, then header, labels, body, titles of each."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind
from reportgen.importing.tables.body import Body, body_of, is_list_of_fields
from reportgen.importing.tables.header_labels import Over, over_labels
from reportgen.importing.tables.headers import Header, header_groups, header_of, is_field_line
from reportgen.importing.tables.regions import Region, is_value
from reportgen.importing.tables.small_tables import (
    header_of_texts,
    is_key,
    is_list_of_texts,
    is_notes,
)
from reportgen.importing.tables.titles import Title, texts_above


@dataclass(frozen=True)
class Draft:
    """One block of a table, before it is stacked with others; rows and columns of the region from
    0.
    """

    region: Region
    header: Header
    over: Over
    body: Body
    titles: tuple[Title, ...] = ()
    fields: Mapping[str, str] = field(default_factory=dict)
    is_key: bool = False
    is_fields: bool = False

    @property
    def kind(self) -> NDArray[np.uint8]:
        """Return the kinds of the body."""
        return self.body.of(self.region.kind)

    @property
    def text(self) -> NDArray[np.object_]:
        """Return the texts of the body."""
        return self.body.of(self.region.text)


def drafts_of(region: Region) -> list[Draft]:
    """Return the tables that stand in a region one below the other, those side by side apart."""
    drafts: list[Draft] = []
    for part, group in _parts(region):
        for side in _side_by_side(part, group):
            draft = draft_of(side, group)
            if draft is not None:
                drafts.append(draft)
    return drafts


def _side_by_side(region: Region, group: tuple[int, ...]) -> list[Region]:
    """Return the region cut where its headers begin again from the first: tables without a column
    between.
    """
    header = header_of(region, group)
    if not header.rows:
        return [region]
    lowest = [str(text) for text in region.text[header.rows[-1]]]
    width = len(lowest)
    for period in range(2, width // 2 + 1):
        if (
            width % period == 0
            and "" not in lowest
            and lowest == lowest[:period] * (width // period)
        ):
            return [region.columns(first, first + period - 1) for first in range(0, width, period)]
    return [region]


def _parts(region: Region) -> list[tuple[Region, tuple[int, ...]]]:
    """Return the region cut above each header that is not a mere repetition, with its header rows."""
    if is_list_of_fields(region.kind, region.text):
        return [(region, ())]
    groups = _without_repeats(region, header_groups(region))
    if not groups:
        return [(region, ())]
    parts: list[tuple[Region, tuple[int, ...]]] = []
    start = 0
    first = _top_of(region, groups[0], 0)
    if _holds_data(region, first):
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


def _holds_data(region: Region, end: int) -> bool:
    """Tell whether values stand in the rows before `end`, and not as a single field."""
    if end == 0 or not is_value(region.kind[:end]).any():
        return False
    return end > 1 or not _begins_with_field(region)


def _begins_with_field(region: Region) -> bool:
    """Tell whether the first row is a label and one value beside it."""
    top = region.kind[0]
    return bool((top != Kind.BLANK).sum() == 2 and top[0] == Kind.TEXT)


def _without_repeats(region: Region, groups: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Return the header groups without those that repeat the first one and have no title of their
    own.
    """
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
    while top - 1 >= least:
        row = top - 1
        lone = filled[row] == 1
        blank = filled[row] == 0
        first_blank = region.kind[row, 0] == Kind.BLANK
        level = first_blank and filled[row] > 1 and row >= group[0] - 2
        if not (lone or blank or level or is_field_line(region, row)):
            break
        top = row
    return top


def draft_of(region: Region, group: tuple[int, ...]) -> Draft | None:
    """Return the draft of a region with one header, None for mere texts.

    `group` are the header's rows; empty where it is of numbers, or where there is none.
    """
    header = _header_of_draft(region, group)
    if header is None:
        return None
    region, over = _without_side_notes(region, header, over_labels(region, header))
    body = body_of(region, header)
    if body.rows.size == 0 or (not header.rows and is_notes(region, body)):
        return None
    top = header.body
    if header.rows:
        top = header.rows[0]
    titles, fields = texts_above(region, top)
    if titles:
        body = _with_first_section(body, titles[0][0])
    is_fields = is_list_of_fields(body.of(region.kind), body.of(region.text))
    spells_codes = not is_fields and is_key(region, header, body)
    return Draft(region, header, over, body, tuple(titles), fields, spells_codes, is_fields)


def _with_first_section(body: Body, title: str) -> Body:
    """Name the rows before the first section by the title above, where sections follow."""
    if body.sections[0] != "" or body.sections[-1] == "":
        return body
    return replace(body, sections=np.where(body.sections == "", title, body.sections))


def _header_of_draft(region: Region, group: tuple[int, ...]) -> Header | None:
    """Return the header of a region, None where the region is mere texts."""
    if is_list_of_fields(region.kind, region.text):
        header = Header((), -1, 0)
    else:
        header = header_of(region, group)
        if not header.rows:
            header = header_of_texts(region, header)
    has_data = is_value(region.kind).any() or is_list_of_texts(region)
    if header.rows or has_data:
        return header
    return None


def _without_side_notes(region: Region, header: Header, over: Over) -> tuple[Region, Over]:
    """Return the region without columns at its right that have no header and stand beside a few
    rows only.
    """
    headed = [any(labels) for labels in over]
    if sum(headed) < 2 or region.kind.shape[0] == header.body:
        return region, over
    last = len(headed) - 1
    body = region.kind[header.body :]
    share = (body != Kind.BLANK).sum(axis=0) / max((body != Kind.BLANK).any(axis=1).sum(), 1)
    while last > 0 and not headed[last] and share[last] < 0.5:
        last -= 1
    return region.columns(0, last), over[: last + 1]
