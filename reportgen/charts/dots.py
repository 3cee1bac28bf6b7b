"""Trays as dots, with the average of each treatment: any measure that trays have a figure of."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any, Final

import altair as alt

from reportgen.charts import placed, theme
from reportgen.charts.estimates import numbers
from reportgen.charts.layout import natural
from reportgen.charts.lettering import LINE, cut, width
from reportgen.charts.placed import PADDING, Label, Span
from reportgen.model.results import Estimate, MeasureResult
from reportgen.model.trial import Tray, Trial

GAP: Final = 12  # px between treatments
HEAD: Final = 4  # px between the name of a treatment and its first tray
MOST_LINES: Final = 3  # of a treatment's name
INDENT: Final = 18  # px, the symbol before a name
LABELLED: Final = 14  # px, the least height of a tray that is named
ROOMY: Final = 10  # trays of a treatment that are named at most
TALL: Final = 150  # px of a treatment's trays where they are not named
SHORTEST: Final = 4  # px of a tray
ROOM: Final = 1.1  # of what is shown, so that nothing lies at the ends of the axis
USUAL_MARGIN: Final = 0.1  # of a figure, where the trial names no difference that matters
LEAST_SPAN: Final = 1e-6  # of an axis whose figures are all zero
LANE_SHARE: Final = 0.28  # of the width, the most that the names of trays take

Values = Mapping[str, Sequence[float]]


@dataclass(frozen=True)
class _Lane:
    """One tray: the middle of its place from the top, px."""

    tray: Tray
    y: float


@dataclass(frozen=True)
class _Shown:
    """What is shown of a treatment: its figure, the same as text, its trays."""

    estimate: Estimate
    printed: str
    trays: Sequence[Tray]


@dataclass(frozen=True)
class _Group:
    """One treatment: its look, its figure, where its name and its trays lie, px from the top."""

    look: theme.Look
    estimate: Estimate
    printed: str
    name: list[str]
    top: float
    first: float
    bottom: float
    lanes: tuple[_Lane, ...]


def tray_dots(
    trial: Trial,
    result: MeasureResult,
    printed: Mapping[str, str],
    plants: Values | None = None,
    width: float = theme.WIDTH,
) -> alt.LayerChart | None:
    """Draw each tray's figure as a mark over its treatment's average and interval.

    printed: each treatment's figure as text, by its code. plants: the values of each tray's plants,
    drawn small beside the tray; more than `MOST_MARKS` are left out. The axis need not start at
    zero, for places are compared, not lengths; an interval reaches at most half the range of trays
    and plants beyond them. None where no treatment has a figure.
    """
    drawn = _drawn_plants(plants)
    scores = dict(result.scores)
    if not any(estimate.value is not None for _, estimate in result.estimates):
        return None
    groups = _groups(trial, result, printed, {*scores, *drawn}, width)
    span = Span(_left(trial, groups, width), placed.room(width) - 2)
    values = [*scores.values(), *chain.from_iterable(drawn.values())]
    ends = ends_of(values, [estimate for _, estimate in result.estimates], trial.margin)
    ticks = placed.across_ticks(*ends, span)
    base = alt.Chart().encode(x=axis(result, ends, ticks, span), y=placed.Y)
    layers = [
        placed.grid(base, ticks, [(group.first, group.bottom) for group in groups]),
        *_averages(base, groups, ends),
        *_marks(base, groups, scores, drawn),
        *placed.texts("names", _names(groups, width)),
        *placed.texts("trays' names", _lane_names(trial, groups, span)),
        placed.symbols("symbols", _symbols(groups), [group.look for group in groups]),
    ]
    return placed.figure(layers, width, groups[-1].bottom + placed.BELOW_AXIS)


def _drawn_plants(plants: Values | None) -> Values:
    if plants is None or sum(map(len, plants.values())) > theme.MOST_MARKS:
        return {}
    return plants


def _groups(
    trial: Trial, result: MeasureResult, printed: Mapping[str, str], codes: set[str], width: float
) -> list[_Group]:
    estimates = dict(result.estimates)
    groups: list[_Group] = []
    top = 0.0
    for code, look in theme.looks(trial).items():
        trays = [tray for tray in trial.trays if tray.treatment == code and tray.code in codes]
        shown = _Shown(estimates.get(code, Estimate(None)), printed.get(code, ""), trays)
        group = _group(look, shown, top, width)
        groups.append(group)
        top = group.bottom + GAP
    return groups


def _group(look: theme.Look, shown: _Shown, top: float, width: float) -> _Group:
    name = cut(look.name, placed.room(width) - INDENT, MOST_LINES)
    has_own_line = _needs_line(name, shown.printed, width)
    first = top + LINE * (len(name) + has_own_line) + HEAD
    height = _lane_height(len(shown.trays))
    ordered = sorted(shown.trays, key=lambda tray: (natural(tray.block), natural(tray.code)))
    lanes = tuple(_Lane(tray, first + height * (place + 0.5)) for place, tray in enumerate(ordered))
    bottom = first + max(height * len(ordered), LINE)
    return _Group(look, shown.estimate, shown.printed, name, top, first, bottom, lanes)


def _needs_line(name: Sequence[str], printed: str, room: float) -> bool:
    """Return whether a figure has a line of its own beneath the name."""
    return bool(printed) and INDENT + width(name[-1]) + 2 * INDENT + width(printed) > placed.room(
        room
    )


def _lane_height(trays: int) -> float:
    if trays <= ROOMY:
        return LABELLED
    return max(SHORTEST, TALL / trays)


def _left(trial: Trial, groups: Sequence[_Group], room: float) -> float:
    """Return where the axis begins: behind the names of trays, where these are shown."""
    names = chain.from_iterable(_labels(trial, group) for group in groups)
    longest = max(map(width, names), default=0.0)
    if longest:
        return min(longest + 2 * PADDING, LANE_SHARE * room)
    return float(INDENT)


def _labels(trial: Trial, group: _Group) -> list[str]:
    """Return the names of a treatment's trays, blocks if each has its own; none of too many."""
    if len(group.lanes) > ROOMY:
        return []
    blocks = [theme.one_line(lane.tray.block) for lane in group.lanes]
    if all(blocks) and len(set(blocks)) == len(blocks):
        return blocks
    return [theme.one_line(lane.tray.code) for lane in group.lanes]


