from math import atan, exp, log, pi

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.stats.fieller import MeanPair
from reportgen.stats.pooling import (
    BEYOND_NUMBERS,
    FURTHER_BEYOND,
    TOO_FEW,
    TWO_TRIALS,
    LogRatio,
    PooledRatio,
    log_ratio,
    pool,
    restricted_tau_squared,
)

# Tuberculosis with and without, vaccinated; with and without, not vaccinated: 13 trials of the BCG
# vaccine, Colditz et al. (1994), J. Am. Med. Assoc. 271:698-702; the data set dat.bcg of the R
# package metadat.
BCG = [
    *[
        (4, 119, 11, 128),
        (6, 300, 29, 274),
        (3, 228, 11, 209),
        (62, 13536, 248, 12619),
        (33, 5036, 47, 5761),
    ],
    *[(180, 1361, 372, 1079), (8, 2537, 10, 619), (505, 87886, 499, 87892), (29, 7470, 45, 7232)],
    *[(17, 1699, 65, 1600), (186, 50448, 141, 27197), (5, 2493, 3, 2338), (27, 16886, 29, 17825)],
]
# Mean, standard deviation and number at elevated, and at ambient carbon dioxide: rows 31 to 38 of
# the data of Curtis & Wang (1998), Oecologia 113:299-313, as used by Hedges, Gurevitch & Curtis
# (1999), Ecology 80:1150-1156; the data set dat.curtis1998 of metadat.
CARBON_DIOXIDE = [
    (21.33, 3.06, 4, 18.6, 2.34, 4),
    (14.68, 2.82, 4, 12.18, 2.46, 4),
    (8.36, 3.915, 10, 5.3, 6.625, 10),
    (7.91, 1.809, 10, 3.6, 3.026, 10),
    (12.45, 6.944, 10, 4.98, 3.937, 10),
    (7.84, 3.324, 10, 4.01, 2.106, 10),
    (0.09316, 0.071404, 10, 0.07382, 0.083294, 10),
    (0.59046, 0.410369, 10, 0.41117, 0.255702, 10),
]


def share(cases, others):
    """Return a proportion and the variance of its estimate."""
    number = cases + others
    return cases / number, cases * others / number**3


def vaccine(places=range(13)):
    pairs = [(share(*BCG[place][:2]), share(*BCG[place][2:])) for place in places]
    return np.array([log_ratio(MeanPair(m1, m0, v1, v0)) for (m1, v1), (m0, v0) in pairs]).T


def carbon_dioxide():
    pairs = [MeanPair(m1, m0, s1**2 / n1, s0**2 / n0) for m1, s1, n1, m0, s0, n0 in CARBON_DIOXIDE]
    return np.array([log_ratio(pair) for pair in pairs]).T


def logs(*ratios):
    return [log(ratio) for ratio in ratios]


def test_a_log_ratio_and_its_variance_are_those_of_escalc():
    # R: escalc(measure = "ROM", ...) of metafor 3.8.1 on all of dat.curtis1998, first row
    found = log_ratio(MeanPair(6.8169, 3.945, 1.769982**2 / 3, 1.115797**2 / 5))
    assert found == pytest.approx((0.546955868765887, 0.0384715432423458), rel=1e-9)


def test_a_covariance_lessens_the_variance_of_a_log_ratio():
    # Means that are twice and once the same estimate have a ratio without variance.
    assert log_ratio(MeanPair(2.0, 1.0, 0.4, 0.1, 0.2)) == LogRatio(
        log(2.0), pytest.approx(0.0, abs=1e-15)
    )


@pytest.mark.parametrize(("treated", "reference"), [(0.0, 1.0), (-1.0, -2.0), (1.0, 0.0)])
def test_means_that_are_not_above_zero_have_no_log_ratio(treated, reference):
    assert log_ratio(MeanPair(treated, reference, 0.1, 0.1)) is None


