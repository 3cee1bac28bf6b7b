"""How often 95 % intervals hold the truth in simulated trials; `benchmarks/coverage.py` prints the
whole table.
"""

from math import sqrt

import pytest

from tests.coverage_scenarios import SCENARIOS, row

TRIALS = 400
BAND = (0.935, 0.965)  # what coverage is to be
# standard errors of a share of 400 trials: within these a method of the band falls 99 times in 100
SURE = 2.6

BY_NAME = {scenario.name: scenario for scenario in SCENARIOS}
TELLING = (
    "normal, 2 + 2 trays",
    "normal, 2 + 6 trays",
    "normal, 4 + 6 trays",
    "lognormal, 3 + 3 trays",
    "one plant in twelve dies, 4 + 4",
    "blocks that multiply, 3 + 3",
    "water per gram, 4 + 4",
    "six treatments of noise, 4 trays",
)
ADDITIVE = (
    "normal, 4 + 6 trays",
    "one plant in twelve dies, 4 + 4",
    "six treatments of noise, 4 trays",
)

pytestmark = pytest.mark.slow


def within_the_band(share):
    """Tell whether a share of simulated trials may come from a method whose coverage lies within
    the band.
    """
    low, high = (
        limit + sign * SURE * sqrt(limit * (1 - limit) / TRIALS)
        for limit, sign in zip(BAND, (-1, 1), strict=True)
    )
    return low <= share <= high


@pytest.mark.parametrize("name", TELLING)
def test_intervals_hold_the_truth_as_often_as_they_say_and_are_always_there(name):
    assert not BY_NAME[name].tolerated
    found = row(BY_NAME[name], "after", TRIALS)
    assert found.none == 0
    assert within_the_band(found.covered), found
    assert within_the_band(found.own), found
    if name in ADDITIVE:
        assert within_the_band(found.differences), found


def test_plants_that_count_as_random_leave_trials_without_an_interval():
    # What the methods were chosen by: two trays a side, ratios by Fieller's theorem, and own
    # intervals in blocks.
    before, after = (
        row(BY_NAME["normal, 2 + 2 trays"], method, TRIALS) for method in ("before", "after")
    )
    assert before.none > 0.2 > after.none
    assert after.width < before.width
    blocks = [
        row(BY_NAME["blocks that multiply, 4 + 4"], method, TRIALS)
        for method in ("before", "after")
    ]
    assert blocks[0].own < 0.85 < blocks[1].own
