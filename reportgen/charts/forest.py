"""Several trials of the same comparison: a dot on a shaded strip for each, over a band of what they
say together.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Any, Final

import altair as alt

from reportgen.charts import changes, placed, theme
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
    """One trial's ratio (treatment / reference) with its interval, the same in words, and its share
    of all trials.

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
    """The pooled ratio with its interval, and the range in which the ratio of another trial would
    lie, if known.
    """

    pooled: TrialRatio
    predicted: TrialRatio | None = None


def forest(
    title: str, trials: Sequence[TrialRatio], together: Together | None, width: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw one row a trial: its ratio as a dot on the strip of its interval; the pooled interval
    lies behind all rows.

    title: what the axis says. A dot is as large as its trial weighs; a trial without interval is a
    ring without a strip, one without a ratio above 0 left out. The pooled ratio has a row of its
    own, and an outlined strip shows the range for another trial. None without any trial.
    """
    known = [trial for trial in trials if trial.ratio is not None and 0 < trial.ratio < inf]
    if not known:
        return None
    if together is None:
        below = []
    else:
        below = [together.pooled, *([together.predicted] if together.predicted else [])]
    rows = [_row(trial) for trial in (*known, *below)]
    layout = changes.laid_out(rows, width)
    ends = changes.axis_ends(rows)
    base = changes.axis(ends, layout, f"{title}; {changes.note(rows, ends)}")
    of_trials, pooled = layout.rows[: len(known)], layout.rows[len(known) :]
    layers = [
        *_band(base, pooled[:1], layout, ends),
        *changes.frame(base, layout, ends, width),
        *_strips(base, of_trials, [trial.weight for trial in known], ends),
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
    """Return the area in px2 of a trial's dot: in proportion to its weight, never too small to be
    seen.
    """
    if weight is None or heaviest <= 0:
        share = 0.3
    else:
        share = weight / heaviest
    return max(SMALLEST, LARGEST * share)


def _band(
    base: alt.Chart, pooled: Sequence[Placed], layout: Layout, ends: tuple[float, float]
) -> list[alt.Chart]:
    """Return the interval of the pooled ratio behind all rows; nothing where it has none."""
    known = [one for one in pooled if one.row.low is not None and one.row.high is not None]
    rows = [changes.interval(one, ends) | {"y": 0, "bottom": layout.bottom} for one in known]
    band = base.mark_rect(color=theme.INK, opacity=BAND_OPACITY).encode(
        x2=alt.X2("to:Q"), y2=alt.Y2("bottom:Q")
    )
    if rows:
        return [band.properties(data=theme.rows("pooled interval", rows))]
    return []


def _strip(one: Placed, ends: tuple[float, float]) -> dict[str, Any]:
    place = {"y": one.mark - STRIP, "bottom": one.mark + STRIP}
    return changes.interval(one, ends) | place


def _strips(
    base: alt.Chart,
    rows: Sequence[Placed],
    weights: Sequence[float | None],
    ends: tuple[float, float],
) -> list[alt.Chart]:
    heaviest = max((weight for weight in weights if weight is not None), default=0.0)
    colour = theme.PALETTE[2]
    dots: list[dict[str, Any]] = []
    rings: list[dict[str, Any]] = []
    strips: list[dict[str, Any]] = []
    for one, weight in zip(rows, weights, strict=True):
        row = one.row
        dot = changes.mark(one, ends) | {"area": area(weight, heaviest)}
        if row.low is None and row.high is None:
            rings.append(dot)
        else:
            dots.append(dot)
            strips.append(_strip(one, ends))
    strip = base.mark_rect(color=colour, opacity=STRIP_OPACITY).encode(
        x2=alt.X2("to:Q"), y2=alt.Y2("bottom:Q")
    )
    telling = base.encode(
        size=alt.Size("area:Q", scale=None), tooltip=theme.tooltip("row:N", "told:N")
    )
    solid = telling.mark_point(shape="circle", color=colour)
    hollow = telling.mark_point(shape="circle", filled=False, stroke=colour, strokeWidth=2)
    layers = ((strip, "strips", strips), (solid, "dots", dots), (hollow, "rings", rings))
    return [
        layer.properties(data=theme.rows(name, found)) for layer, name, found in layers if found
    ]


def _together(
    base: alt.Chart, rows: Sequence[Placed], ends: tuple[float, float]
) -> list[alt.Chart]:
    """Return the pooled ratio as a line in its strip, and the range for another trial as an
    outlined strip.
    """
    layers: list[alt.Chart] = []
    if rows:
        line = base.mark_rule(strokeWidth=3).encode(
            y2=alt.Y2("bottom:Q"), tooltip=theme.tooltip("row:N", "told:N")
        )
        row = rows[0].row
        tells = {"row": row.label, "told": told(row.ratio or WHOLE, row.low, row.high)}
        place = _strip(rows[0], ends) | {"value": changes.within(row.ratio or WHOLE, ends), **tells}
        layers.append(line.properties(data=theme.rows("pooled ratio", [place])))
    if len(rows) > 1:
        box = base.mark_rect(fill="transparent", stroke=theme.INK, strokeDash=[5, 3])
        place = _strip(rows[1], ends)
        layers.append(
            box.encode(x2=alt.X2("to:Q"), y2=alt.Y2("bottom:Q")).properties(
                data=theme.rows("prediction interval", [place])
            )
        )
    return layers
