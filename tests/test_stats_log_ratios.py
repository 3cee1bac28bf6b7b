"""Ratios on the log scale, of units' values and of totals, against models of R."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.stats.analysis import Design
from reportgen.stats.log_scale import (
    ADJUSTED_FOR_BLOCKS,
    NOT_ALL_POSITIVE,
    SPREADS_DIFFER,
    Denominator,
    InstrumentErrors,
    Question,
    analyse_ratios,
    compare_ratios,
    interval_of,
    sides_of_ratios,
)
from tests.trials import codes

# Three treatments in four blocks, invented; the second has no unit in the last block.
WEIGHTS = np.array([41.0, 52, 47, 60, 49, 66, 58, 55, 70, 60, 83])
TREATMENT = np.repeat([0, 1, 2], [4, 3, 4])
BLOCK = np.array([0, 1, 2, 3, 0, 1, 2, 0, 1, 2, 3])


def analysed(values, design, denominator=None, kind=Denominator.FIXED, **question):
    asked = replace(Question(design, 0.95), **question)
    divided_by = np.ones(values.shape) if denominator is None else denominator
    return analyse_ratios(
        values, divided_by, asked, kind, InstrumentErrors(np.zeros(design.treatments))
    )


def two(first, second, **question):
    values = np.array([*first, *second], dtype=float)
    design = Design(np.repeat([0, 1], [len(first), len(second)]), None, 0, 2)
    return analysed(values, design, **question)


def test_blocks_with_a_gap_give_the_contrasts_of_emmeans():
    # R 4.2.2, emmeans: moved <- log(y) + ave(y, g, FUN = function(v) log(mean(v)) - mean(log(v)))
    # e <- emmeans(lm(moved ~ g + b), "g"); exp(e); p <- contrast(e, "trt.vs.ctrl"), its SE and df =
    #   5
    # exp(estimate + c(-1, 1) * qt(.975, 5) * SE), and with q, the root of pm(q) - .05, for both
    # together, where
    # pm <- function(z) 1 - mvtnorm::pmvt(-rep(z, 2), rep(z, 2), df = 5, corr = cov2cor(vcov(p)),
    #   abseps = 1e-11)
    found = analysed(WEIGHTS, Design(TREATMENT, BLOCK, 0, 3))
    assert [one.value for one in found.estimates] == pytest.approx(
        [50, 61.83359157142, 67], rel=1e-12
    )
    second, third = found.comparisons[1:]
    singly = [(one.ratio, one.single_low, one.single_high, one.p_value) for one in (second, third)]
    assert singly[0] == pytest.approx(
        (1.2366718314284, 1.1751358684294, 1.3014301237290, 1.235566988755e-4), rel=1e-9
    )
    assert singly[1] == pytest.approx(
        (1.34, 1.280202231060, 1.402590900433, 1.501599164461e-5), rel=1e-9
    )
    together = [(one.ratio_low, one.ratio_high, one.p_adjusted) for one in (second, third)]
    assert together[0] == pytest.approx(
        (1.1641605065843, 1.3136996230320, 2.230804320903e-4), rel=1e-6
    )
    assert together[1] == pytest.approx(
        (1.269502591797, 1.414412236417, 2.716524648805e-5), rel=1e-6
    )
    assert second.degrees_of_freedom == 5
    # pairs(e, adjust = "tukey"): 0.0003, < 0.0001 and 0.0224
    assert found.letters == ("c", "b", "a")


def test_own_intervals_in_shared_blocks_are_those_of_a_mixed_model():
    # R 4.2.2, lmerTest and emmeans: y <- c(20, 26, 31, 25, 33, 38); g <- rep(c("a", "b"), each =
    #   3); b <- rep(1:3, 2)
    # e <- emmeans(lmer(log(y) ~ factor(g) + (1 | b)), "g", lmer.df = "kenward-roger"); e$df
    # tapply(y, g, mean) * exp(c(-1, 1) * qt(.975, e$df) * e$SE), as exact as lmer's search
    # (Satterthwaite: df 2.00648)
    values = np.array([20.0, 26, 31, 25, 33, 38])
    found = analysed(values, Design(np.repeat([0, 1], 3), np.tile([0, 1, 2], 2), 0, 2)).estimates
    assert [one.degrees_of_freedom for one in found] == pytest.approx(
        [2.006487, 2.006487], rel=1e-6
    )
    assert (found[0].low, found[0].high) == pytest.approx((15.00289, 43.91006), rel=1e-6)
    assert (found[1].low, found[1].high) == pytest.approx((18.70490, 54.74501), rel=1e-6)


def test_a_figure_that_blocks_moved_says_so():
    found = analysed(WEIGHTS, Design(TREATMENT, BLOCK, 0, 3))
    adjusted = [set(ADJUSTED_FOR_BLOCKS) <= set(one.notes) for one in found.estimates]
    assert adjusted == [False, True, False]


def test_few_units_share_a_variance_unless_each_is_asked_to_have_its_own():
    # R: t.test(log(a), log(b), var.equal = TRUE)$parameter, and var.equal = FALSE
    few, more = (10.0, 12.0, 11.0), (14.0, 19.0, 15.0)
    assert two(few, more).comparisons[1].degrees_of_freedom == 4
    own = two(few, more, variances="separate").comparisons[1]
    assert own.degrees_of_freedom == pytest.approx(3.1735110583993, rel=1e-9)
    assert "separate_variances" in codes(own.methods)
    assert two((*few, 10.5), (*more, 16.0)).comparisons[1].degrees_of_freedom < 6


def test_numbers_and_spreads_that_both_differ_twofold_are_warned_of():
    calm = (10.0, 10.2, 9.9, 10.1, 10.0, 9.8)
    assert set(SPREADS_DIFFER) <= set(two(calm, (8.0, 14.0)).comparisons[1].notes)
    assert not set(SPREADS_DIFFER) & set(two(calm, (10.0, 10.3)).comparisons[1].notes)


def test_a_unit_that_gave_nothing_takes_fiellers_interval_and_says_so():
    # The same by R's formula in tests/test_stats_fieller.py: here only that it is that interval,
    # not what it is.
    found = two((10.0, 12.0, 11.0, 10.5), (0.0, 19.0, 15.0, 16.0)).comparisons[1]
    assert set(NOT_ALL_POSITIVE) <= set(found.notes)
    assert codes(found.methods)[0] == "fieller_ratio"
    assert found.ratio == pytest.approx(12.5 / 10.875)


weights = st.lists(st.floats(1, 100), min_size=2, max_size=5)


@given(weights, weights, st.floats(0.01, 100))
def test_units_of_measurement_change_no_ratio_and_a_ratio_turned_round_turns_its_limits(
    first, second, factor
):
    plain = two(first, second).comparisons[1]
    scaled = two([factor * one for one in first], [factor * one for one in second]).comparisons[1]
    turned = two(second, first).comparisons[1]
    if plain.ratio_low is None:
        return
    assert (scaled.ratio, scaled.ratio_low) == pytest.approx(
        (plain.ratio, plain.ratio_low), rel=1e-6
    )
    assert (1 / turned.ratio_high, 1 / turned.ratio_low) == pytest.approx(
        (plain.ratio_low, plain.ratio_high), rel=1e-6
    )


@given(st.lists(st.integers(1, 9), min_size=6, max_size=6))
def test_numbers_of_plants_are_not_random(numbers):
    # The same means of trays give the same result, however many plants stand behind each.
    means = np.array([20.0, 23, 21, 26, 30, 27])
    design, counts = Design(np.repeat([0, 1], 3), None, 0, 2), np.array(numbers, dtype=float)
    found = analysed(means * counts, design, denominator=counts)
    alike = analysed(means, design)
    for one, other in zip(found.estimates, alike.estimates, strict=True):
        assert (one.value, one.low, one.high) == pytest.approx(
            (other.value, other.low, other.high), rel=1e-9
        )
    assert found.comparisons[1].ratio_low == pytest.approx(alike.comparisons[1].ratio_low, rel=1e-9)


@pytest.mark.parametrize("variances", ["pooled", "separate"])
def test_a_side_of_one_that_is_found_quickly_is_that_of_the_limits(variances):
    random = np.random.default_rng(7)
    design = Design(np.repeat(np.arange(6), 4), None, 0, 6)
    question = Question(design, 0.95, variances)
    no_errors = InstrumentErrors(np.zeros(6))
    seen = set()
    for effect in np.linspace(0, 0.6, 30):
        values = np.exp(random.normal(3, 0.15, 24) + effect * (design.treatment % 3 - 1))
        asked = values, np.ones(24), question, Denominator.FIXED, no_errors
        limits = [interval_of(one) for one in compare_ratios(*asked)]
        sides = [one and one.verdict for one in sides_of_ratios(*asked)]
        assert sides == [one and one.verdict for one in limits]
        singly = [
            one and (one.single_low > 1) - (one.single_high < 1) for one in compare_ratios(*asked)
        ]
        seen.add("between" if singly != sides else "plain")
    assert seen == {"between", "plain"}  # both ways to find the side were taken
