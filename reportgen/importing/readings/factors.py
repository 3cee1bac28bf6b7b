"""A second factor: labels that cross the treatment, such as cultivar or soil, and what they may be."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from reportgen.importing import words
from reportgen.importing.clues.dimension_words import named_dimensions, names_factor, names_nobody
from reportgen.importing.clues.dimensions_shape import is_date
from reportgen.importing.clues.grid import LabelSet, is_function
from reportgen.importing.model.layouts import CarrierKind, Dimension

_MOST_LEVELS = 8
_MOST_SET = 4  # numbers that are levels of a factor
_MOST_ALONE = 4  # levels that may be the only ones of the trial


@dataclass(frozen=True)
class Role:
    """What a label set that crosses the treatment is.

    `kind` is "factor", "only", "block", "ignored" or "place". A place is the row of a grid whose
    columns are plants: letters under no header beside the numbers 1, 2, 3.
    """

    labels: LabelSet
    kind: str
    score: float
    level: str = ""


@dataclass(frozen=True)
class _Scores:
    """How likely labels are a factor, a block, or no part of the trial."""

    factor: float
    block: float
    ignored: float


_OF_PLACES = _Scores(factor=-2.0, block=0.0, ignored=-0.5)


_OF_CROPS = _Scores(factor=-2.0, block=-1.5, ignored=-3.0)


_OF_OTHERS = _Scores(factor=0.0, block=-1.5, ignored=-3.0)


def crossing_labels(
    chosen: Mapping[Dimension, LabelSet], sets: Sequence[LabelSet]
) -> list[LabelSet]:
    """Return the unused label sets that cross the treatment, those named as factors first."""
    treatment = chosen.get(Dimension.TREATMENT)
    if treatment is None:
        return []
    used = _carrier_names(chosen.values())
    crossing = []
    for labels in sets:
        if _is_used(labels, used) or not _may_cross(labels) or _is_nested(labels, treatment):
            continue
        if not any(_says_the_same(labels, other) for other in chosen.values()):
            crossing.append(labels)
    crossing.sort(key=lambda labels: not names_factor(labels.labels.header))
    return crossing


def _is_used(labels: LabelSet, names: set[str]) -> bool:
    carrier = labels.labels.carrier
    return carrier.kind is CarrierKind.COLUMN and carrier.name in names


def _carrier_names(sets: Iterable[LabelSet]) -> set[str]:
    names: set[str] = set()
    for labels in sets:
        names.update(carrier.name for carrier in labels.source.carriers)
    return names


def _is_nested(labels: LabelSet, treatment: LabelSet) -> bool:
    """Tell whether labels are nested in the treatment, or it in them: then they do not cross."""
    return is_function(treatment.codes, labels.codes) or is_function(labels.codes, treatment.codes)


def _says_the_same(labels: LabelSet, other: LabelSet) -> bool:
    """Tell whether each label of one set goes with one of the other."""
    return is_function(labels.codes, other.codes) and is_function(other.codes, labels.codes)


def _may_cross(labels: LabelSet) -> bool:
    """Tell whether labels may be levels of a factor.

    They are few, whole, written for nearly every value, and neither dates nor remarks.
    """
    if not _is_whole_column(labels) or names_nobody(labels.labels.header):
        return False
    if not 2 <= len(labels.levels) <= _MOST_LEVELS or labels.blank_share > 0.1:
        return False
    if labels.is_number and not _are_levels(labels):
        return False
    return not any(is_date(level) for level in labels.levels)


def _are_levels(labels: LabelSet) -> bool:
    """Tell whether numbers are levels of a factor: by their header, or because they were set."""
    return names_factor(labels.labels.header) or _are_set(labels)


def _is_whole_column(labels: LabelSet) -> bool:
    """Tell whether labels stand in a column as they are: no part of one, and no other names."""
    carrier = labels.labels.carrier
    is_column = carrier.kind is CarrierKind.COLUMN and not carrier.part
    return is_column and labels.source.lookup is None


def _are_set(labels: LabelSet) -> bool:
    """Tell whether a few numbers are levels that were set, such as grams of seed.

    They stand equally often and do not count on by one.
    """
    numbers = sorted(int(level) for level in labels.levels)
    cells = np.bincount(labels.codes[labels.codes >= 0], minlength=len(numbers))
    is_count = numbers == list(range(numbers[0], numbers[0] + len(numbers)))
    if is_count or len(numbers) > _MOST_SET:
        return False
    return bool(cells[0] > 1 and (cells == cells[0]).all())


def roles(labels: LabelSet, has_block: bool) -> Iterator[Role]:
    """Yield what a crossing label set may be, each with its score."""
    header = labels.labels.header
    is_crop = words.says(header, "crop")
    scores = _OF_OTHERS
    if _is_place(header):
        scores = _OF_PLACES
    elif is_crop:
        scores = _OF_CROPS
    if not header:
        yield Role(labels, "place", 0.0)
    yield Role(labels, "factor", scores.factor)
    if header and not has_block and not is_crop:
        yield Role(labels, "block", scores.block)
    if header:
        yield from _single_levels(labels, is_crop=is_crop, is_place=scores is _OF_PLACES)
    yield Role(labels, "ignored", scores.ignored)


def _is_place(header: str) -> bool:
    """Tell whether a header is none, or names trays or blocks."""
    named = named_dimensions(header)
    return not header or Dimension.UNIT in named or Dimension.BLOCK in named


def _single_levels(labels: LabelSet, *, is_crop: bool, is_place: bool) -> Iterator[Role]:
    """Yield each of the most frequent levels as the only one of the trial."""
    base = -1.0
    if is_crop:
        base = 0.0
    if is_place:
        base -= 2.0
    cells = np.bincount(labels.codes[labels.codes >= 0], minlength=len(labels.levels))
    for index in np.argsort(-cells, kind="stable")[:_MOST_ALONE]:
        score = base
        if cells[index] < cells.max():
            score -= 0.5
        yield Role(labels, "only", score, labels.levels[int(index)])
