"""What the model of the main measure leaves unexplained, tray by tray, and how spread goes with the
mean.
"""

import numpy as np

from reportgen.metrics.design import question_of
from reportgen.metrics.measures import Metric, metrics_by_key
from reportgen.metrics.totals import planted
from reportgen.model.results import MeasureResiduals, TrayResidual, TreatmentSpread
from reportgen.model.trial import Trial
from reportgen.stats.log_scale import residuals_of


def residuals(trial: Trial, key: str) -> MeasureResiduals | None:
    """Return the log-scale residuals of a measure, of treatments with two trays or more.

    None for a measure without such a model (a share, a temperature, a tray at or below zero), and
    where the model leaves nothing unexplained, as with one tray a treatment.
    """
    metric = metrics_by_key(trial).get(key)
    if metric is None or metric.is_proportion or not metric.is_ratio_scale:
        return None
    return _of_metric(trial, metric)


def _of_metric(trial: Trial, metric: Metric) -> MeasureResiduals | None:
    numerator, denominator = metric.numerator(trial) * metric.factor, metric.denominator(trial)
    found = residuals_of(numerator, denominator, question_of(trial), metric.divides_by)
    if found is None:
        return None
    codes = trial.treatment_codes
    spreads: dict[str, float] = {}
    for code, spread in zip(codes, found.spreads, strict=True):
        if np.isfinite(spread):
            spreads[code] = float(spread)
    trays: list[TrayResidual] = []
    for tray, fitted, residual in zip(planted(trial), found.fitted, found.residuals, strict=True):
        if tray.treatment in spreads and np.isfinite(residual):
            trays.append(TrayResidual(tray.code, tray.treatment, float(fitted), float(residual)))
    return MeasureResiduals(
        tuple(trays), tuple(TreatmentSpread(code, spread) for code, spread in spreads.items())
    )
