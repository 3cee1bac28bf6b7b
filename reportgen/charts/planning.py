"""What a trial could show, before it is grown."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any, Final

import altair as alt

from reportgen.charts import placed, plane, theme
from reportgen.charts.lettering import width as width_of
from reportgen.charts.placed import Label
from reportgen.charts.plane import Axis, Plane
from reportgen.language import plural, say

HEIGHT: Final = 260  # px
OFF: Final = 11  # px from a mark to the middle of its figure, up or down
BESIDE: Final = 44.0  # px, room for a figure beside the first and the last mark
AROUND: Final = 140.0  # px of a figure's width that its lines do not take, about


@dataclass(frozen=True)
class Detectable:
    """The smallest difference, as a fraction of the mean, that `trays` trays a treatment of
    `plants` plants show.
    """

    trays: int
    plants: int
    difference: float | None


def smallest_difference(
    rows: Sequence[Detectable],
    level: float,
    power: float,
    group: str = "treatment",
    width: float = theme.WIDTH,
) -> alt.LayerChart | None:
    """Draw the smallest detectable difference (%) against the number of trays, a line for each
    number of plants.

    level: of confidence, power: of showing the difference, both fractions; group: what the trays
    are counted by, a treatment or a combination of levels. Zero included. None where no difference
    is known.
    """
    known = [row for row in rows if row.difference is not None and isfinite(row.difference)]
    if not known:
        return None
    ordered = sorted(known, key=lambda row: (row.plants, row.trays))
    counts = list(dict.fromkeys(row.plants for row in ordered))
    looks = [theme.look(place + 1, _name(count)) for place, count in enumerate(counts)]
    names = dict(zip(counts, looks, strict=True))
    points = [_point(row, names[row.plants].name, row.plants == counts[0]) for row in ordered]
    terms = say(
        "{level} level, {power} power", level=theme.percent(level), power=theme.percent(power)
    )
    ground = _ground(
        points, terms, say("Trays a {treatment} (number)", treatment=group), looks, width
    )
    return ground.figure(_layers(ground, points, looks))


def _name(plants: int) -> str:
    return plural("{number} plant a tray", "{number} plants a tray", plants)


def _point(row: Detectable, name: str, is_upper: bool) -> dict[str, Any]:
    percent = 100 * (row.difference or 0.0)
    if percent >= 10:
        digits = 0
    else:
        digits = 1
    figure = f"{percent:.{digits}f}"
    return {
        "treatment": name,
        "trays": row.trays,
        "percent": percent,
        "figure": figure,
        "is_upper": is_upper,
    }


def _ground(
    points: Sequence[dict[str, Any]],
    terms: str,
    across: str,
    looks: Sequence[theme.Look],
    width: float,
) -> Plane:
    counts = sorted({point["trays"] for point in points})
    widest = max(width_of(point["figure"]) for point in points)
    every = -(-len(counts) * int(widest + 8) // int(width - 60))
    room = (counts[-1] - counts[0]) * BESIDE / (width - AROUND) or 1.0
    top = 1.12 * max(point["percent"] for point in points) or 1.0
    x = Axis(across, (counts[0] - room, counts[-1] + room), tuple(map(float, counts[::every])))
    y = Axis(f"Smallest difference detectable (%), lower is better; {terms}", (0.0, top))
    return plane.plane(width, HEIGHT, x, y).with_key(looks)


def _layers(
    ground: Plane, points: Sequence[dict[str, Any]], looks: Sequence[theme.Look]
) -> list[alt.Chart]:
    dots = ground.at("trays", "percent").mark_point(size=70)
    dots = dots.encode(color=theme.colour(looks), shape=theme.shape(looks))
    line = ground.at("trays", "percent").mark_line()
    line = line.encode(stroke=theme.line_colour(looks), strokeDash=theme.dash(looks))
    return [
        line.properties(data=theme.rows("lines", points)),
        dots.properties(data=theme.rows("points", points)),
        *placed.texts("figures", _figures(ground, points)),
    ]


def _figures(ground: Plane, points: Sequence[dict[str, Any]]) -> list[Label]:
    """Return the figures at the marks: above and right of the upper line, which falls, below and
    left of the others.
    """
    found: list[Label] = []
    for point in points:
        if float(point["trays"]) in ground.x.ticks:
            x, y = ground.px_across(point["trays"]), ground.px(point["percent"])
            if point["is_upper"]:
                found.append(Label(x + OFF / 2, y - OFF, point["figure"], "left"))
            else:
                found.append(Label(x - OFF / 2, y + OFF, point["figure"], "right"))
    return found
