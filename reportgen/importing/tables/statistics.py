"""Find the owner's statistics: rows and columns that equal the sum, mean, count or spread of
others.
"""

import re
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from itertools import permutations
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.conversions import factors
from reportgen.importing.model.cells import Kind
from reportgen.importing.model.tables import Column, Statistic, Table
from reportgen.importing.tables.headers import value_columns
from reportgen.importing.tables.statistic_words import is_weak, statistic_of
from reportgen.importing.tables.units import unit_of

Numbers = NDArray[np.float64]
DECIMALS: Final = re.compile(r"\d[.,](\d+)\D*$")
MOST_CANDIDATES: Final = 300  # more rows without a label are no statistics
MOST: Final = 0.65  # rows in threes of which one is a total have labels on two
FEWEST_SUMMED: Final = 4  # rows; fewer may add up by chance
MOST_ROUNDED: Final = 0.05  # a number rounded more than that may agree by chance


@dataclass(frozen=True)
class Cells:
    """All rows of a table, statistics and struck ones included.

    `sheet`, `struck` (rows,) tell where a row stands and whether its owner struck it. `is_measured`
    (columns,) tells which headers name a unit of measure, or are numbers or dates.
    """

    table: Table
    sheet: NDArray[np.intp]
    struck: NDArray[np.bool_]
    is_measured: NDArray[np.bool_]

    @property
    def kind(self) -> NDArray[np.uint8]:
        """Return the kinds of the cells."""
        return self.table.kind

    @property
    def text(self) -> NDArray[np.object_]:
        """Return the texts of the cells."""
        return self.table.text

    @property
    def number(self) -> Numbers:
        """Return the numbers of the cells, nan where none."""
        return self.table.number


@dataclass(frozen=True)
class RowStatistic:
    """A row of statistics: its row, the rows of which it is, and by column whether it agrees with
    them.
    """

    row: int
    statistic: Statistic
    label: str
    of: NDArray[np.intp]
    columns: NDArray[np.intp]
    agrees: NDArray[np.bool_]


@dataclass(frozen=True)
class ColumnStatistic:
    """A column that is computed of others on each row; `agrees` (rows,) tells where it fits."""

    column: int
    statistic: Statistic
    of: tuple[int, ...]
    agrees: NDArray[np.bool_]


def tolerance(text: str, value: float) -> float:
    """Return how far a number may be from what was computed: half of its last digit."""
    match = DECIMALS.search(text)
    if match:
        digits = len(match[1])
    else:
        digits = 0
    return float(0.501 * 10.0**-digits + 1e-9 * abs(value))


def _count(values: Numbers) -> Numbers:
    return np.asarray((~np.isnan(values)).sum(axis=0), dtype=float)


def _sample_spread(values: Numbers) -> Numbers:
    return np.asarray(np.nanstd(values, axis=0, ddof=1))


FORMULAS: Final[tuple[tuple[Statistic, Callable[[Numbers], Any]], ...]] = (
    (Statistic.SUM, partial(np.nansum, axis=0)),
    (Statistic.MEAN, partial(np.nanmean, axis=0)),
    (Statistic.COUNT, _count),
    (Statistic.SPREAD, _sample_spread),
    (Statistic.SPREAD, partial(np.nanstd, axis=0)),
    (Statistic.SPREAD, lambda values: _sample_spread(values) / np.sqrt(_count(values))),
    (Statistic.SPREAD, lambda values: 100 * _sample_spread(values) / np.nanmean(values, axis=0)),
    (Statistic.OTHER, partial(np.nanmin, axis=0)),
    (Statistic.OTHER, partial(np.nanmax, axis=0)),
    (Statistic.OTHER, partial(np.nanmedian, axis=0)),
)


def _computed(formula: Callable[[Numbers], Any], values: Numbers) -> Numbers:
    """Return a formula of each column of `values`; nan where there are too few."""
    with warnings.catch_warnings(action="ignore", category=RuntimeWarning):
        return np.asarray(formula(values), dtype=float)


