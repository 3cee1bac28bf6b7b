"""Treatments compared where one factor was given to main plots: against R, and by simulation."""

import numpy as np
import pytest

from reportgen.stats.analysis import Design
from reportgen.stats.log_scale import Denominator, InstrumentErrors, Question, analyse_ratios
from reportgen.stats.main_plots import of_main_plots
from reportgen.stats.split_plot import SplitPlot
from reportgen.stats.student import t_quantile
from tests.test_stats_two_factors import oats

SIMULATED = 4000


def design_of(split):
    cell = split.main * split.levels[1] + split.sub
    return Design(cell, split.block, 0, split.levels[0] * split.levels[1], split)


def analysed(values, split, level=0.95):
    design = design_of(split)
    none = InstrumentErrors(np.zeros(design.treatments))
    return analyse_ratios(values, np.ones(values.size), Question(design, level), Denominator.FIXED, none)


def test_comparisons_have_the_errors_and_degrees_of_freedom_of_r():
    # R 4.2.2, emmeans, data MASS::oats (Yates 1935):
    #   contrast(emmeans(aov(log(Y) ~ V * N + Error(B / V), oats), ~ V * N), "trt.vs.ctrl")
    #   another variety: SE 0.0968823428 df 32.5107566; the same variety: SE 0.0788977115 df 45
    found = analysed(*oats())
    other_main, same_main = found.comparisons[4], found.comparisons[1]
    assert found.log_errors[4] == pytest.approx(0.0968823428, abs=5e-11)
    assert found.log_errors[1] == pytest.approx(0.0788977115, abs=5e-11)
    assert other_main.degrees_of_freedom == pytest.approx(32.5107566, abs=5e-7)
    assert same_main.degrees_of_freedom == pytest.approx(45)


def test_differences_have_the_same_degrees_of_freedom_on_their_own_scale():
    # R 4.2.2: as above for Y: another variety 2 [3 x 177.083 + 601.331] / 24, its root 9.715; the same: 2 x 177.083 / 6
    values, split = oats()
    plots = of_main_plots(design_of(split), values)
    assert plots.error(4, 0) == pytest.approx(np.sqrt(2 * (3 * 177.083333333 + 601.330555556) / 24))
    assert plots.error(1, 0) == pytest.approx(np.sqrt(2 * 177.083333333 / 6))


def test_a_design_without_main_plots_is_refused():
    with pytest.raises(ValueError, match="no main plots"):
        of_main_plots(Design(np.array([0, 1]), None, 0, 2), np.array([1.0, 2.0]))


@pytest.mark.slow
def test_intervals_across_main_plots_hold_the_truth_where_main_plots_vary():
    # two levels of each factor, five main plots a level without blocks; main plots vary as much as trays
    random = np.random.default_rng(7)
    plot = np.repeat(np.arange(10), 2)
    split = SplitPlot(plot // 5, np.tile([0, 1], 10), plot)
    design = design_of(split)
    held = np.zeros(2)
    for _ in range(SIMULATED):
        logs = 0.1 * random.standard_normal(10)[plot] + 0.1 * random.standard_normal(20)
        plots = of_main_plots(design, logs)
        for place, code in enumerate((2, 1)):
            reach = t_quantile(0.95, plots.freedoms[code]) * plots.error(code, 0)
            held[place] += abs(plots.cells.means[code] - plots.cells.means[0]) < reach
    assert (held / SIMULATED > 0.935).all()
    assert (held / SIMULATED < 0.965).all()
