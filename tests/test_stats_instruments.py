from dataclasses import replace
from math import hypot, inf, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtri

from reportgen.model.message import joined, note
from reportgen.model.results import Comparison, Estimate
from reportgen.stats.comparisons import BOTH_ALIKE, Spread, compare_points, compare_separate
from reportgen.stats.fieller import (
    NO_SPREAD_OF_RATIO,
    UNBOUNDED_ABOVE,
    MeanPair,
    contrast_variance,
    fieller_limits,
)
from reportgen.stats.instruments import (
    BOTH_TYPES,
    INSTRUMENT,
    INSTRUMENT_ONLY,
    Component,
    Gains,
    combined,
    difference_error,
    expanded,
    pair_for_ratio,
    uncertainty_of_limits,
    uncertainty_of_resolution,
    widened_comparison,
    widened_estimate,
)
from reportgen.stats.intervals import NO_UNIT, ONE_UNIT, t_interval

TREATED = np.array([4.8, 5.3, 5.1, 5.6])
REFERENCE = np.array([4.1, 3.8, 4.4, 4.1])
# R: t.test(treated, reference)$parameter for the difference, t.test(treated, reference * 5.2 /
# 4.1)$parameter for the ratio
DIFFERENCE_FREEDOM, RATIO_FREEDOM = 5.48108108108109, 5.96170147925223
WELCH = compare_separate(TREATED, REFERENCE, 0.95)
SPREAD = Spread(
    MeanPair(TREATED.mean(), REFERENCE.mean(), TREATED.var(ddof=1) / 4, REFERENCE.var(ddof=1) / 4),
    RATIO_FREEDOM,
    DIFFERENCE_FREEDOM,
)


@pytest.mark.parametrize(
    ("half_width", "printed", "digits"),
    [
        # JCGM 100:2008, 4.3.7, example 1, expansion of copper within +-0.40e-6 per degree: u =
        # 0.23e-6; example 2, a voltmeter within +-15 microvolt: u = 8.7 (both from memory)
        (0.40, 0.23, 2),
        (15.0, 8.7, 1),
    ],
)
def test_limits_of_error_become_a_standard_uncertainty(half_width, printed, digits):
    assert round(uncertainty_of_limits(half_width), digits) == printed


def test_a_digital_step_of_one_has_an_uncertainty_of_29_hundredths():
    # JCGM 100:2008, F.2.2.1: u = 0.29 steps (from memory)
    assert round(uncertainty_of_resolution(1.0), 2) == 0.29


def test_a_counter_read_twice_has_the_uncertainty_of_both_readings():
    # Two independent readings in steps of 0.1: 0.1 x sqrt(2 / 12), by F.2.2.1 and 5.1.2 of JCGM 100
    assert uncertainty_of_resolution(0.1, readings=2) == pytest.approx(
        0.0408248290463863, rel=1e-14
    )
    assert combined(*[Component(uncertainty_of_resolution(0.1))] * 2).uncertainty == pytest.approx(
        0.0408248290463863
    )


def test_three_components_combine_as_in_the_guide():
    # JCGM 100:2008, G.4.1, example (from memory): relative uncertainties of 0.25, 0.57 and 0.82 %
    # from 10, 5 and 15 observations give 1.03 % with 19.0 degrees of freedom, and t95(19) = 2.09
    # gives U95 = 2.2 %
    whole = combined(Component(0.25, 9), Component(0.57, 4), Component(0.82, 14))
    assert round(whole.uncertainty, 2) == 1.03
    assert round(whole.degrees_of_freedom, 1) == 19.0
    assert round(expanded(whole, 0.95), 1) == 2.2


