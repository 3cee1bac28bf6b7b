from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from reportgen.stats.power import (
    MOST_UNITS,
    cv_of_unit_mean,
    power_of,
    share_between,
    smallest_difference,
    units_needed,
)

NODES, WEIGHTS = np.polynomial.legendre.leggauss(120)


@pytest.mark.parametrize(
    ("difference", "units", "power"),
    [
        # R: power.t.test(n = 20, delta = 1, strict = TRUE), and so on; strict counts both tails
        (1.0, 20, 0.868953027723990),
        (2.5, 4, 0.835950408854503),
        (0.1, 2, 0.050463012131638),
        # R: power.t.test(power = .9, delta = 1, strict = TRUE)$n, and with power = .8; statsmodels' TTestIndPower
        (1.0, 22.021088441446192, 0.9),
        (1.0, 16.714722446954024, 0.8),
    ],
)
def test_the_power_of_a_t_test_agrees_with_power_t_test(difference, units, power):
    assert power_of(difference, units) == pytest.approx(power, abs=1e-9)


@given(st.floats(0.0, 4.0), st.integers(2, 8), st.sampled_from([0.01, 0.05, 0.1]))
def test_the_power_is_that_of_the_noncentral_t_in_both_tails(difference, units, alpha):
    # The same probability by numerical integration over the distribution of the pooled standard deviation
    freedom, shift = 2 * units - 2, difference * sqrt(units / 2)
    critical = stats.t.ppf(1 - alpha / 2, freedom)

    def rejected(deviation):
        return stats.norm.cdf(shift - critical * deviation) + stats.norm.cdf(-shift - critical * deviation)

    deviations = np.sqrt(stats.chi2.ppf((NODES + 1) / 2, freedom) / freedom)
    assert power_of(difference, units, alpha) == pytest.approx(float(WEIGHTS @ rejected(deviations)) / 2, abs=1e-4)


def test_without_a_difference_the_power_is_the_error_of_the_first_kind():
    assert power_of(0.0, 5, 0.05) == pytest.approx(0.05, abs=1e-12)


def test_a_difference_far_above_the_spread_shows_for_certain():
    assert [power_of(1e4, units) for units in (2, 10, 1000)] == [1.0, 1.0, 1.0]


@pytest.mark.parametrize(
    ("power", "alpha", "expected"),
    [
        # R: power.t.test(n = n, power = .8, sig.level = .05, strict = TRUE, tol = 1e-12)$delta for n = 2, 3, 4, 6, 10
        (0.8, 0.05, [5.65348926619228, 3.07089226636009, 2.38075421327031, 1.79554092061536, 1.32494739257865]),
        # the same with power = .9 and sig.level = .1
        (0.9, 0.1, [4.80922860356594, 2.93933581105527, 2.35475585710663, 1.8183223297327, 1.36123543896692]),
    ],
)
def test_the_smallest_difference_agrees_with_power_t_test(power, alpha, expected):
    found = [smallest_difference(units, 1.0, power, alpha) for units in (2, 3, 4, 6, 10)]
    assert found == pytest.approx(expected, rel=1e-8)


def test_the_smallest_difference_is_larger_than_the_normal_formula_tells():
    # (z(0.975) + z(0.8)) sqrt(2 / n) = 2.8016 sqrt(2 / n): Snedecor & Cochran (1980), Statistical Methods, 7th ed.
    assert all(smallest_difference(units, 0.1) > 0.28016 * sqrt(2 / units) for units in (2, 4, 10, 100))
    assert smallest_difference(1000, 0.1) == pytest.approx(0.28016 * sqrt(2 / 1000), rel=2e-3)


@pytest.mark.parametrize(
    ("difference", "cv", "power", "units"),
    [
        # R: ceiling(power.t.test(power = .8, delta = .2, sd = .1, strict = TRUE)$n), where n is 5.09, and so on:
        # 23.60, and the 16.71 and 22.02 above
        (0.2, 0.1, 0.8, 6),
        (-0.2, 0.1, 0.8, 6),
        (0.1, 0.12, 0.8, 24),
        (0.15, 0.15, 0.8, 17),
        (0.15, 0.15, 0.9, 23),
        (5.0, 0.1, 0.8, 2),
    ],
)
def test_the_units_needed_agree_with_power_t_test(difference, cv, power, units):
    assert units_needed(difference, cv, power) == units


@pytest.mark.parametrize("difference", [0.0, 0.001])
def test_a_difference_that_no_sensible_trial_shows_has_no_number_of_units(difference):
    assert power_of(0.01, MOST_UNITS) < 0.8
    assert units_needed(difference, 0.1) is None


@given(st.integers(2, 60), st.floats(0.01, 0.5))
def test_the_smallest_difference_needs_just_these_units(units, cv):
    difference = smallest_difference(units, cv)
    assert units_needed(difference * (1 + 1e-6), cv) == units
    assert units_needed(difference * (1 - 1e-6), cv) == units + 1


def test_one_unit_a_treatment_shows_no_difference():
    assert smallest_difference(1, 0.1) is None


def test_a_plan_without_spread_or_without_sense_is_refused():
    for cv in (0.0, -0.1):
        with pytest.raises(ValueError, match="not above 0"):
            units_needed(0.1, cv)
    for power in (0.05, 1.0):
        with pytest.raises(ValueError, match="not between"):
            smallest_difference(4, 0.1, power)


def test_more_subsamples_lessen_the_part_within_units_only():
    # Snedecor & Cochran (1980), Statistical Methods, 7th ed., ch. 13: variance of a unit's mean = between + within / m
    assert cv_of_unit_mean(0.01, 0.04, 4) == pytest.approx(sqrt(0.02))
    assert [share_between(0.01, 0.04, m) for m in (1, 4, 36)] == pytest.approx([0.2, 0.5, 0.9])
    assert cv_of_unit_mean(0.01, 0.04, 10**9) == pytest.approx(0.1)
    assert share_between(0.0, 0.0, 4) is None
