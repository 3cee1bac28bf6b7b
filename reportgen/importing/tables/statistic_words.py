"""Which statistic a label names, by the words of seven languages."""

from typing import Final

from reportgen.importing.model.tables import Statistic
from reportgen.importing.words import meanings, tokens

MEANINGS: Final = {
    "sum": Statistic.SUM,
    "mean": Statistic.MEAN,
    "spread": Statistic.SPREAD,
    "count": Statistic.COUNT,
    "extreme": Statistic.OTHER,
}
SHORT_AND_CLEAR: Final = ("sum", "som", "avg", "std")


def statistic_of(label: str) -> Statistic | None:
    """Return the statistic with which a label begins or ends, None where there is none.

    Such as `Totaal rij 1` or `Ø`.
    """
    if label.strip().casefold() == "x":  # a word for no value; with a bar above it is a mean
        return None
    words = [word for word in label.split() if not _has_digit(word)]
    named = meanings(" ".join(words[:2])) | meanings(" ".join(words[-1:]))
    for meaning, statistic in MEANINGS.items():
        if meaning in named:
            return statistic
    return None


def _has_digit(word: str) -> bool:
    return any(character.isdigit() for character in word)


def is_weak(label: str) -> bool:
    """Tell whether a label of a statistic may as well be a code: n, se, min."""
    words = tokens(label)
    return (
        len(words) == 1
        and len(words[0]) <= 3
        and words[0].isalpha()
        and words[0] not in SHORT_AND_CLEAR
    )
