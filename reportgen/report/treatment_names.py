"""How the name of a treatment stands in a text: alone as a label, or within a sentence.

A grower's name may be a level (`12 h day`), a thing (`Warm bench`) or half a recipe. Tables and
legends show it as typed. A sentence takes its first words up to a natural break, in quotation marks
where it would not read as a part of the sentence.
"""

import re
from typing import Final

from reportgen.language import marked, say
from reportgen.model.trial import Trial

LONGEST_IN_SENTENCE: Final = 25  # characters of a name that a sentence takes as it is
MOST_WORDS: Final = 3  # of such a name
LONGEST: Final = 40  # characters of a name that texts take whole
FEWEST: Final = 10  # characters of the first words that still name something
PAUSE: Final = re.compile(r"\s*[,;:()/–—]\s*|\s+-\s+")
# Words before which a name may end. A name with less than them still says what was done.
CONNECTING: Final = re.compile(
    "and|at|by|for|from|in|of|on|that|to|under|which|with|without"
    "|a|al|bajo|con|de|del|en|hasta|para|por|que|sin|sobre|y",
    re.IGNORECASE,
)
FIGURE_AND_UNIT: Final = re.compile(r"(?<=\d) (?=[^\W\d])")
QUOTED: Final = marked("“{name}”")
NUMBERED: Final = marked("treatment {number} of {total}")


def name_of(trial: Trial, code: str) -> str:
    """Return a treatment's name as the grower typed it."""
    return next(treatment.name for treatment in trial.treatments if treatment.code == code)


def label(trial: Trial, code: str) -> str:
    """Return a name as it stands before a colon or in brackets: whole, or its first words.

    A name without a break within `LONGEST` characters is a number: `treatment 3 of 5`.
    """
    name = name_of(trial, code)
    if len(name) <= LONGEST:
        return held_together(name)
    for short in (_before_pause(name), _before_connecting_word(name)):
        if FEWEST <= len(short) <= LONGEST and not _begins_another(trial, code, short):
            return held_together(short)
    codes = [treatment.code for treatment in trial.treatments]
    return say(NUMBERED, number=codes.index(code) + 1, total=len(codes))


def _begins_another(trial: Trial, code: str, short: str) -> bool:
    """Return whether the name of another treatment begins with a text."""
    others = [treatment for treatment in trial.treatments if treatment.code != code]
    return any(treatment.name.startswith(short) for treatment in others)


def label_within(trial: Trial, code: str) -> str:
    """Return a label that follows other words: in small letters, but for symbols and varieties."""
    text = label(trial, code)
    if trial.varied == "variety" or text[:1].isdigit():
        return text
    return inside(text)


def within(trial: Trial, code: str) -> str:
    """Return a name as part of a sentence: `warm trays`, `LED bars`, `“12 h day”`."""
    text = label(trial, code)
    is_name = name_of(trial, code).startswith(text.replace("\N{NO-BREAK SPACE}", " "))
    if is_name and _is_quoted(text):
        return say(QUOTED, name=text)
    return label_within(trial, code)


def inside(text: str) -> str:
    """Return a text as it stands within a sentence.

    In small letters, but for symbols such as PPFD, EC, B or T1.
    """
    first, space, rest = text.partition(" ")
    letters = first.rstrip(":")
    is_symbol = len(letters) == 1 or not letters.isalpha()
    if first.istitle() and not is_symbol:
        first = first.casefold()
    return first + space + rest


def held_together(text: str) -> str:
    """Return a text whose figures and units, such as `20 h`, no line's end parts."""
    return FIGURE_AND_UNIT.sub("\N{NO-BREAK SPACE}", text)


def _is_quoted(text: str) -> bool:
    """Return whether a name does not read as a part of a sentence."""
    is_long = len(text) > LONGEST_IN_SENTENCE or len(text.split()) > MOST_WORDS
    return text[:1].isdigit() or is_long or PAUSE.search(text) is not None


def _before_pause(name: str) -> str:
    return PAUSE.split(name, maxsplit=1)[0]


def _before_connecting_word(name: str) -> str:
    """Return as many words as there is room for before one that connects them with the rest."""
    words = name.split()
    for number in range(len(words) - 1, 0, -1):
        first_words = " ".join(words[:number])
        if len(first_words) <= LONGEST and CONNECTING.fullmatch(words[number]):
            return first_words
    return ""
