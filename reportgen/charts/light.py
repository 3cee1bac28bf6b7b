"""Where the light fell."""

import textwrap
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor, isfinite
from statistics import fmean
from typing import Any, Final

import altair as alt
import numpy as np
from scipy.spatial import cKDTree

from reportgen.charts import theme
from reportgen.language import figure as in_signs
from reportgen.language import say
from reportgen.model.heights import are_same
from reportgen.model.trial import LightReading, Trial

UNIT: Final = "µmol/m2/s"
MOST_COLUMNS: Final = 3  # panels side by side
MOST_HEIGHT: Final = 900  # px of all panels, a page of A4
MOST_PANEL: Final = 340  # px, one panel
AXIS: Final = 62  # px, the labels left of the first panel of a row
EDGE: Final = 26  # px, half the last label under the last panel
GAP: Final = 18  # px between panels
ABOVE: Final = 80  # px, about: the title of a panel and the space between panels
BELOW: Final = 80  # px: the heading and the labels under the lowest panels
LARGEST: Final = 46.0  # px, the side of a square
SMALLEST: Final = 20.0  # px: the height of a figure in its square
DIGIT: Final = 7.4  # px, a figure of the font at 12 px
TOLERANCE: Final = 1e-6  # of a square
BRIGHT, DARK = "#fff3c4", "#8296ad"  # text stays readable on both; lightness falls steadily between them


@dataclass(frozen=True)
class Evenness:
    """Mean and minimum of a map of PPFD in µmol/m2/s, and minimum / mean, None where the mean is 0."""

    mean: float
    minimum: float
    uniformity: float | None


@dataclass(frozen=True)
class _Cell:
    """PPFD at a place in cm: a reading, the mean of several at one place, or that of a square."""

    x: float
    y: float
    ppfd: float


@dataclass(frozen=True)
class _Map:
    """The map of one treatment: its readings as cells, when and how high they were taken, how even they are."""

    cells: tuple[_Cell, ...]
    on: date | None
    height: float | None
    evenness: Evenness


@dataclass(frozen=True)
class _Grid:
    """How maps are laid out: panels side by side, px in a cm, corners in cm, side of a square in cm."""

    columns: int
    scale: float
    x: tuple[float, float]
    y: tuple[float, float]
    side: float
    crowded: bool = False


def evenness(ppfd: Sequence[float]) -> Evenness:
    """Return mean, minimum and minimum / mean of at least one PPFD in µmol/m2/s."""
    mean, minimum = fmean(ppfd), min(ppfd)
    return Evenness(mean, minimum, minimum / mean if mean > 0 else None)


def shown_readings(readings: Sequence[LightReading]) -> dict[str, list[LightReading]]:
    """Return by treatment the readings that a map shows: those with a place, of the latest date, at one height.

    Readings without a date count as earlier than any other. The height is the one that most of the readings of
    the treatments' latest dates have, the upper one of two; a treatment without it has its own most common one.
    """
    placed = defaultdict(list)
    for reading in readings:
        if reading.x is not None and reading.y is not None and isfinite(reading.x + reading.y + reading.ppfd):
            placed[reading.treatment].append(reading)
    latest = {code: _latest(found) for code, found in placed.items()}
    usual = _usual_height([reading for found in latest.values() for reading in found])
    return {code: _at_height(found, usual) for code, found in latest.items()}


def readings_in_use(trial: Trial) -> list[LightReading]:
    """Return the readings at the height in use, all of a treatment where that is not recorded or was not read."""
    in_use = {treatment.code: treatment.light_height for treatment in trial.treatments}
    at_height = [reading for reading in trial.light if are_same(reading.height, in_use.get(reading.treatment))]
    settled = {reading.treatment for reading in at_height}
    return at_height + [reading for reading in trial.light if reading.treatment not in settled]


def ppfd_map(trial: Trial, notes: Mapping[str, str] | None = None) -> alt.ConcatChart | None:
    """Draw the map of PPFD of each treatment: a square with its figure at each place, lighter for more light.

    The latest date of each treatment is shown, at the height in use where that was read, else at the one that most
    readings have (see `shown_readings`).
    Readings at one place (to 1 mm) are averaged; where places lie too close for their figures, squares show means
    and say so: a page holds far fewer of them than `MOST_MARKS`. All panels have one scale in cm, alike in both
    directions. notes: the line under a treatment's name by its code; without it, mean, minimum and minimum / mean
    of the readings shown. None where no reading has both X and Y.
    """
    looks = theme.looks(trial)
    found = {code: a for code, a in shown_readings(readings_in_use(trial)).items() if code in looks}
    if not found:
        return None
    maps = {code: _map(found[code]) for code in looks if code in found}
    grid = _grid([a.cells for a in maps.values()])
    maps = {code: _coarse(a, grid) for code, a in maps.items()}
    values = [cell.ppfd for a in maps.values() for cell in a.cells]
    lines = {code: [_when(a), *([notes[code]] if notes and code in notes else _note(a))] for code, a in maps.items()}
    panels = [
        _panel(_base(grid, place, len(maps)), grid, (min(values), max(values))).properties(
            title=_title(looks[code].name, lines[code], grid), data=_rows(f"map {place + 1}", a.cells)
        )
        for place, (code, a) in enumerate(maps.items())
    ]
    return alt.ConcatChart(
        concat=panels, columns=grid.columns, spacing=GAP, align="each", bounds="full", title=_heading(grid)
    )


