"""Many lines over time: a panel for each, beside the first line of all, on the same scales."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import altair as alt

from reportgen.charts import placed, plane, theme
from reportgen.charts.lettering import LINE, cut, width, wrapped
from reportgen.charts.placed import Label, Span
from reportgen.charts.plane import Axis

HEIGHT: Final = 76  # px, one panel
GAP: Final = 16  # px between panels
COLUMNS: Final = {True: 3, False: 2}  # by whether a figure is wide
WIDE: Final = 480  # px
NAME_LINES: Final = 2
TICK_ROOM: Final = 44  # px
INDENT: Final = 18  # px, the symbol before a name
BAND_OPACITY: Final = 0.3

Row = dict[str, Any]
Series = tuple[theme.Look, Sequence[Row]]


@dataclass(frozen=True)
class _Panel:
    """A panel: its line, and where its plane begins, px from the left and from the top."""

    look: theme.Look
    rows: Sequence[Row]
    left: float
    top: float


@dataclass(frozen=True)
class _Sheet:
    """All panels, each `across` px wide, with the axes that they share."""

    panels: tuple[_Panel, ...]
    across: float
    x: Axis
    y: Axis

    def px(self, panel: _Panel, row: Row) -> Row:
        """Return a row at its places in a panel."""
        upright = {f"{name}_px": self.up(panel, row[name]) for name in ("value", "low", "high")}
        return {**row, **upright, "x": self.along(panel, row["day"]), "treatment": panel.look.name}

    def rows_in(self, panel: _Panel, number: int, rows: Sequence[Row]) -> list[Row]:
        """Return rows at their places in the panel of a number."""
        return [{"part": 0, **self.px(panel, row), "panel": number} for row in rows]

    def along(self, panel: _Panel, value: float) -> float:
        """Return how far from the left a value of the lower axis lies in a panel."""
        low, high = self.x.ends
        return panel.left + self.across * (value - low) / (high - low)

    def up(self, panel: _Panel, value: float) -> float:
        """Return how far from the top a value of the upright axis lies in a panel."""
        low, high = self.y.ends
        return panel.top + HEIGHT * (high - value) / (high - low)

    @property
    def bottom(self) -> float:
        """Return where the lowest panel ends, px from the top."""
        return max(panel.top for panel in self.panels) + HEIGHT


def draw(lines: Sequence[Series], x: Axis, y: Axis, total: float) -> alt.LayerChart:
    """Draw a panel for each line, the first line thin and dashed in all others.

    Rows have day, value, low and high.
    """
    title = wrapped(theme.one_line(y.title), placed.room(total))
    sheet = _sheet(lines, x, y, total, LINE * len(title) + GAP / 2)
    looks = [look for look, _ in lines]
    bottom = placed.lines(0, sheet.bottom + LINE + 6, wrapped(x.title, placed.room(total)))
    labels = [*placed.lines(0, 0, title), *bottom, *_figures(sheet, total), *_names(sheet)]
    symbols: list[Row] = []
    for panel in sheet.panels:
        middle = _name_top(panel) + LINE / 2
        symbols.append({"x": panel.left + 6, "y": middle, "treatment": panel.look.name})
    layers = [_grid(sheet), *_lines(sheet, looks), placed.symbols("symbols", symbols, looks)]
    return placed.figure([*layers, *placed.texts("labels", labels)], total, bottom[-1].y + LINE / 2)


def _sheet(lines: Sequence[Series], x: Axis, y: Axis, total: float, top: float) -> _Sheet:
    columns = COLUMNS[total >= WIDE]
    values = plane.upright_ticks(y, HEIGHT)
    figures = max(width(theme.grouped(value, theme.decimals(values))) for value in values) + 6
    across = (placed.room(total) - figures - (columns - 1) * GAP - 10) / columns
    names = LINE * NAME_LINES + 4
    found: list[_Panel] = []
    for place, (look, rows) in enumerate(lines):
        row, column = divmod(place, columns)
        left = figures + column * (across + GAP)
        found.append(_Panel(look, rows, left, top + names + row * (HEIGHT + names + GAP)))
    return _Sheet(tuple(found), across, x, y)


def _name_top(panel: _Panel) -> float:
    return panel.top - LINE * NAME_LINES - 4


def _names(sheet: _Sheet) -> list[Label]:
    found: list[Label] = []
    for panel in sheet.panels:
        lines = cut(panel.look.name, sheet.across - INDENT, NAME_LINES)
        found += placed.lines(panel.left + INDENT, _name_top(panel), lines)
    return found


def _figures(sheet: _Sheet, total: float) -> list[Label]:
    """Return the figures of the upright axis left of each row of panels, and those of days under
    the lowest ones.
    """
    first = min(panel.left for panel in sheet.panels)
    found: list[Label] = []
    for panel in sheet.panels:
        if panel.left == first:
            values = plane.upright_ticks(sheet.y, HEIGHT)
            for value in values:
                text = theme.grouped(value, theme.decimals(values))
                found.append(Label(first - 6, sheet.up(panel, value), text, "right"))
    lowest = {panel.left: panel for panel in sheet.panels}
    for panel in lowest.values():
        for value in _days(sheet):
            y = panel.top + HEIGHT + LINE / 2 + 3
            found.append(Label(sheet.along(panel, value), y, theme.grouped(value), "center"))
    return found


def _days(sheet: _Sheet) -> list[float]:
    return placed.across_ticks(*sheet.x.ends, Span(0, sheet.across), GAP / 2, TICK_ROOM)


def _grid(sheet: _Sheet) -> alt.Chart:
    rows: list[Row] = []
    for panel in sheet.panels:
        for value in plane.upright_ticks(sheet.y, HEIGHT):
            rows.append(
                {"x": panel.left, "to": panel.left + sheet.across, "y": sheet.up(panel, value)}
            )
    rule: alt.Chart = alt.Chart().mark_rule(opacity=theme.FAINT, strokeWidth=1)
    return rule.encode(x=placed.X, x2=alt.X2("to:Q"), y=placed.Y).properties(
        data=theme.rows("grid", rows)
    )


def _lines(sheet: _Sheet, looks: Sequence[theme.Look]) -> list[alt.Chart]:
    own: list[Row] = []
    first: list[Row] = []
    for number, panel in enumerate(sheet.panels):
        own += sheet.rows_in(panel, number, panel.rows)
        if number:
            first += sheet.rows_in(panel, number, sheet.panels[0].rows)
    look = {"x": placed.X, "detail": [alt.Detail("panel:N"), alt.Detail("part:N")]}
    up = alt.Y("value_px:Q", scale=None)
    band = (
        alt.Chart()
        .mark_area(opacity=BAND_OPACITY)
        .encode(y=alt.Y("low_px:Q", scale=None), y2=alt.Y2("high_px:Q"), **look)
    )
    thin = (
        alt.Chart()
        .mark_line(color=theme.INK, strokeWidth=1, strokeDash=[3, 2])
        .encode(y=up, **look)
    )
    strong = (
        alt.Chart().mark_line(strokeWidth=2).encode(y=up, stroke=theme.line_colour(looks), **look)
    )
    tells = theme.tooltip("treatment:N", "day:Q", "value:Q", "reach:N")
    points = (
        alt.Chart()
        .mark_point(size=20)
        .encode(x=placed.X, y=up, color=theme.colour(looks), tooltip=tells)
    )
    return [
        band.encode(fill=theme.fill(looks)).properties(data=theme.rows("bands", own)),
        thin.properties(data=theme.rows("first", first)),
        strong.properties(data=theme.rows("curves", own)),
        points.properties(data=theme.rows("points", own)),
    ]
