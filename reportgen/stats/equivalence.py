"""Two one-sided tests that a ratio lies within a margin, so that it is the same for all purposes.

Schuirmann (1987), J. Pharmacokinet. Biopharm. 15:657-680. A margin m means the ratios from
1 / (1 + m) to 1 + m: both ends are as far from 1 on the logarithmic scale, so the answer stays
where treatment and reference change places. A margin of 25% is 0.8 to 1.25.
"""

from dataclasses import dataclass
from math import exp, log1p

from scipy.special import stdtr

from reportgen.stats.student import t_quantile


@dataclass(frozen=True)
class Equivalence:
    """Whether a ratio lies within its margin, with the p value and the deciding interval.

    The interval has the level 1 - 2 alpha where the comparison has 1 - alpha: 90% beside 95%. The
    ratio is alike where it lies inside, which is where the p value is below alpha.
    """

    alike: bool
    p_value: float
    low: float
    high: float


def equivalence(
    log_ratio: float, standard_error: float, degrees_of_freedom: float, margin: float, level: float
) -> Equivalence:
    """Test whether a ratio lies within its margin.

    log_ratio, standard_error: natural logarithms; margin: 0.1 for 10%; level: of the comparison's
    own interval, such as 0.95. Raises ValueError unless margin and standard error are above 0 and
    the level is above 0.5.
    """
    if margin <= 0 or standard_error <= 0:
        raise ValueError(f"margin {margin} and standard error {standard_error} must be above 0")
    if not 0.5 < level < 1:
        raise ValueError(f"level {level} is not between 0.5 and 1")
    farthest = log1p(margin)
    alpha = 1 - level
    half = t_quantile(1 - 2 * alpha, degrees_of_freedom) * standard_error
    not_above = stdtr(degrees_of_freedom, (log_ratio - farthest) / standard_error)
    not_below = stdtr(degrees_of_freedom, (-log_ratio - farthest) / standard_error)
    p_value = float(max(not_above, not_below))
    return Equivalence(p_value < alpha, p_value, exp(log_ratio - half), exp(log_ratio + half))
