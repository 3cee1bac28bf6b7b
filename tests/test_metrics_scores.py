"""Scores of a trial: plants by class, medians of trays, verdicts by rank; no mean anywhere."""

from dataclasses import replace
from datetime import date

import pytest

from reportgen import metrics
from reportgen.model.trial import GrowthMeasurement, Trait
from tests.scored import BURN, FIVE, scored_trial
from tests.trials import codes, growth

COLOUR = Trait("colour", "Colour", "", ("pale", "green", "dark"))
SIX = {  # a tray of each in six blocks
    "still": [(3, 4, 4), (2, 3, 3), (4, 4, 5), (1, 3, 4), (3, 3, 5), (2, 2, 3)],
    "moving": [(0, 1, 1), (1, 1, 0), (2, 2, 1), (0, 0, 1), (2, 1, 1), (1, 1, 2)],
}


def score_of(trial):
    (found,) = metrics.compute(trial).scores
    return found


def verdicts(trial):
    return {
        one.treatment: one.code
        for one in metrics.compute(trial).conclusions
        if one.measure == "tip_burn"
    }


def first(trays, number):
    return {code: found[:number] for code, found in trays.items()}


def test_plants_are_counted_by_class_and_trays_have_medians():
    found = score_of(scored_trial())
    still, moving = found.treatments
    assert (still.counts, still.plants, still.trays) == ((0, 1, 2, 7, 8, 2), 20, 5)
    assert moving.counts == (5, 9, 5, 1, 0, 0)
    assert dict(found.medians) == {
        "sti1": 4.0, "mov1": 1.0, "sti2": 3.0, "mov2": 0.5, "sti3": 4.0,
        "mov3": 2.0, "sti4": 3.0, "mov4": 0.5, "sti5": 3.0, "mov5": 1.0,
    }  # fmt: skip
    assert (still.median, moving.median) == (3.0, 1.0)
    assert moving.shares[1] == pytest.approx(9 / 20)
    assert moving.share_from(2) == pytest.approx(6 / 20)


def test_the_class_by_which_shares_are_told_is_chosen_without_regard_to_treatments():
    found = score_of(scored_trial())
    turned = score_of(scored_trial({"still": FIVE["moving"], "moving": FIVE["still"]}))
    assert found.cut == turned.cut == 3  # 18 of 40 plants have 3 or more, 25 have 2 or more


def test_what_is_compared_is_the_medians_of_trays_not_the_plants():
    ((code, ranks),) = score_of(scored_trial()).comparisons
    assert code == "moving"
    assert ranks.probability_higher == 0.0
    assert ranks.p_value == pytest.approx(
        2 / 252
    )  # of 10 trays 5 were still: 252 choices, the two outermost


def test_more_plants_in_the_same_trays_make_nothing_surer():
    doubled = {code: [found * 2 for found in trays] for code, trays in FIVE.items()}
    assert score_of(scored_trial(doubled)).comparisons == score_of(scored_trial()).comparisons


def test_a_score_has_no_mean_no_ratio_and_no_rate():
    grown = growth("sti1", "1", (2, 1.0), (9, 3.0))
    results = metrics.compute(scored_trial(growth_traits=(BURN,), growth=grown))
    keys = {result.measure.key for result in results.measures}
    assert "tip_burn" not in keys
    assert not any("growth_rate" in key for key in keys)


def test_a_quantity_beside_a_score_keeps_its_mean_and_its_rate_its_plain_key():
    made = scored_trial()
    height = Trait("height", "Height", "cm")
    grown = tuple(
        GrowthMeasurement(tray.code, "1", date(2026, 4, day), (2.0, float(day)))
        for tray in made.trays
        for day in (5, 15)
    )
    plants = tuple(
        replace(plant, traits=(*plant.traits, 10.0 + place % 4))
        for place, plant in enumerate(made.plants)
    )
    both = replace(
        made, traits=(BURN, height), plants=plants, growth_traits=(BURN, height), growth=grown
    )
    results = {result.measure.key: result for result in metrics.compute(both).measures}
    assert results["height"].estimates[0][1].value == pytest.approx(11.5)
    assert results["relative_growth_rate"].measure.trait == "Height"
    assert results["relative_growth_rate"].estimates[0][1].value == pytest.approx(
        0.10986, abs=1e-5
    )  # ln 3 / 10 days


def test_lower_ranks_are_less_and_higher_ones_more():
    assert verdicts(scored_trial()) == {"moving": "less"}
    assert verdicts(scored_trial({"still": FIVE["moving"], "moving": FIVE["still"]})) == {
        "moving": "more"
    }


