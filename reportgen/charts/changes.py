"""Changes with their intervals: rows of ratios on one logarithmic axis, each with its label and its
figure in words.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from math import log
from typing import Any, Final

import altair as alt

from reportgen import language
from reportgen.charts import estimates, placed, theme
from reportgen.charts.lettering import LINE, cut, width, wrapped
from reportgen.charts.placed import Label, Span
from reportgen.charts.tooltips import told
from reportgen.language import figure as in_signs
from reportgen.language import say

FLOOR, CEILING = 12.5, 800.0  # %: no axis reaches further, whatever a ratio
NARROWEST: Final = (80.0, 125.0)  # %: a small difference must not look large
REACH: Final = 2.0  # an interval may double the axis beyond its outermost dot; there it is clipped
MARGIN: Final = 0.03  # of the axis, on each side, for the arrows of what is clipped
TICKS: Final = {  # by the widest axis they suit, as its upper end / its lower end
    2.5: (50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200),
    8.0: (12.5, 25, 50, 75, 100, 150, 200, 300, 400, 600, 800),
    float("inf"): (12.5, 25, 50, 100, 200, 400, 800),
}
TICK_ROOM: Final = 14  # px between two figures along the axis
EDGE: Final = 6  # px from the ends of the axis to those of a figure, where labels stand over marks
DOUBLE: Final = 200  # %, from which on an axis says how many times
BESIDE: Final = 480  # px, the least width of a figure whose labels stand beside its marks
# Of the width, the most that labels and figures take beside marks.
LABEL_SHARE, FIGURE_SHARE = 0.34, 0.3
LANE: Final = 20  # px, a mark under its label
GAP: Final = 9  # px between rows
MOST_LINES: Final = 4  # of a label
INDENT: Final = 18  # px, the symbol before a label
WHOLE: Final = 100.0  # %
PART_GAP: Final = 8  # px around the line over a row that the others multiply to
MINUS: Final = "\N{MINUS SIGN}"


@dataclass(frozen=True)
class ChangeRow:
    """A row: its label, its figure in words in one or two lines, its ratio with limits in percent.

    A row without a ratio is a heading. `look` is the treatment's, None for what is of none.
    `is_product` parts the row from those above, which multiply to it.
    """

    label: str
    figure: tuple[str, ...] = ()
    ratio: float | None = None
    low: float | None = None
    high: float | None = None
    look: theme.Look | None = None
    is_product: bool = False


@dataclass(frozen=True)
class Placed:
    """A row with the lines of its label, and where it begins, has its mark and ends, px from the
    top.
    """

    row: ChangeRow
    label: list[str]
    figure: list[str]
    top: float
    mark: float
    bottom: float


@dataclass(frozen=True)
class Layout:
    """The rows of a figure at their places, and where its axis begins and ends."""

    rows: tuple[Placed, ...]
    span: Span
    is_beside: bool

    @property
    def bottom(self) -> float:
        """Return where the lowest row ends, px from the top."""
        return self.rows[-1].bottom

    @property
    def marked(self) -> list[Placed]:
        """Return the rows that have a mark."""
        return [placed for placed in self.rows if placed.row.ratio is not None]


def changes(
    rows: Sequence[ChangeRow], title: str, width: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw each row's ratio as a mark with its interval, around a line where nothing changed.

    title: what the axis says, without a word on the marks; what they need is added. Where a figure
    is narrow, labels stand over their marks, else beside them. An interval without one limit has no
    line on that side, a ratio without both is hollow; what lies far outside ends in an arrow. None
    where no row has a ratio.
    """
    if all(row.ratio is None for row in rows):
        return None
    layout = laid_out(rows, width)
    ends = axis_ends(rows)
    base = axis(ends, layout, f"{title}; {note(rows, ends)}")
    layers = [*frame(base, layout, ends, width), *_marks(base, layout, ends)]
    return placed.figure(layers, width, layout.bottom + placed.BELOW_AXIS)


# ---- places --------------------------------------------------------------------------------------


def laid_out(rows: Sequence[ChangeRow], width: float) -> Layout:
    """Return the rows at their places."""
    is_beside = width >= BESIDE
    if is_beside:
        span = _span(rows, width)
        label_room = span.left - 2 * INDENT
    else:
        span = Span(EDGE, placed.room(width) - EDGE)
        label_room = placed.room(width) - INDENT
    places: list[Placed] = []
    top = 0.0
    for row in rows:
        if row.is_product:
            top += PART_GAP
        room = label_room
        if row.ratio is None:
            room = placed.room(width)
        places.append(_placed(row, top, room, is_beside))
        top = places[-1].bottom + GAP
    return Layout(tuple(places), span, is_beside)


