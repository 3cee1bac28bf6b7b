"""Least squares for score = treatment + block, with cells missing or unequal as they may be."""

from dataclasses import dataclass, replace

import numpy as np

from reportgen.model.message import Notes, note
from reportgen.stats.scores import FloatArray, IntArray, without_rounding

NOT_CONNECTED = note("not_connected")
NO_RESIDUAL = note("no_residual")
NO_RESIDUAL_SPREAD = note("no_residual_spread")
POOLED_VARIANCE = note("pooled_variance")
ADDITIVE_MODEL = note("additive_model")


@dataclass(frozen=True)
class AdditiveFit:
    """Estimated marginal means (k,) and their covariance (k, k) from the pooled residual variance.

    The note is empty where all could be estimated; else the covariance is NaN, and so are the means where
    treatments cannot be told from blocks. A treatment without units has NaN. `model` names the model; `residuals` (n,)
    are the scores less what the model fits to them.
    """

    means: FloatArray
    covariance: FloatArray
    residual_variance: float
    degrees_of_freedom: int
    model: Notes
    residuals: FloatArray
    notes: Notes = ()


def fit_additive(
    scores: FloatArray, treatment: IntArray, treatments: int, block: IntArray | None = None
) -> AdditiveFit:
    """Fit score = treatment + block. scores, treatment (0 to `treatments` - 1), block: (n,).

    The means stand for the average over the blocks present, each block with equal weight (population marginal
    means: Searle, Speed & Milliken 1980, Am. Stat. 34:216-221). Without block, score = treatment.
    """
    columns = (treatment[:, np.newaxis] == np.arange(treatments)).astype(float)
    design = columns if block is None else np.hstack([columns, _deviations(block)])
    coefficients, _, rank, _ = np.linalg.lstsq(design, scores, rcond=None)
    present = columns.any(axis=0)
    means = np.where(present, without_rounding(coefficients[:treatments], scores), np.nan)
    fit = AdditiveFit(
        means,
        np.full((treatments, treatments), np.nan),
        residual_variance=np.nan,
        degrees_of_freedom=scores.size - int(rank),
        model=POOLED_VARIANCE if block is None else ADDITIVE_MODEL,
        residuals=without_rounding(scores - design @ coefficients, scores),
    )
    if rank < design.any(axis=0).sum():
        return replace(fit, means=np.full(treatments, np.nan), notes=NOT_CONNECTED)
    if fit.degrees_of_freedom < 1:
        return replace(fit, notes=NO_RESIDUAL)
    return _with_covariance(fit, design)


def _with_covariance(fit: AdditiveFit, design: FloatArray) -> AdditiveFit:
    variance = float(fit.residuals @ fit.residuals) / fit.degrees_of_freedom
    if variance == 0:
        return replace(fit, residual_variance=0.0, notes=NO_RESIDUAL_SPREAD)
    treatments = fit.means.size
    # A treatment without units has an empty column, which an inverse would not allow.
    covariance = np.asarray(variance * np.linalg.pinv(design.T @ design), float)[:treatments, :treatments]
    absent = np.isnan(fit.means)
    covariance[absent, :] = covariance[:, absent] = np.nan
    return replace(fit, covariance=covariance, residual_variance=variance)


def _deviations(factor: IntArray) -> FloatArray:
    """Return columns whose effects add up to 0, so that the treatments' coefficients are marginal means."""
    columns = (factor[:, np.newaxis] == np.unique(factor)).astype(float)
    deviations: FloatArray = columns[:, :-1] - columns[:, -1:]
    return deviations
