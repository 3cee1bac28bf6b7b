"""Names at the ends of lines, moved apart where lines end close to each other."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import altair as alt

from reportgen.charts import placed, theme
from reportgen.charts.lettering import LINE, width, wrapped
from reportgen.charts.placed import Label

# Of the width of a figure, the most for names, by whether it is wide.
SHARES: Final = {True: 0.3, False: 0.36}
WIDE: Final = 480  # px
MOST_LINES: Final = 3  # of a name
GAP: Final = 6  # px between two names
SYMBOL, TEXT = 14, 24  # px from a line's end to the middle of its symbol, and to its name


@dataclass(frozen=True)
class End:
    """Where a line ends, px from the top, and what it is called."""

    look: theme.Look
    y: float


@dataclass(frozen=True)
class Name:
    """A name in lines, the middle of it px from the top."""

    look: theme.Look
    lines: list[str]
    y: float


def room_for(names: Sequence[str], total: float) -> float:
    """Return the px that names take beside the lines of a figure `total` px wide, symbols included."""
    # One px more, or sums of widths might differ by a rounding.
    longest = max(map(width, names), default=0.0) + TEXT + 1
    return min(longest, SHARES[total >= WIDE] * total)


def names(ends: Sequence[End], room: float, height: float) -> list[Name]:
    """Return the names of lines at places that keep them apart; none if they do not fit.

    room: px beside the lines, symbols included.
    """
    ordered = sorted(ends, key=lambda end: end.y)
    texts = [wrapped(end.look.name, room - TEXT) for end in ordered]
    heights = [LINE * len(lines) + GAP for lines in texts]
    if sum(heights) > height or max(map(len, texts), default=0) > MOST_LINES:
        return []
    places = spread([end.y for end in ordered], heights, height)
    placed_names: list[Name] = []
    for end, lines, y in zip(ordered, texts, places, strict=True):
        placed_names.append(Name(end.look, lines, y))
    return placed_names


def spread(middles: Sequence[float], heights: Sequence[float], bottom: float) -> list[float]:
    """Return ascending `middles` moved apart so that none of the `heights` overlap: down first,
    then up from `bottom`.

    They stay within 0 and `bottom` where there is room for all.
    """
    places: list[float] = []
    limit = 0.0
    for middle, height in zip(middles, heights, strict=True):
        places.append(max(middle, limit + height / 2))
        limit = places[-1] + height / 2
    limit = bottom
    for place in reversed(range(len(places))):
        places[place] = min(places[place], limit - heights[place] / 2)
        limit = places[place] - heights[place] / 2
    return places


def layers(found: Sequence[Name], x: float) -> list[alt.Chart]:
    """Return the symbols and names of lines that end `x` px from the left."""
    symbols: list[dict[str, Any]] = []
    labels: list[Label] = []
    for name in found:
        top = name.y - LINE * len(name.lines) / 2
        symbols.append({"x": x + SYMBOL, "y": top + LINE / 2, "treatment": name.look.name})
        labels += placed.lines(x + TEXT, top, name.lines)
    return [
        placed.symbols("symbols", symbols, [name.look for name in found]),
        *placed.texts("names", labels),
    ]
