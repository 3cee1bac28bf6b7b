"""What a dose does: trays along the doses, and the curve that fits them with its band."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import altair as alt

from reportgen.charts import estimates, line_ends, plane, theme
from reportgen.charts.levels import factor_title, looks_of, measured
from reportgen.charts.line_ends import End, Name
from reportgen.charts.plane import Axis, Plane
from reportgen.charts.tooltips import reach
from reportgen.model.factor_results import DoseTrend
from reportgen.model.results import MeasureResult
from reportgen.model.trial import Factor, Trial

HEIGHT: Final = 255  # px
ROOM: Final = 0.05  # of the doses, on both sides of them
BAND_OPACITY: Final = 0.2
ALONE: Final = theme.look(2, "")  # of curves where there is one factor

Row = dict[str, Any]


def response(
    trial: Trial, result: MeasureResult, trends: Sequence[DoseTrend], width: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw trays against the dose of one factor, with each curve and its band, and where it turns.

    A curve for each level of another factor has the colour of that level and ends in its name. None
    where there is no trend.
    """
    if not trends:
        return None
    factor, other = _factors(trial, trends[0])
    looks = {"": ALONE}
    if other:
        looks = looks_of(other)
    ground, names = _ground(factor, result, trends, looks, width)
    layers: list[alt.Chart] = []
    for place, trend in enumerate(trends):
        layers += _curve(ground, place, trend, looks.get(trend.within, ALONE))
    if other is None and trends[0].code == "not_a_curve":
        layers += _dose_means(ground, trial, result)
    layers.append(_dots(ground, _rows(trial, result, factor, other, looks), looks))
    if names:
        layers += line_ends.layers(names, ground.across)
    return ground.figure(layers)


def _factors(trial: Trial, trend: DoseTrend) -> tuple[Factor, Factor | None]:
    """Return the factor of a trend, and the trial's other one if it has one."""
    factors = {factor.name: factor for factor in trial.factors}
    factor = factors.pop(trend.factor)
    return factor, next(iter(factors.values()), None)


def _ground(
    factor: Factor,
    result: MeasureResult,
    trends: Sequence[DoseTrend],
    looks: Mapping[str, theme.Look],
    width: float,
) -> tuple[Plane, list[Name]]:
    """Return the plane, and the names of curves at their ends; a key where they do not fit."""
    x = _dose_axis(factor)
    y = measured(result, _band_ends(trends))
    if len(looks) == 1:
        return plane.plane(width, HEIGHT, x, y), []
    room = line_ends.room_for([look.name for look in looks.values()], width)
    ground = plane.plane(width, HEIGHT, x, y, names=room)
    names: list[Name] = []
    curves = [trend for trend in trends if trend.curve]
    if len(curves) == len(looks):
        ends = [End(looks[trend.within], ground.px(trend.curve[-1].value)) for trend in curves]
        names = line_ends.names(ends, room, HEIGHT)
    if names:
        return ground, names
    return plane.plane(width, HEIGHT, x, y).with_key(list(looks.values())), []


def _dose_axis(factor: Factor) -> Axis:
    first, last = factor.doses[0], factor.doses[-1]
    room = ROOM * (last - first)
    return Axis(factor_title(factor), (first - room, last + room), tuple(factor.doses))


def _band_ends(trends: Sequence[DoseTrend]) -> list[float]:
    ends: list[float] = []
    for trend in trends:
        for point in trend.curve:
            ends += [point.low, point.high]
    return ends


def _dose_means(ground: Plane, trial: Trial, result: MeasureResult) -> list[alt.Chart]:
    """Return the figure of each dose of a single factor with its interval."""
    (factor,) = trial.factors
    dose_of: dict[str, float] = {}
    for treatment in trial.treatments:
        dose_of[treatment.code] = _dose(factor, treatment.levels[0])
    rows: list[Row] = []
    for code, estimate in result.estimates:
        if estimate.value is not None:
            rows.append({"dose": dose_of[code], **estimates.limits(estimate)})
    rule = ground.at("dose", "low").mark_rule(strokeWidth=1.5).encode(y2=alt.Y2("high:Q"))
    dots = (
        ground.at("dose", "value")
        .mark_point(size=140, color=theme.INK)
        .encode(tooltip=theme.tooltip("dose:Q", "value:Q"))
    )
    return [
        rule.properties(data=theme.rows("intervals", rows)),
        dots.properties(data=theme.rows("means", rows)),
    ]


