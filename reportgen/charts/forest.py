"""Several trials of one comparison: a dot on a strip for each, over the band of the pooled ratio."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Any, Final

import altair as alt

from reportgen.charts import changes, estimates, placed, theme
from reportgen.charts.changes import WHOLE, ChangeRow, Layout, Placed
from reportgen.charts.tooltips import told
from reportgen.language import marked

POOLED: Final = marked("All trials together")
PREDICTED: Final = marked("Range for another trial like these")
LARGEST: Final = 260.0  # px2, the dot of the trial that weighs most
SMALLEST: Final = 30.0  # px2: a trial that weighs little must still be seen
STRIP: Final = 7  # px, half the height of a strip
STRIP_OPACITY: Final = 0.25
BAND_OPACITY: Final = 0.14


@dataclass(frozen=True)
class TrialRatio:
    """One trial's ratio (treatment / reference) with its interval, in words, and its weight.

    `figure` is in one or two lines; `weight` is 0 to 1, None for a trial that has no part.
    """

    name: str
    figure: tuple[str, ...]
    ratio: float | None
    low: float | None = None
    high: float | None = None
    weight: float | None = None


@dataclass(frozen=True)
class Together:
    """The pooled ratio with its interval, and the range for another trial's ratio, if known."""

    pooled: TrialRatio
    predicted: TrialRatio | None = None

    @property
    def ratios(self) -> list[TrialRatio]:
        """Return those of both that are known, the pooled ratio first."""
        if self.predicted is None:
            return [self.pooled]
        return [self.pooled, self.predicted]


def forest(
    title: str, trials: Sequence[TrialRatio], together: Together | None, width: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw a row for each trial: its ratio, a dot on the strip of its interval, over the pooled one.

    title: what the axis says. A dot is as large as its trial weighs; a trial without interval is a
    ring without a strip, one without a ratio above 0 left out. The pooled ratio has a row of its
    own, and an outlined strip shows the range for another trial. None without any trial.
    """
    shown = [trial for trial in trials if _percent(trial.ratio) is not None]
    if not shown:
        return None
    ratios = list(shown)
    if together is not None:
        ratios += together.ratios
    rows = [_row(ratio) for ratio in ratios]
    layout = changes.laid_out(rows, width)
    ends = changes.axis_ends(rows)
    base = changes.axis(ends, layout, f"{title}; {changes.note(rows, ends)}")
    of_trials, pooled = layout.rows[: len(shown)], layout.rows[len(shown) :]
    layers = [
        *_band(base, pooled[:1], layout, ends),
        *changes.frame(base, layout, ends, width),
        *_strips(base, of_trials, [trial.weight for trial in shown], ends),
        *_together(base, pooled, ends),
        *changes.arrows(base, layout.rows, ends),
    ]
    return placed.figure(layers, width, layout.bottom + placed.BELOW_AXIS)


def _row(trial: TrialRatio) -> ChangeRow:
    return ChangeRow(
        trial.name,
        trial.figure,
        WHOLE * (trial.ratio or 1.0),
        _percent(trial.low),
        _percent(trial.high),
    )


def _percent(limit: float | None) -> float | None:
    if limit is not None and 0 < limit < inf:
        return WHOLE * limit
    return None


def area(weight: float | None, heaviest: float) -> float:
    """Return the area in px2 of a trial's dot: in proportion to its weight, but always visible."""
    if weight is None or heaviest <= 0:
        share = 0.3
    else:
        share = weight / heaviest
    return max(SMALLEST, LARGEST * share)


def _band(
    base: alt.Chart, pooled: Sequence[Placed], layout: Layout, ends: tuple[float, float]
) -> list[alt.Chart]:
    """Return the interval of the pooled ratio behind all rows; nothing where it has none."""
    rows: list[dict[str, Any]] = []
    for place in pooled:
        if place.row.low is not None and place.row.high is not None:
            rows.append({**changes.interval(place, ends), "y": 0, "bottom": layout.bottom})
    band = base.mark_rect(color=theme.INK, opacity=BAND_OPACITY).encode(
        x2=alt.X2("to:Q"), y2=alt.Y2("bottom:Q")
    )
    if rows:
        return [band.properties(data=theme.rows("pooled interval", rows))]
    return []


def _strip(place: Placed, ends: tuple[float, float]) -> dict[str, Any]:
    upright = {"y": place.mark - STRIP, "bottom": place.mark + STRIP}
    return {**changes.interval(place, ends), **upright}


def _strips(
    base: alt.Chart,
    rows: Sequence[Placed],
    weights: Sequence[float | None],
    ends: tuple[float, float],
) -> list[alt.Chart]:
    heaviest = max(estimates.numbers(*weights), default=0.0)
    colour = theme.PALETTE[2]
    dots: list[dict[str, Any]] = []
    rings: list[dict[str, Any]] = []
    strips: list[dict[str, Any]] = []
    for place, weight in zip(rows, weights, strict=True):
        dot = {**changes.mark(place, ends), "area": area(weight, heaviest)}
        if place.row.low is None and place.row.high is None:
            rings.append(dot)
        else:
            dots.append(dot)
            strips.append(_strip(place, ends))
    strip = base.mark_rect(color=colour, opacity=STRIP_OPACITY).encode(
        x2=alt.X2("to:Q"), y2=alt.Y2("bottom:Q")
    )
    points = base.encode(
        size=alt.Size("area:Q", scale=None), tooltip=theme.tooltip("row:N", "told:N")
    )
    solid = points.mark_point(shape="circle", color=colour)
    hollow = points.mark_point(shape="circle", filled=False, stroke=colour, strokeWidth=2)
    layers: list[alt.Chart] = []
    if strips:
        layers.append(strip.properties(data=theme.rows("strips", strips)))
        layers.append(solid.properties(data=theme.rows("dots", dots)))
    if rings:
        layers.append(hollow.properties(data=theme.rows("rings", rings)))
    return layers


def _together(
    base: alt.Chart, rows: Sequence[Placed], ends: tuple[float, float]
) -> list[alt.Chart]:
    """Return the pooled ratio as a line, and the range for another trial as an outlined strip."""
    layers: list[alt.Chart] = []
    if rows:
        line = base.mark_rule(strokeWidth=3).encode(
            y2=alt.Y2("bottom:Q"), tooltip=theme.tooltip("row:N", "told:N")
        )
        row = rows[0].row
        ratio = row.ratio or WHOLE
        texts = {"row": row.label, "told": told(ratio, row.low, row.high)}
        mark = {**_strip(rows[0], ends), "value": changes.within(ratio, ends), **texts}
        layers.append(line.properties(data=theme.rows("pooled ratio", [mark])))
    if len(rows) > 1:
        box = base.mark_rect(fill="transparent", stroke=theme.INK, strokeDash=[5, 3])
        box = box.encode(x2=alt.X2("to:Q"), y2=alt.Y2("bottom:Q"))
        data = theme.rows("prediction interval", [_strip(rows[1], ends)])
        layers.append(box.properties(data=data))
    return layers