def row_statistics(cells: Cells) -> list[RowStatistic]:
    """Return the rows that are statistics of others.

    They are labelled so, or lack the labels that others have. A row may give several, such as a
    mean under weights and a count under numbers of plants.
    """
    labelled = _labelled_rows(cells)
    unlabelled = _rows_without_labels(cells) - set(labelled)
    if len(unlabelled) > MOST_CANDIDATES:
        unlabelled = set()
    taken = set(labelled)
    likely: list[RowStatistic] = []
    for row in sorted(taken | unlabelled):
        groups = list(_groups(cells, row, taken))
        best = _fitting(cells, row, groups, labelled.get(row))
        if best is None or (row in unlabelled and not best.agrees.all()):
            taken.discard(row)
            continue
        taken.add(row)
        likely.append(best)
    last = _whole_sum(cells, taken)
    if last is not None:
        likely.append(last)
    statistics = []
    for best in _without_data(cells, likely):
        statistics += _with_others(cells, best)
    return statistics


def _whole_sum(cells: Cells, taken: set[int]) -> RowStatistic | None:
    """Return the last row where it is the sum of all others in several columns.

    Its label may say anything.
    """
    last = len(cells.kind) - 1
    if last < FEWEST_SUMMED or last in taken:
        return None
    best = _fitting(cells, last, list(_groups(cells, last, taken)), None)
    if best is None or best.statistic is not Statistic.SUM or not best.agrees.all():
        return None
    if len(best.columns) > 1 and len(best.of) >= FEWEST_SUMMED:
        return best
    return None


def _without_data(cells: Cells, statistics: list[RowStatistic]) -> list[RowStatistic]:
    """Drop rows that are labelled like data, where rows of the same word do not agree.

    `media` may be a mean or a treatment: a row with all labels is a mean only if all such rows are.
    """
    label_columns = _label_columns(cells)
    agreeing: dict[str, list[bool]] = {}
    suspects = set()
    for statistic in statistics:
        if _may_be_data(cells, statistic, label_columns):
            suspects.add(statistic.row)
            agreeing.setdefault(statistic.label, []).append(_is_as_named(cells, statistic))
    rest = []
    for statistic in statistics:
        if statistic.row not in suspects or np.mean(agreeing[statistic.label]) > MOST:
            rest.append(statistic)
    return rest


def _may_be_data(cells: Cells, statistic: RowStatistic, label_columns: NDArray[np.bool_]) -> bool:
    """Tell whether a row has all other labels, or its word may as well be a code."""
    if not statistic.label:
        return False
    if is_weak(statistic.label):
        return True
    others = label_columns & (cells.text[statistic.row] != statistic.label)
    is_filled = cells.kind[statistic.row, others] != Kind.BLANK
    return bool(others.any() and is_filled.all())


def _is_as_named(cells: Cells, statistic: RowStatistic) -> bool:
    """Tell whether all numbers are the statistic of the label, from rows that differ."""
    if statistic.statistic is not statistic_of(statistic.label):
        return False
    sources = cells.number[np.ix_(statistic.of, statistic.columns)]
    varies = bool((sources != sources[:1]).any())
    return varies and bool(statistic.agrees.all())


def _labelled_rows(cells: Cells) -> dict[int, tuple[Statistic, str]]:
    """Return rows with a statistic's word among their labels.

    Where such words are most of a column's labels, they are codes.
    """
    labelled: dict[int, tuple[Statistic, str]] = {}
    values = value_columns(cells.kind)
    has_number = (cells.kind[:, values] == Kind.NUMBER).any(axis=1)
    for column in range(cells.kind.shape[1]):
        named = _named_in_column(cells, column, has_number)
        filled = int((cells.kind[:, column] != Kind.BLANK).sum())
        if len(named) > 0.6 * filled and len(named) > 0.3 * len(cells.kind):
            continue
        for row, statistic in named.items():
            if row not in labelled and not _is_remark(cells, row, column):
                labelled[row] = (statistic, str(cells.text[row, column]))
    by_section = _rows_of_named_sections(cells)
    return by_section | labelled


def _named_in_column(
    cells: Cells, column: int, has_number: NDArray[np.bool_]
) -> dict[int, Statistic]:
    """Return the statistics that texts of a column name, by row; only rows with numbers."""
    rows = np.flatnonzero((cells.kind[:, column] == Kind.TEXT) & has_number)
    texts = cells.text[rows, column]
    statistics = {text: statistic_of(str(text)) for text in set(texts)}
    named = {}
    for row, text in zip(rows.tolist(), texts, strict=True):
        statistic = statistics[text]
        if statistic:
            named[row] = statistic
    return named


def _rows_of_named_sections(cells: Cells) -> dict[int, tuple[Statistic, str]]:
    """Return the rows below a lone label that names a statistic; sections are few of all rows."""
    labelled = {}
    for section in set(cells.table.section) - {""}:
        statistic = statistic_of(section)
        rows = np.flatnonzero(cells.table.section == section).tolist()
        if statistic and len(rows) < 0.3 * len(cells.kind):
            labelled.update(dict.fromkeys(rows, (statistic, section)))
    return labelled


