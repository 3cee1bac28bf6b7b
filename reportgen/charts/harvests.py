"""What a crop that is picked more than once had given, day by day."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import altair as alt

from reportgen.charts import theme
from reportgen.charts.line_ends import LABEL_GAP, LABEL_HEIGHT, spread, wrapped
from reportgen.charts.tooltips import reach
from reportgen.language import say
from reportgen.model.results import CumulativeYield, Estimate
from reportgen.model.trial import Trial

HEIGHT: Final = 320  # px
STEP: Final = "step-after"  # what was picked stays picked: level until the next picking
BAND_OPACITY: Final = 0.25
MOST_OPACITY: Final = 0.5  # of all bands where they lie on one another
LEAD: Final = 0.04  # of the season, drawn before the first picking and after the last

_Row = dict[str, Any]


def cumulative_yield(trial: Trial, found: CumulativeYield) -> alt.LayerChart | None:
    """Draw what each treatment had given by the end of each day of picking: a step a picking, from zero up.

    The band is the interval of each day by itself; thin lines with the treatment's dashes edge it. Each line ends in
    its treatment's name. None where no treatment has a figure.
    """
    looks = theme.looks(trial)
    lines = [line for code, look in looks.items() if (line := list(_line(trial, found, code, look.name)))]
    if not lines:
        return None
    return theme.figure(_layers(trial, found, lines, list(looks.values())), HEIGHT)


def _line(trial: Trial, found: CumulativeYield, code: str, name: str) -> Iterator[_Row]:
    """Yield the row of each day of a treatment, one of nothing before them, and the last level again behind them."""
    estimates = [(day.on, dict(day.estimates)[code]) for day in found.days]
    known = [(on, estimate) for on, estimate in estimates if estimate.value is not None]
    if not known:
        return
    first, last = (_day(trial, found.days[at].on) for at in (0, -1))
    margin = LEAD * (last - first)
    nothing = Estimate(0.0)
    yield {"treatment": name, "day": first - margin, "is_picking": False, **_figures(nothing)}
    for on, estimate in known:
        yield {"treatment": name, "day": _day(trial, on), "is_picking": True, **_figures(estimate)}
    yield {"treatment": name, "day": last + margin, "is_picking": False, **_figures(known[-1][1])}


def _day(trial: Trial, on: date) -> int:
    return (on - trial.started_on).days


def _figures(estimate: Estimate) -> _Row:
    """Return a figure with its limits; it stands alone where it has none, as before the first picking."""
    low, high = estimate.low, estimate.high
    return {
        "value": estimate.value,
        "low": estimate.value if low is None else low,
        "high": estimate.value if high is None else high,
        "reach": reach(low, high),
    }


@dataclass(frozen=True)
class _Axes:
    """The axes that all layers share."""

    days: alt.X
    top: float
    title: list[str]

    def at(self, field: str) -> alt.Chart:
        """Return a chart that places a field by day."""
        values = alt.Y(f"{field}:Q", scale=alt.Scale(domain=[0, self.top]), title=self.title)
        chart: alt.Chart = alt.Chart().encode(x=self.days, y=values)
        return chart


def _layers(
    trial: Trial, found: CumulativeYield, lines: Sequence[Sequence[_Row]], shown: Sequence[theme.Look]
) -> list[alt.Chart]:
    rows = [row for line in lines for row in line]
    axes = _axes(trial, found, rows)
    return [*_bands(axes, rows, shown), *_curves(axes, rows, shown), *_names(axes, lines, shown)]


def _axes(trial: Trial, found: CumulativeYield, rows: Sequence[_Row]) -> _Axes:
    days = [row["day"] for row in rows]
    level = theme.percent(trial.confidence_level)
    title = [
        say("{measure}, added up", measure=theme.labelled(found.measure)),
        say("line: treatment mean; band: {level} interval", level=level),
    ]
    top = 1.05 * max(row["high"] for row in rows) or 1.0
    span = alt.Scale(domain=[min(days), max(days)], nice=False)
    return _Axes(theme.days(trial).scale(span), top, title)


def _bands(axes: _Axes, rows: Sequence[_Row], shown: Sequence[theme.Look]) -> list[alt.Chart]:
    data = theme.rows("bands", rows)
    scale = alt.Scale(domain=[look.name for look in shown], range=[look.colour for look in shown])
    fill = alt.Fill("treatment:N", scale=scale, title=None, legend=None)
    stroke, dash = theme.line_colour(shown), theme.dash(shown)
    opacity = min(BAND_OPACITY, MOST_OPACITY / len(shown))
    area = axes.at("low").mark_area(interpolate=STEP, fillOpacity=opacity).encode(y2="high:Q", fill=fill)
    layers = [area.properties(data=data)]
    for limit in ("low", "high"):
        edge = axes.at(limit).mark_line(interpolate=STEP, strokeWidth=0.8, strokeOpacity=0.6)
        layers.append(edge.encode(stroke=stroke, strokeDash=dash).properties(data=data))
    return layers


def _curves(axes: _Axes, rows: Sequence[_Row], shown: Sequence[theme.Look]) -> list[alt.Chart]:
    line = axes.at("value").mark_line(interpolate=STEP, strokeWidth=2.2)
    points = axes.at("value").mark_point(size=60, stroke=theme.LIGHT_GROUND, strokeWidth=0.7)
    picked = [row for row in rows if row["is_picking"]]
    tells = ["treatment:N", "day:Q", "value:Q", "reach:N"]
    colour, shape = theme.colour(shown).legend(None), theme.shape(shown).legend(None)
    return [
        line.encode(stroke=theme.line_colour(shown), strokeDash=theme.dash(shown)).properties(
            data=theme.rows("curves", rows)
        ),
        points.encode(color=colour, shape=shape, tooltip=tells).properties(data=theme.rows("pickings", picked)),
    ]


def _names(axes: _Axes, lines: Sequence[Sequence[_Row]], shown: Sequence[theme.Look]) -> list[alt.Chart]:
    """Return each treatment's symbol and name where its line ends, or as near as its neighbours allow."""
    ends = sorted((line[-1] for line in lines), key=lambda row: row["value"])
    places = spread([end["value"] for end in ends], axes.top * LABEL_GAP / HEIGHT, axes.top)
    labels: list[_Row] = []
    for end, place in zip(ends, places, strict=True):
        labels.append({**end, "value": place, "label": wrapped(end["treatment"])})
    base = axes.at("value").properties(data=theme.rows("names", labels))
    text = base.mark_text(align="left", dx=30, lineBreak="\n", lineHeight=LABEL_HEIGHT, baseline="middle")
    colour, shape = theme.colour(shown).legend(None), theme.shape(shown).legend(None)
    return [base.mark_point(xOffset=20).encode(color=colour, shape=shape), text.encode(text="label:N")]
