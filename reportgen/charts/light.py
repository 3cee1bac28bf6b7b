"""Where the light fell: a circle at each place, as large as its light."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
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

    def height_of(self, panels: int) -> float:
        """Return the height of a number of panels with their names, px, about."""
        rows = ceil(panels / self.columns)
        return rows * (self.height + HEAD + GAP)

    def square(self, cell: Cell) -> tuple[int, int]:
        """Return the column and the row of the square that a cell lies in."""
        column = floor((cell.x - self.x[0]) / self.side)
        return column, floor((cell.y - self.y[0]) / self.side)

    def middle(self, column: int, row: int) -> tuple[float, float]:
        """Return the middle of a square, cm."""
        return self.x[0] + (column + 0.5) * self.side, self.y[0] + (row + 0.5) * self.side


@dataclass(frozen=True)
class _Panel:
    """A panel: its map, its look, the lines said of it, and where its plane begins, px."""

    light: LightMap
    look: theme.Look
    name: list[str]
    lines: list[str]
    left: float
    top: float

    @property
    def text_lines(self) -> int:
        """Return the number of lines above the plane."""
        return len(self.name) + len(self.lines)

    @property
    def name_top(self) -> float:
        """Return where the name begins, px from the top."""
        return self.top - 6 - LINE * self.text_lines


def ppfd_map(
    trial: Trial,
    notes: Mapping[str, str] | None = None,
    width: float = theme.WIDTH,
    length: Length = CENTIMETRE,
) -> alt.LayerChart | None:
    """Draw the light map of each treatment: a circle at each place, its area the light.

    A figure stands under each circle.

    The latest date of each treatment is shown, at the height in use where that was read, else at
    the one that most readings have (see `shown_readings`). Readings at one place (to 1 mm) are
    averaged; where places lie too close for their figures, circles show means of squares and say
    so: a page holds far fewer of them than `MOST_MARKS`. All panels have one scale in cm, alike in
    both directions. notes: the line under a treatment's name by its code; without it, mean, minimum
    and minimum / mean of the readings shown. length: the unit that sizes are said in. None where no
    reading has both X and Y.
    """
    looks = theme.looks(trial)
    maps = _maps(trial, looks)
    if not maps:
        return None
    grid = _grid([light.cells for light in maps.values()], width)
    heading = wrapped(_heading(grid, length), placed.room(width))
    texts = _texts_under_names(maps, notes or {}, length)
    panels = _panels(maps, looks, texts, grid, len(heading))
    labels = [*placed.lines(0, 0, heading), *_names(panels), *_extents(panels, grid, length)]
    layers = [
        _edges(panels, grid),
        _circles(panels, grid),
        *placed.texts("figures", _figures(panels, grid)),
        *placed.texts("labels", labels),
        _symbols(panels),
    ]
    lowest = max(panel.top for panel in panels)
    return placed.figure(layers, width, lowest + grid.height + LINE + 4)


def _maps(trial: Trial, looks: Mapping[str, theme.Look]) -> dict[str, LightMap]:
    """Return the map of each treatment with readings, in the order of their looks."""
    readings = shown_readings(readings_in_use(trial))
    maps: dict[str, LightMap] = {}
    for code in looks:
        if code in readings:
            maps[code] = light_map(readings[code])
    return maps


def _texts_under_names(
    maps: Mapping[str, LightMap], notes: Mapping[str, str], length: Length
) -> dict[str, list[str]]:
    return {code: _lines(light, notes.get(code), length) for code, light in maps.items()}


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
    """Return the layout with most panels in a row whose figures have room.

    Where none has room, the one with the largest panels shows squares.
    """
    cells = list(chain.from_iterable(maps))
    layouts = _layouts(maps, cells, total)
    low = [grid for grid in layouts if grid.height_of(len(maps)) <= MOST_HEIGHT]
    width = _figure_width(cells)
    for grid in low:
        if grid.scale * grid.side >= width:
            return grid
    if low:
        return _in_squares(low[-1])
    return _in_squares(layouts[0])


def _layouts(maps: Sequence[Sequence[Cell]], cells: Sequence[Cell], total: float) -> list[_Grid]:
    """Return the possible layouts of maps, most panels in a row first. cells: those of all maps."""
    side = min(map(_nearest, maps))
    x = _corners([cell.x for cell in cells], side)
    y = _corners([cell.y for cell in cells], side)
    layouts: list[_Grid] = []
    for columns in range(min(COLUMNS[total >= WIDE], len(maps)), 0, -1):
        layouts.append(_Grid(columns, _scale(columns, x, y, total), x, y, side))
    return layouts


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
    """Return the smallest distance between two cells in cm, the larger of across and along.

    A single cell has 10 cm.
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