def _is_remark(cells: Cells, row: int, column: int) -> bool:
    """Tell whether a text stands behind the numbers of a row whose other labels are as usual."""
    before = cells.kind[row, :column]
    labels = _label_columns(cells)
    labels[column] = False
    return bool(
        (before == Kind.NUMBER).any()
        and labels.any()
        and (cells.kind[row, labels] != Kind.BLANK).all()
    )


def _label_columns(cells: Cells) -> NDArray[np.bool_]:
    """Tell for each column whether it labels rows: texts, or leading counts from 0 or 1, on most
    rows.
    """
    numeric = value_columns(cells.kind)
    labels = (cells.kind != Kind.BLANK).mean(axis=0) >= MOST
    columns = np.flatnonzero(numeric)
    is_leading = True
    for column in columns:
        is_last = column == columns[-1]
        is_leading = (
            is_leading
            and not is_last
            and not cells.is_measured[column]
            and _counts(cells.number[:, column])
        )
        labels[column] &= is_leading
    return np.asarray(labels)


def _counts(numbers: Numbers) -> bool:
    """Tell whether whole numbers count from 0 or 1 without a gap, such as numbers of trays."""
    values = np.unique(numbers[~np.isnan(numbers)])
    if values.size == 0 or (values != np.round(values)).any():
        return False
    return bool(values[0] in (0, 1) and values[-1] - values[0] + 1 == values.size)


def _rows_without_labels(cells: Cells) -> set[int]:
    """Return rows that lack a label that others have, with numbers to the right of it."""
    labels = _label_columns(cells)
    if not labels.any():
        gaps = np.diff(cells.table.row, append=cells.table.row[-1:]) > 1
        last_rows = np.flatnonzero(np.diff(cells.table.block, append=-1) != 0)
        return {int(row) for row in last_rows if row > 1 and gaps[row - 1]}
    blank = (cells.kind == Kind.BLANK) & labels
    numbers = (cells.kind == Kind.NUMBER) & ~labels
    first_blank = np.where(blank.any(axis=1), blank.argmax(axis=1), cells.kind.shape[1])
    last_number = np.where(
        numbers.any(axis=1), cells.kind.shape[1] - 1 - numbers[:, ::-1].argmax(axis=1), -1
    )
    return {int(row) for row in np.flatnonzero(first_blank < last_number)}


def _groups(cells: Cells, row: int, taken: set[int]) -> Iterator[NDArray[np.intp]]:
    """Give the rows that a row may sum up: since the last statistic, its section, its block, its
    sheet, all.

    Where rows are struck, its owner may have summed up with them or without.
    """
    is_data = ~cells.struck
    is_data[[*taken, row]] = False
    yield from _nearest_first(cells, row, np.flatnonzero(is_data), taken)
    if cells.struck.any():
        yield from _nearest_first(cells, row, np.flatnonzero(is_data | cells.struck), taken)


def _nearest_first(
    cells: Cells, row: int, data: NDArray[np.intp], taken: set[int]
) -> Iterator[NDArray[np.intp]]:
    block = data[cells.table.block[data] == cells.table.block[row]]
    above = block[block < row]
    first_of_run = row
    while first_of_run - 1 in taken:
        first_of_run -= 1
    last_statistic = max((other for other in taken if other < first_of_run), default=-1)
    yield above[above > last_statistic]
    yield above[cells.table.section[above] == cells.table.section[row]]
    yield above
    for column in range(min(3, cells.kind.shape[1])):
        labels = above[cells.kind[above, column] != Kind.BLANK]
        if 0 < labels.size < above.size:
            yield above[above >= labels[-1]]
    yield block
    yield data[cells.sheet[data] == cells.sheet[row]]
    yield data


def _fitting(
    cells: Cells, row: int, groups: list[NDArray[np.intp]], named: tuple[Statistic, str] | None
) -> RowStatistic | None:
    """Return the statistic that most numbers of a row fit; a named one also where it fits none."""
    columns = _measured_columns(cells, row, groups)
    best: RowStatistic | None = None
    best_score = -1.0
    for order, group in enumerate(groups):
        if columns.size == 0 or group.size < (1 if named else 2):
            continue
        for candidate in _candidates(cells, row, columns, group, named):
            score = _score(candidate, named) - 0.01 * order
            if score > best_score:
                best, best_score = candidate, score
    return best


