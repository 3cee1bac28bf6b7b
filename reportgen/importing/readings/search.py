"""The assignments of label sets to dimensions that keep the constraints."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from reportgen.importing.clues.grid import (
    Codes,
    Grid,
    LabelSet,
    combined,
    is_function,
    share_astray,
)
from reportgen.importing.model.claims import Claim
from reportgen.importing.model.layouts import Covers, Dimension
from reportgen.importing.readings.factors import crossing_labels

_MOST_SETS = 7  # label sets that are tried for one dimension
_WORST = -3.5  # score of a label set that is still tried for a dimension
_MOST_TRIED = 4000
_ROWS_COUNTED = -1.5
_MOST_BLANK = 0.8  # of the values may lack a treatment's label
_FEW_DUPLICATES = 0.05
# cells of a unit under another treatment are slips, more of them are trays numbered anew
_FEW_ASTRAY = 0.1
_MOST_TREATMENTS = 12
_MOST_NAMED_TREATMENTS = 24  # where a header or a key says that they are treatments
_NAMED = 3.0  # the score from which a header or key speaks

D = Dimension
_OF_PLANTS = (D.TREATMENT, D.UNIT, D.PLANT, D.OCCASION, D.BLOCK)
_DIMENSIONS: Mapping[str, tuple[Dimension, ...]] = {
    "Plants": _OF_PLANTS,
    "Growth": _OF_PLANTS,
    "Harvests": (*_OF_PLANTS, D.GRADE),
    "Solution": (D.TREATMENT, D.UNIT, D.OCCASION, D.EVENT),
    "Meter": (D.TREATMENT, D.OCCASION, D.METER),
    "Light": (D.TREATMENT, D.UNIT, D.OCCASION),
    "Climate": (D.TREATMENT, D.UNIT, D.OCCASION),
}
_WITHOUT_UNIT = -1.0
_PLANTS_ALONE = -1.0  # values again and again of what has no tray are rather of trays
_WITHOUT_TREATMENT: Mapping[str, float] = {"Plants": -5.0, "Harvests": -5.0, "Growth": -5.0}
CROP_SHEETS = frozenset(_WITHOUT_TREATMENT)


@dataclass(frozen=True)
class Assignment:
    """Label sets by dimension, with their score.

    `unit_within` are the dimensions that units restart under. `parted_by` are labels that tell
    equal coordinates apart: a second factor or crop.
    """

    sets: Mapping[Dimension, LabelSet]
    score: float
    unit_within: tuple[Dimension, ...] = ()
    counts_units: bool = False  # rows are counted as units
    parted_by: LabelSet | None = None


@dataclass
class Search:
    """The label sets of a table with their scores by dimension, and results of combinations.

    `claims` are by identity of the label set.
    """

    grid: Grid
    sets: Sequence[LabelSet]
    scores: Mapping[Dimension, Sequence[float]]
    gives: str
    covers: Covers
    claims: Mapping[int, Sequence[Claim]] = field(default_factory=dict)
    duplicates: dict[frozenset[int], int] = field(default_factory=dict)
    functions: dict[tuple[int, int], bool] = field(default_factory=dict)

    def share_of_duplicates(self, chosen: Sequence[LabelSet]) -> float:
        """Return the share of cells whose coordinates another cell of the same quantity has."""
        key = frozenset(id(each) for each in chosen)
        if key not in self.duplicates:
            codes = combined([self.grid.group, *[each.codes for each in chosen]], self.grid.size)
            distinct = int(codes.max(initial=-1)) + 1
            self.duplicates[key] = self.grid.size - distinct
        return self.duplicates[key] / max(self.grid.size, 1)

    def depends(self, of: LabelSet, to: LabelSet) -> bool:
        """Tell whether each label of one set goes with one label of the other."""
        key = (id(of), id(to))
        if key not in self.functions:
            self.functions[key] = is_function(of.codes, to.codes)
        return self.functions[key]


def assignments(search: Search, within: float, most: int) -> list[Assignment]:
    """Return the assignments within some points of the best, best first."""
    result: list[Assignment] = []
    for number, (chosen, score) in enumerate(_ordered(search)):
        if number >= _MOST_TRIED or len(result) >= most:
            break
        if result and score < result[0].score - within - 3.0:
            break
        assignment = _checked(search, chosen, score)
        if assignment is not None:
            result.append(assignment)
            result.sort(key=lambda each: -each.score)
    return [each for each in result if each.score >= result[0].score - within]


Chosen = dict[Dimension, LabelSet]


def _ordered(search: Search) -> Iterator[tuple[Chosen, float]]:
    """Yield combinations of label sets with their scores, best first."""
    dimensions = _DIMENSIONS.get(search.gives, _OF_PLANTS)
    options: list[list[int]] = []
    total = np.zeros((1,) * len(dimensions))
    for axis, dimension in enumerate(dimensions):
        indexes, weights = _options(search, dimension)
        options.append(indexes)
        shape = [1] * len(dimensions)
        shape[axis] = len(indexes)
        total = total + np.array(weights).reshape(shape)
    flat = total.ravel()
    for position in np.argsort(-flat, kind="stable"):
        choice = np.unravel_index(position, total.shape)
        chosen: Chosen = {}
        for dimension, indexes, index in zip(dimensions, options, choice, strict=True):
            number = indexes[int(index)]
            if number >= 0:
                chosen[dimension] = search.sets[number]
        if _are_apart(chosen):
            yield chosen, float(flat[position])


def _options(search: Search, dimension: Dimension) -> tuple[list[int], list[float]]:
    """Return the label sets that may carry a dimension (-1: none) and their scores."""
    indexes = [-1]
    weights = [_score_without(search, dimension)]
    if dimension is Dimension.PLANT and search.covers is not Covers.PLANT:
        return indexes, weights
    scores = search.scores[dimension]
    order = sorted(range(len(scores)), key=lambda index: -scores[index])
    for index in order[:_MOST_SETS]:
        if _may_carry(search, dimension, scores[index], len(search.sets[index].levels)):
            indexes.append(index)
            weights.append(scores[index])
    if dimension is Dimension.EVENT and max(weights) >= _NAMED:  # words for events are nothing else
        return indexes[1:], weights[1:]
    return indexes, weights


def _score_without(search: Search, dimension: Dimension) -> float:
    """Return the score of a reading without a dimension."""
    if dimension is Dimension.TREATMENT:
        return _WITHOUT_TREATMENT.get(search.gives, -0.5)
    if dimension is Dimension.UNIT and search.gives in CROP_SHEETS:
        return _WITHOUT_UNIT
    return 0.0


def _may_carry(search: Search, dimension: Dimension, score: float, levels: int) -> bool:
    """Tell whether a label set is tried for a dimension."""
    if search.gives == "Light" and dimension is Dimension.UNIT and score < _NAMED:
        return False
    if dimension is Dimension.TREATMENT and levels > _MOST_TREATMENTS:
        return score >= 0 and levels <= _MOST_NAMED_TREATMENTS
    return score >= _WORST


def _are_apart(chosen: Chosen) -> bool:
    """Tell whether no carrier stands for two dimensions.

    Parts of it may, and what a key says beside the code itself.
    """
    used: dict[tuple[str, str, bool], set[int]] = {}
    for labels in chosen.values():
        for carrier in labels.source.carriers:
            key = (carrier.kind.value, carrier.name, labels.source.lookup is not None)
            parts = used.setdefault(key, set())
            if carrier.part in parts or 0 in parts or (parts and not carrier.part):
                return False
            parts.add(carrier.part)
    return True


def _checked(search: Search, chosen: Chosen, score: float) -> Assignment | None:
    """Return an assignment with what relations add to its score.

    None where a constraint is broken.
    """
    if search.gives not in CROP_SHEETS:
        duplicates = search.share_of_duplicates(list(chosen.values()))
        score -= min(2.0, 4 * duplicates)
        return Assignment(chosen, score, unit_within=_restarts(search, chosen))
    if not _may_treat(search, chosen):
        return None
    unit = chosen.get(Dimension.UNIT)
    score += _nesting(search, chosen.get(Dimension.TREATMENT), unit)
    if Dimension.PLANT in chosen:
        score += _order(search, chosen, unit, chosen[Dimension.PLANT])
    rows = _unlabelled_rows(search, chosen, None)
    if rows is not None:
        within = _restarts(search, chosen)
        return Assignment(chosen, score + rows.score, within, rows.are_units)
    for labels in crossing_labels(chosen, search.sets):
        rows = _unlabelled_rows(search, chosen, labels)
        if rows is not None:
            within = _restarts(search, chosen)
            return Assignment(chosen, score + rows.score, within, rows.are_units, labels)
    return None


def _may_treat(search: Search, chosen: Chosen) -> bool:
    """Tell whether the labels of the treatment, if any, are written often and cross the blocks."""
    treatment = chosen.get(Dimension.TREATMENT)
    if treatment is None:
        return True
    return treatment.blank_share <= _MOST_BLANK and _crosses_block(search, chosen)


def _crosses_block(search: Search, chosen: Chosen) -> bool:
    """Tell whether blocks, where there are any, hold several treatments each."""
    block = chosen.get(Dimension.BLOCK)
    if block is None:
        return True
    treatment = chosen[Dimension.TREATMENT]
    return not search.depends(block, treatment) and not search.depends(treatment, block)


def _nesting(search: Search, treatment: LabelSet | None, unit: LabelSet | None) -> float:
    """Return the score of units nested in treatments; less than 0 if units are treatments."""
    if unit is None or treatment is None:
        return 0.0
    if search.depends(unit, treatment) and len(unit.levels) > len(treatment.levels):
        return 1.5
    if search.depends(treatment, unit):
        return -2.0
    return 0.0


def _order(search: Search, chosen: Chosen, unit: LabelSet | None, plant: LabelSet) -> float:
    """Return the score of the order of plants.

    They change faster than units, and a unit has several.
    """
    if unit is None:
        if Dimension.OCCASION in chosen:
            return _PLANTS_ALONE
        return 0.0
    if _changes(unit.codes) <= _changes(plant.codes):
        score = 0.75
    else:
        score = -0.75
    above = []
    for dimension in (Dimension.TREATMENT, Dimension.BLOCK):
        if dimension in chosen:
            above.append(chosen[dimension].codes)
    units = combined([*above, unit.codes], search.grid.size)
    if is_function(units, plant.codes):
        score -= 2.0
    return score


@dataclass(frozen=True)
class _Rows:
    """What it costs that rows lack labels, and whether they are counted as units."""

    score: float
    are_units: bool = False


def _unlabelled_rows(search: Search, chosen: Chosen, parted_by: LabelSet | None) -> _Rows | None:
    """Return how rows without labels count; None where coordinates repeat."""
    sets = list(chosen.values())
    if parted_by is not None:
        sets.append(parted_by)
    duplicates = search.share_of_duplicates(sets)
    if search.covers in (Covers.TREATMENT, Covers.TRIAL):
        return _Rows(-duplicates)
    is_of_plants = search.covers is Covers.PLANT
    if is_of_plants:
        dimension = Dimension.PLANT
    else:
        dimension = Dimension.UNIT
    if dimension in chosen:
        return _labelled_rows(duplicates)
    if not duplicates:
        return _Rows(0.0)
    if is_of_plants:
        return _Rows(_ROWS_COUNTED)
    if Dimension.OCCASION in chosen:
        return None
    return _Rows(_ROWS_COUNTED, are_units=True)


def _labelled_rows(duplicates: float) -> _Rows | None:
    """Return how rows with labels of their own count, by the share of repeated coordinates."""
    if duplicates > _FEW_DUPLICATES:
        return None
    if duplicates:
        return _Rows(-0.5 - 20 * duplicates)
    return _Rows(0.5)


def _restarts(search: Search, chosen: Chosen) -> tuple[Dimension, ...]:
    """Return the dimensions under which units are numbered anew."""
    unit = chosen.get(Dimension.UNIT)
    if unit is None:
        return ()
    restarts = []
    for dimension in (Dimension.TREATMENT, Dimension.BLOCK):
        above = chosen.get(dimension)
        if above is not None and share_astray(unit.codes, above.codes) > _FEW_ASTRAY:
            restarts.append(dimension)
    return tuple(restarts)


def _changes(codes: Codes) -> int:
    """Return how often a label changes from one cell to the next."""
    return int((codes[1:] != codes[:-1]).sum())
