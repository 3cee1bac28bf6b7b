"""Where the light fell: a circle at each place, as large as its light."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, sqrt
from statistics import fmean
from typing import Any, Final

import altair as alt
import numpy as np
from scipy.spatial import cKDTree

from reportgen import language
from reportgen.charts import placed, theme
from reportgen.charts.lettering import LINE, wrapped
from reportgen.charts.lettering import width as width_of
from reportgen.charts.light_readings import (
    Cell,
    LightMap,
    light_map,
    readings_in_use,
    shown_readings,
)
from reportgen.charts.placed import Label
from reportgen.language import figure as in_signs
from reportgen.language import say
from reportgen.model.trial import Trial

UNIT: Final = "µmol/m²/s"
COLUMNS: Final = {True: 3, False: 2}  # panels side by side at most, by whether a figure is wide
WIDE: Final = 480  # px
MOST_HEIGHT: Final = 900  # px of all panels, a page of A4
MOST_PANEL: Final = 320  # px, one panel
GAP: Final = 18  # px between panels
HEAD: Final = 4 * LINE  # px, about: the name of a panel and what is said of it
LARGEST: Final = 46.0  # px, a place
SMALLEST: Final = 36.0  # px: a circle and its figure under each other
CIRCLE: Final = 24.0  # px, the largest circle
LEAST_CIRCLE: Final = 4.0  # px
TOLERANCE: Final = 1e-6  # of a place
HUE: Final = theme.PALETTE[1]

Row = dict[str, Any]
Length = tuple[str, float]  # a unit, and how many of it a centimetre is
CENTIMETRE: Final[Length] = ("cm", 1.0)


@dataclass(frozen=True)
class _Grid:
    """How maps are laid out: panels side by side, px in a cm, corners in cm, side of a place in cm."""

    columns: int
    scale: float
    x: tuple[float, float]
    y: tuple[float, float]
    side: float
    crowded: bool = False

    @property
    def width(self) -> float:
        """Return the width of a panel, px."""
        return self.scale * (self.x[1] - self.x[0])

    @property
    def height(self) -> float:
        """Return the height of a panel, px."""
        return self.scale * (self.y[1] - self.y[0])


@dataclass(frozen=True)
class _Panel:
    """A panel: its map, its look, the lines said of it, and where its plane begins, px."""

    light: LightMap
    look: theme.Look
    name: list[str]
    lines: list[str]
    left: float
    top: float


def ppfd_map(
    trial: Trial,
    notes: Mapping[str, str] | None = None,
    width: float = theme.WIDTH,
    length: Length = CENTIMETRE,
) -> alt.LayerChart | None:
    """Draw the map of PPFD of each treatment: at each place a circle whose area is its light, over
    its figure.

    The latest date of each treatment is shown, at the height in use where that was read, else at
    the one that most readings have (see `shown_readings`). Readings at one place (to 1 mm) are
    averaged; where places lie too close for their figures, circles show means of squares and say
    so: a page holds far fewer of them than `MOST_MARKS`. All panels have one scale in cm, alike in
    both directions. notes: the line under a treatment's name by its code; without it, mean, minimum
    and minimum / mean of the readings shown. length: the unit that sizes are said in. None where no
    reading has both X and Y.
    """
    looks = theme.looks(trial)
    found = {code: a for code, a in shown_readings(readings_in_use(trial)).items() if code in looks}
    if not found:
        return None
    maps = {code: light_map(found[code]) for code in looks if code in found}
    grid = _grid([a.cells for a in maps.values()], width)
    heading = wrapped(_heading(grid, length), placed.room(width))
    lines = {code: _lines(a, (notes or {}).get(code), length) for code, a in maps.items()}
    panels = _panels(
        {code: _coarse(a, grid) for code, a in maps.items()}, looks, lines, grid, len(heading)
    )
    brightest = max(cell.ppfd for panel in panels for cell in panel.light.cells)
    labels = [*placed.lines(0, 0, heading), *_names(panels), *_extents(panels, grid, length)]
    symbols = [
        {"x": a.left + 6, "y": _name_top(a) + LINE / 2, "treatment": a.look.name} for a in panels
    ]
    layers = [
        _edges(panels, grid),
        _circles(panels, grid, brightest),
        *placed.texts("figures", [label for panel in panels for label in _figures(panel, grid)]),
        *placed.texts("labels", labels),
        placed.symbols("symbols", symbols, [panel.look for panel in panels]),
    ]
    return placed.figure(layers, width, max(panel.top for panel in panels) + grid.height + LINE + 4)


def _heading(grid: _Grid, length: Length) -> str:
    if not grid.crowded:
        return say("PPFD ({unit}): the larger a circle, the more light", unit=UNIT)
    return say(
        "PPFD ({unit}): the larger a circle, the more light; means of squares of {side} {length}"
        " where places lie closer",
        unit=UNIT,
        side=in_signs(f"{grid.side * length[1]:.2g}"),
        length=length[0],
    )


# ---- places --------------------------------------------------------------------------------------


def _grid(maps: Sequence[Sequence[Cell]], total: float) -> _Grid:
    """Return the layout with most panels in a row whose figures have room, else the one with the
    largest panels.
    """
    side = min(_nearest(cells) for cells in maps)
    every = [cell for cells in maps for cell in cells]
    x, y = (_corners([getattr(cell, axis) for cell in every], side) for axis in ("x", "y"))
    most = min(COLUMNS[total >= WIDE], len(maps))
    layouts = [
        _Grid(columns, _scale(columns, x, y, total), x, y, side) for columns in range(most, 0, -1)
    ]
    low = [
        a for a in layouts if -(-len(maps) // a.columns) * (a.height + HEAD + GAP) <= MOST_HEIGHT
    ]
    width = _figure_width(every)
    roomy = [a for a in low if a.scale * side >= width]
    if roomy:
        chosen = roomy[0]
    else:
        chosen = (low or layouts[:1])[-1]
    if roomy:
        return chosen
    return _in_squares(chosen)


def _in_squares(grid: _Grid) -> _Grid:
    """Return the layout with squares that fill it across, each wide enough for its figure."""
    across = grid.x[1] - grid.x[0]
    least = LARGEST / grid.scale
    side = max(least, across / max(1, floor(across / least)))
    return replace(grid, x=_filled(grid.x, side), y=_filled(grid.y, side), side=side, crowded=True)


def _filled(ends: tuple[float, float], side: float) -> tuple[float, float]:
    """Return `ends` moved outwards alike, so that whole squares lie between them."""
    half = ceil((ends[1] - ends[0]) / side - TOLERANCE) * side / 2
    middle = sum(ends) / 2
    return middle - half, middle + half


def _nearest(cells: Sequence[Cell]) -> float:
    """Return the smallest distance of two cells in cm, the larger of across and along; of one cell,
    10 cm.
    """
    if len(cells) < 2:
        return 10.0
    places = np.array([(cell.x, cell.y) for cell in cells])
    distances = np.asarray(cKDTree(places).query(places, 2, p=np.inf)[0])
    return float(distances[:, 1].min())


def _corners(values: Sequence[float], side: float) -> tuple[float, float]:
    margin = max(0.6 * side, 0.06 * (max(values) - min(values)))
    return min(values) - margin, max(values) + margin


def _scale(columns: int, x: tuple[float, float], y: tuple[float, float], total: float) -> float:
    width = (placed.room(total) - (columns - 1) * GAP) / columns
    return min(width / (x[1] - x[0]), MOST_PANEL / (y[1] - y[0]))


def _figure_width(cells: Sequence[Cell]) -> float:
    return max(SMALLEST, 4 + max(width_of(_figure(cell.ppfd)) for cell in cells))


def _figure(ppfd: float) -> str:
    if abs(ppfd) < 10:
        return in_signs(f"{ppfd:.1f}")
    return f"{ppfd:.0f}"


def _coarse(a: LightMap, grid: _Grid) -> LightMap:
    """Return the map with the mean of each square of the grid in place of cells that lie closer
    than its side.
    """
    if _nearest(a.cells) >= grid.side or len(a.cells) < 2:
        return a
    squares: dict[tuple[int, int], list[float]] = defaultdict(list)
    for cell in a.cells:
        column, row = (
            floor((cell.x - grid.x[0]) / grid.side),
            floor((cell.y - grid.y[0]) / grid.side),
        )
        squares[column, row].append(cell.ppfd)
    cells: list[Cell] = []
    for (column, row), values in squares.items():
        x, y = grid.x[0] + (column + 0.5) * grid.side, grid.y[0] + (row + 0.5) * grid.side
        cells.append(Cell(x, y, fmean(values)))
    return replace(a, cells=tuple(cells))


def _panels(
    maps: Mapping[str, LightMap],
    looks: Mapping[str, theme.Look],
    texts: Mapping[str, Sequence[str]],
    grid: _Grid,
    heading: int,
) -> list[_Panel]:
    """Return the panels in rows, each row as far down as the longest text above its panels needs."""
    room = grid.width
    top = LINE * heading + GAP / 2
    found: list[_Panel] = []
    codes = list(maps)
    for first in range(0, len(codes), grid.columns):
        row = codes[first : first + grid.columns]
        names = [wrapped(looks[code].name, room - GAP) for code in row]
        lines = [_wrapped(texts[code], room) for code in row]
        head = LINE * max(len(a) + len(b) for a, b in zip(names, lines, strict=True)) + 6
        for column, code in enumerate(row):
            left = column * (grid.width + GAP)
            found.append(
                _Panel(maps[code], looks[code], names[column], lines[column], left, top + head)
            )
        top += head + grid.height + LINE + GAP
    return found


def _lines(a: LightMap, note: str | None, length: Length) -> list[str]:
    """Return what stands under a treatment's name: when and how high was read, and the note."""
    if note is None:
        said = _note(a)
    else:
        said = [note]
    when = _when(a, length)
    if when:
        return [when, *said]
    return said


