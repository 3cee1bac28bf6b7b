"""Which way texts run: what comes from elsewhere is set apart, so that it turns nothing round
beside it.

By the Unicode Bidirectional Algorithm (UAX #9) a text that runs from right to left takes digits and
signs behind it along: "חם 20%" reads "% 20" after the name. Within an isolate (FSI ... PDI) it
cannot. A report is in a language that runs from left to right; where no letter runs the other way
the algorithm moves nothing, and no isolate is needed.
"""

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from typing import Final

FIRST_STRONG: Final = "\N{FIRST STRONG ISOLATE}"
POP: Final = "\N{POP DIRECTIONAL ISOLATE}"

# The property Bidi_Control of the Unicode Character Database, PropList.txt.
CONTROLS: Final = re.compile(r"[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")

# The ranges that DerivedBidiClass.txt of the same database keeps for letters from right to left, R
# and AL.
_RIGHT: Final = r"\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff\U00010800-\U00010fff\U0001e800-\U0001efff"
RIGHT_TO_LEFT: Final = re.compile(f"[{_RIGHT}]")
_WORDS: Final = (
    rf"[{_RIGHT}](?:[{_RIGHT} \u00a0'’\"-]*[{_RIGHT}])?"  # words that no name accounts for
)

_names: ContextVar[tuple[str, ...]] = ContextVar("names", default=())


@contextmanager
def using(names: Iterable[str]) -> Iterator[None]:
    """Set these texts apart as wholes, wherever they stand in others, for as long as the context
    lasts.
    """
    token = _names.set(tuple(names))
    try:
        yield
    finally:
        _names.reset(token)


def runs_right_to_left(text: str) -> bool:
    """Return whether any letter of a text runs from right to left."""
    return not text.isascii() and RIGHT_TO_LEFT.search(text) is not None


def without_controls(text: str) -> str:
    """Return a text without characters that say which way it runs."""
    if text.isascii():
        return text
    return CONTROLS.sub("", text)


def right_to_left(texts: Iterable[object]) -> tuple[str, ...]:
    """Return, in order and each once, the texts among values that hold letters from right to left."""
    return tuple(
        sorted(
            {text.strip() for text in texts if isinstance(text, str) and runs_right_to_left(text)}
        )
    )


def isolated(text: str) -> str:
    """Return a text in which whatever runs from right to left stands in an isolate of its own.

    The names in use are kept whole, digits and signs at their ends included. Controls that came
    with the text go.
    """
    plain = without_controls(text)
    if not runs_right_to_left(plain):
        return plain
    return _pattern(_names.get()).sub(f"{FIRST_STRONG}\\g<0>{POP}", plain)


@lru_cache(16)
def _pattern(names: tuple[str, ...]) -> re.Pattern[str]:
    longest_first = sorted(names, key=len, reverse=True)
    whole = [rf"(?<!\w){re.escape(name)}(?!\w)" for name in longest_first]
    return re.compile("|".join([*whole, _WORDS]))


# What holds text alone, where markup would show as it is written; attributes stand within a tag.
_NO_MARKUP: Final = re.compile(
    rf"<(script|style|title|option|textarea|svg)\b.*?</\1>|<[^>]*>|[{FIRST_STRONG}{POP}]",
    re.DOTALL | re.IGNORECASE,
)
_ELEMENTS: Final = {FIRST_STRONG: "<bdi>", POP: "</bdi>"}


def as_elements(html: str) -> str:
    """Return HTML with the element bdi in place of isolates, where an element can stand."""
    if FIRST_STRONG not in html:
        return html
    return _NO_MARKUP.sub(lambda found: _ELEMENTS.get(found[0], found[0]), html)