@pytest.mark.parametrize(
    ("trials", "level", "expected"),
    [
        # R, metafor 3.8.1: e <- escalc(measure = "RR", ai = tpos, bi = tneg, ci = cpos, di = cneg,
        #   data = dat.bcg)
        # r <- rma(yi, vi, data = e, method = "REML", test = "knha", level = level,
        #          control = list(threshold = 1e-14, maxiter = 1000)); predict(r)
        # estimate, se, ci.lb, ci.ub, tau2, QE, QEp, I2 / 100, pval, pi.lb, pi.ub
        (
            vaccine(),
            0.95,
            [
                *[
                    -0.714532342158139,
                    0.180791744092848,
                    -1.10844371368555,
                    -0.320620970630728,
                    0.313243258136481,
                ],
                *[152.233008082373, 1.99676459084597e-26, 0.92221384521269, 0.00192001509605729],
                *[-1.9960168341962, 0.566952149879924],
            ],
        ),
        (
            vaccine(),
            0.90,
            [
                *[
                    -0.714532342158139,
                    0.180791744092848,
                    -1.03675521781896,
                    -0.39230946649732,
                    0.313243258136481,
                ],
                *[152.233008082373, 1.99676459084597e-26, 0.92221384521269, 0.00192001509605729],
                *[-1.76279763223625, 0.333732947919973],
            ],
        ),
        # rows 1, 2, 3, 5, the same call with test = "adhoc", which is the factor max(1, q): q is
        # below 1 here
        (
            vaccine([0, 1, 2, 4]),
            0.95,
            [
                *[
                    -0.912079492079046,
                    0.365079658346341,
                    -2.0739259019176,
                    0.249766917759505,
                    0.322847099961778,
                ],
                *[9.44807678322906, 0.0238902003416294, 0.634264750328132, 0.0878380086447089],
                *[-3.06142149438585, 1.23726251022775],
            ],
        ),
        # rows 1 to 3 with test = "adhoc"
        (
            vaccine([0, 1, 2]),
            0.95,
            [
                *[
                    -1.33023414924278,
                    0.30688500311038,
                    -2.65065374559482,
                    -0.00981455289072941,
                    0.0,
                ],
                *[0.93246986272599, 0.627359880221379, 0.0, 0.0493183950125862],
                *[-2.65065374559482, -0.00981455289072941],
            ],
        ),
        # escalc(measure = "ROM", m1i = m1i, sd1i = sd1i, n1i = n1i, m2i = m2i, sd2i = sd2i, n2i =
        #   n2i,
        #        data = dat.curtis1998[31:38, ]) and the call with test = "adhoc"
        (
            carbon_dioxide(),
            0.95,
            [
                *[
                    0.417517582623356,
                    0.117765053740017,
                    0.139047480559586,
                    0.695987684687127,
                    0.0506388072783124,
                ],
                *[13.9755519593218, 0.0516178979463989, 0.538582910649904, 0.00940224132968557],
                *[-0.183057015480916, 1.01809218072763],
            ],
        ),
    ],
)
def test_the_pooled_ratio_agrees_with_metafor(trials, level, expected):
    pooled = pool(*trials, level)
    found = [
        pooled.log_ratio,
        pooled.standard_error,
        *logs(pooled.low, pooled.high),
        pooled.tau_squared,
    ]
    found += [pooled.q, pooled.q_p_value, pooled.i_squared, pooled.p_value]
    found += logs(pooled.prediction_low, pooled.prediction_high)
    assert found == pytest.approx(expected, rel=1e-8, abs=1e-12)
    assert (pooled.ratio, pooled.notes) == (pytest.approx(exp(expected[0])), ())
    assert (pooled.trials, pooled.degrees_of_freedom) == (len(trials[0]), len(trials[0]) - 1)


def test_the_weights_are_those_of_metafor():
    # R: weights(r) / 100, r as above for dat.curtis1998[31:38, ]
    expected = [0.232146298248247, 0.19794696216905, 0.06060939771954, 0.10961381747151]
    expected += [0.0961453334011766, 0.144169090857786, 0.0585913009789618, 0.100777799153729]
    assert pool(*carbon_dioxide(), 0.95).weights == pytest.approx(expected, rel=1e-8)


