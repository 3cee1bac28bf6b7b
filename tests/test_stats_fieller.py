from math import sqrt

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.stats.fieller import (
    NO_SPREAD_OF_RATIO,
    UNBOUNDED,
    UNBOUNDED_ABOVE,
    UNBOUNDED_BELOW,
    Limits,
    MeanPair,
    contrast_variance,
    fieller_limits,
)
from reportgen.stats.student import t_quantile, two_sided_p_value

# Serum aspartate aminotransferase of rats, treated and control: Hauschke, Kieser & Hothorn (1999),
# Biom. J. 41, the data set ASAT of the R package mratios.
ASAT_TREATED = [
    1.53,
    1.75,
    2.12,
    2.83,
    2.58,
    2.37,
    2.92,
    2.08,
    3.01,
    2.67,
    2.06,
    2.25,
    3.08,
    2.01,
    1.58,
]
ASAT_CONTROL = [
    *[1.33, 1.78, 1.53, 1.95, 1.83, 1.47, 1.87, 1.55, 2.58, 2.17],
    *[1.97, 1.62, 2.25, 3.53, 2.92, 1.78, 2.22, 2.55, 2.75],
]


def pooled_pair(treated, control):
    treated, control = np.array(treated), np.array(control)
    freedom = treated.size + control.size - 2
    variance = (treated.var() * treated.size + control.var() * control.size) / freedom
    pair = MeanPair(
        treated.mean(), control.mean(), variance / treated.size, variance / control.size
    )
    return pair, freedom


@pytest.mark.parametrize(
    ("level", "low", "high"),
    [
        # R package mratios 1.4.4: ttestratio with var.equal = TRUE, and the formula worked by hand
        (0.95, 0.9348870550570163, 1.3246109893194993),
        (0.90, 0.9630467516933416, 1.2860148310710784),
    ],
)
def test_limits_of_a_ratio_of_independent_means_agree_with_mratios(level, low, high):
    pair, freedom = pooled_pair(ASAT_TREATED, ASAT_CONTROL)
    limits = fieller_limits(pair, freedom, level)
    assert limits == (pytest.approx(low, rel=1e-10), pytest.approx(high, rel=1e-10), ())


def test_a_denominator_that_cannot_be_told_from_zero_leaves_the_ratio_unbounded():
    # Constructed: g = t^2 v0 / m0^2 = 9.04862714985986, far above 1.
    pair, freedom = pooled_pair([1, 2, 3], [-0.5, 1.5, 0.6])
    assert (
        t_quantile(0.95, freedom) / pair.denominator
    ) ** 2 * pair.denominator_variance == pytest.approx(9.04862714985986, rel=1e-9)
    assert fieller_limits(pair, freedom, 0.95)[:2] == (None, None)


@pytest.mark.parametrize(
    ("numerator", "denominator", "note"),
    [
        (10.0, 1.0, UNBOUNDED_ABOVE),
        (-10.0, -1.0, UNBOUNDED_ABOVE),
        (-10.0, 1.0, UNBOUNDED_BELOW),
        (0.5, 1.0, UNBOUNDED),
    ],
)
def test_an_unbounded_set_says_on_which_side(numerator, denominator, note):
    # Both standard errors are 1 and t is above 2, so a mean of 1 cannot be told from zero and one
    # of 10 can.
    limits = fieller_limits(MeanPair(numerator, denominator, 1.0, 1.0), 10, 0.95)
    assert limits == Limits(None, None, note)


def test_a_contrast_without_spread_has_no_limits_rather_than_limits_of_zero_width():
    assert fieller_limits(MeanPair(0.0, 4.0, 0.0, 1.0), 3, 0.95) == Limits(
        None, None, NO_SPREAD_OF_RATIO
    )


def test_the_spread_of_a_ratio_is_that_of_the_propagation_of_uncertainty():
    # Yield per area of hydroponic and of conventional lettuce, 41 +- 6.1 and 3.9 +- 0.21 kg m-2
    # a-1, the ratio printed as 11 +- 1.7: Barbosa et al. (2015), Int. J. Environ. Res. Public
    # Health 12:6879-6891.
    pair = MeanPair(41.0, 3.9, 6.1**2, 0.21**2)
    assert sqrt(contrast_variance(pair)) / pair.denominator == pytest.approx(
        1.6633874115284393, rel=1e-12
    )


def test_a_narrow_interval_keeps_its_digits():
    # With an exact denominator Fieller's limits are (m1 -+ t s1) / m0; here the width is 1e-7 of
    # the ratio.
    pair = MeanPair(1e6, 1e3, 1e-2**2, 0.0)
    half = t_quantile(0.95, 5) * 1e-2
    limits = fieller_limits(pair, 5, 0.95)
    assert limits.low is not None
    assert limits.high is not None
    assert limits.high - limits.low == pytest.approx(2 * half / 1e3, rel=1e-6)


means = st.floats(0.5, 100.0)
errors = st.floats(0.05, 5.0)


@given(means, means, errors, errors, st.floats(-0.9, 0.9))
def test_the_inequality_of_fieller_holds_inside_the_limits_only(m1, m0, s1, s0, correlation):
    covariance = correlation * s1 * s0
    limits = fieller_limits(MeanPair(m1, m0, s1**2, s0**2, covariance), 6, 0.95)
    assume(limits.low is not None and limits.high is not None)
    assume(limits.high - limits.low < 1e3)

    def excess(ratio):
        variance = s1**2 - 2 * ratio * covariance + ratio**2 * s0**2
        return (m1 - ratio * m0) ** 2 - t_quantile(0.95, 6) ** 2 * variance

    width = limits.high - limits.low
    scale = m1**2 + limits.high**2 * m0**2 + limits.low**2 * m0**2
    assert excess(limits.low) == pytest.approx(0, abs=1e-9 * scale)
    assert excess(limits.high) == pytest.approx(0, abs=1e-9 * scale)
    assert excess((limits.low + limits.high) / 2) < 0
    assert excess(limits.low - width) > 0
    assert excess(limits.high + width) > 0


def test_the_t_quantile_is_that_of_the_tables():
    # NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, upper critical values of Student's
    # t
    printed = {1: 12.706, 3: 3.182, 10: 2.228, 30: 2.042, 100: 1.984}
    assert {freedom: round(t_quantile(0.95, freedom), 3) for freedom in printed} == printed


@pytest.mark.parametrize("t_value", [2.228, -2.228])
def test_the_p_value_counts_both_tails(t_value):
    # the same table, 10 degrees of freedom: 2.228 leaves 0.025 in each tail
    assert two_sided_p_value(t_value, 10) == pytest.approx(0.05, abs=5e-5)
