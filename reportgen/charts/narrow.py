"""Figures of rows drawn anew for a phone: the labels stand over their rows, not beside them."""

import json
import textwrap
from collections.abc import Iterator
from typing import Any, Final

from reportgen.charts import theme

WIDTH: Final = 276  # px: a window of 320 px less the page's margins and the card's
LINE: Final = 15  # px, one line of a label
ROW: Final = 20  # px, one treatment of one measure
GAP: Final = 8  # px, between the rows' marks and the next label
TITLE_LENGTH: Final = 38  # characters

Node = dict[str, Any]


def narrow(spec: str) -> str | None:
    """Return the Vega-Lite text of a figure `WIDTH` px wide, or None for a figure that has no labelled rows.

    The labels of rows are axes whose texts of several lines come from an expression; marks, scales of what was
    measured, and data stay as they are.
    """
    document = json.loads(spec)
    layers: list[Node] = document.get("layer", [])
    labels = [axis for layer in layers if (axis := _row_labels(layer))]
    if not labels:
        return None
    grouped = any("yOffset" in layer["encoding"] for layer in layers)
    lines = max(_lines(layer) for layer in layers)
    rise = _group(document, layers, lines) if grouped else _spread(document, layers, lines)
    for axis in labels:
        _set_over(axis, rise)
    for channel in _channels(layers):
        _wrap(channel)
    return json.dumps(document | {"width": WIDTH}, sort_keys=True, ensure_ascii=False).replace("<", "\\u003c")


def _channels(layers: list[Node]) -> Iterator[Node]:
    yield from (channel for layer in layers for channel in layer["encoding"].values() if isinstance(channel, dict))


def _row_labels(layer: Node) -> Node | None:
    axis: Node | None = layer["encoding"].get("y", {}).get("axis")
    return axis if axis and {"labelExpr", "labelOffset"} <= axis.keys() else None


def _lines(layer: Node) -> int:
    """Return the lines of the longest label: those of an expression's own table, or of the names of a scale."""
    axis = _row_labels(layer)
    if axis is None:
        return 1
    start, end = axis["labelExpr"].find("{"), axis["labelExpr"].rfind("}")
    if start >= 0:
        return max(len(label) for label in json.loads(axis["labelExpr"][start : end + 1]).values())
    names: list[str] = layer["encoding"]["y"].get("scale", {}).get("domain", [""])
    return max(name.count("\n") + 1 for name in names)


def _group(document: Node, layers: list[Node], lines: int) -> float:
    """Make room in each band of measures; return how far over its middle the last line of a label stands."""
    top = LINE * lines + GAP
    rows = max(len(channel["scale"]["domain"]) for layer in layers if (channel := layer["encoding"].get("yOffset")))
    band = top + ROW * rows
    count = max(len(layer["encoding"]["y"]["scale"]["domain"]) for layer in layers if _row_labels(layer))
    for layer in layers:
        if "yOffset" in layer["encoding"]:
            layer["encoding"]["y"]["scale"]["padding"] = 0
            layer["encoding"]["yOffset"]["scale"] |= {"paddingOuter": 0, "range": [top, band]}
    document["height"] = band * count
    return band / 2 - top + LINE / 2


def _spread(document: Node, layers: list[Node], lines: int) -> float:
    """Make room over each row of a scale of places; return how far over its row the last line of a label stands."""
    domain = next(layer["encoding"]["y"]["scale"]["domain"] for layer in layers if _row_labels(layer))
    height = LINE * lines + ROW + GAP
    top = -(LINE * lines + ROW / 2) / height  # in rows, over the first
    for layer in layers:
        if "y" in layer["encoding"]:
            layer["encoding"]["y"]["scale"]["domain"] = [domain[0], top]
    document["height"] = height * (domain[0] - top)
    return ROW / 2 + LINE / 2


def _set_over(axis: Node, rise: float) -> None:
    axis |= {
        "labelAlign": axis.get("orient", "left"),
        "labelLimit": WIDTH,
        "labelOffset": {"expr": f"{-rise} - {LINE} * (length({axis['labelExpr']}) - 1)"},
        "labelPadding": 0,
        "offset": 0,
        "tickSize": 0,
        "grid": False,
        "zindex": 1,
    }


def _wrap(channel: Node) -> None:
    """Break a channel's title into lines that fit, and set its legend in as many columns as fit."""
    title = channel.get("title")
    if isinstance(title, list):
        channel["title"] = [line for long in title for line in textwrap.wrap(long, TITLE_LENGTH)]
    if isinstance(channel.get("legend"), dict):
        longest = min(max(map(len, channel["scale"]["domain"])), theme.LABEL_LENGTH)
        channel["legend"]["columns"] = max(1, int(WIDTH / (longest * theme.CHARACTER + 34)))