def _heading(grid: _Grid) -> alt.Title:
    text = say("PPFD ({unit}), lighter: more light", unit=UNIT)
    if grid.crowded:
        text = say(
            "PPFD ({unit}), lighter: more light; means of squares of {side} cm where places lie closer",
            unit=UNIT,
            side=in_signs(f"{grid.side:.2g}"),
        )
    return alt.Title(text, anchor="start", fontSize=12, fontWeight="normal", color=theme.INK, offset=10)


def _latest(readings: Sequence[LightReading]) -> list[LightReading]:
    last = max((reading.on for reading in readings if reading.on is not None), default=None)
    return [reading for reading in readings if reading.on == last]


def _usual_height(readings: Sequence[LightReading]) -> float | None:
    counts = Counter(reading.height for reading in readings)
    return max(counts, key=lambda height: (counts[height], -1.0 if height is None else height), default=None)


def _at_height(readings: Sequence[LightReading], usual: float | None) -> list[LightReading]:
    heights = {reading.height for reading in readings}
    height = usual if usual in heights else _usual_height(readings)
    return [reading for reading in readings if reading.height == height]


def _map(readings: Sequence[LightReading]) -> _Map:
    ppfd = defaultdict(list)
    for reading in readings:
        ppfd[round(reading.x or 0.0, 1), round(reading.y or 0.0, 1)].append(reading.ppfd)
    cells = tuple(_Cell(x, y, fmean(values)) for (x, y), values in ppfd.items())
    return _Map(cells, readings[0].on, readings[0].height, evenness([reading.ppfd for reading in readings]))


