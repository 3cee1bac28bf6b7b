"""Least squares for score = treatment + block, with cells missing or unequal as they may be."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from reportgen.model.message import Notes, note
from reportgen.stats.scores import FloatArray, IntArray, without_rounding

SEVERAL = 256  # designs whose model is kept

NOT_CONNECTED = note("not_connected")
NO_RESIDUAL = note("no_residual")
NO_RESIDUAL_SPREAD = note("no_residual_spread")
POOLED_VARIANCE = note("pooled_variance")
ADDITIVE_MODEL = note("additive_model")


@dataclass(frozen=True)
class AdditiveFit:
    """Estimated marginal means (k,) and their covariance (k, k) from the pooled residual variance.

    The note is empty where all could be estimated; else the covariance is NaN, and so are the means
    where treatments cannot be told from blocks. A treatment without units has NaN. `model` names
    the model; `residuals` (n,) are the scores less what the model fits to them.
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

    The means stand for the average over the blocks present, each block with equal weight
    (population marginal means: Searle, Speed & Milliken 1980, Am. Stat. 34:216-221). Without block,
    score = treatment.
    """
    model = _model(_bytes(treatment), treatments, None if block is None else _bytes(block))
    coefficients = model.inverse @ scores
    present = model.design[:, :treatments].any(axis=0)
    means = np.where(present, without_rounding(coefficients[:treatments], scores), np.nan)
    fit = AdditiveFit(
        means,
        np.full((treatments, treatments), np.nan),
        residual_variance=np.nan,
        degrees_of_freedom=scores.size - model.rank,
        model=POOLED_VARIANCE if block is None else ADDITIVE_MODEL,
        residuals=without_rounding(scores - model.design @ coefficients, scores),
    )
    if model.rank < model.design.any(axis=0).sum():
        return replace(fit, means=np.full(treatments, np.nan), notes=NOT_CONNECTED)
    if fit.degrees_of_freedom < 1:
        return replace(fit, notes=NO_RESIDUAL)
    return _with_covariance(fit, model)


@dataclass(frozen=True)
class _Model:
    """A design (n, p), its pseudoinverse (p, n) and its rank."""

    design: FloatArray
    inverse: FloatArray
    rank: int


def _bytes(factor: IntArray) -> bytes:
    return factor.astype(np.int64).tobytes()


def rank_of(design: FloatArray) -> int:
    """Return the rank of a matrix, shape (rows, columns); 0 where it has no row or no column."""
    if not design.size:  # not every NumPy takes these
        return 0
    return int(np.linalg.matrix_rank(design))


@lru_cache(maxsize=SEVERAL)
def _model(treatment: bytes, treatments: int, block: bytes | None) -> _Model:
    """Return the model of a design; all measures of a trial that miss no unit have the same one."""
    columns = (np.frombuffer(treatment, np.int64)[:, np.newaxis] == np.arange(treatments)).astype(
        float
    )
    if block is None:
        design = columns
    else:
        design = np.hstack([columns, _deviations(np.frombuffer(block, np.int64))])
    rank = rank_of(design)
    return _Model(
        design, np.linalg.pinv(design, rcond=max(design.shape) * np.finfo(float).eps), rank
    )


def _with_covariance(fit: AdditiveFit, model: _Model) -> AdditiveFit:
    variance = float(fit.residuals @ fit.residuals) / fit.degrees_of_freedom
    if variance == 0:
        return replace(fit, residual_variance=0.0, notes=NO_RESIDUAL_SPREAD)
    treatments = fit.means.size
    # A treatment without units has an empty column, which only a pseudoinverse allows.
    covariance = variance * (model.inverse @ model.inverse.T)[:treatments, :treatments]
    absent = np.isnan(fit.means)
    covariance[absent, :] = covariance[:, absent] = np.nan
    return replace(fit, covariance=covariance, residual_variance=variance)


def _deviations(factor: IntArray) -> FloatArray:
    """Return columns of effects that add up to 0.

    The treatments' coefficients are then marginal means.
    """
    columns = (factor[:, np.newaxis] == np.unique(factor)).astype(float)
    deviations: FloatArray = columns[:, :-1] - columns[:, -1:]
    return deviations
