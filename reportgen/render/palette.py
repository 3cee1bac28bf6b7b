"""The theme's colours for pictures, which know no style sheet: the design tokens as colours of
sRGB.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from reportgen.model.settings import Settings
from reportgen.render import templates

RULE: Final = re.compile(r":root \{(.*?)\}", re.DOTALL)
TOKEN: Final = re.compile(r"--([\w-]+): ([^;]+);")
# CSS Color Module Level 4, section 18: from XYZ (D65) to linear-light sRGB.
XYZ_TO_RGB: Final = (
    (3.2409699419, -1.5373831776, -0.4986107603),
    (-0.9692436363, 1.8759675015, 0.0415550574),
    (0.0556300797, -0.2039769589, 1.0569715142),
)


@dataclass(frozen=True)
class Palette:
    """The colours of a picture, each as `#rrggbb`."""

    ground: str
    ink: str
    soft: str
    rule: str
    accent: str
    caution: str


def palette(settings: Settings, *, dark: bool = False) -> Palette:
    """Return the colours of the site's theme in light or in dark.

    A colour that pictures cannot hold, such as one of `lab()`, is that of the shipped theme.
    """
    shipped = _shipped(dark=dark)
    own = {name: _hex(value) for name, value in _own(settings, dark=dark).items()}
    known = {**shipped, **{name: value for name, value in own.items() if value}}
    names = ("ground", "ink", "soft", "rule", "accent", "caution")
    return Palette(*(known[name] for name in names))


def _own(settings: Settings, *, dark: bool) -> Mapping[str, str]:
    return dict(settings.dark_theme if dark else settings.theme)


@cache
def _shipped(*, dark: bool) -> Mapping[str, str]:
    style = (templates.folder() / "assets" / "tokens.css").read_text("utf-8")
    light_rule, dark_rule = RULE.findall(style)[:2]
    tokens = TOKEN.findall(light_rule)
    if dark:
        tokens += TOKEN.findall(dark_rule)
    return {name: _hex(value) for name, value in tokens}


def _hex(text: str) -> str:
    """Return a colour of CSS as `#rrggbb`; empty for what is none, or of a space that is not known
    here.
    """
    from tinycss2.color4 import Color, parse_color

    colour = parse_color(text)
    if not isinstance(colour, Color):
        return ""
    try:
        levels = tuple(colour.to("srgb").coordinates)
    except NotImplementedError:
        levels = _from_xyz(colour)
    if levels:
        return "#" + "".join(f"{round(255 * min(1.0, max(0.0, level))):02x}" for level in levels)
    return ""


def _from_xyz(colour: object) -> tuple[float, ...]:
    """Return a colour of a space that goes through XYZ as levels of sRGB; none where its white is
    another.
    """
    from tinycss2.color4 import Color

    assert isinstance(colour, Color)
    try:
        xyz = tuple(colour.to("xyz-d65").coordinates)
    except NotImplementedError:
        return ()
    return tuple(_encoded(_product(row, xyz)) for row in XYZ_TO_RGB)


def _product(row: tuple[float, ...], xyz: tuple[float, ...]) -> float:
    return sum(factor * part for factor, part in zip(row, xyz, strict=True))


def _encoded(level: float) -> float:
    """Return a linear level as sRGB writes it (IEC 61966-2-1)."""
    if level <= 0.0031308:
        return 12.92 * level
    return float(1.055 * level ** (1 / 2.4) - 0.055)
