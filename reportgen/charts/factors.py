"""What two factors do together, and what a dose does: means with their intervals, trays, and a curve with its band."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import altair as alt

from reportgen.charts import theme
from reportgen.charts.tooltips import reach
from reportgen.model.factor_results import DoseTrend
from reportgen.model.results import Estimate, MeasureResult
from reportgen.model.trial import Factor, Trial

HEIGHT: Final = 320  # px
BESIDE: Final = 60.0  # px, the farthest that the levels of one factor stand apart


def level_text(factor: Factor, level: str) -> str:
    """Return a level with its unit."""
    return theme.one_line(f"{level} {factor.unit}".strip())


def _axis_title(factor: Factor) -> str:
    return theme.one_line(f"{factor.name} ({factor.unit})" if factor.unit else factor.name)


def _looks(factor: Factor) -> dict[str, theme.Look]:
    """Return the look of each level of a factor, named with the factor."""
    name = theme.one_line(factor.name)
    return {
        level: theme.look(place, f"{name} {level_text(factor, level)}") for place, level in enumerate(factor.levels)
    }


def _y_axis(result: MeasureResult, more: Sequence[float] = (), *, is_log: bool = False) -> alt.Y:
    """Return the axis of a measure; on a logarithmic one, equal ratios are equally long."""
    values = [score for _, score in result.scores]
    for _, estimate in result.estimates:
        values += [end for end in (estimate.low, estimate.value, estimate.high) if end is not None]
    scale = theme.scale([*values, *more], 10)
    if is_log:
        scale.type = "log"
        scale.nice = False  # else it runs from one power of ten to another
    return alt.Y("value:Q", scale=scale, title=theme.measure_title(result.measure))


# ---- two factors -----------------------------------------------------------------------------------------


def interaction(trial: Trial, result: MeasureResult) -> alt.LayerChart | None:
    """Draw the figure of each combination of two factors' levels with its interval, over the trays' own values.

    The second factor's levels stand along the axis, a line joins those of one level of the first. The other axis is
    logarithmic, as effects are ratios. None where a combination has no figure.
    """
    first, second = trial.factors
    levels = {treatment.code: treatment.levels for treatment in trial.treatments}
    known = [(levels[code], estimate) for code, estimate in result.estimates if estimate.value is not None]
    if len(known) < len(levels):
        return None
    looks = _looks(first)
    shown = list(looks.values())
    axis = alt.Axis(labelAngle=0, ticks=False)
    along = [level_text(second, level) for level in second.levels]
    base = alt.Chart().encode(
        x=alt.X("along:N", scale=alt.Scale(domain=along, padding=0.4), title=_axis_title(second), axis=axis),
        y=_y_axis(result, is_log=True),
    )
    steps = _steps(first, len(along))
    means = [_mean(first, second, pair, estimate, looks) for pair, estimate in known]
    trays = _trays(trial, result, levels, looks)
    return theme.figure(_interaction_layers(base, shown, steps, (means, trays)), HEIGHT)


def _steps(first: Factor, places: int) -> list[float]:
    """Return how far each level of the first factor stands beside the middle of its place, px."""
    room = min(BESIDE, 0.5 * theme.WIDTH / places)
    count = len(first.levels)
    return [room * (place / (count - 1) - 0.5) for place in range(count)]


def _mean(
    first: Factor, second: Factor, levels: tuple[str, ...], estimate: Estimate, looks: Mapping[str, theme.Look]
) -> dict[str, Any]:
    assert estimate.value is not None
    return {
        "along": level_text(second, levels[1]),
        "treatment": looks[levels[0]].name,
        "place": first.levels.index(levels[0]),
        "value": estimate.value,
        "low": estimate.value if estimate.low is None else estimate.low,
        "high": estimate.value if estimate.high is None else estimate.high,
        "reach": reach(estimate.low, estimate.high),
    }


def _trays(
    trial: Trial, result: MeasureResult, levels: Mapping[str, tuple[str, ...]], looks: Mapping[str, theme.Look]
) -> list[dict[str, Any]]:
    first, second = trial.factors
    treatment_of = {tray.code: tray.treatment for tray in trial.trays}
    rows: list[dict[str, Any]] = []
    for tray, score in result.scores:
        of_first, of_second = levels[treatment_of[tray]]
        rows.append(
            {
                "tray": theme.one_line(tray),
                "along": level_text(second, of_second),
                "treatment": looks[of_first].name,
                "place": first.levels.index(of_first),
                "value": score,
            }
        )
    return rows


def _interaction_layers(
    base: alt.Chart,
    shown: Sequence[theme.Look],
    steps: Sequence[float],
    rows: tuple[list[dict[str, Any]], list[dict[str, Any]]],
) -> list[alt.Chart]:
    """Return the layers of lines, trays, intervals and dots; a layer for each level, so that each has its own step."""
    means, trays = rows
    layers: list[alt.Chart] = []
    for place, (look, step) in enumerate(zip(shown, steps, strict=True)):
        own = [row for row in means if row["place"] == place]
        line = base.mark_line(xOffset=step, stroke=look.colour, strokeDash=list(look.dash))
        layers.append(line.properties(data=theme.rows(f"lines {place}", own)))
        small = base.mark_point(xOffset=step + 9, size=26, opacity=0.75, color=look.colour, shape=look.shape)
        small = small.encode(tooltip=["tray:N", "treatment:N", "value:Q"])
        of_level = [row for row in trays if row["place"] == place]
        layers.append(small.properties(data=theme.rows(f"trays {place}", of_level)))
        rule = base.mark_rule(xOffset=step, strokeWidth=1.5).encode(y="low:Q", y2="high:Q")
        layers.append(rule.properties(data=theme.rows(f"intervals {place}", own)))
        dots = base.mark_point(xOffset=step, size=100).encode(
            color=theme.colour(shown), shape=theme.shape(shown), tooltip=["treatment:N", "value:Q", "reach:N"]
        )
        layers.append(dots.properties(data=theme.rows(f"means {place}", own)))
    return layers


# ---- doses -----------------------------------------------------------------------------------------------


def response(trial: Trial, result: MeasureResult, trends: Sequence[DoseTrend]) -> alt.LayerChart | None:
    """Draw trays against the dose of one factor, with each curve and its band, and where it turns.

    A curve for each level of another factor has the colour of that level. None where there is no trend.
    """
    if not trends:
        return None
    factor = next(one for one in trial.factors if one.name == trends[0].factor)
    other = next((one for one in trial.factors if one.name != factor.name), None)
    looks = _looks(other) if other else {"": theme.look(2, "")}
    ends = [end for one in trends for point in one.curve for end in (point.low, point.high)]
    base = alt.Chart().encode(x=_dose_axis(factor), y=_y_axis(result, ends))
    layers: list[alt.Chart] = []
    for place, one in enumerate(trends):
        look = looks[one.within] if one.within else theme.look(2, "")
        layers += _curve(base, place, one, look)
    if other is None and trends[0].code == "not_a_curve":
        layers += _dose_means(base, trial, result)
    layers.append(_dots(base, _dose_rows(trial, result, factor, other, looks), list(looks.values()), other is not None))
    return theme.figure(layers, HEIGHT)


def _dose_axis(factor: Factor) -> alt.X:
    """Return the axis of doses, those that were tested marked along it."""
    axis = alt.Axis(values=list(factor.doses), labelOverlap="greedy", format="~r", grid=False)
    scale = alt.Scale(zero=False, nice=False, padding=16)
    return alt.X("dose:Q", scale=scale, title=_axis_title(factor), axis=axis)


def _dose_means(base: alt.Chart, trial: Trial, result: MeasureResult) -> list[alt.Chart]:
    """Return the figure of each dose of a single factor with its interval, for doses that no curve fits."""
    (factor,) = trial.factors
    dose_of = {one.code: factor.doses[factor.levels.index(one.levels[0])] for one in trial.treatments}
    rows: list[dict[str, Any]] = []
    for code, estimate in result.estimates:
        if estimate.value is None:
            continue
        low = estimate.value if estimate.low is None else estimate.low
        high = estimate.value if estimate.high is None else estimate.high
        rows.append({"dose": dose_of[code], "value": estimate.value, "low": low, "high": high})
    rule = base.mark_rule(strokeWidth=1.5).encode(y="low:Q", y2="high:Q")
    dots = base.mark_point(size=140, color=theme.INK).encode(tooltip=["dose:Q", "value:Q"])
    return [rule.properties(data=theme.rows("intervals", rows)), dots.properties(data=theme.rows("means", rows))]


def _curve(base: alt.Chart, place: int, trend: DoseTrend, look: theme.Look) -> list[alt.Chart]:
    """Return the curve with its band; nothing where none fits."""
    if not trend.curve:
        return []
    rows = [{"dose": point.dose, "value": point.value, "low": point.low, "high": point.high} for point in trend.curve]
    band = base.mark_area(color=theme.tint(look.colour), opacity=0.7).encode(y="low:Q", y2="high:Q")
    dash = list(look.dash) if trend.within else [1, 0]
    line = base.mark_line(stroke=look.colour, strokeWidth=2.5, strokeDash=dash)
    if not trend.degree:
        line = base.mark_line(stroke=theme.INK, strokeWidth=1.5, strokeDash=[2, 2])
    layers = [
        band.properties(data=theme.rows(f"band {place}", rows)),
        line.properties(data=theme.rows(f"curve {place}", rows)),
    ]
    return layers + _turning_point(base, place, trend)


def _turning_point(base: alt.Chart, place: int, trend: DoseTrend) -> list[alt.Chart]:
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
    span = base.mark_rule(strokeWidth=3).encode(x="low:Q", x2="high:Q")
    mark = base.mark_point(shape="diamond", size=130, color=theme.INK).encode(tooltip=["dose:Q", "reach:N", "value:Q"])
    return [span.properties(data=data), mark.properties(data=data)]


def _dose_rows(
    trial: Trial, result: MeasureResult, factor: Factor, other: Factor | None, looks: Mapping[str, theme.Look]
) -> list[dict[str, Any]]:
    places = {one.name: place for place, one in enumerate(trial.factors)}
    levels = {treatment.code: treatment.levels for treatment in trial.treatments}
    treatment_of = {tray.code: tray.treatment for tray in trial.trays}
    rows: list[dict[str, Any]] = []
    for tray, score in result.scores:
        own = levels[treatment_of[tray]]
        level = own[places[other.name]] if other else ""
        dose = factor.doses[factor.levels.index(own[places[factor.name]])]
        rows.append({"tray": theme.one_line(tray), "dose": dose, "value": score, "treatment": looks[level].name})
    return rows


def _dots(base: alt.Chart, rows: list[dict[str, Any]], shown: Sequence[theme.Look], has_legend: bool) -> alt.Chart:
    points = base.mark_point(size=60)
    if has_legend:
        dots = points.encode(
            color=theme.colour(shown), shape=theme.shape(shown), tooltip=["tray:N", "treatment:N", "dose:Q", "value:Q"]
        )
    else:
        dots = points.encode(color=alt.value(theme.INK), tooltip=["tray:N", "dose:Q", "value:Q"])
    made: alt.Chart = dots.properties(data=theme.rows("trays", rows))
    return made
