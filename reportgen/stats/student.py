"""Student's t distribution: the quantile behind an interval, the p value behind a test."""

from scipy.special import stdtr, stdtrit


def t_quantile(level: float, degrees_of_freedom: float) -> float:
    """Return the t value that encloses the fraction `level` of the distribution between -t and t."""
    return float(stdtrit(degrees_of_freedom, (1 + level) / 2))


def two_sided_p_value(t_value: float, degrees_of_freedom: float) -> float:
    """Return the probability of a t value at least as far from 0, on either side."""
    return float(2 * stdtr(degrees_of_freedom, -abs(t_value)))
