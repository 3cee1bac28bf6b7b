"""Figures drawn anew where there is less room: for a phone, and for paper with two of a kind side by side."""

import json
import textwrap
from collections.abc import Iterator
from typing import Any, Final

from reportgen.charts import theme

WIDTH: Final = 276  # px: a window of 320 px less the page's margins and the card's
LINE: Final = 15  # px, one line of a label
ROW: Final = 20  # px, one treatment of one measure
GAP: Final = 8  # px, between the rows' marks and the next label
HALF: Final = 386  # px: 82 mm on paper, where `theme.WIDTH` is 136 mm
HALF_HEIGHT: Final = 220  # px, curves of that width
KEY: Final = 34  # px, the symbol of an entry of a legend and the distance to the next
LETTER: Final = 7.2  # px, of a title with room to spare

Node = dict[str, Any]


def half(spec: str) -> str | None:
    """Return the Vega-Lite text of a figure `HALF` px wide; None for one that is of neither labelled rows nor curves.

    Curves are lines with points, without words among them. None too where the name of a treatment would be cut.
    """
    document = json.loads(spec)
    layers: list[Node] = document.get("layer", [])
    if {_mark(layer) for layer in layers} != {"line", "point"}:
        return narrow(spec, HALF)
    if any(_entry(channel) > HALF for channel in _channels(layers) if isinstance(channel.get("legend"), dict)):
        return None
    for layer in layers:
        for name, room in (("x", HALF - 60), ("y", HALF_HEIGHT)):
            layer["encoding"][name]["title"] = _lines_of(layer["encoding"][name]["title"], room)
    for channel in _channels(layers):
        _set_legend(channel, HALF)
    return _text(document | {"width": HALF, "height": HALF_HEIGHT})


def _mark(layer: Node) -> str:
    mark = layer.get("mark", "")
    return str(mark["type"] if isinstance(mark, dict) else mark)


def _text(document: Node) -> str:
    return json.dumps(document, sort_keys=True, ensure_ascii=False).replace("<", "\\u003c")


def _lines_of(title: str | list[str], room: float) -> list[str]:
    """Return a title in lines that fit in so many px."""
    lines = [title] if isinstance(title, str) else title
    return [line for long in lines for line in textwrap.wrap(long, int(room / LETTER))]


def narrow(spec: str, width: int = WIDTH) -> str | None:
    """Return the Vega-Lite text of a figure `width` px wide, or None for a figure that has no labelled rows.

    The labels of rows are axes whose texts of several lines come from an expression and stand over their rows; marks,
    scales of what was measured, and data stay as they are.
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
        _set_over(axis, rise, width)
    for channel in _channels(layers):
        if isinstance(channel.get("title"), list):
            channel["title"] = _lines_of(channel["title"], width)
        _set_legend(channel, width)
    return _text(document | {"width": width})


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


def _set_over(axis: Node, rise: float, width: float) -> None:
    axis |= {
        "labelAlign": axis.get("orient", "left"),
        "labelLimit": width,
        "labelOffset": {"expr": f"{-rise} - {LINE} * (length({axis['labelExpr']}) - 1)"},
        "labelPadding": 0,
        "offset": 0,
        "tickSize": 0,
        "grid": False,
        "zindex": 1,
    }


def _set_legend(channel: Node, width: float) -> None:
    """Set a channel's legend, if it has one, in as many columns as fit."""
    if isinstance(channel.get("legend"), dict):
        limit = theme.LABEL_LENGTH * theme.CHARACTER + KEY
        channel["legend"]["columns"] = max(1, int(width / min(_entry(channel), limit)))


def _entry(channel: Node) -> float:
    """Return how wide the longest entry of a channel's legend is, px."""
    return max(map(len, channel["scale"]["domain"])) * theme.CHARACTER + KEY
