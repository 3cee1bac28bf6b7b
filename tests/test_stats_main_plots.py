"""Treatments compared where one factor was given to main plots: against R, and by simulation."""

import numpy as np
import pytest
import scipy.stats

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
    return analyse_ratios(
        values, np.ones(values.size), Question(design, level), Denominator.FIXED, none
    )


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
    # R 4.2.2: as above for Y: another variety 2 [3 x 177.083 + 601.331] / 24, its root 9.715; the
    # same: 2 x 177.083 / 6
    values, split = oats()
    plots = of_main_plots(design_of(split), values)
    assert plots.error(4, 0) == pytest.approx(np.sqrt(2 * (3 * 177.083333333 + 601.330555556) / 24))
    assert plots.error(1, 0) == pytest.approx(np.sqrt(2 * 177.083333333 / 6))


def in_tents(tents):
    """Return values of two trays of each of two feeds in each tent, with their design: half of the
    tents a level.
    """
    random = np.random.default_rng(5)
    plot = np.repeat(np.arange(tents), 4)
    split = SplitPlot(plot // (tents // 2), np.tile([0, 0, 1, 1], tents), plot)
    tent = 0.2 * random.standard_normal(tents)
    return np.exp(3 + tent[plot] + 0.05 * random.standard_normal(plot.size)), split


def test_a_treatments_own_interval_is_that_of_the_means_of_its_main_plots():
    # outside: scipy.stats.t.interval and sem of the four tents' mean logarithms
    values, split = in_tents(8)
    logs = np.log(values)
    first = (split.main == 0) & (split.sub == 0)
    means = [logs[first & (split.plot == plot)].mean() for plot in range(4)]
    low, high = scipy.stats.t.interval(0.95, 3, np.mean(means), scipy.stats.sem(means))
    figure = analysed(values, split).estimates[0]
    assert figure.degrees_of_freedom == 3
    assert np.log(figure.high / figure.low) == pytest.approx(high - low, rel=1e-12)


def test_few_main_plots_share_a_variance_that_counts_each_of_them_once():
    figure = analysed(*in_tents(4)).estimates[0]
    assert (
        figure.degrees_of_freedom == 2
    )  # two tents a level, two levels: trays of both feeds stood in the same tents
    assert figure.low < figure.value < figure.high


def test_one_main_plot_gives_a_treatment_no_interval_of_its_own():
    figure = analysed(*in_tents(2)).estimates[0]
    assert (figure.low, figure.high) == (None, None)
    assert [one.code for one in figure.notes] == ["one_main_plot"]


def test_a_design_without_main_plots_is_refused():
    with pytest.raises(ValueError, match="no main plots"):
        of_main_plots(Design(np.array([0, 1]), None, 0, 2), np.array([1.0, 2.0]))


@pytest.mark.slow
def test_intervals_across_main_plots_hold_the_truth_where_main_plots_vary():
    # two levels of each factor, five main plots a level without blocks; main plots vary as much as
    # trays
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