def test_two_trials_pool_with_a_caution():
    # R: the call of rma above with test = "adhoc" and rows 1 and 4 of dat.bcg
    pooled = pool(*vaccine([0, 3]), 0.95)
    assert (pooled.log_ratio, pooled.standard_error) == pytest.approx(
        (-1.40957635348673, 0.1373005668635), rel=1e-8
    )
    assert logs(pooled.low, pooled.high) == pytest.approx(
        [-3.15414546644721, 0.33499275947375], rel=1e-8
    )
    assert pooled.notes == (TWO_TRIALS,)


def test_one_trial_and_none_do_not_pool():
    assert pool(np.array([0.2]), np.array([0.01]), 0.95) == PooledRatio(1, notes=(TOO_FEW,))
    assert pool(np.array([]), np.array([]), 0.95) == PooledRatio(0, notes=(TOO_FEW,))


@pytest.mark.parametrize(
    ("log_ratios", "variances", "expected"),
    [
        # R: rma(y, v, method = "REML", test = "adhoc"): estimate, se, ci.lb, ci.ub, pval. Without
        #   the least factor the
        # first would be 0.1917 to 0.2177, narrower than one trial's own interval.
        (
            [0.20, 0.21, 0.205],
            [0.01, 0.012, 0.015],
            [
                0.204666666666667,
                0.0632455532033676,
                -0.0674569854683179,
                0.476790318801651,
                0.0836800646148868,
            ],
        ),
        (
            [0.2, 0.2, 0.2],
            [0.01, 0.02, 0.04],
            [0.2, 0.0755928946018454, -0.125249974308294, 0.525249974308294, 0.118082896311803],
        ),
    ],
)
def test_trials_that_agree_by_chance_get_no_interval_narrower_than_their_errors(
    log_ratios, variances, expected
):
    pooled = pool(np.array(log_ratios), np.array(variances), 0.95)
    found = [
        pooled.log_ratio,
        pooled.standard_error,
        *logs(pooled.low, pooled.high),
        pooled.p_value,
    ]
    assert found == pytest.approx(expected, rel=1e-9)
    assert pooled.notes == ()


@pytest.mark.slow
def test_pooled_intervals_cover_as_often_as_they_say_or_more():
    # Three to six trials that share one ratio, or differ by a tau of 0.1; variances of unequal
    # trials
    generator = np.random.default_rng(10)
    print("\ntrials  tau  coverage")
    for trials in (2, 3, 4, 6):
        for tau in (0.0, 0.1):
            held = 0
            for _ in range(1000):
                variances = generator.uniform(0.002, 0.02, trials)
                log_ratios = generator.normal(0.2, np.sqrt(variances + tau**2))
                pooled = pool(log_ratios, variances, 0.95)
                held += pooled.low <= exp(0.2) <= pooled.high
            print(f"{trials}  {tau}  {held / 1000:.3f}")
            assert held / 1000 >= 0.935


# The 0.9995 quantile of Student's t with one degree of freedom is 636.62 (any printed table). Of
# two trials with equal variances v whose log ratios are d apart, the mean has Hartung and Knapp's
# error d / 2, and REML's variance between trials is d^2 / 2 - v. The greatest double is
# exp(709.78), the smallest above 0 exp(-744.44) (IEEE 754).
def of_two(middle, apart):
    return pool(np.array([middle - apart / 2, middle + apart / 2]), np.array([0.01, 0.01]), 0.999)


def test_of_two_trials_far_apart_all_is_said_that_a_number_can_hold():
    found = of_two(1.0, 4.0)
    assert (found.low, found.high, found.prediction_low, found.prediction_high) == (None,) * 4
    assert found.notes == (TWO_TRIALS, BEYOND_NUMBERS)
    assert found.ratio == pytest.approx(exp(1.0), rel=1e-12)
    assert found.standard_error == pytest.approx(2.0, rel=1e-12)
    assert found.tau_squared == pytest.approx(4.0**2 / 2 - 0.01, rel=1e-9)
    # Student's t with one degree of freedom is Cauchy's distribution, F(x) = 1/2 + atan(x) / pi.
    assert found.p_value == pytest.approx(1 - 2 * atan(1.0 / 2.0) / pi, rel=1e-9)
    assert found.degrees_of_freedom == 1
    assert found.weights == pytest.approx((0.5, 0.5), rel=1e-12)


