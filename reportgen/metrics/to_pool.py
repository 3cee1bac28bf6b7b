"""What a trial brings to a comparison that it shares with others."""

from collections.abc import Iterator
from dataclasses import replace

from reportgen.metrics.compute import measured
from reportgen.metrics.design import design_of, variances_of
from reportgen.metrics.measures import METRICS, Metric
from reportgen.metrics.versions import identity_of
from reportgen.model.results import MeasureResult, NamedTreatment, RatioToPool, Results, TrialToPool
from reportgen.model.trial import Trial
from reportgen.stats.analysis import spreads
from reportgen.stats.comparisons import Spread
from reportgen.stats.pooling import log_ratio

HEADLINE = "fresh_weight"
WITH_LOSSES = "yield_per_plant_started"  # the same figures as the headline where no plant was lost
MEASURES = (HEADLINE, WITH_LOSSES, "water_per_gram")  # those whose variance lies between trays
USUAL_LEVEL = 0.95

NOT_ABOVE_ZERO = "a figure of 0 has no log ratio"
NO_SPREAD = "the units show no spread, so nothing tells how much this trial weighs"


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
        tuple(_ratios(trial, results)),
        identity_of(trial),
    )


def _ratios(trial: Trial, results: Results) -> Iterator[RatioToPool]:
    own = {result.measure.key: result for result in results.measures}
    usual = own if trial.confidence_level == USUAL_LEVEL else _at_usual_level(trial)
    for metric in METRICS:
        if metric.key in MEASURES and metric.key in own:
            compared, beside = (dict(one[metric.key].comparisons) for one in (own, usual))
            for code, spread in _spreads(trial, metric):
                if code in compared:
                    ratio = RatioToPool(own[metric.key].measure, code, compared[code], beside[code])
                    yield _weighable(ratio, spread)


def _spreads(trial: Trial, metric: Metric) -> Iterator[tuple[str, Spread | None]]:
    """Yield what each treatment's comparison rests on, by the trays' spread alone."""
    numerator, denominator = metric.numerator(trial) * metric.factor, metric.denominator(trial)
    found = spreads(numerator, denominator, design_of(trial), variances_of(trial))
    yield from zip((treatment.code for treatment in trial.treatments), found, strict=True)


def _at_usual_level(trial: Trial) -> dict[str, MeasureResult]:
    return {result.measure.key: result for result in measured(replace(trial, confidence_level=USUAL_LEVEL))}


def _weighable(ratio: RatioToPool, spread: Spread | None) -> RatioToPool:
    """Return a ratio with its log ratio and variance, or with the reason why it has none."""
    if ratio.compared.ratio is None or spread is None:
        return replace(ratio, note=ratio.compared.note)
    found = log_ratio(spread.pair)
    if found is None or found.variance <= 0:
        return replace(ratio, note=NO_SPREAD if found else NOT_ABOVE_ZERO)
    return replace(ratio, log_ratio=found.value, variance=found.variance)
