"""Changes with their intervals: rows of ratios on one logarithmic axis, each with its label and its
figure in words.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log
from typing import Any, Final

import altair as alt

from reportgen import language
from reportgen.charts import placed, theme
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
LABEL_SHARE, FIGURE_SHARE = (
    0.34,
    0.3,
)  # of the width, the most that labels and figures take beside marks
LANE: Final = 20  # px, a mark under its label
GAP: Final = 9  # px between rows
MOST_LINES: Final = 4  # of a label
INDENT: Final = 18  # px, the symbol before a label
WHOLE: Final = 100.0  # %
PART_GAP: Final = 8  # px around the line over a row that the others multiply to
MINUS: Final = "\N{MINUS SIGN}"


@dataclass(frozen=True)
class ChangeRow:
    """A row: its label, its figure in words in one or two lines, and its ratio with limits, in
    percent.

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
        return [one for one in self.rows if one.row.ratio is not None]


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
    else:
        span = Span(EDGE, placed.room(width) - EDGE)
    if is_beside:
        label_room = span.left - 2 * INDENT
    else:
        label_room = placed.room(width) - INDENT
    found: list[Placed] = []
    top = 0.0
    for row in rows:
        if row.is_product:
            top += PART_GAP
        if row.ratio is None:
            room = placed.room(width)
        else:
            room = label_room
        found.append(_placed(row, top, room, is_beside))
        top = found[-1].bottom + GAP
    return Layout(tuple(found), span, is_beside)


def _span(rows: Sequence[ChangeRow], total: float) -> Span:
    labels = (
        max((width(row.label) for row in rows if row.ratio is not None), default=0.0) + 2 * INDENT
    )
    figures = max((width(line) for row in rows for line in row.figure), default=0.0) + INDENT
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
    """Return the lines of a label and of its figure above a mark: side by side if both have room,
    else below.
    """
    widest = max(map(width, row.figure), default=0.0)
    label = wrapped(theme.one_line(row.label), room - widest - INDENT)
    if len(label) <= max(2, len(row.figure)):
        return label, list(row.figure)
    label = cut(theme.one_line(row.label), room, MOST_LINES)
    return label, [*[""] * len(label), *row.figure]


# ---- axis ----------------------------------------------------------------------------------------


def axis_ends(rows: Iterable[ChangeRow]) -> tuple[float, float]:
    """Return the ends of the axis in percent: every mark, and intervals as far as they flatten
    nothing.
    """
    known = [row for row in rows if row.ratio is not None]
    marks = [within(row.ratio or WHOLE, (FLOOR, CEILING)) for row in known]
    low = min((row.low for row in known if row.low is not None), default=WHOLE)
    high = max((row.high for row in known if row.high is not None), default=WHOLE)
    low = min(max(low, min(marks) / REACH, FLOOR), *marks, NARROWEST[0])
    high = max(min(high, max(marks) * REACH, CEILING), *marks, NARROWEST[1])
    margin = (high / low) ** MARGIN
    return low / margin, high * margin


def within(value: float, ends: tuple[float, float]) -> float:
    """Return `value`, or the end of the axis that it lies beyond."""
    return min(max(value, ends[0]), ends[1])


def note(rows: Sequence[ChangeRow], ends: tuple[float, float]) -> str:
    """Return what a reader must know of the marks and the axis."""
    known = [row for row in rows if row.ratio is not None]
    said = [say("logarithmic scale")]
    if any(_is_beyond(row, ends, side) for row in known for side in (0, 1)):
        said.append(say("arrow: goes on beyond the axis"))
    if any(_is_hollow(row) for row in known):
        said.append(say("hollow: no interval"))
    if any((row.low is None) != (row.high is None) for row in known):
        said.append(say("line on one side only: no bound on the other"))
    return "; ".join(said)


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
    """Return where the axis has figures: no change, and on both sides of it as many as have room."""
    low, high = ends
    wanted = next(values for widest, values in TICKS.items() if high / low <= widest)
    shown = [float(value) for value in wanted if low <= value <= high]
    kept: list[float] = []
    for value in sorted(shown, key=lambda one: max(one / WHOLE, WHOLE / one)):
        text = _extent(value, ends, span)
        if _is_within(text, span) and all(
            _is_apart(text, _extent(other, ends, span)) for other in kept
        ):
            kept.append(value)
    return sorted(kept)


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
    """Return from where to where lines run: along rows between headings, or along marks under their
    labels.
    """
    if not layout.is_beside:
        return [(one.bottom - LANE, one.bottom) for one in layout.marked]
    found: list[tuple[float, float]] = []
    for one in layout.rows:
        if one.row.ratio is None:
            continue
        follows = bool(found) and one.top - found[-1][1] <= GAP + PART_GAP
        if follows:
            top = found.pop()[0]
        else:
            top = one.top
        found.append((top, one.bottom))
    return found


def _labels(layout: Layout) -> list[Label]:
    found: list[Label] = []
    has_looks = any(one.row.look for one in layout.rows)
    for one in layout.rows:
        is_heading = one.row.ratio is None
        x = INDENT if has_looks and not is_heading else 0.0
        found += placed.lines(x, _first_line(one, one.label, layout), one.label, is_bold=is_heading)
    return found


def _figures(layout: Layout, width: float) -> list[Label]:
    found: list[Label] = []
    for one in layout.rows:
        x = placed.room(width)
        found += placed.lines(x, _first_line(one, one.figure, layout), one.figure, "right")
    return found


