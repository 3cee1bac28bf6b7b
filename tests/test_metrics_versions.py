"""Two workbooks of one trial, told from two trials."""

from dataclasses import replace

import numpy as np
import pytest

from reportgen.metrics.versions import agreement, identity_of, same_trial
from reportgen.model.results import TrialIdentity
from tests.trials import trial


def of_weights(weights, **changes):
    """Return a trial of trays of six plants that differs from every other one in its title, unless
    told.
    """
    plants = tuple((f"T{at // 6}", str(at % 6), float(weight)) for at, weight in enumerate(weights))
    trays = tuple(
        (f"T{number}", "half" if number % 2 else "full") for number in range(len(weights) // 6)
    )
    made = TrialIdentity(f"first weight {weights[0]}", "2026-04-01", "2026-05-06", trays, plants)
    return replace(made, **changes)


def grown(seed, spread=20.0):
    return np.random.default_rng(seed).normal(120, spread, 48).round(1)


def test_one_weight_corrected_and_a_new_title_are_the_same_trial():
    weights = grown(1)
    corrected = np.where(np.arange(48) == 5, 99.0, weights)
    other = of_weights(corrected, title="Another title", harvested_on="2026-05-07")
    assert same_trial(of_weights(weights), other)


def test_other_names_of_trays_or_another_order_of_rows_do_not_hide_it():
    first = of_weights(grown(1), title="a")
    renamed = replace(
        first, title="b", weights=tuple((f"tray {tray}", no, w) for tray, no, w in first.weights)
    )
    turned = replace(first, title="c", weights=first.weights[::-1])
    assert same_trial(first, renamed)
    assert same_trial(first, turned)


def test_the_same_title_dates_and_trays_are_the_same_trial_whatever_its_weights():
    first = of_weights(grown(1), title="Warm roots")
    assert same_trial(first, of_weights(grown(2), title=" warm  ROOTS"))
    assert not same_trial(
        first, of_weights(grown(2), title="Warm roots", harvested_on="2026-06-06")
    )
    assert not same_trial(first, of_weights(grown(2), title="Warm roots, second room"))


@pytest.mark.parametrize("spread", [20.0, 0.3])
def test_trials_of_their_own_are_told_apart_though_small_plants_often_weigh_the_same(spread):
    # With a spread of 0.3 g in whole grams about half of all pairs are equal by chance
    for seed in range(50):
        first, second = (np.round(grown(100 * seed + k, spread)) for k in (1, 2))
        assert not same_trial(of_weights(first, title="a"), of_weights(second, title="b"))


def test_trials_in_which_every_plant_weighs_the_same_tell_nothing_by_their_weights():
    assert not same_trial(
        of_weights(np.full(48, 2.0), title="a"), of_weights(np.full(48, 2.0), title="b")
    )


def test_a_trial_with_more_harvests_is_a_version_and_a_handful_of_weights_is_none():
    weights = grown(1)
    assert same_trial(of_weights(weights, title="a"), of_weights(weights[:30], title="b"))
    assert not same_trial(of_weights(weights, title="a"), of_weights(weights[:6], title="b"))


def test_agreement_beyond_chance_is_cohens_kappa():
    # Two raters, 50 cases: both yes 20, both no 15, first alone 5, second alone 10: kappa 0.4, a
    # worked example in many textbooks and in the article on Cohen's kappa of the English Wikipedia
    pairs = [(1.0, 1.0)] * 20 + [(0.0, 0.0)] * 15 + [(1.0, 0.0)] * 5 + [(0.0, 1.0)] * 10
    assert agreement(pairs) == pytest.approx(0.4)


def test_a_trial_is_known_by_title_dates_trays_and_weights():
    found = identity_of(trial())
    assert (found.title, found.started_on, found.harvested_on) == (
        "Nutrient strength for coriander",
        "2026-04-01",
        "2026-05-06",
    )
    assert found.trays[0] == ("A1", "half")
    assert found.weights[:2] == (("A1", "1", 20.0), ("A1", "2", 22.0))
