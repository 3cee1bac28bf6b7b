"""What a model leaves unexplained, tray by tray, against what it fits."""

from collections.abc import Sequence
from typing import Any, Final

import altair as alt

from reportgen.charts import theme
from reportgen.language import say
from reportgen.model.results import Measure, TrayResidual
from reportgen.model.trial import Trial

HEIGHT: Final = 240  # px
ROOM: Final = 1.15  # of the largest residual, on both sides of zero


def residuals_against_fitted(
    trial: Trial, measure: Measure, residuals: Sequence[TrayResidual]
) -> alt.LayerChart | None:
    """Draw each tray's residual, a natural logarithm, against its fitted figure, with a line at zero.

    The tray that lies farthest from zero is named. The axis of residuals reaches as far below zero as above. None where
    there are no residuals, or all are zero.
    """
    largest = max((abs(one.residual) for one in residuals), default=0.0)
    if not largest:
        return None
    looks = theme.looks(trial)
    shown = list(looks.values())
    reach = ROOM * largest
    base = alt.Chart().encode(
        x=_fitted_axis(trial, measure, residuals),
        y=alt.Y("residual:Q", scale=alt.Scale(domain=[-reach, reach]), title=say("Residual: ln(measured / fitted)")),
    )
    points = base.mark_point().encode(
        color=theme.colour(shown),
        shape=theme.shape(shown),
        tooltip=["tray:N", "treatment:N", "fitted:Q", "residual:Q"],
    )
    rows = [_row(one, looks[one.treatment].name) for one in residuals]
    farthest = max(rows, key=lambda row: abs(row["residual"]))
    name = base.mark_text(dy=-12).encode(text="tray:N")
    zero = alt.Chart(theme.rows("zero", [{"residual": 0}])).mark_rule(strokeWidth=1.5).encode(y="residual:Q")
    return theme.figure(
        [
            zero,
            points.properties(data=theme.rows("trays", rows)),
            name.properties(data=theme.rows("farthest", [farthest])),
        ],
        HEIGHT,
    )


def _row(one: TrayResidual, name: str) -> dict[str, Any]:
    return {"tray": theme.one_line(one.tray), "treatment": name, "fitted": one.fitted, "residual": one.residual}


def _fitted_axis(trial: Trial, measure: Measure, residuals: Sequence[TrayResidual]) -> alt.X:
    title = say("Fitted value of each {unit}: {measure}", unit=theme.unit_of(trial), measure=theme.labelled(measure))
    return alt.X("fitted:Q", scale=theme.scale([one.fitted for one in residuals], 20), title=title)