def test_the_end_gauge_has_the_degrees_of_freedom_of_the_guide():
    # JCGM 100:2008, H.1, table H.1 and H.1.6, nm: the comparison's 5.8, 3.9 and 6.7 give 9.7 with
    # 25.6 degrees of freedom, worked with the rounded 9.7; with 25, 2.9 and 16.6 they give u^2 =
    # 1002 nm^2, 32 nm with 16.7 degrees of freedom, and U99 = 2.92 x 32 = 93
    compared = combined(Component(5.8, 24), Component(3.9, 5), Component(6.7, 8))
    assert round(compared.uncertainty, 1) == 9.7
    assert compared.degrees_of_freedom * (9.7 / compared.uncertainty) ** 4 == pytest.approx(
        25.6, abs=0.05
    )
    gauge = combined(
        Component(25.0, 18), Component(9.7, 25.6), Component(2.9, 50), Component(16.6, 2)
    )
    assert round(gauge.uncertainty) == 32
    assert gauge.uncertainty**2 == pytest.approx(1002, abs=1.5)
    # The components are printed in rounded figures, which move the last digit.
    assert gauge.degrees_of_freedom == pytest.approx(16.7, abs=0.1)
    # The guide takes the whole number below, 16, and the rounded 32.
    assert round(expanded(Component(32.0, 16), 0.99)) == 93


def test_limits_taken_as_certain_leave_the_degrees_of_freedom_infinite():
    assert combined(Component(3.0), Component(4.0)) == Component(5.0, inf)
    assert combined(Component(0.0, 0), Component(4.0)) == Component(4.0, inf)
    assert combined() == Component(0.0, inf)
    assert expanded(Component(2.0), 0.95) == pytest.approx(2 * ndtri(0.975), rel=1e-12)


def test_the_uncertainty_of_a_ratio_takes_the_covariance_into_account():
    # JCGM 100:2008, H.2, tables H.2 and H.4: the impedance Z = V / I from five pairs of readings is
    # 254.26 ohm with a standard uncertainty of 0.236; more digits by GTC 1.5.1
    volts = np.array([5.007, 4.994, 5.005, 4.99, 4.999])
    amperes = np.array([0.019663, 0.019639, 0.01964, 0.019685, 0.019678])
    (v_uu, v_ui), (_, v_ii) = np.cov(volts, amperes) / 5
    gains = Gains(sqrt(v_uu) / volts.mean(), sqrt(v_ii) / amperes.mean())
    pair = pair_for_ratio(MeanPair(volts.mean(), amperes.mean(), 0.0, 0.0, v_ui), gains)
    assert pair.numerator / pair.denominator == pytest.approx(254.25970194801894, rel=1e-12)
    assert sqrt(contrast_variance(pair)) / pair.denominator == pytest.approx(
        0.23633613008237758, rel=1e-9
    )


def test_the_gains_of_two_instruments_add_in_quadrature_on_the_ratio():
    # Yields per area of 41 +- 6.1 and 3.9 +- 0.21, the ratio printed as 11 +- 1.7: Barbosa et al.
    # (2015), Int. J. Environ. Res. Public Health 12:6879-6891
    gains = Gains(6.1 / 41, 0.21 / 3.9)
    pair = pair_for_ratio(MeanPair(41.0, 3.9, 0.0, 0.0), gains)
    error = sqrt(contrast_variance(pair)) / 3.9
    assert round(error, 1) == 1.7
    assert error == pytest.approx(41 / 3.9 * hypot(gains.treated, gains.reference), rel=1e-12)


def test_an_estimate_is_widened_by_the_effective_degrees_of_freedom():
    # G.4.1 by hand: s = 4 with 6 degrees of freedom and u = 3 give 5 with 6 (5 / 4)^4 = 14.65; t by
    #   R's
    # qt(0.975, 6 * 1.25^4)
    half = 4 * 2.44691185114497
    widened = widened_estimate(
        Estimate(100.0, 100 - half, 100 + half, 4.0, 6, 7, note("t_interval_of_scores")), 0.03, 0.95
    )
    assert (widened.standard_error, widened.degrees_of_freedom) == pytest.approx((5.0, 6 * 1.25**4))
    assert (widened.low, widened.high) == pytest.approx(
        (100 - 5 * 2.13591363645403, 100 + 5 * 2.13591363645403), rel=1e-10
    )
    assert widened.methods == joined(note("t_interval_of_scores"), BOTH_TYPES)


