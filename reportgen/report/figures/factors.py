"""What factors and doses did, as charts."""

from collections.abc import Sequence
from typing import Final

from reportgen.language import marked, say
from reportgen.model.document import Figure
from reportgen.model.factor_results import DoseTrend
from reportgen.model.results import MeasureResult
from reportgen.model.trial import Trial
from reportgen.report import figure_texts, figure_titles, numbers, terms, units, wording
from reportgen.report.figures.drawing import drawn

CURVE: Final = marked(
    "Marks: {units}; line: the fitted curve; band: its {level} interval at each dose."
)
UNCURVED: Final = marked(
    "Small marks: {units}; large marks and lines: average of each dose with its {level} interval."
    " No curve is drawn, as none fits."
)
UNCURVED_BESIDE: Final = marked("Marks: {units}. No curve is drawn, as none fits.")
TURNING_POINT: Final = marked("Diamond: where the curve turns, with the interval of that dose.")
COMBINATIONS: Final = marked(
    "Large marks and lines: average and {level} interval; small marks: {units}. Lines that run side"
    " by side mean that one factor does the same at every level of the other."
)


def interaction(trial: Trial, result: MeasureResult) -> tuple[Figure, ...]:
    """Return the chart of each combination of two factors' levels."""
    from reportgen.charts.interaction import interaction as chart

    shown = units.displayed([result], units.current())[0]
    return drawn(
        "interaction",
        lambda width: chart(trial, shown, width),
        say(COMBINATIONS, **_known(trial)),
        figure_texts.values_text(trial, shown),
        say("{measure} of each combination", measure=terms.label(shown.measure)),
    )


def response(
    trial: Trial, result: MeasureResult, trends: Sequence[DoseTrend]
) -> tuple[Figure, ...]:
    """Return the chart of a measure along the doses of a factor, with its curves."""
    from reportgen.charts.response import response as chart

    if not trends:
        return ()
    result, trends = units.curves(result, trends)
    message = CURVE
    if all(trend.code == "not_a_curve" for trend in trends):
        if len(trial.factors) > 1:
            message = UNCURVED_BESIDE
        else:
            message = UNCURVED
    caption = say(message, **_known(trial))
    if any(trend.code in ("peak", "trough") for trend in trends):
        caption = f"{caption} {say(TURNING_POINT)}"
    place = [factor.name for factor in trial.factors].index(trends[0].factor) + 1
    return drawn(
        f"response-{place}",
        lambda width: chart(trial, result, trends, width),
        caption,
        figure_texts.values_text(trial, result),
        figure_titles.of_trend(trial, result, trends),
    )


def _known(trial: Trial) -> dict[str, str]:
    return {
        "units": wording.unit_of(trial, 2),
        "level": numbers.percent_level(trial.confidence_level),
    }
