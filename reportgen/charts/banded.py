"""Bands over time: a line for each treatment, the band of its interval or range around it, its name
at its end.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import altair as alt

from reportgen import language
from reportgen.charts import line_ends, panels, plane, theme
from reportgen.charts.line_ends import End, Name
from reportgen.charts.plane import Axis, Plane
from reportgen.language import say
from reportgen.model.trial import Trial

HEIGHTS: Final = {True: 230, False: 110}  # px, by whether a figure is wide
WIDE: Final = 480  # px
MOST_LINES: Final = 8  # in one plane; more stand in panels
STEP_OF_LIMITS: Final = 4  # px from one treatment's last interval to the next
BAND_OPACITY: Final = 0.25
MOST_OPACITY: Final = 0.5  # of all bands where they lie on one another
ROOM: Final = 0.06  # of what is shown, above and below it

Row = dict[str, Any]
Interpolation = Literal["step-after", "linear"]


@dataclass(frozen=True)
class Line:
    """One line: its look and its rows in order of days.

    A row has the day, whether it `is_point`, and the fields of `estimates.figures`; rows of different `part`
    are not joined.
    """

    look: theme.Look
    rows: Sequence[Row]


@dataclass(frozen=True)
class Bands:
    """What a figure shows: lines, the title of the measure, how a line goes from day to day.

    The axis starts at zero where `is_from_zero`.
    """

    lines: Sequence[Line]
    title: str
    interpolation: Interpolation = "linear"
    is_from_zero: bool = True

    @property
    def rows(self) -> list[Row]:
        """Return the rows of all lines, each with its treatment's name."""
        rows: list[Row] = []
        for line in self.lines:
            rows += [{"part": 0, "treatment": line.look.name, **row} for row in line.rows]
        return rows

    @property
    def looks(self) -> list[theme.Look]:
        """Return the looks of the lines."""
        return [line.look for line in self.lines]


def draw(trial: Trial, bands: Bands, width: float = theme.WIDTH) -> alt.TopLevelMixin | None:
    """Draw the lines in one plane; many ones each in a panel, beside the reference's.

    None without any row.
    """
    if not bands.rows:
        return None
    x, y = _axes(trial, bands)
    if len(bands.lines) > MOST_LINES:
        return panels.draw([(line.look, line.rows) for line in bands.lines], x, y, width)
    return _together(bands, x, y, width)


def _axes(trial: Trial, bands: Bands) -> tuple[Axis, Axis]:
    rows = bands.rows
    days = [float(row["day"]) for row in rows]
    low, high = min(row["low"] for row in rows), max(row["high"] for row in rows)
    room = ROOM * (high - low) or abs(high) / 10 or 1.0
    if bands.is_from_zero:
        bottom = min(0.0, low)
    else:
        bottom = low - room
    first, last = min(days), max(days)
    if first == last:
        last = first + 1
    title = say("Days since the start on {day}", day=language.day(trial.started_on))
    return Axis(title, (first, last)), Axis(bands.title, (bottom, high + room))


def _together(bands: Bands, x: Axis, y: Axis, width: float) -> alt.LayerChart:
    height = float(HEIGHTS[width >= WIDE])
    room = line_ends.room_for([look.name for look in bands.looks], width)
    ground = plane.plane(width, height, x, y, names=room + _beside(bands))
    ends = [End(line.look, ground.px(line.rows[-1]["value"])) for line in bands.lines if line.rows]
    names = line_ends.names(ends, room, height)
    if not names:
        ground = plane.plane(width, height, x, y, plane.EDGE + _beside(bands)).with_key(bands.looks)
    layers = [*_bands(ground, bands), *_curves(ground, bands)]
    if bands.interpolation == "step-after":
        layers += _last_limits(ground, bands)
    return ground.figure([*layers, *_names(ground, bands, names)])


def _bands(ground: Plane, bands: Bands) -> list[alt.Chart]:
    """Return each band with thin edges in the treatment's dashes; nothing where none has a width."""
    wide = [row for row in bands.rows if row["low"] < row["high"]]
    if not wide:
        return []
    data = theme.rows("bands", bands.rows)
    opacity = min(BAND_OPACITY, MOST_OPACITY / len(bands.lines))
    area = ground.at("day", "low").mark_area(interpolate=bands.interpolation, fillOpacity=opacity)
    fill = {"fill": theme.fill(bands.looks), "detail": alt.Detail("part:N")}
    layers = [area.encode(y2=alt.Y2("high:Q"), **fill).properties(data=data)]
    for limit in ("low", "high"):
        edge = ground.at("day", limit).mark_line(
            interpolate=bands.interpolation, strokeWidth=0.8, strokeOpacity=0.6
        )
        layers.append(edge.encode(**_line_look(bands)).properties(data=data))
    return layers


def _line_look(bands: Bands) -> dict[str, Any]:
    looks = bands.looks
    return {
        "stroke": theme.line_colour(looks),
        "strokeDash": theme.dash(looks),
        "detail": alt.Detail("part:N"),
    }


def _curves(ground: Plane, bands: Bands) -> list[alt.Chart]:
    line = ground.at("day", "value").mark_line(interpolate=bands.interpolation, strokeWidth=2.2)
    curves = line.encode(**_line_look(bands)).properties(data=theme.rows("curves", bands.rows))
    at_points = [row for row in bands.rows if row["is_point"]]
    points = ground.at("day", "value").mark_point(size=45)
    tells = theme.tooltip("treatment:N", "day:Q", "value:Q", "reach:N")
    look = {"color": theme.colour(bands.looks), "shape": theme.shape(bands.looks)}
    return [
        curves,
        points.encode(**look, tooltip=tells).properties(data=theme.rows("points", at_points)),
    ]


def _last_limits(ground: Plane, bands: Bands) -> list[alt.Chart]:
    """Return each treatment's last interval beside the last day, where its band has no width."""
    layers: list[alt.Chart] = []
    for place, line in enumerate(bands.lines, 1):
        row = {"treatment": line.look.name, "part": 0, **line.rows[-1]}
        data = theme.rows(f"last interval {place}", [row])
        rule = ground.at("day", "low").mark_rule(xOffset=STEP_OF_LIMITS * place, strokeWidth=2)
        layers.append(rule.encode(y2=alt.Y2("high:Q"), **_line_look(bands)).properties(data=data))
    return layers


def _names(ground: Plane, bands: Bands, names: Sequence[Name]) -> list[alt.Chart]:
    if names:
        return line_ends.layers(names, ground.across + _beside(bands))
    return []


def _beside(bands: Bands) -> float:
    """Return the px that the last limits take between lines and names."""
    if bands.interpolation == "step-after":
        return STEP_OF_LIMITS * len(bands.lines)
    return 0.0
