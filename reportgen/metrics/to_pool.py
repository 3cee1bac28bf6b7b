"""What a trial brings to a comparison that it shares with others."""

from collections.abc import Iterator
from dataclasses import replace
from math import log

from reportgen.metrics.computing import measured
from reportgen.metrics.instruments import no_errors
from reportgen.metrics.measures import METRICS, Metric
from reportgen.metrics.tray_analysis import analysis_of, tray_totals
from reportgen.metrics.versions import identity_of
from reportgen.model.message import message
from reportgen.model.results import MeasureResult, NamedTreatment, RatioToPool, Results, TrialToPool
from reportgen.model.trial import Trial

HEADLINE = "fresh_weight"
WITH_LOSSES = "yield_per_plant_started"  # the same figures as the headline where no plant was lost
MEASURES = (
    HEADLINE,
    WITH_LOSSES,
    "marketable_yield",
    "water_per_gram",
)  # those whose variance lies between trays
USUAL_LEVEL = 0.95

NOT_ABOVE_ZERO = message("no_log_ratio_of_zero")
NO_SPREAD = message("no_spread_to_weigh_by")


def to_pool(trial: Trial, results: Results) -> TrialToPool:
    """Return what pooling takes of a trial."""
    about = trial.about
    return TrialToPool(
        trial.slug,
        about.title,
        about.crop,
        about.comparison,
        trial.harvested_on.isoformat(),
        trial.source_sha256,
        trial.unit,
        trial.confidence_level,
        trial.reference,
        tuple(NamedTreatment(one.code, one.name) for one in trial.treatments),
        tuple(count.treatment for count in results.counts if count.lost_some),
        () if trial.interim else tuple(_ratios(trial, results)),
        identity_of(trial),
        trial.interim,
    )


def _ratios(trial: Trial, results: Results) -> Iterator[RatioToPool]:
    own = {result.measure.key: result for result in results.measures}
    doubted = {
        (one.measure, one.treatment) for one in results.conclusions if one.code == "confounded"
    }
    if trial.confidence_level == USUAL_LEVEL:
        usual = own
    else:
        usual = _at_usual_level(trial)
    for metric in METRICS:
        if metric.key in MEASURES and metric.key in own:
            compared, beside = (dict(one[metric.key].comparisons) for one in (own, usual))
            errors = _log_errors(trial, metric)
            for code in compared:
                ratio = RatioToPool(own[metric.key].measure, code, compared[code], beside[code])
                weighed = _weighable(ratio, errors.get(code))
                yield replace(weighed, doubted=(metric.key, code) in doubted)


def _log_errors(trial: Trial, metric: Metric) -> dict[str, float | None]:
    """Return the standard error of each treatment's log ratio, by the trays' spread alone.

    There is none where a tray gave nothing, so that the ratio is not on the log scale.
    """
    found = analysis_of(tray_totals(trial), metric, no_errors(trial))
    codes = [treatment.code for treatment in trial.treatments]
    return dict(zip(codes, found.log_errors, strict=False))


def _at_usual_level(trial: Trial) -> dict[str, MeasureResult]:
    return {
        result.measure.key: result
        for result in measured(replace(trial, confidence_level=USUAL_LEVEL))
    }


def _weighable(ratio: RatioToPool, error: float | None) -> RatioToPool:
    """Return a ratio with its log ratio and variance, or with the reason why it has none beside the
    comparison's.
    """
    compared = ratio.compared.ratio
    if compared is None:
        return ratio
    if compared <= 0:
        return replace(ratio, reasons=(NOT_ABOVE_ZERO,))
    if error is None:
        return replace(ratio, reasons=() if ratio.compared.notes else (NO_SPREAD,))
    return replace(ratio, log_ratio=log(compared), variance=error**2)
