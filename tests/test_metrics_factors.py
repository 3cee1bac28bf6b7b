"""Factors and doses of a whole trial: what is found, and what is said where it cannot be."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from reportgen import metrics
from reportgen.stats.additive import fit_additive
from reportgen.stats.cell_means import cells_of
from reportgen.stats.trend import trend
from tests.factor_books import (
    DOSES,
    FEED,
    LIGHT_AND_FEED,
    TWO_BY_TWO,
    factor_book,
    multiplying,
    peaking,
    together,
)
from tests.workbooks import HARVEST, put, write
from tests.workbooks import trial as trial_of


@pytest.fixture
def results_of(tmp_path):
    def made(sheets):
        of = trial_of(write(sheets, tmp_path / "trial.xlsx"))
        return of, metrics.compute(of)

    return made


def two(mean, **more):
    return factor_book(TWO_BY_TWO, LIGHT_AND_FEED, mean, **more)


def notes_of(of):
    return [one.code for one in metrics.compute(of).effects.notes]


def test_effects_that_multiply_are_found_without_an_interaction(results_of):
    _, results = results_of(two(multiplying))
    found = results.effects.of("fresh_weight")
    assert [(one.factor, one.level, one.reference) for one in found.effects if not one.within] == [
        ("light", "high", "low"),
        ("nutrient strength", "strong", "weak"),
    ]
    light, feed = (one for one in found.effects if not one.within)
    assert light.low < 1.3 < light.high
    assert light.code == "more"
    assert feed.low < 1.1 < feed.high
    assert found.interaction.code == "not_shown"


def test_an_interaction_takes_averages_away(results_of):
    _, results = results_of(two(together))
    found = results.effects.of("fresh_weight")
    assert found.interaction.code == "differs"
    assert all(one.within for one in found.effects)
    weak, strong = (one for one in found.effects if one.factor == "light")
    assert (weak.within, weak.code) == ("weak", "unclear")
    assert (strong.within, strong.code) == ("strong", "more")
    assert strong.low < 1.5 < strong.high
    feed = {one.within: one.code for one in found.effects if one.factor == "nutrient strength"}
    assert feed == {"low": "unclear", "high": "more"}


def test_an_interaction_within_the_margin_is_none_that_matters(results_of):
    of, results = results_of(
        two(multiplying, spread=0.01, fields=[("Difference that matters (%)", 25)])
    )
    assert results.effects.of("fresh_weight").interaction.code == "alike"
    narrow = metrics.compute(replace(of, margin=0.0001)).effects.of("fresh_weight")
    assert narrow.interaction.code == "may_differ"
    averaged = [one for one in narrow.effects if not one.within]
    assert [one.factor for one in averaged] == ["light", "nutrient strength"]


def test_effects_rest_on_the_figures_that_the_tables_show(results_of):
    _, results = results_of(two(multiplying))
    figures = dict(
        next(one for one in results.measures if one.measure.key == "fresh_weight").estimates
    )
    by_hand = np.sqrt(
        figures["hw"].value * figures["hs"].value / (figures["lw"].value * figures["ls"].value)
    )  # every block holds each treatment once
    light = results.effects.of("fresh_weight").effects[0]
    assert light.ratio == pytest.approx(by_hand, rel=1e-12)


def test_a_trial_in_main_plots_judges_each_factor_by_its_own_error(results_of):
    sheets = two(multiplying, main_plot=lambda block, treatment: f"tent {treatment[2]} {block}")
    _, results = results_of(sheets)
    found = results.effects.of("fresh_weight")
    freedoms = {name: test.error_degrees_of_freedom for name, test in found.tests}
    assert freedoms == {
        "light": 3,
        "nutrient strength": 6,
    }  # (2 - 1) (4 - 1) plots, (2 - 1) 2 (4 - 1) trays
    assert found.methods[0].code == "split_plot_model"
    measure = next(one for one in results.measures if one.measure.key == "fresh_weight")
    compared = dict(measure.comparisons)
    assert compared["ls"].degrees_of_freedom == 6  # within a main plot
    assert compared["hw"].degrees_of_freedom < 9  # 9 if all trays were independent
    assert measure.letters is None


def test_trays_in_main_plots_are_not_called_less_independent_than_intervals_assume(results_of):
    sheets = two(multiplying, main_plot=lambda block, treatment: f"tent {treatment[2]} {block}")
    for row in sheets["Trays"][1:]:
        row[2] = None
    sheets["Trays"] += [
        [f"{row[0]}b", *row[1:3], f"{row[3]}b", *row[4:]] for row in sheets["Trays"][1:]
    ]
    sheets["Plants"] += [[f"{row[0]}b", row[1], row[2] * 1.1] for row in sheets["Plants"][1:]]
    _, results = results_of(sheets)
    replication = next(one for one in results.fairness if one.check == "replication")
    assert replication.verdict == "sound"
    assert "units_shared_by_trays" not in [one.code for one in replication.findings]
    measure = next(one for one in results.measures if one.measure.key == "fresh_weight")
    assert {one.degrees_of_freedom for _, one in measure.estimates} == {
        3
    }  # four tents each, eight trays


def test_main_plots_widen_a_comparison_across_them_where_tents_differ(results_of):
    def tent(block, treatment):
        return f"tent {treatment[2]} {block}"

    sheets = two(multiplying, main_plot=tent)
    tents = [f"tent {light} {block}" for light in ("low", "high") for block in range(1, 5)]
    plot_of = {row[0]: row[5] for row in sheets["Trays"][1:]}
    for row in sheets["Plants"][1:]:
        row[2] *= 1 + 0.08 * (tents.index(plot_of[row[0]]) * 3 % 8)
    of, results = results_of(sheets)
    apart = metrics.compute(
        replace(of, trays=tuple(replace(tray, main_plot="") for tray in of.trays))
    )

    def width(found, code):
        compared = dict(
            next(one for one in found.measures if one.measure.key == "fresh_weight").comparisons
        )[code]
        return compared.single_high / compared.single_low

    assert width(results, "hw") > width(apart, "hw")
    assert width(results, "ls") < width(apart, "ls")


def test_main_plots_that_lost_a_tray_compare_no_tents(results_of):
    sheets = two(multiplying, main_plot=lambda block, treatment: f"tent {treatment[2]} {block}")
    of, _ = results_of(sheets)
    short = replace(of, trays=of.trays[1:])
    assert notes_of(short) == ["split_plot_unbalanced"]
    compared = dict(next(one for one in metrics.compute(short).measures if one.scores).comparisons)
    assert compared["hw"].ratio_low is None
    assert [one.code for one in compared["hw"].notes] == ["main_plots_unbalanced"]
    assert compared["ls"].ratio_low is not None


def in_one_tent_a_level(of):
    """Return a trial whose trays stood in one tent for each level of light, without blocks."""
    light = {treatment.code: treatment.levels[0] for treatment in of.treatments}
    trays = [
        replace(tray, block="", main_plot=f"tent {light[tray.treatment]}") for tray in of.trays
    ]
    return replace(of, trays=tuple(trays))


def test_one_tent_a_level_cannot_be_told_from_the_level(results_of):
    of, _ = results_of(two(multiplying))
    found = metrics.compute(in_one_tent_a_level(of))
    code = {one.treatment: one.code for one in found.conclusions if one.measure == "fresh_weight"}
    assert code["hw"] in ("confounded", "untestable")
    assert code["hs"] in ("confounded", "untestable")
    effects = found.effects.of("fresh_weight")
    assert {one.factor for one in effects.effects} == {"nutrient strength"}
    assert [name for name, _ in effects.tests] == ["nutrient strength"]


def test_one_tent_a_level_leaves_what_was_varied_within_tents(results_of):
    # the effect within tents is that of the linear model of the logarithms with 16 - 4 degrees of
    # freedom
    of, _ = results_of(two(lambda light, feed: 20 * (1.5 if feed == "strong" else 1.0)))
    found = metrics.compute(in_one_tent_a_level(of))
    feed = next(one for one in found.effects.of("fresh_weight").effects if not one.within)
    assert (feed.code, feed.reasons, feed.degrees_of_freedom) == ("more", (), 12)
    assert feed.low < 1.5 < feed.high
    within = next(
        one for one in found.conclusions if (one.measure, one.treatment) == ("fresh_weight", "ls")
    )
    assert (within.code, within.reasons) == ("more", ())


def test_a_dose_that_is_too_strong_has_an_optimum_within_the_doses(results_of):
    _, results = results_of(factor_book(DOSES, FEED, peaking))
    (found,) = results.effects.of("fresh_weight").trends
    assert (found.code, found.degree) == ("peak", 2)
    assert found.optimum_low < 0.35 / 0.16 < found.optimum_high
    assert found.best.dose == found.optimum
    assert all(one.letters is None for one in results.measures)


@pytest.mark.parametrize(
    ("mean", "code", "best"),
    [
        (lambda dose: 20 * np.exp(0.1 * dose), "rises", 4),
        (lambda dose: 20 * np.exp(-0.1 * dose), "falls", 0),
        (lambda dose: 20 * np.exp(0.4 * dose - 0.045 * dose**2), "bends", 4),
        (lambda dose: 20, "flat", None),
        (lambda dose: 30 if dose % 2 else 20, "not_a_curve", None),
        (lambda dose: 40 * np.exp(-0.35 * dose + 0.08 * dose**2), "trough", 0),
    ],
)
def test_other_trends_are_told_by_their_codes(results_of, mean, code, best):
    _, results = results_of(factor_book(DOSES, FEED, mean))
    (found,) = results.effects.of("fresh_weight").trends
    assert found.code == code
    if best is not None:
        assert found.best.dose == best


def test_doses_that_no_curve_fits_have_no_optimum_and_all_their_pairs(results_of):
    _, results = results_of(factor_book(DOSES, FEED, lambda dose: 40 if dose else 20))
    (found,) = results.effects.of("fresh_weight").trends
    assert (found.code, found.curve, found.optimum, found.best) == ("not_a_curve", (), None, None)
    codes = {(one.reference, one.level): one.code for one in found.pairs}
    assert len(codes) == 10
    assert {codes["0", level] for level in "1234"} == {"more"}
    assert codes["1", "4"] == "unclear"
    # every block holds each dose once, so ratios are those of the doses' own figures
    figures = dict(
        next(one for one in results.measures if one.measure.key == "fresh_weight").estimates
    )
    assert found.change == pytest.approx(figures["d4"].value / figures["d0"].value)


def test_a_dose_beside_another_factor_has_a_curve_at_each_level_where_they_interact(results_of):
    treatments = [
        (f"{light}{dose}", f"{light} {dose}", light, dose)
        for light in ("low", "high")
        for dose in range(4)
    ]
    heads = ["Factor: light", "Factor: feed (g/L)"]

    def mean(light, dose):
        return 20 * np.exp((0.3 if light == "high" else 0.0) * dose)

    _, results = results_of(factor_book(treatments, heads, mean))
    found = results.effects.of("fresh_weight")
    assert [(one.within, one.code) for one in found.trends] == [("low", "flat"), ("high", "rises")]
    _, results = results_of(
        factor_book(treatments, heads, lambda light, dose: 20 * np.exp(0.2 * dose))
    )
    (found,) = results.effects.of("fresh_weight").trends
    assert (found.within, found.code) == ("", "rises")


def test_factors_that_changed_together_are_not_told_apart(results_of):
    _, results = results_of(
        factor_book((TWO_BY_TWO[0], TWO_BY_TWO[3]), LIGHT_AND_FEED, multiplying)
    )
    (said,) = results.effects.notes
    assert said.code == "factors_confounded"
    assert len(said.value("missing").members) == 2
    assert results.effects.analyses == ()
    assert any(one.code == "more" for one in results.conclusions)


def test_a_missing_combination_is_named(results_of):
    _, results = results_of(factor_book(TWO_BY_TWO[:3], LIGHT_AND_FEED, multiplying))
    (said,) = results.effects.notes
    (missing,) = said.value("missing").members
    assert said.code == "combinations_missing"
    assert [missing.value(name).text for name in ("level", "other")] == ["high", "strong"]


def test_treatments_of_the_same_levels_are_no_combinations(results_of):
    twice = (*TWO_BY_TWO, ("again", "Low, weak, again", "low", "weak"))
    _, results = results_of(factor_book(twice, LIGHT_AND_FEED, multiplying))
    assert [one.code for one in results.effects.notes] == ["levels_repeated"]


def test_three_factors_are_too_many(results_of):
    treatments = [(f"t{i}", f"T{i}", "ab"[i % 2], "cd"[i // 2 % 2], "ef"[i // 4]) for i in range(8)]
    heads = ["Factor: a", "Factor: b", "Factor: c"]
    _, results = results_of(factor_book(treatments, heads, lambda *levels: 20, blocks=2))
    assert [one.code for one in results.effects.notes] == ["too_many_factors"]


def test_one_tray_of_each_combination_tells_no_effects(results_of):
    _, results = results_of(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying, blocks=1))
    (found,) = {
        one.notes[0].code for one in results.effects.analyses if one.measure == "fresh_weight"
    }
    assert found == "factors_without_spread"


def test_a_factor_named_like_what_was_varied_is_varied_on_purpose(results_of):
    of, _ = results_of(two(multiplying))
    assert of.varied_on_purpose == {"light", "nutrient strength"}
    assert replace(of, factors=(), varied="water").varied_on_purpose == {"water"}


def test_what_explains_an_effect_is_looked_for_between_the_two_levels_alone(results_of):
    # strong trays were harvested on a day of their own; that says nothing against light, which
    # differs at equal feed
    sheets = two(multiplying)
    sheets["Trays"][0].append("Harvested on")
    for tray in sheets["Trays"][1:]:
        tray.append(HARVEST - timedelta(days=4) if tray[1] in ("ls", "hs") else HARVEST)
    _, results = results_of(sheets)
    effects = results.effects.of("fresh_weight").effects
    assert {one.code for one in effects if one.factor == "light"} == {"more"}
    conclusion = next(
        one for one in results.conclusions if (one.measure, one.treatment) == ("fresh_weight", "hs")
    )
    assert conclusion.code == "confounded"


def test_a_trial_without_factors_has_no_effects(results_of):
    _, results = results_of(
        put(factor_book(DOSES[:2], FEED, peaking), Treatments_C1="Notes on feed")
    )
    assert results.effects.analyses == ()
    assert results.effects.notes == ()


@pytest.mark.slow
def test_intervals_of_the_optimum_hold_the_truth():
    # 4,000 simulated trials of 5 doses in 4 trays: between 93.5 and 96.5 % of 95 % intervals hold
    # the true optimum
    random = np.random.default_rng(11)
    doses = np.arange(5.0)
    place = np.repeat(np.arange(5), 4)
    held = 0
    for _ in range(4000):
        values = 0.35 * doses[place] - 0.08 * doses[place] ** 2 + 0.1 * random.standard_normal(20)
        curve = trend(cells_of(fit_additive(values, place, 5)), doses, 0.95).curve
        turning = curve.turning_point(0.95)
        held += turning is not None and turning[1].low < 0.35 / 0.16 < turning[1].high
    assert 0.935 < held / 4000 < 0.965
