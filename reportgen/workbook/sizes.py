"""Sizes of plants that lie far from others of the treatment."""

from collections import defaultdict
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from reportgen.language import marked, say
from reportgen.model.outliers import outliers
from reportgen.model.problem import Problem, Severity, cells_of
from reportgen.workbook.book import Book, rows_of
from reportgen.workbook.declaration import PLANTS, Column, Comparison, Kind
from reportgen.workbook.like_cells import LikeCells, like_cells, number_of_plants, scale_of
from reportgen.workbook.recorded import judged_column
from reportgen.workbook.table import Row, number_weighed

TIMES_MEDIAN: Final = 30  # beyond any growth; ours
FEWEST: Final = 4  # like numbers that tell what is usual
SUPPORT: Final = 2.5  # times another number, up to which that one supports it
LEAST_PLANT: Final = 0.1  # g, of a plant that is weighed by itself at the harvest; ours
GRAMS_IN_KG: Final = 1000


@dataclass(frozen=True)
class _Size:
    """The size of one plant in its column's unit; the mean of plants weighed together."""

    row: Row
    value: float
    treatment: str
    is_planted: bool


def sizes_of_plants(book: Book) -> Iterator[Problem]:
    """No plant is many times the size of others, or far from others of its treatment."""
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
        yield _Size(
            row,
            value / number_of_plants(row, column),
            tray.text("Treatment") if tray else "",
            planted,
        )


def _of_another_size(sizes: Sequence[_Size], middle: float) -> list[_Size]:
    """Return the sizes that are many times the median of the column, or a small part of it."""
    if middle <= 0:
        return []
    low, high = middle / TIMES_MEDIAN, middle * TIMES_MEDIAN
    return [size for size in sizes if size.value and not low <= size.value <= high]


def _strange(column: Column, size: _Size, middle: float) -> Problem:
    scale = scale_of(column, size.row.table)
    if size.value > middle:
        times = say("{number} times", number=f"{size.value / middle:.0f}")
    else:
        times = say("1/{number} of", number=f"{middle / size.value:.0f}")
    return size.row.caution(
        column.name,
        say(
            "{typed} {unit} is {times} the median of the column",
            typed=f"{scale.typed(size.value):.6g}",
            unit=scale.unit,
            times=times,
        ),
        say("a value near {value}", value=f"{scale.typed(middle):.3g} {scale.unit}"),
        say("Check the unit and the decimal point; it was used as it stands."),
        code="weight_far_from_median",
    )


def numbers_far_above_like_cells(book: Book) -> Iterator[Problem]:
    """No number is 30 times the median of like numbers, unless another supports it.

    The sheet Plants has its own rule.
    """
    for cells in like_cells(book):
        if cells.table.sheet is PLANTS:
            continue
        for column in cells.columns():
            if column.compared is Comparison.SIZE:
                yield from _far_above(cells, column)


def _far_above(cells: LikeCells, column: Column) -> Iterator[Problem]:
    """Yield a caution for each group whose highest number stands far above the others."""
    numbers = enumerate(cells.numbers(column))
    positive = {index: number for index, number in numbers if number and number > 0}
    if not positive:
        return
    least, most = min(positive.values()), max(positive.values())
    if most <= TIMES_MEDIAN * least:  # as in a logger's 100,000 rows
        return
    groups: dict[Hashable, list[tuple[float, int]]] = defaultdict(list)
    for index, number in positive.items():
        groups[cells.likeness.groups[index]].append((number, index))
    for group in groups.values():
        yield from _highest_far_above(group, cells, column)


def _highest_far_above(
    numbers: Sequence[tuple[float, int]], cells: LikeCells, column: Column
) -> Iterator[Problem]:
    """Yield a caution if the highest of like numbers, each with its row's index, is far above."""
    if len(numbers) < FEWEST:
        return
    ordered = sorted(numbers)
    middle = median(number for number, _ in ordered)
    second, _ = ordered[-2]
    highest, index = ordered[-1]
    if highest <= max(TIMES_MEDIAN * middle, SUPPORT * second):
        return
    unit = scale_of(column, cells.table).unit
    yield Row(cells.table, index).caution(
        column.name,
        say(
            "{highest} {unit} is {times} times the median of the like cells",
            highest=f"{highest:.6g}",
            unit=unit,
            times=f"{highest / middle:.0f}",
        ),
        say("a value near {value}", value=f"{middle:.3g} {unit}"),
        say("Check the unit and the decimal point; it was used as it stands."),
        code="far_from_like_cells",
    )


