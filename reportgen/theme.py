"""What a design token may hold: a colour, a length or fonts, as the one that is shipped does."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import tinycss2
from tinycss2.color4 import Color, parse_color

from reportgen.language import marked

LENGTHS: Final = (  # CSS Values and Units Module Level 4, sections 6.1 and 6.2
    *("em", "rem", "ex", "rex", "cap", "rcap", "ch", "rch", "ic", "ric", "lh", "rlh"),
    *("vw", "vh", "vi", "vb", "vmin", "vmax", "cm", "mm", "q", "in", "pt", "pc", "px"),
)
FONTS: Final = re.compile(r'(?:"[\w .-]+"|[a-zA-Z][\w-]*)(?:, ?(?:"[\w .-]+"|[a-zA-Z][\w-]*))*')


@dataclass(frozen=True)
class Grammar:
    """What a value must be: how that is said, and whether a text is one."""

    expected: str
    fits: Callable[[str], bool]


def is_colour(text: str) -> bool:
    """Return whether a text is one colour of CSS, such as `#204080` or `oklch(60% 0.1 150)`."""
    return _is_closed(text) and isinstance(parse_color(text), Color)


def is_length(text: str) -> bool:
    """Return whether a text is one length of CSS that is not negative, such as `0.5rem` or 0."""
    token = tinycss2.parse_one_component_value(text)
    if not _is_closed(text):
        return False
    if token.type == "number":
        return bool(token.value == 0)
    return token.type == "dimension" and token.lower_unit in LENGTHS and token.value >= 0


def _is_closed(text: str) -> bool:
    """Return whether a text is one value that ends with itself: an open bracket or comment would go
    on behind it.
    """
    token = tinycss2.parse_one_component_value(text)
    return token.type != "error" and bool(token.serialize() == text)


COLOUR: Final = Grammar(marked("a colour of CSS, such as #204080"), is_colour)
LENGTH: Final = Grammar(marked("a length of CSS, such as 0.5rem"), is_length)
FONT: Final = Grammar(
    marked('names of fonts, such as "Inter", sans-serif'), lambda text: bool(FONTS.fullmatch(text))
)


def grammars(style: str) -> Mapping[str, Grammar]:
    """Return what each design token of a style sheet may hold, by its name without the two hyphens
    before it.
    """
    shipped = dict(re.findall(r"--([\w-]+): ([^;]+);", style))
    return {name: _grammar_of(value) for name, value in shipped.items()}


def _grammar_of(value: str) -> Grammar:
    return next(grammar for grammar in (COLOUR, LENGTH, FONT) if grammar.fits(value))
