"""Least squares for score = treatment + block, with cells missing or unequal as they may be."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from reportgen.model.message import Notes, note
from reportgen.stats.scores import BoolArray, FloatArray, IntArray, without_rounding

NOT_CONNECTED = note("not_connected")
NO_RESIDUAL = note("no_residual")
NO_RESIDUAL_SPREAD = note("no_residual_spread")
POOLED_VARIANCE = note("pooled_variance")
ADDITIVE_MODEL = note("additive_model")


@dataclass(frozen=True)
class AdditiveFit:
    """Estimated marginal means (k,) and their covariance (k, k) from the pooled residual variance.

    The note is empty where all could be estimated; else the covariance is NaN, and so are the means where
    treatments cannot be told from blocks. A treatment without units has NaN. `model` names the model.
    """

    means: FloatArray
    covariance: FloatArray
    residual_variance: float
    degrees_of_freedom: int
    model: Notes
    notes: Notes = ()


@dataclass(frozen=True)
class _Layout:
    """A design matrix (n, c) with its pseudo-inverse (c, n), its rank, and the treatments that have units (k,)."""

    matrix: FloatArray
    inverse: FloatArray
    rank: int
    columns: int
    present: BoolArray


def fit_additive(
    scores: FloatArray, treatment: IntArray, treatments: int, block: IntArray | None = None
) -> AdditiveFit:
    """Fit score = treatment + block. scores, treatment (0 to `treatments` - 1), block: (n,).

    The means stand for the average over the blocks present, each block with equal weight (population marginal
    means: Searle, Speed & Milliken 1980, Am. Stat. 34:216-221). Without block, score = treatment.
    """
    layout = _layout(
        treatment.astype(int).tobytes(), treatments, None if block is None else block.astype(int).tobytes()
    )
    coefficients = layout.inverse @ scores
    means = np.where(layout.present, without_rounding(coefficients[:treatments], scores), np.nan)
    fit = AdditiveFit(
        means,
        np.full((treatments, treatments), np.nan),
        residual_variance=np.nan,
        degrees_of_freedom=scores.size - layout.rank,
        model=POOLED_VARIANCE if block is None else ADDITIVE_MODEL,
    )
    if layout.rank < layout.columns:
        return replace(fit, means=np.full(treatments, np.nan), notes=NOT_CONNECTED)
    if fit.degrees_of_freedom < 1:
        return replace(fit, notes=NO_RESIDUAL)
    return _with_covariance(fit, layout, without_rounding(scores - layout.matrix @ coefficients, scores))


@lru_cache(maxsize=256)
def _layout(treatment: bytes, treatments: int, block: bytes | None) -> _Layout:
    """Return the design of units, which many measures share. treatment, block: integers (n,) as bytes."""
    columns = (np.frombuffer(treatment, int)[:, np.newaxis] == np.arange(treatments)).astype(float)
    matrix = columns if block is None else np.hstack([columns, _deviations(np.frombuffer(block, int))])
    rank = int(np.linalg.matrix_rank(matrix)) if matrix.size else 0
    filled = int(matrix.any(axis=0).sum())
    return _Layout(matrix, np.linalg.pinv(matrix), rank, filled, columns.any(axis=0))


def _with_covariance(fit: AdditiveFit, layout: _Layout, residuals: FloatArray) -> AdditiveFit:
    variance = float(residuals @ residuals) / fit.degrees_of_freedom
    if variance == 0:
        return replace(fit, residual_variance=0.0, notes=NO_RESIDUAL_SPREAD)
    treatments = fit.means.size
    # A treatment without units has an empty column, which an inverse would not allow.
    covariance = np.asarray(variance * layout.inverse @ layout.inverse.T, float)[:treatments, :treatments].copy()
    absent = np.isnan(fit.means)
    covariance[absent, :] = covariance[:, absent] = np.nan
    return replace(fit, covariance=covariance, residual_variance=variance)


def _deviations(factor: IntArray) -> FloatArray:
    """Return columns whose effects add up to 0, so that the treatments' coefficients are marginal means."""
    columns = (factor[:, np.newaxis] == np.unique(factor)).astype(float)
    deviations: FloatArray = columns[:, :-1] - columns[:, -1:]
    return deviations
