"""All clues about quantities, in one list: a new habit is one more line."""

from collections.abc import Sequence
from typing import Final

from reportgen.importing.clues import quantities_shape as shape
from reportgen.importing.clues import quantities_words as words
from reportgen.importing.clues.quantities_model import Measure, Profile, QuantityClue
from reportgen.importing.clues.quantities_packing import weighs_a_container
from reportgen.importing.clues.quantities_relations import two_units

CLUES: Final[tuple[QuantityClue, ...]] = (
    words.named_by_header,
    words.named_around,
    words.names_a_label,
    words.counts_what_was_harvested,
    shape.has_a_unit,
    shape.is_headed_by_a_unit,
    shape.has_decimals,
    shape.repeats_few_levels,
    shape.is_headed_n,
    shape.is_balanced,
    shape.counts_up,
    shape.numbers_all,
    shape.names_things_in_things,
    shape.is_constant,
    shape.varies,
    shape.lies_beyond,
    shape.is_one_of_a_series,
    weighs_a_container,
)
ENOUGH: Final = 1.5  # points that a measure needs
OF_PLANTS: Final = frozenset((Measure.MASS, Measure.YIELD_PER_AREA, Measure.LENGTH, Measure.LEAVES))
LOGGED: Final = frozenset(
    (
        Measure.VOLUME,
        Measure.ENERGY,
        Measure.EC,
        Measure.PH,
        Measure.TEMPERATURE,
        Measure.HUMIDITY,
        Measure.CO2,
        Measure.PPFD,
    )
)
COORDINATES: Final = ("X", "Y", "Z")
BESIDE_PLANTS: Final = (
    Measure.VOLUME,
    Measure.ENERGY,
)  # units of what was used by those that were weighed


def measure_scores(profile: Profile) -> dict[Measure, float]:
    """Return the points that all clues give a column for each measure; a label needs none."""
    scores = {Measure.LABEL: 0.0, Measure.UNKNOWN: 0.0}
    for clue in CLUES:
        for measure, points in clue(profile):
            scores[measure] = scores.get(measure, 0.0) + points
    return scores


def measure_of(profile: Profile) -> Measure:
    """Return the measure that most points speak for; where only their shape speaks, unknown."""
    scores = measure_scores(profile)
    label, unknown = scores.pop(Measure.LABEL), scores.pop(Measure.UNKNOWN)
    best = max(scores, key=lambda measure: scores[measure], default=Measure.UNKNOWN)
    points = scores.get(best, 0.0)
    if label > max(points, unknown):
        return Measure.LABEL
    if points >= ENOUGH:
        return best
    return Measure.UNKNOWN


def measures_of(profiles: Sequence[Profile]) -> dict[int, Measure]:
    """Return the measure of each column by its index, those beside it taken into account."""
    measures = {profile.index: measure_of(profile) for profile in profiles}
    for large, small in two_units(profiles):
        measures[large.index] = Measure.MASS
        measures[small.index] = Measure.MASS
    if Measure.PPFD in measures.values():
        places = filter(_is_place, profiles)
        measures |= {profile.index: Measure.PLACE for profile in places}
    if not OF_PLANTS & set(measures.values()):
        return measures
    for profile in profiles:
        if measures[profile.index] in LOGGED:
            measures[profile.index] = _beside_plants(profile, measures[profile.index])
    return measures


def _beside_plants(profile: Profile, measure: Measure) -> Measure:
    """Return the measure beside plants of a column that would else be of a log."""
    if shape.has_few_levels(profile):
        return Measure.LABEL
    if profile.unit_of not in BESIDE_PLANTS:
        return Measure.FURTHER
    return measure


def _is_place(profile: Profile) -> bool:
    """Tell whether a column is a coordinate of a light map, such as `X (cm)`."""
    return profile.name.strip().upper() in COORDINATES
