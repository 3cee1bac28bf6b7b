"""Scores in ordered classes: the share of plants in each class, by treatment."""

import json
from collections.abc import Iterator, Sequence
from typing import Any, Final

import altair as alt

from reportgen.charts import theme
from reportgen.charts.chain import LINE, wrapped
from reportgen.charts.narrow import WIDTH as NARROW
from reportgen.language import say
from reportgen.model.results import ClassCounts, ScoreResult
from reportgen.model.trial import Trial

ROW: Final = 44  # px, one treatment
THICK: Final = 0.23  # of a row, from its middle to the edge of the bar; on a phone its label stands above
LIGHTEST: Final = (246, 250, 252)  # red, green, blue of the lowest class
DARKEST: Final = (124, 147, 160)  # of the highest: dark text on it has a contrast of 4.5:1
TICKS: Final = (0, 20, 40, 60, 80, 100)
BESIDE_TEXT: Final = 8  # px


def shares_by_class(trial: Trial, score: ScoreResult) -> alt.LayerChart | None:
    """Draw the plants of each treatment as one bar of 100 %, parted by class from the lowest to the highest.

    Classes go from light to dark, and a part that is wide enough carries the name of its class. None where no plant was
    scored.
    """
    looks = theme.looks(trial)
    counted = {one.treatment: one for one in score.treatments}
    shown = [(look.name, counted[code]) for code, look in looks.items() if counted[code].plants]
    if not shown:
        return None
    names = _names(score.scale)
    parts = [part for row, (name, one) in enumerate(shown) for part in _parts(row, name, one, names)]
    layers = _layers(parts, [name for name, _ in shown], names)
    chart: alt.LayerChart = theme.figure(layers, ROW * len(shown)).resolve_axis(y="independent")
    return chart


def _names(scale: Sequence[str]) -> list[str]:
    """Return the classes as printed, with their places where two would look alike."""
    names = [theme.short(one) for one in scale]
    return [name if names.count(name) == 1 else f"{name} ({place})" for place, name in enumerate(names, 1)]


def shades(number: int) -> list[str]:
    """Return as many colours as there are classes, evenly from light to dark."""
    return [_shade(place / (number - 1)) for place in range(number)]


def _shade(way: float) -> str:
    """Return the colour that lies at `way`, 0 to 1, between the lightest and the darkest."""
    parts = (round(low + way * (high - low)) for low, high in zip(LIGHTEST, DARKEST, strict=True))
    return "#" + "".join(f"{part:02x}" for part in parts)


def _parts(row: int, treatment: str, counted: ClassCounts, names: Sequence[str]) -> Iterator[dict[str, Any]]:
    """Yield the parts of a treatment's bar, percent from its left end; a class without plants has none."""
    start = 0.0
    for place, share in enumerate(counted.shares):
        if not share:
            continue
        end = start + 100 * share
        yield {
            "treatment": treatment,
            "class": names[place],
            "plants": counted.counts[place],
            "percent": start,
            "to": end,
            "middle": (start + end) / 2,
            "place": row,
            "top": row - THICK,
            "bottom": row + THICK,
            "name": names[place] if _has_room(names[place], share) else "",
        }
        start = end


def _has_room(name: str, share: float) -> bool:
    """Return whether a class's name fits in its part of a bar, on a phone too."""
    return len(name) * theme.CHARACTER + BESIDE_TEXT < 0.9 * share * NARROW


def _layers(parts: Sequence[dict[str, Any]], treatments: Sequence[str], names: Sequence[str]) -> list[alt.Chart]:
    rows = alt.Scale(domain=[len(treatments) - 0.5, -0.5], nice=False, zero=False)
    across = alt.Scale(domain=[0, 100], nice=False)
    title = say("Plants, % of those scored")
    data = theme.rows("parts", parts)
    fill = alt.Fill(
        "class:N",
        scale=alt.Scale(domain=list(names), range=shades(len(names))),
        sort=list(names),
        title=None,
        legend=theme.legend(names),
    )
    bars = alt.Chart(data).mark_rect(stroke=theme.INK, strokeWidth=0.7)
    texts = alt.Chart(data).mark_text()
    return [
        bars.encode(
            x=alt.X("percent:Q", scale=across, title=title, axis=alt.Axis(grid=False, values=list(TICKS))),
            x2="to:Q",
            y=alt.Y("top:Q", scale=rows, title=None, axis=_labels(treatments)),
            y2="bottom:Q",
            fill=fill,
            tooltip=["treatment:N", "class:N", "plants:Q"],
        ),
        texts.encode(
            x=alt.X("middle:Q", scale=across, title=title),
            y=alt.Y("place:Q", scale=rows, axis=None),
            text="name:N",
        ),
    ]


def _labels(treatments: Sequence[str]) -> alt.Axis:
    """Return an axis whose ticks are the rows, each with the name of its treatment."""
    lookup = json.dumps({str(row): wrapped(name) for row, name in enumerate(treatments)}, ensure_ascii=False)
    return alt.Axis(
        values=list(range(len(treatments))),
        labelExpr=f"{lookup}['' + datum.value]",
        labelLineHeight=LINE,
        labelOffset=alt.ExprRef(f"{LINE} * (1 - length({lookup}['' + datum.value])) / 2"),
        labelPadding=8,
        labelOverlap=False,
        ticks=False,
        domain=False,
        grid=False,
        title=None,
    )
