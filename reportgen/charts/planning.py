"""What a trial could show, before it is grown."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any, Final

import altair as alt

from reportgen.charts import theme

HEIGHT: Final = 300  # px
MOST_FIGURES: Final = 14  # numbers of trays; with more of them the figures at the marks run into each other


@dataclass(frozen=True)
class Detectable:
    """The smallest difference, as a fraction of the mean, that `trays` trays a treatment of `plants` plants show."""

    trays: int
    plants: int
    difference: float | None


def smallest_difference(
    rows: Sequence[Detectable], level: float, power: float, unit: str = "tray", group: str = "treatment"
) -> alt.LayerChart | None:
    """Draw the smallest detectable difference (%) against the number of trays, a line for each number of plants.

    level: of confidence, power: of showing the difference, both fractions; unit: the experimental unit in words;
    group: what the units are counted by, a treatment or a combination of levels. Zero included. None where no
    difference is known.
    """
    known = [row for row in rows if row.difference is not None and isfinite(row.difference)]
    if not known:
        return None
    ordered = sorted(known, key=lambda row: (row.plants, row.trays))
    counts = list(dict.fromkeys(row.plants for row in ordered))
    looks = [theme.look(place + 1, _name(count, unit)) for place, count in enumerate(counts)]
    names = dict(zip(counts, looks, strict=True))
    points = [_point(row, names[row.plants].name, row.plants == counts[0]) for row in ordered]
    base = _base(points, f"{theme.percent(level)} level, {theme.percent(power)} power", _title(unit, group))
    return theme.figure(_layers(base, points, looks), HEIGHT)


def _name(plants: int, unit: str) -> str:
    return f"{plants} {'plant' if plants == 1 else 'plants'} a {unit}"


def _point(row: Detectable, name: str, is_upper: bool) -> dict[str, Any]:
    percent = 100 * (row.difference or 0.0)
    digits = 0 if percent >= 10 else 1
    return {
        "treatment": name,
        "trays": row.trays,
        "percent": percent,
        "figure": f"{percent:.{digits}f}",
        "side": "above" if is_upper else "below",
    }


def _base(points: Sequence[dict[str, Any]], terms: str, across: str) -> alt.Chart:
    shown = sorted({point["trays"] for point in points})
    every = -(-len(shown) // MOST_FIGURES)
    top = 1.12 * max(point["percent"] for point in points) or 1.0
    axis = alt.Axis(values=shown[::every], format="d", grid=False)
    title = ["Smallest difference detectable (%),", f"lower is better; {terms}"]
    return alt.Chart().encode(
        x=alt.X("trays:Q", scale=alt.Scale(zero=False, nice=False, padding=24), axis=axis, title=across),
        y=alt.Y("percent:Q", scale=alt.Scale(domain=[0, top]), title=title),
    )


def _title(unit: str, group: str) -> str:
    return f"{unit.capitalize()}s a {group} (number)"


def _layers(base: alt.Chart, points: Sequence[dict[str, Any]], looks: Sequence[theme.Look]) -> list[alt.Chart]:
    dots = base.mark_point(size=80).encode(color=theme.colour(looks), shape=theme.shape(looks))
    line = base.mark_line().encode(stroke=theme.line_colour(looks), strokeDash=theme.dash(looks))
    layers = [
        line.properties(data=theme.rows("lines", points)),
        dots.properties(data=theme.rows("points", points)),
    ]
    return layers + _figures(base, points)


def _figures(base: alt.Chart, points: Sequence[dict[str, Any]]) -> list[alt.Chart]:
    """Return the figures at the marks: above the upper line, below the others."""
    ordered = {trays: place for place, trays in enumerate(sorted({point["trays"] for point in points}))}
    every = -(-len(ordered) // MOST_FIGURES)
    shown = [point for point in points if ordered[point["trays"]] % every == 0]
    text = base.encode(text="figure:N")
    return [
        text.mark_text(dy=dy).properties(data=theme.rows(f"figures {side}", group))
        for side, dy in (("above", -13), ("below", 14))
        if (group := [point for point in shown if point["side"] == side])
    ]