def _curve(ground: Plane, place: int, trend: DoseTrend, look: theme.Look) -> list[alt.Chart]:
    """Return the curve with its band; nothing where none fits."""
    if not trend.curve:
        return []
    rows: list[Row] = []
    for point in trend.curve:
        limits = {"low": point.low, "high": point.high}
        rows.append({"dose": point.dose, "value": point.value, **limits})
    band = ground.at("dose", "low").mark_area(color=look.colour, opacity=BAND_OPACITY)
    band = band.encode(y2=alt.Y2("high:Q"))
    dash = [1, 0]
    if trend.within:
        dash = list(look.dash)
    line = ground.at("dose", "value").mark_line(
        stroke=look.colour, strokeWidth=2.5, strokeDash=dash
    )
    if not trend.degree:
        line = ground.at("dose", "value").mark_line(
            stroke=theme.INK, strokeWidth=1.5, strokeDash=[2, 2]
        )
    layers = [
        band.properties(data=theme.rows(f"band {place}", rows)),
        line.properties(data=theme.rows(f"curve {place}", rows)),
    ]
    return layers + _turning_point(ground, place, trend)


def _turning_point(ground: Plane, place: int, trend: DoseTrend) -> list[alt.Chart]:
    """Return a mark where the curve turns, with the interval of that dose along the curve's height."""
    if trend.code not in ("peak", "trough") or trend.optimum is None:
        return []
    optimum = trend.optimum
    point = min(trend.curve, key=lambda point: abs(point.dose - optimum))
    row = {
        "dose": trend.optimum,
        "value": point.value,
        "low": trend.optimum_low,
        "high": trend.optimum_high,
        "reach": reach(trend.optimum_low, trend.optimum_high),
    }
    data = theme.rows(f"turning point {place}", [row])
    span = ground.at("low", "value").mark_rule(strokeWidth=3).encode(x2=alt.X2("high:Q"))
    mark = ground.at("dose", "value").mark_point(shape="diamond", size=130, color=theme.INK)
    return [
        span.properties(data=data),
        mark.encode(tooltip=theme.tooltip("dose:Q", "reach:N", "value:Q")).properties(data=data),
    ]


def _rows(
    trial: Trial,
    result: MeasureResult,
    factor: Factor,
    other: Factor | None,
    looks: Mapping[str, theme.Look],
) -> list[Row]:
    names = [factor.name for factor in trial.factors]
    levels = {treatment.code: treatment.levels for treatment in trial.treatments}
    treatment_of = {tray.code: tray.treatment for tray in trial.trays}
    rows: list[Row] = []
    for tray, score in result.scores:
        own = levels[treatment_of[tray]]
        level = ""
        if other:
            level = own[names.index(other.name)]
        dose = _dose(factor, own[names.index(factor.name)])
        row = {"tray": theme.one_line(tray), "dose": dose, "value": score}
        rows.append({**row, "treatment": looks[level].name})
    return rows


def _dose(factor: Factor, level: str) -> float:
    return factor.doses[factor.levels.index(level)]


def _dots(ground: Plane, rows: list[Row], looks: Mapping[str, theme.Look]) -> alt.Chart:
    shown = list(looks.values())
    points = ground.at("dose", "value").mark_point(size=50)
    dots = points.encode(
        color=alt.ColorValue(theme.INK), tooltip=theme.tooltip("tray:N", "dose:Q", "value:Q")
    )
    if len(shown) > 1:
        tooltip = theme.tooltip("tray:N", "treatment:N", "dose:Q", "value:Q")
        dots = points.encode(color=theme.colour(shown), shape=theme.shape(shown), tooltip=tooltip)
    chart: alt.Chart = dots.properties(data=theme.rows("trays", rows))
    return chart
