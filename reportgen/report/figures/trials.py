"""Several trials of the same comparison, as a chart."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from reportgen.language import say
from reportgen.metrics.pooled import PooledComparison, PooledMeasure
from reportgen.model.document import Figure
from reportgen.model.results import Comparison
from reportgen.report import numbers, ratios, terms, wording
from reportgen.report.figures.drawing import drawn
from reportgen.stats.pooling import PooledRatio

if TYPE_CHECKING:
    from reportgen.charts.forest import Together


def forest(
    key: str,
    comparison: PooledComparison,
    measure: PooledMeasure,
    names: Mapping[str, str],
    alternative: str,
) -> tuple[Figure, ...]:
    """Return the chart of a measure in each trial and in all together.

    Names: those of trials, by their slugs.
    """
    from reportgen.charts import forest as chart

    rows: list[chart.TrialRatio] = []
    for ratio in measure.trials:
        figure = _change(ratio.ratio, ratio.low, ratio.high)
        rows.append(
            chart.TrialRatio(
                names[ratio.trial.slug], figure, ratio.ratio, ratio.low, ratio.high, ratio.weight
            )
        )
    title = say("Change from {reference} in each trial", reference=comparison.reference)
    together = _together(measure.pooled)
    return drawn(
        key,
        lambda width: chart.forest(title, rows, together, width),
        _caption(comparison, measure),
        alternative,
        _title(comparison, measure),
    )


def _together(pooled: PooledRatio) -> "Together | None":
    """Return what the trials say together, with the range for another trial where that is known."""
    from reportgen.charts import forest as chart

    if pooled.ratio is None:
        return None
    figure = _change(pooled.ratio, pooled.low, pooled.high)
    own = chart.TrialRatio(say(chart.POOLED), figure, pooled.ratio, pooled.low, pooled.high)
    low, high = pooled.prediction_low, pooled.prediction_high
    if low is None or high is None:
        return chart.Together(own)
    return chart.Together(
        own, chart.TrialRatio(say(chart.PREDICTED), (_limits(low, high),), pooled.ratio, low, high)
    )


def _change(ratio: float | None, low: float | None, high: float | None) -> tuple[str, ...]:
    """Return a ratio as a change, and its limits in a line of their own."""
    if ratio is None:
        return ()
    if low is None and high is None:
        limits = say("no interval")
    else:
        limits = _limits(low, high)
    return ratios.change(ratio, ratios.is_fine(low, high)), f"({limits})"


def _limits(low: float | None, high: float | None) -> str:
    if (
        high is not None and high > ratios.FAR
    ):  # said in percent, for as a change it may have hundreds of digits
        return ratios.ratio_reach(low, high)
    return wording.interval(Comparison(None, low, high))


def _title(comparison: PooledComparison, measure: PooledMeasure) -> str:
    """Return what the trials show together, or in how many of them the figure was higher."""
    names = {"measure": terms.label(measure.measure), "name": comparison.treated}
    pooled = measure.pooled
    if pooled.ratio is not None and pooled.low is not None:
        change = ratios.change(pooled.ratio, ratios.is_fine(pooled.low, pooled.high))
        return say("{measure} with {name}: {change} in all trials together", change=change, **names)
    known = [one.ratio for one in measure.trials if one.ratio is not None]
    higher = sum(ratio > 1 for ratio in known)
    return say(
        "{measure} with {name}: higher in {number} of {of} trials",
        number=higher,
        of=len(known),
        **names,
    )


def _caption(comparison: PooledComparison, measure: PooledMeasure) -> str:
    level = numbers.percent_level(comparison.level)
    said = say(
        "Dot: change in a trial; strip: its {level} interval. The larger a dot, the more its trial"
        " weighs.",
        level=level,
    )
    if measure.pooled.low is None:
        return said
    together = say(
        "Grey band and its line: all trials together, with the interval; dashed: range for another"
        " trial."
    )
    return f"{said} {together}"