def test_an_interval_is_never_narrower_than_that_of_the_units():
    # The paradox of Ballico (2000), Metrologia 37:61-64: with 3 degrees of freedom in place of 6
    # the same formula gives 11.7 on each side, where the units gave 12.7 by themselves.
    estimate = Estimate(100.0, 87.2702, 112.7298, 4.0, 3, 4)
    formula = combined(Component(4.0, 3), Component(3.0))
    assert expanded(formula, 0.95) == pytest.approx(11.7, abs=0.05)
    widened = widened_estimate(estimate, 0.03, 0.95)
    assert (widened.low, widened.high) == pytest.approx((87.2702, 112.7298), rel=1e-12)


def test_an_interval_that_is_not_symmetric_keeps_its_shape():
    estimate = Estimate(10.0, 9.0, 13.0, 0.8, 5, 6, "paired Fieller interval")
    widened = widened_estimate(estimate, 1e-6, 0.95)
    assert (widened.low, widened.high) == pytest.approx((9.0, 13.0), abs=1e-6)
    wide = widened_estimate(estimate, 0.5, 0.95)
    assert wide.low < 9.0
    assert wide.high > 13.0
    assert wide.high - 10.0 > 10.0 - wide.low


def test_an_instrument_cannot_bound_what_the_units_left_unbounded():
    estimate = Estimate(10.0, 2.0, None, 4.0, 2, 3, notes=UNBOUNDED_ABOVE)
    widened = widened_estimate(estimate, 0.05, 0.95)
    assert widened.low < 2.0
    assert widened.high is None
    assert widened.notes == UNBOUNDED_ABOVE


def test_where_only_the_instrument_is_known_the_interval_is_marked_so():
    widened = widened_estimate(
        t_interval(np.array([50.0]), 0.95), uncertainty_of_limits(0.01), 0.95
    )
    half = 50 * 0.01 / sqrt(3) * ndtri(0.975)
    assert (widened.low, widened.high) == pytest.approx((50 - half, 50 + half))
    assert (widened.methods, widened.notes) == (INSTRUMENT, joined(ONE_UNIT, INSTRUMENT_ONLY))
    assert widened.standard_error is None
    assert widened.degrees_of_freedom is None


@pytest.mark.parametrize(
    ("estimate", "relative"),
    [
        (Estimate(None, notes=NO_UNIT), 0.01),
        (Estimate(5.0, notes=ONE_UNIT), 0.0),
        (Estimate(0.0), 0.01),
    ],
)
def test_nothing_is_added_where_there_is_no_figure_or_no_uncertainty(estimate, relative):
    assert widened_estimate(estimate, relative, 0.95) == estimate


def test_no_gain_leaves_a_comparison_as_it_is():
    assert widened_comparison(WELCH, SPREAD, Gains(), 0.95) is WELCH


def test_tiny_gains_leave_welch_and_fieller_as_they_are():
    widened = widened_comparison(WELCH, SPREAD, Gains(1e-5, 1e-5, 1e-5), 0.95)
    for name in (
        "ratio_low",
        "ratio_high",
        "difference_low",
        "difference_high",
        "p_value",
        "degrees_of_freedom",
    ):
        assert getattr(widened, name) == pytest.approx(getattr(WELCH, name), rel=1e-6)
    assert widened.methods == joined(WELCH.methods, BOTH_TYPES)


