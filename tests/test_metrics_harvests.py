"""Crops that are picked more than once: sums, seasons, grades, curves, and what a gram is of."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest

from reportgen.metrics import compute, harvests
from reportgen.metrics.pickings import sums, weight_of
from reportgen.metrics.pooled import pooled_comparisons
from reportgen.metrics.to_pool import to_pool
from reportgen.metrics.versions import identity_of, same_trial
from reportgen.model.trial import Picking, Plant, ProducePrice, Tray, Treatment
from tests.trials import WEIGHTS, codes, trial

START = date(2026, 4, 1)

# Weight of asparagus cuttings of 16 plots in four years, ounces: four last days of cutting in four
# blocks. Snedecor, G. W. and Cochran, W. G. (1989), Statistical Methods, 8th ed., Iowa State
# University Press, as in R's package agridat, data set snedecor.asparagus. A row is a plot, a
# column a year from 1930 on.
YEARS = (1930, 1931, 1932, 1933)
ASPARAGUS = {
    "Jun01": (
        (230, 324, 512, 399),
        (216, 317, 448, 361),
        (219, 357, 496, 344),
        (200, 362, 540, 381),
    ),
    "Jun15": (
        (212, 415, 584, 386),
        (190, 296, 471, 280),
        (151, 278, 399, 254),
        (150, 336, 485, 279),
    ),
    "Jul01": (
        (183, 320, 456, 255),
        (186, 295, 387, 187),
        (177, 298, 427, 239),
        (209, 328, 462, 244),
    ),
    "Jul15": ((148, 246, 304, 144), (126, 201, 289, 83), (107, 192, 271, 90), (168, 226, 312, 168)),
}


def asparagus():
    """Return the trial of asparagus: a plot is a tray, a year's cuttings one picking; ounces stand
    for grams.
    """
    plots = [(code, block) for code in ASPARAGUS for block in range(4)]
    pickings = tuple(
        Picking(f"{code}{block}", date(year, 6, 1), float(cut))
        for code, block in plots
        for year, cut in zip(YEARS, ASPARAGUS[code][block], strict=True)
    )
    return trial(
        started_on=date(1929, 6, 1),
        harvested_on=date(1933, 6, 1),
        reference="Jun01",
        treatments=tuple(Treatment(code, code) for code in ASPARAGUS),
        trays=tuple(Tray(f"{code}{block}", code, 1, block=str(block)) for code, block in plots),
        plants=tuple(Plant(f"{code}{block}", "1", "harvested", None) for code, block in plots),
        pickings=pickings,
        solution=(),
        meter=(),
    )


def picking(tray, day, weight, pieces=None, grade=""):
    return Picking(
        tray, START + timedelta(days=day), weight, pieces, grade=grade, is_cull=grade == "culls"
    )


def week_by_week(tray, *weights, grade=""):
    """Return a picking a week from day 14 on, with a piece for every 10 g."""
    days = range(14, 14 + 7 * len(weights), 7)
    return tuple(
        picking(tray, day, weight, round(weight / 10), grade)
        for day, weight in zip(days, weights, strict=True)
    )


def picked(**changes):
    """Return the trial of coriander as one that was picked: each tray gives its three weights week
    by week.
    """
    pickings = tuple(
        one for tray, weights in WEIGHTS.items() for one in week_by_week(tray, *weights)
    )
    plants = tuple(replace(plant, fresh_weight=None) for plant in trial().plants)
    return replace(trial(), **{"plants": plants, "pickings": pickings, **changes})


def graded(**changes):
    """Return the picked trial with a tenth of each picking of the reference as culls, a fifth of
    the other's.
    """
    pickings = []
    for one in picked().pickings:
        share = 0.1 if one.tray.startswith("A") else 0.2
        pickings.append(replace(one, weight=(1 - share) * one.weight, grade="good"))
        pickings.append(
            replace(one, weight=share * one.weight, pieces=1, grade="culls", is_cull=True)
        )
    return picked(**{"pickings": tuple(pickings), **changes})


def measures(of):
    return {result.measure.key: result for result in compute(of).measures}


def values(result):
    return {code: each.value for code, each in result.estimates}


def limits(by_day):
    return {code: (each.value, each.low, each.high) for code, each in by_day.estimates}


# ---- against R -----------------------------------------------------------------------------------


def test_cumulative_means_and_intervals_of_the_asparagus_are_those_of_r():
    # R 4.2.2: y the cuttings in the order above, d <- expand.grid(year = 1930:1933, block = 1:4,
    #   trt = names)
    # d$sum <- ave(y, d$trt, d$block, FUN = cumsum); then for each year
    # sapply(split(s$sum, s$trt), function(v) c(mean(v), exp(log(mean(v)) + c(-1, 1) * qt(.975, 3) *
    # sd(log(v)) / 2)))
    found = compute(asparagus()).harvests
    assert [(one.measure.key, len(one.days)) for one in found] == [("tray_yield", 4)]
    first, second, third, last = map(limits, found[0].days)
    assert first["Jun01"] == pytest.approx((216.25, 197.2167874035, 237.1200906154), rel=1e-10)
    assert first["Jul15"] == pytest.approx((137.25, 100.5038218602, 187.4313051120), rel=1e-10)
    assert second["Jun15"] == pytest.approx((507.00, 393.4135562244, 653.3811454463), rel=1e-10)
    assert third["Jul01"] == pytest.approx((932.00, 843.6312113696, 1029.6252536577), rel=1e-10)
    assert last["Jun01"] == pytest.approx((1426.50, 1328.5230110856, 1531.7026750911), rel=1e-10)
    assert last["Jun15"] == pytest.approx((1291.50, 997.7145052429, 1671.7931244208), rel=1e-10)
    assert last["Jul15"] == pytest.approx((768.75, 617.5145016413, 957.0245895914), rel=1e-10)


def test_total_yields_of_the_asparagus_compare_as_in_r():
    # R 4.2.2: s <- d[d$year == 1933, ]; s$moved <- log(s$sum) + ave(s$sum, s$trt, FUN = function(v)
    #   log(mean(v)) -
    # mean(log(v))); b <- summary(lm(moved ~ trt + factor(block), s))$coefficients[2:4, ]
    # exp(b[, 1] + outer(b[, 2], c(-1, 1) * qt(.975, 9))); b[, 4]
    compared = dict(measures(asparagus())["tray_yield"].comparisons)
    found = {
        code: (one.ratio, one.single_low, one.single_high, one.p_value)
        for code, one in compared.items()
    }
    expected = {
        "Jun15": (0.9053627760252, 0.7947517639331, 1.0313682754923, 1.184336134178e-01),
        "Jul01": (0.8154574132492, 0.7158304215216, 0.9289501714800, 6.298097740398e-03),
        "Jul15": (0.5389064143007, 0.4730665261506, 0.6139096877931, 1.980899931127e-06),
    }
    for code, numbers in expected.items():
        assert found[code] == pytest.approx(numbers, rel=1e-9)


# ---- sums ----------------------------------------------------------------------------------------


def test_the_yield_of_a_tray_is_the_sum_of_its_pickings():
    found = measures(picked())
    by_hand = np.mean([sum(WEIGHTS[tray]) for tray in ("A1", "A2", "A3")])
    assert values(found["tray_yield"])["half"] == pytest.approx(by_hand)
    assert values(found["yield_per_plant_started"])["half"] == pytest.approx(by_hand / 3)


def test_the_same_weights_picked_or_weighed_at_once_give_the_same_figures():
    at_once, in_pickings = measures(trial()), measures(picked())
    for key in (
        "tray_yield",
        "yield_per_plant_started",
        "water_per_gram",
        "energy_per_kg",
        "electricity_cost_per_gram",
    ):
        assert in_pickings[key].estimates == at_once[key].estimates, key
        assert in_pickings[key].comparisons == at_once[key].comparisons, key


def test_a_picked_crop_has_no_weight_per_harvested_plant():
    assert "fresh_weight" in measures(trial())
    assert "fresh_weight" not in measures(picked())


def test_weights_of_plants_are_never_added_to_those_of_pickings():
    doubled = picked(plants=trial().plants)
    assert measures(doubled)["tray_yield"] == measures(picked())["tray_yield"]
    assert "fresh_weight" not in measures(doubled)


def test_a_tray_without_a_picking_is_left_out_and_one_that_gave_nothing_counts_as_0():
    of_a1 = {one for one in picked().pickings if one.tray == "A1"}
    others = tuple(one for one in picked().pickings if one not in of_a1)
    estimates = dict(measures(picked(pickings=others))["tray_yield"].estimates)
    assert (estimates["half"].n, estimates["half"].value) == (
        2,
        pytest.approx(65.0),
    )  # A2 gave 67 g, A3 63 g
    with_nothing = dict(
        measures(picked(pickings=(*others, picking("A1", 14, 0.0))))["tray_yield"].estimates
    )
    assert (with_nothing["half"].n, with_nothing["half"].value) == (3, pytest.approx(130 / 3))


def test_a_tray_whose_plants_all_died_before_a_picking_gave_nothing():
    dead = tuple(
        replace(one, status="dead") if one.tray == "A1" else one for one in picked().plants
    )
    others = tuple(one for one in picked().pickings if one.tray != "A1")
    assert sums(picked(plants=dead, pickings=others), weight_of)["A1"] == 0.0


def test_what_a_plant_gave_before_it_died_counts():
    dead = tuple(
        replace(one, status="dead") if one.tray == "A1" else one for one in picked().plants
    )
    assert sums(picked(plants=dead), weight_of)["A1"] == sum(WEIGHTS["A1"])


def test_a_picking_that_was_not_weighed_leaves_its_tray_out_rather_than_counting_as_nothing():
    first, *others = picked().pickings
    found = measures(picked(pickings=(replace(first, weight=None), *others)))
    assert dict(found["tray_yield"].estimates)["half"].n == 2
    assert dict(found["pieces"].estimates)["half"].n == 3


def test_no_piece_weighs_nothing():
    first, *others = picked().pickings
    found = measures(picked(pickings=(replace(first, weight=None, pieces=0), *others)))
    assert dict(found["tray_yield"].estimates)["half"].n == 3


# ---- pieces, seasons -----------------------------------------------------------------------------


def test_weight_per_piece_is_the_weight_of_what_was_counted_over_its_number():
    counted = (picking("A1", 14, 100.0, 5), picking("A2", 14, 90.0, 6), picking("A2", 21, 40.0))
    found = measures(
        picked(pickings=(*counted, picking("B1", 14, 60.0, 3), picking("B2", 14, 50.0, 2)))
    )
    assert values(found["weight_per_piece"]) == pytest.approx({"half": 190 / 11, "full": 110 / 5})


def test_where_nothing_was_weighed_pieces_are_the_yield():
    counted = tuple(replace(one, weight=None) for one in picked().pickings)
    found = compute(replace(trial(), pickings=counted))
    keys = {result.measure.key for result in found.measures}
    assert "pieces" in keys
    assert not keys & {"weight_per_piece", "yield_per_week", "marketable_yield"}
    assert "fresh_weight" in keys  # that of the plants, which were weighed at the end
    assert [one.measure.key for one in found.harvests] == ["pieces"]


def test_days_to_the_first_picking_count_from_the_start_and_skip_pickings_of_nothing():
    nothing_yet = picking("A1", 7, 0.0)
    late = tuple(
        one for one in picked().pickings if one.tray != "B1" or one.on > START + timedelta(days=14)
    )
    found = measures(picked(pickings=(nothing_yet, *late)))["days_to_first_harvest"]
    assert values(found) == pytest.approx({"half": 14.0, "full": (21 + 14 + 14) / 3})
    compared = dict(found.comparisons)["full"]
    assert (
        compared.ratio is None
    )  # the start of the treatments is a convention, so days have no ratio
    assert compared.difference == pytest.approx(7 / 3)


def test_a_tray_that_never_gave_anything_is_told_of_where_days_are_compared():
    without = tuple(
        replace(one, weight=0.0, pieces=0) if one.tray == "A1" else one for one in picked().pickings
    )
    found = dict(measures(picked(pickings=without))["days_to_first_harvest"].estimates)
    assert found["half"].n == 2
    assert "never_picked" in codes(found["half"].notes)
    assert "never_picked" not in codes(found["full"].notes)


def test_seven_pickings_a_week_apart_make_seven_weeks():
    seven = picked(pickings=week_by_week("A1", *[10.0] * 7) + week_by_week("B1", *[20.0] * 7))
    assert harvests.weeks_of_picking(seven) == pytest.approx(7.0)
    assert values(measures(seven)["yield_per_week"]) == pytest.approx({"half": 10.0, "full": 20.0})


def test_one_day_of_picking_has_no_season_and_no_curve():
    once = picked(pickings=tuple(picking(tray, 30, 50.0) for tray in WEIGHTS))
    found = compute(once)
    assert "yield_per_week" not in {result.measure.key for result in found.measures}
    assert found.harvests == ()


# ---- grades --------------------------------------------------------------------------------------


def test_marketable_yield_leaves_out_the_culls_and_their_share_is_of_all_that_was_picked():
    found = measures(graded())
    totals = values(found["tray_yield"])
    assert values(found["marketable_yield"]) == pytest.approx(
        {"half": 0.9 * totals["half"], "full": 0.8 * totals["full"]}
    )
    assert values(found["cull_share"]) == pytest.approx({"half": 10.0, "full": 20.0})


def test_without_grades_there_is_no_marketable_yield():
    assert not {"marketable_yield", "cull_share"} & set(measures(picked()))


def test_own_grades_are_shares_where_there_are_several_that_can_be_sold():
    ranks = ("first", "second", "culls")
    pickings = tuple(
        picking(tray, 14, weight, grade=grade)
        for tray, weights in WEIGHTS.items()
        for grade, weight in zip(ranks, weights, strict=True)
    )
    found = measures(picked(pickings=pickings))
    shares = [found[key] for key in ("grade_share_1", "grade_share_2", "cull_share")]
    assert [one.measure.grade for one in shares] == ["first", "second", ""]
    for code in ("half", "full"):
        assert sum(values(one)[code] for one in shares) == pytest.approx(100.0)
    assert "grade_share_1" not in measures(
        graded()
    )  # one grade beside culls: the rest of their share


def test_figures_per_gram_rest_on_marketable_weight_too():
    found = measures(graded())
    total, sold = values(found["water_per_gram"]), values(found["water_per_gram_marketable"])
    assert sold["half"] == pytest.approx(total["half"] / 0.9)
    assert sold["full"] == pytest.approx(total["full"] / 0.8)
    keys = {key for key in found if key.endswith("_marketable")}
    assert {
        "energy_per_kg_marketable",
        "yield_per_kwh_marketable",
        "electricity_cost_per_gram_marketable",
    } < keys


def test_the_price_of_the_crop_applies_to_what_can_be_sold():
    per_kg = compute(graded(produce_price=ProducePrice(20.0, "kg"))).money[0]
    sold = values(measures(graded())["marketable_yield"])
    assert (per_kg.yield_of, per_kg.added_yield) == (
        "marketable",
        pytest.approx((sold["full"] - sold["half"]) / 1000),
    )
    all_of_it = compute(picked(produce_price=ProducePrice(20.0, "kg"))).money[0]
    assert all_of_it.yield_of == "all"
    assert all_of_it.added_yield > per_kg.added_yield


def test_a_price_by_the_piece_counts_pieces_that_can_be_sold_where_pickings_were_counted():
    money = compute(graded(produce_price=ProducePrice(0.5, "piece"))).money[0]
    good = {"A": 0, "B": 0}
    for one in graded().pickings:
        good[one.tray[0]] += 0 if one.is_cull else one.pieces
    assert money.added_yield == pytest.approx((good["B"] - good["A"]) / 3)


# ---- curves --------------------------------------------------------------------------------------


def test_the_last_day_of_the_curve_is_the_yield_itself():
    found = compute(graded())
    by_key = {result.measure.key: result for result in found.measures}
    assert [one.measure.key for one in found.harvests] == ["tray_yield", "marketable_yield"]
    for curve in found.harvests:
        for (code, last), (_, whole) in zip(
            curve.days[-1].estimates, by_key[curve.measure.key].estimates, strict=True
        ):
            assert (last.value, last.low, last.high) == pytest.approx(
                (whole.value, whole.low, whole.high)
            ), code


def test_a_curve_never_falls_and_its_limits_never_lie_below_0():
    late = tuple(
        one
        for one in picked().pickings
        if one.tray not in ("A1", "B2") or one.on > START + timedelta(days=14)
    )
    for curve in compute(picked(pickings=late)).harvests:
        for code in ("half", "full"):
            steps = [dict(day.estimates)[code] for day in curve.days]
            assert all(one.value <= other.value for one, other in pairwise(steps))
            assert all(one.low is None or one.low >= 0 for one in steps)


def test_a_curve_is_of_the_same_trays_from_end_to_end():
    *others, last = picked().pickings
    found = compute(picked(pickings=(*others, replace(last, weight=None)))).harvests[0]
    assert {dict(day.estimates)["full"].n for day in found.days} == {2}


# ---- the rest of the house -----------------------------------------------------------------------


def test_pickings_of_another_treatment_are_left_out_where_two_are_judged_by_themselves():
    three = picked(treatments=(*trial().treatments, Treatment("double", "Double")))
    assert compute(three).conclusions  # each pair is judged as a trial of its own


def test_two_versions_of_a_picked_trial_are_known_by_their_weights():
    renamed = replace(graded().about, title="Another title")
    first, second = identity_of(graded()), identity_of(graded(about=renamed))
    assert same_trial(first, second)
    other = tuple(replace(one, weight=one.weight * 1.7 + 3) for one in graded().pickings)
    assert not same_trial(first, identity_of(graded(about=renamed, pickings=other)))


def test_picked_trials_of_one_comparison_are_pooled_by_their_yields():
    about = replace(trial().about, comparison="strength")
    rounds = [
        graded(
            slug=f"round-{n}", about=about, harvested_on=date(2026, 5, n), source_sha256=f"{n:064d}"
        )
        for n in (1, 2)
    ]
    found = pooled_comparisons([to_pool(one, compute(one)) for one in rounds])[0]
    keys = [one.measure.key for one in found.measures]
    assert keys == ["yield_per_plant_started", "marketable_yield", "water_per_gram"]
    assert all(one.pooled.trials == 2 for one in found.measures)


def test_a_trial_with_pickings_alone_and_no_weight_at_all_has_no_yield():
    bare = picked(pickings=())
    assert not {"tray_yield", "yield_per_week", "marketable_yield", "pieces"} & set(measures(bare))
