"""Several trials of the same comparison."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Final

import altair as alt

from reportgen.charts import chain, theme
from reportgen.charts.chain import Ratio
from reportgen.language import marked, percent, say
from reportgen.stats.pooling import PooledRatio

POOLED: Final = marked("All trials together")
PREDICTED: Final = marked("Range for another trial like these")
LARGEST: Final = 260.0  # px2, the square of the trial that weighs most
SMALLEST: Final = 30.0  # px2: a trial that weighs little must still be seen
FAR: Final = 10_000.0  # percent: a bound beyond says no more than that it is far, and may have hundreds of digits
HALF: Final = 0.2  # rows, half the height of the diamond


@dataclass(frozen=True)
class TrialRatio:
    """One trial's ratio (treatment / reference) with its interval; weight: its share of the pooled figure, 0 to 1."""

    name: str
    ratio: float | None
    low: float | None = None
    high: float | None = None
    weight: float | None = None


def forest(title: str, level: float, trials: Sequence[TrialRatio], pooled: PooledRatio | None) -> alt.LayerChart | None:
    """Draw one row a trial: ratio in percent, interval, a square as large as its weight; the pooled ratio beneath.

    title: what is compared, without unit; level: of all intervals, a fraction. The diamond spans the interval of
    the pooled ratio, the dashed line the prediction interval. A trial without interval is hollow, one without a
    ratio above 0 left out. None without any trial.
    """
    known = [trial for trial in trials if trial.ratio is not None and 0 < trial.ratio < inf]
    if not known:
        return None
    rows = [_row(place, trial) for place, trial in enumerate(known)]
    below = _pooled_rows(len(rows) + chain.APART, pooled)
    every = [*rows, *below]
    ends = chain.axis_ends(every)
    base = chain.ratio_base(every, ends)
    layers = [
        *chain.frame(base, every, _title(title, level, every, ends, bool(below))),
        *_trial_marks(base, rows, [trial.weight for trial in known], ends),
        *_pooled_marks(base, below, ends),
        *chain.arrows(base, every, ends),
    ]
    return chain.figure(layers, every)


def square(weight: float | None, heaviest: float) -> float:
    """Return the area in px2 of the mark of a trial: in proportion to its weight, never too small to be seen."""
    share = 0.3 if weight is None or heaviest <= 0 else weight / heaviest
    return max(SMALLEST, LARGEST * share)


def _title(title: str, level: float, rows: Sequence[Ratio], ends: tuple[float, float], has_pooled: bool) -> list[str]:
    text = chain.note(rows, ends, level)
    if has_pooled:
        meaning = say("size: weight; diamond: pooled; dashed: prediction interval")
        text = f"{text}; {meaning}"
    heading = say("{title}, relative to the reference (%)", title=theme.one_line(title))
    return [
        *textwrap.wrap(heading, chain.NOTE_LENGTH),
        *textwrap.wrap(text, chain.NOTE_LENGTH),
    ]


def _row(place: float, trial: TrialRatio) -> Ratio:
    ratio = 100 * (trial.ratio or 1.0)
    low, high = chain.finite(trial.low), chain.finite(trial.high)
    return Ratio(place, trial.name, _printed(ratio, low, high), ratio, low, high)


def _printed(ratio: float, low: float | None, high: float | None) -> str:
    measured = percent(f"{ratio:.0f}")
    return measured if low is None or high is None else f"{measured} ({_reach(low, high)})"


def _reach(low: float, high: float) -> str:
    return say("{low} to {high}", low=f"{low:.0f}", high=f"> {FAR:.0f}" if high > FAR else f"{high:.0f}")


def _pooled_rows(place: float, pooled: PooledRatio | None) -> list[Ratio]:
    if pooled is None or pooled.ratio is None:
        return []
    ratio, low, high = 100 * pooled.ratio, chain.finite(pooled.low), chain.finite(pooled.high)
    rows = [Ratio(place, say(POOLED), _printed(ratio, low, high), ratio, low, high)]
    low, high = chain.finite(pooled.prediction_low), chain.finite(pooled.prediction_high)
    if low is not None and high is not None:
        rows.append(Ratio(place + 1, say(PREDICTED), percent(_reach(low, high)), ratio, low, high))
    return rows


def _trial_marks(
    base: alt.Chart, rows: Sequence[Ratio], weights: Sequence[float | None], ends: tuple[float, float]
) -> list[alt.Chart]:
    heaviest = max((weight for weight in weights if weight is not None), default=0.0)
    spans, *dots = chain.marks(base, rows, ends)[:3]
    areas = {row.place: square(weight, heaviest) for row, weight in zip(rows, weights, strict=True)}
    return [spans, *(_sized(layer, areas) for layer in dots)]


def _sized(layer: alt.Chart, areas: dict[float, float]) -> alt.Chart:
    values = [value | {"area": areas[value["place"]]} for value in layer.data.values]
    sized: alt.Chart = layer.properties(data=theme.rows(layer.data.name, values))
    return sized.encode(size=alt.Size("area:Q", scale=None))


def _pooled_marks(base: alt.Chart, rows: Sequence[Ratio], ends: tuple[float, float]) -> list[alt.Chart]:
    spans = base.mark_rule(strokeWidth=1.5, strokeDash=[5, 3]).encode(x2="to:Q")
    caps = [{"place": row.place, "percent": chain.within(end, ends)} for row in rows[1:] for end in _bounds(row)]
    return [
        _diamond(base, rows[:1], ends),
        spans.properties(data=theme.rows("prediction interval", chain.intervals(rows[1:], ends))),
        base.mark_tick(color=theme.INK, size=12, thickness=1.5).properties(data=theme.rows("caps", caps)),
    ]


def _bounds(row: Ratio) -> list[float]:
    return [bound for bound in (row.low, row.high) if bound is not None]


def _diamond(base: alt.Chart, rows: Sequence[Ratio], ends: tuple[float, float]) -> alt.Chart:
    corners = [
        {"place": row.place + rise, "percent": chain.within(percent, ends), "order": order}
        for row in rows
        for order, (percent, rise) in enumerate(_corners(row))
    ]
    outline = base.mark_line(interpolate="linear-closed", fill=theme.INK, stroke=theme.INK)
    diamond: alt.Chart = outline.encode(order="order:Q")
    return diamond.properties(data=theme.rows("pooled", corners))


def _corners(row: Ratio) -> list[tuple[float, float]]:
    """Return the diamond clockwise; a pooled ratio without interval is a diamond as narrow as it is high."""
    low = row.percent * 0.985 if row.low is None else row.low
    high = row.percent * 1.015 if row.high is None else row.high
    return [(low, 0), (row.percent, -HALF), (high, 0), (row.percent, HALF)]
