"""Scores in ordered classes: the share of plants in each class, by treatment."""

from collections.abc import Iterator, Sequence
from typing import Any, Final

import altair as alt

from reportgen import language
from reportgen.charts import placed, theme
from reportgen.charts.key import key
from reportgen.charts.lettering import LINE, cut
from reportgen.charts.lettering import width as width_of
from reportgen.charts.placed import Label
from reportgen.language import say
from reportgen.model.results import ClassCounts, ScoreResult
from reportgen.model.trial import Trial

THICK: Final = 24  # px, a bar
GAP: Final = 14  # px between treatments
INDENT: Final = 18  # px, the symbol before a name
BESIDE: Final = 10  # px around the name of a class in its part of a bar
EDGE: Final = 1.0  # px, room for the outline at both ends of a bar
SWATCH: Final = 14  # px, the square of a class in the key
COLOUR: Final = theme.PALETTE[2]
# Opacity of the lowest and the highest class; text on both stays readable.
LIGHTEST, DARKEST = 0.06, 0.5
TICKS: Final = (0, 25, 50, 75, 100)
NAME_LINES: Final = 2

Row = dict[str, Any]


def shares_by_class(
    trial: Trial, score: ScoreResult, width: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw the plants of each treatment as one bar of 100%, parted by class.

    Classes go from the lowest, pale, to the highest, strong. A part that is wide enough carries the
    name of its class; a key stands above where one is not. None where no plant was scored.
    """
    shown = _shown(trial, score)
    if not shown:
        return None
    names = _names(score.scale)
    room = placed.room(width)
    squares: list[Row] = []
    labels: list[Label] = []
    symbols: list[Row] = []
    parts: list[Row] = []
    top = 0.0
    if _needs_key(shown, names, room):
        squares, labels, top = _key(names, room)
    for look, counts in shown:
        lines = cut(look.name, room - INDENT, NAME_LINES)
        labels += placed.lines(INDENT, top, lines, is_bold=True)
        symbols.append({"x": 6, "y": top + LINE / 2, "treatment": look.name})
        top += LINE * len(lines) + 3
        parts += _parts(look.name, counts, names, top, room)
        top += THICK + GAP
    looks = [look for look, _ in shown]
    layers = [
        *_bars([*squares, *parts]),
        *placed.texts("names", [*labels, *_class_names(parts)]),
        placed.symbols("symbols", symbols, looks),
    ]
    ticks = [_tick(value, room, top) for value in TICKS]
    title = Label(0, top + 1.7 * LINE, say("Plants, % of those scored"))
    return placed.figure([*layers, *placed.texts("axis", [*ticks, title])], width, top + 2.2 * LINE)


def _shown(trial: Trial, score: ScoreResult) -> list[tuple[theme.Look, ClassCounts]]:
    """Return the look and the counts of each treatment with scored plants."""
    counts = {classes.treatment: classes for classes in score.treatments}
    shown: list[tuple[theme.Look, ClassCounts]] = []
    for code, look in theme.looks(trial).items():
        if counts[code].plants:
            shown.append((look, counts[code]))
    return shown


def _names(scale: Sequence[str]) -> list[str]:
    """Return the classes as printed, with their places where two would look alike."""
    names = [theme.one_line(name) for name in scale]
    printed: list[str] = []
    for place, name in enumerate(names, 1):
        if names.count(name) == 1:
            printed.append(name)
        else:
            printed.append(f"{name} ({place})")
    return printed


def shade(place: int, classes: int) -> float:
    """Return how opaque the class at `place` is: evenly from the lowest to the highest."""
    return LIGHTEST + (DARKEST - LIGHTEST) * place / max(1, classes - 1)


def _tick(value: int, room: float, top: float) -> Label:
    x = room * value / max(TICKS)
    y = top - GAP + LINE / 2 + 3
    return Label(x, y, language.percent(str(value)), _tick_side(value))


def _tick_side(value: int) -> placed.Side:
    if value == min(TICKS):
        return "left"
    if value == max(TICKS):
        return "right"
    return "center"


def _needs_key(
    shown: Sequence[tuple[theme.Look, ClassCounts]], names: Sequence[str], room: float
) -> bool:
    """Return whether a class that any plant is in stands without its name in every bar."""
    for place, name in enumerate(names):
        shares = [counts.shares[place] or 0.0 for _, counts in shown]
        if any(shares) and not any(_has_room(name, share, room) for share in shares):
            return True
    return False


def _has_room(name: str, share: float, room: float) -> bool:
    return width_of(name) + BESIDE < share * room


def _key(names: Sequence[str], room: float) -> tuple[list[Row], list[Label], float]:
    """Return the squares of the key, its names, and where it ends."""
    legend = key(names, room)
    squares: list[Row] = []
    for place, (entry, name) in enumerate(zip(legend.entries, names, strict=True)):
        top = entry.y - SWATCH / 2
        across = {"x": entry.x + 1, "to": entry.x + SWATCH - 1}
        upright = {"y": top + 1, "bottom": top + SWATCH - 1}
        opacity = shade(place, len(names))
        squares.append({**across, **upright, "opacity": opacity, "class": name})
    return squares, legend.labels, legend.height + GAP


def _parts(
    treatment: str, counts: ClassCounts, names: Sequence[str], top: float, room: float
) -> Iterator[Row]:
    """Yield the parts of a treatment's bar, px from its left end; a class without plants has none."""
    start = EDGE
    for place, share in enumerate(counts.shares):
        if share:
            end = start + (room - 2 * EDGE) * share
            name = ""
            if _has_room(names[place], share, room):
                name = names[place]
            yield {
                "treatment": treatment,
                "class": names[place],
                "plants": counts.counts[place],
                "x": start,
                "to": end,
                "y": top,
                "bottom": top + THICK,
                "opacity": shade(place, len(names)),
                "name": name,
            }
            start = end


def _class_names(parts: Sequence[Row]) -> list[Label]:
    labels: list[Label] = []
    for row in parts:
        middle = (row["x"] + row["to"]) / 2
        labels.append(Label(middle, row["y"] + THICK / 2, row["name"], "center"))
    return labels


def _bars(parts: Sequence[Row]) -> list[alt.Chart]:
    bars = alt.Chart().mark_rect(color=COLOUR, stroke=theme.INK, strokeWidth=0.7)
    bars = bars.encode(
        x=placed.X,
        x2=alt.X2("to:Q"),
        y=placed.Y,
        y2=alt.Y2("bottom:Q"),
        fillOpacity=alt.FillOpacity("opacity:Q", scale=None),
        tooltip=theme.tooltip("treatment:N", "class:N", "plants:Q"),
    )
    return [bars.properties(data=theme.rows("parts", parts))]
