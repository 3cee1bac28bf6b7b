"""Weights with what holds the plants: gross ones, and the tare."""

from typing import Final

from reportgen.importing.clues.quantities_model import Measure, Points, Profile
from reportgen.importing.clues.quantities_units import unit_of_header
from reportgen.importing.words import meanings, tokens

WITH: Final = frozenset(
    (
        "+",
        "&",
        "with",
        "and",
        "incl",
        "mit",
        "und",
        "inkl",
        "con",
        "y",
        "avec",
        "et",
        "met",
        "com",
        "e",
    )
)


def weighs_a_container(profile: Profile) -> Points:
    """A header of a pot or bag alone, in a unit of mass, heads what that weighs."""
    if (
        profile.has_near_unit
        and profile.unit_of is Measure.MASS
        and _is_container_alone(profile.header)
    ):
        yield Measure.MASS, 4.0


def is_tare(profile: Profile) -> bool:
    """Tell whether a column holds the weight of the empty pot or bag: by its word, or headed by
    that alone.
    """
    if is_gross(profile):
        return False
    return "tare" in profile.words or (
        profile.unit_of is Measure.MASS and _is_container_alone(profile.header)
    )


def is_gross(profile: Profile) -> bool:
    """Tell whether a column holds plants and what they stand in: `gross`, `FW + pot`."""
    return "gross" in profile.words or holds_more_than_plants(profile.header)


def holds_more_than_plants(header: str) -> bool:
    """Tell whether a header names a container beside the weight: `FW + pot`, `with bag`, `cup+dry`."""
    words = tokens(header)
    for place, word in enumerate(words):
        beside = words[max(place - 1, 0) : place + 2]
        if word in WITH and any(_is_container(each) for each in beside):
            return True
    return False


def _is_container(word: str) -> bool:
    return bool(meanings(word) & {"unit", "tare"})


def _is_container_alone(header: str) -> bool:
    unit = tokens(unit_of_header(header)[0])
    words = [word for word in tokens(header) if word not in unit]
    return len(words) == 1 and _is_container(words[0])
