"""What values on several occasions may be: pickings, running totals, samples, growth, the last one."""

from collections.abc import Iterator

import numpy as np

from reportgen.importing import words
from reportgen.importing.clues.grid import Codes, Grid, LabelSet, combined, is_function
from reportgen.importing.model.layouts import Covers, Dimension, Occasions
from reportgen.importing.readings.search import Assignment

_WORDS = (
    (Occasions.PICKINGS, "picking"),
    (Occasions.SAMPLES, "sample"),
    (Occasions.RUNNING, "running"),
)
_USUAL = {
    Occasions.PICKINGS: 0.0,
    Occasions.SAMPLES: 0.0,
    Occasions.LAST: -1.0,
    Occasions.GROWTH: -1.0,
    Occasions.RUNNING: -3.0,
}
_WORD = 3.5
_NO_PLANT = -1.5  # what adds up where trays have labels and plants none is rather of the tray
_SERIES = 4  # series that must all rise before a running total is believed

Scored = tuple[Occasions, float]
# plants that have one day each
_OF_SINGLE_DAYS: list[Scored] = [
    (Occasions.SAMPLES, 5.0),
    (Occasions.ONCE, 3.0),  # one harvest that took some days
    (Occasions.RUNNING, -6.0),
    (Occasions.LAST, -6.0),
    (Occasions.GROWTH, -6.0),
]


def occasion_meanings(assignment: Assignment, grid: Grid, covers: Covers) -> list[Scored]:
    """Return what the occasions of an assignment may be, with scores, best first."""
    occasion = assignment.sets.get(Dimension.OCCASION)
    if occasion is None or len(occasion.levels) < 2:
        return [(Occasions.ONCE, 0.0)]
    unit = _codes(assignment, grid, (Dimension.TREATMENT, Dimension.BLOCK, Dimension.UNIT))
    if is_function(unit, occasion.codes):
        return [(Occasions.ONCE, 0.0)]
    plant = _codes(
        assignment, grid, tuple(Dimension.__members__.values()), without=Dimension.OCCASION
    )
    weights = dict(_USUAL)
    structure = _by_structure(assignment, plant, occasion, covers)
    for meaning, weight in [*structure, *_by_course(plant, occasion, grid), *_by_words(occasion)]:
        weights[meaning] = weights.get(meaning, 0.0) + weight
    return sorted(weights.items(), key=lambda pair: -pair[1])


def _by_structure(
    assignment: Assignment, plant: Codes, occasion: LabelSet, covers: Covers
) -> list[Scored]:
    """Return what the labels of trays and plants on the occasions say."""
    has_units = Dimension.UNIT in assignment.sets
    has_plants = Dimension.PLANT in assignment.sets
    if has_plants and is_function(plant, occasion.codes):
        return _OF_SINGLE_DAYS
    if has_units and covers is not Covers.PLANT:
        return [(Occasions.SAMPLES, -5.0)]
    if has_units and not has_plants:
        return [(Occasions.PICKINGS, _NO_PLANT), (Occasions.RUNNING, _NO_PLANT)]
    if _has_named_plants(assignment, occasion):
        return [(Occasions.SAMPLES, -2.0)]
    return []


def _has_named_plants(assignment: Assignment, occasion: LabelSet) -> bool:
    """Tell whether plants have names of their own and are weighed on several days."""
    plant = assignment.sets.get(Dimension.PLANT)
    if plant is None or plant.is_number or is_function(plant.codes, occasion.codes):
        return False
    for dimension in (Dimension.TREATMENT, Dimension.UNIT):
        above = assignment.sets.get(dimension)
        if above is not None and not is_function(plant.codes, above.codes):
            return False
    return True


def _codes(
    assignment: Assignment,
    grid: Grid,
    dimensions: tuple[Dimension, ...],
    without: Dimension | None = None,
) -> Codes:
    """Return one code for each combination of some dimensions, (cells,)."""
    codes = [grid.group]
    for dimension in dimensions:
        labels = assignment.sets.get(dimension)
        if labels is not None and dimension is not without:
            codes.append(labels.codes)
    return combined(codes, grid.size)


def _by_course(series: Codes, occasion: LabelSet, grid: Grid) -> Iterator[Scored]:
    """Yield what the course of each series says: totals that run never fall, pickings do."""
    order = np.lexsort((_rank(occasion), series))
    ordered = series[order]
    values = grid.numbers[order]
    follows = (ordered[1:] == ordered[:-1]) & ~np.isnan(values[1:]) & ~np.isnan(values[:-1])
    steps = (values[1:] - values[:-1])[follows]
    rising_series = len(np.unique(ordered[1:][follows]))
    if len(steps) < 4:
        return
    falling = (steps < 0).mean()
    if falling == 0 and rising_series >= _SERIES:
        yield Occasions.RUNNING, 5.0
        yield Occasions.GROWTH, 2.0
        yield Occasions.LAST, 1.5
        yield Occasions.PICKINGS, -1.0
    elif falling > 0.1:
        yield Occasions.RUNNING, -6.0
        yield Occasions.GROWTH, -3.0
        yield Occasions.LAST, -2.0


def _rank(occasion: LabelSet) -> Codes:
    """Return the place in time of each cell's occasion: as labels sort; of words, as they appear."""
    levels = list(occasion.levels)
    if all(level.isdecimal() for level in levels):
        ordered = sorted(levels, key=int)
    elif all(_begins_with_year(level) for level in levels):
        ordered = sorted(levels)
    else:
        ordered = levels
    ranks = np.array([ordered.index(level) for level in levels], dtype=np.intp)
    return np.where(occasion.codes >= 0, ranks[occasion.codes], -1)


def _begins_with_year(level: str) -> bool:
    return level[:4].isdecimal() and level[4:5] == "-"


def _by_words(occasion: LabelSet) -> Iterator[Scored]:
    """Yield what the header and the labels of the occasions say."""
    text = " ".join([occasion.labels.header, *occasion.levels[:3]])
    for meaning, word in _WORDS:
        if words.says(text, word):
            yield meaning, _WORD
