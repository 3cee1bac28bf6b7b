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
        tuple(NamedTreatment(treatment.code, treatment.name) for treatment in trial.treatments),
        tuple(count.treatment for count in results.counts if count.lost_some),
        () if trial.interim else tuple(_ratios(trial, results)),
        identity_of(trial),
        trial.interim,
    )


def _ratios(trial: Trial, results: Results) -> Iterator[RatioToPool]:
    own = {result.measure.key: result for result in results.measures}
    doubted: set[tuple[str, str]] = set()
    for conclusion in results.conclusions:
        if conclusion.code == "confounded":
            doubted.add((conclusion.measure, conclusion.treatment))
    if trial.confidence_level == USUAL_LEVEL:
        usual = own
    else:
        usual = _at_usual_level(trial)
    for metric in METRICS:
        key = metric.key
        if key not in MEASURES or key not in own:
            continue
        errors = _log_errors(trial, metric)
        at_usual_level = dict(usual[key].comparisons)
        for code, comparison in own[key].comparisons:
            ratio = RatioToPool(own[key].measure, code, comparison, at_usual_level[code])
            weighted = _weighable(ratio, errors.get(code))
            yield replace(weighted, doubted=(key, code) in doubted)


def _log_errors(trial: Trial, metric: Metric) -> dict[str, float | None]:
    """Return the standard error of each treatment's log ratio, by the trays' spread alone.

    There is none where a tray gave nothing, so that the ratio is not on the log scale.
    """
    found = analysis_of(tray_totals(trial), metric, no_errors(trial))
    codes = trial.treatment_codes
    return dict(zip(codes, found.log_errors, strict=False))


def _at_usual_level(trial: Trial) -> dict[str, MeasureResult]:
    results: dict[str, MeasureResult] = {}
    for result in measured(replace(trial, confidence_level=USUAL_LEVEL)):
        results[result.measure.key] = result
    return results


def _weighable(ratio: RatioToPool, error: float | None) -> RatioToPool:
    """Return a ratio with its log ratio and variance, or with the reason for having none."""
    compared = ratio.compared.ratio
    if compared is None:
        return ratio
    if compared <= 0:
        return replace(ratio, reasons=(NOT_ABOVE_ZERO,))
    if error is None:
        if ratio.compared.notes:
            return ratio
        return replace(ratio, reasons=(NO_SPREAD,))
    return replace(ratio, log_ratio=log(compared), variance=error**2)
