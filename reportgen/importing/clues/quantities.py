"""All clues about quantities, in one list: a new habit is one more line."""

from typing import Final

from reportgen.importing.clues import quantities_shape as shape
from reportgen.importing.clues import quantities_words as words
from reportgen.importing.clues.quantities_model import Measure, Profile, QuantityClue

CLUES: Final[tuple[QuantityClue, ...]] = (
    words.named_by_header,
    words.named_around,
    words.names_a_label,
    shape.has_a_unit,
    shape.has_decimals,
    shape.repeats_few_levels,
    shape.counts_up,
    shape.is_constant,
    shape.varies,
    shape.lies_beyond,
    shape.is_one_of_a_series,
)


def measure_scores(profile: Profile) -> dict[Measure, float]:
    """Return the points that all clues give a column for each measure; a label needs none."""
    scores = {Measure.LABEL: 0.0, Measure.UNKNOWN: 0.0}
    for clue in CLUES:
        for claim in clue(profile):
            measure = Measure(claim.quantity)
            scores[measure] = scores.get(measure, 0.0) + claim.weight
    return scores


def measure_of(profile: Profile) -> Measure:
    """Return the measure that most points speak for."""
    scores = measure_scores(profile)
    return max(scores, key=lambda measure: scores[measure])
