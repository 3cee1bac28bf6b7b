from dataclasses import replace
from math import inf, log, log1p, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from reportgen.stats.power import (
    TWO_TREATMENTS,
    Aim,
    Layout,
    Spread,
    assurance,
    cv_of,
    power_of,
    smallest_difference,
    typed_spread,
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
        # R: power.t.test(power = .9, delta = 1, strict = TRUE)$n, and with power = .8; statsmodels'
        #   TTestIndPower
        (1.0, 22.021088441446192, 0.9),
        (1.0, 16.714722446954024, 0.8),
    ],
)
def test_the_power_of_a_t_test_agrees_with_power_t_test(difference, units, power):
    assert power_of(difference, units) == pytest.approx(power, abs=1e-9)


@given(st.floats(0.0, 4.0), st.integers(2, 8), st.sampled_from([0.01, 0.05, 0.1]))
def test_the_power_is_that_of_the_noncentral_t_in_both_tails(difference, units, alpha):
    # The same probability by numerical integration over the distribution of the pooled standard
    # deviation
    freedom, shift = 2 * units - 2, difference * sqrt(units / 2)
    critical = stats.t.ppf(1 - alpha / 2, freedom)

    def rejected(deviation):
        return stats.norm.cdf(shift - critical * deviation) + stats.norm.cdf(
            -shift - critical * deviation
        )

    deviations = np.sqrt(stats.chi2.ppf((NODES + 1) / 2, freedom) / freedom)
    assert power_of(difference, units, alpha) == pytest.approx(
        float(WEIGHTS @ rejected(deviations)) / 2, abs=1e-4
    )


def test_without_a_difference_the_power_is_the_error_of_the_first_kind():
    assert power_of(0.0, 5, 0.05) == pytest.approx(0.05, abs=1e-12)


def test_a_difference_far_above_the_spread_shows_for_certain():
    assert [power_of(1e4, units) for units in (2, 10, 1000)] == [1.0, 1.0, 1.0]


KNOWN = Spread(
    1e-6, inf, 0.0
)  # a standard deviation of 0.001, so that logarithms and differences are alike
USUAL = Aim(0.8, 0.05, TWO_TREATMENTS, 6)


@pytest.mark.parametrize(
    ("power", "alpha", "expected"),
    [
        # R: power.t.test(n = n, power = .8, sig.level = .05, strict = TRUE, tol = 1e-12)$delta for
        #   n = 2, 3, 4, 6, 10
        (
            0.8,
            0.05,
            [
                5.65348926619228,
                3.07089226636009,
                2.38075421327031,
                1.79554092061536,
                1.32494739257865,
            ],
        ),
        # the same with power = .9 and sig.level = .1
        (
            0.9,
            0.1,
            [
                4.80922860356594,
                2.93933581105527,
                2.35475585710663,
                1.8183223297327,
                1.36123543896692,
            ],
        ),
    ],
)
def test_the_smallest_difference_agrees_with_power_t_test(power, alpha, expected):
    aim = replace(USUAL, power=power, alpha=alpha)
    found = [log1p(smallest_difference(units, KNOWN, aim)) / 0.001 for units in (2, 3, 4, 6, 10)]
    assert found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("difference", "cv", "power", "units"),
    [
        # R: ceiling(power.t.test(delta = log(1 + difference), sd = sqrt(log(1 + cv^2)), power,
        #   strict = TRUE)$n):
        # 5.84, 25.70, 18.89, 24.94
        (0.2, 0.1, 0.8, 6),
        (0.1, 0.12, 0.8, 26),
        (0.15, 0.15, 0.8, 19),
        (0.15, 0.15, 0.9, 25),
        (5.0, 0.1, 0.8, 2),
    ],
)
def test_the_units_needed_agree_with_power_t_test(difference, cv, power, units):
    assert units_needed(difference, typed_spread(cv, 0.0), replace(USUAL, power=power)) == units


