"""What made the difference: the factors whose product is a ratio."""

import json
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf, isfinite
from typing import Any, Final, Literal

import altair as alt

from reportgen.charts import theme
from reportgen.charts.overview import CEILING, FLOOR, MARGIN, NARROWEST, REACH, TICKS
from reportgen.charts.tooltips import told
from reportgen.language import figure as in_signs
from reportgen.language import say
from reportgen.model.results import FactorOfRatio
from reportgen.model.trial import Trial

ROW: Final = 40  # px
LINE: Final = 15  # px, one line of a label
LABEL_LENGTH: Final = 26  # characters in a line of a label
NOTE_LENGTH: Final = 64  # characters
TIMES: Final = "×\N{NO-BREAK SPACE}"
APART: Final = 0.5  # rows between the factors and their product


@dataclass(frozen=True)
class Ratio:
    """A row of a chart of ratios, in percent: its place counted in rows from the top, its label, its figure."""

    place: float
    label: str
    figure: str
    percent: float
    low: float | None = None
    high: float | None = None


def factors(trial: Trial, rows: Sequence[FactorOfRatio], product: FactorOfRatio) -> alt.LayerChart | None:
    """Draw the factors of one ratio, and the ratio itself as their product beneath a line.

    The axis is logarithmic, so that lengths from 100 % add up where ratios multiply. A factor without any bound
    is hollow and without a whisker. None where there is no factor, or where a factor or the product has no ratio
    above 0, for the others would not multiply to it. Raises KeyError for a product of a treatment that the trial
    does not have.
    """
    if not rows or not all(_is_positive(row.ratio) for row in (*rows, product)):
        return None
    last = _row(len(rows) + APART, "= ", product)
    drawn = [*(_row(place, "", row) for place, row in enumerate(rows)), last]
    ends = axis_ends(drawn)
    name = theme.looks(trial)[product.treatment].name, theme.looks(trial)[trial.reference].name
    title = [
        *textwrap.wrap(say("{name} relative to {reference} (%)", name=name[0], reference=name[1]), NOTE_LENGTH),
        *textwrap.wrap(note(drawn, ends, trial.confidence_level), NOTE_LENGTH),
    ]
    base = ratio_base(drawn, ends)
    return figure([*frame(base, drawn, title), _parting(base, last), *marks(base, drawn, ends)], drawn)


def axis_ends(rows: Sequence[Ratio]) -> tuple[float, float]:
    """Return the ends of a logarithmic axis in percent: every dot, and intervals as far as they flatten nothing."""
    dots = [within(row.percent, (FLOOR, CEILING)) for row in rows]
    low = min((row.low for row in rows if row.low is not None), default=100.0)
    high = max((row.high for row in rows if row.high is not None), default=100.0)
    low = min(max(low, min(dots) / REACH, FLOOR), *dots, NARROWEST[0])
    high = max(min(high, max(dots) * REACH, CEILING), *dots, NARROWEST[1])
    margin = (high / low) ** MARGIN
    return low / margin, high * margin


def note(rows: Sequence[Ratio], ends: tuple[float, float], level: float) -> str:
    """Return what the marks of `rows` mean, as the end of an axis title."""
    said = [say("Mark and {level} interval", level=theme.percent(level)), say("logarithmic scale")]
    if any(_is_beyond(row, ends, side) for row in rows for side in (0, 1)):
        said.append(say("arrow: goes on beyond the axis"))
    if any(_is_hollow(row) for row in rows):
        said.append(say("hollow: no interval"))
    if any((row.low is None) != (row.high is None) for row in rows):
        said.append(say("line on one side only: no bound on the other"))
    return "; ".join(said)


def ratio_base(rows: Sequence[Ratio], ends: tuple[float, float]) -> alt.Chart:
    """Return the channels that all layers of a chart of ratios share: percent across, rows from the top."""
    bottom = max(row.place for row in rows) + 0.5
    return alt.Chart().encode(
        x=alt.X("percent:Q", scale=alt.Scale(type="log", domain=list(ends), nice=False), axis=_ticks(*ends)),
        y=alt.Y("place:Q", scale=alt.Scale(domain=[bottom, -0.5], nice=False, zero=False), axis=None),
    )


def frame(base: alt.Chart, rows: Sequence[Ratio], title: list[str]) -> list[alt.Chart]:
    """Return the line at 100 % with the labels of the rows on its left and their figures on its right."""
    line = alt.Chart(theme.rows("reference", [{"percent": 100}])).mark_rule(strokeWidth=1.5)
    anchors = base.properties(data=theme.rows("rows", map(_fields, rows))).mark_point(opacity=0, size=1)
    return [
        line.encode(x=alt.X("percent:Q", title=title)),
        anchors.encode(y=base.encoding.y.copy().axis(_labels([wrapped(row.label) for row in rows], rows, "left"))),
        anchors.encode(y=base.encoding.y.copy().axis(_labels([[row.figure] for row in rows], rows, "right"))),
    ]


