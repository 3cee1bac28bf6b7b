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
LIGHTEST, DARKEST = (
    0.06,
    0.5,
)  # opacity of the lowest and the highest class; text on both stays readable
TICKS: Final = (0, 25, 50, 75, 100)
NAME_LINES: Final = 2

Row = dict[str, Any]


def shares_by_class(
    trial: Trial, score: ScoreResult, width: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw the plants of each treatment as one bar of 100%, parted by class from the lowest to the
    highest.

    Classes go from pale to strong, and a part that is wide enough carries the name of its class; a
    key stands above where one is not. None where no plant was scored.
    """
    counted = {one.treatment: one for one in score.treatments}
    shown = [
        (look, counted[code]) for code, look in theme.looks(trial).items() if counted[code].plants
    ]
    if not shown:
        return None
    names = _names(score.scale)
    room = placed.room(width)
    squares, labels, top = _key(names, room) if _needs_key(shown, names, room) else ([], [], 0.0)
    symbols: list[Row] = []
    parts: list[Row] = []
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
    ticks = [Label(*_tick(value, room, top)) for value in TICKS]
    title = Label(0, top + 1.7 * LINE, say("Plants, % of those scored"))
    return placed.figure([*layers, *placed.texts("axis", [*ticks, title])], width, top + 2.2 * LINE)


def _names(scale: Sequence[str]) -> list[str]:
    """Return the classes as printed, with their places where two would look alike."""
    names = [theme.one_line(one) for one in scale]
    return [
        name if names.count(name) == 1 else f"{name} ({place})"
        for place, name in enumerate(names, 1)
    ]


def shade(place: int, classes: int) -> float:
    """Return how opaque the class at `place` is: evenly from the lowest to the highest."""
    return LIGHTEST + (DARKEST - LIGHTEST) * place / max(1, classes - 1)


def _tick(value: int, room: float, top: float) -> tuple[float, float, str, placed.Side]:
    align: placed.Side = "left" if value == 0 else "right" if value == max(TICKS) else "center"
    return room * value / max(TICKS), top - GAP + LINE / 2 + 3, language.percent(str(value)), align


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
    found = key(names, room)
    squares: list[Row] = []
    for place, (entry, name) in enumerate(zip(found.entries, names, strict=True)):
        top = entry.y - SWATCH / 2
        square = {
            "x": entry.x + 1,
            "to": entry.x + SWATCH - 1,
            "y": top + 1,
            "bottom": top + SWATCH - 1,
        }
        squares.append({**square, "opacity": shade(place, len(names)), "class": name})
    return squares, [label for entry in found.entries for label in entry.labels], found.height + GAP


def _parts(
    treatment: str, counted: ClassCounts, names: Sequence[str], top: float, room: float
) -> Iterator[Row]:
    """Yield the parts of a treatment's bar, px from its left end; a class without plants has none."""
    start = EDGE
    for place, share in enumerate(counted.shares):
        if share:
            end = start + (room - 2 * EDGE) * share
            yield {
                "treatment": treatment,
                "class": names[place],
                "plants": counted.counts[place],
                "x": start,
                "to": end,
                "y": top,
                "bottom": top + THICK,
                "opacity": shade(place, len(names)),
                "name": names[place] if _has_room(names[place], share, room) else "",
            }
            start = end


def _class_names(parts: Sequence[Row]) -> list[Label]:
    return [
        Label((row["x"] + row["to"]) / 2, row["y"] + THICK / 2, row["name"], "center")
        for row in parts
    ]


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