def test_a_shared_gain_cancels_in_the_ratio_and_scales_the_difference():
    widened = widened_comparison(WELCH, SPREAD, Gains(shared=0.1), 0.95)
    assert (widened.ratio_low, widened.ratio_high) == (WELCH.ratio_low, WELCH.ratio_high)
    assert widened_comparison(WELCH, SPREAD, Gains(shared=1.0), 0.95).p_value == pytest.approx(
        WELCH.p_value, rel=1e-9
    )
    units = sqrt(SPREAD.pair.numerator_variance + SPREAD.pair.denominator_variance)
    assert difference_error(SPREAD.pair, Gains(shared=0.1)) == pytest.approx(
        hypot(units, 0.1 * 1.1)
    )
    assert widened.difference_low < WELCH.difference_low
    assert widened.difference_high > WELCH.difference_high


def test_a_gain_of_one_instrument_each_widens_ratio_difference_and_p_value():
    widened = widened_comparison(WELCH, SPREAD, Gains(0.03, 0.03), 0.95)
    assert widened.ratio_low < WELCH.ratio_low < WELCH.ratio_high < widened.ratio_high
    assert widened.difference_low < WELCH.difference_low
    assert widened_comparison(WELCH, SPREAD, Gains(0.1, 0.1), 0.95).p_value > 2 * WELCH.p_value
    assert widened.degrees_of_freedom > WELCH.degrees_of_freedom
    # G.4.1: 1 / nu = (share of the units in the variance)^2 / nu of the units
    share = contrast_variance(SPREAD.pair) / contrast_variance(
        pair_for_ratio(SPREAD.pair, Gains(0.03, 0.03))
    )
    assert widened.degrees_of_freedom == pytest.approx(RATIO_FREEDOM / share**2)


def test_one_meter_a_treatment_gives_an_interval_of_the_instruments_without_a_p_value():
    point = replace(compare_points(60.0, 50.0), notes=BOTH_ALIKE)
    spread = Spread(MeanPair(60.0, 50.0, 0.0, 0.0), 0.0, 0.0)
    widened = widened_comparison(point, spread, Gains(0.01, 0.01), 0.95)
    # Fieller with exact variances, by hand: (1.2 -+ z sqrt(1.2^2 (2 g - z^2 g^2))) / (1 - z^2 g), g
    #   = 0.01^2
    z, g = ndtri(0.975), 1e-4
    half = 1.2 * z * sqrt(2 * g - z**2 * g**2)
    assert widened.ratio_low == pytest.approx((1.2 - half) / (1 - z**2 * g), rel=1e-12)
    assert widened.ratio_high == pytest.approx((1.2 + half) / (1 - z**2 * g), rel=1e-12)
    assert widened.difference_high == pytest.approx(10 + z * hypot(0.6, 0.5))
    assert (widened.p_value, widened.degrees_of_freedom, widened.methods) == (
        None,
        None,
        INSTRUMENT,
    )
    assert widened.notes == joined(BOTH_ALIKE, INSTRUMENT_ONLY)


def test_one_shared_meter_without_spread_bounds_the_difference_but_not_the_ratio():
    spread = Spread(MeanPair(60.0, 50.0, 0.0, 0.0), 0.0, 0.0)
    widened = widened_comparison(compare_points(60.0, 50.0), spread, Gains(shared=0.01), 0.95)
    assert (widened.ratio_low, widened.ratio_high, widened.p_value) == (None, None, None)
    assert widened.difference_low == pytest.approx(10 - 0.1 * ndtri(0.975))


def test_a_reference_of_zero_has_a_difference_and_no_ratio():
    spread = Spread(MeanPair(5.0, 0.0, 0.04, 0.04), 6.0, 6.0)
    widened = widened_comparison(Comparison(difference=5.0), spread, Gains(0.1, 0.1), 0.95)
    assert (widened.ratio_low, widened.ratio_high) == (None, None)
    assert widened.difference_low < 5.0 < widened.difference_high