def _span(rows: Sequence[ChangeRow], total: float) -> Span:
    names = [row.label for row in rows if row.ratio is not None]
    lines = chain.from_iterable(row.figure for row in rows)
    labels = max(map(width, names), default=0.0) + 2 * INDENT
    figures = max(map(width, lines), default=0.0) + INDENT
    left = min(labels, LABEL_SHARE * total)
    return Span(left, placed.room(total) - min(figures, FIGURE_SHARE * total))


def _placed(row: ChangeRow, top: float, room: float, is_beside: bool) -> Placed:
    figure = list(row.figure)
    if is_beside or row.ratio is None:
        label = cut(theme.one_line(row.label), room, MOST_LINES)
        height = LINE * max(len(label), len(figure), 1)
        return Placed(row, label, figure, top, top + height / 2, top + height)
    label, figure = _over(row, room)
    height = LINE * max(len(label), len(figure))
    return Placed(row, label, figure, top, top + height + LANE / 2, top + height + LANE)


def _over(row: ChangeRow, room: float) -> tuple[list[str], list[str]]:
    """Return the lines of a label and its figure above a mark, side by side if both have room."""
    widest = max(map(width, row.figure), default=0.0)
    label = wrapped(theme.one_line(row.label), room - widest - INDENT)
    if len(label) <= max(2, len(row.figure)):
        return label, list(row.figure)
    label = cut(theme.one_line(row.label), room, MOST_LINES)
    return label, [*[""] * len(label), *row.figure]


# ---- axis ----------------------------------------------------------------------------------------


def axis_ends(rows: Iterable[ChangeRow]) -> tuple[float, float]:
    """Return the ends of the axis in percent: all marks, intervals as far as they flatten nothing."""
    marked = _with_ratio(rows)
    marks = [within(row.ratio or WHOLE, (FLOOR, CEILING)) for row in marked]
    low = min(estimates.numbers(*(row.low for row in marked)), default=WHOLE)
    high = max(estimates.numbers(*(row.high for row in marked)), default=WHOLE)
    low = min(max(low, min(marks) / REACH, FLOOR), *marks, NARROWEST[0])
    high = max(min(high, max(marks) * REACH, CEILING), *marks, NARROWEST[1])
    margin = (high / low) ** MARGIN
    return low / margin, high * margin


def _with_ratio(rows: Iterable[ChangeRow]) -> list[ChangeRow]:
    return [row for row in rows if row.ratio is not None]


def within(value: float, ends: tuple[float, float]) -> float:
    """Return `value`, or the end of the axis that it lies beyond."""
    return min(max(value, ends[0]), ends[1])


def note(rows: Sequence[ChangeRow], ends: tuple[float, float]) -> str:
    """Return what a reader must know of the marks and the axis."""
    marked = _with_ratio(rows)
    notes = [say("logarithmic scale")]
    if any(_has_arrow(row, ends) for row in marked):
        notes.append(say("arrow: goes on beyond the axis"))
    if any(map(_is_hollow, marked)):
        notes.append(say("hollow: no interval"))
    if any(map(_is_one_sided, marked)):
        notes.append(say("line on one side only: no bound on the other"))
    return "; ".join(notes)


def axis(ends: tuple[float, float], layout: Layout, title: str) -> alt.Chart:
    """Return the channels that all layers share: a ratio in percent across, px from the top."""
    span = layout.span
    values = ticks(ends, span)
    texts = json.dumps({f"{value:g}": tick_text(value) for value in values}, ensure_ascii=False)
    look = alt.Axis(
        values=values, grid=False, labelExpr=f"{texts}['' + datum.value]", labelOverlap=False
    )
    scale = alt.Scale(type="log", domain=list(ends), range=[span.left, span.right], nice=False)
    heading = placed.title_lines(title, span)
    return alt.Chart().encode(x=alt.X("value:Q", scale=scale, axis=look, title=heading), y=placed.Y)


def ticks(ends: tuple[float, float], span: Span) -> list[float]:
    """Return where the axis has figures: no change, and on both sides as many as have room."""
    low, high = ends
    wanted = next(values for widest, values in TICKS.items() if high / low <= widest)
    shown = [float(value) for value in wanted if low <= value <= high]
    extents: dict[float, tuple[float, float]] = {}
    for value in sorted(shown, key=_distance_from_no_change):
        extent = _extent(value, ends, span)
        if _is_within(extent, span) and _is_clear(extent, extents.values()):
            extents[value] = extent
    return sorted(extents)


def _distance_from_no_change(percent: float) -> float:
    return max(percent / WHOLE, WHOLE / percent)


def _is_clear(extent: tuple[float, float], others: Iterable[tuple[float, float]]) -> bool:
    """Return whether a figure keeps its distance from all others."""
    return all(_is_apart(extent, other) for other in others)


