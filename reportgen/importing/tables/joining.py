"""Join regions that blank rows part only for looks."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind
from reportgen.importing.model.tables import Area
from reportgen.importing.tables.headers import header_groups, header_of
from reportgen.importing.tables.regions import Region, is_value, merge_overlaps, union
from reportgen.importing.tables.statistic_words import statistic_of

MOST_BLANK_ROWS: Final = 2
MOST_HEADER_ROWS: Final = 4


def joined(regions: list[Region]) -> list[Region]:
    """Return the regions of one sheet, those joined that are parts of one table."""
    if len(regions) < 2:
        return regions
    return _rows_joined(regions)


def _rows_joined(regions: list[Region]) -> list[Region]:
    """Join a region without a header to the table above it whose columns it continues."""
    result: list[Region] = []
    for region in regions:
        above = _table_above(result, region)
        if above is None:
            result.append(region)
            continue
        whole = _union(above, region)
        result = [part for part in result if not _is_inside(part, whole)]
        result.append(whole)
    return _in_order(result)


def _is_inside(part: Region, whole: Region) -> bool:
    inner, outer = part.area, whole.area
    rows_inside = outer.first_row <= inner.first_row and inner.last_row <= outer.last_row
    columns_inside = (
        outer.first_column <= inner.first_column and inner.last_column <= outer.last_column
    )
    return rows_inside and columns_inside


def _table_above(regions: list[Region], region: Region) -> Region | None:
    """Return the table above that a region continues, None where there is none.

    Lone labels may stand between them.
    """
    if _has_header(region) or not is_value(region.kind).any():
        return None
    first_row = region.area.first_row
    for other in sorted(regions, key=lambda part: -part.area.last_row):
        if other.area.last_row >= region.area.first_row or _stand_apart(other.area, region.area):
            continue
        if first_row - other.area.last_row > MOST_BLANK_ROWS + 1:
            return None
        if _is_lone_text(other):
            first_row = other.area.first_row
        elif _continues(other, region):
            return other
        else:
            return None
    return None


def _stand_apart(first: Area, second: Area) -> bool:
    """Tell whether two areas have no column in common: then neither stands above the other."""
    return first.last_column < second.first_column or second.last_column < first.first_column


def _has_header(region: Region) -> bool:
    if header_groups(region):
        return True
    return bool(header_of(region, ()).rows)


def _is_lone_text(region: Region) -> bool:
    return region.kind.shape == (1, 1) and region.kind[0, 0] == Kind.TEXT


def _continues(above: Region, region: Region) -> bool:
    """Tell whether the columns of a region hold what those of the table above hold."""
    upper, lower = above.area, region.area
    if lower.first_column < upper.first_column or lower.last_column > upper.last_column:
        return False
    if above.kind.shape[0] <= MOST_HEADER_ROWS and not is_value(above.kind).any():
        is_header = (above.kind == Kind.TEXT).sum(axis=1).max() >= 2
        return bool(is_header) and region.kind.shape[1] >= 0.6 * above.kind.shape[1]
    if not _has_header(above):
        return False
    if _is_statistic(region):
        return True
    offset = lower.first_column - upper.first_column
    kinds = above.kind[:, offset : offset + region.kind.shape[1]]
    return _hold_the_same(region.kind, kinds[_body_of(above) :])


def _hold_the_same(lower: NDArray[np.uint8], body: NDArray[np.uint8]) -> bool:
    """Tell whether most columns hold values in both, or in neither."""
    filled = (lower != Kind.BLANK).any(axis=0)
    usual = (body != Kind.BLANK).mean(axis=0) >= 0.5
    in_both = filled & (body != Kind.BLANK).any(axis=0)
    if filled.sum() < 0.6 * usual.sum() or not in_both.any():
        return False
    is_same = _hold_values(lower) == _hold_values(body)
    return bool(is_same[in_both].mean() >= 0.75)


def _body_of(region: Region) -> int:
    groups = header_groups(region)
    return header_of(region, groups[-1] if groups else ()).body


def _hold_values(kind: NDArray[np.uint8]) -> NDArray[np.bool_]:
    values = is_value(kind).sum(axis=0)
    texts = (kind == Kind.TEXT).sum(axis=0)
    return np.asarray((values >= texts) & (values > 0))


def _is_statistic(region: Region) -> bool:
    if region.kind.shape[0] > 3:
        return False
    for row in range(region.kind.shape[0]):
        texts = [str(text) for text in region.text[row] if text]
        if not texts or statistic_of(texts[0]) is None:
            return False
    return True


def _union(first: Region, second: Region) -> Region:
    return Region(first.sheet, first.source, union(first.area, second.area))


def _in_order(regions: list[Region]) -> list[Region]:
    """Return the regions from top to bottom, overlapping ones merged."""
    if not regions:
        return []
    areas = merge_overlaps([region.area for region in regions])
    areas.sort(key=lambda area: (area.first_row, area.first_column))
    return [Region(regions[0].sheet, regions[0].source, area) for area in areas]
