"""Mean light over height, treatment by treatment, and where it meets a level."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

import altair as alt

from reportgen.charts import estimates, leaders, placed, plane, theme
from reportgen.charts.leaders import Place
from reportgen.charts.lettering import LINE, wrapped
from reportgen.charts.lettering import width as width_of
from reportgen.charts.plane import Axis, Plane

HEIGHT: Final = 280  # px
HEAD: Final = 30  # px above all light, for the heights that meet the level
LEVEL_SHARE: Final = 0.2  # of the width, the most for the text of the level
BESIDE: Final = 8  # px from the plane to the text of the level
ROOM: Final = 0.06  # of heights and light, around what is shown
Record = dict[str, Any]


@dataclass(frozen=True)
class LightAt:
    """Mean light at a height in cm, in the unit of the figure.

    `low` and `high` are None where no interval is known.
    """

    height: float
    light: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class LightLine:
    """The interpolated course of one treatment, its measured means, its match with the level."""

    name: str
    course: tuple[LightAt, ...]
    measured: tuple[LightAt, ...]
    matched: LightAt | None = None


@dataclass(frozen=True)
class _Level:
    """A level of light, and what is said of it in lines."""

    light: float
    text: list[str]


def light_over_height(
    lines: Sequence[LightLine],
    title: str,
    level: float | None,
    level_text: str,
    width: float = theme.WIDTH,
) -> alt.LayerChart:
    """Draw mean light over height: measured points, interpolated lines with bands, the level.

    lines: the reference first, at least one with something measured. title: of the upright axis,
    with its unit. Treatments differ by shape and dash beside colour; the heights that meet the
    level are written above the lines.
    """
    looks = [theme.look(place, theme.one_line(line.name)) for place, line in enumerate(lines)]
    rule = None
    if level is not None:
        rule = _Level(level, wrapped(theme.one_line(level_text), LEVEL_SHARE * width))
    ground = _ground(lines, title, rule, width).with_key(looks)
    layers = [*_bands(ground, lines, looks), *_courses(ground, lines, looks)]
    if rule is not None:
        layers += _level(ground, rule)
    return ground.figure([*layers, *_measured(ground, lines, looks), *_matched(ground, lines)])


def _ground(lines: Sequence[LightLine], title: str, level: _Level | None, width: float) -> Plane:
    """Return the plane: a row for heights above all light, the text of the level on the right."""
    x = Axis("Height (cm)", _height_ends(lines))
    text: list[str] = []
    if level is not None:
        text = level.text
    names = max(map(width_of, text), default=0.0) + BESIDE
    return plane.plane(width, HEIGHT, x, Axis(title, _light_ends(lines, level)), names)


def _height_ends(lines: Sequence[LightLine]) -> tuple[float, float]:
    """Return the ends of the axis of heights, around those measured."""
    heights: list[float] = []
    for line in lines:
        heights += [point.height for point in line.measured]
    room = ROOM * (max(heights) - min(heights)) or 1.0
    return min(heights) - room, max(heights) + room


def _light_ends(lines: Sequence[LightLine], level: _Level | None) -> tuple[float, float]:
    """Return the ends of the axis of light, with the row for heights where some meet the level."""
    light = list(_light(lines))
    if level is not None:
        light.append(level.light)
    low, high = min(light), max(light)
    margin = ROOM * (high - low) or abs(high) / 10 or 1.0
    head = margin
    if any(line.matched for line in lines):
        head = (high - low + margin) * HEAD / (HEIGHT - HEAD)
    return low - margin, high + head


def _light(lines: Sequence[LightLine]) -> Iterator[float]:
    """Yield the means and the ends of intervals of all lines."""
    for line in lines:
        for point in (*line.measured, *line.course):
            yield from estimates.numbers(point.light, point.low, point.high)


def _bands(
    ground: Plane, lines: Sequence[LightLine], looks: Sequence[theme.Look]
) -> list[alt.Chart]:
    """Return each treatment's band, and above all bands their edges with the treatment's dash."""
    areas: list[alt.Chart] = []
    edges: list[alt.Chart] = []
    for line, look in zip(lines, looks, strict=True):
        rows = [_record(line.name, point) for point in line.course]
        area = (
            ground.at("height", "low")
            .mark_area(opacity=theme.PALE, color=look.colour)
            .encode(y2=alt.Y2("high:Q"))
        )
        areas.append(area.properties(data=theme.rows(f"band {look.name}", rows)))
        for end in ("low", "high"):
            edge = ground.at("height", end).mark_line(
                strokeWidth=0.8, color=look.colour, strokeDash=list(look.dash)
            )
            edges.append(edge.properties(data=theme.rows(f"{end} {look.name}", rows)))
    return areas + edges


def _courses(
    ground: Plane, lines: Sequence[LightLine], looks: Sequence[theme.Look]
) -> list[alt.Chart]:
    rows: list[Record] = []
    for line, look in zip(lines, looks, strict=True):
        rows += [_record(look.name, point) for point in line.course]
    mark = ground.at("height", "light").mark_line(strokeWidth=2)
    chart = mark.encode(stroke=theme.line_colour(looks), strokeDash=theme.dash(looks))
    return [chart.properties(data=theme.rows("courses", rows))]


def _measured(
    ground: Plane, lines: Sequence[LightLine], looks: Sequence[theme.Look]
) -> list[alt.Chart]:
    """Return the measured means, each with the interval of its spread where that is known."""
    rows: list[Record] = []
    for line, look in zip(lines, looks, strict=True):
        rows += [_record(look.name, point) for point in line.measured]
    whiskers = [row for row in rows if row["low"] is not None]
    whisker = ground.at("height", "low").mark_rule(strokeWidth=1)
    whisker = whisker.encode(y2=alt.Y2("high:Q"), stroke=theme.line_colour(looks))
    points = ground.at("height", "light").mark_point(size=70)
    points = points.encode(color=theme.colour(looks), shape=theme.shape(looks))
    return [
        whisker.properties(data=theme.rows("whiskers", whiskers)),
        points.properties(data=theme.rows("measured", rows)),
    ]


def _level(ground: Plane, level: _Level) -> list[alt.Chart]:
    """Return the rule at the level, across the plane, with its text behind its right end."""
    rule = alt.Chart().mark_rule(strokeWidth=1.2).encode(y=ground.upright_channel("light"))
    y = min(ground.px(level.light), ground.height) - LINE * len(level.text) / 2
    labels = placed.lines(ground.across + BESIDE, y, level.text)
    return [
        rule.properties(data=theme.rows("level", [{"light": level.light}])),
        *placed.texts("level", labels),
    ]


def _matched(ground: Plane, lines: Sequence[LightLine]) -> list[alt.Chart]:
    """Return an open ring where each line meets the level, its height in a row above all lines."""
    matches = [line.matched for line in lines if line.matched is not None]
    if not matches:
        return []
    rows: list[Record] = []
    places: list[Place] = []
    for match in matches:
        rows.append({"height": match.height, "light": match.light})
        text = f"{theme.digits(match.height)} cm"
        places.append(Place(ground.px_across(match.height), ground.px(match.light), text))
    ring = ground.at("height", "light").mark_point(
        filled=False, size=190, shape="circle", strokeWidth=1.5
    )
    ring = ring.encode(color=alt.ColorValue(theme.INK))
    figures = leaders.in_row(places, 0.0, ground.across, LINE / 2)
    return [ring.properties(data=theme.rows("matched", rows)), *leaders.layers(figures)]


def _record(name: str, point: LightAt) -> Record:
    return {
        "treatment": theme.one_line(name),
        "height": point.height,
        "light": point.light,
        "low": point.low,
        "high": point.high,
    }