# ---- a column in another unit --------------------------------------------------------------------


def weights_in_kilograms(book: Book) -> Iterator[Problem]:
    """Neither a column of fresh weights nor one treatment's part is in kg under a header in g."""
    column = PLANTS.column("Fresh weight")
    sizes = [size for size in _sizes(book, column) if size.value > 0]
    if len(sizes) < FEWEST:
        return
    if scale_of(column, sizes[0].row.table).unit != column.unit:
        return
    if max(size.value for size in sizes) >= LEAST_PLANT:
        yield from _treatments_in_kilograms(sizes)
        return
    finding = say(
        "all {number} weights are below {least} g",
        number=len(sizes),
        least=LEAST_PLANT,
    )
    yield _in_kilograms(sizes, finding, say("weights of harvested plants in g"))


def _treatments_in_kilograms(sizes: Sequence[_Size]) -> Iterator[Problem]:
    """Yield a caution for each treatment whose weights are a thousandth of the others'."""
    treatments: dict[str, list[_Size]] = defaultdict(list)
    for size in sizes:
        treatments[size.treatment].append(size)
    for treatment, own in treatments.items():
        values = [size.value for size in own]
        others = [size.value for size in sizes if size.treatment != treatment]
        if not _is_thousandth(values, others):
            continue
        finding = say(
            'the {number} weights of "{treatment}" are about 1/1000 of those of the other'
            " treatments",
            number=len(own),
            treatment=treatment,
        )
        expected = say("weights near {others} g", others=f"{median(others):.3g}")
        yield _in_kilograms(own, finding, expected)


def _is_thousandth(values: Sequence[float], others: Sequence[float]) -> bool:
    """Tell whether values are about a thousandth of others, and all clearly below them."""
    if len(values) < FEWEST or not others:
        return False
    times = median(others) / median(values)
    if not GRAMS_IN_KG / 3 <= times <= GRAMS_IN_KG * 3:
        return False
    return max(values) * SUPPORT < min(others)


def _in_kilograms(sizes: Sequence[_Size], finding: str, expected: str) -> Problem:
    table = sizes[0].row.table
    name = "Fresh weight"
    return Problem(
        Severity.CAUTION,
        table.title,
        cells_of(table.letters[name], [size.row.number for size in sizes]),
        finding,
        expected,
        say(
            "If they are in kg, type them in g, or write kg behind each; they were used as"
            " they stand."
        ),
        code="weights_in_kilograms",
        count=len(sizes),
    )


# ---- what the report flags -----------------------------------------------------------------------


def _far(column: Column, sizes: Sequence[_Size]) -> Iterator[Problem]:
    """Yield a remark for each size that the report flags by the same rule."""
    treatments: dict[str, list[_Size]] = defaultdict(list)
    for size in sizes:
        if _is_compared(size):
            treatments[size.treatment].append(size)
    for treatment, group in treatments.items():
        values = [size.value for size in group]
        outlying = outliers(values)
        middle = median(values)
        for index in outlying.indices:
            yield _flagged(column, group[index], treatment, middle, outlying.scores[index])


def _is_compared(size: _Size) -> bool:
    """Tell whether a size is of one plant of a treatment."""
    is_of_treatment = size.is_planted and bool(size.treatment)
    return is_of_treatment and number_weighed(size.row) == 1


def _flagged(column: Column, size: _Size, treatment: str, middle: float, score: float) -> Problem:
    scale = scale_of(column, size.row.table)
    if score > 0:
        text = marked('{value} is {number} usual spreads above the middle of "{treatment}"')
    else:
        text = marked('{value} is {number} usual spreads below the middle of "{treatment}"')
    return Problem(
        Severity.REMARK,
        size.row.table.title,
        size.row.cell(column.name),
        say(
            text,
            value=f"{scale.typed(size.value):.6g} {scale.unit}",
            number=f"{abs(score):.1f}",
            treatment=treatment,
        ),
        say("a value near {value}", value=f"{scale.typed(middle):.3g} {scale.unit}"),
        say(
            "Check it. As it stands the report flags it, and gives the answer with it and"
            " without it."
        ),
        code="outlier",
    )
