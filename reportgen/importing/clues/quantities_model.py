"""What clues about quantities look at: the numbers of one column and the words around them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray


class Measure(StrEnum):
    """What the numbers of a column are, before it is said of what part or state of a plant."""

    LABEL = "label"
    UNKNOWN = "unknown"
    MASS = "mass"
    YIELD_PER_AREA = "yield per area"
    LENGTH = "length"
    LEAVES = "leaves"
    COUNT = "plants counted"
    PIECES = "pieces"
    FURTHER = "further"
    DOSE = "dose"
    PRICE = "price"
    AREA = "area"
    TIME = "time"
    SHARE = "share"
    PLACE = "place"
    VOLUME = "volume"
    ENERGY = "energy"
    EC = "EC"
    PH = "pH"
    TEMPERATURE = "temperature"
    HUMIDITY = "humidity"
    CO2 = "CO2"
    PPFD = "PPFD"
    LUX = "lux"


@dataclass(frozen=True)
class Profile:
    """A column of numbers.

    `numbers` (rows,) are nan where there is none. `words` are the meanings of its header, `above`
    those of the header levels over it and of its unit row, `around` those of titles, sections and
    sheet names. `unit` and `unit_of` are the unit of measure and what it measures; `unit_around` is
    one that the text around names. `plus` are columns, with their units, of which its numbers are
    the sum: ounces beside pounds.
    """

    index: int
    name: str
    header: str
    words: frozenset[str]
    above: frozenset[str]
    around: frozenset[str]
    unit: str
    unit_of: Measure | None
    numbers: NDArray[np.float64]
    is_dated: bool = False
    is_numbered: bool = False
    is_nested_id: bool = False
    has_near_unit: bool = True
    plus: tuple[tuple[str, str], ...] = ()

    @property
    def values(self) -> NDArray[np.float64]:
        """Return its numbers alone."""
        numbers: NDArray[np.float64] = self.numbers[~np.isnan(self.numbers)]
        return numbers

    @property
    def said(self) -> frozenset[str]:
        """Return the meanings of its headers on all levels."""
        return self.words | self.above

    @property
    def is_whole(self) -> bool:
        """Tell whether all its numbers are whole."""
        return bool((self.values == np.floor(self.values)).all())


Points = Iterator[tuple[Measure, float]]  # for a measure; against it below zero
QuantityClue = Callable[[Profile], Points]