def _coarse(light: LightMap, grid: _Grid) -> LightMap:
    """Average a map over the squares of the grid where its cells lie closer than these."""
    if _nearest(light.cells) >= grid.side or len(light.cells) < 2:
        return light
    squares: dict[tuple[int, int], list[float]] = defaultdict(list)
    for cell in light.cells:
        squares[grid.square(cell)].append(cell.ppfd)
    cells: list[Cell] = []
    for (column, row), values in squares.items():
        x, y = grid.middle(column, row)
        cells.append(Cell(x, y, fmean(values)))
    return replace(light, cells=tuple(cells))


def _panels(
    maps: Mapping[str, LightMap],
    looks: Mapping[str, theme.Look],
    texts: Mapping[str, Sequence[str]],
    grid: _Grid,
    heading: int,
) -> list[_Panel]:
    """Return the panels in rows, each row as far down as the longest text above its panels needs."""
    top = LINE * heading + GAP / 2
    panels: list[_Panel] = []
    codes = list(maps)
    for first in range(0, len(codes), grid.columns):
        row: list[_Panel] = []
        for column, code in enumerate(codes[first : first + grid.columns]):
            name = wrapped(looks[code].name, grid.width - GAP)
            lines = _wrapped(texts[code], grid.width)
            left = column * (grid.width + GAP)
            row.append(_Panel(_coarse(maps[code], grid), looks[code], name, lines, left, top))
        head = LINE * max(panel.text_lines for panel in row) + 6
        panels += [replace(panel, top=top + head) for panel in row]
        top += head + grid.height + LINE + GAP
    return panels


def _lines(light: LightMap, note: str | None, length: Length) -> list[str]:
    """Return what stands under a treatment's name: when and how high was read, and the note."""
    if note is None:
        texts = _note(light)
    else:
        texts = [note]
    when = _when(light, length)
    if when:
        return [when, *texts]
    return texts


def _wrapped(texts: Sequence[str], room: float) -> list[str]:
    lines: list[str] = []
    for text in texts:
        lines += wrapped(theme.one_line(text), room)
    return lines


def _when(light: LightMap, length: Length) -> str:
    parts: list[str] = []
    if light.on:
        parts.append(language.day(light.on))
    if light.height is not None:
        unit, per_cm = length
        height = in_signs(f"{light.height * per_cm:.4g}")
        parts.append(say("{height} {length} high", height=height, length=unit))
    return ", ".join(parts)


def _note(light: LightMap) -> list[str]:
    mean = _figure(light.evenness.mean)
    minimum = _figure(light.evenness.minimum)
    uniformity = light.evenness.uniformity
    ends = say("mean {mean}, minimum {minimum}", mean=mean, minimum=minimum)
    if uniformity is None:
        return [ends]
    return [ends, say("minimum / mean {number}", number=in_signs(f"{uniformity:.2f}"))]


# ---- layers --------------------------------------------------------------------------------------


def _names(panels: Sequence[_Panel]) -> list[Label]:
    labels: list[Label] = []
    for panel in panels:
        top = panel.name_top
        labels += placed.lines(panel.left + GAP, top, panel.name, is_bold=True)
        labels += placed.lines(panel.left, top + LINE * len(panel.name), panel.lines)
    return labels