@pytest.mark.parametrize(
    ("log_ratio", "units", "spread", "aim", "expected"),
    [
        # R: P <- function(d, n, a, df) 1 - pf(qf(1 - a, 1, df), 1, df, d^2 * n / 2)
        # integrate(function(q) sapply(q, function(u) P(lr / sqrt(s2 * f / qchisq(u, f)), n, a,
        # df)), 0, 1)
        (log(1.2), 8, Spread(0.0144, 6, 0.0, 6), USUAL, 0.718720653524),
        (log(1.1), 5, Spread(0.004, 6, 0.0, 3), USUAL, 0.482641905822),
        (log(1.3), 6, Spread(0.02, 6, 0.0, 12), replace(USUAL, alpha=0.1), 0.863887979590),
        (
            log(1.2),
            8,
            Spread(0.0144, 6, 0.0, 6),
            replace(USUAL, layout=Layout(2, True)),
            0.666207153032,
        ),
    ],
)
def test_the_assurance_is_the_power_averaged_over_what_the_variance_may_be(
    log_ratio, units, spread, aim, expected
):
    assert assurance(log_ratio, units, spread, aim) == pytest.approx(expected, abs=5e-4)


def test_a_variance_that_is_learnt_takes_more_units_than_one_that_is_known():
    # R: the fewest n for which the integral above, and P alone with 2 n - 2 and with n - 1 degrees,
    # reach 0.8
    learnt, known = Spread(0.0144, 6, 0.0, 6), Spread(0.0144, 6, 0.0)
    blocks = replace(USUAL, layout=Layout(2, True))
    assert [units_needed(0.2, spread, USUAL) for spread in (learnt, known)] == [11, 8]
    assert units_needed(0.2, known, blocks) == 9
    assert units_needed(0.15, Spread(0.04, 6, 0.0, 6), USUAL) == 44


def test_several_treatments_meet_the_reference_with_dunnetts_quantile():
    # R: qmvt(.95, tail = "both.tails", df = 8, corr = 0.5)$quantile, mvtnorm, good to 1e-3; Dunnett
    #   (1964),
    # Biometrics 20:482-491, table for two-sided 95 %: two treatments, 8 degrees of freedom: 2.67
    layout = Layout(3, True)
    assert (layout.freedom(5), layout.quantile(5, 0.95)) == (8, pytest.approx(2.673, abs=1e-3))
    # R: 1 - pf(q^2, 1, 8, 1.5^2 * 5 / 2)
    assert power_of(1.5, 5, 0.05, layout) == pytest.approx(0.4301, abs=5e-4)


@pytest.mark.parametrize("difference", [0.0001, 0.001])
def test_a_difference_that_no_sensible_trial_shows_has_no_number_of_units(difference):
    assert units_needed(difference, typed_spread(0.1, 0.0), USUAL) is None


@given(st.integers(2, 60), st.floats(0.01, 0.5), st.sampled_from([0, 4, 20]))
def test_the_smallest_difference_needs_just_these_units(units, deviation, degrees):
    spread = Spread(deviation**2, 6, 0.0, degrees)
    difference = smallest_difference(units, spread, USUAL)
    assert units_needed(difference * (1 + 1e-6), spread, USUAL) == units
    assert units_needed(difference * (1 - 1e-6), spread, USUAL) == units + 1


def test_one_unit_a_treatment_shows_no_difference():
    assert smallest_difference(1, KNOWN, USUAL) is None


def test_a_plan_without_spread_or_without_sense_is_refused():
    with pytest.raises(ValueError, match="nothing varies"):
        units_needed(0.1, typed_spread(0.0, 0.0), USUAL)
    for power in (0.05, 1.0):
        with pytest.raises(ValueError, match="not between"):
            smallest_difference(4, KNOWN, replace(USUAL, power=power))


def test_more_subsamples_lessen_the_part_within_units_only():
    # Snedecor & Cochran (1980), Statistical Methods, 7th ed., ch. 13: variance of a unit's mean =
    #   between + within / m
    spread = Spread(0.02, 4, 0.04)
    assert spread.between == pytest.approx(0.01)
    assert [spread.of_mean(m) for m in (1, 4, 40)] == pytest.approx([0.05, 0.02, 0.011])
    assert [spread.share_between(m) for m in (1, 4, 36)] == pytest.approx([0.2, 0.5, 0.9])
    assert spread.likely(40) == pytest.approx([0.011])
    assert Spread(0.0, inf, 0.0).share_between(4) is None


def test_units_that_differ_less_than_their_subsamples_let_them_have_no_variance_of_their_own():
    spread = Spread(0.005, 4, 0.04, 6, 30)
    assert spread.between == 0.0
    assert spread.likely(8) == pytest.approx(spread.likely(4) / 2)


def test_a_coefficient_of_variation_is_kept_through_the_logarithm():
    # The lognormal distribution: CV^2 = exp(variance) - 1
    assert cv_of(typed_spread(0.3, 0.0).variance) == pytest.approx(0.3)
