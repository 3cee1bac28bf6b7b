"""Means of the cells of a design with the errors they rest on, and contrasts between them."""

from dataclasses import dataclass

import numpy as np
from scipy.special import fdtrc

from reportgen.stats.additive import AdditiveFit
from reportgen.stats.scores import FloatArray
from reportgen.stats.student import t_quantile, two_sided_p_value
from reportgen.stats.studentized import critical_value, tail_of_largest

MOST_INTEGRATED = 8  # contrasts; the integral takes as many steps as the square of their number
NEGLIGIBLE = 1e-9  # part of a variance, below which it is rounding
# least eigenvalue of a correlation matrix, below which one contrast follows from the others
DEPENDENT = 1e-7


@dataclass(frozen=True)
class ErrorTerm:
    """A mean square with its degrees of freedom.

    Times `shape` (k, k) it is its part of the means' covariance.
    """

    mean_square: float
    freedom: float
    shape: FloatArray


@dataclass(frozen=True)
class CellMeans:
    """The means (k,) of k cells, and the independent errors that make up their covariance."""

    means: FloatArray
    errors: tuple[ErrorTerm, ...]

    @property
    def covariance(self) -> FloatArray:
        """Return the covariance (k, k) of the means."""
        total = np.zeros((self.means.size, self.means.size))
        for error in self.errors:
            total += error.mean_square * error.shape
        return total

    def combined(self, matrix: FloatArray) -> "CellMeans":
        """Return linear combinations of the means as means of their own. matrix: (m, k)."""
        errors = tuple(
            ErrorTerm(error.mean_square, error.freedom, matrix @ error.shape @ matrix.T)
            for error in self.errors
        )
        return CellMeans(matrix @ self.means, errors)


@dataclass(frozen=True)
class FTest:
    """An F statistic with the degrees of freedom of its effect and of its error."""

    statistic: float
    freedom: int
    error_freedom: float
    p_value: float


@dataclass(frozen=True)
class Contrast:
    """A contrast with its limits.

    Those of `low` and `high` hold for all contrasts of its set together.

    `narrow_low` and `narrow_high` have the level 1 - 2 a where the others have 1 - a; `single_low`
    and `single_high` are for this contrast by itself.
    """

    value: float
    low: float
    high: float
    single_low: float
    single_high: float
    narrow_low: float
    narrow_high: float
    standard_error: float
    freedom: float
    p_value: float
    p_adjusted: float


def cells_of(fit: AdditiveFit) -> CellMeans | None:
    """Return the cell means of a fitted model with their one error; None where they have none."""
    if fit.notes or not np.isfinite(fit.covariance).all():
        return None
    shape = fit.covariance / fit.residual_variance
    return CellMeans(
        fit.means, (ErrorTerm(fit.residual_variance, float(fit.degrees_of_freedom), shape),)
    )


def f_test(cells: CellMeans, matrix: FloatArray) -> FTest:
    """Test that all contrasts are zero. matrix: (q, k), of rank q.

    With one error it is the F test of the linear model (Searle 1971, Linear Models, ch. 3.6). Where
    contrasts rest on several errors, the degrees of freedom are the fewest of the single contrasts'
    by Satterthwaite.
    """
    values = cells.combined(matrix)
    rank = len(matrix)
    statistic = float(values.means @ np.linalg.solve(values.covariance, values.means)) / rank
    freedom = float(min(freedoms(values)))
    return FTest(statistic, rank, freedom, float(fdtrc(rank, freedom, statistic)))


def freedoms(values: CellMeans) -> FloatArray:
    """Return the degrees of freedom (m,) of each value.

    Satterthwaite (1946), Biometrics Bulletin 2:110-114.
    """
    parts = np.array([error.mean_square * np.diag(error.shape) for error in values.errors])
    total = parts.sum(axis=0)
    parts = np.where(parts > NEGLIGIBLE * total, parts, 0.0)
    squares = sum(part**2 / error.freedom for part, error in zip(parts, values.errors, strict=True))
    result: FloatArray = parts.sum(axis=0) ** 2 / squares
    return np.round(result, 9)


def contrasts(cells: CellMeans, matrix: FloatArray, level: float) -> tuple[Contrast, ...]:
    """Return each contrast with limits that hold for all of them together. matrix: (m, k).

    The critical values are those of the multivariate t distribution of the contrasts. Of more than
    `MOST_INTEGRATED`, and where one contrast follows from others, they are Bonferroni's, which are
    a little larger and take no integral.
    """
    values = cells.combined(matrix)
    errors = np.sqrt(np.diag(values.covariance))
    own_freedoms = freedoms(values)
    together = _Together(_correlation(values))
    found: list[Contrast] = []
    for value, error, freedom in zip(
        values.means.tolist(), errors.tolist(), own_freedoms.tolist(), strict=True
    ):
        wide = error * together.critical(level, freedom)
        narrow = error * together.critical(2 * level - 1, freedom)
        single = error * t_quantile(level, freedom)
        size = abs(value) / error
        contrast = Contrast(
            value=value,
            low=value - wide,
            high=value + wide,
            single_low=value - single,
            single_high=value + single,
            narrow_low=value - narrow,
            narrow_high=value + narrow,
            standard_error=error,
            freedom=freedom,
            p_value=two_sided_p_value(size, freedom),
            p_adjusted=together.p_value(size, freedom),
        )
        found.append(contrast)
    return tuple(found)


@dataclass(frozen=True)
class _Together:
    """Several contrasts by their correlation (m, m): what holds for all of them."""

    correlation: FloatArray

    @property
    def is_integrated(self) -> bool:
        if len(self.correlation) > MOST_INTEGRATED:
            return False
        return float(np.linalg.eigvalsh(self.correlation)[0]) > DEPENDENT

    def critical(self, level: float, freedom: float) -> float:
        """Return what all t values lie within at a level."""
        if self.is_integrated:
            return critical_value(level, self.correlation, freedom)
        return t_quantile(1 - (1 - level) / len(self.correlation), freedom)

    def p_value(self, size: float, freedom: float) -> float:
        """Return the probability that any t value is as large."""
        if self.is_integrated:
            return tail_of_largest(size, self.correlation, freedom)
        return min(1.0, len(self.correlation) * two_sided_p_value(size, freedom))


def _correlation(values: CellMeans) -> FloatArray:
    """Return the correlation (m, m), the same to the last digit for all measures of a design with
    one error.
    """
    if len(values.errors) == 1:
        covariance = values.errors[0].shape
    else:
        covariance = values.covariance
    scale = np.sqrt(np.diag(covariance))
    return np.ascontiguousarray(np.round(covariance / np.outer(scale, scale), 10))
