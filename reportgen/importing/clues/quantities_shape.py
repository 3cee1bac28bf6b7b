"""What the unit of a column and the shape of its numbers say."""

from typing import Final

import numpy as np

from reportgen.importing.clues.quantities_model import Measure, Points, Profile
from reportgen.importing.clues.quantities_units import measured_in
from reportgen.importing.clues.quantities_words import is_numbering
from reportgen.importing.words import tokens

UNIT_WEIGHTS: Final = {
    Measure.MASS: (Measure.MASS, 4.5),
    Measure.YIELD_PER_AREA: (Measure.YIELD_PER_AREA, 9.0),
    Measure.LENGTH: (Measure.LENGTH, 4.0),
    Measure.VOLUME: (Measure.VOLUME, 5.0),
    Measure.ENERGY: (Measure.ENERGY, 6.0),
    Measure.TEMPERATURE: (Measure.TEMPERATURE, 5.0),
    Measure.EC: (Measure.EC, 5.0),
    Measure.PPFD: (Measure.PPFD, 6.0),
    Measure.LUX: (Measure.LUX, 8.0),
    Measure.CO2: (Measure.FURTHER, 1.0),
    Measure.SHARE: (Measure.FURTHER, 3.0),
    Measure.TIME: (Measure.LABEL, 3.0),
    Measure.AREA: (Measure.AREA, 3.0),
}
LOGGED_WORDS: Final = frozenset(("water", "energy", "temperature", "humidity", "co2", "ppfd"))
FEW_LEVELS: Final = 12
FEWEST: Final = 4
FEW_SET: Final = 4  # levels of what a trial varies
MANY: Final = 6  # as many numbers that nearly all differ are no labels


def has_a_unit(profile: Profile) -> Points:
    """A unit of measure tells what is measured."""
    if profile.unit_of in UNIT_WEIGHTS:
        measure, weight = UNIT_WEIGHTS[profile.unit_of]
        if not profile.has_near_unit:
            weight /= 2
        yield measure, weight


def is_headed_by_a_unit(profile: Profile) -> Points:
    """A unit that stands alone as the header, such as `kg`, heads values."""
    if profile.unit_of in UNIT_WEIGHTS and measured_in(profile.header)[1] is profile.unit_of:
        measure = UNIT_WEIGHTS[profile.unit_of][0]
        yield measure, 3.0


def has_decimals(profile: Profile) -> Points:
    """Numbers with decimals are measured, not given."""
    if profile.is_whole or len(profile.values) == 0:
        return
    distinct = len(np.unique(profile.values))
    if distinct > min(FEW_LEVELS, len(profile.values) / 2):
        yield Measure.LABEL, -4.0
    yield Measure.UNKNOWN, 2.0
    yield Measure.COUNT, -6.0
    yield Measure.PIECES, -6.0
    yield Measure.LEAVES, -3.0


def is_measured(profile: Profile) -> bool:
    """Tell whether a unit at the column, or a series that it is one of, shows that its numbers are
    no names.
    """
    of = profile.unit_of
    has_unit = profile.has_near_unit and of in (
        Measure.MASS,
        Measure.LENGTH,
        Measure.VOLUME,
        Measure.ENERGY,
    )
    return has_unit or profile.is_dated or profile.is_numbered


def has_few_levels(profile: Profile) -> bool:
    """Tell whether a few numbers come again and again, each at least twice."""
    if len(profile.values) < FEWEST:
        return False
    levels, counts = np.unique(profile.values, return_counts=True)
    return len(levels) <= min(FEW_LEVELS, len(profile.values) / 2) and bool(counts.min() > 1)


def repeats_few_levels(profile: Profile) -> Points:
    """A few whole numbers again and again are labels or doses."""
    if not profile.is_whole or not has_few_levels(profile):
        return
    yield Measure.LABEL, 2.5
    if profile.unit_of in (Measure.CO2, Measure.SHARE, Measure.TIME):
        yield Measure.LABEL, 3.0


def is_headed_n(profile: Profile) -> Points:
    """A few whole numbers under `n` alone count what a total or mean is of."""
    if counts_under_n(profile):
        yield Measure.COUNT, 9.0


def counts_under_n(profile: Profile) -> bool:
    """Tell whether a few whole numbers stand under `n` alone, and do not number the rows."""
    levels = np.unique(profile.values)
    repeat = 2 * len(levels) <= len(profile.values)
    return (
        tokens(profile.header) == ("n",)
        and profile.is_whole
        and repeat
        and not is_numbering(profile)
    )


def is_balanced(profile: Profile) -> Points:
    """A few numbers with a unit, each in equally many rows, were set and not measured: `spacing
    (cm)` 40 and 75.
    """
    if not profile.has_near_unit:
        return
    levels, counts = np.unique(profile.values, return_counts=True)
    is_set = 1 < len(levels) <= FEW_SET and counts.min() > 1 and (counts == counts[0]).all()
    if is_set and len(profile.values) >= MANY and not (profile.is_dated or profile.is_numbered):
        yield Measure.LABEL, 4.0


def counts_up(profile: Profile) -> Points:
    """Numbers that count up name rows."""
    if is_numbering(profile) and not is_measured(profile) and not profile.words & LOGGED_WORDS:
        yield Measure.LABEL, 5.0


def numbers_all(profile: Profile) -> Points:
    """Numbers that are 1 to k without a gap, most of them several times, name things."""
    levels, counts = np.unique(profile.values, return_counts=True)
    if len(levels) < 2 or is_measured(profile):
        return
    is_without_gap = levels[0] == 1 and levels[-1] == len(levels) and profile.is_whole
    if is_without_gap and 2 * (counts > 1).sum() > len(levels):
        yield Measure.LABEL, 3.0


def names_things_in_things(profile: Profile) -> Points:
    """Ids such as 1.1 to 1.10 are labels, though they look like numbers."""
    is_weight = profile.unit_of is not None or bool(
        profile.said & {"weight", "yield", "fresh", "dry"}
    )
    if profile.is_nested_id and not is_weight:
        yield Measure.LABEL, 10.0


def is_constant(profile: Profile) -> Points:
    """One number on all rows is no measurement."""
    values = profile.values
    if (
        len(values) >= MANY
        and (values == values[0]).all()
        and "plants_counted" not in profile.words
    ):
        yield Measure.LABEL, 3.0


def varies(profile: Profile) -> Points:
    """Whole numbers that nearly all differ, in no order, are measured or counted."""
    values = profile.values
    if len(values) < 2 or is_numbering(profile):
        return
    if len(np.unique(values)) > len(values) / 2:
        yield Measure.UNKNOWN, 2.5


def lies_beyond(profile: Profile) -> Points:
    """Numbers outside of what a quantity can be speak against it."""
    if len(profile.values) == 0:
        return
    highest = profile.values.max()
    if highest > 14:
        yield Measure.PH, -8.0
    if highest > 120:
        yield Measure.HUMIDITY, -8.0
    if highest < 200:
        yield Measure.CO2, -3.0


def is_one_of_a_series(profile: Profile) -> Points:
    """A column below a date, or one of several `Plant 1`, `Plant 2`, holds what was measured there."""
    if profile.is_dated or profile.is_numbered:
        yield Measure.UNKNOWN, 3.0
        yield Measure.LABEL, -6.0