def _lane_names(trial: Trial, groups: Sequence[_Group], span: Span) -> list[Label]:
    found: list[Label] = []
    for group in groups:
        for lane, name in zip(group.lanes, _labels(trial, group), strict=False):
            text = cut(name, span.left - PADDING, 1)[0]
            found.append(Label(span.left - 2 * PADDING, lane.y, text, "right"))
    return found


def _names(groups: Sequence[_Group], width: float) -> list[Label]:
    found: list[Label] = []
    for group in groups:
        found += placed.lines(INDENT, group.top, group.name, is_bold=True)
        y = group.first - HEAD - LINE / 2
        found.append(Label(placed.room(width), y, group.printed, "right"))
    return found


def _symbols(groups: Sequence[_Group]) -> list[dict[str, Any]]:
    return [{"x": 6, "y": group.top + LINE / 2, "treatment": group.look.name} for group in groups]


def axis(
    result: MeasureResult, ends: tuple[float, float], ticks: Sequence[float], span: Span
) -> alt.X:
    """Return the axis of a measure between two values, with figures at `ticks`."""
    title = placed.title_lines(theme.measure_title(result.measure), span)
    scale = alt.Scale(domain=list(ends), range=[span.left, span.right], nice=False, zero=False)
    return alt.X(
        "value:Q",
        scale=scale,
        axis=alt.Axis(values=list(ticks), format=theme.number_format(ticks), grid=False),
        title=title,
    )


