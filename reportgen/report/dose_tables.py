"""Tables of what doses did: the trend along them, pairs of doses."""

from collections.abc import Sequence
from typing import Final

from reportgen.language import figure, marked, say
from reportgen.model.document import Block, Table
from reportgen.model.factor_results import DoseTrend, FactorTest
from reportgen.model.results import MeasureResult
from reportgen.model.trial import Factor, Trial
from reportgen.report import numbers, ratios, terms, wording
from reportgen.report.levels import level_text, other_factor

OF_A_CURVE: Final = marked(
    "These {level} intervals and p values hold for all pairs of doses of one curve together"
    " (Bonferroni)."
)


def freedom_text(value: float) -> str:
    """Return degrees of freedom with one decimal."""
    return figure(f"{value:.1f}")


def pairs_of_doses(
    trial: Trial, main: MeasureResult, factor: Factor, trends: Sequence[DoseTrend]
) -> list[Block]:
    """Return the table of all pairs of doses that no curve fits; none where curves fit."""
    rows: list[tuple[str, ...]] = []
    for trend in trends:
        lead = (_other_level(trial, factor, trend),) if trend.within else ()
        for pair in trend.pairs:
            levels = level_text(factor, pair.level), level_text(factor, pair.reference)
            compared = say(
                "{treated} in percent of {reference}", treated=levels[0], reference=levels[1]
            )
            ratio = ratios.ratio(pair.ratio, pair.low, pair.high)
            rows.append(
                (
                    *lead,
                    compared,
                    ratio,
                    numbers.p_value(pair.p_adjusted),
                    freedom_text(pair.degrees_of_freedom),
                )
            )
    if not rows:
        return []
    level = numbers.percent_level(trial.confidence_level)
    of_levels = (say("At"),) if any(trend.within for trend in trends) else ()
    ratio_head = say("Ratio ({level} interval)", level=level)
    head = (*of_levels, say("Compared"), ratio_head, say("p value"), say("Degrees of freedom"))
    label = wording.inside(terms.label(main.measure))
    caption = say("Doses compared with each other in {measure}", measure=label)
    numeric = (*(False for _ in of_levels), False, True, True, True)
    place = [one.name for one in trial.factors].index(factor.name) + 1
    return [
        Table(
            f"all-doses-{place}", caption, head, tuple(rows), numeric, say(OF_A_CURVE, level=level)
        )
    ]


def trend_tests(
    trial: Trial, main: MeasureResult, factor: Factor, trends: Sequence[DoseTrend]
) -> Table:
    """Return the tests of a trend along doses as a table."""
    rows: list[tuple[str, ...]] = []
    for trend in trends:
        lead = (_other_level(trial, factor, trend),) if trend.within else ()
        rows.append((*lead, say("straight line"), *_test_cells(trend.linear)))
        rows.append((*lead, say("what a parabola adds"), *_test_cells(trend.quadratic)))
        if trend.lack_of_fit is not None:
            rows.append((*lead, say("what is left (lack of fit)"), *_test_cells(trend.lack_of_fit)))
    of_levels = (say("At"),) if any(trend.within for trend in trends) else ()
    head = (*of_levels, say("Term"), "F", say("Degrees of freedom"), say("p value"))
    place = [one.name for one in trial.factors].index(factor.name) + 1
    label = wording.inside(terms.label(main.measure))
    caption = say("The trend of {measure} along {factor}", measure=label, factor=factor.name)
    numeric = (*(False for _ in of_levels), False, True, True, True)
    return Table(f"trend-{place}", caption, head, tuple(rows), numeric)


def _other_level(trial: Trial, factor: Factor, trend: DoseTrend) -> str:
    other = other_factor(trial, factor)
    return f"{other.name} {level_text(other, trend.within)}"


def _test_cells(test: FactorTest) -> tuple[str, ...]:
    error = figure(f"{test.error_degrees_of_freedom:.4g}")
    return (
        figure(f"{test.statistic:.2f}"),
        f"{test.degrees_of_freedom}; {error}",
        numbers.p_value(test.p_value),
    )
