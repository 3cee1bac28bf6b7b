"""How much the main result rests on a single tray: it is computed again with each tray left out in
turn.
"""

from dataclasses import dataclass, replace

import numpy as np

from reportgen.metrics.design import question_of
from reportgen.metrics.instruments import errors_of
from reportgen.metrics.measures import Metric, metrics_by_key
from reportgen.metrics.survival import survival_analysis
from reportgen.metrics.totals import FloatArray, planted
from reportgen.model.results import Fragile
from reportgen.model.trial import Trial
from reportgen.stats.fragility import IntervalOfRatio, leave_one_out
from reportgen.stats.log_scale import InstrumentErrors, interval_of, sides_of_ratios


def fragility(trial: Trial, key: str) -> tuple[Fragile, ...]:
    """Return, for each treatment, how its ratio in a measure changes with any one tray left out.

    A tray of a third treatment counts too where variances or blocks are shared. A treatment without
    an interval has none, and so has a measure without ratios.
    """
    metric = metrics_by_key(trial).get(key)
    if metric is None or not metric.is_ratio_scale:
        return ()
    trays = planted(trial)
    totals = _Totals(metric.numerator(trial), metric.denominator(trial), errors_of(trial, metric))
    whole = _ratios(trial, metric, totals)
    without = []
    for index in range(len(trays)):
        without.append(_ratios(trial, metric, totals.without(index)))
    found: list[Fragile] = []
    for code, ratio in whole.items():
        if ratio is None:
            continue
        of_treatment = [ratios.get(code) for ratios in without]
        span = leave_one_out(len(trays), ratio, of_treatment.__getitem__)
        if span is not None:
            changing = tuple(trays[index].code for index in span.changed_by)
            found.append(Fragile(key, code, span.lowest, span.highest, changing))
    return tuple(found)


@dataclass(frozen=True)
class _Totals:
    """Both totals of each tray (n,), NaN for a left-out one, and instrument errors."""

    numerator: FloatArray
    denominator: FloatArray
    errors: InstrumentErrors

    def without(self, tray: int) -> "_Totals":
        """Return the totals with one tray left out."""
        numerator = self.numerator.copy()
        numerator[tray] = np.nan
        return replace(self, numerator=numerator)


def _ratios(trial: Trial, metric: Metric, totals: _Totals) -> dict[str, IntervalOfRatio | None]:
    """Return each treatment's ratio with limits on their side of 1, None where it cannot be tested."""
    codes = trial.treatment_codes
    found = dict(zip(codes, _compared(trial, metric, totals), strict=True))
    del found[trial.reference]
    return found


def _compared(trial: Trial, metric: Metric, totals: _Totals) -> tuple[IntervalOfRatio | None, ...]:
    question = question_of(trial)
    if metric.is_proportion:
        shares = survival_analysis(totals.numerator, totals.denominator, question)
        return tuple(map(interval_of, shares.comparisons))
    return sides_of_ratios(
        totals.numerator, totals.denominator, question, metric.divides_by, totals.errors
    )