def _symbols(panels: Sequence[_Panel]) -> alt.Chart:
    rows: list[Row] = []
    for panel in panels:
        y = panel.name_top + LINE / 2
        rows.append({"x": panel.left + 6, "y": y, "treatment": panel.look.name})
    return placed.symbols("symbols", rows, [panel.look for panel in panels])


def _extents(panels: Sequence[_Panel], grid: _Grid, length: Length) -> list[Label]:
    """Return how large the ground of each panel is."""
    unit, per_cm = length
    width = _size(grid.x, per_cm)
    depth = _size(grid.y, per_cm)
    text = say("{width} x {depth} {length}", width=width, depth=depth, length=unit)
    y = grid.height + LINE / 2 + 3
    return [Label(panel.left, panel.top + y, text) for panel in panels]


def _size(ends: tuple[float, float], per_cm: float) -> str:
    return in_signs(f"{(ends[1] - ends[0]) * per_cm:.0f}")


def _px(panel: _Panel, grid: _Grid, cell: Cell) -> tuple[float, float]:
    """Return the middle of a place, px from the left and from the top; Y grows upwards."""
    x = panel.left + (cell.x - grid.x[0]) * grid.scale
    y = panel.top + (grid.y[1] - cell.y) * grid.scale
    return x, y


def _diameter(grid: _Grid) -> float:
    """Return the diameter of the largest circle, px.

    The figure of a circle stands beneath it in the same place.
    """
    return min(CIRCLE, grid.scale * grid.side - LINE - 2)


def _edges(panels: Sequence[_Panel], grid: _Grid) -> alt.Chart:
    rows: list[Row] = []
    for panel in panels:
        across = {"x": panel.left + 1, "to": panel.left + grid.width - 1}
        rows.append({**across, "y": panel.top, "bottom": panel.top + grid.height})
    box = alt.Chart().mark_rect(fill="transparent", stroke=theme.INK, strokeOpacity=theme.FAINT)
    box = box.encode(x=placed.X, x2=alt.X2("to:Q"), y=placed.Y, y2=alt.Y2("bottom:Q"))
    chart: alt.Chart = box.properties(data=theme.rows("edges", rows))
    return chart


def _cells(panels: Sequence[_Panel]) -> Iterator[tuple[_Panel, Cell]]:
    for panel in panels:
        for cell in panel.light.cells:
            yield panel, cell


def _circles(panels: Sequence[_Panel], grid: _Grid) -> alt.Chart:
    brightest = max(cell.ppfd for _, cell in _cells(panels))
    rows: list[Row] = []
    for panel, cell in _cells(panels):
        x, y = _px(panel, grid, cell)
        diameter = _diameter(grid) * sqrt(_share(cell.ppfd, brightest))
        area = np.pi * max(LEAST_CIRCLE, diameter) ** 2 / 4
        rows.append({"x": x, "y": y - LINE / 2, "area": area, "ppfd": cell.ppfd})
    circle = alt.Chart().mark_point(shape="circle", color=HUE)
    size = alt.Size("area:Q", scale=None)
    tooltip = theme.tooltip("ppfd:Q")
    circle = circle.encode(x=placed.X, y=placed.Y, size=size, tooltip=tooltip)
    chart: alt.Chart = circle.properties(data=theme.rows("circles", rows))
    return chart


def _share(ppfd: float, brightest: float) -> float:
    if brightest > 0:
        return max(ppfd, 0.0) / brightest
    return 0.0


def _figures(panels: Sequence[_Panel], grid: _Grid) -> list[Label]:
    labels: list[Label] = []
    for panel, cell in _cells(panels):
        x, y = _px(panel, grid, cell)
        labels.append(Label(x, y + _diameter(grid) / 2, _figure(cell.ppfd), "center"))
    return labels
