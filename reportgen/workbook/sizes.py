"""Sizes of plants that lie far from others of the treatment."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from reportgen.model.outliers import outliers
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.book import Book, rows_of
from reportgen.workbook.declaration import PLANTS, Column, Kind
from reportgen.workbook.like_cells import number_of_plants, scale_of
from reportgen.workbook.recorded import judged_column
from reportgen.workbook.table import Row, number_weighed

TIMES_MEDIAN: Final = 50  # beyond any growth; ours


@dataclass(frozen=True)
class _Size:
    """A size of one plant, in the unit of its column; of plants that were weighed together it is the mean."""

    row: Row
    value: float
    treatment: str
    is_planted: bool


def sizes_of_plants(book: Book) -> Iterator[Problem]:
    """No size of a plant is many times what others have, nor does one lie far from others of its treatment."""
    for column in PLANTS.columns:
        if column.kind is not Kind.NUMBER:
            continue
        sizes = tuple(_sizes(book, column))
        middle = median([size.value for size in sizes] or [0.0])
        for size in _of_another_size(sizes, middle):
            yield _strange(column, size, middle)
    judged = judged_column(book)
    if judged is not None:
        yield from _far(judged, tuple(_sizes(book, judged)))


def _sizes(book: Book, column: Column) -> Iterator[_Size]:
    trays = {row.text("Tray"): row for row in rows_of(book, "Trays")}
    for row in rows_of(book, PLANTS.name):
        value = row.number_in(column.name)
        if value is None:
            continue
        tray = trays.get(row.text("Tray"))
        planted = tray is not None and tray.get("Plants started") != 0
        yield _Size(row, value / number_of_plants(row, column), tray.text("Treatment") if tray else "", planted)


def _of_another_size(sizes: Sequence[_Size], middle: float) -> list[_Size]:
    """Return the sizes that are many times the median of the column, or a small part of it."""
    if middle <= 0:
        return []
    low, high = middle / TIMES_MEDIAN, middle * TIMES_MEDIAN
    return [size for size in sizes if size.value and not low <= size.value <= high]


def _strange(column: Column, size: _Size, middle: float) -> Problem:
    scale = scale_of(column, size.row.table)
    times = f"{size.value / middle:.0f} times" if size.value > middle else f"1/{middle / size.value:.0f} of"
    return size.row.caution(
        column.name,
        f"{scale.typed(size.value):.6g} {scale.unit} is {times} the median of the column",
        f"a value near {scale.typed(middle):.3g} {scale.unit}",
        "Check the unit and the decimal point; it was used as it stands.",
        code="weight_far_from_median",
    )


# ---- what the report flags -------------------------------------------------------------------------------


def _far(column: Column, sizes: Sequence[_Size]) -> Iterator[Problem]:
    """Yield a remark for each size that the report flags by the same rule."""
    treatments: dict[str, list[_Size]] = defaultdict(list)
    for size in sizes:
        if size.is_planted and size.treatment and number_weighed(size.row) == 1:
            treatments[size.treatment].append(size)
    for treatment, held in treatments.items():
        found = outliers([size.value for size in held])
        middle = median(size.value for size in held)
        for index in found.indices:
            yield _flagged(column, held[index], treatment, middle, found.scores[index])


def _flagged(column: Column, size: _Size, treatment: str, middle: float, score: float) -> Problem:
    scale = scale_of(column, size.row.table)
    side = "above" if score > 0 else "below"
    return Problem(
        Severity.REMARK,
        size.row.table.title,
        size.row.cell(column.name),
        f"{scale.typed(size.value):.6g} {scale.unit} is {abs(score):.1f} usual spreads {side} the middle of "
        f'"{treatment}"',
        f"a value near {scale.typed(middle):.3g} {scale.unit}",
        "Check it. As it stands the report flags it, and gives the answer with it and without it.",
        code="outlier",
    )
