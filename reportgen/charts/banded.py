"""Lines of treatments over days, each with the band of its intervals and its name at its end."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import altair as alt

from reportgen.charts import theme
from reportgen.charts.line_ends import LABEL_GAP, LABEL_HEIGHT, spread, wrapped
from reportgen.charts.tooltips import reach
from reportgen.model.results import Estimate
from reportgen.model.trial import Trial

HEIGHT: Final = 320  # px
MOST_TICKS: Final = 16
STEP_OF_LIMITS: Final = 4  # px from one treatment's last interval to the next
BAND_OPACITY: Final = 0.25
MOST_OPACITY: Final = 0.5  # of all bands where they lie on one another

Row = dict[str, Any]
Interpolation = Literal["step-after", "linear"]


@dataclass(frozen=True)
class BandedLines:
    """The rows of each line in order of days, the axes' titles, and how a line goes from day to day.

    A row has the treatment's name, the day, whether it `is_point`, and the fields of `figures`.
    """

    lines: Sequence[Sequence[Row]]
    value_title: Sequence[str]
    interpolation: Interpolation

    @property
    def rows(self) -> list[Row]:
        """Return the rows of all lines."""
        return [row for line in self.lines for row in line]


def figures(estimate: Estimate) -> Row:
    """Return a figure with its limits; it stands alone where it has none."""
    low, high = estimate.low, estimate.high
    return {
        "value": estimate.value,
        "low": estimate.value if low is None else low,
        "high": estimate.value if high is None else high,
        "reach": reach(low, high),
    }


def draw(trial: Trial, drawn: BandedLines, shown: Sequence[theme.Look]) -> alt.LayerChart:
    """Draw lines from zero up; thin lines with the treatment's dashes edge each band."""
    axes = _axes(trial, drawn)
    layers = [*_bands(axes, drawn, shown), *_curves(axes, drawn, shown), *_names(axes, drawn.lines, shown)]
    if drawn.interpolation == "step-after":
        layers += _last_limits(axes, drawn.lines, shown)
    return theme.figure(layers, HEIGHT)


@dataclass(frozen=True)
class _Axes:
    """The axes that all layers share."""

    days: alt.X
    bottom: float
    top: float
    title: Sequence[str]

    def at(self, field: str) -> alt.Chart:
        """Return a chart that places a field by day."""
        scale = alt.Scale(domain=[self.bottom, self.top])
        values = alt.Y(f"{field}:Q", scale=scale, title=list(self.title))
        chart: alt.Chart = alt.Chart().encode(x=self.days, y=values)
        return chart


def _axes(trial: Trial, drawn: BandedLines) -> _Axes:
    rows = drawn.rows
    days = [row["day"] for row in rows]
    bottom = min(0.0, 1.05 * min(row["low"] for row in rows))
    top = 1.05 * max(row["high"] for row in rows) or 1.0
    span = alt.Scale(domain=[min(days), max(days)], nice=False)
    across = theme.days(trial, _ticks(rows)).scale(span)
    return _Axes(across, bottom, top, drawn.value_title)


def _ticks(rows: Sequence[Row]) -> list[float]:
    """Return the days of points, for ticks to stand at; none where they are too many to be told apart."""
    days = sorted({row["day"] for row in rows if row["is_point"]})
    return days if len(days) <= MOST_TICKS else []


def _bands(axes: _Axes, drawn: BandedLines, shown: Sequence[theme.Look]) -> list[alt.Chart]:
    data = theme.rows("bands", drawn.rows)
    scale = alt.Scale(domain=[look.name for look in shown], range=[look.colour for look in shown])
    fill = alt.Fill("treatment:N", scale=scale, title=None, legend=None)
    stroke, dash = theme.line_colour(shown), theme.dash(shown)
    opacity = min(BAND_OPACITY, MOST_OPACITY / len(shown))
    area = axes.at("low").mark_area(interpolate=drawn.interpolation, fillOpacity=opacity)
    layers = [area.encode(y2="high:Q", fill=fill).properties(data=data)]
    for limit in ("low", "high"):
        edge = axes.at(limit).mark_line(interpolate=drawn.interpolation, strokeWidth=0.8, strokeOpacity=0.6)
        layers.append(edge.encode(stroke=stroke, strokeDash=dash).properties(data=data))
    return layers


def _curves(axes: _Axes, drawn: BandedLines, shown: Sequence[theme.Look]) -> list[alt.Chart]:
    line = axes.at("value").mark_line(interpolate=drawn.interpolation, strokeWidth=2.2)
    points = axes.at("value").mark_point(size=60)
    at_points = [row for row in drawn.rows if row["is_point"]]
    tells = ["treatment:N", "day:Q", "value:Q", "reach:N"]
    colour, shape = theme.colour(shown).legend(None), theme.shape(shown).legend(None)
    curves = line.encode(stroke=theme.line_colour(shown), strokeDash=theme.dash(shown))
    return [
        curves.properties(data=theme.rows("curves", drawn.rows)),
        points.encode(color=colour, shape=shape, tooltip=tells).properties(data=theme.rows("points", at_points)),
    ]


def _last_limits(axes: _Axes, lines: Sequence[Sequence[Row]], shown: Sequence[theme.Look]) -> list[alt.Chart]:
    """Return each treatment's last interval beside the last day, where the band of a step has no width."""
    layers: list[alt.Chart] = []
    for place, line in enumerate(lines, 1):
        data = theme.rows(f"last interval {place}", [line[-1]])
        rule = axes.at("low").mark_rule(xOffset=STEP_OF_LIMITS * place, strokeWidth=2)
        look = {"stroke": theme.line_colour(shown), "strokeDash": theme.dash(shown)}
        layers.append(rule.encode(y2="high:Q", **look).properties(data=data))
    return layers


def _names(axes: _Axes, lines: Sequence[Sequence[Row]], shown: Sequence[theme.Look]) -> list[alt.Chart]:
    """Return each treatment's symbol and name where its line ends, or as near as its neighbours allow."""
    ends = sorted((line[-1] for line in lines), key=lambda row: row["value"])
    gap = (axes.top - axes.bottom) * LABEL_GAP / HEIGHT
    places = spread([end["value"] for end in ends], gap, axes.top)
    labels: list[Row] = []
    for end, place in zip(ends, places, strict=True):
        labels.append({**end, "value": place, "label": wrapped(end["treatment"])})
    base = axes.at("value").properties(data=theme.rows("names", labels))
    text = base.mark_text(align="left", dx=30, lineBreak="\n", lineHeight=LABEL_HEIGHT, baseline="middle")
    colour, shape = theme.colour(shown).legend(None), theme.shape(shown).legend(None)
    return [base.mark_point(xOffset=20).encode(color=colour, shape=shape), text.encode(text="label:N")]
