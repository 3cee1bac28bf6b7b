"""Weights with what holds the plants: gross ones, and the tare."""

from typing import Final

from reportgen.importing.clues.quantities_model import Profile
from reportgen.importing.words import meanings, tokens

WITH: Final = frozenset(
    ("+", "&", "with", "and", "incl", "mit", "und", "inkl", "con", "y", "avec", "et", "met", "com", "e")
)


def is_tare(profile: Profile) -> bool:
    """Tell whether a column holds the weight of the empty pot or bag."""
    return "tare" in profile.words and not is_gross(profile)


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
