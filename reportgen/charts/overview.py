"""Every key measure at a glance, relative to the reference."""

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import altair as alt

from reportgen.charts import theme
from reportgen.charts.tooltips import told
from reportgen.language import say
from reportgen.model.results import Comparison, Measure, Results
from reportgen.model.trial import Trial

FLOOR, CEILING = 12.5, 800.0  # %: no axis reaches further, whatever a ratio
NARROWEST: Final = (80.0, 125.0)  # %: a small difference must not look large
REACH: Final = 2.0  # an interval may double the axis beyond its outermost dot; there it is clipped
MARGIN: Final = 0.03  # of the axis, on each side, for the arrows of what is clipped
TICKS: Final = {  # by the widest axis they suit, as its upper end / its lower end
    2.5: (*range(10, 120, 10), *range(120, 401, 20)),
    8.0: (10, 15, 20, 25, 30, 40, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 600, 800),
    float("inf"): (10, 15, 20, 30, 50, 70, 100, 150, 200, 300, 500, 800),
}
ROW: Final = 20  # px, one treatment of one measure
LABEL_LINE: Final = 15  # px
NOTE_LENGTH: Final = 64  # characters


@dataclass(frozen=True)
class _Row:
    """One comparison, all in percent of the reference; a bound is None where there is none."""

    measure: str
    treatment: str
    dot: float
    low: float | None
    high: float | None


def relative_to_reference(trial: Trial, results: Results, keys: Sequence[str]) -> alt.LayerChart | None:
    """Draw the measures `keys` of each treatment in percent of the reference: dot, interval, line at 100 %.

    The axis is logarithmic, for ratios multiply: half (50 %) lies as far from 100 % as double (200 %), and a
    figure turned round is the same one mirrored. An interval without one bound has no whisker on that side;
    without both, the dot is hollow. What lies far outside ends in an arrow at the edge, so that one vague row
    does not flatten the rest. Measures without any ratio are left out; None where no measure is left.
    """
    looks = theme.looks(trial)
    reference = looks.pop(trial.reference)
    drawn = list(_rows(results, keys, looks))
    if not drawn:
        return None
    ends = _ends(drawn)
    measures = list(dict.fromkeys(row.measure for row in drawn))
    lines = max(label.count("\n") for label in measures) + 1
    height = len(measures) * max(ROW * (len(looks) + 0.8), LABEL_LINE * (lines + 0.8))
    base = _base(measures, list(looks.values()), ends)
    level = theme.percent(trial.confidence_level)
    title = [
        say(
            "Relative to {reference} (%), dot and {level} interval", reference=theme.short(reference.name), level=level
        ),
        *textwrap.wrap(_note(drawn, ends), NOTE_LENGTH),
    ]
    return theme.figure([_reference_line(title), *_marks(base, drawn, ends, list(looks.values()))], height)


def _rows(results: Results, keys: Sequence[str], looks: Mapping[str, theme.Look]) -> Iterator[_Row]:
    found = {result.measure.key: result for result in results.measures}
    for result in (found[key] for key in keys if key in found):
        label = _label(result.measure)
        for code, comparison in result.comparisons:
            if comparison.ratio is not None and code in looks:
                yield _row(label, looks[code].name, comparison.ratio, comparison)


def _row(label: str, treatment: str, ratio: float, comparison: Comparison) -> _Row:
    low, high = (None if bound is None else 100 * bound for bound in (comparison.ratio_low, comparison.ratio_high))
    return _Row(label, treatment, 100 * ratio, low, high)


def _label(measure: Measure) -> str:
    better = [theme.better(measure)] if measure.better else []
    return "\n".join([*textwrap.wrap(theme.labelled(measure), theme.LABEL_LENGTH), *better])


def _ends(drawn: Sequence[_Row]) -> tuple[float, float]:
    """Return the ends of the axis in percent: all dots, their intervals as far as they flatten nothing."""
    dots = [_within(row.dot, (FLOOR, CEILING)) for row in drawn]
    low = min((row.low for row in drawn if row.low is not None), default=100)
    high = max((row.high for row in drawn if row.high is not None), default=100)
    low = min(max(low, min(dots) / REACH, FLOOR), *dots, NARROWEST[0])
    high = max(min(high, max(dots) * REACH, CEILING), *dots, NARROWEST[1])
    margin = (high / low) ** MARGIN
    return low / margin, high * margin


