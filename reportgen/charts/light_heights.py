"""Mean light over height, treatment by treatment, and where it meets a level."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import altair as alt

from reportgen.charts import theme

HEIGHT: Final = 340  # px
BESIDE: Final = 8  # px from the middle of a ring to the left end of its figure
OFF: Final = 14  # px from the middle of a ring up or down to the middle of its figure
LABEL: Final = 15  # px, the height of a figure
Record = dict[str, Any]


@dataclass(frozen=True)
class LightAt:
    """Mean light at a height in cm, in the unit of the figure; `low` and `high` are None where no interval is known."""

    height: float
    light: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class LightLine:
    """What one treatment shows: its interpolated course, what was measured, the height that meets the level."""

    name: str
    course: tuple[LightAt, ...]
    measured: tuple[LightAt, ...]
    matched: LightAt | None = None


def light_over_height(lines: Sequence[LightLine], title: str, level: float | None, level_text: str) -> alt.LayerChart:
    """Draw mean light over height: measured points, interpolated lines with bands, and a rule at the level.

    lines: the reference first, at least one with something measured. title: of the vertical axis, with its unit.
    Treatments differ by shape and dash beside colour; the heights that meet the level are written there.
    """
    looks = [theme.look(place, theme.one_line(line.name)) for place, line in enumerate(lines)]
    layers = [*_bands(lines, looks), *_courses(lines, looks)]
    if level is not None:
        layers += _level(lines, level, level_text)
    layers += _measured(lines, looks)
    layers += _matched(lines)
    x = _heights(lines)
    y = alt.Y("light:Q", scale=alt.Scale(zero=False, padding=12), title=title)
    return theme.figure([layer.encode(x=x, y=y) for layer in layers], HEIGHT)


def _heights(lines: Sequence[LightLine]) -> alt.X:
    heights = [point.height for line in lines for point in line.measured]
    scale = theme.scale(heights, 24)
    return alt.X("height:Q", scale=scale, axis=alt.Axis(grid=False), title="Height (cm)")


def _bands(lines: Sequence[LightLine], looks: Sequence[theme.Look]) -> list[alt.Chart]:
    """Return each treatment's band, and above all bands their edges, which carry the dash of the treatment."""
    areas: list[alt.Chart] = []
    edges: list[alt.Chart] = []
    for line, look in zip(lines, looks, strict=True):
        rows = [_record(line.name, point) for point in line.course]
        area = alt.Chart().mark_area(opacity=1, color=theme.tint(look.colour)).encode(y2="high:Q")
        areas.append(area.properties(data=_at_end(f"band {look.name}", rows, "low")))
        for end in ("low", "high"):
            edge = alt.Chart().mark_line(strokeWidth=0.8, color=look.colour, strokeDash=list(look.dash))
            edges.append(edge.properties(data=_at_end(f"{end} {look.name}", rows, end)))
    return areas + edges


def _at_end(name: str, rows: Sequence[Record], end: str) -> alt.InlineData:
    return theme.rows(name, [row | {"light": row[end]} for row in rows])


def _courses(lines: Sequence[LightLine], looks: Sequence[theme.Look]) -> list[alt.Chart]:
    rows = [_record(look.name, point) for line, look in zip(lines, looks, strict=True) for point in line.course]
    chart = alt.Chart().mark_line(strokeWidth=2).encode(stroke=theme.line_colour(looks), strokeDash=theme.dash(looks))
    return [chart.properties(data=theme.rows("courses", rows))]


def _measured(lines: Sequence[LightLine], looks: Sequence[theme.Look]) -> list[alt.Chart]:
    """Return the measured means, each with the interval of its spread where that is known."""
    rows = [_record(look.name, point) for line, look in zip(lines, looks, strict=True) for point in line.measured]
    whiskers = [row | {"light": row["low"]} for row in rows if row["low"] is not None]
    whisker = alt.Chart().mark_rule(strokeWidth=1).encode(y2="high:Q", stroke=theme.line_colour(looks))
    points = alt.Chart().mark_point(size=80)
    legend = _names_above(looks)
    points = points.encode(color=theme.colour(looks).legend(legend), shape=theme.shape(looks).legend(legend))
    return [
        whisker.properties(data=theme.rows("whiskers", whiskers)),
        points.properties(data=theme.rows("measured", rows)),
    ]


def _names_above(looks: Sequence[theme.Look]) -> alt.Legend:
    """Return a legend above the figure that cuts no name: as many columns as the longest name allows."""
    longest = max((len(look.name) for look in looks), default=1)
    columns = max(1, int((theme.WIDTH - 40) / (longest * theme.CHARACTER + 34)))
    return alt.Legend(
        orient="top", direction="horizontal", columns=min(columns, len(looks)), labelLimit=theme.WIDTH - 40
    )


def _level(lines: Sequence[LightLine], level: float, text: str) -> list[alt.Chart]:
    """Return the rule at the level, across all heights, with its figure above the right end."""
    heights = [point.height for line in lines for point in line.measured]
    ends = [{"height": height, "light": level} for height in (min(heights), max(heights))]
    rule = alt.Chart().mark_line(strokeWidth=1.2, color=theme.INK)
    label = alt.Chart().mark_text(align="right", baseline="bottom", dy=-4)
    return [
        rule.properties(data=theme.rows("level", ends)),
        label.encode(text=alt.value(theme.one_line(text))).properties(data=theme.rows("level text", ends[1:])),
    ]


def _rises(line: LightLine) -> bool:
    return line.course[-1].light > line.course[0].light


def _matched(lines: Sequence[LightLine]) -> list[alt.Chart]:
    """Return an open ring where each line meets the level; its height stands beside it, off the line.

    Neighbours' heights stand one above the other, so that they do not run into each other.
    """
    layers: list[alt.Chart] = []
    known = [(line.matched.height, line) for line in lines if line.matched is not None]
    for place, (height, line) in enumerate(sorted(known, key=lambda pair: pair[0])):
        row = {"height": height, "light": line.matched.light if line.matched else 0.0}
        data = theme.rows(f"matched {theme.one_line(line.name)}", [row | {"figure": f"{theme.digits(height)} cm"}])
        ring = alt.Chart().mark_point(filled=False, size=190, shape="circle", color=theme.INK, strokeWidth=1.5)
        drop = OFF + LABEL * (place % 2)
        up = drop if _rises(line) else -drop
        halo = alt.Chart().mark_text(align="left", dx=BESIDE, dy=up)
        text = alt.Chart().mark_text(align="left", dx=BESIDE, dy=up)
        layers.append(ring.properties(data=data))
        layers += [label.encode(text="figure:N").properties(data=data) for label in (halo, text)]
    return layers


def _record(name: str, point: LightAt) -> Record:
    return {
        "treatment": theme.one_line(name),
        "height": point.height,
        "light": point.light,
        "low": point.low,
        "high": point.high,
    }
