"""What two factors do together: the mean of each combination with its interval, over its trays."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import altair as alt

from reportgen.charts import estimates, line_ends, plane, theme
from reportgen.charts.levels import factor_title, level_text, looks_of, measured
from reportgen.charts.line_ends import End
from reportgen.charts.plane import Axis, Plane
from reportgen.model.results import Estimate, MeasureResult
from reportgen.model.trial import Factor, Trial

HEIGHTS: Final = {True: 200, False: 190}  # px, by whether a figure is wide
WIDE: Final = 480  # px
# of a level's place along the axis, the farthest that the levels of the other factor stand apart
APART: Final = 0.4
BESIDE: Final = 9  # px from an interval to its trays

Row = dict[str, Any]


def interaction(
    trial: Trial, result: MeasureResult, width: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw the figure of each combination of two factors with its interval, beside its trays.

    The second factor's levels stand along the axis, a line joins those of one level of the first
    and ends in its name. The other axis is logarithmic where all figures are above 0, as effects
    are ratios. None where a combination has no figure.
    """
    first, second = trial.factors
    levels = {treatment.code: treatment.levels for treatment in trial.treatments}
    looks = looks_of(first)
    means: list[Row] = []
    for code, estimate in result.estimates:
        if estimate.value is not None:
            means.append(_mean(first, second, levels[code], estimate, looks))
    if len(means) < len(levels):
        return None
    trays = _trays(trial, result, levels, looks)
    ground, names = _ground(second, result, means, list(looks.values()), width)
    layers: list[alt.Chart] = []
    for look in looks.values():
        layers += _layers(ground, look, means, trays)
    if names:
        layers += line_ends.layers(names, ground.across)
    return ground.figure(layers)


def _ground(
    second: Factor,
    result: MeasureResult,
    means: Sequence[Row],
    shown: Sequence[theme.Look],
    width: float,
) -> tuple[Plane, list[line_ends.Name]]:
    """Return the plane, and the names of lines if they fit at their ends; else a key has them."""
    count = len(second.levels)
    ticks = tuple(place + 0.5 for place in range(count))
    labels = tuple(level_text(second, level) for level in second.levels)
    x = Axis(factor_title(second), (0.0, float(count)), ticks, labels=labels)
    y = measured(result, is_log=True)
    room = line_ends.room_for([look.name for look in shown], width)
    height = float(HEIGHTS[width >= WIDE])
    ground = plane.plane(width, height, x, y, names=room)
    last = {row["treatment"]: row["value"] for row in means if row["along"] == count - 1}
    ends = [End(look, ground.px(last[look.name])) for look in shown]
    names = line_ends.names(ends, room, height)
    if names:
        return (ground, names)
    return (plane.plane(width, height, x, y).with_key(shown), [])


def _step(first: Factor, level: str) -> float:
    """Return how far a level of the first factor stands from the middle, as a part of its place."""
    return APART * (first.levels.index(level) / (len(first.levels) - 1) - 0.5)


def _mean(
    first: Factor,
    second: Factor,
    levels: tuple[str, ...],
    estimate: Estimate,
    looks: Mapping[str, theme.Look],
) -> Row:
    along = second.levels.index(levels[1])
    return {
        "along": along,
        "x": along + 0.5 + _step(first, levels[0]),
        "treatment": looks[levels[0]].name,
        **estimates.figures(estimate),
    }


def _trays(
    trial: Trial,
    result: MeasureResult,
    levels: Mapping[str, tuple[str, ...]],
    looks: Mapping[str, theme.Look],
) -> list[Row]:
    first, second = trial.factors
    treatment_of = {tray.code: tray.treatment for tray in trial.trays}
    rows: list[Row] = []
    for tray, score in result.scores:
        of_first, of_second = levels[treatment_of[tray]]
        x = second.levels.index(of_second) + 0.5 + _step(first, of_first)
        name = looks[of_first].name
        rows.append({"tray": theme.one_line(tray), "x": x, "treatment": name, "value": score})
    return rows


def _layers(
    ground: Plane, look: theme.Look, means: Sequence[Row], trays: Sequence[Row]
) -> list[alt.Chart]:
    """Return the line, trays, intervals and figures of one level."""
    own = theme.rows(f"means {look.name}", _rows_of(look, means))
    of_trays = theme.rows(f"trays {look.name}", _rows_of(look, trays))
    place = ground.at("x", "value")
    marks: dict[str, Any] = {"color": look.colour, "shape": look.shape}
    line = place.mark_line(stroke=look.colour, strokeDash=list(look.dash))
    small = place.mark_point(xOffset=BESIDE, size=20, filled=False, strokeWidth=1, **marks)
    small = small.encode(tooltip=theme.tooltip("tray:N", "treatment:N", "value:Q"))
    rule = ground.at("x", "low").mark_rule(strokeWidth=1.5).encode(y2=alt.Y2("high:Q"))
    dots = place.mark_point(size=90, **marks)
    dots = dots.encode(tooltip=theme.tooltip("treatment:N", "value:Q", "reach:N"))
    return [
        line.properties(data=own),
        small.properties(data=of_trays),
        rule.properties(data=own),
        dots.properties(data=own),
    ]


def _rows_of(look: theme.Look, rows: Sequence[Row]) -> list[Row]:
    return [row for row in rows if row["treatment"] == look.name]