def _note(drawn: Sequence[_Row], ends: tuple[float, float]) -> str:
    notes = [say("Logarithmic scale")]
    if any(_beyond(row, ends) for row in drawn):
        notes.append(say("arrow: goes on beyond the axis"))
    if any(row.low is None and row.high is None for row in drawn):
        notes.append(say("hollow: no interval"))
    if any((row.low is None) != (row.high is None) for row in drawn):
        notes.append(say("line on one side only: no bound on the other"))
    return "; ".join(notes)


def _beyond(row: _Row, ends: tuple[float, float]) -> list[str]:
    values = [value for value in (row.low, row.dot, row.high) if value is not None]
    return ["left"] * (min(values) < ends[0]) + ["right"] * (max(values) > ends[1])


def _base(measures: Sequence[str], shown: Sequence[theme.Look], ends: tuple[float, float]) -> alt.Chart:
    labels = alt.Axis(
        labelExpr="split(datum.label, '\\n')",
        labelLineHeight=LABEL_LINE,
        labelOffset=alt.ExprRef(f"{LABEL_LINE} * (1 - length(split(datum.label, '\\n'))) / 2"),
        labelPadding=8,
        ticks=False,
        domain=False,
    )
    dodge = alt.Scale(domain=[a.name for a in shown], paddingOuter=0.4)
    return alt.Chart().encode(
        x=alt.X("percent:Q", scale=alt.Scale(type="log", domain=list(ends), nice=False), axis=_ticks(*ends)),
        y=alt.Y("measure:N", scale=alt.Scale(domain=list(measures)), title=None, axis=labels),
        yOffset=alt.YOffset("treatment:N", scale=dodge),
    )


def _ticks(low: float, high: float) -> alt.Axis:
    values = next(ticks for widest, ticks in TICKS.items() if high / low <= widest)
    return alt.Axis(values=[value for value in values if low <= value <= high], format="d", labelOverlap="greedy")


def _reference_line(title: list[str]) -> alt.Chart:
    line: alt.Chart = alt.Chart(theme.rows("reference", [{"percent": 100}])).mark_rule(strokeWidth=1.5)
    return line.encode(x=alt.X("percent:Q", title=title))


def _marks(
    base: alt.Chart, drawn: Sequence[_Row], ends: tuple[float, float], shown: Sequence[theme.Look]
) -> list[alt.Chart]:
    solid = [row for row in drawn if row.low is not None or row.high is not None]
    hollow = [row for row in drawn if row not in solid]
    tells = ["measure:N", "treatment:N", "told:N"]
    dots = base.encode(color=theme.colour(shown), shape=theme.shape(shown), tooltip=tells)
    layers = [
        base.mark_rule(strokeWidth=1.5).encode(x2="to:Q").properties(data=theme.rows("intervals", _spans(solid, ends))),
        dots.mark_point(size=90).properties(data=theme.rows("dots", _dots(solid, ends))),
        dots.mark_point(size=70, filled=False, strokeWidth=2).properties(
            data=theme.rows("hollow dots", _dots(hollow, ends))
        ),
    ]
    for side, edge in zip(("left", "right"), ends, strict=True):
        arrows = theme.rows(f"beyond {side}", _arrows(drawn, ends, side, edge))
        layers.append(base.mark_point(shape=f"triangle-{side}", color=theme.INK).properties(data=arrows))
    return layers


def _place(row: _Row) -> dict[str, Any]:
    return {"measure": row.measure, "treatment": row.treatment}


def _spans(drawn: Sequence[_Row], ends: tuple[float, float]) -> list[dict[str, Any]]:
    spans = []
    for row in drawn:
        low, high = (row.dot if bound is None else bound for bound in (row.low, row.high))
        spans.append(_place(row) | {"percent": _within(low, ends), "to": _within(high, ends)})
    return spans


def _dots(drawn: Sequence[_Row], ends: tuple[float, float]) -> list[dict[str, Any]]:
    margin = (ends[1] / ends[0]) ** MARGIN
    inner = ends[0] * margin, ends[1] / margin
    return [
        _place(row) | {"percent": _within(row.dot, inner), "told": told(row.dot, row.low, row.high)} for row in drawn
    ]


def _arrows(drawn: Sequence[_Row], ends: tuple[float, float], side: str, edge: float) -> list[dict[str, Any]]:
    return [_place(row) | {"percent": edge} for row in drawn if side in _beyond(row, ends)]


def _within(value: float, ends: tuple[float, float]) -> float:
    return min(max(value, ends[0]), ends[1])
