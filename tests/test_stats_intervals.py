import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from reportgen.model.message import note
from reportgen.stats.fieller import UNBOUNDED, UNBOUNDED_ABOVE
from reportgen.stats.intervals import (
    ALIKE,
    NO_UNIT,
    ONE_UNIT,
    ZERO_DENOMINATOR,
    paired_fieller,
    ratio_interval,
    t_interval,
    wilson,
)
from reportgen.stats.student import t_quantile

tenths = st.integers(1, 20_000).map(lambda number: number / 10)
# Fresh weight of 7 lettuces on compost: GTPB/PSLS20, CC-BY-4.0
COMPOST = np.array([59.0, 64.0, 57.0, 56.0, 50.0, 64.0, 62.0])


def test_the_t_interval_agrees_with_scipy():
    expected = stats.ttest_1samp(COMPOST, 0).confidence_interval(0.9)
    estimate = t_interval(COMPOST, 0.9)
    assert (estimate.low, estimate.high) == pytest.approx((expected.low, expected.high), rel=1e-12)
    assert estimate.value == pytest.approx(COMPOST.mean(), rel=1e-15)
    assert estimate.standard_error == pytest.approx(stats.sem(COMPOST), rel=1e-13)
    assert (estimate.n, estimate.degrees_of_freedom, estimate.notes) == (7, 6, ())


@given(st.lists(tenths, min_size=2, max_size=10), st.floats(0.1, 50.0))
def test_paired_fieller_is_the_t_interval_where_denominators_are_equal(numerator, denominator):
    a, b = np.array(numerator), np.full(len(numerator), denominator)
    paired, plain = paired_fieller(a, b, 0.95), t_interval(a / b, 0.95)
    assert paired.value == pytest.approx(plain.value)
    assert (paired.low is None) == (plain.low is None)
    if plain.low is not None:
        close = {"rel": 1e-9, "abs": 1e-9 * plain.value}
        assert (paired.low, paired.high) == pytest.approx((plain.low, plain.high), **close)
        assert paired.standard_error == pytest.approx(plain.standard_error)


@given(st.lists(st.tuples(tenths, tenths), min_size=2, max_size=10))
def test_the_ends_of_paired_fieller_satisfy_the_inequality_with_equality(units):
    a, b = np.array(units).T
    estimate = paired_fieller(a, b, 0.95)
    assume(estimate.low is not None and estimate.high < 1e3 * estimate.value)
    for end in (estimate.low, estimate.high):
        # (mean(a) - R mean(b))^2 / (variance of a - R b / n) is the square of a one-sample t value
        # of a - R b
        remainder = a - end * b
        bound = t_quantile(0.95, len(units) - 1) * np.std(remainder, ddof=1) / np.sqrt(len(units))
        assert abs(remainder.mean()) == pytest.approx(bound, rel=1e-5, abs=1e-7 * a.max())
    assert estimate.low < estimate.value < estimate.high


def test_paired_fieller_turned_round_is_the_interval_of_the_ratio_turned_round():
    water, weight = (
        np.array([9.1, 10.4, 8.7, 9.9, 11.0]),
        np.array([610.0, 702.0, 655.0, 588.0, 731.0]),
    )
    there, back = paired_fieller(water, weight, 0.95), paired_fieller(weight, water, 0.95)
    assert (1 / back.high, 1 / back.value, 1 / back.low) == pytest.approx(
        (there.low, there.value, there.high), rel=1e-12
    )


def test_paired_fieller_takes_a_constant_numerator():
    # by hand: 12 / mean(b) turned round is the t interval of b / 12
    b = np.array([3.0, 3.5, 4.1, 3.2])
    estimate, turned = paired_fieller(np.full(4, 12.0), b, 0.95), t_interval(b / 12, 0.95)
    assert (estimate.low, estimate.high) == pytest.approx(
        (1 / turned.high, 1 / turned.low), rel=1e-12
    )


@pytest.mark.parametrize(
    ("numerator", "note"), [([50.0, 52.0, 49.0], UNBOUNDED_ABOVE), ([1.0, 40.0, 2.0], UNBOUNDED)]
)
def test_a_ratio_on_uncertain_denominators_is_unbounded_and_gives_no_number(numerator, note):
    estimate = paired_fieller(np.array(numerator), np.array([0.1, 9.0, 2.0]), 0.95)
    assert estimate.value == pytest.approx(sum(numerator) / 11.1)
    assert (estimate.low, estimate.high, estimate.notes) == (None, None, note)


@pytest.mark.parametrize(
    ("numerator", "denominator", "value", "note"),
    [
        ([], [], None, NO_UNIT),
        ([8.0], [2.0], 4.0, ONE_UNIT),
        ([8.0, 12.0, 2.0], [2.0, 3.0, 0.5], 4.0, ALIKE),
        ([0.0, 0.0], [6.0, 5.0], 0.0, ALIKE),
        ([3.0, 2.0], [0.0, 0.0], None, ZERO_DENOMINATOR),
    ],
)
@pytest.mark.parametrize("interval", [paired_fieller, ratio_interval])
def test_units_that_show_no_spread_give_a_value_without_interval(
    interval, numerator, denominator, value, note
):
    estimate = interval(np.array(numerator), np.array(denominator), 0.95)
    assert (estimate.value, estimate.notes, estimate.n) == (value, note, len(numerator))
    assert (estimate.low, estimate.high, estimate.standard_error) == (None, None, None)


def test_equal_denominators_take_the_t_interval_and_others_fieller():
    a = np.array([600.0, 655.0, 570.0])
    assert ratio_interval(a, np.full(3, 0.1 * 3), 0.95).methods == note("t_interval_of_scores")
    assert ratio_interval(a, np.array([6.0, 6.0, 5.0]), 0.95).methods == note("paired_fieller")


@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [
        # Newcombe (1998), Stat. Med. 17:857-872, Table I, method 3, as printed
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_the_wilson_interval_is_the_published_one(successes, trials, low, high):
    assert wilson(successes, trials, 0.95) == pytest.approx((low, high), abs=5e-5)


@given(
    st.integers(1, 500).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
    st.floats(0.5, 0.999),
)
def test_the_wilson_interval_agrees_with_scipy(counts, level):
    expected = stats.binomtest(*counts).proportion_ci(level, method="wilson")
    assert wilson(*counts, level) == pytest.approx((expected.low, expected.high), abs=1e-12)


def test_the_wilson_interval_touches_0_and_1_only_where_none_or_all_succeeded():
    assert wilson(0, 7, 0.95)[0] == 0.0
    assert wilson(7, 7, 0.95)[1] == 1.0
    assert 0 < wilson(1, 7, 0.95)[0] < wilson(6, 7, 0.95)[1] < 1


@pytest.mark.parametrize(("successes", "trials"), [(0, 0), (-1, 5), (6, 5)])
def test_impossible_counts_are_refused(successes, trials):
    with pytest.raises(ValueError, match=f"{successes} successes of {trials} trials"):
        wilson(successes, trials, 0.95)
