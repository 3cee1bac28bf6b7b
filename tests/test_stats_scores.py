import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.stats.scores import (
    are_alike,
    is_measured,
    mean_of,
    ratio_of_sums,
    unit_scores,
    variance_of_mean,
)

tenths = st.integers(1, 20_000).map(lambda number: number / 10)


def test_scores_are_plain_ratios_where_all_denominators_are_equal():
    scores = unit_scores(np.array([600.0, 660.0, 540.0]), np.array([6.0, 6.0, 6.0]))
    assert scores == pytest.approx([100.0, 110.0, 90.0], rel=1e-14)


def test_scores_weigh_a_unit_by_its_denominator():
    # by hand: R = 30 / 6 = 5, mean(b) = 2; 5 + (6 - 5) / 2, 5 + (8 - 10) / 2, 5 + (16 - 15) / 2
    scores = unit_scores(np.array([6.0, 8.0, 16.0]), np.array([1.0, 2.0, 3.0]))
    assert scores.tolist() == [5.5, 4.0, 5.5]


@given(st.lists(st.tuples(tenths, tenths), min_size=1, max_size=12))
def test_the_mean_of_the_scores_is_the_ratio_of_the_sums(units):
    numerator, denominator = np.array(units).T
    assert unit_scores(numerator, denominator).mean() == pytest.approx(
        numerator.sum() / denominator.sum()
    )


@given(st.lists(st.tuples(tenths, tenths), min_size=3, max_size=12))
def test_the_variance_of_the_scores_is_that_of_the_ratio_estimator(units):
    # Cochran (1977), Sampling Techniques, 3rd ed., eq. 6.13 without the finite population
    # correction: v(R) = (s_aa - 2 R s_ab + R^2 s_bb) / (n mean(b)^2)
    numerator, denominator = np.array(units).T
    ratio = numerator.sum() / denominator.sum()
    (s_aa, s_ab), (_, s_bb) = np.cov(numerator, denominator)
    expected = (s_aa - 2 * ratio * s_ab + ratio**2 * s_bb) / (len(units) * denominator.mean() ** 2)
    assume(expected > 1e-6 * ratio**2)
    assert variance_of_mean(unit_scores(numerator, denominator)) == pytest.approx(
        expected, rel=1e-6
    )


@pytest.mark.parametrize("denominator", [[0.0, 0.0], [0.3, -0.1 - 0.2]])
def test_denominators_that_add_up_to_zero_give_no_ratio_and_no_scores(denominator):
    numerator = np.array([1.0, 2.0])
    assert ratio_of_sums(numerator, np.array(denominator)) is None
    assert np.isnan(unit_scores(numerator, np.array(denominator))).all()


def test_a_unit_is_measured_unless_a_part_is_missing_or_both_are_zero():
    numerator = np.array([1.0, 0.0, 1.0, 0.0, np.nan, 1.0, np.inf])
    denominator = np.array([1.0, 1.0, 0.0, 0.0, 1.0, np.nan, 1.0])
    assert is_measured(numerator, denominator).tolist() == [
        True,
        True,
        True,
        False,
        False,
        False,
        False,
    ]


def test_figures_that_differ_by_rounding_alone_are_alike_and_have_no_variance():
    scores = np.array([0.1 + 0.2, 0.3, 3 * 0.1])
    assert scores.var() > 0
    assert are_alike(scores)
    assert variance_of_mean(scores) == 0


def test_figures_that_differ_in_the_tenth_digit_are_not_alike():
    assert not are_alike(np.array([1.0, 1.0 + 1e-10]))


def test_a_mean_of_rounding_noise_is_zero():
    scores = np.array([0.1, 0.2, -0.3])
    assert scores.mean() != 0
    assert mean_of(scores) == 0
