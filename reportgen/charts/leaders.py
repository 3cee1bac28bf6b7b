"""Figures of places in a plane, in a row above all lines, each with a leader to its place."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import altair as alt

from reportgen.charts import placed, theme
from reportgen.charts.lettering import LINE, width
from reportgen.charts.line_ends import spread
from reportgen.charts.placed import Label

BESIDE: Final = 8  # px from one figure to the next
OFF: Final = 10  # px from a place to the foot of its leader


@dataclass(frozen=True)
class Place:
    """A place px from the left and from the top, and what is said of it."""

    x: float
    y: float
    text: str


@dataclass(frozen=True)
class PlacedText:
    """A place with its text, which has a place of its own."""

    place: Place
    label: Label


def in_row(places: Sequence[Place], left: float, right: float, y: float) -> list[PlacedText]:
    """Return texts side by side from `left` to `right`, each as near to its place as it can be.

    Where they have no room together the last ones are left out.
    """
    shown = sorted(places, key=lambda place: place.x)
    widths = [width(place.text) + BESIDE for place in shown]
    while widths and sum(widths) > right - left:
        shown.pop()
        widths.pop()
    middles = spread([place.x - left for place in shown], widths, right - left)
    texts: list[PlacedText] = []
    for place, x in zip(shown, middles, strict=True):
        texts.append(PlacedText(place, Label(left + x, y, place.text, "center")))
    return texts


def layers(texts: Sequence[PlacedText]) -> list[alt.Chart]:
    """Return the leaders and the texts."""
    rows = []
    for text in texts:
        foot = {"x": text.place.x, "y": text.place.y - OFF}
        rows.append({**foot, "to": text.label.x, "up": text.label.y + LINE / 2})
    if not rows:
        return []
    leader = alt.Chart().mark_rule(opacity=0.6, strokeDash=[1, 2])
    leader = leader.encode(x=placed.X, y=placed.Y, x2=alt.X2("to:Q"), y2=alt.Y2("up:Q"))
    labels = placed.texts("told", [text.label for text in texts])
    return [leader.properties(data=theme.rows("leaders", rows)), *labels]