def _wrapped(texts: Sequence[str], room: float) -> list[str]:
    lines: list[str] = []
    for text in texts:
        lines += wrapped(theme.one_line(text), room)
    return lines


def _when(a: LightMap, length: Length) -> str:
    parts: list[str] = []
    if a.on:
        parts.append(language.day(a.on))
    if a.height is not None:
        unit, per_cm = length
        height = in_signs(f"{a.height * per_cm:.4g}")
        parts.append(say("{height} {length} high", height=height, length=unit))
    return ", ".join(parts)


def _note(a: LightMap) -> list[str]:
    even = a.evenness
    ends = say(
        "mean {mean}, minimum {minimum}", mean=_figure(even.mean), minimum=_figure(even.minimum)
    )
    if even.uniformity is None:
        return [ends]
    return [ends, say("minimum / mean {number}", number=in_signs(f"{even.uniformity:.2f}"))]


# ---- layers --------------------------------------------------------------------------------------


def _name_top(panel: _Panel) -> float:
    return panel.top - 6 - LINE * (len(panel.name) + len(panel.lines))


def _names(panels: Sequence[_Panel]) -> list[Label]:
    found: list[Label] = []
    for panel in panels:
        top = _name_top(panel)
        found += placed.lines(panel.left + GAP, top, panel.name, is_bold=True)
        found += placed.lines(panel.left, top + LINE * len(panel.name), panel.lines)
    return found


