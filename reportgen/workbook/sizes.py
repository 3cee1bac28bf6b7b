"""Sizes of plants that are probably slips of the decimal point or the unit, or lie far from others of the treatment."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from reportgen.model.outliers import Slip, outliers, slips
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.book import Book, rows_of
from reportgen.workbook.declaration import PLANTS, Column, Kind
from reportgen.workbook.recorded import judged_column
from reportgen.workbook.table import Row, number_weighed
from reportgen.workbook.units import conversion

TIMES_MEDIAN: Final = 50  # beyond any growth; ours
KILO: Final = 3  # powers of ten from g to kg


@dataclass(frozen=True)
class _Size:
    """A size of one plant, in the unit of its column; of plants that were weighed together it is the mean."""

    row: Row
    value: float
    treatment: str
    is_planted: bool


def sizes_of_plants(book: Book) -> Iterator[Problem]:
    """No size of a plant is ten times what others of its treatment have, or a tenth of it, nor far from theirs."""
    judged = judged_column(book)
    told: set[str] = set()
    for column in PLANTS.columns:
        if column.kind is not Kind.NUMBER:
            continue
        sizes = tuple(_sizes(book, column))
        slipped = slips([size.value for size in sizes], [size.treatment for size in sizes])
        yield from (_slip(column, sizes[slip.index], slip) for slip in slipped)
        others = [size for index, size in enumerate(sizes) if index not in {slip.index for slip in slipped}]
        strange = _of_another_size(others, median([size.value for size in sizes] or [0.0]))
        yield from (_strange(column, size, middle) for size, middle in strange)
        if judged is not None and column.name == judged.name:
            told = {size.row.cell(column.name) for size, _ in strange}
            told |= {sizes[slip.index].row.cell(column.name) for slip in slipped}
    if judged is not None:
        yield from _far(judged, tuple(_sizes(book, judged)), told)


def _sizes(book: Book, column: Column) -> Iterator[_Size]:
    trays = {row.text("Tray"): row for row in rows_of(book, "Trays")}
    for row in rows_of(book, PLANTS.name):
        value = row.number_in(column.name)
        if value is None:
            continue
        tray = trays.get(row.text("Tray"))
        planted = tray is not None and tray.get("Plants started") != 0
        yield _Size(row, value / _number(row, column), tray.text("Treatment") if tray else "", planted)


# ---- slips of the point or the unit ----------------------------------------------------------------------


def _slip(column: Column, size: _Size, slip: Slip) -> Problem:
    unit, factor = _unit_of(column, size.row)
    times = f"{10**slip.power} times" if slip.power > 0 else f"1/{10**-slip.power} of"
    others = f'others of "{size.treatment}"' if size.treatment else "other plants"
    meant = size.value / 10**slip.power * _number(size.row, column) / factor
    what = "the point or the unit" if abs(slip.power) == KILO else "the point"
    return size.row.caution(
        column.name,
        f"{size.value / factor:.6g} {unit} is about {times} what {others} have",
        f"a value near {slip.middle / factor:.3g} {unit}",
        f"Type {meant:.6g} if {what} slipped; it was used as it stands.",
        code="slipped_point",
    )


def _number(row: Row, column: Column) -> int:
    """Return how many plants a value is of."""
    return number_weighed(row) if column.unit == "g" else 1


def _unit_of(column: Column, row: Row) -> tuple[str, float]:
    """Return the unit that a bare number is in, that of the header, and how much of the column's unit it is."""
    unit = row.table.units.get(column.name) or column.unit
    factor, _ = conversion(unit, column.unit)
    return unit, factor


def _of_another_size(sizes: Sequence[_Size], middle: float) -> list[tuple[_Size, float]]:
    """Return the sizes that are many times the median of the column, or a small part of it, with that median."""
    if middle <= 0:
        return []
    low, high = middle / TIMES_MEDIAN, middle * TIMES_MEDIAN
    return [(size, middle) for size in sizes if size.value and not low <= size.value <= high]


def _strange(column: Column, size: _Size, middle: float) -> Problem:
    unit, factor = _unit_of(column, size.row)
    times = f"{size.value / middle:.0f} times" if size.value > middle else f"1/{middle / size.value:.0f} of"
    return size.row.caution(
        column.name,
        f"{size.value / factor:.6g} {unit} is {times} the median of the column",
        f"a value near {middle / factor:.3g} {unit}",
        "Check the unit and the decimal point; it was used as it stands.",
        code="weight_far_from_median",
    )


# ---- what the report flags -------------------------------------------------------------------------------


def _far(column: Column, sizes: Sequence[_Size], told: set[str]) -> Iterator[Problem]:
    """Yield a remark for each size that the report flags by the same rule, unless its cell is among those `told`."""
    treatments: dict[str, list[_Size]] = defaultdict(list)
    for size in sizes:
        if size.is_planted and size.treatment and number_weighed(size.row) == 1:
            treatments[size.treatment].append(size)
    for treatment, held in treatments.items():
        found = outliers([size.value for size in held])
        middle = median(size.value for size in held)
        for index in found.indices:
            if held[index].row.cell(column.name) not in told:
                yield _flagged(column, held[index], treatment, middle, found.scores[index])


def _flagged(column: Column, size: _Size, treatment: str, middle: float, score: float) -> Problem:
    unit, factor = _unit_of(column, size.row)
    side = "above" if score > 0 else "below"
    return Problem(
        Severity.REMARK,
        size.row.table.title,
        size.row.cell(column.name),
        f'{size.value / factor:.6g} {unit} is {abs(score):.1f} usual spreads {side} the middle of "{treatment}"',
        f"a value near {middle / factor:.3g} {unit}",
        "Check it. As it stands the report flags it, and gives the answer with it and without it.",
        code="outlier",
    )
