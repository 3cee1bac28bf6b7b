"""What a mark tells a reader who explores a figure: its fields under titles, numbers to four
digits.
"""

from collections.abc import Iterator
from typing import Any, Final

from reportgen import language
from reportgen.language import figure, marked, say

Node = dict[str, Any]

DIGITS: Final = ".4~r"  # of D3's number format: four significant digits, no zeros at the end
TITLES: Final = {  # of fields that no axis names, or one with more to say
    "class": marked("Class"),
    "date": marked("Date"),
    "event": marked("Event"),
    "high": marked("Highest"),
    "label": marked("Component"),
    "low": marked("Lowest"),
    "mean": marked("Mean"),
    "measure": marked("Measure"),
    "plants": marked("Plants"),
    "position": marked("Position"),
    "ppfd": marked("PPFD (µmol/m²/s)"),
    "quantity": marked("Quantity"),
    "reach": marked("Interval"),
    "row": marked("Row"),
    "told": marked("Relative to the reference (%), with its interval"),
    "treatment": marked("Treatment"),
}
UNLESS_AN_AXIS_SAYS: Final = {
    "cost": marked("Cost"),
    "residual": marked("Residual"),
    "value": marked("Value"),
}
CONTAINERS: Final = {"tray": marked("Tray"), "pot": marked("Pot")}


def titled(document: Node) -> Node:
    """Return a Vega-Lite chart whose tooltips have titles: our own, else that of the axis which
    shows the field.
    """
    encodings = list(_encodings(document))
    titles = {field: say(title) for field, title in UNLESS_AN_AXIS_SAYS.items()}
    titles |= dict(_axes(encodings)) | {field: say(title) for field, title in TITLES.items()}
    titles["tray"] = say(CONTAINERS[language.container()])
    for encoding in encodings:
        if "tooltip" in encoding:
            encoding["tooltip"] = [_entry(entry, titles) for entry in encoding["tooltip"]]
    return document


def _entry(entry: Node, titles: dict[str, str]) -> Node:
    if entry["type"] == "quantitative":
        form = {"format": DIGITS}
    else:
        form = {}
    return entry | form | {"title": titles.get(entry["field"], entry["field"])}


def _encodings(node: Node) -> Iterator[Node]:
    if "encoding" in node:
        yield node["encoding"]
    for part in (
        *node.get("layer", ()),
        *node.get("vconcat", ()),
        *node.get("hconcat", ()),
        *node.get("concat", ()),
    ):
        yield from _encodings(part)


def _axes(encodings: list[Node]) -> Iterator[tuple[str, str]]:
    """Yield each field that an axis with a title shows; of several lines or parts the first."""
    for encoding in encodings:
        for channel in (encoding.get("x", {}), encoding.get("y", {})):
            title = channel.get("title")
            if title and "field" in channel:
                yield channel["field"], title if isinstance(title, str) else title[0]


def reach(low: float | None, high: float | None) -> str:
    """Return an interval as text, `12 to 15.5`; empty where there is none."""
    lower, upper = (None if bound is None else figure(f"{bound:.4g}") for bound in (low, high))
    if lower is None and upper is None:
        return ""
    if lower is None:
        return say("no lower limit to {high}", high=upper)
    if upper is None:
        return say("{low} to no upper limit", low=lower)
    return say("{low} to {high}", low=lower, high=upper)


def told(value: float, low: float | None, high: float | None) -> str:
    """Return a value with its interval as text, `104.2 (98 to 110.5)`."""
    within = reach(low, high)
    if within:
        return f"{figure(f'{value:.4g}')} ({within})"
    return figure(f"{value:.4g}")
