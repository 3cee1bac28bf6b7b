"""Figures whose rows and texts stand at places in px; only what is measured has a scale.

The one axis runs along the bottom, from `Span.left` to `Span.right`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10
from typing import Any, Final, Literal

import altair as alt

from reportgen.charts import theme
from reportgen.charts.lettering import LINE, balanced, width

PADDING: Final = 4  # px around a figure
X: Final = alt.X("x:Q", scale=None)
Y: Final = alt.Y("y:Q", scale=None)
# px that a figure may reach beyond an axis whose end is that of the figure, about.
WITHIN: Final = 1.5
TICK_ROOM: Final = 64  # px from one figure along an axis to the next, at least
STEPS: Final = (1.0, 2.0, 5.0, 10.0)
FINER: Final = (5.0, 2.0, 1.0, 0.5)  # of a power of ten, coarsest first
LEAST_TICKS: Final = 2  # of an axis
ROUNDING: Final = 1e-9
BELOW_AXIS: Final = 14  # px from the rows to the axis

Side = Literal["left", "center", "right"]
Weight = Literal["normal", "bold"]
Row = dict[str, Any]


@dataclass(frozen=True)
class Label:
    """A line of text: its place from the left and the middle of its letters from the top, px."""

    x: float
    y: float
    text: str
    align: Side = "left"
    is_bold: bool = False


@dataclass(frozen=True)
class Span:
    """Where an axis begins and ends, px from the left."""

    left: float
    right: float


def room(total: float) -> float:
    """Return the px between the paddings of a figure `total` px wide."""
    return total - 2 * PADDING


def lines(
    x: float, top: float, texts: Sequence[str], align: Side = "left", *, is_bold: bool = False
) -> list[Label]:
    """Return a label for each line of a text whose first line stands `LINE` px high from `top` on."""
    return [
        Label(x, top + LINE * (place + 0.5), text, align, is_bold)
        for place, text in enumerate(texts)
    ]


def texts(name: str, labels: Sequence[Label]) -> list[alt.Chart]:
    """Return the layers of labels, one for each side that they are aligned to and each weight."""
    layers: list[alt.Chart] = []
    for align in ("left", "center", "right"):
        for is_bold in (False, True):
            chosen = [label for label in labels if _is_set(label, align, is_bold=is_bold)]
            if chosen:
                layers.append(_texts(name, chosen))
    return layers


def _is_set(label: Label, align: str, *, is_bold: bool) -> bool:
    """Return whether a label has text, at a side and in a weight."""
    return bool(label.text) and label.align == align and label.is_bold == is_bold


def _texts(name: str, labels: Sequence[Label]) -> alt.Chart:
    """Return the layer of labels of one side and weight."""
    align = labels[0].align
    name = f"{name} {align}"
    weight: Weight = "normal"
    if labels[0].is_bold:
        name = f"{name} bold"
        weight = "bold"
    mark = alt.Chart().mark_text(align=align, baseline="middle", fontWeight=weight)
    rows = [{"x": label.x, "y": label.y, "text": label.text} for label in labels]
    chart: alt.Chart = mark.encode(x=X, y=Y, text=alt.Text("text:N")).properties(
        data=theme.rows(name, rows)
    )
    return chart


def symbols(name: str, places: Iterable[Row], shown: Sequence[theme.Look]) -> alt.Chart:
    """Return the layer of treatments' symbols at `x` and `y`, for beside their names."""
    mark = alt.Chart().mark_point(size=70)
    chart = mark.encode(x=X, y=Y, color=theme.colour(shown), shape=theme.shape(shown))
    made: alt.Chart = chart.properties(data=theme.rows(name, places))
    return made


def title_lines(title: str, span: Span) -> list[str]:
    """Return the title of an axis in lines as long as the axis."""
    return balanced(theme.one_line(title), span.right - span.left)


def ticks(low: float, high: float, span: Span, room: float = TICK_ROOM) -> list[float]:
    """Return round values from `low` to `high` for an axis, each with `room` px for its figure.

    Two at least, closer where need be, for a lone one tells no scale.
    """
    most = max(2, int((span.right - span.left) / room))
    rough = (high - low) / most or 1.0
    power = 10.0 ** floor(log10(rough))
    step = next(one * power for one in STEPS if one * power >= rough * (1 - ROUNDING))
    values = _multiples(step, low, high)
    while len(values) < LEAST_TICKS and high > low:
        power = 10.0 ** floor(log10(step))
        step = next(part * power for part in FINER if part * power < step * (1 - ROUNDING))
        values = _multiples(step, low, high)
    return values


def _multiples(step: float, low: float, high: float) -> list[float]:
    """Return the multiples of a step from `low` to `high`."""
    first = ceil(low / step - ROUNDING)
    last = floor(high / step + ROUNDING)
    decimals = max(0, -floor(log10(step)) + 1)
    return [round(place * step, decimals) for place in range(first, last + 1)]


def across_ticks(
    low: float, high: float, span: Span, edge: float = WITHIN, room: float = TICK_ROOM
) -> list[float]:
    """Return round values for an axis along the bottom; no figure reaches more than `edge` px
    beyond its right end.
    """
    values = ticks(low, high, span, room)
    scale = (span.right - span.left) / (high - low or 1.0)
    digits = theme.decimals(values)
    kept: list[float] = []
    for value in values:
        middle = span.left + (value - low) * scale
        if middle + width(theme.grouped(value, digits)) / 2 <= span.right + edge:
            kept.append(value)
    return kept


def grid(
    base: alt.Chart, values: Sequence[float], strips: Sequence[tuple[float, float]]
) -> alt.Chart:
    """Return faint lines at `values` of the field `value` within strips from one y to another, none
    through a text.
    """
    rows: list[Row] = []
    for value in values:
        rows += [{"value": value, "y": top, "bottom": bottom} for top, bottom in strips]
    rule: alt.Chart = base.mark_rule(opacity=theme.FAINT, strokeWidth=1)
    return rule.encode(y2=alt.Y2("bottom:Q")).properties(data=theme.rows("grid", rows))


def figure(layers: Sequence[alt.Chart], total: float, height: float) -> alt.LayerChart:
    """Return the layers, lowest first, as a figure `total` px wide whose rows end at `height` px."""
    chart: alt.LayerChart = alt.LayerChart(layer=list(layers)).properties(
        width=room(total), height=height, autosize=alt.AutoSizeParams(type="pad"), padding=PADDING
    )
    return chart