def _first_line(one: Placed, lines: Sequence[str], layout: Layout) -> float:
    """Return where the first of some lines begins: around the mark where they stand beside it."""
    if layout.is_beside:
        return one.mark - LINE * len(lines) / 2
    return one.top


def _symbols(layout: Layout) -> list[alt.Chart]:
    shown = [one for one in layout.marked if one.row.look is not None]
    if not shown:
        return []
    rows: list[dict[str, Any]] = []
    for one in shown:
        y = _first_line(one, one.label, layout) + LINE / 2
        rows.append({"x": 6, "y": y, "treatment": one.row.look.name if one.row.look else ""})
    return [placed.symbols("symbols", rows, _looks(layout))]


def _looks(layout: Layout) -> list[theme.Look]:
    return list({one.row.look.name: one.row.look for one in layout.rows if one.row.look}.values())


def _partings(layout: Layout, width: float) -> list[alt.Chart]:
    """Return a line over each row that the others multiply to."""
    places = [
        {"x": 1, "to": placed.room(width) - 1, "y": one.top - PART_GAP}
        for one in layout.rows
        if one.row.is_product
    ]
    if not places:
        return []
    rule = alt.Chart().mark_rule(opacity=0.6).encode(x=placed.X, x2=alt.X2("to:Q"), y=placed.Y)
    return [rule.properties(data=theme.rows("parting", places))]


def _marks(base: alt.Chart, layout: Layout, ends: tuple[float, float]) -> list[alt.Chart]:
    """Return intervals, marks, hollow marks and the arrows of what goes on beyond the axis."""
    solid = [one for one in layout.marked if not _is_hollow(one.row)]
    hollow = [one for one in layout.marked if _is_hollow(one.row)]
    looks = _looks(layout)
    spans = base.mark_rule(strokeWidth=2.5).encode(x2=alt.X2("to:Q"))
    layers = [
        spans.properties(data=theme.rows("intervals", [interval(one, ends) for one in solid]))
    ]
    for name, rows in (("marks", solid), ("hollow marks", hollow)):
        for kind, chosen in _by_look(rows):
            data = theme.rows(f"{name}{kind}", [mark(one, ends) for one in chosen])
            layers.append(
                _points(base, looks if kind else [], is_hollow=rows is hollow).properties(data=data)
            )
    return [*layers, *arrows(base, layout.marked, ends)]


def _by_look(rows: Sequence[Placed]) -> list[tuple[str, list[Placed]]]:
    """Return the rows of treatments and those of none, without empty lists."""
    of_treatments = [one for one in rows if one.row.look is not None]
    others = [one for one in rows if one.row.look is None]
    found = ((" of treatments", of_treatments), ("", others))
    return [(kind, chosen) for kind, chosen in found if chosen]


def _points(base: alt.Chart, looks: Sequence[theme.Look], *, is_hollow: bool) -> alt.Chart:
    telling = base.encode(tooltip=theme.tooltip("row:N", "told:N"))
    size: dict[str, Any] = {
        "size": 80,
        "filled": not is_hollow,
        "strokeWidth": 2 if is_hollow else 0,
    }
    if not looks:
        made: alt.Chart = telling.mark_point(shape="square", color=theme.INK, **size)
        return made
    channel = "stroke" if is_hollow else "fill"
    colours = theme.line_colour(looks) if is_hollow else theme.fill(looks)
    chart: alt.Chart = telling.mark_point(**size).encode(
        shape=theme.shape(looks), **{channel: colours}
    )
    return chart


def interval(one: Placed, ends: tuple[float, float]) -> dict[str, Any]:
    """Return the interval of a row within the axis; a side without limit ends at the mark."""
    row = one.row
    if row.low is None:
        low = row.ratio
    else:
        low = row.low
    if row.high is None:
        high = row.ratio
    else:
        high = row.high
    return {"y": one.mark, "value": within(low or WHOLE, ends), "to": within(high or WHOLE, ends)}


def mark(one: Placed, ends: tuple[float, float]) -> dict[str, Any]:
    """Return the mark of a row, within the axis but for the room of arrows."""
    row = one.row
    ratio = row.ratio or WHOLE
    margin = (ends[1] / ends[0]) ** MARGIN
    inner = ends[0] * margin, ends[1] / margin
    if row.look:
        name = row.look.name
    else:
        name = ""
    place = {"y": one.mark, "value": within(ratio, inner), "treatment": name}
    return {**place, "row": row.label, "told": told(ratio, row.low, row.high)}


def arrows(base: alt.Chart, rows: Sequence[Placed], ends: tuple[float, float]) -> list[alt.Chart]:
    """Return an arrow at each edge of the axis for every row that goes on beyond it."""
    layers: list[alt.Chart] = []
    for side, name in enumerate(("left", "right")):
        found = [
            {"y": one.mark, "value": ends[side]} for one in rows if _is_beyond(one.row, ends, side)
        ]
        if found:
            arrow = base.mark_point(shape=f"triangle-{name}", color=theme.INK)
            layers.append(arrow.properties(data=theme.rows(f"beyond {name}", found)))
    return layers


def _is_hollow(row: ChangeRow) -> bool:
    return row.low is None and row.high is None


def _is_beyond(row: ChangeRow, ends: tuple[float, float], side: int) -> bool:
    values = [value for value in (row.low, row.ratio, row.high) if value is not None]
    if side:
        return max(values) > ends[1]
    return min(values) < ends[0]