def test_where_the_interval_can_be_said_and_the_range_for_another_trial_cannot_the_note_tells_them_apart():
    found = of_two(0.0, 2.1)
    assert log(found.high) == pytest.approx(636.619 * 1.05, rel=1e-5)
    assert log(found.low) == pytest.approx(-636.619 * 1.05, rel=1e-5)
    assert (found.prediction_low, found.prediction_high) == (None, None)
    assert found.notes == (TWO_TRIALS, FURTHER_BEYOND)


@pytest.mark.parametrize("middle", [60.0, -120.0])
def test_a_bound_that_a_number_can_hold_is_kept_where_the_other_is_beyond(middle):
    found = of_two(middle, 2.1)
    kept, beyond = (found.low, found.high) if middle > 0 else (found.high, found.low)
    assert log(kept) == pytest.approx(middle - 636.619 * 1.05 * (1 if middle > 0 else -1), rel=1e-4)
    assert beyond is None
    assert BEYOND_NUMBERS in found.notes


@pytest.mark.parametrize("variance", [0.0, -0.01, np.nan])
def test_a_trial_without_a_variance_is_refused(variance):
    with pytest.raises(ValueError, match="without a variance"):
        pool(np.array([0.1, 0.2]), np.array([0.01, variance]), 0.95)


@pytest.mark.parametrize(
    ("log_ratios", "variances", "tau_squared"),
    [
        # R, metafor 3.8.1: logLik(rma(y, v, tau2 = t)) is -2.00036455910033 at 0, from where it
        #   falls at first, and
        # -1.64687064387799 at the peak that rma(y, v, control = list(threshold = 1e-14, maxiter =
        #   1000)) finds.
        ([0.8, -0.06, -0.02, -0.02], [0.0869, 0.0058, 0.0059, 0.2797], 0.0926192376695999),
        # The same with control = list(threshold = 1e-15, maxiter = 10000, stepadj = 0.5, tau2.init
        #   = 0.5): -1.2938;
        # with tau2.init = 1e-5 it stops at the lower peak, 0.000556 with -2.0058.
        (
            [0.03, -0.04, -0.81, 0.02, 0.05],
            [0.0399, 0.0059, 0.0479, 0.0003, 0.0002],
            0.0670248109992924,
        ),
    ],
)
def test_the_higher_of_two_peaks_of_the_likelihood_is_taken(log_ratios, variances, tau_squared):
    found = restricted_tau_squared(np.array(log_ratios), np.array(variances))
    assert found == pytest.approx(tau_squared, rel=1e-9)


trials = st.lists(st.tuples(st.integers(-100, 100), st.integers(1, 400)), min_size=2, max_size=8)


@given(trials)
def test_no_variance_between_trials_is_likelier_than_the_one_found(trials):
    log_ratios, variances = np.array(trials).T / 100

    def likelihood(tau_squared):
        # Restricted log likelihood by the determinants of the general mixed model: Harville (1974),
        # Biometrika 61:383
        covariance, ones = np.diag(variances + tau_squared), np.ones((len(trials), 1))
        inverse = np.linalg.inv(covariance)
        information = ones.T @ inverse @ ones
        projection = inverse - inverse @ ones @ np.linalg.inv(information) @ ones.T @ inverse
        squares = log_ratios @ projection @ log_ratios
        return -(np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(information)[1] + squares) / 2

    found = likelihood(restricted_tau_squared(log_ratios, variances))
    assert all(
        likelihood(tau_squared) <= found + 1e-9 for tau_squared in np.linspace(0, 5, 101) ** 2 / 5
    )


@given(trials)
def test_turning_every_ratio_round_turns_the_pooled_ratio_round(trials):
    log_ratios, variances = np.array(trials).T / 100
    assume(np.ptp(log_ratios) > 0)
    there, back = pool(log_ratios, variances, 0.95), pool(-log_ratios, variances, 0.95)
    assert back.log_ratio == pytest.approx(-there.log_ratio, abs=1e-9)
    assert (log(back.low), log(back.high)) == pytest.approx(
        (-log(there.high), -log(there.low)), abs=1e-6
    )
