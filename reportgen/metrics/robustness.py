"""How much the main result rests on a single tray: it is computed again with each tray left out in turn."""

from dataclasses import replace

from reportgen.metrics.instruments import errors_of
from reportgen.metrics.measures import Metric, metrics_of
from reportgen.metrics.totals import planted
from reportgen.metrics.tray_analysis import analysis_of
from reportgen.model.results import Comparison, Fragile
from reportgen.model.trial import Trial
from reportgen.stats.fragility import IntervalOfRatio, leave_one_out


def fragility(trial: Trial, key: str) -> tuple[Fragile, ...]:
    """Return, for each treatment, how its ratio in a measure changes with any one tray left out.

    A tray of a third treatment counts too where variances or blocks are shared. A treatment without an interval has
    none.
    """
    metric = next((one for one in metrics_of(trial) if one.key == key), None)
    if metric is None:
        return ()
    trays = planted(trial)
    whole = _ratios(trial, metric)
    without = [_ratios(_without(trial, tray.code), metric) for tray in trays]
    found: list[Fragile] = []
    for code, ratio in whole.items():
        if ratio is None:
            continue
        of_treatment = [ratios.get(code) for ratios in without]
        each = leave_one_out(len(trays), ratio, of_treatment.__getitem__)
        if each is None:
            continue
        turning = tuple(trays[index].code for index in each.turned_by)
        found.append(Fragile(key, code, each.lowest, each.highest, turning))
    return tuple(found)


def _without(trial: Trial, code: str) -> Trial:
    return replace(trial, trays=tuple(tray for tray in trial.trays if tray.code != code))


def _ratios(trial: Trial, metric: Metric) -> dict[str, IntervalOfRatio | None]:
    """Return each treatment's ratio with its limits, None where it cannot be tested."""
    analysis = analysis_of(trial, metric, errors_of(trial, metric))
    ratios: dict[str, IntervalOfRatio | None] = {}
    for treatment, comparison in zip(trial.treatments, analysis.comparisons, strict=True):
        if comparison is not None:
            ratios[treatment.code] = _interval(comparison)
    return ratios


def _interval(comparison: Comparison) -> IntervalOfRatio | None:
    if comparison.ratio is None or (comparison.ratio_low is None and comparison.ratio_high is None):
        return None
    return IntervalOfRatio(comparison.ratio, comparison.ratio_low, comparison.ratio_high)
