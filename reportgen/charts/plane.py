"""Figures with two axes: a plane whose sides, and the room around it, are known in px before
anything is drawn.

The title of the upright axis stands above it, so that it is read as any other line.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log
from typing import Any, Final

import altair as alt

from reportgen.charts import placed, theme
from reportgen.charts.key import Key, key
from reportgen.charts.lettering import LINE, balanced, cut, width, wrapped
from reportgen.charts.placed import PADDING, Label, Span

TICK: Final = 8  # px from a figure along the upright axis to it
UNDER: Final = 30  # px: ticks and figures along the lower axis
TITLE_GAP: Final = 8  # px from a title to what is under it
UPRIGHT_ROOM: Final = 40  # px from one figure of the upright axis to the next, at least
ACROSS_ROOM: Final = 38  # px from one figure of the lower axis to the next, at least
MOST_LINES: Final = 4  # of a label along the lower axis
EDGE: Final = 14  # px right of a plane without names


@dataclass(frozen=True)
class Axis:
    """An axis: its title, its ends, the values that carry figures (round ones if none are given),
    its kind of scale.

    `labels` stand at `ticks` of the lower axis in place of figures.
    """

    title: str
    ends: tuple[float, float]
    ticks: tuple[float, ...] = ()
    is_log: bool = False
    labels: tuple[str, ...] = ()


@dataclass(frozen=True)
class Plane:
    """A plane of `across` x `height` px with `left`, `right` and `top` px around it."""

    x: Axis
    y: Axis
    across: float
    height: float
    left: float
    right: float
    title: tuple[str, ...]
    looks: tuple[theme.Look, ...] = ()

    @property
    def key(self) -> Key:
        """Return the key above the plane; it has no entry where names stand at what they name."""
        return key([look.name for look in self.looks], self.left + self.across + self.right)

    @property
    def top(self) -> float:
        """Return the px above the plane: its title, and the key beneath it where there is one."""
        if self.looks:
            room = self.key.height + TITLE_GAP
        else:
            room = 0.0
        return LINE * len(self.title) + TITLE_GAP + room

    def with_key(self, looks: Sequence[theme.Look]) -> "Plane":
        """Return the plane under a key of some looks."""
        return replace(self, looks=tuple(looks))

    def at(self, x: str, y: str) -> alt.Chart:
        """Return a chart that places one field across and another upwards."""
        chart: alt.Chart = alt.Chart().encode(x=self.across_channel(x), y=self.upright_channel(y))
        return chart

    def across_channel(self, field: str) -> alt.X:
        """Return the channel that places a field across."""
        values = list(self.x.ticks) or placed.across_ticks(
            *self.x.ends, Span(0, self.across), self.right, ACROSS_ROOM
        )
        look = self._label_look() or {"format": theme.number_format(values)}
        axis = alt.Axis(values=values, grid=False, labelOverlap="greedy", **look)
        title = self._title_across()
        scale = alt.Scale(domain=list(self.x.ends), range=[0, self.across], nice=False, zero=False)
        return alt.X(f"{field}:Q", scale=scale, axis=axis, title=title)

    def _title_across(self) -> list[str]:
        """Return the title of the lower axis in lines that stay within the figure: they stand under
        its middle.
        """
        return balanced(theme.one_line(self.x.title), self.across + 2 * min(self.left, self.right))

    def _label_look(self) -> dict[str, Any]:
        if not self.x.labels:
            return {}
        texts = {
            f"{value:g}": lines for value, lines in zip(self.x.ticks, self._labels(), strict=True)
        }
        found = json.dumps(texts, ensure_ascii=False)
        return {"labelExpr": f"{found}['' + datum.value]", "labelLineHeight": LINE, "ticks": False}

    def _labels(self) -> list[list[str]]:
        """Return the labels of the lower axis in lines that keep clear of their neighbours."""
        room = self.across / max(1, len(self.x.labels)) - TICK
        return [cut(theme.one_line(label), room, MOST_LINES) for label in self.x.labels]

    def upright_channel(self, field: str) -> alt.Y:
        """Return the channel that places a field upwards."""
        values = upright_ticks(self.y, self.height)
        axis = alt.Axis(
            values=values, format=theme.number_format(values), labelOverlap="greedy", title=None
        )
        kind: Any = {"type": "log"} if self.y.is_log else {"zero": False}
        scale = alt.Scale(domain=list(self.y.ends), range=[self.height, 0], nice=False, **kind)
        # The title stands above the axis; here it is for what a mark says that is pointed at.
        return alt.Y(f"{field}:Q", scale=scale, axis=axis, title=theme.one_line(self.y.title))

    def px(self, value: float) -> float:
        """Return how far from the top a value of the upright axis lies."""
        low, high = self.y.ends
        if self.y.is_log:
            return self.height * log(high / value) / log(high / low)
        return self.height * (high - value) / (high - low)

    def px_across(self, value: float) -> float:
        """Return how far from the left a value of the lower axis lies."""
        low, high = self.x.ends
        return self.across * (value - low) / (high - low)

    def figure(self, layers: Sequence[alt.Chart]) -> alt.LayerChart:
        """Return the layers, lowest first, as a figure with the plane's titles and key."""
        title = placed.texts("title", placed.lines(-self.left, -self.top, self.title))
        if self.x.title:
            lines = self._title_across()
        else:
            lines = []
        further = max(map(len, self._labels()), default=1) - 1
        below = UNDER + LINE * (len(lines) + further) + PADDING
        padding = {
            "left": self.left + PADDING,
            "right": self.right + PADDING,
            "top": self.top + PADDING,
        }
        chart: alt.LayerChart = alt.LayerChart(layer=[*layers, *title, *self._key()]).properties(
            width=self.across,
            height=self.height,
            autosize=alt.AutoSizeParams(type="none"),
            padding={**padding, "bottom": below},
        )
        return chart

    def _key(self) -> list[alt.Chart]:
        if not self.looks:
            return []
        first = LINE * len(self.title) + TITLE_GAP - self.top
        symbols: list[dict[str, Any]] = []
        labels: list[Label] = []
        for entry, look in zip(self.key.entries, self.looks, strict=True):
            symbols.append(
                {"x": entry.x + 6 - self.left, "y": first + entry.y, "treatment": look.name}
            )
            labels += [replace(one, x=one.x - self.left, y=first + one.y) for one in entry.labels]
        return [placed.symbols("key", symbols, self.looks), *placed.texts("key", labels)]


def plane(total: float, height: float, x: Axis, y: Axis, names: float = EDGE) -> Plane:
    """Return the plane of a figure `total` px wide with `names` px on its right for the names of
    lines.
    """
    values = upright_ticks(y, height)
    left = max(width(theme.grouped(value, theme.decimals(values))) for value in values) + TICK
    left, right = round(left), round(max(names, EDGE))
    across = placed.room(total) - left - right
    title = tuple(wrapped(theme.one_line(y.title), placed.room(total)))
    return Plane(x, y, across, height, left, right, title)


def upright_ticks(axis: Axis, height: float) -> list[float]:
    """Return the values that carry figures along an upright axis."""
    if axis.ticks:
        return list(axis.ticks)
    return placed.ticks(*axis.ends, Span(0, height), UPRIGHT_ROOM) or [axis.ends[0]]
