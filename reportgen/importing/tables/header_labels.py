"""Label the columns of a table by the levels of its header."""

from itertools import pairwise

from reportgen.importing.model.cells import Kind
from reportgen.importing.tables.headers import Header
from reportgen.importing.tables.regions import Region
from reportgen.importing.tables.units import BRACKETS, unit_of

Over = tuple[tuple[str, ...], ...]  # by column, the labels of its header levels, topmost first


def over_labels(region: Region, header: Header) -> Over:
    """Return the labels of each column by header level, merged and blank-right ones filled."""
    levels = []
    for level, row in enumerate(header.rows):
        labels = [str(text) for text in region.text[row]]
        is_lowest = level == len(header.rows) - 1
        if is_lowest:
            labels = _filled_by_merging(region, row, labels)
        else:
            labels = _filled_to_the_right(region, row, labels, header)
        levels.append(labels)
    over = []
    for column in range(region.kind.shape[1]):
        over.append(tuple(level[column] for level in levels))
    return tuple(over)


def _filled_by_merging(region: Region, row: int, labels: list[str]) -> list[str]:
    filled = list(labels)
    for top, left, bottom, right in region.merged():
        if top <= row <= bottom and top == row:
            for column in range(left, min(right, len(labels) - 1) + 1):
                filled[column] = labels[left]
    return filled


def _filled_to_the_right(region: Region, row: int, labels: list[str], header: Header) -> list[str]:
    """Fill labels of an upper level to the right, each up to the next.

    The last one reaches as far as the widest of the others.
    """
    merged = _filled_by_merging(region, row, labels)
    if merged != labels:
        return merged
    starts = [column for column, label in enumerate(labels) if label]
    lowest = header.rows[-1]
    ends = _ends_of_groups(region, lowest, starts)
    filled = list(labels)
    for start, after in zip(starts, ends, strict=True):
        end = after
        if not region.text[lowest, start]:
            end = start + 1
        for column in range(start, end):
            if region.kind[lowest, column] != Kind.BLANK:
                filled[column] = labels[start]
    return filled


def _ends_of_groups(region: Region, lowest: int, starts: list[int]) -> list[int]:
    """Return the column after each group; the last one is no wider than the widest other."""
    ends = [*starts[1:], region.kind.shape[1]]
    widest = 0
    for start, after in pairwise(starts):
        if region.text[lowest, start]:
            widest = max(widest, after - start)
    if widest:
        ends[-1] = min(ends[-1], starts[-1] + widest)
    return ends[: len(starts)]


def names_and_units(region: Region, header: Header, over: Over) -> list[tuple[str, str]]:
    """Return the name and the unit of each column, from its lowest header text and the row of
    units.
    """
    names = []
    for column, labels in enumerate(over):
        filled = [label for label in labels if label]
        name, unit = unit_of(filled[-1]) if filled else ("", "")
        if header.unit_row >= 0:
            own = str(region.text[header.unit_row, column]).strip()
            bracketed = BRACKETS.fullmatch(own)
            unit = (bracketed[1] if bracketed else own) or unit
        names.append((name, unit))
    return names