def _grid(maps: Sequence[Sequence[_Cell]]) -> _Grid:
    """Return the layout with most panels in a row whose figures have room, else the one with the largest panels."""
    side = min(_nearest(cells) for cells in maps)
    every = [cell for cells in maps for cell in cells]
    x, y = (_corners([getattr(cell, axis) for cell in every], side) for axis in ("x", "y"))
    most = min(MOST_COLUMNS, len(maps))
    layouts = [_Grid(columns, _scale(columns, x, y), x, y, side) for columns in range(most, 0, -1)]
    low = [a for a in layouts if -(-len(maps) // a.columns) * (a.scale * (y[1] - y[0]) + ABOVE) + BELOW <= MOST_HEIGHT]
    width = _figure_width(every)
    roomy = [a for a in low if a.scale * side >= width]
    chosen = roomy[0] if roomy else (low or layouts[:1])[-1]
    return chosen if roomy else _in_squares(chosen)


def _in_squares(grid: _Grid) -> _Grid:
    """Return the layout with squares that fill it across, each wide enough for its figure."""
    across = grid.x[1] - grid.x[0]
    least = LARGEST / grid.scale
    side = max(least, across / max(1, floor(across / least)))
    return _Grid(grid.columns, grid.scale, _filled(grid.x, side), _filled(grid.y, side), side, True)


def _filled(ends: tuple[float, float], side: float) -> tuple[float, float]:
    """Return `ends` moved outwards alike, so that whole squares lie between them."""
    half = ceil((ends[1] - ends[0]) / side - TOLERANCE) * side / 2
    middle = sum(ends) / 2
    return middle - half, middle + half


def _nearest(cells: Sequence[_Cell]) -> float:
    """Return the smallest distance of two cells in cm, the larger of across and along; of one cell, 10 cm."""
    if len(cells) < 2:
        return 10.0
    places = np.array([(cell.x, cell.y) for cell in cells])
    distances = np.asarray(cKDTree(places).query(places, 2, p=np.inf)[0])
    return float(distances[:, 1].min())


def _corners(values: Sequence[float], side: float) -> tuple[float, float]:
    margin = max(0.6 * side, 0.06 * (max(values) - min(values)))
    return min(values) - margin, max(values) + margin


def _scale(columns: int, x: tuple[float, float], y: tuple[float, float]) -> float:
    width = (theme.WIDTH - AXIS - EDGE - (columns - 1) * GAP) / columns
    return min(width / (x[1] - x[0]), MOST_PANEL / (y[1] - y[0]))


def _figure_width(cells: Sequence[_Cell]) -> float:
    longest = max(len(_figure(cell.ppfd)) for cell in cells)
    return max(SMALLEST, longest * DIGIT + 3)


def _figure(ppfd: float) -> str:
    return in_signs(f"{ppfd:.1f}") if abs(ppfd) < 10 else f"{ppfd:.0f}"


def _coarse(a: _Map, grid: _Grid) -> _Map:
    """Return the map with the mean of each square of the grid in place of cells that lie closer than its side."""
    if _nearest(a.cells) >= grid.side or len(a.cells) < 2:
        return a
    squares = defaultdict(list)
    for cell in a.cells:
        squares[floor((cell.x - grid.x[0]) / grid.side), floor((cell.y - grid.y[0]) / grid.side)].append(cell.ppfd)
    cells = tuple(
        _Cell(grid.x[0] + (column + 0.5) * grid.side, grid.y[0] + (row + 0.5) * grid.side, fmean(values))
        for (column, row), values in squares.items()
    )
    return _Map(cells, a.on, a.height, a.evenness)


def _when(a: _Map) -> str:
    parts = [
        a.on.isoformat() if a.on else "",
        "" if a.height is None else say("{height} cm high", height=in_signs(f"{a.height:g}")),
    ]
    return ", ".join(part for part in parts if part)


def _note(a: _Map) -> list[str]:
    even = a.evenness
    ends = say("mean {mean}, minimum {minimum}", mean=_figure(even.mean), minimum=_figure(even.minimum))
    if even.uniformity is None:
        return [ends]
    return [ends, say("minimum / mean {number}", number=in_signs(f"{even.uniformity:.2f}"))]


def _title(name: str, lines: Sequence[str], grid: _Grid) -> alt.Title:
    """Return the title of a panel, in lines as long as the panel is wide."""
    room = max(16, int(_width(grid) / theme.CHARACTER))
    return alt.Title(
        textwrap.wrap(name, room - 2),  # bold is wider
        subtitle=[part for line in lines for part in textwrap.wrap(theme.one_line(line), room)],
        anchor="start",
        frame="group",
        fontSize=12,
        color=theme.INK,
        subtitleFontSize=12,
        subtitleColor=theme.INK,
        subtitlePadding=2,
        offset=6,
    )


def _width(grid: _Grid) -> float:
    return round(grid.scale * (grid.x[1] - grid.x[0]), 1)


def _base(grid: _Grid, place: int, count: int) -> alt.Chart:
    """Return the axes of a panel: figures on the left of each row and under the lowest panel of each column."""
    with_y, with_x = place % grid.columns == 0, place + grid.columns >= count
    return alt.Chart().encode(x=_axis("x", grid.x, with_x), y=_axis("y", grid.y, with_y))


def _rows(name: str, cells: Sequence[_Cell]) -> alt.InlineData:
    return theme.rows(name, ({"x": a.x, "y": a.y, "ppfd": a.ppfd, "figure": _figure(a.ppfd)} for a in cells))


def _panel(base: alt.Chart, grid: _Grid, ends: tuple[float, float]) -> alt.LayerChart:
    side = min(LARGEST, 0.94 * grid.scale * grid.side)
    room = 0.0 if ends[0] < ends[1] else 1.0
    ramp = alt.Scale(domain=[ends[0] - room, ends[1] + room], range=[DARK, BRIGHT], interpolate="lab")
    square = base.mark_point(shape="square", size=side**2, stroke=theme.INK, strokeWidth=0.6)
    return alt.LayerChart(
        layer=[
            square.encode(fill=alt.Fill("ppfd:Q", scale=ramp, legend=None), tooltip=["x:Q", "y:Q", "ppfd:Q"]),
            base.mark_text().encode(text="figure:N"),
        ]
    ).properties(width=_width(grid), height=round(grid.scale * (grid.y[1] - grid.y[0]), 1))


def _axis(field: str, ends: tuple[float, float], labelled: bool) -> Any:
    channel = alt.X if field == "x" else alt.Y
    axis = alt.Axis(tickCount=5, labelOverlap=True, labels=labelled, ticks=labelled)
    scale = alt.Scale(domain=list(ends), nice=False, zero=False)
    return channel(f"{field}:Q", scale=scale, axis=axis, title=f"{field.upper()} (cm)" if labelled else None)