def _candidates(
    cells: Cells,
    row: int,
    columns: NDArray[np.intp],
    group: NDArray[np.intp],
    named: tuple[Statistic, str] | None,
) -> Iterator[RowStatistic]:
    """Give each statistic of some rows with the numbers of a row that fit it; without a label only
    sum and mean.
    """
    values = cells.number[row, columns]
    allowed = np.array(
        [tolerance(str(cells.text[row, column]), cells.number[row, column]) for column in columns]
    )
    sources = cells.number[np.ix_(group, columns)]
    varies = _computed(partial(np.nanmax, axis=0), sources) > _computed(
        partial(np.nanmin, axis=0), sources
    )
    is_exact = allowed <= MOST_ROUNDED * np.abs(values)
    for statistic, formula in FORMULAS:
        if named is None and statistic not in (Statistic.SUM, Statistic.MEAN):
            continue
        expected = _computed(formula, sources)
        agrees = np.abs(values - expected) <= allowed
        if named is None:
            agrees &= varies & is_exact
        yield RowStatistic(row, statistic, named[1] if named else "", group, columns, agrees)


def _score(candidate: RowStatistic, named: tuple[Statistic, str] | None) -> float:
    """Return how many numbers agree, and half a number more for the statistic that the label names."""
    score = float(candidate.agrees.sum())
    if named is not None and candidate.statistic is named[0]:
        return score + 0.5
    if named is None or score > 0:
        return score
    return -2.0


def _with_others(cells: Cells, best: RowStatistic) -> list[RowStatistic]:
    """Return a row's statistic, and others of the same rows that its other numbers fit; labels are
    left out.
    """
    results = [best]
    left = ~best.agrees
    if not best.agrees.any() or not left.any():
        return results
    labels = _label_columns(cells)
    for statistic, formula in FORMULAS:
        columns = best.columns[left]
        expected = _computed(formula, cells.number[np.ix_(best.of, columns)])
        agrees = np.abs(cells.number[best.row, columns] - expected) <= 1e-9
        if not agrees.any():
            continue
        results.append(
            RowStatistic(best.row, statistic, best.label, best.of, columns[agrees], agrees[agrees])
        )
        left[left] = ~agrees
    kept = best.agrees | (left & ~labels[best.columns])
    results[0] = replace(best, columns=best.columns[kept], agrees=best.agrees[kept])
    return results


def _measured_columns(cells: Cells, row: int, groups: list[NDArray[np.intp]]) -> NDArray[np.intp]:
    """Return the columns of a row's numbers, without labels that it repeats of the rows above."""
    labels = _label_columns(cells)
    for group in groups[:1]:
        if group.size:
            labels &= cells.number[group[-1]] == cells.number[row]
    return np.flatnonzero((cells.kind[row] == Kind.NUMBER) & ~labels)


def column_statistics(table: Table, headers: list[str]) -> list[ColumnStatistic]:
    """Return the columns that on each row are the sum, mean, spread or difference of others."""
    numeric = value_columns(table.kind) & (table.kind == Kind.NUMBER).any(axis=0)
    columns = [int(column) for column in np.flatnonzero(numeric)]
    results: list[ColumnStatistic] = []
    if len(columns) > 200:
        return results
    left: list[int] = []
    for index, column in enumerate(columns):
        right = columns[index + 1 :]
        statistic = _column_statistic(table, column, headers[column], left, right)
        if statistic is None:
            left.append(column)
        else:
            results.append(statistic)
    return results


def _column_statistic(
    table: Table, column: int, header: str, left: list[int], right: list[int]
) -> ColumnStatistic | None:
    """Return what a column is of those to its left; of those to its right only by its header."""
    named = None
    if header:
        named = statistic_of(header)
    statistic = _of_run(table, column, left, named)
    if statistic is None and named is not None:
        statistic = _of_run(table, column, right[::-1], named)
    if statistic is None:
        statistic = _difference(table, column, left)
    return statistic


def _of_run(
    table: Table, column: int, others: list[int], named: Statistic | None
) -> ColumnStatistic | None:
    """Return the statistic of neighbouring columns, two or more, that a column is."""
    rows = np.flatnonzero(~np.isnan(table.number[:, column]))
    values = table.number[rows, column]
    allowed = _tolerances(table, rows, column)
    if len(others) < 2 or not _may_be_computed(values, allowed, named):
        return None
    nearly: ColumnStatistic | None = None
    for run, statistic, expected in _expectations(table, rows, column, others, named):
        agrees = np.abs(values - expected) <= allowed
        all_agree = np.zeros(len(table.number), np.bool_)
        all_agree[rows] = agrees
        result = ColumnStatistic(column, statistic, tuple(sorted(run)), all_agree)
        if agrees.all():
            return result
        if nearly is None and named is statistic and agrees.mean() >= MOST:
            nearly = result
    return nearly


