"""What a model leaves unexplained, tray by tray, against what it fits."""

from collections.abc import Sequence
from typing import Any, Final

import altair as alt

from reportgen.charts import placed, plane, theme
from reportgen.charts.lettering import width as width_of
from reportgen.charts.placed import Label
from reportgen.charts.plane import Axis
from reportgen.language import say
from reportgen.model.results import Measure, TrayResidual
from reportgen.model.trial import Trial

HEIGHT: Final = 150  # px
NAMED: Final = 24  # px beyond the largest residual, room for the name of its tray
MARGIN: Final = 0.06  # of the fitted figures, on both sides of them
OFF: Final = 13  # px from a mark to the middle of its name


def residuals_against_fitted(
    trial: Trial, measure: Measure, residuals: Sequence[TrayResidual], width: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw each tray's residual, a natural logarithm, against its fitted figure, with a line at
    zero.

    The tray that lies farthest from zero is named. The axis of residuals reaches as far below zero
    as above. None where there are no residuals, or all are zero.
    """
    largest = max((abs(one.residual) for one in residuals), default=0.0)
    if not largest:
        return None
    looks = theme.looks(trial)
    present = {one.treatment for one in residuals}
    shown = [look for code, look in looks.items() if code in present]
    title = say(
        "Fitted value of each {unit}: {measure}",
        unit=theme.unit_of(trial),
        measure=theme.labelled(measure),
    )
    reach = largest * HEIGHT / (HEIGHT - 2 * NAMED)
    y = Axis(say("Residual: ln(measured / fitted)"), (-reach, reach))
    ground = plane.plane(width, HEIGHT, Axis(title, _ends(residuals)), y).with_key(shown)
    rows = [_row(one, looks[one.treatment].name) for one in residuals]
    points = ground.at("fitted", "residual").mark_point(size=55)
    look = {"color": theme.colour(shown), "shape": theme.shape(shown)}
    points = points.encode(
        **look, tooltip=theme.tooltip("tray:N", "treatment:N", "fitted:Q", "residual:Q")
    )
    zero = alt.Chart(theme.rows("zero", [{"residual": 0}])).mark_rule(strokeWidth=1.5)
    farthest = max(residuals, key=lambda one: abs(one.residual))
    return ground.figure(
        [
            zero.encode(y=ground.upright_channel("residual")),
            points.properties(data=theme.rows("trays", rows)),
            *placed.texts("farthest", [_name(ground, farthest)]),
        ]
    )


def _row(one: TrayResidual, name: str) -> dict[str, Any]:
    return {
        "tray": theme.one_line(one.tray),
        "treatment": name,
        "fitted": one.fitted,
        "residual": one.residual,
    }


def _ends(residuals: Sequence[TrayResidual]) -> tuple[float, float]:
    fitted = [one.fitted for one in residuals]
    low, high = min(fitted), max(fitted)
    room = MARGIN * (high - low) or abs(high) / 2 or 1.0
    return low - room, high + room


def _name(ground: plane.Plane, one: TrayResidual) -> Label:
    """Return the name of a tray beyond its mark, seen from zero, within the plane."""
    name = theme.one_line(one.tray)
    half = width_of(name) / 2
    x = min(max(ground.px_across(one.fitted), half), ground.across - half)
    y = ground.px(one.residual) + (-OFF if one.residual > 0 else OFF)
    return Label(x, y, name, "center")
