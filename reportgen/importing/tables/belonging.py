"""Sheets that repeat another one or belong to another trial: earlier years, examples, copies."""

import re
from collections import Counter
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind
from reportgen.importing.words import says

YEAR: Final = re.compile(r"(?<!\d)(?:19|20)\d\d(?!\d)")
COPY: Final = re.compile(r"\s*\(\d+\)$")
NUMBER: Final = re.compile(r"\d+")
FEWEST_LEVELS: Final = 2  # labels that two sheets share
FEWEST_ROWS: Final = 4  # rows that are no copy by chance
MOST_LEVELS: Final = 12  # of a column that may tell treatments
ASIDE: Final = ("last_year", "example")


def is_aside(name: str) -> bool:
    """Tell whether a sheet is named like an example or what is over: `Old`, `Template`."""
    return says(name, *ASIDE)


def is_of_earlier_year(name: str, other: str) -> bool:
    """Tell whether two names differ in the year alone, the first one's being the earlier: `Log
    2025`, `Log 2026`.
    """
    year, later = YEAR.search(name), YEAR.search(other)
    if year is None or later is None or YEAR.sub("", name) != YEAR.sub("", other):
        return False
    return year[0] < later[0]


def are_of_two_trials(name: str, other: str) -> bool:
    """Tell whether two names count trials, or one is the other's copy: `Trial 1`, `Trial 2`; `Log`,
    `Log (2)`.
    """
    if COPY.sub("", name) == COPY.sub("", other):
        return name != other
    is_counted = NUMBER.sub("", name) == NUMBER.sub("", other) and len(NUMBER.findall(name)) == 1
    return is_counted and says(name, "experiment")


def may_be_apart(name: str, other: str) -> bool:
    """Tell whether the names of two sheets say that one of them may be no part of the trial."""
    if is_aside(name) != is_aside(other):
        return True
    is_earlier = is_of_earlier_year(name, other) or is_of_earlier_year(other, name)
    return is_earlier or are_of_two_trials(name, other)


def share_labels(
    kind: NDArray[np.uint8], text: NDArray[np.object_], other: NDArray[np.object_]
) -> bool:
    """Tell whether a column of two blocks names the same few things, such as treatments.

    kind, text: (rows, columns) of the first block; other: (rows, columns) of the second, in the
    same order.
    """
    for column in range(min(text.shape[1], other.shape[1])):
        levels = set(text[kind[:, column] == Kind.TEXT, column].tolist())
        shared = levels & set(other[:, column].tolist())
        if FEWEST_LEVELS <= len(levels) <= MOST_LEVELS and len(shared) >= FEWEST_LEVELS:
            return True
    return False


def are_copies(text: NDArray[np.object_], other: NDArray[np.object_]) -> bool:
    """Tell whether two blocks hold the same rows, in any order."""
    if text.shape != other.shape or len(text) < FEWEST_ROWS:
        return False
    return Counter(map(tuple, text.tolist())) == Counter(map(tuple, other.tolist()))