def _may_be_computed(values: Numbers, allowed: Numbers, named: Statistic | None) -> bool:
    """Tell whether numbers suffice: two under a statistic's name, else three that are evidence."""
    if named is not None:
        return len(values) >= 2
    return len(values) >= 3 and _is_evidence(values, allowed)


def _expectations(
    table: Table,
    rows: NDArray[np.intp],
    column: int,
    others: list[int],
    named: Statistic | None,
) -> Iterator[tuple[list[int], Statistic, Numbers]]:
    """Yield runs of columns, a statistic and its numbers (rows,), in the unit of `column`."""
    unit = _unit(table.columns[column])
    numbers = {other: _in_unit_of(table, other, unit)[rows] for other in others}
    for run in _runs(table, others):
        sources = np.array([numbers[source] for source in run])
        for statistic, formula in FORMULAS:
            if _is_usual(statistic, named, len(run)):
                yield run, statistic, _computed(formula, sources)


def _runs(table: Table, others: list[int]) -> Iterator[list[int]]:
    """Yield the columns that another may be a statistic of: neighbours that end a list, then those
    of one header.
    """
    for start in range(len(others) - 2, -1, -1):
        yield others[start:]
    headers = [table.columns[other].header for other in others]
    for header in dict.fromkeys(headers):
        alike = [other for other, own in zip(others, headers, strict=True) if own == header]
        if header and 1 < len(alike) < len(others):
            yield alike


def _in_unit_of(table: Table, source: int, unit: str) -> Numbers:
    """Return the numbers of a column in another unit: grams in kilograms, under `Total (kg)`."""
    factor, offset = factors(_unit(table.columns[source]), unit)
    return np.asarray(table.number[:, source] * factor + offset)


def _unit(column: Column) -> str:
    """Return the unit of a column, or of the nearest header level above it that names one."""
    units = [column.unit, *(unit_of(label)[1] for label in reversed(column.over))]
    return next((unit for unit in units if unit), "")


def _is_usual(statistic: Statistic, named: Statistic | None, columns: int) -> bool:
    """Tell whether a statistic is looked for: a count or a least only by its name, a spread not of
    two.
    """
    if statistic is named:
        return True
    if statistic in (Statistic.COUNT, Statistic.OTHER):
        return False
    return statistic is not Statistic.SPREAD or columns > 2


def _difference(table: Table, column: int, others: list[int]) -> ColumnStatistic | None:
    """Return the two columns before whose difference a column is.

    The difference may also be in percent of the second.
    """
    is_number = ~np.isnan(table.number[:, column])
    rows = np.flatnonzero(is_number)
    values = table.number[rows, column]
    allowed = _tolerances(table, rows, column)
    if len(rows) < 3 or len(others) > 20 or not _is_evidence(values, allowed):
        return None
    for first, second in permutations(others, 2):
        subtracted = table.number[rows, second]
        if np.isnan(subtracted).any() or not subtracted.any():
            continue
        difference = table.number[rows, first] - subtracted
        with np.errstate(divide="ignore", invalid="ignore"):
            percent = 100 * difference / subtracted
        for expected in (difference, percent):
            if (np.abs(values - expected) <= allowed).all():
                return ColumnStatistic(column, Statistic.DIFFERENCE, (first, second), is_number)
    return None


def _tolerances(table: Table, rows: NDArray[np.intp], column: int) -> Numbers:
    digits = 0
    for shown in table.text[rows[:200], column]:
        match = DECIMALS.search(str(shown))
        digits = max(digits, len(match[1]) if match else 0)
    values = np.abs(table.number[rows, column])
    return np.asarray(0.501 * 10.0**-digits + 1e-9 * values)


def _is_evidence(values: Numbers, allowed: Numbers) -> bool:
    """Tell whether numbers that agree say something: they vary, are hardly rounded, and do not
    count rows.
    """
    varies = len(np.unique(values)) > 1
    is_exact = np.median(allowed) <= MOST_ROUNDED * np.median(np.abs(values))
    return bool(varies and is_exact and not _counts(values))
