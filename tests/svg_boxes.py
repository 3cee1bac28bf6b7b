"""Where things lie in a drawn figure: boxes of its texts, strokes of its lines, marks, read off its
SVG.

Widths of letters are those of the font that figures are set in, by Pillow.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from xml.etree import ElementTree

from PIL import ImageFont

from reportgen.render import templates

FONTS = templates.folder() / "assets" / "fonts"
SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?(?:\d+\.?\d*|\.\d+)(?:e-?\d+)?")
COMMAND = re.compile(r"([MLHVAZCQmlhvazcq])([^MLHVAZCQmlhvazcq]*)")
PARAMETERS = {"M": 2, "L": 2, "H": 1, "V": 1, "A": 7, "C": 6, "Q": 4, "Z": 0}
ASCENT, DESCENT = (
    0.73,
    0.2,
)  # of the size: capitals and figures above, tails below the line that letters stand on
FAINTEST = 0.3  # opacity of what counts as a line; grid lines are fainter


@dataclass(frozen=True)
class Box:
    """A box: its sides, px from the left and from the top, and what is in it."""

    left: float
    top: float
    right: float
    bottom: float
    what: str = ""

    def shrunk(self, by: float) -> "Box":
        return Box(self.left + by, self.top + by, self.right - by, self.bottom - by, self.what)

    def meets(self, other: "Box") -> bool:
        beside = self.right <= other.left or other.right <= self.left
        return not beside and not (self.bottom <= other.top or other.bottom <= self.top)

    def holds(self, x: float, y: float) -> bool:
        return self.left < x < self.right and self.top < y < self.bottom


@dataclass(frozen=True)
class Drawn:
    """What a figure holds: its frame, its texts, its lines as points, its marks (symbols), all with
    areas as boxes.
    """

    frame: Box
    texts: tuple[Box, ...]
    lines: tuple[tuple[tuple[float, float], ...], ...]
    marks: tuple[Box, ...]
    areas: tuple[Box, ...]
    sizes: tuple[float, ...]
    colours: tuple[tuple[str, float], ...]
    text_colours: tuple[str, ...]


@cache
def _font(is_bold: bool) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(
        str(FONTS / ("Inter-Bold.ttf" if is_bold else "Inter-Regular.ttf")), 120
    )


def text_width(text: str, size: float, is_bold: bool) -> float:
    return _font(is_bold).getlength(text) * size / 120


def read(svg: str) -> Drawn:
    """Return what a figure holds."""
    root = ElementTree.fromstring(svg)
    frame = Box(0, 0, float(root.get("width")), float(root.get("height")))
    found = {
        "texts": [],
        "lines": [],
        "marks": [],
        "areas": [],
        "sizes": [],
        "colours": [],
        "text_colours": [],
    }
    _walk(root, (0.0, 0.0), found)
    return Drawn(frame, **{name: tuple(values) for name, values in found.items()})


def _walk(element, origin, found) -> None:
    if element.get("display") == "none":
        return
    x, y = _moved(element, origin)
    tag = element.tag.removeprefix(SVG)
    if tag == "text":
        _text(element, (x, y), found)
    elif tag in ("path", "line", "rect"):
        _shape(element, tag, (x, y), found)
    for child in element:
        if tag != "text":
            _walk(child, (x, y), found)


def _moved(element, origin):
    transform = element.get("transform", "")
    assert "rotate" not in transform, "a text that stands upright is hard to read"
    match = re.match(r"translate\(([^,)]+)(?:,([^)]+))?\)", transform)
    if not match:
        return origin
    return origin[0] + float(match[1]), origin[1] + float(match[2] or 0)


def _text(element, at, found) -> None:
    if element.get("opacity") == "0":
        return
    size = float(element.get("font-size", "0").removesuffix("px"))
    is_bold = element.get("font-weight") == "bold"
    lines = [("".join(element.itertext()), 0.0)]
    spans = element.findall(f"{SVG}tspan")
    if spans:
        y, lines = 0.0, []
        for span in spans:
            y += float(span.get("dy", "0"))
            lines.append((span.text or "", y))
    for text, down in lines:
        width = text_width(text, size, is_bold)
        left = (
            at[0]
            - {"start": 0.0, "middle": width / 2, "end": width}[element.get("text-anchor", "start")]
        )
        base = at[1] + down
        found["texts"].append(
            Box(left, base - ASCENT * size, left + width, base + DESCENT * size, text)
        )
    found["sizes"].append(size)
    found["text_colours"].append(element.get("fill", ""))


def _opacity(element, name: str) -> float:
    return float(element.get("opacity", "1")) * float(element.get(f"{name}-opacity", "1"))


def _shape(element, tag, at, found) -> None:
    points = [(at[0] + x, at[1] + y) for x, y in _points(element, tag)]
    fill, stroke = element.get("fill", "none"), element.get("stroke", "none")
    if tag == "line":
        fill = "none"
    has_fill = fill not in ("none", "transparent") and _opacity(element, "fill") > 0
    has_stroke = stroke not in ("none", "transparent") and _opacity(element, "stroke") > 0
    if not points or not (has_fill or has_stroke):
        return
    box = Box(
        min(x for x, _ in points),
        min(y for _, y in points),
        max(x for x, _ in points),
        max(y for _, y in points),
    )
    found["areas"].append(box)
    if has_fill:
        found["colours"].append((fill, _opacity(element, "fill")))
    if has_stroke:
        found["colours"].append((stroke, _opacity(element, "stroke")))
    if element.get("transform") and tag == "path" and _is_small(box):
        found["marks"].append(box)
    elif has_stroke and not has_fill and _opacity(element, "stroke") >= FAINTEST:
        found["lines"].append(tuple(points))


def _is_small(box: Box) -> bool:
    return box.right - box.left < 30 and box.bottom - box.top < 30


def _points(element, tag) -> list[tuple[float, float]]:
    if tag == "line":
        end = float(element.get("x2", "0")), float(element.get("y2", "0"))
        return [(float(element.get("x1", "0")), float(element.get("y1", "0"))), end]
    if tag == "rect":
        x, y = float(element.get("x", "0")), float(element.get("y", "0"))
        return [
            (x, y),
            (x + float(element.get("width", "0")), y + float(element.get("height", "0"))),
        ]
    return list(_path(element.get("d", "")))


def _path(data: str) -> Iterator[tuple[float, float]]:
    """Yield the points that a path goes through; of curves their ends, of a circle's arcs its sides
    too.
    """
    x = y = 0.0
    start = (0.0, 0.0)
    for command, rest in COMMAND.findall(data):
        numbers = [float(one) for one in NUMBER.findall(rest)]
        count = PARAMETERS[command.upper()]
        groups = (
            [numbers[place : place + count] for place in range(0, len(numbers), count)]
            if count
            else [[]]
        )
        for group in groups:
            before = (x, y)
            x, y = _end(command, group, before, start)
            if command in "Mm":
                start = (x, y)
            if command in "Aa":
                yield from _sides(group[0], before, (x, y))
            yield x, y


def _end(command: str, group: Sequence[float], before, start) -> tuple[float, float]:
    base = before if command.islower() else (0.0, 0.0)
    kind = command.upper()
    if kind == "Z":
        return start
    if kind == "H":
        return base[0] + group[0], before[1]
    if kind == "V":
        return before[0], base[1] + group[0]
    return base[0] + group[-2], base[1] + group[-1]


def _sides(radius: float, before, after) -> Iterator[tuple[float, float]]:
    middle = (before[0] + after[0]) / 2, (before[1] + after[1]) / 2
    yield middle[0], middle[1] - radius
    yield middle[0], middle[1] + radius
    yield middle[0] - radius, middle[1]
    yield middle[0] + radius, middle[1]


# ---- what must not be ----------------------------------------------------------------------------


def outside(drawn: Drawn) -> list[str]:
    """Return what reaches out of the frame."""
    frame = drawn.frame
    return [
        f"{one.what or 'mark'} {one.left:.0f} {one.top:.0f} {one.right:.0f} {one.bottom:.0f}"
        for one in (*drawn.texts, *drawn.areas)
        if one.left < -0.5
        or one.top < -0.5
        or one.right > frame.right + 0.5
        or one.bottom > frame.bottom + 0.5
    ]


def texts_that_meet(drawn: Drawn) -> list[str]:
    """Return pairs of texts that lie on each other."""
    boxes = [one.shrunk(1) for one in drawn.texts if one.what.strip()]
    found = []
    for place, one in enumerate(boxes):
        found += [f"{one.what} / {other.what}" for other in boxes[place + 1 :] if one.meets(other)]
    return found


def texts_over_lines(drawn: Drawn) -> list[str]:
    """Return texts that a line runs through, or that lie on a mark."""
    found = []
    for one in (text.shrunk(1.5) for text in drawn.texts if text.what.strip()):
        if any(_crosses(one, line) for line in drawn.lines):
            found.append(f"{one.what} on a line")
        if any(one.meets(mark) for mark in drawn.marks):
            found.append(f"{one.what} on a mark")
    return found


def _crosses(box: Box, points) -> bool:
    return any(_passes(box, *pair) for pair in pairwise(points))


def _passes(box: Box, start, end) -> bool:
    """Return whether a straight line passes through a box: Liang and Barsky 1984, ACM Trans.

    Graph. 3:1-22.
    """
    low, high = 0.0, 1.0
    for begin, change, least, most in (
        (start[0], end[0] - start[0], box.left, box.right),
        (start[1], end[1] - start[1], box.top, box.bottom),
    ):
        if change == 0:
            if not least < begin < most:
                return False
            continue
        ends = sorted(((least - begin) / change, (most - begin) / change))
        low, high = max(low, ends[0]), min(high, ends[1])
    return low < high
