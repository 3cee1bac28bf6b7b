"""The texts of the answer, by the code of each verdict."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from reportgen.language import marked, marked_plural
from reportgen.model.results import (
    Covariate,
)


class Verb(StrEnum):
    """How a sentence speaks of a measure.

    What treatments gave, what they used, or what was higher with one.
    """

    GAVE = "gave"
    USED = "used"
    WAS = "was"


DIFFERS: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked("{Treated} gave {said}: {figures} ({limits})."),
    Verb.USED: marked("{Treated} used {said}: {figures} ({limits})."),
    Verb.WAS: marked("With {treated}, {outcome} was {said}: {figures} ({limits})."),
}


CONFOUNDED: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked(
        "{Treated} gave {said}: {figures} ({limits}). But {reasons}, so this cannot be attributed"
        " to {treated}."
    ),
    Verb.USED: marked(
        "{Treated} used {said}: {figures} ({limits}). But {reasons}, so this cannot be attributed"
        " to {treated}."
    ),
    Verb.WAS: marked(
        "With {treated}, {outcome} was {said}: {figures} ({limits}). But {reasons}, so this cannot"
        " be attributed to {treated}."
    ),
}


ALIKE: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked(
        "{Treated} and {reference} gave about the same {outcome}: {figures}, {measured} ({limits})."
        " A difference matters to this grower from {margin} on."
    ),
    Verb.USED: marked(
        "{Treated} and {reference} used about the same {outcome}: {figures}, {measured} ({limits})."
        " A difference matters to this grower from {margin} on."
    ),
    Verb.WAS: marked(
        "With {treated} and {reference}, {outcome} was about the same: {figures}, {measured}"
        " ({limits}). A difference matters to this grower from {margin} on."
    ),
}


UNCLEAR: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked(
        "We cannot say whether {treated} gave more or less {outcome} than {reference}. Here it was"
        " {measured} ({figures}); the true difference could be {interval}."
    ),
    Verb.USED: marked(
        "We cannot say whether {treated} used more or less {outcome} than {reference}. Here it was"
        " {measured} ({figures}); the true difference could be {interval}."
    ),
    Verb.WAS: marked(
        "We cannot say whether {outcome} was higher or lower with {treated} than with {reference}."
        " Here it was {measured} ({figures}); the true difference could be {interval}."
    ),
}


UNTESTABLE: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked(
        "{Treated} gave {said}: {figures}. We cannot say how much of that is chance: {reason}."
    ),
    Verb.USED: marked(
        "{Treated} used {said}: {figures}. We cannot say how much of that is chance: {reason}."
    ),
    Verb.WAS: marked(
        "With {treated}, {outcome} was {said}: {figures}. We cannot say how much of that is chance:"
        " {reason}."
    ),
}


UNCLEAR_TOGETHER: Final[Mapping[Verb, str]] = {
    Verb.GAVE: marked(
        "We cannot say whether {names} gave more or less {outcome} than {reference}."
    ),
    Verb.USED: marked(
        "We cannot say whether {names} used more or less {outcome} than {reference}."
    ),
    Verb.WAS: marked(
        "We cannot say whether {outcome} was higher or lower with {names} than with {reference}."
    ),
}


LOSSES_UNCLEAR: Final = marked("Whether the treatment or chance did that we cannot say.")


AGAINST: Final = marked("{treated} against {reference} {unit}")


# What yields are called where nothing needs to be said of lost plants, and what those of several
# pickings are called.
WITHOUT_LOSSES: Final[Mapping[str, str]] = {
    "yield_per_plant_started": "yield_per_plant",
    "yield_per_plant_started_dry": "yield_per_plant_dry",
}


EXPLAINED_BEFORE: Final[Mapping[str, str]] = {
    "yield_per_plant_started": marked("weight per plant planted"),
    "yield_per_plant_started_dry": marked("dry weight per plant planted"),
}


PER_PLANT: Final[Mapping[str, str]] = {
    "yield_per_plant": marked("fresh weight per plant"),
    "yield_per_plant_dry": marked("dry weight per plant"),
}


OF_PICKINGS: Final[Mapping[str, str]] = {
    "yield_per_plant": marked("yield per plant"),
    "yield_per_plant_started": marked("yield per plant planted (dead plants counted as zero)"),
    "tray_yield": marked("yield per {unit}"),
}


LIMITS: Final = marked("{level} interval {interval}")


LIMITS_BY_WEIGHTS: Final = marked(
    "{level} interval {interval}, from the variation of weights alone"
)


LIMITS_BY_INSTRUMENTS: Final = marked(
    "{level} interval {interval}, from the variation of weights and the accuracy of instruments"
)


INTERVAL_BY_WEIGHTS: Final = marked("{interval}, from the variation of weights alone")


INTERVAL_BY_INSTRUMENTS: Final = marked(
    "{interval}, from the variation of weights and the accuracy of instruments"
)


# What may explain a difference, as part of a sentence, by the code of the finding: `EXPLAINING` of
# metrics.verdicts.
REASONS: Final[Mapping[str, str]] = {
    "one_unit_for_all": marked(
        "all {units} of a treatment shared one lamp, mat, tank or tent ({treatments})"
    ),
    "plants_share_pots": marked("plants that are compared one by one shared a pot"),
    "own_days_of_first_fill": marked("{treatments} shared no starting day with another treatment"),
    "own_days_of_harvest": marked("{treatments} shared no harvest day with another treatment"),
    "filled_from_to": marked("the treatments did not start on the same day"),
    "start_weights_apart": marked("plants began at different weights ({each})"),
    "harvested_from_to": marked("the treatments were not harvested on the same day"),
    "one_place_only": marked("{treatments} stood in one place only"),
    "own_blocks": marked("{treatments} shared no block with another treatment"),
    "own_positions": marked("{treatments} shared no position with another treatment"),
    "own_group": marked("the treatments stood in separate groups"),
    "quantity_apart": marked("another growing condition differed too ({quantity}: {each})"),
    "losses_differ": marked("one of the two treatments lost many more plants"),
    "emptied": marked("a {unit} ran out of solution"),
    "ran_out": marked("a {unit} ran out of solution"),
}


ADJUSTED: Final[Mapping[Covariate, str]] = {
    "start_weight": marked("Adjusted for start weight: {change} ({limits})."),
    "light_at_place": marked("Adjusted for the light at each place: {change} ({limits})."),
}


MORE_BELOW: Final = marked_plural(
    "{number} more treatment stands in the report's tables.",
    "{number} more treatments stand in the report's tables.",
)
