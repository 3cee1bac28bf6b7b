"""Find the header rows of a region: texts above numbers, levels above them, a row of units."""

import re
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind
from reportgen.importing.tables.regions import Region, is_value
from reportgen.importing.tables.units import BRACKETS, UNITS
from reportgen.importing.words import is_amount, says

MOST_LEVELS: Final = 3
NAMES_OF_LABELS: Final = ("treatment", "unit", "plant", "block", "number", "date", "picking")


@dataclass(frozen=True)
class Header:
    """Rows of a region, from 0: header levels from the top, the row of units (-1 for none), the
    first of the body.
    """

    rows: tuple[int, ...]
    unit_row: int
    body: int


def value_columns(kind: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Tell for each column whether its body holds numbers or moments: as many as texts, or all that
    end it.
    """
    values = is_value(kind)
    texts = kind == Kind.TEXT
    measured = ((kind == Kind.NUMBER) | (kind == Kind.MOMENT)).any(axis=0)
    many = values.sum(axis=0) >= texts.sum(axis=0)
    if kind.shape[0] <= 8:
        many |= values[-1] & (values.sum(axis=0) >= 1)
    return np.asarray(measured & many)


def header_groups(region: Region) -> list[tuple[int, ...]]:
    """Return groups of neighbouring rows that are headers: texts over columns of values, with
    values below.
    """
    kind = region.kind
    values = value_columns(kind)
    if not values.any():
        return []
    texts = kind == Kind.TEXT
    in_values = is_value(kind)[:, values].sum(axis=1)
    measured = ((kind == Kind.NUMBER) | (kind == Kind.MOMENT))[:, values].any(axis=1)
    text_in_values = texts[:, values].sum(axis=1)
    data = (in_values > 0) & (in_values >= text_in_values)
    fewest = min(2, kind.shape[1])
    candidates = np.flatnonzero((text_in_values > 0) & ~measured & (texts.sum(axis=1) >= fewest))
    headers = []
    for row in candidates:
        below = _data_row_below(data, int(row))
        if (
            below < 0
            or is_field_line(region, int(row))
            or not _covers(kind, values, int(row), below)
        ):
            continue
        if not _is_data_with_a_word(region, values, int(row)):
            headers.append(int(row))
    if kind.shape[1] == 1:
        headers = headers[:1]
    return _neighbours(headers)


def is_field_line(region: Region, row: int) -> bool:
    """Tell whether a row of a wider region holds nothing but a label such as `Treatment:` and what
    it is.
    """
    is_labelled = region.kind[row, 0] == Kind.TEXT and ends_with_colon(region, row)
    return bool(
        is_labelled and region.kind.shape[1] > 2 and (region.kind[row] != Kind.BLANK).sum() == 2
    )


def ends_with_colon(region: Region, row: int) -> bool:
    """Tell whether the first cell of a row is a label such as `Treatment:`."""
    return str(region.text[row, 0]).rstrip().endswith(":")


def _data_row_below(data: NDArray[np.bool_], row: int) -> int:
    for below in range(row + 1, min(row + 5, len(data))):
        if data[below]:
            return below
    return -1


def _covers(kind: NDArray[np.uint8], values: NDArray[np.bool_], row: int, below: int) -> bool:
    """Tell whether texts of a row stand over most values of the row below."""
    wanted = values & is_value(kind[below])
    covered = wanted & (kind[row] != Kind.BLANK)
    return bool(covered.sum() >= 0.5 * wanted.sum())


def _is_data_with_a_word(region: Region, values: NDArray[np.bool_], row: int) -> bool:
    """Tell whether a row's labels are like those of data: then its texts replace numbers.

    They are where a label stands in other rows, too, or where it continues ids such as `A-1`,
    `A-2`.
    """
    text = region.text
    measured = np.isin(region.kind[:, values], (Kind.NUMBER, Kind.MOMENT)).any(axis=1)
    for column in np.flatnonzero(~values):
        label = str(text[row, column])
        if not label:
            continue
        if (measured & (text[:, column] == label)).any():
            return True
        if _continues_ids(label, text[max(row - 1, 0) : row + 2, column]):
            return True
    return False


def _continues_ids(label: str, neighbours: NDArray[np.object_]) -> bool:
    """Tell whether a label with digits has the shape of another one above or below."""
    if not any(character.isdigit() for character in label):
        return False
    others = {str(other) for other in neighbours} - {label}
    shapes = {shape(other) for other in others}
    return shape(label) in shapes


def shape(text: str) -> str:
    """Return a text with `a` for each word and `1` for each number: `A-12` and `B-7` are alike."""
    letters = re.sub(r"[^\W\d_]+", "a", text)
    return re.sub(r"\d+", "1", letters)


def _neighbours(rows: list[int]) -> list[tuple[int, ...]]:
    groups: list[tuple[int, ...]] = []
    for row in rows:
        if groups and groups[-1][-1] == row - 1:
            groups[-1] = (*groups[-1], row)
        else:
            groups.append((row,))
    return groups


def header_of(region: Region, group: tuple[int, ...]) -> Header:
    """Return the header of a region whose rows `group` are texts over numbers.

    It has no rows where there is none.
    """
    rows = list(group)
    unit_row = -1
    if len(rows) > 1 and is_unit_row(region, rows[-1]):
        unit_row = rows.pop()
    if not rows:
        body = _first_row_with_values(region)
        if body < 0 or not _is_numeric_header(region, body):
            return Header((), -1, max(body, 0))
        rows.append(body)
    body = max(rows[-1], unit_row) + 1
    if unit_row < 0:
        if _is_numeric_level(region, body):
            rows.append(body)
            body += 1
        if body < region.kind.shape[0] and is_unit_row(region, body):
            unit_row = body
            body += 1
    return Header(_levels(region, rows), unit_row, body)


def _first_row_with_values(region: Region) -> int:
    measured = np.isin(region.kind, (Kind.NUMBER, Kind.MOMENT)).any(axis=1)
    several = (region.kind != Kind.BLANK).sum(axis=1) >= min(2, region.kind.shape[1])
    for row in np.flatnonzero(measured & several):
        if not is_field_line(region, int(row)):
            return int(row)
    return -1


def _levels(region: Region, rows: list[int]) -> tuple[int, ...]:
    """Return the header rows with the levels above them, 3 at most; those above are titles."""
    lowest = rows[-1]
    levels = [lowest]
    for row in range(lowest - 1, max(lowest - MOST_LEVELS, -1), -1):
        if not _is_level(region, row, lowest):
            break
        levels.insert(0, row)
    return tuple(levels)


def _is_level(region: Region, row: int, lowest: int) -> bool:
    kind = region.kind
    filled = np.flatnonzero(kind[row] != Kind.BLANK)
    if filled.size < 2:
        return False
    below = kind[lowest] != Kind.BLANK
    if filled[0] > 0 or not below[0]:
        return True
    if _is_merged_across(region, row) or _starts_groups(region, filled, lowest):
        return True
    return filled.size >= 3 and filled.size >= 0.6 * below.sum()


def _is_merged_across(region: Region, row: int) -> bool:
    """Tell whether a merged cell that begins in a row spans several columns."""
    for first_row, first_column, _, last_column in region.merged():
        if first_row == row and last_column > first_column:
            return True
    return False


def _starts_groups(region: Region, columns: NDArray[np.intp], lowest: int) -> bool:
    """Tell whether the same header stands below each of several labels: each begins a group of
    columns.
    """
    below = {str(text) for text in region.text[lowest, columns]}
    return len(below) == 1 and "" not in below


def is_unit_row(region: Region, row: int) -> bool:
    """Tell whether the texts of a row are units, all in brackets or most of them known."""
    if not np.isin(region.kind[row], (Kind.TEXT, Kind.BLANK)).all():
        return False
    texts = [str(text).strip() for text in region.text[row] if text]
    if not texts or any(map(_is_letter, texts)):
        return False
    longest = max(map(len, texts))
    if longest <= 14 and all(map(BRACKETS.fullmatch, texts)):
        return True
    units = sum(map(_is_unit, texts))
    return longest <= 10 and units >= 0.6 * len(texts)


def _is_unit(text: str) -> bool:
    return text.casefold().strip("()[]") in UNITS


def _is_letter(text: str) -> bool:
    """Tell whether a text is a letter that is no unit: A, B, C name columns."""
    return len(text) == 1 and text.isalpha() and not _is_unit(text)


def _is_numeric_header(region: Region, row: int) -> bool:
    """Tell whether a row of numbers or moments heads columns: trays, plants, days, levels of a
    factor.
    """
    kind = region.kind
    if row + 1 >= kind.shape[0]:
        return False
    below = kind[row + 1 :]
    head = kind[row]
    numbers = (below == Kind.NUMBER).sum(axis=0)
    moments_over_numbers = (head == Kind.MOMENT) & (numbers > (below == Kind.MOMENT).sum(axis=0))
    if moments_over_numbers.sum() >= 2:
        return True
    if _are_amounts_over_numbers(region, row):
        return True
    labels = np.flatnonzero(head == Kind.NUMBER)
    if labels.size < 2 or labels[0] == 0 or len(set(region.number[row, labels])) < 2:
        return False
    return _are_labels_over_numbers(region, row, labels)


def _are_labels_over_numbers(region: Region, row: int, labels: NDArray[np.intp]) -> bool:
    """Tell whether numbers of a row head the columns below them, by what stands beside them."""
    kind = region.kind
    below = kind[row + 1 :]
    head = kind[row]
    numbers = (below == Kind.NUMBER).sum(axis=0)
    has_text_over_numbers = bool(((head == Kind.TEXT) & (numbers > 0)).any())
    has_blank_over_label = head[0] == Kind.BLANK and below[0, 0] != Kind.BLANK
    stands_alone = _first_cell_stands_alone(region, row)
    if not _count_up(region.number[row, labels]):
        return has_text_over_numbers and stands_alone
    if has_text_over_numbers or has_blank_over_label:
        return True
    return stands_alone and _decimals_below(region, row, labels)


def _are_amounts_over_numbers(region: Region, row: int) -> bool:
    """Tell whether numbers with units, such as 18 °C, stand over numbers without: levels of a
    factor.
    """
    below = np.isin(region.kind[row + 1 :], (Kind.NUMBER, Kind.MISSING, Kind.LOST)).all(axis=0)
    amounts = [
        column for column in np.flatnonzero(below) if is_amount(str(region.text[row, column]))
    ]
    if len(amounts) < 2 or len(set(region.text[row, amounts])) < len(amounts):
        return False
    units = region.source.units
    top, left = region.area.first_row, region.area.first_column
    return not any((top + row + 1, left + int(column)) in units for column in amounts)


def _is_numeric_level(region: Region, row: int) -> bool:
    """Tell whether numbers right below a header are a level of it: blank over the labels, counts
    over the values.
    """
    kind = region.kind
    if row + 1 >= kind.shape[0]:
        return False
    head = kind[row]
    labels = np.flatnonzero((head == Kind.NUMBER) | (head == Kind.MOMENT))
    if labels.size < 2 or labels[0] == 0:
        return False
    leading = slice(0, labels[0])
    is_text_over_number = (head[leading] == Kind.TEXT) & is_value(kind[row + 1, leading])
    is_blank_over_label = (head[leading] == Kind.BLANK) & (kind[row + 1, leading] != Kind.BLANK)
    is_named = says(" ".join(region.text[row, leading]), *NAMES_OF_LABELS)
    is_text_below_blank = (
        (head[leading] == Kind.TEXT) & (kind[row - 1, leading] == Kind.BLANK) & is_named
    )
    if not (is_text_over_number | is_blank_over_label | is_text_below_blank).any():
        return False
    numbers = region.number[row, labels]
    return bool((head[labels] == Kind.MOMENT).all()) or _count_up(numbers)


def _count_up(numbers: NDArray[np.float64]) -> bool:
    """Tell whether whole numbers rise, perhaps several times from the start: 1 2 3, 1 2 1 2, 10 14."""
    if np.isnan(numbers).any() or (numbers != np.round(numbers)).any():
        return False
    falls = np.flatnonzero(np.diff(numbers) <= 0)
    starts = np.concatenate([[0], falls + 1])
    return len(starts) * 2 <= len(numbers) and len(set(numbers[starts])) == 1


def _first_cell_stands_alone(region: Region, row: int) -> bool:
    first = region.text[row, 0]
    return bool(region.kind[row, 0] == Kind.TEXT) and (region.text[:, 0] == first).sum() == 1


def _decimals_below(region: Region, row: int, columns: NDArray[np.intp]) -> bool:
    below = region.number[row + 1 :, columns]
    values = below[~np.isnan(below)]
    steps = np.diff(region.number[row, columns])
    counted = bool((steps == 1).all()) and region.number[row, columns[0]] <= 1
    return values.size > 0 and (counted or bool((values != np.round(values)).mean() > 0.5))