def _extent(value: float, ends: tuple[float, float], span: Span) -> tuple[float, float]:
    """Return where the figure of a tick begins and ends, px from the left."""
    low, high = ends
    middle = span.left + (span.right - span.left) * log(value / low) / log(high / low)
    half = width(tick_text(value)) / 2
    return middle - half, middle + half


def _is_within(text: tuple[float, float], span: Span) -> bool:
    return text[0] >= span.left - EDGE and text[1] <= span.right + EDGE


def _is_apart(text: tuple[float, float], other: tuple[float, float]) -> bool:
    return text[0] >= other[1] + TICK_ROOM or other[0] >= text[1] + TICK_ROOM


def tick_text(percent: float) -> str:
    """Return a ratio as a change: `+25%`, `no change`, and how many times from the double on."""
    if percent == WHOLE:
        return say("no change")
    if percent >= DOUBLE:
        return f"×{in_signs(f'{percent / WHOLE:g}')}"
    if percent > WHOLE:
        sign = "+"
    else:
        sign = MINUS
    return sign + language.percent(in_signs(f"{abs(percent - WHOLE):g}"))


# ---- layers --------------------------------------------------------------------------------------


def frame(
    base: alt.Chart, layout: Layout, ends: tuple[float, float], width: float
) -> list[alt.Chart]:
    """Return grid, the line of no change, labels and figures."""
    strips = _strips(layout)
    values = [value for value in ticks(ends, layout.span) if value != WHOLE]
    lines = [{"value": WHOLE, "y": top, "bottom": bottom} for top, bottom in strips]
    no_change = base.mark_rule(strokeWidth=1.5, opacity=0.6).encode(y2=alt.Y2("bottom:Q"))
    return [
        placed.grid(base, values, strips),
        no_change.properties(data=theme.rows("no change", lines)),
        *_partings(layout, width),
        *placed.texts("labels", _labels(layout)),
        *placed.texts("figures", _figures(layout, width)),
        *_symbols(layout),
    ]


def _strips(layout: Layout) -> list[tuple[float, float]]:
    """Return where lines run: along rows between headings, or along marks under their labels."""
    if not layout.is_beside:
        return [(place.bottom - LANE, place.bottom) for place in layout.marked]
    strips: list[tuple[float, float]] = []
    for place in layout.marked:
        top = place.top
        if strips and top - strips[-1][1] <= GAP + PART_GAP:
            top = strips.pop()[0]
        strips.append((top, place.bottom))
    return strips


def _labels(layout: Layout) -> list[Label]:
    labels: list[Label] = []
    has_looks = any(place.row.look for place in layout.rows)
    for place in layout.rows:
        is_heading = place.row.ratio is None
        x = 0.0
        if has_looks and not is_heading:
            x = INDENT
        top = _first_line(place, place.label, layout)
        labels += placed.lines(x, top, place.label, is_bold=is_heading)
    return labels


def _figures(layout: Layout, width: float) -> list[Label]:
    labels: list[Label] = []
    for place in layout.rows:
        top = _first_line(place, place.figure, layout)
        labels += placed.lines(placed.room(width), top, place.figure, "right")
    return labels


def _first_line(place: Placed, lines: Sequence[str], layout: Layout) -> float:
    """Return where the first of some lines begins: around the mark where they stand beside it."""
    if layout.is_beside:
        return place.mark - LINE * len(lines) / 2
    return place.top


def _symbols(layout: Layout) -> list[alt.Chart]:
    rows: list[dict[str, Any]] = []
    for place in layout.marked:
        if place.row.look:
            y = _first_line(place, place.label, layout) + LINE / 2
            rows.append({"x": 6, "y": y, "treatment": place.row.look.name})
    if rows:
        return [placed.symbols("symbols", rows, _looks(layout))]
    return []


def _looks(layout: Layout) -> list[theme.Look]:
    looks: dict[str, theme.Look] = {}
    for place in layout.rows:
        if place.row.look:
            looks[place.row.look.name] = place.row.look
    return list(looks.values())


def _partings(layout: Layout, width: float) -> list[alt.Chart]:
    """Return a line over each row that the others multiply to."""
    across = {"x": 1, "to": placed.room(width) - 1}
    rows: list[dict[str, Any]] = []
    for place in layout.rows:
        if place.row.is_product:
            rows.append({**across, "y": place.top - PART_GAP})
    if not rows:
        return []
    rule = alt.Chart().mark_rule(opacity=0.6).encode(x=placed.X, x2=alt.X2("to:Q"), y=placed.Y)
    return [rule.properties(data=theme.rows("parting", rows))]