def test_ranks_that_overlap_are_unclear():
    near = {"still": FIVE["still"], "moving": [*FIVE["still"][1:], (0, 1, 1, 2)]}
    assert verdicts(scored_trial(near)) == {"moving": "unclear"}


def test_no_margin_makes_scores_alike():
    assert verdicts(
        scored_trial({"still": FIVE["still"], "moving": FIVE["still"]}, margin=0.5)
    ) == {"moving": "unclear"}


def test_three_trays_a_treatment_cannot_be_tested_and_the_reason_says_what_it_takes():
    (found,) = (
        one
        for one in metrics.compute(scored_trial(first(FIVE, 3))).conclusions
        if one.measure == "tip_burn"
    )
    assert (found.code, codes(found.reasons)) == ("untestable", ["too_few_units_to_rank"])
    assert found.reasons[0].value("needed").number == 4


def test_five_blocks_of_one_tray_each_cannot_be_tested_and_six_can():
    assert verdicts(scored_trial(first(SIX, 5), blocks=True)) == {"moving": "untestable"}
    assert verdicts(scored_trial(SIX, blocks=True)) == {"moving": "less"}
    ((_, ranks),) = score_of(scored_trial(SIX, blocks=True)).comparisons
    assert ranks.p_value == pytest.approx(2 / 2**6)


def test_a_difference_that_something_else_explains_is_confounded():
    made = scored_trial()
    trays = tuple(
        replace(tray, harvested_on=date(2026, 5, 1 if tray.treatment == "still" else 6))
        for tray in made.trays
    )
    (found,) = (
        one
        for one in metrics.compute(replace(made, trays=trays)).conclusions
        if one.measure == "tip_burn"
    )
    assert (found.code, found.toward) == ("confounded", "less")
    assert "own_days_of_harvest" in codes(found.reasons)


def test_of_three_treatments_each_is_judged_among_all_comparisons():
    three = {**FIVE, "strong": [(0, 0, 0, 1)] * 2 + [(4, 4, 5, 5)] * 3}
    made = scored_trial(three)
    assert verdicts(made) == {"moving": "less", "strong": "unclear"}
    ranks = dict(score_of(made).comparisons)
    assert ranks["moving"].p_adjusted == pytest.approx(2 * ranks["moving"].p_value)


def test_a_score_leads_where_the_workbook_names_it():
    assert metrics.compute(scored_trial(main_measure="tip_burn")).main_measure == "tip_burn"
    assert metrics.compute(scored_trial()).main_measure == "yield_per_plant_started"


def test_plants_that_were_not_scored_and_trays_without_any_are_left_out():
    few = {"still": [*FIVE["still"], (None, None)], "moving": [(0, None, 1), *FIVE["moving"][1:]]}
    found = score_of(scored_trial(few))
    assert [one.trays for one in found.treatments] == [5, 5]
    assert [one.plants for one in found.treatments] == [20, 18]
    assert dict(found.medians)["mov1"] == 0.5


def test_plants_weighed_together_share_their_class():
    made = scored_trial()
    together = tuple(
        replace(plant, number=3) if plant.tray == "sti1" else plant for plant in made.plants
    )
    trays = tuple(
        replace(tray, plants_started=12) if tray.code == "sti1" else tray for tray in made.trays
    )
    still = score_of(replace(made, plants=together, trays=trays)).treatments[0]
    assert still.plants == 28


def test_a_score_without_any_value_is_left_out():
    assert (
        metrics.compute(scored_trial({"still": [(None,)] * 4, "moving": [(None,)] * 4})).scores
        == ()
    )


def test_a_score_of_one_treatment_alone_is_not_compared():
    found = score_of(scored_trial({"still": FIVE["still"], "moving": [(None,)] * 5}))
    assert found.treatments[1].median is None
    assert found.treatments[1].shares == (None,) * 6
    assert verdicts(scored_trial({"still": FIVE["still"], "moving": [(None,)] * 5})) == {
        "moving": "untestable"
    }


def test_a_score_named_like_a_measure_has_a_key_of_its_own():
    named = replace(BURN, key="survival", label="Survival")
    assert score_of(scored_trial(trait=named)).measure.key == "survival_trait"


def test_words_and_numbers_are_ranked_alike():
    few = {
        code: [tuple(min(one, 2) for one in found) for found in trays]
        for code, trays in FIVE.items()
    }
    numbers = scored_trial(few, trait=replace(BURN, scale=("0", "1", "2")))
    words = scored_trial(few, trait=COLOUR)
    assert score_of(numbers).comparisons == score_of(words).comparisons