def marks(base: alt.Chart, rows: Sequence[Ratio], ends: tuple[float, float]) -> list[alt.Chart]:
    """Return intervals, marks, hollow marks and the arrows of what goes on beyond the axis."""
    solid = [row for row in rows if not _is_hollow(row)]
    hollow = [row for row in rows if _is_hollow(row)]
    spans, dots = theme.rows("intervals", intervals(solid, ends)), theme.rows("dots", _dots(solid, ends))
    telling = base.encode(tooltip=["row:N", "told:N"])
    empty = telling.mark_point(size=90, filled=False, stroke=theme.INK, strokeWidth=2)
    return [
        base.mark_rule(strokeWidth=1.5).encode(x2="to:Q").properties(data=spans),
        telling.mark_point(size=90, shape="square", color=theme.INK).properties(data=dots),
        empty.properties(data=theme.rows("hollow dots", _dots(hollow, ends))),
        *arrows(base, rows, ends),
    ]


def arrows(base: alt.Chart, rows: Sequence[Ratio], ends: tuple[float, float]) -> list[alt.Chart]:
    """Return an arrow at each edge of the axis for every row that goes on beyond it."""
    layers = []
    for side, name in enumerate(("left", "right")):
        found = [_fields(row) | {"percent": ends[side]} for row in rows if _is_beyond(row, ends, side)]
        mark = base.mark_point(shape=f"triangle-{name}", color=theme.INK)
        layers.append(mark.properties(data=theme.rows(f"beyond {name}", found)))
    return layers


def intervals(rows: Iterable[Ratio], ends: tuple[float, float]) -> list[dict[str, Any]]:
    """Return the interval of each row within the axis; a side without bound ends at the mark."""
    return [
        _fields(row)
        | {
            "percent": within(row.percent if row.low is None else row.low, ends),
            "to": within(row.percent if row.high is None else row.high, ends),
        }
        for row in rows
    ]


def figure(layers: Sequence[alt.Chart], rows: Sequence[Ratio]) -> alt.LayerChart:
    """Return the layers as a figure with room for its rows, labels on both sides."""
    height = (max(row.place for row in rows) + 1) * max(ROW, LINE * max(len(wrapped(row.label)) for row in rows) + 8)
    chart: alt.LayerChart = theme.figure(layers, height).resolve_axis(y="independent")
    return chart


def wrapped(label: str) -> list[str]:
    """Return `label` in lines short enough to stand beside a chart."""
    return textwrap.wrap(theme.one_line(label), LABEL_LENGTH) or [""]


def within(value: float, ends: tuple[float, float]) -> float:
    """Return `value`, or the end of the axis that it lies beyond."""
    return min(max(value, ends[0]), ends[1])


def times(ratio: float) -> str:
    """Return a ratio as printed beside its row, in three digits: `× 1.25`."""
    digits = 2 if 0.1 <= ratio < 100 else 0 if ratio >= 100 else 4
    return TIMES + in_signs(f"{ratio:.{digits}f}")


def finite(bound: float | None) -> float | None:
    """Return a bound in percent, None where there is no finite one."""
    return 100 * bound if bound is not None and isfinite(bound) else None


def _is_positive(ratio: float | None) -> bool:
    return ratio is not None and 0 < ratio < inf


def _row(place: float, before: str, row: FactorOfRatio) -> Ratio:
    ratio = row.ratio or 1.0
    printed = times(ratio) if not before else before + times(ratio).removeprefix(TIMES)
    return Ratio(place, before + row.factor, printed, 100 * ratio, finite(row.low), finite(row.high))


def _fields(row: Ratio) -> dict[str, Any]:
    return {"place": row.place, "row": row.label, "percent": row.percent}


def _dots(rows: Sequence[Ratio], ends: tuple[float, float]) -> list[dict[str, Any]]:
    margin = (ends[1] / ends[0]) ** MARGIN
    inner = ends[0] * margin, ends[1] / margin
    return [
        _fields(row) | {"percent": within(row.percent, inner), "told": told(row.percent, row.low, row.high)}
        for row in rows
    ]


def _is_hollow(row: Ratio) -> bool:
    return row.low is None and row.high is None


def _is_beyond(row: Ratio, ends: tuple[float, float], side: int) -> bool:
    values = [value for value in (row.low, row.percent, row.high) if value is not None]
    return max(values) > ends[1] if side else min(values) < ends[0]


def _ticks(low: float, high: float) -> alt.Axis:
    values = next(ticks for widest, ticks in TICKS.items() if high / low <= widest)
    return alt.Axis(values=[value for value in values if low <= value <= high], format="d", labelOverlap="greedy")


def _labels(labels: Sequence[list[str]], rows: Sequence[Ratio], orient: Literal["left", "right"]) -> alt.Axis:
    """Return an axis whose ticks are the rows; the texts stand in its expression, for rows may share a label."""
    places = [row.place for row in rows]
    lookup = json.dumps({f"{place:g}": label for place, label in zip(places, labels, strict=True)}, ensure_ascii=False)
    rise = f"{LINE} * (1 - length({lookup}['' + datum.value])) / 2"
    return alt.Axis(
        orient=orient,
        values=places,
        labelExpr=f"{lookup}['' + datum.value]",
        labelLineHeight=LINE,
        labelOffset=alt.ExprRef(rise),
        labelPadding=8,
        labelOverlap=False,
        ticks=False,
        domain=False,
        grid=False,
        title=None,
    )


def _parting(base: alt.Chart, last: Ratio) -> alt.Chart:
    line = theme.rows("parting", [{"place": last.place - (1 + APART) / 2}])
    rule: alt.Chart = base.mark_rule(color=theme.INK).properties(data=line)
    return rule.encode(x=alt.value(0), x2=alt.value("width"))