def ends_of(
    values: Sequence[float], estimates: Sequence[Estimate], margin: float | None = None
) -> tuple[float, float]:
    """Return the ends of an axis of values, averages, and intervals as far as they flatten nothing.

    It spans twice the relative difference that matters at least (`margin`, a tenth if None), so
    that small differences look small.
    """
    shown = [*values]
    limits: list[float] = []
    for estimate in estimates:
        shown += numbers(estimate.value)
        limits += numbers(estimate.low, estimate.high)
    lowest, highest = min(shown), max(shown)
    room = (highest - lowest) / 2 or abs(highest) / 2 or 1.0
    low = max(min([lowest, *limits]), lowest - room)
    high = min(max([highest, *limits]), highest + room)
    middle = (low + high) / 2
    half = max((high - low) * ROOM / 2, (margin or USUAL_MARGIN) * abs(middle), LEAST_SPAN)
    if lowest >= 0:
        floor = 0.0
    else:
        floor = middle - half
    return max(middle - half, floor), middle + half


def _averages(
    base: alt.Chart, groups: Sequence[_Group], ends: tuple[float, float]
) -> list[alt.Chart]:
    """Return each treatment's interval as a band and its average as a line, along its trays."""
    shown = [group.look for group in groups]
    bands: list[dict[str, Any]] = []
    lines: list[dict[str, Any]] = []
    for group in groups:
        place = {"treatment": group.look.name, "y": group.first, "bottom": group.bottom}
        low, value, high = group.estimate.low, group.estimate.value, group.estimate.high
        if low is not None and high is not None:
            bands.append({**place, "value": max(low, ends[0]), "to": min(high, ends[1])})
        if value is not None:
            lines.append({**place, "value": value})
    band = base.mark_rect(opacity=theme.PALE).encode(
        x2=alt.X2("to:Q"), y2=alt.Y2("bottom:Q"), fill=theme.fill(shown)
    )
    arrows = _arrows(base, groups, ends)
    line = base.mark_rule(strokeWidth=2).encode(
        y2=alt.Y2("bottom:Q"), tooltip=theme.tooltip("treatment:N", "value:Q")
    )
    return [
        band.properties(data=theme.rows("intervals", bands)),
        line.properties(data=theme.rows("averages", lines)),
        *arrows,
    ]


def _arrows(
    base: alt.Chart, groups: Sequence[_Group], ends: tuple[float, float]
) -> list[alt.Chart]:
    """Return an arrow at each edge of the axis for every interval that goes on beyond it."""
    layers: list[alt.Chart] = []
    for side, name in enumerate(("left", "right")):
        rows: list[dict[str, Any]] = []
        for group in groups:
            if _is_beyond(group.estimate, ends, side):
                rows.append({"value": ends[side], "y": group.bottom - LINE / 4})
        if rows:
            arrow = base.mark_point(shape=f"triangle-{name}", size=40, color=theme.INK)
            layers.append(arrow.properties(data=theme.rows(f"beyond {name}", rows)))
    return layers


def _is_beyond(estimate: Estimate, ends: tuple[float, float], side: int) -> bool:
    """Return whether an interval goes on beyond an end of the axis. side: 0 left, 1 right."""
    if side:
        return estimate.high is not None and estimate.high > ends[1]
    return estimate.low is not None and estimate.low < ends[0]


def _marks(
    base: alt.Chart, groups: Sequence[_Group], scores: Mapping[str, float], plants: Values
) -> list[alt.Chart]:
    shown = [group.look for group in groups]
    trays: list[dict[str, Any]] = []
    single: list[dict[str, Any]] = []
    for group in groups:
        for lane in group.lanes:
            code = lane.tray.code
            place = {"treatment": group.look.name, "tray": code, "y": lane.y}
            single += [{**place, "value": value} for value in plants.get(code, ())]
            if code in scores:
                trays.append({**place, "value": scores[code]})
    marks = base.encode(
        shape=theme.shape(shown), tooltip=theme.tooltip("treatment:N", "tray:N", "value:Q")
    )
    small = marks.mark_point(size=16, filled=False, strokeWidth=1).encode(
        stroke=theme.line_colour(shown)
    )
    large = marks.mark_point(size=75).encode(color=theme.colour(shown))
    return [
        small.properties(data=theme.rows("plants", single)),
        large.properties(data=theme.rows("trays", trays)),
    ]
