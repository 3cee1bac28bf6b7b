"""What a dose does: trays along the doses, and the curve that fits them with its band."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import altair as alt

from reportgen.charts import line_ends, plane, theme
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
    factor = next(one for one in trial.factors if one.name == trends[0].factor)
    other = next((one for one in trial.factors if one.name != factor.name), None)
    if other:
        looks = looks_of(other)
    else:
        looks = {"": ALONE}
    ground, names = _ground(factor, result, trends, looks, width)
    layers: list[alt.Chart] = []
    for place, trend in enumerate(trends):
        layers += _curve(ground, place, trend, looks.get(trend.within, ALONE))
    if other is None and trends[0].code == "not_a_curve":
        layers += _dose_means(ground, trial, result)
    layers.append(_dots(ground, _rows(trial, result, factor, other, looks), looks))
    return ground.figure([*layers, *(line_ends.layers(names, ground.across) if names else [])])


def _ground(
    factor: Factor,
    result: MeasureResult,
    trends: Sequence[DoseTrend],
    looks: Mapping[str, theme.Look],
    width: float,
) -> tuple[Plane, list[Name]]:
    """Return the plane, and the names of curves at their ends; a key where they do not fit or there
    is no curve.
    """
    room = ROOM * (factor.doses[-1] - factor.doses[0])
    x = Axis(
        factor_title(factor), (factor.doses[0] - room, factor.doses[-1] + room), tuple(factor.doses)
    )
    y = measured(
        result,
        [end for trend in trends for point in trend.curve for end in (point.low, point.high)],
    )
    if len(looks) == 1:
        return plane.plane(width, HEIGHT, x, y), []
    room = line_ends.room_for([look.name for look in looks.values()], width)
    ground = plane.plane(width, HEIGHT, x, y, names=room)
    ends = [
        End(looks[trend.within], ground.px(trend.curve[-1].value))
        for trend in trends
        if trend.curve
    ]
    if len(ends) == len(looks):
        names = line_ends.names(ends, room, HEIGHT)
    else:
        names = []
    if names:
        return (ground, names)
    return (plane.plane(width, HEIGHT, x, y).with_key(list(looks.values())), [])


def _dose_means(ground: Plane, trial: Trial, result: MeasureResult) -> list[alt.Chart]:
    """Return the figure of each dose of a single factor with its interval, for doses that no curve
    fits.
    """
    (factor,) = trial.factors
    dose_of = {
        one.code: factor.doses[factor.levels.index(one.levels[0])] for one in trial.treatments
    }
    rows: list[Row] = []
    for code, estimate in result.estimates:
        if estimate.value is not None:
            if estimate.low is None:
                low = estimate.value
            else:
                low = estimate.low
            if estimate.high is None:
                high = estimate.value
            else:
                high = estimate.high
            rows.append({"dose": dose_of[code], "value": estimate.value, "low": low, "high": high})
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
    rows = [
        {"dose": point.dose, "value": point.value, "low": point.low, "high": point.high}
        for point in trend.curve
    ]
    band = (
        ground.at("dose", "low")
        .mark_area(color=look.colour, opacity=BAND_OPACITY)
        .encode(y2=alt.Y2("high:Q"))
    )
    if trend.within:
        dash = list(look.dash)
    else:
        dash = [1, 0]
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
    point = min(trend.curve, key=lambda one: abs(one.dose - (trend.optimum or 0.0)))
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
    places = {one.name: place for place, one in enumerate(trial.factors)}
    levels = {treatment.code: treatment.levels for treatment in trial.treatments}
    treatment_of = {tray.code: tray.treatment for tray in trial.trays}
    rows: list[Row] = []
    for tray, score in result.scores:
        own = levels[treatment_of[tray]]
        if other:
            level = own[places[other.name]]
        else:
            level = ""
        dose = factor.doses[factor.levels.index(own[places[factor.name]])]
        rows.append(
            {
                "tray": theme.one_line(tray),
                "dose": dose,
                "value": score,
                "treatment": looks[level].name,
            }
        )
    return rows


def _dots(ground: Plane, rows: list[Row], looks: Mapping[str, theme.Look]) -> alt.Chart:
    shown = list(looks.values())
    points = ground.at("dose", "value").mark_point(size=50)
    dots = points.encode(
        color=alt.ColorValue(theme.INK), tooltip=theme.tooltip("tray:N", "dose:Q", "value:Q")
    )
    if len(shown) > 1:
        tells = theme.tooltip("tray:N", "treatment:N", "dose:Q", "value:Q")
        dots = points.encode(color=theme.colour(shown), shape=theme.shape(shown), tooltip=tells)
    made: alt.Chart = dots.properties(data=theme.rows("trays", rows))
    return made