def _marks(base: alt.Chart, layout: Layout, ends: tuple[float, float]) -> list[alt.Chart]:
    """Return intervals, marks, hollow marks and the arrows of what goes on beyond the axis."""
    solid = [place for place in layout.marked if not _is_hollow(place.row)]
    hollow = [place for place in layout.marked if _is_hollow(place.row)]
    looks = _looks(layout)
    spans = base.mark_rule(strokeWidth=2.5).encode(x2=alt.X2("to:Q"))
    intervals = [interval(place, ends) for place in solid]
    return [
        spans.properties(data=theme.rows("intervals", intervals)),
        *_mark_layers("marks", _solid_points(base, looks), solid, ends),
        *_mark_layers("hollow marks", _hollow_points(base, looks), hollow, ends),
        *arrows(base, layout.marked, ends),
    ]


@dataclass(frozen=True)
class _Points:
    """Marks of treatments in their looks, and marks of what is of none."""

    of_treatments: alt.Chart
    others: alt.Chart


def _mark_layers(
    name: str, points: _Points, places: Sequence[Placed], ends: tuple[float, float]
) -> list[alt.Chart]:
    """Return the marks of treatments and those of none, without empty layers."""
    of_treatments = [mark(place, ends) for place in places if place.row.look]
    others = [mark(place, ends) for place in places if not place.row.look]
    layers: list[alt.Chart] = []
    if of_treatments:
        data = theme.rows(f"{name} of treatments", of_treatments)
        layers.append(points.of_treatments.properties(data=data))
    if others:
        layers.append(points.others.properties(data=theme.rows(name, others)))
    return layers


def _solid_points(base: alt.Chart, looks: Sequence[theme.Look]) -> _Points:
    chart = base.encode(tooltip=theme.tooltip("row:N", "told:N"))
    plain = chart.mark_point(shape="square", color=theme.INK, size=80, filled=True, strokeWidth=0)
    own = chart.mark_point(size=80, filled=True, strokeWidth=0)
    return _Points(own.encode(shape=theme.shape(looks), fill=theme.fill(looks)), plain)


def _hollow_points(base: alt.Chart, looks: Sequence[theme.Look]) -> _Points:
    chart = base.encode(tooltip=theme.tooltip("row:N", "told:N"))
    plain = chart.mark_point(shape="square", color=theme.INK, size=80, filled=False, strokeWidth=2)
    own = chart.mark_point(size=80, filled=False, strokeWidth=2)
    return _Points(own.encode(shape=theme.shape(looks), stroke=theme.line_colour(looks)), plain)


def interval(place: Placed, ends: tuple[float, float]) -> dict[str, Any]:
    """Return the interval of a row within the axis; a side without limit ends at the mark."""
    row = place.row
    low = high = row.ratio
    if row.low is not None:
        low = row.low
    if row.high is not None:
        high = row.high
    return {"y": place.mark, "value": within(low or WHOLE, ends), "to": within(high or WHOLE, ends)}


def mark(place: Placed, ends: tuple[float, float]) -> dict[str, Any]:
    """Return the mark of a row, within the axis but for the room of arrows."""
    row = place.row
    ratio = row.ratio or WHOLE
    margin = (ends[1] / ends[0]) ** MARGIN
    inner = ends[0] * margin, ends[1] / margin
    name = ""
    if row.look:
        name = row.look.name
    shown = {"y": place.mark, "value": within(ratio, inner), "treatment": name}
    return {**shown, "row": row.label, "told": told(ratio, row.low, row.high)}


def arrows(base: alt.Chart, rows: Sequence[Placed], ends: tuple[float, float]) -> list[alt.Chart]:
    """Return an arrow at each edge of the axis for every row that goes on beyond it."""
    layers: list[alt.Chart] = []
    for side, name in enumerate(("left", "right")):
        beyond = [place for place in rows if _is_beyond(place.row, ends, side)]
        if beyond:
            marks = [{"y": place.mark, "value": ends[side]} for place in beyond]
            arrow = base.mark_point(shape=f"triangle-{name}", color=theme.INK)
            layers.append(arrow.properties(data=theme.rows(f"beyond {name}", marks)))
    return layers


def _is_hollow(row: ChangeRow) -> bool:
    return row.low is None and row.high is None


def _is_one_sided(row: ChangeRow) -> bool:
    return (row.low is None) != (row.high is None)


def _has_arrow(row: ChangeRow, ends: tuple[float, float]) -> bool:
    return _is_beyond(row, ends, 0) or _is_beyond(row, ends, 1)


def _is_beyond(row: ChangeRow, ends: tuple[float, float], side: int) -> bool:
    """Return whether a row goes on beyond an end of the axis. side: 0 left, 1 right."""
    values = estimates.numbers(row.low, row.ratio, row.high)
    if side:
        return max(values) > ends[1]
    return min(values) < ends[0]
