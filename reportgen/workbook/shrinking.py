"""Measures of growing plants that shrink by more than measuring scatter."""

from collections import defaultdict
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log
from statistics import median
from typing import Final

from reportgen.language import say
from reportgen.model.outliers import NORMAL_QUARTILE
from reportgen.model.problem import Problem
from reportgen.workbook.book import Book
from reportgen.workbook.declaration import Column
from reportgen.workbook.like_cells import LikeCells, like_cells, scale_of
from reportgen.workbook.slips import slips
from reportgen.workbook.table import Row

LIMIT: Final = 6.0  # standard deviations of a step; ours, wide since a fall of a leaf is no mistake
LEAST_FALL: Final = log(1 / 0.85)  # by less than 15% a measure may fall by the way it was taken
FEWEST_STEPS: Final = 8  # steps that tell whether a measure grows, and how it scatters
GROWING: Final = 0.8  # of all steps that do not go down, where a measure is one of growth


@dataclass(frozen=True)
class _Step:
    """A step from one measurement to the next, by row index; `growth` is the change of the log."""

    before: int
    after: int
    days: Hashable
    growth: float


def measures_that_shrink(book: Book) -> Iterator[Problem]:
    """What grows on nearly all plants does not shrink on one."""
    for cells in like_cells(book):
        if not cells.likeness.repeated:
            continue
        for column in cells.columns():
            if column.trait:
                numbers = cells.numbers(column)
                yield from (_problem(cells, column, step) for step in _falls(numbers, cells))


def _falls(numbers: Sequence[float | None], cells: LikeCells) -> Iterator[_Step]:
    """Yield the steps by which a measure shrinks, where most do not.

    Measurements that slipped are passed over.
    """
    slipped = {slip.index for slip in slips(numbers, cells.likeness)}
    steps = list(_steps(numbers, cells, slipped))
    rising = sum(step.growth >= 0 for step in steps)
    if len(steps) < FEWEST_STEPS or rising < GROWING * len(steps):
        return
    usual = _usual_growth(steps)
    lacking = [usual[step.days] - step.growth for step in steps]
    scatter = median(map(abs, lacking)) / NORMAL_QUARTILE
    for step, lack in zip(steps, lacking, strict=True):
        if step.growth < -LEAST_FALL and lack > LIMIT * scatter:
            yield step


def _steps(numbers: Sequence[float | None], cells: LikeCells, slipped: set[int]) -> Iterator[_Step]:
    """Yield the steps from one measurement to the next of the same thing."""
    times = cells.likeness.times
    for indices in _series(numbers, cells, slipped):
        ordered = sorted(indices, key=lambda index: str(times[index]))
        for before, after in pairwise(ordered):
            growth = log((numbers[after] or 1.0) / (numbers[before] or 1.0))
            yield _Step(before, after, (times[before], times[after]), growth)


def _series(
    numbers: Sequence[float | None], cells: LikeCells, slipped: set[int]
) -> list[list[int]]:
    """Return the indices of the sound measurements of each thing."""
    likeness = cells.likeness
    series: dict[Hashable, list[int]] = defaultdict(list)
    for index, number in enumerate(numbers):
        if index in slipped or number is None or not number > 0:
            continue
        thing = likeness.series[index]
        if thing is not None and likeness.times[index] is not None:
            series[thing].append(index)
    return list(series.values())


def _usual_growth(steps: Sequence[_Step]) -> Mapping[Hashable, float]:
    """Return the median step of each two days, of all where few were measured on both."""
    by_days: dict[Hashable, list[float]] = defaultdict(list)
    for step in steps:
        by_days[step.days].append(step.growth)
    overall = median(step.growth for step in steps)
    return {
        days: median(growth) if len(growth) >= 3 else overall for days, growth in by_days.items()
    }


def _problem(cells: LikeCells, column: Column, step: _Step) -> Problem:
    before, after = Row(cells.table, step.before), Row(cells.table, step.after)
    scale = scale_of(column, cells.table)
    was, now = (scale.typed(row.number_in(column.name) or 0.0) for row in (before, after))
    return after.caution(
        column.name,
        say(
            "{name} falls from {was} {unit} in row {number} to {now} {unit}",
            name=column.name,
            was=f"{was:.6g}",
            unit=scale.unit,
            number=before.named,
            now=f"{now:.6g}",
        ).rstrip(),
        say("a measure that grows, as on the other plants"),
        say("Check both values and the number of the plant; they were used as they stand."),
        code="measure_shrinks",
    )