def test_a_treatment_of_zeros_has_no_interval_of_the_ratio_and_no_infinite_degrees_of_freedom():
    zeros = compare_separate(np.zeros(4), REFERENCE, 0.95)
    spread = Spread(MeanPair(0.0, 4.1, 0.0, SPREAD.pair.denominator_variance), 3.0, 3.0)
    widened = widened_comparison(zeros, spread, Gains(0.1, 0.1), 0.95)
    assert (widened.ratio_low, widened.ratio_high, widened.degrees_of_freedom) == (None, None, None)
    assert set(NO_SPREAD_OF_RATIO) <= set(widened.notes)
    assert widened.difference_low < zeros.difference_low


def test_instruments_cannot_bound_a_ratio_that_the_units_left_unbounded():
    # With 1 degree of freedom t is 12.7, so a mean of 1 +- 0.1 cannot be told from zero; the
    # effective degrees of freedom alone would have bounded it.
    pair = MeanPair(5.0, 1.0, 0.01, 0.01)
    limits = fieller_limits(pair, 1.0, 0.95)
    units = replace(compare_points(5.0, 1.0), notes=limits.notes)
    widened = widened_comparison(units, Spread(pair, 1.0, 1.0), Gains(0.1, 0.1), 0.95)
    assert fieller_limits(pair_for_ratio(pair, Gains(0.1, 0.1)), 4.0, 0.95).low is not None
    assert (widened.ratio_low, widened.ratio_high, widened.notes) == (None, None, UNBOUNDED_ABOVE)


shares = st.floats(1e-4, 0.2)


@given(shares, shares, st.sampled_from([0.0, 0.05]))
def test_no_comparison_is_narrower_or_surer_than_that_of_the_units(treated, reference, shared):
    # Two units each: 1 to 2 degrees of freedom, where the formula by itself would narrow almost
    # always
    first, second = np.array([5.1, 5.3]), np.array([4.1, 4.2])
    units = compare_separate(first, second, 0.95)
    pair = MeanPair(first.mean(), second.mean(), first.var(ddof=1) / 2, second.var(ddof=1) / 2)
    spread = Spread(pair, units.degrees_of_freedom, units.degrees_of_freedom)
    widened = widened_comparison(units, spread, Gains(treated, reference, shared), 0.95)
    assert widened.ratio_low <= units.ratio_low < units.ratio_high <= widened.ratio_high
    assert (
        widened.difference_low
        <= units.difference_low
        < units.difference_high
        <= widened.difference_high
    )
    assert widened.p_value >= units.p_value


@given(shares, shares, st.floats(0.01, 0.5))
def test_more_uncertainty_of_a_gain_never_narrows_an_interval(first, more, error):
    estimate = Estimate(20.0, 20 - 2.5 * error, 20 + 2.5 * error, error, 5.0, 6)
    narrow, wide = (
        widened_estimate(estimate, relative, 0.95) for relative in (first, first + more)
    )
    assert wide.standard_error > narrow.standard_error
    assert wide.degrees_of_freedom > narrow.degrees_of_freedom
    assert wide.high >= estimate.high
    assert wide.low <= estimate.low


@pytest.mark.slow
def test_widened_ratios_cover_the_true_ratio():
    # 95 % of the intervals should; with 3,000 trials the standard error of the share is 0.4 %.
    generator, covered, trials, gain = np.random.default_rng(5), 0, 3000, 0.03
    for _ in range(trials):
        factors = 1 + generator.uniform(-gain, gain, 2) * sqrt(3)
        scores = generator.normal(100, 6, (2, 4)) * factors[:, np.newaxis] * [[1.25], [1.0]]
        pair = MeanPair(*scores.mean(axis=1), *(scores.var(axis=1, ddof=1) / 4))
        plain = compare_separate(*scores, 0.95)
        spread = Spread(pair, plain.degrees_of_freedom, plain.degrees_of_freedom)
        widened = widened_comparison(plain, spread, Gains(gain, gain), 0.95)
        covered += widened.ratio_low <= 1.25 <= widened.ratio_high
    assert 0.935 <= covered / trials <= 0.975