def _extents(panels: Sequence[_Panel], grid: _Grid, length: Length) -> list[Label]:
    """Return how large the ground of each panel is."""
    unit, per_cm = length
    size = [in_signs(f"{(ends[1] - ends[0]) * per_cm:.0f}") for ends in (grid.x, grid.y)]
    text = say("{width} x {depth} {length}", width=size[0], depth=size[1], length=unit)
    return [Label(panel.left, panel.top + grid.height + LINE / 2 + 3, text) for panel in panels]


def _px(panel: _Panel, grid: _Grid, cell: Cell) -> tuple[float, float]:
    """Return the middle of a place, px from the left and from the top; Y grows upwards."""
    return (
        panel.left + (cell.x - grid.x[0]) * grid.scale,
        panel.top + (grid.y[1] - cell.y) * grid.scale,
    )


def _diameter(grid: _Grid) -> float:
    """Return the diameter of the largest circle, px: its figure stands beneath it in the same
    place.
    """
    return min(CIRCLE, grid.scale * grid.side - LINE - 2)


def _edges(panels: Sequence[_Panel], grid: _Grid) -> alt.Chart:
    rows = [
        {
            "x": panel.left + 1,
            "to": panel.left + grid.width - 1,
            "y": panel.top,
            "bottom": panel.top + grid.height,
        }
        for panel in panels
    ]
    box = alt.Chart().mark_rect(fill="transparent", stroke=theme.INK, strokeOpacity=theme.FAINT)
    made: alt.Chart = box.encode(x=placed.X, x2=alt.X2("to:Q"), y=placed.Y, y2=alt.Y2("bottom:Q"))
    return made.properties(data=theme.rows("edges", rows))


def _circles(panels: Sequence[_Panel], grid: _Grid, brightest: float) -> alt.Chart:
    rows: list[Row] = []
    for panel in panels:
        for cell in panel.light.cells:
            x, y = _px(panel, grid, cell)
            if brightest > 0:
                share = max(cell.ppfd, 0.0) / brightest
            else:
                share = 0.0
            side = max(LEAST_CIRCLE, _diameter(grid) * sqrt(share))
            rows.append({"x": x, "y": y - LINE / 2, "area": np.pi * side**2 / 4, "ppfd": cell.ppfd})
    circle = alt.Chart().mark_point(shape="circle", color=HUE)
    size = alt.Size("area:Q", scale=None)
    made: alt.Chart = circle.encode(
        x=placed.X, y=placed.Y, size=size, tooltip=theme.tooltip("ppfd:Q")
    )
    return made.properties(data=theme.rows("circles", rows))


def _figures(panel: _Panel, grid: _Grid) -> list[Label]:
    found: list[Label] = []
    for cell in panel.light.cells:
        x, y = _px(panel, grid, cell)
        found.append(Label(x, y + _diameter(grid) / 2, _figure(cell.ppfd), "center"))
    return found
