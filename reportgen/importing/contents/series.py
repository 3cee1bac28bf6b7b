"""Which columns of one measure lie over one another: plants, pickings, trays or treatments side by
side.
"""

import re
from collections.abc import Sequence
from typing import Final

import numpy as np

from reportgen.importing.clues.quantities_model import Profile
from reportgen.importing.clues.quantities_units import unit_of_header
from reportgen.importing.words import meanings, tokens

QUANTITY_WORDS: Final = frozenset((
    "weight", "fresh", "dry", "root", "shoot", "gross", "tare", "net", "yield", "height", "leaves", "start_weight",
    "water", "added", "drained", "left", "energy", "reading", "meter", "ec", "ph", "temperature", "humidity", "co2",
    "ppfd", "lux", "part_of_plant", "leaf_area", "further", "per_plant", "per_unit", "dose", "price", "area", "pieces",
    "plants_counted", "solution", "air",
))  # fmt: skip
ALIKE: Final = 8.0  # medians of columns of one kind differ by less than this factor
NUMBERED: Final = re.compile(r"^(.*?)\s*(\d+|[a-z])$")


def is_series(profiles: Sequence[Profile]) -> bool:
    """Tell whether the headers of columns are labels of one kind: dates, numbers, `Plant 1`, or
    equal ones.
    """
    if len(profiles) < 2:
        return False
    if all(profile.is_dated for profile in profiles):
        return True
    labels = [label_of(profile) for profile in profiles]
    return len(set(labels)) < len(labels) or _has_one_pattern(labels)


def names_no_quantity(profiles: Sequence[Profile]) -> bool:
    """Tell whether no header names a quantity, so that headers are labels."""
    return not any(profile.words & QUANTITY_WORDS for profile in profiles)


def are_alike(profiles: Sequence[Profile]) -> bool:
    """Tell whether the numbers of columns are of one size."""
    medians = [
        float(np.median(np.abs(profile.values))) for profile in profiles if len(profile.values)
    ]
    above_zero = [median for median in medians if median > 0]
    return bool(above_zero) and max(above_zero) <= ALIKE * min(above_zero)


def label_of(profile: Profile) -> str:
    """Return a header without the words that name a quantity and without its unit: `1` of `Plant
    weight 1 (g)`.
    """
    words = tokens(profile.header)
    unit = tokens(unit_of_header(profile.header)[0])
    kept = [word for word in words if word not in unit and not meanings(word) & QUANTITY_WORDS]
    return " ".join(kept)


def _has_one_pattern(labels: Sequence[str]) -> bool:
    """Tell whether labels are one text, each with a number or letter behind, or before."""
    if not all(labels):
        return False
    before: set[str | None] = set()
    behind = set()
    numbers = set()
    for label in labels:
        match = NUMBERED.match(label)
        before.add(match and match[1])
        first, *others = label.split()
        numbers.add(first)
        behind.add(tuple(others))
    if None not in before and len(before) == 1:
        return True
    return len(behind) == 1 and all(number.isdecimal() for number in numbers)
