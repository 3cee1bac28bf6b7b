"""Survival of plants that stand in trays: quasi-binomial, with an interval always."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.stats.clustered_proportion import (
    DISPERSION_UNSEEN,
    NO_PLANTS,
    ONE_CLUSTER,
    RATIO_UNBOUNDED,
    REFERENCE_ZERO,
    compare_proportions,
    fit_proportions,
    proportion,
)

# Two treatments of four trays, invented: plants alive of plants started
ALIVE = [5, 6, 3, 6, 2, 4, 5, 1]
STARTED = [6, 6, 6, 7, 6, 8, 6, 5]
TRIALS = 2000  # simulated, for each row


def fitted(*treatments):
    """Return the fit of treatments, each a list of (successes, plants) by tray."""
    trays = [(*tray, k) for k, group in enumerate(treatments) for tray in group]
    successes, plants, treatment = np.array(trays).T
    return fit_proportions(
        successes.astype(float), plants.astype(float), treatment, len(treatments)
    )


def two_of_four():
    trays = list(zip(ALIVE, STARTED, strict=True))
    return fitted(trays[:4], trays[4:])


def test_the_dispersion_is_that_of_a_quasi_binomial_model():
    # R 4.2.2: x <- c(5, 6, 3, 6, 2, 4, 5, 1); n <- c(6, 6, 6, 7, 6, 8, 6, 5); g <- factor(rep(1:2,
    #   each = 4))
    # s <- summary(glm(cbind(x, n - x) ~ 0 + g, family = quasibinomial, epsilon = 1e-15, maxit =
    #   100))
    # s$dispersion; s$df.residual
    fit = two_of_four()
    assert (fit.dispersion, fit.degrees_of_freedom) == (
        pytest.approx(1.69350325602086, rel=1e-10),
        6,
    )


def test_the_interval_is_wilsons_with_as_many_plants_as_tell_independently():
    # R: phi <- s$dispersion; level <- 2 * pnorm(qt(.975, 6)) - 1
    # prop.test(sum(x[g == 1]) / phi, sum(n[g == 1]) / phi, conf.level = level, correct = FALSE),
    #   and g == 2
    fit = two_of_four()
    first, second = proportion(fit, 0, 0.95), proportion(fit, 1, 0.95)
    assert (first.low, first.high) == pytest.approx(
        (0.481783340401975, 0.945084963243428), rel=1e-9
    )
    assert (second.low, second.high) == pytest.approx(
        (0.217338400601135, 0.754203712489172), rel=1e-9
    )
    assert (first.value, second.value) == (20 / 25, 12 / 25)


def test_without_trays_that_differ_the_interval_is_wilsons_own():
    # R: prop.test(56, 70, correct = FALSE)$conf.int; one tray, so nothing tells of trays
    found = proportion(fitted([(56, 70)], [(48, 80)]), 0, 0.95)
    assert (found.low, found.high) == pytest.approx(
        (0.691833555037469, 0.876952607516370), rel=1e-12
    )
    assert found.notes == ONE_CLUSTER


@pytest.mark.parametrize(
    ("treated", "reference", "low", "high"),
    [
        # Newcombe (1998), Stat. Med. 17:873-890, table II, method 10
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.1705, 0.8090),
        ((6, 7), (2, 7), 0.0582, 0.8062),
        ((5, 56), (0, 29), -0.0381, 0.1926),
        ((0, 10), (0, 20), -0.1611, 0.2775),
        ((0, 10), (0, 10), -0.2775, 0.2775),
        ((10, 10), (0, 20), 0.6791, 1.0),
        ((10, 10), (0, 10), 0.6075, 1.0),
    ],
)
def test_the_difference_is_the_published_one(treated, reference, low, high):
    found = compare_proportions(fitted([reference], [treated]), 1, 0, 0.95)
    assert (found.difference_low, found.difference_high) == pytest.approx((low, high), abs=5.1e-5)


def test_the_ratio_is_where_the_interval_of_the_weighted_difference_touches_zero():
    # The definition behind the closed form, solved in R. W: the Wilson limits above, p: the
    # proportions. uniroot(function(R) p[1] - R * p[2] - sqrt((p[1] - W[1, 1])^2 + R^2 * (W[2, 2] -
    # p[2])^2), ...), and the upper
    found = compare_proportions(two_of_four(), 0, 1, 0.95)
    assert (found.ratio_low, found.ratio_high) == pytest.approx(
        (0.846194125179333, 3.730054988541449), rel=1e-8
    )
    # The same for 7 of 34 against 1 of 34 with prop.test's limits
    found = compare_proportions(fitted([(1, 34)], [(7, 34)]), 1, 0, 0.95)
    assert found.ratio == pytest.approx(7.0)
    assert (found.ratio_low, found.ratio_high) == pytest.approx(
        (1.15366868923368, 41.97626167251748), rel=1e-6
    )


def test_a_treatment_that_kept_every_plant_still_has_an_interval():
    fit = fitted([(6, 6), (6, 6), (6, 6), (6, 6)], [(5, 6), (2, 6), (6, 6), (3, 6)])
    full = proportion(fit, 0, 0.95)
    assert (full.value, full.high) == (1.0, 1.0)
    assert 0.4 < full.low < 1
    assert fit.degrees_of_freedom == 3
    comparison = compare_proportions(fit, 1, 0, 0.95)
    assert comparison.ratio == pytest.approx(16 / 24)
    assert comparison.ratio_low < comparison.ratio < comparison.ratio_high


def test_where_no_plant_was_lost_at_all_the_dispersion_was_not_seen_and_the_interval_stays():
    fit = fitted([(6, 6)] * 4, [(6, 6)] * 4)
    found = proportion(fit, 0, 0.95)
    assert found.notes == DISPERSION_UNSEEN
    assert 0.7 < found.low < found.high == 1.0
    comparison = compare_proportions(fit, 1, 0, 0.95)
    assert (comparison.difference, comparison.ratio, comparison.p_value) == (0.0, 1.0, 1.0)
    assert comparison.difference_low == -comparison.difference_high


def test_seventeen_of_thirty_two_dead_is_told_from_a_full_stand():
    fit = fitted([(8, 8)] * 4, [(4, 8), (3, 8), (5, 8), (3, 8)])
    comparison = compare_proportions(fit, 1, 0, 0.95)
    assert comparison.difference_high < 0
    assert comparison.ratio_high < 1
    assert comparison.p_value < 0.05


def test_a_reference_that_reaches_zero_bounds_the_ratio_from_below_alone():
    comparison = compare_proportions(
        fitted([(0, 6)] * 4, [(4, 6), (5, 6), (4, 6), (5, 6)]), 1, 0, 0.95
    )
    assert (comparison.ratio, comparison.ratio_high) == (None, None)
    assert comparison.ratio_low > 1
    assert comparison.notes == (*REFERENCE_ZERO, *RATIO_UNBOUNDED)


def test_a_treatment_without_plants_has_no_proportion():
    fit = fitted([(3, 6), (4, 6)], [(0, 0)])
    assert (proportion(fit, 1, 0.95).value, proportion(fit, 1, 0.95).notes) == (None, NO_PLANTS)
    assert compare_proportions(fit, 1, 0, 0.95).notes == NO_PLANTS


def test_more_successes_than_plants_are_refused():
    with pytest.raises(ValueError, match="not between"):
        fitted([(7, 6)])


counts = st.lists(
    st.tuples(st.integers(0, 8), st.integers(1, 8)).filter(lambda tray: tray[0] <= tray[1]),
    min_size=1,
)


@given(counts, counts, st.sampled_from([0.8, 0.95, 0.99]))
def test_intervals_always_exist_hold_the_figure_and_agree_with_the_p_value(
    reference, treated, level
):
    fit = fitted(reference, treated)
    for k in (0, 1):
        found = proportion(fit, k, level)
        assert 0 <= found.low <= found.value + 1e-12
        assert found.value - 1e-12 <= found.high <= 1
        assert found.high > found.low
    comparison = compare_proportions(fit, 1, 0, level)
    assert comparison.difference_low <= comparison.difference <= comparison.difference_high
    shown = comparison.difference_low > 0 or comparison.difference_high < 0
    if abs(comparison.p_value - (1 - level)) > 1e-9:
        assert shown == (comparison.p_value < 1 - level)
    high = np.inf if comparison.ratio_high is None else comparison.ratio_high
    if min(abs(comparison.ratio_low - 1), abs(high - 1)) > 1e-9 and max(fit.successes) > 0:
        assert shown == (comparison.ratio_low > 1 or high < 1)


@cache
def _of(alive, plants):
    """Return a fit and its intervals; trays of a treatment are interchangeable, so counts come
    sorted.
    """
    fit = fitted(*([(count, plants) for count in group] for group in alive))
    return proportion(fit, 0, 0.95), proportion(fit, 1, 0.95), compare_proportions(fit, 1, 0, 0.95)


def _coverage(generator, chances, correlation, trays, plants):
    """Return how often intervals hold the truth, and the mean width of a treatment's and of the
    difference's.
    """
    held = np.zeros((TRIALS, 4))
    for trial in range(TRIALS):
        drawn = []
        for chance in chances:
            spread = 1 / correlation - 1 if correlation else None
            tray_chances = (
                generator.beta(chance * spread, (1 - chance) * spread, trays) if spread else chance
            )
            drawn.append(tuple(sorted(generator.binomial(plants, tray_chances, trays).tolist())))
        first, second, comparison = _of(tuple(drawn), plants)
        difference, ratio = chances[1] - chances[0], chances[1] / chances[0]
        high = np.inf if comparison.ratio_high is None else comparison.ratio_high
        held[trial] = (
            ((first.low <= chances[0] <= first.high) + (second.low <= chances[1] <= second.high))
            / 2,
            comparison.difference_low <= difference <= comparison.difference_high,
            comparison.ratio_low <= ratio <= high,
            comparison.difference_high - comparison.difference_low,
        )
    return held.mean(axis=0)


@pytest.mark.slow
def test_intervals_of_survival_cover_at_least_as_often_as_they_say():
    generator = np.random.default_rng(12)
    print("\nICC  trays x plants  survival     interval  difference  ratio  width of difference")
    for correlation in (0.0, 0.05, 0.1, 0.2):
        for trays, plants in ((3, 6), (4, 6), (6, 8)):
            for chances in ((0.5, 0.5), (0.9, 0.7), (0.98, 0.9), (0.98, 0.98)):
                own, difference, ratio, width = _coverage(
                    generator, chances, correlation, trays, plants
                )
                print(
                    f"{correlation:4}  {trays} x {plants}  {chances[0]} {chances[1]}"
                    f"  {own:.3f}  {difference:.3f}  {ratio:.3f}  {width:.2f}"
                )
                # Wider than 95 % near 0 and 1 and where trays hardly differ: phi is floored at 1
                # and t has few degrees.
                assert min(own, difference, ratio) >= 0.935
