"""A second factor: labels that cross the treatment, such as cultivar or soil, and what they may be."""

from collections.abc import Iterator, Mapping, Sequence
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
    """What a label set that crosses the treatment is: `kind` "factor", "only", "block", "ignored",
    or "place".

    A place is the row of a grid whose columns are plants: letters under no header beside the
    numbers 1, 2, 3.
    """

    labels: LabelSet
    kind: str
    score: float
    level: str = ""


def crossing_labels(
    chosen: Mapping[Dimension, LabelSet], sets: Sequence[LabelSet]
) -> list[LabelSet]:
    """Return the unused label sets whose labels cross the treatment, those that words name a factor
    first.
    """
    treatment = chosen.get(Dimension.TREATMENT)
    if treatment is None:
        return []
    used = {carrier.name for labels in chosen.values() for carrier in labels.source.carriers}
    crossing = []
    for labels in sets:
        carrier = labels.labels.carrier
        if carrier.kind is CarrierKind.COLUMN and carrier.name in used:
            continue
        if not _may_cross(labels) or _is_nested(labels, treatment):
            continue
        if not any(_says_the_same(labels, each) for each in chosen.values()):
            crossing.append(labels)
    crossing.sort(key=lambda labels: not names_factor(labels.labels.header))
    return crossing


def _is_nested(labels: LabelSet, treatment: LabelSet) -> bool:
    """Tell whether labels go with the treatment or the treatment with them, so that they do not
    cross.
    """
    return is_function(treatment.codes, labels.codes) or is_function(labels.codes, treatment.codes)


def _says_the_same(labels: LabelSet, other: LabelSet) -> bool:
    """Tell whether each label of one set goes with one of the other."""
    return is_function(labels.codes, other.codes) and is_function(other.codes, labels.codes)


def _may_cross(labels: LabelSet) -> bool:
    """Tell whether labels are few, whole, written for nearly every value, and neither dates nor
    remarks.
    """
    carrier = labels.labels.carrier
    if carrier.kind is not CarrierKind.COLUMN or carrier.part or labels.source.lookup is not None:
        return False
    if not 2 <= len(labels.levels) <= _MOST_LEVELS or labels.blank_share > 0.1:
        return False
    if labels.is_number and not names_factor(labels.labels.header) and not _are_set(labels):
        return False
    if names_nobody(labels.labels.header):
        return False
    return not any(is_date(level) for level in labels.levels)


def _are_set(labels: LabelSet) -> bool:
    """Tell whether a few numbers stand equally often and do not count: levels that were set, such
    as grams of seed.
    """
    numbers = sorted(int(level) for level in labels.levels)
    cells = np.bincount(labels.codes[labels.codes >= 0], minlength=len(numbers))
    counts = numbers == list(range(numbers[0], numbers[0] + len(numbers)))
    return (
        len(numbers) <= _MOST_SET
        and not counts
        and cells[0] > 1
        and bool((cells == cells[0]).all())
    )


def roles(labels: LabelSet, has_block: bool) -> Iterator[Role]:
    """Yield what a crossing label set may be, each with its score."""
    header = labels.labels.header
    if not header:
        yield Role(labels, "place", 0.0)
    named = named_dimensions(header)
    is_place = not header or Dimension.UNIT in named or Dimension.BLOCK in named
    is_crop = words.says(header, "crop")
    yield Role(labels, "factor", -2.0 if is_place or is_crop else 0.0)
    if header and not has_block and not is_crop:
        yield Role(labels, "block", 0.0 if is_place else -1.5)
    cells = np.bincount(labels.codes[labels.codes >= 0], minlength=len(labels.levels))
    for index in np.argsort(-cells, kind="stable")[: _MOST_ALONE if header else 0]:
        if cells[index] < cells.max():
            rank = -0.5
        else:
            rank = 0.0
        score = rank + (0.0 if is_crop else -1.0)
        yield Role(labels, "only", score - (2.0 if is_place else 0.0), labels.levels[int(index)])
    yield Role(labels, "ignored", -0.5 if is_place else -3.0)
