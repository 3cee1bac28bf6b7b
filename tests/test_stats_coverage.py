"""How often 95 % intervals hold the truth, in simulated trials of 2 treatments x 4 trays x 6 plants."""

from dataclasses import dataclass

import numpy as np
import pytest

from reportgen.stats.analysis import Design, analyse

TRIALS, TRAYS, PLANTS = 4000, 4, 6
MEANS = np.array([120.0, 150.0])  # g a plant
BETWEEN_TRAYS, WITHIN_TRAYS = 10.0, 25.0  # standard deviations, g a plant
BLOCK_EFFECTS = np.array([-15.0, -5.0, 5.0, 15.0])  # they add up to 0, so marginal means stay MEANS
BAND = (0.935, 0.965)

pytestmark = pytest.mark.slow


@dataclass
class Covered:
    """Shares of the intervals that held the true value."""

    estimate: float
    difference: float
    ratio: float


def trays_of(generator, blocks, survival=1.0):
    """Return tray totals of fresh weight and numbers of plants, shape (TRIALS, 2 * TRAYS)."""
    tray_means = np.repeat(MEANS, TRAYS) + generator.normal(0, BETWEEN_TRAYS, (TRIALS, 2 * TRAYS))
    plants = tray_means[..., np.newaxis] + generator.normal(0, WITHIN_TRAYS, (TRIALS, 2 * TRAYS, PLANTS))
    alive = generator.random(plants.shape) < survival
    plants += np.tile(blocks, 2)[:, np.newaxis]
    return np.where(alive, plants, 0).sum(axis=-1), alive.sum(axis=-1).astype(float)


def holds(low, high, truth):
    return low is not None and high is not None and low <= truth <= high


def coverage(seed, variances, blocks=None, survival=1.0):
    totals = trays_of(np.random.default_rng(seed), np.zeros(TRAYS) if blocks is None else blocks, survival)
    block = None if blocks is None else np.tile(np.arange(TRAYS), 2)
    design = Design(np.repeat([0, 1], TRAYS), block, 0, 2)
    found = np.zeros((TRIALS, 4), bool)
    for trial, (weight, plants) in enumerate(zip(*totals, strict=True)):
        analysis = analyse(weight, plants, design, 0.95, variances)
        first, second = analysis.estimates
        comparison = analysis.comparisons[1]
        found[trial] = (
            holds(first.low, first.high, MEANS[0]),
            holds(second.low, second.high, MEANS[1]),
            holds(comparison.difference_low, comparison.difference_high, MEANS[1] - MEANS[0]),
            holds(comparison.ratio_low, comparison.ratio_high, MEANS[1] / MEANS[0]),
        )
    shares = found.mean(axis=0)
    return Covered(float(shares[:2].mean()), float(shares[2]), float(shares[3]))


def assert_within_the_band(covered):
    low, high = BAND
    assert low <= covered.estimate <= high
    assert low <= covered.difference <= high
    assert low <= covered.ratio <= high


def test_intervals_with_separate_variances_cover_as_often_as_they_say():
    assert_within_the_band(coverage(1, "separate"))


def test_intervals_with_pooled_variance_cover_as_often_as_they_say():
    assert_within_the_band(coverage(2, "pooled"))


def test_intervals_of_the_block_model_cover_as_often_as_they_say():
    assert_within_the_band(coverage(3, "pooled", BLOCK_EFFECTS))


def test_intervals_where_plants_were_lost_cover_as_often_as_they_say():
    assert_within_the_band(coverage(4, "separate", survival=0.85))


def test_ignoring_blocks_that_matter_widens_the_comparison_beyond_what_it_says():
    assert coverage(5, "separate", BLOCK_EFFECTS).difference > BAND[1]
